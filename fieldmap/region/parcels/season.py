"""How long parcels are frost-free: the station's record with each parcel's own nights.

What is not known of a parcel's offset is drawn so that its low, central and high are
those of the layer. Of it, what terrain does not tell of a place (`layers.scatter`) is
each place's own, shared by near ones; the rest, how large differences on this ground are,
is one for all parcels, and makes cold ones colder and warm ones warmer. So the range of a
difference of two parcels is not that of either.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import special

from fieldmap.analyse.climatology import FEWEST_YEARS, Record
from fieldmap.decide.calendar import bed_temperatures, monte_carlo
from fieldmap.decide.calendar.bed_temperatures import StationAir
from fieldmap.decide.calendar.frost_dates import frost_free_days
from fieldmap.decide.calendar.monte_carlo import Draws
from fieldmap.model.crops import DamageTemperature
from fieldmap.model.estimate import Estimate
from layers import coldness, scatter

Floats = npt.NDArray[np.float64]

# Good years, and out of how many, in which a parcel is to be frost-free for as long.
YEARS: tuple[tuple[int, int], ...] = ((1, 2), (3, 5), (4, 5), (9, 10))
USUAL = YEARS.index((4, 5))  # by which parcels stand in order
_END_SD = -special.ndtri(monte_carlo.PERCENTILES[0])  # from the middle to an end


@dataclass(frozen=True)
class Seasons:
    """Days from the last frost of spring to the first of autumn.

    Attributes
    ----------
    draws
        (parcels, draws), at least in `YEARS[USUAL]`.
    days
        (years, 3, parcels): low, central and high at least, for each of `YEARS`.
    """

    draws: Floats
    days: Floats


def frost(limit_c: float) -> DamageTemperature:
    """A frost at this temperature [°C] at the screen of a weather station."""
    return DamageTemperature(value=limit_c, at="screen", source="the user's choice")


def seasons(
    record: Record,
    station: StationAir,
    offset_c: Floats,
    places: tuple[Floats, Floats],
    mixed_share: Estimate,
    limit: DamageTemperature,
) -> Seasons:
    """The frost-free season of parcels, as draws that hold for all of them.

    Parameters
    ----------
    record
        Days of the station in season-years.
    station
        The station's height and what it is compared with; its reference is that of the
        offsets.
    offset_c
        (3, parcels): low, central and high on a clear calm night.
    places
        (parcels, 2) east and north, and (parcels,) heights.
    mixed_share
        Of an offset that is left on mixed nights.
    limit
        The frost that ends a season.
    """
    place_m, height_m = places
    drawn = monte_carlo.sample(
        record.usable,
        len(record.calendar.years),
        resample=len(record.usable) >= FEWEST_YEARS,
    )
    shifts = bed_temperatures.of_places(
        station,
        drawn_offsets_c(offset_c, place_m, drawn),
        height_m,
        ("none",),
        mixed_share,
        drawn,
    )
    risks = [1 - good / of for good, of in YEARS]
    days = np.moveaxis(
        frost_free_days(record, shifts, limit, risks, drawn)[:, :, 0], 1, -1
    )
    ends = np.moveaxis(monte_carlo.percentiles(days), 0, 1)
    return Seasons(days[USUAL], np.minimum(ends, 365.0))


def drawn_offsets_c(offset_c: Floats, place_m: Floats, draws: Draws) -> Floats:
    """Offsets of parcels in each draw, (draws, parcels), NaN where they are not known.

    Each parcel's 10th, 50th and 90th percentile are its low, central and high.

    Parameters
    ----------
    offset_c
        (3, parcels): low, central and high on a clear calm night; NaN where not known.
    place_m
        (parcels, 2): east and north.
    draws
        What is drawn of all that is not known.
    """
    low, central, high = offset_c
    spread = np.maximum((high - low) / (2 * _END_SD), 1e-9)
    own = np.minimum(draws.scatter.place_c / spread, 1.0)
    shared = np.sqrt(1 - own**2) * np.where(central < 0, -1.0, 1.0)
    size = special.ndtri(draws.size)[:, np.newaxis]
    field = scatter.fields(place_m, len(draws.size), monte_carlo.SEED)
    deviation = (own * field + shared * size) / _END_SD
    side = np.where(deviation < 0, central - low, high - central)
    found = central + side * deviation
    return np.asarray(np.clip(found, coldness.COLDEST_C, coldness.WARMEST_C))
