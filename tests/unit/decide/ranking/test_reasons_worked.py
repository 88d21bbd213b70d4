"""What makes a bed early or late, in rough days: 5.8 a degree (last spring freeze of
Clemson 1991-2020), and 0.4 × 17 / 0.18 = 37.8 for all the light there is, 0.378 a per
cent; 1 °C is as much as 15 % of the light.
"""

from types import SimpleNamespace

import numpy as np
import pytest

from fieldmap.decide.ranking.reasons import Reasons
from fieldmap.model.fact import Fact

DRAWS = 11


def means(offset_c, sun):
    """Beds by their likely offset and their light of March."""
    count = len(offset_c)
    months = np.full((12, count), 5.0)
    months[2] = sun
    return SimpleNamespace(
        offset_c=np.stack([np.full(count, -9.0), offset_c, np.full(count, 9.0)]),
        sun_mj_m2_day=months,
    )


def dates(days, nights=None, lag=None, seen=None):
    """Days of beds in all draws, and which of them nights decide."""
    count = len(days)
    decide = np.zeros(count, bool) if nights is None else np.array(nights, bool)
    return SimpleNamespace(
        early_draws=np.repeat(np.array(days, float)[:, np.newaxis], DRAWS, axis=1),
        nights_decide=np.repeat(decide[:, np.newaxis], DRAWS, axis=1),
        soil_lag_days=np.zeros(count) if lag is None else np.array(lag, float),
        soil_seen_days=np.zeros(count) if seen is None else np.array(seen, float),
    )


def reason(known, at, dated=None, rank=1, days=None):
    return Reasons.of(known, 2, dated).reason(at, rank, days)


def two(*known, **more):
    """Kinds of the two things that matter."""
    fact = reason(*known, **more)
    return fact["first"].kind, fact["second"].kind


MIDDLE, FIRST = Fact("typical_bed"), Fact("first_bed")


def test_without_dates_beds_are_set_against_the_middle_one():
    # Medians: 0 °C and 10 MJ. The bed: 1 °C colder, 20 % brighter: 5.8 and 7.6 days.
    known = means([-1.0, 0.0, 0.0], [12.0, 10.0, 10.0])
    fact = reason(known, 0, rank=2)
    assert (fact.kind, fact["rank"], fact["days"]) == ("two_that_matter", 2, None)
    light, night = fact["first"], fact["second"]
    assert light == Fact(
        "spring_light_beside", light=pytest.approx(0.2), bed=MIDDLE, month=3
    )
    assert night == Fact("still_nights_differ", difference_c=-1.0, bed=MIDDLE)


@pytest.mark.parametrize(
    ("colder_c", "brighter", "first"),
    [
        # 1 °C is 5.8 days; 15 % of light 5.67, 16 % 6.04.
        (-1.0, 0.15, "still_nights_differ"),
        (-1.0, 0.16, "spring_light_beside"),
        (1.0, -0.15, "still_nights_differ"),
        (1.0, -0.16, "spring_light_beside"),
    ],
)
def test_what_weighs_more_days_stands_first_be_it_for_or_against_the_bed(
    colder_c, brighter, first
):
    known = means([colder_c, 0.0, 0.0], [10 * (1 + brighter), 10.0, 10.0])
    assert two(known, 0)[0] == first


def test_the_month_is_that_of_spring():
    known = means([0.0, 0.0], [10.0, 10.0])
    found = Reasons.of(known, 8, None).reason(0, 1, None)
    light = next(found[k] for k in ("first", "second") if "light" in found[k].kind)
    assert light["month"] == 9


def test_a_night_that_is_shown_alike_is_said_to_be_alike():
    # Against a median of 0: .24 °C is shown as none, .25 as half a degree.
    for offset_c, kind in (
        (-0.24, "still_nights_alike"),
        (-0.25, "still_nights_differ"),
    ):
        known = means([offset_c, 0.0, 0.0], [10.0] * 3)
        assert kind in two(known, 0)


# ------------------------------------------------------------------ with dates
def test_a_later_bed_is_set_against_the_first_and_a_first_one_against_the_middle():
    # First bed 0 °C, 10 MJ; the second -2 °C, 12 MJ; the third -1 °C, 8 MJ. Medians -1
    # and 10.
    known = means([0.0, -2.0, -1.0], [10.0, 12.0, 8.0])
    dated = dates([100, 110, 120], nights=[0, 1, 1])
    first = reason(known, 0, dated)
    assert first["first"] == Fact("still_nights_differ", difference_c=1.0, bed=MIDDLE)
    assert first["second"]["light"] == pytest.approx(0.0)
    third = reason(known, 2, dated)
    assert third["first"] == Fact("still_nights_differ", difference_c=-1.0, bed=FIRST)
    assert third["second"]["light"] == pytest.approx(-0.2)
    assert third["second"]["bed"] == FIRST
    # The first bed need not be the first of the list.
    swapped = dates([120, 110, 100], nights=[1, 1, 0])
    assert reason(known, 0, swapped)["first"]["difference_c"] == pytest.approx(1.0)


def test_what_decides_stands_first_if_it_makes_the_bed_later():
    # 1 °C colder is 5.8 days, 10 % darker 3.8: both later.
    known = means([0.0, -1.0], [10.0, 9.0])
    by_night = dates([100, 110], nights=[0, 1])
    by_soil = dates([100, 110], nights=[0, 0])
    assert two(known, 1, by_night) == ("still_nights_differ", "spring_light_beside")
    assert two(known, 1, by_soil) == ("spring_light_beside", "still_nights_differ")
    # A brighter bed is no later for it: though soil decides, the night stands first.
    brighter = means([0.0, -1.0], [10.0, 11.0])
    assert two(brighter, 1, by_soil)[0] == "still_nights_differ"
    # A warmer one no later for its nights.
    warmer = means([0.0, 1.0], [10.0, 9.0])
    assert two(warmer, 1, by_night)[0] == "spring_light_beside"


@pytest.mark.parametrize(
    ("darker", "first"),
    [
        # Half a day is 1.32 % of the light: .5 / 37.78.
        (0.0130, "still_nights_differ"),
        (0.0134, "spring_light_beside"),
    ],
)
def test_half_a_day_is_the_least_that_makes_a_bed_later(darker, first):
    known = means([0.0, -1.0], [10.0, 10.0 * (1 - darker)])
    assert two(known, 1, dates([100, 110], nights=[0, 0]))[0] == first


def test_soil_is_a_reason_by_the_days_it_is_later_than_that_of_the_first():
    # 10 days of wet ground outweigh 5 % of light, 1.9 days; night decides nothing.
    known = means([0.0, -1.0], [10.0, 9.5])
    dated = dates([100, 110], nights=[0, 0], lag=[0, 10])
    fact = reason(known, 1, dated)
    assert fact["first"] == Fact("soil_wet", days=10.0)
    assert fact["second"].kind == "spring_light_beside"
    # As late as the first bed's it makes nothing later; nor does soil seen to be early.
    same = dates([100, 110], nights=[0, 0], lag=[10, 10])
    assert two(known, 1, same)[0] == "spring_light_beside"
    early = dates([100, 110], nights=[0, 0], seen=[0, 4])
    assert two(known, 1, early) == ("spring_light_beside", "still_nights_differ")


def test_soil_that_was_seen_early_is_a_reason_of_a_first_bed():
    # Three beds; the middle soil is 0: 8 days earlier outweigh half a degree, 2.9 days.
    known = means([0.5, 0.0, 0.0], [10.0] * 3)
    dated = dates([100, 110, 110], seen=[8.0, 0, 0])
    fact = reason(known, 0, dated)
    assert fact["first"] == Fact("soil_seen_early", number=8)
    assert fact["second"].kind == "still_nights_differ"
    # Lag and what was seen are one: 10 days late and 7 early are 3 late, as half a
    # degree is 2.9.
    wet = dates([100, 110, 110], lag=[10.0, 0, 0], seen=[7.0, 0, 0])
    assert two(known, 0, wet) == ("soil_wet", "still_nights_differ")
    wet = dates([100, 110, 110], lag=[10.0, 0, 0], seen=[7.2, 0, 0])
    assert two(known, 0, wet) == ("still_nights_differ", "soil_wet")


def test_a_bed_later_than_one_whose_soil_was_seen_early_says_so():
    # No soil fact of its own; the first bed's is 4 days early. Half a degree warmer makes
    # the bed no later, so the night cannot come first; 4 days outweigh no light at all.
    known = means([0.0, 0.5], [10.0, 10.0])
    fact = reason(known, 1, dates([100, 103], nights=[0, 0], seen=[4, 0]))
    assert fact["first"] == Fact("soil_later_than", number=4, bed=FIRST)
    # .4 days are none.
    assert two(known, 1, dates([100, 103], nights=[0, 0], seen=[0.4, 0]))[0] != (
        "soil_later_than"
    )


def test_a_bed_that_shares_the_first_place_is_set_against_the_middle():
    known = means([0.0, -1.0, -1.0], [10.0] * 3)
    dated = dates([100, 101, 110], nights=[1, 1, 1])
    assert reason(known, 1, dated)["first"]["bed"] == MIDDLE
    assert reason(known, 2, dated)["first"]["bed"] == FIRST


@pytest.mark.parametrize(
    ("lag_days", "first"), [(0.5, "soil_clay"), (0.4, "still_nights_alike")]
)
def test_half_a_day_makes_a_bed_later_and_less_is_none(lag_days, first):
    """Nights decide, but they are alike: what makes it half a day later comes before."""
    known = means([0.0, 0.0], [10.0, 10.0])
    dated = dates([100, 110], nights=[0, 1], lag=[0.0, lag_days])
    assert two(known, 1, dated)[0] == first


@pytest.mark.parametrize(("seen_days", "kinds"), [(0.5, True), (0.4, False)])
def test_half_a_day_that_the_first_bed_is_seen_to_be_early_is_said_of_a_later_one(
    seen_days, kinds
):
    known = means([0.0, 0.0], [10.0, 10.0])
    dated = dates([100, 110], seen=[seen_days, 0.0])
    fact = reason(known, 1, dated)
    soil = Fact("soil_later_than", number=1, bed=FIRST)
    assert (soil in (fact["first"], fact["second"])) is kinds
