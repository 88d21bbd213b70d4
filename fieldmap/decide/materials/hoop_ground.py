"""Where low tunnels may stand, and how the storm wind meets them."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from fieldmap.decide.layout.bearings import apart_deg
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.fact import Fact

ACROSS_DEG = 45.0  # beyond this the wind meets the long side rather than the end


class HoopGround(NamedTuple):
    """Beds by name on which no hoop may stand, and those across the storm wind."""

    under_line: frozenset[str] = frozenset()
    across_storm: frozenset[str] = frozenset()


def hoop_ground(
    beds: Sequence[Bed], near_line: Sequence[bool], storm_from_deg: float | None
) -> HoopGround:
    """What the ground of beds allows.

    Parameters
    ----------
    beds
        All beds.
    near_line
        For each bed whether an overhead line is so near that a pipe could reach it.
    storm_from_deg
        Where the storm wind comes from, clockwise from true north; None where it is not
        given: then no bed lies across it.
    """
    return HoopGround(
        frozenset(
            bed.name for bed, is_near in zip(beds, near_line, strict=True) if is_near
        ),
        frozenset(bed.name for bed in beds if is_across(bed, storm_from_deg)),
    )


def is_across(bed: Bed, storm_from_deg: float | None) -> bool:
    """Whether the storm wind meets the long side of a low tunnel on a bed."""
    return (
        storm_from_deg is not None
        and apart_deg(bed.bearing_deg, storm_from_deg) > ACROSS_DEG
    )


def storms(
    beds: Sequence[Bed], covered: Sequence[str], storm_from_deg: float | None
) -> Iterator[Fact]:
    """Which runs of beds carry low tunnels, and which of them lie across the storm.

    Parameters
    ----------
    beds
        All beds.
    covered
        Names of the beds that carry low tunnels; without any nothing is said.
    storm_from_deg
        Where the storm wind comes from, clockwise from true north; None where it is not
        given.
    """
    if not covered:
        return
    names = [bed.name for bed in beds]
    yield Fact("low_tunnels_stand", beds=list(covered), all_beds=names)
    if storm_from_deg is None:
        yield Fact("low_tunnels_storm_unknown")
        return
    here = [bed for bed in beds if bed.name in set(covered)]
    across = [bed for bed in here if is_across(bed, storm_from_deg)]
    along = [bed.name for bed in here if not is_across(bed, storm_from_deg)]
    if across:
        yield Fact(
            "low_tunnels_across_storm",
            beds=[bed.name for bed in across],
            all_beds=names,
            storm_from_deg=storm_from_deg,
            angle=round(
                max(apart_deg(each.bearing_deg, storm_from_deg) for each in across)
            ),
        )
    if along:
        yield Fact(
            "low_tunnels_along_storm",
            beds=along,
            all_beds=names,
            storm_from_deg=storm_from_deg,
        )
