"""Boxes of cautions, with small drawings of our own beside them for any printer."""

from collections.abc import Mapping

from fieldmap.show.html import text_of
from fieldmap.show.print.paper import Caution, Cautions
from fieldmap.show.text.language import _


def cautions(head: str, texts: Mapping[str, str]) -> Cautions:
    """A box of cautions from marked texts by their signs; "" is without one."""
    return Cautions(
        head, tuple(Caution(_(text), _sign(sign)) for sign, text in texts.items())
    )


def _sign(name: str) -> str:
    """A drawing as SVG, black on white."""
    return text_of(f"print/signs/{name}.svg") if name else ""
