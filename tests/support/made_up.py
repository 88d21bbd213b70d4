"""Made-up sites and analyses: planes and boxes whose answers are known beforehand."""

import hashlib
import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pyproj
import pytest
import shapely
from rasterio.transform import from_origin
from shapely.geometry import box

from fieldmap.analyse import analyse
from fieldmap.analyse.bed_means import bed_means
from fieldmap.analyse.cold_air.flow import Night
from fieldmap.analyse.cold_air.ground import FlowGround
from fieldmap.analyse.fields import (
    Analysis,
    ColdAirFields,
    LightFields,
    TerrainFields,
)
from fieldmap.analyse.light.shade import Shade
from fieldmap.analyse.light.sky import Sky
from fieldmap.analyse.light.standing_things import standing_things
from fieldmap.cache import Store
from fieldmap.decide.layout import beds, free_ground
from fieldmap.decide.layout.bays import blocks, lengths, walk
from fieldmap.model.raster import Raster
from fieldmap.model.settings import Beds, Settings, Sun
from fieldmap.model.site import Site, WeatherRecord
from fieldmap.show.text import sentence
from layers import sunlight, terrain

CRS = pyproj.CRS(32633)
WEST, NORTH = 500000.0, 5000200.0
# A file in the way of its folder: all is computed anew.
NOTHING_KEPT = Store(Path(__file__))


class InMemory(Store):
    """Results of the tests of a process: what went in before is not computed again."""

    def reuse(self, stage, inputs, compute, awaited=lambda: None):
        digest = hashlib.sha256(stage.encode())
        for name in sorted(inputs):
            value = inputs[name]
            digest.update(f"\n{name}=".encode())
            if isinstance(value, np.ndarray):
                digest.update(f"{value.dtype}{value.shape}".encode())
                digest.update(np.ascontiguousarray(value).data)
            else:
                digest.update(json.dumps(value, sort_keys=True).encode())
        key = digest.digest()
        if key not in _IN_MEMORY:
            _IN_MEMORY[key] = compute()
        return {name: each.copy() for name, each in _IN_MEMORY[key].items()}


_IN_MEMORY = {}
IN_MEMORY = InMemory(Path(__file__))


def quietly(step):
    """Progress that nobody sees."""


def raster(values, cell_size_m=1.0):
    """Values on cells that begin at a round corner of UTM zone 33."""
    transform = from_origin(WEST, NORTH, cell_size_m, cell_size_m)
    return Raster(np.asarray(values, float), transform, CRS)


def plane(rows=200, cols=200, east=0.0, north=0.0, cell_size_m=1.0):
    """Ground that rises by `east` and `north` metres per metre towards the east and north."""
    y, x = np.mgrid[0:rows, 0:cols] * cell_size_m
    return raster(100 + east * x - north * y, cell_size_m)


def surroundings(*records):
    """A table from (kind, geometry, more columns) records."""
    blank = {
        "name": "thing",
        "height_m": np.nan,
        "porosity": np.nan,
        "clear_stem_m": np.nan,
        "leaf": None,
    }
    rows = [
        blank | {"kind": kind, "geometry": geometry} | more
        for kind, geometry, more in records
    ]
    columns = [*blank, "kind", "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=CRS)


def plot_box(west_m, south_m, east_m, north_m):
    """An outline in metres from the south-west corner of a 200 m square of cells."""
    south = NORTH - 200
    return box(WEST + west_m, south + south_m, WEST + east_m, south + north_m)


def site(elevation, plots, around=None, latitude=45.0, **choices):
    """A site on made-up ground; `plots` maps names to outlines."""
    table = gpd.GeoDataFrame(
        {
            "name": list(plots),
            "ground": None,
            "soil": None,
            "wet_in_march": None,
            "first_worked": None,
            "bearing_deg": None,
            "geometry": list(plots.values()),
        },
        geometry="geometry",
        crs=CRS,
    )
    days = pd.DataFrame(
        {"tmin_c": 1.0, "tmax_c": 9.0},
        index=pd.date_range("2020-01-01", "2021-12-31", name="date"),
    )
    return Site(
        folder=Path("made-up"),
        settings=Settings.model_validate({"name": "made up", **choices}),
        plots=table,
        surroundings=surroundings() if around is None else around,
        elevation=elevation,
        weather=WeatherRecord(days),
        latitude=latitude,
        longitude=15.0,
        time_zone="Europe/Vienna",
        convergence_deg=0.0,
        input_hashes={"plots.geojson": "0" * 64},
    )


def night(depths_m, east_m2_s=0.0, north_m2_s=0.0, hours=1.0):
    """The end of a night with these depths, by run, and this flux; no frames kept."""
    shape = depths_m.shape
    level = depths_m.with_values(np.zeros(shape[-2:]))
    return Night(
        depths_m=depths_m,
        east_m2_s=np.broadcast_to(east_m2_s, shape).astype(float),
        north_m2_s=np.broadcast_to(north_m2_s, shape).astype(float),
        frames_m=np.empty((0, *shape), np.float32),
        frames_h=(),
        length_h=hours,
        hours=hours,
        steady=True,
        ground=FlowGround(level, level.values > 0, level, None),
    )


def analysed(site):
    """The whole analysis of a site."""
    return analyse(site, IN_MEMORY, quietly)


def analysed_in_the_dark(site):
    """The whole analysis of a site but its light, which takes longest: only its skyline."""

    def unlit(stands, *_asked):
        return SimpleNamespace(shade=stands)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("fieldmap.analyse._lit", unlit)
        return analysed(site)


def analysis(elevation, sun=10.0, offset_c=0.0):
    """An analysis with given light and offset: numbers or grids."""
    shape = elevation.shape
    full = np.broadcast_to
    heights_m = elevation.values.astype(float)
    east, north = terrain.gradient(heights_m, elevation.cell_size_m)

    def months(value):
        return elevation.with_values(full(np.asarray(value, float), (12, *shape)))

    return Analysis(
        terrain=TerrainFields(
            elevation_m=elevation,
            smooth_m=elevation,
            east=elevation.with_values(east),
            north=elevation.with_values(north),
            slope_deg=elevation.with_values(np.full(shape, 1.0)),
            aspect_deg=elevation.with_values(np.full(shape, 180.0)),
        ),
        light=LightFields(
            sky_view=elevation.with_values(np.ones(shape)),
            beam_mj_m2_day=months(sun),
            sky_mj_m2_day=months(0.0),
            reflected_mj_m2_day=months(0.0),
            direct_hours=months(8.0),
            morning_share=months(0.5),
            level_sun_mj_m2_day=months(sun),
            shade=Shade(
                standing_things(surroundings(), southern=False),
                elevation,
                elevation.with_values(east),
                elevation.with_values(north),
                elevation.with_values(np.zeros((36, *shape), np.float32)),
                Sky(sunlight.Place(45.0, 15.0, 100.0, 0.0), Sun(), None),
            ),
            open_light={},
            sky="clear sky",
        ),
        cold_air=ColdAirFields(
            depth_m=elevation.with_values(np.zeros(shape)),
            answers_c=elevation.with_values(
                np.stack([full(offset_c, shape) + part for part in (0.5, 0.0, -0.5)])
            ),
            central_answer=1,
            offset_c=elevation.with_values(
                np.stack([full(offset_c, shape) + part for part in (-0.5, 0.0, 0.5)])
            ),
            reference_c=(),
            astray_c=elevation.with_values(np.zeros(shape)),
            night=None,
            seen_c=elevation.with_values(np.zeros(shape)),
            has_signal=elevation.with_values(np.ones(shape, bool)),
            hollow_depth_m=elevation.with_values(np.zeros(shape)),
            cold_pool_class=elevation.with_values(np.zeros(shape)),
        ),
        wetness_index=elevation.with_values(np.full(shape, 7.0)),
        wind_share=elevation.with_values(np.ones((3, *shape))),
        remarks=(),
    )


def means(site, analysis, beds):
    """What beds get of an analysis, beside the plots of a site."""
    outlines = [bed.outline for bed in beds]
    return bed_means(analysis, outlines, site.plots.geometry, NOTHING_KEPT)


def beds_in(outline, obstacles=(), plot="Home", letter="A", turn_deg=0.0, **choices):
    """Beds of a plot on level ground at the chosen bearing, or else along its long side.

    As long as their rows, unless a length is chosen.
    """
    chosen = Beds(**{"any_length": "length_m" not in choices} | choices)
    if chosen.bearing_deg is None:
        grid_deg = beds.long_side_deg(outline)
    else:
        grid_deg = (chosen.bearing_deg - turn_deg) % 180.0
    free = free_ground.within_setback(outline, chosen).difference(
        shapely.union_all(list(obstacles))
    )
    piece = blocks.piece(free, grid_deg, np.zeros(1), chosen)
    (tried, *_) = lengths.wished(chosen, "metric")
    start = walk.entry(surroundings(), outline)
    laid = blocks.lay_blocks([piece], tried, chosen, start, level)
    return blocks.name_beds(plot, letter, laid, chosen, turn_deg)


def level(east, north):
    """Rises of level ground."""
    return np.zeros_like(east), np.zeros_like(north)


def with_light(analysis, **fields):
    """The same analysis with other rasters of light."""
    return replace(analysis, light=replace(analysis.light, **fields))


def with_cold_air(analysis, **fields):
    """The same analysis with other rasters of cold air."""
    return replace(analysis, cold_air=replace(analysis.cold_air, **fields))


def say_all(facts, units="metric"):
    """The sentences of facts."""
    return sentence.say_all(facts, units)
