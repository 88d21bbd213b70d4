"""The station's record becomes the bed's own, night by night, as shifts of its minima.

Clear calm nights take the bed's offset and what the cover is worth, other nights the
height and the cover's least.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.bed_means import BedMeans
from fieldmap.decide.calendar.monte_carlo import Draws, triangular
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.site import Site
from layers import coldair
from layers.cover import COVERS

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

# Fall of temperature with height on nights that are not clear and calm (-7 to -4 °C/km,
# from memory).
LAPSE_C_PER_M = -0.0055
# The plots' middle against a station off the elevation, either way (a choice).
SITE_BIAS_C = 1.0
CLEAR_STEP_C, OTHER_STEP_C = 0.1, 0.05  # of shifts; finer ones move no date


@dataclass(frozen=True)
class StationAir:
    """How the air of the plots compares with that of the weather station.

    Attributes
    ----------
    station_m
        Height of the station; None where it is not known: the record is then taken as
        kept at that of the plots' middle.
    middle_m
        Height of the plots' middle.
    is_reference
        The station stands on the known ground, so offsets are against its place.
    offset_factor, bias_c
        What thermometers on the spot gave, as in `model.observed`; None if they did not.
    """

    station_m: float | None
    middle_m: float
    is_reference: bool
    offset_factor: Estimate | None
    bias_c: Estimate | None

    @property
    def is_bias_unknown(self) -> bool:
        """Whether the plots may run warmer or colder than the station and nobody knows."""
        return not self.is_reference and self.bias_c is None

    @property
    def allowed_c(self) -> float:
        """What is kept in hand, either way, for a bias that nobody knows."""
        return SITE_BIAS_C if self.is_bias_unknown else 0.0

    def by_height_c(self, height_m: Floats) -> Floats:
        """What heights are worth against the station."""
        station_m = self.middle_m if self.station_m is None else self.station_m
        return np.asarray(LAPSE_C_PER_M * (height_m - station_m))

    @property
    def middle_c(self) -> float:
        """What the height of the plots' middle is worth."""
        return float(self.by_height_c(np.array(self.middle_m)))

    def remarks(self) -> list[Fact]:
        """What is not known about the station, and what dates allow for it."""
        facts = []
        if self.station_m is None:
            facts.append(Fact("dates_station_height_unknown"))
        if self.is_bias_unknown:
            facts.append(Fact("dates_bias_unknown", degrees_c=SITE_BIAS_C))
        return facts


def station_air(site: Site, middle_m: float) -> StationAir:
    """How a site's plots, with the height of their middle, compare with its station."""
    station, bias = site.settings.station, site.bias_c
    return StationAir(
        None if station is None else station.elevation_m,
        middle_m,
        site.station_cell is not None,
        site.offset_factor,
        None if bias is None else Estimate(bias.low, bias.central, bias.high),
    )


@dataclass(frozen=True)
class Shifts:
    """What is added to the station's minima, in whole steps.

    Attributes
    ----------
    offset
        (draws, beds) of the beds against the reference, in steps of `CLEAR_STEP_C`.
    base
        (draws, covers) of the reference and covers on clear calm nights, likewise.
    other
        (covers, beds) on other nights, in steps of `OTHER_STEP_C`.
    height
        (beds,) on means of the air, likewise.
    unknown
        (beds,) where the ground is not known.
    """

    offset: Whole
    base: Whole
    other: Whole
    height: Whole
    unknown: npt.NDArray[np.bool_]

    @property
    def reach(self) -> Whole:
        """Least and most of all that comes up on clear calm nights."""
        least = min(int(self.offset.min()), 0) + int(self.base.min())
        most = max(int(self.offset.max()), 0) + int(self.base.max())
        return np.array([least, most])

    def mean_c(self, clear_shares: Mapping[int, float], draw: int) -> Floats:
        """Mean over all nights, (covers, beds).

        Parameters
        ----------
        clear_shares
            Whole degrees that wind takes of a clear calm night -> share of all nights.
        """
        others = 1.0 - sum(clear_shares.values())
        mean = others * OTHER_STEP_C * self.other
        for taken_c, share in clear_shares.items():
            left = stirred(self.offset[draw], taken_c)
            clear = self.base[draw, :, np.newaxis] + left
            mean = mean + share * CLEAR_STEP_C * clear
        return np.asarray(mean)


def of_beds(
    station: StationAir, means: BedMeans, covers: Sequence[str], draws: Draws
) -> Shifts:
    """The station's record becomes the bed's, night by night."""
    offset_c = _offsets_c(station.offset_factor, means.answers_c, draws)
    height_c = station.by_height_c(means.height_m)
    unknown = np.isnan(offset_c).any(axis=0) | np.isnan(height_c)
    gains = [COVERS[cover].gain_c for cover in covers]
    gain_c = np.stack([triangular(draws.gain, *gain) for gain in gains], axis=1)
    low_c = np.array([COVERS[cover].other_nights_gain_c for cover in covers])
    at_reference_c = _reference_c(station, draws)
    height_c = np.where(unknown, 0.0, height_c)
    return Shifts(
        offset=in_steps(np.where(unknown, 0.0, offset_c), CLEAR_STEP_C),
        base=in_steps(at_reference_c[:, np.newaxis] + gain_c, CLEAR_STEP_C),
        other=in_steps(height_c + low_c[:, np.newaxis], OTHER_STEP_C),
        height=in_steps(height_c, OTHER_STEP_C),
        unknown=unknown,
    )


def stirred(offset: Whole, taken_c: int) -> Whole:
    """Steps of an offset that are left when wind takes whole degrees; never past 0.

    Examples
    --------
    >>> stirred(np.array([-30, -10, 5]), 2).tolist()
    [-10, 0, 0]
    """
    offset_c: Floats = offset * np.float64(CLEAR_STEP_C)
    wind_m_s = taken_c / coldair.WIND_TAKES_C_PER_M_S
    return in_steps(coldair.wind_reduced_c(offset_c, wind_m_s), CLEAR_STEP_C)


def _offsets_c(learnt: Estimate | None, answers_c: Floats, draws: Draws) -> Floats:
    """Offset of each bed in each draw, (draws, beds): between weights in a line."""
    rates = learnt or coldair.ROOT_DEPTH_C
    low, central, high = np.log(rates)
    rate = np.exp(triangular(draws.rate, low, central, high))
    runs = len(answers_c) // len(rates)
    run = np.floor(draws.run * runs).astype(np.intp)
    by_run = answers_c.reshape(runs, len(rates), -1)
    below = np.where(rate < rates[1], 0, 1)
    start, stop = np.array(rates)[below], np.array(rates)[below + 1]
    part = np.divide(
        rate - start, stop - start, out=np.zeros_like(rate), where=stop > start
    )[:, np.newaxis]
    between = (1 - part) * by_run[run, below] + part * by_run[run, below + 1]
    return np.asarray(between)


def _reference_c(station: StationAir, draws: Draws) -> Floats:
    """The reference of all offsets against the station on clear calm nights, (draws,)."""
    if station.bias_c is not None:  # the difference of heights within
        return triangular(draws.bias, *station.bias_c)
    if station.is_reference:
        return np.zeros(draws.bias.shape)
    return station.middle_c + SITE_BIAS_C * (2 * draws.bias - 1)


def in_steps(shift_c: npt.NDArray[np.floating], step_c: float) -> Whole:
    """A shift as a whole number of steps."""
    steps: Whole = np.rint(shift_c / step_c).astype(np.intp)
    return steps


def grid_c(first: int, last: int, step_c: float) -> Floats:
    """Shifts from the first to the last step; rounded, as records keep tenths."""
    return np.round(np.arange(first, last + 1) * step_c, 2)
