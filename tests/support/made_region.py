"""A small region on made ground: rolling hills, a valley, twelve parcels."""

import json
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from rasterio.transform import from_origin

CRS = "EPSG:32618"
WEST, SOUTH = 558_080.0, 4_876_800.0  # multiples of all tiles


def heights_m(east_m, north_m):
    """Hills of 40 m, 500 m from ridge to ridge, on a valley that falls to the east."""
    east, north = east_m - WEST, north_m - SOUTH
    hills = 20 * np.sin(2 * np.pi * east / 510) * np.cos(2 * np.pi * north / 430)
    valley = 60 * (north / 1500 - 0.5) ** 2 - east * 0.01
    small = 1.5 * np.sin(2 * np.pi * east / 61 + 1) * np.sin(2 * np.pi * north / 53)
    return 250 + hills + valley + small


def ground(side_m=1280.0, cell_m=5.0):
    """Heights on cells, row 0 in the north, and their transform."""
    count = round(side_m / cell_m)
    at = (np.arange(count) + 0.5) * cell_m
    east, north = np.meshgrid(WEST + at, SOUTH + side_m - at)
    return heights_m(east, north), from_origin(WEST, SOUTH + side_m, cell_m, cell_m)


def write_elevation(path, values, transform, crs=CRS):
    """A GeoTIFF of heights in metres."""
    path.parent.mkdir(parents=True, exist_ok=True)
    rows, cols = values.shape
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=cols,
        height=rows,
        count=1,
        dtype="float32",
        crs=crs,
        transform=transform,
        nodata=-9999.0,
    ) as target:
        target.write(values.astype(np.float32), 1)
        target.units = ("metre",)


def parcels(side_m=1280.0, count=3, size_m=90.0):
    """Squares in rows, with names."""
    step = side_m / (count + 1)
    shapes, names = [], []
    for row in range(count):
        for col in range(count):
            east, north = WEST + (col + 1) * step, SOUTH + (row + 1) * step
            shapes.append(shapely.box(east, north, east + size_m, north + size_m))
            names.append(f"P{row + 1}{col + 1}")
    return gpd.GeoDataFrame({"name": names}, geometry=shapes, crs=CRS)


def weather(years=12, seed=5):
    """Daily minima and maxima of a made station, in °C."""
    days = pd.date_range("2009-01-01", f"{2008 + years}-12-31")
    season = -np.cos(2 * np.pi * (days.day_of_year - 20) / 365.25)
    strays = np.random.default_rng(seed).normal(0, 3.5, len(days))
    low = 5 + 11 * season + strays
    return pd.DataFrame(
        {
            "date": days.strftime("%Y-%m-%d"),
            "tmin_c": low.round(1),
            "tmax_c": (low + 10 + 3 * np.sin(strays)).round(1),
        }
    )


def write_region(
    folder: Path, side_m=1280.0, cell_m=5.0, tiles=2, tile_cells=64, **choices
):
    """A whole region folder, its elevation in tiles by tiles files."""
    folder.mkdir(parents=True, exist_ok=True)
    values, transform = ground(side_m, cell_m)
    rows = len(values) // tiles
    for row in range(tiles):
        for col in range(tiles):
            part = values[row * rows : (row + 1) * rows, col * rows : (col + 1) * rows]
            corner = transform * (col * rows, row * rows)
            write_elevation(
                folder / "elevation" / f"dem_{row}_{col}.tif",
                part,
                from_origin(*corner, cell_m, cell_m),
            )
    parcels(side_m).to_file(folder / "parcels.geojson", driver="GeoJSON")
    weather().to_csv(folder / "weather.csv", index=False)
    lines = ['name = "Made valley"', f"tile_cells = {tile_cells}"]
    lines += [f"{name} = {value}" for name, value in choices.items()]
    (folder / "region.toml").write_text("\n".join(lines) + "\n", "utf-8")
    return folder


VALLEY = {"side_m": 640.0, "night_hours": 0.5}  # four tiles
COUNTS = "counts.json"


def make_valley(folder: Path) -> None:
    """A small region with all its layers, and how much each stage had to do."""
    from fieldmap.read.region import read_region
    from fieldmap.region import run

    counts: dict[str, int] = {}

    def worker(stage, todo):
        counts[stage] = counts.get(stage, 0) + sum(map(len, todo))
        run.in_process(stage, todo)

    write_region(folder / "region", **VALLEY)
    run.make_layers(*read_region(folder / "region"), worker)
    (folder / COUNTS).write_text(json.dumps(counts), "utf-8")
