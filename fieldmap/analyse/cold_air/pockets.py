"""Analysis -> cold pockets: outlined places where cold air lies."""

from typing import Any

import geopandas as gpd
import numpy as np
import shapely
from rasterio import features
from shapely.geometry import box, shape
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.barriers import Barrier
from fieldmap.analyse.fields import Analysis
from fieldmap.model.estimate import Estimate
from fieldmap.model.raster import Raster
from fieldmap.model.site import cells_in

# A pocket that is worth a name: likely so much colder than the median of the plots, and
# so large (choices, no source: what people are shown as half a degree).
COLDER_C = 0.25
AREA_M2 = 50.0
OFFSETS = tuple(f"offset_{end}_c" for end in Estimate._fields)
COLUMNS = ("depth_m", "area_m2", *OFFSETS, "behind", "behind_kind", "cut_off")
# A pocket stands behind what holds air back so near (a choice, no source).
BEHIND_WITHIN_M = 10.0


def find(
    plots: gpd.GeoSeries,
    surroundings: gpd.GeoDataFrame,
    analysis: Analysis,
    barriers: tuple[Barrier, ...],
) -> gpd.GeoDataFrame:
    """Places that are likely colder than the median of the plots, the coldest first.

    Parameters
    ----------
    plots
        Outlines in the site's CRS; their median offset is the middle.
    surroundings
        As `Site` has them; what lies under buildings is no pocket.
    analysis
        Offsets and depths on the shown cells; a cell without an offset is in no pocket.
    barriers
        Things that cold air stands behind, as `barriers.find` gives them.

    Returns
    -------
    GeoDataFrame
        Polygons in the site's CRS; depth and offsets are those of the coldest cell;
        `behind` and `behind_kind` are name and kind of what holds the air back, "" if
        nameless or nothing;
        `cut_off` where it goes on beyond the shown ground.
    """
    depth_m, likely_c = analysis.cold_air.depth_m, analysis.cold_air.offset_c.values[1]
    known_c = likely_c[cells_in(plots, depth_m) & np.isfinite(likely_c)]
    usual_c = float(np.median(known_c)) if known_c.size else 0.0
    cold = likely_c <= usual_c - COLDER_C  # what is missing is not cold
    outlines = [
        shape(outline)
        for outline, _value in features.shapes(
            cold.astype(np.uint8), cold, connectivity=4, transform=depth_m.transform
        )
    ]
    is_building = surroundings["kind"] == "building"
    roofed = shapely.union_all(surroundings.geometry[is_building].to_numpy())
    found = [
        _coldest(analysis, outline)
        for outline in outlines
        if outline.difference(roofed).area >= AREA_M2
    ]
    found.sort(
        key=lambda pocket: (pocket["offset_central_c"], pocket["geometry"].bounds)
    )
    for pocket in found:
        barrier = _nearest(pocket["geometry"], barriers)
        pocket["behind"] = "" if barrier is None else barrier.name
        pocket["behind_kind"] = "" if barrier is None else barrier.kind
        pocket["cut_off"] = _touches_rim(pocket["geometry"], depth_m)
    return gpd.GeoDataFrame(
        found, columns=[*COLUMNS, "geometry"], geometry="geometry", crs=depth_m.crs
    )


def _coldest(analysis: Analysis, outline: BaseGeometry) -> dict[str, Any]:
    """Depth and offsets of the coldest cell inside an outline."""
    depth_m, offset_c = analysis.cold_air.depth_m, analysis.cold_air.offset_c
    likely_c = np.where(cells_in([outline], depth_m), offset_c.values[1], np.inf)
    row, col = divmod(int(np.nanargmin(likely_c)), likely_c.shape[1])
    return {
        "depth_m": float(depth_m.values[row, col]),
        "area_m2": float(outline.area),
        **dict(zip(OFFSETS, offset_c.values[:, row, col].tolist(), strict=True)),
        "geometry": outline,
    }


def _touches_rim(pocket: BaseGeometry, shown: Raster) -> bool:
    """Whether an outline reaches the edge of the cells that are shown."""
    west, south, east, north = shown.bounds
    half = shown.cell_size_m / 2
    inner = box(west + half, south + half, east - half, north - half)
    return not inner.covers(pocket)


def _nearest(pocket: BaseGeometry, barriers: tuple[Barrier, ...]) -> Barrier | None:
    """What holds back the air of a pocket, if anything is near enough."""
    near = [each for each in barriers if each.edge.distance(pocket) <= BEHIND_WITHIN_M]
    return min(near, key=lambda each: each.edge.distance(pocket), default=None)
