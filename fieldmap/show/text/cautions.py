"""What can hurt someone, or spoil the work, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text import names
from fieldmap.show.text.language import _, later, plural

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fieldmap.model.fact import Fact
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
    "bed_near_overhead_line": later(
        "Under or near an overhead line: no long pipes or tall tools here; the line's "
        "owner decides."
    ),
    "bed_wet_in_march": later(
        "Wet in March: wait until the ground carries you, whatever the dates say."
    ),
    "beds_near_overhead_line": _near_overhead_line,
    "plots_wet_in_march": _wet_in_march,
    "frost_advice_is_odds": later(
        "Frost advice is odds, not a promise. The order of places is better known than "
        "the degrees, and the degrees are untested here until thermometers hang on the "
        "spot."
    ),
    "windy_frost_reverses_order": later(
        "On a windy frost night this order does not hold: exposed ground is then the "
        "coldest, and covers help little."
    ),
    "buried_lines": BURIED_LINES,
    "pipes_and_overhead_lines": later(
        "Keep the longest pipe plus the legal clearance away from overhead lines; the "
        "line's owner decides."
    ),
    "loads_on_tunnels": later(
        "Wind and snow on a walk-in tunnel are for the maker's engineer and the local "
        "code; nothing here is a structural design. Permits and setbacks are local too."
    ),
    "closed_tunnels_overheat": later(
        "A closed tunnel in sun overheats people and plants: open it in time. Never run "
        "an unvented heater or an engine in a closed tunnel."
    ),
}
