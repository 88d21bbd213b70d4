"""A style as SLD, Styled Layer Descriptor 1.0.0, which several GIS programs read.

Source of its elements: Open Geospatial Consortium, OGC 02-070.
"""

from xml.etree.ElementTree import Element, SubElement, tostring

from fieldmap.show.files.styles import layer_styles
from fieldmap.show.files.styles.layer_styles import LayerStyle, Rule
from fieldmap.show.layer_styles import INK, PAPER, Style

NAMESPACES = {
    "xmlns": "http://www.opengis.net/sld",
    "xmlns:ogc": "http://www.opengis.net/ogc",
}


def text(layer: str, style: LayerStyle) -> str:
    """The style of a layer."""
    root = Element("StyledLayerDescriptor", {"version": "1.0.0", **NAMESPACES})
    named = SubElement(root, "NamedLayer")
    SubElement(named, "Name").text = layer
    rules = SubElement(SubElement(named, "UserStyle"), "FeatureTypeStyle")
    for rule in style.rules:
        _add_rule(rules, rule, style)
    return '<?xml version="1.0" encoding="UTF-8"?>' + tostring(root, encoding="unicode")


def _add_rule(parent: Element, rule: Rule, style: LayerStyle) -> None:
    made = SubElement(parent, "Rule")
    if rule.value is not None:
        SubElement(made, "Title").text = rule.title
        same = SubElement(SubElement(made, "ogc:Filter"), "ogc:PropertyIsEqualTo")
        SubElement(same, "ogc:PropertyName").text = layer_styles.COLUMN
        SubElement(same, "ogc:Literal").text = rule.value
    shape = "LineSymbolizer" if style.lines else "PolygonSymbolizer"
    _add_symbol(SubElement(made, shape), rule.style)
    if style.named:
        _add_label(SubElement(made, "TextSymbolizer"))


def _add_symbol(symbol: Element, style: Style) -> None:
    if style.fill is not None:
        _add_values(
            SubElement(symbol, "Fill"),
            {"fill": style.fill, "fill-opacity": f"{style.opacity:g}"},
        )
    stroke = {"stroke": style.line, "stroke-width": f"{style.width_px:g}"}
    if style.dashes_px:
        stroke["stroke-dasharray"] = " ".join(f"{px:g}" for px in style.dashes_px)
    _add_values(SubElement(symbol, "Stroke"), stroke)


def _add_label(label: Element) -> None:
    SubElement(SubElement(label, "Label"), "ogc:PropertyName").text = layer_styles.LABEL
    _add_values(
        SubElement(label, "Font"),
        {"font-family": "sans-serif", "font-size": str(layer_styles.LABEL_PIXELS)},
    )
    halo = SubElement(label, "Halo")
    SubElement(halo, "Radius").text = str(layer_styles.HALO_PIXELS)
    _add_values(SubElement(halo, "Fill"), {"fill": PAPER})
    _add_values(SubElement(label, "Fill"), {"fill": INK})


def _add_values(parent: Element, values: dict[str, str]) -> None:
    for name, value in values.items():
        SubElement(parent, "CssParameter", {"name": name}).text = value
