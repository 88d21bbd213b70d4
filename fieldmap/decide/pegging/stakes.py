"""Every peg and every place that pegs lead to, with their coordinates."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from pyproj import CRS

from fieldmap.decide.layout.beds import Bed, middle_line, on_middle_line
from fieldmap.decide.pegging.model import FieldPegs, Landmark, Peg, Tie
from fieldmap.model.coordinates import WGS84, transformer

Floats = npt.NDArray[np.float64]
# Of what, what it is, and where such places lie.
_Run = tuple[str, str, Iterable[Floats]]


class Stake(NamedTuple):
    """One place.

    Attributes
    ----------
    of
        The beds of a peg's bay, or a tunnel; a bed. Empty for marks and helpers.
    what
        A peg's role ("corner", "section", "mark", "helper"), and "landmark" for what
        tapes hang on; of beds "bed corner", "middle" for the ends of its middle line and
        "hoop" on that; "end" of a tunnel's centre line, "bow" along both its sides.
    number
        Of a peg, as on the sheet; of other places, from 1.
    ties
        The tapes that meet at a peg.
    """

    field: str
    of: str
    what: str
    number: int
    ties: tuple[Tie, ...]
    easting: float
    northing: float
    longitude: float
    latitude: float
    landmark: Landmark | None = None


def stakes(
    fields: Iterable[FieldPegs],
    beds: Sequence[Bed],
    hoops_m: Mapping[str, Sequence[float]],
    crs: CRS,
) -> Iterator[Stake]:
    """Field by field: landmarks, pegs in the order of the work, then beds and tunnels.

    Parameters
    ----------
    fields
        Pegging of each field.
    beds
        All beds, of which those in a pegged bay count.
    hoops_m
        Name of a bed -> places of its hoops, from its gate end; beds that are not there
        have none.
    crs
        The site's CRS, from which longitude and latitude follow.
    """
    to_degrees = transformer(crs, WGS84)

    def stake(
        field: FieldPegs,
        of: str,
        what: str,
        number: int,
        at: Sequence[float] | Floats,
        ties: tuple[Tie, ...] = (),
        landmark: Landmark | None = None,
    ) -> Stake:
        east, north = float(at[0]), float(at[1])
        lon, lat = to_degrees.transform(east, north)
        place = (east, north, float(lon), float(lat))
        return Stake(field.name or field.plot, of, what, number, ties, *place, landmark)

    for field in fields:
        for number, mark in enumerate(field.landmarks, start=1):
            yield stake(field, mark.name, "landmark", number, mark.at, (), mark)
        of_peg = _of_pegs(field)
        for peg in field.pegs.values():
            of = of_peg.get(peg.number, "")
            yield stake(field, of, peg.role, peg.number, peg.at, peg.ties)
        named = {name for bay in field.bays for name in bay.beds}
        for run in (
            *_of_beds([bed for bed in beds if bed.name in named], hoops_m),
            *_of_tunnels(field),
        ):
            of, what, places = run
            for number, at in enumerate(places, start=1):
                yield stake(field, of, what, number, at)


def _of_pegs(field: FieldPegs) -> dict[int, str]:
    """What each peg is a corner of: the first and last bed of its bay, or a tunnel."""
    found: dict[int, str] = {}
    for bay in field.bays:
        ends = dict.fromkeys((bay.beds[0], bay.beds[-1]))
        for number in (each for row in bay.rows for each in row):
            found.setdefault(number, "-".join(ends))
    for tunnel in field.tunnels:
        found |= dict.fromkeys(tunnel.corners, tunnel.name)
    return found


def _of_beds(
    beds: Sequence[Bed], hoops_m: Mapping[str, Sequence[float]]
) -> Iterator[_Run]:
    for bed in beds:
        yield bed.name, "bed corner", shapely.get_coordinates(bed.outline)[:4]
        yield bed.name, "middle", middle_line(bed)
        if bed.name in hoops_m:
            yield bed.name, "hoop", on_middle_line(bed, hoops_m[bed.name])


def _of_tunnels(field: FieldPegs) -> Iterator[_Run]:
    pegs: Mapping[int, Peg] = field.pegs
    for tunnel in field.tunnels:
        first, far, across, beside = (
            np.array(pegs[number].at) for number in tunnel.corners
        )
        yield tunnel.name, "end", ((first + beside) / 2, (far + across) / 2)
        shares = np.array(tunnel.bows_m) / tunnel.length_m
        sides = ((first, far), (beside, across))
        bows = [
            start + share * (end - start) for start, end in sides for share in shares
        ]
        yield tunnel.name, "bow", bows
