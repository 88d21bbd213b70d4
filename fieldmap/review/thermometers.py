"""Thermometers on the spot -> what they teach: a factor of offsets, and the site's bias."""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.analyse import climatology
from fieldmap.analyse.cold_air import offset
from fieldmap.analyse.fields import ColdAirFields
from fieldmap.decide.calendar.bed_temperatures import SITE_BIAS_C
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.observed import Observed, Range
from fieldmap.model.thermometer_readings import SCREEN_M, Thermometers
from fieldmap.review.refused_readings import sift
from layers import coldness, loggers

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

# Thermometers hang alike when their heights differ by no more than this (a choice).
ALIKE_M = 0.5
# One night has no scatter: it is shown and not used.
FEWEST_NIGHTS_OF_BIAS = 2
# A warm thermometer may hang by a wall, and plants too early: this many have to agree (a
# choice).
FEWEST_FOR_WARM = 3
# No ground is so much colder, or warmer, than its station in the mean of still nights
# (a choice; the coldest valleys lie 6 to 8 °C under the ground around them).
COLDEST_C, WARMEST_C = -8.0, 4.0
# Of a range at 90 %, against that of no thermometers: alike within their ends.
UNKNOWN_HALF_C = 0.9 * SITE_BIAS_C
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
    """What readings say of one number; the estimate is None where it is not to be used.

    Attributes
    ----------
    error
        Standard error of the estimate; 0 where it has none.
    """

    fact: Fact
    estimate: Estimate | None = None
    error: float = 0.0


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
    refused
        Thermometers and readings that are not used, each with its reason.
    """

    clear_calm_nights: int
    other_nights: int
    runs: tuple[Run, ...]
    factor: Finding | None = None
    bias: Finding | None = None
    refused: tuple[Fact, ...] = ()

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

    Readings and thermometers that cannot be right are left out before.

    Parameters
    ----------
    thermometers
        Where they hang and what they read.
    nights
        Clear calm nights on which both the station and a thermometer were read.
    cold_air
        Computed offsets, and the night they come from, if one was run.
    from_station
        Whether the reference of offsets is the station, or else the median of the plots.
    """
    runs = _runs(thermometers, nights)
    if not nights.count:
        return Lesson(0, nights.others, runs)
    here_c = _shown_c(thermometers.at_m, cold_air)
    colder_c = _colder_c(thermometers.at_m, cold_air)
    alike = _alike(thermometers)
    left_c, refused = sift(
        thermometers.names,
        nights.low_c,
        nights.station_c,
        -here_c if colder_c is None else np.where(np.isnan(here_c), np.nan, colder_c),
        (thermometers.in_screen, alike),
    )
    kept = replace(nights, low_c=left_c)
    factor = _factor(alike, kept, colder_c)
    expected = _expected(here_c, colder_c, factor)
    bias = _bias(kept, expected, thermometers.in_screen, from_station=from_station)
    return Lesson(nights.count, nights.others, runs, factor, bias, refused)


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


def _factor(alike: Mask, nights: StillNights, colder_c: Floats | None) -> Finding:
    """The fitted factor if it is more than noise, and what speaks for or against it."""
    if colder_c is None:
        return Finding(Fact("factor_flow_unknown"))
    used = alike & ~np.isnan(colder_c) & ~np.isnan(nights.low_c).all(axis=0)
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
    known, error = _with_other_grounds(found["factor"], fit.error)
    held = known.map(lambda each: round(min(max(each, LEAST), MOST), 2))
    kind = "factor_fitted" if LEAST <= known.central <= MOST else "factor_held"
    error = max(error, abs(known.central - held.central))
    return Finding(Fact(kind, fit=found, factor=held.central), held, error)


def _with_other_grounds(fit: Estimate, error: float) -> tuple[Estimate, float]:
    """A fit together with what other grounds showed, each by how sure it is; its error.

    Without thermometers differences are as the ground tells, give or take how far that
    was wrong elsewhere.
    """
    weight = coldness.GROUND_FACTOR_SD**2 / (coldness.GROUND_FACTOR_SD**2 + error**2)
    central = 1 + weight * (fit.central - 1)
    narrower = float(np.sqrt(weight))
    together = Estimate(
        central - narrower * (fit.central - fit.low),
        central,
        central + narrower * (fit.high - fit.central),
    )
    return together, narrower * error


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


class _Expected(NamedTuple):
    """How much warmer than the reference thermometers should be.

    Attributes
    ----------
    warmer_c
        (thermometers,); NaN off the map.
    rate_error
        Standard error of all of them, as a share of each.
    """

    warmer_c: Floats
    rate_error: float


def _shown_c(at_m: Floats, cold_air: ColdAirFields) -> Floats:
    """Likeliest offsets of places as the map has them; NaN off the map."""
    return np.asarray(cold_air.offset_c.sample(*at_m.T)[CENTRAL], dtype=float)


def _expected(here_c: Floats, colder_c: Floats | None, factor: Finding) -> _Expected:
    """By the factor that was fitted, or as the map has it."""
    if factor.estimate is None or colder_c is None:
        return _Expected(here_c, coldness.GROUND_FACTOR_SD)
    central = factor.estimate.central
    warmer_c = np.where(np.isnan(here_c), np.nan, -central * colder_c)
    return _Expected(warmer_c, factor.error / central)


def _bias(
    nights: StillNights, expected: _Expected, in_screen: Mask, *, from_station: bool
) -> Finding:
    """How the reference runs against the station, and what to say of it."""
    known = in_screen & ~np.isnan(expected.warmer_c)
    used = known & ~np.isnan(nights.low_c).all(axis=0)
    if not used.any():
        return Finding(Fact("bias_unknown", heights_m=SCREEN_M))
    low_c, warmer_c = nights.low_c[:, used], expected.warmer_c[used]
    plain = loggers.bias_against_station(low_c, nights.station_c, 0.0 * warmer_c)
    rate_error_c = abs(expected.rate_error * float(warmer_c.mean()))
    bias = loggers.bias_against_station(
        low_c, nights.station_c, warmer_c, rate_error_c=rate_error_c
    )
    ran = Fact("ground_ran", number=plain.nights, degrees_c=plain.central_c)
    kind = _why_not(bias, int(used.sum()), from_station=from_station)
    if kind == "bias_of_one_night":
        return Finding(Fact(kind, said=ran))
    said = {
        "said": ran,
        "low_c": bias.low_c,
        "likely_c": bias.central_c,
        "high_c": bias.high_c,
    }
    if kind is not None:
        return Finding(Fact(kind, **said, number=FEWEST_FOR_WARM))
    found = Estimate(bias.low_c, bias.central_c, bias.high_c)
    kind = "bias_of_station" if from_station else "bias_of_plots"
    return Finding(Fact(kind, **said), found.map(lambda celsius: round(celsius, 2)))


def _why_not(bias: loggers.Bias, used: int, *, from_station: bool) -> str | None:
    """Why a bias is not to be used; None where it is."""
    if bias.nights < FEWEST_NIGHTS_OF_BIAS:
        return "bias_of_one_night"
    if not COLDEST_C <= bias.central_c <= WARMEST_C:
        return "bias_beyond_belief"
    if bias.central_c > 0 and used < FEWEST_FOR_WARM:
        return "bias_warm_of_few"
    # Without thermometers the station is its own reference ...
    if from_station and bias.low_c <= 0 <= bias.high_c:
        return "bias_is_noise"
    # ... and other ground runs as it by a degree or so: what is surely colder than that
    # counts however wide its range.
    is_wide = bias.high_c - bias.low_c > 2 * UNKNOWN_HALF_C
    return "bias_too_unsure" if is_wide and bias.high_c > -SITE_BIAS_C else None
