"""History by ground: lines of history files on the beds that lie there today.

A line names a bed. The ground of that bed is what `fieldmap keep` wrote down with the
line, or else the bed of that name which stays as it is. A bed that is only planned has no
ground of its own yet: its name may stand for other ground in the next plan.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

import shapely
from shapely.geometry import Polygon

from fieldmap.decide.layout.beds import Bed
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import Happened, PastBed
from fieldmap.model.site import OwnBed, Stood

# A bed of today lies on a past one when they share so much of the smaller (a choice): a
# long bed that was cut in two is found as well, and two that were joined.
SHARE = 0.5
# What tells lines of a history file apart: the bed, and a day or a crop.
Line = tuple[str, date | None, str]


@dataclass(frozen=True)
class History:
    """Where lines of history files happened, and the beds that lie there today.

    Attributes
    ----------
    past
        As `fieldmap keep` wrote it down.
    own
        Beds that stay as they are.
    beds
        Those of the plan.
    """

    past: Sequence[PastBed]
    own: Sequence[OwnBed]
    beds: Sequence[Bed]

    def names(self, file: str) -> list[str]:
        """Every name of a bed that a line of a file may use."""
        # Ground without a file is that of the layout that was kept last.
        past = [each.bed for each in self.past if each.file in (file, None)]
        return list(dict.fromkeys([*(bed.name for bed in self.beds), *past]))

    def recorded(
        self, file: str, bed: str, day: date | None = None, crop: str = ""
    ) -> Polygon | None:
        """Ground that was written down with a line; None where it came later.

        Parameters
        ----------
        file
            Name of the history file in which the line stands.
        bed
            Name of the bed in the line; capitals do not matter.
        day
            Day of the line; None for a line that has a crop and no day.
        crop
            Crop of a line without a day; capitals do not matter.

        Returns
        -------
        Polygon
            Of several writings the first that held the line; in the site's CRS.
        """
        found = [
            each
            for each in self.past
            if each.file == file
            and each.bed.casefold() == bed.casefold()
            and _holds(each, day, crop)
        ]
        # Later writings may be of new ground under the same name.
        first = min(found, key=lambda each: each.until or date.min, default=None)
        return None if first is None else first.outline

    def staying(self, bed: str) -> Polygon | None:
        """Ground of a bed that stays as it is."""
        named = bed.casefold()
        return next(
            (each.outline for each in self.own if each.name.casefold() == named), None
        )

    def last_kept(self, bed: str) -> Polygon | None:
        """Ground of a bed of the layout that was kept last, though it stays no longer."""
        named = bed.casefold()
        return next(
            (
                each.outline
                for each in self.past
                if each.file is None and each.bed.casefold() == named
            ),
            None,
        )

    def ground(
        self, file: str, bed: str, day: date | None = None, crop: str = ""
    ) -> Polygon | None:
        """On which ground a line happened; None where nobody wrote it down.

        Parameters
        ----------
        file
            Name of the history file in which the line stands.
        bed
            Name of the bed in the line; capitals do not matter.
        day
            Day of the line; None for a line that has a crop and no day.
        crop
            Crop of a line without a day; capitals do not matter.
        """
        return (
            self.recorded(file, bed, day, crop)
            or self.staying(bed)
            or self.last_kept(bed)
        )

    def beds_on(self, ground: Polygon) -> list[str]:
        """Names of today's beds on a past one, the one that shares most of it first."""
        shares = [
            (float(bed.outline.intersection(ground).area), bed)
            for bed in self.beds
            if bed.outline.intersects(ground)
        ]
        return [
            bed.name
            for shared_m2, bed in sorted(shares, key=lambda each: -each[0])
            if shared_m2 >= SHARE * min(bed.outline.area, ground.area)
        ]

    # ------------------------------------------------------------- lines of files
    def stood(
        self, file: str, lines: Iterable[Stood]
    ) -> tuple[tuple[Stood, ...], list[Fact]]:
        """What stood on today's beds; a line goes to every bed that lies on its ground."""
        placed = _PlacedLines(file)
        found = tuple(
            replace(line, bed=name)
            for line in lines
            for name in placed.of(self, line.bed, None, line.crop)
        )
        return found, list(placed.facts())

    def happened(
        self, file: str, lines: Iterable[Happened]
    ) -> tuple[tuple[Happened, ...], list[Fact]]:
        """What happened on today's beds; a line goes to the bed with most of its ground."""
        placed = _PlacedLines(file)
        found = tuple(
            line._replace(bed=name)
            for line in lines
            for name in placed.of(self, line.bed, line.day, "")[:1]
        )
        return found, list(placed.facts())


def _holds(past: PastBed, day: date | None, crop: str) -> bool:
    """Whether a line was there when the ground was written down."""
    if day is not None:
        return past.until is not None and day <= past.until
    return crop.casefold() in {each.casefold() for each in past.crops}


class _PlacedLines:
    """Where the lines of one file lie now, and remarks on those that lie elsewhere."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.nowhere: dict[str, None] = {}
        self.bare: dict[str, None] = {}
        self.elsewhere: dict[tuple[str, tuple[str, ...]], None] = {}

    def of(self, history: History, bed: str, day: date | None, crop: str) -> list[str]:
        """Today's beds on the ground of a line, and what to say of it is noted."""
        ground = history.ground(self.file, bed, day, crop)
        if ground is None:
            self.nowhere[bed] = None
            return []
        names = history.beds_on(ground)
        if not names:
            self.bare[bed] = None
        elif bed.casefold() not in {name.casefold() for name in names}:
            self.elsewhere[bed, tuple(names)] = None
        return names

    def facts(self) -> Iterator[Fact]:
        if self.nowhere:
            yield Fact(
                "history_without_ground", file=self.file, beds=list(self.nowhere)
            )
        if self.bare:
            yield Fact("history_under_no_bed", file=self.file, beds=list(self.bare))
        if self.elsewhere:
            moved = [f"{bed} → {', '.join(names)}" for bed, names in self.elsewhere]
            yield Fact("history_elsewhere", file=self.file, beds=moved)


# ------------------------------------------------------------- what is written down
def written_down(
    history: History, file: str, lines: Iterable[Line]
) -> tuple[list[PastBed], list[str]]:
    """The ground of every line of a file, and names that no bed has or had.

    Ground that was written down before stays; a line that came later gets that of the bed
    which stays, of the layout kept last, or of the plan.

    Parameters
    ----------
    history
        Ground that was written down before, beds that stay and beds of the plan.
    file
        Name of the history file.
    lines
        Its lines: bed, day or None, and the crop where there is no day.
    """
    planned = {bed.name.casefold(): bed.outline for bed in history.beds}
    found = [each for each in history.past if each.file == file]
    later: dict[str, list[Line]] = {}
    for line in lines:
        if history.recorded(file, *line) is None:
            later.setdefault(line[0], []).append(line)
    unknown = []
    for name, its in later.items():
        kept = history.staying(name) or history.last_kept(name)
        outline = kept or planned.get(name.casefold())
        if outline is None:
            unknown.append(name)
            continue
        days = [day for _name, day, _crop in its if day is not None]
        crops = tuple(dict.fromkeys(crop for _name, day, crop in its if day is None))
        found.append(PastBed(file, name, max(days, default=None), crops, outline))
    return found, unknown


def layout(beds: Iterable[Bed]) -> list[PastBed]:
    """The beds of a plan as the layout that is kept last."""
    return [PastBed(None, bed.name, None, (), bed.outline) for bed in beds]


# ------------------------------------------------------------- what moves
def moved(before: Iterable[tuple[str, Polygon]], beds: Sequence[Bed]) -> list[str]:
    """Names that stand for other ground than before, in the order of the beds.

    A bed has moved when it shares under `SHARE` of the smaller of its two outlines.
    """
    lay = {name.casefold(): outline for name, outline in before}
    found = []
    for bed in beds:
        old = lay.get(bed.name.casefold())
        if old is None:
            continue
        shared_m2 = float(shapely.intersection(old, bed.outline).area)
        if shared_m2 < SHARE * min(old.area, bed.outline.area):
            found.append(bed.name)
    return found
