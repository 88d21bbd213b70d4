"""Where the heights of a place come from: a file, an address, or a known service."""

from typing import NamedTuple

import numpy as np
import pyproj

from fieldmap.errors import SiteError, problem
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds
from fieldmap.read.door import SiteFile
from fieldmap.read.start.elevation import local, remote
from fieldmap.read.start.elevation.window import Heights
from fieldmap.read.start.net.web import Web
from fieldmap.read.start.sources import Service, services


class Chosen(NamedTuple):
    """Heights, what to say of them, and from whom they were fetched.

    Attributes
    ----------
    heights
        None where nothing was named and nothing may be fetched.
    credit
        Name, licence and credit of what was fetched; None of a file.
    addresses
        Of the files that the heights are from.
    """

    heights: Heights | None
    facts: tuple[Fact, ...]
    credit: tuple[str, str, str] | None = None
    addresses: tuple[str, ...] = ()


def from_file(
    file: SiteFile, bounds: Bounds, crs: pyproj.CRS | None, height_unit: str | None
) -> Chosen:
    """Heights of a file that the user has.

    Parameters
    ----------
    file
        A grid of heights or a point cloud.
    bounds
        West, south, east, north of the plots [degrees].
    crs
        CRS of a file that does not name its own; None where the user gave none.
    height_unit
        "m" or "ft" for a file that does not say it; None where the user gave none.

    Raises
    ------
    SiteError
        As `local.heights_of`.
    """
    heights = local.heights_of(file, bounds, crs, height_unit)
    taken = [Fact("start_metres_taken", file=file.name)] if heights.unit_taken else []
    return Chosen(heights, tuple(taken))


def from_address(
    address: str, bounds: Bounds, web: Web | None, height_unit: str | None
) -> Chosen:
    """Heights at an address that the user names.

    Parameters
    ----------
    address
        Of a cloud-optimised GeoTIFF.
    bounds
        West, south, east, north of the plots [degrees].
    web
        What fetches; None where nothing may be fetched.
    height_unit
        "m" or "ft" for a file that does not say it; None where the user gave none.

    Raises
    ------
    SiteError
        When nothing may be fetched, and as `remote.from_address`.
    """
    if web is None:
        raise SiteError(
            problem(
                "{address} is an address, and fieldmap asks a server only with --fetch; add"
                " --fetch to get the ground around the plots.",
                address=address[:300],
            )
        )
    heights = remote.from_address(address, bounds, web, height_unit)
    taken = [Fact("start_metres_taken", file=address)] if heights.unit_taken else []
    return Chosen(heights, tuple(taken), (address, "", ""), (address,))


def from_services(bounds: Bounds, web: Web | None) -> Chosen:
    """Heights of the finest known service that has them; what there is, where none is asked.

    Raises
    ------
    SiteError
        When every service that can be asked fails: what the last one said.
    """
    west, south, east, north = bounds
    known = services((west + east) / 2, (south + north) / 2)
    by_hand = [
        _fact("start_elevation_by_hand", one) for one in known if one.kind == "hand"
    ]
    asked = [each for each in known if each.kind != "hand"]
    if web is None:
        could = [_fact("start_elevation_could", asked[0])]
        return Chosen(None, (*could, *by_hand))
    said: list[Fact] = []
    last: SiteError | None = None
    for service in asked:
        try:
            heights, addresses = remote.from_service(service, bounds, web)
        except SiteError as error:
            last = error
            said.append(Fact("start_source_failed", name=service.name, why=str(error)))
            continue
        taken = _fact("start_elevation_taken", service)
        return Chosen(
            heights,
            (*said, taken, *(by_hand if service.every_m > 2 else ())),
            (service.name, service.licence, service.credit),
            addresses,
        )
    raise last or SiteError(problem("no elevation is known for this place"))


def _fact(kind: str, service: Service) -> Fact:
    return Fact(
        kind,
        name=service.name,
        every_m=service.every_m,
        licence=service.licence,
        credit=service.credit,
        cannot=service.cannot,
        address=service.address if service.kind == "hand" else "",
    )


def middle_m(heights: Heights, bounds: Bounds) -> float:
    """Height at the middle of bounds in degrees; of all known where that one is missing."""
    west, south, east, north = bounds
    place = transformer(WGS84, heights.crs).transform(
        (west + east) / 2, (south + north) / 2
    )
    col, row = (int(each) for each in ~heights.transform * place)
    rows, cols = heights.values.shape
    if 0 <= row < rows and 0 <= col < cols and np.isfinite(heights.values[row, col]):
        return float(heights.values[row, col])
    return float(np.nanmedian(heights.values))
