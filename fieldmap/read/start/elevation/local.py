"""A file of heights, grid or points, to the part around the plots."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pyproj

from fieldmap.model.raster import Bounds
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.elevation import files, outside
from fieldmap.read.place import names_files
from fieldmap.read.start.elevation import points
from fieldmap.read.start.elevation.window import Heights, read_window

ENDINGS = (*door.DRIVERS_OF_HEIGHTS, *points.ENDINGS)
_NUMBERS = b"0123456789.+-eE,; \t\r\n"


def heights_of(
    file: SiteFile, bounds: Bounds, crs: pyproj.CRS | None, height_unit: str | None
) -> Heights:
    """Heights around bounds in degrees.

    Parameters
    ----------
    file
        A grid of heights or a point cloud; its ending says which.
    bounds
        West, south, east, north of the plots [degrees]; ground around them is read too.
    crs
        CRS of a file that does not name its own; None where the user gave none.
    height_unit
        "m" or "ft" for a file that does not say it; None where the user gave none.

    Raises
    ------
    SiteError
        When the file is no grid and no points, or lies elsewhere.
    """
    if file.ending in points.ENDINGS:
        return points.heights_of(file, bounds, crs, height_unit)
    with opened(file) as source:
        return read_window(source, file.name, bounds, crs=crs, height_unit=height_unit)


@contextmanager
def opened(file: SiteFile) -> Iterator[Any]:
    """A grid while it is read, by the one driver of its ending."""
    driver = door.DRIVERS_OF_HEIGHTS[file.ending]
    if driver == "GTiff":
        outside.check(file)
    else:
        _check_text(file, driver)
    with files.opened(file, driver) as source:
        yield source


def _check_text(file: SiteFile, driver: str) -> None:
    """Raise SiteError unless a file of text begins as its driver has it."""
    begins = file.beginning(4096)
    first = begins.lstrip()[:200].lower()
    is_right = (
        first.startswith((b"ncols", b"nrows"))
        if driver == "AAIGrid"
        else bool(begins) and not set(begins.split(b"\n", 1)[-1]) - set(_NUMBERS)
    )
    if not is_right:
        raise file.site_error(
            "{file} is not a grid of heights as its ending says; save it as GeoTIFF."
        )
    beside = file.path.with_suffix(".prj")
    if beside.is_file() and names_files(
        SiteFile(beside, beside.name).beginning(100_000)
    ):
        raise file.site_error(
            "{file}: the .prj beside it shifts by a file; name the CRS with --crs, and"
            " take the .prj away."
        )
