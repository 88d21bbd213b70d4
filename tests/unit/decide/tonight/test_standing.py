"""What stands on an evening, by plan and field log, worked by hand."""

from dataclasses import replace
from datetime import date, timedelta
from math import inf

import pandas as pd
import pytest
from made_up_crops import crop, growth, limit

from fieldmap.decide.crop_plan.model import BedPart, CoverUse, CropPlan, Stay
from fieldmap.decide.tonight.standing import (
    NO_FLOWERS,
    Flowers,
    flower_days,
    season_begins,
    stand,
    up_days,
)
from fieldmap.model.estimate import Estimate
from fieldmap.model.field_log import Happened
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.read.crops import packaged_crops

# 6 May is day 126 of the year, a Wednesday in 2026.
DAY = date(2026, 5, 6)
LEAF = crop("leaf", damage_c=limit(-4.0, at="screen"))
HUT = crop("hut", damage_c=limit(0.0, at="screen"))


def stay(bed, name="leaf", first=100, last=200, harvest=150, covers=()):
    return Stay(
        season="spring",
        from_day=first,
        harvest_day=harvest,
        to_day=last,
        covers=tuple(covers),
        bed=bed,
        crop=name,
        days_by_place=0.0,
    )


def line(day, bed, what="planted", name="leaf", number=2):
    return Happened(number, day, bed, what, name, "", None)


def found(
    *,
    stays=(),
    log=(),
    day=DAY,
    crops=(LEAF, HUT),
    season=NORTH,
    soft=(),
    up=None,
    flowers=NO_FLOWERS,
):
    plan = CropPlan(stays=tuple(stays), season=season)
    return stand(day, plan, crops, log, frozenset(soft), up, flowers)


def names(here):
    return [(each.bed, each.crop) for each in here.standing]


# ------------------------------------------------------------------ seed in the soil
@pytest.mark.parametrize(("season", "sown"), [(NORTH, 116), (SOUTH, 116 - 181 + 365)])
def test_a_seed_takes_as_long_as_on_its_day_of_sowing(season, sown):
    """Sown on 26 April, day 116, or 300 of a year from 1 July, day 182: ten days ago."""
    for day, keeps in ((sown - 1, ""), (sown, "seed"), (sown + 1, "")):
        days = [1.0] * 365
        days[day - 1] = 11.0
        here = found(
            log=[line(date(2026, 4, 26), "A1")], season=season, up={"leaf": days}
        )
        assert [each.keeps for each in here.standing] == [keeps]


# ------------------------------------------------------------------ by the plan
def test_a_stay_stands_from_its_first_day_to_its_last():
    stays = [
        stay("A1", first=126),
        stay("A2", first=127),
        stay("A3", last=126),
        stay("A4", last=125),
        stay("A5", "gone"),
    ]
    here = found(stays=stays)
    assert names(here) == [("A1", "leaf"), ("A3", "leaf")]
    assert (here.log_until, here.is_known) == (None, True)
    assert found().is_known is False


def test_days_of_the_south_are_counted_from_july():
    # 6 May is day 310 from 1 July.
    stays = [stay("A1", first=310, last=310), stay("A2", first=126, last=126)]
    assert names(found(stays=stays, season=SOUTH)) == [("A1", "leaf")]


def test_growth_is_whole_weeks_up_to_monday_with_those_in_the_tray():
    """Sown on 6 April, day 96: 28 days on Monday 4 May are 4 weeks, all week long."""
    for day in (date(2026, 5, 4), DAY, date(2026, 5, 10)):
        (one,) = found(stays=[stay("A1", first=96)], day=day).standing
        assert one.growth_weeks == 4
    (one,) = found(stays=[stay("A1", first=96)], day=date(2026, 5, 11)).standing
    assert one.growth_weeks == 5
    # Set out on that day after six weeks in the tray.
    out = crop("leaf", sow_soil_c=None, set_out_soil_c=limit(8.0), tray_weeks=limit(6))
    (one,) = found(stays=[stay("A1", first=96)], crops=[out]).standing
    assert one.growth_weeks == 10
    # What was sown today has grown for a week at the least.
    (one,) = found(stays=[stay("A1", first=126)]).standing
    assert one.growth_weeks == 1


def test_the_cover_that_warms_and_lies_there_is_known():
    uses = [
        CoverUse("light_fabric", 100, 125, 1.0),
        CoverUse("shade_40", 120, 200, 1.0),
    ]
    stays = [
        stay("A1", covers=uses),
        stay("A2", covers=[CoverUse("slitted_film", 100, 126, 1.0)]),
    ]
    assert [each.cover for each in found(stays=stays).standing] == ["", "slitted_film"]


@pytest.mark.parametrize(
    ("first", "last", "lies"),
    [(126, 200, True), (127, 200, False), (100, 126, True), (100, 125, False)],
)
def test_a_cover_lies_from_its_first_day_to_its_last(first, last, lies):
    """On the evening of day 126."""
    film = CoverUse("clear_film", first, last, 1.0)
    (one,) = found(stays=[stay("A1", covers=[film])]).standing
    assert one.cover == ("clear_film" if lies else "")


def test_a_stay_may_take_a_part_of_its_bed():
    part = replace(stay("A1"), part=BedPart(5.0, 7.5))
    (one, other) = found(stays=[part, stay("A2")]).standing
    assert (one.part_m, other.part_m) == ((5.0, 12.5), (0.0, inf))


def test_ripe_in_the_week_of_its_first_harvest_by_plan_and_by_log():
    """Sunday is 10 May, day 130: A1 is ripe by then, A2 on Monday.

    60 days from 11 March are 10 May.
    """
    stays = [stay("A1", harvest=130), stay("A2", harvest=131)]
    for day in (date(2026, 5, 4), DAY, date(2026, 5, 10)):
        here = found(stays=stays, day=day).standing
        assert [each.is_ripe for each in here] == [True, False]
    quick = crop("leaf", days_to_maturity=growth(60, 80))
    log = [line(date(2026, 3, 11), "A1"), line(date(2026, 3, 12), "A2")]
    here = found(log=log, crops=[quick]).standing
    assert [each.is_ripe for each in here] == [True, False]
    # Nobody knows how long it takes.
    slow = crop("leaf", days_to_maturity=None, degree_days=growth(800, 900))
    (unknown,) = found(log=log[:1], crops=[slow]).standing
    assert not unknown.is_ripe


def test_what_was_sown_lies_in_the_soil_for_ten_days():
    """Day 126: sown on 117 it is in its tenth day, sown on 116 it is up."""
    stays = [stay("A1", first=117), stay("A2", first=116)]
    assert [each.keeps for each in found(stays=stays).standing] == ["seed", ""]
    out = crop("leaf", sow_soil_c=None, set_out_soil_c=limit(8.0), tray_weeks=limit(6))
    (plant,) = found(stays=stays[:1], crops=[out]).standing
    assert plant.keeps == ""


def test_a_potato_is_in_cold_soil_for_weeks():
    """26 days at 10 °C (crops.toml, from memory), the day of planting the first of them.

    Planted on day 101 it is seen on day 126, and on that of 102 a day later. By plan or by
    log: 11 April is day 101. A crop of which that is not known is up after ten days.
    """
    potato = packaged_crops()["potato"]
    days = pd.date_range("2024-01-01", "2025-12-31")
    air = pd.DataFrame({"tmin_c": 3.5, "tmax_c": 13.5}, index=days)  # soil 1.5 warmer
    up = up_days([potato, LEAF], air, NORTH)
    assert up.keys() == {"potato"}
    assert set(up["potato"]) == {25.0}
    stays = [stay(bed, "potato", first) for bed, first in (("A1", 101), ("A2", 102))]
    log = [
        line(date(2026, 4, at), bed, name="potato")
        for bed, at in (("A1", 11), ("A2", 12))
    ]
    for more in ({"stays": stays}, {"log": log}):
        here = found(crops=[potato], up=up, **more).standing
        assert [each.keeps for each in here] == ["", "seed"]
    assert [
        each.keeps for each in found(stays=[stay("A1", first=116)], up=up).standing
    ] == [""]
    assert up_days([potato], air.iloc[:0], NORTH) == {}


def test_seedlings_stay_soft_for_eighteen_days_once_they_are_up():
    """Up after 25 days, so soft until day 42 from sowing."""
    sown = crop(
        "leaf",
        damage_c=limit(-4.0, at="screen"),
        seedling_c=limit(-1.0, at="screen"),
    )
    up = {"leaf": (25.0,) * 365}
    for days, limit_c in ((42, -1.0), (43, -4.0)):
        stays = [stay("A1", first=126 - days)]
        (one,) = found(stays=stays, crops=[sown], up=up).standing
        assert one.limit_c.central == limit_c


# ------------------------------------------------------------------ in leaf and in flower
def days_of(mean_c):
    """Two years whose days all have one mean."""
    days = pd.date_range("2024-01-01", "2025-12-31")
    return pd.DataFrame({"tmin_c": mean_c - 5, "tmax_c": mean_c + 5}, index=days)


def test_peas_stand_the_limit_of_their_leaves_until_they_may_flower():
    """In a mean of 8.4 °C, 3 °C warmer to be safe, a day has 11.4 - 4.4 = 7 K d.

    They may flower after 0.5 x 694 = 347 K d, which the 50th day fills: 49 days after
    that of sowing. Leaves stand -7 °C, flowers -3 °C, and the air is 2 °C warmer than
    they are. By plan and by log: 18 March is 49 days before 6 May.
    """
    pea = packaged_crops()["pea"]
    flowers = flower_days([pea, LEAF], days_of(8.4), NORTH)
    assert flowers.keys() == {"pea"}
    assert set(flowers["pea"]) == {49.0}
    # Up after ten days, and seedlings until day 28.
    for days, limit_c in ((27, -5.0), (28, -5.0), (48, -5.0), (49, -1.0), (80, -1.0)):
        log = [line(DAY - timedelta(days), "A1", name="pea")]
        for more in ({"stays": [stay("A1", "pea", first=126 - days)]}, {"log": log}):
            here = found(crops=[pea], flowers=Flowers(flowers), **more)
            assert [each.limit_c.central for each in here.standing] == [limit_c]


def test_where_flowers_may_be_sooner_or_nothing_is_known_they_count_after_seedlings():
    """In a walk-in tunnel, and without a record: -3 °C from day 28 on, as in flower."""
    pea = packaged_crops()["pea"]
    days = flower_days([pea], days_of(8.4), NORTH)
    assert flower_days([pea], days_of(8.4).iloc[:0], NORTH) == {}
    stays = [stay(bed, "pea", first=126 - 30) for bed in ("A1", "T1")]
    for flowers, limits_c in (
        (Flowers(days, frozenset({"T1"})), [-5.0, -1.0]),
        (NO_FLOWERS, [-1.0, -1.0]),
    ):
        here = found(stays=stays, crops=[pea], flowers=flowers).standing
        assert [each.limit_c.central for each in here] == limits_c


def test_days_to_flowers_are_those_of_the_day_of_sowing():
    """Sown on day 90 they flower after 30 days, on all other days after 50."""
    pea = packaged_crops()["pea"]
    days = [50.0] * 365
    days[89] = 30.0
    stays = [stay(bed, "pea", first) for bed, first in (("A1", 90), ("A2", 89))]
    here = found(stays=stays, crops=[pea], flowers=Flowers({"pea": days})).standing
    assert [each.limit_c.central for each in here] == [-1.0, -5.0]


# ------------------------------------------------------------------ by the log
def test_the_log_takes_the_place_of_what_the_plan_began_by_its_last_line():
    """Last line on 1 May, day 121: A2 is not in the log, A3 is set out on 3 May."""
    stays = [
        stay("A1", "hut"),
        stay("A2"),
        stay("A3", first=123),
        stay("A4", first=121),
    ]
    log = [line(date(2026, 4, 20), "A1"), line(date(2026, 5, 1), "B1", "low", "")]
    here = found(stays=stays, log=log)
    assert names(here) == [("A1", "leaf"), ("A3", "leaf")]
    assert here.log_until == date(2026, 5, 1)


def test_the_log_of_other_years_and_of_later_days_does_not_count():
    stays = [stay("A1")]
    for day in (date(2025, 12, 31), date(2026, 5, 7)):
        here = found(stays=stays, log=[line(day, "A2")])
        assert names(here) == [("A1", "leaf")]
        assert here.log_until is None
    first = found(stays=stays, log=[line(date(2026, 1, 1), "A2")])
    assert first.log_until == date(2026, 1, 1)
    today = found(stays=stays, log=[line(DAY, "A2")])
    assert names(today) == [("A2", "leaf")]
    # A low alone says nothing of what is planted.
    low = found(stays=stays, log=[line(date(2026, 5, 1), "A1", "low", "")])
    assert low.log_until is None


def test_what_is_lost_is_gone_and_what_is_held_stands_that_evening():
    planted = [line(date(2026, 4, 1), "A1"), line(date(2026, 4, 1), "A2", name="hut")]
    for what, stands in (("lost", False), ("held", True)):
        here = found(log=[*planted, line(DAY, "A1", what)])
        assert (("A1", "leaf") in names(here)) is stands
        before = found(log=[*planted, line(DAY - timedelta(1), "A1", what)])
        assert names(before) == [("A2", "hut")]
    # Of another crop it says nothing.
    assert len(names(found(log=[*planted, line(DAY, "A1", "lost", "hut")]))) == 2


def test_a_later_planting_takes_the_place_and_one_of_the_same_day_stands_beside():
    log = [
        line(date(2026, 4, 1), "A1", number=2),
        line(date(2026, 4, 20), "A1", name="hut", number=3),
        line(date(2026, 4, 1), "A2", number=4),
        line(date(2026, 4, 1), "A2", name="hut", number=5),
    ]
    assert names(found(log=log)) == [("A1", "hut"), ("A2", "leaf"), ("A2", "hut")]
    # The order in which they are given does not count.
    assert found(log=log[::-1]).standing == found(log=log).standing


def test_what_overwinters_stands_on_into_the_next_year_and_no_longer():
    hardy = crop(
        "kale",
        damage_c=limit(-7.0, at="screen"),
        late_c=limit(-12.0, at="screen", of="overwintered plant"),
    )
    now = line(date(2026, 4, 1), "B1")
    for began, stands in (
        (date(2025, 9, 1), True),
        (date(2025, 5, 7), True),
        (date(2025, 5, 6), False),  # 365 days
    ):
        log = [line(began, "A1", name="kale"), line(began, "A2"), now]
        here = names(found(log=log, crops=[LEAF, hardy]))
        assert here == [*([("A1", "kale")] if stands else []), ("B1", "leaf")]


def test_a_line_of_a_crop_that_is_not_wanted_any_more_is_passed_over():
    log = [line(date(2026, 4, 1), "A1", name="okra"), line(date(2026, 4, 1), "A2")]
    assert names(found(log=log)) == [("A2", "leaf")]


@pytest.mark.parametrize(
    ("day", "season", "begins"),
    [
        (date(2026, 5, 6), NORTH, date(2026, 1, 1)),
        (date(2026, 6, 30), SOUTH, date(2025, 7, 1)),
        (date(2026, 7, 1), SOUTH, date(2026, 7, 1)),
    ],
)
def test_a_season_year_begins_in_january_or_july(day, season, begins):
    assert season_begins(day, season) == begins


def test_what_the_plan_lets_stand_through_winter_stands_in_the_spring_after():
    """From 1 September, day 244, to 10 May of the next year, day 365 + 130 = 495."""
    through = stay("A1", first=244, last=495, harvest=300)
    assert names(found(stays=[through])) == [("A1", "leaf")]
    assert names(found(stays=[through], day=date(2026, 5, 10))) == [("A1", "leaf")]
    assert names(found(stays=[through], day=date(2026, 5, 11))) == []
    # 1 September to 6 May are 247 days: 35 weeks, and 2 days since Monday.
    (one,) = found(stays=[through]).standing
    assert one.growth_weeks == 35
    # Once this season's log is kept it says what is left of last year's.
    now = line(date(2026, 4, 1), "B1")
    assert names(found(stays=[through], log=[now])) == [("B1", "leaf")]


def test_what_stood_through_winter_is_gone_where_the_next_crop_takes_its_metres():
    """In the ground from day 300 to day 180 of the year after; day 120 is 30 April."""
    winter = stay("A1", first=300, last=365 + 180, harvest=360)
    april = date(2026, 4, 30)
    (old,) = found(stays=[winter], day=april).standing
    assert old.growth_weeks > 8
    taken = [stay("A1", first=115, last=250, harvest=200), winter]
    (alone,) = found(stays=taken, day=april).standing
    assert alone.growth_weeks < 8
    (before,) = found(stays=taken, day=date(2026, 4, 24)).standing  # day 114
    assert before.growth_weeks > 8
    # It is gone on the day that the next is set out, or film is laid for that: 108 is 18
    # April.
    assert len(found(stays=taken, day=date(2026, 4, 25)).standing) == 1
    film = CoverUse("clear_film", 108, 130, 1.0)
    laid = [replace(taken[0], covers=(film,)), winter]
    assert found(stays=laid, day=date(2026, 4, 18)).standing == ()
    assert len(found(stays=laid, day=date(2026, 4, 17)).standing) == 1
    # A neighbour on other metres of the bed takes nothing.
    first, rest = BedPart(0.0, 5.0), BedPart(5.0, 5.0)
    beside = [replace(taken[0], part=first), replace(winter, part=rest)]
    assert len(found(stays=beside, day=april).standing) == 2


# ------------------------------------------------------------------ what harms it
def limit_of(one_crop, days, *, day=DAY, harvest=None, soft=()):
    """Limit of a crop that has stood for `days` days by the plan, and why it keeps."""
    number = NORTH.day_of(day.month, day.day)
    ripe = number + 1 if harvest is None else number - days + harvest
    begun = stay("A1", one_crop.name, first=number - days, last=365, harvest=ripe)
    (one,) = found(stays=[begun], day=day, crops=[one_crop], soft=soft).standing
    return one.limit_c.central, one.keeps


def test_seedlings_are_soft_for_four_weeks():
    sown = crop(
        "leaf",
        damage_c=limit(-4.0, at="screen"),
        seedling_c=limit(-1.0, at="screen"),
    )
    assert limit_of(sown, 27) == (-1.0, "")
    assert limit_of(sown, 28) == (-4.0, "")


def test_plants_that_were_not_hardened_are_soft_for_two_weeks():
    out = crop(
        "leaf",
        damage_c=limit(-4.0, at="screen"),
        soft_c=limit(-1.0, at="screen"),
        sow_soil_c=None,
        set_out_soil_c=limit(8.0),
    )
    assert limit_of(out, 13, soft=["leaf"]) == (-1.0, "")
    assert limit_of(out, 14, soft=["leaf"]) == (-4.0, "")
    assert limit_of(out, 13) == (-4.0, "")


def test_a_root_keeps_where_its_leaves_are_lost():
    root = crop(
        "root",
        damage_c=limit(-2.0, at="screen"),
        late_c=limit(-8.0, at="screen", of="root"),
    )
    assert limit_of(root, 27) == (-2.0, "")
    assert limit_of(root, 28) == (-8.0, "root")


def test_what_bears_is_softer_than_its_leaves_once_it_is_ripe():
    head = crop(
        "head",
        damage_c=limit(-6.0, at="screen"),
        late_c=limit(-3.0, at="screen", of="bearing plant"),
    )
    assert limit_of(head, 60, harvest=61) == (-6.0, "")
    assert limit_of(head, 60, harvest=60) == (-3.0, "")


def test_leaves_that_overwinter_are_hard_after_six_weeks_from_november_to_march():
    kale = crop(
        "kale",
        damage_c=limit(-7.0, at="screen"),
        late_c=limit(-12.0, at="screen", of="overwintered plant"),
    )
    for month_day, hard in (((10, 31), False), ((11, 1), True), ((4, 1), False)):
        said = limit_of(kale, 42, day=date(2026, *month_day))
        assert said == ((-12.0, "hardened") if hard else (-7.0, ""))
    assert limit_of(kale, 41, day=date(2026, 12, 1)) == (-7.0, "")
    assert limit_of(kale, 42, day=date(2026, 3, 31)) == (-12.0, "hardened")


def test_of_what_is_in_the_log_the_days_to_maturity_say_when_it_is_ripe():
    """60 days from sowing: planted on 7 March it is ripe on 6 May."""
    head = crop(
        "head",
        damage_c=limit(-6.0, at="screen"),
        late_c=limit(-3.0, at="screen", of="bearing plant"),
        days_to_maturity=growth(60, 80),
    )
    for began, ends_c in ((date(2026, 3, 7), -3.0), (date(2026, 3, 8), -6.0)):
        (one,) = found(log=[line(began, "A1", name="head")], crops=[head]).standing
        assert one.limit_c.central == ends_c


def test_a_limit_of_the_plant_is_taken_to_the_screen():
    plant = crop("leaf", damage_c=limit(0.0, at="plant"))
    (one,) = found(stays=[stay("A1")], crops=[plant]).standing
    assert one.limit_c == Estimate(0.0, 2.0, 4.0)
    assert one.part_m == (0.0, inf)
