"""Cold air of a site: it runs where the elevation reaches, stands behind hedges."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from made_up import (
    CRS,
    NORTH,
    WEST,
    analysed_in_the_dark,
    plane,
    plot_box,
    raster,
    say_all,
    site,
    surroundings,
)
from rasterio.transform import from_origin

from fieldmap.analyse.cold_air import barriers, flow, ground, offset, pockets
from fieldmap.model.observed import Observed
from fieldmap.model.raster import Raster
from fieldmap.model.site import WeatherRecord
from fieldmap.show.text.sentence import say

# Falls 5 % to the south over 400 m; the plot lies in its middle.
GROUND = plane(rows=200, cols=200, north=0.05, cell_size_m=2.0)
# In metres from the south-west corner of 200 m, as `plot_box` counts: the grid of
# 400 m reaches 200 m farther south.
PLOT = {"Home": plot_box(180, -40, 220, 40)}
HEDGE = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}


def hedge(kind="hedge", **more):
    return surroundings((kind, plot_box(100, -44, 300, -42), HEDGE | more))


def depth_at(analysis, east_m, north_m):
    raster = analysis.cold_air.depth_m
    return float(raster.sample([500000.0 + east_m], [5000000.0 + north_m])[0])


def test_cold_air_stands_behind_a_hedge_across_the_slope():
    open_slope = analysed_in_the_dark(site(GROUND, PLOT))
    dammed = analysed_in_the_dark(site(GROUND, PLOT, hedge()))
    above, below = (200, -38), (200, -54)
    assert depth_at(dammed, *above) > depth_at(open_slope, *above) + 0.5
    assert depth_at(dammed, *below) < depth_at(dammed, *above)
    made_up = site(GROUND, PLOT, hedge())
    found = pockets.find(
        made_up.plots.geometry,
        made_up.surroundings,
        dammed,
        barriers.find(made_up.surroundings, dammed, made_up.convergence_deg),
    )
    assert len(found) >= 1
    assert found.geometry.iloc[0].distance(plot_box(100, -44, 300, -42)) < 5
    # Under a roof as large as all of them none is left.
    roofed = surroundings(("building", found.union_all().envelope, {"height_m": 4.0}))
    assert pockets.find(made_up.plots.geometry, roofed, dammed, ()).empty


@pytest.mark.parametrize(
    "thing",
    [hedge("trees", clear_stem_m=2.0), hedge("water")],
    ids=["trees on clear stems", "water"],
)
def test_what_leaves_the_ground_free_holds_no_air_back(thing):
    open_slope = analysed_in_the_dark(site(GROUND, PLOT))
    free = analysed_in_the_dark(site(GROUND, PLOT, thing))
    assert depth_at(free, 200, -38) == pytest.approx(
        depth_at(open_slope, 200, -38), abs=0.1
    )


def test_the_layer_grows_down_the_slope_and_the_lower_end_is_colder():
    shown = analysed_in_the_dark(site(GROUND, PLOT))
    assert depth_at(shown, 200, -40) > depth_at(shown, 200, 40)
    low, central, high = shown.cold_air.offset_c.values
    row = [
        shown.cold_air.offset_c.cell_of([500200.0], [5000000.0 + y])[0][0]
        for y in (-40, 40)
    ]
    assert central[row[0], 60] < central[row[1], 60]
    assert (low <= central).all()
    assert (central <= high).all()


def test_with_little_ground_around_hollows_must_do_and_that_is_said():
    small = plane(rows=100, cols=100, north=0.05)
    plots = {"Home": plot_box(10, 110, 90, 190)}
    shown = analysed_in_the_dark(site(small, plots))
    # The plot ends 10 m from the edge of the elevation.
    (why,) = [each for each in say_all(shown.remarks) if "To follow cold air" in each]
    assert "heights end 10 m from the plots" in why
    assert "hardly knows which place is colder" in why
    assert "hole" not in why
    assert (shown.cold_air.depth_m.values == 0).all()  # a plane holds no hollow
    wide = analysed_in_the_dark(site(GROUND, PLOT))
    assert any("run over all the ground" in remark for remark in say_all(wide.remarks))


def test_ground_that_drains_in_from_beyond_the_elevation_is_reported_and_widens():
    shown = analysed_in_the_dark(site(GROUND, PLOT))
    # 200 m of slope above the plot are known, the plot's middle is 200 m from the edge.
    said = [each for each in say_all(shown.remarks) if "range is wider" in each]
    assert len(said) == 1
    assert "(north)" in said[0]
    assert "200 m farther" in said[0]
    # On an even slope that moves no place against another.
    (moves,) = [each for each in shown.remarks if each.kind == "moves_with_reach"]
    assert moves["degrees_c"] == 0.0


def test_how_far_differences_move_with_the_reach_of_heights_is_reported_and_widens():
    # A bank of 8 m, 110 m below the plot, backs the air up to its lower end; heights that
    # reach half as far, 80 m, do not know of it.
    north_m = NORTH - (np.arange(200) + 0.5) * 2.0 - (NORTH - 200)
    bank = 8 * np.exp(-(((north_m + 150) / 15) ** 2))
    banked = GROUND.with_values(GROUND.values + bank[:, None])
    shown = analysed_in_the_dark(site(banked, PLOT))
    (moves,) = [each for each in shown.remarks if each.kind == "moves_with_reach"]
    assert moves["degrees_c"] > 0
    assert "only half as far around" in say(moves, "metric")
    assert (shown.cold_air.astray_c.values >= moves["degrees_c"]).all()


def test_on_ground_that_reaches_far_enough_nothing_is_said_of_reach():
    # A ridge runs past the plot 30 m above it; the ground reaches 410 m to all sides.
    north_m = 450.0 - (np.arange(90) + 0.5) * 10.0
    ridge = raster(np.repeat(100 - 0.05 * np.abs(north_m - 30.0)[:, None], 90, 1), 10.0)
    there = site(ridge, {"Home": plot_box(410, -290, 490, -210)})
    shown = analysed_in_the_dark(there)
    kinds = {each.kind for each in shown.remarks}
    assert not kinds & {"moves_with_reach", "drains_in_over_the_edge"}


def test_a_place_beside_the_middle_of_the_plots_strays_less_than_one_far_from_it():
    # One reference 0 m, 100 m and far away: the field has sd .71, so two places differ
    # by sqrt(1 - exp(-x / 100 m)), 0, .795 and 1.
    cells = raster(np.zeros((1, 200)), 10.0)
    east_m, north_m = cells.middle_of(np.array([0]), np.array([0]))
    sd_c = offset._astray_c(cells, np.stack([east_m, north_m], axis=-1))[0]
    assert sd_c[[0, 10, 199]] == pytest.approx([0.0, 0.795, 1.0], abs=0.001)


@pytest.mark.parametrize(
    ("reach_m", "said"),
    [(1500, "where no heights are known"), (4000, "more than 2,000 m away")],
    ids=["the wide elevation ends there", "it goes on"],
)
def test_what_drains_from_afar_is_reported_by_what_the_wide_elevation_knows(
    reach_m, said
):
    # A plane that falls to the south by 5 in 100, known on coarse cells so far around.
    here = site(plane(north=0.05), {"Home": plot_box(60, 60, 140, 140)})
    count = 2 * reach_m // 50
    middle = reach_m // 50 + 2
    row, _ = np.mgrid[0:count, 0:count]
    wide = Raster(
        100.0 - 0.05 * (row - middle) * 50.0,
        from_origin(WEST + 100 - reach_m, NORTH - 100 + reach_m, 50.0, 50.0),
        CRS,
    )
    known = replace(here, wide_elevation=wide)
    cut = ground.flow_ground(known, known.elevation).cut
    assert cut is not None
    assert cut["bearings_deg"] == [0.0]
    assert said in say(cut, "metric")


def test_a_ridge_above_the_plot_sends_nothing_from_beyond():
    north_m = np.linspace(398.0, 0.0, 200)[:, None] - 300.0
    ridge = raster(np.repeat(100 - 0.05 * np.abs(north_m), 200, axis=1), 2.0)
    shown = analysed_in_the_dark(site(ridge, PLOT))
    assert not any("flows to the plots" in remark for remark in say_all(shown.remarks))


def test_level_ground_tells_nothing():
    level = plane(rows=200, cols=200, cell_size_m=2.0)
    shown = analysed_in_the_dark(site(level, PLOT))
    assert (shown.cold_air.answers_c.values == 0).all()
    # What terrain does not tell stays: places differ either way.
    low, central, high = shown.cold_air.offset_c.values
    assert (central == 0).all()
    np.testing.assert_allclose(high, -low, atol=0.02)
    assert any("too level" in remark for remark in say_all(shown.remarks))


def test_where_units_are_those_of_the_us_nothing_is_shown_in_metres():
    shown = analysed_in_the_dark(site(GROUND, PLOT, units="us"))
    remarks = say_all(shown.remarks, "us")
    assert any("leaves out hollows of less than 12 in" in said for said in remarks)
    assert not [said for said in remarks if re.search(r"\d m\b|°C", said)]


def test_a_may_night_at_45_degrees_is_nine_to_ten_hours_long():
    # The made-up record has no freeze, so 1 May is taken; day length at 45° north on
    # that day is 14.2 h by the almanac's rule (declination 15°, from memory).
    made_up = site(GROUND, PLOT)
    night_h = flow.night_h(made_up.weather.days, made_up.latitude, made_up.longitude)
    assert night_h == pytest.approx(24 - 14.2, abs=0.3)


def frosts(last, first):
    """A record with frost from the first of autumn to the last of spring, every year."""
    days = pd.date_range("2015-01-01", "2020-12-31", name="date")
    on = days.strftime("%m-%d")
    cold = (on <= last) | (on >= first)
    return pd.DataFrame({"tmin_c": np.where(cold, -1.0, 5.0)}, index=days)


# By the almanac's rule, cos H = -tan(latitude) tan(declination), without refraction. On
# 5 September (declination 6.6°) at 69°: cos H = -2.605 · .1157, H = 107.5°, so the sun is
# up for 14.3 h and down for 9.7. On 10 June (23.0°) it never sets there, and on 1 August
# (18.1°) it hardly does; in midwinter it never rises.
@pytest.mark.parametrize(
    ("last", "first", "of", "hours"),
    [
        ("06-10", "09-05", "autumn", 9.7),
        ("06-10", "07-20", "winter", 24.0),
        ("04-10", "09-05", "spring", 9.2),
    ],
)
def test_where_the_sun_hardly_sets_the_darkest_nights_there_are_are_taken(
    last, first, of, hours
):
    """10 April at 69°: declination 7.9°, cos H = -.3614, H = 111.2°: 9.2 h down."""
    found = flow.frost_night(frosts(last, first), 69.0, 15.0)
    assert found.of == of
    assert found.hours == pytest.approx(hours, abs=0.4)


def test_in_the_far_south_seasons_are_turned():
    """The last frost of spring on 10 December at 69° south: the first, of 5 March.

    5 March, declination -6.2°: cos H = -2.605 · .1086 = -.283, H = 106.4°, 9.8 h down.
    """
    days = pd.date_range("2015-01-01", "2020-12-31", name="date")
    on = days.strftime("%m-%d")
    cold = (on >= "03-05") & (on <= "12-10")
    record = pd.DataFrame({"tmin_c": np.where(cold, -1.0, 5.0)}, index=days)
    found = flow.frost_night(record, -69.0, 15.0)
    assert found.of == "autumn"
    assert found.hours == pytest.approx(9.8, abs=0.4)


def test_a_night_of_another_season_is_said_in_one_sentence():
    north = replace(
        site(GROUND, PLOT),
        latitude=69.0,
        weather=WeatherRecord(frosts("06-10", "09-05")),
    )
    said = say_all(analysed_in_the_dark(north).remarks)
    (night,) = [each for each in said if "sun hardly sets" in each]
    assert "first autumn frost" in night
    assert not any("To follow cold air" in each for each in said)


def test_blocks_keep_the_mean_of_the_ground():
    coarse = ground._blocks(GROUND, 2)
    assert coarse.cell_size_m == 4.0
    assert coarse.values.mean() == pytest.approx(GROUND.values.mean())
    back = coarse.read_on(GROUND)
    inner = slice(4, -4)
    np.testing.assert_allclose(
        back[inner, inner], GROUND.values[inner, inner], atol=1e-6
    )


def test_a_factor_measured_on_the_spot_multiplies_the_likeliest_answer():
    now = site(GROUND, PLOT, hedge())
    learnt = Observed.model_validate(
        {
            "readings_sha256": "0" * 64,
            "clear_calm_nights": 12,
            "offset_factor": {"low": 0.5, "central": 1.5, "high": 2.0},
        }
    )
    usual = analysed_in_the_dark(now)
    shown = analysed_in_the_dark(replace(now, observed=learnt))
    depth_m = shown.cold_air.depth_m.values
    np.testing.assert_array_equal(depth_m, usual.cold_air.depth_m.values)
    likely_c = usual.cold_air.answers_c.values[usual.cold_air.central_answer]
    assert np.ptp(likely_c) > 0.1
    np.testing.assert_allclose(
        shown.cold_air.answers_c.values, np.multiply.outer((0.5, 1.5, 2.0), likely_c)
    )
    assert shown.cold_air.central_answer == 1
    assert any("12 still nights" in remark for remark in say_all(shown.remarks))


def test_shape_alone_finds_a_bowl_and_sheds_from_a_crest():
    north, east = np.mgrid[0:200, 0:200] * 2.0 - 200.0
    wave = 100 + 6 * np.cos(np.hypot(north, east) / 40) * -1.0
    shown = analysed_in_the_dark(
        site(raster(wave, 2.0), {"Home": plot_box(180, -20, 220, 20)})
    )
    at = [500200.0], [5000000.0]
    assert shown.cold_air.hollow_depth_m.sample(*at)[0] > 1.0
    assert shown.cold_air.cold_pool_class.sample(*at)[0] == 1.0


def test_wider_heights_go_on_from_the_fine_ones_without_a_step_at_the_seam():
    # The same slope seen by two models of which one lies 7 m too high.
    north_m = NORTH - (np.arange(240) + 0.5) * 10.0 + 1000.0
    slope = 100 + 0.05 * (north_m - NORTH)
    wide = Raster(
        np.repeat(slope[:, None] + 7.0, 240, axis=1),
        from_origin(WEST - 1000.0, NORTH + 1000.0, 10.0, 10.0),
        CRS,
    )
    there = replace(site(GROUND, PLOT), wide_elevation=wide)
    grown = ground.flow_ground(there, GROUND).heights_m
    rows, _ = grown.shape
    middles = grown.transform.f - (np.arange(rows) + 0.5) * grown.cell_size_m
    assert middles[0] > NORTH + 500  # all that drains onto the plot comes from there
    expected = 100 + 0.05 * (middles - NORTH)
    along = grown.values[:, grown.shape[1] // 2]
    # On the outermost row of the wide cells nothing can be read in straight lines.
    seen = slice(1, None)
    np.testing.assert_allclose(
        (along - along[-1])[seen], (expected - expected[-1])[seen], atol=0.1
    )
