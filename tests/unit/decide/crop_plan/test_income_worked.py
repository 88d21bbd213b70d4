"""Money beside days, worked by hand."""

import pytest

from fieldmap.decide.crop_plan.sowings.income import per_metre, remarks, shares
from fieldmap.model.settings import Beds, CropChoice
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text.sentence import say

CROPS = packaged_crops()
BEDS = Beds()


def earns(name, price=None, **more):
    crop = CROPS[name].model_copy(update=more)
    return per_metre(CropChoice(name=name, price=price, losses_percent=20), crop, BEDS)


def spaced(rows_m, in_row_m):
    made = CROPS["lettuce"].spacing.model_dump()
    return CROPS["lettuce"].spacing.model_validate(
        made | {"rows_m": rows_m, "in_row_m": in_row_m}
    )


def test_heads_on_a_metre_at_a_price():
    """0.75 m less two edges of 0.075 is 0.6 m: three rows 0.3 m apart, a head each 0.25 m:
    12 a metre, a fifth of them lost; 9.6 at 1.50 are 14.40.
    """
    found = earns("lettuce", 1.5, spacing=spaced(0.3, 0.25))
    assert found == pytest.approx(14.4)


def test_kilograms_of_a_metre_of_row_at_the_middle_of_the_yield():
    """Three rows of 1 to 2 kg a metre: 4.5 kg, 3.6 after losses; at 4.00 a kilo 14.40."""
    made = CROPS["carrot"]
    yields = made.yield_kg_m.model_copy(update={"low": 1.0, "high": 2.0})
    found = earns("carrot", 4.0, spacing=spaced(0.3, 0.05), yield_kg_m=yields)
    assert found == pytest.approx(14.4)


def test_without_a_price_or_a_yield_nothing_is_known():
    assert earns("lettuce") is None
    assert earns("carrot", 4.0, yield_kg_m=None) is None
    assert earns("lettuce", 4.0, spacing=None) is None


def test_a_crop_without_a_price_counts_as_the_middle_of_the_others():
    """8, 2 and 4 over 8; the middle of them is 4."""
    assert shares([8.0, None, 2.0, 4.0]) == (1.0, 0.5, 0.25, 0.5)
    assert shares([None]) == (0.0,)


def test_that_money_was_weighed_is_said_and_for_which_it_was_not():
    wanted = [CropChoice(name=name) for name in ("kale", "leek", "beet")]
    assert [each.kind for each in remarks(wanted, [None] * 3)] == []
    first, second = remarks(wanted, [2.0, None, 8.0])
    assert (first.kind, first["crop"]) == ("money_is_weighed", "beet")
    assert (second.kind, second["crops"]) == ("money_not_known", ["leek"])
    assert "The very first is beet." in say(first, "metric")
    assert "usual yield of leek" in say(second, "metric")
