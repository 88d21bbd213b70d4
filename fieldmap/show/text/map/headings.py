"""Headings of the columns of tables, by key."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.map.labels import LABELS

HEADINGS = texts(__name__, "headings")


def heading(key: str) -> str:
    """One of HEADINGS, or of LABELS, in the current language; else the text itself."""
    return _(HEADINGS.get(key) or LABELS.get(key, key))
