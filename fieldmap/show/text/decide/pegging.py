"""How a crew pegs a field, in words."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from fieldmap.decide.pegging.landmarks import POINTS
from fieldmap.decide.pegging.model import (
    PLACE_LIMIT_M,
    SHAPE_LIMIT_M,
    Check,
    Landmark,
    Peg,
)
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units

WORDS = texts(__name__, "words")
LANDMARKS = texts(__name__, "landmarks")
NAMED = texts(__name__, "named")
IN_SENTENCES = texts(__name__, "in_sentences")
NAMED_IN_SENTENCES = texts(__name__, "named_in_sentences")
STEPS = texts(__name__, "steps")
WAYPOINTS = texts(__name__, "waypoints")
EXAMPLE_M = 28.63
# How a number on a tape is set: bold on a sheet, plain on the map.
Set = Callable[[str], str]


def plain(number: str) -> str:
    """As it stands."""
    return number


def taped(metres: float, units: Units) -> str:
    """A length as a tape shows it: whole centimetres without their unit, or feet, inches.

    Examples
    --------
    >>> taped(28.634, "metric"), taped(0.75, "metric")
    ('2863', '75')
    >>> print(taped(28.63, "us"), taped(0.5, "us"), taped(0.25, "us"))
    93' 11" 1' 8" 10"
    """
    if units != "us":
        return f"{metres * 100:.0f}"
    feet, inches = divmod(round(metres / 0.0254), 12)
    return f"{feet}' {inches}\"" if feet else f'{inches}"'


def length(metres: float, units: Units, set_: Set = plain) -> str:
    """A length as a tape shows it, with its unit.

    Examples
    --------
    >>> length(28.634, "metric").split(), length(0.25, "us")
    (['2863', 'cm'], '10"')
    """
    number = set_(taped(metres, units))
    return number if units == "us" else f"{number}\xa0cm"


def example(units: Units) -> str:
    """What the numbers are, said once with one of them."""
    whole, rest = divmod(round(EXAMPLE_M * 100), 100)
    places = {"example": taped(EXAMPLE_M, units), "metres": whole, "rest": rest}
    return _(WORDS[units]).format(**places)


def limits(units: Units) -> str:
    """By how much a length that is checked may be wrong.

    Examples
    --------
    >>> " ".join(limits("metric").split())
    'From peg to peg, your length may differ by up to 5 cm. If it differs by more, set these pegs again. From a corner or a post it may differ by up to 20 cm. If it differs by more, set the first pegs again.'
    """
    return _(WORDS["limits"]).format(
        shape=length(SHAPE_LIMIT_M, units), place=length(PLACE_LIMIT_M, units)
    )


def landmark(found: Landmark) -> str:
    """What a thing is called."""
    return _called(found, NAMED if found.name else LANDMARKS)


def _called(found: Landmark, words: Mapping[str, str]) -> str:
    side = quantities.direction(45.0 * POINTS.index(found.side)) if found.side else ""
    called = _(words[found.kind]).format(name=found.name, side=side)
    if found.nth == 1:
        return called
    return _(NAMED["nth"]).format(landmark=called, nth=found.nth)


def known(of: Landmark | int) -> str:
    """A landmark, or a peg by its number."""
    if isinstance(of, Landmark):
        return landmark(of)
    return _(STEPS["peg"]).format(number=of)


def _within(of: Landmark | int) -> str:
    """A landmark as it stands in a sentence, or a peg by its number."""
    if not isinstance(of, Landmark):
        return known(of)
    return _called(of, NAMED_IN_SENTENCES if of.name else IN_SENTENCES)


def step(what: Peg | Check, units: Units, set_: Set = plain) -> str:
    """What to do for one peg or one check.

    Parameters
    ----------
    what
        A peg with the tapes or the string that find it, or a check between two places.
    units
        "metric" for whole centimetres, "us" for feet and inches.
    set_
        How lengths on a tape are set: plain, or bold on a sheet.
    """
    if isinstance(what, Check):
        return _of_check(what, units, set_)
    first, *others = what.ties
    places: dict[str, Any] = {
        "length": length(first.length_m, units, set_),
        "known": _within(first.of),
    }
    if what.string is not None:
        ends = {"start": _within(what.string.start), "end": _within(what.string.end)}
        return _(STEPS["on_string"]).format(**places, **ends)
    for other in others:
        places |= {
            "second": length(other.length_m, units, set_),
            "other": _within(other.of),
        }
    return _(STEPS["two_tapes" if others else "one_tape"]).format(**places)


def row(pegs: Sequence[Peg], units: Units, set_: Set = plain) -> str:
    """What to do for several pegs on one string: the string, then a line for each peg.

    Parameters
    ----------
    pegs
        Pegs in walking order, at least one, all on the string of the first.
    units
        "metric" for whole centimetres, "us" for feet and inches.
    set_
        How lengths on a tape are set: plain, or bold on a sheet.
    """
    string = pegs[0].string
    assert string is not None
    pulled = _(STEPS["row"]).format(
        start=_within(string.start), end=_within(string.end)
    )
    lines = [
        _(
            STEPS["in_row_from_start" if peg.ties[0].of == string.start else "in_row"]
        ).format(
            number=peg.number,
            length=length(peg.ties[0].length_m, units, set_),
            known=_within(peg.ties[0].of),
        )
        for peg in pegs
    ]
    return "\n".join([pulled, *lines])


def _of_check(check: Check, units: Units, set_: Set) -> str:
    start = known(check.start)
    return _(STEPS["found" if check.kind == "found" else "checked"]).format(
        start=start[:1].upper() + start[1:],
        end=known(check.end),
        length=length(check.length_m, units, set_),
    )
