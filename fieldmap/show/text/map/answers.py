"""Pieces of the answers that the map gives: counts in words, plots, reasons."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from fieldmap.decide.ranking.by_days import FEWEST_DAYS
from fieldmap.decide.ranking.reasons import DAYS_PER_DEGREE
from fieldmap.decide.what_if import BedEffect
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import what_if
from fieldmap.show.text.language import _, month_name
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

NUMBERS: Sequence[str] = texts(__name__, "numbers")["words"]
WHY = texts(__name__, "why")
STATES = texts(__name__, "states")
RAMPS = texts(__name__, "ramps")


def ramp_titles() -> dict[str, str]:
    """What a ramp that lies down is of, by its key."""
    return {ramp: _(title) for ramp, title in RAMPS.items()}


def count(number: int) -> str:
    """A number in words where it is small.

    Examples
    --------
    >>> count(11), count(1200)
    ('eleven', '1,200')
    """
    return _(NUMBERS[number]) if number < len(NUMBERS) else f"{number:,}"


def counted(kind: str, number: int, **places: object) -> str:
    """A sentence that counts things, begun with a large letter.

    Parameters
    ----------
    kind
        Kind of fact whose sentence has the places `{number}` and `{count}`.
    number
        How many things. Small numbers are written in words where the sentence asks for
        `{count}`.
    **places
        What fills the other places of the sentence, by name.
    """
    said = phrase(kind, number=number, count=count(number), **places)
    return names.started(said)


def beds(number: int) -> str:
    """A number of beds, with the noun."""
    return phrase("count_of_beds", number=number, count=f"{number:,}")


class Nights(NamedTuple):
    """What a change does to still nights on the beds that it moves one way.

    Attributes
    ----------
    kind
        "less_cold" or "colder".
    number, plots, where
        How many beds, in which plots, and which beds of each.
    bed, degrees
        The bed that changes most, and by how much.
    days
        What that is worth in days. Empty where it is not known, or where the beds get
        colder and it comes to no days.
    moved
        Days by which planting moves; None where no dates are known.
    """

    kind: str
    number: int
    plots: str
    where: str
    bed: str
    degrees: str
    days: str
    moved: Estimate | None


def nights_changed(
    beds: Sequence[BedEffect], plot_of: Mapping[str, str], units: Units
) -> Iterator[Nights]:
    """Which beds a change makes less cold or colder, and what days that is worth.

    A loss of days is said where it is clear, likely, or possible with no gain against it.

    Parameters
    ----------
    beds
        What the change does to each bed.
    plot_of
        Name of the plot of each bed, by name of the bed.
    units
        "metric" or "us", for degrees.
    """
    for kind, side in (("less_cold", 1.0), ("colder", -1.0)):
        here = [
            bed
            for bed in beds
            if bed.moves_cold_air and side * bed.offset_c.central > 0
        ]
        if not here:
            continue
        most = max(here, key=lambda bed: side * bed.offset_c.central)
        moved = most.days_earlier
        is_said = moved is not None and (side > 0 or most.move != "none")
        yield Nights(
            kind,
            len(here),
            names.listed(list(dict.fromkeys(plot_of[bed.bed] for bed in here))),
            names.listed(list(_where([bed.bed for bed in here], plot_of))),
            most.bed,
            quantities.degrees(round(abs(most.offset_c.central), 1), units),
            what_if.days(moved, units) if is_said else "",
            moved,
        )


def change_of_nights(
    name: str, beds: Sequence[BedEffect], plot_of: Mapping[str, str], units: Units
) -> Iterator[str]:
    """The same on the map: the change, gain and loss in a sentence, the bed of each.

    Both have their days, the loss also where it comes to none.
    """
    sides = list(nights_changed(beds, plot_of, units))
    if not sides:
        return
    moved = {each.kind: each.where for each in sides}
    (kind,) = moved if len(moved) == 1 else ("both",)
    yield phrase(f"change_{kind}", name=name, **moved)
    for each in sides:
        yield phrase(
            f"change_most_{each.kind}",
            number=each.number,
            bed=each.bed,
            degrees=each.degrees,
        )
        if each.moved is not None:
            yield phrase("change_days", days=what_if.days(each.moved, units))


def _where(moved: Sequence[str], plot_of: Mapping[str, str]) -> Iterator[str]:
    """Which beds of each plot."""
    for plot in dict.fromkeys(plot_of[bed] for bed in moved):
        here = [bed for bed in moved if plot_of[bed] == plot]
        is_whole = len(here) == sum(each == plot for each in plot_of.values())
        kind = "change_all_beds" if is_whole and len(here) > 2 else "change_beds_in"
        yield phrase(kind, beds=names.some(here), plot=plot)


def lost_days(beds: Sequence[BedEffect], units: Units) -> tuple[str, str] | None:
    """The bed that may lose most days of planting where none gets noticeably colder.

    So a loss that is likely, or possible with no gain against it, is never hidden.

    Parameters
    ----------
    beds
        What a change does to each bed.
    units
        "metric" or "us".

    Returns
    -------
    The bed, and its days in words. None where no bed loses any, or where they are said
    with a bed that gets colder, or with the one that gets warmest.
    """
    if any(bed.moves_cold_air and bed.offset_c.central < 0 for bed in beds):
        return None
    losing = [
        (bed.days_earlier.central, bed.days_earlier.low, bed.bed, bed.days_earlier)
        for bed in beds
        if bed.days_earlier is not None and bed.move not in ("none", "earlier")
    ]
    if not losing:
        return None
    _likely, _worst, bed, days = min(losing)
    warmest = max(beds, key=lambda each: each.offset_c.central)
    if warmest.moves_cold_air and bed == warmest.bed:
        return None
    return bed, what_if.days(days, units)


def why_later(reasons: Sequence[Fact]) -> tuple[str, ...]:
    """Why a bed is planted later, each cause in a few words, the larger one first.

    Of two causes both count where the second alone is worth days too.
    """
    for reason in reasons:
        if reason.kind != "two_that_matter":
            continue
        causes = [each for each in (reason["first"], reason["second"]) if _later(each)]
        named = [*causes[:1], *filter(_is_worth_days, causes[1:])]
        return tuple(map(_why, named))
    return ()


def _why(fact: Fact) -> str:
    month = fact.values.get("month")
    said = _(WHY[fact.kind])
    return said.format(month=month_name(month)) if month else said


def _later(fact: Fact) -> bool:
    if fact.kind not in WHY:
        return False
    return not (
        fact.values.get("difference_c", -1.0) >= 0
        or fact.values.get("light", -1.0) >= 0
    )


def _is_worth_days(fact: Fact) -> bool:
    """Whether nights or soil by themselves make more than no real difference."""
    by_night = -fact.values.get("difference_c", 0.0) * DAYS_PER_DEGREE
    by_soil = fact.values.get("days", fact.values.get("number", 0.0))
    return bool(max(by_night, by_soil) >= FEWEST_DAYS)


def state(kind: str) -> str:
    """What a bed is doing, by the name of its pattern."""
    return _(STATES[kind])
