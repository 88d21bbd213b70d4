"""The answers of the map, against the facts that they state."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from made_up import raster
from shapely.geometry import box

from fieldmap.decide.crop_plan import CoverUse, CropPlan, Stay
from fieldmap.decide.crop_plan.cover_use import PlannedShade, planned_shade
from fieldmap.decide.crop_plan.model import GreenManure
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials import Line, Materials
from fieldmap.decide.materials.cutting import Pattern
from fieldmap.decide.ranking import by_night, steepest
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH
from fieldmap.show.map.data.ground_lines import around_steepest, around_wet
from fieldmap.show.map.data.packed_tables import column
from fieldmap.show.map.questions import (
    build,
    cold,
    early,
    grows,
    standing,
    terrain,
    view,
)
from fieldmap.show.map.questions.light import (
    first_for_shade,
    of_sunniest,
    shade,
    sun,
)
from fieldmap.show.text import language, names
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
    assert "Plant out squash there from 14 to 16 June, bed by bed. Brook" in text
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
    assert text.endswith(
        "must wait until 28 June (last bed: 8 July) because of colder nights."
    )
    assert shown.note.startswith("After these dates, a harmful frost comes at most")


def test_the_day_of_the_last_bed_has_its_month_too():
    beds = [bed("Shelf", 1), *(bed("Brook", 2, because(COLDER, ALIKE)),) * 2]
    _shown, text = said(beds, [165, 174, 180])
    assert "must wait until 23 June (last bed: 29 June) because" in text


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
        "Brook": "28 June, 2 beds",
    }


def test_whole_plots_that_come_first_are_named_without_a_count():
    beds = [bed("Shelf", 1), bed("Top", 1), bed("Brook", 3, because(ALIKE, WARMER))]
    _shown, text = said(beds, [165, 166, 170])
    assert text.startswith("Shelf and Top can be planted first.")
    # What makes no bed later is no reason.
    assert text.endswith("Brook must wait until 19 June.")


def test_where_no_bed_fits_none_is_said_to_be_in_order():
    shown = early.view((), SimpleNamespace(known=False), ("Shelf",), ())
    assert spoken(shown) == "No bed fits on these plots."


def test_where_all_beds_tie_none_is_said_to_come_first():
    shown, text = said([bed("Shelf", 1), bed("Top", 1)], [165, 166])
    assert text.startswith("No bed is surely first.")
    assert shown.picture.outlined == ()


def test_where_all_beds_tie_any_bed_is_safe_only_from_the_last_of_their_days():
    """Day 173 is 22 June; a bed that waits until then is one of "any bed" too."""
    shown, text = said([bed("Shelf", 1), bed("Top", 1)], [165, 173])
    assert "Plant out squash in any bed from 22 June. There" in text
    assert [run.at for run in shown.answer if run.ramp] == [1.0]


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


BEDS = [standing.Place("A1", "Home"), standing.Place("A2", "Home")]


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


def test_garlic_is_gone_on_the_map_once_the_next_crop_takes_its_bed():
    """Garlic from day 290 to 555, which is 190 of the year after; lettuce from day 100.

    Lettuce takes the bed on day 100, so the last day of garlic is 99, or 464 = 365 + 99.
    """
    fabric = CoverUse("light_fabric", 300, 500, 0.0)
    late = CoverUse("light_fabric", 470, 500, 0.0)
    garlic = stay((290, 520, 555), "garlic", covers=(fabric, late))
    plan = CropPlan(stays=(stay((100, 130, 140)), garlic), season=NORTH)
    said = standing.spells(plan, BEDS)
    assert standing.on_day(said, 99) == ("Home has garlic.",)
    assert standing.on_day(said, 120) == ("Home has lettuce.",)
    assert standing.on_day(said, 150)[0].startswith("no crop stands")
    steps = grows.steps(plan, ["A1", "A2"], {}, date(2026, 1, 1))
    script = grows.script(plan, BEDS, steps, said, date(2026, 1, 1))
    assert script["stays"] == [
        [0, "lettuce", 100, 130, 140, []],
        [0, "garlic", 290, 520, 464, [["light_fabric", 300, 464]]],
    ]


def test_what_stands_through_the_winter_is_doubted_in_the_first_spring():
    doubt = "only if you planted them the year before."

    def more(*stays):
        plan = CropPlan(stays=stays, season=NORTH)
        steps = grows.steps(plan, ["A1", "A2"], {}, date(2026, 1, 1))
        spells = standing.spells(plan, BEDS)
        return " ".join(grows.view(plan, BEDS, len(BEDS), steps, spells).more)

    assert doubt in more(stay((290, 520, 555), "garlic"))
    assert doubt not in more(stay((290, 320, 365), "garlic"))


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
    shown = grows.view(plan, BEDS, len(BEDS), steps, standing.spells(plan, BEDS))
    assert shown.picture.beds.names == ("growing", "soil")
    script = grows.script(plan, BEDS, steps, (), date(2026, 1, 1))
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
    assert grows.script(plan, BEDS, steps, (), date(2026, 1, 1))["spells"] == {
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


def test_what_stands_where_is_said_for_every_day_the_fullest_plot_first():
    """A1 and A2 in lettuce from day 100, C1 in kale to day 60 of the next year."""

    def at(bed, crop, first, last):
        return Stay(
            "spring", first, last, last, (), bed=bed, crop=crop, days_by_place=0.0
        )

    stays = (
        at("C1", "kale", 250, 365 + 60),
        *(at(bed, "lettuce", 100, 140) for bed in ("A1", "A2")),
        at("A2", "carrot", 130, 260),
        at("T1/1", "tomato", 130, 270),
    )
    outdoors = (("A1", "Home"), ("A2", "Home"), ("C1", "Far"))
    places = [
        *(standing.Place(*each) for each in outdoors),
        standing.Place("T1/1", "Far", "T1"),
    ]
    of = standing.spells(CropPlan(stays=stays, season=NORTH), places)
    assert standing.on_day(of, 60) == ("Far has kale.", "Home has no crop.")
    assert standing.on_day(of, 61) == (
        "no crop stands in the beds until 10 April.",
        "Then Home has lettuce first.",
    )
    assert standing.on_day(of, 100) == ("Home has lettuce.", "Far has no crop.")
    assert standing.on_day(of, 130) == (
        "Home has lettuce and carrots.",
        "Tunnel T1 has tomatoes.",
        "Far has no crop.",
    )
    assert standing.on_day(of, 261) == (
        "Far has kale.",
        "Tunnel T1 has tomatoes.",
        "Home has no crop.",
    )
    assert standing.on_day(of, 365) == ("Far has kale.", "Home has no crop.")


def test_many_crops_and_plots_are_counted_so_that_the_answer_stays_short():
    """Ten plots of five crops each: three of each are named."""
    crops = ("lettuce", "kale", "carrot", "garlic", "tomato")
    places = [
        standing.Place(f"P{plot}/{crop}", f"P{plot}")
        for plot in range(10)
        for crop in crops
    ]
    stays = tuple(
        Stay(
            "spring",
            100,
            120,
            140,
            (),
            bed=place.name,
            crop=place.name.partition("/")[2],
            days_by_place=0.0,
        )
        for place in places
    )
    said = standing.on_day(
        standing.spells(CropPlan(stays=stays, season=NORTH), places), 110
    )
    assert said[0] == "P0 has lettuce, kale, carrots and two more crops."
    assert (
        said[-1]
        == f"{answers.count(10 - len(said) + 1).capitalize()} more plots have crops."
    )
    assert sum(len(each.split()) for each in said) < 35


def bed_of(name, plot, tunnel=""):
    return Bed(name, plot, box(0, 0, 1, 20), 20.0, 1.0, 0.0, tunnel=tunnel)


def test_a_bed_outdoors_may_have_a_name_like_those_inside_tunnels():
    """The grower may call a bed T1/1; what grows there stands on its plot."""
    named = Stay(
        "spring", 100, 130, 140, (), bed="T1/1", crop="lettuce", days_by_place=0.0
    )
    plan = CropPlan(stays=(named,), season=NORTH)
    places = grows.places(plan, [bed_of("T1/1", "Home")])
    assert standing.on_day(standing.spells(plan, places), 120) == ("Home has lettuce.",)


def test_a_crop_inside_a_tunnel_is_said_and_breaks_nothing():
    inside = Stay(
        "spring", 100, 130, 134, (), bed="T1/1", crop="tomato", days_by_place=0.0
    )
    floor = tuple(bed_of(f"T1/{at}", "Home", tunnel="T1") for at in (1, 2))
    plan = CropPlan(stays=(inside,), floor=floor, season=NORTH)
    places = grows.places(plan, [bed_of(*each[:2]) for each in BEDS])
    assert places == (*BEDS, ("T1/1", "Home", "T1"))
    names = [each.name for each in places]
    steps = grows.steps(plan, names, {}, date(2026, 1, 1))
    assert grows.said(steps[0], places) == ["Plant out tomatoes in bed 1 in tunnel T1."]
    shown = grows.view(plan, places, len(BEDS), steps, standing.spells(plan, places))
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
    runs = terrain._steep_answer([("A", 4.0), ("B", 5.0)], ("A", 6.0), "metric")
    assert runs[0].text.startswith("All plots are equally steep")
    runs = terrain._steep_answer([("A", 4.0), ("B", 9.0)], ("B", 9.5), "metric")
    assert runs[0].text.startswith("The beds of B are steepest.")
    assert "drops 90" in "".join(run.text for run in runs)


def test_the_steepest_spot_is_said_where_a_bank_is_steeper_than_any_plot():
    """A bank of 17 % on plot A, whose beds fall 4 % in the middle; 30 % off all plots."""
    ground = np.full((6, 6), 4.0)
    ground[4, 1], ground[0, 5], ground[5, 4] = 17.0, 30.0, np.nan
    fall = raster(ground)
    west, south, east, north = fall.bounds
    middle = (west + east) / 2
    plots = {
        "A": box(west, south, middle, north),
        "B": box(middle, south, east, (south + north) / 2),
    }
    spot = steepest.spot(fall, plots)
    assert spot == ("A", 17.0)
    runs = terrain._steep_answer([("A", 4.0), ("B", 9.0)], spot, "metric")
    text = "".join(run.text for run in runs).replace("\u00a0", " ")
    assert "The steepest spot (A) drops 1.7 m in 10 m." in text
    assert "The beds of A are flattest:" in text


def test_the_steepest_ground_is_named_where_it_lies_off_the_steepest_beds():
    falls = [("A", 4.0), ("B", 9.0)]
    for plot, is_said in (("A", True), ("B", False)):
        runs = terrain._steep_answer(falls, (plot, 9.5), "metric")
        text = "".join(run.text for run in runs)
        assert (f"The steepest spot ({plot})" in text) is is_said


def test_most_beds_that_share_the_first_place_for_shade_are_no_first_ones():
    assert first_for_shade([bed("A", 1), bed("A", 2), bed("A", 3)]) == {0}
    assert first_for_shade([bed("A", 1), bed("A", 1), bed("A", 3)]) == set()


def test_beds_show_the_light_under_them_where_none_comes_first_for_shade():
    months = SimpleNamespace(sun_mj_m2_day=[20.0] * 12, direct_hours=[14.0] * 12)
    light = SimpleNamespace(sun_mj_m2_day=raster(np.full((12, 2, 2), 20.0)))
    beds = [bed("A", 1), bed("A", 1)]
    for each in beds:
        each.light = months
    none = PlannedShade()
    assert shade(light, beds, 6, frozenset(), none, ()).picture.beds is None
    first = shade(light, beds, 6, frozenset({0}), none, ()).picture.beds
    assert first.names == ("mesh", "")


def test_beds_that_the_plan_shades_are_named_and_outlined():
    """Cloth on A2 from day 152, 1 June, and over T1 to day 244, 1 September."""
    months = SimpleNamespace(sun_mj_m2_day=[20.0] * 12, direct_hours=[14.0] * 12)
    light = SimpleNamespace(sun_mj_m2_day=raster(np.full((12, 2, 2), 20.0)))
    beds = [bed("A", 1), bed("A", 2)]
    for each in beds:
        each.light = months
    cloth, film = (
        CoverUse("shade_40", 152, 168, 9.0),
        CoverUse("slitted_film", 60, 80, 9.0),
    )
    spell = {"days_by_place": 0.0}
    stays = (
        Stay("spring", 81, 150, 168, (film, cloth), bed="A2", crop="lettuce", **spell),
        Stay("spring", 81, 150, 168, (film,), bed="A1", crop="kale", **spell),
    )
    over = SimpleNamespace(tunnel="T1", from_day=182, to_day=244)
    plan = CropPlan(stays=stays, season=NORTH)
    planned = planned_shade(plan, [over], [each.bed.name for each in beds])
    shown = shade(light, beds, 6, frozenset({0}), planned, ())
    assert shown.said.replace("\u00a0", " ") == (
        "Shade lettuce in A2. Pull shade cloth over tunnel T1. In this plan the cloth is on between 1 June and 1 September."
    )
    assert shown.picture.outlined == (1,)
    assert shown.picture.named == (1,)
    assert shown.picture.extras == ("tunnel-names", "shade-over-T1")
    assert shown.picture.beds.names == ("", "mesh")
    # Without beds under cloth those that need it first are hatched, and no tunnel is.
    roofs = planned_shade(replace(plan, stays=()), [over], ["A1", "A2"])
    for first, extras, here in (
        (frozenset({0}), ("tunnel-names",), "needs shade cloth first"),
        (frozenset(), ("tunnel-names", "shade-over-T1"), "shade here"),
    ):
        alone = shade(light, beds, 6, first, roofs, ())
        assert alone.picture.extras == extras
        assert [swatch.text for swatch in alone.swatches] == [here]
    # A1 is in kale, which wants no cloth, so that no bed is left to be explained.
    assert shown.more == ()
    late = Stay("spring", 200, 240, 260, (), bed="A1", crop="lettuce", **spell)
    bare = Stay("spring", 200, 240, 260, (), bed="A2", crop="spinach", **spell)
    hung = Stay("spring", 120, 150, 168, (cloth,), bed="A1", crop="spinach", **spell)
    more = planned_shade(
        CropPlan(stays=(*stays, late, bare, hung), season=NORTH),
        [over],
        [each.bed.name for each in beds],
    )
    # Each crop with its own beds, and no reason: the plan keeps none.
    assert more.without == (("lettuce", ("A1",)), ("spinach", ("A2",)))
    assert shade(light, beds, 6, frozenset(), more, ()).more == (
        "In this plan no cloth goes over lettuce in A1.",
        "In this plan no cloth goes over spinach in A2.",
    )
    with language.spoken(language.language("es", "ES")):
        (said, _other) = shade(light, beds, 6, frozenset(), more, ()).more
    assert said == "En este plan no va malla sobre lechuga en A1."
    only_tunnel = planned_shade(
        CropPlan(stays=stays[1:], season=NORTH), [over], ["A1", "A2"]
    )
    said = shade(light, beds, 6, frozenset(), only_tunnel, ()).said
    assert said.startswith("All beds get nearly the same light")
    assert said.endswith("Pull shade cloth over tunnel T1.")


def plot_in_sun(name, mj_m2, hours):
    """One bed, with the same light in all months."""
    light = SimpleNamespace(sun_mj_m2_day=[mj_m2] * 12, direct_hours=[hours] * 12)
    return SimpleNamespace(bed=SimpleNamespace(plot=name), light=light)


@pytest.mark.parametrize(
    ("mj_m2", "said"),
    [
        # A twentieth less than 18 is 17.1, as for beds that tie by their light.
        (17.2, "all plots get nearly the same light: 86 to 90 % of the sunniest place"),
        (17.0, "A gets the most light: 90 % of the sunniest place"),
    ],
)
def test_plots_tie_by_their_light_as_beds_do(mj_m2, said):
    light = SimpleNamespace(sun_mj_m2_day=raster(np.full((12, 2, 2), 20.0)))
    beds = [plot_in_sun("A", 18.0, 11.5), plot_in_sun("B", mj_m2, 11.5)]
    assert said in spoken(sun(light, beds, 2, ()))
    ranks = by_night.ranks(np.zeros(2), np.array([18.0, mj_m2]))
    assert (ranks[1] == 1) == ("nearly the same" in said)


def test_sun_is_said_as_its_colours_show_it_and_in_hours():
    """Of 20 MJ on the sunniest ground 18 is 90 %; 17.8 is 89 %, no real difference, 15 is 75 %."""
    light = SimpleNamespace(sun_mj_m2_day=raster(np.full((12, 2, 2), 20.0)))
    beds = [
        plot_in_sun("A", 18.0, 11.5),
        plot_in_sun("B", 17.8, 11.0),
        plot_in_sun("C", 15.0, 11.5),
    ]
    shown = sun(light, beds, 2, ())
    assert spoken(shown) == (
        "In March, A and B get the most light: 89 to 90 % of the sunniest place, with 11 to 11.5 h of direct sun. C gets the least: 75 %, with 11.5 h of direct sun."
    )
    assert dict(shown.picture.plots)["C"].replace("\u00a0", " ") == (
        "75 %, 11.5 h of sun"
    )
    with language.spoken(language.language("es", "ES")):
        assert "con 11 a 11,5 h de sol directo" in spoken(sun(light, beds, 2, ()))
    only = spoken(sun(light, beds[::2], 2, ()))
    assert only.startswith("In March, A gets the most light: 90 % of the sunniest")
    assert spoken(sun(light, beds[:2], 2, ())).startswith(
        "In March, all plots get nearly the same light: 89 to 90 % of the sunniest place"
    )
    # As bright ground, upright the legend has it at the top.
    assert shown.ramp.rises
    dark = SimpleNamespace(sun_mj_m2_day=raster(np.zeros((12, 2, 2))))
    assert spoken(sun(dark, beds, 0, ())) == (
        "In January, the sun does not reach the plots."
    )
    assert spoken(sun(light, (), 2, ())) == "No bed fits on these plots."


@pytest.mark.parametrize(("darkest", "end"), [(0.2, "70 % or less"), (0.7, "70 %")])
def test_the_dark_end_of_light_says_that_it_holds_darker_ground(darkest, end):
    ground = np.full((10, 100), 10.0)
    ground[:, :10] = 7.0
    ground[0, 0] = 10.0 * darkest
    light = SimpleNamespace(sun_mj_m2_day=raster(np.stack([ground] * 12)))
    shown = sun(light, [], 2, ())
    assert shown.ramp.ticks[0].beside.replace("\u00a0", " ") == end


# ---- What to buy


def to_build(pegs=None, *, has_tunnels=False, **changed):
    """Two beds of five hoops each, which three pipes of 6 m give in turn: 1.99 m each."""
    found = Materials(
        low_tunnels=[SimpleNamespace(bed=name, hoops=5) for name in ("A1", "A3")],
        lines=[
            Line("pipe", "", 3.0, 1.0, 2.0, rough=False, cost=None),
            Line("shade_40", "m", 114.0, 40.0, 74.0, rough=False, cost=None),
        ],
        cutting=[Pattern(1, ((1.99, 3),), 0.02), Pattern(1, ((1.99, 2),), 2.0)],
        stock_m=6.0,
        roofs=(),
        rain_mm_h=50.0,
        remarks=(Fact("cover_in_turn"), Fact("hoops_in_turn")),
        inside=SimpleNamespace(shades=(SimpleNamespace(tunnel="T1", kind="shade_40"),)),
    )
    return build.materials(
        replace(found, **changed),
        ["A1", "A2", "A3"],
        pegs or {},
        lambda m, *_: f"{m:.0f} m",
        "metric",
        has_tunnels=has_tunnels,
    )


def spoken(shown):
    return shown.said.replace("\u00a0", " ")


def test_what_to_buy_cut_and_peg_is_said_in_numbers_and_what_covers_are_for():
    """Of three pipes one is there; 74 m of 114 m of cloth are to be bought, for T1."""
    shown = to_build({"Shelf": 12, "Brook": 0, "Top": 8})
    assert shown.answer[0].leads
    assert spoken(shown) == (
        "Buy 2 pipes (6 m each) and 74 m of 40 % shade cloth. Cut 5 hoops of 1.99 m each. "
        "Put in 20 pegs. 40 % shade cloth goes over tunnel T1, in strips side by side."
    )
    assert dict(shown.picture.plots) == {
        "Shelf": "12 pegs",
        "Brook": "no pegs in this plan",
        "Top": "8 pegs",
    }
    assert shown.more[0].startswith("Two beds get covers on hoops, one after another.")
    assert "10 hoops" in shown.more[0]


def test_tunnels_that_look_like_hoops_are_named_and_no_plot_is_where_nothing_is_pegged():
    kinds = [each.kind for each in to_build({"Top": 8}, has_tunnels=True).swatches]
    assert kinds == ["hoops", "peg", "tunnel"]
    bare = to_build({"Top": 0, "Brook": 0})
    assert dict(bare.picture.plots) == {"Top": "", "Brook": ""}
    assert [each.kind for each in bare.swatches] == ["hoops"]


def test_tunnels_under_what_is_bought_are_named_once_and_only_where_they_are_few():
    def over(*tunnels):
        shades = [SimpleNamespace(tunnel=name, kind="shade_40") for name in tunnels]
        return spoken(to_build(inside=SimpleNamespace(shades=shades)))

    assert over("T1", "T2", "T1").endswith(
        "40 % shade cloth goes over tunnel T1 and tunnel T2, in strips side by side."
    )
    many = [f"T{at}" for at in range(names.MOST_PLACES + 1)]
    assert over(*many).endswith("Cut 5 hoops of 1.99 m each.")
    assert over().endswith("Cut 5 hoops of 1.99 m each.")


def test_tunnels_have_their_names_on_the_map_where_the_answer_names_them():
    assert "tunnel-names" in to_build().picture.extras
    bare = to_build(inside=SimpleNamespace(shades=()))
    assert "tunnel-names" not in bare.picture.extras


def test_covers_of_two_kinds_are_named_where_they_go():
    line = Line("light_fabric", "m", 20.0, 0.0, 20.0, rough=False, cost=None)
    cloth = Line("shade_40", "m", 114.0, 40.0, 74.0, rough=False, cost=None)
    said = spoken(to_build(lines=[line, cloth]))
    assert "40 % shade cloth goes over tunnel T1, in strips side by side." in said
    assert "light fabric goes over" not in said
    assert said.startswith("Buy 20 m of light fabric and 74 m of 40 % shade cloth. Cut")


def test_hoops_that_do_not_move_are_not_said_to():
    assert "in turn" not in " ".join(to_build(remarks=()).more)


def test_hoops_of_two_lengths_are_both_said_and_those_of_more_are_counted():
    two = [Pattern(2, ((1.99, 2), (1.5, 1)), 0.0)]
    assert "Cut 4 hoops of 1.99 m each and 2 hoops of 1.50 m each." in spoken(
        to_build(cutting=two)
    )
    three = [Pattern(2, ((1.99, 1), (1.5, 1), (1.2, 1)), 0.0)]
    assert "Cut 6 hoops in 3 lengths." in spoken(to_build(cutting=three))


def test_where_nothing_is_bought_cut_or_pegged_the_answer_says_so():
    nothing = to_build(low_tunnels=[], lines=[], cutting=[])
    assert spoken(nothing) == "Nothing needs to be bought or cut."
    only = to_build({"Top": 8}, low_tunnels=[], lines=[], cutting=[])
    assert spoken(only) == "Put in 8 pegs."


# ---- Water


@pytest.mark.parametrize(
    ("shares", "said"),
    [
        ((0.0, 0.04), "Rain water collects on no bed."),
        ((0.0, 0.39), "Rain water collects on a part of one bed in Brook: C2."),
        ((0.39, 0.5), "Rain water collects on one bed in Brook: C2."),
    ],
)
def test_water_that_gathers_on_part_of_a_bed_is_not_called_none(shares, said):
    beds = [
        SimpleNamespace(bed=SimpleNamespace(plot=plot, name=name), water_share=share)
        for plot, name, share in zip(
            ("Shelf", "Brook"), ("B1", "C2"), shares, strict=True
        )
    ]
    wetness = raster(np.full((2, 2), 5.0))
    shown = terrain.water(wetness, beds, (), (), ())
    assert shown.answer[0].text == said
    seen = terrain.water(wetness, beds, (), ("Brook",), ())
    assert seen.answer[0].text.startswith("You saw puddles in Brook. ")
    assert seen.answer[0].text.endswith("on no bed." if "on no bed" in said else said)
    assert shown.picture.named == (() if "on no bed" in said else (1,))
    assert shown.picture.outlined == ()


def test_the_ground_where_water_gathers_is_outlined_and_not_the_beds_on_it():
    """The index rises by 1 a cell; 10 is that of the middle of the sixth."""
    wetness = raster(np.tile(np.arange(5.0, 17.0), (12, 1)))
    west, south, east, north = wetness.bounds
    plot = box(west + 2, south + 2, east - 2, north - 2)
    (line,) = around_wet(wetness, [plot]).geoms
    at = np.array(line.coords)
    assert at[:, 0] == pytest.approx(west + 5.5 * wetness.cell_size_m)
    assert np.ptp(at[:, 1]) == pytest.approx(plot.bounds[3] - plot.bounds[1])
    dry = wetness.with_values(np.full((12, 12), 9.9))
    assert around_wet(dry, [plot]).is_empty


def test_the_ground_that_is_as_steep_as_the_steepest_is_outlined():
    """A knoll whose fall is 20 % in its middle and .2 % less each metre from there."""
    grid = raster(np.zeros((41, 41)))
    east, north = grid.middles
    middle = shapely.Point(np.mean(grid.bounds[::2]), np.mean(grid.bounds[1::2]))
    away_m = np.hypot(east - middle.x, north - middle.y)
    falls = grid.with_values(np.reshape(20.0 - 0.2 * away_m, grid.shape))
    (line,) = around_steepest(falls, [box(*grid.bounds)]).geoms
    # Falls within 2 % are alike: 10 m away it is 18 %.
    assert shapely.hausdorff_distance(line, middle.buffer(10.0).exterior) < 0.6
    alike = grid.with_values(np.full(grid.shape, 7.0))
    assert around_steepest(alike, [box(*grid.bounds)]).is_empty


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
        each
        for each in grows.script(plan, BEDS, steps, (), date(2026, 1, 1))["steps"]
        if each["from"] == 100
    )
    assert week["days"] == "10 to 13 April"
    assert week["shown"].replace("\u00a0", " ") == "13 April"
    at = week["beds"].index(1)
    assert week["ofBed"][at][1].replace("\u00a0", " ") == "13 April"
    assert week["ofBed"][at][2] == "you can start to harvest lettuce."


def test_a_long_list_of_wet_beds_is_cut_short():
    """Nine beds in nine runs: five are named, four counted."""
    beds = [
        SimpleNamespace(
            bed=SimpleNamespace(plot="Brook", name=f"C{number}"),
            water_share=0.9 if number % 2 else 0.0,
        )
        for number in range(1, 18)
    ]
    said = terrain.water(raster(np.full((2, 2), 5.0)), beds, (), (), ()).answer[0].text
    assert "C1, C3, C5, C7, C9 and 4 more" in said.replace("\u00a0", " ")
