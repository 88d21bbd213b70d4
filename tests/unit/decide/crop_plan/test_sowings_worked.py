"""Harvests asked for by weeks, metres and plants, as on a spreadsheet.

Spacings, yields and days ready are those of crops.toml. Between the outer row and the
edge of a bed lie 7.5 cm, and one seed in five in trays comes to nothing (common practice,
no source).
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.cover_stock import CoverStock
from fieldmap.decide.crop_plan.growing_windows import CropOnClass, OwnDays, UsualYear
from fieldmap.decide.crop_plan.model import Amounts, BedPart, CoverUse, GrowingWindow
from fieldmap.decide.crop_plan.sowings import amounts, sown, windows
from fieldmap.decide.crop_plan.sowings.asked import (
    SUCCESSION,
    Sowing,
    meant,
    sowings,
)
from fieldmap.decide.crop_plan.sowings.place import place
from fieldmap.decide.crop_plan.sowings.room import Piece, Room
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.settings import Beds, Cover, CropChoice, Materials
from fieldmap.read.crops import packaged_crops

CROPS = packaged_crops()
NEVER = float("inf")


# ------------------------------------------------------------------ rows and amounts
@pytest.mark.parametrize(
    ("width_m", "path_m", "apart_m", "rows"),
    [
        # 0.75 less twice 0.075 leave 0.60 between the outer rows.
        (0.75, 0.0, 0.30, 3),
        (0.75, 0.0, 0.60, 2),
        (0.75, 0.0, 0.61, 1),
        (0.75, 0.0, 0.15, 5),
        # Narrower than its edges it still bears a row.
        (0.10, 0.0, 0.30, 1),
        # Two strips of 0.75 with a path of 0.45 within: three on each.
        (1.95, 0.45, 0.30, 6),
    ],
)
def test_rows_side_by_side_leave_the_edges_free(width_m, path_m, apart_m, rows):
    assert amounts.rows_on(width_m, path_m, apart_m) == rows


def test_forty_heads_are_forty_eight_plants_where_fifteen_in_a_hundred_are_lost():
    """40 / 0.85 = 47.06 plants 0.25 m apart: 11.76 m of row; on three rows 3.92 m."""
    row_m = amounts.row_m_for_harvest(CROPS["lettuce"], 40, 0.15)
    assert row_m == pytest.approx(11.7647, abs=1e-4)
    assert amounts.in_steps(row_m / 3) == 4.0
    # 4 m of three rows: 12 m of row, 48 plants, 60 seeds in trays, 40.8 heads.
    found = amounts.of_length(CROPS["lettuce"], 3, 4.0, 0.15)
    assert found == Amounts(3, 48, 60, "head", pytest.approx(40.8), pytest.approx(40.8))


def test_kilograms_are_counted_by_the_middle_of_the_usual_yield():
    """Carrot: 0.74 to 2.23 kg on a metre of row, 1.485 in the middle.

    20 kg / 0.85 / 1.485 = 15.84 m of row; three rows: 5.28 m, pegged as 5.5. Those are
    16.5 m of row: 550 plants 3 cm apart, 80 seeds a metre 1,320; 10.4 to 31.3 kg.
    """
    row_m = amounts.row_m_for_harvest(CROPS["carrot"], 20, 0.15)
    assert row_m == pytest.approx(15.8447, abs=1e-3)
    found = amounts.of_length(CROPS["carrot"], 3, amounts.in_steps(row_m / 3), 0.15)
    assert found[:4] == (3, 550, 1320, "kg")
    assert (found.low, found.high) == pytest.approx((10.3785, 31.2758), abs=1e-3)


@pytest.mark.parametrize(
    ("length_m", "pegged_m"), [(0.01, 0.5), (0.5, 0.5), (0.51, 1.0), (3.0, 3.0)]
)
def test_lengths_are_pegged_in_half_metres_and_never_too_short(length_m, pegged_m):
    assert amounts.in_steps(length_m) == pegged_m


# ------------------------------------------------------------------ what is asked
def asked(*choices, season=NORTH):
    made = [CropChoice.model_validate(each) for each in choices]
    return sowings(made, [CROPS[each.name] for each in made], season)


def test_lettuce_is_sown_for_each_week_and_wanted_ripe_half_of_its_slack_before():
    """June has days 152 to 181: five weeks, the last of two days.

    It stands ready for 14 days, of which 7 are slack: 3 whole days before its week.
    """
    found = asked({"name": "lettuce", "harvest": "40 heads a week, June to June"})
    assert [each.picked for each in found] == [
        (152, 158),
        (159, 165),
        (166, 172),
        (173, 179),
        (180, 181),
    ]
    assert {each.slack_days for each in found} == {3}
    assert {round(each.row_m, 4) for each in found} == {11.7647}


def test_carrots_stand_for_four_weeks_so_one_sowing_feeds_two():
    """28 days ready: 14 are slack, 7 of them before the first week.

    Two weeks of 20 kg are 31.69 m of row; the third sowing feeds the last week alone.
    """
    found = asked({"name": "carrot", "harvest": "20 kg a week, 1 July to 4 August"})
    assert [each.picked for each in found] == [(182, 195), (196, 209), (210, 216)]
    assert {each.slack_days for each in found} == {7}
    assert [each.row_m for each in found] == pytest.approx(
        [31.689, 31.689, 15.845], abs=1e-3
    )


def test_what_is_picked_bit_by_bit_bears_no_faster_for_fewer_weeks():
    """Kale is picked for 8 weeks: 8 × 5 kg / 0.85 / 1.485 = 31.69 m of row, each time."""
    found = asked({"name": "kale", "harvest": "5 kg a week, 1 July to 30 September"})
    assert [each.picked for each in found] == [(182, 237), (238, 273)]
    assert [each.row_m for each in found] == pytest.approx([31.689] * 2, abs=1e-3)
    assert {each.slack_days for each in found} == {0}


def test_a_tomato_is_set_out_once_and_bears_until_frost():
    """10 weeks of 8 kg / 0.85 / 1.485 = 63.4 m of row; one row on the bed."""
    (one,) = asked({"name": "tomato", "harvest": "8 kg a week, July to October"})
    assert (one.row_m, one.a_week, one.picked) == (None, 8.0, (182, 304))
    window = GrowingWindow(SUCCESSION, 140, 200, 269, ())
    assert one.length_m(1, window) == 63.5


def test_losses_and_days_ready_are_the_growers_own_where_they_are_given():
    """40 / 0.5 = 80 plants: 20 m of row."""
    choice = {
        "name": "lettuce",
        "harvest": "40 heads a week, June to June",
        "losses_percent": 50.0,
    }
    assert {each.row_m for each in asked(choice)} == {20.0}


def test_weeks_that_run_past_new_year_lie_in_the_next():
    """December and January: days 335 to 396. In the south 1 December is day 154."""
    choice = {"name": "lettuce", "harvest": "9 heads a week, December to January"}
    days = [each.picked for each in asked(choice)]
    assert (days[0][0], days[-1][1]) == (335, 396)
    days = [each.picked for each in asked(choice, season=SOUTH)]
    assert (days[0][0], days[-1][1]) == (154, 215)


SAID = ("crop", "number", "each_m", "total_m", "rows")


def meant_by(*choices):
    made = [CropChoice.model_validate(each) for each in choices]
    beds = Beds(bed_width_m=0.75)
    facts = meant(made, [CROPS[each.name] for each in made], NORTH, beds)
    return [(fact.kind, *(fact.values[name] for name in SAID)) for fact in facts]


@pytest.mark.parametrize(
    ("choice", "said"),
    [
        # 3.92 m of three rows, pegged as 4, for each of five weeks.
        (
            {"name": "lettuce", "harvest": "40 heads a week, June to June"},
            ("asked_by_week", "lettuce", 5, 4.0, 20.0, 3),
        ),
        # 31.689 / 3 = 10.56 m, twice, and 15.845 / 3 = 5.28 m: 11 + 11 + 5.5.
        (
            {"name": "carrot", "harvest": "20 kg a week, 1 July to 4 August"},
            ("asked_by_week", "carrot", 3, 11.0, 27.5, 3),
        ),
        # Days 182 to 304 are 123 / 7 weeks: 140.57 kg / 0.85 / 1.485 = 111.36 m.
        (
            {"name": "tomato", "harvest": "8 kg a week, July to October"},
            ("asked_until_frost", "tomato", 1, 111.5, 111.5, 1),
        ),
        # 36 plants 0.25 m apart are 9 m of row; those of autumn only follow from it.
        ({"name": "lettuce", "plants": 36}, ("asked_by_plants", "lettuce", 1, 3.0, 3.0, 3)),
    ],
)  # fmt: skip
def test_what_is_asked_for_by_weeks_and_plants_is_said_in_metres(choice, said):
    assert meant_by(choice) == [said]
    # Beside another it is counted by itself; metres need no saying.
    beside = {"name": "spinach", "metres": 12.0}
    assert meant_by(beside, choice) == [said]


def test_metres_and_plants_are_sown_in_each_part_of_the_year():
    found = asked(
        {"name": "spinach", "metres": 12.2},
        {"name": "tomato", "plants": 30},
        {"name": "kale", "plants": 10, "seasons": ["winter"]},
    )
    window = GrowingWindow("spring", 1, 2, 3, ())
    # Tunnels are few, so what comes first in them is placed before the rest.
    assert [(e.crop.name, e.season, e.length_m(1, window)) for e in found] == [
        ("tomato", "summer", 15.0),  # 30 plants 0.5 m apart
        ("spinach", "spring", 12.5),
        ("kale", "winter", 4.5),
        ("spinach", "autumn", 12.5),
    ]


# ------------------------------------------------------------------ when it begins
def on(crop="lettuce", early=(100.0,), late=(300.0,), grows=40, dark=NEVER):
    kinds = list(enumerate(("none", "light_fabric", "medium_fabric")))[: len(early)]
    beds = BedClass(
        beds=(0,),
        length_m=30.0,
        width_m=0.75,
        early=np.array([early]),
        late=np.array([late]),
        slackens=np.full((1, len(early)), np.nan),
        grows_until=np.array([dark]),
        light_mj_m2_day=(10.0,) * 12,
        families=frozenset(),
    )
    by_start = grows if callable(grows) else lambda _: float(grows)
    days = OwnDays(np.array([by_start(float(day)) for day in range(1, 367)]))
    return CropOnClass(CROPS[crop], 0, beds, days, kinds, None)


def lettuce(first, last):
    return Sowing(
        0, CROPS["lettuce"], SUCCESSION, 0.15, row_m=12.0, picked=(first, last)
    )


COOL = np.zeros(53, bool)


def days(found):
    return [
        (
            w.from_day,
            w.harvest_day,
            w.to_day,
            [(c.kind, c.from_day, c.to_day) for c in w.covers],
        )
        for w in found
    ]


def test_a_sowing_is_counted_back_from_its_week():
    """Ripe on day 197, three days before 200, and set out 40 days before that.

    It may stand until day 210, the last of 14.
    """
    found = windows.for_weeks(lettuce(200, 206), on(), COOL)
    assert days(found) == [(157, 197, 210, [])]


def test_slow_weeks_are_counted_back_as_they_are():
    """40 days on the bed, and a day more for each day after 160: 157 + 40 is ripe."""
    slow = lambda start: 40.0 + max(start - 160, 0)  # noqa: E731
    found = windows.for_weeks(lettuce(220, 226), on(grows=slow), COOL)
    # Ripe by 217: 168 + 48 = 216, and 169 + 49 = 218 is too late.
    assert days(found) == [(168, 216, 229, [])]


def test_the_first_sowing_may_be_ripe_by_the_middle_of_its_week_and_no_later():
    """The bed lets it out on day 100: ripe on day 140, three days after 137 began."""
    assert days(windows.for_weeks(lettuce(137, 143), on(), COOL)) == [
        (100, 140, 153, [])
    ]
    assert windows.why_not(lettuce(136, 142), on(), COOL) == "too_early"


def test_a_cover_lets_it_out_sooner_and_comes_off_once_the_bed_would_do_bare():
    found = windows.for_weeks(
        lettuce(130, 136), on(early=(100, 80), late=(300, 310)), COOL
    )
    assert days(found) == [(87, 127, 140, [("light_fabric", 87, 100)])]


def test_the_last_one_stands_until_frost_and_no_week_is_promised_beyond():
    """Frost on day 300: the last whole day is 299."""
    assert days(windows.for_weeks(lettuce(293, 299), on(), COOL)) == [
        (250, 290, 299, [])
    ]
    assert windows.why_not(lettuce(294, 300), on(), COOL) == "frost"


def test_where_frost_ends_the_bare_bed_too_soon_a_cover_may_still_do():
    """Wanted until day 300, the day of frost on the bare bed; fabric holds its 14 days."""
    found = windows.for_weeks(
        lettuce(294, 300), on(early=(100, 100), late=(300, 310)), COOL
    )
    assert days(found) == [(251, 291, 304, [("light_fabric", 292, 304)])]


@pytest.mark.parametrize("bare_from", [NEVER, 260])
def test_film_over_tomatoes_that_never_do_bare_lies_once_from_end_to_end(bare_from):
    """Nights are warm enough under fabric alone: from day 120 to 280, and bare never.

    Bare they would hold until 249, so warm from 260 on is never as well.
    """
    one = Sowing(0, CROPS["tomato"], SUCCESSION, 0.15, a_week=8.0, picked=(182, 304))
    here = on("tomato", (bare_from, 120.0), (250.0, 281.0), grows=60)
    (window,) = windows.for_weeks(one, here, COOL)
    assert days([window]) == [(122, 182, 280, [("light_fabric", 122, 280)])]
    assert [use.days for use in window.covers] == [158.0]


def test_a_cover_that_gains_nothing_hides_no_better_one():
    """Bare until 299; light fabric holds no longer, medium fabric until 303, its 14th day.

    It lies ready a week before the last day without, from day 292 on.
    """
    here = on(early=(100,) * 3, late=(300, 300, 310))
    assert days(windows.for_weeks(lettuce(293, 299), here, COOL)) == [
        (250, 290, 299, []),
        (250, 290, 303, [("medium_fabric", 292, 303)]),
    ]


def test_what_is_ripe_when_the_light_goes_keeps_for_as_long_as_it_stands():
    """Dark from day 280: ripe by then it stands until 293."""
    assert days(windows.for_weeks(lettuce(287, 293), on(dark=280.0), COOL)) == [
        (240, 280, 293, [])
    ]
    assert windows.why_not(lettuce(288, 294), on(dark=280.0), COOL) == "too_dark"


@pytest.mark.parametrize("week", [(363, 369), (400, 406)])
@pytest.mark.parametrize(
    ("late", "dark", "why"),
    [
        (300.0, NEVER, "frost"),
        (NEVER, 320.0, "too_dark"),
        # Neither frost nor the dark ends it: it is the plan that goes no further.
        (NEVER, NEVER, "next_year"),
    ],
)
def test_why_nothing_is_picked_in_weeks_of_the_next_year(week, late, dark, why):
    here = on(late=(late,), dark=dark)
    assert windows.for_weeks(lettuce(*week), here, COOL) == []
    assert windows.why_not(lettuce(*week), here, COOL) == why


def test_tomatoes_for_the_next_year_are_not_set_out_in_this_one():
    """Set out by day 200 they bear from day 260 on, and later ones are never ripe."""
    one = Sowing(0, CROPS["tomato"], SUCCESSION, 0.15, a_week=8.0, picked=(400, 430))
    here = on("tomato", (140.0,), (NEVER,), lambda day: 60.0 if day <= 200 else NEVER)
    assert windows.for_weeks(one, here, COOL) == []


def test_weeks_with_more_hot_days_than_not_have_no_harvest():
    """Days 200 to 206 lie in week 28 and 29, (200 - 1) // 7 = 28."""
    hot = COOL.copy()
    hot[28] = True
    assert windows.why_not(lettuce(200, 206), on(), hot) is None
    hot[29] = True
    assert windows.why_not(lettuce(200, 206), on(), hot) == "too_hot"


def test_a_hot_week_has_more_hot_days_than_others():
    """Days 1 to 7 at 28, 28, 28, 28, 20, 20, 20 °C; then one fewer."""
    index = pd.date_range("2025-01-01", periods=14)
    tmax = [28.0] * 4 + [20.0] * 3 + [28.0] * 3 + [27.0] * 4
    year = UsualYear(pd.Series(tmax, index=index), np.zeros(365), NORTH)
    assert np.flatnonzero(windows.hot_weeks(year, 27.0)).tolist() == [0]


def test_a_tomato_bears_from_when_it_is_ripe_until_frost_within_the_days_asked_for():
    one = Sowing(0, CROPS["tomato"], SUCCESSION, 0.15, a_week=8.0, picked=(182, 304))
    found = windows.for_weeks(one, on("tomato", (140.0,), (270.0,), grows=60), COOL)
    assert days(found) == [(140, 200, 269, [])]
    # Wanted from day 250 on alone, it need not be set out before day 190.
    late = one._replace(picked=(250, 260))
    found = windows.for_weeks(late, on("tomato", (140.0,), (270.0,), grows=60), COOL)
    assert days(found) == [(190, 250, 260, [])]


@pytest.mark.parametrize("shaded", [False, True])
def test_of_windows_for_the_same_weeks_a_bare_one_goes_first(monkeypatch, shaded):
    """A cover is left to what needs it; under cloth each is better than without."""

    def window(number, *covers):
        return GrowingWindow(SUCCESSION, number, 200, 210, covers)

    def under_cloth(one, *_more):
        return replace(one, harvest_day=201) if shaded else None

    fabric = CoverUse("light_fabric", 100, 120, 9.0)
    twice, bare, once = window(1, fabric, fabric), window(2), window(3, fabric)
    ways = sown.Ways(SimpleNamespace(year=None))
    for name in ("where", "hot", "hot_days"):
        monkeypatch.setattr(ways, name, lambda *_asked: None)
    monkeypatch.setattr(windows, "for_weeks", lambda *_three: [twice, bare, once])
    monkeypatch.setattr(sown.growing_windows, "shaded", under_cloth)
    found = [(each.from_day, each.harvest_day) for each in ways.of(lettuce(1, 7), 0)]
    days_of_each = [201, 200] if shaded else [200]
    assert found == [(number, day) for number in (2, 3, 1) for day in days_of_each]


# ------------------------------------------------------------------ room
def test_what_is_free_lies_between_pieces_of_the_same_weeks():
    room = Room(20.0, frozenset())
    room.take(Piece(BedPart(4.0, 4.0), (10, 20), "X"))
    assert list(room.free((5, 9))) == [(0.0, 20.0)]
    assert list(room.free((9, 10))) == [(0.0, 4.0), (8.0, 12.0)]
    assert list(room.free((20, 30))) == [(0.0, 4.0), (8.0, 12.0)]
    assert list(room.free((21, 30))) == [(0.0, 20.0)]
    assert list(room.parts(5.0, (9, 10))) == [(8.0, 5.0)]
    # After it, also right against either of its ends.
    assert list(room.parts(5.0, (21, 30))) == [(0.0, 5.0), (4.0, 5.0), (8.0, 5.0)]
    assert list(room.parts(20.1, (21, 30))) == []


def test_a_short_piece_after_a_long_one_frees_none_of_its_metres():
    """Metres 2 to 12 in weeks 1 to 5, of these 4 to 6 again in weeks 8 to 10."""
    room = Room(20.0, frozenset("Z"))
    room.take(Piece(BedPart(2.0, 10.0), (1, 5), "X"))
    room.take(Piece(BedPart(4.0, 2.0), (8, 10), "Y"))
    assert list(room.free((5, 8))) == [(0.0, 2.0), (12.0, 8.0)]
    assert list(room.free((6, 10))) == [(0.0, 4.0), (6.0, 14.0)]
    # All of 2 to 12 m has borne something this year, so last year's family may come.
    assert not room.follows_last_year(BedPart(2.0, 10.0), (11, 20), "Z")
    assert room.follows_last_year(BedPart(2.0, 11.0), (11, 20), "Z")


def test_metres_that_bear_over_new_year_are_taken_in_the_spring_of_every_year():
    """In weeks 43 to 86 of a year of 53, so from week 0 to week 33."""
    room = Room(20.0, frozenset())
    room.take(Piece(BedPart(4.0, 4.0), (43, 53 + 33), "X"))
    assert list(room.free((33, 40))) == [(0.0, 4.0), (8.0, 12.0)]
    assert list(room.free((34, 42))) == [(0.0, 20.0)]
    # And the other way round.
    room = Room(20.0, frozenset())
    room.take(Piece(BedPart(4.0, 4.0), (33, 40), "X"))
    assert not room.takes_whole((43, 53 + 33), "Y")
    assert room.takes_whole((43, 53 + 32), "Y")


@pytest.mark.parametrize(
    ("start_m", "family", "weeks", "follows"),
    [
        (4.0, "X", (21, 30), True),
        (7.9, "X", (21, 30), True),
        (8.0, "X", (21, 30), False),
        (4.0, "Y", (21, 30), False),
        (4.0, "", (21, 30), False),
        (4.0, "X", (1, 9), True),  # before it is as bad as after
        (12.0, "Z", (1, 9), True),  # stood there last year
        (4.0, "Z", (21, 30), False),  # another family between
    ],
)
def test_no_family_follows_itself_on_any_metre(start_m, family, weeks, follows):
    room = Room(20.0, frozenset({"Z"}))
    room.take(Piece(BedPart(4.0, 4.0), (10, 20), "X"))
    part = BedPart(start_m, 4.0)
    assert room.follows_itself(part, weeks, family) is follows


def test_another_family_on_all_of_the_metres_breaks_the_chain():
    room = Room(20.0, frozenset())
    room.take(Piece(BedPart(0.0, 8.0), (10, 20), "X"))
    room.take(Piece(BedPart(0.0, 4.0), (21, 30), "Y"))
    assert not room.follows_itself(BedPart(0.0, 4.0), (31, 40), "X")
    assert room.follows_itself(BedPart(0.0, 5.0), (31, 40), "X")
    # In pieces that were laid one after another, whichever came first.
    room.take(Piece(BedPart(6.0, 2.0), (21, 30), "Y"))
    room.take(Piece(BedPart(4.0, 2.0), (21, 30), "Y"))
    assert not room.follows_itself(BedPart(0.0, 8.0), (31, 40), "X")


# ------------------------------------------------------------------ onto beds
def beds(*lengths_m):
    return [
        SimpleNamespace(bed=SimpleNamespace(length_m=length_m))
        for length_m in lengths_m
    ]


def kind(*places, families=()):
    return on().beds._replace(beds=places, families=frozenset(families))


NO_STOCK = CoverStock(
    (), Materials(), {"light_fabric": {}}, {"light_fabric": (False,) * 53}, None
)


def placed(lots, here, lengths_m, classes, stock=NO_STOCK):
    """Lots as (metres, first week, last week, family); weeks 10 has days 71 to 77."""
    asked = [
        Sowing(0, family_of(family), "spring", 0.0, bed_m=metres)
        for metres, _, _, family, *_ in lots
    ]
    covers = {at: lot[4] for at, lot in enumerate(lots) if len(lot) > 4} if lots else {}
    made = {
        id(sowing): GrowingWindow(
            "spring", 7 * lot[1] + 1, 7 * lot[2] + 7, 7 * lot[2] + 7, covers.get(at, ())
        )
        for at, (sowing, lot) in enumerate(zip(asked, lots, strict=True))
    }
    found = place(
        asked,
        lambda sowing, _: [made[id(sowing)]],
        beds(*lengths_m),
        classes,
        stock,
        lambda _: here if isinstance(here, tuple) else (here,),
    )
    return [(p.sowing, p.bed, *p.part) for p in found.placed], found.used


def family_of(name):
    return CROPS["lettuce"].model_copy(
        update={"family": SimpleNamespace(value=name) if name else None}
    )


def test_sowings_lie_side_by_side_from_the_gate_end_and_then_on_the_next_bed():
    lots = [(4.0, 10, 20, "X"), (4.0, 11, 21, "X"), (4.0, 12, 22, "X")]
    found, _ = placed(lots, [0, 1], (10.0, 10.0), [kind(0, 1)])
    assert found == [(0, 0, 0.0, 4.0), (1, 0, 4.0, 4.0), (2, 1, 0.0, 4.0)]


def test_freed_metres_are_taken_by_another_family_and_not_by_its_own():
    lots = [(10.0, 10, 20, "X"), (4.0, 21, 30, "X"), (4.0, 21, 30, "Y")]
    found, _ = placed(lots, [0, 1], (10.0, 10.0), [kind(0, 1)])
    assert found == [(0, 0, 0.0, 10.0), (1, 1, 0.0, 4.0), (2, 0, 0.0, 4.0)]
    # With no other bed it follows itself rather than not at all.
    found, _ = placed(lots[:2], [0], (10.0,), [kind(0)])
    assert found[1] == (1, 0, 0.0, 4.0)


def test_a_long_sowing_takes_whole_beds_and_the_rest_of_one():
    found, _ = placed([(25.0, 10, 20, "X")], [0, 1, 2], (10.0,) * 3, [kind(0, 1, 2)])
    assert found == [(0, 0, 0.0, 10.0), (0, 1, 0.0, 10.0), (0, 2, 0.0, 5.0)]


@pytest.mark.parametrize(("taken_m", "pieces"), [(8.0, [(1, 0, 8.0, 2.0)]), (8.5, [])])
def test_a_piece_of_a_sowing_has_two_metres_or_more(taken_m, pieces):
    lots = [(taken_m, 10, 20, "X"), (5.0, 10, 20, "Y")]
    found, _ = placed(lots, [0], (10.0,), [kind(0)])
    assert found[1:] == pieces


def test_what_finds_no_metres_is_left_out_for_the_part_that_is_missing():
    found, _ = placed([(25.0, 10, 20, "X")], [0, 1], (10.0,) * 2, [kind(0, 1)])
    assert found == [(0, 0, 0.0, 10.0), (0, 1, 0.0, 10.0)]


def test_beds_of_the_first_claim_are_used_up_before_others_are_opened():
    """Bed 1 is inside: 10 m of 25 go there, then 10 and 5 outdoors."""
    found, _ = placed(
        [(25.0, 10, 20, "X")], ([1], [0, 2]), (10.0,) * 3, [kind(0, 1, 2)]
    )
    assert found == [(0, 1, 0.0, 10.0), (0, 0, 0.0, 10.0), (0, 2, 0.0, 5.0)]


def test_a_long_sowing_does_not_follow_its_family_where_other_beds_are_free():
    """Longer than any bed, it goes to beds 1 and 2 before bed 0 of last year's family."""
    found, _ = placed(
        [(25.0, 10, 20, "X")],
        [0, 1, 2],
        (12.0, 10.0, 10.0),
        [kind(0, families="X"), kind(1, 2)],
    )
    assert found == [(0, 1, 0.0, 10.0), (0, 2, 0.0, 10.0), (0, 0, 0.0, 5.0)]


def test_no_more_cover_lies_out_at_once_than_is_owned():
    """4 m of bed take 6.5 m of fabric with its gathered ends (common practice)."""
    fabric = (CoverUse("light_fabric", 71, 100, 9.0),)
    lots = [(4.0, 10, 20, "X", fabric), (4.0, 10, 20, "X", fabric)]
    for owned_m, number in ((13.0, 2), (12.9, 1), (6.4, 0)):
        stock = CoverStock(
            (Cover(kind="light_fabric", width_m=3.0, length_m=owned_m),),
            Materials(),
            {"light_fabric": {1.0: owned_m}},
            {"light_fabric": (False,) * 53},
            None,
        )
        found, used = placed(lots, [0], (10.0,), [kind(0)], stock)
        assert len(found) == number
        if number == 2:
            (weeks,) = used.values()
            # Days 71 to 100 are weeks 10 to 14.
            assert weeks[9:16] == [0.0, *[13.0] * 5, 0.0]


# ------------------------------------------------------------------ inside tunnels
KINDS = ("none", "light_fabric", "slitted_film")


@pytest.mark.parametrize(
    ("more", "allowed", "kinds"),
    [
        ({}, None, KINDS),
        ({}, ("light_fabric",), KINDS[:2]),
        ({"may_have_hoops": False}, None, KINDS[:1]),
        # Inside a tunnel its own fabric alone, and only for crops that may have it.
        ({"in_tunnel": True}, None, KINDS[:1]),
        ({"in_tunnel": True, "inner_fabric": "light_fabric"}, None, KINDS[:2]),
        (
            {"in_tunnel": True, "inner_fabric": "light_fabric"},
            ("slitted_film",),
            KINDS[:1],
        ),
    ],
)
def test_what_may_lie_over_a_bed_at_night(more, allowed, kinds):
    found = on().beds._replace(**more).night_covers(KINDS, allowed)
    assert found == [(at, kind) for at, kind in enumerate(KINDS) if kind in kinds]


def test_fabric_inside_is_opened_each_morning_and_outdoors_only_when_it_gets_warm():
    """A bed of 19 m takes 1 + 19 / 20 minutes (common practice)."""
    stock = CoverStock(
        (),
        Materials(),
        {"light_fabric": {}},
        {"light_fabric": tuple(week == 12 for week in range(53))},
        45.0,
    )
    fabric = (CoverUse("light_fabric", 71, 91, 9.0),)  # weeks 10 to 12
    for inside, weeks in ((True, [10, 11, 12]), (False, [12])):
        uses = list(stock.uses(fabric, 19.0, 0.75, inside=inside))
        assert [use.weeks for use in uses] == [(week, week) for week in weeks]
        assert {use.amount for use in uses} == {1.95}


def test_two_covers_of_one_sowing_share_the_hands_of_a_week():
    """Each of them takes 1.2 minutes for 4 m: 2.4 in the week in which both are opened."""
    both = (
        CoverUse("light_fabric", 71, 80, 9.0),
        CoverUse("light_fabric", 80, 100, 9.0),
    )
    for hands, number in ((2.4, 1), (2.3, 0)):
        stock = CoverStock(
            (),
            Materials(),
            {"light_fabric": {}},
            {"light_fabric": (True,) * 53},
            hands,
        )
        found, _ = placed([(4.0, 10, 20, "X", both)], [0], (10.0,), [kind(0)], stock)
        assert len(found) == number


def test_a_piece_is_free_again_in_the_week_after_its_last_and_not_in_its_last():
    """Days 71 to 100 lie in weeks 10 to 14: day 105 is the last of week 14, 106 the first of 15."""
    first = (CoverUse("light_fabric", 71, 100, 9.0),)
    stock = CoverStock(
        (Cover(kind="light_fabric", width_m=3.0, length_m=6.5),),
        Materials(),
        {"light_fabric": {0.0: 6.5}},
        {"light_fabric": (False,) * 53},
        None,
    )
    for from_day, number in ((106, 2), (105, 1)):
        second = (CoverUse("light_fabric", from_day, 120, 9.0),)
        lots = [(4.0, 10, 14, "X", first), (4.0, 10, 20, "X", second)]
        found, _ = placed(lots, [0], (10.0,), [kind(0)], stock)
        assert len(found) == number
