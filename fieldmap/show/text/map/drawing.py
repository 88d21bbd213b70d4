"""Words that stand in the drawing itself."""

from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

WORDS = texts(__name__, "words")


def words() -> dict[str, str]:
    """All of them in the current language, for the page's drawing."""
    return {key: _(text) for key, text in WORDS.items()}


def near(name: str, kind: str, height_m: float | None, units: Units) -> str:
    """What a named thing says of itself from near: its height, or to take care.

    Parameters
    ----------
    name
        What the grower calls the thing.
    kind
        Kind of surroundings, as the outlines have it.
    height_m
        Height above the ground [m]; None where it has none. Not said of overhead lines
        and of ground to keep off.
    units
        "metric" or "us", for the height.
    """
    if kind == "overhead line":
        return phrase("line_by_name", name=name)
    if kind == "keep off":
        return phrase("kept_off_by_name", name=name)
    if height_m is None:
        return name
    return phrase("thing_by_name", name=name, height=quantities.height(height_m, units))
