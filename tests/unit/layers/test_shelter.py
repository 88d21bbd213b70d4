"""The lee of hedges: the published table, its reach, turned grids, a plain search."""

import math

import hypothesis
import hypothesis.strategies as st
import numpy as np
import pytest

from layers.shelter import share_of_open_wind

FEET = 0.3048
# Brandle & Finch, EC1763, share of open wind by density at 5, 10, 15, 20, 30 heights; from
# memory, medium confidence. Each density is the middle of the range that the table names.
TABLE = {
    0.30: (0.50, 0.65, 0.80, 0.85, 1.00),
    0.50: (0.30, 0.50, 0.60, 0.75, 0.95),
    0.70: (0.25, 0.35, 0.65, 0.85, 0.95),
    1.00: (0.25, 0.70, 0.90, 0.95, 1.00),
}
HEIGHTS = (5, 10, 15, 20, 30)


def behind_a_long_hedge(height_m, density, cells, cell_size_m=1.0):
    """Shares on a line downwind (to the east) of the middle of a long hedge."""
    rows = 2 * math.ceil(0.3 * cells) + 3  # lines 15° aside still meet it
    heights = np.zeros((rows, cells))
    heights[:, 0] = height_m
    dense = np.full(heights.shape, density)
    return share_of_open_wind(heights, dense, cell_size_m, 270.0)[rows // 2]


@pytest.mark.parametrize("density", TABLE, ids=str)
def test_the_lee_of_a_long_hedge_is_that_of_the_table(density):
    share = behind_a_long_hedge(2.0, density, 70)
    found = [share[2 * heights] for heights in HEIGHTS]
    np.testing.assert_allclose(found, TABLE[density], atol=1e-12)


def test_between_two_densities_and_two_distances_lies_their_middle():
    # Halves between 0.30 and 0.50 dense, and between 5 and 10 heights.
    share = behind_a_long_hedge(2.0, 0.40, 30)
    assert share[10] == pytest.approx((0.50 + 0.30) / 2)
    assert share[15] == pytest.approx((0.50 + 0.30 + 0.65 + 0.50) / 4)


@pytest.mark.parametrize(
    ("height_m", "cell_size_m", "reach_m"),
    [
        (6.0, 1.0, 180.0),
        (6.0, 0.25, 180.0),
        (30 * FEET, 10 * FEET, 900 * FEET),  # EC1763: 30 ft trees, 900 ft
    ],
    ids=["6-m", "6-m-by-quarters", "30-ft"],
)
def test_the_lee_ends_thirty_heights_behind(height_m, cell_size_m, reach_m):
    last = round(reach_m / cell_size_m)
    share = behind_a_long_hedge(height_m, 0.5, last + 2, cell_size_m)
    assert share[last] == pytest.approx(0.95)
    assert share[last + 1] == 1.0


def test_nearer_than_five_heights_the_wind_is_as_at_five():
    share = behind_a_long_hedge(6.0, 0.5, 40)
    np.testing.assert_allclose(share[:31], 0.30)
    assert share[31] > 0.30


def test_to_windward_and_beside_the_wind_is_open():
    heights = np.zeros((41, 41))
    heights[20, 20] = 3.0
    share = share_of_open_wind(heights, np.ones((41, 41)), 1.0, 270.0)
    assert (share[:, :20] == 1.0).all()
    # Beyond 15° and one cell, the rounding of a line, to either side.
    row, col = np.indices(share.shape) - 20
    aside = np.abs(row) > math.tan(math.radians(15)) * col + 1.0
    assert (share[aside] == 1.0).all()
    assert share[20, 20] < 1.0


def test_nothing_standing_leaves_the_open_wind():
    nothing = np.zeros((4, 6))
    np.testing.assert_array_equal(
        share_of_open_wind(nothing, np.full((4, 6), np.nan), 5.0, 12.0), 1.0
    )


def test_what_stops_no_view_stops_no_wind():
    np.testing.assert_array_equal(behind_a_long_hedge(6.0, 0.0, 40), 1.0)


def test_a_short_hedge_shelters_less_from_its_middle_to_its_ends():
    heights = np.zeros((101, 61))
    heights[30:71, 0] = 4.0
    dense = np.full(heights.shape, 0.5)
    share = share_of_open_wind(heights, dense, 1.0, 270.0)[:, 40]  # ten heights behind
    assert share[50] == pytest.approx(0.50)  # no line within 15° passes the ends
    assert share[30] == pytest.approx(0.75, abs=0.05)  # half the lines do
    assert (np.diff(share[:51]) <= 1e-12).all()
    assert share[0] == 1.0
    np.testing.assert_allclose(share, share[::-1])


def test_a_gap_lets_the_wind_in():
    heights = np.zeros((101, 30))
    heights[:, 0] = 4.0
    whole = share_of_open_wind(heights, np.ones(heights.shape), 1.0, 270.0)
    heights[48:53, 0] = 0.0
    share = share_of_open_wind(heights, np.ones(heights.shape), 1.0, 270.0)
    assert share[50, 5] == 1.0
    assert whole[50, 20] < share[50, 20] < 1.0
    assert share[20, 5] == whole[20, 5]


def test_two_hedges_count_once_and_the_better_one_does():
    heights = np.zeros((81, 90))
    dense = np.full(heights.shape, 0.5)
    heights[:, 0] = 6.0
    tall = share_of_open_wind(heights, dense, 1.0, 270.0)
    low_heights = np.zeros_like(heights)
    low_heights[:, 40] = 1.0
    low = share_of_open_wind(low_heights, dense, 1.0, 270.0)
    both = share_of_open_wind(heights + low_heights, dense, 1.0, 270.0)
    middle = 40
    np.testing.assert_allclose(both[middle], np.minimum(tall, low)[middle])
    assert low[middle, 42] < tall[middle, 42]  # just behind it the low one serves
    assert tall[middle, 60] < low[middle, 60]  # farther off the tall one behind it


def test_a_thick_hedge_counts_from_its_lee_side():
    heights = np.zeros((31, 40))
    heights[:, :5] = 2.0
    share = share_of_open_wind(heights, np.full(heights.shape, 0.7), 1.0, 270.0)[15]
    assert share[4 + 20] == pytest.approx(0.35)  # ten heights


def test_no_wind_slips_between_cells_that_touch_by_a_corner():
    heights = np.eye(41) * 4.0
    share = share_of_open_wind(heights, np.ones((41, 41)), 1.0, 225.0)
    # Wind from the south-west meets this hedge square on; its lee is to the north-east.
    row, col = np.indices(share.shape)
    away_m = (col - row) / math.sqrt(2)
    inner = (away_m >= 0) & (away_m < 8) & (np.abs(row + col - 40) < 20)
    np.testing.assert_allclose(share[inner], 0.25)


@pytest.mark.parametrize("from_deg", [0.0, 22.5, 45.0, 81.0], ids=str)
def test_grid_and_wind_turned_together_by_a_right_angle_give_the_same_field(from_deg):
    seed = np.random.default_rng(7)
    heights = np.where(seed.random((23, 31)) < 0.05, seed.uniform(1, 5, (23, 31)), 0.0)
    dense = seed.uniform(0, 1, (23, 31))
    share = share_of_open_wind(heights, dense, 2.0, from_deg)
    turned = share_of_open_wind(
        np.rot90(heights, -1), np.rot90(dense, -1), 2.0, from_deg + 90.0
    )
    np.testing.assert_allclose(turned, np.rot90(share, -1), atol=1e-12)
    assert share.min() < 1.0


@pytest.mark.parametrize("from_deg", [0.0, 30.0, 70.0], ids=str)
def test_a_mirrored_grid_and_wind_give_the_mirrored_field(from_deg):
    seed = np.random.default_rng(8)
    heights = np.where(seed.random((24, 24)) < 0.05, 3.0, 0.0)
    dense = seed.uniform(0, 1, (24, 24))
    share = share_of_open_wind(heights, dense, 1.0, from_deg)
    mirrored = share_of_open_wind(heights[:, ::-1], dense[:, ::-1], 1.0, -from_deg)
    np.testing.assert_allclose(mirrored, share[:, ::-1], atol=1e-12)


def plain_share(heights, dense, from_deg):
    """On 1 m cells, for wind along rows: every barrier cell on the 13 lines, one by one."""
    rows, cols = heights.shape
    share = np.zeros(heights.shape)
    for aside in np.radians(np.linspace(-15, 15, 13)):
        # Whole rows that a line from the west edge has moved by, at each column.
        shift = np.rint(np.arange(cols) * math.tan(aside)).astype(int)
        for row, col in np.ndindex(heights.shape):
            least = 1.0
            for other in range(col + 1):
                up = row - shift[col] + shift[other]
                if not 0 <= up < rows or heights[up, other] <= 0:
                    continue
                away = (col - other) / heights[up, other]
                if away <= 30:
                    by_density = [np.interp(away, HEIGHTS, TABLE[key]) for key in TABLE]
                    least = min(
                        least,
                        np.interp(dense[up, other], [0.0, *TABLE], [1.0, *by_density]),
                    )
            share[row, col] += least / 13
    return share


@hypothesis.given(st.integers(0, 2**32 - 1))
@hypothesis.settings(deadline=None, max_examples=10)
def test_one_pass_along_the_wind_is_a_search_of_every_barrier_upwind(seed):
    draw = np.random.default_rng(seed)
    # Columns apart, so that no two cells touch by a corner.
    heights = np.zeros((9, 25))
    stands = draw.random((9, 13)) < 0.2
    heights[:, ::2] = np.where(stands, draw.choice([0.3, 1.0, 2.5], (9, 13)), 0.0)
    dense = draw.uniform(0, 1, heights.shape)
    np.testing.assert_allclose(
        share_of_open_wind(heights, dense, 1.0, 270.0),
        plain_share(heights, dense, 270.0),
        atol=1e-12,
    )


@hypothesis.given(st.integers(0, 2**32 - 1), st.floats(0, 360))
@hypothesis.settings(deadline=None, max_examples=30)
def test_one_more_barrier_never_lets_in_more_wind(seed, from_deg):
    draw = np.random.default_rng(seed)
    heights = np.where(draw.random((15, 15)) < 0.1, 2.0, 0.0)
    dense = draw.uniform(0, 1, heights.shape)
    before = share_of_open_wind(heights, dense, 1.0, from_deg)
    row, col = draw.integers(0, 15, 2)
    heights[row, col] = max(heights[row, col], 2.0)
    assert (share_of_open_wind(heights, dense, 1.0, from_deg) <= before + 1e-12).all()


def test_missing_cells_stay_missing_and_shelter_nothing():
    heights = np.zeros((5, 9))
    heights[2, 3] = np.nan
    share = share_of_open_wind(heights, np.ones((5, 9)), 1.0, 270.0)
    assert np.isnan(share[2, 3])
    assert np.isnan(share).sum() == 1
    assert np.nanmin(share) == 1.0


@pytest.mark.parametrize(
    ("heights", "dense", "cell_size_m", "from_deg", "what"),
    [
        (np.zeros(3), np.zeros(3), 1.0, 0.0, "barrier_height_m"),
        (np.zeros((2, 3)), np.zeros((3, 2)), 1.0, 0.0, "one shape"),
        (np.zeros((2, 2)), np.zeros((2, 2)), 0.0, 0.0, "cell_size_m"),
        (np.zeros((2, 2)), np.zeros((2, 2)), 1.0, np.nan, "from_deg"),
        (np.full((2, 2), -1.0), np.ones((2, 2)), 1.0, 0.0, "got -1"),
        (np.full((2, 2), np.inf), np.ones((2, 2)), 1.0, 0.0, "got inf"),
        (np.ones((2, 2)), np.full((2, 2), 50.0), 1.0, 0.0, "density .* got 50"),
        (np.ones((2, 2)), np.full((2, 2), np.nan), 1.0, 0.0, "density .* got nan"),
    ],
    ids=[
        "flat",
        "shapes",
        "cell",
        "bearing",
        "negative",
        "endless",
        "per-cent",
        "none",
    ],
)
def test_what_cannot_be_is_refused(heights, dense, cell_size_m, from_deg, what):
    with pytest.raises(ValueError, match=what):
        share_of_open_wind(heights, dense, cell_size_m, from_deg)
