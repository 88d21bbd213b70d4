"""What is typed of a forecast, and what is refused."""

import pytest

from fieldmap.decide.tonight.forecast import LOWS, Forecast, celsius, dusk_c, forecast
from fieldmap.errors import PlanError


def test_lows_are_turned_to_celsius_where_the_site_has_fahrenheit():
    # (23 - 32) / 1.8 = -5.
    assert celsius(23.0, "us") == pytest.approx(-5.0)
    assert celsius(32.0, "us") == 0.0
    assert celsius(23.0, "metric") == 23.0


def test_lists_run_over_the_same_lows_in_both_units():
    """8 · 1.8 + 32 = 46.4 °F, and -10 · 1.8 + 32 = 14 °F."""
    assert LOWS["us"] == tuple(round(low * 1.8 + 32) for low in LOWS["metric"])


@pytest.mark.parametrize(
    ("low", "units", "low_c"),
    [
        ("-40", "metric", -40.0),
        ("20", "metric", 20.0),
        ("-40", "us", -40.0),
        ("68", "us", 20.0),
        ("2.5", "metric", 2.5),
    ],
)
def test_lows_are_believed_from_minus_40_to_20_degrees(low, units, low_c):
    assert forecast(low, "clear", "calm", units) == (low_c, "clear", "calm")


@pytest.mark.parametrize(
    ("low", "units", "ends"),
    [
        ("-40.1", "metric", ("−40 °C", "20 °C", "--low 1")),
        ("20.1", "metric", ("−40 °C", "20 °C")),
        ("-40.1", "us", ("−40 °F", "68 °F", "--low 34")),
        ("68.1", "us", ("−40 °F", "68 °F")),
        ("inf", "metric", ("−40 °C",)),
        ("", "metric", ("−40 °C",)),
    ],
)
def test_other_lows_are_refused_with_the_ends_in_the_units_of_the_site(
    low, units, ends
):
    with pytest.raises(PlanError) as refused:
        forecast(low, "clear", "calm", units)
    (problem,) = refused.value.problems
    assert all(end in str(problem) for end in ends)


@pytest.mark.parametrize(
    ("low", "units", "said"),
    [
        ("90", "us", "in °F, a number from −40 °F to 68 °F, such as --low 34"),
        ("90", "metric", "in °C, a number from −40 °C to 20 °C, such as --low 1"),
    ],
)
def test_a_refused_low_names_what_would_be_right(low, units, said):
    with pytest.raises(PlanError) as refused:
        forecast(low, "clear", "calm", units)
    assert str(refused.value.problems[0]) == (
        f"--low is '90'; give the low that is forecast for the station {said}"
    )


def test_refused_words_name_what_would_be_right():
    with pytest.raises(PlanError) as refused:
        forecast("1", "grey", "breezy", "metric")
    assert [str(each) for each in refused.value.problems] == [
        "--sky is 'grey'; say clear or cloudy",
        "--wind is 'breezy'; say calm or windy",
    ]


def test_every_word_that_cannot_be_used_is_a_problem_of_its_own():
    with pytest.raises(PlanError) as refused:
        forecast("x", "grey", "breezy", "metric")
    assert len(refused.value.problems) == 3
    with pytest.raises(PlanError) as refused:
        forecast("1", "clear", "breezy", "metric")
    assert len(refused.value.problems) == 1


def test_a_still_night_is_clear_and_calm():
    kinds = {
        (sky, wind): Forecast(0.0, sky, wind).is_still
        for sky in ("clear", "cloudy")
        for wind in ("calm", "windy")
    }
    assert [kind for kind, is_still in kinds.items() if is_still] == [("clear", "calm")]


def test_the_temperature_at_dusk_is_read_in_the_units_of_the_site():
    night = Forecast(-2.0, "clear", "calm")
    assert dusk_c("6", night, "metric") == 6.0
    assert dusk_c("43", night, "us") == pytest.approx(6.11, abs=0.01)  # 11 / 1.8
    assert dusk_c("", night, "metric") is None
    assert dusk_c("-2", night, "metric") == -2.0


@pytest.mark.parametrize("typed", ["warm", "-2.1", "nan", "99"])
def test_a_dusk_that_cannot_be_is_refused(typed):
    with pytest.raises(PlanError) as refused:
        dusk_c(typed, Forecast(-2.0, "clear", "calm"), "metric")
    (problem,) = refused.value.problems
    assert str(problem) == (
        f"--dusk is '{typed}'; give the temperature two hours after sunset in °C, a"
        " number no lower than --low, such as --dusk 6"
    )
