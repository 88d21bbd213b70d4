"""Why a bed has its place in the order of planting, in words."""

from collections.abc import Mapping

from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say


def _two_that_matter(fact: Fact, units: Units) -> str:
    """The two things that matter most, with what they come to in days."""
    first, second = say(fact["first"], units), say(fact["second"], units)
    reason = f"{names.started(first)}. {names.started(second)}."
    if fact["days"] is None:
        return reason
    low, central, high = fact["days"]
    days = quantities.days_later(low, central, high, fact["rank"])
    return f"{reason} {names.started(days)}."


SENTENCES: Mapping[str, Sentence] = {"two_that_matter": _two_that_matter}
