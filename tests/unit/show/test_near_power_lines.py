"""What sheets say of overhead power lines, on ground whose distances are known."""

from types import SimpleNamespace

import geopandas as gpd
import pytest
from shapely.geometry import LineString, box

from fieldmap.show.print import before_you_sign
from fieldmap.show.print.teaching import dawn_walk

LINE = gpd.GeoDataFrame(
    {"kind": ["overhead line"]}, geometry=[LineString([(0, -50), (0, 50)])]
)


def ranked(name, east_m, likely_c):
    bed = SimpleNamespace(name=name, outline=box(east_m, 0, east_m + 1, 10))
    return SimpleNamespace(bed=bed, offset_c=SimpleNamespace(central=likely_c))


def test_no_peg_of_a_dawn_walk_stands_near_the_line_though_the_coldest_bed_does():
    """9 m are kept: the bed from 8 m on is left out, those from 10 m on are not."""
    beds = [ranked("A", 8, -2.0), ranked("B", 10, -1.0), ranked("C", 40, 0.5)]
    assert [peg.bed.bed.name for peg in dawn_walk.pegs(beds, LINE)] == ["B", "C"]
    assert len(dawn_walk.pegs(beds, LINE[:0])) == 3


@pytest.mark.parametrize(("east_m", "said"), [(9.9, True), (10.1, False)])
def test_a_fence_near_the_line_is_named(east_m, said):
    """The fence stands a metre outside: of a plot at 9.9 m it is 8.9 m away, under 9 m."""
    plots = gpd.GeoDataFrame({"name": ["Home"]}, geometry=[box(east_m, 0, 60, 30)])
    found = list(before_you_sign._lines_above(plots, LINE, "metric"))
    assert len(found) == said
    if found:
        assert "less than 9 m from a fence around Home" in found[0]
