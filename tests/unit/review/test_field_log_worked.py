"""A season's book beside its plan, day by day on a calendar and degree by degree."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up import NORTH as NORTH_M
from made_up import WEST, plane, plot_box, site
from made_up_crops import crop
from shapely.geometry import box

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import Happened
from fieldmap.model.observed import Observed, Range
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.site import WeatherRecord
from fieldmap.review import field_log
from fieldmap.review.field_log import DateRange, PredictedLows

LEEK = crop("leek")
COVERS = ("none", "light_fabric")
HOME = site(plane(), {"Home": plot_box(40, 40, 160, 160)})


def dates(early=(130.0, 140.0, 150.0), late=(274.0, 281.0, 288.0), season=NORTH):
    """Dates of one crop on beds A1 and A2; under fabric ten days better.

    On A2 a plan has a day later in spring and in autumn.
    """

    def of(days, better):
        def estimate(bed, number, cover):
            assert number == 0
            return Estimate(*days).map(lambda day: day + bed + better * cover)

        return estimate

    return SimpleNamespace(
        crops=(LEEK,),
        covers=COVERS,
        risks=(0.2, 0.1, 0.2),
        season=season,
        early_of=of(early, -10.0),
        late_of=of(late, 10.0),
    )


def bed(name, east_m=100.0, offset_c=(-2.0, -1.0, 0.5), up_m=100.0):
    outline = box(WEST + east_m, NORTH_M - up_m, WEST + east_m + 1, NORTH_M - up_m + 1)
    return SimpleNamespace(
        bed=SimpleNamespace(name=name, outline=outline), offset_c=Estimate(*offset_c)
    )


def plan(dated=None, here=HOME, ground=None, beds=None, middle_m=100.0):
    """As much of a plan as a review reads."""
    return SimpleNamespace(
        site=here,
        dates=dated or dates(),
        beds=beds or (bed("A1"), bed("A2")),
        means=SimpleNamespace(middle_height_m=middle_m),
        analysis=SimpleNamespace(terrain=SimpleNamespace(smooth_m=ground or plane())),
    )


def line(day, what, bed_="A1", crop_="leek", cover="", low_c=None):
    return Happened(1, date.fromisoformat(day), bed_, what, crop_, cover, low_c)


def entry(happened, **planned):
    (found,) = field_log.review(plan(**planned), [happened]).entries
    return found


def facts(*lines, **planned):
    return {each.kind: each for each in field_log.review(plan(**planned), lines).facts}


# ------------------------------------------------------------------ plantings
@pytest.mark.parametrize(
    ("day", "difference", "is_within"),
    [
        # Days 130, 140 and 150 are 10, 20 and 30 May.
        ("2025-05-09", -11, False),
        ("2025-05-10", -10, True),
        ("2025-05-20", 0, True),
        ("2025-05-30", 10, True),
        ("2025-05-31", 11, False),
    ],
)
def test_a_planting_is_set_against_its_early_date(day, difference, is_within):
    found = entry(line(day, "planted"))
    assert (found.difference, found.is_within) == (difference, is_within)
    assert found.predicted == DateRange(
        date(2025, 5, 10), date(2025, 5, 20), date(2025, 5, 30)
    )


def test_each_bed_and_cover_has_its_own_date():
    # On A2 21 May; under fabric ten days sooner, 11 May.
    assert entry(line("2025-05-20", "planted", "A2")).difference == -1
    covered = entry(line("2025-05-20", "planted", "A2", cover="light_fabric"))
    assert covered.difference == 9


def test_parts_of_days_are_rounded_to_the_safe_side():
    dated = dates((129.5, 139.1, 149.9), (274.5, 280.1, 288.9))
    # Early after day 139.1 is day 140, 20 May; late before 280.1 is day 280, 7 October.
    assert entry(line("2025-05-20", "planted"), dated=dated).difference == 0
    assert entry(line("2025-10-07", "held"), dated=dated).difference == 0


def test_a_leap_day_is_a_day_after_the_28th():
    # Days 58 to 60 are 27 and 28 February and 1 March.
    dated = dates((58.0, 59.0, 60.0))
    assert entry(line("2024-02-29", "planted"), dated=dated).difference == 1
    assert entry(line("2024-03-01", "planted"), dated=dated).difference == 2
    assert entry(line("2023-03-01", "planted"), dated=dated).difference == 1
    assert entry(line("2024-02-29", "planted"), dated=dated).is_within


def test_over_the_turn_of_the_year_the_nearest_date_counts():
    # In the south day 185 is 1 January, 180 and 190 are 27 December and 6 January.
    dated = dates((180.0, 185.0, 190.0), season=SOUTH)
    found = entry(line("2024-12-30", "planted"), dated=dated)
    assert found.difference == -2
    assert found.predicted == DateRange(
        date(2024, 12, 27), date(2025, 1, 1), date(2025, 1, 6)
    )
    assert entry(line("2025-01-03", "planted"), dated=dated).difference == 2


def test_a_crop_that_is_not_planned_or_never_out_has_no_date():
    assert entry(line("2025-05-20", "planted", crop_="okra")).predicted is None
    never = dates((130.0, np.inf, np.inf))
    assert entry(line("2025-05-20", "planted"), dated=never) == (
        line("2025-05-20", "planted"),
        None,
        None,
        None,
    )


def test_what_was_held_is_set_against_the_last_day_before_the_late_date():
    # Day 281, 8 October, is the morning of the frost: the 7th is the last.
    found = entry(line("2025-10-07", "held"))
    assert (found.difference, found.is_within) == (0, True)
    assert found.predicted.low == date(2025, 9, 30)
    assert found.predicted.high == date(2025, 10, 14)
    assert entry(line("2025-09-29", "held")).is_within is False
    assert entry(line("2025-10-15", "held")).is_within is False


def test_a_loss_has_no_date_of_its_own():
    assert entry(line("2025-05-20", "lost")).predicted is None


# ------------------------------------------------------------------ what they come to
def test_plantings_count_from_the_likely_day_on_or_before_it():
    found = facts(
        line("2025-05-20", "planted"),
        line("2025-05-25", "planted", "A2"),
        line("2025-05-19", "planted"),
        line("2025-06-01", "lost", "A2"),
    )
    assert found["log_planted_after"] == Fact("log_planted_after", count=2, lost=1)
    assert found["log_planted_before"] == Fact("log_planted_before", count=1, lost=0)
    assert found["log_odds"] == Fact("log_odds", odds=[0.1, 0.2])
    assert "log_of_one_season" in found


def test_without_plantings_nothing_is_counted():
    assert list(facts()) == ["log_of_one_season"]
    assert list(facts(line("2025-05-20", "planted", crop_="okra"))) == [
        "log_of_one_season"
    ]
    early = facts(line("2025-05-01", "planted"))
    assert list(early) == ["log_planted_before", "log_odds", "log_of_one_season"]


@pytest.mark.parametrize(
    ("day", "bed_", "crop_", "lost"),
    [
        # 90 days after 20 May is 18 August: 11 of May, 30 of June, 31 of July, 18.
        ("2025-05-20", "A1", "leek", 1),
        ("2025-08-18", "A1", "leek", 1),
        ("2025-08-19", "A1", "leek", 0),
        ("2025-05-19", "A1", "leek", 0),
        ("2025-06-01", "A2", "leek", 0),
        ("2025-06-01", "A1", "okra", 0),
    ],
)
def test_a_loss_within_ninety_days_on_the_same_bed_is_one_of_the_planting(
    day, bed_, crop_, lost
):
    found = facts(line("2025-05-20", "planted"), line(day, "lost", bed_, crop_))
    assert found["log_planted_after"]["lost"] == lost


def test_crops_that_held_as_long_as_was_said_are_counted():
    found = facts(
        line("2025-10-06", "held"),
        line("2025-10-07", "held"),
        line("2025-10-20", "held"),
        line("2025-10-21", "held"),
        line("2025-10-20", "held", crop_="okra"),
    )
    assert found["log_held"] == Fact("log_held", count=3, all=4)
    assert "log_held" not in facts(line("2025-10-20", "held", crop_="okra"))


# ------------------------------------------------------------------ lows
STILL, OTHER, UNKNOWN = date(2025, 5, 3), date(2025, 5, 4), date(2025, 5, 5)
MIXED = date(2025, 5, 6)


def lows(reference_c=(-1.3, -0.3, 0.7)):
    """A station at 2 °C after a still, a windy and a mixed night."""
    days = pd.to_datetime([STILL, OTHER, UNKNOWN, MIXED])
    return PredictedLows(
        station_c=pd.Series([2.0, 2.0, np.nan, 2.0], days),
        still_days=frozenset([STILL]),
        mixed_days=frozenset([MIXED]),
        at_bed_c={"A1": -0.5, "A2": 0.25},
        reference_c=Estimate(*reference_c),
        offset_c={"A1": Estimate(-2.0, -1.0, 0.5), "A2": Estimate(0.0, 0.0, 0.0)},
        mixed_share=Estimate(0.1, 0.2, 0.3),
    )


def test_after_a_still_night_a_bed_has_the_stations_low_the_reference_and_its_offset():
    # 2 - 1.3 - 2 = -1.3; 2 - .3 - 1 = .7; 2 + .7 + .5 = 3.2.
    assert lows().on("A1", STILL) == pytest.approx((-1.3, 0.7, 3.2))
    assert lows().on("A2", STILL) == pytest.approx((0.7, 1.7, 2.7))


def test_after_a_mixed_night_a_bed_has_its_height_and_a_part_of_its_offset():
    # 2 - .5 - .3 * 2 = .9; 2 - .5 - .2 * 1 = 1.3; 2 - .5 + .3 * .5 = 1.65.
    assert lows().on("A1", MIXED) == pytest.approx((0.9, 1.3, 1.65))
    assert lows().on("A2", MIXED) == (2.25, 2.25, 2.25)


def test_after_windy_nights_a_bed_has_its_height_alone():
    assert lows().on("A1", OTHER) == (1.5, 1.5, 1.5)
    assert lows().on("A2", OTHER) == (2.25, 2.25, 2.25)


def test_a_morning_without_a_reading_has_no_low():
    assert lows().on("A1", UNKNOWN) is None
    assert lows().on("A1", date(2026, 5, 3)) is None


def weather(still=STILL, low_c=2.0):
    """A May whose nights fall by 5 °C, and one that falls by 15."""
    days = pd.DataFrame(
        {"tmin_c": low_c, "tmax_c": low_c + 5.0},
        index=pd.date_range("2025-05-01", "2025-05-31", name="date"),
    )
    days["tmax_c"] += np.linspace(0, 0.5, len(days))[::-1]
    days.loc[pd.Timestamp(still) - pd.Timedelta(days=1), "tmax_c"] = low_c + 15.0
    return WeatherRecord(days)


def low_of(day, low_c, here, **planned):
    there = replace(here, weather=weather())
    return entry(line(day, "low", crop_="", low_c=low_c), here=there, **planned)


def at_station(elevation_m, longitude=14.0):
    place = {"latitude": 45.0, "longitude": longitude, "elevation_m": elevation_m}
    return site(plane(), {"Home": plot_box(40, 40, 160, 160)}, station=place)


def test_a_station_elsewhere_is_as_much_warmer_as_it_lies_lower_give_or_take_a_degree():
    # Plots at 100 m, the station at 0: -.55 °C. 2 - .55 - 1 - 2, 2 - .55 - 1 and 2 - .55
    # + 1 + .5.
    found = low_of("2025-05-03", 0.4, at_station(0.0))
    assert found.predicted == pytest.approx((-1.55, 0.45, 2.95))
    assert found.difference == pytest.approx(-0.1)  # -.05, to a tenth
    assert found.is_within


def test_a_low_at_an_end_of_its_range_lies_within_it():
    # No station is named: as high as the plots, -1 to +1 °C.
    for low_c, is_within in (
        (-1.01, False),
        (-1.0, True),
        (3.5, True),
        (3.51, False),
    ):
        found = low_of("2025-05-03", low_c, HOME)
        assert found.predicted == pytest.approx((-1.0, 1.0, 3.5))
        assert found.is_within == is_within


def test_a_station_on_the_ground_is_the_reference_itself():
    east, north = HOME.elevation.middles
    middle = (float(np.median(east)), float(np.median(north)))
    longitude, latitude = transformer(HOME.crs, WGS84).transform(*middle)
    place = {"latitude": latitude, "longitude": longitude, "elevation_m": 60.0}
    here = site(plane(), {"Home": plot_box(40, 40, 160, 160)}, station=place)
    assert here.station_cell is not None
    # Offsets are against its own place, so neither height nor spare enters: 2 + offset.
    assert low_of("2025-05-03", 0.0, here).predicted == pytest.approx((0.0, 1.0, 2.5))


def test_what_thermometers_taught_takes_the_place_of_height_and_spare():
    bias = Range(low=-3.0, central=-2.0, high=-1.5)
    learnt = Observed(readings_sha256="0" * 64, clear_calm_nights=12, bias_c=bias)
    here = replace(at_station(0.0), observed=learnt)
    # 2 - 3 - 2, 2 - 2 - 1, 2 - 1.5 + .5.
    assert low_of("2025-05-03", 0.0, here).predicted == pytest.approx((-3.0, -1.0, 1.0))


def test_after_another_night_the_height_of_the_bed_counts():
    # Ground that rises 1 m in 10 m to the east: 110 m in the middle of a bed at 100 m.
    slope = plane(east=0.1)
    beds = (bed("A1", east_m=99.5), bed("A2"))
    found = low_of("2025-05-28", 2.0, at_station(0.0), ground=slope, beds=beds)
    # 5.5 °C per km: .6 °C in 110 m, less half a cell.
    # Without wind the night is mixed, and a valley may lie around: .6, .17 and .6 of -2,
    # -1 and .5.
    by_height_c = 2 - 0.0055 * 110
    expected_c = (by_height_c - 1.2, by_height_c - 0.17, by_height_c + 0.3)
    assert found.predicted == pytest.approx(expected_c, abs=0.003)
    assert found.difference == pytest.approx(0.8)  # 2 - 1.225


def test_lows_without_a_prediction_are_counted_apart():
    unread = line("2026-05-03", "low", low_c=0.0)
    empty = line("2025-05-03", "low", low_c=None)
    good = line("2025-05-03", "low", low_c=1.0)
    out = line("2025-05-03", "low", low_c=-5.0)
    book = (unread, empty, good, good, out)
    found = facts(*book, here=replace(HOME, weather=weather()))
    assert found["log_lows_unknown"] == Fact("log_lows_unknown", count=2, all=5)
    assert found["log_lows_within"] == Fact("log_lows_within", count=2, all=3)
    assert "log_lows_mean" not in found
    known = facts(good, here=replace(HOME, weather=weather()))
    assert "log_lows_unknown" not in known
    lost = facts(unread, here=replace(HOME, weather=weather()))
    assert "log_lows_within" not in lost


def test_from_five_lows_on_their_mean_difference_is_reported():
    # 1 °C is likely: 0, .5, -.5, 1 and -2 off it are -1 / 5 in the mean.
    book = [line("2025-05-03", "low", low_c=1.0 + off) for off in (0, 0.5, -0.5, 1, -2)]
    here = replace(HOME, weather=weather())
    assert facts(*book, here=here)["log_lows_mean"]["difference_c"] == pytest.approx(
        -0.2
    )
    assert "log_lows_mean" not in facts(*book[:4], here=here)
