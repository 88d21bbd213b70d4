"""Light of beds beside hedges, walls, barns and trees, against boxes and rays.

The reference in `exact_light` is another computation by other means: sun every five
minutes, boxes cut in three dimensions, the sky in patches. The bars: light within 5 % or
0.1 MJ/m² a day, hours within 0.2. `benchmarks/validation/light_near_things.py` runs all
months, cells and places through whole analyses.
"""

import datetime as dt
from dataclasses import replace
from functools import cache

import exact_light
import numpy as np
import pytest
from exact_light import Box, Plane
from made_up import CRS, NOTHING_KEPT, quietly, surroundings
from rasterio.transform import from_origin
from shapely.geometry import box

from fieldmap.analyse.light import shade
from fieldmap.analyse.light import sky as skies
from fieldmap.analyse.light.shade import Shade
from fieldmap.analyse.light.standing_things import EVERGREEN, standing_things
from fieldmap.model.raster import Raster
from fieldmap.model.settings import Sun
from layers import sunlight

EAST, NORTH = 500123.4, 5000056.7  # of the middle of the thing
AWAY_M = (1.0, 2.0, 3.0, 6.0, 10.0)
BED_M = (10.0, 0.75)
SKY = skies.Sky(sunlight.Place(45.0, 15.0, 100.0, 0.0), Sun(), None)
HEDGE = Box(-40, -0.75, 40, 0.75, 3.0, 0.0, EVERGREEN)
WALL = Box(-40, -0.15, 40, 0.15, 2.0)
BARN = Box(-10, -4, 10, 4, 6.0)
ROW = Box(-40, -2.5, 40, 2.5, 12.0, 4.0, EVERGREEN)
THINGS = {"hedge": HEDGE, "wall": WALL, "barn": BARN, "row": ROW}


def records(boxes):
    for each in boxes:
        leaf = "none" if each.passing in (0.0, 0.64) else "evergreen"
        more = {"height_m": each.top, "clear_stem_m": each.bottom, "leaf": leaf}
        outline = box(
            EAST + each.west, NORTH + each.south, EAST + each.east, NORTH + each.north
        )
        kind = "fence" if leaf == "none" else "trees"
        yield kind, outline, more | {"porosity": each.passing}


LEVEL = Plane()


def stands(boxes, plane=LEVEL, cell_m=1.0):
    """Boxes on a plane known on cells of some size, under its own skyline."""
    count = max(4, round(120 / cell_m))
    transform = from_origin(EAST - 60.3, NORTH + 60.4, cell_m, cell_m)
    easting, northing = Raster(np.zeros((count, count)), transform, CRS).middles
    heights = plane.east * (easting - EAST) + plane.north * (northing - NORTH)
    ground = Raster(100 + heights, transform, CRS)
    toward = np.radians(np.arange(0, 360, 10))
    uphill = plane.east * np.sin(toward) + plane.north * np.cos(toward)
    hidden_deg = np.maximum(np.degrees(np.arctan(uphill)), 0)[:, None, None]
    return Shade(
        standing_things(surroundings(*records(boxes)), southern=False),
        ground,
        ground.with_values(np.full(ground.shape, plane.east)),
        ground.with_values(np.full(ground.shape, plane.north)),
        ground.with_values(
            np.float32(np.broadcast_to(hidden_deg, (36, *ground.shape)))
        ),
        SKY,
    )


def bed_at(away_m, middle_m=0.0):
    """South and west edge of a bed along the thing, so far north of the origin."""
    long, wide = BED_M
    west = middle_m - long / 2
    return box(EAST + west, NORTH + away_m, EAST + west + long, NORTH + away_m + wide)


def of_beds(shade_, beds):
    """Light of beds by parts, as the plan takes it."""
    part = slice(0, 3)
    at = (part, part)
    rise = shade_.east.values[at], shade_.north.values[at]
    hidden = shade_.skyline_deg.clip(at)
    open_light = skies.by_month(SKY, rise, hidden, NOTHING_KEPT, quietly)
    kept = shade.on_beds(shade_, beds, NOTHING_KEPT)
    here = {name: each[..., 1, 1] for name, each in open_light.items()}
    here = {name: each[..., None] for name, each in here.items()}
    return shade.dimmed(here, kept)


def points_of(away_m, middle_m=0.0):
    along = (np.arange(20) + 0.5) / 20 * BED_M[0] - BED_M[0] / 2 + middle_m
    across = (np.arange(5) + 0.5) / 5 * BED_M[1] + away_m
    return np.array([(e, n) for e in along for n in across])


def check(boxes, plane, found, places, months):
    for number, place in enumerate(places):
        points = points_of(*place)
        for month in months:
            beam, hours = exact_light.beam_and_hours(boxes, points, plane, month)
            # Patches of 3° give it within a fiftieth of the bars of what those of 2° give.
            whole = beam + exact_light.sky_light(boxes, points, plane, month, 3.0)
            parts = found["beam_mj_m2_day"] + found["sky_mj_m2_day"]
            near = max(0.05 * whole, 0.1)
            assert parts[month - 1, number] == pytest.approx(whole, abs=near), place
            assert found["direct_hours"][month - 1, number] == pytest.approx(
                hours, abs=0.2
            ), place


@pytest.mark.parametrize("slope", [0.0, 0.1])
@pytest.mark.parametrize("thing", THINGS)
def test_beds_beside_a_thing_get_the_light_that_rays_give_them(thing, slope):
    boxes, plane = [THINGS[thing]], Plane(north=slope)
    places = [(boxes[0].north + away_m,) for away_m in AWAY_M]
    found = of_beds(stands(boxes, plane), [bed_at(*place) for place in places])
    check(boxes, plane, found, places, months=(3, 12))


def test_a_near_row_on_clear_stems_and_a_far_hedge_of_one_leaf_stay_two_things():
    # The low winter sun shines under the crowns, over the hedge 60 m behind.
    hedge = Box(-60, -64, 60, -62.5, 2.0, 0.0, EVERGREEN)
    for boxes in ([ROW, hedge], [ROW, HEDGE._replace(south=-7.0, north=-5.5)]):
        places = [(6.0,), (12.0,)]
        found = of_beds(stands(boxes), [bed_at(*place) for place in places])
        check(boxes, LEVEL, found, places, months=(6, 12))


def test_a_gap_of_4_m_lets_its_sun_through():
    west, east = HEDGE._replace(east=-2.0), HEDGE._replace(west=2.0)
    places = [(1.75, 0.0), (3.75, 0.0), (3.75, 8.0), (6.75, 3.0)]
    found = of_beds(stands([west, east]), [bed_at(*place) for place in places])
    check([west, east], LEVEL, found, places, months=(3, 12))


def test_beds_beside_a_tunnel_lose_what_its_film_keeps():
    tunnel = Box(-10, -3, 10, 3, 3.0, 0.0, 0.64)
    places = [(away_m,) for away_m in (4.0, 6.0, 9.0)]
    found = of_beds(stands([tunnel]), [bed_at(*place) for place in places])
    check([tunnel], LEVEL, found, places, months=(3, 12))


@pytest.mark.parametrize("thing", ["hedge", "barn"])
def test_cells_of_the_elevation_decide_nothing(thing):
    beds = [bed_at(THINGS[thing].north + away_m) for away_m in AWAY_M]
    plane = Plane(0.02, 0.05)
    one, thirty = (
        of_beds(stands([THINGS[thing]], plane, cell_m), beds) for cell_m in (1.0, 30.0)
    )
    for name, values in one.items():
        np.testing.assert_allclose(thirty[name], values, rtol=1e-3, atol=1e-3)


@cache
def at_noon(day):
    """The sun's path of that one minute of a day when it stands highest."""
    path = sunlight.sun_path([dt.date.fromisoformat(day)], SKY.place, 1.0)
    at = slice(*(int(np.argmax(path.altitude_deg)) + np.array([0, 1])))
    names = ("times_utc", "altitude_deg", "azimuth_deg", "before_noon", "month")
    return replace(path, **{name: getattr(path, name)[at] for name in names})


@pytest.mark.parametrize("day", ["2025-03-20", "2025-06-21", "2025-12-21"])
@pytest.mark.parametrize("thing", THINGS)
def test_shade_at_noon_is_as_long_as_trigonometry_says(thing, day):
    each, tangent = THINGS[thing], np.tan(np.radians(exact_light.noon(day)))
    away = np.arange(0.005, 60, 0.01)
    for eighth in range(8):
        moved = each._replace(
            north=each.north + eighth / 8, south=each.south + eighth / 8
        )
        points = np.stack(
            [np.full_like(away, EAST), NORTH + moved.north + away], axis=1
        )
        part = stands([moved], cell_m=30.0).passing(points, at_noon(day))[:, 0]
        shaded = away[part < 1]
        assert shaded.max() == pytest.approx(each.top / tangent, abs=0.02)
        # Under a clear stem the sun comes in past the far side.
        deep = each.north - each.south
        first = max(each.bottom / tangent - deep, 0.0)
        assert shaded.min() == pytest.approx(first, abs=0.02)


def test_mean_of_a_cell_is_the_mean_of_the_points_in_it():
    hedge = stands([HEDGE], cell_m=2.0)
    cells = hedge.east.clip((slice(25, 35), slice(25, 35)))
    kept = shade.on_cells(hedge, cells, NOTHING_KEPT, quietly)
    row, col = 2, 4
    east, north = cells.middle_of(row, col)
    step = (np.arange(20) + 0.5) / 10 - 1
    points = np.array([(east + x, north + y) for x in step for y in step])
    exact = hedge.kept_at(points, 180).mean(axis=2)
    for month in (2, 11):
        for part in (0, 1, 4, 6):
            # A hundredth of what the open ground gets there in March.
            assert kept[part, month, row, col] == pytest.approx(
                exact[part, month], abs=0.15
            )


def test_what_an_evergreen_sends_back_is_a_tenth_of_the_light_on_its_side():
    # Close before an endless hedge half the view is hedge: 1/2 · 0.9 · 0.1 of the light
    # on its north side, which is half the sky and half of what the ground sends.
    endless = Box(-500, -50, 500, 0, 60.0, 0.0, EVERGREEN)
    kept = stands([endless]).kept_at(np.array([[EAST, NORTH + 0.05]]), 180)
    table = SKY.table(36)
    on_side = 0.5 * (table.sky_mj_m2_day + 0.2 * table.global_mj_m2_day)
    sent = kept[shade.PARTS.index("sent"), 11, 0]
    assert sent == pytest.approx(0.5 * 0.9 * 0.1 * on_side[11], rel=0.02)
