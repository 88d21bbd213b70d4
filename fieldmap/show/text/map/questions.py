"""The grower's questions, and what the map shows for each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text.analysis import SKIES
from fieldmap.show.text.language import _, later
from fieldmap.show.text.map import spots

if TYPE_CHECKING:
    from collections.abc import Sequence


QUESTIONS = {
    "early": later("Which beds can I plant first?"),
    "tonight": later("What do I cover tonight?"),
    "cold": later("Where does cold air lie on a still night?"),
    "what-if": later("What if I change what stands around?"),
    "sun": later("Where is the sun?"),
    "shade": later("Which summer ground needs shade?"),
    "steep": later("How steep is it?"),
    "water": later("Where does rain water gather?"),
    "tunnels": later("Where can a tunnel stand?"),
    "materials": later("What do I buy, cut and peg?"),
}

# What the map shows for a question, and its limit.
EXPLAINED = {
    "early": later(
        "Bright beds warm first and dark ones last, by still-night cold and spring sun; "
        "the order is better known than the degrees behind it, and in a windy frost "
        "this order does not hold."
    ),
    "tonight": later(
        "Say what is forecast for the weather station: the list says what to cover, with "
        "which of your covers, in the order in which one walks."
    ),
    "cold": later(
        "The darker the ground, the deeper cold air lies on a clear, still night, and "
        "dashed outlines are where it collects; which place is colder is better known "
        "than by how many degrees, and wind or cloud undoes it."
    ),
    "water": later(
        "Where rain water gathers for how slowly it runs off, by the shape of the ground "
        "alone. Sandy soil and drains carry it off; clay, springs and broken drains "
        "hold it: what you saw there counts for more."
    ),
    "tunnels": later(
        "Striped rectangles are places where a tunnel can stand, the line in each its "
        "ridge, and colours say where the ground is level enough (common advice, no "
        "firm source); walk the place before you drive a post."
    ),
    "materials": later(
        "The lists below say what to buy, how to cut hoops, and where pegs go by tape; "
        "materials.xlsx, stakes.csv and stakes.gpx have them too."
    ),
}

CLEAR, _TYPICAL = SKIES


def explained(key: str) -> str:
    """What the map shows for a question that is explained in one way."""
    return _(EXPLAINED[key])


def with_name(question: str, name: str) -> str:
    """A question and which of its pictures is meant: a month, a change.

    Examples
    --------
    >>> with_name("Where is the sun?", "May"), with_name("How steep is it?", "")
    ('Where is the sun? May', 'How steep is it?')
    """
    return f"{question} {name}".rstrip()


def what_if(changes: Sequence[str]) -> str:
    """What an alternative changes, and what the colours then show."""
    return _(
        "If {changes}: brown ground would have shallower cold air on a still night than "
        "now, violet ground deeper."
    ).format(changes=_(", and ").join(changes))


def sun(month: str, most_mj_m2: float, direct_hours: float, sky: str) -> str:
    """What the sun question shows, and its limit."""
    if most_mj_m2 <= 0:
        return _("The sun does not reach the plots in {month}.").format(month=month)
    said = (
        _(
            "The brighter the ground, the more sun in {month}, after the shade of hills, "
            "trees and buildings and measured by the sunniest ground of the plots ({sun}); "
            "clouds are not counted, so most days give less."
        )
        if sky == CLEAR
        else _(
            "The brighter the ground, the more sun in {month}, after the shade of hills, "
            "trees and buildings and measured by the sunniest ground of the plots ({sun}); "
            "this is for a {sky}, so single days give more or less."
        )
    )
    of_day = spots.sun_of_day(direct_hours, most_mj_m2)
    return said.format(month=month, sun=of_day, sky=_(sky))


def shade(
    month: str,
    most_mj_m2: float,
    direct_hours: float,
    sky: str,
    *,
    no_difference: bool,
) -> str:
    """What the shade question shows, and its limit."""
    said = (
        _(
            "The darker the ground, the more light it takes in {month} measured by the "
            "sunniest ground of the plots ({sun}, {sky}); beds need shade cloth about "
            "alike. The list by week chooses cloth or fabric by this same light and by hot "
            "days; lettuce wants shade long before squash."
        )
        if no_difference
        else _(
            "The darker the ground, the more light it takes in {month} measured by the "
            "sunniest ground of the plots ({sun}, {sky}); beds with a mesh over them come "
            "first for shade cloth. The list by week chooses cloth or fabric by this same "
            "light and by hot days; lettuce wants shade long before squash."
        )
    )
    of_day = spots.sun_of_day(direct_hours, most_mj_m2)
    return said.format(month=month, sun=of_day, sky=_(sky))


def steep(seen: str) -> str:
    """What the steepness question shows, and its limit."""
    return _(
        "The darker the ground, the steeper it falls; humps, furrows and ditches smaller "
        "than about {seen} are smoothed away and not seen."
    ).format(seen=seen)
