"""Thermometers on the spot: where and how they hang, and what they read."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# Records are kept in a screen at 1.25 to 2 m (Snyder & de Melo-Abreu 2005, FAO).
SCREEN_M = 1.25, 2.0


@dataclass(frozen=True)
class Thermometers:
    """Night minima of thermometers hung on the spot.

    Attributes
    ----------
    names
        Of the places, one for each thermometer.
    at_m
        (loggers, 2) east and north in the site's CRS.
    height_m
        (loggers,) above the ground.
    is_shielded
        (loggers,) whether it hangs under a radiation shield or in a screen.
    minima_c
        One row a night, by the date of the morning; one column a thermometer. NaN is
        missing.
    """

    file: str
    names: tuple[str, ...]
    at_m: Floats
    height_m: Floats
    is_shielded: Mask
    minima_c: pd.DataFrame

    @property
    def in_screen(self) -> Mask:
        """Which hang as stations do: shielded, at 1.25 to 2 m."""
        lowest, highest = SCREEN_M
        return self.is_shielded & (self.height_m >= lowest) & (self.height_m <= highest)
