"""The grower's questions, and what the map shows for each."""

from collections.abc import Sequence

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.map import spots
from fieldmap.show.text.site.analysis import SKIES

QUESTIONS = texts(__name__, "questions")

# What the map shows for a question, and its limit.
EXPLAINED = texts(__name__, "explained")

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
