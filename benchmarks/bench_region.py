"""What a square kilometre of a region costs: CPU seconds and memory, stage by stage.

    python benchmarks/bench_region.py --km 3 5          # 9 and 25 km², runs interleaved
    python benchmarks/bench_region.py --km 20 --share 50  # one tile in fifty of 400 km²
    python benchmarks/bench_region.py --km 5 --workers 2  # against one worker, by the clock

Terrain and light on cells of 1 m, cold air and water on cells of 5 m. `--cell 5` makes
all of 5 m, and `--hours` a shorter night. The ground is made: hills by a seeded spectrum
over valleys that fall to the east, written tile by tile.
"""

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import rasterio
import shapely
from rasterio.transform import from_origin

from fieldmap.read.region import read_region
from fieldmap.region import cluster, run, tasks

CRS = "EPSG:32618"
WEST, SOUTH = 512_000.0, 4_864_000.0  # multiples of tiles of 1,280 m
TILE = 1280
WAVES = 60
PARCELS_PER_KM2 = 500 / 400
HOURS = 2.0


def waves(seed: int = 7) -> list[tuple[float, float, float, float]]:
    """Numbers of waves that make hills: length, bearing, phase and height [m]."""
    rng = np.random.default_rng(seed)
    length_m = np.geomspace(40.0, 4000.0, WAVES)
    height_m = 0.0085 * length_m**0.95
    bearing, phase = rng.uniform(0, 2 * np.pi, (2, WAVES))
    return list(zip(length_m, bearing, phase, height_m, strict=True))


def heights_m(east: np.ndarray, north: np.ndarray, seed: int) -> np.ndarray:
    """Height of the ground at eastings (a row) and northings (a column)."""
    ground = 300.0 - 0.006 * (east - WEST) + 0.0 * north
    for length_m, bearing, phase, height_m in waves():
        k = 2 * np.pi / length_m
        across = k * np.sin(bearing) * (east - WEST) + phase
        up = k * np.cos(bearing) * (north - SOUTH)
        # sin(a + b) of a row and a column: no sine of every cell
        ground = ground + height_m * (
            np.sin(across) * np.cos(up) + np.cos(across) * np.sin(up)
        )
    rng = np.random.default_rng(seed)
    return ground + rng.normal(0, 0.02, ground.shape)


def write_elevation(folder: Path, km: float, cell_m: float) -> None:
    """Ground in tiles, a rim of 1 km around."""
    (folder / "elevation").mkdir(parents=True)
    tile_m = TILE * cell_m
    count = int(np.ceil((km * 1000 + 2000) / tile_m))
    for number in range(count * count):
        row, col = divmod(number, count)
        west, north = WEST + col * tile_m, SOUTH + (row + 1) * tile_m
        at = (np.arange(TILE) + 0.5) * cell_m
        values = heights_m((west + at)[np.newaxis], (north - at)[:, np.newaxis], number)
        with rasterio.open(
            folder / "elevation" / f"dem_{row:03d}_{col:03d}.tif",
            "w",
            driver="GTiff",
            width=TILE,
            height=TILE,
            count=1,
            dtype="float32",
            crs=CRS,
            transform=from_origin(west, north, cell_m, cell_m),
            nodata=-9999.0,
            tiled=True,
            compress="zstd",
            predictor=3,
        ) as target:
            target.write(values.astype(np.float32), 1)
            target.units = ("metre",)


def write_region(folder: Path, km: float, cell_m: float, hours: float = HOURS) -> None:
    """A region folder; parcels of two hectares, spread evenly."""
    write_elevation(folder, km, cell_m)
    count = max(2, round(np.sqrt(PARCELS_PER_KM2 * km * km)))
    step = km * 1000 / count
    shapes = [
        shapely.box(east, north, east + 140.0, north + 140.0)
        for east in WEST + 1000 + step * (np.arange(count) + 0.5) - 70
        for north in SOUTH + 1000 + step * (np.arange(count) + 0.5) - 70
    ]
    names = [f"P{number}" for number in range(len(shapes))]
    gpd.GeoDataFrame({"name": names}, geometry=shapes, crs=CRS).to_file(
        folder / "parcels.geojson", driver="GeoJSON"
    )
    days = pd.date_range("2009-01-01", "2020-12-31")
    season = -np.cos(2 * np.pi * (days.day_of_year - 20) / 365.25)
    low = 5 + 11 * season + np.random.default_rng(5).normal(0, 3.5, len(days))
    pd.DataFrame(
        {"date": days.strftime("%Y-%m-%d"), "tmin_c": low, "tmax_c": low + 11}
    ).round(1).to_csv(folder / "weather.csv", index=False)
    (folder / "region.toml").write_text(
        f'name = "Made ground"\nnight_hours = {hours}\n', "utf-8"
    )


def alone(task: run.Task, step: int) -> run.Task:
    """A task whose neighbours are not made: as much work, with nothing taken from them."""
    without = {tasks.part: {"is_framed": False}, tasks.spell: {"tiles": []}}
    if step == 1 or task.work not in without:
        return task
    return task._replace(given={**task.given, **without[task.work]})


def one_run(folder: Path, share: int) -> dict[str, object]:
    """CPU seconds a km² by stage, in this process; one tile in `share` of each stage."""
    region, heights = read_region(folder)
    cpu: dict[str, float] = {}
    tiles: dict[str, tuple[int, int]] = {}

    def worker(stage: str, rounds: run.Rounds) -> None:
        # What later stages read must be there.
        step = 1 if stage in ("heights", "hollows", "water") else share
        for todo in rounds:
            some = [alone(task, step) for task in todo[::step]]
            begun = time.process_time()
            run.in_process(stage, [some])
            # What stands in for the others counts as many times.
            spent = (time.process_time() - begun) * len(todo) / max(1, len(some))
            cpu[stage] = cpu.get(stage, 0.0) + spent
            done, all_of_it = tiles.get(stage, (0, 0))
            tiles[stage] = done + len(some), all_of_it + len(todo)

    run.make_layers(region, heights, worker)
    west, south, east, north = region.bounds
    lattice = region.lattices.ground[0]
    km2 = len(lattice.touching(region.bounds)) * (lattice.tile_m / 1000) ** 2
    return {
        "km2_mapped": (east - west) * (north - south) / 1e6,
        "km2_of_tiles": km2,
        "cpu_s_per_km2": {stage: round(s / km2, 2) for stage, s in cpu.items()},
        "cpu_s_per_km2_all": round(sum(cpu.values()) / km2, 2),
        "tiles_done_of": tiles,
        "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
        "disk_mb_per_km2": round(_disk_mb(folder / "region") / km2, 1),
    }


def _disk_mb(folder: Path) -> float:
    return (
        sum(path.stat().st_size for path in folder.rglob("*") if path.is_file()) / 1e6
    )


def by_the_clock(folder: Path, workers: int) -> dict[str, float]:
    """Seconds of each stage on a given number of workers."""
    region, heights = read_region(folder)
    seconds: dict[str, float] = {}
    with cluster.workers(workers, None, lambda _fact: None) as do:

        def timed(stage: str, rounds: run.Rounds) -> None:
            begun = time.perf_counter()
            do(stage, rounds)
            spent = time.perf_counter() - begun
            seconds[stage] = round(seconds.get(stage, 0.0) + spent, 1)

        run.make_layers(region, heights, timed)
    return seconds


def in_own_process(*words: str) -> dict[str, object]:
    """What a fresh process of this program prints."""
    made = subprocess.run(
        [sys.executable, __file__, *words], check=True, capture_output=True, text=True
    )
    return dict(json.loads(made.stdout.splitlines()[-1]))


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--km", type=float, nargs="+", default=[3.0])
    words.add_argument("--share", type=int, default=1)
    words.add_argument("--workers", type=int)
    words.add_argument("--folder", type=Path)
    words.add_argument("--rounds", type=int, default=1)
    words.add_argument("--hours", type=float, default=HOURS)
    words.add_argument("--cell", type=float, default=1.0)
    options = words.parse_args()
    if options.folder is not None:
        if options.workers:
            print(json.dumps(by_the_clock(options.folder, options.workers)))
        else:
            print(json.dumps(one_run(options.folder, options.share)))
        return
    with tempfile.TemporaryDirectory() as made:
        for turn in range(options.rounds):
            for km in options.km:
                if options.workers:
                    for count in (1, options.workers):
                        folder = Path(made) / f"{km}-{turn}-{count}"
                        write_region(folder, km, options.cell, options.hours)
                        said = in_own_process(
                            "--folder", str(folder), "--workers", str(count)
                        )
                        print(f"{km * km:.0f} km², {count} workers: {said}", flush=True)
                    continue
                folder = Path(made) / f"{km}-{turn}"
                write_region(folder, km, options.cell, options.hours)
                said = in_own_process(
                    "--folder", str(folder), "--share", str(options.share)
                )
                print(f"{km * km:.0f} km²: {json.dumps(said, indent=1)}", flush=True)


if __name__ == "__main__":
    main()
