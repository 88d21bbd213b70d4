"""What can hurt someone, or spoil the work, in words."""

from collections.abc import Mapping

from fieldmap.model.fact import Fact
from fieldmap.show.text import names
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence


def _near_overhead_line(fact: Fact, _units: Units) -> str:
    return plural(
        "Bed {beds} lies in part under an overhead line or within {clearance} m of one: "
        "no long pipes or tall tools there; the line's owner decides.",
        "Beds {beds} lie in part under an overhead line or within {clearance} m of one: "
        "no long pipes or tall tools there; the line's owner decides.",
        len(fact["beds"]),
        beds=names.runs_of_beds(fact["beds"], fact["all_beds"]),
        clearance=f"{fact['clearance_m']:g}",
    )


def _wet_in_march(fact: Fact, _units: Units) -> str:
    return _(
        "Wet in March: {plots}. Wait there until the ground carries you, "
        "whatever the dates say."
    ).format(plots=", ".join(fact["plots"]))


BURIED_LINES = later(
    "Before any post or stake goes in, have buried lines located, and ask the owner "
    "about private water, power, septic and drains, which locators do not mark."
)
SENTENCES: Mapping[str, Sentence] = {
    "beds_near_overhead_line": _near_overhead_line,
    "plots_wet_in_march": _wet_in_march,
    "buried_lines": BURIED_LINES,
}
