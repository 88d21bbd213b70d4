"""How general GIS programs draw the layers of the GeoPackage: a `layer_styles` table.

Each style stands there in two forms that say the same. QGIS takes the QML of the row that
names the layer and its geometry column and is the default; several other programs read
the SLD (Styled Layer Descriptor 1.0.0). Source of the table: QGIS writes it so when it
saves a style in a GeoPackage.
"""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Literal

from PIL import ImageColor

from fieldmap.show import html
from fieldmap.show.files.styles import layer_styles
from fieldmap.show.files.styles.layer_styles import LayerStyle
from fieldmap.show.layer_styles import INK, PAPER

FIXED_TIME = "2000-01-01T00:00:00.000Z"  # equal plans are written in equal bytes


def add(path: Path) -> None:
    """Add the table of styles to a written GeoPackage."""
    table, listed, a_style = html.text_of("files/styles/layer_styles.sql").split("\n\n")
    time = {"time": FIXED_TIME}
    with closing(sqlite3.connect(path)) as file, file:
        file.execute(table)
        file.execute(listed, time)
        for layer, style in layer_styles.styles().items():
            qml, sld = text("qml", layer, style), text("sld", layer, style)
            file.execute(a_style, {"layer": layer, "qml": qml, "sld": sld, **time})


def text(form: Literal["qml", "sld"], layer: str, style: LayerStyle) -> str:
    """The style of a layer in one of the two forms, on one line.

    Parameters
    ----------
    form
        "qml" for QGIS, "sld" for other programs.
    layer
        Name of the layer in the GeoPackage.
    style
        How it is drawn.
    """
    made = html.filled(
        f"files/styles/{form}.xml",
        layer=layer,
        style=style,
        look=layer_styles,
        rgba=_rgba,
        ink=INK,
        paper=PAPER,
    )
    return "".join(line.strip() for line in made.splitlines())


def _rgba(hexadecimal: str, opacity: float = 1.0) -> str:
    """Red, green, blue and opacity, each from 0 to 255."""
    parts = (*ImageColor.getrgb(hexadecimal), round(255 * opacity))
    return ",".join(map(str, parts))
