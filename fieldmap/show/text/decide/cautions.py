"""What can hurt someone, or spoil the work, in words."""

from collections.abc import Mapping

from fieldmap.model.fact import Fact
from fieldmap.show.text import names
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill

WORDS = texts(__name__, "words")
BURIED_LINES: str = texts(__name__, "sentences")["buried_lines"]


def _near_overhead_line(fact: Fact, units: Units) -> str:
    near = names.runs_of_beds(fact["beds"], fact["all_beds"])
    return fill(
        WORDS["near_overhead_line"],
        units,
        number=len(fact["beds"]),
        beds=near,
        clearance_m=fact["clearance_m"],
    )


def _low_tunnels(fact: Fact, units: Units) -> str:
    """Of some beds, as runs of all."""
    values = dict(fact.values)
    beds, all_beds = values.pop("beds"), values.pop("all_beds")
    runs = names.runs_of_beds(beds, all_beds)
    return fill(WORDS[fact.kind], units, number=len(beds), beds=runs, **values)


SENTENCES: Mapping[str, Sentence] = {
    "beds_near_overhead_line": _near_overhead_line,
    "low_tunnels_stand": _low_tunnels,
    "low_tunnels_across_storm": _low_tunnels,
    "low_tunnels_along_storm": _low_tunnels,
}
