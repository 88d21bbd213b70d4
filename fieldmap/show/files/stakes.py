"""Pegs as a table, and as waypoints that a phone walks to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import pyogrio
from shapely.geometry import Point

from fieldmap.show.files.geopackage import WRITE_ERRORS
from fieldmap.show.files.tables import csv_text
from fieldmap.show.text.language import _, later
from fieldmap.show.text.stakes import PHONE

if TYPE_CHECKING:
    from pathlib import Path

    from fieldmap.decide.stakes import Staking

__all__ = ["WRITE_ERRORS", "csv_of", "write_gpx"]

COLUMNS = (
    "block",
    "of",
    "what",
    "number",
    "along_m",
    "out_m",
    "easting",
    "northing",
    "longitude",
    "latitude",
)
# A phone needs corners to walk to, not every hoop: what is walked to, and its name.
WALKED_TO = {
    "tape": later("{of} tape {number}"),
    "corner": later("{of} corner {number}"),
    "end": later("{of} end {number}"),
}


def csv_of(staking: Staking) -> str:
    """Every peg: by the tape, in the site's CRS, and in degrees (WGS 84)."""
    return csv_text(
        COLUMNS,
        (
            {
                "block": each.block,
                "of": each.of,
                "what": each.what,
                "number": each.number,
                "along_m": round(each.along_m, 2),
                "out_m": round(each.out_m, 2),
                "easting": round(each.easting, 3),
                "northing": round(each.northing, 3),
                "longitude": round(each.longitude, 8),
                "latitude": round(each.latitude, 8),
            }
            for each in staking.stakes
        ),
    )


def write_gpx(staking: Staking, path: Path) -> None:
    """Waypoints: the points of each block's tape, then its corners."""
    points = [each for each in staking.stakes if each.what in WALKED_TO]
    names = [
        _(WALKED_TO[each.what]).format(of=each.of, number=each.number)
        for each in points
    ]
    table = gpd.GeoDataFrame(
        {"name": names, "desc": _(PHONE)},
        geometry=[Point(each.longitude, each.latitude) for each in points],
        crs="EPSG:4326",
    )
    pyogrio.write_dataframe(table, path, layer="waypoints", driver="GPX")
