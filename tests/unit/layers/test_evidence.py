"""Weighing what was seen: against sums over the whole curve, and known means."""

import numpy as np
import pytest
from scipy import stats

from layers import evidence


@pytest.mark.parametrize("mean", [-3.0, -0.4, 0.0, 1.0, 2.5])
@pytest.mark.parametrize("right", [0.5, 0.8, 1.0])
def test_it_moves_as_bayes_rule_summed_over_the_curve_says(mean, right):
    # Every value weighed by its density and by how likely it is to be seen so.
    value = np.linspace(mean - 16, mean + 16, 400_001)
    weight = stats.norm.pdf(value, mean, 1.5) * np.where(value < 0.3, right, 1 - right)
    expected = np.average(value, weights=weight) - mean
    moved = evidence.moved_below(mean, 1.5, 0.3, right)
    assert float(moved) == pytest.approx(expected, abs=1e-4)


def test_who_is_always_right_gives_the_mean_of_the_cut_curve():
    # scipy's truncated normal law as the reference.
    for mean in (-1.0, 0.0, 2.0):
        cut = stats.truncnorm.mean(-np.inf, (0.0 - mean) / 0.7, loc=mean, scale=0.7)
        moved = evidence.moved_below(mean, 0.7, 0.0, 1.0)
        assert float(moved) == pytest.approx(cut - mean, rel=1e-9)


def test_what_is_known_already_hardly_moves_and_what_was_thought_wrong_moves_more():
    moved = evidence.moved_below(np.array([-3.0, -1.0, 0.0, 0.5]), 0.5, 0.0, 0.8)
    assert np.all(np.diff(np.abs(moved)) > 0)
    assert moved[0] == pytest.approx(0.0, abs=1e-6)
    # Farther off than anyone could have seen wrong, what was seen is not believed.
    assert float(evidence.moved_below(20.0, 0.5, 0.0, 0.8)) == pytest.approx(
        0, abs=1e-6
    )


def test_missing_stays_missing():
    assert np.isnan(evidence.moved_below(np.nan, 1.0, 0.0, 0.8))


@pytest.mark.parametrize(
    ("spread", "right", "words"),
    [(0.0, 0.8, "spread"), (-1.0, 0.8, "spread"), (1.0, 0.4, "0.4"), (1.0, 1.1, "1.1")],
)
def test_the_impossible_is_refused_in_words(spread, right, words):
    with pytest.raises(ValueError, match=words):
        evidence.moved_below(0.0, spread, 0.0, right)
