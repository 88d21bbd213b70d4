"""Heights around the plots from an address: only the window is fetched."""

import json
import warnings
from collections.abc import Sequence
from contextlib import ExitStack
from typing import Any

import rasterio
import rasterio.errors
from rasterio.abc import FileContainer
from rasterio.io import MemoryFile
from rasterio.merge import merge

from fieldmap.errors import SiteError, problem
from fieldmap.model.raster import Bounds
from fieldmap.read import door
from fieldmap.read.elevation.files import UNREADABLE
from fieldmap.read.start.elevation.window import Heights, around, read_window
from fieldmap.read.start.net.web import RangeFile, Reader, Web, check_address
from fieldmap.read.start.sources import Service
from fieldmap.read.wording import in_short

MOST_TILES = 16
MOST_BYTES_OF_CATALOGUE = 10_000_000
TIFF = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")


def from_address(
    address: str, bounds: Bounds, web: Web, height_unit: str | None
) -> Heights:
    """Heights around bounds in degrees of one cloud-optimised GeoTIFF.

    Parameters
    ----------
    address
        Of the file itself.
    bounds
        West, south, east, north of the plots [degrees].
    web
        What fetches; only the parts of the file that are needed are asked for.
    height_unit
        "m" or "ft" for a file that does not say it; None where the user gave none.

    Raises
    ------
    SiteError
        When it cannot be fetched, is no GeoTIFF, or lies elsewhere.
    """
    return _window_of(address, bounds, web, height_unit, 3000.0)


def from_service(
    service: Service, bounds: Bounds, web: Web
) -> tuple[Heights, tuple[str, ...]]:
    """Heights around bounds in degrees of a known service, and the addresses of its tiles.

    Parameters
    ----------
    service
        One open elevation of `sources.toml`.
    bounds
        West, south, east, north of the plots [degrees].
    web
        What fetches.

    Raises
    ------
    SiteError
        As `from_address`, and where a catalogue has nothing there.
    """
    wide = around(bounds, service.margin_m)
    if service.kind == "tiles":
        addresses = list(service.tiles(wide))
    else:
        addresses = _catalogued(service, wide, web)
    if len(addresses) > MOST_TILES:
        addresses = (
            _catalogued(service, bounds, web)
            if service.kind == "index"
            else addresses[:MOST_TILES]
        )
    parts: dict[str, Heights] = {}
    refused: list[SiteError] = []
    for address in addresses[:MOST_TILES]:
        try:
            parts[address] = _window_of(
                address, bounds, web, service.height_unit, service.margin_m, whole=False
            )
        except SiteError as error:  # of the sea, or the neighbour's land
            refused.append(error)
    if not parts:
        raise refused[0]
    first = next(iter(parts.values()))
    same = {name: part for name, part in parts.items() if part.crs == first.crs}
    whole = first if len(same) == 1 else _joined(list(same.values()))
    return whole, tuple(same)


def _window_of(
    address: str,
    bounds: Bounds,
    web: Web,
    height_unit: str | None,
    margin_m: float,
    *,
    whole: bool = True,
) -> Heights:
    opened = web.parts(address)
    name = address.rsplit("/", 1)[-1][:100] or address[:100]
    if opened.bytes_at(0, 4) not in TIFF:
        raise SiteError(
            problem(
                "{address} is not a GeoTIFF; name the file itself, not a page about it.",
                address=address[:300],
            )
        )
    try:
        with warnings.catch_warnings(), rasterio.Env(**door.NO_NETWORK):
            warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
            with rasterio.open(
                opened.name, driver="GTiff", opener=_Only(opened)
            ) as source:
                return read_window(
                    source,
                    name,
                    bounds,
                    height_unit=height_unit,
                    margin_m=margin_m,
                    must_hold=whole,
                )
    except UNREADABLE as error:
        if isinstance(opened.failed, SiteError):
            raise opened.failed from error
        raise SiteError(
            problem(
                "{file} cannot be read as an elevation grid ({error}).",
                file=name,
                error=in_short(error),
            )
        ) from error


class _Only(FileContainer):  # type: ignore[misc]  # the library has no types
    """One file, which is all that the library finds."""

    def __init__(self, file: RangeFile) -> None:
        self.file = file

    def open(self, _path: str, _mode: str = "r", **_how: Any) -> Reader:
        """The file, from its beginning."""
        return Reader(self.file)

    def isfile(self, path: str) -> bool:
        """Whether it is the file."""
        return path.endswith(self.file.name)

    def isdir(self, _path: str) -> bool:
        """There are no folders."""
        return False

    def ls(self, _path: str) -> list[str]:
        """What lies beside it: nothing."""
        return []

    def mtime(self, _path: str) -> int:
        """No time."""
        return 0

    def rm(self, path: str) -> None:
        """Nothing is taken away."""
        raise PermissionError(path)

    def size(self, _path: str) -> int:
        """Bytes of it."""
        return self.file.size


def _catalogued(service: Service, bounds: Bounds, web: Web) -> list[str]:
    """Addresses of the wanted files that a catalogue names, the newest of each place."""
    address = service.catalogue(bounds)
    try:
        table = json.loads(web.whole(address, MOST_BYTES_OF_CATALOGUE))
        features = table["features"]
        found: dict[tuple[float, ...], str] = {}
        for item in sorted(features, key=lambda each: str(each.get("id", ""))):
            place = tuple(round(float(edge), 4) for edge in item["bbox"])
            for asset in item["assets"].values():
                if str(asset["href"]).endswith(service.ends):
                    found[place] = str(asset["href"])
                    check_address(found[place], sent_by=address)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise SiteError(
            problem(
                "{service}: fieldmap does not understand the answer of its catalogue"
                " ({error}); download the file yourself and name it.",
                service=service.name,
                error=in_short(error),
            )
        ) from error
    if not found:
        raise SiteError(
            problem(
                "{service} has nothing at this place; name another elevation.",
                service=service.name,
            )
        )
    return list(found.values())


def _joined(parts: Sequence[Heights]) -> Heights:
    """Heights of neighbours of one CRS in one grid, of the cells of the first."""
    first = parts[0]
    with ExitStack() as open_ones:
        sources: list[Any] = []
        for part in parts:
            memory = open_ones.enter_context(MemoryFile())
            rows, cols = part.values.shape
            with memory.open(
                driver="GTiff",
                width=cols,
                height=rows,
                count=1,
                dtype="float32",
                crs=part.crs.to_wkt(),
                transform=part.transform,
                nodata=float("nan"),
            ) as target:
                target.write(part.values, 1)
            sources.append(open_ones.enter_context(memory.open()))
        values, transform = merge(sources)
    return Heights(values[0], transform, first.crs, first.unit_taken)
