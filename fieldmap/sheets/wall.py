"""The sheet for the shed wall: what to cover tonight, by the low that is forecast."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap import tonight, words
from fieldmap.sheets import signs
from fieldmap.sheets.paper import Block, Heading, Points, Table, Text, cautions

if TYPE_CHECKING:
    from fieldmap.plan import Plan
    from fieldmap.tonight import Evening


def blocks(plan: Plan) -> tuple[Block, ...]:
    """A table for clear and calm nights, and what to do on others."""
    every = tonight.evenings(plan.site, plan.beds, "clear", "calm")
    return (
        Text(
            "Take the low that is forecast for the weather station, and the line that "
            "names it. The list holds for a clear and calm night: go plot by plot, in "
            "this order. A bed that is not planted needs nothing."
        ),
        Table(
            ("Low", "What to do"),
            tuple(
                (_lows(first, last, plan.site.settings.units), _said(first))
                for first, last in tonight.spans(every)
            ),
            (1.0, 7.0),
        ),
        Heading("On a cloudy night"),
        Points(tonight.CLOUDY),
        Heading("On a windy night"),
        Points(tonight.WINDY),
        cautions(
            "Mind",
            tuple(
                zip(
                    tonight.CAUTIONS,
                    (signs.COLD, "", signs.HEAT, signs.FUMES),
                    strict=True,
                )
            ),
        ),
    )


def _lows(first: Evening, last: Evening, units: words.Units) -> str:
    unit = "°F" if units == "us" else "°C"
    ends = [f"{each.low} {unit}".replace("-", "−") for each in (first, last)]
    return " to ".join(dict.fromkeys(ends))


def _said(evening: Evening) -> str:
    """What is left and what is covered; what each line says of the air is left out."""
    list_ = evening.tonight
    lines = [
        said for said in list_.first if said.startswith(("Can be left", "Nothing"))
    ]
    lines += [f"{here.plot}: {' '.join(here.sentences[1:])}" for here in list_.plots]
    return "\n".join(lines)
