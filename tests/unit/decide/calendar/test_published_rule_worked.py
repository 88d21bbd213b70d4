"""The published rule beside our date, and first dates of crops, worked by hand.

Each year is alike. Minima are 0.2 (d - 120) °C on day d up to day 210, so 0 °C on day
120; maxima are 20 °C more. All nights are as clear as another, so all are still, and
leaves run 2 °C under the screen.

    last night of L °C         0.2 (d - 120) = L: day 120 + 5 L
    7-day mean of minima N     that of day d is the minimum of day d - 3: day 123 + 5 N
    7-day mean of the air T    10 °C over that of the minima: day 73 + 5 T
    soil of S °C               1.5 °C over the air (from memory): day 65.5 + 5 S
"""

import runpy
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up import analysis, beds_in, means, plane, plot_box, site, with_cold_air
from made_up_crops import crop, limit
from scipy import stats

from fieldmap.analyse.climatology import read_record
from fieldmap.decide.calendar import (
    growth,
    monte_carlo,
    planting_dates,
    published_rule,
    warm_dates,
)
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH
from fieldmap.model.settings import Risks
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import packaged_crops
from fieldmap.show.files.plan_json import sections
from fieldmap.show.map.tables.beds import station
from fieldmap.show.text.sentence import say
from layers.cover import COVERS
from layers.scatter import NO_SCATTER

CROPS = packaged_crops()
WEATHER = Path(__file__).parents[4] / "demo_site" / "make_demo_site.py"


def weather(warmer_c=0.0, years=12):
    """The years of the heading; all minima so much warmer."""
    days = pd.date_range("2001-01-01", f"{2000 + years}-12-31", name="date")
    number = NORTH.numbers(days)
    low_c = np.where(number <= 210, 0.2 * (number - 120), 0.2 * (300 - number))
    return pd.DataFrame({"tmin_c": low_c + warmer_c, "tmax_c": low_c + 20.0}, days)


def record(days=None, crops=None):
    table = weather() if days is None else days
    found = read_record(WeatherRecord(table), "", crops or [crop()], NORTH)
    assert not isinstance(found, Fact)
    return found


EVERY_YEAR = record()


def start(name, *, soft=False, risk=0.5):
    return published_rule.start_at_station(EVERY_YEAR, CROPS[name], risk, soft=soft)


# ------------------------------------------------------------------ by hand
def test_hardened_lettuce_goes_out_with_the_last_night_that_its_leaves_do_not_stand():
    """Leaves stand -7 °C, -5 at the screen: day 95. Soil of 5 °C: day 90.5, so 91."""
    found = start("lettuce")
    assert found == (95.0, 91.0, -np.inf)
    assert (found.day, found.held_by) == (95.0, "frost")
    # Soft plants stand -2 °C, 0 at the screen: day 120.
    assert start("lettuce", soft=True).day == 120.0


def test_tomatoes_in_the_field_wait_for_their_nights():
    """Frost at 0 °C, 2 at the screen: day 130; soil of 15.6: 143.5; nights of 7: 158."""
    found = start("tomato")
    assert found == (130.0, 144.0, 158.0)
    assert found.held_by == "nights"


def test_carrots_wait_for_their_soil_and_come_up_after_the_frost():
    """Soil of 7.2 °C: day 101.5, so 102. Seedlings stand -4 °C, -2 at the screen: 110.

    The soil of day d has 0.2 (d - 73) + 1.5 °C: 5.1 to 6.9 on days 91 to 100. Between 5
    and 10 °C each day is worth 1/51 + (T - 5)/5 · (1/17 - 1/51) of what seed takes. What
    is sown on day 92 is worth .98 on day 124 and 1.02 on the next, long after frost.
    """
    found = start("carrot")
    assert found.soil == 102.0
    assert found.frost < 92.0
    assert found.held_by == "soil"


def test_radish_is_sown_so_that_it_is_seen_after_its_last_frost():
    """-2.2 °C at the screen: day 109. Seed is counted day by day, as on a spreadsheet."""

    def seen(sown):
        share, day = 0.0, sown - 1
        while share < 1 - 1e-9:
            day += 1
            soil_c = 0.2 * (day - 73) + 1.5
            cold, mild = (0, 1 / 29) if soil_c < 5 else (1 / 29, 1 / 11)
            share += cold + (soil_c % 5) / 5 * (mild - cold)
        return day

    expected = next(day for day in range(60, 120) if seen(day) >= 109)
    assert start("radish").frost == expected
    assert seen(expected) >= 109 > seen(expected - 1)


def test_potato_leaves_count_from_emergence():
    """Soil of 7 °C: day 100.5, so 101. Leaves of -2 °C, 0 at the screen: day 120.

    Tubers take 40 days at 7 °C, 26 at 10 and 18 at 15, and do not grow under 2: of what
    they take .31 are there on day 100.5 (25 days of 1/80), .79 on day 115.5 (15 more of
    .0317), and all by day 121, even of what is planted on the first day of the year.
    """
    found = start("potato")
    assert found == (1.0, 101.0, -np.inf)
    seen = growth.emerges(
        growth.usual_soil_c(EVERY_YEAR.mean_c, EVERY_YEAR.calendar.day_number),
        CROPS["potato"].emergence,
    )
    assert 120.0 <= seen[0] <= 122.0


GROUND = plane()
BED = beds_in(plot_box(60, 80, 72, 83), letter="A")[:1]


def on_a_bed(*crops, days=None, covers=(), worked=None, **choices):
    """Dates on level ground like the station's, with nights that do not stray."""
    made = site(GROUND, {"Home": plot_box(40, 40, 160, 160)}, covers=covers, **choices)
    table = weather() if days is None else days
    plots = made.plots.assign(first_worked=[worked])
    here = replace(made, crops=crops, weather=WeatherRecord(table), plots=plots)
    shown = analysis(GROUND, 20.0, 0.0)
    sure = np.zeros((3, *GROUND.shape))
    shown = with_cold_air(shown, answers_c=GROUND.with_values(sure))
    known = record(table, crops)
    draws = monte_carlo.sample(
        known.usable, len(known.calendar.years), resample=False, spread=NO_SCATTER
    )
    middle = np.full(monte_carlo.DRAWS, 0.5)
    draws = replace(draws, bias=middle)
    return planting_dates.compute(here, means(here, shown, BED), BED, draws)


FILM = [{"kind": "clear_film", "width_m": 2.0, "length_m": 9.0}]


def test_under_film_tomatoes_gain_five_days_a_degree_but_for_their_soil():
    """Nights let them out on day 158 - 5 g where film is worth g °C, soil on day 144."""
    found = on_a_bed(CROPS["tomato"], covers=FILM)
    low, middle, high = COVERS["clear_film"].gain_c
    law = stats.triang((middle - low) / (high - low), low, high - low)
    field, tunnel = found.early[1, 0, :, 0]
    assert field == pytest.approx(158.0, abs=0.5)
    assert tunnel == pytest.approx(max(144.0, 158 - 5 * law.median()), abs=1.0)


def test_kale_stands_on_into_winter_and_through_a_mild_one():
    """Minima fall to -13 °C on 31 December and rise from -23.8 on 1 January.

    Hardened kale stands -12 °C at the screen: 0.2 (300 - d) = -12 on day 360, its last
    day 359. It comes through no winter; 13 °C warmer it comes through all of them.
    """
    found = on_a_bed(CROPS["kale"])
    assert found.late[1, 0, 0, 0] == pytest.approx(360.0, abs=0.5)
    assert found.winters[0, 0, 0] == 0.0
    mild = on_a_bed(CROPS["kale"], days=weather(13.0))
    assert mild.winters[0, 0, 0] == 1.0
    # At -10.8 °C in the mild one, carrots in the soil are lost, which stand -8.
    carrot = on_a_bed(CROPS["carrot"], days=weather(13.0))
    assert carrot.winters[0, 0, 0] == 0.0


def test_tomatoes_bear_until_frost_and_slacken_when_nights_average_ten():
    """Minima fall by 0.2 °C a day: 2 at the screen on day 290, for 0 °C at the leaf.

    The week to day d averages 0.2 (303 - d): under 10 °C from day 254 on.
    """
    found = on_a_bed(CROPS["tomato"])
    assert found.late[1, 0, 0, 0] == pytest.approx(290.0, abs=0.5)
    assert found.slackens[0, 0, 0] == 254.0
    assert found.autumn_risk == 0.5
    assert np.isnan(on_a_bed(CROPS["kale"]).slackens).all()


def test_a_warmer_bed_slackens_later_and_none_where_nights_stay_warm():
    """1 °C warmer on all nights, five days later than day 254; colder, five sooner."""
    c = np.array([[0.0, 1.0, -1.0]])
    shifts = SimpleNamespace(
        base=np.zeros((2, 1)), height=np.zeros(3), mean_c=lambda _shares, _draw: c
    )
    draws = SimpleNamespace(years=[0, 1])
    found = warm_dates.slackens(EVERY_YEAR, shifts, CROPS["tomato"], draws)
    assert found.tolist() == [[254.0, 259.0, 249.0]]
    mild = record(weather(30.0))
    assert np.isinf(warm_dates.slackens(mild, shifts, CROPS["tomato"], draws)).all()
    assert np.isnan(warm_dates.slackens(mild, shifts, CROPS["kale"], draws)).all()


def test_a_cool_week_of_summer_is_no_slackening_and_a_cool_summer_is_one():
    """5 °C on days 230 to 236; by day 254 the week's lows are under 10 °C for good.

    With all nights 10 °C colder the warmest week, about day 210, ends on day 213 at 7.7.
    """
    shifts = SimpleNamespace(
        base=np.zeros((1, 1)), height=np.zeros(1), mean_c=lambda *_: np.zeros((1, 1))
    )
    cool = weather()
    number = NORTH.numbers(cool.index)
    cool.loc[(number >= 230) & (number <= 236), "tmin_c"] = 5.0
    draws = SimpleNamespace(years=[0])
    for days, found in ((cool, 254.0), (weather(-10.0), 213.0)):
        slackens = warm_dates.slackens(record(days), shifts, CROPS["tomato"], draws)
        assert slackens.tolist() == [[found]]


def test_garlic_waits_longer_on_a_bed_that_is_lower_and_warmer():
    """1 °C is five days of the soil's fall: day 311 on the level, 316 and 306."""
    shifts = SimpleNamespace(height=np.array([0, 20, -20]))  # steps of 0.05 °C
    found = warm_dates.cool_from(EVERY_YEAR, shifts, CROPS["garlic"])
    assert found.tolist() == [311.0, 316.0, 306.0]


@pytest.mark.parametrize(("days", "count"), [(10.0, 0), (10.5, 1), (-10.5, 1)])
def test_more_than_ten_days_from_the_rule_are_remarked_on(days, count):
    one = SimpleNamespace(later_days=days, fact=lambda _season: Fact("published_rule"))
    assert len(published_rule.far_from_rule([None, one], NORTH)) == count


def test_a_window_before_an_early_last_frost_lies_in_the_year_before():
    """The mean last frost is 9.8 February, day 40.8: 42 and 28 days before it.

    Day -1.2 is rounded down to -2, and day 0 is 31 December, so that is 29 December.
    """
    found = published_rule.Comparison(
        CROPS["kale"],
        (40.8 - 42, 40.8 - 28),
        published_rule.Start(30.0, 20.0, -np.inf),
        35.0,
        -5.0,
    )
    assert found.window(NORTH) == ((12, 29), (1, 12))
    said = found.fact(NORTH)
    assert (said["first_day"], said["last_day"]) == ((12, 29), (1, 12))
    assert found.later_days == pytest.approx(30 - 12.8)


def test_a_mean_last_frost_wants_half_of_the_springs_to_have_one():
    def mean_of(*last):
        found = SimpleNamespace(last_freezes=lambda _limits: np.array(last))
        return published_rule.mean_last_frost(found)

    assert mean_of(100.0, 110.0, -np.inf, -np.inf, np.nan) == 105.0
    assert mean_of(100.0, -np.inf, -np.inf) is None


def test_garlic_goes_in_on_the_day_that_soil_falls_to_its_limit():
    """20 °C of air, and from day 201 on 1.5 °C under the limit: a week of it on day 207."""
    limit_c = CROPS["garlic"].autumn_soil_c.value
    day = np.arange(1, 366)
    known = SimpleNamespace(
        mean_c=np.where(day <= 200, 20.0, limit_c - 1.5),
        calendar=SimpleNamespace(day_number=day),
    )
    shifts = SimpleNamespace(height=np.array([0]))
    assert warm_dates.cool_from(known, shifts, CROPS["garlic"]).tolist() == [207.0]
    # Where it is cool all summer it waits for the second half of the year, day 183.
    known.mean_c[:] = limit_c - 1.5
    assert warm_dates.cool_from(known, shifts, CROPS["garlic"]).tolist() == [183.0]


def test_garlic_waits_for_the_soil_to_cool_where_the_warmest_days_come_late():
    """Cool to day 220, warm to 260, then cool: the week of 254 to 260 is gone by 267."""
    limit_c = CROPS["garlic"].autumn_soil_c.value
    day = np.arange(1, 366)
    known = SimpleNamespace(
        mean_c=np.where((day > 220) & (day <= 260), limit_c + 5.0, limit_c - 1.5),
        calendar=SimpleNamespace(day_number=day),
    )
    shifts = SimpleNamespace(height=np.array([0]))
    assert warm_dates.cool_from(known, shifts, CROPS["garlic"]).tolist() == [267.0]


def test_autumn_has_a_risk_of_its_own():
    """Frost of autumn on days 280, 281 to 290 of eleven years: the median is day 285.

    At 1 in 12 it is the first of them.
    """
    days = weather(years=11)
    ends = 280 + days.index.year - 2001
    day = NORTH.numbers(days.index)
    low_c = np.where((day >= 100) & (day < ends), 20.0, -5.0)
    table = days.assign(tmin_c=low_c, tmax_c=low_c + 10.0)
    found = on_a_bed(crop("bean"), days=table)
    assert found.late[1, 0, 0, 0] == 285.0
    careful = on_a_bed(crop("bean"), days=table, risk={"autumn": 1 / 12})
    assert careful.late[1, 0, 0, 0] == pytest.approx(280.0)
    np.testing.assert_array_equal(careful.early, found.early)


def test_no_date_stands_before_the_ground_can_be_worked():
    """10 May is day 130; kale would go out on day 95, tomatoes wait until day 158."""
    free, later = (
        on_a_bed(CROPS["kale"], CROPS["tomato"], worked=worked)
        for worked in (None, (5, 10))
    )
    assert free.early[1, :, 0, 0] == pytest.approx([95.0, 158.0], abs=0.5)
    assert later.early[1, :, 0, 0] == pytest.approx([130.0, 158.0], abs=0.5)
    asked = [
        "dates_first_worked_unknown" in {fact.kind for fact in each.remarks}
        for each in (free, later)
    ]
    assert asked == [True, False]


def test_a_last_sowing_never_stands_before_the_first():
    """75 days of bean after day 200 do not fit before the frost of day 270."""
    warm = weather()
    day = NORTH.numbers(warm.index)
    for begins, is_there in ((150, True), (200, False)):
        low_c = np.where((day >= begins) & (day < 270), 20.0, -5.0)
        table = warm.assign(tmin_c=low_c, tmax_c=low_c + 10.0)
        found = on_a_bed(crop("bean"), days=table)
        assert np.isfinite(found.last_sowing[1]).all() == is_there


def test_garlic_is_planted_once_soil_is_cool():
    """Winter is still to come then, and the harvest is next year's.

    The mean of the air on day d is 0.2 (300 - d) + 10, that of the week 0.2 (353 - d),
    of soil 1.5 more: 10 °C on day 353 - 42.5 = 310.5, so from day 311 on.
    """
    found = on_a_bed(CROPS["garlic"], CROPS["tomato"])
    assert found.early[1, 0, 0, 0] == 311.0
    assert np.isnan(found.last_sowing[:, 0]).all()
    assert found.published[0] is None


# ------------------------------------------------------------------ the rule
def test_windows_of_the_rule_are_counted_from_the_mean_last_frost():
    """Day 120 less six and four weeks, three and two, itself, and one and two after."""
    windows = [
        published_rule.compare(EVERY_YEAR, CROPS[name], 0.5).rule
        for name in ("lettuce", "cabbage", "tomato", "squash")
    ]
    assert windows == [(78, 92), (99, 106), (120, 127), (127, 134)]


def test_a_date_after_the_window_says_by_how_much_and_what_holds_it():
    found = published_rule.compare(EVERY_YEAR, CROPS["tomato"], 0.1)
    assert (found.later_days, found.limit_c, found.days_by_risk) == (31.0, 7.0, 0.0)
    assert found.fact(NORTH) == Fact(
        "published_rule",
        crop="tomato",
        first_day=(4, 30),
        last_day=(5, 7),
        here_day=(6, 7),
        because=Fact("held_by_nights", limit_c=7.0),
        risk=Fact("risk_adds_none"),
    )
    early = crop(
        "x", "warm_loving", sow_soil_c=limit(-9.0), damage_c=limit(-9.0, at="screen")
    )
    assert published_rule.compare(EVERY_YEAR, early, 0.5).later_days == 75 - 127


def test_the_rule_stands_beside_our_date_in_words():
    found = on_a_bed(CROPS["tomato"], CROPS["garlic"])
    shown = station(found, "metric")
    tomato, garlic = (row.cells[-3:] for row in shown.rows)
    assert tomato == (
        "30 April to 7 May",
        "7 June",
        "In a usual year, nights have 7 °C on average from this date on. "
        "With your risk, the date stays the same.",
    )
    assert garlic == ("–", "–", "–")
    assert "Purdue HO-203" in shown.notes[-1]
    (fact,) = (each.fact(NORTH) for each in found.published if each is not None)
    said = say(fact, "metric")
    assert said.startswith(
        "Tomato: the handbook says 30 April to 7 May. In this plan the date is 7 June, because "
    )
    # It is 31 days after: that is remarked on; lettuce, 3 days after, is not.
    assert fact in found.remarks
    near = on_a_bed(CROPS["lettuce"])
    assert "published_rule" not in {each.kind for each in near.remarks}


def test_the_days_that_the_risk_adds_stand_apart():
    """Last frosts on days 100 to 110 of eleven years: 105 in one of two, 110 in one of 12."""
    days = weather(years=11)
    day, ends = NORTH.numbers(days.index), 100 + days.index.year - 2001
    low_c = np.where(day <= ends, -3.0, 12.0)
    table = days.assign(tmin_c=low_c, tmax_c=low_c + 10.0)
    grown = crop(sow_soil_c=limit(-20.0))
    found = published_rule.compare(record(table), grown, 1 / 12)
    assert (found.start.day, found.days_by_risk) == (105.0, pytest.approx(5.0))
    fact = found.fact(NORTH)
    assert fact["risk"] == Fact("risk_adds", number=5)
    assert fact["because"].kind == "held_by_emergence"


def test_where_most_springs_have_no_frost_there_is_no_rule():
    free = weather(40.0)
    assert published_rule.mean_last_frost(record(free)) is None
    assert published_rule.compare(record(free), crop(), 0.1) is None


def test_where_it_never_gets_warm_our_date_never_comes_and_nothing_is_said_of_it():
    """Means rise to 28 °C: soil of 40 °C never comes."""
    found = published_rule.compare(EVERY_YEAR, crop(sow_soil_c=limit(40.0)), 0.1)
    assert np.isinf(found.later_days)
    assert found.fact(NORTH) is None
    assert published_rule.far_from_rule([found, None], NORTH) == []
    assert sections._rule(found, NORTH)["days_after_rule"] is None
    assert sections._rule(found, NORTH)["here"] is None


# ------------------------------------------------------------------ on a whole climate
def on_cold_winters():
    """Comparison of every crop of the rule's own lists, on a climate as cold as its own.

    Eighteen invented years: January at -8, July at 20 °C, the last freeze in May.
    """
    script = runpy.run_path(str(WEATHER))
    days = script["weather"](script["Climate"](2008, 34, 6.4, 14.0, 4.1, 1.2))
    listed = [c for c in CROPS.values() if c.crop_class.source == "Purdue HO-203"]
    known = record(days, listed)
    return [
        published_rule.compare(known, each, Risks().of(each.crop_class.value))
        for each in listed
    ]


def test_four_crops_of_five_stand_within_ten_days_of_the_published_rule():
    found = on_cold_winters()
    assert len(found) >= 30
    near = [each for each in found if abs(each.later_days) <= 10]
    assert len(near) >= 0.8 * len(found)
    for each in found:
        if abs(each.later_days) > 10:  # what holds it is no frost, and has its day
            assert each.start.held_by in ("soil", "nights")
            assert each.start.day == getattr(each.start, each.start.held_by)
            assert np.isfinite(each.limit_c)
        assert each.days_by_risk >= 0
