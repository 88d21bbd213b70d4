"""How general GIS programs draw the layers of the GeoPackage: a `layer_styles` table.

Each style stands there as SLD, the standard of the Open Geospatial Consortium (Styled
Layer Descriptor 1.0.0), which several programs read.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING, NamedTuple
from xml.sax.saxutils import escape

from fieldmap.colours import GROUP_COLOURS
from fieldmap.language import _, later
from fieldmap.ranking import GROUPS

if TYPE_CHECKING:
    from pathlib import Path

FIXED_TIME = "2000-01-01T00:00:00.000Z"  # equal plans are written in equal bytes


class Look(NamedTuple):
    """Fill (None: none), its opacity, line colour, width in pixels, dashes."""

    fill: str | None
    opacity: float
    line: str
    width: float
    dashes: str = ""


LOOKS = {
    "plots": Look(None, 0.0, "#111111", 2.0),
    "tunnels": Look("#ffffff", 0.8, "#111111", 2.0),
    "cold_pockets": Look("#3b0f70", 0.25, "#3b0f70", 1.5, "6 4"),
    "drain_lines": Look(None, 0.0, "#0c1626", 1.5),
}
# Titles of the groups in a legend.
TITLES = {
    "first": later("first"),
    "no real difference": later("no real difference"),
    "in between": later("in between"),
    "last": later("last"),
}
NAMED = ("plots", "beds", "tunnels", "cold_pockets")
_TABLE = """
CREATE TABLE layer_styles (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  f_table_catalog TEXT(256), f_table_schema TEXT(256), f_table_name TEXT(256),
  f_geometry_column TEXT(256), styleName TEXT(30), styleQML TEXT, styleSLD TEXT,
  useAsDefault BOOLEAN, description TEXT, owner TEXT(30), ui TEXT(30),
  update_time DATETIME DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now'))
)
"""
_LISTED = """
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change)
VALUES ('layer_styles', 'attributes', 'layer_styles', '', ?)
"""
_STYLE = """
INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name,
  f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description, owner,
  ui, update_time)
VALUES ('', '', ?, 'geom', ?, '', ?, 1, ?, '', NULL, ?)
"""


def add(path: Path) -> None:
    """Add the table of styles to a written GeoPackage."""
    with closing(sqlite3.connect(path)) as file, file:
        file.execute(_TABLE)
        file.execute(_LISTED, (FIXED_TIME,))
        for layer, sld in slds().items():
            file.execute(_STYLE, (layer, layer, sld, "fieldmap", FIXED_TIME))


def slds() -> dict[str, str]:
    """The style of each layer as SLD."""
    rules = {layer: _rule(layer, look) for layer, look in LOOKS.items()}
    rules["beds"] = "".join(
        _rule(
            "beds",
            Look(GROUP_COLOURS[group], 0.9, "#333333", 0.5),
            title=_(TITLES[group]),
            only=("early_group", group),
        )
        for group in GROUPS
    )
    return {layer: _sld(layer, made) for layer, made in sorted(rules.items())}


def _sld(layer: str, rules: str) -> str:
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<StyledLayerDescriptor version="1.0.0" xmlns="http://www.opengis.net/sld" '
        'xmlns:ogc="http://www.opengis.net/ogc"><NamedLayer>'
        f"<Name>{layer}</Name><UserStyle><FeatureTypeStyle>{rules}"
        "</FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>"
    )


def _rule(
    layer: str, look: Look, title: str = "", only: tuple[str, str] | None = None
) -> str:
    told = f"<Title>{escape(title)}</Title>" if title else ""
    filtered = ""
    if only is not None:
        column, value = only
        filtered = (
            "<ogc:Filter><ogc:PropertyIsEqualTo>"
            f"<ogc:PropertyName>{column}</ogc:PropertyName>"
            f"<ogc:Literal>{escape(value)}</ogc:Literal>"
            "</ogc:PropertyIsEqualTo></ogc:Filter>"
        )
    return f"<Rule>{told}{filtered}{_symbol(layer, look)}{_label(layer)}</Rule>"


def _symbol(layer: str, look: Look) -> str:
    stroke = _css("stroke", look.line) + _css("stroke-width", f"{look.width:g}")
    if look.dashes:
        stroke += _css("stroke-dasharray", look.dashes)
    stroke = f"<Stroke>{stroke}</Stroke>"
    if layer == "drain_lines":
        return f"<LineSymbolizer>{stroke}</LineSymbolizer>"
    fill = ""
    if look.fill is not None:
        opacity = _css("fill-opacity", f"{look.opacity:g}")
        fill = f"<Fill>{_css('fill', look.fill)}{opacity}</Fill>"
    return f"<PolygonSymbolizer>{fill}{stroke}</PolygonSymbolizer>"


def _label(layer: str) -> str:
    if layer not in NAMED:
        return ""
    return (
        "<TextSymbolizer><Label><ogc:PropertyName>name</ogc:PropertyName></Label>"
        f"<Font>{_css('font-family', 'sans-serif')}{_css('font-size', '10')}</Font>"
        f"<Halo><Radius>1</Radius><Fill>{_css('fill', '#ffffff')}</Fill></Halo>"
        f"<Fill>{_css('fill', '#111111')}</Fill></TextSymbolizer>"
    )


def _css(name: str, value: str) -> str:
    return f'<CssParameter name="{name}">{value}</CssParameter>'
