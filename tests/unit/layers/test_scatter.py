"""What terrain does not tell: fields by distance, nights that stray, and their freezes."""

import numpy as np
import pytest
from scipy import stats

from layers import freeze, scatter
from layers.scatter import LEVELS, NO_DATE, NO_SCATTER, Scatter

# Two springs of five nights each.
SEASONS = np.array([0, 5]), np.array([5, 10])
NUMBER = np.array([1, 2, 3, 4, 5] * 2)


def test_places_are_as_alike_as_their_distance_says():
    """Covariance exp(−x/100 m): 1, .9802, .6065, .3679 and .0498 by a pocket calculator.

    Of 10,000 fields it is known to about 1/√10000 = .01.
    """
    away_m = np.array([0.0, 2.0, 50.0, 100.0, 300.0])
    expected = [1.0, 0.9802, 0.6065, 0.3679, 0.0498]
    for bearing in np.radians([0.0, 35.0, 90.0, 160.0]):
        places = away_m[:, None] * [np.sin(bearing), np.cos(bearing)] + [5e5, 5.2e6]
        drawn = scatter.fields(places, 10_000, seed=1)
        found = (drawn[:, :1] * drawn).mean(axis=0)
        np.testing.assert_allclose(found, expected, atol=0.03)


@pytest.mark.parametrize(
    ("away_m", "sd_c"), [(2.0, 0.141), (10.0, 0.308), (100.0, 0.795), (2000.0, 1.0)]
)
def test_near_beds_stray_little_from_each_other(away_m, sd_c):
    """1.0 √(1 − exp(−x/100 m)): √.0198 = .141, √.0952 = .308, √.6321 = .795."""
    drawn = scatter.fields([[0.0, 0.0], [away_m, 0.0]], 5_000, seed=2)
    apart_c = Scatter().place_c * np.diff(drawn, axis=1)
    assert apart_c.std() == pytest.approx(sd_c, rel=0.06)
    known = scatter.difference_sd_c(away_m, Scatter().place_c)
    assert known == pytest.approx(sd_c, abs=0.001)


def test_a_place_has_its_value_whatever_else_is_asked_for():
    places = np.random.default_rng(5).uniform(0, 500, (40, 2))
    together = scatter.fields(places, 20, seed=3)
    alone = scatter.fields(places[7:8], 20, seed=3)
    np.testing.assert_allclose(alone[:, 0], together[:, 7], atol=1e-9)
    np.testing.assert_array_equal(together, scatter.fields(places, 20, seed=3))
    assert np.isnan(scatter.fields([[np.nan, 0.0]], 3, seed=3)).all()
    with pytest.raises(ValueError, match="places"):
        scatter.fields([1.0, 2.0], 3, seed=3)


def moments(law, row):
    """Mean and standard deviation of a law from its chances."""
    chance = np.concatenate([[0.0], law.chance[row], [1.0]])
    middle = law.from_c + scatter.X_STEP_C * np.arange(len(chance) - 1)
    weight = np.diff(chance)
    mean = (weight * middle).sum()
    return mean, np.sqrt((weight * (middle - mean) ** 2).sum())


@pytest.mark.parametrize("own_c", [-3.0, -1.0, 0.0, 1.5])
def test_a_night_strays_by_its_factor_and_by_the_rest(own_c):
    """Mean of gamma times the offset plus a normal: the offset; variance s²o² + .6²."""
    law = scatter.night_law([-3.0, -1.0, 0.0, 1.5], Scatter(factor=0.5))
    row = [-3.0, -1.0, 0.0, 1.5].index(own_c)
    mean, sd = moments(law, row)
    assert mean == pytest.approx(own_c, abs=0.01)
    # Few factors stand for all, so the far tail is a little short.
    assert sd == pytest.approx(np.hypot(0.5 * own_c, 0.6), rel=0.03)


def test_the_chance_of_a_night_is_that_of_the_two_laws_together():
    """P(−2 g + e ≤ −2.5) by drawing both 400,000 times."""
    rng = np.random.default_rng(11)
    factor = rng.gamma(0.7**-2, 0.7**2, 400_000)
    drawn = -2.0 * factor + 0.6 * rng.standard_normal(400_000)
    law = scatter.night_law([-2.0], Scatter())
    limit = np.array([-5.01, -2.51, -1.01, 0.51])
    step = np.round((limit - law.from_c) / scatter.X_STEP_C - 0.5).astype(int)
    by_count = [(drawn <= each).mean() for each in limit]
    np.testing.assert_allclose(law.chance[0, step], by_count, atol=0.012)


def test_nights_that_do_not_stray_have_the_freezes_of_the_record():
    rng = np.random.default_rng(4)
    days = np.arange("2001-01-01", "2009-01-01", dtype="datetime64[D]")
    nights = np.round(rng.normal(2, 4, len(days)), 1)
    nights[rng.random(len(days)) < 0.1] = np.nan
    when = freeze.calendar(days, southern=False)
    offsets, limits = np.array([-1.5, -0.1, 0.0, 0.7]), np.array([-1.0, 0.0, 0.3])
    law = scatter.night_law(offsets, NO_SCATTER)
    number = when.day_number.astype(np.int64)
    spring = scatter.last_freezes(
        nights, (when.spring.start, when.spring.stop), number, limits, law
    )
    autumn = scatter.first_freezes(
        nights, (when.autumn.start, when.autumn.stop), number, limits, law
    )
    assert spring.shape == (8, LEVELS, 4, 3)
    for own, offset in enumerate(offsets):
        for at, limit in enumerate(limits):
            colder = nights + offset - 1e-6
            last = freeze.last_in_spring(colder, when, limit)
            first = freeze.first_in_autumn(colder, when, limit)
            for level in range(LEVELS):
                assert (spring[:, level, own, at] == last).all()
                assert (autumn[:, level, own, at] == first).all()


def test_two_nights_of_even_odds_are_last_in_half_and_in_a_quarter_of_years():
    """A night at the limit freezes in one year of two.

    The later one, of day 4, is the last freeze in 8 of 16; the earlier one, of day 2, in
    4 of the 8 left; in 4 there is none. In autumn the earlier one comes first.
    """
    nights = np.array([9.0, 0.0, 9.0, 0.0, 9.0, *[9.0] * 5])
    law = scatter.night_law([0.01], Scatter(night_c=0.3, factor=0.0))
    limit = np.array([0.01])  # in the middle of a step of the table
    found = scatter.last_freezes(nights, SEASONS, NUMBER, limit, law)[:, :, 0, 0]
    assert found[0].tolist() == [-NO_DATE] * 4 + [2] * 4 + [4] * 8
    assert found[1].tolist() == [-NO_DATE] * LEVELS
    found = scatter.first_freezes(nights, SEASONS, NUMBER, limit, law)[:, :, 0, 0]
    assert found[0].tolist() == [NO_DATE] * 4 + [4] * 4 + [2] * 8


def test_freezes_are_those_of_nights_drawn_one_by_one():
    """Forty nights that warm by .2 °C each, drawn 40,000 times with numpy's laws."""
    rng = np.random.default_rng(8)
    nights = -3.0 + 0.2 * np.arange(40)
    nights[[7, 21]] = np.nan
    own_c, spread = -1.5, Scatter()
    draws = 40_000
    factor = rng.gamma(spread.factor**-2, spread.factor**2, (draws, 40))
    strayed = (
        nights + own_c * factor + spread.night_c * rng.standard_normal((draws, 40))
    )
    freezes = strayed <= 0.0
    last = 40 - np.argmax(freezes[:, ::-1], axis=1)
    by_count = np.quantile(last, (np.arange(LEVELS) + 0.5) / LEVELS)
    law = scatter.night_law([own_c], spread)
    season = np.array([0]), np.array([40])
    found = scatter.last_freezes(nights, season, np.arange(1, 41), np.zeros(1), law)
    np.testing.assert_allclose(found[0, :, 0, 0], by_count, atol=1.0)
    assert found[0, :, 0, 0].mean() == pytest.approx(last.mean(), abs=0.25)
    assert stats.spearmanr(found[0, :, 0, 0], by_count).statistic > 0.98
