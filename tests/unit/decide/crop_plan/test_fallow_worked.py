"""What is sown for the soil, day by day as on a spreadsheet.

Least temperatures of the soil: buckwheat 10 °C (50 °F), oats 3.3 °C (38 °F), rye 1.1 °C
(34 °F), as seed houses print them after "Managing Cover Crops Profitably" (SARE). Six to
eight weeks of buckwheat, eight to twelve of oats, two weeks to break down before a crop,
rye from 15 August: common practice, no source. Rye wants 100 °C days before the cold (180
in °F above 32: Rutgers Cooperative Extension, Salem County). It stands until it is turned in
the spring after, on 15 May at the latest: common practice, no source.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from fieldmap.decide.crop_plan.growing_windows import UsualYear, usual_year
from fieldmap.decide.crop_plan.model import (
    BedPart,
    CoverUse,
    GreenManure,
    Stay,
    left_from_winter,
    with_days_left,
)
from fieldmap.decide.crop_plan.sowings import fallow
from fieldmap.decide.crop_plan.sowings.fallow import Fallow, Season
from fieldmap.model.season_year import NORTH, SOUTH

WHOLE = BedPart(0.0, 20.0)
AUGUST_15, MAY_15 = 227, 135


def season(soil_c=15.0, mean_c=10.0, frost_free=(120, 280)):
    """As warm all year, but for frost."""
    soil = np.broadcast_to(soil_c, 365).astype(float)
    grown = np.concatenate([[0.0], np.cumsum(np.broadcast_to(mean_c, 365))])
    return Season(soil, grown, frost_free, AUGUST_15, MAY_15)


def sown(first, last, here=None, **more):
    found = fallow.sown(Fallow(WHOLE, (first, last), **more), here or season())
    return [(kind.name, *days) for kind, days in found]


def test_a_bed_without_a_crop_bears_oats_then_buckwheat_then_rye():
    """12 weeks are 84 days, 8 weeks 56: oats from day 60 to 143, buckwheat, then rye.

    Nothing is sown before 1 March, day 60, nor the same again right after itself.
    """
    march = season()._replace(spring_from=60)
    assert sown(1, 365, march) == [
        ("oats", 60, 143),
        ("buckwheat", 144, 199),
        ("oats", 200, 283),
        ("winter rye", 284, 365),
    ]


def winter_stay(first, last, part=None):
    return Stay(
        season="winter",
        from_day=first,
        harvest_day=last - 20,
        to_day=last,
        covers=(),
        bed="A1",
        crop="garlic",
        days_by_place=0.0,
        part=part,
    )


def test_what_stood_through_the_winter_stands_there_still():
    """Garlic from day 300 to day 200 of the next year: free from 201 to 299, after it."""
    garlic = winter_stay(300, 565)
    found = list(fallow.fallows([garlic], 20.0, {"garlic": "Alliaceae"}))
    assert found == [Fallow(WHOLE, (201, 299), "Alliaceae", is_followed=True)]
    # On its own metres alone.
    part = winter_stay(300, 565, BedPart(0.0, 5.0))
    spans = {each.part: each.days for each in fallow.fallows([part], 20.0, {})}
    assert spans == {BedPart(0.0, 5.0): (201, 299), BedPart(5.0, 15.0): (1, 365)}
    # What ends with the year leaves nothing.
    ends = winter_stay(300, 365)
    assert [each.days for each in fallow.fallows([ends], 20.0, {})] == [(1, 299)]


@pytest.mark.parametrize(
    ("last", "found"), [(241, [("buckwheat", 200, 241)]), (240, [])]
)
def test_buckwheat_wants_six_weeks(last, found):
    """Days 200 to 241 are 42."""
    assert sown(200, last) == found


def test_two_weeks_before_the_next_crop_are_for_breaking_down():
    """Of 200 to 255 the last 14 are left: 42 days to 241."""
    assert sown(200, 255, is_followed=True) == [("buckwheat", 200, 241)]
    assert sown(200, 254, is_followed=True) == []


def test_frost_ends_buckwheat_and_keeps_it_in():
    """Free of frost from 120 to 280: it begins on 120, and after 239 it is too late."""
    soil = np.full(365, 15.0)
    assert sown(110, 175, season(soil)) == [("oats", 110, 175)]
    assert sown(115, 169, season(soil)) == [("buckwheat", 120, 169)]
    assert sown(239, 300) == [("buckwheat", 239, 280)]
    assert sown(240, 300) == [("oats", 240, 300)]


def test_soil_must_be_warm_enough():
    """At 9.9 °C no buckwheat; from day 100 on 3.3 °C lets oats come up."""
    assert sown(200, 241, season(9.9)) == []
    soil = np.where(np.arange(365) + 1 < 100, 3.2, 3.3)
    assert sown(50, 160, season(soil)) == [("oats", 100, 160)]


def test_rye_is_sown_where_nothing_follows_and_it_still_tillers():
    """1 °C a day: 100 °C days from day 266 to 365 are just enough, from 267 not."""
    cool = season(5.0, mean_c=1.0, frost_free=(120, 150))
    assert sown(266, 365, cool) == [("winter rye", 266, 365)]
    assert sown(267, 365, cool) == []
    assert sown(310, 365, is_followed=True) == []


def test_no_grass_after_sweet_corn():
    assert sown(230, 365, family="Poaceae") == [("buckwheat", 230, 280)]


def of_year(*there, here=None):
    found = fallow.of_metres(there, here or season())
    return [(kind.name, *days) for kind, days in found]


def test_where_rye_stands_from_the_autumn_before_nothing_else_is_sown_in_spring():
    """Lettuce from day 100 to 250: rye from 251 until two weeks before it, 99 - 14 = 85.

    Oats would fit from 1 March, day 60, if they had their eight weeks: with lettuce from
    day 140 on they have, up to day 125, and still the rye stands there, to day 125.
    """
    march = season()._replace(spring_from=60)
    for first, last in ((100, 85), (140, 125)):
        before = Fallow(WHOLE, (1, first - 1), is_followed=True)
        after = Fallow(WHOLE, (251, 365), "Asteraceae")
        assert of_year(before, after, here=march) == [("winter rye", 251, 365 + last)]


def test_rye_is_turned_in_by_the_middle_of_may_and_what_fits_after_it_is_sown():
    """Day 135; 56 days of buckwheat from 136 are up to 191, with oats until the crop.

    Two weeks before day 300 is 285: oats have 84 days, from 192 to 275.
    """
    before = Fallow(WHOLE, (1, 299), is_followed=True)
    after = Fallow(WHOLE, (320, 365))
    assert of_year(before, after) == [
        ("buckwheat", 136, 191),
        ("oats", 192, 275),
        ("winter rye", 320, 365 + 135),
    ]
    # So it goes all the year round where no crop stands.
    assert of_year(Fallow(WHOLE, (1, 365))) == [
        ("buckwheat", 136, 191),
        ("oats", 192, 275),
        ("winter rye", 276, 365 + 135),
    ]


def test_where_rye_came_too_late_oats_are_sown_in_spring():
    """1 °C a day from sowing on day 267 are 99 °C days: no rye (see above), so oats."""
    cool = season(5.0, mean_c=1.0, frost_free=(120, 150))._replace(spring_from=60)
    grown = cool.growth.copy()
    grown[61:] += 100.0  # a warm 1 March
    spring, autumn = (
        Fallow(WHOLE, (1, 200), is_followed=True),
        Fallow(WHOLE, (267, 365)),
    )
    warm = cool._replace(growth=grown)
    assert of_year(spring, autumn, here=warm) == [("oats", 60, 143)]


def test_a_crop_that_comes_within_two_weeks_of_new_year_ends_rye_with_the_year():
    before = Fallow(WHOLE, (1, 14), is_followed=True)
    after = Fallow(WHOLE, (251, 365))
    assert of_year(before, after) == [("winter rye", 251, 365)]
    later = Fallow(WHOLE, (1, 15), is_followed=True)
    assert of_year(later, after) == [("winter rye", 251, 366)]


def test_what_stands_through_the_winter_leaves_no_room_for_rye():
    """Free from day 120, no rye stood there: oats from then on."""
    cold = season(5.0)
    free = Fallow(WHOLE, (120, 250), "Alliaceae", is_followed=True)
    assert of_year(free, here=cold) == [("oats", 120, 203)]


# ------------------------------------------------------------------ what is free
def stay(from_day, to_day, crop="kale", part=None, covers=()):
    return Stay("spring", from_day, to_day, to_day, covers, "A1", crop, 0.0, part=part)


FAMILIES = {"kale": "Brassicaceae"}


def free(*stays):
    return [
        (f.part.start_m, f.part.end_m, *f.days, f.family, f.is_followed)
        for f in fallow.fallows(stays, 20.0, FAMILIES)
    ]


def test_a_bed_is_free_before_between_and_after_its_crops():
    """A cover that lies ahead of a crop takes the bed already."""
    film = (CoverUse("clear_film", 93, 120, 5.0),)
    assert free(stay(100, 150, covers=film), stay(180, 250)) == [
        (0.0, 20.0, 1, 92, "", True),
        (0.0, 20.0, 151, 179, "Brassicaceae", True),
        (0.0, 20.0, 251, 365, "Brassicaceae", False),
    ]
    assert free() == [(0.0, 20.0, 1, 365, "", False)]
    # What stands through the winter leaves nothing after it.
    assert free(stay(1, 470)) == []
    assert free(stay(1, 365)) == []
    assert free(stay(1, 364)) == [(0.0, 20.0, 365, 365, "Brassicaceae", False)]


def test_parts_of_a_bed_are_free_each_in_their_own_time():
    assert free(
        stay(1, 200, part=BedPart(0.0, 4.0)), stay(1, 210, part=BedPart(4.0, 4.0))
    ) == [
        (0.0, 4.0, 201, 365, "Brassicaceae", False),
        (4.0, 8.0, 211, 365, "Brassicaceae", False),
        (8.0, 20.0, 1, 365, "", False),
    ]


def of_bed(*stays):
    found = fallow.of_bed("A1", 20.0, stays, FAMILIES, season())
    return [(g.kind, g.from_day, g.to_day, g.part) for g in found]


def test_metres_side_by_side_that_come_free_within_three_weeks_are_sown_in_one_go():
    """Free from day 301, and 322 or 323: 21 days apart or 22."""
    rest = stay(1, 400, part=BedPart(8.0, 12.0))
    two = stay(1, 300, part=BedPart(0.0, 4.0)), stay(1, 321, part=BedPart(4.0, 4.0))
    assert of_bed(*two, rest) == [("winter rye", 322, 365, BedPart(0.0, 8.0))]
    later = two[0], stay(1, 322, part=BedPart(4.0, 4.0))
    assert of_bed(*later, rest) == [
        ("winter rye", 301, 365, BedPart(0.0, 4.0)),
        ("winter rye", 323, 365, BedPart(4.0, 4.0)),
    ]


def test_metres_that_are_wanted_again_within_three_weeks_of_each_other_stay_together():
    """Both free from 301 on; crops of spring on 100 and 121 leave rye to 85 and 106.

    At 122 it is 107, 22 days later.
    """
    parts = BedPart(0.0, 10.0), BedPart(10.0, 10.0)

    def both(second):
        springs = zip(parts, (100, second), strict=True)
        return of_bed(*(stay(first, 300, part=part) for part, first in springs))

    assert both(121) == [("winter rye", 301, 365 + 85, None)]
    assert both(122) == [
        ("winter rye", 301, 365 + 85, parts[0]),
        ("winter rye", 301, 365 + 107, parts[1]),
    ]


def test_a_whole_bed_is_no_part():
    assert of_bed(stay(1, 300)) == [("winter rye", 301, 365, None)]


def test_bare_in_winter_is_what_neither_crop_nor_green_manure_covers():
    rye = GreenManure("A1", "winter rye", 301, 365, BedPart(0.0, 8.0))
    kale = stay(200, 470, part=BedPart(8.0, 12.0))
    assert not fallow.bare_in_winter(20.0, [rye, kale])
    assert fallow.bare_in_winter(20.0, [rye])
    assert fallow.bare_in_winter(20.0, [rye, stay(200, 364, part=BedPart(8.0, 12.0))])
    assert not fallow.bare_in_winter(20.0, [stay(200, 365)])


@pytest.mark.parametrize(
    ("next_day", "last"),
    [
        (230, 190),  # nothing comes before: day 555 less 365
        (201, 190),
        (190, 189),  # the next crop takes its metres the day after
        (2, 1),
        (1, None),  # taken on New Year's Day: nothing is left from the winter
    ],
)
def test_what_stands_from_the_winter_before_ends_when_it_is_done_or_its_metres_are_taken(
    next_day, last
):
    """Garlic from day 290 to day 555, which is day 190 of the year after."""
    garlic, after = winter_stay(290, 555), winter_stay(next_day, next_day + 30)
    found = dict(left_from_winter([garlic, after]))
    assert found.get(garlic) == last


def test_beds_and_metres_beside_it_do_not_end_what_stands_from_the_winter_before():
    garlic = winter_stay(290, 555, BedPart(0.0, 10.0))
    beside = winter_stay(100, 130, BedPart(10.0, 10.0))
    elsewhere = replace(winter_stay(50, 80), bed="A2")
    found = list(left_from_winter([garlic, beside, elsewhere]))
    assert found == [(garlic, 190)]
    every = list(with_days_left([beside, garlic, elsewhere]))
    assert every == [(beside, 0), (garlic, 190), (elsewhere, 0)]


# ------------------------------------------------------------------ the season
def test_the_season_of_a_record():
    """Frost until 10 May of one year and 20 May of the other, again from 1 and 11 October.

    The middles are 15 May, day 135, and 6 October, day 279: free from 136 to 278. Means
    of 5 °C all year are 6.5 °C of soil, and 365 × 5 °C days.
    """
    index = pd.date_range("2022-01-01", "2023-12-31")
    number = NORTH.numbers(index)
    frost = np.where(
        index.year == 2022,
        (number <= 130) | (number >= 274),
        (number <= 140) | (number >= 284),
    )
    days = pd.DataFrame({"tmin_c": np.where(frost, 0.0, 0.1)}, index=index)
    days["tmax_c"] = 10.0 - days["tmin_c"]
    found = fallow.season_of(usual_year(days, NORTH), days)
    assert found.frost_free == (136, 278)
    assert found.rye_from == AUGUST_15
    assert found.soil_c == pytest.approx(6.5)
    assert found.growth[[0, 365]] == pytest.approx([0.0, 1825.0])


def test_a_frost_of_one_year_in_five_is_not_that_of_the_usual_year():
    """Of five years one has frost, on 31 March and from 27 October: the middle has none."""
    index = pd.date_range("2019-01-01", "2023-12-31")
    number = NORTH.numbers(index)
    frost = (index.year == 2021) & ((number <= 90) | (number >= 300))
    days = pd.DataFrame({"tmin_c": np.where(frost, -1.0, 9.0)}, index=index)
    days["tmax_c"] = 20.0
    assert fallow.season_of(usual_year(days, NORTH), days).frost_free == (1, 365)


def test_nothing_tender_is_sown_where_no_year_is_known():
    index = pd.date_range("2023-05-01", "2023-06-30")
    days = pd.DataFrame({"tmin_c": 5.0, "tmax_c": 15.0}, index=index)
    year = UsualYear(days["tmax_c"], np.full(365, 10.0), NORTH)
    here = fallow.season_of(year, days)
    assert "buckwheat" not in [name for name, *_days in sown(130, 250, here)]


def test_a_year_without_frost_is_free_of_it_and_the_south_has_its_own_august():
    index = pd.date_range("2022-07-01", "2023-06-30")
    days = pd.DataFrame({"tmin_c": 5.0, "tmax_c": 15.0}, index=index)
    year = UsualYear(days["tmax_c"], np.full(365, 10.0), SOUTH)
    found = fallow.season_of(year, days)
    assert found.frost_free == (1, 365)
    # 15 February is the 230th day from 1 July: 184 to the end of December, 31, 15.
    assert found.rye_from == 230
