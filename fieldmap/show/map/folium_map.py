"""folium's map with Leaflet alone, for a page that asks no network for anything.

folium takes long to load, so this is loaded only where the map is not kept.
"""

import re
from typing import ClassVar

import folium
from branca.element import Figure, MacroElement
from folium.template import Template

from fieldmap.show.html import text_of
from fieldmap.show.map.offline import ASSET

MOST_ZOOM = 23
# At the end of the name of every element of a page that folium makes.
_RANDOM = re.compile(r"_[0-9a-f]{32}(?![0-9a-f])")


class OfflineMap(folium.Map):  # type: ignore[misc]  # folium ships no types
    """folium's map with Leaflet alone, from an installed package.

    Without jQuery and icon fonts, which only folium's own popups and icons need, and
    with pinching allowed, which folium's header forbids.
    """

    _template = Template(text_of("map/folium_map.html"))
    default_js: ClassVar = [("leaflet", ASSET + "leaflet.js")]
    default_css: ClassVar = [("leaflet_css", ASSET + "leaflet.css")]


class Parts(MacroElement):  # type: ignore[misc]  # branca ships no types
    """Hands folium's map to the page's own scripts."""

    _template = Template(text_of("map/parts.js"))

    def __init__(self, shown: OfflineMap) -> None:
        super().__init__()
        self.shown = shown


def rendered(latitude: float, longitude: float) -> list[str]:
    """Head, body and script of a map with its middle at a place."""
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
    return numbered(*(part.render() for part in (made.header, made.html, made.script)))


def numbered(*texts: str) -> list[str]:
    """Texts with folium's random names of elements numbered, as they come up.

    The same map then gives the same bytes.

    Examples
    --------
    >>> numbered(f"var map_{'a' * 32};", f"map_{'a' * 32}.addLayer(image_{'b' * 32})")
    ['var map_0001;', 'map_0001.addLayer(image_0002)']
    """
    numbers: dict[str, str] = {}

    def number(found: re.Match[str]) -> str:
        return numbers.setdefault(found[0], f"_{len(numbers) + 1:04d}")

    return [_RANDOM.sub(number, text) for text in texts]
