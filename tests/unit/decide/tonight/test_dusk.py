"""The air two hours after sunset before a forecast low, from a station's own evenings.

The ten nights of frost are those of Snyder & de Melo-Abreu 2005, FAO Environment and
Natural Resources Series 10, volume 1, chapter 5, whose line is Tn = 0.5028 T0 - 5.9085
with r² = 0.666.
"""

from datetime import date, datetime

import numpy as np
import pandas as pd
import pytest
from made_up_evening import (
    AT_SCREEN,
    ZONE,
    advice_for,
    bed,
    round_of,
    stand_of,
    standing,
)

from fieldmap.decide.crop_plan.model import CropPlan, Stay
from fieldmap.decide.tonight.dusk import Dusk, DuskLine, _at, dusk_line
from fieldmap.decide.tonight.evenings import Evenings
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.model.site import TypicalYear
from fieldmap.show.text.decide import tonight as words
from layers import nights

FAO_DUSK_C = [3.2, 0.8, 0.2, 2.6, 4.4, 5.2, 2.7, 1.2, 4.5, 5.6]
FAO_LOW_C = [-3.1, -5.0, -6.3, -5.4, -4.0, -2.5, -4.8, -5.0, -4.4, -3.3]


def test_the_line_of_ten_nights_is_that_which_fao_prints():
    slope, height_c, spread_c = nights.minimum_line(FAO_DUSK_C, FAO_LOW_C)
    assert slope == pytest.approx(0.5028, abs=5e-5)
    assert height_c == pytest.approx(-5.9085, abs=5e-5)
    # The scatter from r²: (1 - r²) of the sum of squares, on 10 - 2 degrees of freedom.
    squares = np.sum((np.array(FAO_LOW_C) - np.mean(FAO_LOW_C)) ** 2)
    assert spread_c == pytest.approx(np.sqrt((1 - 0.666) * squares / 8), rel=2e-3)


@pytest.mark.parametrize(
    ("dusk_c", "low_c"),
    [([1.0, 2.0], [0.0, 0.0]), ([1.0] * 3, [0.0] * 3), ([1.0, 2.0, np.nan], [0.0] * 3)],
)
def test_a_line_wants_three_known_nights_that_differ(dusk_c, low_c):
    with pytest.raises(ValueError, match="nights"):
        nights.minimum_line(dusk_c, low_c)


def test_before_a_low_lie_eight_evenings_in_ten():
    """Half a degree for each: -3 °C follows 4 °C; 1 °C of scatter is 2 · 1.2816 of dusk."""
    found = DuskLine(0.5, -5.0, 1.0).before(-3.0)
    assert found == pytest.approx((4.0 - 2.5632, 4.0 + 2.5632))
    # No evening is colder than its night.
    assert DuskLine(0.5, 0.0, 1.0).before(-1.0) == pytest.approx((-1.0, 0.5632))


def year(warmest_c=14.0, slope=0.5):
    """Air that is even from 15 h to midnight, and from 1 h to 9 h on a line below that."""
    times = pd.date_range("2001-01-01", periods=8760, freq="h", tz="Etc/GMT-1")
    dusk_c = np.random.default_rng(1).uniform(-2.0, warmest_c, 366).round()
    hour, day = times.hour, times.day_of_year.to_numpy()
    at_night = slope * dusk_c[day - 1] - 5.0
    air_c = np.select(
        [hour >= 15, hour <= 9], [dusk_c[day], at_night], default=dusk_c[day] + 8.0
    )
    light = pd.DataFrame(0.0, index=times, columns=["ghi", "dni", "dhi"])
    return TypicalYear(light, pd.Series(air_c, times), 45.0, 15.0, 100.0)


@pytest.mark.parametrize(
    ("minutes", "found_c"),
    [(0, 10.0), (15, 9.0), (30, 8.0), (60, 6.0), (-45, 10.0), (-90, np.nan)],
)
def test_air_between_two_readings_lies_on_a_straight_line(minutes, found_c):
    """10 °C from 19 h to 20 h and 6 °C at 21 h; before 19 h nothing was read."""
    times = pd.date_range("2001-05-06 19:00", periods=3, freq="h", tz=ZONE)
    air_c = pd.Series([10.0, 10.0, 6.0], times)
    when = times[1] + pd.Timedelta(minutes=minutes)
    assert _at(air_c, when) == pytest.approx(found_c, nan_ok=True)


def test_the_line_of_a_made_up_year_is_found_again():
    line = dusk_line(year(), "Europe/Ljubljana")
    assert line == pytest.approx((0.5, -5.0, 0.0), abs=1e-6)


def test_without_a_year_or_with_one_that_says_nothing_there_is_no_line():
    """No year; nights of frost too few; a low that hardly hangs on its evening."""
    assert dusk_line(None, "Europe/Ljubljana") is None
    hardly = year(slope=0.2)
    assert dusk_line(hardly, "Europe/Ljubljana") is None
    warm = year()
    warm = TypicalYear(warm.hours, warm.air_c + 30.0, 45.0, 15.0, 100.0)
    assert dusk_line(warm, "Europe/Ljubljana") is None
    unknown = TypicalYear(warm.hours, warm.air_c * np.nan, 45.0, 15.0, 100.0)
    assert dusk_line(unknown, "Europe/Ljubljana") is None


@pytest.mark.parametrize(
    ("number", "raised_c", "is_known"),
    # Lows lie on half degrees from -6 °C to 2 °C: 6 °C warmer none is over 8 °C.
    [(20, 0.0, True), (19, 0.0, False), (20, 6.0, True), (20, 6.1, False)],
)
def test_a_line_wants_twenty_clear_nights_no_warmer_than_eight_degrees(
    monkeypatch, number, raised_c, is_known
):
    made = year()
    lows_c = made.air_c.to_numpy().reshape(365, 24).min(axis=1)
    (warmest,) = np.flatnonzero(lows_c[1:] == 2.0)[:1] + 1
    clear = np.zeros(365, bool)
    clear[warmest : warmest + number] = True
    monkeypatch.setattr(nights, "clear_calm", lambda *_days: clear)
    raised = TypicalYear(made.hours, made.air_c + raised_c, 45.0, 15.0, 100.0)
    assert (dusk_line(raised, "Europe/Ljubljana") is not None) is is_known


def test_from_a_range_at_dusk_the_hour_of_harm_is_a_range():
    """Nine hours from 20:00; at worst 2 °C to -5 °C, likely 6 °C to -4 °C; limit 0 °C.

    2 + 7 · (2 / 7)² = 2.57 h: 22:34, half past; 2 + 7 · (6 / 10)² = 4.52 h: 0:31, half past.
    """
    here = round_of(bed("A1", (-1.0, 0.0, 0.0)))
    advice = advice_for(here, stand_of(standing("A1")), -4.0, dusk=Dusk(2.0, 6.0))
    (one,) = advice.harmed
    assert one.first == datetime(2026, 5, 6, 22, 30, tzinfo=ZONE)
    assert one.last == datetime(2026, 5, 7, 0, 30, tzinfo=ZONE)
    found = words.in_words(advice, "Farm", "metric")
    assert found.hours == ("Between about 22:30 and 00:30: hut in A1.",)
    assert "if the station has 2 °C to 6 °C two hours" in found.hours_note
    assert "--dusk" in found.hours_note


def test_what_somebody_has_read_goes_before_the_line():
    """-4 °C follows 4 °C on the line; read were 8 °C. Without either there are no hours."""
    stay = Stay("spring", 100, 200, 300, (), bed="A1", crop="hut", days_by_place=0.0)
    what = round_of(bed("A1")), CropPlan(stays=(stay,)), (AT_SCREEN,), ()
    place = 44.0, -74.0, "America/New_York"

    def dusk_of(line, read_c=None):
        evenings = Evenings(*what, frozenset(), {}, {}, line, *place)
        night = Forecast(-4.0, "clear", "calm")
        advice = evenings.advise(date(2026, 5, 20), night, read_c)
        assert bool(advice.harmed) is (advice.dusk is not None)
        return advice.dusk

    line = DuskLine(0.5, -6.0, 0.0)
    assert dusk_of(line) == (4.0, 4.0)
    assert dusk_of(line, 5.0) == (5.0, 5.0)
    assert dusk_of(None, 5.0) == (5.0, 5.0)
    assert dusk_of(None) is None
