"""What is said of sowings that found room, and of weeks that found none, by hand.

In June of the north 1 June is day 152, 30 June day 181.
"""

import pytest

from fieldmap.decide.crop_plan.growing_windows import AUTUMN, SPRING
from fieldmap.decide.crop_plan.model import Amounts, BedPart, Stay
from fieldmap.decide.crop_plan.sowings.answer import bears_late, harvests, short
from fieldmap.decide.crop_plan.sowings.asked import SUCCESSION, Sowing
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH
from fieldmap.model.settings import CropChoice
from fieldmap.read.crops import packaged_crops

CROPS = packaged_crops()
HEADS = {"name": "lettuce", "harvest": "40 heads a week, June to June"}
# Weeks of June, the last of two days.
WEEKS = [(152, 158), (159, 165), (166, 172), (173, 179), (180, 181)]


def stay(crop, days, length_m=4.0, amounts=None, picked=None):
    from_day, harvest_day, to_day = days
    return Stay(
        *(SPRING, from_day, harvest_day, to_day, (), "A1", crop, 0.0),
        part=BedPart(0.0, length_m),
        amounts=amounts,
        picked=picked,
    )


def sowing(crop="lettuce", season=SUCCESSION, **more):
    return Sowing(more.pop("number", 0), CROPS[crop], season, 0.15, **more)


def said(*choices, answers):
    wanted = [CropChoice.model_validate(each) for each in choices]
    return [(fact.kind, dict(fact.values)) for fact in harvests(wanted, answers, NORTH)]


# ------------------------------------------------------------------ what is sown
def test_sowings_for_weeks_are_counted_with_their_metres_plants_and_days():
    """Two sowings, of which the second lies in two parts, 2.5 and 1.5 m long.

    Day 113 is 23 April, day 120 is 30 April: 8 m, 48 + 30 + 18 plants, 60 + 38 + 23 seeds.
    """
    (one, two, three, *_rest) = (sowing(picked=week) for week in WEEKS)
    second = [
        stay("lettuce", (120, 156, 169), 2.5, Amounts(3, 30, 38, "head", 25, 25), WEEKS[1]),
        stay("lettuce", (120, 156, 169), 1.5, Amounts(3, 18, 23, "head", 15, 15), WEEKS[1]),
    ]  # fmt: skip
    amounts = Amounts(3, 48, 60, "head", 40.8, 40.8)
    first = [stay("lettuce", (113, 149, 162), 4.0, amounts, WEEKS[0])]
    answers = [(one, first, 1.0, None), (two, second, 1.0, None), (three, [], 0.0, "x")]
    ((kind, values),) = said(HEADS | {"losses_percent": 20.0}, answers=answers)
    assert kind == "sown_for_head"
    assert values == {
        "crop": "lettuce",
        "number": 2,
        "length_m": 8.0,
        "begins": (4, 23),
        "ends": (4, 30),
        "plants": 96,
        "seeds": 121,
        "losses": 20,
        "amount_kg": 40.0,
        "heads": 40,
        "first": (6, 1),
        "last": (6, 30),
    }


def test_sowings_by_metres_are_said_crop_by_crop_and_unknown_seed_counts_for_none():
    of_kale = stay("kale", (200, 260, 300), 6.0, Amounts(2, 24, None, "kg", 1.0, 2.0))
    bare = stay("spinach", (90, 130, 150), 12.5)
    answers = [
        (sowing("spinach", SPRING, number=2, bed_m=12.5), [bare], 1.0, None),
        (sowing("kale", AUTUMN, number=1, bed_m=6.0), [of_kale], 1.0, None),
    ]
    found = said(
        *({"name": name, "metres": 6.0} for name in ("lettuce", "kale", "spinach")),
        answers=answers,
    )
    # Day 200 is 19 July, day 90 is 31 March; of lettuce there is nothing to say.
    assert [
        (kind, *(values[name] for name in ("crop", "length_m", "begins", "plants", "seeds")))
        for kind, values in found
    ] == [
        ("sown_by_size", "kale", 6.0, (7, 19), 24, 0),
        ("sown_by_size", "spinach", 12.5, (3, 31), 0, 0),
    ]  # fmt: skip


# ------------------------------------------------------------------ what is not
def test_weeks_without_a_sowing_are_said_together_where_they_follow_each_other():
    """Room is short for two weeks that follow each other and for one after; then frost."""
    why = ["room", "room", None, "room", "frost"]
    answers = [
        (sowing(picked=week), [], 1.0 if reason is None else 0.5, reason)
        for week, reason in zip(WEEKS, why, strict=True)
    ]
    assert [
        (fact.kind, fact["crop"], fact["first"], fact["last"], fact["why"])
        for fact in short(answers, NORTH)
    ] == [
        ("weeks_short", "lettuce", (6, 1), (6, 14), Fact("room_then")),
        ("weeks_short", "lettuce", (6, 22), (6, 28), Fact("room_then")),
        ("weeks_short", "lettuce", (6, 29), (6, 30), Fact("frost_then")),
    ]


@pytest.mark.parametrize(
    ("season", "is_again", "share", "crop", "got"),
    [
        (SPRING, False, 1 / 3, "kale", 33),
        (SPRING, False, 0.0, "kale", 0),
        (AUTUMN, False, 0.5, Fact("crop_for_autumn", crop="kale"), 50),
        # A second sowing that nobody asked for is said where some of it found room.
        (AUTUMN, True, 0.5, Fact("crop_for_autumn", crop="kale"), 50),
        (AUTUMN, True, 0.0, None, None),
        # To a millionth it is all of it.
        (SPRING, False, 1 - 5e-7, None, None),
    ],
)
def test_a_part_that_found_no_room_is_said_in_percent(
    season, is_again, share, crop, got
):
    one = sowing("kale", season, bed_m=6.0, is_again=is_again)
    found = [(each["crop"], each["got"]) for each in short([(one, [], share, "room")], NORTH)]  # fmt: skip
    assert found == ([] if crop is None else [(crop, got)])


@pytest.mark.parametrize(
    ("picked", "spans", "is_late"),
    [
        # Wanted from 1 July to 31 October, days 182 to 304: a week less at either end.
        ((182, 304), [(188, 298)], False),
        ((182, 304), [(189, 298)], True),
        ((182, 304), [(188, 297)], True),
        ((182, 304), [(188, 250)], True),
        ((182, 304), [(220, 298)], True),
        # The first of its beds to bear, and the last.
        ((182, 304), [(200, 298), (188, 240)], False),
        # Wanted on into the next year it bears to the end of this one: 365 - 7 = 358.
        ((182, 396), [(182, 359)], False),
        ((182, 396), [(182, 358)], True),
    ],
)
def test_what_bears_until_frost_is_late_by_a_week_or_more(picked, spans, is_late):
    one = sowing("tomato", a_week=8.0, picked=picked)
    stays = [stay("tomato", (140, first, last)) for first, last in spans]
    found = list(bears_late([(one, stays, 1.0, None)], NORTH))
    assert bool(found) is is_late
    assert not list(bears_late([(one, [], 0.0, "frost")], NORTH))
    assert not list(bears_late([(sowing(picked=picked), stays, 1.0, None)], NORTH))


def test_what_bears_late_is_said_with_its_first_and_last_day():
    """Day 189 is 8 July, day 297 is 24 October."""
    one = sowing("tomato", a_week=8.0, picked=(182, 304))
    (fact,) = bears_late([(one, [stay("tomato", (140, 189, 297))], 1.0, None)], NORTH)
    assert (fact["crop"], fact["first"], fact["last"]) == ("tomato", (7, 8), (10, 24))
