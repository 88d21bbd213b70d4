"""What a change does, and what the grower saw, on ground whose answer is known."""

from dataclasses import replace
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
from made_up import CRS, analysis, plane, plot_box, raster, with_cold_air
from shapely.geometry import box

from fieldmap.analyse.light import shade
from fieldmap.decide import marks, what_if
from fieldmap.decide.ranking import by_days
from fieldmap.decide.what_if import BedEffect
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.site import (
    DRIES_FIRST,
    PUDDLES,
    SNOW_LEAVES_FIRST,
    WHITE_AT_DAWN,
    Mark,
)
from layers import coldness

# ------------------------------------------------------------------ marks
# A plot from 40 to 160 m east; the mark takes its western third.
GROUND = plane()
PLOT, THIRD = plot_box(40, 40, 160, 160), plot_box(40, 40, 80, 160)
MAY = 4


def grid(*parts):
    """A grid of 200 columns from (first column, value) parts."""
    found = np.zeros((200, 200))
    for first, value in parts:
        found[:, first:] = value
    return found


def compared(seen, known, *outlines, month=MAY):
    found = marks.compare(
        [Mark(str(at), seen, each) for at, each in enumerate(outlines or [THIRD])],
        known,
        [PLOT],
        month,
    )
    return [
        (each.answer, each.fact["compared"], each.fact["offset_c"]) for each in found
    ]


@pytest.mark.parametrize(
    ("west_c", "east_c", "boundary", "answer"),
    [
        # A quarter of a degree colder than half of the rest, 80 to 120 of 80 to 160.
        (-0.25, 0.0, 80, "agrees"),
        (-0.25, 0.0, 120, "agrees"),
        (-0.25, 0.0, 121, "unclear"),
        (-0.24, 0.0, 80, "unclear"),
        (0.25, 0.0, 80, "disagrees"),
        (0.25, 0.0, 121, "unclear"),
        (0.24, 0.0, 80, "unclear"),
    ],
)
def test_white_at_dawn_agrees_where_it_is_colder_than_half_the_rest(
    west_c, east_c, boundary, answer
):
    known = analysis(GROUND, offset_c=grid((0, west_c), (boundary, east_c)))
    assert compared(WHITE_AT_DAWN, known) == [(answer, answer, 0.0)]


def test_what_the_mark_itself_moved_is_taken_out_before_it_is_compared():
    """The plan has the mark 1 °C colder; without it the two are as cold as each other."""
    seen_c = grid((0, -1.0), (80, 0.0))
    known = with_cold_air(
        analysis(GROUND, offset_c=seen_c), seen_c=GROUND.with_values(seen_c)
    )
    assert compared(WHITE_AT_DAWN, known) == [("unclear", "unclear", -1.0)]
    # What is not frost is not moved.
    assert compared(PUDDLES, known) == [("unclear", "unclear", 0.0)]


def test_other_marks_of_a_kind_are_no_part_of_the_rest():
    """The middle third is as cold; it is marked too, so only the last third compares."""
    known = analysis(GROUND, offset_c=grid((0, -0.3), (121, 0.0)))
    assert compared(WHITE_AT_DAWN, known)[0][0] == "unclear"
    middle = plot_box(80, 40, 120, 160)
    assert [each[0] for each in compared(WHITE_AT_DAWN, known, THIRD, middle)] == [
        "agrees",
        "agrees",
    ]


def test_a_mark_over_the_whole_plot_has_nothing_to_compare_with():
    known = analysis(GROUND)
    assert compared(WHITE_AT_DAWN, known, PLOT) == [("unclear", "covers all", 0.0)]
    # A mark on ground that is not known is compared with nothing either.
    unknown = analysis(GROUND, offset_c=grid((0, np.nan), (80, 0.0)))
    assert compared(WHITE_AT_DAWN, unknown)[0][:2] == ("unclear", "unclear")


@pytest.mark.parametrize(
    ("west", "answer"),
    [(10.51, "agrees"), (10.49, "unclear"), (9.51, "unclear"), (9.49, "disagrees")],
)
def test_snow_leaves_first_where_the_month_has_five_per_cent_more_light(west, answer):
    known = analysis(GROUND, sun=grid((0, west), (80, 10.0)))
    assert compared(SNOW_LEAVES_FIRST, known)[0][0] == answer


@pytest.mark.parametrize(
    ("west", "puddles", "dries"),
    [
        (8.0, "agrees", "disagrees"),
        (7.9, "unclear", "unclear"),
        (6.0, "disagrees", "agrees"),
        (6.1, "unclear", "unclear"),
    ],
)
def test_puddles_lie_where_the_wetness_index_is_one_higher(west, puddles, dries):
    wetness = GROUND.with_values(grid((0, west), (80, 7.0)))
    known = replace(analysis(GROUND), wetness_index=wetness)
    assert compared(PUDDLES, known)[0][0] == puddles
    assert compared(DRIES_FIRST, known)[0][0] == dries


# ------------------------------------------------------------------ what a change does
def things(*outlines):
    return gpd.GeoDataFrame(geometry=list(outlines), crs=CRS)


def test_ground_of_what_goes_and_of_what_comes():
    hedge = box(0, 0, 2, 50)
    found = what_if.gone_and_new(
        things(hedge), things(box(0, 0, 2, 20), box(9, 0, 11, 5))
    )
    assert found["gone"].area == pytest.approx(60.0)
    assert found["new"].area == pytest.approx(10.0)
    assert what_if.gone_and_new(things(hedge), things(hedge)) == {}


@pytest.mark.parametrize(("cut_m", "drawn"), [(0.019, False), (0.021, True)])
def test_slivers_of_two_centimetres_are_no_change(cut_m, drawn):
    found = what_if.gone_and_new(things(box(0, 0, 2, 50)), things(box(cut_m, 0, 2, 50)))
    assert ("gone" in found) == drawn


def test_light_is_worked_out_within_twenty_heights():
    changed = box(100, 200, 110, 250)
    assert shade.reach(changed, 3.0) == pytest.approx((40, 140, 170, 310))


def of_beds(cold_m, answers_c, light, shares):
    return SimpleNamespace(
        cold_air_m=np.array(cold_m),
        answers_c=np.array(answers_c),
        central_answer=1,
        sun_mj_m2_day=np.broadcast_to(np.array(light), (12, len(light)))
        * (np.arange(12)[:, np.newaxis] == MAY),
        wind_share=np.array(shares),
    )


def test_what_a_change_does_to_each_bed_is_as_it_would_be_less_as_it_is():
    """Cold air 0.5 m shallower, offsets -1, -0.5, 0 become 0, 0.5, 0.5; light 8 to 10."""
    now = of_beds([1.0], [[-1.0], [-0.5], [0.0]], [8.0], [[0.5], [0.9], [np.nan]])
    there = of_beds([0.5], [[0.0], [0.5], [0.5]], [10.0], [[0.8], [0.4], [np.nan]])
    draws = np.arange(101.0)[np.newaxis]
    beds = [SimpleNamespace(name="A1")]
    with np.errstate(invalid="ignore", divide="ignore"):
        (found,) = what_if._bed_effects(
            now, there, beds, draws, MAY, coldness.cases(factor_sd=0.0)
        )
    assert (found.bed, found.cold_air_m) == ("A1", -0.5)
    # Answer by answer: 1, 1 and 0.5 °C warmer; 8 of 10 cases lie between.
    assert found.offset_c.central == pytest.approx(1.0)
    assert 0.5 <= found.offset_c.low < found.offset_c.high <= 1.0
    assert found.days_earlier == Estimate(10.0, 50.0, 90.0)
    assert found.spring_light_percent == pytest.approx(25.0)
    assert found.wind_share["prevailing"] == pytest.approx(0.3)
    assert found.wind_share["storm"] == pytest.approx(-0.5)
    assert np.isnan(found.wind_share["summer_breeze"])


def test_days_are_said_only_where_all_draws_are_known():
    assert what_if._days(np.array([])) is None
    assert what_if._days(np.array([1.0, np.nan])) is None
    assert what_if._days(np.array([1.0, np.inf])) is None
    assert what_if._days(np.full(11, 3.0)) == Estimate(3.0, 3.0, 3.0)


def effect(name, warmer_c=0.0, light=0.0, prevailing=0.0, storm=0.0, breeze=np.nan):
    shares = {"prevailing": prevailing, "storm": storm, "summer_breeze": breeze}
    now = dict.fromkeys(shares, 0.6)
    return BedEffect(name, 0.0, Estimate(*[warmer_c] * 3), None, light, shares, now)


def notable(*effects):
    return [
        (each.kind, *(getattr(v, "bed", v) for v in each.values.values()))
        for each in what_if.notable(effects)
    ]


def test_the_beds_that_gain_and_lose_most_are_named():
    found = notable(
        effect("A1", warmer_c=0.4, light=3.0, prevailing=0.10, storm=-0.05),
        effect("A2", warmer_c=-0.3, light=-5.0, prevailing=-0.20, storm=0.04),
        effect("A3", warmer_c=-0.1, light=4.0),
    )
    assert found == [
        ("what_if_cold", "A1"),
        ("what_if_cold", "A2"),
        # From night to night a place strays by .6 °C.
        ("what_if_scatter", 0.6),
        ("what_if_light", "A2", -0.05),
        # Of the open wind: .6 now, .6 - .2 and .6 - .05 then.
        ("what_if_less_prevailing", "A2", pytest.approx(60.0), pytest.approx(40.0)),
        ("what_if_less_storm", "A1", pytest.approx(60.0), pytest.approx(55.0)),
    ]
    (more,) = notable(effect("A1", prevailing=0.3))[1:]
    assert more[:2] == ("what_if_more_prevailing", "A1")
    assert more[2:] == pytest.approx((60.0, 90.0))


def test_changes_too_small_to_see_are_not_named():
    assert notable() == []
    # Half of the half degrees that people are shown: less is rounded to nothing.
    assert notable(effect("A1", 0.24, 1.9, 0.019)) == [("what_if_cold_as_now",)]
    assert notable(effect("A1", 0.25, 2.0, 0.02))[:3] == [
        ("what_if_cold", "A1"),
        ("what_if_scatter", 0.6),
        ("what_if_light", "A1", 0.02),
    ]
    assert notable(effect("A1", -0.25, 1.99))[0] == ("what_if_cold", "A1")
    assert len(notable(effect("A1", -0.25, 1.99))) == 2
    assert len(notable(effect("A1", 0.0, -2.0, -0.021))) == 3


def below(more_m, plot, turn_deg=0.0):
    """Depths on 20 × 20 cells of 10 m now and with a change; plots in metres."""
    now = raster(np.full((20, 20), 1.0), 10.0)
    there = now.with_values(now.values + more_m)
    nights = (SimpleNamespace(depth_m=now), SimpleNamespace(depth_m=there))
    return what_if._below(things(plot_box(*plot)).geometry, nights, turn_deg)


NO_COLDER = Fact("below_is_no_colder")


def test_colder_ground_outside_the_plots_is_said_with_where_it_lies():
    """Four cells of 100 m², 1.25 m deeper, 50 m east of the middle of the plot.

    A metre becomes 2.25: .6 (1.5 - 1) = .3 °C. Three more are .6 (2 - 1) = .6 °C.

    Columns 14 and 15, rows 9 and 10: their middle is 150 m east and 100 m north of the
    corner, that of the plot 100 and 100.
    """
    more = np.zeros((20, 20))
    more[9:11, 14:16] = 1.25
    more[9, 14] = 3.0
    found = below(more, (80, 80, 120, 120), turn_deg=2.0)
    assert found.kind == "below_is_colder"
    assert found["degrees_c"] == pytest.approx(0.6)
    assert found["area_m2"] == 400.0
    assert found["direction"] == pytest.approx(92.0)
    # What lies to the north-west is at -45°, or 315.
    more = np.zeros((20, 20))
    more[4:6, 4:6] = 1.25
    assert below(more, (80, 80, 120, 120))["direction"] % 360 == pytest.approx(315.0)


@pytest.mark.parametrize(
    ("cells", "deeper_m", "said"),
    # .6 (√(1 + x) - 1) is .2 °C at x = 16/9 - 1 = .778 m.
    [(2, 0.779, True), (1, 0.779, False), (2, 0.777, False)],
)
def test_two_hundred_square_metres_of_a_fifth_of_a_degree_count(cells, deeper_m, said):
    more = np.zeros((20, 20))
    more[0, :cells] = deeper_m
    assert (below(more, (80, 80, 120, 120)) != NO_COLDER) == said


def test_air_on_the_plots_is_not_below():
    more = np.zeros((20, 20))
    more[8:12, 8:12] = 1.25
    assert below(more, (80, 80, 120, 120)) == NO_COLDER
    assert below(-np.ones((20, 20)), (80, 80, 120, 120)) == NO_COLDER


def test_where_no_air_was_let_run_nothing_is_known():
    plots = things(plot_box(0, 0, 9, 9)).geometry
    some = SimpleNamespace(depth_m=raster(np.zeros((20, 20)), 10.0))
    for nights in ((None, some), (some, None)):
        below_them = what_if._below(plots, nights, 0.0)
        assert below_them == Fact("below_is_not_known")
        # So beds are not said to be as cold as now, and more wind stands.
        found = what_if.notable([effect("A1", prevailing=0.3)])
        assert [each.kind for each in what_if._without_air(found, below_them)] == [
            "what_if_more_prevailing",
            "below_is_not_known",
        ]


@pytest.mark.parametrize(("spring_month", "percent"), [(2, -10.0), (8, 25.0)])
def test_what_a_change_most_likely_does_in_spring_of_either_hemisphere(
    monkeypatch, spring_month, percent
):
    """One bed: .5 °C warmer by the central of three answers; 9 MJ of 10 are left in March,
    and 10 come of 8 in September.
    """
    now, there = np.full((12, 1), 5.0), np.full((12, 1), 5.0)
    (now[2], there[2]), (now[8], there[8]) = (10.0, 9.0), (8.0, 10.0)
    before, after = (
        SimpleNamespace(
            answers_c=np.array([[-9.0], [central_c], [9.0]]),
            central_answer=1,
            sun_mj_m2_day=sun,
        )
        for central_c, sun in ((-2.0, now), (-1.5, there))
    )
    monkeypatch.setattr(
        what_if.analyse, "likeliest_with_other_surroundings", lambda *_five: GROUND
    )
    monkeypatch.setattr(what_if, "bed_means", lambda *_five: after)
    monkeypatch.setattr(what_if, "_standing", lambda *_three: None)
    site = SimpleNamespace(
        plots=gpd.GeoDataFrame({"name": ["Home"]}, geometry=[PLOT]),
        season=None,
        offset_factor=None,
        spring_month=spring_month,
    )
    change = SimpleNamespace(surroundings=None, changed=THIRD, height_m=2.0)
    bed = SimpleNamespace(outline=THIRD)
    present = what_if.Present(site, None, before, [bed], ())
    found = what_if.likeliest_effect(present, change, None)
    assert found.analysis is GROUND
    assert found.change_c == pytest.approx([0.5])
    assert found.light_percent == pytest.approx([percent])


@pytest.mark.parametrize(
    ("low", "central", "high", "move"),
    [
        # Under two days is no difference.
        (0.0, 1.4, 4.0, "none"),
        (0.0, 1.6, 4.0, "earlier"),  # in whole days two
        (1.0, 3.0, 5.0, "earlier"),
        (-0.4, 3.0, 5.0, "earlier"),  # in whole days from none on
        # A gain that may be a loss is no clear one; nor is it a loss that is likely.
        (-1.0, 3.0, 5.0, "none"),
        (-9.0, 3.0, 12.0, "none"),
        (-3.0, 0.0, 3.0, "none"),
        (-5.0, -1.0, 2.0, "none"),
        # A loss for sure.
        (-6.0, -4.0, -2.0, "later"),
        (-6.0, -2.0, 0.0, "later"),
        # Likely none, but never a gain: what may be lost.
        (-9.4, -0.4, 0.0, "at_worst"),
        (-1.0, -0.4, 0.0, "none"),
        # Likely a loss, though it may be none.
        (-10.0, -4.0, 1.0, "likely_later"),
        (-3.0, -2.0, 2.0, "likely_later"),
    ],
)
def test_days_are_a_gain_where_nothing_is_lost_and_a_likely_loss_is_never_hidden(
    low, central, high, move
):
    assert what_if.move_of(Estimate(low, central, high)) == move
    days = Estimate(low, central, high)
    assert replace(effect("A1"), days_earlier=days).move == move
    assert effect("A1").move == "none"  # no dates are known


def test_days_of_a_change_are_rounded_before_they_are_judged_and_those_of_beds_are_not():
    """Of two beds with draws that differ by 1.6 days always, neither comes first."""
    assert what_if.move_of(Estimate(1.6, 1.6, 1.6)) == "earlier"
    assert by_days.ranks(np.array([[100.0] * 5, [101.6] * 5])).tolist() == [1, 1]
    assert by_days.ranks(np.array([[100.0] * 5, [102.0] * 5])).tolist() == [1, 2]
