"""A crop is begun, counted, ordered and taken alike under each of its names."""

from types import SimpleNamespace

import pytest

from fieldmap.model.crops import packaged_name
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text import names
from fieldmap.show.text.decide import crop_plan, weekly_jobs


@pytest.mark.parametrize("crop", packaged_crops().values(), ids=lambda crop: crop.name)
def test_every_other_name_is_known_and_taken_the_same_way(crop):
    for other in crop.also:
        assert packaged_name(other.upper()) == crop.name
        assert names.harvest_word(other) == names.harvest_word(crop.name)
        assert names.start_word(other, "sow") == names.start_word(crop.name, "sow")


@pytest.mark.parametrize(
    ("crop", "counted"),
    [
        ("potatoes", ": 66 seed potatoes"),
        ("softneck garlic", ": 66 cloves"),
        ("onion", ": 66 sets"),
        ("lamb's lettuce", ": 66 seeds"),
    ],
)
def test_what_is_laid_is_counted_by_its_own_word(crop, counted):
    stay = SimpleNamespace(crop=crop, amounts=SimpleNamespace(plants=60, seeds=66))
    assert crop_plan._plants([stay], "sow").replace("\u00a0", " ") == counted


def test_tubers_are_ordered_as_such_by_any_name():
    assert weekly_jobs._called("potatoes", "order_seed") == "seed potatoes"
    assert weekly_jobs._called("onion", "order_seed") == "onion sets"
    assert weekly_jobs._called("kale", "order_seed") == "kale"
