"""The grower's questions, and what the map shows for each."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.sentence import phrase

QUESTIONS = texts(__name__, "questions")

# What the map shows for a question, and its limit.
EXPLAINED = texts(__name__, "explained")
THAN = texts(__name__, "than")


def explained(key: str) -> str:
    """What the map shows for a question that is explained in one way."""
    return _(EXPLAINED[key])


def early(*, air_ran: bool) -> str:
    """What the order of beds shows, and its limit."""
    return explained("early" if air_ran else "early_hardly_known")


def cold(*, by_station: bool, air_ran: bool) -> str:
    """What the cold night shows, against what, and its limit."""
    said = phrase(
        "cold_explained" if air_ran else "cold_hardly_known_explained",
        than=_(THAN["station" if by_station else "plots"]),
    )
    return said if by_station else f"{said} {phrase('typical_spot')}"
