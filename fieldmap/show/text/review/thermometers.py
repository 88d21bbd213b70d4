"""What thermometers on the spot teach, in sentences."""

import math
from collections.abc import Sequence
from typing import Literal

from fieldmap.errors import SiteError
from fieldmap.model.fact import Fact
from fieldmap.model.thermometer_readings import SCREEN_M
from fieldmap.review.next_thermometers import Place
from fieldmap.review.thermometers import Lesson, Run
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say
from layers import loggers


def lines(file: str, lesson: Lesson, units: Units) -> list[str]:
    """How many nights counted, how each thermometer ran, and what follows from it."""
    said = [_nights(file, lesson)]
    if lesson.rate is not None and lesson.bias is not None:
        said += [_run(run, units) for run in lesson.runs]
        said += [say(found.fact, units) for found in (lesson.rate, lesson.bias)]
    return said


def unit_slip(file: str, over_station_c: float, units: Units) -> SiteError:
    """The refusal of readings that can only be of another unit than their column says."""
    text = (
        _(
            "{file}: in the middle of its nights it reads {degrees} above the"
            " station, which no place does; if the readings are in another unit,"
            " name their column {column}."
        )
        if over_station_c > 0
        else _(
            "{file}: in the middle of its nights it reads {degrees} under the"
            " station, which no place does; if the readings are in another unit,"
            " name their column {column}."
        )
    )
    return SiteError(
        text.format(
            file=file,
            degrees=quantities.degrees(round(abs(over_station_c)), units),
            column="tmin_f" if over_station_c > 0 else "tmin_c",
        )
    )


def _nights(file: str, lesson: Lesson) -> str:
    every = lesson.clear_calm_nights + lesson.other_nights
    if not lesson.clear_calm_nights:
        return plural(
            "{file}: {number} thermometer, {nights} nights, none of them clear and"
            " calm with the station's record beside it; nothing can be learnt yet."
            " The weather record must reach over the same nights.",
            "{file}: {number} thermometers, {nights} nights, none of them clear and"
            " calm with the station's record beside it; nothing can be learnt yet."
            " The weather record must reach over the same nights.",
            len(lesson.runs),
            file=file,
            nights=str(every),
        )
    return plural(
        "{file}: {number} thermometer, {nights} nights, of which {count} were clear"
        " and calm by the station's record. The others do not count here.",
        "{file}: {number} thermometers, {nights} nights, of which {count} were clear"
        " and calm by the station's record. The others do not count here.",
        len(lesson.runs),
        file=file,
        nights=str(every),
        count=str(lesson.clear_calm_nights),
    )


def _run(run: Run, units: Units) -> str:
    """How a thermometer ran, and why it does not count where it hangs otherwise."""
    if not run.nights:
        return _("  {name} was read on no clear calm night.").format(name=run.name)
    ran = plural(
        "{name} ran {degrees} the station on {number} still night",
        "{name} ran {degrees} the station on {number} still nights",
        run.nights,
        name=run.name,
        degrees=_against(run.over_station_c, units),
    )
    if run.in_screen:
        return f"  {ran}."
    text = (
        _(
            "{ran}; it hangs {height} above the ground under a shield, not as the"
            " station does, so it does not count for the ground's difference from the"
            " station."
        )
        if run.is_shielded
        else _(
            "{ran}; it hangs {height} above the ground without a shield, not as the"
            " station does, so it does not count for the ground's difference from the"
            " station."
        )
    )
    return text.format(ran=f"  {ran}", height=quantities.height(run.height_m, units))


def _few_readings(fact: Fact, units: Units) -> str:
    evidence: loggers.Evidence = fact["evidence"]
    return plural(
        "No rate was fitted: that takes {loggers} thermometers that hang alike,"
        " each read on {nights} clear calm nights together with another, in cold"
        " air that differs by {depth} in depth; so far it is {here} on {number}"
        " night, {apart} apart.",
        "No rate was fitted: that takes {loggers} thermometers that hang alike,"
        " each read on {nights} clear calm nights together with another, in cold"
        " air that differs by {depth} in depth; so far it is {here} on {number}"
        " nights, {apart} apart.",
        evidence.nights,
        loggers=str(loggers.FEWEST_LOGGERS),
        nights=str(loggers.FEWEST_NIGHTS),
        depth=quantities.height(loggers.LEAST_CONTRAST_M, units),
        here=str(evidence.loggers),
        apart=quantities.height(evidence.contrast_m, units),
    )


def _fit(fact: Fact, units: Units) -> str:
    fit: loggers.RateFit = fact["fit"]
    evidence: loggers.Evidence = fact["evidence"]
    return _(
        "{rate}, in 9 of 10 cases, from {loggers} thermometers on {nights} nights; a"
        " thermometer foretold from the others is missed by {with_it} with it and"
        " {without} without"
    ).format(
        rate=quantities.rate(
            fit.low_c_per_m, fit.rate_c_per_m, fit.high_c_per_m, units
        ),
        loggers=evidence.loggers,
        nights=evidence.nights,
        with_it=quantities.degrees(round(fit.error_with_c, 1), units),
        without=quantities.degrees(round(fit.error_without_c, 1), units),
    )


def _ground_ran(fact: Fact, units: Units) -> str:
    return plural(
        "Your ground ran {degrees} the station on {number} still night",
        "Your ground ran {degrees} the station on {number} still nights",
        fact["nights"],
        degrees=_against(fact["over_station_c"], units),
    )


SENTENCES: dict[str, Sentence] = {
    "rate_few_readings": _few_readings,
    "rate_fit": _fit,
    "ground_ran": _ground_ran,
    "over_station": lambda fact, units: _against(fact["over_c"], units),
    "screen_heights": lambda _fact, units: _screen_heights(units),
}


# ------------------------------------------------------------------ comments of a file
WRITTEN = later(
    "Written by `fieldmap observe` from {readings}; delete this file to forget it."
)
LEARNT = {
    "rate_c_per_m": later("How much colder each metre deeper in the cold air is."),
    "bias_c": later("How the place runs against the station on clear calm nights."),
}


# ------------------------------------------------------------------ the next places
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


def places(
    found: Sequence[Place],
    which: Literal["first", "next"],
    units: Units,
    *,
    from_station: bool,
) -> list[str]:
    """Where to hang the first thermometers, or the next beside those that hang."""
    if not found:
        return [_(NOWHERE[which])]
    text = (
        _(
            "  {place} (longitude {longitude}, latitude {latitude}): between {low} and"
            " {high} against the station"
        )
        if from_station
        else _(
            "  {place} (longitude {longitude}, latitude {latitude}): between {low} and"
            " {high} against the middle of the plots"
        )
    )
    return [
        _(HANG[which]).format(heights=_screen_heights(units)),
        *(
            text.format(
                place=_where(place),
                longitude=f"{place.longitude:.5f}",
                latitude=f"{place.latitude:.5f}",
                low=_signed(place.offset_c.low, units),
                high=_signed(place.offset_c.high, units),
            )
            for place in found
        ),
    ]


def _where(place: Place) -> str:
    """The bed that is nearest, if there is one, and the plot."""
    if place.bed is None:
        return _("in {plot}").format(plot=place.plot)
    text = _("bed {bed} in {plot}") if place.in_bed else _("beside bed {bed} in {plot}")
    return text.format(bed=place.bed, plot=place.plot)


def _screen_heights(units: Units) -> str:
    """Heights that a thermometer may hang at; half feet inside the limits."""
    low_m, high_m = SCREEN_M
    if units == "us":
        low_ft, high_ft = (end * quantities.FEET_PER_METRE for end in SCREEN_M)
        return _("{low} to {high} ft").format(
            low=f"{math.ceil(2 * low_ft) / 2:g}",
            high=f"{math.floor(2 * high_ft) / 2:g}",
        )
    return _("{low} to {high} m").format(low=f"{low_m:g}", high=f"{high_m:g}")


def _against(over_c: float, units: Units) -> str:
    """How far above or under: '3.0 °C under'."""
    size = abs(over_c) * (1.8 if units == "us" else 1.0)
    unit = "°F" if units == "us" else "°C"
    text = _("{degrees} under") if over_c < 0 else _("{degrees} above")
    return text.format(degrees=f"{size:.1f} {unit}")


def _signed(offset_c: float, units: Units) -> str:
    value = offset_c * (1.8 if units == "us" else 1.0)
    return f"{value:+.1f} {'°F' if units == 'us' else '°C'}"
