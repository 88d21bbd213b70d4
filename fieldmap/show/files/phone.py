"""For map apps on a phone: pegs to walk to (`stakes.gpx`)."""

from collections.abc import Sequence
from pathlib import Path

import geopandas as gpd
import pyogrio
from shapely.geometry import Point

from fieldmap.decide.pegging.stakes import Stake
from fieldmap.show.text.decide import pegging as words
from fieldmap.show.text.language import _


def write_pegs(stakes: Sequence[Stake], path: Path) -> None:
    """Corners of bays and tunnels, and what tapes hang on: what a phone leads to."""
    shown = [each for each in stakes if each.what in words.WAYPOINTS]
    table = gpd.GeoDataFrame(
        {"name": [_waypoint(each) for each in shown], "desc": _(words.WORDS["phone"])},
        geometry=[Point(each.longitude, each.latitude) for each in shown],
        crs="EPSG:4326",
    )
    pyogrio.write_dataframe(table, path, layer="waypoints", driver="GPX")


def _waypoint(stake: Stake) -> str:
    called = "" if stake.landmark is None else words.landmark(stake.landmark)
    return _(words.WAYPOINTS[stake.what]).format(
        landmark=called, field=stake.field, number=stake.number, of=stake.of
    )
