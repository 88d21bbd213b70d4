"""Reference evapotranspiration against the worked examples of its paper.

Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56; the numbers of its
examples as the public tests of another implementation quote them.
"""

import numpy as np
import pytest

from layers import evapotranspiration as water
from layers import warmth

# Annex 2, Table 2.6 of the paper, 15th of the month from January, 40 and 50 degrees north
# (from memory; the same to 0.1 by its equation 21).
TABLE_40 = [15.0, 20.4, 27.2, 34.7, 39.7, 41.8, 40.8, 36.7, 29.9, 22.5, 16.3, 13.6]
TABLE_50 = [8.9, 14.4, 22.2, 31.5, 38.5, 41.7, 40.2, 34.3, 25.6, 16.8, 10.2, 7.5]
MIDDLES = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349]


def test_light_above_the_air_is_that_of_the_table():
    for latitude, table in ((40.0, TABLE_40), (50.0, TABLE_50)):
        found = water.extraterrestrial_mj_m2_day(latitude, MIDDLES)
        assert found == pytest.approx(np.array(table), abs=0.15)


def test_south_and_north_trade_seasons_and_poles_have_no_winter_sun():
    """At the same distance of the sun: sin of the declination turns its sign."""
    assert water.extraterrestrial_mj_m2_day(90.0, 355) == 0.0
    assert water.extraterrestrial_mj_m2_day(-90.0, 355) > 40.0
    assert warmth.day_length_h(0.0, MIDDLES) == pytest.approx(12.0)
    both = warmth.day_length_h(50.0, MIDDLES) + warmth.day_length_h(-50.0, MIDDLES)
    assert both == pytest.approx(24.0)
    assert warmth.day_length_h(80.0, 172) == pytest.approx(24.0)
    # Table 2.7 at 50 degrees north (from memory).
    assert warmth.day_length_h(50.0, [166, 349]) == pytest.approx([16.1, 7.9], abs=0.06)


def test_example_20_air_is_saturated_at_the_minimum():
    assert water.saturation_kpa(14.8).item() == pytest.approx(1.68, abs=0.005)


def test_example_17_a_month_in_bangkok():
    """Net light 14.33 less 0.14 into the soil, 30.2 °C, 2 m/s, 4.42 - 2.85 kPa: 5.72 mm."""
    found = water.penman_monteith_mm_day(
        14.33 - 0.14, 30.2, 2.0, 4.42 - 2.85, 0.0674
    ).item()
    assert found == pytest.approx(5.72, abs=0.02)


def test_example_18_from_its_temperatures_light_and_wind():
    """Brussels, 6 July, 100 m: 12.3 to 21.5 °C, 22.07 of 30.90 MJ, 2.078 m/s, vapour 1.409.

    The paper finds 3.9 mm (3.88) and net light of 13.28 MJ.
    """
    longwave = water.net_longwave_mj_m2_day(12.3, 21.5, 1.409, 22.07 / 30.90)
    net = 0.77 * 22.07 - longwave
    assert net.item() == pytest.approx(13.28, abs=0.02)
    lacking = water.saturation_kpa([12.3, 21.5]).mean() - 1.409
    found = water.penman_monteith_mm_day(
        net, 16.9, 2.078, lacking, water.psychrometric_kpa_c(100.0)
    ).item()
    assert found == pytest.approx(3.88, abs=0.02)


def test_a_month_without_humidity_is_worked_by_hand():
    """July near Lyon (example 20): 14.8 to 26.6 °C, 200 m, light 22.3 of 30.61 MJ, 2 m/s.

    Vapour 1.684 kPa, saturated 3.482 and 1.684, mean 2.583; lacking 0.899. Net short 0.77
    · 22.3 = 17.17. Long: 4.903e-9 · (299.76⁴ + 287.96⁴) / 2 = 36.65; 0.34 - 0.14 · 1.298
    = 0.158; 1.35 · 0.7285 - 0.35 = 0.633; together 3.67. Net 13.50. Slope at 20.7 °C:
    4098 · 2.441 / 258² = 0.1503. Pressure 98.96 kPa, psychrometric 0.0658.
    0.408 · 0.1503 · 13.50 = 0.828; 0.0658 · 900 / 293.7 · 2 · 0.899 = 0.3626; over
    0.1503 + 0.0658 · 1.68 = 0.2608: 4.56 mm.
    """
    found = water.reference_mm_day(14.8, 26.6, 22.3, 30.61, 200.0)
    assert found.item() == pytest.approx(4.56, abs=0.02)


def test_wind_dries_and_missing_stays_missing():
    calm, windy, none = water.reference_mm_day(
        [14.8, 14.8, np.nan], 26.6, 22.3, 30.61, 200.0, [1.0, 4.0, 2.0]
    )
    assert windy > calm
    assert np.isnan(none)
    # A clear short day on which air stays saturated gives off nothing rather than less.
    assert water.reference_mm_day(10.0, 10.0, 1.0, 1.0, 200.0).item() == 0.0


def test_light_is_never_clearer_than_clear():
    """1.35 · min(1, …) - 0.35 is 1 from a clear sky on."""
    clear, more = water.net_longwave_mj_m2_day(10.0, 20.0, 1.2, [1.0, 1.4])
    assert clear == more
    assert water.light_from_swing_mj_m2_day(40.0, 20.0, 10.0).item() == 0.0
