"""Orders of beds on made-up ground whose order is known beforehand."""

import numpy as np
import pytest
from made_up import analysis, plane, plot_box, site

from fieldmap import beds, ranking
from fieldmap.analysis import analyse
from fieldmap.cache import Store
from fieldmap.settings import Beds


def beds_in(outline, letter="A", **choices):
    return beds.fill(letter, letter, outline, [], Beds(**choices), 0.0)


def two_beds():
    """A western and an eastern bed on level ground."""
    west = beds_in(plot_box(50, 80, 62, 83), "W")
    east = beds_in(plot_box(150, 80, 162, 83), "E")
    return west[:1] + east[:1]


def halves(west, east):
    """A 200 × 200 grid with one value in the west and another in the east."""
    grid = np.full((200, 200), float(west))
    grid[:, 100:] = east
    return grid


def rank(sun=10.0, offset_c=0.0, latitude=45.0):
    ground = plane()
    made_up = site(ground, {"Home": plot_box(40, 40, 190, 190)}, latitude=latitude)
    return ranking.rank(made_up, analysis(ground, sun, offset_c), two_beds())


def test_identical_beds_tie_in_every_order():
    west, east = rank()
    for order in ("early_rank", "late_rank", "shade_rank"):
        assert getattr(west, order) == getattr(east, order) == 1
    assert {west.early_group, east.early_group} == {ranking.SAME}


def test_a_bed_half_a_degree_warmer_is_planted_first():
    west, east = rank(offset_c=halves(-0.6, 0.0))
    assert (west.early_rank, east.early_rank) == (2, 1)
    assert (west.late_rank, east.late_rank) == (2, 1)
    assert (west.early_group, east.early_group) == (ranking.LAST, ranking.FIRST)
    assert "0.5 °C colder" in west.reasons[0]


def test_a_difference_too_small_to_show_is_no_difference():
    west, east = rank(offset_c=halves(-0.1, 0.1), sun=halves(10.0, 10.3))
    assert west.early_rank == east.early_rank == 1


def test_among_equally_warm_beds_the_sunnier_is_planted_first():
    west, east = rank(sun=halves(10.0, 12.0))
    assert (west.early_rank, east.early_rank) == (2, 1)
    assert "less light" in west.reasons[0]


@pytest.mark.parametrize(("latitude", "month"), [(45.0, 6), (-45.0, 0)], ids=str)
def test_the_bed_with_most_sun_in_high_summer_needs_shade_first(latitude, month):
    sun = np.full((12, 200, 200), 10.0)
    sun[month] = halves(18.0, 24.0)
    west, east = rank(sun=sun, latitude=latitude)
    assert (west.shade_rank, east.shade_rank) == (2, 1)


@pytest.mark.parametrize(("latitude", "month"), [(45.0, 2), (-45.0, 8)], ids=str)
def test_spring_is_march_in_the_north_and_september_in_the_south(latitude, month):
    sun = np.full((12, 200, 200), 10.0)
    sun[month] = halves(8.0, 12.0)
    west, east = rank(sun=sun, latitude=latitude)
    assert (west.early_rank, east.early_rank) == (2, 1)


def test_bed_means_are_those_of_the_ground_under_the_bed():
    ground = plane()
    linear = ground.with_values(np.add.outer(np.zeros(200), np.arange(200) + 0.5))
    bed = beds_in(plot_box(50, 80, 90, 83), setback_m=0.0, headland_m=0.0)[0]
    # The mean of a linear field over a rectangle is its value in the middle.
    assert ranking.bed_means(linear, [bed])[0] == pytest.approx(70.0, abs=0.3)


def test_a_south_slope_is_planted_before_its_mirror_facing_north(tmp_path):
    """At 45° north, on ground that falls both ways from an east-west ridge."""
    ridge = plane()
    northing = np.abs(np.arange(200) - 99.5)[:, None]
    ground = ridge.with_values(np.broadcast_to(150 - 0.15 * northing, (200, 200)))
    north, south = plot_box(80, 140, 120, 146), plot_box(80, 54, 120, 60)
    made_up = site(ground, {"North": north, "South": south})
    beds_ = beds_in(north, "N")[:1] + beds_in(south, "S")[:1]
    analysed = analyse(made_up, Store(tmp_path), lambda step: None)
    facing_north, facing_south = ranking.rank(made_up, analysed, beds_)
    # Both lie as high, so the night does not tell them apart.
    assert facing_north.offset_c.central == pytest.approx(
        facing_south.offset_c.central, abs=0.05
    )
    assert (facing_south.early_rank, facing_north.early_rank) == (1, 2)
