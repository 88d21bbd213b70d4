"""Air on the beds, the walk past them, and what one has for it, worked by hand."""

import math
from dataclasses import replace
from types import SimpleNamespace

import geopandas as gpd
import pytest
from made_up import CRS, NORTH, WEST, plane, plot_box, site
from made_up_evening import AT_PLANT, AT_SCREEN, bed, round_of
from shapely.geometry import Point, box

from fieldmap.decide.tonight.evening_round import evening_round, walking_order
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.observed import Observed, Range
from fieldmap.model.settings import TunnelSize


# ------------------------------------------------------------------ air on the beds
def air(round_, low_c, sky="clear", wind="calm"):
    forecast = Forecast(low_c, sky, wind)
    return [*map(tuple, round_.airs(forecast).values())]


COLD = ("A1", (-2.0, -1.0, 0.5))


def test_on_a_still_night_a_bed_has_the_height_of_the_reference_and_its_offset():
    # 3 - .55 - 2 - 1 = -.55 at worst and 3 - .55 - 1 = 1.45 likely, to a tenth; the
    # height of the bed itself lies in its offset.
    here = round_of(bed(*COLD), heights_c=[-9.0], reference_c=-0.55, spare_c=1.0)
    assert air(here, 3.0) == [
        (pytest.approx(-0.55, abs=0.051), pytest.approx(1.45, abs=0.051))
    ]
    assert all(round(value, 1) == value for value in air(here, 3.0)[0])


def test_what_thermometers_taught_stands_for_height_and_spare():
    # 3 - 2.5 - 2 = -1.5; 3 - 1.5 - 1 = .5.
    taught = round_of(
        bed(*COLD), reference_c=-0.55, spare_c=1.0, bias_c=Estimate(-2.5, -1.5, -0.5)
    )
    assert air(taught, 3.0) == [(-1.5, 0.5)]


def test_under_cloud_a_bed_has_its_own_height_and_a_part_of_its_offset():
    """3 - .3 - .3 * 2 = 2.1 at worst and 3 - .3 - .2 * 1 = 2.5 likely."""
    bias_c = Estimate(-2.5, -1.5, -0.5)
    more = {"reference_c": -0.55, "spare_c": 1.0, "bias_c": bias_c}
    assert air(round_of(bed(*COLD), heights_c=[-0.3], **more), 3.0, "cloudy") == [
        (2.1, 2.5)
    ]
    # Of a warm bed the least part is the worst: 3 + .1 * 1 and 3 + .2 * 2.
    assert air(round_of(bed("A2", (1.0, 2.0, 3.0))), 3.0, "cloudy") == [(3.1, 3.4)]


def test_in_wind_a_bed_has_its_own_height_and_no_range():
    here = round_of(
        bed(*COLD),
        heights_c=[-0.3],
        reference_c=-0.55,
        spare_c=1.0,
        bias_c=Estimate(-2.5, -1.5, -0.5),
    )
    for sky in ("cloudy", "clear"):
        assert air(here, 3.0, sky, "windy") == [(2.7, 2.7)]


# ------------------------------------------------------------------ the walk
def strip(name, west_m, plot="Home"):
    return bed(name, plot=plot, outline=box(west_m, 0, west_m + 1, 10))


def walked(beds, plots, *gates):
    """Names of the beds in walking order, with their way to the nearest gate."""
    points = gpd.GeoSeries([Point(east, 5) for east in gates])
    order = walking_order(beds, plots, points)
    return [(beds[place].bed.name, way_m) for place, way_m in order]


def test_beds_are_met_by_their_way_from_the_gate():
    """Beds from 0 to 1, 2 to 3 and 4 to 5 m east."""
    beds = [strip("A1", 0), strip("A2", 2), strip("A3", 4)]
    assert walked(beds, ["Home"], 10) == [("A3", 5.0), ("A2", 7.0), ("A1", 9.0)]
    assert walked(beds, ["Home"], -10) == [("A1", 10.0), ("A2", 12.0), ("A3", 14.0)]
    # Between them: a quarter of a metre to A1 and to A2; as far keeps its order.
    assert walked(beds, ["Home"], 1.5) == [("A1", 0.5), ("A2", 0.5), ("A3", 2.5)]
    # The nearest of several gates counts: a gate on a bed is no way at all.
    assert walked(beds, ["Home"], -10, 4.5) == [("A3", 0.0), ("A2", 1.5), ("A1", 3.5)]


def test_plots_come_by_their_nearest_bed_and_those_without_beds_not():
    beds = [
        strip("A1", 0),
        strip("B1", 20, "Field"),
        strip("A2", 2),
        strip("B2", 22, "Field"),
    ]
    names = [name for name, _way in walked(beds, ["Home", "Bare", "Field"], 30)]
    assert names == ["B2", "B1", "A2", "A1"]
    names = [name for name, _way in walked(beds, ["Home", "Bare", "Field"], -1)]
    assert names == ["A1", "A2", "B1", "B2"]


def test_without_a_gate_the_order_of_plots_and_beds_stands_and_no_way_is_known():
    beds = [strip("A1", 0), strip("B1", 20, "Field"), strip("A2", 2)]
    order = walked(beds, ["Field", "Home"])
    assert [name for name, _way in order] == ["B1", "A1", "A2"]
    assert all(math.isnan(way_m) for _name, way_m in order)


# ------------------------------------------------------------------ the round
SLOPE = plane(east=0.1)  # 100 m in the west, 1 m higher with every 10 m to the east
HOME = plot_box(40, 40, 160, 160)


def farm(station=None, owned=(), chosen=(None, None), observed=None):
    """A site on the slope with two crops; its plots' middle is at 110 m."""
    made = site(
        SLOPE,
        {"Home": HOME},
        station=station,
        crops=[
            {"name": name, "covers": covers}
            for name, covers in zip(("leaf", "hut"), chosen, strict=True)
        ],
        covers=[{"kind": kind, "width_m": 2.0, "length_m": m} for kind, m in owned],
    )
    return replace(made, crops=(AT_PLANT, AT_SCREEN), observed=observed)


def at_east(name, east_m):
    """A bed whose middle lies so far east, at 100 m and a tenth of that."""
    west, south = WEST + east_m - 5, NORTH - 100
    return bed(name, outline=box(west, south, west + 10, south + 1))


AWAY = {"latitude": 45.0, "longitude": 14.0, "elevation_m": 10.0}


def test_each_bed_has_its_own_height_and_the_reference_that_of_the_middle():
    # Station at 10 m; middle at 110: 5.5 °C per km are .55 °C. Beds at 105 and 114.
    found = evening_round(farm(AWAY), [at_east("A1", 50), at_east("A2", 140)])
    assert [stop.height_c for stop in found.stops] == pytest.approx(
        [-0.0055 * 95, -0.0055 * 104], abs=0.001
    )
    assert found.reference_c == pytest.approx(-0.55, abs=0.001)
    assert (found.spare_c, found.bias_c) == (1.0, None)
    assert found.of_station == (Fact("tonight_elsewhere", degrees_c=1.0),)


def test_a_station_of_unknown_height_stands_as_high_as_the_middle():
    found = evening_round(farm(), [at_east("A1", 50)])
    assert [stop.height_c for stop in found.stops] == pytest.approx(
        [0.0055 * 5], abs=0.001
    )
    assert found.reference_c == pytest.approx(0.0, abs=1e-9)
    assert found.of_station == (Fact("tonight_height_unknown"),)


def test_a_station_on_the_ground_is_the_reference():
    longitude, latitude = transformer(CRS, WGS84).transform(WEST + 100, NORTH - 100)
    here = {"latitude": latitude, "longitude": longitude, "elevation_m": 10.0}
    found = evening_round(farm(here), [at_east("A1", 50)])
    assert (found.reference_c, found.spare_c, found.of_station) == (0.0, 0.0, ())


def test_what_thermometers_taught_is_taken_along():
    bias = Range(low=-3.0, central=-2.0, high=-1.0)
    learnt = Observed(readings_sha256="0" * 64, clear_calm_nights=12, bias_c=bias)
    found = evening_round(farm(AWAY, observed=learnt), [at_east("A1", 50)])
    assert found.bias_c == (-3.0, -2.0, -1.0)
    assert (found.spare_c, found.of_station) == (0.0, ())


def test_beds_inside_a_tunnel_come_after_those_of_the_plan_and_are_no_neighbours():
    """6 m less .3 on each side are 5.4: three beds of .75 m with paths of .6 are 3.45, four
    4.8, five 6.15."""
    cold = Estimate(-1.0, -0.5, 0.0)
    west, south = WEST + 60, NORTH - 100
    tunnel = SimpleNamespace(
        name="T",
        plot="Home",
        outline=box(west, south, west + 6, south + 20),
        size=TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0),
        bearing_deg=0.0,
        offset_c=cold,
    )
    made = farm(AWAY)
    beds = made.settings.beds.model_copy(
        update={"bed_width_m": 0.75, "path_width_m": 0.6}
    )
    made = replace(made, settings=made.settings.model_copy(update={"beds": beds}))
    found = evening_round(made, [at_east("A1", 50)], [tunnel])
    inside = [stop for stop in found.stops if stop.tunnel]
    assert [stop.ranked.bed.name for stop in inside] == ["T/1", "T/2", "T/3", "T/4"]
    assert found.plan_order == ("A1", "", "T/1", "T/2", "T/3", "T/4")
    assert found.paths_m == (None,) * 5
    assert {stop.ranked.offset_c for stop in inside} == {cold}
    assert found.has_tunnels


def test_each_crop_has_the_covers_chosen_for_it():
    owned = [("light_fabric", 30.0), ("medium_fabric", 10.0), ("light_fabric", 12.5)]
    found = evening_round(farm(owned=owned, chosen=(["medium_fabric"], None)), [])
    assert [cover.length_m for cover in found.owned] == [30.0, 10.0, 12.5]
    assert found.covers_of == {
        "leaf": ("medium_fabric",),
        "hut": ("light_fabric", "medium_fabric"),
    }


def test_crops_that_nobody_listed_may_have_every_cover():
    made = site(
        SLOPE,
        {"Home": HOME},
        covers=[{"kind": "light_fabric", "width_m": 2.0, "length_m": 9.0}],
    )
    found = evening_round(replace(made, crops=(AT_PLANT, AT_SCREEN)), [])
    assert set(found.covers_of.values()) == {("light_fabric",)}
