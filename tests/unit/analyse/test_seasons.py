"""Places without a season of frost, gaps in records, and minima alone: what is said.

Made-up records of a yearly wave about a mean, coldest on 20 January (20 July in the
south), with nights 5 °C under the mean of the day and days 5 °C above it.
"""

import re
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up import say_all

from fieldmap.analyse import climatology, seasons
from fieldmap.decide import daylight
from fieldmap.decide.calendar import published_rule
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text.sentence import phrase, say
from layers import freeze

CROPS = packaged_crops()


def record(mean_c, swing_c, southern=False, years=12, half_day_c=5.0):
    days = pd.date_range("2001-01-01", f"{2000 + years}-12-31", name="date")
    turn = 2 * np.pi * (days.day_of_year.to_numpy() - 20) / 365.25
    mean = mean_c - swing_c * np.cos(turn) * (-1 if southern else 1)
    return pd.DataFrame(
        {"tmin_c": mean - half_day_c, "tmax_c": mean + half_day_c}, index=days
    )


def read(table, season=NORTH, limit_c=0.0):
    damage = SimpleNamespace(screen_c=SimpleNamespace(central=limit_c))
    crop = SimpleNamespace(early_damage_c=lambda: damage)
    weather = WeatherRecord(table)
    return climatology.read_record(weather, "weather.csv", [crop], season)


def said(fact):
    (sentence,) = say_all([fact])
    return sentence


# ------------------------------------------------------------------ weak seasons
@pytest.mark.parametrize("season", [NORTH, SOUTH])
def test_quito_has_no_season_of_frost(says, season):
    # 14 °C all year, months within 1 °C of each other: nights of about 8.5 to 9.5 °C.
    found = read(record(14.0, 0.5), season)
    assert found.kind == "no_dates_without_seasons"
    assert found["low_c"] == pytest.approx(8.5, abs=0.05)
    says(said(found), "differ by only 1 °C here,", "8.5 °C", "Rain", "not work")


def test_a_highland_with_frost_in_every_month_gets_no_odds_at_the_seam(says):
    # Nights of -3 to 1 °C with single ones 3 °C colder in each month.
    table = record(4.0, 2.0)
    table.loc[table.index.day == 15, "tmin_c"] -= 3.0
    found = read(table)
    assert found.kind == "no_dates_frost_in_every_month"
    assert (found["month"], found["in_ten"]) == (7, 10)
    # 15 July: 4 + 2 cos(5°) - 5 - 3 = -2.0 °C.
    assert found["low_c"] == pytest.approx(-2.0, abs=0.05)
    says(said(found), "even in July in 10 of 10 years", "−2 °C", "not work")


@pytest.mark.parametrize(("years", "is_withheld"), [(6, True), (5, False)])
def test_half_of_the_years_are_every_month(years, is_withheld):
    # Frost in July of 6 (5) years of 12; in winter always.
    table = record(4.0, 12.0)
    frosty = (table.index.year <= 2000 + years) & (table.index.day == 15)
    table.loc[frosty, "tmin_c"] = -1.0
    table.loc[frosty, "tmax_c"] = 9.0
    table.loc[(table.index.month != 7) & (table.index.day == 15), "tmin_c"] = -1.0
    is_fact = isinstance(read(table), Fact)
    assert is_fact == is_withheld


def test_new_zealand_has_its_last_frost_in_its_spring():
    # Mean 10 °C, 8 °C either way: nights under 0 °C while cos > 5/8, 51.3° or 52 days
    # either side of 20 July: to 10 September, day 72 of a year from July.
    found = read(record(10.0, 8.0, southern=True), SOUTH)
    odds = climatology.station_odds(found, (0.0, 0.0), (0.1, 0.1))
    assert odds.counted[0] == pytest.approx(72, abs=2)
    assert SOUTH.month_day(odds.counted[0])[0] == 9
    assert odds.counted[1] > 300  # 29 May is day 333


def test_69_degrees_north_has_its_last_frost_in_june():
    # Mean 1 °C, 12 °C either way: nights of 0 °C where -cos = 4/12, so 109.5° or 111
    # days after 20 January: to 11 May; the first again 111 days before: 1 October.
    found = read(record(1.0, 12.0))
    odds = climatology.station_odds(found, (0.0, 0.0), (0.1, 0.1))
    assert odds.counted[0] == pytest.approx(131, abs=2)
    assert odds.counted[1] == pytest.approx(274, abs=2)


@pytest.mark.parametrize(("swing_c", "has_dates"), [(2.4, False), (2.7, True)])
def test_months_five_degrees_apart_make_a_season(swing_c, has_dates):
    # The means of months reach nearly the wave's ends: 4.7 and 5.3 °C apart.
    found = read(record(20.0, swing_c))
    assert isinstance(found, Fact) != has_dates


# ------------------------------------------------------------------ gaps
def with_gap(days_missing, column="tmin_c"):
    table = record(10.0, 10.0, years=2)
    table.iloc[100 : 100 + days_missing, table.columns.get_loc(column)] = np.nan
    return table


@pytest.mark.parametrize("column", ["tmin_c", "tmax_c"])
def test_a_gap_of_three_days_is_bridged_and_one_of_four_is_not(column):
    whole = record(10.0, 10.0, years=2)[column]
    filled, (fact,) = seasons.bridged(with_gap(3, column), "weather.csv")
    # On a straight line between the days on both sides.
    ends = whole.iloc[99], whole.iloc[103]
    assert filled[column].iloc[100:103].tolist() == pytest.approx(
        [ends[0] + part * (ends[1] - ends[0]) / 4 for part in (1, 2, 3)]
    )
    assert fact == Fact("gaps_bridged", file="weather.csv", number=3, left=0, most=3)
    same, facts = seasons.bridged(with_gap(4, column), "weather.csv")
    assert same[column].isna().sum() == 4
    assert facts == ()


def test_what_is_filled_in_never_crosses_the_other_reading_of_its_day():
    """Minima of 8 °C on both sides of a day of 4 °C at the most: it had 4 at the most too.

    So with maxima of 8 °C beside a day that never fell below 9.
    """
    days = pd.date_range("2025-03-01", periods=3)
    cold = pd.DataFrame(
        {"tmin_c": [8.0, np.nan, 8.0], "tmax_c": [15.0, 4.0, 15.0]}, days
    )
    filled, _facts = seasons.bridged(cold, "weather.csv")
    assert filled.iloc[1].tolist() == [4.0, 4.0]
    warm = pd.DataFrame({"tmin_c": [1.0, 9.0, 1.0], "tmax_c": [8.0, np.nan, 8.0]}, days)
    filled, _facts = seasons.bridged(warm, "weather.csv")
    assert filled.iloc[1].tolist() == [9.0, 9.0]


def test_gaps_at_the_ends_of_a_record_stay():
    table = record(10.0, 10.0, years=2)
    table.iloc[[0, 1, -1]] = np.nan
    same, facts = seasons.bridged(table, "weather.csv")
    assert same.isna().to_numpy().sum() == 6
    assert facts == ()


def test_five_per_cent_of_missing_days_never_make_a_crop_impossible(says):
    table = record(10.0, 10.0)
    gone = np.random.default_rng(1).random(len(table)) < 0.05
    table[gone] = np.nan
    found, whole = read(table), read(record(10.0, 10.0))
    warm = found.warm_from(np.array([16.0]), of="air")
    assert np.isfinite(warm).all()
    # As without the gaps, by two days at most: the wave is smooth.
    assert warm == pytest.approx(whole.warm_from(np.array([16.0]), of="air"), abs=2)
    assert len(found.usable) == len(whole.usable)
    (fact,) = found.gaps
    assert fact["number"] > 0.9 * 2 * gone.sum()
    says(said(fact), f"{fact['number']} missing readings", "Still missing")
    assert fact in found.remarks(NORTH)


# ------------------------------------------------------------------ minima alone
def test_minima_alone_give_the_stations_own_frost_dates(says):
    # Nights of 0 °C or less while cos > 5/10, 60° or 61 days either side of 20 January:
    # from 20 November to 22 March, 2 days on either side for leap years and rounding.
    table = record(10.0, 10.0).assign(tmax_c=np.nan)
    found = read(table)
    assert found.kind == "no_dates_minima_alone"
    (month, day), (late_month, late_day) = found["spring_day"], found["autumn_day"]
    assert (month, late_month) == (3, 11)
    assert abs(day - 22) <= 2
    assert abs(late_day - 20) <= 2
    says(said(found), "lows but no highs", " March", " November", "1 year in 10")


def test_minima_alone_of_few_years_or_without_frost_give_none():
    few = record(10.0, 10.0, years=3).assign(tmax_c=np.nan)
    assert read(few).kind == "no_dates_few_minima"
    warm = record(25.0, 5.0).assign(tmax_c=np.nan)
    assert read(warm).kind == "no_dates_minima_without_frost"
    # One night of frost each autumn, and never one in spring: no first date hangs on it.
    autumn = warm.assign(tmin_c=10.0)
    autumn.loc[(autumn.index.month == 11) & (autumn.index.day == 30), "tmin_c"] = -1.0
    assert read(autumn).kind == "no_dates_minima_without_frost"
    when = freeze.calendar(few.index.to_numpy().astype("datetime64[D]"), southern=False)
    assert seasons.why_no_dates(few, "", when, NORTH).kind == "no_dates_few_minima"


# ------------------------------------------------------------------ other halves, far north
def rule_said(found, name, season):
    compared = published_rule.compare(found, CROPS[name], 0.5)
    return say(compared.fact(season), "metric")


def test_new_zealand_reads_its_spring_in_september(says):
    """Mean 10 °C, 8 either way, nights 5 under: 0 °C where cos(d - 20) is -5/8.

    At 128.7° and 231.3°, so the last on day 20 + 234.7 of the calendar: 254, which is
    11 September, or the 10th in three leap years of twelve: 9 years of 12 in the middle.
    Day 72.7 from July in the mean, read as day 72; hardy 42 to 28 days before, days 30 to
    44: 30 July to 13 August; tender on it and to 7 days after, 10 to 17 September.
    """
    found = read(record(10.0, 8.0, southern=True), SOUTH)
    (still,) = (
        fact for fact in found.remarks(SOUTH) if fact.kind == "dates_still_nights"
    )
    says(said(still), "last freeze of spring at the station comes before 11 September.")
    says(rule_said(found, "lettuce", SOUTH), "handbook says 30 July to 13 August.")
    says(
        rule_said(found, "snap bean", SOUTH),
        "handbook says 10 September to 17 September.",
    )


def test_at_69_degrees_north_spring_is_may_and_short_days_reach_march(says):
    """Mean 1 °C, 12 either way: 0 °C where cos is -1/3, 109.5° or 111.07 days after.

    The last on day 131, 11 May, or the 10th in leap years; 130.75 in the mean, read as
    130; hardy 42 to 28 days before, days 88 to 102: 29 March to 12 April. Soil of 5 °C is
    air of 3.5, where cos is -0.208, on day 124; a week of it on day 127, 7 May, give or
    take one. No soil is over 13 + 1.5 °C: beans want more than that. Days are
    under ten hours where tan(declination) < -cos 75° / tan 69°, -5.67°: by Cooper's
    formula from day 278, 5 October, to day 66 or 67.
    """
    found = read(record(1.0, 12.0))
    (still,) = (
        fact for fact in found.remarks(NORTH) if fact.kind == "dates_still_nights"
    )
    says(said(still), "last freeze of spring at the station comes before 11 May.")
    lettuce = rule_said(found, "lettuce", NORTH)
    says(
        lettuce,
        "handbook says 29 March to 12 April.",
        " May, because in a usual year, the soil reaches 5 °C",
    )
    assert re.search(r"In this plan the date is [678] May", lettuce)
    never = published_rule.compare(found, CROPS["snap bean"], 0.5)
    assert never.fact(NORTH) is None
    first, last = daylight.short_days(69.0)
    heading = phrase("sun_in_short_days", first_day=first, last_day=last)
    says(heading, "days shorter than ten hours, 5 October to", " March")
    assert last in {(3, 7), (3, 8)}
    # In the south they lie half a year on, give or take what the orbit makes of it.
    (first, _), (last, _) = daylight.short_days(-69.0)
    assert (first, last) == (4, 9)
