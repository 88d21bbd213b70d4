"""Plots, beds, tunnels, cold pockets, marks and flow lines for general GIS programs."""

import sqlite3
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TypeVar

import geopandas as gpd
import pyogrio
import shapely
from pyogrio.errors import DataLayerError, DataSourceError, FeatureError, GeometryError
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air.flow_lines import FlowLine
from fieldmap.decide.marks import MarkComparison
from fieldmap.plan import Plan
from fieldmap.show.files import styles, tables
from fieldmap.show.files.tables import Column, beds, tunnels
from fieldmap.show.text.site.analysis import named_pockets

T = TypeVar("T")
Layers = dict[str, gpd.GeoDataFrame]

# Of layers that are not single polygons.
GEOMETRY = {"drain_lines": "LineString", "marks": "MultiPolygon"}
WRITE_ERRORS = (
    DataSourceError,
    DataLayerError,
    FeatureError,
    GeometryError,
    sqlite3.Error,
)
# Geopackages hold the time of their last change; a fixed one keeps equal plans equal.
FIXED_DATE = "2000-01-01T00:00:00Z"
MARK_COLUMNS: tuple[Column[MarkComparison], ...] = (
    Column("name", lambda it: it.mark.name),
    Column("seen", lambda it: it.mark.seen),
    Column("computed", lambda it: it.answer),
)
FLOW_LINE_COLUMNS: tuple[Column[FlowLine], ...] = (
    Column("level", lambda it: it.level),
    Column("strength_m2_s", lambda it: it.strength_m2_s),
)


def write(layers: Mapping[str, gpd.GeoDataFrame], path: Path) -> None:
    """Write one layer a kind with its style; units are in the column names."""
    write_layers(layers, path, GEOMETRY)
    styles.add(path)


def write_layers(
    layers: Mapping[str, gpd.GeoDataFrame], path: Path, geometry: Mapping[str, str]
) -> None:
    """Write layers alone, the same bytes for the same tables.

    Parameters
    ----------
    layers
        Tables with one shape a row in a CRS of their own, by the name of the layer.
    path
        The GeoPackage. Layers are added to a file that is there.
    geometry
        Of layers that are not single polygons.
    """
    # The folder is brought to the disk as a whole, so no layer waits for that.
    fixed = {"OGR_CURRENT_DATE": FIXED_DATE, "OGR_SQLITE_SYNCHRONOUS": "OFF"}
    pyogrio.set_gdal_config_options(fixed)
    try:
        for layer, table in layers.items():
            pyogrio.write_dataframe(
                table,
                path,
                layer=layer,
                driver="GPKG",
                geometry_type=geometry.get(layer, "Polygon"),
                promote_to_multi=False,
                dataset_options={"VERSION": "1.2"},
            )
    finally:
        pyogrio.set_gdal_config_options(dict.fromkeys(fixed))


def layers(plan: Plan) -> Layers:
    """The layers by name."""
    plots = plan.site.plots[["name", "ground", "soil", "wet_in_march", "geometry"]]

    def layer(
        columns: tuple[Column[T], ...],
        things: Iterable[T],
        outline: Callable[[T], BaseGeometry],
    ) -> gpd.GeoDataFrame:
        things = list(things)
        return gpd.GeoDataFrame(
            [tables.flat(columns, each, plan.site.settings.units) for each in things],
            columns=tables.names(columns),
            geometry=[outline(each) for each in things],
            crs=plan.site.crs,
        )

    return {
        "plots": plots.assign(area_m2=plots.area),
        "beds": layer(beds.COLUMNS, plan.beds, lambda it: it.bed.outline),
        "tunnels": layer(tunnels.COLUMNS, plan.tunnels, lambda it: it.outline),
        "cold_pockets": named_pockets(plan.cold_pockets),
        "marks": layer(
            MARK_COLUMNS,
            plan.marks,
            lambda it: MultiPolygon(shapely.get_parts(it.mark.outline).tolist()),
        ),
        "drain_lines": layer(FLOW_LINE_COLUMNS, plan.flow_lines, lambda it: it.line),
    }
