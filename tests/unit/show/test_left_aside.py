"""What is drawn and not known well enough to count is on paper and stills as on the map."""

import re
from types import SimpleNamespace

import geopandas as gpd
import pytest
from made_up import CRS, plane, plot_box, site, surroundings
from shapely.geometry import box

from fieldmap.model.site import LeftAside
from fieldmap.show.map import still
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


def test_the_key_of_a_sheet_explains_it_only_where_there_is_some():
    asked = {"has_pocket": False, "has_tunnel": False, "has_change": False}
    with_it, without = (
        key(182.0, **asked, has_aside=some).svg for some in (True, False)
    )
    assert "not known well yet" in with_it
    assert "not known well yet" not in without


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
    )
    nothing = SimpleNamespace(lines=(), shades=None)
    around = still._around(place, here.elevation.bounds, nothing, "metric")
    assert "Old Shed ?" in [name.text for name in around._names]
    assert re.search(r'stroke-dasharray="[\d., ]+"', "".join(around._parts))
