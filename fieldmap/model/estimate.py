"""A number that is not known exactly: low, central and high."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple, TypeVar

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

# One number, or many.
OneOrMany = TypeVar("OneOrMany", float, "npt.NDArray[np.floating]")

STEP_C = 0.5  # the finest step of an offset that people are shown


class Estimate(NamedTuple):
    """A range and its likeliest value.

    Which share of cases the range holds stands where it is made. Of an offset [°C], low
    is the coldest plausible.

    Examples
    --------
    >>> Estimate(-1.0, -0.5, 0.0).map(lambda celsius: celsius * 1.8)
    Estimate(low=-1.8, central=-0.9, high=0.0)
    """

    low: float
    central: float
    high: float

    def map(self, change: Callable[[float], float]) -> Estimate:
        """The same estimate on another scale."""
        return Estimate(change(self.low), change(self.central), change(self.high))


def rounded_c(offset_c: OneOrMany) -> OneOrMany:
    """An offset rounded to the step that people are shown, halves away from zero.

    Examples
    --------
    >>> rounded_c(-0.74), rounded_c(-0.75), rounded_c(0.1)
    (-0.5, -1.0, 0.0)
    """
    size = (abs(offset_c) / STEP_C + 0.5) // 1 * STEP_C
    # Never -0.0.
    return size * ((offset_c > 0) * 1 - (offset_c < 0) * 1) + 0.0
