"""The question what a change of what stands around would do."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from fieldmap.analyse.fields import Analysis
from fieldmap.decide.what_if import CAUTION, LEAST_C, BedEffect, Effect
from fieldmap.model.fact import Fact
from fieldmap.show.map.questions.view import (
    Ground,
    Picture,
    RampLegend,
    Run,
    Swatch,
    Tick,
    View,
    answer,
    ends_of_runs,
)
from fieldmap.show.text import quantities
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say, say_all

RAMP = "change"
MOST_FACTS = (
    2  # in the answer, gain and loss of nights among them; the others are folded
)
LEAST_END_C = 0.5


def view(
    effect: Effect, at: int, now: Analysis, plot_of: Mapping[str, str], units: Units
) -> View:
    """How much colder or less cold ground would be, and the beds that change.

    Parameters
    ----------
    effect
        What the change does to the ground and to each bed.
    at
        Number of the change in the plan, from 0.
    now
        The place as it is.
    plot_of
        Name of the plot of each bed, by name of the bed.
    units
        "metric" or "us", for degrees.
    """
    changed = [number for number, bed in enumerate(effect.beds) if _changes(bed)]
    facts = say_all(effect.facts, units)
    return View(
        name=effect.name,
        answer=_answer(effect, changed, now, plot_of, units),
        picture=_picture(effect, at, now, changed, plot_of, units),
        ramp=_legend(_end_c(effect, now), units)
        if np.isfinite(_more_c(effect, now)).any()
        else None,
        swatches=(Swatch("thick", phrase("change_here")),)
        if _outlined(effect, changed)
        else (),
        more=(*say_all(effect.changes, units), *facts, say(CAUTION, units)),
    )


def _changes(bed: BedEffect) -> bool:
    return bed.moves_cold_air or bed.changes_light or bed.move != "none"


def _answer(
    effect: Effect,
    changed: Sequence[int],
    now: Analysis,
    plot_of: Mapping[str, str],
    units: Units,
) -> tuple[Run, ...]:
    cold = list(words.change_of_nights(effect.name, effect.beds, plot_of, units))
    said = say_all(_said(effect, now, units), units)
    if now.cold_air.night is None:
        said = [phrase("change_unknown"), *said]
    if lost := words.lost_days(effect.beds, units):
        bed, days = lost
        said = [phrase("change_days_of", bed=bed, days=days), *said]
    if cold:
        return answer(*cold, *said)
    if not changed:
        lead = phrase("change_none", name=effect.name)
    elif now.cold_air.night is None:
        lead = words.counted("change_beds", len(changed), name=effect.name)
    else:
        lead = phrase("change_not_cold", name=effect.name)
    return answer(lead, *said)


def _end_c(effect: Effect, now: Analysis) -> float:
    more_c = _more_c(effect, now)
    most = np.max(np.abs(more_c[np.isfinite(more_c)]), initial=0.0)
    return max(LEAST_END_C, float(np.ceil(2 * most) / 2))


def _more_c(effect: Effect, now: Analysis) -> np.ndarray:
    """How much colder than now [°C]; NaN where it hardly changes."""
    change_c = now.cold_air.offset_c.values[1] - effect.offset_c.values[1]
    return np.where(np.abs(change_c) < LEAST_C, np.nan, change_c)


def _picture(
    effect: Effect,
    at: int,
    now: Analysis,
    changed: Sequence[int],
    plot_of: Mapping[str, str],
    units: Units,
) -> Picture:
    end_c = _end_c(effect, now)
    more_c = _more_c(effect, now)
    differs = bool(np.isfinite(more_c).any())
    # Where it stays as now it has the colour of that, so that it differs from both.
    known = np.isfinite(now.cold_air.offset_c.values[1])
    place = (np.where(known & np.isnan(more_c), 0.0, more_c) / end_c + 1) / 2
    return Picture(
        ground=Ground(RAMP, now.cold_air.offset_c.with_values(place))
        if differs
        else None,
        extras=(f"change-{at}",),
        outlined=_outlined(effect, changed),
        named=_named(effect, now, plot_of, units),
    )


def _named(
    effect: Effect, now: Analysis, plot_of: Mapping[str, str], units: Units
) -> tuple[int, ...]:
    """Beds by number that the answer names: that change most, and ends of runs."""
    named = {each.bed for each in _nights(effect, units)}
    named |= {str(fact.values.get("bed")) for fact in _said(effect, now, units)}
    if lost := words.lost_days(effect.beds, units):
        named.add(lost[0])
    at = {number for number, bed in enumerate(effect.beds) if bed.bed in named}
    return tuple(sorted(at | set(_ends(effect, plot_of))))


def _ends(effect: Effect, plot_of: Mapping[str, str]) -> Iterator[int]:
    """First and last bed of each run that gets colder or warmer amid its plot."""
    for side in (1.0, -1.0):
        moved = {
            number
            for number, bed in enumerate(effect.beds)
            if bed.moves_cold_air and side * bed.offset_c.central > 0
        }
        for plot in dict.fromkeys(plot_of.values()):
            of_plot = {
                number
                for number, bed in enumerate(effect.beds)
                if plot_of.get(bed.bed) == plot
            }
            if not of_plot <= moved:
                yield from ends_of_runs(moved & of_plot)


def _nights(effect: Effect, units: Units) -> list[words.Nights]:
    """Which beds a change makes less cold or colder."""
    plots = {bed.bed: "" for bed in effect.beds}
    return list(words.nights_changed(effect.beds, plots, units))


def _said(effect: Effect, now: Analysis, units: Units) -> Sequence[Fact]:
    """Facts beyond nights for which the answer has room."""
    telling = [
        fact
        for fact in effect.facts
        if fact.kind.startswith("what_if_")
        and fact.kind not in ("what_if_scatter", "what_if_cold_as_now", "what_if_cold")
    ]
    days = 0 if words.lost_days(effect.beds, units) is None else 1
    room = MOST_FACTS - len(_nights(effect, units)) - days
    return telling[: room if now.cold_air.night is not None else min(room, 1)]


def _outlined(effect: Effect, changed: Sequence[int]) -> tuple[int, ...]:
    """Beds that change, where they are the fewer."""
    return tuple(changed) if 2 * len(changed) <= len(effect.beds) else ()


def _legend(end_c: float, units: Units) -> RampLegend:
    """From less cold to colder, what stays as it is in the middle."""
    end = quantities.degrees(end_c, units)
    return RampLegend(
        RAMP,
        (
            Tick(0.0, end, phrase("side_less_cold")),
            Tick(0.5, quantities.degrees(0.0, units), phrase("side_as_now")),
            Tick(1.0, end, phrase("side_colder")),
        ),
    )
