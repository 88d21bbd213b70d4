"""Time that 500 parcels take once the layers of a region are there, and their page.

A made-up valley of 5 by 5 km; fine layers of 1 m are made under each parcel as they are
asked for (and not counted), those of nights and water lie in memory at 5 m.

    python benchmarks/bench_parcels.py --parcels 500 --out /tmp/region
"""

import argparse
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import pyproj
import shapely
from rasterio.transform import from_origin
from scipy.spatial import Voronoi

from fieldmap.analyse.climatology import read_record
from fieldmap.decide.calendar.bed_temperatures import StationAir
from fieldmap.model.estimate import Estimate
from fieldmap.model.raster import Raster
from fieldmap.model.season_year import NORTH
from fieldmap.read import door
from fieldmap.read.crops import packaged_crops
from fieldmap.read.weather.files import read_weather
from fieldmap.region.parcels import map_page, ranking, season, tables
from fieldmap.region.parcels.facts import facts
from fieldmap.region.parcels.map_page import Shown
from fieldmap.region.parcels.tables import Chosen
from layers import terrain

CRS = pyproj.CRS(32633)
WEST, SOUTH, SIDE_M = 500_000.0, 5_000_000.0, 5_000.0
DEMO = Path(__file__).parents[1] / "demo_site"
FIELDS = (
    "Acre",
    "Bank",
    "Croft",
    "Down",
    "End",
    "Field",
    "Garth",
    "Holm",
    "Ing",
    "Lea",
)
FIRST = (
    "Kiln",
    "Long",
    "Upper",
    "Mill",
    "Brook",
    "Chapel",
    "Far",
    "Hollow",
    "Sand",
    "Home",
)


def height_m(east, north):
    """A valley that bends, with side valleys and a hill."""
    x, y = (east - WEST) / SIDE_M, (north - SOUTH) / SIDE_M
    river = 0.45 + 0.09 * np.sin(5 * x)
    across = np.abs(y - river)
    side = 12 * np.sin(22 * x + 3 * y) * np.clip(across * 6, 0, 1)
    return 180 + 160 * across**1.4 + side + 6 * np.sin(60 * y) * across + 25 * x


def grid(bounds, cell_m, values):
    west, south, east, north = bounds
    west, north = np.floor(west / cell_m) * cell_m, np.ceil(north / cell_m) * cell_m
    cols, rows = (int(np.ceil(each / cell_m)) for each in (east - west, north - south))
    transform = from_origin(west, north, cell_m, cell_m)
    nothing = Raster(np.zeros((rows, cols), np.float32), transform, CRS)
    return nothing.with_values(values(*nothing.middles))


class Ground:
    """Layers under bounds, made from the height alone; what that takes is not counted."""

    def __init__(self):
        self.made_s = 0.0
        whole = (WEST, SOUTH, WEST + SIDE_M, SOUTH + SIDE_M)
        heights = grid(whole, 5.0, height_m)
        lowest = heights.values - heights.values.min()
        cold = (
            -3.4 * np.exp(-lowest / 30) + 1.0 + 0.4 * np.sin(heights.middles[0] / 400)
        )
        self.heights = heights
        self.wide = {
            "offset_c": heights.with_values(
                np.stack([cold - 1.4, cold, cold + 1.2]).astype(np.float32)
            ),
            "cold_air_m": heights.with_values(np.exp(-lowest / 14) * 8),
            "wetness_index": heights.with_values(11.5 * np.exp(-lowest / 30)),
        }

    def window(self, name, bounds):
        """One layer over bounds."""
        started = time.process_time()
        try:
            if name in self.wide:
                return self.wide[name].clip(self.wide[name].window(bounds))
            ground = grid(bounds, 1.0, height_m)
            if name == "elevation_m":
                return ground
            slope, aspect = terrain.slope_and_aspect_deg(ground.values, 1.0)
            if name == "slope_deg":
                return ground.with_values(np.nan_to_num(slope, nan=np.nanmean(slope)))
            if name == "aspect_deg":
                return ground.with_values(aspect)
            months = np.array([2, 4, 8, 12, 16, 18, 17, 15, 10, 6, 3, 1.5])
            facing = 1 - 0.02 * np.nan_to_num(slope) * np.cos(
                np.radians(np.nan_to_num(aspect))
            )
            return ground.with_values(months[:, None, None] * facing)
        finally:
            self.made_s += time.process_time() - started


def parcels(count):
    rng = np.random.default_rng(4)
    points = rng.uniform(-0.05, 1.05, (int(count * 1.25), 2)) * SIDE_M
    for _ in range(2):
        cells = _cells(points)
        points = np.array([cell.centroid.coords[0] for cell in cells])
    lane = shapely.LineString(
        [
            (x, (0.52 + 0.09 * np.sin(5 * x / SIDE_M)) * SIDE_M)
            for x in np.linspace(0, SIDE_M, 60)
        ]
    ).buffer(8)
    shapes = [cell.buffer(-6).difference(lane) for cell in cells]
    shapes = [
        max(shapely.get_parts(each), key=shapely.area)
        for each in shapes
        if not each.is_empty
    ]
    inside = [
        each for each in shapes if shapely.box(0, 0, SIDE_M, SIDE_M).contains(each)
    ]
    moved = shapely.transform(inside[:count], lambda at: at + np.array([WEST, SOUTH]))
    names = [
        f"{FIRST[at % 10]} {FIELDS[at // 10 % 10]} {at // 100 or ''}".strip()
        for at in range(len(moved))
    ]
    ids = [f"{1000 + at}" for at in range(len(moved))]
    return gpd.GeoDataFrame({"id": ids, "name": names}, geometry=list(moved), crs=CRS)


def _cells(points):
    found = Voronoi(
        np.vstack([points, [(-9e4, -9e4), (9e4, -9e4), (9e4, 9e4), (-9e4, 9e4)]])
    )
    return [
        shapely.Polygon(
            found.vertices[found.regions[found.point_region[at]]]
        ).intersection(shapely.box(-300, -300, SIDE_M + 300, SIDE_M + 300))
        for at in range(len(points))
    ]


def chosen_of(frame, ground, *, with_season=True):
    """All that is known of parcels; prints what each step takes."""
    started, made = time.process_time(), ground.made_s
    found = facts(frame.geometry, ground.window)
    facts_s = time.process_time() - started - (ground.made_s - made)
    print(
        f"facts: {facts_s:.1f} s CPU, {facts_s / len(frame):.4f} a parcel (layers made: {ground.made_s:.0f} s)"
    )
    started = time.process_time()
    seasons = _seasons(found) if with_season else None
    print(f"seasons: {time.process_time() - started:.1f} s CPU")
    started = time.process_time()
    chosen = Chosen(
        frame, found, seasons, ranking.ranks(found, seasons), ranking.reasons(found)
    )
    print(f"ranks and reasons: {time.process_time() - started:.1f} s CPU")
    return chosen


def _seasons(found):
    weather = read_weather(
        door.open_file(DEMO, "weather.csv", door.MOST_BYTES_OF_TABLE)
    )
    record = read_record(
        weather, "weather.csv", tuple(packaged_crops().values())[:3], NORTH
    )
    station = StationAir(200.0, float(np.nanmedian(found.height_m)), None, None, None)
    return season.seasons(
        record,
        station,
        found.offset_c,
        (found.place_m, found.height_m),
        Estimate(0.1, 0.17, 0.24),
        season.frost(0.0),
    )


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--parcels", type=int, default=500)
    asked.add_argument("--out", type=Path)
    asked.add_argument("--no-season", action="store_true")
    given = asked.parse_args()
    frame, ground = parcels(given.parcels), Ground()
    chosen = chosen_of(frame, ground, with_season=not given.no_season)
    started = time.process_time()
    shown = Shown("Lyde valley", ground.heights, "metric", "lyde")
    page = map_page.page(chosen, shown)
    print(f"page: {time.process_time() - started:.1f} s CPU, {len(page) / 1e6:.2f} MB")
    if given.out:
        given.out.mkdir(parents=True, exist_ok=True)
        (given.out / "region.html").write_text(page, "utf-8")
        (given.out / "parcels.csv").write_text(tables.csv(chosen, "metric"), "utf-8")
        (given.out / "parcels.gpkg").unlink(missing_ok=True)
        tables.write_geopackage(chosen, "metric", given.out / "parcels.gpkg")


if __name__ == "__main__":
    main()
