"""Skyline and a year of light for all cells of 8192² ground within 8 GiB of memory.

Run from the root of the repository:

    python benchmarks/bench_big.py

The ground is worked off in strips of rows, each with the skyline that all of the ground
gives it, as no farm needs all the answers at once. Heights are made in a process of
their own, whose memory does not count.
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from bench_horizon import CELL_SIZE_M, WHOLE
from bench_sunlight import PLACE, YEAR

from layers import horizon, sunlight, terrain

GIVE_HEIGHTS = (
    "import sys, numpy as np; from bench_horizon import landscape; "
    "np.save(sys.argv[1], landscape(int(sys.argv[2])).astype(np.float32))"
)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--size", type=int, default=8192)
    parser.add_argument("--strips", type=int, default=8)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "z.npy")
        make = [sys.executable, "-c", GIVE_HEIGHTS, str(file), str(options.size)]
        subprocess.run(make, check=True, cwd=Path(__file__).parent)
        z = np.load(file).astype(np.float64)
    table = sunlight.sun_table(PLACE, 36, YEAR)
    flat = np.zeros((64, 64))
    still = horizon.angles_deg(flat, flat, CELL_SIZE_M, 36, WHOLE)
    sunlight.by_month(table, flat, flat, still, np.ones_like(flat))  # compiles
    began = time.perf_counter()
    total_mj = 0.0
    height = -(-options.size // options.strips)
    for first in range(0, options.size, height):
        rows = slice(first, min(first + height, options.size))
        around = slice(max(0, first - 1), rows.stop + 1)
        east, north = terrain.gradient(z[around], CELL_SIZE_M)
        inner = slice(first - around.start, first - around.start + rows.stop - first)
        east, north = east[inner], north[inner]
        skyline = horizon.angles_deg(z, z, CELL_SIZE_M, 36, (rows, slice(None)))
        view = horizon.sky_view_tilted(skyline, east, north)
        light = sunlight.by_month(table, east, north, skyline, view)
        total_mj += float(np.nansum(light.beam_mj_m2_day, dtype=np.float64))
        del skyline, light
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
        took = time.perf_counter() - began
        print(f"to row {rows.stop}: {took:.0f} s, peak {peak:.2f} GiB", flush=True)
    mean = total_mj / 12 / options.size**2
    print(
        f"beam {mean:.2f} MJ/m² a day in the mean of all cells and months; the rim has no slope"
    )


if __name__ == "__main__":
    main()
