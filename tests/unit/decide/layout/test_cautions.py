"""Cautions stand on the beds that they are about and on no others."""

import pytest
from made_up import beds_in, plot_box, say_all, surroundings
from shapely import LineString

from fieldmap.decide.layout import cautions
from fieldmap.show.text.language import language, spoken

# Beds of 0.75 m with paths of 0.45 m, counted from the north.
BEDS = beds_in(plot_box(50, 50, 150, 80), setback_m=0.0, headland_m=0.0)


def line_over(bed):
    """An overhead line along the middle of a bed."""
    west, _, east, _ = bed.outline.bounds
    north = bed.outline.centroid.y
    return LineString([(west, north), (east, north)])


def hint(near):
    flags = [bed.name in near for bed in BEDS]
    return say_all(cautions.of_beds(BEDS, flags, [False] * len(BEDS)))


def test_beds_within_9_m_of_an_overhead_line_are_near_it():
    around = surroundings(("overhead line", line_over(BEDS[0]), {}))
    near = cautions.near_overhead_lines(around, BEDS)
    # From the middle of A1 to the edge of A(n + 1) it is 1.2 n - 0.375 m: 7 are nearer.
    assert near == [True] * 8 + [False] * (len(BEDS) - 8)


def test_nothing_else_that_stands_around_is_an_overhead_line():
    around = surroundings(("hedge", line_over(BEDS[0]), {}))
    assert not any(cautions.near_overhead_lines(around, BEDS))


@pytest.mark.parametrize(
    ("near", "begins"),
    [
        (["A1", "A23"], "Beds A1 and A23 lie under an overhead power line"),
        (["A3", "A1", "A2", "A23"], "Beds A1 to A3 and A23 lie under"),
        (["A7"], "Bed A7 lies under an overhead power line or less than 9 m from"),
    ],
    ids=["a gap", "a run and a gap", "one"],
)
def test_the_hint_names_the_beds_near_an_overhead_line_and_no_others(near, begins):
    (said,) = hint(near)
    assert said.startswith(begins)


def test_the_distance_from_a_line_is_said_in_the_units_of_the_site():
    """9 m are 29.5 ft."""
    of_bed = cautions.of_beds(BEDS[:1], [True], [False])
    (said,) = say_all(tuple(of_bed), "us")
    assert "or less than 30 ft from one." in said.replace("\u00a0", " ")


def test_the_hint_can_be_read_in_spanish():
    with spoken(language("es", "ES")):
        (said,) = hint(["A1", "A23"])
    assert said.startswith("Las camas A1 y A23 están bajo una línea eléctrica aérea")


def test_each_wet_plot_is_named_once():
    wet = [True, True] + [False] * (len(BEDS) - 2)
    (said,) = say_all(cautions.of_beds(BEDS, [False] * len(BEDS), wet))
    assert said.startswith("Wet in March: Home. ")


def test_a_bed_shows_its_cautions_first():
    both, none = cautions.of_each_bed([True, False], [True, False], [False, False])
    lines, wet = say_all(both)
    assert "overhead power line" in lines
    assert "Wet in March" in wet
    assert none == ()
