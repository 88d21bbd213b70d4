"""What if a hedge were gone: beds above get milder, ground below may get colder."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hedged import FACTS, GROUND, PLOT, STRIP
from made_up import CRS, analysis, means, plane, plot_box, say_all, site, surroundings
from pyproj import Transformer
from shapely.affinity import rotate

from fieldmap.analyse import analyse
from fieldmap.cache import Store
from fieldmap.decide import what_if
from fieldmap.decide.calendar import planting_dates
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.what_if import BedEffect
from fieldmap.errors import SiteError
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.settings import WhatIf
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import choose, packaged_crops
from fieldmap.read.outlines.what_if import imagine
from fieldmap.show.text.decide import what_if as what_if_text

HEDGE = surroundings(("hedge", STRIP, FACTS | {"name": "South Hedge"}))
LOW_BED = Bed("A1", "Home", plot_box(182, -40, 218, -38), 36.0, 2.0, 90.0)
HIGH_BED = Bed("A2", "Home", plot_box(182, 36, 218, 38), 36.0, 2.0, 90.0)
TO_DEGREES = Transformer.from_crs(CRS, 4326, always_xy=True)


# The made-up record names no crop.
NO_DATES = planting_dates.compute(
    site(GROUND, PLOT),
    means(site(GROUND, PLOT), analysis(GROUND), [LOW_BED, HIGH_BED]),
    [LOW_BED, HIGH_BED],
)


def place(east_m, north_m):
    longitude, latitude = TO_DEGREES.transform(500000.0 + east_m, 5000000.0 + north_m)
    return {"longitude": longitude, "latitude": latitude}


def imagined(around=HEDGE, **choices):
    (found,) = imagine(
        [WhatIf.model_validate({"name": "x", **choices})], around, "metric"
    )
    return found


def quiet(_step):
    pass


def ground_there(alternative, as_is, store):
    """The ground as a change would leave it."""
    now = site(GROUND, PLOT, HEDGE)
    return what_if.analysis_there(now, alternative, as_is, [], store, quiet)


def weighed(alternative, store, **choices):
    now = site(GROUND, PLOT, HEDGE, **choices)
    as_is = analyse(now, store, lambda step: None)
    beds = [LOW_BED, HIGH_BED]
    present = what_if.Present(now, as_is, means(now, as_is, beds), beds, [])
    return as_is, what_if.compute_effect(present, NO_DATES, alternative, store, quiet)


WIND = {"wind": {"prevailing_from_deg": 180.0}}


def test_without_the_hedge_the_bed_above_it_is_milder_brighter_and_windier(kept):
    gone = imagined(take_away=("South Hedge",))
    assert gone.surroundings.empty
    _, outcome = weighed(gone, kept, **WIND)
    low, high = outcome.beds
    assert low.cold_air_m < -0.5
    assert 0 < low.offset_c.low <= low.offset_c.central <= low.offset_c.high
    # 0.6 °C for the root of a metre; the ground, and so its wetness, stays as it is.
    then_m = outcome.means.cold_air_m[0]
    roots = np.sqrt(then_m - low.cold_air_m) - np.sqrt(then_m)
    assert low.offset_c.central == pytest.approx(0.6 * roots, abs=0.02)
    assert low.spring_light_percent > 5
    prevailing, storm, _ = low.wind_share.values()
    # A hedge of 80 % density lets through about a quarter within five heights.
    assert 0.5 < prevailing < 0.8
    assert np.isnan(storm)
    assert abs(high.cold_air_m) < 0.05
    assert abs(high.spring_light_percent) < 1
    said = say_all(outcome.facts)
    assert f"bed A1 would be about {low.offset_c.central:.1f} °C warmer" in said[0]
    # Beside its scatter: .6 °C from night to night.
    assert "it can change by about 0.6 °C" in said[1]
    assert any("more wind on ordinary days" in sentence for sentence in said)


def test_a_gap_lowers_the_pool_above_it_and_feeds_what_lies_below(kept):
    gap = imagined(gaps=[{"of": "South Hedge", "width_m": 8.0, **place(200, -43)}])
    assert gap.surroundings.geometry.area.sum() == pytest.approx(
        2 * (200 - 8), rel=1e-3
    )
    now, outcome = weighed(gap, kept)
    there = ground_there(gap, now, kept)
    assert np.array_equal(outcome.offset_c.values, there.cold_air.offset_c.values)

    def change(east_m, north_m):
        at = [500000.0 + east_m], [5000000.0 + north_m]
        return float(
            there.cold_air.depth_m.interpolate(*at)[0]
            - now.cold_air.depth_m.interpolate(*at)[0]
        )

    assert change(200, -38) < -0.2
    assert change(200, -52) > 0.05
    # Above it is warmer than now, below it colder; closed again, all as it was.
    less = now.cold_air.offset_c.with_values(
        there.cold_air.offset_c.values[1] - now.cold_air.offset_c.values[1]
    )
    east_m, north_m = [500200.0] * 2, [5000000.0 - 38, 5000000.0 - 52]
    above, below = less.interpolate(east_m, north_m)
    assert above > 0.05
    assert below < -0.02


def test_what_a_gap_lets_out_above_comes_through_below(kept):
    """The layer is thinner above and thicker below, and up the slope it is as it was.

    That no air is lost is shown where the flow is: its account closes to 1e-12.
    """
    gap = imagined(gaps=[{"of": "South Hedge", "width_m": 8.0, **place(200, -43)}])
    now, _outcome = weighed(gap, kept)
    there = ground_there(gap, now, kept)
    before, after = (each.cold_air.night.depth_m.values for each in (now, there))
    change_m = after - before
    assert change_m.min() < -0.1
    assert change_m.max() > 0.05
    # Far from the gap, up the slope, nothing moves.
    assert np.abs(change_m[: change_m.shape[0] // 4]).max() < 0.02


def test_a_gap_that_is_closed_again_changes_nothing(kept):
    """Opened and closed: the same ground, so the same night."""
    gap = imagined(gaps=[{"of": "South Hedge", "width_m": 8.0, **place(200, -43)}])
    closing = replace(gap, surroundings=HEDGE)
    _, outcome = weighed(closing, kept)
    for bed in outcome.beds:
        assert bed.offset_c == Estimate(0, 0, 0)
    assert "no bed would be noticeably warmer or colder" in say_all(outcome.facts)[0]


@pytest.mark.parametrize("bearing_deg", [14.0, 103.0])
def test_a_gap_is_drawn_as_wide_as_it_is_and_nothing_as_new(bearing_deg):
    # Cutting an outline that lies askew leaves hairs along its edges.
    strip = rotate(STRIP, -bearing_deg, origin=(500200.0, 4999957.0))
    askew = surroundings(("hedge", strip, FACTS | {"name": "South Hedge"}))
    gap = imagined(
        askew, gaps=[{"of": "South Hedge", "width_m": 4.0, **place(200, -43)}]
    )
    drawn = what_if.gone_and_new(askew, gap.surroundings)
    assert list(drawn) == ["gone"]
    # A hedge of 2 m and a gap of 4 m.
    assert drawn["gone"].area == pytest.approx(8.0, rel=0.01)
    assert drawn["gone"].minimum_rotated_rectangle.area == pytest.approx(8.0, rel=0.01)


def test_winds_of_a_bed_are_shown_in_steps_of_ten_per_cent():
    winds = {"prevailing": 0.04, "storm": -0.12, "summer_breeze": np.nan}
    change = BedEffect("A1", 0.0, Estimate(0, 0, 0), None, 0.0, winds, {})
    assert what_if_text.winds(change.wind_share) == "about 10 % less storm wind"


def test_a_bank_is_a_barrier_without_gaps(kept):
    line = [tuple(place(east, 60).values()) for east in (150, 250)]
    more = imagined(
        additions=[
            {
                "kind": "bank",
                "name": "New",
                "height_m": 2.0,
                "width_m": 3.0,
                "line": line,
            }
        ]
    )
    assert list(more.surroundings["name"]) == ["South Hedge", "New"]
    now, outcome = weighed(more, kept)
    at = [500200.0], [5000064.0]
    there = ground_there(more, now, kept)
    above = there.cold_air.depth_m.interpolate(*at) - now.cold_air.depth_m.interpolate(
        *at
    )
    assert above[0] > 0.5
    assert outcome.beds[1].cold_air_m < -0.1  # in the lee of the bank
    assert outcome.beds[1].offset_c.central > 0
    assert "up to" in say_all(outcome.facts)[-1]
    assert "°C colder" in say_all(outcome.facts)[-1]
    assert "north" in say_all(outcome.facts)[-1]


def test_beds_out_of_reach_keep_their_light_to_the_last_bit(kept):
    """The reach is 20 heights, 60 m north of the hedge, and one bed is 78 m off."""
    gone = imagined(take_away=("South Hedge",))
    as_is, outcome = weighed(gone, kept)
    now = means(site(GROUND, PLOT, HEDGE), as_is, [LOW_BED, HIGH_BED])
    there = outcome.means
    assert (there.sun_mj_m2_day[:, 0] > now.sun_mj_m2_day[:, 0]).all()
    assert (there.direct_hours[:, 0] > now.direct_hours[:, 0]).any()
    for name in ("sun_mj_m2_day", "direct_hours", "morning_share"):
        assert (getattr(there, name)[:, 1] == getattr(now, name)[:, 1]).all()


def test_light_is_worked_out_anew_for_beds_alone(tmp_path):
    steps = []
    half = imagined(gaps=[{"of": "South Hedge", "width_m": 8.0, **place(200, -43)}])
    now = site(GROUND, PLOT, HEDGE)
    store = Store(tmp_path)
    as_is = analyse(now, store, steps.append)
    beds = [LOW_BED]
    present = what_if.Present(now, as_is, means(now, as_is, beds), beds, [])
    outcome = what_if.compute_effect(present, NO_DATES, half, store, steps.append)
    assert outcome.beds[0].spring_light_percent > 0
    # Light of open ground hangs on no thing that stands there: once for both.
    assert steps.count(Fact("step_sun")) == 1
    # Nobody is shown the light of cells as it would be.
    assert steps.count(Fact("step_shade")) == 1


@pytest.mark.parametrize("is_whole", [True, False], ids=["whole", "likeliest"])
def test_without_its_only_hedge_a_bed_gets_the_light_of_open_ground(kept, is_whole):
    now, gone = site(GROUND, PLOT, HEDGE), imagined(take_away=("South Hedge",))
    as_is, beds = analyse(now, kept, quiet), [LOW_BED]
    here = means(now, as_is, beds)
    present = what_if.Present(now, as_is, here, beds, [])
    if is_whole:
        effect = what_if.compute_effect(present, NO_DATES, gone, kept, quiet)
        percent = effect.beds[0].spring_light_percent
    else:
        percent = what_if.likeliest_effect(present, gone, kept).light_percent[0]
    bare = site(GROUND, PLOT)
    open_ = means(bare, analyse(bare, kept, quiet), beds)
    march, march_open = (each.sun_mj_m2_day[2, 0] for each in (here, open_))
    assert percent == pytest.approx(100 * (march_open / march - 1), abs=0.05)
    assert percent > 5


@pytest.mark.parametrize(
    ("choices", "parts"),
    [
        ({}, ("changes nothing", "take_away")),
        (
            {"take_away": ("South Hege",)},
            ("'South Hege'", "did you mean 'South Hedge'"),
        ),
        ({"take_away": ("Nothing",)}, ("'Nothing'", "not a hedge")),
        (
            {"gaps": [{"of": "South Hedge", "width_m": 4.0, **place(200, 0)}]},
            ("lies 42 m from 'South Hedge'", "within 15 m"),
        ),
        (
            {
                "additions": [
                    {
                        "kind": "hedge",
                        "name": "New",
                        "height_m": 2.0,
                        "width_m": 1.0,
                        "line": [
                            tuple(place(0, 0).values()),
                            tuple(place(9, 0).values()),
                        ],
                    }
                ]
            },
            ("'New' is a hedge without porosity",),
        ),
        (
            {
                "additions": [
                    {
                        "kind": "wall",
                        "name": "New",
                        "height_m": 2.0,
                        "width_m": 1.0,
                        "line": [tuple(place(0, 0).values())] * 2,
                    }
                ]
            },
            ("has no length",),
        ),
    ],
    ids=["nothing", "misspelt", "unknown", "off the hedge", "no porosity", "a point"],
)
def test_what_cannot_be_done_is_refused_in_a_sentence(choices, parts):
    with pytest.raises(SiteError) as caught:
        imagined(**choices)
    (problem,) = map(str, caught.value.problems)
    assert problem.startswith("site.toml: [[what_if]] 'x'")
    for part in parts:
        assert part in problem


def test_two_changes_of_one_name_are_refused():
    one = WhatIf(name="x", take_away=("South Hedge",))
    with pytest.raises(SiteError, match=r"2 tables \[\[what_if\]\] are named 'x'"):
        imagine([one, one], HEDGE, "metric")


def test_where_no_air_was_let_run_it_is_said(kept):
    small = plane(rows=100, cols=100, north=0.05)
    plots = {"Home": plot_box(10, 110, 90, 190)}
    wall = surroundings(("wall", plot_box(20, 120, 60, 121), FACTS | {"name": "Wall"}))
    now = site(small, plots, wall)
    gone = imagined(wall, take_away=("Wall",))
    as_is = analyse(now, kept, lambda step: None)
    present = what_if.Present(now, as_is, means(now, as_is, []), [], [])
    outcome = what_if.compute_effect(present, NO_DATES, gone, kept, quiet)
    assert "The plan does not know what this change does" in say_all(outcome.facts)[-1]
    assert len(outcome.facts) == 1


def test_a_bed_that_gets_milder_can_be_planted_earlier_in_every_paired_draw(kept):
    gone = imagined(take_away=("South Hedge",))
    crops = choose((), packaged_crops())
    now = replace(
        site(GROUND, PLOT, HEDGE),
        crops=crops,
        weather=WeatherRecord(seasons()),
    )
    as_is = analyse(now, kept, lambda step: None)
    beds = [LOW_BED, HIGH_BED]
    dates = planting_dates.compute(now, means(now, as_is, beds), beds)
    present = what_if.Present(now, as_is, means(now, as_is, beds), beds, [])
    outcome = what_if.compute_effect(present, dates, gone, kept, quiet)
    low, high = outcome.beds
    assert 0 <= low.days_earlier[0] <= low.days_earlier[1] <= low.days_earlier[2]
    assert low.days_earlier[2] > 0
    assert max(np.abs(high.days_earlier)) < low.days_earlier[2]
    assert (
        "days" in say_all(outcome.facts)[0] or "no date" in (say_all(outcome.facts)[0])
    )


def seasons(years=24):
    """A made-up record whose nights warm through spring with seeded noise."""
    days = pd.date_range("2000-01-01", f"{1999 + years}-12-31", name="date")
    noise = np.random.default_rng(7).normal(0, 3, len(days))
    mean = 9 - 12 * np.cos(2 * np.pi * (days.day_of_year - 20) / 365.25) + noise
    return pd.DataFrame({"tmin_c": mean - 5, "tmax_c": mean + 6}, index=days)
