"""Cold air of a region's tiles, beside the same ground in one piece."""

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
HOURS = 1.0
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


def test_a_tile_is_as_cold_as_the_whole_by_coarse_air_along_its_edge(
    monkeypatch, valley, night, one_piece_m
):
    """The tile ends within the pool behind the bank: by itself the pool runs out of it."""
    monkeypatch.setattr(of_tile, "FINE_CELLS", 24)
    coarse = raster(block_means(valley.values, 2), 2 * CELL_M)
    rows, cols = slice(48, 96), slice(48, 96)
    tile = valley.clip((rows, cols)).bounds
    (frame,) = of_tile.frames(coarse, CELL_M, [tile], night)
    near = valley.clip(valley.window_on(grown(tile, 24 * CELL_M)))
    nested = of_tile.depths_m(near, tile, frame, night)
    unknown = frame._replace(depth_m=np.full_like(frame.depth_m, np.nan))
    alone = of_tile.depths_m(near, tile, unknown, night)
    truth = np.sqrt(one_piece_m[:, rows, cols])
    nested_c, alone_c = (
        DEGREES_PER_ROOT * np.abs(np.sqrt(made.values[:, 24:72, 24:72]) - truth)
        for made in (nested, alone)
    )
    assert (np.percentile(nested_c, 99, axis=(1, 2)) < 0.1).all()
    assert (np.percentile(alone_c, 99, axis=(1, 2)) > 0.3).all()


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
