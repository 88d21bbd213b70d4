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


SENTENCES: Mapping[str, Sentence] = {"beds_near_overhead_line": _near_overhead_line}
