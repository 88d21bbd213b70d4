"""Air two hours after sunset on a clear night of a low, where nobody has read it."""

from datetime import timedelta
from typing import NamedTuple

import numpy as np
import pandas as pd

from fieldmap.analyse.light.sun import rise_and_set
from fieldmap.decide.tonight.answer import TENTH_OF_NORMAL
from fieldmap.model.site import TypicalYear
from layers import nights

AFTER_SUNSET = timedelta(hours=nights.TREND_FROM_H)
# Readings of an hourly year beside a time: no farther from it than this.
NEAR = timedelta(hours=1)
# FAO's line is one of nights of frost. A line of fewer nights than these, no warmer than
# these, or one on which a low hardly hangs on the evening, says nothing (choices).
FEWEST_NIGHTS, WARMEST_LOW_C, LEAST_SLOPE = 20, 8.0, 0.3


class Dusk(NamedTuple):
    """Air at the station two hours after sunset, from the coldest to the warmest likely."""

    low_c: float
    high_c: float

    @classmethod
    def read(cls, air_c: float) -> "Dusk":
        """As somebody has read it."""
        return cls(air_c, air_c)

    @property
    def is_read(self) -> bool:
        """Whether it is no range."""
        return self.low_c == self.high_c


class DuskLine(NamedTuple):
    """Line of `nights.minimum_line` over the clear nights of a year."""

    slope: float
    height_c: float
    spread_c: float

    def before(self, low_c: float) -> Dusk:
        """The evening before a low, in eight cases of ten.

        Examples
        --------
        A line of half a degree for each from -5 °C, without scatter: −2 °C follows 6 °C.

        >>> DuskLine(0.5, -5.0, 0.0).before(-2.0)
        Dusk(low_c=6.0, high_c=6.0)
        """
        middle_c = (low_c - self.height_c) / self.slope
        # Nine evenings in ten are no colder than the one end, and no warmer than the other.
        beside_c = TENTH_OF_NORMAL * self.spread_c / self.slope
        return Dusk(
            *(max(each, low_c) for each in (middle_c - beside_c, middle_c + beside_c))
        )


def dusk_line(year: TypicalYear | None, time_zone: str) -> DuskLine | None:
    """From an hourly year near the station; None where there is none, or it says nothing.

    Parameters
    ----------
    time_zone
        Of the site.
    """
    if year is None:
        return None
    air_c = year.air_c.dropna().sort_index()
    dates = pd.DatetimeIndex(air_c.index).normalize()
    by_day = air_c.groupby(dates)
    days = pd.DatetimeIndex(by_day.min().index)
    is_clear = nights.clear_calm(
        days.tz_localize(None).to_numpy().astype("datetime64[D]"),
        by_day.min().to_numpy(float),
        by_day.max().to_numpy(float),
        None,
    )
    mornings = days[is_clear]
    place = year.latitude, year.longitude, time_zone
    evenings = [(day - timedelta(1)).date() for day in mornings]
    sunset = rise_and_set(evenings, *place)["sunset"]
    sunrise = rise_and_set([day.date() for day in mornings], *place)["sunrise"]
    pairs = [
        (at_dusk_c, float(night.min()))
        for down, up in zip(sunset, sunrise, strict=True)
        if not (pd.isna(down) or pd.isna(up))
        for night in (air_c[down + AFTER_SUNSET : up + NEAR],)
        for at_dusk_c in (_at(air_c, down + AFTER_SUNSET),)
        if len(night) and night.min() <= WARMEST_LOW_C and not np.isnan(at_dusk_c)
    ]
    if len(pairs) < FEWEST_NIGHTS:
        return None
    line = DuskLine(*nights.minimum_line(*np.transpose(pairs)))
    return line if line.slope >= LEAST_SLOPE else None


def _at(air_c: pd.Series, when: pd.Timestamp) -> float:
    """Between the readings of the hour before and of the hour after; NaN without both."""
    before, after = air_c[when - NEAR : when], air_c[when : when + NEAR]
    if not (len(before) and len(after)):
        return float("nan")
    (first, one), (last, other) = (
        (before.index[-1], before.iloc[-1]),
        (after.index[0], after.iloc[0]),
    )
    share = (when - first) / (last - first) if last > first else 0.0
    return float(one + share * (other - one))
