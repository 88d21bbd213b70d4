"""Plots, beds, tunnels and cold pockets as KML, for general map apps on a phone."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import geopandas as gpd
import pyogrio

from fieldmap.show.files.geopackage import WRITE_ERRORS
from fieldmap.show.text.language import _, later
from fieldmap.show.text.sentence import say_all

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from shapely.geometry.base import BaseGeometry

    from fieldmap.plan import Plan

__all__ = ["WRITE_ERRORS", "write"]

PLOTS, BEDS = later("Plots"), later("Beds")
TUNNELS, POCKETS = later("Walk-in tunnels"), later("Cold pockets")
# OGR's style notation: pen and brush, colours with their opacity.
STYLES = {
    PLOTS: "PEN(c:#000000,w:3px);BRUSH(fc:#ffffff00)",
    BEDS: "PEN(c:#000000,w:1px);BRUSH(fc:#ffffff60)",
    TUNNELS: "PEN(c:#000000,w:3px);BRUSH(fc:#ffffffc0)",
    POCKETS: "PEN(c:#3b0f70,w:2px);BRUSH(fc:#3b0f7050)",
}
Named = tuple[str, str, "BaseGeometry"]


def write(plan: Plan, path: Path) -> None:
    """Write one folder a kind, in longitude and latitude (WGS 84)."""
    for layer, things in _layers(plan).items():
        table = gpd.GeoDataFrame(
            {
                "Name": [_harmless(name) for name, _said, _shape in things],
                # Viewers show it as HTML.
                "Description": [escape(said) for _name, said, _shape in things],
                "OGR_STYLE": STYLES[layer],
            },
            geometry=[shape for _name, _said, shape in things],
            crs=plan.site.crs,
        )
        pyogrio.write_dataframe(
            table.to_crs("EPSG:4326"),
            path,
            layer=_(layer),
            driver="LIBKML",
            append=path.exists(),
        )


def _layers(plan: Plan) -> dict[str, list[Named]]:
    units = plan.site.settings.units
    layers: dict[str, list[Named]] = {
        PLOTS: list(_plots(plan)),
        BEDS: [
            (each.bed.name, " ".join(say_all(each.reasons, units)), each.bed.outline)
            for each in plan.beds
        ],
        TUNNELS: [
            (each.name, " ".join(say_all(each.reasons, units)), each.outline)
            for each in plan.tunnels
        ],
        POCKETS: [
            (str(name), "", shape)
            for name, shape in zip(
                plan.cold_pockets["name"], plan.cold_pockets.geometry, strict=True
            )
        ],
    }
    return {layer: things for layer, things in layers.items() if things}


def _plots(plan: Plan) -> Iterator[Named]:
    plots = plan.site.plots
    for name, shape in zip(plots["name"], plots.geometry, strict=True):
        yield str(name), "", shape


def _harmless(name: str) -> str:
    """A name for viewers of which some show text and some HTML: no angle brackets."""
    return " ".join(name.split()).replace("<", "‹").replace(">", "›")
