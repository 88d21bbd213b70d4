"""The question what a change of what stands around would do."""

from collections.abc import Mapping, Sequence

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
        picture=_picture(effect, at, now, changed, units),
        ramp=_legend(_end_c(effect, now), units)
        if any(bed.moves_cold_air for bed in effect.beds)
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
    if cold:
        return answer(*cold, *said)
    lead = (
        words.counted("change_beds", len(changed), name=effect.name)
        if changed
        else phrase("change_none", name=effect.name)
    )
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
    effect: Effect, at: int, now: Analysis, changed: Sequence[int], units: Units
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
        named=_named(effect, now, units),
    )


def _named(effect: Effect, now: Analysis, units: Units) -> tuple[int, ...]:
    """Beds by number that the answer names."""
    named = {each.bed for each in _nights(effect, units)}
    named |= {str(fact.values.get("bed")) for fact in _said(effect, now, units)}
    return tuple(at for at, bed in enumerate(effect.beds) if bed.bed in named)


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
    room = MOST_FACTS - len(_nights(effect, units))
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
