"""How general GIS programs draw the layers of the GeoPackage: a `layer_styles` table.

Each style stands there in two forms that say the same. QGIS takes the QML of the row that
names the layer and its geometry column and is the default; several other programs read
the SLD. Source of the table: QGIS writes it so when it saves a style in a GeoPackage.
"""

import sqlite3
from contextlib import closing
from importlib import resources
from pathlib import Path

from fieldmap.show.files.styles import layer_styles, qml, sld

FIXED_TIME = "2000-01-01T00:00:00.000Z"  # equal plans are written in equal bytes


def add(path: Path) -> None:
    """Add the table of styles to a written GeoPackage."""
    sql = resources.files(__package__).joinpath("layer_styles.sql").read_text("utf-8")
    table, listed, a_style = sql.split("\n\n")
    time = {"time": FIXED_TIME}
    with closing(sqlite3.connect(path)) as file, file:
        file.execute(table)
        file.execute(listed, time)
        for layer, style in layer_styles.styles().items():
            forms = {"qml": qml.text(style), "sld": sld.text(layer, style)}
            file.execute(a_style, {"layer": layer, **forms, **time})
