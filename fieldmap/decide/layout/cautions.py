"""What can hurt someone, or spoil the work, on beds: overhead lines and wet ground."""

from collections.abc import Sequence

import geopandas as gpd

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.tunnels.room import PIPE_AND_CLEARANCE_M
from fieldmap.model.fact import Fact

NEAR_OVERHEAD_LINE = Fact("bed_near_overhead_line")
WET_IN_MARCH = Fact("bed_wet_in_march")


def near_overhead_lines(
    surroundings: gpd.GeoDataFrame, beds: Sequence[Bed]
) -> list[bool]:
    """Which beds lie under an overhead line or so near that a pipe could reach it."""
    lines = surroundings.geometry[surroundings["kind"] == "overhead line"]
    return [
        bool((lines.distance(bed.outline) < PIPE_AND_CLEARANCE_M).any()) for bed in beds
    ]


def of_each_bed(
    near_line: Sequence[bool], wet: Sequence[bool]
) -> list[tuple[Fact, ...]]:
    """What goes before all reasons of each bed."""
    return [
        (
            *((NEAR_OVERHEAD_LINE,) if is_near else ()),
            *((WET_IN_MARCH,) if is_wet else ()),
        )
        for is_near, is_wet in zip(near_line, wet, strict=True)
    ]


def of_beds(
    beds: Sequence[Bed], near_line: Sequence[bool], wet: Sequence[bool]
) -> list[Fact]:
    """What the order of beds does not know and the grower must."""
    near = [bed.name for bed, is_near in zip(beds, near_line, strict=True) if is_near]
    plots = [bed.plot for bed, is_wet in zip(beds, wet, strict=True) if is_wet]
    found = []
    if near:
        found.append(
            Fact(
                "beds_near_overhead_line",
                beds=near,
                all_beds=[bed.name for bed in beds],
                clearance_m=PIPE_AND_CLEARANCE_M,
            )
        )
    if plots:
        found.append(Fact("plots_wet_in_march", plots=list(dict.fromkeys(plots))))
    return found
