"""The grower's questions, and what the map shows for each."""

from collections.abc import Sequence

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.map import spots
from fieldmap.show.text.sentence import phrase
from fieldmap.show.text.site.analysis import SKIES

QUESTIONS = texts(__name__, "questions")

# What the map shows for a question, and its limit.
EXPLAINED = texts(__name__, "explained")
THAN = texts(__name__, "than")

CLEAR = SKIES[0]


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


def early(*, air_ran: bool) -> str:
    """What the order of beds shows, and its limit."""
    return explained("early" if air_ran else "early_hardly_known")


def cold(*, by_station: bool, air_ran: bool) -> str:
    """What the cold night shows, against what, and its limit."""
    return phrase(
        "cold_explained" if air_ran else "cold_hardly_known_explained",
        than=_(THAN["station" if by_station else "plots"]),
    )


def what_if(changes: Sequence[str], *, air_ran: bool, seen: bool) -> str:
    """What an alternative changes, and what the colours then show, if any.

    Parameters
    ----------
    changes
        What the alternative changes, a phrase each.
    air_ran
        Whether the flow of cold air could be computed for this place.
    seen
        Whether any spot changes enough to have a colour.
    """
    if seen:
        kind = "what_if_explained"
    else:
        kind = "what_if_unseen_explained" if air_ran else "what_if_unknown_explained"
    return phrase(kind, changes=_(", and ").join(changes))


def sun(month: str, most_mj_m2: float, direct_hours: float, sky: str) -> str:
    """What the sun question shows, and its limit.

    Parameters
    ----------
    month
        Its name, in the current language.
    most_mj_m2
        Light of a mean day of the month where there is most of it [MJ/m²].
    direct_hours
        Hours of direct sun on that day.
    sky
        Whose light it is, one of `SKIES`.
    """
    if most_mj_m2 <= 0:
        return phrase("no_sun_explained", month=month)
    return phrase(
        "clear_sun_explained" if sky == CLEAR else "sun_explained",
        month=month,
        sun=spots.sun_of_day(direct_hours, most_mj_m2),
        sky=_(sky),
    )


def shade(
    month: str,
    most_mj_m2: float,
    direct_hours: float,
    sky: str,
    *,
    no_difference: bool,
) -> str:
    """What the shade question shows, and its limit.

    Parameters
    ----------
    month
        Its name, in the current language.
    most_mj_m2
        Light of a mean day of the month where there is most of it [MJ/m²].
    direct_hours
        Hours of direct sun on that day.
    sky
        Whose light it is, one of `SKIES`.
    no_difference
        Whether the ground is said to be alike in shade.
    """
    return phrase(
        "alike_in_shade_explained" if no_difference else "shade_explained",
        month=month,
        sun=spots.sun_of_day(direct_hours, most_mj_m2),
        sky=_(sky),
    )
