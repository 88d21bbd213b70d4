"""The sheet for the shed wall: what to cover tonight, by the low that is forecast."""

from collections.abc import Sequence

from fieldmap.decide.tonight import Evening, spans
from fieldmap.show.print.paper import Block, Heading, Points, Table, Text, cautions
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import tonight
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.map.tonight import lows
from fieldmap.show.text.quantities import Units

WORDS = texts("fieldmap.show.text.print.wall", "sheet")


def blocks(evenings: Sequence[Evening], units: Units) -> tuple[Block, ...]:
    """A table for clear and calm nights, and what to do on others.

    Parameters
    ----------
    evenings
        Those of clear and calm nights, the warmest low first.
    """
    return (
        Text(_(WORDS["how_to_read"])),
        Table(
            (_("Low"), _("What to do")),
            tuple(
                (
                    lows(first.low, last.low, units),
                    tonight.in_short(first.advice, units),
                )
                for first, last in spans(evenings)
            ),
            (1.0, 7.0),
        ),
        Heading(_(WORDS["cloudy"])),
        Points(translated(tonight.CLOUDY)),
        Heading(_(WORDS["windy"])),
        Points(translated(tonight.WINDY)),
        cautions(
            _("Mind"),
            dict(zip(("cold", "", "heat", "fumes"), tonight.CAUTIONS, strict=True)),
        ),
    )
