"""Seedlings, soil and days to harvest from even temperatures, worked by hand."""

import numpy as np
import pytest
from made_up_crops import crop, growth, limit

from fieldmap.decide.calendar.growth import (
    days_on_bed,
    days_until_flower,
    days_until_up,
    emerges,
    progress,
    sow_from,
    usual_by_day,
    usual_soil_c,
    wanted,
)
from fieldmap.model.crops import Emergence

# Of carrot, days to seedlings at 5, 10 and 15 °C (Oregon State University Extension).
CARROT = Emergence(at_c=[5.0, 10.0, 15.0], days=[51.0, 17.0, 10.0], source="OSU")


def soil(*spans):
    """Soil of a year from (last day, °C)."""
    day = np.arange(1, 366)
    ends = [last for last, _ in spans]
    return np.array([temperature for _, temperature in spans])[
        np.searchsorted(ends, day)
    ].astype(float)


@pytest.mark.parametrize(("soil_c", "days"), [(5, 51), (10, 17), (15, 10), (30, 10)])
def test_at_an_even_temperature_seedlings_take_the_published_days(soil_c, days):
    """The day of sowing is the first of them; no soil is quicker than the warmest tried."""
    seen = emerges(soil((365, soil_c)), CARROT)
    assert seen[99] == 100 + days - 1


def test_between_two_temperatures_rates_lie_in_a_line():
    """7.5 °C lies half way: (1/51 + 1/17) / 2 = 2/51 a day, so 25.5 days: the 26th."""
    assert emerges(soil((365, 7.5)), CARROT)[99] == 125
    # 2.5 °C is half way down to none at 0: 1/102 a day.
    assert emerges(soil((365, 2.5)), CARROT)[99] == 201


def flowering(**changes):
    """May flower after 0.4 of its growth, of which the quickest kinds want 700 K d."""
    own = {"first_flower": limit(0.4), "degree_days": growth(700, 900)} | changes
    return crop(**own)


def test_flowers_are_counted_in_a_spring_that_is_three_degrees_warmer():
    """280 K d over 5 °C: at 7 + 3 °C 5 a day, the 56th day; at 2.5 + 3 °C the 560th.

    Sown on day 80, and 20 days of 5 K d on are 100: then 12 of 15 K d, the 32nd day.
    """
    assert set(days_until_flower(flowering(), soil((365, 7)))) == {55.0}
    assert days_until_flower(flowering(), soil((365, 2.5)))[[0, 300]].tolist() == [
        559.0,
        np.inf,
    ]
    assert days_until_flower(flowering(), soil((99, 7), (365, 17)))[79] == 31


def test_flowers_of_a_crop_that_has_days_alone_take_cold_days_for_less():
    """A day is quoted for 11.4 K d, and at 7.7 + 3 - 5 = 5.7 K d it is half a day.

    0.4 x 60 are 24 days: 48 such, from day 100. From day 250, at 25 °C, the 24th.
    """
    grown = flowering(degree_days=None, days_to_maturity=growth(60, 80))
    days = days_until_flower(grown, soil((249, 7.7), (365, 25)))
    assert days[[99, 249]].tolist() == [47.0, 23.0]


def test_flowers_are_not_counted_where_leaves_stand_no_more_or_plants_are_set_out():
    assert days_until_flower(flowering(first_flower=None), soil((365, 7))) is None
    out = flowering(sow_soil_c=None, set_out_soil_c=limit(8.0))
    assert days_until_flower(out, soil((365, 7))) is None


def test_seed_may_be_seen_on_the_last_day_of_the_year_and_not_after():
    # Ten days at 15 °C, the day of sowing the first of them: of day 356 on day 365.
    seen = emerges(soil((365, 15.0)), CARROT)
    assert seen[[354, 355, 356]].tolist() == [364.0, 365.0, np.inf]


def test_days_of_different_warmth_add_up():
    """Five days of 15 °C are half of ten; then 8.5 days of 10 °C: seen on the 9th."""
    seen = emerges(soil((104, 15), (365, 10)), CARROT)
    assert seen[99] == 104 + 9


def test_in_frozen_soil_seed_waits_and_late_in_the_year_it_does_not_come_up():
    seen = emerges(soil((100, -3), (300, 10), (365, -3)), CARROT)
    assert seen[0] == seen[100] == 117
    # Of day 290 eleven warm days are left, of 17.
    assert seen[289] == np.inf
    assert seen[283] == 300


def test_what_is_sown_late_in_the_year_may_be_up_in_the_next():
    """Eleven days of 10 °C from day 290 on, none over 0 until day 101, then six: 17."""
    cold = soil((100, -3), (300, 10), (365, -3))
    until = days_until_up(cold, CARROT)
    assert until[289] == 365 + 106 - 290
    assert until[[99, 100]].tolist() == [17.0, 16.0]


def test_seed_is_sown_so_that_nothing_is_seen_before_frost_is_over():
    """In soil of 10 °C, 17 days: what is sown on day 104 is seen on day 120."""
    seen = emerges(soil((365, 10)), CARROT)
    frost = np.array([[120.0, 120.5], [np.inf, -np.inf]])
    assert sow_from(frost, seen).tolist() == [[104.0, 105.0], [np.inf, -np.inf]]
    assert np.isnan(sow_from(np.array([np.nan]), seen)).all()
    # A frost in the first days of the year asks for no sowing before them.
    assert sow_from(np.array([3.0]), seen).tolist() == [1.0]


def test_soil_lies_over_the_mean_of_a_week_of_air():
    """20 °C from day 101 on after 6: the week to day 103 has three of 20: 12, and 1.5."""
    number = np.tile(np.arange(1, 366), 2)
    air_c = np.where(number > 100, 20.0, 6.0)
    found = usual_soil_c(air_c, number)
    assert found[102] == pytest.approx(12.0 + 1.5)
    assert found[106] == pytest.approx(20.0 + 1.5)
    # The first week of the year follows the last.
    assert found[0] == pytest.approx((6 * 20.0 + 6.0) / 7 + 1.5)


def test_a_usual_day_is_the_mean_of_its_years():
    number = np.array([1, 2, 1, 2])
    values = np.array([0.0, 5.0, 10.0, np.nan])
    assert usual_by_day(values, number)[:3].tolist() == [5.0, 5.0, 5.0]


def test_half_the_days_in_trays_count_for_the_bed():
    """Six weeks of a half-hardy crop save 21 days of 60 and of 80."""
    planted = crop(crop_class="half_hardy", set_out_soil_c=limit(10.0))
    assert wanted(planted) == (39.0, 59.0)
    assert wanted(crop(crop_class="half_hardy")) == (60.0, 80.0)
    from_bed = growth(60, 80, "setting_out")
    assert days_on_bed(planted, crop(days_to_maturity=from_bed).days_to_maturity) == (
        60.0,
        80.0,
    )
    assert wanted(crop(degree_days=growth(600, 800))) == (600.0, 800.0)


def test_a_warm_day_is_one_and_a_colder_one_less():
    """Days are quoted for 11.4 degree days (pea, bean and corn of crops.toml)."""
    usual = np.full(365, 20.0)
    found = progress(crop(), np.array([0.0, 5.7, 11.4, 30.0]), usual)
    assert found.tolist() == [0.0, 0.5, 1.0, 1.0]
    # A place whose warmest 91 days have 4 a day: those are its days.
    cool = np.where(np.arange(365) < 91, 4.0, 1.0)
    assert progress(crop(), np.array([2.0, 4.0]), cool).tolist() == [0.5, 1.0]
    assert progress(crop(), np.array([0.0]), np.zeros(365)).tolist() == [0.0]
    warm = crop(degree_days=growth(600, 800))
    assert progress(warm, np.array([30.0]), usual).tolist() == [30.0]
