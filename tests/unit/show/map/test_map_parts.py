"""Parts of the map, without a browser: pictures, packed numbers, colours, sealing."""

import base64
import gzip
import io
import re
import shutil

import browser
import numpy as np
import pytest
from made_up import raster
from PIL import Image
from pyproj import CRS, Transformer
from rasterio.transform import from_origin

from fieldmap.model.raster import Raster
from fieldmap.show import layer_styles
from fieldmap.show.map import offline, overlay
from fieldmap.show.map.data import grids

UTM_PLACES = [(32633, 17.95, 44.5), (32635, 25.0, 60.0), (32760, 174.8, -41.3)]


def picture_of(drawn):
    return Image.open(io.BytesIO(base64.b64decode(drawn.uri.split(",", 1)[1])))


def codes_of(reading, shape):
    """Undo the packing as the page's script does, with Python's own tools."""
    delta = np.frombuffer(gzip.decompress(base64.b64decode(reading["codes"])), "<i2")
    return np.cumsum(delta.reshape(shape).astype(np.int64), axis=1).astype(np.int16)


def grid_at(epsg, longitude, latitude, values, cell_size_m):
    to_grid = Transformer.from_crs(4326, epsg, always_xy=True)
    east, north = to_grid.transform(longitude, latitude)
    return Raster(values, from_origin(east, north, cell_size_m, cell_size_m), CRS(epsg))


# ---- Pictures


def test_a_slope_towards_the_light_is_brighter_than_one_away_from_it():
    """Light comes from the north-west: cartographic convention (Imhof 1965)."""
    row, col = np.mgrid[0:41, 0:41] - 20.0
    cone = raster(10 - 0.3 * np.hypot(row, col))
    lit = overlay.shading(cone)
    assert lit[10, 10] > lit[10, 30] > lit[30, 30]
    assert lit[10, 10] > lit[30, 10] > lit[30, 30]


def test_level_ground_is_shaded_evenly():
    lit = overlay.shading(raster(np.full((20, 20), 7.0)))
    inner = lit[1:-1, 1:-1]
    assert np.isfinite(inner).all()
    assert np.ptp(inner) == 0


# ---- Packed numbers


def test_packed_values_come_back_to_half_a_step_and_missing_ones_as_missing():
    values = np.random.default_rng(2).uniform(-50, 50, (37, 23))
    values[3, 5] = values[0, 0] = values[-1, -1] = np.nan
    reading = grids.reading(values, 0.1, "{:.1f}".format)
    codes = codes_of(reading, values.shape)
    missing = np.isnan(values)
    assert (codes[missing] == grids.MISSING).all()
    np.testing.assert_allclose(codes[~missing] * 0.1, values[~missing], atol=0.0501)


def test_each_code_has_its_phrase():
    values = np.array([[-0.31, 0.0, 0.42, np.nan]])
    reading = grids.reading(values, 0.1, "{:+.1f}".format)
    codes = codes_of(reading, values.shape)[0, :3]
    texts = [reading["phrases"][code - reading["first"]] for code in codes]
    assert texts == ["-0.3", "+0.0", "+0.4"]


def test_a_value_too_large_for_its_step_is_refused():
    with pytest.raises(ValueError, match="too large"):
        grids.reading(np.array([[1e6]]), 0.1, str)


def test_a_grid_without_any_value_is_packed_as_missing():
    reading = grids.reading(np.full((2, 3), np.nan), 0.1, str)
    assert (codes_of(reading, (2, 3)) == grids.MISSING).all()


@pytest.mark.parametrize("where", UTM_PLACES, ids=["zone edge", "60 north", "south"])
def test_degrees_lead_to_the_cell_that_the_projection_library_says(where):
    """Over 2 km, to a hundredth of a 2 m cell, against pyproj."""
    epsg, longitude, latitude = where
    cells = grid_at(epsg, longitude, latitude, np.zeros((1000, 1000)), 2.0)
    place = grids.place(cells)
    col, row = np.random.default_rng(1).uniform(0, 1000, (2, 300))
    east = cells.transform.c + col * 2.0
    north = cells.transform.f - row * 2.0
    to_degrees = Transformer.from_crs(epsg, 4326, always_xy=True)
    there = np.stack(to_degrees.transform(east, north))
    middle, half = np.array(place["middle"]), np.array(place["half"])
    u, v = (there - middle[:, None]) / half[:, None]
    terms = np.stack([np.ones_like(u), u, v, u * u, u * v, v * v])
    np.testing.assert_allclose(place["col"] @ terms, col, atol=0.01)
    np.testing.assert_allclose(place["row"] @ terms, row, atol=0.01)


def test_a_thinned_grid_keeps_values_and_their_places():
    values = np.arange(2000.0 * 1000).reshape(2000, 1000)
    thin = grids.thinned(raster(values))
    assert thin.values.size <= grids.MOST_CELLS
    assert thin.cell_size_m == 3.0
    east, north = thin.transform.c + 301.5, thin.transform.f - 601.5
    assert raster(values).sample(east, north) == thin.sample(east, north)


# ---- Colours


def lightness(colour):
    """CIE L* of an sRGB colour (IEC 61966-2-1; CIE 15)."""
    coded = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    luminance = linear @ (0.2126, 0.7152, 0.0722)
    return 116 * np.cbrt(luminance) - 16 if luminance > 0.008856 else 903.3 * luminance


def test_groups_of_beds_go_one_way_from_light_to_dark_so_that_grey_paper_shows_them():
    """Lightness alone tells neighbours apart: so do all kinds of colour blindness."""
    shades = dict.fromkeys(layer_styles.GROUP_COLOURS.values())
    assert (np.diff([lightness(colour) for colour in shades]) < -2).all()


# ---- Nothing from outside


@pytest.mark.parametrize(
    "markup",
    [
        '<script src="https://example.org/a.js"></script>',
        '<link rel="stylesheet" href="https://example.org/a.css"/>',
        '<link rel="icon" href="/favicon.ico">',
        '<img src="picture.png">',
        '<img srcset="https://example.org/a.png 2x">',
        "<style>@import 'a.css';</style>",
        "<style>p { background: url(https://example.org/a.png); }</style>",
    ],
)
def test_a_page_that_would_ask_the_network_is_refused(markup):
    with pytest.raises(ValueError, match="ask the network"):
        offline.inlined(f"<html><head>{markup}</head></html>")


def test_text_that_merely_looks_like_an_address_is_no_request():
    page = "<td>&lt;img src=x&gt; @import url(https://example.org/a.css)</td>"
    assert offline.inlined(page) == page


def test_only_the_scripts_in_the_page_may_run():
    page = offline.sealed(f"<meta content='{offline.POLICY}'><script>one()</script>")
    # echo -n 'one()' | openssl dgst -sha256 -binary | base64
    assert "'sha256-HR7iaask9daLMRRskMI++QeJtjWDOjyPA6lGzYGzKW4='" in page
    assert "unsafe-inline" not in re.search(r"script-src[^;]*", page)[0]
    assert "default-src 'none'" in page


def test_pictures_may_come_from_the_named_host_and_from_no_other():
    page = f"<meta content='{offline.POLICY}'>"
    assert "img-src data: blob:;" in offline.sealed(page)
    named = offline.sealed(page, "https://tiles.example.org")
    assert "img-src data: blob: https://tiles.example.org;" in named
    assert named.count("https://") == 1


def test_a_missing_browser_fails_and_says_what_to_install(monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda name: None)
    with (
        pytest.raises(RuntimeError, match="apt-get install chromium"),
        browser.chromium(),
    ):
        pass
