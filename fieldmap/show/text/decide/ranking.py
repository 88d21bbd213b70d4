"""Why a bed has its place in the order of planting, in words."""

from collections.abc import Mapping

from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill, say

LIGHT, TYPICAL = texts(__name__, "light"), texts(__name__, "typical")
LIGHT_BESIDE, SOIL_BESIDE = "spring_light_beside", "soil_later_than"
COMPARED_BY = {LIGHT_BESIDE: "light", SOIL_BESIDE: "soil"}  # all others by their nights


def first_thing(fact: Fact, units: Units) -> str:
    """The thing that matters most for a bed, as a sentence.

    A second one says what a typical bed is, where the bed is compared with that.

    Examples
    --------
    >>> night = Fact("still_nights_differ", difference_c=-1.0, bed=Fact("typical_bed"))
    >>> first_thing(Fact("two_that_matter", first=night), "metric")
    'On still nights this bed is likely 1 °C colder than a typical bed. Half of all beds are colder than the typical bed.'
    """
    first: Fact = fact["first"]
    bed: Fact | None = first.values.get("bed")
    said = f"{names.started(say(first, units))}."
    if bed is None or bed.kind != "typical_bed":
        return said
    return f"{said} {_(TYPICAL[COMPARED_BY.get(first.kind, 'night')])}"


def _in_light(fact: Fact, units: Units) -> str:
    """The light of spring on a bed beside that on another, in whole per cent."""
    text = LIGHT["beside" if round(100 * fact["light"]) else "alike"]
    return fill(text, units, **fact.values)


def _two_that_matter(fact: Fact, units: Units) -> str:
    """The two things that matter most, with what they come to in days."""
    second = names.started(say(fact["second"], units))
    reason = f"{first_thing(fact, units)} {second}."
    if fact["days"] is None:
        return reason
    low, central, high = fact["days"]
    days = quantities.days_later(low, central, high, fact["rank"])
    return f"{reason} {names.started(days)}."


SENTENCES: Mapping[str, Sentence] = {
    "two_that_matter": _two_that_matter,
    LIGHT_BESIDE: _in_light,
}
