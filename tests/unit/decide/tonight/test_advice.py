"""The evening's list by what stands there: tables worked by hand, and what must always hold.

Beds of 20 m take 22.5 m of cover. Light fabric is likely worth 1 °C on a clear calm night
(-0.5 at the least, 1.5 at the most), medium fabric 2.2 (1.1 to 3): `layers.cover`. What
stands is harmed at 0 °C at the screen, known exactly, and the air of a bed is known
exactly where its offset is: it is over that or not.
"""

from datetime import date, datetime
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_up_evening import (
    LEAF,
    ZONE,
    advice_for,
    bed,
    roll,
    round_of,
    stand_of,
    standing,
    verdicts,
)

from fieldmap.decide.tonight.advice import UsedCover
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Cover
from fieldmap.show.text.decide import tonight as words

FOUR = tuple(bed(f"A{at}") for at in (1, 2, 3, 4))


def tasks(advice):
    return [
        (task.number, [row.standing.bed for row in task.rows], task.kind, task.odds)
        for task in advice.tasks
    ]


# ------------------------------------------------------------------ bed by bed
def test_what_stands_is_covered_left_or_let_go_by_its_bed_and_limit():
    """-0.5 °C at the station, of every bed as well but A4, which is 3 °C colder.

    | bed | limit | bare | light fabric | so    |
    |-----|-------|------|--------------|-------|
    | A1  | 0     | -0.5 | 0.5 is over  | cover |
    | A2  | -1    | over |              | leave |
    | A3  | (root)| -0.5 | keeps        | leave |
    | A4  | 0     | -3.5 | -2.5: never  | lost  |
    """
    beds = (*FOUR[:3], bed("A4", (-3.0, -3.0, -3.0)))
    hardy, root = Estimate(-1.0, -1.0, -1.0), Estimate(-8.0, -8.0, -8.0)
    stand = stand_of(
        standing("A1"),
        standing("A2", limit_c=hardy),
        standing("A3", "root", limit_c=root, keeps="root"),
        standing("A4"),
    )
    found = advice_for(round_of(*beds, owned=[roll("light_fabric", 100)]), stand, -0.5)
    assert verdicts(found) == {
        "A1": "cover",
        "A2": "leave",
        "A3": "leave",
        "A4": "lost",
    }
    assert tasks(found) == [(1, ["A1"], "light_fabric", "likely")]
    assert found.signs == {"A1": "cover", "A2": "leave", "A3": "leave", "A4": "lost"}


def test_an_unplanted_bed_is_never_named():
    found = advice_for(
        round_of(*FOUR, owned=[roll("light_fabric", 900)]),
        stand_of(standing("A2"), standing("B9")),
        -0.5,
    )
    assert list(verdicts(found)) == ["A2"]
    said = "\n".join(words.lines(words.in_words(found, "Farm", "metric")))
    assert all(name not in said for name in ("A1", "A3", "A4", "B9"))


def test_the_walk_stops_at_the_last_metre():
    """60 m: two beds with their ends take 45; 12.5 m of the third take the last 15."""
    stand = stand_of(*(standing(f"A{at}") for at in (1, 2, 3, 4)))
    found = advice_for(round_of(*FOUR, owned=[roll("light_fabric", 60)]), stand, -0.5)
    assert verdicts(found) == {
        "A1": "cover",
        "A2": "cover",
        "A3": "cover",
        "A4": "short",
    }
    assert found.covers == (UsedCover("light_fabric", 60.0, 60.0),)
    assert [task.cover_m for task in found.tasks] == [45.0, 15.0]
    assert found.tasks[1].rows[0].part_m == (0.0, 12.5)
    assert found.signs == {"A1": "cover", "A2": "cover", "A3": "part", "A4": "lost"}


def test_the_crop_with_more_growth_is_served_before_the_nearer_one():
    stand = stand_of(standing("A1", weeks=3), standing("A2", weeks=4))
    found = advice_for(round_of(*FOUR, owned=[roll("light_fabric", 23)]), stand, -0.5)
    assert verdicts(found) == {"A1": "short", "A2": "cover"}


def test_neighbours_on_the_walk_with_one_crop_and_cover_are_one_number():
    stand = stand_of(
        standing("A1"), standing("A2"), standing("A3", "leaf"), standing("A4")
    )
    found = advice_for(round_of(*FOUR, owned=[roll("light_fabric", 100)]), stand, -0.5)
    assert tasks(found) == [
        (1, ["A1", "A2"], "light_fabric", "likely"),
        (2, ["A3"], "light_fabric", "likely"),
        (3, ["A4"], "light_fabric", "likely"),
    ]


def test_numbers_go_on_from_plot_to_plot():
    beds = (bed("A1"), bed("B1", plot="Field"))
    stand = stand_of(standing("A1"), standing("B1"))
    found = advice_for(round_of(*beds, owned=[roll("light_fabric", 100)]), stand, -0.5)
    assert [(plot.plot, len(plot.rows)) for plot in found.plots] == [
        ("Home", 1),
        ("Field", 1),
    ]
    assert [task.number for task in found.tasks] == [1, 2]


def test_a_wide_sheet_is_one_number_over_its_beds_whatever_stands_on_them():
    stand = stand_of(standing("A1"), standing("A2", "leaf"), standing("A3"))
    wide = Cover(kind="light_fabric", width_m=12.0, length_m=30.0)
    here = round_of(*FOUR, owned=[wide], paths_m=(0.6, 0.6, None, None))
    found = advice_for(here, stand, -0.5)
    assert tasks(found) == [(1, ["A1", "A2", "A3"], "light_fabric", "likely")]
    assert found.tasks[0].is_sheet
    assert found.covers == (UsedCover("light_fabric", 22.5, 30.0),)


def test_a_number_is_as_sure_as_the_least_sure_bed_under_its_sheet():
    """A1: -3.1 + 1.1 at the least is over -3. A2: -1.2 + 1.1 is not over 0, -1.2 + 2.2 is."""
    hardy = Estimate(-3.0, -3.0, -3.0)
    stand = stand_of(standing("A1", limit_c=hardy), standing("A2"))
    wide = Cover(kind="medium_fabric", width_m=12.0, length_m=30.0)
    beds = (bed("A1", (-3.1, -3.1, -3.1)), bed("A2", (-1.2, -1.2, -1.2)))
    for here in (beds, beds[::-1]):
        walk = round_of(*here, owned=[wide], paths_m=(0.6, None))
        (task,) = advice_for(walk, stand, 0.0).tasks
        by_bed = {row.standing.bed: row.piece.odds for row in task.rows}
        assert by_bed == {"A1": "sure", "A2": "likely"}
        assert task.odds == "likely"


def test_a_crop_that_may_have_no_cover_gets_none():
    here = round_of(
        *FOUR,
        owned=[roll("light_fabric", 100)],
        covers_of={"hut": (), "leaf": ("light_fabric",)},
    )
    found = advice_for(here, stand_of(standing("A1"), standing("A2", "leaf")), -0.5)
    assert verdicts(found) == {"A1": "lost", "A2": "cover"}


def test_a_part_of_a_bed_takes_the_cover_of_its_length():
    stand = stand_of(
        standing("A1", part_m=(5.0, 12.0)), standing("A1", "leaf", part_m=(12.0, 20.0))
    )
    found = advice_for(round_of(*FOUR, owned=[roll("light_fabric", 100)]), stand, -0.5)
    assert [task.cover_m for task in found.tasks] == [9.5, 10.5]
    assert [row.part_m for row in found.rows] == [(5.0, 12.0), (12.0, 20.0)]
    said = words.by_plot(found, "metric")[0].tasks
    assert said[0].what == "Hut, A1 (5 to 12 m from the end near the gate)"
    assert found.signs == {"A1": "cover"}


def test_metres_are_said_once_in_a_sentence_to_be_from_the_gate_end():
    """Hut on 0 to 5 and 12 to 20 m of A1 and all of A3; leaf on 5 to 12 of A1, half of A2.

    Sentence after sentence says it anew; parts of a crop that touch are one.
    """
    stand = stand_of(
        standing("A1", part_m=(0.0, 5.0)),
        standing("A1", part_m=(12.0, 16.0)),
        standing("A1", part_m=(16.0, 20.0)),
        standing("A3"),
        standing("A1", "leaf", part_m=(5.0, 12.0)),
        standing("A2", "leaf", part_m=(0.0, 10.0)),
        standing("A4", "root", limit_c=HARDY, part_m=(0.0, 2.5)),
    )
    (plot,) = said(advice_for(round_of(*FOUR), stand, -3.0)).plots
    assert plot.rest == (
        "It is too cold for these, and none of your covers helps:",
        "– Hut: A1 (in 2 parts: 0 to 5 m and 12 to 20 m from the end near the gate) and A3",
        "– Leaf: parts of A1 and A2 (touch a bed on the map to see which part)",
        "These need no cover:",
        "– Root: A4 (only the 2.5 m nearest the gate)",
    )


def test_what_lies_there_is_closed_and_takes_less_time():
    """Closed by two: (1 + 20 / 20) / 2 = 1 minute; laid: 3 + 20 / 8 = 5.5.

    To the gate at 0 from A1, 10 m away, and back: 20 m, 0.4 minutes.
    """
    here = round_of(*FOUR, owned=[roll("light_fabric", 100)])
    closed = advice_for(here, stand_of(standing("A1", cover="light_fabric")), -0.5)
    assert [row.is_closed for row in closed.rows] == [True]
    assert closed.minutes == 5  # 1.4
    laid = advice_for(here, stand_of(standing("A1")), -0.5)
    assert laid.minutes == 10  # 5.9
    assert closed.begin_by == datetime(2026, 5, 6, 18, 55, tzinfo=ZONE)
    # A cover of another kind that lies there is not what is closed.
    other = advice_for(here, stand_of(standing("A1", cover="slitted_film")), -0.5)
    assert [row.is_closed for row in other.rows] == [False]
    # Past four beds, 20 m from each to the next, and 70 m back: 140 m are 2.8 minutes.
    all_four = stand_of(*(standing(f"A{at}") for at in (1, 2, 3, 4)))
    assert advice_for(here, all_four, -0.5).minutes == 25  # 22 + 2.8


def test_inside_a_tunnel_its_film_counts_and_fabric_alone_goes_in():
    """Clear film is likely worth .5 °C on a still night, at the least nothing; else .2.

    -1.4 °C outside are -0.9 under it, and 0.1 with light fabric inside.
    """
    owned = [roll("clear_film", 100), roll("light_fabric", 23)]
    stand = stand_of(standing("T/1"), standing("T/2"))
    here = round_of(bed("T/1"), bed("T/2"), owned=owned, inside=("T/1", "T/2"))
    found = advice_for(here, stand, -1.4)
    assert tasks(found) == [(1, ["T/1"], "light_fabric", "likely")]
    assert verdicts(found) == {"T/1": "cover", "T/2": "short"}
    assert [tuple(row.bare) for row in found.rows] == [(-1.4, -0.9)] * 2
    cloudy = advice_for(here, stand, -1.4, sky="cloudy")
    assert [tuple(row.bare) for row in cloudy.rows] == [(-1.4, -1.2)] * 2


def test_air_of_a_plot_is_that_of_its_planted_beds():
    beds = (bed("A1", (-2.0, -1.0, 0.0)), bed("A2", (-1.0, 0.5, 1.0)), bed("A3"))
    found = advice_for(round_of(*beds), stand_of(standing("A1"), standing("A2")), 1.0)
    (plot,) = found.plots
    assert (plot.worst_c, plot.likely_c) == (-1.0, (0.0, 1.5))


def test_a_planted_bed_of_unknown_ground_is_named_and_not_judged():
    beds = (bed("A1", (np.nan,) * 3), bed("A2"), bed("A3", (np.nan,) * 3))
    found = advice_for(round_of(*beds), stand_of(standing("A1"), standing("A2")), 1.0)
    assert found.of_beds == (Fact("tonight_unknown_beds", beds=["A1"]),)
    assert verdicts(found) == {"A2": "leave"}


# ------------------------------------------------------------------ hours
def test_hours_are_known_with_the_temperature_at_dusk_alone():
    """Nine hours from 20:00, 4 °C at 22:00, -4 °C likely, -5 at worst; harmed at 0 °C.

    Likely 2 + 7 · (4 / 8)² = 3.75 h: 23:45, midnight; at worst 2 + 7 · (4 / 9)² = 3.38:
    23:23, half past. The middle of the night is 0:30.
    """
    here = round_of(bed("A1", (-1.0, 0.0, 0.0)), bed("A2", (4.5, 4.5, 4.5)))
    stand = stand_of(standing("A1"), standing("A2"))
    assert advice_for(here, stand, -4.0).harmed == ()
    (one,) = advice_for(here, stand, -4.0, dusk_c=4.0).harmed
    assert [row.standing.bed for row in one.rows] == ["A1"]
    assert one.first == datetime(2026, 5, 6, 23, 30, tzinfo=ZONE)
    assert one.last == datetime(2026, 5, 7, 0, 0, tzinfo=ZONE)
    # Under cloud, or in wind, air follows no such root.
    assert advice_for(here, stand, -4.0, sky="cloudy", dusk_c=4.0).harmed == ()
    assert advice_for(here, stand, -4.0, wind="windy", dusk_c=4.0).harmed == ()
    # Later than the middle of the night is not early: -1 °C: 2 + 7 · (4 / 5)² = 6.5 h.
    late = advice_for(round_of(bed("A1")), stand_of(standing("A1")), -1.0, dusk_c=4.0)
    assert late.harmed == ()
    # -2.7 °C: 2 + 7 · (4 / 6.7)² = 4.50 h, 0:30: the middle itself still is.
    (half,) = advice_for(
        round_of(bed("A1")), stand_of(standing("A1")), -2.7, dusk_c=4.0
    ).harmed
    assert half.first == datetime(2026, 5, 7, 0, 30, tzinfo=ZONE)
    roots = stand_of(standing("A1", keeps="root"))
    assert advice_for(here, roots, -4.0, dusk_c=4.0).harmed == ()


def test_dusk_of_zero_degrees_is_known():
    found = advice_for(round_of(bed("A1")), stand_of(standing("A1")), -4.0, dusk_c=0.0)
    assert found.harmed[0].first == datetime(2026, 5, 6, 22, 0, tzinfo=ZONE)


# ------------------------------------------------------------------ wind
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
def test_in_wind_no_bed_is_named_and_what_stands_is_harmed_at_its_limit(low_c, harmed):
    here = round_of(*FOUR, owned=[roll("light_fabric", 100)], reference_c=-0.5)
    stand = stand_of(
        standing("A1", "leaf", limit_c=LEAF), standing("A2"), standing("A3", "leaf")
    )
    stand = stand._replace(standing=stand.standing[:2])
    found = advice_for(here, stand, low_c, wind="windy")
    assert (found.plots, found.tasks, found.covers[0].used_m) == ((), (), 0.0)
    air, harm = found.of_beds
    assert air["air_c"] == pytest.approx(low_c - 0.5)
    assert harm == (
        Fact("tonight_harmed", crops=harmed) if harmed else Fact("tonight_no_harm")
    )
    said = "\n".join(words.lines(words.in_words(found, "Farm", "metric")))
    assert "A1" not in said
    assert "afternoon" not in said
    assert said.startswith("Farm, 6 May 2026")
    assert "Cover nothing" in said
    assert said.splitlines()[-1].startswith("Tomorrow, untie")


# ------------------------------------------------------------------ what must always hold
LOWS_C = (-6.0, -2.0, 0.0, 3.0, 5.0)
# A small farm: a leaf harmed at 2 °C, a hut at 0, what stands -4, and roots.
HARDY = Estimate(-4.0, -4.0, -4.0)
PLANTED = stand_of(
    standing("A1", "leaf", weeks=8, limit_c=LEAF),
    standing("A2", weeks=6),
    standing("A3", weeks=6, limit_c=HARDY),
    standing("A4", "root", limit_c=HARDY, keeps="root"),
)
OWNED = [roll("light_fabric", 30.0), roll("medium_fabric", 25.0)]
RANGED = tuple(bed(f"A{at}", (-1.5, -0.5, 0.5)) for at in (1, 2, 3, 4))


def test_every_low_has_its_own_list():
    here = round_of(*RANGED, owned=OWNED)
    for wind in ("calm", "windy"):
        lists = [
            words.lines(
                words.in_words(
                    advice_for(here, PLANTED, low_c, wind=wind), "F", "metric"
                )
            )[1:]
            for low_c in LOWS_C
        ]
        texts = ["\n".join(each) for each in lists]
        assert len(set(texts)) == len(LOWS_C)
    coldest, warmest = advice_for(here, PLANTED, -6.0), advice_for(here, PLANTED, 5.0)
    # At 5 °C a leaf on A1 is at 3.5 at worst, and surely unharmed over 4.
    assert verdicts(warmest) == {
        "A1": "odds",
        "A2": "leave",
        "A3": "leave",
        "A4": "leave",
    }
    assert words.answer(advice_for(here, PLANTED, 6.0)) == ("Nothing needs a cover.",)
    assert verdicts(coldest) == {
        "A1": "lost",
        "A2": "lost",
        "A3": "cover",
        "A4": "lost",
    }


kinds = st.sampled_from(("light_fabric", "medium_fabric", "clear_film", "shade_40"))
covers = st.builds(
    lambda kind, width_m, length_m, may_cut: Cover(
        kind=kind, width_m=width_m, length_m=length_m, may_cut=may_cut
    ),
    kinds,
    st.sampled_from((1.0, 2.2, 6.0)),
    st.floats(1.0, 80.0),
    st.booleans(),
)


@given(
    st.lists(covers, max_size=5),
    st.sampled_from(LOWS_C),
    st.sampled_from(("clear", "cloudy")),
    st.lists(st.sampled_from((0.6, None)), min_size=4, max_size=4),
)
def test_no_more_is_laid_than_is_owned_and_the_walk_goes_away_from_the_gate(
    owned, low_c, sky, paths_m
):
    here = round_of(*RANGED, owned=owned, paths_m=tuple(paths_m))
    found = advice_for(here, PLANTED, low_c, sky=sky)
    for use in found.covers:
        assert use.used_m <= use.owned_m + 1e-6
    whole = [cover for cover in owned if not cover.may_cut]
    if len(whole) == len(owned):
        # A pair takes a piece of each of its two.
        pieces = sum(2 if t.kind == "fabric_under_film" else 1 for t in _singles(found))
        assert pieces <= len(owned)
    ways_m = [task.rows[0].stop.gate_m for task in found.tasks]
    assert ways_m == sorted(ways_m)
    assert [task.number for task in found.tasks] == list(range(1, len(ways_m) + 1))
    assert {row.standing.bed for row in found.rows} == {"A1", "A2", "A3", "A4"}
    keep = {row.verdict for row in found.rows if row.standing.keeps}
    assert keep <= {"leave", "lost"}


def _singles(advice):
    """Pieces that are laid: each bed has its own unless they are under one sheet."""
    for task in advice.tasks:
        yield from [task] if task.is_sheet else [task] * len(task.rows)


# ------------------------------------------------------------------ in words
def said(advice):
    return words.in_words(advice, "Farm", "metric")


def test_the_list_says_what_to_do_by_when_and_with_what():
    stand = stand_of(*(standing(f"A{at}") for at in (1, 2, 3, 4)))
    here = round_of(*FOUR, owned=[roll("light_fabric", 60)])
    found = said(advice_for(here, stand, -0.5))
    assert found.heading == "Farm, 6 May 2026: −0.5 °C at the station, clear and calm."
    assert found.answer == (
        "Cover 3 beds before dark.",
        "The covers are likely warm enough, but this is not certain.",
        "1 more bed needs a cover, but you have none left.",
    )
    # 3 · 3 + (20 + 20 + 12.5) / 8 = 15.6; 10 + 40 + 50 m of way are 2.
    assert found.first[:2] == (
        "Two people need about 20 minutes. Begin by 18:40, and be done by 19:00. That is an hour before sunset, while the ground is still warm.",
        "Take with you: 60 m of light fabric (you own 60 m).",
    )
    (plot,) = found.plots
    assert [task.line for task in plot.tasks] == [
        "Hut, A1 and A2: light fabric, 45 m; likely warm enough, but this is not certain",
        "Hut, A3 (only the 12.5 m nearest the gate): light fabric, 15 m; likely warm enough, but this is not certain",
    ]
    assert plot.rest == (
        "You have no cover left that is large enough and suits these crops:",
        "– Hut: A4",
    )
    assert any("Never spray water on covers" in each for each in found.advice)
    assert (
        found.last
        == "Tomorrow, if the sun shines, take fabric off cool-season crops such as lettuce before the air outside reaches 15 °C. Where fabric lies over other crops, look under it too. Take the fabric off before the air under it gets hot."
    )
    assert words.lines(found)[-1] == found.last


def test_only_what_is_ripe_is_to_be_picked():
    """Of four beds that frost takes, one is ripe; and one ripe bed is left alone."""
    stand = stand_of(
        standing("A1", "leaf", limit_c=LEAF),
        standing("A2", "leaf", limit_c=LEAF, is_ripe=True),
        standing("A3"),
        standing("A4", "root", limit_c=HARDY, keeps="root", is_ripe=True),
    )
    (still,) = said(advice_for(round_of(*FOUR), stand, -3.0)).plots
    assert still.rest[:5] == (
        "It is too cold for these, and none of your covers helps:",
        "– Leaf: A1 and A2",
        "– Hut: A3",
        "Before dark, pick what is ready or almost ready here:",
        "– Leaf: A2",
    )
    assert still.rest[5] == "These need no cover:"
    windy = said(advice_for(round_of(*FOUR), stand, -3.0, wind="windy")).first
    assert "Before dark, pick what is ready or almost ready: leaf." in windy
    nothing_ripe = stand._replace(standing=stand.standing[:1])
    for wind in ("calm", "windy"):
        found = said(advice_for(round_of(*FOUR), nothing_ripe, -3.0, wind=wind))
        assert "pick" not in "\n".join(words.lines(found)).lower()


def test_nobody_digs_potatoes_in_a_hurry_because_frost_comes():
    """Frost kills their leaves, soil keeps the tubers (common practice, no source)."""
    stand = stand_of(
        standing("A1", "potato", limit_c=LEAF, is_ripe=True),
        standing("A2", "tomato", limit_c=LEAF, is_ripe=True),
    )
    bare = round_of(*FOUR, covers_of={"potato": (), "tomato": ()})
    (still,) = said(advice_for(bare, stand, -3.0)).plots
    at = still.rest.index("Before dark, pick what is ready or almost ready here:")
    assert still.rest[at + 1 :] == ("– Tomatoes: A2",)
    windy = said(advice_for(bare, stand, -3.0, wind="windy")).first
    assert "Before dark, pick what is ready or almost ready: tomatoes." in windy
    only = stand._replace(standing=stand.standing[:1])
    for wind in ("calm", "windy"):
        found = said(advice_for(bare, only, -3.0, wind=wind))
        assert "pick what is ready" not in "\n".join(words.lines(found))


def test_no_night_harms_what_is_not_up_yet():
    owned = [roll("light_fabric", 60)]
    stand = stand_of(standing("A1", "leaf", limit_c=LEAF, keeps="seed"))
    still = advice_for(round_of(*FOUR, owned=owned), stand, -6.0)
    assert (still.tasks, verdicts(still)) == ((), {"A1": "leave"})
    assert said(still).plots[0].rest == (
        "These need no cover:",
        "– Leaf (not up yet): A1",
    )
    windy = advice_for(round_of(*FOUR, owned=owned), stand, -6.0, wind="windy")
    assert windy.of_beds[1:] == (Fact("tonight_no_harm"),)


@pytest.mark.parametrize("keeps", ["root", "hardened"])
def test_wind_harms_what_keeps_by_itself_at_its_own_limit(keeps):
    """Roots and hardened leaves want no cover, but -8 °C takes what is harmed at -8."""
    hard = Estimate(-8.0, -8.0, -8.0)
    stand = stand_of(standing("A1", "root", limit_c=hard, keeps=keeps))
    for low_c, fact in (
        (-7.9, Fact("tonight_no_harm")),
        (-8.0, Fact("tonight_harmed", crops=["root"])),
    ):
        windy = advice_for(round_of(*FOUR), stand, low_c, wind="windy")
        assert windy.of_beds[1:] == (fact,)


def test_hours_are_folded_behind_the_list_and_only_where_they_are_known():
    here = round_of(bed("A1", (-1.0, 0.0, 0.0)))
    stand = stand_of(standing("A1"))
    assert said(advice_for(here, stand, -4.0)).hours == ()
    found = said(advice_for(here, stand, -4.0, dusk_c=4.0))
    assert found.hours == ("Between about 23:30 and midnight: hut in A1.",)
    assert "if the station has 4 °C two hours after sunset" in found.hours_note
    known = said(advice_for(round_of(bed("A1")), stand, -4.0, dusk_c=4.0))
    assert known.hours == ("At about midnight: hut in A1.",)


def test_what_nobody_knows_and_what_does_not_stand_is_said():
    here = round_of(*FOUR)
    nothing = said(advice_for(here, stand_of(), 0.0))
    assert nothing.answer == ("Nothing grows in the beds that evening.",)
    unknown = said(advice_for(here, stand_of()._replace(is_known=False), 0.0))
    assert unknown.answer[0] == "The plan does not know what grows in the beds."
    assert "happened.csv" in unknown.answer[1]
    assert nothing.last == "Tomorrow there is nothing to open."


def test_the_log_is_named_with_its_last_day():
    stand = stand_of(standing("A1"))._replace(log_until=date(2026, 5, 1))
    first = said(advice_for(round_of(*FOUR), stand, 3.0)).first
    assert any("Up to 1 May, this list uses your notes" in each for each in first)
    plan = said(advice_for(round_of(*FOUR), stand_of(standing("A1")), 3.0)).first
    assert any("uses the crops in the plan" in each for each in plan)


def test_doors_of_tunnels_are_closed_where_anything_is_at_risk():
    stand = stand_of(standing("A1"))
    here = round_of(*FOUR, has_tunnels=True)
    cold, warm = said(advice_for(here, stand, -0.5)), said(advice_for(here, stand, 3.0))
    assert cold.advice == ("Close the doors and sides of walk-in tunnels too.",)
    assert cold.last.startswith(
        "Tomorrow, check tunnels and film without slits as soon as the sun reaches them."
    )
    assert (warm.advice, warm.last) == ((), "Tomorrow there is nothing to open.")


@pytest.mark.parametrize(
    ("kinds_owned", "last"),
    [
        (
            ["light_fabric"],
            "take fabric off cool-season crops such as lettuce before the air outside reaches 15 °C",
        ),
        (
            ["clear_film"],
            "Open them before the air outside reaches 8 °C, and sooner if it gets warm inside",
        ),
        (
            ["light_fabric", "clear_film"],
            "such as lettuce before the air outside reaches 15 °C. Where fabric lies over other crops",
        ),
        # 90 °F, which a trade page says of the air outside perforated film; under it is safer.
        (
            ["slitted_film"],
            "Slitted film lets heat out. Take it off before the air under it reaches 32 °C.",
        ),
    ],
)
def test_tomorrow_says_when_to_open_what_was_laid(kinds_owned, last):
    owned = [roll(kind, 25.0) for kind in kinds_owned]
    stand = stand_of(standing("A1"), standing("A2"))
    found = said(advice_for(round_of(*FOUR, owned=owned), stand, -0.4))
    assert last in found.last


def test_us_units_have_no_celsius_and_no_metres():
    stand = stand_of(standing("A1"))
    here = round_of(*FOUR, owned=[roll("light_fabric", 30.0)])
    found = words.in_words(advice_for(here, stand, -0.5), "Farm", "us")
    text = "\n".join(words.lines(found))
    assert "°C" not in text
    assert "74 ft of light fabric (you own 98 ft)" in text  # 22.5 m and 30 m


def test_parts_of_a_bed_that_touch_are_said_as_one():
    """Sowings of 6 m side by side, and one 6 m farther on."""

    def part(first_m, last_m, bed="B1"):
        return SimpleNamespace(
            part_m=(first_m, last_m), standing=SimpleNamespace(bed=bed)
        )

    rows = [part(12.0, 18.0), part(0.0, 6.0), part(6.0, 12.0), part(24.0, 30.0)]
    rows += [part(18.0, 24.0, "B2"), SimpleNamespace(part_m=None)]
    assert words.stretches(rows) == [
        ("B1", 0.0, 18.0),
        ("B1", 24.0, 30.0),
        ("B2", 18.0, 24.0),
    ]
