"""folium's map as parts of the page: Leaflet's pan, zoom and gestures."""

from typing import NamedTuple

from branca.element import Figure, MacroElement
from folium.template import Template

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Raster
from fieldmap.show.html import text_of
from fieldmap.show.map.offline import OfflineMap, numbered

MOST_ZOOM = 23


class Parts(MacroElement):  # type: ignore[misc]  # branca ships no types
    """Hands folium's map to the page's own scripts."""

    _template = Template(text_of("map/parts.js"))

    def __init__(self, shown: OfflineMap) -> None:
        super().__init__()
        self.shown = shown


class MapParts(NamedTuple):
    """The map as parts of a page."""

    head: str
    body: str
    script: str


def map_parts(ground: Raster) -> MapParts:
    """The map around some ground, as text for the head, the body and the script."""
    west, south, east, north = ground.bounds
    longitude, latitude = transformer(ground.crs, WGS84).transform(
        (west + east) / 2, (south + north) / 2
    )
    shown = OfflineMap(
        location=[latitude, longitude],
        zoom_start=16,
        tiles=None,
        max_zoom=MOST_ZOOM,
        zoom_snap=0.25,
        zoom_control=False,
        attribution_control=False,
    )
    Parts(shown).add_to(shown)
    made = Figure()
    shown.add_to(made)
    made.render()  # fills head, body and script; the page that it gives is not ours
    return MapParts(
        *numbered(*(part.render() for part in (made.header, made.html, made.script)))
    )
