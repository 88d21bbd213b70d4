"""The sheet for the shed wall: what to cover tonight, by the low that is forecast."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.decide import tonight
from fieldmap.show.print.cautions import cautions
from fieldmap.show.print.paper import Block, Heading, Points, Table, Text
from fieldmap.show.text.language import _, later, translated
from fieldmap.show.text.print import tonight as words

if TYPE_CHECKING:
    from fieldmap.decide.tonight import Evening
    from fieldmap.plan import Plan
    from fieldmap.show.text.quantities import Units

# Of what `tonight` says of all beds, what the table repeats; the rest stands above it.
REPEATED = (
    later("Can be left on every bed: {crops}."),
    later("Nothing needs a cover tonight."),
    later("Nothing is known of the ground of {beds}."),
)


def blocks(plan: Plan) -> tuple[Block, ...]:
    """A table for clear and calm nights, and what to do on others."""
    every = tonight.evenings(plan.site, plan.beds, "clear", "calm")
    return (
        Text(_(words.HOW_TO_READ)),
        Table(
            (_("Low"), _("What to do")),
            tuple(
                (_lows(first, last, plan.site.settings.units), _said(first))
                for first, last in tonight.spans(every)
            ),
            (1.0, 7.0),
        ),
        Heading(_(words.CLOUDY)),
        Points(translated(tonight.CLOUDY)),
        Heading(_(words.WINDY)),
        Points(translated(tonight.WINDY)),
        cautions(
            _("Mind"),
            dict(zip(("cold", "", "heat", "fumes"), tonight.CAUTIONS, strict=True)),
        ),
    )


def _lows(first: Evening, last: Evening, units: Units) -> str:
    unit = "°F" if units == "us" else "°C"
    low, high = (f"{one.low} {unit}".replace("-", "−") for one in (first, last))
    return low if low == high else _("{low} to {high}").format(low=low, high=high)


def _said(evening: Evening) -> str:
    """What is left and what is covered; what each line says of the air is left out."""
    list_ = evening.tonight
    begins = tuple(text.split("{")[0] for text in (*REPEATED, *translated(REPEATED)))
    lines = [said for said in list_.first if said.startswith(begins)]
    lines += [f"{here.plot}: {' '.join(here.sentences[1:])}" for here in list_.plots]
    return "\n".join(lines)
