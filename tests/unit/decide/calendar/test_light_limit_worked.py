"""Ends of the season and last sowings from straight lines and even days."""

import calendar
from types import SimpleNamespace

import numpy as np
import pytest
from made_up_crops import crop, growth, limit

from fieldmap.decide.calendar.light_limit import grows_until, last_sowing
from fieldmap.model.season_year import NORTH, SOUTH
from layers import freeze
from layers.sunlight import MOL_PER_MJ

MONTHS = [name.lower() for name in calendar.month_abbr[1:]]


# ------------------------------------------------------------------ light
def light(*months_mol):
    """Beds by their light of each month [mol/m² a day]."""
    return np.array(months_mol).T / MOL_PER_MJ


def months(**mol):
    """Twelve months of 10 mol but for some."""
    return [mol.get(name, 10.0) for name in MONTHS]


def until(beds, crops=None, season=NORTH):
    return grows_until(season, light(*beds), crops or [crop(crop_class="hardy")])


# The middle of September is 8.5 × 365 / 12 = 258.54 from the first moment of the year,
# that of October 30.42 later. From 10 to 4 mol it falls to 6, of which hardy crops need
# as much, after two thirds of that: 278.82. The middle of day d is d - .5: day 279 has
# its middle at 278.5, day 280 is the first that is too dark.
AUTUMN = months(oct=4, nov=4, dec=4, jan=4, feb=4)


def test_growth_ends_on_the_first_day_whose_middle_is_too_dark():
    assert until([AUTUMN]).tolist() == [[280.0]]


def test_the_middle_of_a_day_counts_and_no_later_hour():
    # From 10 to 3.92 mol 6 are reached after 4 / 6.08 of 30.42 days: at 278.55, just
    # after the middle of day 279.
    dark = dict.fromkeys(("oct", "nov", "dec", "jan", "feb"), 3.92)
    assert until([months(**dark)]).tolist() == [[280.0]]


def test_a_bed_whose_light_is_not_known_in_one_month_has_no_end():
    assert np.isnan(until([months(apr=np.nan)])).all()


def test_in_the_south_the_second_half_year_begins_in_january():
    # As above half a year on: March at 76.04, 6 mol at 96.32. Day 97 of the calendar, 7
    # April, has its middle at 96.5; from 1 July it is day 97 + 184 = 281.
    months_mol = months(apr=4, may=4, jun=4, jul=4, aug=4)
    assert until([months_mol], season=SOUTH).tolist() == [[281.0]]


def test_the_fall_from_december_to_january_counts_in_december():
    # The middle of December is 349.79; from 10 to 1 mol it falls to 6 after 4 ninths of
    # 30.42 days: 363.31. Day 363 has its middle at 362.5, day 364 at 363.5.
    assert until([months(jan=1, feb=1, mar=1)]).tolist() == [[364.0]]


def test_two_dark_beds_have_their_own_days():
    late = months(jan=1, feb=1, mar=1)
    assert until([late, AUTUMN]).tolist() == [[364.0, 280.0]]


def test_a_dark_first_half_year_ends_nothing():
    assert until([months(feb=1, mar=1, apr=1)]).tolist() == [[np.inf]]


def test_the_second_half_year_begins_on_day_183():
    # Too dark all summer: 2 July is the first day that counts.
    dark = months(**dict.fromkeys(["may", "jun", "jul", "aug"], 1))
    assert until([dark]).tolist() == [[183.0]]


def test_light_that_is_just_enough_is_enough():
    mol = MOL_PER_MJ  # of a single MJ
    for least, day in ((mol, np.inf), (mol * 1.001, 183.0)):
        grown = crop(least_light_mol=limit(least))
        assert until([[mol] * 12], [grown]).tolist() == [[day]]


def test_each_crop_has_its_least_light_and_each_bed_its_own_day():
    # Leaves need 6 mol, fruit 12, which 10 never are.
    crops = [crop(crop_class=each) for each in ("half_hardy", "tender", "warm_loving")]
    bright = [20.0] * 12
    unknown = [np.nan] * 12
    np.testing.assert_array_equal(
        until([AUTUMN, bright, unknown], crops),
        [[280.0, np.inf, np.nan], [183.0, np.inf, np.nan], [183.0, np.inf, np.nan]],
    )


# ------------------------------------------------------------------ warmth
def record(*means_c, begins="2001-01-01", years=4, southern=False):
    """Common and leap years of one mean each day, or of one mean each year."""
    first = np.datetime64(begins)
    last = first.astype("datetime64[Y]") + years
    days = np.arange(
        first, last.astype("datetime64[D]") + (first - first.astype("datetime64[Y]"))
    )
    of_days = freeze.calendar(days, southern=southern)
    mean = np.resize(means_c, years)[of_days.year_index].astype(float)
    return SimpleNamespace(calendar=of_days, tmin_c=mean - 4.0, mean_c=mean)


def degree_days(high, low=10.0):
    return crop(degree_days=growth(low, high))


def last(known, grown, *ends, risk=0.2):
    return last_sowing(known, grown, np.array(ends, float), risk).tolist()


# Ten degree days a day (15 °C over a base of 5): 600 take 60 days. What must be ripe by
# the morning of day 280 has the warmth of day 279 and of those before: 220 to 279.
def test_warmth_is_counted_back_from_the_day_before_the_end():
    assert last(record(15.0), degree_days(600), 280, 260) == [220.0, 200.0]
    # One degree day more takes one day more.
    assert last(record(15.0), degree_days(601), 280) == [219.0]
    # A part of a day is none: it may end on its morning.
    assert last(record(15.0), degree_days(600), 280.9) == [220.0]


def test_a_season_just_long_enough_has_its_last_sowing_on_the_first_day():
    # 60 days before day 61 are all there are.
    np.testing.assert_array_equal(
        last(record(15.0), degree_days(600), 61, 60, 1, -np.inf),
        [1.0, np.nan, np.nan, np.nan],
    )


def test_a_crop_that_is_ripe_in_a_day_is_sown_on_the_day_before_the_end():
    np.testing.assert_array_equal(
        last(record(15.0), degree_days(10), 280, 2, 1), [279.0, 1.0, np.nan]
    )


def test_an_end_that_never_comes_is_that_of_the_year():
    # Day 366 would be the morning after it: 366 - 60. No end lies later.
    assert last(record(15.0), degree_days(600), 365, 366, np.inf) == [305, 306, 306]
    assert np.isnan(last(record(15.0), degree_days(600), np.nan)).all()


def test_ends_keep_their_shape():
    ends = np.array([[280.0, 260.0], [280.0, np.nan]])
    found = last_sowing(record(15.0), degree_days(600), ends, 0.2)
    np.testing.assert_array_equal(found, [[220.0, 200.0], [220.0, np.nan]])


@pytest.mark.parametrize(
    ("risk", "day"),
    [
        # 10, 12, 15 and 20 degree days a day: 600 take 60, 50, 40 and 30 days, so from
        # day 220, 230, 240 or 250. Plotting positions are 1 to 4 fifths.
        (0.2, 220.0),
        (0.4, 230.0),
        (0.3, 225.0),
        (0.8, 250.0),
        (0.1, 220.0),
    ],
)
def test_the_last_sowing_is_late_in_the_share_of_years_that_is_risked(risk, day):
    known = record(25.0, 15.0, 20.0, 17.0)
    assert last(known, degree_days(600), 280, risk=risk) == [pytest.approx(day)]


def test_the_slowest_kinds_count():
    grown = crop(degree_days=growth(100, 600))
    assert last(record(15.0), grown, 280) == [220.0]


def test_degree_days_come_before_days():
    grown = crop(degree_days=growth(10, 600), days_to_maturity=growth(10, 20))
    assert last(record(15.0), grown, 280) == [220.0]


def test_days_are_quoted_for_warm_days_and_cool_ones_count_for_less():
    # 20 °C from 1 July on for 91 days, else 10 °C: 15 and 5 degree days. A day is one for
    # 11.4 degree days and more (crops.toml: pea, bean and corn), 5 / 11.4 for 5 of them:
    # 20 days take 20 in the warm part and 45.6, so 46, in the cool one.
    known = record(10.0)
    is_warm = (known.calendar.day_number >= 182) & (known.calendar.day_number < 273)
    known.mean_c = np.where(is_warm, 20.0, 10.0)
    known.tmin_c = known.mean_c - 4.0
    grown = crop(days_to_maturity=growth(10, 20))
    assert last(known, grown, 360, 202) == [314.0, 182.0]


def test_where_no_days_are_so_warm_the_warmest_three_months_of_the_usual_year_count():
    # 8 °C in two years of four and 14 in the others: 3 and 9 degree days, 6 in the mean.
    # A day of 3 is half a day, one of 9 is one and no more: 20 days take 40 or 20.
    grown = crop(days_to_maturity=growth(10, 20))
    assert last(record(8.0, 14.0), grown, 280) == [240.0]
    assert last(record(8.0, 14.0), grown, 280, risk=0.8) == [260.0]


def test_the_warmest_three_months_may_lie_about_the_turn_of_the_year():
    # Ten degree days on the last 46 days and on the first 45, else none: 91 in a row.
    known = record(5.0)
    number = known.calendar.day_number
    known.mean_c = np.where((number >= 320) | (number <= 45), 15.0, 5.0)
    known.tmin_c = known.mean_c - 4.0
    grown = crop(days_to_maturity=growth(10, 12))
    # 12 days of 10 before day 366.
    assert last(known, grown, 366) == [354.0]


def test_in_the_south_days_are_counted_from_july():
    known = record(15.0, begins="2001-07-01", southern=True)
    assert last(known, degree_days(600), 280) == [220.0]


def test_the_base_of_the_crop_counts_and_no_day_less_than_nothing():
    # 3 °C on odd days are nothing and not -2; 15 °C on even ones are ten.
    known = record(15.0)
    known.mean_c = np.where(known.calendar.day_number % 2, 3.0, 15.0)
    known.tmin_c = known.mean_c - 4.0
    # Up to day 279 the even days 278, 276 ... 220 are 30.
    assert last(known, degree_days(300), 280) == [220.0]
    warm = crop(base_c=limit(10.0), degree_days=growth(10, 300))
    assert last(record(15.0), warm, 280) == [220.0]


def test_missing_days_add_nothing_and_more_than_ten_of_them_take_a_year_out():
    # The last of the four years lacks days 270 to 279, of the third 11 days.
    known = record(15.0)
    year, number = known.calendar.year_index, known.calendar.day_number
    known.mean_c[(year == 3) & (number >= 270) & (number <= 279)] = np.nan
    # 60 days with warmth before day 280: from day 210 in that year, 220 in the others.
    assert last(known, degree_days(600), 280, risk=0.2) == [210.0]
    known.mean_c[(year == 3) & (number == 100)] = np.nan
    assert last(known, degree_days(600), 280, risk=0.2) == [220.0]


def test_a_single_year_gives_no_last_sowing_and_two_do():
    assert np.isnan(last(record(15.0, years=1), degree_days(600), 280)).all()
    assert last(record(15.0, years=2), degree_days(600), 280) == [220.0]
    none = record(15.0, years=2)
    none.mean_c[:] = np.nan
    assert np.isnan(last(none, crop(), 280)).all()


def test_of_a_leap_year_the_28th_of_february_counts_and_the_29th_does_not():
    # 2004 is the fourth. 29 February would be worth 1000 degree days.
    known = record(15.0)
    days = np.arange("2001-01-01", "2005-01-01", dtype="datetime64[D]")
    known.mean_c[days == np.datetime64("2004-02-29")] = 1005.0
    known.tmin_c = known.mean_c - 4.0
    assert last(known, degree_days(600), 100) == [40.0]
