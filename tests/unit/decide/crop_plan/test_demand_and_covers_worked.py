"""What is wanted, what covers and hands there are, and what they do, worked by hand.

Gathered ends of 2.5 m, minutes and edges are common practice, no source. Weeks begin on
days 1, 8, 15 and so on: day 80 lies in week (80 - 1) // 7 = 11.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fieldmap.decide.crop_plan import bed_classes, cover_stock, cover_use
from fieldmap.decide.crop_plan.chosen import chosen
from fieldmap.decide.crop_plan.cover_stock import BedSizes, CoverStock, open_minutes
from fieldmap.decide.crop_plan.demand import Claim, claim, demands
from fieldmap.decide.crop_plan.milp import Use
from fieldmap.decide.crop_plan.model import (
    BedPart,
    CoverUsage,
    CoverUse,
    CropPlan,
    GrowingWindow,
    Stay,
)
from fieldmap.decide.materials import sheets
from fieldmap.decide.materials.sheets import Covered, Laid, Sheet
from fieldmap.decide.weekly_jobs.of_crop import Shaded
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.settings import Cover, CropChoice, Hands, Materials, Settings
from fieldmap.read.crops import packaged_crops

CROPS = packaged_crops()
NEVER = float("inf")


def stay(bed, from_day, to_day, *covers, crop="spinach", season="spring", place=0.0):
    return Stay(season, from_day, to_day, to_day, covers, bed, crop, place)


# ------------------------------------------------------------------ demand
def wanted(*choices):
    asked = [CropChoice.model_validate(each) for each in choices]
    none = [0.0] * len(asked)
    found = demands(asked, [CROPS[each.name] for each in asked], none)
    return [(d.crop.name, d.season, d.beds, d.is_again) for d in found]


def test_first_sowings_stand_before_second_ones():
    """Tomatoes bear until frost, peas are sown once, spinach twice unless its seasons are given."""
    assert wanted(
        {"name": "spinach", "beds": 2},
        {"name": "tomato", "beds": 1},
        {"name": "pea", "beds": 3},
    ) == [
        ("spinach", "spring", 2, False),
        ("tomato", "summer", 1, False),
        ("pea", "spring", 3, False),
        ("spinach", "autumn", 2, True),
    ]


def test_a_crop_of_autumn_is_wanted_once_and_before_second_sowings():
    """Leeks that are ripe in July are nobody's, unless they ask for them."""
    assert wanted({"name": "spinach"}, {"name": "leek", "beds": 3}) == [
        ("spinach", "spring", 1, False),
        ("leek", "autumn", 3, False),
        ("spinach", "autumn", 1, True),
    ]
    assert wanted({"name": "leek", "seasons": ["spring"]}) == [
        ("leek", "spring", 1, False)
    ]


def test_a_season_that_is_named_is_wanted_like_any_other():
    assert wanted({"name": "spinach", "beds": 2, "seasons": ["autumn"]}) == [
        ("spinach", "autumn", 2, False)
    ]
    assert wanted({"name": "spinach", "beds": 2, "seasons": ["autumn", "spring"]}) == [
        ("spinach", "spring", 2, False),
        ("spinach", "autumn", 2, False),
    ]
    # A pea in autumn is grown if the grower says so; a tomato knows no such season.
    assert wanted({"name": "pea", "beds": 1, "seasons": ["autumn"]}) == [
        ("pea", "autumn", 1, False)
    ]
    assert wanted({"name": "tomato", "beds": 1, "seasons": ["autumn"]}) == [
        ("tomato", "summer", 1, False)
    ]


def test_a_crop_without_an_amount_gets_one_bed_and_not_all_that_is_left():
    found = wanted({"name": "pea", "beds": 3}, {"name": "tomato"}, {"name": "pepper"})
    assert [each[2] for each in found] == [3, 1, 1]


def test_what_is_asked_for_by_metres_plants_or_weeks_is_no_demand_for_whole_beds():
    assert (
        wanted(
            {"name": "pea", "metres": 12.5},
            {"name": "tomato", "plants": 30},
            {"name": "lettuce", "harvest": "40 heads a week, June to July"},
        )
        == []
    )


def test_what_is_planted_in_autumn_stands_through_the_winter():
    """Garlic has no other time; kale stands where the grower says so."""
    assert wanted({"name": "garlic", "beds": 2}) == [("garlic", "winter", 2, False)]
    assert wanted({"name": "kale", "seasons": ["spring", "winter"]}) == [
        ("kale", "spring", 1, False),
        ("kale", "winter", 1, False),
    ]


@pytest.mark.parametrize(
    ("name", "asks"),
    [
        # Warm until frost; warm and done in four weeks, or two.
        ("tomato", Claim.FIRST),
        ("snap bean", Claim.NONE),
        ("squash", Claim.NONE),
        # A leaf that is done in two weeks or four, and one in eight; a root in four.
        ("lettuce", Claim.AFTER),
        ("spinach", Claim.AFTER),
        ("kale", Claim.NONE),
        ("carrot", Claim.NONE),
    ],
)
def test_what_a_crop_asks_of_tunnels(name, asks):
    assert claim(CROPS[name], CropChoice(name=name)) is asks
    for said, then in ((True, Claim.FIRST), (False, Claim.NONE)):
        assert claim(CROPS[name], CropChoice(name=name, in_tunnels=said)) is then


def test_a_demand_keeps_the_place_of_its_crop_among_the_dates():
    asked = [CropChoice(name="tomato", beds=1), CropChoice(name="spinach", beds=1)]
    found = demands(asked, [CROPS["tomato"], CROPS["spinach"]], [0.0, 1.0])
    assert [each.earns for each in found] == [0.0, 1.0, 1.0]
    assert [each.number for each in found] == [0, 1, 1]
    assert found[0].family == "Solanaceae"
    unknown = CROPS["tomato"].model_copy(update={"family": None})
    assert demands(asked[:1], [unknown], [0.0])[0].family == ""


# ------------------------------------------------------------------ windows and plans
def test_a_bed_is_held_from_the_week_its_first_cover_lies():
    film = CoverUse("clear_film", 73, 100, 20.0)
    late = CoverUse("clear_film", 130, 141, 4.5)
    window = GrowingWindow("spring", 80, 120, 141, (film, late))
    assert window.held == (10, 20)
    assert window.days_by_cover == 24.5
    assert GrowingWindow("spring", 80, 120, 141, ()).held == (11, 20)


def test_stays_are_found_by_bed_and_days_by_the_year_of_growing():
    plan = CropPlan(stays=(stay("A1", 80, 100), stay("A1", 120, 140)))
    assert plan.is_known
    assert [each.from_day for each in plan.by_bed["A1"]] == [80, 120]
    assert not CropPlan().is_known
    assert plan.month_day(60) == (3, 1)
    assert replace(plan, season=SOUTH).month_day(60) == (8, 29)


def test_idle_is_what_is_wide_enough_and_never_out():
    usage = CoverUsage("clear_film", 100.0, 30.0, (0.0, 45.0, 20.0), 0.0, 0.0, 0.0)
    assert (usage.most_used_m, usage.idle_m) == (45.0, 25.0)
    assert replace(usage, too_narrow_m=80.0).idle_m == 0.0
    assert replace(usage, used_m=()).most_used_m == 0.0


# ------------------------------------------------------------------ stock
def test_a_bed_takes_a_minute_and_one_more_for_each_twenty_metres():
    assert open_minutes(20.0) == 2.0
    assert open_minutes(50.0) == 3.5


# Beds 1.0 and 1.4 m wide under fabric on hoops 0.5 and 0.7 m would be half circles; here
# the least widths are given outright.
def stock(*covers, hands=None, opened=(), widths_m=(1.8, 2.4), kind="light_fabric"):
    owned = tuple(
        Cover(kind=each, width_m=width, length_m=length, may_cut=True)
        for each, width, length in covers
    )
    return CoverStock(
        covers=owned,
        hoops=Materials(),
        reach_m={
            kind: {
                width_m: sum(
                    each.length_m
                    for each in owned
                    if each.kind == kind and each.width_m >= width_m
                )
                for width_m in widths_m
            }
        },
        opened={kind: tuple(week in opened for week in range(53))},
        hands=hands,
    )


OWNED = (
    ("light_fabric", 0.8, 10.0),
    ("light_fabric", 1.8, 20.0),
    ("light_fabric", 3.2, 40.0),
    ("clear_film", 3.2, 80.0),
)


def test_a_wide_roll_serves_narrow_beds_and_a_narrow_one_no_wide_bed():
    have = stock(*OWNED)
    assert have.owned_m("light_fabric") == 70.0
    assert have.owned_m("clear_film") == 80.0
    assert have.owned_m("light_fabric", 1.8) == 60.0
    assert have.owned_m("light_fabric", 1.81) == 40.0
    assert have.usable_m("light_fabric") == 60.0
    assert have.limits() == {
        "light_fabric, 1.800 m wide or more": 60.0,
        "light_fabric, 2.400 m wide or more": 40.0,
    }


def test_hands_are_scarce_only_where_they_are_known():
    assert stock(hands=12.0).limits() == {
        "opening minutes": 12.0,
        "light_fabric, 1.800 m wide or more": 0.0,
        "light_fabric, 2.400 m wide or more": 0.0,
    }
    assert stock(hands=12.0).unlimited().limits() == {"opening minutes": 12.0}
    assert stock().unlimited().limits() == {}


def test_without_beds_no_width_is_asked_for():
    assert stock(*OWNED, widths_m=()).usable_m("light_fabric") == 70.0


def test_a_cover_takes_its_metres_of_each_width_that_it_needs_and_minutes_to_open():
    """A bed of 1.0 m under half circles of 0.5 m: 1.571 + 0.4 - 0.2 = 1.771 m at least.

    Days 71 to 92 are weeks 10 to 13; 20 m of bed take 22.5 m of cover and 2 minutes in
    weeks 11 and 13, in which days are warm.
    """
    least_m = 1.5707963 + 0.2
    have = stock(*OWNED, hands=9.0, opened=(11, 13, 14), widths_m=(1.2, least_m, 1.9))
    covers = [CoverUse("light_fabric", 71, 92, 9.0)]
    assert list(have.uses(covers, 20.0, 1.0)) == [
        Use("light_fabric, 1.200 m wide or more", (10, 13), 22.5),
        Use("light_fabric, 1.771 m wide or more", (10, 13), 22.5),
        Use("opening minutes", (11, 11), 2.0),
        Use("opening minutes", (13, 13), 2.0),
    ]
    unknown = replace(have, hands=None)
    assert len(list(unknown.uses(covers, 20.0, 1.0))) == 2
    assert list(have.uses([], 20.0, 1.0)) == []


def test_hoops_of_the_grower_say_how_wide_a_cover_must_be():
    """0.9 m tall over 1.8 m: π · 0.9 + 0.4 - 0.2 = 3.027 m of fabric at least."""
    made = Settings(
        name="made up",
        materials=Materials(hoop_height_m=0.9),
        hands=Hands(minutes_in_the_morning=15.0),
    )
    cold = pd.Series([0.0], index=pd.to_datetime(["2025-01-01"]))
    have = cover_stock.cover_stock(made, BedSizes([1.8, 1.8], 20.0, 0.6), cold, NORTH)
    assert tuple(have.reach_m["light_fabric"]) == pytest.approx((np.pi * 0.9 + 0.2,))
    assert have.hands == 15.0
    assert "none" not in have.reach_m
    assert have.is_limited
    have = cover_stock.cover_stock(made, BedSizes([1.8, 1.0], 20.0, 0.6), cold, NORTH)
    # Half an ellipse of half axes 0.9 and 0.5, by Ramanujan's formula of 1914:
    # π / 2 · (3 · 1.4 - √(3.2 · 2.4)) = 2.2442 m.
    assert tuple(have.reach_m["light_fabric"]) == pytest.approx(
        (2.2442 + 0.2, np.pi * 0.9 + 0.2), abs=1e-4
    )


def test_a_whole_piece_reaches_over_beds_side_by_side_and_a_cut_one_along_them():
    """Beds 1.0 m wide and 30 m long under half circles of 1.571 m, paths of 0.6 m.

    Five beds take 5 · 1.571 + 4 · 0.6 + 0.2 = 10.454 m of width at the least, six take
    12.625: a piece of 12 m lies over five, 32.5 m of each. One of 20 m is too short for a
    bed, and reaches as far as it is long. Cut pieces count as long as they are.
    """
    cold = pd.Series([0.0], index=pd.to_datetime(["2025-01-01"]))
    sizes = BedSizes([1.0], 30.0, 0.6)

    def reach_m(*pieces):
        made = Settings(name="made up", covers=pieces)
        (found,) = (
            cover_stock.cover_stock(made, sizes, cold, NORTH)
            .reach_m["light_fabric"]
            .values()
        )
        return found

    fleece = {"kind": "light_fabric", "width_m": 12.0, "length_m": 100.0}
    whole, short = Cover(**fleece), Cover(**fleece | {"length_m": 20.0})
    narrow = Cover(**fleece | {"width_m": 1.7})
    cut = Cover(**fleece, may_cut=True)
    assert reach_m(whole) == 5 * 32.5
    assert reach_m(short) == 5 * 20.0
    assert reach_m(cut) == 100.0
    assert reach_m(whole, cut, narrow) == 5 * 32.5 + 100.0
    assert reach_m(Cover(**fleece | {"kind": "medium_fabric"})) == 0.0


def test_less_of_one_kind_leaves_the_others():
    have = stock(*OWNED).at_most("light_fabric", 50.0)
    assert have.limits() == {
        "light_fabric, 1.800 m wide or more": 50.0,
        "light_fabric, 2.400 m wide or more": 40.0,
    }


def opened(tmax_c, start="2025-01-01", season=NORTH, above_c=20.0):
    days = pd.Series(tmax_c, index=pd.date_range(start, periods=len(tmax_c)))
    return cover_stock._opened(above_c, days, season)


def test_a_cover_is_opened_in_weeks_with_one_warm_day_or_more():
    # Week 0 has one day of seven over 20 °C; in week 1 one is just 20.0; in week 2 none.
    warm_weeks = opened([21.0] + [5.0] * 6 + [20.0] * 7 + [5.0] * 7)
    assert len(warm_weeks) == 53
    assert [week for week, is_open in enumerate(warm_weeks) if is_open] == [0]


def test_the_seventh_day_ends_a_week_and_the_eighth_begins_one():
    assert opened([5.0] * 6 + [21.0] + [5.0] * 7)[:2] == (True, False)
    assert opened([5.0] * 7 + [21.0] + [5.0] * 6)[:2] == (False, True)


def test_two_years_share_a_week_and_days_not_known_do_not_count():
    # One warm day in 14 is less than one in 7.
    two = pd.Series(
        [21.0] + [5.0] * 13,
        index=[
            *pd.date_range("2025-01-01", periods=7),
            *pd.date_range("2026-01-01", periods=7),
        ],
    )
    assert not cover_stock._opened(20.0, two, NORTH)[0]
    # One in six known ones is more.
    assert opened([21.0, np.nan] + [5.0] * 5)[0]


def test_in_the_south_weeks_are_counted_from_july():
    assert opened([21.0], "2025-07-01", SOUTH)[0]
    assert opened([21.0], "2025-06-30", SOUTH)[52]


def test_a_cover_that_may_stay_closed_is_never_opened():
    assert not any(opened([45.0] * 300, above_c=None))


# ------------------------------------------------------------------ use
LENGTHS_M = {"A1": 20.0, "A2": 30.0}
SIZES = {"A1": (0, 20.0, 0.75), "A2": (1, 30.0, 0.75)}
FIRST = CoverUse("light_fabric", 71, 84, 10.0)  # weeks 10 and 11
SECOND = CoverUse("light_fabric", 84, 98, 8.0)  # weeks 11 to 13


def used(stays, unlimited, have):
    """What covers do, with pieces laid over beds that are no neighbours."""
    laid, more = (
        sheets.lay(
            cover_use.covered(each, SIZES), (None, None), have.covers, have.hoops
        )
        for each in (stays, unlimited)
    )
    return cover_use.usage(stays, laid, unlimited, more, LENGTHS_M, have)


def test_metres_by_week_and_days_won_for_a_metre():
    """In week 11 both lie out: 22.5 + 32.5 m. 10 · 20 + 8 · 30 = 440 days times metres."""
    stays = [stay("A1", 71, 120, FIRST), stay("A2", 84, 120, SECOND)]
    # Film on the same bed is no fabric.
    film = stay("A2", 84, 120, replace(SECOND, kind="clear_film"))
    pieces = ((0.8, 10.0), (1.8, 22.5), (3.2, 37.5))
    have = stock(*(("light_fabric", *each) for each in pieces))
    (found,) = used([*stays, film], stays, have)
    assert found.used_m[9:15] == (0.0, 22.5, 55.0, 32.5, 32.5, 0.0)
    assert found.most_used_m == 55.0
    assert found.days_per_metre == 440.0 / 55.0
    assert (found.owned_m, found.too_narrow_m, found.idle_m) == (70.0, 10.0, 5.0)
    assert (found.buy_m, found.buy_days_per_metre) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("owned_m", "buy_m"), [(50.0, 32.5), (55.0, 0.0), (22.4, 55.0), (0.0, 55.0)]
)
def test_what_is_bought_is_what_lies_out_at_once_and_has_no_piece(owned_m, buy_m):
    """All would use 22.5 m and 32.5 m in week 11.

    50 m give the first of them, and the 27.5 m left do not reach over the second: 32.5 m
    are bought, and win its 240 days times metres. 22.4 m reach over neither bed.
    """
    everything = [stay("A1", 71, 120, FIRST), stay("A2", 84, 120, SECOND)]
    have = stock(("light_fabric", 3.2, max(owned_m, 1e-9)))
    (found,) = used(everything[:1], everything, have)
    assert found.buy_m == pytest.approx(buy_m)
    assert found.buy_days_per_metre == pytest.approx(240.0 / buy_m if buy_m else 0.0)


def test_a_gap_under_five_metres_is_none():
    one = [stay("A1", 71, 120, FIRST)]
    for length_m, buy_m in ((2.5, 5.0), (2.4, 0.0)):
        wanted = [Covered(0, length_m, 0.75, "light_fabric", (10, 11))]
        found = cover_use.usage(
            [], Laid((), ()), one, Laid((), tuple(wanted)), LENGTHS_M, stock()
        )
        assert sum(each.buy_m for each in found) == buy_m


def test_metres_that_win_no_more_days_are_not_bought():
    nothing_won = [stay("A1", 71, 120, replace(FIRST, days=0.0))]
    have = stock(("light_fabric", 3.2, 1.0))
    (found,) = used([], nothing_won, have)
    assert (found.buy_m, found.buy_days_per_metre, found.days_per_metre) == (0, 0, 0)


def test_what_is_neither_owned_nor_worth_buying_is_not_listed():
    have = stock()
    assert used([], [], have) == ()
    nothing_won = [stay("A1", 71, 120, replace(FIRST, days=0.0))]
    assert used([], nothing_won, have) == ()
    wanted_by = [stay("A1", 71, 120, FIRST)]
    (found,) = used([], wanted_by, have)
    assert (found.kind, found.buy_m) == ("light_fabric", 22.5)
    # A net against insects wins no days, owned or not.
    net = stock(("insect_net", 3.2, 50.0), kind="insect_net")
    assert used([], [], net) == ()


def test_what_pieces_reach_over_is_counted_in_the_week_that_leaves_a_bed_out():
    """Beds of 20 and 30 m under sheets in weeks 10-11 and 11-13; one is left in 11.

    In week 11 both are reached, 22.5 + 32.5 m; were it left in week 13, 32.5 m; in both
    weeks the lesser counts.
    """
    beds = [SimpleNamespace(length_m=20.0), SimpleNamespace(length_m=30.0)]

    def sheet(places, weeks, length_m=32.5):
        size = {"width_m": 2.0, "length_m": length_m, "is_whole": True}
        return Sheet("light_fabric", 0, places, weeks, **size)

    out = (sheet((0,), (10, 11), 22.5), sheet((1,), (11, 13)))
    for weeks, reached_m in (((11, 11), 55.0), ((13, 13), 32.5), ((11, 13), 32.5)):
        left = (Covered(0, 20.0, 0.75, "light_fabric", weeks),)
        assert cover_use.reached_m("light_fabric", Laid(out, left), beds) == reached_m
    # Over both at once it is as long as the longer, and reaches over no more of the other.
    left = (Covered(0, 20.0, 0.75, "light_fabric", (11, 11)),)
    both = Laid((sheet((0, 1), (10, 11)),), left)
    assert cover_use.reached_m("light_fabric", both, beds) == 55.0
    # Of a part of 5 m those metres are reached, and its gathered ends.
    part = Laid((sheet((1,), (10, 11), 7.5),), left)
    assert cover_use.reached_m("light_fabric", part, beds) == 7.5


def test_minutes_are_those_of_weeks_in_which_covers_are_opened():
    """2 minutes for 20 m and 2.5 for 30 m; week 12 is too cold to open."""
    stays = [stay("A1", 71, 120, FIRST), stay("A2", 84, 120, SECOND)]
    found = cover_use.minutes(stays, LENGTHS_M, stock(opened=(11, 13)))
    assert len(found) == 53
    assert found[9:15] == (0.0, 0.0, 4.5, 0.0, 2.5, 0.0)


# ------------------------------------------------------------------ classes of beds
def bed(name, length_m=20.0, width_m=0.75, light=10.0):
    return SimpleNamespace(
        bed=SimpleNamespace(
            name=name, length_m=length_m, width_m=width_m, path_within_m=0.0
        ),
        light=SimpleNamespace(sun_mj_m2_day=(light, *[1.0] * 11)),
    )


def classes(beds, early, late, families=None, **more):
    """One crop, no cover; days by bed."""
    dates = SimpleNamespace(
        early=np.array([[0.0], [1.0], [2.0]])[:, :, np.newaxis, np.newaxis]
        + np.array(early, float)
        - 1.0,
        late=np.array([[0.0], [1.0], [2.0]])[:, :, np.newaxis, np.newaxis]
        + np.array(late, float)
        - 1.0,
        slackens=np.full((1, 1, len(beds)), np.nan),
        winters=np.full((1, 1, len(beds)), np.nan),
        last_sowing=np.full((3, 1, 1, len(beds)), np.nan),
        grows_until=np.full((1, len(beds)), np.inf),
    )
    vars(dates).update(more)
    return bed_classes.of_beds(beds, dates, families or {})


def test_beds_alike_are_one_class_and_a_day_or_a_family_sets_one_apart():
    beds = [bed(f"A{number}") for number in range(1, 6)]
    found = classes(
        beds,
        [100, 100, 101, 100, 100],
        [270] * 5,
        {"A4": frozenset({"Solanaceae"})},
    )
    assert [each.beds for each in found] == [(0, 1, 4), (2,), (3,)]
    assert found[2].families == {"Solanaceae"}
    assert found[0].families == frozenset()


def test_days_are_compared_whole_and_sizes_to_a_decimetre():
    beds = [bed("A1", 20.0), bed("A2", 20.04), bed("A3", 20.2), bed("A4", light=10.04)]
    found = classes(beds, [99.1, 100.0, 100.0, 99.5], [270.0, 269.2, 270.0, 270.0])
    assert [each.beds for each in found] == [(0, 1, 3), (2,)]
    # What holds for the class holds for each: the latest early, the earliest late date.
    assert found[0].early.tolist() == [[100.0]]
    assert found[0].late.tolist() == [[269.2]]
    assert found[0].length_m == 20.04
    assert found[0].light_mj_m2_day == pytest.approx((30.04 / 3, *[1.0] * 11))


def test_what_holds_for_a_class_holds_for_each_of_its_beds():
    """The first day to slacken and to be dark, the fewest winters, the first last day."""
    beds = [bed("A1"), bed("A2")]
    (found,) = classes(
        beds,
        [100, 100],
        [270, 270],
        slackens=np.array([[[250.0, 240.0]]]),
        grows_until=np.array([[290.0, 280.0]]),
        winters=np.array([[[0.8, 0.6]]]),
        last_sowing=np.full((3, 1, 1, 2), [210.9, 205.2]),
    )
    assert found.slackens.tolist() == [[240.0]]
    assert found.grows_until.tolist() == [280.0]
    assert found.winters.tolist() == [0.6]
    assert found.last_sowing.tolist() == [[205.0]]


def test_beds_with_a_path_within_are_a_class_of_their_own():
    double = bed("A2")
    double.bed.path_within_m = 0.45
    found = classes([bed("A1"), double], [100, 100], [270, 270])
    assert [each.path_within_m for each in found] == [0.0, 0.45]


def test_a_day_late_in_the_year_is_another_than_none():
    found = classes([bed("A1"), bed("A2")], [100, 100], [350, NEVER])
    assert [each.beds for each in found] == [(0,), (1,)]


def test_widths_are_never_mixed_and_beds_without_dates_are_in_no_class():
    beds = [bed("A1"), bed("A2", width_m=1.2), bed("A3"), bed("A4")]
    found = classes(beds, [100, 100, np.nan, 100], [270, 270, 270, np.nan])
    assert [(each.beds, each.width_m) for each in found] == [((0,), 0.75), ((1,), 1.2)]


def test_beds_that_never_get_warm_are_alike_in_that():
    beds = [bed("A1"), bed("A2"), bed("A3")]
    found = classes(beds, [NEVER, NEVER, 100], [270, 270, 270])
    assert [each.beds for each in found] == [(0, 1), (2,)]
    assert found[0].early.tolist() == [[NEVER]]


def test_the_class_that_differs_most_is_halved_first(monkeypatch):
    """Days 100, 101, 110 and 112 in two classes: halved at the middle, 106."""
    monkeypatch.setattr(bed_classes, "MOST_CLASSES", 2)
    beds = [bed(f"A{number}") for number in range(1, 5)]
    found = classes(beds, [100, 110, 101, 112], [270] * 4)
    assert [each.beds for each in found] == [(0, 2), (1, 3)]
    monkeypatch.setattr(bed_classes, "MOST_CLASSES", 3)
    found = classes(beds, [100, 110, 101, 112], [270] * 4)
    # The two days between 110 and 112 are more than the one between 100 and 101.
    assert [each.beds for each in found] == [(0, 2), (1,), (3,)]


def test_a_bed_in_the_middle_goes_with_those_before_it(monkeypatch):
    monkeypatch.setattr(bed_classes, "MOST_CLASSES", 2)
    found = classes([bed("A1"), bed("A2"), bed("A3")], [100, 105, 110], [270] * 3)
    assert [each.beds for each in found] == [(0, 1), (2,)]


def test_each_class_is_halved_as_far_as_there_is_room(monkeypatch):
    """100 and 106 days part after 100-106 and 150-151 have, and then those two."""
    monkeypatch.setattr(bed_classes, "MOST_CLASSES", 4)
    beds = [bed(f"A{number}") for number in range(1, 5)]
    found = classes(beds, [100, 106, 150, 151], [270] * 4)
    assert [each.beds for each in found] == [(0,), (1,), (2,), (3,)]


def test_beds_in_the_dark_are_alike():
    dark = SimpleNamespace(sun_mj_m2_day=(0.0,) * 12)
    beds = [SimpleNamespace(bed=bed(name).bed, light=dark) for name in ("A1", "A2")]
    assert [each.beds for each in classes(beds, [100, 100], [270, 270])] == [(0, 1)]


def test_a_day_counts_as_much_as_two_per_cent_of_length(monkeypatch):
    """20 to 22 m is ln(1.1) / 0.02 = 4.8 days: less than five days, more than four."""
    monkeypatch.setattr(bed_classes, "MOST_CLASSES", 2)
    beds = [bed("A1", 20.0), bed("A2", 22.0), bed("A3", 20.0), bed("A4", 22.0)]
    by_length = classes(beds, [100, 100, 104, 104], [270] * 4)
    assert [each.beds for each in by_length] == [(0, 2), (1, 3)]
    by_day = classes(beds, [100, 100, 105, 105], [270] * 4)
    assert [each.beds for each in by_day] == [(0, 1), (2, 3)]


# ------------------------------------------------------------------ for the list by week
def test_stays_with_the_same_season_and_covers_are_one_entry():
    """Cloth is no cover of nights; film that goes on after planting is one of autumn."""
    ahead = CoverUse("clear_film", 73, 100, 20.0)
    behind = CoverUse("light_fabric", 270, 290, 20.0)
    cloth = CoverUse("shade_30", 60, 200, 9.0)
    hung = Shaded("shade_30", 60, 200)
    plan = CropPlan(
        stays=(
            stay("A1", 80, 150, ahead),
            stay("A2", 82, 160, ahead, cloth),
            stay("A3", 80, 150),
            stay("A4", 80, 290, cloth, ahead, behind, crop="tomato", season="summer"),
            stay("A5", 200, 290, replace(behind, from_day=200), season="autumn"),
            stay("A6", 100, 155, replace(ahead, from_day=100)),
            stay("A7", 80, 150, replace(ahead, to_day=150)),
        )
    )
    found = chosen(plan, ())
    listed = {
        crop: [
            (e.season, sorted(e.beds), e.ahead, e.behind, e.from_day, e.to_day, e.shade)
            for e in entries
        ]
        for crop, entries in found.items()
    }
    assert listed == {
        "spinach": [
            ("spring", ["A1", "A6"], "clear_film", None, 80, 155, None),
            # The same but for its cloth.
            ("spring", ["A2"], "clear_film", None, 82, 160, hung),
            ("spring", ["A3"], None, None, 80, 150, None),
            # On from the day it is sown, but for autumn: behind.
            ("autumn", ["A5"], None, "light_fabric", 200, 290, None),
            # It lies from end to end, and is that of both.
            ("spring", ["A7"], "clear_film", "clear_film", 80, 150, None),
        ],
        "tomato": [("summer", ["A4"], "clear_film", "light_fabric", 80, 290, hung)],
    }
    assert chosen(CropPlan(), ()) is None


def test_a_cover_that_stays_on_and_one_that_comes_off_between_are_two_entries():
    once = CoverUse("light_fabric", 80, 290, 60.0)
    twice = replace(once, to_day=120, days=20.0), replace(once, from_day=260, days=40.0)
    plan = CropPlan(
        stays=(
            stay("A1", 80, 290, once, crop="tomato", season="summer"),
            stay("A2", 80, 290, *twice, crop="tomato", season="summer"),
        )
    )
    entries = chosen(plan, ())["tomato"]
    assert {(e.ahead, e.behind) for e in entries} == {("light_fabric",) * 2}
    assert [(e.lies_throughout, e.ahead_until) for e in entries] == [
        (True, 290),
        (False, 120),
    ]


@pytest.mark.parametrize(("meant_from", "picked"), [(140, 150), (155, 155)])
def test_a_part_of_a_bed_has_days_of_its_own_and_is_picked_once_it_is_meant_to_be(
    meant_from, picked
):
    """Ripe on day 150, and meant for the days from one before that on or one after."""
    sown = replace(
        stay("A1", 80, 150), part=BedPart(0.0, 6.0), picked=(meant_from, 170)
    )
    ((one,),) = chosen(CropPlan(stays=(sown,)), ()).values()
    assert (one.is_dated, one.harvest_day) == (True, picked)
    assert not chosen(CropPlan(stays=(stay("A1", 80, 150),)), ())["spinach"][0].is_dated


def test_beds_of_two_groups_are_picked_and_cleared_on_days_of_their_own():
    """The late bed is not picked when the early one is ripe, nor that cleared so late."""
    early, late = stay("A1", 80, 150), stay("A2", 101, 171)
    ranked = [
        SimpleNamespace(
            bed=SimpleNamespace(name=each.bed), earliness=SimpleNamespace(group=group)
        )
        for each, group in ((early, "first"), (late, "last"))
    ]
    (one, two) = chosen(CropPlan(stays=(early, late)), ranked)["spinach"]
    assert (one.beds, one.harvest_day, one.to_day) == ({"A1"}, early.harvest_day, 150)
    assert (two.beds, two.harvest_day, two.to_day) == ({"A2"}, late.harvest_day, 171)
    assert early.harvest_day < late.harvest_day


def test_covers_lie_out_in_spans_that_meet_within_a_week():
    """Day 91 and day 98 are a week apart, day 99 and day 107 eight days."""
    stays = [
        SimpleNamespace(
            bed="A1",
            covers=[
                CoverUse("light_fabric", 60, 91, 1.0),
                CoverUse("light_fabric", 98, 99, 1.0),
                CoverUse("light_fabric", 107, 110, 1.0),
                CoverUse("clear_film", 92, 97, 1.0),
            ],
        ),
        SimpleNamespace(bed="A2", covers=[CoverUse("light_fabric", 200, 210, 1.0)]),
    ]
    assert cover_use.days_out(stays, {("A1", "light_fabric")}) == [(60, 99), (107, 110)]
    assert cover_use.days_out(stays, {("A3", "light_fabric")}) == []
