"""Draws: their laws, their seed, and percentiles counted by hand."""

import numpy as np
import pytest

from fieldmap.decide.calendar import monte_carlo
from layers.scatter import LEVELS


def test_percentiles_are_draws_in_their_places():
    """Of 1 to 11 in any order the places 1, 5 and 9 from 0: 2, 6 and 10."""
    draws = np.array([4.0, 11, 2, 9, 6, 1, 8, 3, 10, 5, 7])
    assert monte_carlo.percentiles(draws).tolist() == [2.0, 6.0, 10.0]
    # What is never reached can be one: the high end of ten draws is the ninth.
    never = np.array([1.0, 2, 3, 4, 5, 6, 7, 8, np.inf, np.inf])
    assert monte_carlo.percentiles(never)[2] == np.inf
    assert monte_carlo.percentiles(never)[0] == 2.0


# Triangle 0, 1, 4: the chance up to x is x²/4 left of 1 and 1 − (4 − x)²/12 right of it.
@pytest.mark.parametrize(
    ("chance", "value"),
    [(0.0, 0.0), (0.16, 0.8), (0.25, 1.0), (0.6666667, 2.0), (1, 4)],
)
def test_the_triangle_is_undone_by_hand(chance, value):
    assert monte_carlo.triangular(np.array([chance]), 0.0, 1.0, 4.0) == pytest.approx(
        value, abs=1e-5
    )


def test_each_draw_takes_as_many_years_and_all_of_few():
    years = np.array([3, 5, 8])
    some = monte_carlo.sample(years, 9, resample=True)
    assert some.years.shape == (monte_carlo.DRAWS, 3)
    assert set(some.years.ravel()) == {3, 5, 8}
    assert (np.sort(some.years, axis=1) != [3, 5, 8]).any()
    every = monte_carlo.sample(years, 9, resample=False)
    assert (every.years == [3, 5, 8]).all()


def test_each_year_takes_any_of_its_dates_as_often():
    """3,600 numbers of 0 to 15: 225 each, give or take 15."""
    found = monte_carlo.sample(np.arange(18), 18, resample=True)
    for levels in (found.in_spring, found.in_autumn):
        counts = np.bincount(levels.ravel(), minlength=LEVELS)
        assert len(counts) == LEVELS
        assert np.abs(counts - 225).max() < 60
    together = np.corrcoef(found.in_spring.ravel(), found.in_autumn.ravel())[0, 1]
    assert abs(together) < 0.06


def test_the_same_seed_gives_the_same_draws():
    one, two = (monte_carlo.sample(np.arange(5), 5, resample=True) for _ in range(2))
    assert (one.run == two.run).all()
    assert (one.in_spring == two.in_spring).all()
    places = np.array([[5e5, 5e6], [5e5, 5e6 + 30]])
    np.testing.assert_array_equal(one.place_c(places), two.place_c(places))
    # A bed keeps its own when another is taken away.
    np.testing.assert_allclose(
        one.place_c(places)[:, 1], one.place_c(places[1:])[:, 0], atol=1e-6
    )
