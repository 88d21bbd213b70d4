"""What crops give off, and litres of a bed from it."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.model.crops import Crop
from layers import evapotranspiration as water

Floats = npt.NDArray[np.float64]

# Over that of grass once leaves cover the bed: FAO-56, Table 12 (values from memory).
MIDDLE = {
    "lettuce": 1.0,
    "endive": 1.0,
    "spinach": 1.0,
    "corn salad": 1.0,
    "radish": 0.9,
    "turnip": 1.1,
    "swede": 1.1,
    "garlic": 1.0,
    "pea": 1.15,
    "broad bean": 1.15,
    "potato": 1.15,
    "tomato": 1.15,
    "sweet corn": 1.15,
    "cucumber": 1.0,
    "squash": 1.0,
    "pumpkin": 1.0,
    "courgette": 0.95,
}
# Small vegetables, roots, cabbages, onions, peppers and beans alike.
OTHERS = 1.05
# Of the water that leaves the drip, what roots get (common practice, no source).
DRIP_EFFICIENCY = 0.9


def coefficient(crop: Crop) -> float:
    """What a crop gives off over what grass does, under whichever of its names is known."""
    names = [name.casefold() for name in (crop.name, *crop.also)]
    return next((MIDDLE[name] for name in names if name in MIDDLE), OTHERS)


class Climate(NamedTuple):
    """What the reference hangs on, by month, January first.

    Attributes
    ----------
    tmin_c, tmax_c
        (12,) usual minima and maxima.
    wind_m_s
        (12,) at 2 m; NaN where it was not recorded.
    light_mj_m2_day
        (12,) on level ground with the cloud of the place; None where not known.
    """

    tmin_c: Floats
    tmax_c: Floats
    wind_m_s: Floats
    light_mj_m2_day: Floats | None


def reference_mm_day(
    climate: Climate, latitude_deg: float, elevation_m: float
) -> Floats:
    """Water that well-watered grass gives off in each month [mm a day], (12,).

    By `layers.evapotranspiration`, January first, at the middle of each month; NaN where
    it is not known. Light is no more than under a clear sky.

    Parameters
    ----------
    climate
        Usual minima, maxima, wind and light by month. Where wind is NaN, the usual wind
        is taken; where light is None, it follows from the swing of temperature.
    latitude_deg
        Latitude of the place, negative in the south.
    elevation_m
        Height of the place above the sea.
    """
    # Days of the year in the middle of each month.
    middles = [pd.Timestamp(2025, month, 15).day_of_year for month in range(1, 13)]
    above = water.extraterrestrial_mj_m2_day(latitude_deg, middles)
    # In months without sun there is still something to divide by.
    clear = np.maximum(water.clear_sky_mj_m2_day(above, elevation_m), 0.1)
    light = climate.light_mj_m2_day
    if light is None:
        light = water.light_from_swing_mj_m2_day(above, climate.tmin_c, climate.tmax_c)
    wind = np.where(np.isnan(climate.wind_m_s), water.USUAL_WIND_M_S, climate.wind_m_s)
    return water.reference_mm_day(
        climate.tmin_c,
        climate.tmax_c,
        np.minimum(light, clear),
        clear,
        elevation_m,
        wind,
    )


def litres_day(
    area_m2: float, crop_coefficient: float, reference_mm_day: float
) -> float:
    """Water through the drip on a day without rain [l]: a millimetre on 1 m² is a litre.

    Parameters
    ----------
    area_m2
        Planted area.
    crop_coefficient
        What the crop gives off over what grass does, see `coefficient`.
    reference_mm_day
        What well-watered grass gives off [mm a day]; NaN stays NaN.

    Examples
    --------
    >>> round(litres_day(15.0, 1.2, 4.5), 1)
    90.0
    """
    return area_m2 * crop_coefficient * reference_mm_day / DRIP_EFFICIENCY


def by_month(values: pd.Series) -> Floats:
    """Mean of each calendar month, January first; NaN where none is known."""
    means = values.groupby(pd.DatetimeIndex(values.index).month).mean()
    return np.asarray(means.reindex(range(1, 13)), float)


def of_months(weeks: Sequence[float], months: Sequence[int]) -> Floats:
    """The most of any week that begins in each month, January first.

    Parameters
    ----------
    months
        Of each week.
    """
    found = np.zeros(12)
    for amount, month in zip(weeks, months, strict=True):
        found[month - 1] = max(found[month - 1], amount)
    return found
