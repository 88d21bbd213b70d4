"""How long a season is by how much colder a place is than the region's middle."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import ndimage

from fieldmap.analyse import climatology, seasons
from fieldmap.model.region import Frost
from fieldmap.model.season_year import DAYS
from fieldmap.model.site import WeatherRecord
from layers import coldness, freeze, nights, odds

Floats = npt.NDArray[np.float64]

OFFSET_STEP_C, HEIGHT_STEP_C = 0.25, 0.5
HIGHEST_C = 8.0  # what heights are worth against the station, either way


class SeasonTable(NamedTuple):
    """Days of the season at offsets and at what heights are worth.

    Attributes
    ----------
    offset_c
        (offsets,) of a still night.
    height_c
        (heights,) what a place's height is worth against the station.
    days
        (offsets, heights).
    """

    offset_c: Floats
    height_c: Floats
    days: Floats

    def at(self, offset_c: Floats, height_c: Floats) -> Floats:
        """Days of places, in straight lines between those of the table; NaN stays NaN."""
        row = (offset_c - self.offset_c[0]) / OFFSET_STEP_C
        col = (height_c - self.height_c[0]) / HEIGHT_STEP_C
        known = ~(np.isnan(row) | np.isnan(col))
        at = [np.where(known, each, 0.0) for each in (row, col)]
        days = ndimage.map_coordinates(self.days, at, order=1, mode="nearest")
        return np.where(known, days, np.nan)


def season_table(
    weather: WeatherRecord, frost: Frost, *, southern: bool, mixed_share: float
) -> SeasonTable | None:
    """Days between the last and the first frost that all but some years keep.

    A still night takes the whole offset, a mixed one a share of it and what the height
    is worth, a windy one the height alone. Single nights do not stray here; a parcel's
    own dates take that in.

    Parameters
    ----------
    weather
        The station's record.
    frost
        Which temperature is a frost, and in what share of years a season may be shorter
        on either side.
    southern
        Whether the region lies south of the equator.
    mixed_share
        Part of a still night's offset that is left on a mixed night, 0 to 1.

    Returns
    -------
    table
        None where the record has too few years.
    """
    if not weather.is_there or weather.typical:
        return None
    days, _gaps = seasons.bridged(weather.days, "")
    dates = days.index.to_numpy().astype("datetime64[D]")
    low_c = days["tmin_c"].to_numpy(np.float64)
    calendar = freeze.calendar(dates, southern=southern)
    usable = freeze.springs_known(low_c, calendar, frost.limit_c)
    usable &= freeze.autumns_known(low_c, calendar, frost.limit_c)
    if usable.sum() < climatology.FEWEST_YEARS:
        return None
    kinds = climatology.kinds(days)
    share = np.select(
        [kinds == nights.STILL, kinds == nights.MIXED], [1.0, mixed_share], 0.0
    )
    offset_c = np.arange(coldness.COLDEST_C, coldness.WARMEST_C + 0.1, OFFSET_STEP_C)
    height_c = np.arange(-HIGHEST_C, HIGHEST_C + 0.1, HEIGHT_STEP_C)
    length = np.empty((len(offset_c), len(height_c)))
    for row, offset in enumerate(offset_c):
        there_c = low_c + share * offset + height_c[:, np.newaxis]
        last = freeze.last_in_spring(there_c, calendar, frost.limit_c)[:, usable]
        first = freeze.first_in_autumn(there_c, calendar, frost.limit_c)[:, usable]
        # A half-year without frost counts from its beginning, or to its end.
        after = np.maximum(odds.safe_after(last, frost.risk), 1.0)
        before = np.minimum(odds.safe_before(first, frost.risk), DAYS + 1.0)
        length[row] = np.maximum(0.0, before - after - 1.0)
    return SeasonTable(offset_c, height_c, length)
