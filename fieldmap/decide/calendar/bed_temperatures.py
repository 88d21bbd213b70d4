"""The station's record becomes the bed's own, night by night, as shifts of its minima.

Clear calm nights take the bed's offset and what the cover is worth, other nights the
height and the cover's least.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.decide.calendar import monte_carlo as draws_
from fieldmap.model.site import plot_cells
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _
from layers import coldair
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from fieldmap.analyse.bed_means import BedMeans
    from fieldmap.decide.calendar.monte_carlo import Draws
    from fieldmap.model.raster import Raster
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.intp]

# Fall of temperature with height on nights that are not clear and calm (-7 to -4 °C/km,
# from memory).
LAPSE_C_PER_M = -0.0055
# The plots' middle against a station off the elevation, either way (a choice).
SITE_BIAS_C = 1.0
SAME_OFFSET_C = 0.01  # answers closer than this are one
CLEAR_STEP_C, OTHER_STEP_C = 0.1, 0.05  # of shifts; finer ones move no date


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
    site: Site,
    means: BedMeans,
    covers: Sequence[str],
    draws: Draws,
) -> Shifts:
    """The station's record becomes the bed's, night by night."""
    offset_c = _offsets_c(site, _answers_c(means), draws)
    middle_m = means.middle_height_m
    height_c = by_height_c(site, means.height_m, middle_m)
    unknown = np.isnan(offset_c).any(axis=0) | np.isnan(height_c)
    gains = [COVERS[cover].gain_c for cover in covers]
    gain_c = np.stack([draws_.triangular(draws.gain, *gain) for gain in gains], axis=1)
    low_c = np.array([COVERS[cover].other_nights_gain_c for cover in covers])
    middle_c = float(by_height_c(site, np.array(middle_m), middle_m))
    at_reference_c = _reference_c(site, middle_c, draws)
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


def middle_height_m(site: Site, ground: Raster) -> float:
    """Height of the plots' middle."""
    return float(np.nanmedian(ground.values[plot_cells(site, ground)]))


def by_height_c(site: Site, height_m: Floats, middle_m: float) -> Floats:
    """What heights are worth against the station.

    Where the station's height is not told the record is taken as kept at that of the
    plots' middle.
    """
    station = site.settings.station
    station_m = middle_m if station is None else station.elevation_m
    return np.asarray(LAPSE_C_PER_M * (height_m - station_m))


def _answers_c(means: BedMeans) -> Floats:
    """Offset of each bed by each run and rate, as far out as its range is told.

    A range that is told wider, as air from beyond is not counted, holds for dates too.
    """
    low, central, high = means.offset_c
    off_c = means.answers_c - means.answers_c[means.central_answer]
    stretch = [
        np.divide(told, found, out=np.ones_like(told), where=found > SAME_OFFSET_C)
        for told, found in (
            (central - low, -off_c.min(axis=0)),
            (high - central, off_c.max(axis=0)),
        )
    ]
    return np.asarray(central + off_c * np.where(off_c < 0, *stretch))


def _offsets_c(site: Site, answers_c: Floats, draws: Draws) -> Floats:
    """Offset of each bed in each draw, (draws, beds): between the rates in a line."""
    rates = coldair.DEPTH_RATES_C_M
    learnt = site.rate_c_per_m
    if learnt is not None:
        rates = (learnt.low, learnt.central, learnt.high)
    low, central, high = np.log(rates)
    rate = np.exp(draws_.triangular(draws.rate, low, central, high))
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


def _reference_c(site: Site, height_c: float, draws: Draws) -> Floats:
    """The reference of all offsets against the station on clear calm nights, (draws,)."""
    learnt = site.bias_c  # the difference of heights within
    if learnt is not None:
        return draws_.triangular(draws.bias, learnt.low, learnt.central, learnt.high)
    if site.station_cell is not None:
        return np.zeros(draws.bias.shape)
    return height_c + SITE_BIAS_C * (2 * draws.bias - 1)


def in_steps(shift_c: npt.NDArray[np.floating], step_c: float) -> Whole:
    """A shift as a whole number of steps."""
    steps: Whole = np.rint(shift_c / step_c).astype(np.intp)
    return steps


def remarks(site: Site) -> list[str]:
    """What the site could not say about the station, and what was added."""
    remarks = []
    station = site.settings.station
    if station is None:
        remarks.append(
            _(
                "As the place of the weather station is not told, dates take the record "
                "as kept at the height of the plots."
            )
        )
    if is_bias_unknown(site):
        amount = quantities.degrees(SITE_BIAS_C, site.settings.units)
        remarks.append(
            _(
                "How the plots run against the weather station on still nights is not "
                "known: dates allow {degrees} either way."
            ).format(degrees=amount)
        )
    return remarks


def is_bias_unknown(site: Site) -> bool:
    """Whether the plots may run warmer or colder than the station and nobody knows."""
    return site.station_cell is None and site.bias_c is None
