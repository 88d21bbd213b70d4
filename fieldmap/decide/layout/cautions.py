"""What can hurt someone, or spoil the work, on beds: overhead lines and wet ground."""

import itertools
from collections.abc import Iterable, Iterator, Sequence

import geopandas as gpd
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.layout.beds import Bed
from fieldmap.model.fact import Fact
from fieldmap.model.surroundings import PIPE_AND_CLEARANCE_M

NEAR_OVERHEAD_LINE = Fact("bed_near_overhead_line")
WET_IN_MARCH = Fact("bed_wet_in_march")
MAY_ROLL_OVER = Fact("bed_may_roll_over")


def near_overhead_lines(
    surroundings: gpd.GeoDataFrame, beds: Sequence[Bed]
) -> list[bool]:
    """Which beds lie under an overhead line or so near that a pipe could reach it."""
    outlines = [bed.outline for bed in beds]
    return within_reach_of_lines(surroundings, outlines, PIPE_AND_CLEARANCE_M)


def within_reach_of_lines(
    surroundings: gpd.GeoDataFrame, shapes: Iterable[BaseGeometry], reach_m: float
) -> list[bool]:
    """Which shapes lie less than some metres from an overhead line."""
    lines = surroundings.geometry[surroundings["kind"] == "overhead line"]
    return [bool((lines.distance(shape) < reach_m).any()) for shape in shapes]


def of_each_bed(
    near_line: Sequence[bool], wet: Sequence[bool], rolls: Sequence[bool]
) -> list[tuple[Fact, ...]]:
    """What goes before all reasons of each bed.

    Parameters
    ----------
    near_line
        For each bed whether it lies under or near an overhead line.
    wet
        For each bed whether it is wet in March.
    rolls
        For each bed whether the ground falls so much across it that a machine may roll
        over.
    """
    facts = (NEAR_OVERHEAD_LINE, MAY_ROLL_OVER, WET_IN_MARCH)
    return [
        tuple(itertools.compress(facts, flags))
        for flags in zip(near_line, rolls, wet, strict=True)
    ]


def of_beds(
    beds: Sequence[Bed], near_line: Sequence[bool], wet: Sequence[bool]
) -> Iterator[Fact]:
    """What the order of beds does not know and the grower must.

    Parameters
    ----------
    beds
        All beds.
    near_line
        For each bed whether it lies under or near an overhead line.
    wet
        For each bed whether it is wet in March.
    """
    names = [bed.name for bed in beds]
    if any(near_line):
        yield Fact(
            "beds_near_overhead_line",
            beds=list(itertools.compress(names, near_line)),
            all_beds=names,
            clearance_m=PIPE_AND_CLEARANCE_M,
        )
    if any(wet):
        plots = itertools.compress([bed.plot for bed in beds], wet)
        yield Fact("plots_wet_in_march", plots=list(dict.fromkeys(plots)))
