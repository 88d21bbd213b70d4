CREATE TABLE layer_styles (
  id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  f_table_catalog TEXT(256), f_table_schema TEXT(256), f_table_name TEXT(256),
  f_geometry_column TEXT(256), styleName TEXT(30), styleQML TEXT, styleSLD TEXT,
  useAsDefault BOOLEAN, description TEXT, owner TEXT(30), ui TEXT(30),
  update_time DATETIME DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now'))
);

INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change)
VALUES ('layer_styles', 'attributes', 'layer_styles', '', :time);

INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name,
  f_geometry_column, styleName, styleQML, styleSLD, useAsDefault, description, owner,
  ui, update_time)
VALUES ('', '', :layer, 'geom', :layer, :qml, :sld, 1, 'fieldmap', '', NULL, :time);
