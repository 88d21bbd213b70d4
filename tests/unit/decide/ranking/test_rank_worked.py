"""All that is said of a bed's place, on three beds with round numbers."""

from types import SimpleNamespace

import numpy as np
import pytest
from shapely.geometry import box

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.ranking import rank
from fieldmap.decide.ranking.groups import BETWEEN, FIRST, LAST, SAME
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH, SOUTH

BEDS = [
    Bed(name, "Home", box(0, 0, 10, 1), 10.0, 1.0, 90.0) for name in ("A1", "A2", "A3")
]
MARCH, JULY, OCTOBER, JANUARY, APRIL, SEPTEMBER = 2, 6, 9, 0, 3, 8


def means(offset_c=(0.0, 0.0, 0.0), **sun):
    """Three beds of 10 MJ a day in all months but those that are given."""
    months = np.full((12, 3), 10.0)
    for month, values in sun.items():
        months[globals()[month]] = values
    likely = np.array(offset_c)
    return SimpleNamespace(
        offset_c=np.stack([likely - 1.0, likely, likely + np.array([0.0, 3.0, 6.0])]),
        sun_mj_m2_day=months,
        direct_hours=np.arange(36.0).reshape(12, 3),
        morning_share=np.linspace(0, 1, 36).reshape(12, 3),
        slope_deg=np.array([0.0, 45.0, 26.56505]),  # tangents 0, 1 and .5
        east=np.zeros(3),
        north=np.zeros(3),
        water_share=np.array([0.0, 0.5, 1.0]),
        wind_share=np.array([[0.1, 0.2, 0.3], [0.4, 0.5, 0.6], [0.7, 0.8, 0.9]]),
        is_flow_known=False,
        cold_air_m=np.zeros(3),
    )


def dates(early, late, known=True):
    """The same days in all of eleven draws."""

    def draws(days):
        return np.repeat(np.array(days, float)[:, np.newaxis], 11, axis=1)

    return SimpleNamespace(
        known=known,
        early_draws=draws(early),
        late_draws=draws(late),
        nights_decide=np.zeros((3, 11), bool),
        soil_lag_days=np.zeros(3),
        soil_seen_days=np.zeros(3),
    )


def ranked(known, season=NORTH, **more):
    return rank(known, BEDS, season, 0.0, **more)


def places(found, order):
    return [getattr(bed.ranks, order) for bed in found]


def test_without_beds_there_is_no_order():
    assert rank(means(), [], NORTH, 0.0) == []


def test_without_dates_warm_nights_come_first_then_light_of_march_and_october():
    known = means((-0.5, 0.0, 0.0), MARCH=[30, 10, 12], OCTOBER=[30, 12, 10])
    found = ranked(known)
    assert places(found, "early") == [3, 2, 1]
    assert places(found, "late") == [3, 1, 2]
    assert [bed.earliness.group for bed in found] == [LAST, BETWEEN, FIRST]
    assert {bed.earliness.days_after_first for bed in found} == {None}
    assert np.isnan([bed.earliness.among_first_share for bed in found]).all()


def test_in_the_south_the_months_are_september_and_april_and_january():
    known = means(SEPTEMBER=[8, 10, 12], APRIL=[12, 10, 8], JANUARY=[10, 8, 12])
    found = ranked(known, SOUTH)
    assert places(found, "early") == [3, 2, 1]
    assert places(found, "late") == [1, 2, 3]
    assert places(found, "shade") == [2, 3, 1]
    assert places(found, "cool") == [2, 1, 3]
    light = found[0].reasons[0]["first"]
    assert light["month"] == 9


def test_shade_is_wanted_first_where_july_is_brightest_whatever_the_night():
    found = ranked(means((0.0, -2.0, 2.0), JULY=[10, 20, 19.5]))
    assert places(found, "shade") == [3, 1, 1]
    # The other way round 10 is least; 19.5 and 20 lie within a twentieth.
    assert places(found, "cool") == [1, 2, 2]


def test_with_dates_the_earliest_and_the_latest_days_come_first():
    found = ranked(means((9, 0, -9)), dates=dates([120, 110, 100], [280, 300, 290]))
    assert places(found, "early") == [3, 2, 1]
    assert places(found, "late") == [3, 1, 2]
    assert [bed.earliness.group for bed in found] == [LAST, BETWEEN, FIRST]
    assert [bed.earliness.days_after_first for bed in found] == [
        (20.0,) * 3,
        (10.0,) * 3,
        (0.0,) * 3,
    ]
    assert [bed.earliness.among_first_share for bed in found] == [0.0, 0.0, 1.0]
    assert found[0].reasons[0]["days"] == (20.0,) * 3
    assert [bed.reasons[0]["rank"] for bed in found] == [3, 2, 1]


def test_dates_that_are_not_known_order_nothing():
    unknown = dates([120, 110, 100], [280, 300, 290], known=False)
    found = ranked(means((0.0, -0.5, -1.0)), dates=unknown)
    assert places(found, "early") == [1, 2, 3]


def test_a_bed_has_its_own_column_of_every_table():
    (first, second, third) = ranked(means((0.0, -1.0, 1.0), MARCH=[7, 8, 9]))
    assert [bed.bed.name for bed in (first, second, third)] == ["A1", "A2", "A3"]
    assert second.offset_c == (-2.0, -1.0, 2.0)
    assert [bed.slope_percent for bed in (first, second, third)] == pytest.approx(
        [0.0, 100.0, 50.0], abs=1e-4
    )
    assert [bed.water_share for bed in (first, second, third)] == [0.0, 0.5, 1.0]
    assert second.light.sun_mj_m2_day[:3] == (10.0, 10.0, 8.0)
    assert second.light.direct_hours[:2] == (1.0, 4.0)
    assert second.light.morning_share[11] == pytest.approx(34 / 35)
    # The prevailing wind is the first of the three that are known.
    assert [bed.wind_share for bed in (first, second, third)] == [0.1, 0.2, 0.3]


def test_a_bed_tells_how_the_ground_falls_along_it_and_where_to():
    # Rises of 2 % to the east, 3 % to the north, and none. Beds run from west to east.
    known = means()
    known.east, known.north = np.array([0.02, 0.0, 0.0]), np.array([0.0, 0.03, 0.0])
    first, second, third = ranked(known)
    assert first.lie == pytest.approx((2.0, 0.0, 270.0))
    assert second.lie == pytest.approx((0.0, 3.0, 180.0))
    assert third.lie[:2] == pytest.approx((0.0, 0.0))
    assert np.isnan(third.lie.faces_deg)


def test_cautions_stand_before_the_reason():
    mind = [(Fact("mind"),), (), (Fact("mind"), Fact("more"))]
    kinds = [
        [fact.kind for fact in bed.reasons] for bed in ranked(means(), cautions=mind)
    ]
    assert kinds == [
        ["mind", "two_that_matter"],
        ["two_that_matter"],
        ["mind", "more", "two_that_matter"],
    ]
    assert len(ranked(means())[0].reasons) == 1


def test_alike_beds_are_no_real_difference():
    found = ranked(means())
    assert {bed.earliness.group for bed in found} == {SAME}
    assert places(found, "early") == places(found, "cool") == [1, 1, 1]
