"""A weather record as the dates of its years, with freezes put where they are wanted."""

import numpy as np
import pandas as pd
import pytest
from made_up_crops import crop, limit

from fieldmap.analyse import climatology
from fieldmap.analyse.climatology import Record
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.site import WeatherRecord
from layers import freeze
from layers.nights import MIXED, STILL, WINDY

YEARS = 11


def day_numbers(days):
    return NORTH.numbers(days)


def record(freeze_c=-1.0, years=YEARS, kinds=None, **more):
    """In year k the last freeze of spring is day 100 + k, the first of autumn 290 + k.

    All other nights have 9 °C.
    """
    days = np.arange("2001-01-01", f"{2001 + years}-01-01", dtype="datetime64[D]")
    number = day_numbers(days)
    year = days.astype("datetime64[Y]").astype(int) + 1970 - 2001
    low = np.where((number == 100 + year) | (number == 290 + year), freeze_c, 9.0)
    plain = {
        "calendar": freeze.calendar(days, southern=False),
        "tmin_c": low,
        "mean_c": low + 5.0,
        "kinds": np.full(len(days), STILL, np.int8) if kinds is None else kinds(number),
        "is_wind_known": False,
        "usable": np.arange(years),
    }
    return Record(**plain | more)


# ------------------------------------------------------------------ odds
def test_one_year_in_four_by_count_and_by_theory():
    """Of 100 to 110 the ninth, as 0.75 · 12 = 9: day 108; of 290 to 300 the third: 292.

    Mean 105, standard deviation √11 = 3.317; z of 0.75 is 0.6745: 107.24; and
    295 - 2.24 = 292.76.
    """
    found = climatology.station_odds(record(), (0.0, 0.0), (0.25, 0.25))
    assert found.limits_c == (0.0, 0.0)
    assert (found.risks, found.years) == ((0.25, 0.25), (11, 11))
    assert found.counted == (108.0, 292.0)
    assert found.by_theory == pytest.approx((107.237, 292.763), abs=1e-3)


def test_autumn_has_its_own_limit_and_risk():
    """The middle of 290 to 300 is day 295; 0 °C was never passed by a night of -1."""
    here = record()
    found = climatology.station_odds(here, (0.0, 0.0), (0.25, 0.5))
    assert found.counted == (108.0, 295.0)
    found = climatology.station_odds(here, (0.0, -9.0), (0.25, 0.5))
    assert found.counted == (108.0, np.inf)


def test_the_last_freeze_of_all_kinds_has_a_limit_for_still_nights_and_others():
    """Nights of spring are still: the limit of other nights is not asked."""
    still = record(kinds=lambda number: np.where(number < 200, STILL, MIXED))
    last = still.last_freezes((0.0, -9.0))
    assert last.tolist() == [float(day) for day in range(100, 111)]
    assert np.isneginf(still.last_freezes((-9.0, 0.0))).all()
    mixed = record(kinds=lambda number: np.full(len(number), MIXED))
    assert mixed.last_freezes((-9.0, 0.0)).tolist() == last.tolist()


def test_the_coldest_night_of_a_winter_is_of_two_years():
    """A winter runs from day 183 of a year to day 182 of the next.

    The nights of autumn and those of the spring after are -1 °C or so; -20 °C on day 30
    of the second year is of the first winter, on day 340 of the second.
    """
    here = record(years=3)
    low, number = here.tmin_c.copy(), here.calendar.day_number
    year = here.calendar.year_index
    low[(year == 1) & (number == 30)] = -20.0
    low[(year == 1) & (number == 340)] = -30.0
    cold = record(years=3, tmin_c=low)
    coldest = np.minimum(cold.coldest_of_winters(STILL), cold.coldest_of_winters(MIXED))
    # The winter of the third year is cut off.
    assert coldest[:2].tolist() == [-20.0, -30.0]
    assert np.isnan(coldest[2:]).all()


@pytest.mark.parametrize(("missing", "known"), [(10, True), (11, False)])
def test_ten_nights_of_a_winter_may_be_missing(missing, known):
    """Of 365 nights from day 183 of 2001 on; from day 300 on some are missing."""
    whole = record(years=2)
    low, number = whole.tmin_c.copy(), whole.calendar.day_number
    low[
        (whole.calendar.year_index == 0) & (number >= 300) & (number < 300 + missing)
    ] = np.nan
    found = record(years=2, tmin_c=low).coldest_of_winters(STILL)[0]
    assert np.isfinite(found) == known


def test_under_ten_years_nothing_is_counted():
    found = climatology.station_odds(record(years=10), (0.0, 0.0), (0.25, 0.25))
    # Of ten the 8.25th: 107.25.
    assert found.counted[0] == pytest.approx(107.25)
    found = climatology.station_odds(record(years=9), (0.0, 0.0), (0.25, 0.25))
    assert np.isnan(found.counted).all()
    assert found.years == (9, 9)
    assert found.by_theory[0] == pytest.approx(104 + 0.67449 * np.sqrt(7.5), abs=1e-3)
    one = climatology.station_odds(record(years=1), (0.0, 0.0), (0.25, 0.25))
    assert np.isnan(one.by_theory).all()
    assert np.isfinite(
        climatology.station_odds(record(years=2), (0.0, 0.0), (0.25, 0.25)).by_theory[0]
    )


@pytest.mark.parametrize(("freeze_c", "counts"), [(5e-7, True), (2e-6, False)])
def test_a_night_at_the_limit_is_a_freeze(freeze_c, counts):
    found = climatology.station_odds(record(freeze_c), (0.0, 0.0), (0.25, 0.25))
    assert np.isfinite(found.counted[0]) == counts
    spring, autumn = record(freeze_c).freezes(np.array([0.0, -5.0]), STILL)
    assert spring.shape == autumn.shape == (2, 11)
    assert (spring[0, 0] == 100) == counts
    assert (autumn[0, 10] == 300) == counts
    assert np.isneginf(spring[1]).all()


def test_freezes_of_one_kind_of_night_leave_out_the_others():
    """Nights of spring are still, those of autumn mixed."""
    here = record(kinds=lambda number: np.where(number < 200, STILL, MIXED))
    spring, autumn = here.freezes(np.array([0.0]), STILL)
    assert spring[0, :2].tolist() == [100.0, 101.0]
    assert np.isposinf(autumn).all()
    spring, autumn = here.freezes(np.array([0.0]), MIXED)
    assert np.isneginf(spring).all()
    assert autumn[0, :2].tolist() == [290.0, 291.0]
    # Where no night is known, nothing is.
    unknown = record(tmin_c=np.full(len(here.tmin_c), np.nan))
    assert np.isnan(unknown.freezes(np.array([0.0]), WINDY)[0]).all()


def test_warm_days_are_those_of_the_air_or_of_the_nights():
    """Means of 14 °C but on two cold nights a year, and 9 °C at night."""
    here = record()
    # 10 °C holds in the air from the first day on, and in no night. The week before the
    # record is not known.
    (air,) = here.warm_from(np.array([10.0]), of="air")
    assert np.isnan(air[0])
    assert air[1:].tolist() == [1.0] * 10
    assert not np.isfinite(here.warm_from(np.array([10.0]), of="nights")).any()


# ------------------------------------------------------------------ kinds of night
def test_shares_of_kinds_are_those_of_the_first_seven_months():
    """Of 212 nights 106 still, 53 mixed, 53 windy; all of later ones are windy."""

    def kinds(number):
        return np.select([number <= 106, number <= 159], [STILL, MIXED], WINDY)

    days = np.arange("2001-01-01", "2002-01-01", dtype="datetime64[D]")
    calendar = freeze.calendar(days, southern=False)
    low = np.full(365, 5.0)
    plain = {"calendar": calendar, "mean_c": low, "is_wind_known": True}
    here = Record(
        tmin_c=low, kinds=kinds(day_numbers(days)), usable=np.arange(1), **plain
    )
    assert here.kind_shares.tolist() == [0.5, 0.25, 0.25]
    # Nights that are missing are not counted: 53 of 159 each.
    known = np.where(day_numbers(days) <= 53, np.nan, low)
    here = Record(
        tmin_c=known, kinds=kinds(day_numbers(days)), usable=np.arange(1), **plain
    )
    assert here.kind_shares == pytest.approx([1 / 3, 1 / 3, 1 / 3])
    none = Record(
        tmin_c=np.full(365, np.nan),
        kinds=kinds(day_numbers(days)),
        usable=np.arange(1),
        **plain,
    )
    assert none.kind_shares.tolist() == [0.0, 0.0, 0.0]


def remarks(**more):
    return record(**more).remarks(NORTH)


@pytest.mark.parametrize(("within", "tenths"), [(15, 10), (14, 9), (7, 5)])
def test_how_often_nights_about_the_usual_last_freeze_are_still(within, tenths):
    """The middle of 100 to 110 is day 105, 15 April; 31 nights from day 90 to 120.

    29 of 31 are 9.4 tenths, 15 of 31 are 4.8.
    """

    def kinds(number):
        return np.where(np.abs(number - 105) <= within, STILL, MIXED)

    said = remarks(kinds=kinds)
    assert said == [
        Fact("dates_still_nights", day=(4, 15), share=tenths),
        Fact("dates_no_wind"),
    ]


def test_few_springs_and_the_height_of_the_wind_are_said():
    few = remarks(years=9, usable=np.arange(9), is_wind_known=True)
    assert few[0] == Fact("dates_few_springs", number=9, enough=10)
    assert few[-1] == Fact("dates_wind_height", height_m=10.0)
    assert remarks(usable=np.arange(10))[0].kind == "dates_still_nights"


def test_where_it_never_freezes_no_night_is_about_the_last_freeze():
    assert remarks(freeze_c=9.0) == [Fact("dates_no_wind")]


def days(wind=None, count=120):
    """Cloudy days: minimum 8, maximum 9 °C."""
    columns = {"tmin_c": 8.0, "tmax_c": 9.0}
    if wind is not None:
        columns["wind_m_s"] = wind
    return pd.DataFrame(columns, index=pd.date_range("2025-01-01", periods=count))


def test_wind_at_ten_metres_is_brought_to_two():
    """FAO-56, equation 47: 4.87 / ln(67.8 · 10 - 5.42) = 0.748; windy from 4 m/s at 2 m."""
    wind = np.full(120, 5.30)
    wind[60] = 5.40
    found = climatology.kinds(days(wind))
    assert found[60] == WINDY
    assert (np.delete(found, 60) == MIXED).all()


def test_without_wind_no_night_is_windy():
    assert not (climatology.kinds(days()) == WINDY).any()
    assert not (climatology.kinds(days(np.full(120, np.nan))) == WINDY).any()


# ------------------------------------------------------------------ reading
def read(table, season=NORTH, crops=(-1.0,), **more):
    crops = [crop(damage_c=limit(each, at="screen")) for each in crops]
    weather = WeatherRecord(table, **more)
    return climatology.read_record(weather, "weather.csv", crops, season)


def years_of(start, end, low=2.0, high=12.0):
    """Days alike, but for an October that is 6 °C warmer: a place with seasons."""
    index = pd.date_range(start, end, name="date")
    table = pd.DataFrame({"tmin_c": low, "tmax_c": high}, index=index)
    table.loc[index.month == 10] += 6.0
    return table


def test_a_record_of_two_springs_has_dates_and_one_of_one_has_none():
    found = read(years_of("2023-01-01", "2024-12-31"))
    assert found.usable.tolist() == [0, 1]
    assert set(found.mean_c) == {7.0, 13.0}
    assert set(found.tmin_c) == {2.0, 8.0}
    assert not found.is_wind_known
    assert read(years_of("2023-01-01", "2023-12-31")) == Fact(
        "no_dates_too_few_springs", file="weather.csv"
    )


def test_springs_of_the_south_begin_in_july():
    # From January 2023 to June 2024 two springs of the north are known, one of the south.
    table = years_of("2023-01-01", "2024-12-31")
    assert len(read(table).usable) == 2
    assert read(table, SOUTH).kind == "no_dates_too_few_springs"
    table = years_of("2022-07-01", "2024-12-31")
    assert read(table, SOUTH).usable.tolist() == [0, 1]


def test_a_year_must_be_known_for_every_crop():
    """In April 2024 twelve nights are missing, cold enough for one crop and not the other."""
    table = years_of("2022-01-01", "2024-12-31", low=6.0)
    table.loc["2024-04-01":"2024-04-14", ["tmin_c"]] = np.nan
    assert read(table, crops=(0.0, -30.0)).usable.tolist() == [0, 1]
    assert read(table, crops=(-30.0,)).usable.tolist() == [0, 1, 2]


def test_a_typical_year_has_no_dates_and_no_crops_ask_for_none():
    table = years_of("2023-01-01", "2024-12-31")
    assert read(table, typical=True) == Fact("no_dates_typical_year")
    assert read(table, crops=()) == Fact("no_dates_without_crops")


def test_wind_counts_where_any_is_known():
    table = years_of("2023-01-01", "2024-12-31").assign(wind_m_s=np.nan)
    assert not read(table).is_wind_known
    table.iloc[5, 2] = 3.0
    assert read(table).is_wind_known
