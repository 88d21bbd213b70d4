"""How far a region's cold air in tiles differs from the same ground in one piece.

Run from the root of the repository, best where there is a graphics card:

    python benchmarks/validation/region_seams.py --card --around 100 150 200

Made ground of four by four tiles (`bench_region`: hills from 40 m to 4 km long over
valleys that fall to the east) is run once as one piece, and once tile by tile with some
fine cells around each and coarse ground beyond. Printed is the difference of the offset
within 200 m of the seams, at worst, likely and at best: the 99th percentile of it, which
is to be at most 0.2 °C, and the largest.
"""

import argparse
import itertools
import sys
import time
from pathlib import Path

import geopandas as gpd
import numpy as np
import numpy.typing as npt
from rasterio.transform import from_origin

from fieldmap.analyse.cold_air import flow, of_tile
from fieldmap.model.raster import Raster
from fieldmap.model.region import WIDE_TILES, WIDE_TIMES
from fieldmap.read.outlines.surroundings import COLUMNS
from layers import coldair, drainage

sys.path.insert(0, str(Path(__file__).parents[1]))
from bench_region import CRS, SOUTH, WEST, heights_m

CELL_M, SIDE, BESIDE_M = 5.0, 512, 200.0
MOST_C = 0.2

Floats = npt.NDArray[np.float64]


def ground(tiles: int, side: int, seed: int) -> Raster:
    """Heights of square tiles on cells of 5 m, row 0 in the north."""
    count = tiles * side
    at = (np.arange(count) + 0.5) * CELL_M
    north = SOUTH + count * CELL_M
    values = heights_m((WEST + at)[np.newaxis], (north - at)[:, np.newaxis], seed)
    return Raster(values, from_origin(WEST, north, CELL_M, CELL_M), CRS)


def coarser(fine: Raster) -> Raster:
    """Means of square blocks of cells."""
    rows, cols = fine.shape
    blocks = fine.values.reshape(
        rows // WIDE_TIMES, WIDE_TIMES, cols // WIDE_TIMES, WIDE_TIMES
    )
    cell_m = WIDE_TIMES * fine.cell_size_m
    west, _south, _east, north = fine.bounds
    transform = from_origin(west, north, cell_m, cell_m)
    return Raster(blocks.mean(axis=(1, 3)), transform, fine.crs)


def offsets_c(night: Floats, reference_c: Floats) -> Floats:
    """Offsets of (4, rows, cols) depths and wetness, a few rows at a time."""
    rows = [
        of_tile.offset_c(of_tile.coldness_c(night[:, at : at + 64]), reference_c)
        for at in range(0, night.shape[1], 64)
    ]
    return np.concatenate(rows, axis=1)


def in_one_piece(fine: Raster, filled_m: Floats, night: of_tile.Night) -> Floats:
    """Depths of three layers and wetness, (4, rows, cols)."""
    drain = coldair.drain_on_card if night.on_card else coldair.drain
    whole = coldair.Night(night.hours, (), np.zeros(fine.shape, bool))
    share = flow.open_sky_share(fine.values, fine.cell_size_m)
    depths = [
        drain(fine.values, fine.cell_size_m, share, whole, run).depth_m
        for run in flow.RUNS
    ]
    wetness = drainage.cold_air_wetness(
        fine.values, fine.cell_size_m, np.fmax(filled_m, fine.values)
    )
    return np.stack([*depths, wetness])


def in_tiles(
    fine: Raster, filled_m: Floats, night: of_tile.Night, tiles: int, side: int
) -> Floats:
    """The same from tiles with some ground around each, by fours along each side."""
    whole = np.full((4, *fine.shape), np.nan)
    coarse = coarser(fine)
    every = itertools.product(range(tiles), repeat=2)
    for _, group in itertools.groupby(sorted(every, key=shared), shared):
        within = list(group)
        outer = square(within, side, of_tile.WATER_CELLS, fine)
        reach = of_tile.WIDE_CELLS * WIDE_TIMES
        wide = square(within, side, reach, fine)
        far = coarse.clip(coarse.window_on(fine.clip(wide).bounds))
        part = fine.clip(outer)
        _, wet = of_tile.wetness(part, filled_m[outer], far, night)
        lies = [fine.clip(square([each], side, 0, fine)).bounds for each in within]
        frames = of_tile.frames(far, fine.cell_size_m, lies, night)
        for each, frame, bounds in zip(within, frames, lies, strict=True):
            own = square([each], side, 0, fine)
            near = square([each], side, of_tile.FINE_CELLS, fine)
            made = of_tile.depths_m(fine.clip(near), bounds, frame, night)
            whole[:3, *own] = made.clip(made.window_on(bounds)).values
            whole[3, *own] = part.with_values(wet).clip(part.window_on(bounds)).values
    return whole


def shared(tile: tuple[int, int]) -> tuple[int, int]:
    """Which run on coarse cells a tile shares."""
    return tile[0] // WIDE_TILES, tile[1] // WIDE_TILES


def square(
    tiles: list[tuple[int, int]], side: int, around: int, fine: Raster
) -> tuple[slice, slice]:
    """Rows and columns of some tiles and of cells around, as far as there are any."""
    first, last = np.min(tiles, axis=0) * side, (np.max(tiles, axis=0) + 1) * side
    rows, cols = (
        slice(max(0, start - around), min(count, stop + around))
        for start, stop, count in zip(
            first.tolist(), last.tolist(), fine.shape, strict=True
        )
    )
    return rows, cols


def beside_seams(tiles: int, side: int) -> npt.NDArray[np.bool_]:
    """Cells within 200 m of where two tiles meet."""
    at = np.arange(tiles * side)
    from_seam = np.abs((at + side / 2) % side - side / 2)
    near = from_seam * CELL_M < BESIDE_M
    near &= (at > side / 2) & (at < (tiles - 0.5) * side)
    return np.asarray(near[:, np.newaxis] | near[np.newaxis])


def main() -> None:
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--around", type=int, nargs="+", default=[of_tile.FINE_CELLS])
    words.add_argument("--tiles", type=int, default=4)
    words.add_argument("--side", type=int, default=SIDE, help="cells of a tile")
    words.add_argument("--hours", type=float, default=3.0)
    words.add_argument("--seed", type=int, nargs="+", default=[1])
    words.add_argument("--card", action="store_true")
    asked = words.parse_args()
    none = gpd.GeoDataFrame(
        columns=[*COLUMNS, "geometry"], geometry="geometry", crs=CRS
    )
    plain = gpd.GeoDataFrame({"ground": []}, geometry=[], crs=CRS)
    night = of_tile.Night(plain, none, asked.hours, on_card=asked.card)
    beside = beside_seams(asked.tiles, asked.side)
    for seed in asked.seed:
        fine = ground(asked.tiles, asked.side, seed)
        filled_m = drainage.filled_m(fine.values)
        one = in_one_piece(fine, filled_m, night)
        some = one[:, ::7, ::7].reshape(4, -1)
        reference_c = np.median(of_tile.coldness_c(some), axis=1)
        whole_c = offsets_c(one, reference_c)[:, beside]
        for around in asked.around:
            of_tile.FINE_CELLS = around
            begun = time.perf_counter()
            made = in_tiles(fine, filled_m, night, asked.tiles, asked.side)
            took_s = time.perf_counter() - begun
            off_c = np.abs(offsets_c(made, reference_c)[:, beside] - whole_c)
            depth_m = np.abs(made[1][beside] - one[1][beside])
            wet = np.abs(made[3][beside] - one[3][beside])
            ends = np.percentile(off_c, 99, axis=1).round(3)
            verdict = "met" if ends.max() <= MOST_C else "not met"
            print(
                f"ground {seed}, {around} cells ({around * CELL_M:.0f} m) around:"
                f" 99 of 100 within {ends} °C, largest {off_c.max():.2f};"
                f" depth {np.percentile(depth_m, 99):.2f} m,"
                f" wetness {np.percentile(wet, 99):.3f}; {took_s:.0f} s; {verdict}",
                flush=True,
            )


if __name__ == "__main__":
    main()
