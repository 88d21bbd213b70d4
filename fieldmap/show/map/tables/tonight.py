"""What to cover on a clear and calm night, by the low: for paper and still viewers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.decide import tonight
from fieldmap.show.map.tables.table import Column, Table, headings, rows
from fieldmap.show.text.language import translated
from fieldmap.show.text.map import tonight as words
from fieldmap.show.text.map.headings import heading
from fieldmap.show.text.map.labels import label

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldmap.decide.tonight import Evening
    from fieldmap.show.text.quantities import Units


def table(evenings: Sequence[Evening], units: Units) -> Table:
    """Lows that ask for the same, with what to do."""
    columns: list[Column[tuple[Evening, Evening]]] = [
        Column(
            heading("low"), lambda span: words.lows(span[0].low, span[1].low, units)
        ),
        Column(heading("to_do"), lambda span: "\n".join(_sentences(span[0]))),
    ]
    return Table(
        "tonight",
        label("tonight"),
        headings(columns),
        rows(columns, tonight.spans(evenings), "tonight"),
        notes=(label("tonight_note"), *translated(tonight.CAUTIONS)),
    )


def _sentences(evening: Evening) -> list[str]:
    plots = evening.tonight.plots
    return [
        *evening.tonight.first,
        *(f"{here.plot}: {' '.join(here.sentences[1:])}" for here in plots),
    ]
