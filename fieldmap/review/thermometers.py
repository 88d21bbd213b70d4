"""Thermometers on the spot -> what they teach: a factor of offsets, and the site's bias."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.analyse import climatology
from fieldmap.analyse.cold_air import offset
from fieldmap.analyse.fields import ColdAirFields
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.observed import Observed, Range
from fieldmap.model.thermometer_readings import SCREEN_M, Thermometers
from layers import loggers

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# Thermometers hang alike when their heights differ by no more than this (a choice).
ALIKE_M = 0.5
# One night has no scatter: it is shown and not used.
FEWEST_NIGHTS_OF_BIAS = 2
# No farm is so much warmer or colder than its station in the middle of its nights.
UNIT_SLIP_C = 15.0
# A factor beyond these says more of the thermometers than of the ground (a choice).
LEAST, MOST = 0.5, 2.0
CENTRAL = 1


@dataclass(frozen=True)
class StillNights:
    """The clear calm nights on which both the station and a thermometer were read.

    Attributes
    ----------
    low_c, station_c
        Minima (nights, thermometers), NaN where one was not read; of the station,
        (nights,).
    others
        Number of the nights that do not count.
    """

    low_c: Floats
    station_c: Floats
    others: int

    @property
    def count(self) -> int:
        """Number of clear calm nights."""
        return len(self.low_c)


class Run(NamedTuple):
    """How one thermometer ran on clear calm nights.

    Attributes
    ----------
    nights
        On which it was read.
    over_station_c
        Mean difference from the station; NaN without a night.
    in_screen
        Whether it hangs as stations do.
    """

    name: str
    nights: int
    over_station_c: float
    height_m: float
    is_shielded: bool
    in_screen: bool


class Finding(NamedTuple):
    """What readings say of one number; the estimate is None where it is not to be used."""

    fact: Fact
    estimate: Estimate | None = None


@dataclass(frozen=True)
class Lesson:
    """What the thermometers teach.

    Attributes
    ----------
    clear_calm_nights, other_nights
        On which it rests; those that do not count.
    runs
        Of each thermometer.
    factor
        How many times as far places lie apart as computed, and why it is used or not;
        None without a clear calm night.
    bias
        How the reference of offsets runs against the station [°C], in the same way.
    """

    clear_calm_nights: int
    other_nights: int
    runs: tuple[Run, ...]
    factor: Finding | None = None
    bias: Finding | None = None

    def observed(self, readings_sha256: str) -> Observed | None:
        """What the next plan uses; None where there is nothing to use."""
        offset_factor, bias_c = (
            None
            if finding is None or finding.estimate is None
            else Range(**finding.estimate._asdict())
            for finding in (self.factor, self.bias)
        )
        if offset_factor is None and bias_c is None:
            return None
        return Observed(
            readings_sha256=readings_sha256,
            clear_calm_nights=self.clear_calm_nights,
            offset_factor=offset_factor,
            bias_c=bias_c,
        )


def still_nights(thermometers: Thermometers, days: pd.DataFrame) -> StillNights:
    """Readings of the nights that were clear and calm by the station's record.

    Parameters
    ----------
    days
        As `WeatherRecord.days`.
    """
    read = thermometers.minima_c.dropna(how="all")
    counted = read[read.index.isin(days.index[climatology.still_nights(days)])]
    station_c = days["tmin_c"].reindex(counted.index).to_numpy(float)
    return StillNights(counted.to_numpy(float), station_c, len(read) - len(counted))


def unit_slip_c(nights: StillNights) -> float | None:
    """Difference from the station that shows another unit; None where there is none."""
    if not nights.count:
        return None
    over_c = float(np.nanmedian(nights.low_c - nights.station_c[:, None]))
    return over_c if abs(over_c) > UNIT_SLIP_C else None


def learn(
    thermometers: Thermometers,
    nights: StillNights,
    cold_air: ColdAirFields,
    *,
    from_station: bool,
) -> Lesson:
    """A fit of the factor where there is enough to fit, and the bias.

    Parameters
    ----------
    from_station
        Whether the reference of offsets is the station, or else the middle of the plots.
    """
    runs = _runs(thermometers, nights)
    if not nights.count:
        return Lesson(0, nights.others, runs)
    colder_c = _colder_c(thermometers.at_m, cold_air)
    factor = _factor(thermometers, nights, colder_c)
    expected_c = _expected_c(thermometers.at_m, cold_air, colder_c, factor.estimate)
    return Lesson(
        nights.count,
        nights.others,
        runs,
        factor,
        _bias(nights, expected_c, thermometers.in_screen, from_station=from_station),
    )


def _runs(thermometers: Thermometers, nights: StillNights) -> tuple[Run, ...]:
    over_c = nights.low_c - nights.station_c[:, None]
    read = (~np.isnan(over_c)).sum(axis=0)
    mean_c = np.nansum(over_c, axis=0) / np.where(read, read, np.nan)
    return tuple(
        Run(name, int(count), float(over), float(height_m), bool(shield), bool(screen))
        for name, count, over, height_m, shield, screen in zip(
            thermometers.names,
            read,
            mean_c,
            thermometers.height_m,
            thermometers.is_shielded,
            thermometers.in_screen,
            strict=True,
        )
    )


def _colder_c(at_m: Floats, cold_air: ColdAirFields) -> Floats | None:
    """How much colder than the reference the ground makes places; None without a flow.

    By the likeliest answer alone, whatever was learnt before.
    """
    if cold_air.night is None:
        return None
    coldness_c = offset.coldness_at(cold_air.night, *at_m.T)[offset.LIKELIEST]
    return np.asarray(coldness_c - cold_air.reference_c[offset.LIKELIEST])


def _factor(
    thermometers: Thermometers, nights: StillNights, colder_c: Floats | None
) -> Finding:
    """The fitted factor if it is more than noise, and what speaks for or against it."""
    if colder_c is None:
        return Finding(Fact("factor_flow_unknown"))
    used = _alike(thermometers) & ~np.isnan(colder_c)
    low_c, colder_c = nights.low_c[:, used], colder_c[used]
    evidence = loggers.evidence(low_c, colder_c)
    if not evidence.is_enough:
        return Finding(
            Fact(
                "factor_few_readings",
                loggers=loggers.FEWEST_LOGGERS,
                nights=loggers.FEWEST_NIGHTS,
                difference_c=loggers.LEAST_CONTRAST_C,
                here=evidence.loggers,
                number=evidence.nights,
                apart_c=round(evidence.contrast_c, 1),
            )
        )
    fit = loggers.fit_factor(low_c, colder_c)
    found = Fact(
        "factor_fit",
        factor=Estimate(fit.low, fit.factor, fit.high),
        loggers=evidence.loggers,
        nights=evidence.nights,
        with_it_c=round(fit.error_with_c, 1),
        without_c=round(fit.error_without_c, 1),
    )
    if not fit.is_more_than_noise:
        return Finding(Fact("factor_is_noise", fit=found))
    held = found["factor"].map(lambda each: round(min(max(each, LEAST), MOST), 2))
    kind = "factor_fitted" if LEAST <= fit.factor <= MOST else "factor_held"
    return Finding(Fact(kind, fit=found, factor=held.central), held)


def _alike(thermometers: Thermometers) -> Mask:
    """The largest set of thermometers of one kind of shield and about one height."""
    height_m = thermometers.height_m
    best = np.zeros(len(height_m), dtype=np.bool_)
    for shielded in (True, False):
        for lowest_m in np.sort(height_m):
            within = (height_m >= lowest_m) & (height_m <= lowest_m + ALIKE_M + 1e-9)
            these = within & (thermometers.is_shielded == shielded)
            if these.sum() > best.sum():
                best = these
    return best


def _bias(
    nights: StillNights, expected_c: Floats, in_screen: Mask, *, from_station: bool
) -> Finding:
    """How the reference runs against the station, and what to say of it."""
    used = in_screen & ~np.isnan(expected_c)
    if not used.any() or np.isnan(nights.low_c[:, used]).all():
        return Finding(Fact("bias_unknown", heights_m=SCREEN_M))
    low_c = nights.low_c[:, used]
    plain = loggers.bias_against_station(
        low_c, nights.station_c, np.zeros(int(used.sum()))
    )
    bias = loggers.bias_against_station(low_c, nights.station_c, expected_c[used])
    ran = Fact("ground_ran", number=plain.nights, degrees_c=plain.central_c)
    if bias.nights < FEWEST_NIGHTS_OF_BIAS:
        return Finding(Fact("bias_of_one_night", said=ran))
    bias_c = Estimate(bias.low_c, bias.central_c, bias.high_c)
    kind = "bias_of_station" if from_station else "bias_of_plots"
    return Finding(
        Fact(
            kind,
            said=ran,
            low_c=bias.low_c,
            likely_c=bias.central_c,
            high_c=bias.high_c,
        ),
        bias_c.map(lambda celsius: round(celsius, 2)),
    )


def _expected_c(
    at_m: Floats,
    cold_air: ColdAirFields,
    colder_c: Floats | None,
    factor: Estimate | None,
) -> Floats:
    """How much warmer than the reference each thermometer should be; NaN off the map."""
    here_c = np.asarray(cold_air.offset_c.sample(*at_m.T)[CENTRAL], dtype=float)
    if factor is None or colder_c is None:
        return here_c
    return np.where(np.isnan(here_c), np.nan, -factor.central * colder_c)
