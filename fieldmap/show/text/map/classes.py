"""Meanings of the colours in a legend."""

from collections.abc import Sequence

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _

GROUPS = texts(__name__, "groups")

# From dry to wet.
WATER_CLASSES: Sequence[str] = texts(__name__, "classes")["water"]


def water_class(at: int) -> str:
    """A class of the wetness index."""
    return _(WATER_CLASSES[at])
