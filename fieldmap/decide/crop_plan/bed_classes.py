"""Beds that are alike, so that thousands of them are shared out as a few dozen kinds."""

from collections.abc import Container, Mapping, Sequence
from typing import NamedTuple, Protocol

import numpy as np
import numpy.typing as npt

from fieldmap.decide import tunnels
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.hoop_ground import HoopGround
from fieldmap.decide.ranking import Light
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.settings import Beds

ANYWHERE = HoopGround()
NOTHING_INSIDE: Mapping[str, str] = {}
Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

MOST_CLASSES = 48  # with more of them the solver gets slow (a choice)
NEVER = 400.0  # stands for a day that does not come where days are compared
SAME_SIZE = 0.02  # of length or light counts as much as a day (a choice)
CENTRAL = 1


class LitBed(Protocol):
    """A bed and its light, outdoors or inside a walk-in tunnel."""

    @property
    def bed(self) -> Bed:
        """Where and how long it is."""
        ...

    @property
    def light(self) -> Light:
        """That comes to its plants."""
        ...


class FloorBed(NamedTuple):
    """A bed inside a walk-in tunnel.

    Attributes
    ----------
    tunnel
        Its place among the tunnels.
    inner_fabric
        Kind of cover that may lie over it on low hoops; "" for none.
    """

    bed: Bed
    light: Light
    tunnel: int
    inner_fabric: str = ""

    @property
    def under(self) -> tuple[int, str]:
        """Whose film it lies under, and the fabric that may lie over it."""
        return self.tunnel, self.inner_fabric


def floor_beds(
    places: Sequence[TunnelPlace],
    sun_mj_m2_day: Sequence[Sequence[float]],
    beds: Beds,
) -> tuple[FloorBed, ...]:
    """Beds inside walk-in tunnels.

    Parameters
    ----------
    places
        Walk-in tunnels where they stand; one that is moved has no beds.
    sun_mj_m2_day
        For each tunnel the light on its floor by month [MJ/m² a day], January first.
    beds
        Widths of beds and paths.
    """
    return tuple(
        FloorBed(bed, Light(tuple(light), (), ()), number, at.size.inner_fabric or "")
        for number, (at, light) in enumerate(zip(places, sun_mj_m2_day, strict=True))
        for bed in tunnels.floor_beds(at, beds)
    )


class BedClass(NamedTuple):
    """Beds that are taken as one.

    Attributes
    ----------
    beds
        Their places in the list of beds.
    length_m, width_m
        Of the longest, and of all.
    early, late
        (crops, covers): the latest early and the earliest late date of them, so that
        what holds for the class holds for each.
    slackens
        (crops, covers): the earliest day of them on which a crop bears less.
    grows_until
        (crops,): the earliest day of them without light enough to grow.
    light_mj_m2_day
        Twelve months, mean of the beds.
    families
        That stood on them last year.
    may_have_hoops, across_storm
        Whether low tunnels may stand on them, and have their long side to the storm.
    winters
        (crops,): least share of winters that a crop left standing comes through on any
        of them; NaN where not known, None where nobody asked.
    last_sowing
        (crops, covers): the earliest last day of them to sow, or to set out, for a
        harvest of the slowest kinds too; NaN where there is none, None where nobody
        asked.
    path_within_m
        Between the two strips of a bed under one hoop; else 0.
    in_tunnel
        Whether they lie inside a walk-in tunnel.
    inner_fabric
        Kind of cover that may lie over them there; "" for none.
    """

    beds: tuple[int, ...]
    length_m: float
    width_m: float
    early: Floats
    late: Floats
    slackens: Floats
    grows_until: Floats
    light_mj_m2_day: tuple[float, ...]
    families: frozenset[str]
    may_have_hoops: bool = True
    across_storm: bool = False
    winters: Floats | None = None
    last_sowing: Floats | None = None
    path_within_m: float = 0.0
    in_tunnel: bool = False
    inner_fabric: str = ""

    def night_covers(
        self, covers: Sequence[str], allowed: Container[str] | None
    ) -> list[tuple[int, str]]:
        """What may lie over them at night, by its place among the dates; none first.

        Inside a tunnel that is the tunnel's own fabric alone.

        Parameters
        ----------
        covers
            Of the dates, none first.
        allowed
            Kinds that the crop may get; None for all.
        """
        return [
            (at, kind)
            for at, kind in enumerate(covers)
            if at == 0
            or ((allowed is None or kind in allowed) and self._may_have(kind))
        ]

    def _may_have(self, kind: str) -> bool:
        return kind == self.inner_fabric if self.in_tunnel else self.may_have_hoops


def of_beds(
    beds: Sequence[LitBed],
    dates: Dates,
    families: Mapping[str, frozenset[str]],
    allows: HoopGround = ANYWHERE,
    places: Container[int] | None = None,
    inside: Mapping[str, str] = NOTHING_INSIDE,
) -> list[BedClass]:
    """Classes in the order of their first beds; beds without known dates are in none.

    Beds with the same days, light, length and families of last year are one class. Where
    that makes too many, the class whose beds differ most is halved, again and again, as
    long as there is room for one more: a day counts as much as 2 % of length or light.

    Parameters
    ----------
    beds
        All beds with their light, in the order of the dates.
    dates
        Early and late dates of all of them.
    families
        Name of a bed -> families that stood there last year; beds that are not there
        had none.
    allows
        On which beds no hoops may stand, and which lie across the storm wind.
    places
        Places of the beds that are asked about; None for all.
    inside
        Beds inside walk-in tunnels by name, with the kind of cover that may lie over
        each on low hoops; "" for none.
    """
    early, late = dates.early[CENTRAL], dates.late[CENTRAL]
    known = ~(np.isnan(early) | np.isnan(late)).any(axis=(0, 1))
    groups: dict[object, list[int]] = {}
    for at in map(int, np.flatnonzero(known)):
        if places is not None and at not in places:
            continue
        bed = beds[at].bed
        # Beds that differ in these are never alike, however many classes that makes.
        fixed = (
            bed.width_m,
            bed.path_within_m,
            inside.get(bed.name),
            tuple(sorted(families.get(bed.name, ()))),
            bed.name in allows.under_line,
            bed.name in allows.across_storm,
        )
        groups.setdefault(fixed, []).append(at)
    # Never is put as far off as matters, or one such bed would outweigh all differences.
    days = [np.clip(np.ceil(each), -NEVER, NEVER) for each in (early, late)]
    sizes = np.array([[bed.bed.length_m, max(bed.light.sun_mj_m2_day)] for bed in beds])
    # A difference of logarithms is one of shares, as 2 % is.
    tenths = np.maximum(np.round(sizes, 1), 0.1)
    likeness = np.column_stack(
        [np.concatenate(days).reshape(-1, len(beds)).T, np.log(tenths) / SAME_SIZE]
    )
    halved = _halved([np.array(group) for group in groups.values()], likeness)
    return [
        _class([int(at) for at in group], beds, dates, families)._replace(
            may_have_hoops=beds[group[0]].bed.name not in allows.under_line
            and beds[group[0]].bed.name not in inside,
            in_tunnel=beds[group[0]].bed.name in inside,
            inner_fabric=inside.get(beds[group[0]].bed.name, ""),
            across_storm=beds[group[0]].bed.name in allows.across_storm,
        )
        for group in sorted(halved, key=lambda group: int(group[0]))
    ]


def _halved(groups: list[Whole], likeness: Floats) -> list[Whole]:
    """Groups of rows, the one that is spread widest split at its middle in turn."""
    spreads = [np.ptp(likeness[group], axis=0) for group in groups]
    while len(groups) < MOST_CLASSES:
        widest = int(np.argmax([spread.max() for spread in spreads]))
        along = int(np.argmax(spreads[widest]))
        if spreads[widest][along] <= 0:
            break
        group = groups[widest]
        values = likeness[group, along]
        # At the middle of the values, not of the beds: the spread is what must shrink.
        low = values <= (values.min() + values.max()) / 2
        groups[widest : widest + 1] = group[low], group[~low]
        spreads[widest : widest + 1] = [
            np.ptp(likeness[half], axis=0) for half in (group[low], group[~low])
        ]
    return groups


def _class(
    group: Sequence[int],
    beds: Sequence[LitBed],
    dates: Dates,
    families: Mapping[str, frozenset[str]],
) -> BedClass:
    early, late = dates.early[CENTRAL], dates.late[CENTRAL]
    light = np.array([beds[at].light.sun_mj_m2_day for at in group]).mean(axis=0)
    first = beds[group[0]].bed
    return BedClass(
        beds=tuple(group),
        # A cover cut for the longest reaches over each of them.
        length_m=max(beds[at].bed.length_m for at in group),
        width_m=first.width_m,
        early=early[:, :, list(group)].max(axis=-1),
        late=late[:, :, list(group)].min(axis=-1),
        slackens=dates.slackens[:, :, list(group)].min(axis=-1),
        grows_until=dates.grows_until[:, list(group)].min(axis=-1),
        light_mj_m2_day=tuple(float(month) for month in light),
        families=families.get(first.name, frozenset()),
        winters=dates.winters[:, 0, list(group)].min(axis=-1),
        last_sowing=np.floor(dates.last_sowing[CENTRAL][:, :, list(group)]).min(
            axis=-1
        ),
        path_within_m=first.path_within_m,
    )
