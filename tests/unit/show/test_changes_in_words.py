"""What a change of the surroundings would do to planting, in words."""

import pytest

from fieldmap.model.estimate import Estimate
from fieldmap.show.text.decide import what_if


@pytest.mark.parametrize(
    ("low", "central", "high", "said"),
    [
        # Between beds under two days is no real difference; nor is it after a change.
        (1.0, 1.0, 1.0, "no clear change"),
        (1.0, 1.0, 4.0, "no clear change"),
        (-1.0, 3.0, 5.0, "no clear change"),  # either way
        (2.0, 2.0, 2.0, "about 2 days earlier"),
        (1.0, 3.0, 5.0, "3 days earlier (1 to 5 days)"),
        (-6.0, -4.0, -2.0, "4 days later (2 to 6 days)"),
        (-10.0, -4.0, 1.0, "no clear change, at worst 10 days later"),
    ],
)
def test_planting_moves_by_two_days_or_not_at_all(low, central, high, said):
    assert what_if.days(Estimate(low, central, high), "metric") == said
