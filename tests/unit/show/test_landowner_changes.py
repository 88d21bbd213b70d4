"""What the landowner is asked: each change with its letter, in words and on the map."""

import re
from types import SimpleNamespace

import pytest
from shapely.geometry import Point, box

from fieldmap.decide.what_if import BedEffect
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.show.print import landowner, paper
from fieldmap.show.print.ground.drawing import PlanDrawing
from fieldmap.show.text.map.answers import change_of_nights, lost_days

PLOT = box(20, 20, 80, 60)
HEDGE = box(20, 62, 80, 64)
BEDS = [
    SimpleNamespace(name=name, plot=plot)
    for name, plot in (("A1", "Upper"), ("A2", "Upper"), ("B1", "Lower"))
]


def change(name, ground, fact):
    return SimpleNamespace(
        name=name,
        ground={"gone": ground},
        changes=(fact,),
        facts=(Fact("what_if_cold_as_now"),),
        beds=(),
    )


GAP = change("Gap", box(40, 62, 44, 64), Fact("gap_made", width_m=4.0, thing="Hedge"))
AWAY = change("Away", HEDGE, Fact("thing_taken_away", name="Hedge"))
BANK = change(
    "Bank", box(5, 5, 9, 9), Fact("thing_added", name="Dam", height_m=1.2, width_m=3.0)
)


def table(effects):
    return next(
        each
        for each in landowner._changes(effects, BEDS, "metric")
        if isinstance(each, paper.Table)
    )


def test_each_change_says_what_is_asked_and_leaves_room_for_who_does_it():
    rows = table([GAP, AWAY, BANK]).rows
    assert [row[0] for row in rows] == ["A", "B", "C"]
    assert "gap of 4 m" in rows[0][1]
    assert "1.2 m high and 3 m wide" in rows[2][1]
    assert {row[-1] for row in rows} == {""}


def moved(bed, central_c, days=None):
    return BedEffect(bed, 0.0, Estimate(*(central_c,) * 3), days, 0.0, {}, {})


def test_the_owner_reads_what_a_change_takes_as_well_as_what_it_gives():
    """Beds A1 and A2 gain .3 and 1.1 °C, B1 loses .3 °C, and so does ground outside."""
    both = (
        moved("A1", 0.3),
        moved("A2", 1.1, Estimate(3.0, 16.0, 30.0)),
        moved("B1", -0.3, Estimate(-4.0, -2.0, 0.0)),
    )
    outside = Fact("below_is_colder", degrees_c=0.4, area_m2=220.0, direction=0.0)
    facts = (Fact("what_if_cold", effect=both[1]), outside)
    ((_mark, _what, does, _who),) = table(
        [SimpleNamespace(**{**vars(AWAY), "beds": both, "facts": facts})]
    ).rows
    assert does.replace("\u00a0", " ") == (
        "On still nights 2 beds in Upper would be warmer. The largest change would be on bed A2: about 1.1 °C warmer. First day to plant A2: 16 days earlier (3 to 30 days). On still nights one bed in Lower would be colder: B1, by about 0.3 °C. First day to plant B1: 2 days later (0 to 4 days). Outside the plots, 220 m² of ground would be up to 0.4 °C colder. Most of this ground lies to the north of the middle of our plots."
    )


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (
            (-10.0, -4.0, 1.0),
            "First day to plant B1: likely 4 days later (at worst 10 days later, at best 1 day earlier).",
        ),
        (
            (-9.4, -0.4, 0.0),
            "First day to plant B1: no clear change, but at worst 9 days later.",
        ),
        ((-3.0, 0.0, 3.0), "B1, by about 0.3 °C."),  # no days are lost or gained
    ],
)
def test_the_owner_reads_of_a_loss_that_is_likely_or_possible(days, said):
    lost = moved("B1", -0.3, Estimate(*days))
    facts = (Fact("what_if_cold", effect=lost),)
    ((_mark, _what, does, _who),) = table(
        [SimpleNamespace(**{**vars(AWAY), "beds": (lost,), "facts": facts})]
    ).rows
    assert does.replace("\u00a0", " ").endswith(said)


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("below_is_no_colder", "Outside the plots, no ground would get much colder."),
        (
            "below_is_not_known",
            "The plan does not know what this does outside the plots.",
        ),
    ],
)
def test_each_change_says_what_it_does_outside_the_plots(kind, said):
    gained = moved("A1", 1.1)
    facts = (Fact("what_if_cold", effect=gained), Fact(kind))
    ((_mark, _what, does, _who),) = table(
        [SimpleNamespace(**{**vars(AWAY), "beds": (gained,), "facts": facts})]
    ).rows
    assert does.endswith(said)


def test_days_that_a_change_takes_are_said_where_they_are_sure():
    lost = moved("B1", -0.9, Estimate(-12.0, -8.0, -3.0))
    said = " ".join(change_of_nights("No hedge", [lost], {"B1": "Lower"}, "metric"))
    assert said.endswith("Planting: 8 days later (3 to 12 days).")


def test_the_map_says_gain_and_loss_of_a_change_in_one_sentence_and_days_of_both():
    """Days of B1 that are not sure (0 to 9.4, likely .4) are lost at worst."""
    both = (
        moved("A1", 0.3),
        moved("A2", 1.1, Estimate(3.0, 16.0, 30.0)),
        moved("B1", -0.3, Estimate(-9.4, -0.4, 0.0)),
    )
    plots = {"A1": "Upper", "A2": "Upper", "B1": "Lower"}
    assert list(change_of_nights("No hedge", both, plots, "metric")) == [
        "No hedge: on still nights A1 and A2 in Upper would be warmer, and B1 in Lower colder.",
        "A2 gains most, about 1.1 °C.",
        "Planting: 16 days earlier (3 to 30 days).",
        "Bed B1 would be about 0.3 °C colder.",
        "Planting: no clear change, but at worst 9 days later.",
    ]


def test_the_map_counts_what_half_degrees_show_and_says_which_beds_they_are():
    """All three beds of Upper gain; of Lower B1 and B2 lose .3 and .25 °C, B3 .24 °C."""
    beds = (
        *(moved(bed, 0.5) for bed in ("A1", "A2", "A3")),
        *(moved("B1", -0.3), moved("B2", -0.25), moved("B3", -0.24)),
    )
    plots = {bed.bed: "Upper" if bed.bed[0] == "A" else "Lower" for bed in beds}
    lead, *_rest = change_of_nights("Gap", beds, plots, "metric")
    assert lead == (
        "Gap: on still nights all beds in Upper would be warmer, and B1 and B2 in Lower colder."
    )


@pytest.mark.parametrize("gained", [(), (moved("A1", 1.0, Estimate(2.0, 4.0, 8.0)),)])
def test_days_that_are_lost_are_said_where_no_bed_is_noticeably_colder(gained):
    """B1 is .2 °C colder: nothing in half degrees, but ten days are lost at worst."""
    lost = (
        moved("B1", -0.2, Estimate(-10.0, -1.0, 0.0)),
        moved("B2", -0.2, Estimate(-7.0, -1.0, 0.0)),
    )
    fact = Fact("what_if_cold", effect=gained[0]) if gained else None
    facts = (fact or Fact("what_if_cold_as_now"),)
    beds = (*gained, *lost)
    ((_mark, _what, does, _who),) = table(
        [SimpleNamespace(**{**vars(AWAY), "beds": beds, "facts": facts})]
    ).rows
    assert does.endswith(
        "First day to plant B1: no clear change, but at worst 10 days later."
    )
    assert lost_days(beds, "metric") == (
        "B1",
        "no clear change, but at worst 10 days later",
    )


def test_days_that_the_warmest_bed_loses_are_said_once():
    """Less cold by 1 °C behind a wall, but four days later in its shade."""
    beds = (moved("A1", 1.0, Estimate(-6.0, -4.0, -2.0)), moved("A2", 0.0))
    ((_mark, _what, does, _who),) = table(
        [
            SimpleNamespace(
                **{**vars(AWAY), "beds": beds, "facts": (Fact("x", effect=None),)}
            )
        ]
    ).rows
    assert does.count("First day to plant A1") == 1
    said = list(
        change_of_nights("Wall", beds, {"A1": "Upper", "A2": "Upper"}, "metric")
    )
    assert "Planting: 4 days later (2 to 6 days)." in said
    assert lost_days(beds, "metric") is None


def test_without_changes_nothing_is_asked():
    assert landowner._changes([], BEDS, "metric") == ()


@pytest.mark.parametrize("effects", [[GAP], [GAP, AWAY, BANK]])
def test_letters_stand_off_plots_and_off_each_other(effects):
    plan = PlanDrawing((0, 0, 100, 100), (114.0, 114.0))
    landowner.add_changes(plan, effects, [PLOT])
    svg = plan.drawing("A plan.").svg
    letters = {
        mark: Point(float(x), float(y))
        for x, y, mark in re.findall(
            r'<text x="([\d.]+)" y="([\d.]+)" font-size="4.6"[^>]*>([A-D])<', svg
        )
    }
    assert set(letters) == set("ABCD"[: len(effects)])
    west, south, east, north = PLOT.bounds
    (left, bottom), (right, top) = plan.at((west, south)), plan.at((east, north))
    on_paper = box(left, top, right, bottom)
    for mark, at in letters.items():
        # A box of 6 mm is in the middle of its letter's line, 1.6 mm above its foot.
        square = box(at.x - 3, at.y - 4.6, at.x + 3, at.y + 1.4)
        assert not square.intersects(on_paper)
        others = [other for key, other in letters.items() if key != mark]
        assert all(at.distance(other) >= 6 for other in others)


def test_two_changes_of_one_hedge_have_their_letters_at_other_parts_of_it():
    """The gap is 40 to 44 m east; the hedge ends at 20 and at 80, of 100 shown."""
    gap, away = landowner.places_of_changes([GAP, AWAY], box(0, 0, 100, 100))
    assert gap == pytest.approx((42.0, 63.0), abs=2.0)
    assert away[0] == pytest.approx(80.0)


def test_a_change_beyond_the_drawing_has_its_letter_at_the_nearest_edge():
    far = change("Far", box(500, 40, 510, 50), Fact("thing_taken_away", name="Wood"))
    ((east, north),) = landowner.places_of_changes([far], box(0, 0, 100, 100))
    assert east == pytest.approx(100)
    assert 40 <= north <= 50


def test_names_on_the_plan_are_drawn_over_the_rings_of_changes():
    plan = PlanDrawing((0, 0, 100, 80), (100.0, 80.0))
    plan.name(Point(42, 63), "Long Hedge")
    landowner.add_changes(plan, [GAP], [PLOT])
    drawn = plan.drawing("").svg
    assert drawn.count("Long Hedge") == drawn.count(">Long Hedge<")
    assert drawn.index("Long Hedge") > drawn.rindex("stroke-dasharray")
