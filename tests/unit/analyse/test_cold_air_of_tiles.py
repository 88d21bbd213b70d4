"""Cold air of a region's tiles, beside the same ground in one piece."""

import copy
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pytest
from made_up import surroundings
from rasterio.transform import from_origin

from fieldmap.analyse.cold_air import flow, of_tile
from fieldmap.model.raster import Raster, grown
from layers import coldair
from layers._grid import block_means

CRS = "EPSG:32618"
WEST, NORTH, CELL_M, SIDE = 500_000.0, 4_900_000.0, 5.0, 144
HOURS = 0.5
DEGREES_PER_ROOT = 0.6  # central weight of the root of the depth (°C per √m)


def raster(values, cell_m):
    return Raster(values, from_origin(WEST, NORTH, cell_m, cell_m), CRS)


@pytest.fixture(scope="module")
def valley():
    """A valley of 720 m that falls to the south, with a bank across it and hollows."""
    south, east = np.mgrid[:SIDE, :SIDE] * CELL_M
    ground = 0.05 * (720.0 - south) + 0.0008 * (east - 360.0) ** 2
    ground += 12.0 * np.exp(-(((south - 560.0) / 40.0) ** 2))
    ground += 1.5 * np.sin(south / 35.0) * np.cos(east / 27.0)
    return raster(ground, CELL_M)


def test_water_of_coarse_ground_arrives_at_the_lowest_fine_cell():
    """Coarse cells of 10 m fall to the south; 200 m² enter each cell of the third row.

    Of its four fine cells of 5 m the lowest is the last in the first column, the first in
    the second; unknown ones get nothing.
    """
    coarse = np.array([[4.0, 4], [3, 3], [2, 2], [1, 1]])
    fine = np.array([[9.0, 8, 5, 6], [8, 7, 9, np.nan], [1, 1, 1, 1], [1, 1, 1, 1]])
    found = of_tile.arriving_m2(
        raster(fine, 5.0), raster(coarse, 10.0), (slice(2, 4), slice(0, 2))
    )
    assert found.tolist() == [[0, 0, 200, 0], [0, 200, 0, 0], [0] * 4, [0] * 4]
    fine[:2, :2] = np.nan
    found = of_tile.arriving_m2(
        raster(fine, 5.0), raster(coarse, 10.0), (slice(2, 4), slice(0, 2))
    )
    assert found.sum() == 200.0


@pytest.fixture(scope="module")
def night():
    plain = gpd.GeoDataFrame({"ground": []}, geometry=[], crs=CRS)
    return of_tile.Night(plain, surroundings(), HOURS)


@pytest.fixture(scope="module")
def one_piece_m(valley):
    """Depths of the three runs on all of the ground."""
    share = flow.open_sky_share(valley.values, CELL_M)
    whole = coldair.Night(HOURS, (), np.zeros(valley.shape, bool))
    return np.stack(
        [
            coldair.drain(valley.values, CELL_M, share, whole, run).depth_m
            for run in flow.RUNS
        ]
    )


def night_over(valley, night, tiles, nested):
    """Depths of three runs on each tile, with 24 cells around it."""
    lies = [valley.clip(tile).bounds for tile in tiles]
    coarse = raster(block_means(valley.values, 2), 2 * CELL_M)
    parts = []
    for bounds in lies:
        frame = of_tile.frames(coarse, CELL_M, [bounds], night)[0] if nested else None
        near = valley.clip(valley.window_on(grown(bounds, 24 * CELL_M)))
        parts.append(of_tile.part(near, bounds, lies, frame, night))
    airs = [of_tile.at_sunset(part) for part in parts]
    for between_s in pairwise(of_tile.spells_s(HOURS, CELL_M)):
        before = copy.deepcopy(airs)
        for number, air in enumerate(airs):
            for other, bounds in enumerate(lies):
                if other != number:
                    air.take(before[other], bounds)
            airs[number] = of_tile.spell(parts[number], air, between_s, on_card=False)
    found = [air.depths(valley.crs) for air in airs]
    return [
        each.clip(each.window_on(bounds)).values
        for each, bounds in zip(found, lies, strict=True)
    ]


def off_c(depth_m, truth_m):
    """99 of 100 cells are no farther off than this, run by run."""
    off = DEGREES_PER_ROOT * np.abs(np.sqrt(depth_m) - np.sqrt(truth_m))
    return np.percentile(off, 99, axis=(1, 2))


def test_tiles_that_take_what_their_neighbours_have_are_as_cold_as_the_whole(
    monkeypatch, valley, night, one_piece_m
):
    """Two tiles meet within the pool behind the bank: alone, it would run out of either."""
    monkeypatch.setattr(of_tile, "FINE_CELLS", 24)
    halves = slice(0, 96), slice(96, 144)
    tiles = [(rows, cols) for rows in halves for cols in halves]
    made = night_over(valley, night, tiles, nested=False)
    for tile, depth_m in zip(tiles, made, strict=True):
        assert (off_c(depth_m, one_piece_m[:, *tile]) < 0.02).all()


def test_no_air_lies_where_a_neighbour_has_open_water():
    """What one tile counts as land may be water in the other, which sees more of it."""
    held = np.full((3, 4, 6), 2.0)
    shapes = (0, 0), (0, 0), (0, 1), (1, 0)

    def airs(west_m):
        return of_tile.Airs(
            *(
                np.full((3, 4 + rows, 6 + cols), 2.0, np.float32)
                for rows, cols in shapes
            ),
            np.array([west_m, 40.0, 10.0]),
        )

    mine, its = airs(0.0), airs(30.0)
    its.depth_m[:, :, 1] = its.deepens_m_s[:, :, 1] = np.nan  # from 40 m to 50 m
    mine.take(its, (30.0, 0.0, 90.0, 40.0))
    held[:, :, 4] = 0.0
    np.testing.assert_array_equal(mine.depth_m, held)
    np.testing.assert_array_equal(mine.deepens_m_s, held)


def test_air_along_the_edge_deepens_as_it_did_and_as_coarse_cells_say():
    """Beside tiles 1 m and .01 m/s: 1.1 m after 10 s. Beyond, 3.6 m after an hour.

    That is .61 m at 610 s, when the spell ends.
    """
    side = 12
    west, east = np.zeros((2, side, side), bool)
    west[:, :2], east[:, -2:] = True, True
    across, along = np.zeros((side, side + 1)), np.zeros((side + 1, side))
    part = of_tile.Part(
        land_m=np.zeros((side, side)),
        production=np.zeros((side, side)),
        east_sill_m=across,
        east_covered=across,
        north_sill_m=along,
        north_covered=along,
        lie=np.array([0.0, 60.0, 5.0]),
        beside=west,
        beyond=east,
        hours=np.array([0.0, 1.0]),
        beyond_m=np.stack([np.zeros((3, 2 * side)), np.full((3, 2 * side), 3.6)], 1),
    )
    air = coldair.Air(np.ones((side, side)), np.full((side, side), 0.01), across, along)
    before = of_tile.Airs.of([air] * 3, part.lie)
    after = of_tile.spell(part, before, (600.0, 610.0), on_card=False)
    np.testing.assert_allclose(after.depth_m[:, west], 1.1, rtol=1e-6)
    np.testing.assert_allclose(after.depth_m[:, east], 0.61, rtol=1e-6)


def test_a_tile_is_as_cold_as_the_whole_by_coarse_air_where_no_tiles_are(
    monkeypatch, valley, night, one_piece_m
):
    """The tile ends within the pool behind the bank: by itself the pool runs out of it."""
    monkeypatch.setattr(of_tile, "FINE_CELLS", 24)
    tile = slice(48, 96), slice(48, 96)
    truth_m = one_piece_m[:, *tile]
    (nested_m,) = night_over(valley, night, [tile], nested=True)
    (alone_m,) = night_over(valley, night, [tile], nested=False)
    assert (off_c(nested_m, truth_m) < 0.1).all()
    assert (off_c(alone_m, truth_m) > 0.3).all()


def test_standing_air_has_one_surface_and_running_air_one_depth():
    """A coarse cell of 10 m beside ground that rises 1 m a cell to the east.

    Standing: the surface lies at 104 m, so ground of 101.5 m is 2.5 m under it. Running:
    2 m deep on every coarse cell, so 2 m on every fine one.
    """
    ground = raster(np.tile(np.arange(100.0, 105.0), (5, 1)), 10.0)
    at = (
        np.array([WEST + 19.0]),
        np.array([NORTH - 25.0]),
    )  # 101.4 m by the coarse cells
    standing = ground.with_values((104.0 - ground.values)[np.newaxis])
    running = ground.with_values(np.full((1, 5, 5), 2.0))
    fine_m = np.array([101.5])
    stood, ran = (
        of_tile._read_on(each, ground, at, fine_m) for each in (standing, running)
    )
    np.testing.assert_allclose(stood, [[2.5]])
    np.testing.assert_allclose(ran, [[2.0]])
