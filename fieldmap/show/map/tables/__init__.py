"""Tables under the map: what is shown of each thing, once; popups read their rows."""

from fieldmap.show.map.tables.every import all_tables
from fieldmap.show.map.tables.table import Column, Row, Table

__all__ = ["Column", "Row", "Table", "all_tables"]
