"""A small region, from its folder to its layers, in one process."""

import json
import shutil
from dataclasses import replace

import made_region
import numpy as np
import pytest
import rasterio

from fieldmap.errors import PlanError
from fieldmap.read.region import read_region
from fieldmap.region import layers, run
from fieldmap.region.tiles import LAYERS
from layers import drainage


@pytest.fixture(scope="module")
def made(made_valley, tmp_path_factory):
    """A region whose layers are made, and what each stage had to do, twice."""
    folder = tmp_path_factory.mktemp("region") / "region"
    shutil.copytree(made_valley / "region", folder)
    region, heights = read_region(folder)
    counts = {}

    def worker(stage, todo):
        counts[stage] = counts.get(stage, 0) + sum(map(len, todo))
        run.in_process(stage, todo)

    run.make_layers(region, heights, worker)
    return region, (json.loads((made_valley / made_region.COUNTS).read_text()), counts)


def test_all_layers_that_people_see_cover_the_mapped_ground(made):
    region, _ = made
    for name, layer in LAYERS.items():
        if layer.shown:
            found = layers.window(region.folder, name, inside(region))
            assert found.values.shape[:-2] == ((len(layer.bands),) * bool(layer.bands))
            assert np.isfinite(found.values).all(), name


def inside(region):
    """Bounds of the parcels: off the rim of the elevation, where slopes are unknown."""
    return region.parcels.total_bounds


def test_slopes_are_those_of_the_made_ground(made):
    region, _ = made
    slope = layers.window(region.folder, "slope_deg", inside(region))
    at = slope.middles
    rise = [
        made_region.heights_m(at[0] + east, at[1] + north)
        - made_region.heights_m(at[0] - east, at[1] - north)
        for east, north in ((5.0, 0.0), (0.0, 5.0))
    ]
    # By the formula of which the ground is made, from cell to cell.
    expected = np.degrees(np.arctan(np.hypot(*rise) / 10.0))
    assert np.abs(slope.values - expected).mean() < 0.3


def test_a_second_run_has_nothing_to_do(made):
    _, (first, second) = made
    assert min(first.values()) > 0
    assert set(second.values()) == {0}


def test_a_longer_night_makes_cold_air_anew_and_no_water(made):
    region, _ = made
    settings = region.settings.model_copy(update={"night_hours": 1.75})
    asked = dict[str, int]()

    def count(stage, todo):
        asked[stage] = asked.get(stage, 0) + sum(map(len, todo))

    longer = replace(region, settings=settings)
    run.make_layers(longer, read_region(region.folder)[1], count)
    assert asked["water"] == 0
    assert asked["cold_air"] > 0


def test_a_tile_that_is_gone_is_made_again_alone_with_the_same_bytes(made):
    region, _ = made
    gone = sorted((region.folder / "region/layers/offset_c").iterdir())[0]
    bytes_before = gone.read_bytes()
    gone.unlink()
    counts = {}

    def worker(stage, todo):
        counts[stage] = counts.get(stage, 0) + sum(map(len, todo))
        run.in_process(stage, todo)

    run.make_layers(region, read_region(region.folder)[1], worker)
    assert {stage for stage, count in counts.items() if count} == {"offsets"}
    assert counts["offsets"] == 1
    assert gone.read_bytes() == bytes_before


def test_tiles_that_are_made_no_more_go(made):
    region, _ = made
    folder = region.folder / "region/layers"
    tile = sorted((folder / "elevation_night_m").iterdir())[0]
    left = tile.with_name("1_1.tif"), folder / "no_layer/1_1.tif"
    for path in left:
        path.parent.mkdir(exist_ok=True)
        shutil.copy(tile, path)
    run.make_layers(region, read_region(region.folder)[1], run.in_process)
    assert not any(path.exists() for path in left)
    assert tile.exists()


def test_a_tile_whose_ground_is_not_known_but_that_around_it_is(tmp_path):
    folder = made_region.write_region(
        tmp_path / "region", 2560.0, 10.0, night_hours=0.5
    )
    for path in (folder / "elevation").iterdir():
        with rasterio.open(path, "r+") as source:
            values = source.read()
            # The western of two columns of tiles, and ten cells of the other.
            values[..., : None if path.stem.endswith("_0") else 10] = source.nodata
            source.write(values)
    region, heights = read_region(folder)
    place = run.make_layers(region, heights, run.in_process)
    found = layers.read(place, LAYERS["offset_c"], inside(region))
    assert 0 < np.isfinite(found.values).mean() < 1
    # Air runs no farther than ground is known.
    parts = list((place.out / "parts").iterdir())
    assert parts
    for path in parts:
        is_known = np.isfinite(np.load(path)["land_m"])
        assert is_known[[0, -1]].any(axis=1).all(), path.name
        assert is_known[:, [0, -1]].any(axis=0).all(), path.name


def test_tiles_are_cloud_optimised_and_say_their_unit(made):
    region, _ = made
    path = sorted((region.folder / "region/layers/sun_mj_m2_day").iterdir())[0]
    with rasterio.open(path) as source:
        assert source.tags(ns="IMAGE_STRUCTURE")["LAYOUT"] == "COG"
        assert source.units[0] == "MJ m-2 day-1"
        assert source.descriptions[0] == "month_01"


def test_hollows_are_filled_as_on_the_ground_in_one_piece(made):
    region, _ = made
    ground = layers.window(region.folder, "elevation_night_m", region.known)
    filled = layers.window(region.folder, "filled_m", region.known)
    np.testing.assert_array_equal(filled.values, drainage.filled_m(ground.values))


def test_the_middle_parcel_has_no_offset(made):
    region, _ = made
    middles = []
    for parcel in region.parcels.geometry:
        offset = layers.window(region.folder, "offset_c", parcel.bounds)
        middles.append(np.median(offset.values[1]))
    # Of nine parcels' medians the middle one, by the definition of the reference.
    assert np.median(middles) == pytest.approx(0.0, abs=0.05)


def test_a_folder_without_layers_is_a_sentence(tmp_path):
    with pytest.raises(PlanError, match="holds no layers of a region; make them with"):
        layers.window(tmp_path, "slope_deg", (0.0, 0.0, 1.0, 1.0))
