"""Outlines for map apps on a phone (`plan.kml`), beds in the colours of the map.

After OGC 07-147r2, KML 2.2. Viewers show a description as HTML, so it is escaped for both.
"""

from collections.abc import Iterator, Mapping, Sequence
from html import escape

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.show.layer_styles import ramp_colours
from fieldmap.show.text.files.contents import KML_FOLDERS
from fieldmap.show.text.language import _

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
STEPS = 11  # of the colours of beds
# Line, its width, and fill with its opacity, by layer.
STYLES = {
    "plots": ("#000000", 3, "#ffffff", 0x00),
    "tunnels": ("#000000", 3, "#ffffff", 0xC0),
    "cold_pockets": ("#3b0f70", 2, "#3b0f70", 0x50),
}
BED_OPACITY = 0xD0
# A balloon says name and reasons, without what else a viewer may add.
BALLOON = "<b>$[name]</b><br/>$[description]"


def document(
    site_name: str, layers: Mapping[str, gpd.GeoDataFrame], places: Sequence[float]
) -> str:
    """One folder a layer.

    Parameters
    ----------
    site_name
        Name of the document. Angle brackets in it are replaced.
    layers
        With `name`, and with `reasons` where there are some.
    places
        Of each bed on the map's ramp of dates, 0 the earliest, 1 the last.
    """
    steps = [round(float(np.clip(at, 0.0, 1.0)) * (STEPS - 1)) for at in places]
    parts = [HEAD, '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>']
    parts += [f"<name>{escape(harmless(site_name))}</name>", *_styles()]
    for layer in ("plots", "beds", "tunnels", "cold_pockets"):
        table = layers[layer]
        if table.empty:
            continue
        named = [f"bed-{step}" for step in steps] if layer == "beds" else None
        parts.append(f"<Folder><name>{escape(_(KML_FOLDERS[layer]))}</name>")
        parts += _placemarks(table.to_crs("EPSG:4326"), named or [layer] * len(table))
        parts.append("</Folder>")
    return "\n".join([*parts, "</Document></kml>\n"])


def harmless(name: str) -> str:
    """A name for viewers of which some show text and some HTML: no angle brackets."""
    return " ".join(name.split()).replace("<", "‹").replace(">", "›")


def _styles() -> Iterator[str]:
    for name, (line, width, fill, opacity) in STYLES.items():
        yield _style(name, line, width, fill, opacity)
    for step, colour in enumerate(ramp_colours("dates", np.linspace(0, 1, STEPS))):
        yield _style(f"bed-{step}", "#26241f", 1, colour, BED_OPACITY)


def _style(name: str, line: str, width: int, fill: str, opacity: int) -> str:
    return (
        f'<Style id="{name}"><LineStyle><color>{_colour(line, 255)}</color>'
        f"<width>{width}</width></LineStyle><PolyStyle><color>"
        f"{_colour(fill, opacity)}</color></PolyStyle>"
        f"<BalloonStyle><text>{escape(BALLOON)}</text></BalloonStyle></Style>"
    )


def _colour(rgb: str, opacity: int) -> str:
    """As KML writes it: opacity, blue, green, red.

    Examples
    --------
    >>> _colour("#f4c95d", 255)
    'ff5dc9f4'
    """
    return f"{opacity:02x}{rgb[5:7]}{rgb[3:5]}{rgb[1:3]}"


def _placemarks(table: gpd.GeoDataFrame, styles: Sequence[str]) -> Iterator[str]:
    reasons = table.get("reasons", [""] * len(table))
    for name, said, shape, style in zip(
        table["name"], reasons, table.geometry, styles, strict=True
    ):
        about = (
            escape(escape(said, quote=False)) if isinstance(said, str) and said else ""
        )
        about = f"<description>{about}</description>" if about else ""
        yield (
            f"<Placemark><name>{escape(harmless(str(name)))}</name>{about}"
            f"<styleUrl>#{style}</styleUrl>{_geometry(shape)}</Placemark>"
        )


def _geometry(shape: BaseGeometry) -> str:
    polygons = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    drawn = "".join(map(_polygon, polygons))
    return drawn if len(polygons) == 1 else f"<MultiGeometry>{drawn}</MultiGeometry>"


def _polygon(polygon: Polygon) -> str:
    outer = f"<outerBoundaryIs>{_ring(polygon.exterior)}</outerBoundaryIs>"
    inner = "".join(
        f"<innerBoundaryIs>{_ring(ring)}</innerBoundaryIs>"
        for ring in polygon.interiors
    )
    return f"<Polygon>{outer}{inner}</Polygon>"


def _ring(ring: BaseGeometry) -> str:
    places = shapely.get_coordinates(ring)
    listed = " ".join(f"{east:.8f},{north:.8f},0" for east, north in places)
    return f"<LinearRing><coordinates>{listed}</coordinates></LinearRing>"
