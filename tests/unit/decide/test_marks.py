"""What the grower saw: read from outlines, compared, reported, and put into dates."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from made_up import (
    analysed_in_the_dark,
    analysis,
    means,
    plane,
    plot_box,
    site,
)
from scipy import stats

from fieldmap.analyse.cold_air.seen import Offsets, seen_c, taken_colder
from fieldmap.decide import marks
from fieldmap.decide.calendar import soil_warming
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.site import (
    DRIES_FIRST,
    PUDDLES,
    SNOW_LEAVES_FIRST,
    WHITE_AT_DAWN,
    Mark,
)
from fieldmap.show.text.sentence import say

GROUND = plane()
HOME = {"Home": plot_box(40, 40, 160, 160)}
WEST, EAST = plot_box(40, 40, 80, 160), plot_box(120, 40, 160, 160)
WEST_BED = Bed("A1", "Home", plot_box(50, 80, 70, 82), 20.0, 2.0, 90.0)
EAST_BED = Bed("A2", "Home", plot_box(130, 80, 150, 82), 20.0, 2.0, 90.0)
BEDS = [WEST_BED, EAST_BED]


def seen(*marks_, **facts):
    there = site(GROUND, HOME)
    plots = there.plots.assign(**{name: [value] for name, value in facts.items()})
    marked = tuple(
        Mark(str(at), what, shape) for at, (what, shape) in enumerate(marks_)
    )
    return replace(there, plots=plots, marks=marked)


def moved_by(there, offset_c):
    return seen_c(there.marks, there.plots.geometry, offset_c)


def compared(there, known):
    plots = list(there.plots.geometry)
    return marks.compare(there.marks, known, plots, there.spring_month)


def by_east(west, east):
    grid = np.full((200, 200), float(west))
    grid[:, 100:] = east
    return grid


# ------------------------------------------------------------------ reading
def says(sentence, *parts):
    for part in parts:
        assert part in sentence


def test_marks_are_read_whatever_their_capitals(site_folder):
    shapes = [site_folder.box(260, 280, 280, 300), site_folder.box(300, 280, 320, 300)]
    table = {"name": ["Dip", None], "seen": ["White  at Dawn", "puddles in march"]}
    site_folder.outlines("marks.geojson", table, shapes)
    found = site_folder.read().marks
    assert [(mark.name, mark.seen) for mark in found] == [
        ("Dip", WHITE_AT_DAWN),
        ("2", PUDDLES),
    ]
    assert found[0].outline.area == pytest.approx(400, rel=1e-4)


def test_no_file_of_marks_is_no_fault_unless_one_is_named(site_folder):
    assert site_folder.read().marks == ()
    site_folder.toml('name = "Hill Farm"\n[files]\nmarks = "seen.geojson"\n')
    says(site_folder.problem(), "seen.geojson", "missing")


@pytest.mark.parametrize(
    ("what", "parts"),
    [
        ("white in the evening", ("'Dip'", "'white in the evening'", "dries first")),
        (None, ("'Dip'", "does not say what was seen")),
    ],
)
def test_what_was_seen_must_be_one_of_the_four(site_folder, what, parts):
    shape = site_folder.box(260, 280, 280, 300)
    site_folder.outlines("marks.geojson", {"name": ["Dip"], "seen": [what]}, [shape])
    says(site_folder.problem(), "marks.geojson", *parts)


def test_a_mark_is_an_area_on_a_plot(site_folder):
    shape = site_folder.box(260, 280, 280, 300)
    table = {"name": ["Dip"], "seen": ["dries first"]}
    site_folder.outlines("marks.geojson", table, [shape.centroid])
    says(site_folder.problem(), "'Dip'", "Polygon")
    off = site_folder.box(400, 280, 420, 300)
    site_folder.outlines("marks.geojson", table, [off])
    says(site_folder.problem(), "'Dip'", "50 m away from the nearest plot")


def test_hostile_names_stay_text_and_endless_ones_are_refused(site_folder):
    shape = site_folder.box(260, 280, 280, 300)
    table = {"name": ["x" * 10_000], "seen": ["dries first"]}
    site_folder.outlines("marks.geojson", table, [shape])
    assert len(site_folder.problem()) < 500


# ------------------------------------------------------------------ weighing
def test_white_ground_gets_colder_the_less_it_was_thought_to_be(tmp_path):
    offset_c = GROUND.with_values(
        np.stack([by_east(0.5, -2.0) + part for part in (-0.5, 0.0, 0.5)])
    )
    there = seen((WHITE_AT_DAWN, WEST), (WHITE_AT_DAWN, EAST))
    moved_c = moved_by(there, offset_c)
    assert np.all(moved_c <= 0)
    assert np.all(moved_c[:, 85:115] == 0)
    assert moved_c[100, 60] < 2 * moved_c[100, 140] < 0
    # Against the rest of the plots, which lie at the east's -2 or the west's 0.5.
    assert np.all(moved_c[:, :40] == 0)


def test_the_offset_moves_as_bayes_rule_says():
    offset_c = GROUND.with_values(
        np.stack([np.full((200, 200), part) for part in (-1.0, 0.0, 1.0)])
    )
    moved_c = moved_by(seen((WHITE_AT_DAWN, WEST)), offset_c)
    # The place lies on the middle: a cut normal law has its mean at .798 of a spread
    # either side, four parts of five below; eight tenths of it lie in 2 x 1.2816.
    spread = 2.0 / (2 * stats.norm.ppf(0.9))
    expected = -(0.8 - 0.2) * np.sqrt(2 / np.pi) * spread
    assert moved_c[100, 60] == pytest.approx(expected, rel=1e-3)


def test_nights_of_white_ground_are_colder_in_every_answer_and_nowhere_else():
    there = site(plane(north=0.05), HOME)
    plain = analysed_in_the_dark(there)
    marked = replace(there, marks=(Mark("Dip", WHITE_AT_DAWN, WEST),))
    known = analysed_in_the_dark(marked)
    apart = known.cold_air.answers_c.values - plain.cold_air.answers_c.values
    row, col = known.terrain.elevation_m.cell_of(500060.0, 5000100.0)
    here = apart[:, row, col]
    assert np.all(here < -0.1)
    np.testing.assert_allclose(here, known.cold_air.seen_c.values[row, col])
    row, col = known.terrain.elevation_m.cell_of(500140.0, 5000100.0)
    np.testing.assert_array_equal(apart[:, row, col], 0.0)


def test_marks_over_all_of_the_plots_move_nothing_and_say_so():
    known = analysis(GROUND, offset_c=by_east(0.5, -0.5))
    there = seen((WHITE_AT_DAWN, HOME["Home"]), (WHITE_AT_DAWN, WEST))
    assert not moved_by(there, known.cold_air.offset_c).any()
    for comparison in compared(there, known):
        assert comparison.answer == "unclear"
        assert "nothing to compare" in say(comparison.fact, "metric")
    dry = seen((SNOW_LEAVES_FIRST, HOME["Home"]))
    assert not ground_of(dry, known).seen_days.any()


def test_a_mark_in_two_pieces_counts_in_both():
    both = shapely.union(WEST, EAST)
    moved_c = moved_by(seen((WHITE_AT_DAWN, both)), analysis(GROUND).cold_air.offset_c)
    assert moved_c[100, 60] == moved_c[100, 140] < 0
    assert moved_c[100, 100] == 0


def test_what_is_taken_colder_is_reported_as_far_as_the_limit_lets_it_be(tmp_path):
    answers_c = GROUND.with_values(np.full((3, 200, 200), -3.9))
    air = Offsets(GROUND, answers_c, 1, answers_c)
    moved = taken_colder(air, np.full((200, 200), -0.5), limited=True)
    # Unless thermometers hang there, offsets end at -4 °C (DEVELOPERS.md).
    assert moved.offset_c.values.max() == moved.answers_c.values.max() == -4.0


# ------------------------------------------------------------------ telling
@pytest.mark.parametrize(
    ("west", "east", "answer"),
    [(-1.0, 0.0, "agrees"), (0.5, 0.0, "disagrees"), (0.1, 0.0, "unclear")],
)
def test_a_white_mark_is_held_against_the_computed_cold(west, east, answer):
    known = analysis(GROUND, offset_c=by_east(west, east))
    (comparison,) = compared(seen((WHITE_AT_DAWN, WEST)), known)
    assert comparison.answer == answer


@pytest.mark.parametrize(
    ("what", "west", "east", "answer"),
    [
        (PUDDLES, 11.0, 7.0, "agrees"),
        (PUDDLES, 7.0, 11.0, "disagrees"),
        (DRIES_FIRST, 7.0, 11.0, "agrees"),
        (DRIES_FIRST, 11.0, 7.0, "disagrees"),
        (PUDDLES, 7.5, 7.0, "unclear"),
    ],
)
def test_wet_and_dry_marks_are_held_against_the_shape_of_the_ground(
    what, west, east, answer
):
    wetness = GROUND.with_values(by_east(west, east))
    known = replace(analysis(GROUND), wetness_index=wetness)
    (comparison,) = compared(seen((what, WEST)), known)
    assert comparison.answer == answer
    assert say(comparison.fact, "metric").startswith("0: you saw “")


def test_a_snow_mark_is_held_against_the_sun_of_early_spring():
    known = analysis(GROUND, sun=by_east(12.0, 10.0))
    answers = [
        compared(seen((SNOW_LEAVES_FIRST, side)), known)[0].answer
        for side in (WEST, EAST)
    ]
    assert answers == ["agrees", "disagrees"]


# ------------------------------------------------------------------ soil
def wet_in_march(there):
    return soil_warming.wet_in_march(there.plots, there.seen, BEDS)


def ground_of(there, known):
    return soil_warming.of_beds(
        there.plots, there.seen, there.season, means(there, known, BEDS), BEDS
    )


def test_a_bed_in_a_puddle_is_wet_and_one_that_dries_first_is_not():
    there = seen((PUDDLES, WEST), wet_in_march=None)
    assert wet_in_march(there).tolist() == [True, False]
    there = seen((DRIES_FIRST, WEST), wet_in_march=True)
    assert wet_in_march(there).tolist() == [False, True]


def test_half_a_bed_in_a_mark_is_in_it_and_less_is_not():
    half, less = plot_box(40, 40, 60.1, 160), plot_box(40, 40, 59.9, 160)
    assert wet_in_march(seen((PUDDLES, half)))[0]
    assert not wet_in_march(seen((PUDDLES, less)))[0]


def test_late_soil_is_reported_as_late_whatever_was_seen_first():
    assert "10 days later" in say(soil_warming.reason(10.0, 2.4), "metric")
    assert "first" in say(soil_warming.reason(0.0, 2.4), "metric")
    assert soil_warming.reason(0.0, 0.2) is None


def test_ground_that_dries_first_is_not_counted_twice():
    there = seen((DRIES_FIRST, WEST), wet_in_march=True)
    ground = ground_of(there, analysis(GROUND))
    assert ground.lag_days.tolist() == [0.0, soil_warming.WET_DAYS]
    assert ground.seen_days.tolist() == [0.0, 0.0]
    there = seen((DRIES_FIRST, WEST))
    ground = ground_of(there, analysis(GROUND))
    assert ground.seen_days[0] > 0 == ground.seen_days[1]


def test_soil_comes_earlier_where_snow_leaves_first_by_the_cut_law():
    there = seen((SNOW_LEAVES_FIRST, WEST))
    ground = ground_of(there, analysis(GROUND))
    # Both beds are alike, so the bed lies on the middle (see above).
    expected = (0.8 - 0.2) * np.sqrt(2 / np.pi) * soil_warming.SPREAD_DAYS
    assert ground.seen_days.tolist() == pytest.approx([expected, 0.0])
    assert ground.lag_days.tolist() == [0.0, 0.0]
