"""Ground points of a laser survey (LAS, LAZ) to a grid of their mean heights."""

import math
import struct
from collections.abc import Iterator
from typing import Any

import laspy
import lazrs
import numpy as np
import numpy.typing as npt
import pyproj
from affine import Affine
from rasterio.fill import fillnodata

from fieldmap.errors import SiteError, problem
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Bounds
from fieldmap.read.door import SiteFile
from fieldmap.read.elevation.files import FOOT_M
from fieldmap.read.place import horizontal, is_usable
from fieldmap.read.start.elevation.packed import claims_too_much
from fieldmap.read.start.elevation.window import MARGIN_M, Heights, around
from fieldmap.read.wording import in_short

ENDINGS = (".las", ".laz")
GROUND = 2  # the class of ground points (LAS 1.4, table of classes)
CELL_M = 1.0
MOST_POINTS = 300_000_000
MOST_CELLS = 9_000_000
BYTES_AT_ONCE = 32_000_000  # of points unpacked; a record may have thousands of bytes
FILLED_CELLS = 20.0  # gaps under trees and roofs are filled from so far around
LEAST_BYTES_A_POINT = 0.05  # packed; a file that claims more points than this is broken
# Bytes of the head of a variable length record, plain and extended (LAS 1.4 R15).
RECORD_BYTES, EXTENDED_BYTES = 54, 60
_HEAD = struct.Struct(
    "<HII"
)  # from byte 94 on: size of the head, points begin, records
_EXTENDED = struct.Struct("<QI")  # from byte 235 on, of LAS 1.4: begin, records
_UNREADABLE = (
    laspy.LaspyException,
    lazrs.LazrsError,
    ValueError,
    EOFError,
    OSError,
    OverflowError,
    struct.error,  # a head that ends too soon
)


def heights_of(
    file: SiteFile, bounds: Bounds, crs: pyproj.CRS | None, height_unit: str | None
) -> Heights:
    """Mean heights of ground points on cells of a metre, small gaps filled.

    Parameters
    ----------
    file
        A point cloud (LAS or LAZ).
    bounds
        West, south, east, north of the plots [degrees].
    crs
        CRS of a file that does not name its own; None where the user gave none.
    height_unit
        "ft" where heights are in feet; metres otherwise.

    Raises
    ------
    SiteError
        When the file cannot be read, holds no ground points at the plots, claims more
        points than it can hold, or its CRS is not one of metres.
    """
    if file.beginning(4) != b"LASF":
        raise file.site_error(
            "{file} is not a point cloud (LAS or LAZ); copy it again."
        )
    _check_records(file)
    try:
        with laspy.open(file.path) as source:
            own = _crs(source.header, file, crs)
            unit = FOOT_M if height_unit == "ft" else 1.0
            _check_claims(source.header, file)
            if source.header.are_points_compressed:
                _check_chunks(source.header, file)
            return _gridded(source, own, bounds, file, unit)
    except _UNREADABLE as error:
        raise file.site_error(
            "{file} cannot be read as a point cloud ({error}); copy it again.",
            error=in_short(error),
        ) from error
    except MemoryError as error:
        raise file.site_error(
            "{file} needs more memory than there is; keep only the ground around the"
            " plots."
        ) from error


def _crs(header: Any, file: SiteFile, stated: pyproj.CRS | None) -> pyproj.CRS:
    try:
        parsed = header.parse_crs()
    except (RuntimeError, ValueError, pyproj.exceptions.CRSError):
        parsed = None
    own = horizontal(parsed) if parsed is not None and is_usable(parsed) else stated
    if own is None:
        raise file.site_error(
            "{file} does not say its coordinate system; give it with --crs, for example"
            " --crs EPSG:25830."
        )
    if not own.is_projected or any(
        a.unit_conversion_factor != 1 for a in own.axis_info
    ):
        raise file.site_error(
            "{file} is in {crs}, and only point clouds in metres are read; convert it.",
            crs=own.name[:200],
        )
    return own


def _check_records(file: SiteFile) -> None:
    """Raise SiteError where a head names more records than the file can hold.

    The library makes each of them before it looks whether the file has ended.
    """
    size, head = file.path.stat().st_size, file.beginning(375)
    if len(head) < 227:  # of LAS 1.2, the least
        raise file.site_error(
            "{file} is not a point cloud (LAS or LAZ); copy it again."
        )
    _own, _points, records = _HEAD.unpack_from(head, 94)
    least = records * RECORD_BYTES
    if head[24:26] >= b"\x01\x04" and len(head) >= 247:
        least += _EXTENDED.unpack_from(head, 235)[1] * EXTENDED_BYTES
    if least > size:
        raise file.site_error(
            "{file} says that it holds {least:,} bytes of notes, and it has {size:,}"
            " bytes in all; copy it again.",
            least=least,
            size=size,
        )


def _check_claims(header: Any, file: SiteFile) -> None:
    """Raise SiteError where a header claims more than the file can hold."""
    count, size = int(header.point_count), file.path.stat().st_size
    is_packed = file.ending == ".laz"
    least = LEAST_BYTES_A_POINT if is_packed else float(header.point_format.size)
    if count > MOST_POINTS or count * least > size:
        raise file.site_error(
            "{file} says that it holds {count:,} points, more than are read or fit into"
            " {size:,} bytes; copy it again, or cut out the ground around the plots.",
            count=count,
            size=size,
        )


def _check_chunks(header: Any, file: SiteFile) -> None:
    with file.path.open("rb") as packed:
        too_much = claims_too_much(packed, header, file.path.stat().st_size)
    if too_much:
        raise file.site_error(
            "{file} claims more packed points than it holds; copy it again."
        )


def _gridded(
    source: Any, crs: pyproj.CRS, bounds: Bounds, file: SiteFile, unit: float
) -> Heights:
    there = transformer(WGS84, crs).transform_bounds(*around(bounds, MARGIN_M))
    lowest, highest = source.header.mins, source.header.maxs
    box = [*np.maximum(there[:2], lowest[:2]), *np.minimum(there[2:], highest[:2])]
    if not (np.isfinite(box).all() and box[0] < box[2] and box[1] < box[3]):
        raise SiteError(_elsewhere(file, bounds))
    west, south = math.floor(box[0]), math.floor(box[1])
    cols, rows = math.ceil(box[2]) - west, math.ceil(box[3]) - south
    size_m = CELL_M
    while cols * rows / size_m**2 > MOST_CELLS:
        size_m *= 2
    cols, rows = math.ceil(cols / size_m), math.ceil(rows / size_m)
    total, count = np.zeros(rows * cols), np.zeros(rows * cols)
    for x, y, z in _ground(source):
        col = np.floor((x - west) / size_m).astype(np.int64)
        row = np.floor((y - south) / size_m).astype(np.int64)
        inside = (col >= 0) & (col < cols) & (row >= 0) & (row < rows) & np.isfinite(z)
        at = (rows - 1 - row[inside]) * cols + col[inside]
        total += np.bincount(at, z[inside], rows * cols)
        count += np.bincount(at, minlength=rows * cols)
    if not count.any():
        raise SiteError(
            problem(
                "{file} has no ground points (class 2) at the plots; take one in which"
                " ground is classified.",
                file=file.name,
            )
        )
    known = count > 0
    mean = np.divide(total, count, out=total, where=known)
    values = (mean * unit).astype(np.float32).reshape(rows, cols)
    del total, count, mean  # 8 bytes a cell each
    mask = known.reshape(rows, cols)
    filled = fillnodata(values.copy(), mask=mask, max_search_distance=FILLED_CELLS)
    reached = fillnodata(
        mask.astype(np.float32), mask=mask, max_search_distance=FILLED_CELLS
    )
    filled[reached <= 0] = np.nan
    north = south + rows * size_m
    return Heights(filled, Affine(size_m, 0.0, west, 0.0, -size_m, north), crs)


def _ground(source: Any) -> Iterator[tuple[npt.NDArray[np.float64], ...]]:
    """Places and heights of ground points, some at a time."""
    at_once = max(1, BYTES_AT_ONCE // source.header.point_format.size)
    for some in source.chunk_iterator(at_once):
        is_ground = np.asarray(some.classification) == GROUND
        yield tuple(np.asarray(axis)[is_ground] for axis in (some.x, some.y, some.z))


def _elsewhere(file: SiteFile, bounds: Bounds) -> Any:
    west, south, east, north = bounds
    return problem(
        "{file} has no points at latitude {latitude:.4f}, longitude {longitude:.4f},"
        " where the plots lie; take the points of the place, or correct the CRS.",
        file=file.name,
        latitude=(south + north) / 2,
        longitude=(west + east) / 2,
    )
