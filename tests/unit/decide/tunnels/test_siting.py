"""Places that a grower would refuse lose to equal ones, with the reasons read out."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from made_up import (
    IN_MEMORY,
    NORTH,
    WEST,
    analysis,
    plane,
    plot_box,
    quietly,
    raster,
    site,
    surroundings,
)
from shapely.geometry import LineString, Point

from fieldmap.decide import tunnels
from fieldmap.decide.tunnels import between, light, search, under_tunnels
from fieldmap.decide.tunnels.model import TunnelPlace
from fieldmap.model.season_year import NORTH as NORTHERN
from fieldmap.model.settings import TunnelSize
from fieldmap.model.site import DRIES_FIRST, PUDDLES, Mark
from fieldmap.show.text.sentence import say_all
from layers import terrain

SIZE = {"length_m": 12.0, "width_m": 4.5, "height_m": 2.4}
SOUTH = NORTH - 200


@pytest.fixture(autouse=True)
def fewer_bearings(monkeypatch):
    """Along the beds, across them and 45° off, which is quicker, and light every 15°."""
    monkeypatch.setattr(search, "BEARING_STEP_DEG", 45.0)
    monkeypatch.setattr(light, "BEARINGS_DEG", tuple(np.arange(0.0, 180.0, 15.0)))


def at(east_m, north_m):
    return Point(WEST + east_m, SOUTH + north_m)


def find(home, known):
    return tunnels.find(home, known, IN_MEMORY, quietly)


def said(place: TunnelPlace):
    return " ".join(say_all(place.reasons, "metric"))


# Two plots with room for one tunnel each, 20 m by 10 m: north-west and south-east.
FAR, NEAR = plot_box(10, 150, 30, 160), plot_box(150, 40, 170, 50)
GATE_AND_WATER = (("gate", at(190, 60), {}), ("water point", at(185, 110), {}))


def far_and_near(plots=("Cold Plot", "Dry Plot"), **choices):
    return site(
        plane(),
        dict(zip(plots, (FAR, NEAR), strict=True)),
        surroundings(*GATE_AND_WATER),
        tunnels=(SIZE,),
        **choices,
    )


def test_wet_clay_far_from_gate_and_water_loses_to_the_equal_dry_place_near_by():
    home = far_and_near()
    wet = home.plots.assign(soil=["clay", "loam"], wet_in_march=[True, None])
    home = replace(home, plots=wet)
    offset_c = np.zeros((200, 200))
    offset_c[:80, :80] = -1.0
    # The wet plot is a little lighter, by less than what decides.
    light = np.full((200, 200), 5.0)
    light[:80, :80] = 5.05
    for answer in (None, "early", "storm-safe", "near"):
        choices = home.settings.model_copy(update={"tunnels_first": answer})
        found = find(
            replace(home, settings=choices), analysis(plane(), light, offset_c)
        )
        (place,) = found.sets[0].places
        assert place.plot == "Dry Plot"
        # The other is beaten in everything that matters, so nobody is shown it.
        assert len(found.sets) == 1
        assert {option.plot for option in found.nondominated} == {"Dry Plot"}
        assert "clay" not in said(place)
        # From about (158, 45): 31.5 and 15 m, 26.5 and 65 m.
        assert "In a straight line it is 35 m to the gate and 70 m to water." in said(
            place
        )


def test_where_only_one_of_two_tunnels_has_room_the_larger_stands():
    """12 m by 5 are 60 m², and 14 m by 4 only 56, though that one is longer."""
    long, large = (
        SIZE | {"length_m": length_m, "width_m": width_m}
        for length_m, width_m in ((14.0, 4.0), (12.0, 5.0))
    )
    found = find(site(plane(), {"Home": FAR}, tunnels=(long, large)), analysis(plane()))
    (place,) = found.sets[0].places
    assert (place.size.length_m, place.size.width_m) == (12.0, 5.0)
    (without,) = found.warnings
    assert (without.kind, without["length_m"]) == ("no_room_for_tunnel", 14.0)


def test_where_there_is_nothing_else_wet_clay_and_a_long_way_are_said():
    home = site(
        plane(),
        {"Cold Plot": FAR},
        surroundings(*GATE_AND_WATER),
        tunnels=(SIZE,),
    )
    home = replace(home, plots=home.plots.assign(soil=["clay"]))
    (place,) = find(home, analysis(plane())).sets[0].places
    assert (
        "On 100 % of the ground under the tunnel there is clay, or it is wet in March"
        in said(place)
    )
    # From about (18, 155) 171.5 m east and 95 m south.
    assert "You carry everything a long way: 196 m to the gate" in said(place)


def test_runoff_is_said_with_the_drain_that_it_needs():
    """A hillside of 6 % falling south; 40 m of it drain over a tunnel along it.

    The plot lies north to south, so the tunnel stands along the fall: its end of 4.5 m
    faces uphill.
    """
    ground = plane(north=0.06)
    home = site(ground, {"Hill": plot_box(90, 60, 100, 80)}, tunnels=(SIZE,))
    (place,) = find(home, analysis(ground)).sets[0].places
    assert place.bearing_deg in (0.0, 90.0)
    assert place.rain.drain_m == 4.5
    assert "Dig a drain 4.5 m long on the uphill side" in said(place)


def test_a_place_near_a_power_line_loses_to_the_equal_free_one():
    """12 m of film and 3 m of clearance: nearer than 15 m counts, 12.7 m does."""
    plot = plot_box(20, 100, 60, 110)
    wire = LineString([(WEST + 9, SOUTH), (WEST + 9, NORTH)])
    line = surroundings(("overhead line", wire, {"height_m": 7.0}))
    (place,) = (
        find(site(plane(), {"Home": plot}, line, tunnels=(SIZE,)), analysis(plane()))
        .sets[0]
        .places
    )
    assert place.line_m >= 15.0 - 1e-6
    assert "overhead line" not in said(place)
    # With room near the line alone: the tunnel from 22.5 to 34.5 m has its end 13.5 m off.
    (place,) = (
        find(
            site(
                plane(), {"Home": plot_box(20, 100, 37.5, 110)}, line, tunnels=(SIZE,)
            ),
            analysis(plane()),
        )
        .sets[0]
        .places
    )
    assert place.line_m == pytest.approx(13.5, abs=0.6)
    assert (
        "the film is longer than that. Tie the film down with two sets of ropes"
        in said(place)
    )


def test_light_that_does_not_decide_takes_no_earth_and_no_storm_on_its_side():
    """North to south on a slope of 14 % and lighter by 1 point; east to west on 4 %.

    Light on the floor is about 70 % of the open light: 5.07 MJ for 5.0 make 71 of it.
    """
    slope, flat = plot_box(20, 80, 30, 100), plot_box(120, 80, 140, 90)
    height = np.fromfunction(
        lambda row, col: 100 + np.where(col < 75, 0.14 * -row, 0.04 * col), (200, 200)
    )
    light = np.full((200, 200), 5.0)
    light[:, :75] = 5.07
    home = site(
        raster(height),
        {"Slope": slope, "Flat": flat},
        tunnels=(SIZE,),
        wind={"storm_from_deg": 270.0},
    )
    (place,) = find(home, analysis(raster(height), light)).sets[0].places
    assert place.plot == "Flat"
    # 12 × 4.5 m at 4 % along: 54 m² · 0.24 m / 4 = 3.2 m³; at 14 % it were 11.3.
    assert place.ground.level_pad_m3 == pytest.approx(3.24, abs=0.1)
    assert "The end of the tunnel is turned towards the storm wind" in said(place)


def test_the_question_that_the_grower_answers_puts_the_places_in_order():
    """The near plot is darker by a fifth: early and near do not agree."""
    light = np.full((200, 200), 5.0)
    light[:, 100:] = 4.0
    known = analysis(plane(), light)
    for answer, plots in (
        ("early", ["Light Plot", "Near Plot"]),
        ("near", ["Near Plot", "Light Plot"]),
    ):
        home = far_and_near(("Light Plot", "Near Plot"), tunnels_first=answer)
        found = find(home, known).sets
        assert [each.places[0].plot for each in found] == plots
        assert [each.letter for each in found] == ["A", "B"]


# ------------------------------------------------------------------ steps of the ground
def terraces(tread_m, riser_m=1.5, up_m=1.2):
    """Level treads that rise to the north, each to the next over a riser; as smoothed."""
    north = 199.5 - np.arange(200)
    number, within = np.divmod(north, tread_m + riser_m)
    climbed = np.clip((within - tread_m) / riser_m, 0, 1)
    raw = np.broadcast_to((100 + up_m * (number + climbed))[:, None], (200, 200))
    smooth = raster(terrain.smoothed(raw.copy(), 1.0, 5.0))
    east, rise = terrain.gradient(smooth.values, 1.0)
    known = analysis(raster(raw))
    ground = replace(
        known.terrain,
        smooth_m=smooth,
        east=smooth.with_values(east),
        north=smooth.with_values(rise),
    )
    return replace(known, terrain=ground)


def test_on_terraces_no_tunnel_stands_over_a_step():
    """Treads of 8 m, risers 1.5 m wide and 1.2 m high: 80 % steep, about 10 smoothed."""
    known = terraces(8.0)
    home = site(
        known.terrain.elevation_m,
        {"Terraces": plot_box(60, 60, 90, 100)},
        tunnels=(SIZE,),
    )
    (place,) = find(home, known).sets[0].places
    _, low, _, high = place.outline.bounds
    (first,) = np.unique(np.floor((np.array([low, high]) - SOUTH) / 9.5))
    # From riser to riser; half a cell of the riser's foot may be under it.
    assert low - SOUTH >= 9.5 * first - 0.5
    assert high - SOUTH <= 9.5 * first + 8.0 + 0.5


def test_on_treads_too_narrow_for_a_tunnel_there_is_no_room():
    known = terraces(3.0)
    home = site(
        known.terrain.elevation_m,
        {"Terraces": plot_box(60, 60, 90, 90)},
        tunnels=(SIZE,),
    )
    found = find(home, known)
    assert found.sets == ()
    assert "No plot has enough room" in say_all(found.warnings, "metric")[0]


def test_a_plain_slope_is_no_step_and_neither_is_the_error_of_the_heights():
    steep = analysis(plane(north=0.35)).terrain
    assert not under_tunnels.steps(steep, None).values.any()
    # 0.5 m up between two rows: 25 % over two metres.
    height = np.full((20, 20), 100.0)
    height[:10] += 0.5
    ground = analysis(raster(height)).terrain
    level = ground.north.with_values(np.zeros((20, 20)))
    ground = replace(ground, north=level)
    found = under_tunnels.steps(ground, None).values
    assert found[9:11, 1:-1].all()
    assert found.sum() == 2 * 18
    # 3 · 0.433 · 0.2 m / 1 m = 26 %: with such heights it is none.
    assert not under_tunnels.steps(ground, 0.2).values.any()


# ------------------------------------------------------------------ wet ground
def test_wet_ground_is_what_the_grower_says_and_where_water_gathers():
    home = site(
        plane(), {"Clay": plot_box(0, 0, 50, 50), "Loam": plot_box(60, 0, 99, 50)}
    )
    home = replace(
        home,
        plots=home.plots.assign(soil=["clay", None]),
        marks=(
            Mark("knoll", DRIES_FIRST, plot_box(0, 0, 10, 10)),
            Mark("pond", PUDDLES, plot_box(5, 5, 8, 8)),
        ),
    )
    known = analysis(plane())
    index = known.wetness_index.values.copy()
    index[:, 150:] = 10.0
    known = replace(known, wetness_index=known.wetness_index.with_values(index))
    wet = under_tunnels.wet_ground(home.plots, home.seen, known.water_gathers)
    east, north = np.array([[20, 2, 6, 70, 160], [20, 2, 6, 20, 100]])
    found = wet.sample(WEST + east, SOUTH + north)
    assert found.tolist() == [1.0, 0.0, 1.0, 0.0, 1.0]


# ------------------------------------------------------------------ shade between tunnels
def two(gap_m):
    """Two tunnels east to west, the second so far south of the first."""
    size = TunnelSize(**SIZE | {"length_m": 30.0})
    first = plot_box(80, 100, 110, 104.5)
    second = plot_box(80, 100 - gap_m - 4.5, 110, 100 - gap_m)
    return [
        SimpleNamespace(name=name, outline=outline, bearing_deg=90.0, size=size)
        for name, outline in (("T1", first), ("T2", second))
    ]


def sky(**more):
    return between.Sky(analysis(plane(), **more).light, NORTHERN, 45.0)


def test_light_lost_to_a_tunnel_is_most_in_december_and_less_farther_off():
    north, south = two(3.0)
    light = sky(sun=12.0)
    lost = between.lost_percent(light, north, south)
    assert lost.argmax() in (0, 11)
    assert lost[5] < lost[11] / 3
    # The southern one has the northern behind its back: skylight alone is lost.
    assert between.lost_percent(light, south, north)[11] < lost[11] / 3
    assert (between.lost_percent(light, *two(8.0)) < lost).all()


def test_shade_between_tunnels_is_said_beside_the_gap_for_the_noon_sun():
    """2.4 m high at 45°: 2.4 · cot 21.56° = 6.07 m, shown as 6.1."""
    places = two(3.0)
    first, _ = between.shade_between(sky(sun=12.0), places)
    (text,) = say_all(first, "metric")
    assert text.startswith(
        "T2 stands 3 m away and makes shade. On level ground, a gap of 6.1 m would let the noon "
        "sun in on 21 December. This tunnel loses part of its light: January "
    )
    assert between.shade_between(sky(), places[:1]) == [()]
