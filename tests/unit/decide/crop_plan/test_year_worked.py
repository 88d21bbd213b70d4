"""One year of a small farm, worked by hand as on a spreadsheet.

Every day is as warm as another (13 °C on average), so days on the bed are the middles of
those of crops.toml: lettuce 49 (50 to 75 from sowing, less 14 that trays save: 48.5),
tomato 73 (60 to 85), kale 58 (50 to 65), carrot 70 (60 to 80). Spacings, days ready,
gathered ends of 2.5 m, minutes and weeks ahead are common practice, no source.

    bed    crop     metres   wanted      by hand                               weeks
    T1/1   tomato   0 - 19   60 plants   1 row, 0.5 m: 30 m, 19 of them here;  14 - 42
                                         out 105 under fabric, ripe 178,
                                         last whole day 299
    A1     tomato   0 - 11               the other 11 m; out 130 under fabric,  18 - 39
                                         ripe 203, last day 279
    A1     lettuce  11 - 15  182 - 188   47.06 plants on 3 rows: 4 m. Ripe 3    18 - 27
                                         days before, 179; out 49 days before
                                         that, 130; ready 14 days, to 192
    A1     lettuce  15 - 19  189 - 195   ripe 186, out 137, to 199              19 - 28
    A2     lettuce  0 - 4    196 - 202   ripe 193, out 144, to 206              20 - 29
    A2     lettuce  4 - 8    203 - 209   ripe 200, out 151, to 213              21 - 30
    A1     kale     0 - 5    winter      grown by 365: out 307; picked until    43 - 52
                                         365 + 105
    A2     carrot   8 - 16   8 m         sown 100, ripe 170, 28 days ready: 198 14 - 28

Week w holds days 7 w + 1 to 7 w + 7. Fabric inside on days 105 to 115 and 282 to 299 (a
week before film alone lets go, 289), weeks 14 - 16 and 40 - 42: 19 + 2.5 = 21.5 m. Outdoors
on days 130 to 140 and 262 to 279, weeks 18 - 19 and 37 - 39: 11 + 2.5 = 13.5 m. They never
lie out together, so 21.5 m will do. Inside it is opened each morning: 1 + 19 / 20 minutes.
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import plane, plot_box, site

from fieldmap.decide import crop_plan
from fieldmap.decide.crop_plan import CropPlan, FloorBed, shortfall
from fieldmap.decide.crop_plan.model import following, share_ground
from fieldmap.model.season_year import WEEKS, SeasonYear, week_of
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import packaged_crops

CROPS = packaged_crops()
COVERS = ("none", "light_fabric")
GATHERED_M, FABRIC = 2.5, "light_fabric"
ON_BED = {"lettuce": 49, "tomato": 73, "kale": 58, "carrot": 70}
NEVER = float("inf")
WANTED = [
    {"name": "lettuce", "harvest": "40 heads a week, 1 July to 28 July"},
    {"name": "tomato", "plants": 60},
    {"name": "kale", "metres": 5.0, "seasons": ["winter"]},
    {"name": "carrot", "metres": 8.0, "seasons": ["spring"]},
]
# (early, late) outdoors, then inside; late is the first day that is lost.
DAYS = {
    ("lettuce", "none"): ((90, 320), (70, 330)),
    ("tomato", "none"): ((140, 270), (115, 290)),
    ("tomato", FABRIC): ((130, 280), (105, 300)),
    ("kale", "none"): ((100, NEVER), (100, NEVER)),
    ("carrot", "none"): ((100, 330), (90, 340)),
}
DAYS |= {(name, FABRIC): DAYS[name, "none"] for name in ("lettuce", "kale", "carrot")}


def farm(wanted, fabric_m, hands):
    days = pd.date_range("2025-01-01", "2026-12-31", name="date")
    record = pd.DataFrame({"tmin_c": 11.0, "tmax_c": 15.0}, index=days)
    owned = {"kind": FABRIC, "width_m": 3.0, "length_m": fabric_m, "may_cut": True}
    made = site(
        plane(),
        {"Home": plot_box(40, 40, 80, 60)},
        latitude=45.0,
        crops=wanted,
        covers=[owned] if fabric_m else [],
        hands={"minutes_in_the_morning": hands},
    )
    crops = tuple(CROPS[each["name"]] for each in wanted)
    return replace(made, crops=crops, weather=WeatherRecord(record))


def bed(name, length_m, tunnel=""):
    return SimpleNamespace(
        name=name,
        plot="Home",
        length_m=length_m,
        width_m=0.75,
        path_within_m=0.0,
        tunnel=tunnel,
    )


def year(wanted=WANTED, fabric_m=21.5, hands=2.0, lengths_m=(20.0, 20.0)):
    made = farm(wanted, fabric_m, hands)
    light = SimpleNamespace(sun_mj_m2_day=(10.0,) * 12)
    outdoors = [
        SimpleNamespace(bed=bed(f"A{at}", length_m), light=light)
        for at, length_m in enumerate(lengths_m, start=1)
    ]
    floor = [FloorBed(bed("T1/1", 19.0, "T1"), light, 0, FABRIC)]
    names = [each["name"] for each in wanted]
    shape = (3, len(names), 2, len(outdoors) + 1)
    early, late = np.full(shape, NEVER), np.full(shape, -NEVER)
    for (crop, kind), (out, within) in DAYS.items():
        if crop in names:
            at = names.index(crop), COVERS.index(kind)
            early[:, at[0], at[1]] = [*[out[0]] * len(outdoors), within[0]]
            late[:, at[0], at[1]] = [*[out[1]] * len(outdoors), within[1]]
    dates = SimpleNamespace(
        crops=made.crops,
        covers=COVERS,
        early=early,
        late=late,
        slackens=np.full(shape[1:], np.nan),
        winters=np.full(shape[1:], np.nan),
        last_sowing=np.full(shape, np.nan),
        grows_until=np.full((len(names), shape[-1]), NEVER),
        season=made.season,
        known=True,
        remarks=(),
    )
    return crop_plan.make(made, outdoors, dates, floor=floor)


def summary(found):
    return [
        (
            stay.bed,
            stay.crop,
            None if stay.part is None else (stay.part.start_m, stay.part.end_m),
            (stay.from_day, stay.harvest_day, stay.to_day),
        )
        for stay in found.stays
    ]


def test_the_year_is_that_of_the_spreadsheet():
    found = year()
    assert summary(found) == [
        ("A1", "tomato", (0.0, 11.0), (130, 203, 279)),
        ("A1", "lettuce", (11.0, 15.0), (130, 179, 192)),
        ("A1", "lettuce", (15.0, 19.0), (137, 186, 199)),
        ("A1", "kale", (0.0, 5.0), (307, 365, 470)),
        ("A2", "carrot", (8.0, 16.0), (100, 170, 198)),
        ("A2", "lettuce", (0.0, 4.0), (144, 193, 206)),
        ("A2", "lettuce", (4.0, 8.0), (151, 200, 213)),
        ("T1/1", "tomato", None, (105, 178, 299)),
    ]
    assert found.short == ()
    covers = {
        stay.bed: [(use.from_day, use.to_day) for use in stay.covers]
        for stay in found.stays
        if stay.covers
    }
    assert covers == {
        "A1": [(130, 140), (262, 279)],
        "T1/1": [(105, 115), (282, 299)],
    }
    plants = [stay.amounts.plants for stay in found.stays if stay.crop == "tomato"]
    assert plants == [22, 38]


def test_metres_of_fabric_and_minutes_are_those_of_the_spreadsheet():
    found = year()
    (fabric,) = [each for each in found.covers if each.kind == FABRIC]
    inside, field = {14, 15, 16, 40, 41, 42}, {18, 19, 37, 38, 39}
    for week in range(WEEKS):
        out_m = 21.5 * (week in inside) + 13.5 * (week in field)
        assert fabric.used_m[week] == pytest.approx(out_m)
        assert found.minutes[week] == pytest.approx(1.95 * (week in inside))


@pytest.mark.parametrize(
    ("more", "first", "last"),
    [
        ({"fabric_m": 21.4}, 115, 289),  # a hand too short for the bed inside
        ({"hands": 1.9}, 115, 289),  # nobody is there to open it
        ({"hands": 1.95}, 105, 299),
    ],
)
def test_without_the_metres_or_the_hands_the_tunnel_has_its_film_alone(
    more, first, last
):
    found = year(**more)
    (inside,) = [stay for stay in found.stays if stay.bed == "T1/1"]
    assert (inside.from_day, inside.to_day) == (first, last)
    assert (inside.covers == ()) == (first == 115)
    # 13.5 m over the field go on lying out, as nobody has to open them.
    (field,) = [e for e in found.stays if (e.bed, e.crop) == ("A1", "tomato")]
    assert (field.from_day, field.to_day) == (130, 279)


# ------------------------------------------------------------------ any year
@st.composite
def wishes(draw):
    """Crops by metres, plants or weeks, and what is owned."""
    names = draw(st.lists(st.sampled_from(list(ON_BED)), min_size=1, unique=True))
    ways = {
        "lettuce": st.sampled_from(
            [{"harvest": "40 heads a week, June to August"}, {"metres": 9.0}]
        ),
        "tomato": st.sampled_from([{"plants": 25}, {"plants": 90}, {"beds": 2}]),
        "kale": st.sampled_from(
            [
                {"metres": 12.0, "seasons": ["winter"]},
                {"harvest": "5 kg a week, July to July"},
            ]
        ),
        "carrot": st.sampled_from(
            [{"harvest": "20 kg a week, July to August"}, {"beds": 1}]
        ),
    }
    wanted = [{"name": name} | draw(ways[name]) for name in names]
    return {
        "wanted": wanted,
        "fabric_m": draw(st.sampled_from([0.0, 13.5, 21.5, 60.0])),
        "hands": draw(st.sampled_from([0.0, 2.0, 30.0])),
        "lengths_m": tuple(
            draw(st.lists(st.sampled_from([8.0, 20.0, 31.0]), min_size=1, max_size=4))
        ),
    }


@settings(max_examples=20, deadline=None)
@given(wishes())
def test_no_week_of_any_year_asks_for_more_than_there_is(asked):
    """On parts of beds as on whole ones: metres of bed, of fabric, and minutes."""
    found = year(**asked)
    beds_m = {f"A{at}": m for at, m in enumerate(asked["lengths_m"], start=1)}
    beds_m["T1/1"] = 19.0
    out_m = np.zeros(WEEKS)
    for number, stay in enumerate(found.stays):
        ripe = stay.from_day + ON_BED[stay.crop]
        assert ripe == stay.harvest_day <= stay.to_day
        if stay.part is not None:
            assert 0 <= stay.part.start_m < stay.part.end_m <= beds_m[stay.bed] + 1e-6
        for other in found.stays[:number]:
            if other.bed == stay.bed and share_ground(stay, other):
                assert other.held[1] < stay.held[0] or stay.held[1] < other.held[0]
        for use in stay.covers:
            weeks = slice(week_of(use.from_day), week_of(use.to_day) + 1)
            out_m[weeks] += stay.length_m(beds_m[stay.bed]) + GATHERED_M
    assert out_m.max() <= asked["fabric_m"] + 1e-6
    assert max(found.minutes) <= asked["hands"] + 1e-6


@settings(max_examples=20, deadline=None)
@given(wishes())
def test_no_family_follows_itself_where_another_bed_is_free(asked):
    """Four long beds more are free for whatever is sown."""
    asked = asked | {"lengths_m": (*asked["lengths_m"], *[40.0] * 4)}
    found = year(**asked)
    of = {name: CROPS[name].family.value for name in ON_BED}
    again = [
        (a.crop, b.crop) for a, b in following(found.stays) if of[a.crop] == of[b.crop]
    ]
    assert again == []


# ------------------------------------------------------------------ free inside
def free(stays, names=("T1/1",)):
    floor = [FloorBed(bed(name, 19.0, "T1"), None, 0) for name in names]
    there = [
        SimpleNamespace(bed=name, from_day=begins, to_day=ends, covers=())
        for name, begins, ends in stays
    ]
    _inside, *found = [
        (each.kind, each["beds"], each.values.get("first"), each.values.get("last"))
        for each in shortfall.inside(floor, there, SeasonYear(southern=False))
    ]
    return found


def test_a_tunnel_bears_nothing_for_the_soil_and_says_when_it_is_free():
    """Tomatoes from day 105 to 299: free from 27 October (300) to 14 April (104)."""
    found = year()
    assert not [each for each in found.green if each.bed.startswith("T1")]
    assert [each.bed for each in found.green]
    (said,) = [each for each in found.remarks if each.kind == "tunnel_beds_free"]
    assert (said["beds"], said["first"], said["last"]) == (["T1/1"], (10, 27), (4, 14))


@pytest.mark.parametrize(
    ("stays", "found"),
    [
        # From day 42 to 366, and again from 42: nothing between.
        ([("T1/1", 42, 365)], []),
        # Days 1 to 42, six weeks: said; a day less is not.
        ([("T1/1", 43, 365)], [("tunnel_beds_free", ["T1/1"], (1, 1), (2, 11))]),
        # Days 141 to 182 between two crops; what stands into the next year ends on 40.
        (
            [("T1/1", 60, 140), ("T1/1", 183, 405)],
            [("tunnel_beds_free", ["T1/1"], (5, 21), (7, 1))],
        ),
        # Two parts of the bed side by side: the longer stay counts.
        ([("T1/1", 43, 200), ("T1/1", 43, 365), ("T1/1", 43, 100)],
         [("tunnel_beds_free", ["T1/1"], (1, 1), (2, 11))]),
        # On the other part one stands on until day 150: 32 days are free, and then none.
        ([("T1/1", 60, 140), ("T1/1", 183, 515)], []),
        # Until day 150 of the next year: free from 151, 31 May, to 249, 6 September.
        ([("T1/1", 60, 100), ("T1/1", 250, 515)],
         [("tunnel_beds_free", ["T1/1"], (5, 31), (9, 6))]),
        ([], [("tunnel_beds_never_used", ["T1/1"], None, None)]),
    ],
)  # fmt: skip
def test_six_weeks_without_a_crop_are_worth_saying(stays, found):
    assert free(stays) == found


def test_beds_inside_that_are_free_together_are_named_together():
    stays = [("T1/1", 100, 300), ("T1/2", 100, 300), ("T1/3", 90, 300)]
    assert free(stays, ("T1/1", "T1/2", "T1/3")) == [
        ("tunnel_beds_free", ["T1/3"], (10, 28), (3, 30)),
        ("tunnel_beds_free", ["T1/1", "T1/2"], (10, 28), (4, 9)),
    ]


def test_a_plot_waits_when_all_its_beds_lie_in_grass_and_nothing_is_built_there():
    beds = [
        SimpleNamespace(name=name, plot=plot)
        for name, plot in (
            *(("A1", "Home"), ("A2", "Home")),
            *(("B1", "Brook"), ("B2", "Brook")),
            ("C1", "Hut"),
        )
    ]
    plan = CropPlan(untended=("A2", "B1", "B2", "C1"))
    assert plan.plots_in_grass(beds, {"Hut"}) == {"Brook": 2}
    assert plan.plots_in_grass(beds, ()) == {"Brook": 2, "Hut": 1}
    assert CropPlan().plots_in_grass(beds, ()) == {}
