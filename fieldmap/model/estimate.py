"""A number that is not known exactly: low, central and high."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

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


def rounded_c(offset_c: float) -> float:
    """An offset rounded to the step that people are shown, halves away from zero.

    Examples
    --------
    >>> rounded_c(-0.74), rounded_c(-0.75), rounded_c(0.1)
    (-0.5, -1.0, 0.0)
    """
    steps = int(abs(offset_c) / STEP_C + 0.5) * STEP_C
    return steps if offset_c >= 0 or steps == 0 else -steps
