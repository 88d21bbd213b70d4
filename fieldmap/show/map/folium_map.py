"""folium's map with the ground and every picture of the questions on it."""

from collections.abc import Sequence
from typing import NamedTuple

from branca.element import Figure, MacroElement
from folium.raster_layers import ImageOverlay
from folium.template import Template

from fieldmap.model.raster import Raster
from fieldmap.show.html import text_of
from fieldmap.show.map.offline import OfflineMap, numbered
from fieldmap.show.map.overlay import Overlay, relief
from fieldmap.show.map.questions import Question

MOST_ZOOM = 23


class Parts(MacroElement):  # type: ignore[misc]  # branca ships no types
    """Hands folium's map, its ground and its pictures to the page's own script."""

    _template = Template(text_of("map/parts.js"))

    def __init__(
        self,
        shown: OfflineMap,
        ground: ImageOverlay,
        pictures: dict[str, list[ImageOverlay | None]],
    ) -> None:
        super().__init__()
        self.shown = shown
        self.ground = ground
        self.pictures = pictures


class MapParts(NamedTuple):
    """The map as parts of a page."""

    head: str
    body: str
    script: str


def map_parts(smooth_m: Raster, questions: Sequence[Question]) -> MapParts:
    """The map as text for the head, the body and the script of a page."""
    made = Figure()
    _map(smooth_m, questions).add_to(made)
    made.render()  # fills head, body and script; the page that it gives is not ours
    return MapParts(
        *numbered(*(part.render() for part in (made.header, made.html, made.script)))
    )


def _map(smooth_m: Raster, questions: Sequence[Question]) -> OfflineMap:
    ground = relief(smooth_m)
    (south, west), (north, east) = ground.bounds
    shown = OfflineMap(
        location=[(south + north) / 2, (west + east) / 2],
        zoom_start=16,
        tiles=None,
        max_zoom=MOST_ZOOM,
        zoom_snap=0.25,
        zoom_control=False,
        attribution_control=False,
    )
    under = _image(ground, "relief", show=True)
    under.add_to(shown)
    layers: dict[str, list[ImageOverlay | None]] = {}
    for question in questions:
        layers[question.key] = [
            _image(picture.overlay, "colours", show=False) if picture.overlay else None
            for picture in question.pictures
        ]
        for layer in filter(None, layers[question.key]):
            layer.add_to(shown)
    Parts(shown, under, layers).add_to(shown)
    return shown


def _image(overlay: Overlay, css_class: str, *, show: bool) -> ImageOverlay:
    return ImageOverlay(
        overlay.uri,
        bounds=[list(corner) for corner in overlay.bounds],
        class_name=css_class,
        show=show,
        pixelated=False,  # folium's style for it is in our own style sheet
        control=False,
    )
