"""Numbers behind the colours, packed so that a finger on the map can read them."""

import base64
import gzip
import math
from collections.abc import Callable
from typing import TypedDict

import numpy as np
import numpy.typing as npt

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Raster

MISSING = -32768  # the code of a cell without a value
MOST_CODES = 10_000
MOST_CELLS = 400_000
# Along each side of the grid, where its place is fitted.
FITTED_AT = 15


class Reading(TypedDict):
    """What a finger reads in one grid: a code in each cell, and a phrase for each code.

    `codes` are differences along each row as 16-bit numbers, gzipped, in base64;
    `phrases[code - first]` is the text.
    """

    codes: str
    first: int
    phrases: list[str]


class Place(TypedDict):
    """From longitude and latitude to column and row of cell corners.

    `u` and `v` are longitude and latitude less `middle`, divided by `half`; the
    coefficients are those of 1, u, v, u², uv, v².
    """

    rows: int
    cols: int
    middle: tuple[float, float]
    half: tuple[float, float]
    col: list[float]
    row: list[float]


def thinned(raster: Raster) -> Raster:
    """Every n-th cell of a raster too large to embed, else the raster itself."""
    rows, cols = raster.shape
    every = math.ceil(math.sqrt(rows * cols / MOST_CELLS))
    if every <= 1:
        return raster
    return type(raster)(
        raster.values[..., every // 2 :: every, every // 2 :: every],
        raster.transform * raster.transform.scale(every),
        raster.crs,
    )


def reading(
    values: npt.NDArray[np.floating], step: float, phrase: Callable[[float], str]
) -> Reading:
    """A grid to the nearest `step`, put in words by `phrase`; missing stays missing.

    Parameters
    ----------
    values
        (rows, cols) values; NaN where there are none.
    step
        Values are rounded to whole multiples of it, in their own unit.
    phrase
        Gives the words for a value. It is called once for each step from the lowest
        value to the highest.

    Raises
    ------
    ValueError
        When a value is too large for its step.
    """
    present = np.isfinite(values)
    whole = np.round(np.where(present, values, 0.0) / step)
    if np.abs(whole).max(initial=0) >= MOST_CODES:
        raise ValueError(
            f"values up to {np.abs(whole).max() * step:g} are too large for {step:g}"
        )
    lowest, highest = int(whole.min()), int(whole.max())
    codes = np.where(present, whole, MISSING).astype("<i2")
    # Differences wrap round as 16-bit numbers do, and wrap back when summed.
    delta = np.diff(codes, axis=1, prepend=np.int16(0)).astype("<i2")
    packed = gzip.compress(delta.tobytes(), 6, mtime=0)
    return Reading(
        codes=base64.b64encode(packed).decode(),
        first=lowest,
        phrases=[phrase(code * step) for code in range(lowest, highest + 1)],
    )


def place(raster: Raster) -> Place:
    """Second-degree fit of column and row; under a millimetre off over 5 km."""
    rows, cols = raster.shape
    to_degrees = transformer(raster.crs, WGS84)
    col, row = (
        side.ravel()
        for side in np.meshgrid(
            np.linspace(0, cols, FITTED_AT), np.linspace(0, rows, FITTED_AT)
        )
    )
    size = raster.cell_size_m
    longitude, latitude = to_degrees.transform(
        raster.transform.c + col * size, raster.transform.f - row * size
    )
    middle = (float(longitude.mean()), float(latitude.mean()))
    half = (float(np.ptp(longitude)) / 2, float(np.ptp(latitude)) / 2)
    u, v = (longitude - middle[0]) / half[0], (latitude - middle[1]) / half[1]
    terms = np.stack([np.ones_like(u), u, v, u * u, u * v, v * v], axis=1)
    fits, *_ = np.linalg.lstsq(terms, np.stack([col, row], axis=1))
    return Place(
        rows=rows,
        cols=cols,
        middle=middle,
        half=half,
        col=[float(term) for term in fits[:, 0]],
        row=[float(term) for term in fits[:, 1]],
    )
