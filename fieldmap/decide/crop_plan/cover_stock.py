"""What is scarce besides beds: metres of cover that reach over hoops, and hands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from fieldmap.decide.crop_plan.milp import Use
from fieldmap.decide.crop_plan.model import CoverUse
from fieldmap.decide.materials.cover_size import cover_size
from fieldmap.model.season_year import WEEKS, SeasonYear, week_of
from fieldmap.model.settings import Cover, Materials, Settings
from layers.cover import COVERS

# All of it common practice, no source.
OPEN_MINUTES = 1.0  # for a bed, and
METRES_A_MINUTE = 20.0  # along it
# A week in which a cover must be opened on fewer days than this does not count.
OPEN_SHARE = 1 / 7
HANDS = "opening minutes"


def open_minutes(bed_length_m: float) -> float:
    """Minutes to open the cover of one bed; closing takes as long."""
    return OPEN_MINUTES + bed_length_m / METRES_A_MINUTE


@dataclass(frozen=True)
class CoverStock:
    """Covers that are owned, and hands to open them.

    Attributes
    ----------
    covers
        As owned.
    hoops
        What covers go over.
    widths_m
        By kind: the least widths that beds of the site ask for, rising.
    opened
        By kind: whether it must be opened on some days of each week of the season-year.
    hands
        Minutes in the morning; None where not known.
    is_limited
        Whether more cannot be used than is owned.
    """

    covers: tuple[Cover, ...]
    hoops: Materials
    widths_m: Mapping[str, tuple[float, ...]]
    opened: Mapping[str, tuple[bool, ...]]
    hands: float | None
    is_limited: bool = True

    def unlimited(self) -> CoverStock:
        """As if every cover were there in any length."""
        return replace(self, is_limited=False)

    def owned_m(self, kind: str, width_m: float = 0.0) -> float:
        """Length of a kind at least so wide."""
        return sum(
            cover.length_m
            for cover in self.covers
            if cover.kind == kind and cover.width_m >= width_m - 1e-9
        )

    def usable_m(self, kind: str) -> float:
        """Length of a kind that reaches over the hoops of some bed."""
        return self.owned_m(kind, min(self.widths_m[kind], default=0.0))

    def limits(self) -> dict[str, float]:
        """Of each scarce thing, by its name.

        What is wide enough for a wide bed is so for a narrow one: a limit for all that
        need a width or more is enough for every mix of them.
        """
        found = {} if self.hands is None else {HANDS: self.hands}
        if self.is_limited:
            for kind, widths_m in self.widths_m.items():
                for width_m in widths_m:
                    found[_name(kind, width_m)] = self.owned_m(kind, width_m)
        return found

    def uses(
        self, covers: Sequence[CoverUse], length_m: float, width_m: float
    ) -> Iterator[Use]:
        """What covers over one bed take, metres and minutes."""
        for use in covers:
            weeks = week_of(use.from_day), week_of(use.to_day)
            size = cover_size(use.kind, width_m, length_m, self.hoops)
            for each_m in self.widths_m[use.kind]:
                if each_m <= size.least_width_m + 1e-9:
                    name = _name(use.kind, each_m)
                    yield Use(name, weeks, size.length_m)
            if self.hands is not None:
                for week in opened_weeks(self.opened[use.kind], weeks):
                    yield Use(HANDS, (week, week), open_minutes(length_m))


def opened_weeks(opened: Sequence[bool], weeks: tuple[int, int]) -> Iterator[int]:
    """Weeks of a span in which a cover must be opened."""
    return (week for week in range(weeks[0], weeks[1] + 1) if opened[week])


def _name(kind: str, width_m: float) -> str:
    return f"{kind}, {width_m:.3f} m wide or more"


def cover_stock(
    settings: Settings,
    bed_widths_m: Sequence[float],
    tmax_c: pd.Series,
    season: SeasonYear,
) -> CoverStock:
    """What a grower has, for beds of some widths and days as warm as the record's."""
    hoops = settings.materials

    def least_m(kind: str, bed_width_m: float) -> float:
        return cover_size(kind, bed_width_m, 0.0, hoops).least_width_m

    return CoverStock(
        covers=settings.covers,
        hoops=hoops,
        widths_m={
            kind: tuple(sorted({least_m(kind, each) for each in bed_widths_m}))
            for kind in COVERS
            if kind != "none"
        },
        opened={
            kind: _opened(cover.open_above_c, tmax_c, season)
            for kind, cover in COVERS.items()
        },
        hands=settings.hands.minutes_in_the_morning,
    )


def _opened(
    above_c: float | None, tmax_c: pd.Series, season: SeasonYear
) -> tuple[bool, ...]:
    """By week, whether the record's days are often too warm to leave a cover closed."""
    if above_c is None:
        return (False,) * WEEKS
    known = tmax_c.dropna()
    weeks = (season.numbers(known.index) - 1) // 7
    share = (known > above_c).groupby(weeks).mean()
    return tuple(bool(share.get(week, 0.0) >= OPEN_SHARE) for week in range(WEEKS))
