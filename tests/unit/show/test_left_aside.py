"""What is drawn and not known well enough to count is on paper and stills as on the map."""

import re
from types import SimpleNamespace

import geopandas as gpd
import pytest
from made_up import CRS, plane, plot_box, site, surroundings
from shapely.geometry import box

from fieldmap.model.site import LeftAside
from fieldmap.show.map import still
from fieldmap.show.map.drawing import GroundDrawing
from fieldmap.show.print.ground.ground_plan import ground_plan, key
from fieldmap.show.print.ground.site_plan import SitePlan

PLOT = plot_box(40, 40, 160, 110)
SHED = LeftAside("Old Shed", "building", plot_box(60, 120, 80, 135))
NAMELESS = LeftAside(None, None, plot_box(120, 120, 140, 135))
NO_POCKET = gpd.GeoDataFrame(geometry=[], crs=CRS)


@pytest.fixture(scope="module")
def here():
    return site(plane(), {"Upper": PLOT}, surroundings())


def sheet(here, aside):
    drawn = SitePlan(
        plots=here.plots,
        surroundings=here.surroundings,
        aside=aside,
        beds=(),
        tunnels=(),
        stakes=None,
        convergence_deg=0.0,
        units="metric",
        width_mm=182.0,
        height_mm=271.0,
    )
    return ground_plan(drawn, None, NO_POCKET, box(0, 0, 0, 0), (114.0, 114.0))


def test_a_sheet_draws_it_in_dashes_with_a_question_mark(here):
    drawn = sheet(here, (SHED, NAMELESS)).drawing("A plan.").svg
    assert "Old Shed ?" in drawn
    assert re.search(r">\?<", drawn)
    assert drawn.count('stroke-dasharray="1.5 1"') == 2
    assert 'stroke-dasharray="1.5 1"' not in sheet(here, ()).drawing("A plan.").svg


def key_of(aside=(), kinds=()):
    drawn = SimpleNamespace(tunnels=(), aside=aside, surroundings={"kind": kinds})
    return key(182.0, drawn, has_pocket=False, has_change=False).svg


def test_the_key_of_a_sheet_explains_it_only_where_there_is_some():
    assert "not known well yet" in key_of(aside=(SHED,))
    assert "not known well yet" not in key_of()


def test_the_key_of_a_sheet_names_an_overhead_line_where_there_is_one():
    assert "overhead power line" in key_of(kinds=("barn", "overhead line"))
    assert "overhead power line" not in key_of(kinds=("barn",))


def test_a_still_picture_has_an_arrow_downhill_with_a_word_at_either_end():
    """Of ground that falls to the south: "uphill" stands above "downhill"."""
    drawing = GroundDrawing((0.0, 0.0, 400.0, 300.0), 900)
    drawing.slope(0.0, -1.0)
    said = "".join(drawing._parts)
    at = {
        word: float(y)
        for y, word in re.findall(r'<text x="[\d.]+" y="([\d.]+)"[^>]*>(\w+)<', said)
    }
    assert set(at) == {"uphill", "downhill"}
    assert at["uphill"] < at["downhill"]


def test_a_still_picture_draws_it_too(here):
    place = still.Scenery(
        plots=here.plots,
        surroundings=here.surroundings,
        aside=(SHED,),
        beds=(),
        tunnels=(),
        flow_lines=(),
        ground=here.elevation,
        convergence_deg=0.0,
        downhill=None,
        lines={},
    )
    around = still._around(place, here.elevation.bounds, (), "metric")
    assert "Old Shed ?" in [name.text for name in around._names]
    assert re.search(r'stroke-dasharray="[\d., ]+"', "".join(around._parts))
