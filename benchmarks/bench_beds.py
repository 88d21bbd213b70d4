"""Time of laying out the beds of a large farm, beside a geometry library cutting strips.

Run from the root of the repository:

    python benchmarks/bench_beds.py

The ground is a made-up plane with four plots of 10 ha. The peer is shapely, which cuts
every strip of one plot out of the ground by itself, for one bearing and one start; ours
tries about 40 bearings and 25 starts on every plot.
"""

import sys
import time
from pathlib import Path

import numpy as np
import shapely
from shapely.geometry import box

from fieldmap.analyse import zonal_means
from fieldmap.decide.layout.bays import rows
from fieldmap.decide.layout.choose import choose_layouts
from fieldmap.decide.layout.fill import fill_plots

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))
from made_up import NORTH, WEST, analysis, plane, site

SIDE, PLOT_M, GAP_M = 800, 316.2, 50.0
CHOICES = {"beds_per_block": 40}


def plots():
    """Four squares of 10 ha."""
    south = NORTH - SIDE
    begin = [30.0 + number * (PLOT_M + GAP_M) for number in range(2)]
    return {
        f"{east:.0f} {north:.0f}": box(
            WEST + east, south + north, WEST + east + PLOT_M, south + north + PLOT_M
        )
        for east in begin
        for north in begin
    }


def by_cutting(ground, choices):
    """Clear lengths of strips from west to east, one intersection after another [m]."""
    west, south, east, north = ground.bounds
    lows = np.arange(
        south, north - choices.bed_width_m, choices.bed_width_m + choices.path_m
    )
    strips = shapely.box(west - 1, lows, east + 1, lows + choices.bed_width_m)
    return sum(strip.intersection(ground).length / 2 for strip in strips)


def main():
    ground = plane(SIDE, SIDE, east=0.01, north=0.03)
    farm = site(ground, plots(), beds=CHOICES)
    there = analysis(ground)
    began = time.perf_counter()
    chosen = choose_layouts(farm, there)
    compared = time.perf_counter()
    filled = fill_plots(farm, there, chosen, [])
    found, standard = filled.beds, filled.standard
    laid = time.perf_counter()
    zonal_means.means(there.terrain.smooth_m, [bed.outline for bed in found])
    read = time.perf_counter()
    outline = next(iter(farm.plots.geometry))
    choices = farm.settings.beds
    by_cutting(outline, choices)
    cut = time.perf_counter()
    seen = rows.frame((outline.centroid.x, outline.centroid.y), 90.0)
    edges = rows.edges(outline, seen)
    once = time.perf_counter()
    rows.clear(edges, choices)
    ended = time.perf_counter()
    shares = 100 * standard.standard_share, 100 * standard.lost_share
    print("{:.0f} % of bed in two lengths, {:.1f} % given up".format(*shares))
    print(f"{len(found)} beds on 40 ha: ways compared in {compared - began:.2f} s,")
    print(f"laid out in {laid - compared:.2f} s (5 s for both is the aim),")
    print(f"means of one raster over all beds in {read - laid:.3f} s")
    print(f"one bearing of one plot: 25 starts in {1000 * (ended - once):.1f} ms;")
    print(f"shapely, one start, {1000 * (cut - read):.1f} ms")


if __name__ == "__main__":
    main()
