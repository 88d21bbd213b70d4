"""Numbers in few letters: little-endian, in base64."""

import base64
from collections.abc import Iterable, Sequence
from typing import TypedDict

import numpy as np
import numpy.typing as npt

MOST = 32767  # of a 16-bit number
UNKNOWN = 255


class Lines(TypedDict):
    """Lines of points: where each begins, and steps of `unit` metres east and north."""

    starts: str
    points: str
    unit: float


def packed(numbers: npt.ArrayLike, kind: str) -> str:
    """Numbers of a numpy kind ("<f4", "<u4", "<i2", "u1").

    Examples
    --------
    >>> packed([1, 2], "<i2")
    'AQACAA=='
    """
    return base64.b64encode(np.asarray(numbers, kind).tobytes()).decode()


def lines(lines: Sequence[npt.NDArray[np.float64]], finest_m: float = 0.05) -> Lines:
    """Lines of (points, 2) metres around the frame's middle, to `finest_m` or coarser.

    Examples
    --------
    >>> lines([np.array([[0.0, 0.1], [1.0, 2.0]])])["unit"]
    0.05
    """
    points = np.concatenate([*lines, np.zeros((0, 2))])
    unit = max(finest_m, float(np.abs(points).max(initial=0.0)) / MOST)
    starts = np.cumsum([0, *(len(line) for line in lines)])
    return Lines(
        starts=packed(starts, "<u4"),
        points=packed(np.round(points / unit), "<i2"),
        unit=unit,
    )


def codes(places: Iterable[float]) -> str:
    """A place from 0 to 1 along a ramp for each bed, NaN where it is not known.

    Examples
    --------
    >>> codes([0.0, float("nan"), 1.0])
    'AP/+'
    """
    at = np.asarray(list(places), float)
    known = np.round(np.clip(np.nan_to_num(at), 0.0, 1.0) * (UNKNOWN - 1))
    return packed(np.where(np.isnan(at), UNKNOWN, known), "u1")


def kinds(names: Sequence[str], each: Iterable[str | None]) -> str:
    """The number of its pattern for each bed; None: nothing is drawn on it.

    Examples
    --------
    >>> kinds(("empty", "growing"), ("growing", None, "empty"))
    'Af8A'
    """
    return packed(
        [UNKNOWN if name is None else names.index(name) for name in each], "u1"
    )
