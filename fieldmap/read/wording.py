"""How problems are worded: values, lists and the nearest right word."""

from __future__ import annotations

import difflib
import unicodedata
from typing import TYPE_CHECKING, Any

from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

LONGEST_NAME = 200  # characters; longer ones are pasted by mistake
_LONGEST_SHOWN = 60

_WHAT_IS_RIGHT = {
    "float_type": later("a number, without quotes"),
    "int_type": later("a whole number, without quotes"),
    "string_type": later("text in quotes"),
    "bool_type": later("true or false, without quotes"),
    "finite_number": later("a finite number"),
    "string_too_short": later("text of at least one character"),
    "string_too_long": later("text of at most {max_length} characters"),
    "literal_error": "{expected}",
    "greater_than": later("more than {gt:g}"),
    "greater_than_equal": later("at least {ge:g}"),
    "less_than": later("less than {lt:g}"),
    "less_than_equal": later("at most {le:g}"),
}


def what_is_right(detail: Any) -> str:
    """What a value should have been, from one of pydantic's findings."""
    kind = detail["type"]
    if kind in _WHAT_IS_RIGHT:
        return _(_WHAT_IS_RIGHT[kind]).format(**detail.get("ctx", {}))
    return _("otherwise ({problem})").format(problem=detail["msg"])


def quoted(value: object) -> str:
    """A value as it stands in a sentence: text in quotes, cut where it is long.

    >>> quoted("North"), quoted(0.5), quoted(True)
    ("'North'", '0.5', 'true')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    text = repr(value) if isinstance(value, str) else str(value)
    if len(text) <= _LONGEST_SHOWN:
        return text
    return text[: _LONGEST_SHOWN - 1] + "…"


def either(words: Sequence[str]) -> str:
    """Words as a choice.

    >>> either(["sand", "loam", "clay"])
    'sand, loam or clay'
    """
    if len(words) < 2:
        return "".join(words)
    return _("{most} or {last}").format(most=", ".join(words[:-1]), last=words[-1])


def nearest(word: str, right: Iterable[str]) -> str | None:
    """The right word that the given one was most likely meant to be, if any.

    A word that begins another counts as near, since keys are often cut short.

    >>> nearest("pathwidth", ["bed_width_m", "path_width_m"])
    'path_width_m'
    >>> nearest("zzz", ["bed_width_m"]) is None
    True
    """
    known = {candidate.casefold(): candidate for candidate in right}
    found = difflib.get_close_matches(word.casefold(), list(known), n=1, cutoff=0.6)
    if found:
        return known[found[0]]
    begun = [whole for folded, whole in known.items() if _begins(folded, word)]
    return begun[0] if len(begun) == 1 else None


def _begins(whole: str, word: str) -> bool:
    return len(word) >= 3 and whole.startswith(word.casefold())


def fault_of_name(name: str) -> str | None:
    """What is wrong with a name read from a file, as the end of a sentence.

    Control characters are refused rather than dropped: two names that differ in them
    only would become one.
    """
    if not name.strip():
        return _("is empty; give it a name")
    if len(name) > LONGEST_NAME:
        return _("({name}) has {count} characters; at most {most} fit").format(
            name=quoted(name), count=len(name), most=LONGEST_NAME
        )
    if any(unicodedata.category(character) == "Cc" for character in name):
        return _(
            "({name}) holds a line break or another control character; take it out"
        ).format(name=quoted(name))
    return None


def some(sentences: Sequence[str], most: int = 5) -> list[str]:
    """The first few of many like sentences, and how many more there are."""
    if len(sentences) <= most:
        return list(sentences)
    more = len(sentences) - most
    file = sentences[0].split(":", 1)[0]
    return [
        *sentences[:most],
        _("{file}: {more} more of this kind.").format(file=file, more=more),
    ]
