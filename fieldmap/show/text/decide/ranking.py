"""Why a bed has its place in the order of planting, in words."""

from collections.abc import Mapping

from fieldmap.model.fact import Fact
from fieldmap.model.offset import rounded_c
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later, month_name
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say

GROUPS = (
    later("first"),
    later("no real difference"),
    later("in between"),
    later("last"),
)
BESIDE = {"middle": later("the middle bed"), "first": later("the first bed")}


def _two_that_matter(fact: Fact, units: Units) -> str:
    """The two things that matter most, with what they come to in days."""
    first, second = say(fact["first"], units), say(fact["second"], units)
    reason = f"{names.started(first)}; {second}"
    if fact["days"] is None:
        return f"{reason}."
    low, central, high = fact["days"]
    return f"{reason}: {quantities.days_later(low, central, high, fact['rank'])}."


def _still_nights(fact: Fact, units: Units) -> str:
    """A still night on a bed beside another, as part of a sentence."""
    beside = _(BESIDE[fact["beside"]])
    warmer_c, depth_m = fact["difference_c"], fact["depth_m"]
    if rounded_c(warmer_c) == 0:
        return _("still nights are about the same as on {bed}").format(bed=beside)
    shown = quantities.difference(warmer_c, units)
    if depth_m is not None and warmer_c < 0:
        return _(
            "cold air stands {depth} deep here on still nights, likely {difference} "
            "than on {bed}"
        ).format(
            depth=quantities.length(round(2 * depth_m) / 2, units),
            difference=shown,
            bed=beside,
        )
    return _("still nights are likely {difference} than on {bed}").format(
        difference=shown, bed=beside
    )


def _spring_light(fact: Fact, _units: Units) -> str:
    return _("{light} than {bed} in {month}").format(
        light=quantities.compared_light(fact["more_share"]),
        bed=_(BESIDE[fact["beside"]]),
        month=month_name(fact["month"]),
    )


SENTENCES: Mapping[str, Sentence] = {
    "two_that_matter": _two_that_matter,
    "still_nights_beside": _still_nights,
    "spring_light_beside": _spring_light,
}
