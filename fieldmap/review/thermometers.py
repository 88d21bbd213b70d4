"""Thermometers on the spot -> what they teach: a rate, a bias, the next place."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import shapely

from fieldmap.analyse import climatology, cold_air_flow
from fieldmap.errors import SiteError
from fieldmap.model.observed import Observed, Range
from fieldmap.model.site import plot_cells
from fieldmap.model.thermometer_readings import SCREEN_M
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural
from layers import loggers

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.model.thermometer_readings import Thermometers
    from fieldmap.plan import Plan

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
NOWHERE = {
    "first": later(
        "Where to hang the first thermometer: the prediction spreads nowhere on the"
        " plots, or all places are taken; any place will do."
    ),
    "next": later(
        "Where to hang the next thermometer: the prediction spreads nowhere on the"
        " plots, or all places are taken; any place will do."
    ),
}
HANG = {
    "first": later(
        "Hang the first thermometer where the prediction spreads most, under a shield"
        " {heights} above the ground; in this order:"
    ),
    "next": later(
        "Hang the next thermometer where the prediction spreads most, under a shield"
        " {heights} above the ground; in this order:"
    ),
}


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
    counted = read[read.index.isin(days.index[climatology.still_nights(days)])]
    station_c = days["tmin_c"].reindex(counted.index).to_numpy(float)
    return _Still(counted.to_numpy(float), station_c, len(read) - len(counted))


def _check_unit(plan: Plan, hung: Thermometers, still: _Still) -> None:
    over_c = float(np.nanmedian(still.low_c - still.station_c[:, None]))
    if abs(over_c) > UNIT_SLIP_C:
        said = (
            _(
                "{file}: in the middle of its nights it reads {degrees} above the"
                " station, which no place does; if the readings are in another unit,"
                " name their column {column}."
            )
            if over_c > 0
            else _(
                "{file}: in the middle of its nights it reads {degrees} under the"
                " station, which no place does; if the readings are in another unit,"
                " name their column {column}."
            )
        )
        raise SiteError(
            said.format(
                file=hung.file,
                degrees=quantities.degrees(
                    round(abs(over_c)), plan.site.settings.units
                ),
                column="tmin_f" if over_c > 0 else "tmin_c",
            )
        )


def _rate(
    plan: Plan, hung: Thermometers, still: _Still
) -> tuple[Range | None, list[str]]:
    """The fitted rate if it is more than noise, and what to say of it."""
    night = plan.analysis.cold_air.night
    if night is None:
        return None, [
            _(
                "No rate was fitted: the elevation reaches too little beyond the plots to"
                " know how deep the cold air is at each thermometer."
            )
        ]
    depth_m = night.depth_m.interpolate(*hung.at_m.T)
    used = _alike(hung) & ~np.isnan(depth_m)
    low_c, deep_m = still.low_c[:, used], depth_m[used]
    found = loggers.evidence(low_c, deep_m)
    units = plan.site.settings.units
    if not found.is_enough:
        return None, [
            plural(
                "No rate was fitted: that takes {loggers} thermometers that hang alike,"
                " each read on {nights} clear calm nights together with another, in cold"
                " air that differs by {depth} in depth; so far it is {here} on {number}"
                " night, {apart} apart.",
                "No rate was fitted: that takes {loggers} thermometers that hang alike,"
                " each read on {nights} clear calm nights together with another, in cold"
                " air that differs by {depth} in depth; so far it is {here} on {number}"
                " nights, {apart} apart.",
                found.nights,
                loggers=f"{loggers.FEWEST_LOGGERS}",
                nights=f"{loggers.FEWEST_NIGHTS}",
                depth=quantities.height(loggers.LEAST_CONTRAST_M, units),
                here=f"{found.loggers}",
                apart=quantities.height(found.contrast_m, units),
            )
        ]
    fit = loggers.fit_rate(low_c, deep_m)
    about = _fit_words(fit, found, units)
    if not fit.is_more_than_noise:
        return None, [
            _(
                "No rate was kept: the fit gives {fit}; that is not to be told from"
                " noise, so the rates measured in other valleys stay."
            ).format(fit=about)
        ]
    rate = _range(fit.low_c_per_m, fit.rate_c_per_m, fit.high_c_per_m, 4)
    if not rate.low > 0:
        return None, [_("No rate was kept: it is too small to matter.")]
    return rate, [
        _(
            "Each metre deeper in the cold air of a still night is colder: {fit}. The"
            " next plan uses it."
        ).format(fit=about)
    ]


def _fit_words(
    fit: loggers.RateFit, found: loggers.Evidence, units: quantities.Units
) -> str:
    rate = quantities.rate(fit.low_c_per_m, fit.rate_c_per_m, fit.high_c_per_m, units)
    missed = [
        quantities.degrees(round(error_c, 1), units)
        for error_c in (fit.error_with_c, fit.error_without_c)
    ]
    return _(
        "{rate}, in 9 of 10 cases, from {loggers} thermometers on {nights} nights; a"
        " thermometer foretold from the others is missed by {with_it} with it and"
        " {without} without"
    ).format(
        rate=rate,
        loggers=found.loggers,
        nights=found.nights,
        with_it=missed[0],
        without=missed[1],
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
            _(
                "How your ground runs against the station is not known: that takes a"
                " thermometer under a shield, {heights} above the ground, on the ground"
                " that the map shows."
            ).format(heights=_screen_words(units))
        ]
    low_c = still.low_c[:, used]
    plain = loggers.bias_against_station(
        low_c, still.station_c, np.zeros(int(used.sum()))
    )
    bias = loggers.bias_against_station(low_c, still.station_c, expected_c[used])
    said = plural(
        "Your ground ran {degrees} the station on {number} still night",
        "Your ground ran {degrees} the station on {number} still nights",
        plain.nights,
        degrees=_against(plain.central_c, units),
    )
    if bias.nights < FEWEST_NIGHTS_OF_BIAS:
        return None, [
            _("{said}; one night is too little to reckon with.").format(said=said)
        ]
    less = (
        _(
            "{said}. Less what the places of the thermometers make, the station runs"
            " {likely} the station's record ({low} to {high}, the thermometers' own error"
            " beside); the next plan reckons with that."
        )
        if _is_station(plan)
        else _(
            "{said}. Less what the places of the thermometers make, the middle of the"
            " plots runs {likely} the station's record ({low} to {high}, the"
            " thermometers' own error beside); the next plan reckons with that."
        )
    )
    return _range(bias.low_c, bias.central_c, bias.high_c, 2), [
        less.format(
            said=said,
            likely=_against(bias.central_c, units),
            low=_against(bias.low_c, units),
            high=_against(bias.high_c, units),
        )
    ]


def _expected_c(plan: Plan, hung: Thermometers, rate: Range | None) -> Floats:
    """How much warmer than the reference each thermometer should be; NaN off the map."""
    analysis = plan.analysis
    here_c = np.asarray(
        analysis.cold_air.offset_c.sample(*hung.at_m.T)[CENTRAL], dtype=float
    )
    if rate is None or analysis.cold_air.night is None:
        return here_c
    depth_m = analysis.cold_air.night.depth_m.interpolate(*hung.at_m.T)
    return np.where(
        np.isnan(here_c),
        np.nan,
        -rate.central * (depth_m - analysis.cold_air.reference_m[cold_air_flow.SHOWN]),
    )


def _places(plan: Plan, known_m: Floats) -> Floats:
    offset = plan.analysis.cold_air.offset_c
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
        return [_(NOWHERE[which])]
    offset = plan.analysis.cold_air.offset_c
    to_world = pyproj.Transformer.from_crs(plan.site.crs, 4326, always_xy=True)
    units = plan.site.settings.units
    lines = [_(HANG[which]).format(heights=_screen_words(units))]
    said = (
        _(
            "  {place} (longitude {longitude}, latitude {latitude}): between {low} and"
            " {high} against the station"
        )
        if _is_station(plan)
        else _(
            "  {place} (longitude {longitude}, latitude {latitude}): between {low} and"
            " {high} against the middle of the plots"
        )
    )
    for east, north in at_m:
        low_c, _central_c, high_c = offset.sample([east], [north])[:, 0]
        longitude, latitude = to_world.transform(east, north)
        lines.append(
            said.format(
                place=_where(plan, east, north),
                longitude=f"{longitude:.5f}",
                latitude=f"{latitude:.5f}",
                low=_signed(low_c, units),
                high=_signed(high_c, units),
            )
        )
    return lines


def _is_station(plan: Plan) -> bool:
    """Whether offsets are told against the station, or else the middle of the plots."""
    return plan.site.station_cell is not None


def _where(plan: Plan, east: float, north: float) -> str:
    """The bed that is nearest, if one is near, and the plot."""
    point = shapely.Point(east, north)
    plots = plan.site.plots
    plot = plots["name"].iloc[int(plots.geometry.distance(point).argmin())]
    near = [
        (ranked.bed.outline.distance(point), ranked.bed.name) for ranked in plan.beds
    ]
    if not near:
        return _("in {plot}").format(plot=plot)
    distance_m, bed = min(near)
    said = (
        _("bed {bed} in {plot}") if distance_m == 0 else _("beside bed {bed} in {plot}")
    )
    return said.format(bed=bed, plot=plot)


def _nights_sentences(hung: Thermometers, still: _Still) -> list[str]:
    count, every = len(still.low_c), len(still.low_c) + still.others
    if not count:
        return [
            plural(
                "{file}: {number} thermometer, {nights} nights, none of them clear and"
                " calm with the station's record beside it; nothing can be learnt yet."
                " The weather record must reach over the same nights.",
                "{file}: {number} thermometers, {nights} nights, none of them clear and"
                " calm with the station's record beside it; nothing can be learnt yet."
                " The weather record must reach over the same nights.",
                len(hung.names),
                file=hung.file,
                nights=f"{every}",
            )
        ]
    return [
        plural(
            "{file}: {number} thermometer, {nights} nights, of which {count} were clear"
            " and calm by the station's record. The others do not count here.",
            "{file}: {number} thermometers, {nights} nights, of which {count} were clear"
            " and calm by the station's record. The others do not count here.",
            len(hung.names),
            file=hung.file,
            nights=f"{every}",
            count=f"{count}",
        )
    ]


def _each(hung: Thermometers, still: _Still, units: quantities.Units) -> list[str]:
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
            lines.append(
                _("  {name} was read on no clear calm night.").format(name=name)
            )
            continue
        ran = plural(
            "{name} ran {degrees} the station on {number} still night",
            "{name} ran {degrees} the station on {number} still nights",
            len(over),
            name=name,
            degrees=_against(float(over.mean()), units),
        )
        lines.append(f"  {_hung(ran, height_m, units, shield=shield, screen=screen)}")
    return lines


def _hung(
    ran: str, height_m: float, units: quantities.Units, *, shield: bool, screen: bool
) -> str:
    """How a thermometer ran, and why it does not count where it hangs otherwise."""
    if screen:
        return f"{ran}."
    said = (
        _(
            "{ran}; it hangs {height} above the ground under a shield, not as the"
            " station does, so it does not count for the ground's difference from the"
            " station."
        )
        if shield
        else _(
            "{ran}; it hangs {height} above the ground without a shield, not as the"
            " station does, so it does not count for the ground's difference from the"
            " station."
        )
    )
    return said.format(ran=ran, height=quantities.height(height_m, units))


def _screen_words(units: quantities.Units) -> str:
    """Heights that a thermometer may hang at; half feet inside the limits."""
    low_m, high_m = SCREEN_M
    if units == "us":
        low_ft, high_ft = (end * quantities.FEET_PER_METRE for end in SCREEN_M)
        return _("{low} to {high} ft").format(
            low=f"{math.ceil(2 * low_ft) / 2:g}",
            high=f"{math.floor(2 * high_ft) / 2:g}",
        )
    return _("{low} to {high} m").format(low=f"{low_m:g}", high=f"{high_m:g}")


def _against(over_c: float, units: str) -> str:
    """How far above or under: '3.0 °C under'."""
    size = abs(over_c) * (1.8 if units == "us" else 1.0)
    unit = "°F" if units == "us" else "°C"
    said = _("{degrees} under") if over_c < 0 else _("{degrees} above")
    return said.format(degrees=f"{size:.1f} {unit}")


def _signed(offset_c: float, units: str) -> str:
    value = offset_c * (1.8 if units == "us" else 1.0)
    return f"{value:+.1f} {'°F' if units == 'us' else '°C'}"


def _range(low: float, central: float, high: float, digits: int) -> Range:
    return Range(
        low=round(low, digits), central=round(central, digits), high=round(high, digits)
    )
