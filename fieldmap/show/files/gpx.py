"""Pegs as waypoints that a phone walks to (`stakes.gpx`)."""

from collections.abc import Sequence
from pathlib import Path

import geopandas as gpd
import pyogrio
from shapely.geometry import Point

from fieldmap.decide.stakes import Stake
from fieldmap.show.text.decide.stakes import PHONE
from fieldmap.show.text.files import contents as words
from fieldmap.show.text.language import _


def write(stakes: Sequence[Stake], path: Path) -> None:
    """Points of each block's tape, then its corners: a phone needs no hoop."""
    points = [each for each in stakes if each.what in words.WAYPOINTS]
    names = [
        _(words.WAYPOINTS[each.what]).format(of=each.of, number=each.number)
        for each in points
    ]
    table = gpd.GeoDataFrame(
        {"name": names, "desc": _(PHONE)},
        geometry=[Point(each.longitude, each.latitude) for each in points],
        crs="EPSG:4326",
    )
    pyogrio.write_dataframe(table, path, layer="waypoints", driver="GPX")
