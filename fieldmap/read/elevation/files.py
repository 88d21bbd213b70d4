"""An elevation file: what it says of itself, and whether it covers the plots."""

import math
import warnings
from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyproj
import rasterio
import rasterio.errors
from affine import Affine
from rasterio.features import geometry_mask
from shapely.geometry import Polygon

from fieldmap.errors import Problem, SiteError, problem, site_error
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Bounds, Raster
from fieldmap.read.door import SiteFile
from fieldmap.read.place import horizontal
from fieldmap.read.wording import quoted, refuse_any

# The one driver of GDAL that may read it: others take a file for a list of further files
# to open, or of services to ask.
DRIVER = "GTiff"
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

    path: Path
    file: str
    crs: pyproj.CRS
    transform: Affine
    rows: int
    cols: int
    metres_per_unit: float

    @property
    def footprint(self) -> Polygon:
        """The ground it covers, in its own CRS."""
        corners = ((0, 0), (self.cols, 0), (self.cols, self.rows), (0, self.rows))
        return Polygon([self.transform * corner for corner in corners])


def open_elevation(path: SiteFile, height_unit: str | None) -> ElevationFile:
    """Check everything that can be known before heights are read.

    Parameters
    ----------
    height_unit
        "m" or "ft" from `site.toml`, None where it is not said there.

    Raises
    ------
    SiteError
        With a sentence for each of: no raster, no CRS, no place, several bands, no
        height unit or two that differ.
    """
    file = path.name
    if path.path.stat().st_size == 0:
        raise site_error(
            "{file} is empty (0 bytes); save the elevation again.", file=file
        )
    try:
        with warnings.catch_warnings():
            # A file without a place is refused below, in our words.
            warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
            with rasterio.open(path.path, driver=DRIVER) as source:
                return _checked(source, path.path, file, height_unit)
    except rasterio.errors.RasterioIOError as error:
        raise site_error(
            "{file} cannot be read as an elevation grid ({error}); save it as GeoTIFF.",
            file=file,
            error=error,
        ) from error


def _checked(
    source: rasterio.DatasetReader, path: Path, file: str, height_unit: str | None
) -> ElevationFile:
    problems = []
    crs = pyproj.CRS.from_wkt(source.crs.to_wkt()) if source.crs else None
    if crs is None:
        problems.append(
            problem(
                "{file} does not say its coordinate reference system (CRS); save it with"
                " its CRS, for instance gdal_edit.py -a_srs EPSG:32633 where that is its.",
                file=file,
            )
        )
    transform = source.transform
    if transform.is_identity or transform.determinant == 0:
        problems.append(
            problem(
                "{file} has no place on the ground (no origin and cell size); export it"
                " again as a georeferenced GeoTIFF.",
                file=file,
            )
        )
    if source.count != 1:
        problems.append(
            problem(
                "{file} has {count} bands; an elevation file has one band, of heights.",
                file=file,
                count=source.count,
            )
        )
    # Coarser copies of the heights may be told to lie anywhere, also on a network.
    if "OVERVIEW_FILE" in source.tags(ns="OVERVIEWS"):
        problems.append(
            problem(
                "{file} names another file for its overviews; save it as one GeoTIFF.",
                file=file,
            )
        )
    factor, fault = _metres_per_unit(_file_unit(source, crs), file, height_unit)
    if fault:
        problems.append(fault)
    if problems or crs is None:
        raise SiteError(problems)
    return ElevationFile(
        path, file, horizontal(crs), transform, source.height, source.width, factor
    )


def _file_unit(source: rasterio.DatasetReader, crs: pyproj.CRS | None) -> str | None:
    """The unit of heights by the band, else by the vertical part of the CRS."""
    unit = source.units[0]
    if unit:
        return str(unit)
    vertical = [axis for axis in crs.axis_info if axis.direction == "up"] if crs else []
    return vertical[0].unit_name if vertical else None


def _metres_per_unit(
    unit: str | None, file: str, height_unit: str | None
) -> tuple[float, Problem | None]:
    """Factor to metres, and a sentence where it cannot be known."""
    chosen = {"m": 1.0, "ft": FOOT_M, None: math.nan}[height_unit]
    if unit is None:
        if height_unit is not None:
            return chosen, None
        return chosen, problem(
            "{file} does not say whether its heights are metres or feet; write"
            ' height_unit = "m" or "ft" under [ground] in site.toml.',
            file=file,
        )
    told = _METRES_PER_UNIT.get(unit.strip().casefold(), math.nan)
    if math.isnan(told):
        return told, problem(
            "{file} says its heights are in {unit}, which is not read; convert"
            " it to metres or feet.",
            file=file,
            unit=quoted(unit),
        )
    if abs(told - chosen) > 0.01:
        return told, problem(
            "{file} says its heights are in {unit} and site.toml says"
            " height_unit = {height_unit}; correct the one that is wrong.",
            file=file,
            unit=quoted(unit),
            height_unit=quoted(height_unit),
        )
    return told, None


def check_covers(elevation: ElevationFile, plots: gpd.GeoDataFrame, file: str) -> None:
    """Raise SiteError where a plot lies outside the elevation, wholly or in part."""
    if not _reaches(plots.geometry, elevation):
        raise SiteError(_apart(elevation, plots, file))
    problems = []
    for name, shape in zip(
        plots["name"], plots.geometry.to_crs(elevation.crs), strict=True
    ):
        share = shape.difference(elevation.footprint).area / shape.area
        if share > 0:
            problems.append(
                problem(
                    "{file}: {percent:.1f} % of plot {name} lies beyond"
                    " the edge of {elevation}; get an elevation file that reaches past"
                    " it on every side.",
                    file=file,
                    percent=max(share * 100, 0.1),
                    name=quoted(name),
                    elevation=elevation.file,
                )
            )
    refuse_any(problems, file)


def _reaches(shapes: gpd.GeoSeries, elevation: ElevationFile) -> bool:
    """Whether any of the shapes touches the elevation."""
    placed = shapes.to_crs(elevation.crs)
    # Far outside a projection's reach coordinates become infinite.
    if not np.isfinite(placed.total_bounds).all():
        return False
    return bool(placed.intersects(elevation.footprint).any())


def _apart(elevation: ElevationFile, plots: gpd.GeoDataFrame, file: str) -> Problem:
    sentence = problem(
        "{file}: the plots lie at {plots_at}, outside"
        " {elevation}, which lies at"
        " {elevation_at}",
        file=file,
        plots_at=_span(plots.total_bounds, plots.crs),
        elevation=elevation.file,
        elevation_at=_span(elevation.footprint.bounds, elevation.crs),
    )
    swapped = plots.geometry.transform(lambda points: points[:, ::-1])
    if not _reaches(swapped, elevation):
        return problem(
            "{sentence}; take the elevation of the place, or correct the CRS.",
            sentence=sentence,
        )
    first = problem("easting comes first, then northing")
    if plots.crs.is_geographic:
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


def check_no_holes(raster: Raster, plots: gpd.GeoDataFrame, file: str) -> None:
    """Raise SiteError where heights are missing under a plot."""
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
        problems.append(
            problem(
                "{file} knows no height on {missing} of"
                " {touched} cells under plot {name}, around"
                " latitude {latitude:.5f}, longitude {longitude:.5f}; fill the hole"
                " (gdal_fillnodata.py) or draw the plot around it.",
                file=file,
                missing=np.count_nonzero(missing),
                touched=np.count_nonzero(touched),
                name=quoted(name),
                latitude=latitude,
                longitude=longitude,
            )
        )
    refuse_any(problems, file)
