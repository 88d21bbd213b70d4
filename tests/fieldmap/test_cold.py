"""Cold air of a site: it runs where the elevation reaches, stands behind hedges."""

import numpy as np
import pytest
from made_up import plane, plot_box, site, surroundings

from fieldmap import pockets
from fieldmap.analysis import analyse, cold
from fieldmap.cache import Store

# Falls 5 % to the south over 400 m; the plot lies in its middle.
GROUND = plane(rows=200, cols=200, north=0.05, cell_size_m=2.0)
# In metres from the south-west corner of 200 m, as `plot_box` counts: the grid of
# 400 m reaches 200 m farther south.
PLOT = {"Home": plot_box(180, -40, 220, 40)}
HEDGE = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}


def analysed(made_up, tmp_path):
    return analyse(made_up, Store(tmp_path), lambda step: None)


def hedge(kind="hedge", **more):
    return surroundings((kind, plot_box(100, -44, 300, -42), HEDGE | more))


def depth_at(analysis, east_m, north_m):
    raster = analysis.cold_air_m
    return float(raster.sample([500000.0 + east_m], [5000000.0 + north_m])[0])


def test_cold_air_stands_behind_a_hedge_across_the_slope(tmp_path):
    open_slope = analysed(site(GROUND, PLOT), tmp_path)
    dammed = analysed(site(GROUND, PLOT, hedge()), tmp_path)
    above, below = (200, -38), (200, -54)
    assert depth_at(dammed, *above) > depth_at(open_slope, *above) + 0.5
    assert depth_at(dammed, *below) < depth_at(dammed, *above)
    found = pockets.find(site(GROUND, PLOT, hedge()), dammed)
    assert len(found) >= 1
    assert found.geometry.iloc[0].distance(plot_box(100, -44, 300, -42)) < 5


@pytest.mark.parametrize(
    "thing",
    [hedge("trees", clear_stem_m=2.0), hedge("water")],
    ids=["trees on clear stems", "water"],
)
def test_what_leaves_the_ground_free_holds_no_air_back(tmp_path, thing):
    open_slope = analysed(site(GROUND, PLOT), tmp_path)
    free = analysed(site(GROUND, PLOT, thing), tmp_path)
    assert depth_at(free, 200, -38) == pytest.approx(
        depth_at(open_slope, 200, -38), abs=0.1
    )


def test_the_layer_grows_down_the_slope_and_the_lower_end_is_colder(tmp_path):
    shown = analysed(site(GROUND, PLOT), tmp_path)
    assert depth_at(shown, 200, -40) > depth_at(shown, 200, 40)
    low, central, high = shown.offset_c.values
    row = [shown.offset_c.cell_of([500200.0], [5000000.0 + y])[0][0] for y in (-40, 40)]
    assert central[row[0], 60] < central[row[1], 60]
    assert (low <= central).all()
    assert (central <= high).all()


def test_with_little_ground_around_hollows_must_do_and_that_is_said(tmp_path):
    small = plane(rows=100, cols=100, north=0.05)
    plots = {"Home": plot_box(10, 110, 90, 190)}
    shown = analysed(site(small, plots), tmp_path)
    assert any("reaches too little" in remark for remark in shown.remarks)
    assert (shown.cold_air_m.values == 0).all()  # a plane holds no hollow
    wide = analysed(site(GROUND, PLOT), tmp_path)
    assert any("let run over the ground" in remark for remark in wide.remarks)


def test_ground_that_still_rises_at_the_edge_is_told(tmp_path):
    shown = analysed(site(GROUND, PLOT), tmp_path)
    assert any(
        "still rises" in remark and "north" in remark for remark in shown.remarks
    )


def test_level_ground_tells_nothing(tmp_path):
    level = plane(rows=200, cols=200, cell_size_m=2.0)
    shown = analysed(site(level, PLOT), tmp_path)
    assert (shown.offset_c.values == 0).all()
    assert any("too level" in remark for remark in shown.remarks)


def test_a_may_night_at_45_degrees_is_nine_to_ten_hours_long():
    # The made-up record has no freeze, so 1 May is taken; day length at 45° north on
    # that day is 14.2 h by the almanac's rule (declination 15°, from memory).
    assert cold._night_h(site(GROUND, PLOT)) == pytest.approx(24 - 14.2, abs=0.3)


def test_blocks_keep_the_mean_of_the_ground():
    coarse = cold._coarser(GROUND)
    assert coarse.cell_size_m == 4.0
    assert coarse.values.mean() == pytest.approx(GROUND.values.mean())
    back = cold._read_at(coarse, GROUND)
    inner = slice(4, -4)
    np.testing.assert_allclose(
        back[inner, inner], GROUND.values[inner, inner], atol=1e-6
    )
