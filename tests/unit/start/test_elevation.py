"""Files of heights of several kinds give the same ground around the plots, in metres."""

import laspy
import numpy as np
import pyproj
import pytest
import rasterio
from affine import Affine

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.start.elevation.local import heights_of

UTM = pyproj.CRS(32633)
# The middle of the square of 400 m whose south-west corner is 520000, 5100000.
PLACE = (15.2605, 46.0533, 15.2615, 46.0541)
WEST, SOUTH, SIZE = 520000, 5100000, 400


def at(path, crs=None, unit=None):
    return heights_of(SiteFile(path, path.name), PLACE, crs, unit)


def plane_m(east, north):
    return 200.0 + 0.1 * (east - WEST) + 0.2 * (north - SOUTH)


def check_plane(found, tolerance_m=1e-3):
    """Each cell has the height of the plane at its middle."""
    rows, cols = np.mgrid[0 : found.values.shape[0], 0 : found.values.shape[1]]
    east, north = found.transform * (cols + 0.5, rows + 0.5)
    assert np.allclose(found.values, plane_m(east, north), atol=tolerance_m)
    assert found.crs == UTM


def cells(size_m):
    count = SIZE // size_m
    rows, cols = np.mgrid[0:count, 0:count]
    east = WEST + (cols + 0.5) * size_m
    north = SOUTH + SIZE - (rows + 0.5) * size_m
    return east, north, plane_m(east, north)


def geotiff(path, unit=None, crs="EPSG:32633", transform=None, values=None):
    values = cells(10)[2] if values is None else values
    with rasterio.open(
        path, "w", driver="GTiff", width=values.shape[1], height=values.shape[0],
        count=1, dtype="float64", crs=crs,
        transform=transform or Affine(10, 0, WEST, 0, -10, SOUTH + SIZE),
    ) as target:  # fmt: skip
        target.write(values, 1)
        if unit:
            target.units = (unit,)
    return path


def test_metres_are_taken_where_the_grid_is_in_metres_and_feet_where_it_says_so(
    tmp_path,
):
    found = at(geotiff(tmp_path / "a.tif"))
    check_plane(found)
    assert found.unit_taken
    feet = at(geotiff(tmp_path / "b.tif", "ft", values=cells(10)[2] / 0.3048))
    check_plane(feet)
    assert not feet.unit_taken
    given = at(geotiff(tmp_path / "c.tif", values=cells(10)[2] / 0.3048), unit="ft")
    check_plane(given)


def test_a_grid_in_degrees_must_say_its_unit(tmp_path):
    degrees = Affine(1e-4, 0, 15.24, 0, -1e-4, 46.07)
    path = geotiff(tmp_path / "a.tif", None, "EPSG:4326", degrees, np.ones((400, 400)))
    with pytest.raises(SiteError, match="--height-unit"):
        at(path)
    assert at(path, unit="m").values.max() == 1.0


def test_an_ascii_grid_and_xyz_take_the_stated_crs(tmp_path):
    east, north, values = cells(10)
    asc = tmp_path / "a.asc"
    head = f"ncols 40\nnrows 40\nxllcorner {WEST}\nyllcorner {SOUTH}\ncellsize 10\n"
    asc.write_text(head + "\n".join(" ".join(f"{v:.4f}" for v in r) for r in values))
    check_plane(at(asc, UTM))
    with pytest.raises(SiteError, match="--crs"):
        at(asc)
    xyz = tmp_path / "a.xyz"
    rows = zip(east.ravel(), north.ravel(), values.ravel(), strict=True)
    xyz.write_text("\n".join(f"{e} {n} {v:.4f}" for e, n, v in rows))
    check_plane(at(xyz, UTM))


@pytest.mark.parametrize("ending", ["las", "laz"])
def test_ground_points_of_a_cloud_become_cells_of_a_metre(tmp_path, ending):
    """LAS 1.4, form 6: four ground points about the middle of each cell, trees above."""
    east, north, _ = cells(1)
    spread = [(-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)]
    x = np.concatenate([(east + a).ravel() for a, _ in spread])
    y = np.concatenate([(north + b).ravel() for _, b in spread])
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.offsets, header.scales = [WEST, SOUTH, 0], [0.001, 0.001, 0.0001]
    header.add_crs(UTM)
    cloud = laspy.LasData(header)
    cloud.x, cloud.y = np.append(x, x[:1000]), np.append(y, y[:1000])
    cloud.z = np.append(plane_m(x, y), np.full(1000, 999.0))
    cloud.classification = np.append(np.full(len(x), 2), np.full(1000, 5))
    path = tmp_path / f"points.{ending}"
    cloud.write(path)
    found = at(path)
    assert found.transform.a == 1.0
    check_plane(found)


def test_an_outline_with_swapped_numbers_is_caught_by_where_the_elevation_lies(
    tmp_path,
):
    path = geotiff(tmp_path / "a.tif")
    south, west, north, east = PLACE  # as read with latitude first
    with pytest.raises(SiteError, match="look swapped"):
        heights_of(SiteFile(path, "a.tif"), (west, south, east, north), None, None)
    with pytest.raises(SiteError, match="covers latitude 46"):
        heights_of(SiteFile(path, "a.tif"), (7.0, 50.0, 7.01, 50.01), None, None)


def test_what_is_written_says_its_unit_and_place(tmp_path):
    found = at(geotiff(tmp_path / "a.tif"))
    found.write(tmp_path / "out.tif")
    with rasterio.open(tmp_path / "out.tif") as source:
        assert source.units == ("metre",)
        assert source.crs.to_epsg() == 32633
        assert np.array_equal(source.read(1), found.values)
    found.write(tmp_path / "again.tif")
    assert (tmp_path / "again.tif").read_bytes() == (tmp_path / "out.tif").read_bytes()


@pytest.mark.parametrize("size", [0.0, float("nan"), 1e-12])
def test_cells_of_no_size_are_refused(tmp_path, size):
    path = geotiff(tmp_path / "a.tif", transform=Affine(size, 0, WEST, 0, -size, SOUTH))
    with pytest.raises(SiteError, match="where on earth it lies"):
        at(path)
