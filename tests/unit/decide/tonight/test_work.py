"""Hours of the night, and minutes of the work."""

from datetime import date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from made_up_evening import NIGHT, ZONE

from fieldmap.decide.tonight.work import NightHours, minutes_for_two, night_hours
from layers import nights
from layers.sunlight import rise_and_set


def at(hour, minute=0, day=6):
    return datetime(2026, 5, day, hour, minute, tzinfo=ZONE)


# ------------------------------------------------------------------ FAO's root of time
# Snyder & de Melo-Abreu 2005, FAO Environment and Natural Resources Series 10, vol. 1,
# chapter 5: 0.95 °C two hours after sunset and -5.45 °C at sunrise 15 hours after it;
# air at hours 3, 6, 9, 12 and 15.
FAO_START_C, FAO_SUNRISE_C, FAO_HOURS = 0.95, -5.45, 15.0
FAO_AIR_C = {3: -0.825, 6: -2.600, 9: -3.746, 12: -4.663, 15: -5.450}


@pytest.mark.parametrize(("hour", "air_c"), FAO_AIR_C.items())
def test_air_falls_to_a_limit_when_the_worked_example_of_fao_says(hour, air_c):
    found = nights.hours_to_limit(air_c, FAO_START_C, FAO_SUNRISE_C, FAO_HOURS)
    assert float(found) == pytest.approx(hour, abs=0.01)


def test_a_limit_that_is_reached_at_dusk_or_never():
    found = nights.hours_to_limit([0.95, 3.0, -5.46, np.nan], 0.95, -5.45, 15.0)
    assert found[:3].tolist() == [2.0, 2.0, np.inf]
    assert np.isnan(found[3])
    with pytest.raises(ValueError, match="more than 2"):
        nights.hours_to_limit(0.0, 1.0, -1.0, 2.0)


def test_bare_air_comes_to_a_limit_at_an_hour_of_the_clock():
    """Nine hours from 20:00: 2 + 7 · ((4 - 0) / (4 + 4))² = 3.75 hours, at 23:45.

    To the half hour that is midnight.
    """
    assert NIGHT.harmed_from(4.0, -4.0, 0.0) == at(0, 0, day=7)
    # 2 + 7 · (3 / 8)² = 2.98: 22:59.
    assert NIGHT.harmed_from(4.0, -4.0, 1.0) == at(23)
    # As cold at dusk already: at 22:00; never.
    assert NIGHT.harmed_from(4.0, -4.0, 4.0) == at(22)
    assert NIGHT.harmed_from(4.0, -4.0, -4.1) is None


def test_a_night_without_sunset_or_too_short_has_no_hours():
    white = NightHours(date(2026, 6, 20), None, None)
    assert (white.length_h, white.done_by, white.middle) == (None, None, None)
    assert white.harmed_from(4.0, -4.0, 0.0) is None
    assert white.begin_by(30) is None
    short = NightHours(date(2026, 6, 20), at(23), at(1, day=7))
    assert short.harmed_from(4.0, -4.0, 0.0) is None


# ------------------------------------------------------------------ the sun
def test_sunrise_and_sunset_are_those_of_the_worked_example_of_nrel():
    """Reda & Andreas 2004, NREL/TP-560-34302, appendix A.5: 17 October 2003 at Golden.

    Sunrise at 6:12:43 and sunset at 17:20:19 local time, seven hours behind UTC.
    """
    sun = rise_and_set([date(2003, 10, 17)], 39.742476, -105.1786, "Etc/GMT+7")
    assert abs(sun["sunrise"][0] - _golden(6, 12, 43)) < timedelta(seconds=2)
    assert abs(sun["sunset"][0] - _golden(17, 20, 19)) < timedelta(seconds=2)


def _golden(hour, minute, second):
    behind = timezone(timedelta(hours=-7))
    return datetime(2003, 10, 17, hour, minute, second, tzinfo=behind)


def test_a_night_runs_from_sunset_to_the_next_sunrise():
    (night,) = night_hours([date(2003, 10, 16)], 39.742476, -105.1786, "Etc/GMT+7")
    assert night.sunset is not None
    assert night.sunset.date() == date(2003, 10, 16)
    assert night.sunrise is not None
    assert night.sunrise.date() == date(2003, 10, 17)
    # A day is 11 h 7 min then, so the night before it nearly 12 h 52 min.
    assert night.length_h == pytest.approx(12.85, abs=0.05)
    (white,) = night_hours([date(2024, 6, 20)], 80.0, 0.0, "UTC")
    assert (white.sunset, white.sunrise) == (None, None)


# ------------------------------------------------------------------ the work
def test_all_is_done_an_hour_before_sunset_down_to_five_minutes():
    assert NIGHT.done_by == at(19)
    assert NIGHT.begin_by(45) == at(18, 15)
    later = NightHours(NIGHT.day, at(20, 9), NIGHT.sunrise)
    assert later.done_by == at(19, 5)
    assert NIGHT.middle == at(0, 30, day=7)


@pytest.mark.parametrize(
    ("beds", "way_m", "minutes"),
    [
        # Laid: 3 minutes and one for each 8 m (common practice, no source).
        ([(16.0, False)], 0.0, 5),
        ([(16.1, False)], 0.0, 10),
        # Closed: a minute and one for each 20 m for one, half of that for two.
        ([(20.0, True)] * 5, 0.0, 5),
        ([(20.0, True)] * 6, 0.0, 10),
        # 50 m in a minute.
        ([(16.0, False)], 1.0, 10),
        ([(16.0, False)], 250.0, 10),
        ([], 0.0, 0),
    ],
)
def test_two_people_take_the_minutes_of_the_table(beds, way_m, minutes):
    assert minutes_for_two(beds, way_m) == minutes


@pytest.mark.parametrize(
    ("day", "passed_h", "middle"),
    [
        # Germany puts clocks on at 2:00 of 29 March 2026 (EU directive 2000/84/EC): 20:00
        # to 6:00 are nine hours, half of them 4 h 30 min after 20:00.
        (date(2026, 3, 28), 9.0, (0, 30)),
        # And back at 3:00 of 25 October: eleven hours, half of them 5 h 30 min.
        (date(2026, 10, 24), 11.0, (1, 30)),
    ],
)
def test_a_night_on_which_clocks_change_is_as_long_as_it_is(day, passed_h, middle):
    here = ZoneInfo("Europe/Berlin")
    falls = datetime(day.year, day.month, day.day, 20, tzinfo=here)
    night = NightHours(day, falls, falls.replace(hour=6) + timedelta(1))
    assert night.length_h == passed_h
    assert (night.middle.hour, night.middle.minute) == middle
    # The whole fall of the trend is done at sunrise, at 6:00 by the clock.
    assert night.harmed_from(4.0, -4.0, -4.0) == night.sunrise


def test_a_day_that_has_no_midnight_has_its_hours():
    """In Lebanon clocks go from 0:00 to 1:00 on the last Sunday of March (from memory)."""
    (night,) = night_hours([date(2026, 3, 29)], 33.9, 35.5, "Asia/Beirut")
    assert night.length_h == pytest.approx(11.6, abs=0.1)  # a week after the equinox
