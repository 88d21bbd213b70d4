"""Nights worked by hand on crops with round limits.

Worth of covers on a clear calm night, least and likely (layers.cover): light fabric and
slitted film -0.5 and 1 °C, clear film 0 and 0.5, light fabric under clear film -0.5 and
1.5, medium fabric 1.1 and 2.2, heavy fabric 3 and 3.5. On other nights 0 and 0.2.
"""

import itertools
from dataclasses import replace
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
from made_up import CRS, NORTH, WEST, plane, plot_box, site
from made_up_crops import crop, limit
from shapely.geometry import Point, box

from fieldmap.decide import daylight, tonight
from fieldmap.decide.tonight.answer import Answer, Bare, answer, sign, usable
from fieldmap.decide.tonight.evening_round import (
    EveningRound,
    evening_round,
    walking_order,
)
from fieldmap.decide.tonight.forecast import Forecast, celsius, forecast
from fieldmap.errors import PlanError
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.observed import Observed, Range

AT_SCREEN = crop("hut", damage_c=limit(0.0, at="screen"))  # harmed at 0 °C
AT_PLANT = crop("leaf", damage_c=limit(0.0, at="plant"))  # at 0, 2 or 4 °C
STILL, CLOUDY = Forecast(0.0, "clear", "calm"), Forecast(0.0, "cloudy", "calm")


# ------------------------------------------------------------------ one crop, one bed
@pytest.mark.parametrize(
    ("air", "covers", "given"),
    [
        # Harmed at 4 °C: 4.0 is not over it.
        ((4.1, 4.1), (), ("leave", None)),
        ((4.0, 4.1), (), ("likely", None)),
        # Light fabric is never sure, as it may be colder under it; 3.9 - .5 is under 4.
        ((3.9, 3.9), ("light_fabric",), ("likely", "light_fabric")),
        # Two covers: the lesser that is sure; else the greater, where it is likely.
        # 2.8 + 1.1 is not over 4, 3 + 1.1 is; 2.8 + 3 is.
        ((3.0, 3.0), ("heavy_fabric", "medium_fabric"), ("sure", "medium_fabric")),
        ((2.8, 2.8), ("heavy_fabric", "medium_fabric"), ("sure", "heavy_fabric")),
        ((1.0, 1.0), ("medium_fabric", "light_fabric"), ("likely", "medium_fabric")),
        # The names of covers are in no order of worth: heavy fabric is worth 3 °C.
        ((1.0, 1.0), ("heavy_fabric", "light_fabric"), ("likely", "heavy_fabric")),
        # Likely harmed at 2 °C: 1 + 1 is not over it, 1.1 + 1 is.
        ((0.0, 1.1), ("light_fabric",), ("likely", "light_fabric")),
        ((0.0, 1.0), ("light_fabric",), ("wanting", "fabric_under_film")),
        # Nothing that is owned: what of all covers would be the least that is sure ...
        ((3.0, 2.0), (), ("wanting", "medium_fabric")),
        ((2.8, 2.0), (), ("wanting", "heavy_fabric")),
        # ... or likely: .8 + 1.5 under two covers is, .5 + 1.5 is not, .5 + 2.2 is.
        ((-1.0, 0.8), ("light_fabric",), ("wanting", "fabric_under_film")),
        ((-1.0, 0.5), ("light_fabric",), ("wanting", "medium_fabric")),
        # -1.5 + 3.5 under heavy fabric is not over 2.
        ((-2.5, -1.4), (), ("wanting", "heavy_fabric")),
        ((-2.5, -1.5), (), ("lost", None)),
        # No cover at all, and likely unharmed.
        ((1.0, 2.1), (), ("likely", None)),
        ((1.0, 2.0), (), ("wanting", "clear_film")),
    ],
)
def test_a_still_night(air, covers, given):
    assert answer(AT_PLANT, Bare(*air), covers, is_still=True) == given


@pytest.mark.parametrize(
    ("air_c", "covers", "given"),
    [
        # On other nights leaves are as cold as 2 °C under the screen at the middle.
        (2.1, (), ("leave", None)),
        # 2 + 0 is not over 2 for sure, and likely it is 2 + .2.
        (2.0, ("light_fabric",), ("likely", "light_fabric")),
        (1.9, ("heavy_fabric",), ("likely", "heavy_fabric")),
        # 1.7 + .2 is not, though the worth of still nights would be.
        (1.7, ("heavy_fabric",), ("lost", None)),
        (2.0, (), ("wanting", "clear_film")),
        (-1.0, (), ("lost", None)),
    ],
)
def test_a_cloudy_night_counts_what_covers_are_worth_then(air_c, covers, given):
    assert answer(AT_PLANT, Bare(air_c, air_c), covers, is_still=False) == given


def test_a_limit_at_the_screen_has_no_range():
    for air_c, verdict in ((0.1, "leave"), (0.0, "wanting")):
        found = answer(AT_SCREEN, Bare(air_c, air_c), (), is_still=True)
        assert found.verdict == verdict


def test_covers_that_warm_are_usable_and_two_of_them_together():
    owned = ["clear_film", "shade_40", "light_fabric", "insect_net", "medium_fabric"]
    assert usable(owned, None) == (
        "light_fabric",
        "medium_fabric",
        "clear_film",
        "fabric_under_film",
    )
    assert usable(owned, ["clear_film", "light_fabric"]) == (
        "light_fabric",
        "clear_film",
        "fabric_under_film",
    )
    assert usable(owned, ["clear_film", "heavy_fabric"]) == ("clear_film",)
    assert usable(owned, []) == usable(["shade_40"], None) == ()


LEAVE, BARE = Answer("leave"), Answer("likely")
SURE, LIKELY = Answer("sure", "light_fabric"), Answer("likely", "light_fabric")
WANTING, LOST = Answer("wanting", "heavy_fabric"), Answer("lost")


@pytest.mark.parametrize(
    ("answers", "drawn"),
    [
        ([], "leave"),
        ([LEAVE], "leave"),
        ([LEAVE, BARE], "odds"),
        ([BARE], "odds"),
        ([SURE, LEAVE], "cover"),
        ([LIKELY, BARE], "cover"),
        ([SURE, WANTING], "part"),
        ([LIKELY, LOST], "part"),
        ([WANTING], "lost"),
        ([LOST, LEAVE], "lost"),
        ([BARE, LOST], "lost"),
    ],
)
def test_what_a_bed_is_drawn_as(answers, drawn):
    assert sign(answers) == drawn


# ------------------------------------------------------------------ the forecast
def test_lows_are_turned_to_celsius_where_the_site_has_fahrenheit():
    # (23 - 32) / 1.8 = -5.
    assert celsius(23.0, "us") == pytest.approx(-5.0)
    assert celsius(32.0, "us") == 0.0
    assert celsius(23.0, "metric") == 23.0


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
def test_a_refused_low_is_told_what_would_be_right(low, units, said):
    with pytest.raises(PlanError) as refused:
        forecast(low, "clear", "calm", units)
    assert str(refused.value.problems[0]) == (
        f"--low is '90'; give the low that is forecast for the station {said}"
    )


def test_refused_words_are_told_what_would_be_right():
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


# ------------------------------------------------------------------ air on the beds
def bed(name, offset_c=(0.0, 0.0, 0.0), plot="Home", length_m=20.0, outline=None):
    return SimpleNamespace(
        bed=SimpleNamespace(name=name, plot=plot, length_m=length_m, outline=outline),
        offset_c=Estimate(*offset_c),
    )


def round_of(*beds, heights_c=None, crops=(AT_PLANT,), owned=(), **more):
    """A round at the height of the station over beds for some crops."""
    owned_m = dict(owned)
    known = {
        "reference_c": 0.0,
        "spare_c": 0.0,
        "bias_c": None,
        "mixed_share": Estimate(0.1, 0.2, 0.3),
        "of_station": (),
    } | more
    return EveningRound(
        beds=tuple(beds),
        heights_c=tuple(heights_c or [0.0] * len(beds)),
        crops=tuple((each, usable(owned_m, None)) for each in crops),
        owned_m=owned_m,
        **known,
    )


def air(round_, low_c, sky="clear", wind="calm"):
    return [tuple(each) for each in round_.bare(Forecast(low_c, sky, wind))]


COLD = bed("A1", (-2.0, -1.0, 0.5))


def test_on_a_still_night_a_bed_has_the_height_of_the_reference_and_its_offset():
    # 3 - .55 - 2 - 1 = -.55 at worst and 3 - .55 - 1 = 1.45 likely, to a tenth; the
    # height of the bed itself lies in its offset.
    here = round_of(COLD, heights_c=[-9.0], reference_c=-0.55, spare_c=1.0)
    assert air(here, 3.0) == [
        (pytest.approx(-0.55, abs=0.051), pytest.approx(1.45, abs=0.051))
    ]
    assert all(round(value, 1) == value for value in air(here, 3.0)[0])


def test_what_thermometers_taught_stands_for_height_and_spare():
    # 3 - 2.5 - 2 = -1.5; 3 - 1.5 - 1 = .5.
    taught = round_of(
        COLD, reference_c=-0.55, spare_c=1.0, bias_c=Estimate(-2.5, -1.5, -0.5)
    )
    assert air(taught, 3.0) == [(-1.5, 0.5)]


def test_under_cloud_a_bed_has_its_own_height_and_a_part_of_its_offset():
    """3 - .3 - .3 * 2 = 2.1 at worst and 3 - .3 - .2 * 1 = 2.5 likely."""
    bias_c = Estimate(-2.5, -1.5, -0.5)
    more = {"reference_c": -0.55, "spare_c": 1.0, "bias_c": bias_c}
    assert air(round_of(COLD, heights_c=[-0.3], **more), 3.0, "cloudy") == [(2.1, 2.5)]
    # Of a warm bed the least part is the worst: 3 + .1 * 1 and 3 + .2 * 2.
    assert air(round_of(bed("A2", (1.0, 2.0, 3.0))), 3.0, "cloudy") == [(3.1, 3.4)]


def test_in_wind_a_bed_has_its_own_height_and_no_range():
    here = round_of(
        COLD,
        heights_c=[-0.3],
        reference_c=-0.55,
        spare_c=1.0,
        bias_c=Estimate(-2.5, -1.5, -0.5),
    )
    for sky in ("cloudy", "clear"):
        assert air(here, 3.0, sky, "windy") == [(2.7, 2.7)]


# ------------------------------------------------------------------ the walk
def strip(name, west_m, plot="Home"):
    return bed(name, plot=plot, outline=box(west_m, 0, west_m + 1, 10))


def walked(beds, plots, *gates):
    points = gpd.GeoSeries([Point(east, 5) for east in gates])
    return [each.bed.name for each in walking_order(beds, plots, points)]


def test_each_plot_is_walked_from_its_end_nearer_to_a_gate():
    beds = [strip("A1", 0), strip("A2", 2), strip("A3", 4)]
    assert walked(beds, ["Home"]) == ["A1", "A2", "A3"]
    assert walked(beds, ["Home"], 10) == ["A3", "A2", "A1"]
    assert walked(beds, ["Home"], -10) == ["A1", "A2", "A3"]
    # Just as far from both: from the first.
    assert walked(beds, ["Home"], 2.5) == ["A1", "A2", "A3"]
    # The nearest of several gates counts.
    assert walked(beds, ["Home"], -10, 6) == ["A3", "A2", "A1"]


def test_plots_come_in_their_own_order_and_those_without_beds_not():
    beds = [
        strip("A1", 0),
        strip("B1", 20, "Field"),
        strip("A2", 2),
        strip("B2", 22, "Field"),
    ]
    # The gate at 30 is nearer to B2 and to A2.
    assert walked(beds, ["Field", "Bare", "Home"], 30) == ["B2", "B1", "A2", "A1"]


def test_each_plot_has_its_own_ends():
    beds = [
        strip("A1", 0),
        strip("B1", 20, "Field"),
        strip("A2", 2),
        strip("B2", 22, "Field"),
    ]
    # The gate at 20.5 stands on B1, and A2 is the nearer end of its plot.
    assert walked(beds, ["Home", "Field"], 20.5) == ["A2", "A1", "B1", "B2"]


# ------------------------------------------------------------------ the round
SLOPE = plane(east=0.1)  # 100 m in the west, 1 m higher with every 10 m to the east
HOME = plot_box(40, 40, 160, 160)


def farm(station=None, owned=(), chosen=(None, None), observed=None):
    """A site on the slope with two crops; its plots' middle is at 110 m."""
    made = site(
        SLOPE,
        {"Home": HOME},
        station=station,
        crops=[
            {"name": name, "covers": covers}
            for name, covers in zip(("leaf", "hut"), chosen, strict=True)
        ],
        covers=[{"kind": kind, "width_m": 2.0, "length_m": m} for kind, m in owned],
    )
    return replace(made, crops=(AT_PLANT, AT_SCREEN), observed=observed)


def at_east(name, east_m):
    """A bed whose middle lies so far east, at 100 m and a tenth of that."""
    west, south = WEST + east_m - 5, NORTH - 100
    return bed(name, outline=box(west, south, west + 10, south + 1))


AWAY = {"latitude": 45.0, "longitude": 14.0, "elevation_m": 10.0}


def test_each_bed_has_its_own_height_and_the_reference_that_of_the_middle():
    # Station at 10 m; middle at 110: 5.5 °C per km are .55 °C. Beds at 105 and 114.
    found = evening_round(farm(AWAY), [at_east("A1", 50), at_east("A2", 140)])
    assert found.heights_c == pytest.approx((-0.0055 * 95, -0.0055 * 104), abs=0.001)
    assert found.reference_c == pytest.approx(-0.55, abs=0.001)
    assert (found.spare_c, found.bias_c) == (1.0, None)
    assert found.of_station == (Fact("tonight_elsewhere", degrees_c=1.0),)


def test_a_station_of_unknown_height_stands_as_high_as_the_middle():
    found = evening_round(farm(), [at_east("A1", 50)])
    assert found.heights_c == pytest.approx((0.0055 * 5,), abs=0.001)
    assert found.reference_c == pytest.approx(0.0, abs=1e-9)
    assert found.of_station == (Fact("tonight_height_unknown"),)


def test_a_station_on_the_ground_is_the_reference():
    longitude, latitude = transformer(CRS, WGS84).transform(WEST + 100, NORTH - 100)
    here = {"latitude": latitude, "longitude": longitude, "elevation_m": 10.0}
    found = evening_round(farm(here), [at_east("A1", 50)])
    assert (found.reference_c, found.spare_c, found.of_station) == (0.0, 0.0, ())


def test_what_thermometers_taught_is_taken_along():
    bias = Range(low=-3.0, central=-2.0, high=-1.0)
    learnt = Observed(readings_sha256="0" * 64, clear_calm_nights=12, bias_c=bias)
    found = evening_round(farm(AWAY, observed=learnt), [at_east("A1", 50)])
    assert found.bias_c == (-3.0, -2.0, -1.0)
    assert (found.spare_c, found.of_station) == (0.0, ())


def test_covers_of_a_kind_are_one_length_and_each_crop_has_those_chosen_for_it():
    owned = [("light_fabric", 30.0), ("medium_fabric", 10.0), ("light_fabric", 12.5)]
    found = evening_round(farm(owned=owned, chosen=(["medium_fabric"], None)), [])
    assert found.owned_m == {"light_fabric": 42.5, "medium_fabric": 10.0}
    assert found.crops == (
        (AT_PLANT, ("medium_fabric",)),
        (AT_SCREEN, ("light_fabric", "medium_fabric")),
    )


def test_crops_that_nobody_listed_may_have_every_cover():
    made = site(
        SLOPE,
        {"Home": HOME},
        covers=[{"kind": "light_fabric", "width_m": 2.0, "length_m": 9.0}],
    )
    found = evening_round(replace(made, crops=(AT_PLANT, AT_SCREEN)), [])
    assert [covers for _crop, covers in found.crops] == [("light_fabric",)] * 2


# ------------------------------------------------------------------ the list
def told(round_, low_c, sky="clear", wind="calm"):
    return tonight.advise(round_, Forecast(low_c, sky, wind))


def test_beds_of_a_plot_with_one_answer_are_one_run():
    # 4.5 °C; leaves may be harmed at 4. Beds at 0 are left, at -1 want a cover.
    beds = [
        bed("A1"),
        bed("A2", (-1, -1, -1)),
        bed("A3", (-1.2, -1, -1)),
        bed("B1", (-0.4, 0, 0), plot="Field"),
    ]
    found = told(round_of(*beds, owned={"medium_fabric": 100.0}), 4.5)
    first, second = found.plots
    assert (first.plot, first.beds) == ("Home", ("A1", "A2", "A3"))
    assert first.worst_c == 3.3
    assert first.likely_c == (3.5, 4.5)
    (line,) = first.lines
    assert line.crops == ("leaf",)
    assert [(run.beds, run.answer.verdict) for run in line.runs] == [
        (("A1",), "leave"),
        (("A2", "A3"), "sure"),
    ]
    assert (second.plot, second.worst_c, second.likely_c) == ("Field", 4.1, (4.5, 4.5))
    assert found.signs == {"A1": "leave", "A2": "cover", "A3": "cover", "B1": "leave"}


def test_crops_that_are_safe_on_every_bed_are_named_once():
    hardy = crop("rock", damage_c=limit(-9.0, at="screen"))
    here = round_of(bed("A1"), bed("A2"), crops=(hardy, AT_PLANT, AT_SCREEN))
    found = told(here, 3.0)
    assert found.of_beds == (Fact("tonight_safe_crops", crops=["rock", "hut"]),)
    assert [line.crops for line in found.plots[0].lines] == [("leaf",)]
    warm = told(here, 9.0)
    assert warm.of_beds == (
        Fact("tonight_safe_crops", crops=["rock", "leaf", "hut"]),
        Fact("tonight_nothing_to_cover"),
    )
    assert (warm.plots, warm.of_covers) == ((), ())
    assert warm.signs == {"A1": "leave", "A2": "leave"}


def test_crops_with_the_same_answers_share_a_line_and_a_bed_its_sign():
    other = crop("frond", damage_c=limit(0.0, at="plant"))
    here = round_of(bed("A1"), crops=(AT_PLANT, AT_SCREEN, other))
    found = told(here, -1.0)
    assert [line.crops for line in found.plots[0].lines] == [
        ("leaf", "frond"),
        ("hut",),
    ]
    assert found.signs == {"A1": "lost"}


def test_a_bed_of_unknown_ground_is_named_and_left_out():
    unknown = bed("A2", (np.nan,) * 3)
    found = told(round_of(bed("A1"), unknown), 3.0)
    assert found.of_beds[0] == Fact("tonight_unknown_beds", beds=["A2"])
    assert found.plots[0].beds == ("A1",)
    assert list(found.signs) == ["A1"]
    nothing = told(round_of(unknown), 3.0)
    assert nothing.of_covers == (Fact("tonight_no_beds"),)
    assert nothing.plots == ()


@pytest.mark.parametrize(
    ("low_c", "harmed"),
    [
        # At the height of the reference, .5 °C colder: 2.5 is at the leaf's 2 °C ...
        (2.5, ["leaf"]),
        (2.6, []),
        (0.5, ["leaf", "hut"]),
        (0.6, ["leaf"]),
    ],
)
def test_in_wind_all_beds_have_one_air_and_crops_at_their_limit_are_harmed(
    low_c, harmed
):
    here = round_of(COLD, crops=(AT_PLANT, AT_SCREEN), reference_c=-0.5)
    air_, harm = told(here, low_c, wind="windy").of_covers
    assert air_.kind == "tonight_windy_air"
    assert air_["air_c"] == pytest.approx(low_c - 0.5)
    assert harm == (
        Fact("tonight_harmed", crops=harmed) if harmed else Fact("tonight_no_harm")
    )


def test_a_list_says_for_which_forecast_and_how_the_station_stands():
    here = round_of(COLD, of_station=(Fact("tonight_elsewhere", degrees_c=1.0),))
    for wind in ("calm", "windy"):
        advice = told(here, 1.0, wind=wind)
        assert advice.forecast == Forecast(1.0, "clear", wind)
        assert advice.of_station == here.of_station
        assert advice.of_beds == ()


def short_covers(owned, *beds, low_c=3.0):
    facts = told(round_of(*beds, owned=owned), low_c).of_covers
    assert facts[0] == Fact("tonight_unknown_crops")
    return list(facts[1:])


def test_a_cover_that_does_not_reach_over_the_beds_it_is_named_for_is_said():
    # 3 °C at worst wants 2 °C: medium fabric on both beds, 40 m.
    beds = [bed("A1", (-0.5, 0, 0)), bed("A2", (-0.5, 0, 0))]
    assert short_covers({"medium_fabric": 40.0}, *beds) == []
    assert short_covers({"medium_fabric": 39.0}, *beds) == [
        Fact("tonight_short_cover", have_m=39.0, cover="medium_fabric", need_m=40.0)
    ]
    # What is named for one bed alone must reach over that one.
    one = [beds[0], bed("A2", (3.0, 3, 3))]
    assert short_covers({"medium_fabric": 20.0}, *one) == []
    assert short_covers({}, *beds) == [Fact("tonight_no_cover")]
    assert short_covers({"shade_40": 9.0}, *beds) == [Fact("tonight_no_cover")]


def test_a_cover_that_is_wanted_and_not_owned_is_not_short():
    # At -.3 °C at worst and .2 likely medium fabric is what would serve.
    beds = [bed("A1", (-0.5, 0.0, 0.0))]
    assert short_covers({"light_fabric": 9.0}, *beds, low_c=0.2) == []
    # Half a metre is owned, and too short.
    (short,) = short_covers({"medium_fabric": 0.5}, *beds, low_c=1.0)
    assert (short["have_m"], short["need_m"]) == (0.5, 20.0)


def test_a_bed_needs_a_cover_if_one_of_its_crops_does():
    beds = [bed("A1", (-0.5, 0, 0)), bed("A2", (-0.5, 0, 0))]
    here = round_of(*beds, crops=(AT_PLANT, AT_SCREEN), owned={"medium_fabric": 39.0})
    assert [fact.kind for fact in told(here, 3.0).of_covers] == [
        "tonight_unknown_crops",
        "tonight_short_cover",
    ]


def test_a_pair_of_covers_needs_both_of_them():
    # .6 °C likely: .6 + 1.5 is over 2, no single one of them.
    beds = [bed("A1", (0.0, 0.0, 0.0), length_m=20.4)]
    owned = {"light_fabric": 10.0, "clear_film": 30.0}
    assert short_covers(owned, *beds, low_c=0.6) == [
        Fact("tonight_short_cover", have_m=10.0, cover="light_fabric", need_m=20.0)
    ]


# ------------------------------------------------------------------ any evening
def test_lists_are_made_for_every_low_that_one_may_hear():
    here = round_of(bed("A1"))
    metric = [each.low for each in tonight.evenings(here, "clear", "calm", "metric")]
    assert metric == list(range(10, -13, -1))
    us = tonight.evenings(here, "clear", "calm", "us")
    assert [each.low for each in us] == list(range(50, 9, -1))
    assert us[18].advice.forecast.low_c == pytest.approx(0.0)  # 32 °F


def test_lows_with_the_same_list_are_one_span_whatever_the_air():
    # Without covers: over 4 °C leave; at 4 and 3 likely unharmed; at 2 and 1 a cover
    # would serve (1 + 3.5 > 4 is sure under heavy fabric at 1.1 alone).
    here = round_of(bed("A1"))
    spans = tonight.spans(tonight.evenings(here, "clear", "calm", "metric"))
    lows = [(first.low, last.low) for first, last in spans]
    assert lows[0] == (10, 5)
    assert lows[1] == (4, 3)
    assert lows[-1][1] == -12
    # Neighbouring spans leave no low out.
    assert all(last - 1 == first for (_, last), (first, _) in itertools.pairwise(lows))


# ------------------------------------------------------------------ light of a day
@pytest.mark.parametrize(
    ("mol", "band", "enough"),
    [
        # 20 mol are wanted; with a tenth either way 22.3 is surely over, 18.2 may be.
        (25.0, 0.2, "yes"),  # 25 x .8 is just 20
        (24.9, 0.2, "just"),
        (16.0, 0.25, "just"),  # 16 x 1.25 is just 20
        (15.9, 0.25, "no"),
        (20.0, 0.0, "yes"),
        (19.9, 0.0, "no"),
    ],
)
def test_light_is_enough_for_tomatoes_for_sure_or_just(mol, band, enough):
    assert daylight.enough_for_tomatoes(mol, band) == enough


@pytest.mark.parametrize(
    ("morning", "half"),
    [
        (0.61, 1),
        (0.6, 0),
        (0.5, 0),
        (0.41, 0),
        (0.4, 0),
        (0.39, -1),
        (1.0, 1),
        (0.0, -1),
    ],
)
def test_the_sunnier_half_of_a_day_has_more_than_six_tenths(morning, half):
    assert daylight.sunnier_half(morning) == half


@pytest.mark.parametrize(
    ("hours", "shown"), [(8.2, 8.0), (8.3, 8.5), (8.7, 8.5), (8.8, 9.0), (0.1, 0.0)]
)
def test_hours_of_sun_are_shown_in_halves(hours, shown):
    assert daylight.half_hours(hours) == shown
