"""Orders of beds on made-up ground whose order is known beforehand."""

from dataclasses import replace

import numpy as np
import pytest
from made_up import (
    analysed,
    analysis,
    beds_in,
    means,
    night,
    plane,
    plot_box,
    say_all,
    site,
    with_cold_air,
)

from fieldmap.analyse import zonal_means
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import rank as rank_beds
from fieldmap.decide.ranking.groups import FIRST, LAST, SAME
from fieldmap.model.season_year import NORTH
from fieldmap.read.crops import packaged_crops


def two_beds():
    """A western and an eastern bed on level ground."""
    west = beds_in(plot_box(50, 80, 62, 83), plot="W", letter="W")
    east = beds_in(plot_box(150, 80, 162, 83), plot="E", letter="E")
    return west[:1] + east[:1]


def halves(west, east):
    """A 200 × 200 grid with one value in the west and another in the east."""
    grid = np.full((200, 200), float(west))
    grid[:, 100:] = east
    return grid


def ranked(site, known, beds=None, dates=None):
    """Beds of a site in order, by an analysis."""
    beds = beds or two_beds()
    return rank_beds(
        means(site, known, beds), beds, site.season, site.convergence_deg, dates
    )


def reason(bed):
    """The one reason of a bed without a caution."""
    (said,) = say_all(bed.reasons)
    return said


def rank(sun=10.0, offset_c=0.0, latitude=45.0):
    ground = plane()
    made_up = site(ground, {"Home": plot_box(40, 40, 190, 190)}, latitude=latitude)
    return ranked(made_up, analysis(ground, sun, offset_c))


def test_identical_beds_tie_in_every_order():
    west, east = rank()
    for order in ("early", "late", "shade"):
        assert getattr(west.ranks, order) == getattr(east.ranks, order) == 1
    assert {west.earliness.group, east.earliness.group} == {SAME}


def test_a_bed_half_a_degree_warmer_is_planted_first():
    west, east = rank(offset_c=halves(-0.6, 0.0))
    assert (west.ranks.early, east.ranks.early) == (2, 1)
    assert (west.ranks.late, east.ranks.late) == (2, 1)
    assert (west.earliness.group, east.earliness.group) == (LAST, FIRST)
    assert "0.5 °C colder" in reason(west)


def test_a_difference_too_small_to_show_is_no_difference():
    west, east = rank(offset_c=halves(-0.1, 0.1), sun=halves(10.0, 10.3))
    assert west.ranks.early == east.ranks.early == 1


def test_among_equally_warm_beds_the_sunnier_is_planted_first():
    west, east = rank(sun=halves(10.0, 12.0))
    assert (west.ranks.early, east.ranks.early) == (2, 1)
    assert "less light" in reason(west)


@pytest.mark.parametrize(("latitude", "month"), [(45.0, 6), (-45.0, 0)], ids=str)
def test_the_bed_with_most_sun_in_high_summer_needs_shade_first(latitude, month):
    sun = np.full((12, 200, 200), 10.0)
    sun[month] = halves(18.0, 24.0)
    west, east = rank(sun=sun, latitude=latitude)
    assert (west.ranks.shade, east.ranks.shade) == (2, 1)


@pytest.mark.parametrize(("latitude", "month"), [(45.0, 2), (-45.0, 8)], ids=str)
def test_spring_is_march_in_the_north_and_september_in_the_south(latitude, month):
    sun = np.full((12, 200, 200), 10.0)
    sun[month] = halves(8.0, 12.0)
    west, east = rank(sun=sun, latitude=latitude)
    assert (west.ranks.early, east.ranks.early) == (2, 1)


def test_bed_means_are_those_of_the_ground_under_the_bed():
    ground = plane()
    linear = ground.with_values(np.add.outer(np.zeros(200), np.arange(200) + 0.5))
    bed = beds_in(plot_box(50, 80, 90, 83), setback_m=0.0, headland_m=0.0)[0]
    # The mean of a linear field over a rectangle is its value in the middle.
    assert zonal_means.means(linear, [bed.outline])[0] == pytest.approx(70.0, abs=0.3)


def test_a_south_slope_is_planted_before_its_mirror_facing_north():
    """At 45° north, on ground that falls both ways from an east-west ridge."""
    ridge = plane()
    northing = np.abs(np.arange(200) - 99.5)[:, None]
    ground = ridge.with_values(np.broadcast_to(150 - 0.15 * northing, (200, 200)))
    north, south = plot_box(80, 140, 120, 146), plot_box(80, 54, 120, 60)
    made_up = site(ground, {"North": north, "South": south})
    beds_ = beds_in(north, letter="N")[:1] + beds_in(south, letter="S")[:1]
    shown = analysed(made_up)
    facing_north, facing_south = ranked(made_up, shown, beds_)
    # Both lie as high, so the night does not tell them apart.
    assert facing_north.offset_c.central == pytest.approx(
        facing_south.offset_c.central, abs=0.05
    )
    assert (facing_south.ranks.early, facing_north.ranks.early) == (1, 2)


def by_days(early, late=None, *, nights=True, lag_days=0.0):
    """Two beds with given early and late days, draw by draw."""
    early = np.asarray(early, float)
    dated = Dates(
        crops=(REFERENCE,),
        covers=("none",),
        risks=(0.1,),
        early=np.zeros((3, 1, 1, 2)),
        late=np.zeros((3, 1, 1, 2)),
        slackens=np.zeros((1, 1, 2)),
        winters=np.zeros((1, 1, 2)),
        grows_until=np.full((1, 2), np.inf),
        last_sowing=np.full((3, 1, 1, 2), np.nan),
        early_draws=early,
        late_draws=np.full(early.shape, 300.0) if late is None else np.asarray(late),
        nights_decide=np.full(early.shape, nights),
        soil_lag_days=np.array([0.0, lag_days]),
        soil_seen_days=np.zeros(2),
        reference_crop=REFERENCE.name,
        season=NORTH,
        remarks=(),
    )
    ground = plane()
    made_up = site(ground, {"Home": plot_box(40, 40, 190, 190)})
    known = analysis(ground, 10.0, halves(0.0, -1.0))
    return ranked(made_up, known, dates=dated)


REFERENCE = packaged_crops()["tomato"]
WITHIN = np.linspace(-3, 3, 200)  # what both beds share


def test_beds_that_share_what_is_not_known_are_distinguished_by_days():
    """Each date is uncertain by weeks, their difference is not."""
    shared = 120 + 10 * WITHIN
    west, east = by_days([shared, shared + 6 + WITHIN / 3])
    assert (west.ranks.early, east.ranks.early) == (1, 2)
    assert (west.earliness.group, east.earliness.group) == (FIRST, LAST)
    assert west.earliness.days_after_first == (0.0, 0.0, 0.0)
    # A tenth and nine tenths of an even spread of 5 to 7.
    assert east.earliness.days_after_first == pytest.approx((5.2, 6.0, 6.8), abs=0.02)
    assert reason(east).endswith(
        "This bed is ready to plant 6 days after the first bed (range: 5 to 7)."
    )
    assert reason(east).startswith(
        "On still nights this bed is likely 1 °C colder than the first bed"
    )
    assert reason(west).endswith("You can plant this bed together with the first beds.")


def test_beds_whose_difference_may_go_either_way_tie():
    shared = 120 + WITHIN
    west, east = by_days([shared, shared + 3 + 2 * WITHIN])
    assert west.ranks.early == east.ranks.early == 1
    assert {west.earliness.group, east.earliness.group} == {SAME}


def test_under_two_days_is_no_difference():
    west, east = by_days([np.full(200, 120.0), np.full(200, 121.9)])
    assert west.ranks.early == east.ranks.early == 1
    west, east = by_days([np.full(200, 120.0), np.full(200, 122.1)])
    assert (west.ranks.early, east.ranks.early) == (1, 2)


def test_what_makes_a_bed_later_is_shown_first():
    early = [np.full(200, 120.0), np.full(200, 130.0)]
    _, east = by_days(early, nights=False, lag_days=10.0)
    assert reason(east).startswith("Its ground is wet in March")
    assert "about 10 days later" in reason(east)


def test_the_bed_that_frost_reaches_last_holds_longest():
    even = np.full((2, 200), 120.0)
    west, east = by_days(even, [np.full(200, 290.0), np.full(200, 300.0)])
    assert (west.ranks.late, east.ranks.late) == (2, 1)
    # Where frost comes to neither there is nothing between them.
    west, east = by_days(even, np.full((2, 200), np.inf))
    assert west.ranks.late == east.ranks.late == 1


def test_beds_of_unknown_dates_come_last():
    west, east = by_days([np.full(200, np.nan), np.full(200, 120.0)])
    assert (west.ranks.early, east.ranks.early) == (2, 1)
    assert west.earliness.days_after_first is None


def test_a_reason_names_the_two_things_that_matter_most_in_degrees():
    ground = plane()
    made_up = site(ground, {"Home": plot_box(40, 40, 190, 190)})
    depth_m = halves(0.0, 3.1)
    known = with_cold_air(
        analysis(ground, halves(10.0, 9.5), halves(0.0, -1.0)),
        night=night(ground.with_values(np.zeros((3, 200, 200)))),
        depth_m=ground.with_values(depth_m),
    )
    _, east = ranked(made_up, known)
    assert reason(east) == (
        "On still nights this bed is likely 0.5 °C colder than a typical bed. Half of all beds are colder than the typical bed. In March this bed "
        "gets 3 % less light than a typical bed."
    )


def test_the_shade_order_read_backwards_puts_the_least_summer_sun_first():
    west, east = rank(sun=halves(20.0, 15.0))
    assert (west.ranks.shade, east.ranks.shade) == (1, 2)
    assert (east.ranks.cool, west.ranks.cool) == (1, 2)
    alike = rank(sun=halves(20.0, 19.5))
    assert {bed.ranks.cool for bed in alike} == {1}


def test_water_counts_by_the_share_of_the_bed_that_it_gathers_on():
    ground = plane()
    made_up = site(ground, {"Home": plot_box(40, 40, 190, 190)})
    wetness = halves(7.0, 11.0)
    known = replace(analysis(ground), wetness_index=ground.with_values(wetness))
    shares = [bed.water_share for bed in ranked(made_up, known)]
    assert shares == pytest.approx([0.0, 1.0])


def test_what_makes_no_bed_later_is_not_named_first():
    # Soil is said to decide, though there is nothing of it: the night stands first.
    early = [np.full(200, 120.0), np.full(200, 125.0)]
    _, east = by_days(early, nights=False)
    assert reason(east).startswith("On still nights this bed is likely 1 °C colder")


def test_a_bed_tells_how_it_lies_and_how_often_it_is_among_the_first():
    # 4 % to the south-east, 45° to beds that run from west to east.
    ground = plane(east=-0.04 / np.sqrt(2), north=0.04 / np.sqrt(2))
    made_up = site(ground, {"Home": plot_box(40, 40, 190, 190)})
    (bed, _) = ranked(made_up, analysis(ground))
    assert bed.lie.faces_deg == pytest.approx(135.0)
    assert bed.lie.along_percent == pytest.approx(4 * np.sin(np.pi / 4))
    assert bed.lie.across_percent == pytest.approx(4 * np.cos(np.pi / 4))
    assert np.isnan(bed.earliness.among_first_share)
    (level, _) = rank()
    assert np.isnan(level.lie.faces_deg)
    # Of two beds one is the first fifth: the western in three draws of four.
    early = np.array([[100.0, 100.0, 100.0, 120.0], [110.0, 110.0, 110.0, 110.0]])
    west, east = by_days(np.repeat(early, 50, axis=1))
    assert (west.earliness.among_first_share, east.earliness.among_first_share) == (
        0.75,
        0.25,
    )
