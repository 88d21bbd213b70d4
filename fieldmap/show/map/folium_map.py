"""folium's map as parts of the page: Leaflet's pan, zoom and gestures."""

import json
from typing import NamedTuple

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Raster
from fieldmap.show.kept import drawn


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

    def draw() -> bytes:
        from fieldmap.show.map.offline_map import rendered

        return json.dumps(rendered(latitude, longitude)).encode()

    return MapParts(
        *json.loads(drawn("map parts", {"at": [latitude, longitude]}, draw))
    )
