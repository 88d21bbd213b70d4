"""What is scarce besides beds: metres of cover that reach over hoops, and hands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import pandas as pd

from fieldmap.decide.crop_plan.milp import Use
from fieldmap.decide.crop_plan.model import CoverUse
from fieldmap.decide.materials import sheets
from fieldmap.decide.materials.cover_size import GATHERED_M, cover_size
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
    reach_m
        By kind, then by the least widths that beds of the site ask for, rising: length of
        bed, gathered ends included, that all pieces so wide or wider reach over at once.
    opened
        By kind: whether it must be opened on some days of each week of the season-year.
    hands
        Minutes in the morning; None where not known.
    is_limited
        Whether more cannot be used than is owned.
    """

    covers: tuple[Cover, ...]
    hoops: Materials
    reach_m: Mapping[str, Mapping[float, float]]
    opened: Mapping[str, tuple[bool, ...]]
    hands: float | None
    is_limited: bool = True

    def unlimited(self) -> CoverStock:
        """As if every cover were there in any length."""
        return replace(self, is_limited=False)

    @property
    def kinds(self) -> tuple[str, ...]:
        """That are owned, each once."""
        return tuple(dict.fromkeys(cover.kind for cover in self.covers))

    def at_most(self, kind: str, length_m: float) -> CoverStock:
        """As if all pieces of a kind reached over no more than a length at once."""
        less = {width: min(m, length_m) for width, m in self.reach_m[kind].items()}
        return replace(self, reach_m={**self.reach_m, kind: less})

    def owned_m(self, kind: str, width_m: float = 0.0) -> float:
        """Length of a kind at least so wide."""
        return sum(
            cover.length_m
            for cover in self.covers
            if cover.kind == kind and cover.width_m >= width_m - 1e-9
        )

    def usable_m(self, kind: str) -> float:
        """Length of a kind that reaches over the hoops of some bed."""
        return self.owned_m(kind, min(self.reach_m[kind], default=0.0))

    def limits(self) -> dict[str, float]:
        """Of each scarce thing, by its name.

        What is wide enough for a wide bed is so for a narrow one: a limit for all that
        need a width or more is enough for every mix of them.
        """
        found = {} if self.hands is None else {HANDS: self.hands}
        if self.is_limited:
            for kind, reach_m in self.reach_m.items():
                for width_m, length_m in reach_m.items():
                    found[_name(kind, width_m)] = length_m
        return found

    def uses(
        self,
        covers: Sequence[CoverUse],
        length_m: float,
        width_m: float,
        *,
        inside: bool = False,
    ) -> Iterator[Use]:
        """What covers over one bed take, metres and minutes.

        Parameters
        ----------
        covers
            Covers over the bed, each with its days.
        length_m
            Length of the bed, or of the part that is covered.
        width_m
            Width of the bed.
        inside
            Whether the bed lies in a walk-in tunnel: see `opened_in`.
        """
        for use in covers:
            weeks = week_of(use.from_day), week_of(use.to_day)
            size = cover_size(use.kind, width_m, length_m, self.hoops)
            # Counted at each width that it must reach: see `limits`.
            for each_m in self.reach_m[use.kind]:
                if each_m <= size.least_width_m + 1e-9:
                    name = _name(use.kind, each_m)
                    yield Use(name, weeks, size.length_m)
            if self.hands is not None:
                for week in self.opened_in(use.kind, weeks, inside=inside):
                    yield Use(HANDS, (week, week), open_minutes(length_m))

    def opened_in(
        self, kind: str, weeks: tuple[int, int], *, inside: bool
    ) -> Iterator[int]:
        """Weeks of a span in which a cover must be opened on some mornings.

        Inside a walk-in tunnel in all of them: plants under it grow soft and stay wet
        (common practice, no source).

        Parameters
        ----------
        kind
            Kind of cover, in the names of `layers.cover`.
        weeks
            First and last week of the span, from 0, both within.
        inside
            Whether the bed lies in a walk-in tunnel.
        """
        opened = self.opened[kind]
        return (
            week for week in range(weeks[0], weeks[1] + 1) if inside or opened[week]
        )


def _name(kind: str, width_m: float) -> str:
    return f"{kind}, {width_m:.3f} m wide or more"


class BedSizes(NamedTuple):
    """What covers must reach over.

    Attributes
    ----------
    widths_m
        Those that beds have.
    longest_m
        Of all beds.
    path_m
        Between beds.
    """

    widths_m: Sequence[float]
    longest_m: float
    path_m: float


def cover_stock(
    settings: Settings, beds: BedSizes, tmax_c: pd.Series, season: SeasonYear
) -> CoverStock:
    """What a grower has, for beds of some sizes and days as warm as the record's.

    Parameters
    ----------
    settings
        What the grower owns and chose: covers, hoops, and hands in the morning.
    beds
        Widths and lengths that covers must reach over.
    tmax_c
        Daily maxima of the record [°C], by date; NaN for days that are not known.
    season
        The year of growing, in which weeks are numbered.
    """
    return CoverStock(
        covers=settings.covers,
        hoops=settings.materials,
        reach_m={
            kind: _reach_m(kind, beds, settings) for kind in COVERS if kind != "none"
        },
        opened={
            kind: _opened(cover.open_above_c, tmax_c, season)
            for kind, cover in COVERS.items()
        },
        hands=settings.hands.minutes_in_the_morning,
    )


def _reach_m(kind: str, beds: BedSizes, settings: Settings) -> dict[float, float]:
    """By the least width of a cover, the length of bed that pieces so wide reach over.

    A piece that is kept whole reaches over as many beds as lie side by side under its
    width, and no farther along them than they are long.
    """
    hoops = settings.materials
    found = {}
    for bed_width_m in sorted(set(beds.widths_m)):
        least_m = cover_size(kind, bed_width_m, 0.0, hoops).least_width_m
        found[least_m] = 0.0
        for piece in settings.covers:
            if piece.kind != kind:
                continue
            # How many lie under its width, were they all neighbours; pieces are laid later.
            number = sheets.most_beds(
                kind, piece.width_m, bed_width_m, beds.path_m, hoops
            )
            whole_m = min(piece.length_m, beds.longest_m + GATHERED_M)
            if number:
                found[least_m] += piece.length_m if piece.may_cut else number * whole_m
    return found


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
