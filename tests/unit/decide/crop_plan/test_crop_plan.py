"""What goes where, against years worked by hand and against what must hold of any.

Harvest weeks, gathered ends, minutes and hoops are common practice without a source;
days to maturity those of crops.toml.
"""

import itertools
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import plane, plot_box, site

from fieldmap.decide import crop_plan, weekly_jobs
from fieldmap.decide.crop_plan import solve
from fieldmap.decide.crop_plan.bed_classes import FloorBed
from fieldmap.decide.crop_plan.model import BedPart, CoverUse, GreenManure, Stay
from fieldmap.decide.materials import HoopGround
from fieldmap.decide.ranking.groups import SAME
from fieldmap.model.settings import Cover
from fieldmap.model.site import Stood, WeatherRecord
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text.decide import crop_plan as crop_plan_text
from fieldmap.show.text.decide import weekly_jobs as weekly_jobs_text
from fieldmap.show.text.sentence import say, say_all

CROPS = packaged_crops()
NEVER = float("inf")
GATHERED_M = 2.5


def weather(tmax_c=15.0):
    """As warm all year, over the base of every crop: a day grows as much as another."""
    days = pd.date_range("2025-01-01", "2026-12-31", name="date")
    columns = {"tmin_c": 26.0 - tmax_c, "tmax_c": np.full(len(days), tmax_c)}
    return WeatherRecord(pd.DataFrame(columns, index=days))


def farm(crops, covers=(), latitude=45.0, stood=(), tmax_c=15.0, **choices):
    """Crops as settings; covers as (kind, length) or (kind, length, width)."""
    made = site(
        plane(),
        {"Home": plot_box(40, 40, 80, 60)},
        latitude=latitude,
        crops=crops,
        covers=[
            {
                "kind": kind,
                "length_m": length,
                "width_m": (*width, 3.0)[0],
                "may_cut": True,
            }
            for kind, length, *width in covers
        ],
        **choices,
    )
    found = tuple(
        CROPS[each["name"]] if each["name"] in CROPS else each["made"] for each in crops
    )
    last_year = tuple(Stood(bed, crop, CROPS[crop].family.value) for bed, crop in stood)
    return replace(made, crops=found, weather=weather(tmax_c), last_year=last_year)


def rows(*lengths_m, sun=10.0):
    """A bed of each length, A1 and on; light by bed, or one for all."""
    suns = np.broadcast_to(sun, len(lengths_m))
    return [
        SimpleNamespace(
            bed=SimpleNamespace(
                name=f"A{number}",
                plot="Home",
                tunnel="",
                length_m=length_m,
                width_m=0.75,
                path_within_m=0.0,
            ),
            earliness=SimpleNamespace(group=SAME),
            light=SimpleNamespace(sun_mj_m2_day=(float(light),) * 12),
        )
        for number, (length_m, light) in enumerate(
            zip(lengths_m, suns, strict=True), start=1
        )
    ]


def dates(made, beds, days, covers=("none",)):
    """Dates from (crop, cover): (early, late), each a day or one for every bed."""
    names = [crop.name for crop in made.crops]
    shape = (3, len(names), len(covers), len(beds))
    early, late = np.full(shape, NEVER), np.full(shape, -NEVER)
    for (crop, cover), (first, last) in days.items():
        at = names.index(crop), covers.index(cover)
        early[:, at[0], at[1]], late[:, at[0], at[1]] = first, last
    return SimpleNamespace(
        crops=made.crops,
        covers=covers,
        early=early,
        late=late,
        slackens=np.full(shape[1:], np.nan),
        winters=np.full(shape[1:], np.nan),
        last_sowing=np.full(shape, np.nan),
        grows_until=np.full((len(names), len(beds)), NEVER),
        season=made.season,
        known=True,
        remarks=(),
    )


def about(made, found):
    return crop_plan_text.about(found, made.settings.covers, "metric")


def spans(found):
    return [(t.bed, t.crop, t.from_day, t.to_day) for t in found.stays]


def uses(found):
    return [
        (u.kind, u.from_day, u.to_day, u.days) for t in found.stays for u in t.covers
    ]


# ------------------------------------------------------------------ by hand
def test_a_tomato_under_film_at_both_ends_of_the_year():
    """Film a week ahead of planting, off once the bed would do bare, and on again."""
    made = farm([{"name": "tomato", "beds": 1}], [("clear_film", 22.5)])
    beds = rows(20.0)
    days = {("tomato", "none"): (130, 270), ("tomato", "clear_film"): (115, 285)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    # The date of frost is the first day that is lost.
    assert spans(found) == [("A1", "tomato", 115, 284)]
    assert uses(found) == [
        ("clear_film", 108, 130, 15.0),
        ("clear_film", 262, 284, 15.0),
    ]


YEAR = {
    ("spinach", "none"): (100, 300),
    ("spinach", "clear_film"): (80, 300),
    ("pepper", "none"): (190, 260),
    ("pepper", "clear_film"): (170, 275),
    ("lettuce", "none"): (90, 275),
    ("lettuce", "clear_film"): (90, 295),
}


def tomatoes(days, allows, beds=1):
    """Tomatoes on two alike beds with film for one, by bed the days that film wins."""
    made, lying = farm([{"name": "tomato", "beds": beds}], [("clear_film", 22.5)]), []
    lying = rows(20.0, 20.0)
    bed_dates = dates(made, lying, days, ("none", "clear_film"))
    found = crop_plan.make(made, lying, bed_dates, allows=allows)
    return {stay.bed: bool(stay.covers) for stay in found.stays}


def test_no_cover_goes_under_an_overhead_line():
    """Film wins days on the first bed as on the second; under a line it is not set."""
    days = {("tomato", "none"): (140, 270), ("tomato", "clear_film"): (120, 290)}
    assert tomatoes(days, HoopGround()) == {"A1": True}
    under = HoopGround(under_line=frozenset({"A1"}))
    assert tomatoes(days, under) == {"A2": True}
    both = HoopGround(under_line=frozenset({"A1", "A2"}))
    assert tomatoes(days, both, beds=2) == {"A1": False, "A2": False}


def test_of_beds_that_do_as_well_those_along_the_storm_get_the_cover():
    across = HoopGround(across_storm=frozenset({"A1"}))
    days = {("tomato", "none"): (140, 270), ("tomato", "clear_film"): (120, 290)}
    assert tomatoes(days, across) == {"A2": True}
    # On the first it wins nine days more, and more than two are a difference.
    first = {
        ("tomato", "none"): (140, 270),
        ("tomato", "clear_film"): ([111, 120], 290),
    }
    assert tomatoes(first, across) == {"A1": True}


def market_garden(beds, length_m=22.5):
    made = farm(
        [
            {"name": "spinach", "beds": 1, "seasons": ["spring"]},
            {"name": "pepper", "beds": 1},
            {"name": "lettuce", "beds": 1, "seasons": ["autumn"]},
        ],
        [("clear_film", length_m)],
    )
    bed_dates = dates(made, beds, YEAR, ("none", "clear_film"))
    return made, crop_plan.make(made, beds, bed_dates)


def test_one_piece_of_film_serves_spinach_then_peppers_then_lettuce():
    _, found = market_garden(rows(20.0, 20.0, 20.0))
    assert {stay.crop for stay in found.stays} == {"spinach", "pepper", "lettuce"}
    (film,) = found.covers
    assert film.most_used_m == pytest.approx(22.5)
    # 20 days ahead of spinach, 20 of peppers; 20 behind lettuce: its 15 days behind
    # peppers meet those of lettuce in the week of day 267.
    assert film.days_per_metre == pytest.approx(60 * 20.0 / 22.5)
    assert film.buy_m == pytest.approx(22.5)
    assert film.buy_days_per_metre == pytest.approx(15 * 20.0 / 22.5)


def test_one_bed_bears_spinach_and_then_peppers():
    """Lettuce would come while peppers still stand, and is reported as short."""
    _made, found = market_garden(rows(20.0))
    assert [stay.crop for stay in found.stays] == ["spinach", "pepper"]
    assert say_all(found.short, "metric") == [
        "Lettuce for autumn: 0 of 1 bed, because no more beds are free in the weeks when it grows.",
    ]
    assert "Pepper from" in crop_plan_text.of_bed(found, "A1", "metric")


def test_degree_days_say_how_long_a_crop_stands():
    """Sweet corn: 750 to 1000 degree days over 10 °C, at 20 °C 88 of the middle."""
    made = farm([{"name": "sweet corn", "beds": 1}])
    days = made.weather.days.assign(tmin_c=15.0, tmax_c=25.0)
    made = replace(made, weather=WeatherRecord(days))
    beds = rows(20.0)
    bed_dates = dates(made, beds, {("sweet corn", "none"): (120, 300)})
    (stay,) = crop_plan.make(made, beds, bed_dates).stays
    assert stay.harvest_day - stay.from_day == pytest.approx(87.5, abs=1)


def test_what_is_not_owned_is_what_to_buy():
    made = farm([{"name": "tomato", "beds": 1}])
    beds = rows(20.0)
    days = {("tomato", "none"): (130, 270), ("tomato", "clear_film"): (120, 270)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    (film,) = found.covers
    assert not uses(found)
    assert (film.owned_m, film.buy_m) == (0.0, pytest.approx(20.0 + GATHERED_M))
    assert film.buy_days_per_metre == pytest.approx(10 * 20.0 / 22.5)
    assert any(
        "get it wide enough for your hoops. Buy clear film" in s
        for s in about(made, found)
    )


def test_a_cover_too_narrow_for_the_hoops_is_not_used():
    made = farm([{"name": "tomato", "beds": 1}], [("clear_film", 50.0, 1.2)])
    beds = rows(20.0)
    days = {("tomato", "none"): (130, 270), ("tomato", "clear_film"): (120, 270)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    assert not uses(found)
    assert found.covers[0].too_narrow_m == 50.0
    assert any(
        "you own 50 m. All of it is too narrow for hoops over these beds" in sentence
        for sentence in about(made, found)
    )


@pytest.mark.parametrize(("minutes", "covered"), [(4.0, 2), (3.9, 1), (0.0, 0)])
def test_hands_in_the_morning_bound_what_is_covered(minutes, covered):
    """A minute for a bed and one for each 20 m: two beds of 20 m take four."""
    made = farm(
        [{"name": "tomato", "beds": 2}],
        [("clear_film", 100.0)],
        hands={"minutes_in_the_morning": minutes},
    )
    beds = rows(20.0, 20.0)
    days = {("tomato", "none"): (130, 270), ("tomato", "clear_film"): (115, 270)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    assert len(uses(found)) == covered
    assert max(found.minutes) <= minutes


def test_a_cover_that_may_stay_closed_takes_no_hands():
    """Clear film is opened from 8 °C in sun; these days reach 5."""
    made = farm(
        [{"name": "tomato", "beds": 1}],
        [("clear_film", 100.0)],
        tmax_c=5.0,
        hands={"minutes_in_the_morning": 0.0},
    )
    beds = rows(20.0)
    days = {("tomato", "none"): (130, 270), ("tomato", "clear_film"): (115, 270)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    assert len(uses(found)) == 1


def test_the_warmest_bed_goes_to_the_crop_that_gains_most_by_it():
    made = farm([{"name": "pepper", "beds": 1}, {"name": "tomato", "beds": 1}])
    beds = rows(20.0, 20.0)
    days = {
        ("pepper", "none"): ([170, 150], [270, 270]),
        ("tomato", "none"): ([140, 135], [270, 270]),
    }
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert {stay.crop: stay.bed for stay in found.stays} == {
        "tomato": "A1",
        "pepper": "A2",
    }


def test_greens_of_hot_months_go_to_the_shaded_bed_and_peppers_to_the_sunny_one():
    """At 40 °C every day is too hot for lettuce, and too much light makes it worse."""
    made = farm(
        [
            {"name": "lettuce", "beds": 1, "seasons": ["spring"]},
            {"name": "pepper", "beds": 1},
        ],
        tmax_c=40.0,
    )
    beds = rows(20.0, 20.0, sun=(14.0, 6.0))  # 31 and 13 mol/m² a day
    days = {("lettuce", "none"): (170, 300), ("pepper", "none"): (170, 300)}
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert {stay.crop: stay.bed for stay in found.stays} == {
        "pepper": "A1",
        "lettuce": "A2",
    }


# ------------------------------------------------------------------ rotation
def test_a_family_does_not_stand_where_it_stood_last_year():
    """Peppers and tomatoes are both Solanaceae; the warmer bed is given up for that."""
    made = farm([{"name": "pepper", "beds": 1}], stood=[("a1", "tomato")])
    beds = rows(20.0, 20.0)
    bed_dates = dates(made, beds, {("pepper", "none"): ([150, 170], [270, 270])})
    (stay,) = crop_plan.make(made, beds, bed_dates).stays
    assert (stay.bed, stay.family_of_last_year) == ("A2", "")


def test_where_no_other_bed_is_there_the_family_stays_and_is_reported():
    made = farm([{"name": "pepper", "beds": 1}], stood=[("A1", "tomato")])
    beds = rows(20.0)
    bed_dates = dates(made, beds, {("pepper", "none"): (150, 270)})
    found = crop_plan.make(made, beds, bed_dates)
    assert found.stays[0].family_of_last_year == "Solanaceae"
    assert any(
        "(Solanaceae) grew there last year" in sentence
        for sentence in say_all(found.remarks, "metric")
    )


def test_within_the_year_a_family_moves_on_where_a_bed_is_free():
    made = farm([{"name": "spinach", "beds": 1}])
    beds = rows(20.0, 20.0)
    bed_dates = dates(made, beds, {("spinach", "none"): ([90, 90], [300, 299])})
    found = crop_plan.make(made, beds, bed_dates)
    assert len(found.stays) == 2
    assert len({stay.bed for stay in found.stays}) == 2


# ------------------------------------------------------------------ what cannot be
def test_without_crops_it_says_what_to_name():
    made = replace(farm([]), crops=())
    beds = rows(20.0)
    found = crop_plan.make(made, beds, dates(made, beds, {}))
    assert not found.is_known
    assert "[[crops]]" in say(found.remarks[0], "metric")
    assert crop_plan.chosen(found, beds) is None


def test_without_dates_it_says_so():
    made = farm([{"name": "pepper", "beds": 1}])
    beds = rows(20.0)
    bed_dates = dates(made, beds, {("pepper", "none"): (150, 270)})
    bed_dates.known = False
    found = crop_plan.make(made, beds, bed_dates)
    assert not found.stays
    assert "this weather record gives none" in say(found.remarks[0], "metric")


def test_beds_without_known_dates_get_nothing():
    made = farm([{"name": "pepper", "beds": 2}])
    beds = rows(20.0, 20.0)
    bed_dates = dates(made, beds, {("pepper", "none"): ([np.nan, 150], [np.nan, 270])})
    assert [stay.bed for stay in crop_plan.make(made, beds, bed_dates).stays] == ["A2"]
    bed_dates.early[:] = np.nan
    assert (
        crop_plan.make(made, beds, bed_dates).remarks[0].kind
        == "no_bed_dates_for_crops"
    )


def test_no_beds_at_all():
    made = farm([{"name": "pepper", "beds": 2}])
    assert (
        crop_plan.make(made, [], dates(made, [], {})).remarks[0].kind
        == "no_beds_for_crops"
    )


@pytest.mark.parametrize(
    ("days", "why"),
    [
        ((NEVER, 270), "no usual year is warm enough for it"),
        ((200, 231), "from first to last day it has at most 30 days"),
    ],
)
def test_a_crop_that_cannot_ripen_is_reported_with_its_reason(days, why):
    made = farm([{"name": "pepper", "beds": 3}])
    beds = rows(20.0)
    found = crop_plan.make(made, beds, dates(made, beds, {("pepper", "none"): days}))
    assert not found.stays
    assert say(found.short[0], "metric").startswith("Pepper: 0 of 3 beds, because ")
    assert why in say(found.short[0], "metric")


def test_a_crop_that_ripens_under_cover_alone_is_short_of_cover():
    made = farm([{"name": "pepper", "beds": 2}], [("clear_film", 30.0)])
    beds = rows(20.0, 20.0)
    days = {("pepper", "none"): (200, 231), ("pepper", "clear_film"): (180, 270)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    assert len(found.stays) == 1
    assert "it ripens here only under clear film" in say(found.short[0], "metric")


@pytest.mark.parametrize("crop", ["tomato", "lettuce"])
def test_where_a_crop_never_goes_out_bare_the_cover_wins_its_whole_stay(crop):
    made = farm(
        [{"name": crop, "beds": 1, "seasons": ["spring"]}], [("clear_film", 30.0)]
    )
    beds = rows(20.0)
    days = {(crop, "none"): (NEVER, 270), (crop, "clear_film"): (150, 270)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    (stay,) = found.stays
    (use,) = stay.covers
    assert use.days == pytest.approx(stay.to_day - stay.from_day, abs=1)
    assert use.to_day == stay.to_day


def test_a_crop_without_an_amount_leaves_beds_to_others():
    made = farm([{"name": "pepper", "beds": 1}, {"name": "tomato"}])
    beds = rows(*[20.0] * 4)
    days = {("pepper", "none"): (150, 270), ("tomato", "none"): (140, 270)}
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert sorted(stay.crop for stay in found.stays) == ["pepper", "tomato"]


def test_names_from_files_are_kept_as_text():
    """A page escapes them; a sentence holds them as they are."""
    bad = CROPS["pepper"].model_copy(update={"name": "<b>=1+1"})
    made = replace(farm([{"name": "pepper", "beds": 1}]), crops=(bad,))
    beds = rows(20.0)
    found = crop_plan.make(
        made, beds, dates(made, beds, {("<b>=1+1", "none"): (150, 270)})
    )
    assert found.stays[0].crop == "<b>=1+1"
    assert "<b>=1+1" in crop_plan_text.of_bed(found, "A1", "metric")


# ------------------------------------------------------------------ week by week
def test_the_year_in_sentences():
    _made, found = market_garden(rows(20.0))
    starts = {"spinach": "sow", "pepper": "set out"}
    weeks = crop_plan_text.weeks(found, ["A1"], starts, date(2027, 1, 1), "metric")
    # Day 80 of 2027 is 21 March, in the week of Monday 15; day 170 is 19 June.
    # Spinach takes 12 days at 10 °C and 7 at 15: in soil of 14.5 °C 1 / (1/12 + .9 (1/7 - 1/12))
    # = 7.3 days. Sown bare on 10 April it is seen on the 17th, its eighth day.
    said = [(w.start.isoformat(), list(w.sentences)) for w in weeks]
    assert [week for week in said if "for the soil" not in week[1][0]][:2] == [
        (
            "2027-03-15",
            [
                "Sow spinach in A1: 2,400 seeds, under clear film until 17 April. Harvest until 2 June."
            ],
        ),
        (
            "2027-06-14",
            [
                "Plant out peppers in A1: 100 plants, after spinach, under clear film until 9 July. Harvest until 1 October."
            ],
        ),
    ]


def test_beds_that_begin_a_day_apart_stand_in_the_week_of_the_first():
    """Day 199 of 2027 is Sunday 18 July, in the week of Monday 12, day 200 the Monday after.

    The last of both is day 307, 3 November.
    """
    later = Stay(
        "autumn", 200, 280, 307, (), bed="A1", crop="carrot", days_by_place=0.0
    )
    fabric = (CoverUse("light_fabric", 303, 306, 7.0),)
    sooner = replace(later, from_day=199, to_day=306, bed="A2")
    found = crop_plan.CropPlan(stays=(later, sooner))
    (week,) = crop_plan_text.weeks(
        found, ["A1", "A2"], {"carrot": "sow"}, date(2027, 1, 1), "metric"
    )
    assert week.start == date(2027, 7, 12)
    assert week.sentences == (
        "Sow carrots for autumn in A1 and A2. Harvest until 3 November.",
    )
    # A cover over both lies from the first day that one of them needs it: day 303 is
    # 30 October, in the week of Monday 25.
    uses = (
        replace(later, covers=(replace(fabric[0], from_day=305),)),
        replace(sooner, covers=fabric),
    )
    _sown, covered = crop_plan_text.weeks(
        crop_plan.CropPlan(stays=uses),
        ["A1", "A2"],
        {"carrot": "sow"},
        date(2027, 1, 1),
        "metric",
    )
    assert covered.start == date(2027, 10, 25)


def test_the_list_by_week_names_the_beds_and_covers_that_are_chosen():
    beds = rows(20.0, 20.0, 20.0)
    made, found = market_garden(beds)
    bed_dates = dates(made, beds, YEAR, ("none", "clear_film"))
    planned = crop_plan.chosen(found, beds)
    list_ = weekly_jobs.make(made, beds, bed_dates, planned=planned)
    jobs = [
        job for week in weekly_jobs_text.weeks(list_, "metric") for job in week.jobs
    ]
    where = {stay.crop: stay.bed for stay in found.stays}
    # 20 m at 0.4 and at 1.0 minutes a metre (usual, no source), given to five minutes.
    sown = f"Sow spinach in {where['spinach']}, under clear film. The likely date is 21 March."
    assert f"{sown} It takes 1 person about 10 minutes." in jobs
    lettuce = f"Plant out lettuce for autumn in {where['lettuce']}."
    assert f"{lettuce} It takes 1 person about 20 minutes." in jobs
    assert not any("all beds" in job for job in jobs)
    # Until 17 April, as the year in sentences has it.
    off = [
        week.start
        for week in weekly_jobs_text.weeks(list_, "metric")
        if any(job.startswith("Take the clear film off spinach") for job in week.jobs)
    ]
    assert off == [date(2027, 4, 12)]
    # What is done in spring is picked until its bed is wanted again, as the plan has it.
    assert f"Start to cut spinach in {where['spinach']}. Cut what is ready." in jobs
    last = f"Cut the last spinach in {where['spinach']}. This is likely the last week of that harvest."
    assert last in jobs


# ------------------------------------------------------------------ what must hold
LENGTHS = st.lists(st.sampled_from([8.0, 20.0, 31.0]), min_size=1, max_size=5)
COVERS = ("none", "light_fabric", "clear_film")
NAMES = ("spinach", "lettuce", "tomato", "pepper", "carrot")


@st.composite
def places(draw):
    """A farm, its beds and dates; covers never make a date worse."""
    crops = draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True))
    wanted = [{"name": name, "beds": draw(st.integers(1, 4))} for name in crops]
    owned = [
        (kind, draw(st.sampled_from([5.0, 25.0, 60.0])))
        for kind in draw(st.sets(st.sampled_from(COVERS[1:])))
    ]
    stood = [("A1", draw(st.sampled_from(NAMES)))] if draw(st.booleans()) else []
    made = farm(
        wanted,
        sorted(owned),
        stood=stood,
        hands={"minutes_in_the_morning": draw(st.sampled_from([0.0, 5.0, 60.0]))},
    )
    beds = rows(*draw(LENGTHS))
    days = {}
    for name in crops:
        early = np.array([draw(st.integers(60, 200)) for _ in beds])
        late = np.array([draw(st.integers(230, 340)) for _ in beds])
        for kind in COVERS:
            gain = 0 if kind == "none" else draw(st.integers(0, 20))
            days[name, kind] = early - gain, late + gain
    return made, beds, dates(made, beds, days, COVERS)


@settings(max_examples=40, deadline=None)
@given(places())
def test_every_year_keeps_to_beds_covers_dates_and_hands(place):
    made, beds, bed_dates = place
    found = crop_plan.make(made, beds, bed_dates)
    length_m = {bed.bed.name: bed.bed.length_m for bed in beds}
    at = {bed.bed.name: number for number, bed in enumerate(beds)}
    crops = [crop.name for crop in made.crops]
    by_day = {kind: np.zeros(367) for kind in COVERS}
    on_bed = {name: np.zeros(367, int) for name in length_m}
    for stay in found.stays:
        on_bed[stay.bed][stay.from_day : stay.to_day + 1] += 1
        assert stay.from_day <= stay.harvest_day <= stay.to_day
        for use in stay.covers:
            metres = length_m[stay.bed] + GATHERED_M
            by_day[use.kind][use.from_day : use.to_day + 1] += metres
        kinds = {use.kind for use in stay.covers} or {"none"}
        number = crops.index(stay.crop)
        early = min(
            bed_dates.early[1, number, COVERS.index(kind), at[stay.bed]]
            for kind in kinds
        )
        late = max(
            bed_dates.late[1, number, COVERS.index(kind), at[stay.bed]]
            for kind in kinds
        )
        assert early <= stay.from_day
        assert stay.to_day < late
    assert all(taken.max() <= 1 for taken in on_bed.values())
    owned = {cover.kind: cover.length_m for cover in made.settings.covers}
    for kind, metres in by_day.items():
        assert metres.max() <= owned.get(kind, 0.0) + 1e-6
    assert max(found.minutes) <= made.settings.hands.minutes_in_the_morning + 1e-6
    wanted = {choice.name: choice.beds for choice in made.settings.crops}
    for name, count in wanted.items():
        for season in ("spring", "summer", "autumn"):
            placed = sum((t.crop, t.season) == (name, season) for t in found.stays)
            assert placed <= count


@settings(max_examples=8, deadline=None)
@given(places())
def test_the_same_inputs_give_the_same_year(place):
    assert crop_plan.make(*place) == crop_plan.make(*place)


@pytest.mark.parametrize("length_m", [20.0, 22.5, 45.0, 67.5])
def test_more_film_never_wins_fewer_days(length_m, monkeypatch):
    monkeypatch.setattr(solve, "GAP", 0.0)
    beds = rows(20.0, 20.0, 20.0)
    less, more = (
        sum(stay.days_by_cover for stay in market_garden(beds, each)[1].stays)
        for each in (length_m, length_m + 22.5)
    )
    assert more >= less


def test_the_south_has_its_year_from_july():
    """Day 140 of the season-year is 17 November."""
    made = farm([{"name": "tomato", "beds": 1}], latitude=-41.0)
    beds = rows(20.0)
    found = crop_plan.make(
        made, beds, dates(made, beds, {("tomato", "none"): (140, 290)})
    )
    assert found.month_day(found.stays[0].from_day) == (11, 17)


def test_many_beds_are_shared_out_as_a_few_dozen_kinds():
    from fieldmap.decide.crop_plan import bed_classes

    made = farm([{"name": "tomato", "beds": 300}])
    rng = np.random.default_rng(5)
    beds = rows(*rng.uniform(10, 60, 500))
    early, late = rng.integers(130, 160, 500), rng.integers(260, 280, 500)
    bed_dates = dates(made, beds, {("tomato", "none"): (early, late)})
    kinds = bed_classes.of_beds(beds, bed_dates, {})
    assert len(kinds) == bed_classes.MOST_CLASSES
    assert sorted(at for kind in kinds for at in kind.beds) == list(range(500))
    found = crop_plan.make(made, beds, bed_dates)
    assert len(found.stays) == 300
    for stay in found.stays:
        assert stay.from_day >= early[int(stay.bed[1:]) - 1]


# ------------------------------------------------------------------ pieces as owned
def beside(number):
    """Beds of 30 m and 0.75 m side by side, paths of 0.6 m."""
    beds = rows(*[30.0] * number)
    for at, each in enumerate(beds):
        west = at * 1.35
        each.bed.outline = shapely.box(west, 0.0, west + 0.75, 30.0)
    return beds


def under_fleece(beds, under_line=(), **piece):
    """Tomatoes for every bed that ripen under fabric alone, and a fleece of 12 by 100 m."""
    fleece = {"kind": "light_fabric", "width_m": 12.0, "length_m": 100.0} | piece
    made = farm([{"name": "tomato", "beds": len(beds)}])
    owned = made.settings.model_copy(update={"covers": (Cover(**fleece),)})
    made = replace(made, settings=owned)
    days = {("tomato", "none"): (200, 210), ("tomato", "light_fabric"): (115, 285)}
    dated = dates(made, beds, days, ("none", "light_fabric"))
    allows = HoopGround(under_line=frozenset(under_line))
    return crop_plan.make(made, beds, dated, allows=allows)


def test_a_fleece_of_twelve_by_a_hundred_metres_covers_neighbours_and_stays_whole():
    """Half an ellipse 0.75 m wide and 0.5 m high, by Ramanujan's formula of 1914:
    π / 2 · (3 · 0.875 - √((3 · 0.375 + 0.5) · (0.375 + 3 · 0.5))) = 1.3814 m. n beds take
    1.3814 n + 0.45 (n - 1) + 0.2 m with the paths of the settings, so six in the solver;
    with the 0.6 m that they are apart six take 11.49 m, and seven 13.5 m: six get it.
    """
    found = under_fleece(beside(8))
    (sheet,) = found.sheets
    assert (len(sheet.places), sheet.is_whole, sheet.length_m) == (6, True, 32.5)
    assert sheet.places == tuple(range(sheet.places[0], sheet.places[0] + 6))
    assert len(found.stays) == 6
    # Cut into lengths of 32.5 m it gives three beds theirs.
    cut = under_fleece(beside(8), may_cut=True)
    assert [len(each.places) for each in cut.sheets] == [1, 1, 1]


def test_no_sheet_lies_over_a_bed_under_a_line():
    """A line over A4 leaves three neighbours on one side and four on the other."""
    found = under_fleece(beside(8), ["A4"])
    (sheet,) = found.sheets
    assert 3 not in sheet.places
    assert len(sheet.places) in (3, 4)
    assert {each.bed for each in found.stays} == {f"A{at + 1}" for at in sheet.places}


def test_beds_that_no_piece_reaches_over_are_not_planned_under_it():
    """Two beds with a lane between them and one whole fleece: one is planned."""
    assert len(under_fleece(beside(2)).stays) == 2
    apart = beside(2)
    apart[1].bed.outline = shapely.box(10.0, 0.0, 10.75, 30.0)
    found = under_fleece(apart)
    assert [len(each.places) for each in found.sheets] == [1]
    assert len(found.stays) == 1


def test_a_part_of_a_bed_keeps_its_fleece_where_the_piece_cannot_lie_over_two():
    """10 m of carrots and 10 m of beets want fabric at once, on beds that are no neighbours.

    Together they take 2 · 12.5 = 25 m, and one whole piece reaches over 32.5 m of a bed of
    30 m. It lies in one place: over the carrots, which come first.
    """
    names = ("carrot", "beet")
    wanted = [{"name": each, "metres": 10.0, "seasons": ["spring"]} for each in names]
    made = farm(wanted, stood=[("A1", "beet"), ("A2", "carrot")])
    fleece = Cover(kind="light_fabric", width_m=1.7, length_m=50.0)
    owned = made.settings.model_copy(update={"covers": (fleece,)})
    made = replace(made, settings=owned)
    beds = beside(2)
    beds[1].bed.outline = shapely.box(10.0, 0.0, 10.75, 30.0)
    days = {
        (crop, cover): (day, 300)
        for crop in names
        for cover, day in (("none", 110), ("light_fabric", 96))
    }
    found = crop_plan.make(
        made, beds, dates(made, beds, days, ("none", "light_fabric"))
    )
    assert [(each.bed, each.crop, bool(each.covers)) for each in found.stays] == [
        ("A1", "carrot", True),
        ("A2", "beet", False),
    ]


# ------------------------------------------------------------------ money
@pytest.mark.parametrize(
    ("prices", "stands"), [((1.0, 9.0), "lettuce"), ((9.0, 1.0), "spinach")]
)
def test_the_crop_that_earns_more_gets_the_only_bed(prices, stands):
    """Both want it in the same weeks, and win as many days there."""
    wanted = [
        {"name": name, "beds": 1, "seasons": ["spring"], "price": price}
        for name, price in zip(("spinach", "lettuce"), prices, strict=True)
    ]
    same = CROPS["lettuce"]
    made = farm(wanted)
    made = replace(
        made,
        crops=(same.model_copy(update={"name": "spinach"}), same),
    )
    beds = rows(20.0)
    span = (100, 200)
    days = {("spinach", "none"): span, ("lettuce", "none"): span}
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert [each.crop for each in found.stays] == [stands]


# ------------------------------------------------------------------ inside tunnels
def inside(name="T1/1", length_m=19.0):
    light = SimpleNamespace(sun_mj_m2_day=(10.0,) * 12)
    bed = SimpleNamespace(
        name=name,
        plot="Home",
        tunnel="",
        length_m=length_m,
        width_m=0.75,
        path_within_m=0.0,
    )
    return FloorBed(bed, light, 0)


def with_tunnel(crops, days, *lengths_m):
    """Beds outdoors and one inside; days are (early, late), outdoors and inside."""
    made, outdoors, floor = farm(crops), rows(*lengths_m), [inside()]
    there = [*outdoors, *floor]
    by_crop = {
        (crop, "none"): tuple(
            [out] * len(outdoors) + [within] for out, within in zip(*ends, strict=True)
        )
        for crop, ends in days.items()
    }
    found = crop_plan.make(made, outdoors, dates(made, there, by_crop), floor=floor)
    return found, [
        (stay.bed, stay.crop, stay.from_day, stay.to_day, stay.part)
        for stay in found.stays
    ]


TOMATO_DAYS = {"tomato": ((140, 270), (115, 290))}


def test_tomatoes_fill_the_tunnel_and_go_on_in_the_field():
    """60 plants 0.5 m apart are 30 m of one row: 19 m inside, 11 m outdoors.

    The day of frost is the first that is lost, inside as out.
    """
    found, placed = with_tunnel(
        [{"name": "tomato", "plants": 60}], TOMATO_DAYS, 20.0, 20.0
    )
    assert placed == [
        ("A1", "tomato", 140, 269, (0.0, 11.0)),
        ("T1/1", "tomato", 115, 289, None),  # all of it
    ]
    assert [stay.amounts.plants for stay in found.stays] == [22, 38]


def test_of_whole_beds_too_tomatoes_have_the_first_claim_on_the_tunnel():
    """Spinach wins 20 days inside, tomatoes 45; either alone would take the tunnel."""
    spinach = {"name": "spinach", "beds": 1, "seasons": ["spring"]}
    days = {"spinach": ((100, 300), (80, 300))}
    _, placed = with_tunnel([spinach], days, 20.0)
    assert [each[:2] for each in placed] == [("T1/1", "spinach")]
    wanted = [spinach, {"name": "tomato", "beds": 1}]
    _, placed = with_tunnel(wanted, days | TOMATO_DAYS, 20.0)
    assert [each[:2] for each in placed] == [("A1", "spinach"), ("T1/1", "tomato")]


def test_what_wins_little_stays_out_of_the_tunnel_unless_the_grower_asks():
    """Potatoes would be 20 days earlier inside, and hold the bed until July."""
    days = {"potato": ((100, 300), (80, 300))}
    potato = {"name": "potato", "beds": 1}
    for in_tunnels, bed in ((None, "A1"), (False, "A1"), (True, "T1/1")):
        _, placed = with_tunnel([potato | {"in_tunnels": in_tunnels}], days, 20.0)
        assert [each[:2] for each in placed] == [(bed, "potato")]
    # Two beds are wanted, and one is there outdoors: the tunnel stays empty.
    found, placed = with_tunnel([potato | {"beds": 2}], days, 20.0)
    assert [each[:2] for each in placed] == [("A1", "potato")]
    assert [fact.kind for fact in found.short] == ["crop_short"]


def test_a_grower_who_keeps_the_tunnel_for_lettuce_has_tomatoes_outdoors():
    wanted = [
        {"name": "tomato", "beds": 1},
        {"name": "lettuce", "beds": 1, "seasons": ["spring"], "in_tunnels": True},
    ]
    wanted[0]["in_tunnels"] = False
    days = TOMATO_DAYS | {"lettuce": ((90, 300), (60, 330))}
    _, placed = with_tunnel(wanted, days, 20.0)
    assert [each[:2] for each in placed] == [("A1", "tomato"), ("T1/1", "lettuce")]


def test_spinach_stands_in_the_tunnel_before_tomatoes_that_are_wanted_by_plants():
    """Spinach from day 15 is done by 115, when 38 tomatoes take the same 19 m."""
    wanted = [
        {"name": "tomato", "plants": 38},
        {"name": "spinach", "beds": 1, "seasons": ["spring"]},
    ]
    days = TOMATO_DAYS | {"spinach": ((100, 300), (15, 300))}
    _, placed = with_tunnel(wanted, days, 20.0)
    assert [each[:3] for each in placed] == [
        ("T1/1", "spinach", 15),
        ("T1/1", "tomato", 115),
    ]


# ------------------------------------------------------------------ parts and wholes
@pytest.mark.parametrize(("crop", "beds"), [("carrot", 1), ("endive", 0)])
def test_a_whole_bed_is_used_in_the_weeks_that_parts_of_it_leave(crop, beds):
    """Lettuce on 4 m is picked long before day 220: carrots follow, endive is its family."""
    made = farm(
        [
            {"name": "lettuce", "metres": 4.0, "seasons": ["spring"]},
            {"name": crop, "beds": 1, "seasons": ["spring"]},
        ]
    )
    lying = rows(20.0)
    days = {("lettuce", "none"): (100, 300), (crop, "none"): (220, 364)}
    found = crop_plan.make(made, lying, dates(made, lying, days))
    first, *whole = found.stays
    assert first.crop == "lettuce"
    assert first.to_day < 220
    assert [(each.crop, each.part) for each in whole] == [(crop, None)] * beds
    assert len(found.short) == 1 - beds


def test_a_whole_bed_is_not_taken_while_a_part_of_it_is():
    made = farm(
        [
            {"name": "lettuce", "metres": 4.0, "seasons": ["spring"]},
            {"name": "carrot", "beds": 1, "seasons": ["spring"]},
        ]
    )
    lying = rows(20.0)
    days = {("lettuce", "none"): (100, 300), ("carrot", "none"): (110, 300)}
    found = crop_plan.make(made, lying, dates(made, lying, days))
    assert [each.crop for each in found.stays] == ["lettuce"]
    assert [fact.kind for fact in found.short] == ["crop_short"]


def test_lettuce_for_weeks_of_july_stands_under_the_cloth_that_is_owned():
    """Every third day of July is at 30 °C, over what lettuce likes; others are at 15.

    Two sowings of 4 m want cloth at once, with 2.5 m for gathered ends: 13 m.
    """
    wanted = [{"name": "lettuce", "harvest": "40 heads a week, 14 July to 20 July"}]
    for owned_m, cloths in ((13.0, 1), (6.0, 0)):
        made = farm(wanted, [("shade_40", owned_m)])
        record = made.weather.days.copy()
        july = (record.index.month == 7) & (record.index.day % 3 == 0)
        record.loc[july, "tmax_c"] = 30.0
        record.loc[july, "tmin_c"] = 0.0
        made = replace(made, weather=WeatherRecord(record))
        lying = rows(20.0, sun=22.0)
        days = {("lettuce", "none"): (80, 320)}
        found = crop_plan.make(made, lying, dates(made, lying, days))
        (stay,) = found.stays
        assert [use.kind for use in stay.covers] == ["shade_40"] * cloths
        for use in stay.covers:
            # July has days 182 to 212.
            assert stay.from_day <= use.from_day
            assert 182 <= use.from_day <= use.to_day <= stay.to_day


def test_lettuce_on_parts_of_beds_leaves_the_tunnel_alone():
    wanted = [{"name": "lettuce", "metres": 4.0, "seasons": ["spring"]}]
    _, placed = with_tunnel(wanted, {"lettuce": ((90, 300), (60, 330))}, 20.0)
    assert [each[0] for each in placed] == ["A1"]


# ------------------------------------------------------------------ winter, and hands
def test_kale_stands_through_the_winter_and_is_said_to():
    """58 days on the bed: set out on day 307, grown by 365, picked until 365 + 105."""
    made = farm([{"name": "kale", "metres": 5.0, "seasons": ["winter"]}])
    beds = rows(20.0)
    found = crop_plan.make(
        made, beds, dates(made, beds, {("kale", "none"): (100, NEVER)})
    )
    (stay,) = found.stays
    assert (stay.season, stay.from_day, stay.harvest_day, stay.to_day) == (
        "winter",
        307,
        365,
        470,
    )
    said = crop_plan_text.of_bed(found, "A1", "metric")
    assert "to 15 April of the next year." in said
    cold = crop_plan.make(made, beds, dates(made, beds, {("kale", "none"): (100, 330)}))
    assert say_all(cold.short, "metric") == [
        "Kale: 0 % of what you asked for, because in most years winter kills it there."
    ]


def why_short(found):
    (fact,) = found.short
    return fact["why"].kind


@pytest.mark.parametrize("amount", [{"beds": 1}, {"metres": 5.0}])
@pytest.mark.parametrize(
    ("crop", "days", "why"),
    [
        ("kale", (100, 330), "winter_kills"),
        # Out from day 330, its 58 days end long after the last day of the year.
        ("kale", (330, NEVER), "too_early"),
        # Garlic is planted when the soil has cooled, which here it never does.
        ("garlic", (NEVER, NEVER), "never_cool"),
    ],
)
def test_why_nothing_stands_through_the_winter(amount, crop, days, why):
    made = farm([{"name": crop, "seasons": ["winter"]} | amount])
    beds = rows(20.0)
    dated = dates(made, beds, {(crop, "none"): days})
    dated.grows_until[:] = 360.0
    found = why_short(crop_plan.make(made, beds, dated))
    assert found == why + ("_for_part" if "metres" in amount else "")


@pytest.mark.parametrize(
    ("crop", "season"), [("carrot", "spring"), ("carrot", "autumn"), ("kale", "winter")]
)
def test_a_crop_by_the_bed_that_sowings_leave_no_bed_for_lacks_a_bed(crop, season):
    """Tomatoes by the metre take all 20 m; alone the other crop would have the bed."""
    second = {"name": crop, "beds": 1, "seasons": [season]}
    beds = rows(20.0)
    made = farm([second])
    days = {(crop, "none"): (100, NEVER)}
    alone = crop_plan.make(made, beds, dates(made, beds, days))
    assert [stay.crop for stay in alone.stays] == [crop]
    made = farm([{"name": "tomato", "metres": 20.0}, second])
    days |= {("tomato", "none"): (130, 330)}
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert why_short(found) == "no_bed_free"


def test_metres_that_ripen_under_cover_alone_are_short_of_cover():
    """4 m of spinach take 6.5 m of film with its gathered ends; 6 m are there."""
    made = farm(
        [{"name": "spinach", "metres": 4.0, "seasons": ["spring"]}],
        [("clear_film", 6.0)],
    )
    beds = rows(20.0)
    days = {("spinach", "none"): (270, 300), ("spinach", "clear_film"): (80, 300)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    assert why_short(found) == "no_cover_free_for_part"


@pytest.mark.parametrize(
    ("amount", "kind"),
    [
        ({"metres": 4.0, "seasons": ["spring"]}, "for_part"),
        ({"harvest": "1 kg a week, May to June"}, "then"),
    ],
)
def test_sowings_that_nobody_can_open_a_cover_for_lack_hands_or_cover(amount, kind):
    """Of film there is enough for all, of hands in the morning there are none."""
    made = farm(
        [{"name": "spinach"} | amount],
        [("clear_film", 60.0)],
        hands={"minutes_in_the_morning": 0.0},
    )
    beds = rows(20.0)
    days = {("spinach", "none"): (270, 300), ("spinach", "clear_film"): (60, 300)}
    found = crop_plan.make(made, beds, dates(made, beds, days, ("none", "clear_film")))
    assert why_short(found) == f"no_cover_or_hands_free_{kind}"
    assert "or nobody is free to open it" in say_all(found.short, "metric")[0]


def test_garlic_for_weeks_of_this_summer_cannot_be_planted_and_is_said_to():
    """It is planted from day 290 on, and lifted in the next year: no week of this one."""
    made = farm([{"name": "garlic", "harvest": "20 heads a week, July to August"}])
    beds = rows(20.0)
    days = {("garlic", "none"): (290, NEVER)}
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert found.stays == ()
    assert why_short(found) == "for_next_year_then"


def test_why_a_week_has_no_harvest_is_asked_of_beds_that_the_crop_may_have():
    """Carrots are ripe in May inside a tunnel alone, which is for other crops."""
    wanted = [{"name": "carrot", "harvest": "5 kg a week, 10 May to 16 May"}]
    found, placed = with_tunnel(wanted, {"carrot": ((110, 300), (20, 330))}, 20.0)
    assert placed == []
    assert why_short(found) == "too_early_then"


def ranked(name, plot, length_m, early):
    bed = SimpleNamespace(name=name, plot=plot, tunnel="", length_m=length_m)
    return SimpleNamespace(bed=bed, ranks=SimpleNamespace(early=early))


@pytest.mark.parametrize(
    ("most_m", "found"),
    [
        (None, None),
        (19.0, {3}),
        (38.9, {3}),
        (39.0, {1, 3}),
        (49.0, {1, 3}),
        (59.0, {1, 2, 3}),
        (99.0, {0, 1, 2, 3}),
    ],
)
def test_hands_go_to_tunnels_then_to_the_plot_with_the_earliest_bed(most_m, found):
    """19 m inside; two beds of 20 m on the earlier plot, one of 40 m on the other."""
    beds = [
        ranked("A1", "Late", 40.0, 2),
        ranked("B1", "Early", 20.0, 3),
        ranked("B2", "Early", 20.0, 1),
    ]
    chosen = solve.tended_beds(beds, [inside()], most_m)
    assert chosen == (None if found is None else frozenset(found))


def test_beds_that_hands_are_not_enough_for_bear_nothing_and_are_said():
    made = farm([{"name": "tomato", "beds": 3}], hands={"tended_m": 40.0})
    beds = rows(20.0, 20.0, 20.0)
    for each in beds:
        each.ranks = SimpleNamespace(early=1)
    found = crop_plan.make(
        made, beds, dates(made, beds, {("tomato", "none"): (130, 270)})
    )
    assert {stay.bed for stay in found.stays} == {"A1", "A2"}
    assert {each.bed for each in found.green} == {"A1", "A2"}
    assert (
        "You said that you can look after 40 m of bed. Grass and clover grow on the other 20 m (A3). Cut them from time to time."
    ) in say_all(found.remarks, "metric")


def test_a_bed_that_no_crop_wants_lies_in_grass():
    """One bed of spinach on two: the other is not sown again and again for the soil."""
    made = farm([{"name": "spinach", "beds": 1, "seasons": ["spring"]}])
    beds = rows(20.0, 20.0)
    days = {("spinach", "none"): (80, 320)}
    found = crop_plan.make(made, beds, dates(made, beds, days))
    (bears,) = {stay.bed for stay in found.stays}
    (rests,) = {"A1", "A2"} - {bears}
    assert {each.bed for each in found.green} == {bears}
    assert found.untended == (rests,)
    said = say_all(found.remarks, "metric")
    assert (
        f"Grass and clover grow on beds without a crop ({rests}). Cut them from time to time."
    ) in said
    assert not any("metres are bare" in each for each in said)


def test_garlic_and_a_crop_of_spring_do_not_share_a_bed():
    """Garlic stands from October to August: kale of every spring needs a bed of its own."""
    made = farm([{"name": "garlic", "beds": 1}, {"name": "kale", "beds": 1}])
    days = {("kale", "none"): (80, 320), ("garlic", "none"): (290, 365)}
    beds = rows(20.0, 20.0)
    found = crop_plan.make(made, beds, dates(made, beds, days))
    on = {stay.crop: stay for stay in found.stays if stay.season != "autumn"}
    assert on["garlic"].from_day == 290
    assert on["garlic"].to_day > 365 + on["kale"].from_day
    assert on["garlic"].bed != on["kale"].bed
    one = rows(20.0)
    alone = crop_plan.make(made, one, dates(made, one, days))
    spring = [stay.crop for stay in alone.stays if stay.season != "autumn"]
    assert len(spring) == 1
    assert alone.short


def test_of_three_crops_that_meet_round_the_year_two_get_the_two_beds():
    """Winter onions stand from day 299 to 590, so to day 225 of each spring.

    Potatoes of spring begin on day 164, before the onions are done, and stand 107 days; the
    later ones begin on day 257, before the first are lifted, and end after day 299.
    """
    made = farm(
        [
            {"name": "potato", "beds": 1, "seasons": ["spring", "autumn"]},
            {"name": "winter onion", "beds": 1},
        ]
    )
    beds = rows(30.0, 30.0)
    days = {("potato", "none"): (164, 365), ("winter onion", "none"): (299, NEVER)}
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert len(found.stays) == len({stay.bed for stay in found.stays}) == 2
    assert [fact.kind for fact in found.short] == ["crop_short"]
    three = rows(30.0, 30.0, 30.0)
    found = crop_plan.make(made, three, dates(made, three, days))
    assert sorted(spans(found)) == [
        ("A1", "potato", 164, 271),
        ("A2", "potato", 257, 364),
        ("A3", "winter onion", 299, 590),
    ]
    assert not found.short


def test_green_manures_have_jobs_to_sow_and_to_turn_in():
    """Buckwheat to day 200 is mown then; oats to the year's end are left to the frost.

    Rye is mown on day 85 of the year after; parts of a bed keep their metres.
    """
    beds = rows(20.0, 20.0)
    part = BedPart(0.0, 8.0)
    plan = crop_plan.CropPlan(
        green=(
            GreenManure("A1", "buckwheat", 150, 200),
            GreenManure("A2", "oats", 300, 365),
            GreenManure("A1", "winter rye", 301, 365 + 85, part),
        )
    )
    found = [
        (job.kind, job.crop, job.day, job.beds.runs, job.beds.parts)
        for job in crop_plan.more_jobs(plan, beds, ())
    ]
    a1, a2 = (("A1",),), (("A2",),)
    assert found == [
        ("sow_green", "buckwheat", 150, a1, ()),
        ("turn_in_green", "buckwheat", 200, a1, ()),
        ("sow_green", "oats", 300, a2, ()),
        ("sow_green", "winter rye", 301, a1, (("A1", 0.0, 8.0),)),
        ("turn_in_green", "winter rye", 365 + 85, a1, (("A1", 0.0, 8.0),)),
    ]


def test_no_week_holds_more_metres_than_a_bed_has():
    """Spinach, lettuce, carrot and kale by weeks and metres on three beds of 20 m."""
    made = farm(
        [
            {"name": "lettuce", "harvest": "60 heads a week, June to September"},
            {"name": "carrot", "harvest": "10 kg a week, July to September"},
            {"name": "spinach", "metres": 15.0},
            {"name": "kale", "beds": 1},
        ]
    )
    beds = rows(20.0, 20.0, 20.0)
    days = {
        (name, "none"): (80, 320) for name in ("lettuce", "carrot", "spinach", "kale")
    }
    found = crop_plan.make(made, beds, dates(made, beds, days))
    assert {stay.crop for stay in found.stays} >= {"lettuce", "carrot"}
    for bed in ("A1", "A2", "A3"):
        for day in range(1, 366):
            there = [
                each
                for each in (*found.by_bed.get(bed, ()), *found.green)
                if each.bed == bed and each.from_day <= day <= each.to_day
            ]
            assert (
                sum(20.0 if e.part is None else e.part.length_m for e in there) <= 20.0
            )
            spans = sorted((e.part.start_m, e.part.end_m) for e in there if e.part)
            assert all(a[1] <= b[0] for a, b in itertools.pairwise(spans))
    # What found no metres is said, and nothing ends before it is ripe.
    assert found.short
    assert all(stay.harvest_day <= stay.to_day for stay in found.stays)
