"""A style as SLD, Styled Layer Descriptor 1.0.0, which several GIS programs read.

Source of its elements: Open Geospatial Consortium, OGC 02-070.
"""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, tostring

from fieldmap.show.files.styles import layer_styles

if TYPE_CHECKING:
    from fieldmap.show.files.styles.layer_styles import Look, Rule, Style

NAMESPACES = {
    "xmlns": "http://www.opengis.net/sld",
    "xmlns:ogc": "http://www.opengis.net/ogc",
}


def text(layer: str, style: Style) -> str:
    """The style of a layer."""
    root = Element("StyledLayerDescriptor", {"version": "1.0.0", **NAMESPACES})
    named = SubElement(root, "NamedLayer")
    SubElement(named, "Name").text = layer
    rules = SubElement(SubElement(named, "UserStyle"), "FeatureTypeStyle")
    for rule in style.rules:
        _add_rule(rules, rule, style)
    return '<?xml version="1.0" encoding="UTF-8"?>' + tostring(root, encoding="unicode")


def _add_rule(parent: Element, rule: Rule, style: Style) -> None:
    made = SubElement(parent, "Rule")
    if rule.value is not None:
        SubElement(made, "Title").text = rule.title
        same = SubElement(SubElement(made, "ogc:Filter"), "ogc:PropertyIsEqualTo")
        SubElement(same, "ogc:PropertyName").text = layer_styles.COLUMN
        SubElement(same, "ogc:Literal").text = rule.value
    shape = "LineSymbolizer" if style.lines else "PolygonSymbolizer"
    _add_symbol(SubElement(made, shape), rule.look)
    if style.named:
        _add_label(SubElement(made, "TextSymbolizer"))


def _add_symbol(symbol: Element, look: Look) -> None:
    if look.fill is not None:
        _add_values(
            SubElement(symbol, "Fill"),
            {"fill": look.fill, "fill-opacity": f"{look.opacity:g}"},
        )
    stroke = {"stroke": look.line, "stroke-width": f"{look.width:g}"}
    if look.dashes:
        stroke["stroke-dasharray"] = " ".join(map(str, look.dashes))
    _add_values(SubElement(symbol, "Stroke"), stroke)


def _add_label(label: Element) -> None:
    SubElement(SubElement(label, "Label"), "ogc:PropertyName").text = layer_styles.LABEL
    _add_values(
        SubElement(label, "Font"),
        {"font-family": "sans-serif", "font-size": str(layer_styles.LABEL_PIXELS)},
    )
    halo = SubElement(label, "Halo")
    SubElement(halo, "Radius").text = str(layer_styles.HALO_PIXELS)
    _add_values(SubElement(halo, "Fill"), {"fill": layer_styles.PAPER})
    _add_values(SubElement(label, "Fill"), {"fill": layer_styles.INK})


def _add_values(parent: Element, values: dict[str, str]) -> None:
    for name, value in values.items():
        SubElement(parent, "CssParameter", {"name": name}).text = value
