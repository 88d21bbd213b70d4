"""What is advised for one night: records that sheet, map and command all say."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Literal, NamedTuple

from fieldmap.decide.layout.beds import Stretch
from fieldmap.decide.tonight.allot import Piece
from fieldmap.decide.tonight.answer import ODDS, Bare, Odds
from fieldmap.decide.tonight.dusk import Dusk
from fieldmap.decide.tonight.evening_round import Stop
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.decide.tonight.standing import Stand, Standing
from fieldmap.model.fact import Fact

# cover: a cover is laid or closed over it; leave: unharmed, or it keeps by itself; odds:
# likely unharmed, and no cover betters that; short: a cover would serve and none is left;
# lost: no cover that may be used is likely to save it.
Verdict = Literal["cover", "leave", "odds", "short", "lost"]
# What a bed is drawn as: of its crops, or parts, the first that holds; "part" where
# covered and uncovered ground lie side by side.
Sign = Literal["cover", "part", "lost", "odds", "leave"]


class Row(NamedTuple):
    """One crop on one bed, and what to do with it.

    Attributes
    ----------
    piece
        What is laid over it; None unless `verdict` is "cover".
    """

    stop: Stop
    standing: Standing
    bare: Bare
    odds: Odds
    verdict: Verdict
    piece: Piece | None = None

    @property
    def is_closed(self) -> bool:
        """Whether its cover lies there already."""
        return self.piece is not None and self.piece.kind == self.standing.cover

    @property
    def length_m(self) -> float:
        """Metres of bed that it stands on."""
        first_m, last_m = self.standing.part_m
        return min(last_m, self.stop.ranked.bed.length_m) - first_m

    @property
    def is_in_part(self) -> bool:
        """Whether its cover does not reach over all of it."""
        return self.piece is not None and self.piece.bed_m < self.length_m - 0.05

    @property
    def part_m(self) -> Stretch | None:
        """What is meant of the bed, from its gate end: covered, or stood on; None: all."""
        first_m, last_m = self.covered_m
        is_all = last_m - first_m > self.stop.ranked.bed.length_m - 0.05
        return None if is_all else (first_m, last_m)

    @property
    def covered_m(self) -> Stretch:
        """As `part_m`, of all of the bed too."""
        first_m = self.standing.part_m[0]
        along_m = self.length_m if self.piece is None else self.piece.bed_m
        return first_m, first_m + along_m


class Task(NamedTuple):
    """One number of the walk: neighbours with one crop and cover, or under one sheet.

    Attributes
    ----------
    number
        From 1, in walking order over all plots.
    """

    number: int
    rows: tuple[Row, ...]

    @property
    def kind(self) -> str:
        """Of its cover."""
        return self._pieces[0].kind

    @property
    def odds(self) -> Odds:
        """Under its cover; of beds under one sheet the worst."""
        return max((piece.odds for piece in self._pieces), key=ODDS.index)

    @property
    def cover_m(self) -> float:
        """Metres of cover that it takes."""
        return sum(piece.cover_m for piece in self._pieces)

    @property
    def is_sheet(self) -> bool:
        """Whether one piece lies over several beds."""
        return self._pieces[0].sheet is not None

    @property
    def _pieces(self) -> list[Piece]:
        return [row.piece for row in self.rows if row.piece is not None]


class PlotAdvice(NamedTuple):
    """One stop of the round: what stands on a plot.

    Attributes
    ----------
    worst_c
        Air on the coldest of its planted beds at worst.
    likely_c
        Likely air on the coldest and on the warmest of them.
    rows
        All that stands there, in walking order.
    """

    plot: str
    worst_c: float
    likely_c: tuple[float, float]
    tasks: tuple[Task, ...]
    rows: tuple[Row, ...]

    def of(self, verdict: Verdict) -> tuple[Row, ...]:
        """What stands there with one answer."""
        return tuple(row for row in self.rows if row.verdict == verdict)


class UsedCover(NamedTuple):
    """Metres of a kind that are laid, and that are owned."""

    kind: str
    used_m: float
    owned_m: float


class Held(NamedTuple):
    """What covers lie over and are held down by; what stands there already is counted.

    Attributes
    ----------
    hoops, weights
        Pieces.
    weight_kg
        Of one; 0 where there are none.
    clips
        Inside walk-in tunnels.
    counted
        Weights that the plan counts in all, which may be fewer; None where it is not asked.
    """

    hoops: int
    weights: int
    weight_kg: float
    clips: int
    counted: int | None = None


NOTHING_HELD = Held(0, 0, 0.0, 0)


class Harmed(NamedTuple):
    """Rows of one crop that a still night harms early without a cover.

    Attributes
    ----------
    first, last
        About when, at worst and as is likely; `last` is None where it likely is not.
    """

    rows: tuple[Row, ...]
    first: datetime
    last: datetime | None


@dataclass(frozen=True)
class Advice:
    """What to do on one evening.

    Attributes
    ----------
    stand
        What stands there, and from where that is known.
    of_station
        How it stands to the plots.
    of_beds
        Planted beds of whose ground nothing is known; on a windy night its air and whom
        that harms.
    plots
        Those on which anything stands, in walking order; empty on a windy night.
    covers
        Of each kind that warms and is owned.
    held
        Hoops, weights and clips of all of them.
    minutes
        Two people take for it; 0 for nothing.
    done_by, begin_by
        None where the sun does not set.
    harmed
        What is harmed in the first half of the night, the first first; empty where the
        temperature at dusk is not known.
    dusk
        From which that is known.
    opened
        Kinds of cover that are laid or closed.
    plan_order
        As `EveningRound.plan_order`.
    """

    forecast: Forecast
    stand: Stand
    of_station: tuple[Fact, ...]
    of_beds: tuple[Fact, ...]
    plots: tuple[PlotAdvice, ...] = ()
    covers: tuple[UsedCover, ...] = ()
    held: Held = NOTHING_HELD
    minutes: int = 0
    done_by: datetime | None = None
    begin_by: datetime | None = None
    harmed: tuple[Harmed, ...] = ()
    dusk: Dusk | None = None
    has_tunnels: bool = False
    plan_order: tuple[str, ...] = field(default=(), repr=False)

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """All that stands there, in walking order."""
        return tuple(row for plot in self.plots for row in plot.rows)

    @cached_property
    def tasks(self) -> tuple[Task, ...]:
        """What is covered, in walking order."""
        return tuple(task for plot in self.plots for task in plot.tasks)

    @property
    def opened(self) -> tuple[str, ...]:
        """Kinds of cover that are laid or closed."""
        return tuple(dict.fromkeys(task.kind for task in self.tasks))

    @property
    def signs(self) -> Mapping[str, Sign]:
        """What each planted bed is drawn as, by name."""
        by_bed: dict[str, list[Row]] = {}
        for row in self.rows:
            by_bed.setdefault(row.standing.bed, []).append(row)
        return {bed: _sign(rows) for bed, rows in by_bed.items()}


def _sign(rows: list[Row]) -> Sign:
    verdicts = {row.verdict for row in rows}
    beyond = verdicts & {"short", "lost"} or any(row.is_in_part for row in rows)
    if "cover" in verdicts:
        return "part" if beyond else "cover"
    if beyond:
        return "lost"
    return "odds" if "odds" in verdicts else "leave"
