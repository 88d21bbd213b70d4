"""How far a region's cold air in tiles differs from the same ground in one piece.

Run from the root of the repository:

    python benchmarks/validation/region_seams.py --km 5 --cells 128 --hours 1.5

Made ground (`bench_region`: hills from 40 m to 4 km long over valleys that fall to the
east), with heights every 5 m, is made twice as `fieldmap region` makes it: with tiles of
the cells that are asked for (those of the night hold two by two), and in one tile.
Printed is the difference of the offset within 200 m of the seams, at worst, likely and
at best: the 99th percentile of it, which is to be at most 0.2 °C, and the largest.
"""

import argparse
import re
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import numpy.typing as npt

from fieldmap.model.raster import Raster
from fieldmap.model.region import Lattice, Region, lattices
from fieldmap.read.region import read_region
from fieldmap.region import layers, run
from fieldmap.region.tiles import LAYERS, Place

sys.path.insert(0, str(Path(__file__).parents[1]))
from bench_region import write_region

CELL_M, BESIDE_M, MOST_C = 5.0, 200.0, 0.2

Floats = npt.NDArray[np.float64]


def without_light(stage: str, rounds: run.Rounds) -> None:
    """All stages but the light, on which no cold air hangs."""
    if stage != "light":
        run.in_process(stage, rounds)


def made(folder: Path, cells: int, hours: float, night: str) -> Place:
    """The region, made with tiles of this size."""
    path = folder / "region.toml"
    text = re.sub(r"(?m)^(tile_cells|night_hours|night) .*\n", "", path.read_text())
    text += f'tile_cells = {cells}\nnight_hours = {hours}\nnight = "{night}"\n'
    path.write_text(text, "utf-8")
    return run.make_layers(*read_region(folder), without_light)


def one_piece(region: Region) -> int:
    """Cells on a side of the smallest tile that holds the region whole."""
    corner_m = region.lattices.ground[0].east_m, region.lattices.ground[0].north_m
    return next(
        cells
        for cells in range(64, 8192, 64)
        if len(lattices(corner_m, CELL_M, cells).night.touching(region.bounds)) == 1
    )


def beside_seams(cells: Raster, lattice: Lattice) -> npt.NDArray[np.bool_]:
    """Cells within 200 m of where two tiles meet."""
    near = np.zeros(cells.shape, bool)
    corner_m = lattice.east_m, lattice.north_m
    west, south, east, north = cells.bounds
    for middles, corner, (low, high) in zip(
        cells.middles, corner_m, ((west, east), (south, north)), strict=True
    ):
        seam = np.round((middles - corner) / lattice.tile_m) * lattice.tile_m + corner
        near |= (np.abs(middles - seam) < BESIDE_M) & (seam > low) & (seam < high)
    return near


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--km", type=float, default=5.0, help="side of the ground")
    words.add_argument("--cells", type=int, default=128, help="on a side of a tile")
    words.add_argument("--hours", type=float, default=1.5)
    words.add_argument("--card", action="store_true")
    asked = words.parse_args()
    night = "card" if asked.card else "processor"
    with tempfile.TemporaryDirectory() as there:
        folder = Path(there) / "region"
        write_region(folder, asked.km, CELL_M)
        region, _ = read_region(folder)
        bounds = region.bounds
        found, took_s = [], []
        for cells in (one_piece(region), asked.cells):
            begun = time.perf_counter()
            place = made(folder, cells, asked.hours, night)
            took_s.append(time.perf_counter() - begun)
            found.append(layers.read(place, LAYERS["offset_c"], bounds))
        lattice = place.lattices.night
    one, tiled = found
    near = beside_seams(one, lattice) & np.isfinite(one.values).all(axis=0)
    off_c = np.abs(tiled.values - one.values)[:, near]
    ends_c = np.percentile(off_c, 99, axis=1).round(3)
    verdict = "met" if ends_c.max() <= MOST_C else "not met"
    print(
        f"{len(lattice.touching(bounds))} tiles of {lattice.tile_m:.0f} m: 99 of 100"
        f" within {ends_c} °C, largest {off_c.max():.2f}; {took_s[0]:.0f} s in one piece,"
        f" {took_s[1]:.0f} s in tiles; {verdict}"
    )


if __name__ == "__main__":
    main()
