"""Edge: one HTML file with the map, the still picture and the tables."""

from fieldmap.show.map.data.script import tonight
from fieldmap.show.map.page import map_html

__all__ = ["map_html", "tonight"]
