"""The answers of the map, against the facts that they state."""

from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
from made_up import raster

from fieldmap.decide.crop_plan import CoverUse, CropPlan, Stay
from fieldmap.decide.crop_plan.model import GreenManure
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH
from fieldmap.show.map.data.packed_tables import column
from fieldmap.show.map.questions import cold, early, grows, terrain, view
from fieldmap.show.map.questions.light import first_for_shade, of_sunniest, shade
from fieldmap.show.text.map import answers

COLDER = Fact("still_nights_differ", difference_c=-1.0, bed=Fact("first_bed"))
WARMER = Fact("still_nights_differ", difference_c=0.5, bed=Fact("first_bed"))
ALIKE = Fact("still_nights_alike", bed=Fact("first_bed"))
WET = Fact("soil_wet", days=10.0)


def because(first, second):
    return Fact("two_that_matter", first=first, second=second, rank=2, days=None)


def bed(plot, rank, *reasons, likely_c=0.0, worst_c=-0.5, slope=4.0):
    return SimpleNamespace(
        bed=SimpleNamespace(plot=plot, name=f"{plot}{rank}"),
        ranks=SimpleNamespace(early=rank, shade=rank),
        reasons=reasons,
        offset_c=Estimate(worst_c, likely_c, 0.5),
        slope_percent=slope,
    )


def dates(days):
    crop = SimpleNamespace(name="squash", is_set_out=True)
    return SimpleNamespace(
        known=True,
        crops=(crop,),
        reference_crop="squash",
        risks=(0.1,),
        season=NORTH,
        early=np.array([days] * 3, float)[:, np.newaxis, np.newaxis, :],
    )


def said(beds, days):
    plots = list(dict.fromkeys(each.bed.plot for each in beds))
    shown = early.view(beds, dates(days), plots, [])
    return shown, shown.said.replace("\u00a0", " ")


# ---- Which beds first: day 165 is 14 June, day 179 is 28 June in a common year


def test_first_beds_some_days_apart_are_said_with_both_days():
    beds = [bed("Shelf", 1), bed("Top", 1), bed("Brook", 2, because(COLDER, ALIKE))]
    _shown, text = said(beds, [165, 167, 179])
    assert (
        "Plant out squash there from 14 to 16 June, depending on the bed. Brook" in text
    )
    _shown, text = said(beds, [165, 166, 179])  # a day is no real difference
    assert "Plant out squash there from 14 June. Brook" in text


def test_a_plot_whose_beds_are_days_apart_has_the_days_of_all_of_them():
    """Day 189 is 8 July; Brook waits for its last bed too, Shelf is done in a day."""
    beds = [bed("Shelf", 1), *(bed("Brook", 2, because(COLDER, ALIKE)),) * 2]
    shown, text = said(beds, [165, 179, 189])
    assert dict(shown.picture.plots) == {
        "Shelf": "from 14 June",
        "Brook": "from 28 June to 8 July",
    }
    assert text.endswith("must wait until 28 June to 8 July because of colder nights.")
    assert shown.note.startswith("These dates are for squash. Frost still comes after")


def test_a_plot_with_few_of_the_first_beds_comes_last_in_the_answer_with_their_number():
    beds = [
        bed("Top", 1),
        *(bed("Shelf", 1) for _ in range(2)),
        *(bed("Top", 4, because(COLDER, ALIKE)) for _ in range(3)),
    ]
    _shown, text = said(beds, [166, 165, 165, 179, 179, 179])
    assert text.startswith("You can plant three beds first: 2 in Shelf and 1 in Top.")


def test_some_beds_of_a_plot_come_first_and_another_plot_waits_for_its_reason():
    beds = [
        *(bed("Shelf", 1) for _ in range(2)),
        *(bed("Shelf", 3, because(COLDER, ALIKE)) for _ in range(3)),
        *(bed("Brook", 6, because(WET, COLDER)) for _ in range(2)),
    ]
    shown, text = said(beds, [165, 165, 168, 168, 168, 179, 180])
    assert text == (
        "You can plant two beds in Shelf first. Plant out squash there from 14 June. Brook must wait until 28 June because of wet ground and colder nights."
    )
    assert shown.picture.outlined == (0, 1)
    assert dict(shown.picture.plots) == {
        "Shelf": "from 14 to 17 June",
        "Brook": "from 28 June",
    }
    assert shown.picture.beds.at[0] == 0
    assert shown.picture.beds.at[-1] == 1
    brackets = {each.name: each.text for each in shown.ramp.brackets}
    assert brackets == {
        "Shelf": "14 to 17 June, 5 beds",
        "Brook": "28 to 29 June, 2 beds",
    }


def test_whole_plots_that_come_first_are_named_without_a_count():
    beds = [bed("Shelf", 1), bed("Top", 1), bed("Brook", 3, because(ALIKE, WARMER))]
    _shown, text = said(beds, [165, 166, 170])
    assert text.startswith("Shelf and Top can be planted first.")
    # What makes no bed later is no reason.
    assert text.endswith("Brook must wait until 19 June.")


def test_where_all_beds_tie_none_is_said_to_come_first():
    shown, text = said([bed("Shelf", 1), bed("Top", 1)], [165, 166])
    assert text.startswith("No bed is surely first.")
    assert shown.picture.outlined == ()


def test_the_words_of_a_day_are_underlined_in_the_colour_of_that_day():
    shown, _text = said([bed("Shelf", 1), bed("Brook", 2)], [165, 175])
    marked = [(run.text, run.at) for run in shown.answer if run.ramp]
    assert marked == [("from 14\u00a0June", 0.0), ("until 24\u00a0June", 1.0)]


def test_ticks_of_days_stand_true_to_scale_and_never_on_each_other():
    shown, _text = said([bed("A", 1), bed("B", 2), bed("C", 3)], [100, 101, 200])
    places = [tick.at for tick in shown.ramp.ticks]
    assert places == sorted(places)
    assert min(np.diff(places)) >= view.FEWEST_APART
    assert (places[0], places[-1]) == (0.0, 1.0)


NIGHTS, GROUND = (
    "colder nights",
    "wet ground",
)
A_LITTLE_COLDER = Fact("still_nights_differ", difference_c=-0.3, bed=Fact("first_bed"))


@pytest.mark.parametrize(
    ("reasons", "why"),
    [
        ([because(WET, COLDER)], (GROUND, NIGHTS)),
        ([because(ALIKE, COLDER)], (NIGHTS,)),
        ([because(WARMER, ALIKE)], ()),
        ([Fact("bed_wet_in_march"), because(COLDER, WET)], (NIGHTS, GROUND)),
        # .3 °C at 5.8 days a degree is 1.7 days: less than two is no real difference.
        ([because(WET, A_LITTLE_COLDER)], (GROUND,)),
        ([], ()),
    ],
)
def test_reasons_are_the_larger_cause_and_another_that_is_worth_days(reasons, why):
    assert answers.why_later(reasons) == why


def test_a_plot_waits_for_each_cause_that_over_half_of_its_beds_have():
    beds = [
        bed("Shelf", 1),
        bed("Brook", 6, because(COLDER, WET)),
        bed("Brook", 6, because(COLDER, WET)),
        bed("Brook", 6, because(COLDER, ALIKE)),
    ]
    _shown, text = said(beds, [165, 179, 179, 180])
    assert text.endswith("because of colder nights and wet ground.")


# ---- What grows where


def stay(at, name="lettuce", covers=()):
    first, ripe, last = at
    return Stay(
        "spring", first, ripe, last, covers, bed="A1", crop=name, days_by_place=0.0
    )


BEDS = [("A1", "Home"), ("A2", "Home")]


@pytest.mark.parametrize(
    ("day", "state"),
    [
        (99, "covered"),  # film lies from day 95
        (100, "covered"),
        (111, "growing"),
        (130, "ready"),
        (140, "ready"),
        (141, "empty"),
    ],
)
def test_a_bed_is_drawn_by_what_it_does_on_the_day(day, state):
    film = CoverUse("slitted_film", 95, 110, 3.0)
    states = grows.states([stay((100, 130, 140), covers=(film,))], BEDS, day)
    assert states == (state, "empty")


def test_a_crop_that_stays_into_the_next_year_stands_in_this_ones_spring_too():
    kale = stay((250, 300, 365 + 60), "kale")
    assert grows.states([kale], BEDS, 20) == ("ready", "empty")
    assert grows.states([kale], BEDS, 61) == ("empty", "empty")


def test_a_bed_in_grass_or_green_manure_is_not_drawn_empty():
    """Winter rye from day 280 to 7 March of the next year; grass for good on A2."""
    rye = GreenManure("A1", "winter rye", 280, 365 + 66)
    plan = CropPlan(
        stays=(stay((100, 130, 140)),), green=(rye,), untended=("A2",), season=NORTH
    )
    assert grows.for_the_soil(plan, 60) == {"A1", "A2"}
    assert grows.for_the_soil(plan, 300) == {"A1", "A2"}
    assert grows.for_the_soil(plan, 200) == {"A2"}
    steps = grows.steps(plan, ["A1", "A2"], {}, date(2026, 1, 1))
    shown = grows.view(plan, BEDS, len(BEDS), steps)
    assert shown.picture.beds.names == ("growing", "soil")
    script = grows.script(plan, BEDS, steps)
    assert script["green"] == [[0, "winter rye", 280, 431]]
    assert script["grass"] == [1]


def test_a_crop_is_found_at_any_date_with_the_days_from_when_to_when_it_stands():
    """Day 100 of a common year is 10 April, day 140 is 20 May, day 200 is 19 July."""
    early, late = stay((100, 130, 140)), stay((150, 190, 200))
    also = Stay(
        "spring", 100, 130, 140, (), bed="A2", crop="lettuce", days_by_place=0.0
    )
    plan = CropPlan(stays=(late, early, also), season=NORTH)
    steps = grows.steps(plan, ["A1", "A2"], {}, date(2026, 1, 1))
    assert grows.script(plan, BEDS, steps)["spells"] == {
        "lettuce": [
            "In A1 and A2 from 10 April to 20 May.",
            "In A1 from 30 May to 19 July.",
        ]
    }


def test_steps_go_from_job_to_job_and_jobs_of_one_week_are_one_step():
    plan = CropPlan(stays=(stay((100, 130, 134)),), season=NORTH)
    steps = grows.steps(plan, ["A1", "A2"], {"lettuce": "sow"}, date(2026, 1, 1))
    # 10 April is day 100 of a common year, 10 May day 130.
    assert [step.day for step in steps] == [date(2026, 4, 10), date(2026, 5, 10)]
    assert grows.said(steps[0], BEDS) == ["Sow lettuce in A1."]
    assert grows.said(steps[1], BEDS) == [
        "You can start to harvest lettuce in A1.",
        "Harvest lettuce in A1 for the last time.",
    ]


def test_a_crop_inside_a_tunnel_is_said_and_breaks_nothing():
    inside = Stay(
        "spring", 100, 130, 134, (), bed="T1/1", crop="tomato", days_by_place=0.0
    )
    plan = CropPlan(stays=(inside,), season=NORTH)
    places = grows.places(plan, BEDS)
    assert places == (*BEDS, ("T1/1", "T1"))
    names = [name for name, _plot in places]
    steps = grows.steps(plan, names, {}, date(2026, 1, 1))
    assert grows.said(steps[0], places) == ["Plant out tomatoes in bed 1 in tunnel T1."]
    shown = grows.view(plan, places, len(BEDS), steps)
    assert len(shown.picture.beds.names) == len(BEDS)


# ---- Cold, steep


def test_the_coldest_plot_is_named_with_its_likely_range_and_its_worst():
    beds = [
        bed("Shelf", 1, likely_c=0.1, worst_c=-0.6),
        bed("Brook", 1, likely_c=-0.6, worst_c=-1.9),
        bed("Brook", 1, likely_c=-1.1, worst_c=-2.6),
    ]
    found = list(cold.of_plots(beds))
    assert found == [
        cold.OfPlot("Shelf", -0.1, -0.1, 0.6),
        cold.OfPlot("Brook", 0.6, 1.1, 2.6),
    ]
    runs = cold._answer(found, cold.Shown("metric", by_station=False, air_ran=True))
    text = "".join(run.text for run in runs).replace("\u00a0", " ")
    assert text == (
        "Brook is coldest. It is likely 0.5 to 1 °C colder than a typical spot in the plots. At worst it is 2.5 °C colder. Shelf is warmest."
    )


def test_plots_that_fall_alike_are_said_to_be_alike():
    runs = terrain._steep_answer([("A", 4.0), ("B", 5.0)], "metric")
    assert runs[0].text.startswith("All plots are equally steep")
    runs = terrain._steep_answer([("A", 4.0), ("B", 9.0)], "metric")
    assert runs[0].text.startswith("On average, B is steepest. It drops 90")


def test_most_beds_that_share_the_first_place_for_shade_are_no_first_ones():
    assert first_for_shade([bed("A", 1), bed("A", 2), bed("A", 3)]) == {0}
    assert first_for_shade([bed("A", 1), bed("A", 1), bed("A", 3)]) == set()


def test_beds_show_the_light_under_them_where_none_comes_first_for_shade():
    months = SimpleNamespace(sun_mj_m2_day=[20.0] * 12, direct_hours=[14.0] * 12)
    light = SimpleNamespace(sun_mj_m2_day=raster(np.full((12, 2, 2), 20.0)))
    beds = [bed("A", 1), bed("A", 1)]
    for each in beds:
        each.light = months
    assert shade(light, beds, 6, frozenset(), ()).picture.beds is None
    first = shade(light, beds, 6, frozenset({0}), ()).picture.beds
    assert first.names == ("mesh", "")


# ---- Water


@pytest.mark.parametrize(
    ("shares", "said"),
    [
        ((0.0, 0.04), "Rain water collects on no bed."),
        ((0.0, 0.39), "Rain water collects on a part of one bed in Brook."),
        ((0.39, 0.5), "Rain water collects on one bed in Brook."),
    ],
)
def test_water_that_gathers_on_part_of_a_bed_is_not_called_none(shares, said):
    beds = [
        SimpleNamespace(bed=SimpleNamespace(plot=plot), water_share=share)
        for plot, share in zip(("Shelf", "Brook"), shares, strict=True)
    ]
    wetness = raster(np.full((2, 2), 5.0))
    shown = terrain.water(wetness, beds, (), ())
    assert shown.answer[0].text == said
    seen = terrain.water(wetness, beds, ("Brook",), ())
    assert seen.answer[0].text == "You saw puddles in Brook."
    assert ("on no bed" in seen.answer[1].text) == ("on no bed" in said)


def test_light_is_a_share_of_the_sunniest_ground():
    """A percentile of 98 of 100 cells of 10 and one of 90 is 10."""
    light = np.full((10, 10), 10.0)
    light[0, :2] = 90.0, np.nan
    share = of_sunniest(light)
    assert share[5, 5] == pytest.approx(1.0)
    assert np.isnan(share[0, 1])
    assert np.isnan(of_sunniest(np.zeros((2, 2)))).all()


# ---- Legends and tables


def test_rows_of_a_legend_keep_apart_in_order_and_inside():
    rows = view.spread([0.9, 0.95, 1.0, 1.0], 0.1)
    assert rows == sorted(rows)
    assert min(np.diff(rows)) >= 0.1 - 1e-9
    assert rows[-1] == 1.0


def test_a_text_of_a_column_stands_once_and_comes_back_in_its_row():
    cells = ["a", "b", "a", "a"]
    packed = column(cells)
    assert packed["texts"] == ["a", "b"]
    assert [packed["texts"][at] for at in packed["of"]] == cells


def test_a_job_has_the_day_of_the_crop_plan_within_the_week_that_is_shown():
    """Sown on day 100, 10 April; on A2 the lettuce is ready on day 103, 13 April."""
    ripe = Stay("spring", 40, 103, 140, (), bed="A2", crop="lettuce", days_by_place=0.0)
    plan = CropPlan(stays=(stay((100, 130, 140)), ripe), season=NORTH)
    steps = grows.steps(plan, ["A1", "A2"], {}, date(2026, 1, 1))
    week = next(
        each for each in grows.script(plan, BEDS, steps)["steps"] if each["from"] == 100
    )
    assert week["days"] == "10 to 13 April"
    assert week["shown"].replace("\u00a0", " ") == "13 April"
    at = week["beds"].index(1)
    assert week["ofBed"][at][1].replace("\u00a0", " ") == "13 April"
    assert week["ofBed"][at][2] == "you can start to harvest lettuce."
