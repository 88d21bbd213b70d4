"""Plots, beds, tunnels, cold pockets, marks and drain lines for general GIS programs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pyogrio
import pyogrio.errors
import shapely
from pyogrio.errors import DataLayerError, DataSourceError
from shapely.geometry import MultiPolygon

from fieldmap.show.files import rows

if TYPE_CHECKING:
    from pathlib import Path

    from fieldmap.plan import Plan

# Of layers that are not single polygons.
GEOMETRY = {"drain_lines": "LineString", "marks": "MultiPolygon"}
WRITE_ERRORS = (DataSourceError, DataLayerError)
# Geopackages hold the time of their last change; a fixed one keeps equal plans equal.
FIXED_DATE = "2000-01-01T00:00:00Z"


def write(plan: Plan, path: Path) -> None:
    """Write one layer a kind; units are in the column names."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": FIXED_DATE})
    try:
        for layer, table in layers(plan).items():
            pyogrio.write_dataframe(
                table,
                path,
                layer=layer,
                driver="GPKG",
                geometry_type=GEOMETRY.get(layer, "Polygon"),
                promote_to_multi=False,
                dataset_options={"VERSION": "1.2"},
            )
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def layers(plan: Plan) -> dict[str, gpd.GeoDataFrame]:
    """The layers by name."""
    units = plan.site.settings.units
    plots = plan.site.plots[["name", "ground", "soil", "wet_in_march", "geometry"]]
    return {
        "plots": plots.assign(area_m2=plots.area),
        "beds": _table(
            plan,
            rows.BED_COLUMNS,
            [
                rows.bed(ranked, units) | {"geometry": ranked.bed.outline}
                for ranked in plan.beds
            ],
        ),
        "tunnels": _table(
            plan,
            rows.TUNNEL_COLUMNS,
            [
                rows.tunnel(place, units) | {"geometry": place.outline}
                for place in plan.tunnels
            ],
        ),
        "cold_pockets": plan.cold_pockets,
        "marks": _table(
            plan,
            ("name", "seen", "reckoned"),
            [
                {
                    "name": mark.name,
                    "seen": mark.seen,
                    "reckoned": answer,
                    "geometry": MultiPolygon(shapely.get_parts(mark.outline).tolist()),
                }
                for mark, answer, _fact in plan.marks
            ],
        ),
        "drain_lines": _table(
            plan,
            ("level", "strength_m2_s"),
            [
                {
                    "level": each.level,
                    "strength_m2_s": each.strength_m2_s,
                    "geometry": each.line,
                }
                for each in plan.flow_lines
            ],
        ),
    }


def _table(
    plan: Plan, columns: tuple[str, ...], records: list[dict[str, Any]]
) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        records, columns=[*columns, "geometry"], geometry="geometry", crs=plan.site.crs
    )
