"""Forty lettuces a week, planned on some years of a record and picked in others.

The record is that of Clemson, South Carolina, as it is and made cooler, as a farm higher
up might have it. The plan knows 1991 to 2005; 2006 to 2020 are played here with nothing of the
planner: degree days by hand, heads that ripen, wait and are picked. Lettuce 0.25 m apart in
rows 0.3 m apart takes 50 to 75 days from seed, of which four weeks in trays save two; it
stands ready for two weeks, and 15 in 100 are lost (all common practice, no source). A day
counts as one where it is 11.4 °C over the base of 4.4 °C (pea, bean and sweet corn are
quoted both ways so, see crops.toml), and in proportion where it is colder.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from clemson import clemson_days
from made_up import NORTH, WEST, analysis, beds_in, means, plane, plot_box, site
from pyproj import Transformer

from fieldmap.decide import crop_plan, ranking
from fieldmap.decide.calendar import planting_dates
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import choose, packaged_crops

HEADS, BEDS, LENGTH_M = 40, 12, 30.0
BASE_C, FULL_C, DAYS_ON_BED, READY, LOST = 4.4, 11.4, (50 + 75) / 2 - 14, 14, 0.15
HOT_C, FROST_C = 27.0, -5.5 + 2.0  # leaves run 2 °C colder than the screen
PLANNED, PLAYED = range(1991, 2006), range(2006, 2021)


@cache
def planned(cooler_c):
    days = clemson_days() - cooler_c
    place = Transformer.from_crs(32633, 4326, always_xy=True)
    longitude, latitude = place.transform(WEST + 100, NORTH - 100)
    home = plot_box(10, 10, 190, 190)
    made = site(
        plane(),
        {"Home": home},
        crops=[
            {"name": "lettuce", "harvest": f"{HEADS} heads a week, January to December"}
        ],
        station={"latitude": latitude, "longitude": longitude, "elevation_m": 100.0},
    )
    known = days[days.index.year <= PLANNED[-1]]
    crops = choose(made.settings.crops, packaged_crops())
    made = replace(made, weather=WeatherRecord(known), crops=crops)
    beds = [bed for bed in beds_in(home, length_m=LENGTH_M) if bed.length_m == LENGTH_M]
    beds = beds[:BEDS]
    light = means(made, analysis(plane(), sun=14.0), beds)
    dates = planting_dates.compute(made, light, beds)
    ranked = ranking.rank(light, beds, made.season, 0.0, dates)
    return days, crop_plan.make(made, ranked, dates)


def year(days, number):
    """(365,) daily minima and maxima, 29 February left out."""
    here = days[days.index.year == number]
    here = here[~((here.index.month == 2) & (here.index.day == 29))].interpolate()
    return here["tmin_c"].to_numpy(), here["tmax_c"].to_numpy()


def growth(tmin, tmax):
    """Summed growth before each day, in days as they are quoted."""
    day = np.clip(((tmin + tmax) / 2 - BASE_C) / FULL_C, 0.0, 1.0)
    return np.concatenate([[0.0], np.cumsum(day)])


def ripe(grown, start):
    """First day on which what began on a day is ripe, None where it is not that year."""
    done = np.flatnonzero(grown - grown[start - 1] >= DAYS_ON_BED)
    return int(done[0]) + 1 if len(done) else None


def picked_by_week(stays, grown, weeks):
    """Heads picked in each week, the ripest first, forty at most."""
    lots = []
    for stay in stays:
        first = ripe(grown, stay.from_day)
        if first is not None:
            per_m = 3 / 0.25  # rows and distance on 75 cm
            lots.append([first, stay.part.length_m * per_m * (1 - LOST)])
    lots.sort()
    found = []
    for begins, ends in weeks:
        got = 0.0
        for day in range(begins, ends + 1):
            for lot in lots:
                if lot[0] <= day < lot[0] + READY:
                    take = min(lot[1], HEADS - got)
                    lot[1], got = lot[1] - take, got + take
        found.append(got)
    return found


def possible_weeks(days):
    """Weeks that the years of the plan allow: warm ground, frost and heat.

    Out from the first week whose mean is 5 °C in the usual year; picked from then on as it
    ripens in the usual year, until half of the years have had a killing frost, and not in
    weeks with more days over 27 °C than under.
    """
    tables = [year(days, number) for number in PLANNED]
    tmin, tmax = (np.array([each[at] for each in tables]) for at in (0, 1))
    usual = (tmin + tmax).mean(axis=0) / 2
    week_mean = np.convolve(usual, np.ones(7) / 7, mode="valid")  # from each day on
    out = int(np.flatnonzero(week_mean >= 5.0)[0]) + 7
    first = ripe(growth(usual, usual), out)
    frosts = [np.flatnonzero(each[200:] <= FROST_C) for each in tmin]
    ends = np.median([each[0] + 200 if len(each) else 365 for each in frosts])
    hot = (tmax > HOT_C).mean(axis=0)
    return [
        (begins, begins + 6)
        for begins in range(1, 359, 7)
        if begins >= first
        and begins + 6 <= ends
        and hot[begins - 1 : begins + 6].mean() <= 0.5
    ]


@pytest.mark.parametrize("cooler_c", [0.0, 3.0, 6.0])
def test_forty_heads_come_in_weeks_of_years_that_the_plan_never_saw(cooler_c):
    days, plan = planned(cooler_c)
    weeks = possible_weeks(days)
    near = []
    for number in PLAYED:
        got = picked_by_week(plan.stays, growth(*year(days, number)), weeks)
        near += [abs(each - HEADS) <= 0.2 * HEADS for each in got]
    assert np.mean(near) >= 0.85


@pytest.mark.parametrize("cooler_c", [0.0, 3.0, 6.0])
def test_nearly_all_weeks_that_are_possible_are_planned(cooler_c):
    """Frost of spring keeps it in two or three weeks longer than the mean alone."""
    days, plan = planned(cooler_c)
    possible = possible_weeks(days)
    have = {stay.picked for stay in plan.stays}
    assert len(possible) > 10
    assert np.mean([week in have for week in possible]) >= 0.85
    # And what is not planned is said, with a reason.
    assert all(fact.kind == "weeks_short" for fact in plan.short)


@pytest.mark.parametrize("cooler_c", [0.0, 3.0, 6.0])
def test_no_metre_bears_two_sowings_at_once_nor_lettuce_after_lettuce(cooler_c):
    _, plan = planned(cooler_c)
    assert len({stay.bed for stay in plan.stays}) <= BEDS
    for number, one in enumerate(plan.stays):
        assert one.part.start_m >= 0
        assert one.part.end_m <= LENGTH_M
        # 40 / 0.85 = 47.06 plants, 12 on a metre: 3.92 m.
        assert one.part.length_m == 4.0
        for other in plan.stays[number + 1 :]:
            apart = (
                one.part.end_m <= other.part.start_m
                or other.part.end_m <= one.part.start_m
            )
            assert one.bed != other.bed or apart


@pytest.mark.parametrize("cooler_c", [0.0, 3.0, 6.0])
def test_no_sowing_ends_before_it_is_ripe(cooler_c):
    """In the usual year of the record, by its own sums; a day either way is rounding."""
    days, plan = planned(cooler_c)
    tables = [year(days, number) for number in PLANNED]
    usual = np.mean([(low + high) / 2 for low, high in tables], axis=0)
    grown = growth(usual, usual)
    for stay in plan.stays:
        first = ripe(grown, stay.from_day)
        assert abs(first - stay.harvest_day) <= 1
        assert first <= stay.picked[0] + 4
        assert stay.picked[1] <= stay.to_day
