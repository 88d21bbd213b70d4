"""From cold air and wetness to degrees and their range; the rim that lets cold air out."""

import itertools
from pathlib import Path

import hypothesis
import hypothesis.extra.numpy as hnp
import hypothesis.strategies as st
import numpy as np
import pandas as pd
import pytest
from scipy import optimize, stats

from layers import coldair, coldness, drainage
from layers.coldair import Night

LOGGERS = Path(__file__).parents[3] / "benchmarks/validation/loggers.csv"
# Depths apart by more than rounding, and a wetness index as it comes.
DEPTHS = hnp.arrays(float, (4, 5), elements=st.integers(0, 400).map(lambda n: n / 10))
WETNESS = hnp.arrays(float, (4, 5), elements=st.integers(20, 180).map(lambda n: n / 10))


def level_with_white_noise_m(seed=3, noise_m=0.05):
    return np.random.default_rng(seed).normal(0.0, noise_m, (60, 60))


def hollow_on_a_slope_m(cell_m=5.0, half_m=300.0):
    """A slope of 3 in 100 down to the south with a hollow of 6 m, middle cell at 0, 0."""
    across = np.arange(-half_m, half_m + cell_m, cell_m)
    x, y = np.meshgrid(across, across[::-1])
    return 300 + 0.03 * y - 6 * np.exp(-(x**2 + (y + 60) ** 2) / 60**2), x, y


# ------------------------------------------------------------------ the law
def test_three_weights_of_depth_and_wetness_by_hand():
    # Depth 4 m and wetness 7 against 1 m and 6: the roots differ by 1, wetness by 1.
    # Central -(0.6 + 0.15), low -0.4, high -(0.9 + 0.25).
    colder, reference = coldness.coldness_c(
        np.array([4.0, 1.0]), np.array([7.0, 6.0])
    ).T
    offset = coldness.offsets_c(colder[:, None], reference)
    assert offset[:, 0].tolist() == pytest.approx([-0.40, -0.75, -1.15])


@hypothesis.given(DEPTHS, WETNESS, st.integers(0, 19), st.floats(-50, 50))
def test_deeper_and_wetter_is_never_warmer_and_the_reference_is_nothing(
    depth_m, wetness, where, more
):
    def offsets(depth_m, wetness):
        colder = coldness.coldness_c(depth_m, wetness)
        reference = colder.reshape(3, -1)[:, where]
        return coldness.offsets_c(colder, reference).reshape(3, -1)

    now = offsets(depth_m, wetness)
    assert (now[:, where] == 0).all()
    # Only differences of wetness count.
    np.testing.assert_allclose(offsets(depth_m, wetness + more), now, atol=1e-9)
    for first, second in ((depth_m, wetness), (wetness, depth_m)):
        held = np.full(first.shape, float(second.flat[where]))
        order = np.argsort(first, axis=None)
        pair = (first, held) if first is depth_m else (held, first)
        assert (np.diff(offsets(*pair)[:, order]) <= 1e-12).all()


def test_a_range_of_one_unknown_is_that_of_its_law():
    # Eight tenths of a normal law: 1.2816 either way; of a factor exp(0.5 z), from
    # exp(-0.6408) = 0.527 to 1.898; of a triangle from 0 to 2 about 1: F(t) = t²/2 gives
    # 0.4472 and 1.5528. 64 cases stand for all.
    one = np.full(3, -1.0)
    still = coldness.cases(factor_sd=0.0)
    assert coldness.range_c(np.zeros(3), 1, still, 2.0) == pytest.approx(
        (-2 * 1.2816, 0.0, 2 * 1.2816), abs=0.06
    )
    low, central, high = coldness.range_c(one, 1, coldness.cases(0.5))
    assert (low, central, high) == pytest.approx((-1.898, -1.0, -0.527), abs=0.04)
    weights = coldness.range_c(np.array([0.0, 1.0, 2.0]), 1, still)
    assert weights == pytest.approx((0.4472, 1.0, 1.5528), abs=0.02)


def test_a_range_of_all_unknowns_is_that_of_a_hundred_thousand_draws():
    rng = np.random.default_rng(4)
    answers = np.array([-0.5, -1.0, -1.6, -0.7, -1.4, -2.2, -1.0, -2.1, -3.3])
    run = rng.integers(0, 3, 100_000)
    place = rng.triangular(0, 1, 2, run.size)
    by_run = np.stack(
        [np.interp(place, (0, 1, 2), each) for each in answers.reshape(3, 3)]
    )
    drawn = by_run[run, np.arange(run.size)] * np.exp(0.5 * rng.normal(size=run.size))
    drawn += 0.8 * rng.normal(size=run.size)
    low, central, high = coldness.range_c(answers, 4, coldness.cases(0.5), 0.8)
    assert (low, high) == pytest.approx(tuple(np.quantile(drawn, (0.1, 0.9))), abs=0.12)
    assert central == -1.4


@pytest.mark.parametrize("sd_c", [0.1, 0.3, 0.7])
@pytest.mark.parametrize("spread_c", [0.3, 1.0, 3.0])
def test_the_ends_of_a_range_are_the_roots_that_scipy_brackets(sd_c, spread_c):
    # A mixture of normal laws about the cases has a tenth of its mass under the low end
    # and under nine tenths of it the high one: scipy.optimize.brentq finds both.
    rng = np.random.default_rng(1)
    drawn = coldness.cases()
    middles = rng.normal(0, spread_c, 40)
    answers_c = middles + rng.normal(0, spread_c / 2, (9, 40))
    low, likely, high = coldness.range_c(answers_c, 4, drawn, np.full(40, sd_c))
    run = 3 * (3 * drawn.run).astype(int)
    below = np.minimum(1, drawn.weights.astype(int))
    rest = drawn.weights - below
    for place, each in enumerate(answers_c.T):
        between = (1 - rest) * each[run + below] + rest * each[run + below + 1]
        cases_c = drawn.factor * between

        def over(at_c, chance, cases_c=cases_c):
            return stats.norm.cdf((at_c - cases_c) / sd_c).mean() - chance

        span_c = cases_c.min() - 5 * sd_c, cases_c.max() + 5 * sd_c
        ends = [optimize.brentq(over, *span_c, args=(chance,)) for chance in (0.1, 0.9)]
        expected = min(ends[0], likely[place]), max(ends[1], likely[place])
        assert (low[place], high[place]) == pytest.approx(expected, abs=1e-3)


def test_a_range_keeps_its_order_and_what_is_missing():
    # All other answers lie on one side of the likeliest.
    answers = np.array([[1.0, 0.0, 2.0], [np.nan] * 3]).T
    low, central, high = coldness.range_c(answers, 1, coldness.cases())
    assert low[0] == central[0] == 0.0
    assert high[0] > 1.0
    assert np.isnan([low[1], central[1], high[1]]).all()


def test_without_a_flow_height_counts_both_ways_and_no_further_than_it_was_seen():
    # tanh(1) = 0.76159; high above and deep below lie 2 apart: 0.4, 1.2, 2.1 °C.
    above_m = np.array([5.0, 0.0, -500.0, 500.0])
    colder = coldness.stopgap_coldness_c(above_m, np.full(4, 7.0))
    over = coldness.offsets_c(colder, colder[:, 1])
    assert over[1, 0] == pytest.approx(0.6 * 0.76159, abs=1e-5)
    assert (over[:, 3] - over[:, 2]).tolist() == pytest.approx([0.4, 1.2, 2.1])
    wetter = coldness.stopgap_coldness_c(np.zeros(2), np.array([7.0, 9.0]))
    assert np.diff(wetter)[:, 0].tolist() == pytest.approx([0.0, 0.3, 0.5])


# ------------------------------------------------------------------ on open loggers
def pairs_of_loggers(ground):
    """Differences between all pairs of loggers, observed and by the law.

    `loggers.csv` holds mean still-night differences of open loggers and what the flow and
    the ground gave there (see `benchmarks/validation` for their sources).
    """
    table = pd.read_csv(LOGGERS)
    table = table[table["ground"] == ground]
    first, second = np.array(list(itertools.combinations(range(len(table)), 2))).T

    def apart(values):
        return np.asarray(values)[..., first] - np.asarray(values)[..., second]

    coldness_c = np.concatenate(
        [
            coldness.coldness_c(table[f"{run}_m"], table["wetness"])
            for run in ("thin", "central", "deep")
        ]
    )
    away_m = np.hypot(apart(table["east_m"]), apart(table["north_m"]))
    r = np.corrcoef(-coldness_c[4], table["still_c"])[0, 1]
    return apart(table["still_c"]), -apart(coldness_c), away_m, r


@pytest.mark.parametrize(
    ("ground", "least_r", "least_order"),
    [("pumice_plain", 0.45, 0.68), ("valle_grande", 0.9, 0.9)],
)
def test_the_law_orders_loggers_and_its_range_holds_them(ground, least_r, least_order):
    observed_c, answers_c, away_m, r = pairs_of_loggers(ground)
    assert r >= least_r
    differs = np.abs(observed_c) > 0.5
    right = np.sign(answers_c[4]) == np.sign(observed_c)
    assert right[differs].mean() >= least_order
    astray_c = np.sqrt(1 - np.exp(-away_m / 100))
    low, _, high = coldness.range_c(answers_c, 4, coldness.cases(), astray_c)
    holds = (low <= observed_c) & (observed_c <= high)
    assert 0.75 <= holds.mean() <= 0.92
    is_sure = (low > 0) | (high < 0)
    assert right[is_sure].mean() >= 0.8


# ------------------------------------------------------------------ wetness for it
def test_wetness_turns_with_the_ground_and_knows_no_height():
    rng = np.random.default_rng(5)
    ground = np.cumsum(np.cumsum(rng.normal(0, 0.1, (40, 50)), axis=0), axis=1)
    ground[5:9, 20:30] = -30.0  # a level floor, over which ways are equally long
    wetness = drainage.cold_air_wetness(ground, 5.0)
    for turn in (np.rot90, np.flipud, np.fliplr, np.transpose):
        again = drainage.cold_air_wetness(turn(ground).copy(), 5.0)
        np.testing.assert_allclose(again, turn(wetness), rtol=1e-12)
    lifted = drainage.cold_air_wetness(ground + 512.0, 5.0)
    np.testing.assert_allclose(lifted, wetness, atol=1e-9)


def test_wetness_goes_on_over_the_rim_of_an_even_slope():
    # Water from the known ground alone: ln of the way from the top, three cells beyond
    # the border, over the grade. On 100 m cells nothing is blended.
    ground = np.repeat(np.arange(12.0, 0.0, -1)[:, None] * 5.0, 40, axis=1)
    wetness = drainage.cold_air_wetness(ground, 100.0)
    way_m = (np.arange(12) + 4) * 100.0
    np.testing.assert_allclose(wetness[:, 20], np.log(way_m / 0.05), rtol=1e-3)


def test_noise_of_some_centimetres_hardly_moves_wetness():
    # The plain index of such noise differs by several units from cell to cell.
    noise = level_with_white_noise_m()
    plain, smooth = (
        wetness(noise, 5.0)[10:-10, 10:-10]
        for wetness in (drainage.wetness_index, drainage.cold_air_wetness)
    )
    assert np.std(np.diff(smooth)) < 0.1 * np.std(np.diff(plain))


# ------------------------------------------------------------------ the rim
def test_a_level_plain_lets_its_air_out():
    # Figures of the rim as it was specified, on 60 x 60 cells: 1.48 m mid, 1.31 rim.
    night = coldair.drain(np.zeros((60, 60)), 5.0, 1.0, Night(12.0))
    assert night.ended_by == "steady"
    assert night.depth_m[30, 30] == pytest.approx(1.48, abs=0.03)
    assert night.depth_m[0, 30] == pytest.approx(1.31, abs=0.03)


def test_a_bowl_with_a_level_rim_runs_over_it():
    side = np.arange(-30, 31) * 5.0
    ground = 15 * np.minimum(np.hypot(*np.meshgrid(side, side)) / 120, 1) ** 2
    night = coldair.drain(ground, 5.0, 1.0, Night(12.0))
    assert night.depth_m[30, 30] == pytest.approx(16.4, abs=0.2)
    assert night.depth_m[0, 30] == pytest.approx(1.3, abs=0.05)


@pytest.mark.parametrize(
    ("slope", "depth_m", "speed_m_s"), [(0.05, 1.77, 0.76), (0.2, 1.09, 1.23)]
)
def test_a_plane_has_the_depth_and_speed_of_steady_flow(slope, depth_m, speed_m_s):
    # (c q² / (g' S))^(1/3) at q = P x: 1.79 and 1.13 m where 402 m lie above.
    ground = np.repeat((-slope * 5.0 * np.arange(160))[None], 201, axis=0)
    night = coldair.drain(ground, 5.0, 1.0, Night(12.0))
    here_m = night.depth_m[100, 80]
    assert here_m == pytest.approx(depth_m, rel=0.02)
    assert night.east_m2_s[100, 80] / here_m == pytest.approx(speed_m_s, rel=0.02)


@pytest.mark.parametrize("rise", [0.004, 0.006])
def test_a_rim_that_rises_by_more_than_one_in_two_hundred_is_closed(rise):
    # A floor that rises to all sides; what is made is held, or leaves.
    side = np.abs(np.arange(-20, 21)) * 5.0
    ground = rise * np.add(*np.meshgrid(side, side))
    night = coldair.drain(ground, 5.0, 1.0, Night(2.0))
    assert (night.left_m3 > 0) == (rise < 0.005)


def test_what_is_made_is_held_or_has_left():
    ground, _, _ = hollow_on_a_slope_m()
    ground[20:30, 70:80] = np.nan
    night = coldair.drain(ground, 5.0, 1.0, Night(3.0))
    held_m3 = np.nansum(night.depth_m) * 25.0
    assert held_m3 + night.left_m3 == pytest.approx(night.produced_m3, rel=1e-12)


def test_turned_and_mirrored_ground_has_the_same_cold():
    ground, _, _ = hollow_on_a_slope_m(10.0, 200.0)
    ground += 0.01 * np.arange(41) + np.random.default_rng(2).normal(0, 0.1, (41, 41))

    def colder(ground):
        night = coldair.drain(ground, 10.0, 1.0, Night(4.0))
        return coldness.coldness_c(
            night.depth_m, drainage.cold_air_wetness(ground, 10.0)
        )

    now = colder(ground)
    for turn in (np.rot90, np.fliplr):
        there = np.stack([turn(each) for each in now])
        np.testing.assert_allclose(colder(turn(ground).copy()), there, atol=1e-5)
