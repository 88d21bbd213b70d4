"""Texts of the page of `fieldmap open` and `fieldmap draw`, by key."""

import re
from typing import Any

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.names import cover_name
from fieldmap.show.text.sentence import fill

SAY = texts(__name__, "say")
KINDS = texts(__name__, "kinds")
TEN = texts(__name__, "ten")
GROUPS = texts(__name__, "groups")
FOLDED = texts(__name__, "folded")
ROWS = texts(__name__, "rows")
VALUES = texts(__name__, "values")
OPEN = texts(__name__, "open")


def say() -> dict[str, str]:
    """What the page says, in the current language."""
    return {key: _(text) for key, text in SAY.items()}


def kinds() -> dict[str, dict[str, str]]:
    """Word, title and sentence of each kind of thing."""
    return {
        kind: {part: _(text) for part, text in parts.items()}
        for kind, parts in KINDS.items()
    }


def word(key: str, table: str = "words") -> str:
    """One of a table of short texts."""
    return _(texts(__name__, table)[key])


def noun(kind: str) -> str:
    """A kind of thing within a name."""
    return _(kind)


def directions() -> list[str]:
    """The sixteen winds from north on, clockwise."""
    return [_(each) for each in texts(__name__, "directions")["order"]]


def seen(what: str) -> str:
    """What a grower saw on a piece of ground."""
    return _(what)


def value(chosen: Any) -> str:
    """What one of a few values of a choice is called."""
    if isinstance(chosen, bool):
        return _(VALUES["yes" if chosen else "no"])
    key = re.sub(r"\W", "_", str(chosen))
    return _(VALUES[key]) if key in VALUES else cover_name(str(chosen))


def missing(kind: str, folder: str) -> str:
    """What is missing of a place, and how to mend it."""
    return fill(texts(__name__, "missing")[kind], "metric", folder=folder)


def changed_outside(file: str, there: int | None, here: int) -> str:
    """That a file was changed since the draft was begun: the shapes in it, or the answers.

    Parameters
    ----------
    file
        Name of the file.
    there
        Number of shapes that the file has now; None for the file of choices.
    here
        Number of shapes in the draft, or of answers for the file of choices.
    """
    if there is None:
        text = texts(__name__, "draft")["choices_changed"]
        return fill(text, "metric", file=file, here=here)
    text = texts(__name__, "draft")["number_of_shapes"]
    return fill(text, "metric", file=file, there=there, here=here)
