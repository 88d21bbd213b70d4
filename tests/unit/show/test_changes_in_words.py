"""What a change of the surroundings would do to planting, in words."""

import pytest

from fieldmap.model.estimate import Estimate
from fieldmap.show.text.decide import what_if
from fieldmap.show.text.language import of_site, spoken


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
        (
            *(-10.0, -4.0, 1.0),
            "likely 4 days later (at worst 10 days later, at best 1 day earlier)",
        ),
        (
            *(-3.0, -2.0, 2.0),
            "likely 2 days later (at worst 3 days later, at best 2 days earlier)",
        ),
        (-10.0, -1.0, 0.0, "no clear change, but at worst 10 days later"),
    ],
)
def test_planting_moves_by_two_days_or_not_at_all(low, central, high, said):
    assert what_if.days(Estimate(low, central, high), "metric") == said


@pytest.mark.parametrize(
    ("low", "central", "high", "said"),
    [
        (
            *(-10.0, -4.0, 1.0),
            "probablemente 4 días más tarde (en el peor caso 10 días más tarde, en el mejor 1 día antes)",
        ),
        (-10.0, -1.0, 0.0, "sin cambio claro, en el peor caso 10 días más tarde"),
    ],
)
def test_in_spanish_the_worst_case_is_called_so(low, central, high, said):
    with spoken(of_site("es", "metric")):
        found = what_if.days(Estimate(low, central, high), "metric")
    assert found.replace("\u00a0", " ") == said
