"""A harvest as a grower writes it, and what is said where it is not understood."""

import pytest

from fieldmap.errors import SettingsError
from fieldmap.model.settings import CropChoice, Settings
from fieldmap.model.settings.harvest import parse
from fieldmap.read.crops import choose, packaged_crops

CROPS = packaged_crops()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("40 heads a week, June to October", (40.0, "head", (6, 1), (10, 31))),
        ("1 head each week June to June", (1.0, "head", (6, 1), (6, 30))),
        ("8 kg a week, from 15 July to August 20", (8.0, "kg", (7, 15), (8, 20))),
        ("2.5 KG per week, jan until feb", (2.5, "kg", (1, 1), (2, 28))),
        # A pound is 0.45359237 kg (international yard and pound agreement, 1959).
        ("10 lb every week, May to Sept", (4.5359237, "kg", (5, 1), (9, 30))),
        ("9 heads a week, November to February", (9.0, "head", (11, 1), (2, 28))),
    ],
)
def test_amount_unit_and_days_are_read(text, found):
    amount, *rest = parse(text)
    assert (amount, *rest) == (pytest.approx(found[0]), *found[1:])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("forty heads", 'write it as "40 heads a week, June to October"'),
        ("40 heads a week", 'write it as "40 heads a week, June to October"'),
        ("40 heads a month, June to July", 'write it as "40 heads a week'),
        ("4 bunches a week, June to July", 'counts in "bunches"; use heads, kg or lb'),
        ("0 heads a week, June to July", "asks for 0 a week; it must be more than 0"),
        ("999999 kg a week, June to July", "at most 100000"),
        ("4 kg a week, 31 June to July", 'has "31 june" for a day'),
        ("4 kg a week, ma to July", 'has "ma" for a day'),
        ("4 kg a week, June to Smarch", 'has "smarch" for a day'),
        ("4 kg a week, 3 June 4 to July", 'has "3 june 4" for a day'),
    ],
)
def test_what_is_not_understood_is_said_with_what_would_be_right(text, said):
    with pytest.raises(ValueError, match=r".") as found:
        parse(text)
    assert said in str(found.value.args[0])


def refused(**choice):
    with pytest.raises(ValueError, match=r".") as found:
        CropChoice.model_validate({"name": "lettuce", **choice})
    return str(found.value)


WEEKLY = "40 heads a week, June to July"


def test_one_crop_has_one_amount():
    assert "beds and harvest both say how much; give one" in refused(
        beds=3, harvest=WEEKLY
    )
    assert "metres and plants both say how much" in refused(metres=3.0, plants=9)
    assert "leave out seasons" in refused(harvest=WEEKLY, seasons=["spring"])


def chosen(name, **choice):
    settings = Settings.model_validate(
        {"name": "x", "crops": [{"name": name, **choice}]}
    )
    return choose(settings.crops, CROPS)


def test_a_unit_that_the_crop_is_not_sold_by_is_refused():
    with pytest.raises(
        SettingsError, match="its harvest is counted by weight; ask for kg or lb"
    ):
        chosen("carrot", harvest=WEEKLY)
    assert chosen("lettuce", harvest=WEEKLY)[0].harvest_unit == "head"


def test_what_an_amount_is_counted_by_must_be_known():
    bare = {"lettuce": CROPS["lettuce"].model_copy(update={"spacing": None})}
    settings = Settings.model_validate(
        {"name": "x", "crops": [{"name": "lettuce", "plants": 9}]}
    )
    with pytest.raises(
        SettingsError, match=r"its spacing to count what you ask for; add this to crops"
    ):
        choose(settings.crops, bare)


def test_days_ready_may_be_the_growers_own():
    (lettuce,) = chosen("lettuce", harvest=WEEKLY, ready_days=21)
    assert (lettuce.harvest_days, lettuce.is_picked_once) == (21, True)
    assert chosen("lettuce")[0].harvest_days == 14


@pytest.mark.parametrize(
    ("name", "keeps"),
    # Weeks of harvest are common practice, no source: two, four and eight.
    [("radish", 14), ("spinach", 28), ("kale", 56), ("tomato", None), ("cabbage", 21)],
)
def test_days_from_the_first_harvest_to_the_last(name, keeps):
    assert CROPS[name].harvest_days == keeps


@pytest.mark.parametrize(
    ("crop_class", "keeps"), [("hardy", 21), ("half_hardy", 21), ("tender", None)]
)
def test_a_crop_that_does_not_say_has_those_of_its_class(crop_class, keeps):
    kind = CROPS["lettuce"].crop_class.model_copy(update={"value": crop_class})
    bare = {"crop_class": kind, "ready_days": None}
    assert CROPS["lettuce"].model_copy(update=bare).harvest_days == keeps
