"""Thermometers on the spot -> what they teach: a rate, a bias, the next place."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

from fieldmap import record, words
from fieldmap.analysis import flow
from fieldmap.errors import SiteError
from fieldmap.observed import Observed, Range
from fieldmap.site import plot_cells
from fieldmap.thermometers import SCREEN_M
from layers import loggers

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.plan import Plan
    from fieldmap.thermometers import Thermometers

    Floats = npt.NDArray[np.float64]
    Mask = npt.NDArray[np.bool_]

# Thermometers hang alike when their heights differ by no more than this (a choice).
ALIKE_M = 0.5
# One night has no scatter: it is told and not used.
FEWEST_NIGHTS_OF_BIAS = 2
# No farm is so much warmer or colder than its station in the middle of its nights.
UNIT_SLIP_C = 15.0
# The next thermometer: no nearer than this to another, and so many are named (choices).
APART_M = 30.0
PLACES_NAMED = 3
LOW, CENTRAL, HIGH = 0, 1, 2


@dataclass(frozen=True)
class Lesson:
    """What the thermometers teach.

    Attributes
    ----------
    observed
        What the next plan uses; None where there is nothing to use.
    sentences
        All that was found, in plain words.
    next_m
        (places, 2) east and north of where to hang the next thermometer, best first.
    """

    observed: Observed | None
    sentences: tuple[str, ...]
    next_m: Floats


@dataclass(frozen=True)
class _Still:
    """The clear calm nights on which both the station and a thermometer were read."""

    low_c: Floats
    station_c: Floats
    others: int


def learn(plan: Plan, hung: Thermometers) -> Lesson:
    """A fit of the rate where there is enough to fit, the bias, and the next place.

    Raises
    ------
    SiteError
        When readings can only be of another unit than their column says.
    """
    still = _still_nights(plan, hung)
    said = _nights_sentences(hung, still)
    next_m = next_places(plan, hung)
    where_next = _next_sentences(plan, next_m, "next")
    if not len(still.low_c):
        return Lesson(None, (*said, *where_next), next_m)
    _check_unit(plan, hung, still)
    units = plan.site.settings.units
    rate, about_rate = _rate(plan, hung, still)
    bias, about_bias = _bias(plan, hung, still, rate)
    observed = None
    if rate is not None or bias is not None:
        observed = Observed(
            readings_sha256=_hash(plan, hung),
            clear_calm_nights=len(still.low_c),
            rate_c_per_m=rate,
            bias_c=bias,
        )
    said += [*_each(hung, still, units), *about_rate, *about_bias, *where_next]
    return Lesson(observed, tuple(said), next_m)


def first_places(plan: Plan) -> tuple[str, ...]:
    """Where to hang the first thermometers, in plain sentences."""
    none = np.empty((0, 2))
    return tuple(_next_sentences(plan, _places(plan, none), "first"))


def next_places(plan: Plan, hung: Thermometers) -> Floats:
    """(places, 2) on the plots where the prediction spreads most, away from the hung."""
    return _places(plan, hung.at_m)


def _hash(plan: Plan, hung: Thermometers) -> str:
    return hashlib.sha256((plan.site.folder / hung.file).read_bytes()).hexdigest()


def _still_nights(plan: Plan, hung: Thermometers) -> _Still:
    days = plan.site.weather.days
    read = hung.minima_c.dropna(how="all")
    counted = read[read.index.isin(days.index[record.still_nights(days)])]
    station_c = days["tmin_c"].reindex(counted.index).to_numpy(float)
    return _Still(counted.to_numpy(float), station_c, len(read) - len(counted))


def _check_unit(plan: Plan, hung: Thermometers, still: _Still) -> None:
    over_c = float(np.nanmedian(still.low_c - still.station_c[:, None]))
    if abs(over_c) > UNIT_SLIP_C:
        right = "tmin_f" if over_c > 0 else "tmin_c"
        raise SiteError(
            f"{hung.file}: in the middle of its nights it reads"
            f" {words.degrees(round(abs(over_c)), plan.site.settings.units)}"
            f" {'above' if over_c > 0 else 'under'} the station, which no place does;"
            f" if the readings are in another unit, name their column {right}."
        )


def _rate(
    plan: Plan, hung: Thermometers, still: _Still
) -> tuple[Range | None, list[str]]:
    """The fitted rate if it is more than noise, and what to say of it."""
    night = plan.analysis.night
    if night is None:
        return None, [
            "No rate was fitted: the elevation reaches too little beyond the plots to"
            " know how deep the cold air is at each thermometer."
        ]
    depth_m = night.depth_m.interpolate(*hung.at_m.T)
    used = _alike(hung) & ~np.isnan(depth_m)
    low_c, deep_m = still.low_c[:, used], depth_m[used]
    found = loggers.evidence(low_c, deep_m)
    units = plan.site.settings.units
    if not found.is_enough:
        return None, [
            "No rate was fitted: that takes"
            f" {loggers.FEWEST_LOGGERS} thermometers that hang alike, each read on"
            f" {loggers.FEWEST_NIGHTS} clear calm nights together with another, in cold"
            f" air that differs by {words.height(loggers.LEAST_CONTRAST_M, units)} in"
            f" depth; so far it is {found.loggers} on {found.nights} nights,"
            f" {words.height(found.contrast_m, units)} apart."
        ]
    fit = loggers.fit_rate(low_c, deep_m)
    about = _fit_words(fit, found, units)
    if not fit.is_more_than_noise:
        return None, [
            f"No rate was kept: the fit gives {about}; that is not to be told from"
            " noise, so the rates measured in other valleys stay."
        ]
    rate = _range(fit.low_c_per_m, fit.rate_c_per_m, fit.high_c_per_m, 4)
    if not rate.low > 0:
        return None, ["No rate was kept: it is too small to matter."]
    return rate, [
        f"Each metre deeper in the cold air of a still night is colder: {about}. The next"
        " plan uses it."
    ]


def _fit_words(
    fit: loggers.RateFit, found: loggers.Evidence, units: words.Units
) -> str:
    rate = words.rate(fit.low_c_per_m, fit.rate_c_per_m, fit.high_c_per_m, units)
    missed = [
        words.degrees(round(error_c, 1), units)
        for error_c in (fit.error_with_c, fit.error_without_c)
    ]
    return (
        f"{rate}, in 9 of 10 cases, from {found.loggers} thermometers on {found.nights}"
        f" nights; a thermometer foretold from the others is missed by {missed[0]} with"
        f" it and {missed[1]} without"
    )


def _alike(hung: Thermometers) -> Mask:
    """The largest set of thermometers of one kind of shield and about one height."""
    best = np.zeros(len(hung.names), dtype=np.bool_)
    for shielded in (True, False):
        for lowest_m in np.sort(hung.height_m):
            within = (hung.height_m >= lowest_m) & (
                hung.height_m <= lowest_m + ALIKE_M + 1e-9
            )
            these = within & (hung.is_shielded == shielded)
            if these.sum() > best.sum():
                best = these
    return best


def _bias(
    plan: Plan, hung: Thermometers, still: _Still, rate: Range | None
) -> tuple[Range | None, list[str]]:
    """How the reference runs against the station, and what to say of it."""
    units = plan.site.settings.units
    expected_c = _expected_c(plan, hung, rate)
    used = hung.in_screen & ~np.isnan(expected_c)
    if not used.any() or np.isnan(still.low_c[:, used]).all():
        return None, [
            "How your ground runs against the station is not known: that takes a"
            f" thermometer under a shield, {_screen_words(units)} above the ground, on"
            " the ground that the map shows."
        ]
    low_c = still.low_c[:, used]
    plain = loggers.bias_against_station(
        low_c, still.station_c, np.zeros(int(used.sum()))
    )
    bias = loggers.bias_against_station(low_c, still.station_c, expected_c[used])
    said = (
        f"Your ground ran {_against(plain.central_c, units)} the station on"
        f" {_count(plain.nights, 'still night')}"
    )
    if bias.nights < FEWEST_NIGHTS_OF_BIAS:
        return None, [f"{said}; one night is too little to reckon with."]
    ends = [_against(end, units) for end in (bias.low_c, bias.high_c)]
    return _range(bias.low_c, bias.central_c, bias.high_c, 2), [
        f"{said}. Less what the places of the thermometers make, the"
        f" {_reference_words(plan)} runs {_against(bias.central_c, units)} the station's"
        f" record ({ends[0]} to {ends[1]}, the thermometers' own error beside); the next"
        " plan reckons with that."
    ]


def _expected_c(plan: Plan, hung: Thermometers, rate: Range | None) -> Floats:
    """How much warmer than the reference each thermometer should be; NaN off the map."""
    analysis = plan.analysis
    here_c = np.asarray(analysis.offset_c.sample(*hung.at_m.T)[CENTRAL], dtype=float)
    if rate is None or analysis.night is None:
        return here_c
    depth_m = analysis.night.depth_m.interpolate(*hung.at_m.T)
    return np.where(
        np.isnan(here_c),
        np.nan,
        -rate.central * (depth_m - analysis.reference_m[flow.SHOWN]),
    )


def _places(plan: Plan, known_m: Floats) -> Floats:
    offset = plan.analysis.offset_c
    # Deeper than the reference is colder by the high rate: the swing has that sign.
    swing_c = np.copysign(
        offset.values[HIGH] - offset.values[LOW], offset.values[CENTRAL]
    )
    swing = offset.with_values(swing_c)
    row, col = np.nonzero(plot_cells(plan.site, offset))
    size_m = offset.cell_size_m
    at_m = np.column_stack(
        [
            offset.transform.c + (col + 0.5) * size_m,
            offset.transform.f - (row + 0.5) * size_m,
        ]
    )
    chosen = loggers.next_places(
        swing_c[row, col],
        at_m,
        np.asarray(swing.sample(*known_m.T), dtype=float),
        known_m,
        APART_M,
        PLACES_NAMED,
    )
    return at_m[chosen]


def _next_sentences(plan: Plan, at_m: Floats, which: str) -> list[str]:
    if not len(at_m):
        return [
            f"Where to hang the {which} thermometer: the prediction spreads nowhere on"
            " the plots, or all places are taken; any place will do."
        ]
    offset = plan.analysis.offset_c
    to_world = pyproj.Transformer.from_crs(plan.site.crs, 4326, always_xy=True)
    units = plan.site.settings.units
    lines = [
        f"Hang the {which} thermometer where the prediction spreads most, under a shield"
        f" {_screen_words(units)} above the ground; in this order:"
    ]
    for east, north in at_m:
        low_c, _, high_c = offset.sample([east], [north])[:, 0]
        longitude, latitude = to_world.transform(east, north)
        lines.append(
            f"  {_where(plan, east, north)} (longitude {longitude:.5f}, latitude"
            f" {latitude:.5f}): between {_signed(low_c, units)} and"
            f" {_signed(high_c, units)} against the {_reference_words(plan)}"
        )
    return lines


def _reference_words(plan: Plan) -> str:
    return "station" if plan.site.station_cell is not None else "middle of the plots"


def _where(plan: Plan, east: float, north: float) -> str:
    """The bed that is nearest, if one is near, and the plot."""
    point = shapely.Point(east, north)
    plots = plan.site.plots
    plot = plots["name"].iloc[int(plots.geometry.distance(point).argmin())]
    near = [
        (ranked.bed.outline.distance(point), ranked.bed.name) for ranked in plan.beds
    ]
    if near and min(near)[0] == 0:
        return f"bed {min(near)[1]} in {plot}"
    return f"beside bed {min(near)[1]} in {plot}" if near else f"in {plot}"


def _nights_sentences(hung: Thermometers, still: _Still) -> list[str]:
    count, every = len(still.low_c), len(still.low_c) + still.others
    said = f"{hung.file}: {_count(len(hung.names), 'thermometer')}, {every} nights"
    if not count:
        return [
            f"{said}, none of them clear and calm with the station's record beside it;"
            " nothing can be learnt yet. The weather record must reach over the same"
            " nights."
        ]
    return [
        f"{said}, of which {count} were clear and calm by the station's record. The"
        " others do not count here."
    ]


def _each(hung: Thermometers, still: _Still, units: words.Units) -> list[str]:
    lines = []
    for name, column, height_m, shield, screen in zip(
        hung.names,
        still.low_c.T,
        hung.height_m,
        hung.is_shielded,
        hung.in_screen,
        strict=True,
    ):
        over = column - still.station_c
        over = over[~np.isnan(over)]
        if not len(over):
            lines.append(f"  {name} was read on no clear calm night.")
            continue
        how = (
            ""
            if screen
            else (
                f"; it hangs {words.height(height_m, units)} above the ground"
                f" {'under' if shield else 'without'} a shield, not as the station does,"
                " so it does not count for the ground's difference from the station"
            )
        )
        lines.append(
            f"  {name} ran {_against(float(over.mean()), units)} the station on"
            f" {_count(len(over), 'still night')}{how}."
        )
    return lines


def _screen_words(units: words.Units) -> str:
    """Heights that a thermometer may hang at; half feet inside the limits."""
    low_m, high_m = SCREEN_M
    if units == "us":
        low_ft, high_ft = (end * words.FEET_PER_METRE for end in SCREEN_M)
        return f"{math.ceil(2 * low_ft) / 2:g} to {math.floor(2 * high_ft) / 2:g} ft"
    return f"{low_m:g} to {high_m:g} m"


def _against(over_c: float, units: str) -> str:
    """How far above or under: '3.0 °C under'."""
    size = abs(over_c) * (1.8 if units == "us" else 1.0)
    unit = "°F" if units == "us" else "°C"
    return f"{size:.1f} {unit} {'under' if over_c < 0 else 'above'}"


def _signed(offset_c: float, units: str) -> str:
    value = offset_c * (1.8 if units == "us" else 1.0)
    return f"{value:+.1f} {'°F' if units == 'us' else '°C'}"


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _range(low: float, central: float, high: float, digits: int) -> Range:
    return Range(
        low=round(low, digits), central=round(central, digits), high=round(high, digits)
    )
