"""For map apps on a phone: outlines (`plan.kml`) and pegs to walk to (`stakes.gpx`)."""

from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path

import geopandas as gpd
import pyogrio
from shapely.geometry import Point

from fieldmap.decide.pegging.stakes import Stake
from fieldmap.show.text.decide import pegging as words
from fieldmap.show.text.files.contents import KML_FOLDERS
from fieldmap.show.text.language import _

# OGR's style notation by layer: pen and brush, colours with their opacity.
STYLES = {
    "plots": "PEN(c:#000000,w:3px);BRUSH(fc:#ffffff00)",
    "beds": "PEN(c:#000000,w:1px);BRUSH(fc:#ffffff60)",
    "tunnels": "PEN(c:#000000,w:3px);BRUSH(fc:#ffffffc0)",
    "cold_pockets": "PEN(c:#3b0f70,w:2px);BRUSH(fc:#3b0f7050)",
}


def write_outlines(layers: Mapping[str, gpd.GeoDataFrame], path: Path) -> None:
    """Write one folder a layer with a style here, in degrees (WGS 84).

    Parameters
    ----------
    layers
        With `name`, and with `reasons` where there are some.
    """
    for layer, style in STYLES.items():
        table = layers[layer]
        if table.empty:
            continue
        reasons = table.get("reasons", [""] * len(table))
        shown = gpd.GeoDataFrame(
            {
                "Name": [_harmless(str(name)) for name in table["name"]],
                # Viewers show it as HTML.
                "Description": [escape(said) for said in reasons],
                "OGR_STYLE": style,
            },
            geometry=list(table.geometry),
            crs=table.crs,
        )
        pyogrio.write_dataframe(
            shown.to_crs("EPSG:4326"),
            path,
            layer=_(KML_FOLDERS[layer]),
            driver="LIBKML",
            append=path.exists(),
        )


def _harmless(name: str) -> str:
    """A name for viewers of which some show text and some HTML: no angle brackets."""
    return " ".join(name.split()).replace("<", "‹").replace(">", "›")


def write_pegs(stakes: Sequence[Stake], path: Path) -> None:
    """Corners of bays and tunnels, and what tapes hang on: what a phone leads to."""
    shown = [each for each in stakes if each.what in words.WAYPOINTS]
    table = gpd.GeoDataFrame(
        {"name": [_waypoint(each) for each in shown], "desc": _(words.WORDS["phone"])},
        geometry=[Point(each.longitude, each.latitude) for each in shown],
        crs="EPSG:4326",
    )
    pyogrio.write_dataframe(table, path, layer="waypoints", driver="GPX")


def _waypoint(stake: Stake) -> str:
    called = "" if stake.landmark is None else words.landmark(stake.landmark)
    return _(words.WAYPOINTS[stake.what]).format(
        landmark=called, field=stake.field, number=stake.number, of=stake.of
    )
