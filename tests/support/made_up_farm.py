"""Made-up farms of any number of beds, as the map draws them: a plan is not made."""

import math
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
from made_up import CRS, NORTH, WEST, raster, site, surroundings
from shapely.geometry import LineString, Point, box

from fieldmap.decide.layout.beds import Bed
from fieldmap.show.map.scene import codes, kinds, scene

BEDS_IN_PLOT, BEDS_IN_ROW = 100, 2
LONG_M, WIDE_M, PATH_M, BAY_M, CELL_M = 30.0, 0.75, 0.45, 3.0, 2.0
AROUND_M = 120.0
PATTERNS = ("empty", "growing", "covered", "ready", "ready-covered")


def farm(beds, hectares, **choices):
    """A site of plots in a square on a slope with waves, and their beds."""
    plots = math.ceil(beds / BEDS_IN_PLOT)
    side = math.ceil(math.sqrt(plots))
    apart = math.sqrt(hectares * 1e4) / side
    cells = int((side * apart + 2 * AROUND_M) / CELL_M)
    y, x = np.mgrid[0:cells, 0:cells] * CELL_M
    rough = np.random.default_rng(1).normal(0, 0.03, x.shape)
    heights = 200 - 0.06 * y + 6 * np.sin(x / 130) * np.cos(y / 170) + rough
    outlines, laid = {}, []
    for plot in range(plots):
        west = WEST + AROUND_M + apart * (plot % side)
        north = NORTH - AROUND_M - apart * (plot // side)
        deep = BEDS_IN_PLOT / BEDS_IN_ROW * (WIDE_M + PATH_M) + 2
        wide = BEDS_IN_ROW * (LONG_M + BAY_M) + 2
        outlines[f"Plot {plot + 1}"] = box(west, north - deep, west + wide, north)
        for number in range(min(BEDS_IN_PLOT, beds - plot * BEDS_IN_PLOT)):
            left = west + 1 + (number % BEDS_IN_ROW) * (LONG_M + BAY_M)
            top = north - 1 - (number // BEDS_IN_ROW) * (WIDE_M + PATH_M)
            strip = box(left, top - WIDE_M, left + LONG_M, top)
            named = f"{plot + 1}-{number + 1}", f"Plot {plot + 1}"
            laid.append(Bed(*named, strip, LONG_M, WIDE_M, 90.0))
    return site(
        raster(heights, CELL_M), outlines, _around(side * apart), **choices
    ), laid


def _around(wide_m):
    """A hedge above, a line overhead, a brook below, a spruce, a gate and a tap."""
    west, north = WEST + AROUND_M, NORTH - AROUND_M
    below = north - wide_m
    facts = {"height_m": 3.0, "leaf": "deciduous"}
    return surroundings(
        (
            "hedge",
            box(west, north + 20, west + 70, north + 22),
            facts | {"name": "Long Hedge"},
        ),
        (
            "overhead line",
            LineString([(west - 60, north), (west - 20, below)]),
            {"name": "Power Line"},
        ),
        (
            "water",
            box(west - 100, below - 60, west + wide_m + 80, below - 55),
            {"name": "The Brook"},
        ),
        (
            "tree",
            Point(west - 15, north + 10).buffer(3),
            facts | {"name": "Old Spruce", "leaf": "evergreen"},
        ),
        (
            "keep off",
            box(west - 30, north - 50, west - 10, north - 35),
            {"name": "Drain Field"},
        ),
        ("gate", Point(west, north - 30), {"name": "Home Gate"}),
        ("water point", Point(west - 8, north - 20), {"name": "Tap"}),
    )


def scene_of(beds, hectares, low_tunnels=(), **choices):
    """What the drawing of such a farm works with."""
    made, laid = farm(beds, hectares, **choices)
    north, east = np.gradient(made.elevation.values, -CELL_M, CELL_M)
    terrain = SimpleNamespace(
        smooth_m=made.elevation,
        east=made.elevation.with_values(east),
        north=made.elevation.with_values(north),
    )
    nothing = gpd.GeoDataFrame({"behind": [], "behind_kind": []}, geometry=[], crs=CRS)
    none = ("tunnels", "flow_lines", "marks", "what_ifs", "tunnel_choices")
    return scene(
        SimpleNamespace(
            site=made,
            analysis=SimpleNamespace(
                terrain=terrain,
                wetness_index=terrain.smooth_m.with_values(
                    np.full(terrain.smooth_m.shape, 5.0)  # dry
                ),
            ),
            beds=[SimpleNamespace(bed=bed) for bed in laid],
            materials=SimpleNamespace(low_tunnels=low_tunnels),
            stakes=SimpleNamespace(fields=()),
            cold_pockets=nothing,
            **dict.fromkeys(none, ()),
        )
    )


def dates(beds):
    """A question of days along a ramp, with eleven first beds."""
    place = np.round(40 * np.arange(beds) / beds) / 40
    shown = {"kind": "ramp", "ramp": "dates", "codes": codes(place)}
    return {"key": "early", "beds": shown, "outlined": list(range(11))}


def grows(beds):
    """A question of what stands where, seven beds of a kind."""
    names = [PATTERNS[bed // 7 % len(PATTERNS)] for bed in range(beds)]
    shown = {"kind": "pattern", "names": PATTERNS, "codes": kinds(PATTERNS, names)}
    return {"key": "grows", "beds": shown}
