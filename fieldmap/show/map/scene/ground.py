"""The ground as pictures of numbers, which each look of the map colours for itself."""

import io
from typing import TypedDict

import numpy as np
import numpy.typing as npt
from PIL import Image
from rasterio.warp import Resampling
from scipy import ndimage

from fieldmap.model.raster import Bounds, Raster, grown
from fieldmap.show.map.offline import data_uri
from fieldmap.show.map.overlay import Warped, shading, warped
from fieldmap.show.map.scene.contours import smoothed
from fieldmap.show.map.scene.frame import Frame

MOST_PIXELS = 640
STEPS = 64  # along a ramp: no eye tells neighbours apart, and files are smaller
FADED = 0.14  # of the shorter side, along its edge
FADED_M = 70.0  # at most
MISSING_FADED_M = 2.5  # where single cells are missing


# Ground beyond what is planned, as a share of its longer side, so that a window is filled.
BEYOND = 0.9
MOST_CELLS = 900  # along a side


def around(elevation_m: Raster, planned: Bounds) -> Raster:
    """Heights of what is planned and the ground around it, coarser where there are many."""
    west, south, east, north = planned
    beyond_m = BEYOND * max(east - west, north - south)
    found = elevation_m.clip(elevation_m.window(grown(planned, beyond_m)))
    every = int(np.ceil(max(found.shape) / MOST_CELLS))
    if every == 1:
        return found
    smooth = smoothed(found, every * found.cell_size_m / 2)
    return Raster(
        smooth.values[every // 2 :: every, every // 2 :: every],
        smooth.transform * smooth.transform.scale(every),
        smooth.crs,
    )


class Picture(TypedDict):
    """A PNG and where it lies: west, south, east and north of the frame's middle [m]."""

    uri: str
    box: Bounds


class FieldPicture(Picture):
    """The same with the outline of what was worked out: east and north in turn [m]."""

    edge: list[float]


def ground_picture(heights_m: Raster, frame: Frame) -> Picture:
    """How high the ground lies (red), how light (green), and how far it is known (blue).

    Red is 0 at the lowest and 255 at the highest ground; green is 128 where the ground is
    lit as level ground is; blue fades to 0 towards the edge of what is known.
    """
    heights = _warped(smoothed(heights_m))
    shades = _warped(heights_m.with_values(shading(smoothed(heights_m, 2.5))))
    known = ~np.isnan(heights.values)
    low, high = (
        (float(np.nanmin(heights.values)), float(np.nanmax(heights.values)))
        if known.any()
        else (0.0, 1.0)
    )
    bands = (
        (heights.values - low) / max(high - low, 1e-6),
        shades.values,
        _fading(known, heights, frame),
    )
    pixels = np.stack(
        [np.round(255 * np.clip(np.nan_to_num(band), 0.0, 1.0)) for band in bands], 2
    ).astype(np.uint8)
    return Picture(
        uri=data_uri(_png(pixels), "image/png"), box=frame.box(heights.bounds)
    )


def field_picture(places: Raster, frame: Frame) -> FieldPicture:
    """A field as grey from 0 (place 0 along a ramp) to 254 (place 1), clear where missing.

    It fades a little where cells are missing. Its edge is where colours are to end, with
    a line: colours that fade there would be read as other values.
    """
    shown = _warped(places, max(places.shape))
    known = ~np.isnan(shown.values)
    place = np.clip(np.nan_to_num(shown.values), 0.0, 1.0)
    grey = 254.0 * np.round(place * STEPS) / STEPS
    west, _south, east, _north = frame.box(shown.bounds)
    pixel_m = (east - west) / known.shape[1]
    share = _rising(known, MISSING_FADED_M / pixel_m)
    pixels = np.stack([grey, 255.0 * share * known], 2).round().astype(np.uint8)
    return FieldPicture(
        uri=data_uri(_png(pixels), "image/png"),
        box=frame.box(shown.bounds),
        edge=_edge(places, frame),
    )


def _edge(places: Raster, frame: Frame) -> list[float]:
    """Outline of a raster, within what fades there; none where it is missing there."""
    rim = ~np.isnan(places.values)
    rim[1:-1, 1:-1] = False
    if rim.sum() < len(places.values):
        return []
    west, south, east, north = grown(places.bounds, -MISSING_FADED_M)
    ring = [(west, south), (west, north), (east, north), (east, south), (west, south)]
    return [float(each) for each in frame.points(ring, places.crs).round(1).ravel()]


def _warped(raster: Raster, cells: int = MOST_PIXELS) -> Warped:
    """No finer than its cells: the browser smooths what it draws larger."""
    return warped(raster, Resampling.bilinear, min(cells, MOST_PIXELS))


def _fading(
    known: npt.NDArray[np.bool_], shown: Warped, frame: Frame
) -> npt.NDArray[np.float64]:
    """1 inside, falling smoothly to 0 at the edge of what is known."""
    west, south, east, north = frame.box(shown.bounds)
    pixel_m = (east - west) / known.shape[1]
    width_m = min(FADED_M, FADED * min(east - west, north - south))
    return _rising(known, width_m / pixel_m)


def _rising(inside: npt.NDArray[np.bool_], pixels: float) -> npt.NDArray[np.float64]:
    """0 outside and at its edge, rising smoothly to 1 over a number of pixels within."""
    away = ndimage.distance_transform_edt(np.pad(inside, 1))[1:-1, 1:-1]
    share = np.clip(away / max(pixels, 1e-6), 0.0, 1.0)
    return np.asarray(share * share * (3.0 - 2.0 * share))


def _png(pixels: npt.NDArray[np.uint8]) -> bytes:
    file = io.BytesIO()
    Image.fromarray(pixels).save(file, "PNG", compress_level=6)
    return file.getvalue()
