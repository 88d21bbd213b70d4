"""Seasons of parcels, their order with ties, and what sets each apart."""

from dataclasses import replace

import numpy as np
import pytest
from made_up import NORTH, WEST, plane
from made_up_region import layers
from shapely.geometry import box

from fieldmap.analyse.climatology import Record
from fieldmap.decide.calendar import monte_carlo
from fieldmap.decide.calendar.bed_temperatures import StationAir
from fieldmap.model.estimate import Estimate
from fieldmap.region.parcels import ranking, season
from fieldmap.region.parcels.facts import facts
from layers import freeze
from layers.nights import STILL, WINDY

FROM, YEARS = 2001, 20
MIXED_SHARE = Estimate(0.1, 0.17, 0.24)
KNOWN_AIR = StationAir(300.0, 300.0, None, None, Estimate(0.0, 0.0, 0.0))


def record():
    """Twenty years with a freeze on 1 May and 1 October, and still nights of 1 °C

    on 21 May (day 141) and 11 September (day 254).
    """
    days = np.arange(f"{FROM}-01-01", f"{FROM + YEARS}-01-01", dtype="datetime64[D]")
    when = freeze.calendar(days, southern=False)
    low, kinds = np.full(len(days), 15.0), np.full(len(days), WINDY, np.int8)
    for number, kind, low_c in (
        (121, WINDY, -5.0),
        (141, STILL, 1.0),
        (254, STILL, 1.0),
        (274, WINDY, -5.0),
    ):
        at = when.day_number == number
        low[at], kinds[at] = low_c, kind
    return Record(when, low, low + 8, kinds, True, np.arange(YEARS))


def seasons(offset_c, apart_m=5000.0, height_m=300.0):
    count = offset_c.shape[1]
    place_m = np.stack([np.arange(count) * apart_m, np.zeros(count)], axis=1)
    places = place_m, np.full(count, height_m)
    limit = season.frost(0.0)
    return season.seasons(record(), KNOWN_AIR, offset_c, places, MIXED_SHARE, limit)


def test_drawn_offsets_have_the_range_of_their_layer():
    offset_c = np.array([[-3.0, -1.0], [-2.0, 0.0], [0.0, 0.5]])
    drawn = monte_carlo.sample(np.arange(YEARS), YEARS, resample=True)
    found = season.drawn_offsets_c(offset_c, np.array([[0.0, 0], [9e3, 0]]), drawn)
    ends = monte_carlo.percentiles(found.T)
    assert ends == pytest.approx(offset_c, abs=0.4)  # of 200 draws


def test_near_parcels_share_what_terrain_does_not_tell_and_far_ones_do_not():
    """Correlated as exp(-distance / 100 m); of 1.81 °C of range all is a place's own."""
    offset_c = np.tile([[-0.906], [0.0], [0.906]], 2)
    drawn = monte_carlo.sample(np.arange(YEARS), YEARS, resample=True)

    def correlation(apart_m):
        at = np.array([[0.0, 0.0], [apart_m, 0.0]])
        found = season.drawn_offsets_c(offset_c, at, drawn)
        return np.corrcoef(found.T)[0, 1]

    assert correlation(10.0) == pytest.approx(np.exp(-0.1), abs=0.06)
    assert abs(correlation(3000.0)) < 0.2


def test_a_mild_parcel_keeps_the_season_of_its_windy_frosts():
    """1 May (121) to 1 October (274): 153 days; with the still nights 141 to 254, 113."""
    found = seasons(np.array([[2.9, -3.9], [3.0, -3.5], [3.1, -3.4]]))
    mild, cold = found.days[season.USUAL].T
    assert mild == pytest.approx([153, 153, 153])
    assert cold == pytest.approx([113, 113, 113], abs=1)


def test_seasons_are_shorter_the_more_years_are_asked_for():
    found = seasons(np.array([[-2.0], [-1.0], [0.0]]))
    assert (np.diff(found.days[:, 1, 0]) <= 0).all()
    assert (np.diff(found.days, axis=1) >= 0).all()


def test_parcels_that_may_be_either_way_share_a_rank_and_sure_ones_do_not():
    offset_c = np.array(
        [[2.9, -2.0, -2.1, -3.9], [3.0, -1.0, -1.1, -3.5], [3.1, 0.0, -0.1, -3.4]]
    )
    every = parcels(4)
    found = ranking.ranks(every, seasons(offset_c))
    assert found[0] == 1
    assert found[1] == found[2] == 2
    assert found[3] == 4


def test_a_parcel_of_which_too_little_is_known_has_no_rank():
    offset_c = np.array([[2.9, np.nan], [3.0, np.nan], [3.1, np.nan]])
    assert ranking.ranks(parcels(2), seasons(offset_c)) == [1, None]


def test_without_a_season_still_nights_order_in_steps_of_half_a_degree():
    every = parcels(3)
    offset_c = np.array([[-2, -2, -2.0], [-1.0, -0.9, 0.0], [1.0, 1, 1]])
    assert ranking.ranks(replace(every, offset_c=offset_c), None) == [2, 2, 1]


def parcels(count):
    outlines = [box(WEST + 100, NORTH - 200, WEST + 300, NORTH - 100)] * count
    return facts(outlines, layers(plane(1000, 1000, east=0.03)))


def test_what_sets_a_parcel_apart_most_is_named_first():
    every = parcels(3)
    apart = replace(
        every,
        offset_c=np.array([[-4, -2, -2.0], [-3.0, -1.0, -1.0], [1.0, 1, 1]]),
        wet_share=np.array([0.0, 0.5, 0.0]),
    )
    cold, wet, like = ranking.reasons(apart)
    assert [fact.kind for fact in cold] == ["parcel_nights"]
    assert cold[0]["difference_c"] == pytest.approx(-2.0)
    assert [fact.kind for fact in wet] == ["parcel_wet"]
    assert [fact.kind for fact in like] == ["parcel_like_others"]
