"""How general GIS programs draw the layers of the GeoPackage: a `layer_styles` table.

Each style stands there in two forms that say the same. QGIS takes the QML of the row that
names the layer and its geometry column and is the default; several other programs read
the SLD. Source of the table: QGIS writes it so when it saves a style in a GeoPackage.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from typing import TYPE_CHECKING

from fieldmap.show.files import layer_styles, qml, sld

if TYPE_CHECKING:
    from pathlib import Path

FIXED_TIME = "2000-01-01T00:00:00.000Z"  # equal plans are written in equal bytes


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
VALUES ('', '', ?, 'geom', ?, ?, ?, 1, 'fieldmap', '', NULL, ?)
"""


def add(path: Path) -> None:
    """Add the table of styles to a written GeoPackage."""
    with closing(sqlite3.connect(path)) as file, file:
        file.execute(_TABLE)
        file.execute(_LISTED, (FIXED_TIME,))
        for layer, style in layer_styles.styles().items():
            forms = (qml.text(style), sld.text(layer, style))
            file.execute(_STYLE, (layer, layer, *forms, FIXED_TIME))
