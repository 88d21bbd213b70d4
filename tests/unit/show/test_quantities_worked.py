"""What people read for a number, in metric and in US units, worked by hand.

By definition a foot is 0.3048 m, an inch 25.4 mm, a yard 0.9144 m, a mile 1609.344 m, an
acre 43,560 square feet (4046.856 m²), a US gallon 231 cubic inches (3.785412 litres), a
mile an hour 0.44704 m/s; °F = 1.8 °C + 32, and a difference of 1 °C is one of 1.8 °F.
"""

import numpy as np
import pytest

from fieldmap.model.fact import Fact
from fieldmap.show.map.data import readings
from fieldmap.show.text import quantities
from fieldmap.show.text.language import date_in_words, month_name, of_site, spoken
from fieldmap.show.text.sentence import fill, say


def both(form, value):
    """A value in metric and in US units."""
    return form(value, "metric"), form(value, "us")


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [
        (0.0, "0 m", "0 ft"),
        (1.0, "1 m", "3 ft"),  # 3.28
        (12.5, "12.5 m", "41 ft"),  # 41.01
        (12.96, "13 m", "43 ft"),  # 13.0 is whole; 42.52
        (100.0, "100 m", "328 ft"),  # 328.08
        (10.06, "10.1 m", "33 ft"),  # 33.005
    ],
)
def test_lengths(metres, metric, us):
    assert both(quantities.length, metres) == (metric, us)


def test_ways_are_whole_metres_or_whole_feet():
    # 12.4 m are 40.68 ft: 41, though 12 m would be 39.
    assert both(quantities.way, 12.4) == ("12 m", "41 ft")
    assert both(quantities.way, 12.6) == ("13 m", "41 ft")  # 41.34
    assert both(quantities.way, None) == ("not on the map", "not on the map")


def test_depths_have_a_tenth_even_where_it_is_none():
    assert both(quantities.depth, 3.0) == ("3.0 m", "9.8 ft")  # 9.84
    assert both(quantities.depth, 0.52) == ("0.5 m", "1.7 ft")  # 1.706


def test_heights_have_a_tenth_where_there_is_one():
    assert both(quantities.height, 1.83) == ("1.8 m", "6 ft")  # 6.004
    assert both(quantities.height, 2.4) == ("2.4 m", "7.9 ft")  # 7.874


@pytest.mark.parametrize(
    ("ends_m", "metric", "us"),
    [
        # 1.25 m 4.101 ft, 2 m 6.562 ft: half feet inside are 4.5 and 6.5.
        ((1.25, 2.0), "1.25 to 2 m", "4.5 to 6.5 ft"),
        # 1 m 3.281 ft, 3 m 9.843 ft: 3.5 and 9.5.
        ((1.0, 3.0), "1 to 3 m", "3.5 to 9.5 ft"),
        # Just 4 and 5 ft stay.
        ((1.2192, 1.524), "1.2192 to 1.524 m", "4 to 5 ft"),
    ],
)
def test_a_range_of_heights_is_narrowed_to_half_feet(ends_m, metric, us):
    assert both(quantities.height_range, ends_m) == (metric, us)


@pytest.mark.parametrize(
    ("longest_m", "metric_m", "us_m"),
    [
        (37.0, 20.0, 30.48),  # 121 ft: 100
        (20.0, 20.0, 15.24),  # 65.6 ft: 50
        (19.9, 10.0, 15.24),
        (50.0, 50.0, 30.48),  # 164 ft
        (70.0, 50.0, 60.96),  # 230 ft: 200
        (1.0, 1.0, 0.6096),  # 3.28 ft: 2
        (0.2, 1.0, 0.3048),  # nothing fits: 1
        (60000.0, 50000.0, 15240.0),  # no longer ones are thought of: 50,000 ft
    ],
)
def test_a_scale_is_1_2_or_5_with_noughts_and_fits(longest_m, metric_m, us_m):
    assert quantities.round_length_m(longest_m, "metric") == metric_m
    assert quantities.round_length_m(longest_m, "us") == pytest.approx(us_m)


def test_distances():
    # 8.04672 km are just 5 miles; 1 km is 0.621.
    assert both(quantities.distance, 8.04672) == ("8 km", "5 miles")
    assert both(quantities.distance, 1.0) == ("1 km", "0.6 miles")


def test_short_lengths_are_whole_centimetres_or_inches():
    # 45 cm are 17.72 in, 30 cm 11.81.
    assert both(quantities.short_length, 0.45) == ("45 cm", "18 in")
    assert both(quantities.short_length, 0.3) == ("30 cm", "12 in")
    assert both(quantities.short_length, 1.2) == ("120 cm", "47 in")  # 47.24


@pytest.mark.parametrize(
    ("square_metres", "metric", "us"),
    [
        (22.5, "22.5 m²", "242 sq ft"),  # × 10.7639 = 242.19
        (99.5, "99.5 m²", "1,070 sq ft"),  # 1,071.0, to three figures
        (100.0, "100 m²", "1,080 sq ft"),  # 1,076.4
        (100.4, "100 m²", "1,080 sq ft"),  # 1,080.7
        (1011.0, "1,010 m²", "10,900 sq ft"),  # a quarter of an acre is 1,011.71 m²
        (1012.0, "1,010 m²", "0.25 acres"),
        (4046.9, "4,050 m²", "1.00 acres"),
        (10000.0, "10,000 m²", "2.47 acres"),  # 2.471
    ],
)
def test_areas(square_metres, metric, us):
    assert both(quantities.area, square_metres) == (metric, us)


@pytest.mark.parametrize(
    ("cubic_metres", "metric", "us"),
    [
        (0.4, "0 m³", "1 cubic yards"),  # 0.523
        (10.0, "10 m³", "13 cubic yards"),  # / 0.764555 = 13.08
        (76.0, "76 m³", "99 cubic yards"),  # 99.4
        (100.6, "100 m³", "130 cubic yards"),  # 131.6
        (80.0, "80 m³", "100 cubic yards"),  # 104.6, to two figures
        (99.4, "99 m³", "130 cubic yards"),  # 130.01
        (123.0, "120 m³", "160 cubic yards"),  # 160.9
        (1234.0, "1,230 m³", "1,610 cubic yards"),  # 1,614
    ],
)
def test_earth_is_moved_in_whole_units_and_in_tens_from_a_hundred(
    cubic_metres, metric, us
):
    assert both(quantities.volume, cubic_metres) == (metric, us)


def test_wind():
    # 10 m/s: × 3.6 = 36 km/h; / 0.44704 = 22.37 mph.
    assert both(quantities.speed, 10.0) == ("36 km/h", "22 mph")


def test_rain():
    # 25.4 mm are an inch, 38.1 one and a half; 10 mm are 0.394.
    assert both(quantities.rain, 25.4) == ("25.4 mm", "1 in")
    assert both(quantities.rain, 38.1) == ("38.1 mm", "1.5 in")
    assert both(quantities.rain, 10.0) == ("10 mm", "0.4 in")


@pytest.mark.parametrize(
    ("metres", "metric", "us"),
    [
        (1.93, "1.93 m", "6 ft 4 in"),  # 75.98 in, 303.9 quarters: 304 = 76 in
        (2.0, "2.00 m", "6 ft 6.75 in"),  # 78.74 in, 314.96: 315 = 78.75
        (0.3048, "0.30 m", "1 ft 0 in"),
        (0.254, "0.25 m", "10 in"),
        (0.0127, "0.01 m", "0.5 in"),
        (3.3, "3.30 m", "10 ft 10 in"),  # 129.92 in, 519.7: 520 = 130
        (3.65, "3.65 m", "11 ft 11.75 in"),  # 143.70 in, 574.8: 575 = 143.75
    ],
)
def test_pipe_is_cut_to_a_centimetre_or_a_quarter_of_an_inch(metres, metric, us):
    assert both(quantities.pipe, metres) == (metric, us)


def test_water_is_given_to_two_digits():
    # 1,000 gallons are 3,785.4 litres; 3,000 litres 792.5 gallons.
    assert both(quantities.water, 3785.4) == ("3,800 litres", "1,000 gallons")
    assert both(quantities.water, 3000.0) == ("3,000 litres", "790 gallons")


# ------------------------------------------------------------------ temperatures
@pytest.mark.parametrize(
    ("offset_c", "metric", "us"),
    [
        # To half a degree, then × 1.8 without the 32 and to a whole degree.
        (-2.0, "2 °C colder", "4 °F colder"),  # 3.6
        (-0.3, "0.5 °C colder", "1 °F colder"),  # 0.9
        (0.25, "0.5 °C warmer", "1 °F warmer"),
        (-4.0, "4 °C colder", "7 °F colder"),  # 7.2
        (1.6, "1.5 °C warmer", "3 °F warmer"),  # 2.7
        (0.2, "about the same", "about the same"),
        (-0.24, "about the same", "about the same"),
    ],
)
def test_a_difference_is_said_in_words_and_takes_no_32(offset_c, metric, us):
    assert both(quantities.difference, offset_c) == (metric, us)


@pytest.mark.parametrize(
    ("celsius", "metric", "us"),
    [
        (0.0, "0 °C", "32 °F"),
        (-0.1, "0 °C", "32 °F"),  # 31.82
        (-5.0, "−5 °C", "23 °F"),
        (3.3, "3.5 °C", "38 °F"),  # 37.94
        (-17.8, "−18 °C", "0 °F"),  # -0.04
        (-17.5, "−17.5 °C", "0 °F"),  # 0.5, half to even
        (-23.4, "−23.5 °C", "−10 °F"),  # -10.12
        (-40.0, "−40 °C", "−40 °F"),
        (37.0, "37 °C", "99 °F"),  # 98.6
    ],
)
def test_a_temperature_of_the_air(celsius, metric, us):
    assert both(quantities.temperature, celsius) == (metric, us)


def test_degrees_of_a_difference():
    assert both(quantities.degrees, 2.5) == ("2.5 °C", "4.5 °F")
    assert both(quantities.degrees, -0.0) == ("0 °C", "0.0 °F")


def test_above_and_under_have_no_sign_and_a_tenth():
    assert both(quantities.against, -2.0) == (
        "2.0 °C colder than",
        "3.6 °F colder than",
    )
    assert both(quantities.against, 0.0) == ("0.0 °C warmer than", "0.0 °F warmer than")
    assert both(quantities.signed, -2.0) == ("−2.0 °C", "−3.6 °F")
    assert both(quantities.signed, 0.25) == ("+0.2 °C", "+0.5 °F")  # half to even; .45


def test_a_factor_is_shown_to_a_tenth_with_its_range():
    assert quantities.factor((0.55, 1.26, 1.94)) == "1.3 times (0.6 to 1.9 times)"


def test_a_night_has_one_answer_where_all_three_are_shown_alike():
    assert quantities.night(-2.0, -1.0, 0.1, "us") == (
        "likely 2 °F colder (range: 4 °F colder to about the same)"
    )
    assert quantities.night(-1.1, -1.0, -0.9, "metric") == "1 °C colder"
    assert quantities.night(-1.0, -1.0, -0.5, "metric") == (
        "likely 1 °C colder (range: 1 °C colder to 0.5 °C colder)"
    )
    assert quantities.night(-1.5, -1.0, -1.0, "metric") == (
        "likely 1 °C colder (range: 1.5 °C colder to 1 °C colder)"
    )


# ------------------------------------------------------------------ ground and light
@pytest.mark.parametrize(
    ("percent", "metric", "us"),
    [
        # 1 % of 10 m is 10 cm, of 10 ft = 120 in 1.2 in.
        (0.49, "level", "level"),
        (0.5, "drops 5 cm in 10 m", "drops 1 in in 10 ft"),
        (5.0, "drops 50 cm in 10 m", "drops 6 in in 10 ft"),
        # To 5 cm under half a metre, else to 10 cm.
        (1.7, "drops 15 cm in 10 m", "drops 2 in in 10 ft"),
        (6.7, "drops 70 cm in 10 m", "drops 8 in in 10 ft"),
        (12.6, "drops 1.3 m in 10 m", "drops 15 in in 10 ft"),
        (60.0, "drops 6 m in 10 m", "drops 72 in in 10 ft"),
    ],
)
def test_a_grade_is_a_drop_over_a_tape(percent, metric, us):
    assert both(quantities.fall, percent) == (metric, us)
    inside = {"level": "is level"}
    assert both(quantities.ground, percent) == (
        inside.get(metric, metric),
        inside.get(us, us),
    )


@pytest.mark.parametrize(
    ("bearing_deg", "eighth", "sixteenth"),
    [
        # An eighth is 45° wide: north is to 22.5° either side; a sixteenth 22.5°.
        (0.0, "north", "north"),
        (22.4, "north", "north-north-east"),
        (22.6, "north-east", "north-north-east"),
        (11.2, "north", "north"),
        (11.3, "north", "north-north-east"),
        (90.0, "east", "east"),
        (157.0, "south-east", "south-south-east"),
        (170.0, "south", "south"),  # said of the end that its degrees name
        (225.0, "south-west", "north-east"),
        (337.4, "north-west", "south-south-east"),
        (337.6, "north", "south-south-east"),
        (360.0, "north", "north"),
    ],
)
def test_directions_of_the_compass(bearing_deg, eighth, sixteenth):
    assert quantities.direction(bearing_deg) == eighth
    assert quantities.sixteenth(bearing_deg) == sixteenth


@pytest.mark.parametrize(
    ("bearing_deg", "axis"),
    [
        (0.0, "north to south"),
        (45.0, "north-east to south-west"),
        (90.0, "east to west"),
        (135.0, "north-west to south-east"),
        (180.0, "north to south"),
        (225.0, "north-east to south-west"),
        (270.0, "east to west"),
        (315.0, "north-west to south-east"),
    ],
)
def test_a_long_thing_is_named_from_the_northern_end_or_from_the_east(
    bearing_deg, axis
):
    assert quantities.axis(bearing_deg) == axis


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (0.0049, "the same light"),
        (-0.0049, "the same light"),
        (0.006, "1 % more light"),
        (-0.25, "25 % less light"),
        (1.0, "100 % more light"),
    ],
)
def test_light_beside_other_light(more, said):
    assert quantities.compared_light(more) == said


# ------------------------------------------------------------------ time
@pytest.mark.parametrize(
    ("days", "rank", "said"),
    [
        ((0.0, 1.0, 9.0), 1, "you can plant this bed together with the first beds"),
        (
            (0.6, 1.0, 1.4),
            2,
            "this bed is ready to plant about 1 day after the first bed",
        ),
        (
            (0.4, 1.0, 1.4),
            2,
            "this bed is ready to plant 1 day after the first bed (range: 0 to 1)",
        ),
        (
            (3.0, 5.6, 8.0),
            9,
            "this bed is ready to plant 6 days after the first bed (range: 3 to 8)",
        ),
    ],
)
def test_days_behind_the_first_bed(days, rank, said):
    assert quantities.days_later(*days, rank) == said


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        (0.0, "0 minutes"),
        (0.04, "0 minutes"),  # 2.4 minutes
        (0.05, "5 minutes"),  # 3 minutes
        (0.97, "1 hour"),  # 58.2 minutes are nearer to 60
        (1.0, "1 hour"),
        (2.75, "2 hours 45 minutes"),
        (12.0, "12 hours"),
    ],
)
def test_hours_and_minutes_to_five_minutes(hours, said):
    assert quantities.duration(hours) == said


@pytest.mark.parametrize(
    ("risk", "said"),
    [
        (0.1, "1 year in 10"),
        (0.2, "1 year in 5"),
        (0.5, "1 year in 2"),
        (0.3333, "1 year in 3"),
        (0.3, "30 years in 100"),
        (0.4, "40 years in 100"),
        (0.6, "60 years in 100"),
        (0.33212, "33 years in 100"),  # 1 in 3.011
    ],
)
def test_a_share_of_years(risk, said):
    assert quantities.odds(risk) == said


def test_days_are_written_as_where_one_lives():
    from datetime import date

    assert quantities.day(2, 29) == "29 February"
    with spoken(of_site("en", "us")):
        assert quantities.day(5, 24) == "May 24"
        assert date_in_words(date(2027, 4, 5)) == "April 5, 2027"
        assert (month_name(1), month_name(12)) == ("January", "December")
    with spoken(of_site("es", "metric")):
        assert quantities.day(5, 24) == "24 de mayo"


# ------------------------------------------------------------------ units by name
@pytest.mark.parametrize(
    ("name", "value", "metric", "us"),
    [
        ("area_m2", 200.0, "200 m²", "2,150 sq ft"),  # 2,152.8
        ("earth_m3", 10.0, "10 m³", "13 cubic yards"),
        ("rain_mm", 12.7, "12.7 mm", "0.5 in"),
        ("wind_m_s", 10.0, "36 km/h", "22 mph"),
        ("length_m", 3.0, "3 m", "10 ft"),  # 9.84
        ("away_km", 8.0, "8 km", "5 miles"),  # 4.97
        ("degrees_c", 2.0, "2 °C", "3.6 °F"),
        ("wind_from_deg", 90.0, "east", "east"),
        ("falls_to_deg", 180.0, "south", "south"),
        ("sun_hours", 1.5, "1 hour 30 minutes", "1 hour 30 minutes"),
        ("light_mol", 16.5, "16.5", "16.5"),
        ("wet_share", 0.074, "7 %", "7 %"),
        ("wet_share", 0.6, "60 %", "60 %"),
        ("number", 2.5, "2.5", "2.5"),
        ("early_day", (3, 9), "9 March", "9 March"),
    ],
)
def test_a_value_is_written_by_the_unit_at_the_end_of_its_name(name, value, metric, us):
    for units, said in (("metric", metric), ("us", us)):
        assert fill(f"{{{name}}}", units, **{name: value}) == said


FORMED = {
    "short_length": (0.45, "45 cm", "18 in"),
    "depth": (3.0, "3.0 m", "9.8 ft"),
    "way": (12.4, "12 m", "41 ft"),
    "height": (2.4, "2.4 m", "7.9 ft"),
    "pipe": (2.0, "2.00 m", "6 ft 6.75 in"),
    "difference": (-2.0, "2 °C colder", "4 °F colder"),
    "temperature": (-5.0, "−5 °C", "23 °F"),
    "against": (-2.0, "2.0 °C colder than", "3.6 °F colder than"),
    "signed": (2.0, "+2.0 °C", "+3.6 °F"),
    "factor": ((0.6, 1.2, 1.9), *["1.2 times (0.6 to 1.9 times)"] * 2),
    "fall": (5.0, "drops 50 cm in 10 m", "drops 6 in in 10 ft"),
    "ground": (0.1, "is level", "is level"),
    "direction": (45.0, "north-east", "north-east"),
    "axis": (90.0, "east to west", "east to west"),
    "sixteenth": (22.5, "north-north-east", "north-north-east"),
    "compared_light": (0.1, "10 % more light", "10 % more light"),
    "day": ((3, 9), "9 March", "9 March"),
    "month": (3, "March", "March"),
    "odds": (0.2, "1 year in 5", "1 year in 5"),
    "each_odds": ([0.1, 0.5], *["1 year in 10 and 1 year in 2"] * 2),
    "number": (3.0, "3", "3"),
    "whole": (3.4, "3", "3"),
    "whole_percent": (0.256, "26%", "26%"),
    "commas": (["A", "B", "C"], "A, B, C", "A, B, C"),
    "name": (
        Fact("crop_never_out", crop="leek"),
        *["leek: in usual years it never gets warm enough without a cover"] * 2,
    ),
    "thousands": (12345, "12,345", "12,345"),
}


@pytest.mark.parametrize("form", FORMED)
def test_a_value_is_written_in_the_form_that_its_sentence_names(form):
    value, metric, us = FORMED[form]
    text = {"text": "{it}", "it": form}
    assert fill(text, "metric", it=value) == metric
    assert fill(text, "us", it=value) == us


def test_a_number_of_things_has_its_own_words_for_none_and_one():
    text = {"none": "no bed", "one": "{number} bed", "many": "{number} beds"}
    said = [fill(text, "metric", number=number) for number in (0, 1, 2)]
    assert said == ["no bed", "1 bed", "2 beds"]


def test_names_are_listed_and_facts_said_in_their_own_words():
    text = {"text": "{it}", "it": "name"}
    assert fill(text, "metric", it=["bed", "path"]) == "bed and path"
    assert fill(text, "metric", it=("bed",)) == "bed"
    assert fill(text, "metric", it="bed") == "bed"


def test_lists_of_lengths_are_written_one_by_one():
    fact = Fact("length_of_cover", length_m=100.0, cover="light_fabric")
    assert "328 ft" in say(fact, "us")


def test_a_walk_is_said_as_well_as_it_is_known_and_a_check_says_the_same():
    """11,850.2 and 11,857.4 m² of one walk, in two grids; out by 1,374.2 m²."""
    known = {"area_m2": 11_850.2, "give_or_take_m2": 1_374.2, "error_m": 3.0}
    said = say(Fact("start_walk_area", name="Field", **known), "metric")
    assert said.startswith(
        "Field: the area is 11,900 m². It may be up to 1,400 m² more or less"
    )
    assert quantities.area(11_857.4, "metric") == "11,900 m²"


@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_fall_is_the_same_at_a_spot_and_in_a_table(units):
    """Steps of 5 cm in 10 m, from half a metre on of 10 cm; of an inch in 10 ft."""
    percents = np.linspace(0.0, 12.0, 481)
    shown = readings._shown_percent(percents, units)
    step = readings._fall_step_percent(units)
    for percent, read in zip(percents, shown, strict=True):
        code = round(read / step)
        assert quantities.fall(code * step, units) == quantities.fall(percent, units)
