"""The front of things that no other beats, against a plain comparison of all pairs."""

import numpy as np
import pytest

from layers.pareto import unbeaten


def test_one_that_is_worse_in_something_and_better_in_nothing_is_beaten():
    assert unbeaten([[1, 2], [2, 1], [2, 2], [3, 0], [1, 3]]).tolist() == [0, 1, 3]
    # Of equal ones the first stands for all.
    assert unbeaten([[5, 5], [4, 4], [4, 4]]).tolist() == [1]
    assert unbeaten(np.empty((0, 3))).tolist() == []


def test_the_front_is_that_of_all_pairs():
    amounts = np.random.default_rng(3).integers(0, 6, (300, 4))
    plain = [
        row
        for row, mine in enumerate(amounts)
        if not any(
            (other <= mine).all() and ((other < mine).any() or at < row)
            for at, other in enumerate(amounts)
            if at != row
        )
    ]
    assert unbeaten(amounts).tolist() == plain


def test_a_list_is_no_table():
    with pytest.raises(ValueError, match="table"):
        unbeaten([1, 2, 3])
