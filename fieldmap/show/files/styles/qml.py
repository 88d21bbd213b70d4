"""A style as QML, the form in which QGIS keeps the style of a layer.

Names of its elements are those that QGIS 3 reads; values that are left out take the
defaults of the program, as the font does.
"""

from xml.etree.ElementTree import Element, SubElement, tostring

from matplotlib.colors import to_rgb

from fieldmap.show.files.styles import layer_styles
from fieldmap.show.files.styles.layer_styles import LayerStyle
from fieldmap.show.layer_styles import INK, PAPER, Style

DOCTYPE = "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>"
# The oldest long-term release that writes the elements used here.
VERSION = "3.16.0"
IN_PIXELS = "Pixel"
HORIZONTAL = "4"  # number of the placement in the middle of a polygon, level


def text(style: LayerStyle) -> str:
    """The style of a layer."""
    root = Element(
        "qgis",
        {
            "version": VERSION,
            "styleCategories": "Symbology|Labeling",
            "labelsEnabled": str(int(style.named)),
        },
    )
    _add_renderer(root, style)
    if style.named:
        labelling = SubElement(root, "labeling", {"type": "simple"})
        _add_label(SubElement(labelling, "settings"))
    return DOCTYPE + tostring(root, encoding="unicode")


def _add_renderer(root: Element, style: LayerStyle) -> None:
    renderer = SubElement(root, "renderer-v2", {"type": "singleSymbol"})
    if style.rules[0].value is not None:
        renderer.attrib.update(
            {"type": "categorizedSymbol", "attr": layer_styles.COLUMN}
        )
        categories = SubElement(renderer, "categories")
        for at, rule in enumerate(style.rules):
            values = {"symbol": str(at), "value": rule.value or "", "label": rule.title}
            SubElement(categories, "category", {**values, "render": "true"})
    symbols = SubElement(renderer, "symbols")
    for at, rule in enumerate(style.rules):
        symbol = {"name": str(at), "type": "line" if style.lines else "fill"}
        _add_layers(SubElement(symbols, "symbol", {**symbol, "alpha": "1"}), rule.style)


def _add_layers(symbol: Element, style: Style) -> None:
    """What is drawn one over the other: the fill without an edge, then the line."""
    if style.fill is not None:
        fill = {"color": _colour(style.fill, style.opacity), "style": "solid"}
        _add_layer(symbol, "SimpleFill", {**fill, "outline_style": "no"})
    line = {
        "line_color": _colour(style.line),
        "line_style": "solid",
        "line_width": f"{style.width_px:g}",
        "line_width_unit": IN_PIXELS,
    }
    if style.dashes_px:
        line["use_custom_dash"] = "1"
        line["customdash"] = ";".join(f"{px:g}" for px in style.dashes_px)
        line["customdash_unit"] = IN_PIXELS
    _add_layer(symbol, "SimpleLine", line)


def _add_layer(symbol: Element, kind: str, values: dict[str, str]) -> None:
    layer = SubElement(symbol, "layer", {"class": kind, "enabled": "1", "pass": "0"})
    for name, value in values.items():
        SubElement(layer, "prop", {"k": name, "v": value})


def _add_label(settings: Element) -> None:
    written = SubElement(
        settings,
        "text-style",
        {
            "fieldName": layer_styles.LABEL,
            "isExpression": "0",
            "fontSize": str(layer_styles.LABEL_PIXELS),
            "fontSizeUnit": IN_PIXELS,
            "fontWeight": "50",
            "textColor": _colour(INK),
            "textOpacity": "1",
        },
    )
    SubElement(
        written,
        "text-buffer",
        {
            "bufferDraw": "1",
            "bufferSize": str(layer_styles.HALO_PIXELS),
            "bufferSizeUnits": IN_PIXELS,
            "bufferColor": _colour(PAPER),
            "bufferOpacity": "1",
        },
    )
    SubElement(settings, "placement", {"placement": HORIZONTAL})


def _colour(hexadecimal: str, opacity: float = 1.0) -> str:
    """Red, green, blue and opacity, each from 0 to 255."""
    shares = (*to_rgb(hexadecimal), opacity)
    return ",".join(str(round(255 * share)) for share in shares)
