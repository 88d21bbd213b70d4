"""Speed of slope and aspect, beside GDAL's tool and the memory's own speed.

Run from the root of the repository:

    python benchmarks/bench_terrain.py

The floor is a fresh copy of three such grids: ours reads one and makes two. The peer is
`gdaldem` (Debian's gdal-bin), a whole process from file to file in single precision,
twice; without it that column says so.
"""

import argparse
import resource
import shutil
import statistics
import subprocess
import tempfile
import time
from pathlib import Path

import rasterio
from bench_horizon import CELL_SIZE_M, landscape
from rasterio.transform import from_origin

from layers import terrain

BAR = 2.0  # times the copy
GROWTH_BAR = 5.0


def seconds(work, repeats):
    """Median wall seconds."""
    runs = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        runs.append(time.perf_counter() - start)
    return statistics.median(runs)


def gdaldem(z):
    """Wall seconds of slope and aspect, or None."""
    if shutil.which("gdaldem") is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder, "z.tif")
        with rasterio.open(
            source,
            "w",
            driver="GTiff",
            height=z.shape[0],
            width=z.shape[1],
            count=1,
            dtype="float32",
            crs="EPSG:32633",
            transform=from_origin(500000, 5000000, CELL_SIZE_M, CELL_SIZE_M),
        ) as dataset:
            dataset.write(z.astype("float32"), 1)

        def both():
            for what in ("slope", "aspect"):
                target = Path(folder, f"{what}.tif")
                subprocess.run(["gdaldem", what, "-q", source, target], check=True)

        return seconds(both, 3)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--large", action="store_true", help="go on to 8192²")
    options = parser.parse_args()
    terrain.slope_and_aspect_deg(landscape(512), CELL_SIZE_M)  # compiles, or loads
    print(f"bars: {BAR:g} times the copy; growth {GROWTH_BAR:g}\n")
    print(
        f"{'cells':>7} {'ours ms':>9} {'copy ms':>9} {'× copy':>7} {'growth':>7}"
        f" {'gdaldem ms':>11} {'× gdaldem':>10}"
    )
    before = None
    for size in [128, 512, 1024, 2048, 4096] + [8192] * options.large:
        z = landscape(size)
        ours = seconds(lambda: terrain.slope_and_aspect_deg(z, CELL_SIZE_M), 15)  # noqa: B023
        copy = seconds(lambda: [z.copy() for _ in range(3)], 15)  # noqa: B023
        theirs = gdaldem(z)
        growth = "" if before is None else f"{ours / before:.1f}"
        peer = (
            f"{'none':>11}"
            if theirs is None
            else f"{1000 * theirs:>11.0f} {theirs / ours:>10.0f}"
        )
        print(
            f"{size:>6}² {1000 * ours:>9.2f} {1000 * copy:>9.2f} {ours / copy:>7.2f}"
            f" {growth:>7} {peer}",
            flush=True,
        )
        before = ours
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB")


if __name__ == "__main__":
    main()
