"""An elevation file: what it says of itself, and whether it covers the plots."""

import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pyproj
import rasterio
import rasterio.errors
import shapely
from affine import Affine
from pyproj.exceptions import ProjError
from rasterio._err import CPLE_BaseError
from rasterio.enums import ColorInterp
from rasterio.features import geometry_mask
from shapely.geometry import Polygon

from fieldmap.errors import Problem, SiteError, problem
from fieldmap.model.coordinates import WGS84, in_crs, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds, Raster
from fieldmap.read import door
from fieldmap.read.door import SiteFile
from fieldmap.read.elevation import outside
from fieldmap.read.outlines.files import Outlines
from fieldmap.read.place import horizontal, is_usable, unusable_crs
from fieldmap.read.wording import in_short, quoted, refuse_any

# The one driver of GDAL that may read it: others take a file for a list of further files
# to open, or of services to ask.
DRIVER = "GTiff"
# What the library raises of files that it cannot read.
UNREADABLE = (
    rasterio.errors.RasterioError,
    rasterio.errors.CRSError,
    CPLE_BaseError,
    UnicodeDecodeError,
    OSError,
)
# Cells are unpacked a block at a time.
MOST_BYTES_OF_BLOCK = 100_000_000
FOOT_M = 0.3048
SURVEY_FOOT_M = 1200 / 3937
_METRES_PER_UNIT = {
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1.0),
    **dict.fromkeys(("ft", "foot", "feet", "international foot"), FOOT_M),
    **dict.fromkeys(
        ("us survey foot", "us survey feet", "ftus", "us-ft", "us_survey_foot"),
        SURVEY_FOOT_M,
    ),
}


@dataclass(frozen=True)
class ElevationFile:
    """What an elevation file says of itself."""

    file: SiteFile
    crs: pyproj.CRS
    transform: Affine
    rows: int
    cols: int
    metres_per_unit: float
    unit_taken: bool = False  # metres, since the file says none and its grid is in them

    @property
    def remarks(self) -> tuple[Fact, ...]:
        """What was taken that the file does not say."""
        said = (Fact("metres_taken", file=self.file.name, choices=door.CHOICES_FILE),)
        return said if self.unit_taken else ()

    @property
    def footprint(self) -> Polygon:
        """The ground it covers, in its own CRS."""
        corners = ((0, 0), (self.cols, 0), (self.cols, self.rows), (0, self.rows))
        return Polygon([self.transform * corner for corner in corners])


def open_elevation(file: SiteFile, height_unit: str | None) -> ElevationFile:
    """Check everything that can be known before heights are read.

    Parameters
    ----------
    height_unit
        "m" or "ft" from `site.toml`, None where it is not said there.

    Raises
    ------
    SiteError
        With a sentence for each of: no raster, no CRS, no place, several bands, no
        height unit on a grid that is not in metres, or two that differ.
    """
    if not file.beginning(1):
        raise file.site_error("{file} is empty (0 bytes); save the elevation again.")
    outside.check(file)
    with opened(file) as source:
        return _checked(source, file, height_unit)


@contextmanager
def opened(file: SiteFile, driver: str = DRIVER) -> Iterator[rasterio.DatasetReader]:
    """An elevation grid while it is read; what the library cannot is a SiteError."""
    try:
        with warnings.catch_warnings(), rasterio.Env(**door.NO_NETWORK):
            # A file without a place is refused below, in our words.
            warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
            with rasterio.open(file.path, driver=driver) as source:
                yield source
    except UNREADABLE as error:
        raise file.site_error(
            "{file} cannot be read as an elevation grid ({error}); save it as GeoTIFF.",
            error=in_short(error),
        ) from error
    except MemoryError as error:
        raise file.site_error(
            "{file} needs more memory than there is; save only the ground around the"
            " plots."
        ) from error


def _checked(
    source: rasterio.DatasetReader, file: SiteFile, height_unit: str | None
) -> ElevationFile:
    crs, problems = _crs(source, file)
    unit = _file_unit(source, crs)
    taken = unit is height_unit is None and crs is not None and is_in_metres(crs)
    chosen = "m" if taken else height_unit
    factor, fault = _metres_per_unit(unit, file, chosen)
    problems += [*_faults_of_grid(source, file), *_faults_of_cells(source, file)]
    problems += [fault] if fault else []
    if problems or crs is None:
        raise SiteError(problems)
    rows, cols = source.height, source.width
    return ElevationFile(
        file, horizontal(crs), source.transform, rows, cols, factor, taken
    )


def _crs(
    source: rasterio.DatasetReader, file: SiteFile
) -> tuple[pyproj.CRS | None, list[Problem]]:
    """Its coordinate reference system, and what is wrong with it."""
    if not source.crs:
        return None, [
            file.problem(
                "{file} does not say its coordinate system (CRS); save it with its CRS, for"
                " example gdal_edit.py -a_srs EPSG:32633 where that is its."
            )
        ]
    try:
        crs = pyproj.CRS.from_wkt(source.crs.to_wkt())
    except ProjError:
        return None, [unusable_crs(file, str(source.crs))]
    return crs, [] if is_usable(crs) else [unusable_crs(file, crs.name)]


def _faults_of_grid(
    source: rasterio.DatasetReader, file: SiteFile
) -> Iterator[Problem]:
    """What is wrong with where the cells lie."""
    if not has_place(source.transform):
        yield file.problem(
            "{file} does not say where on earth it lies (it has no origin and no cell"
            " size); export it again as a georeferenced GeoTIFF."
        )
    if min(source.shape) < 2:
        yield file.problem(
            "{file} has {rows} by {cols} cells; an elevation grid has at least 2 by 2.",
            rows=source.height,
            cols=source.width,
        )
    # Coarser copies of the heights may be said to lie anywhere, also on a network.
    if "OVERVIEW_FILE" in source.tags(ns="OVERVIEWS"):
        yield file.problem(
            "{file} names another file for its overviews; save it as one GeoTIFF."
        )


def has_place(transform: Affine) -> bool:
    """Whether cells have a place on the ground and a size.

    >>> has_place(Affine(10, 0, 520000, 0, -10, 5100600)), has_place(Affine.scale(0))
    (True, False)
    """
    is_finite = all(map(math.isfinite, transform))
    return (
        is_finite and not transform.is_identity and abs(transform.determinant) >= 1e-18
    )


def _faults_of_cells(
    source: rasterio.DatasetReader, file: SiteFile
) -> Iterator[Problem]:
    """What is wrong with what the cells hold."""
    if source.count != 1:
        yield file.problem(
            "{file} has {count} bands; an elevation file has one band, of heights.",
            count=source.count,
        )
        return
    kind, (rows, cols) = source.dtypes[0], source.block_shapes[0]
    scale, offset = source.scales[0], source.offsets[0]
    if "complex" in kind:
        yield file.problem(
            "{file} holds complex numbers; heights are plain ones, so save it again as"
            " float32."
        )
    elif source.colorinterp[0] == ColorInterp.palette:
        yield file.problem(
            "{file} is a picture with a palette of colours; get the heights that it was"
            " drawn from."
        )
    elif rows * cols * np.dtype(kind).itemsize > MOST_BYTES_OF_BLOCK:
        yield file.problem(
            "{file} is kept in blocks of {rows} by {cols} cells, which take too much"
            " memory; save it in tiles (gdal_translate -co TILED=YES).",
            rows=rows,
            cols=cols,
        )
    if scale == 0 or not (math.isfinite(scale) and math.isfinite(offset)):
        yield file.problem(
            "{file} has heights of scale {scale:g} and offset {offset:g}; a scale is"
            " not 0, and both are numbers (gdal_edit.py -scale 1 -offset 0).",
            scale=scale,
            offset=offset,
        )


def _file_unit(source: rasterio.DatasetReader, crs: pyproj.CRS | None) -> str | None:
    """The unit of heights by the band, else by the vertical part of the CRS."""
    unit = source.units[0] if source.count else None
    if unit:
        return str(unit)
    vertical = [axis for axis in crs.axis_info if axis.direction == "up"] if crs else []
    return vertical[0].unit_name if vertical else None


def _metres_per_unit(
    unit: str | None, file: SiteFile, height_unit: str | None
) -> tuple[float, Problem | None]:
    """Factor to metres, and a sentence where it cannot be known."""
    chosen = {"m": 1.0, "ft": FOOT_M, None: math.nan}[height_unit]
    if unit is None:
        if height_unit is not None:
            return chosen, None
        return chosen, file.problem(
            "{file} does not say whether its heights are metres or feet; write"
            ' height_unit = "m" or "ft" under [ground] in site.toml.'
        )
    said = {"unit": quoted(unit), "height_unit": quoted(height_unit)}
    factor = _METRES_PER_UNIT.get(unit.strip().casefold(), math.nan)
    if math.isnan(factor):
        return factor, file.problem(
            "{file} says its heights are in {unit}, which fieldmap cannot read; convert"
            " it to metres or feet.",
            **said,
        )
    if abs(factor - chosen) > 0.01:
        return factor, file.problem(
            "{file} says its heights are in {unit} and site.toml says"
            " height_unit = {height_unit}; correct the one that is wrong.",
            **said,
        )
    return factor, None


def is_in_metres(crs: pyproj.CRS) -> bool:
    """Whether a grid is one of metres; then heights of no named unit are metres too.

    >>> is_in_metres(pyproj.CRS("EPSG:32633")), is_in_metres(pyproj.CRS("EPSG:4326"))
    (True, False)
    """
    flat = horizontal(crs)
    return flat.is_projected and all(
        axis.unit_conversion_factor == 1 for axis in flat.axis_info
    )


def metres_per_named_unit(unit: str) -> float | None:
    """Factor from a unit by its name to metres, None where it is not known.

    >>> metres_per_named_unit("US survey foot"), metres_per_named_unit("fathom")
    (0.3048006096012192, None)
    """
    return _METRES_PER_UNIT.get(unit.strip().casefold())


def check_covers(elevation: ElevationFile, plots: Outlines) -> None:
    """Raise SiteError where a plot lies outside the elevation, wholly or in part."""
    if not _reaches(plots.frame.geometry, elevation):
        raise SiteError(_apart(elevation, plots))
    shapes = in_crs(plots.frame.geometry, elevation.crs).to_numpy()
    beyond = shapely.difference(shapes, elevation.footprint)
    shares = shapely.area(beyond) / shapely.area(shapes)
    problems = [
        plots.file.problem(
            "{file}: {percent:.1f} % of plot {name} lies outside {elevation}; get an"
            " elevation file that is larger than the plot on every side.",
            percent=max(share * 100, 0.1),
            name=quoted(name),
            elevation=elevation.file.name,
        )
        for name, share in zip(plots.frame["name"], shares, strict=True)
        if share > 0
    ]
    refuse_any(problems, plots.file.name)


def _reaches(shapes: gpd.GeoSeries, elevation: ElevationFile) -> bool:
    """Whether any of the shapes touches the elevation."""
    placed = in_crs(shapes, elevation.crs)
    # Far outside a projection's reach coordinates become infinite.
    if not np.isfinite(placed.total_bounds).all():
        return False
    return bool(placed.intersects(elevation.footprint).any())


def _apart(elevation: ElevationFile, plots: Outlines) -> Problem:
    frame = plots.frame
    sentence = plots.file.problem(
        "{file}: the plots lie at {plots_at}, outside"
        " {elevation}, which lies at"
        " {elevation_at}",
        plots_at=_span(frame.total_bounds, frame.crs),
        elevation=elevation.file.name,
        elevation_at=_span(elevation.footprint.bounds, elevation.crs),
    )
    swapped = frame.geometry.transform(lambda points: points[:, ::-1])
    if not _reaches(swapped, elevation):
        return problem(
            "{sentence}; give the heights of this place, or correct the CRS.",
            sentence=sentence,
        )
    first = problem("easting comes first, then northing")
    if frame.crs.is_geographic:
        first = problem("longitude comes first, then latitude")
    return problem(
        "{sentence}; their coordinates look swapped: {first}.",
        sentence=sentence,
        first=first,
    )


def _span(bounds: Bounds, crs: pyproj.CRS) -> Problem:
    west, south, east, north = transformer(crs, WGS84).transform_bounds(*bounds)
    return problem(
        "latitude {south:.4f} to {north:.4f}, longitude {west:.4f} to {east:.4f}",
        south=south,
        north=north,
        west=west,
        east=east,
    )


def check_no_holes(raster: Raster, plots: gpd.GeoDataFrame, file: SiteFile) -> None:
    """Raise SiteError where heights are missing under a plot.

    Parameters
    ----------
    raster
        Ground heights [m] that cover the plots; NaN or infinite where none is known.
    plots
        Outlines with `name`, in the CRS of the raster.
    file
        The elevation, for the message.

    Raises
    ------
    SiteError
        With a sentence for each plot that touches a cell without a height.
    """
    problems = []
    for name, shape in zip(plots["name"], plots.geometry, strict=True):
        part = raster.clip(raster.window(shape.bounds))
        touched = ~geometry_mask([shape], part.shape, part.transform, all_touched=True)
        missing = touched & ~np.isfinite(part.values)
        if not missing.any():
            continue
        row, col = (float(np.median(place)) for place in np.nonzero(missing))
        longitude, latitude = transformer(raster.crs, WGS84).transform(
            *(part.transform * (col + 0.5, row + 0.5))
        )
        hole = file.problem(
            "{file} knows no height on {missing} of"
            " {touched} cells under plot {name}, around"
            " latitude {latitude:.5f}, longitude {longitude:.5f}; fill the hole"
            " (gdal_fillnodata.py) or draw the plot around it.",
            missing=np.count_nonzero(missing),
            touched=np.count_nonzero(touched),
            name=quoted(name),
            latitude=latitude,
            longitude=longitude,
        )
        problems.append(hole)
    refuse_any(problems, file.name)
