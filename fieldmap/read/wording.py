"""How problems are worded: values, lists and the nearest right word."""

import difflib
import os
import shlex
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from fieldmap.errors import UNSEEN, Problem, SiteError, code_of, joined, problem
from fieldmap.model.settings import Units

METRES_PER_FOOT = 0.3048
LONGEST_NAME = 200  # characters; longer ones are pasted by mistake
LONGEST_TEXT = 2000  # characters, of any other text
_LONGEST_SHOWN = 60
_LONGEST_SAID = 300

_WHAT_IS_RIGHT = {
    "float_type": problem("a number, without quotes"),
    "int_type": problem("a whole number, without quotes"),
    "string_type": problem("text in quotes"),
    "bool_type": problem("true or false, without quotes"),
    "finite_number": problem("a finite number"),
    "string_too_short": problem("text of at least one character"),
    "too_short": problem("a list of at least {min_length}"),
    "too_long": problem("a list of at most {max_length}"),
    "string_too_long": problem("text of at most {max_length} characters"),
    "literal_error": Problem("{expected}", {}),
    "greater_than": problem("more than {gt:g}"),
    "greater_than_equal": problem("at least {ge:g}"),
    "less_than": problem("less than {lt:g}"),
    "less_than_equal": problem("at most {le:g}"),
}


def what_is_right(detail: Any) -> Problem:
    """What a value should have been, from one of pydantic's findings."""
    right = _WHAT_IS_RIGHT.get(detail["type"])
    if right is None:
        return problem("different ({problem})", problem=detail["msg"])
    return Problem(right.text, detail.get("ctx", {}))


def said_by(detail: Any) -> Problem:
    """The problem with which a rule of ours refused a record, from pydantic's finding."""
    said = detail["ctx"]["error"].args[0]
    return said if isinstance(said, Problem) else joined(str(said))


def typed(path: Path) -> str:
    """A path as it is typed at a terminal: in quotes where it needs them.

    >>> typed(Path("my_place"))
    'my_place'
    """
    text = str(path)
    if os.name == "nt":
        return f'"{text}"' if " " in text else text
    return shlex.quote(text)


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


def in_short(error: BaseException) -> str:
    """What a library said, on one line and cut where it is long.

    >>> in_short(ValueError("no such  band."))
    'no such band'
    """
    said = UNSEEN.sub(" ", " ".join(str(error).split()))
    said = said.rstrip(".;") or type(error).__name__
    return said if len(said) <= _LONGEST_SAID else said[: _LONGEST_SAID - 1] + "…"


def either(words: Sequence[str]) -> Problem | str:
    """Words as a choice.

    >>> str(either(["sand", "loam", "clay"]))
    'sand, loam or clay'
    """
    if len(words) < 2:
        return "".join(words)
    return problem("{most} or {last}", most=", ".join(words[:-1]), last=words[-1])


def listed(words: Sequence[str]) -> Problem | str:
    """Words in a row.

    >>> str(listed(["sand", "loam", "clay"]))
    'sand, loam and clay'
    """
    if len(words) < 2:
        return "".join(words)
    return problem("{most} and {last}", most=", ".join(words[:-1]), last=words[-1])


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


def length(metres: float, units: Units) -> Problem | str:
    """A length in a sentence on a mistake, as other sentences of the site have it.

    >>> length(15.0, "metric"), str(length(15.0, "us"))
    ('15 m', '49 ft')
    """
    if units == "us":
        return problem("{number} ft", number=f"{metres / METRES_PER_FOOT:.0f}")
    return f"{metres:.1f} m".replace(".0 m", " m")


def perhaps(word: str, right: Iterable[str]) -> Problem | str:
    """The word that was most likely meant, in brackets; nothing where none is near."""
    near = nearest(word, right)
    return problem(" (did you mean {near}?)", near=quoted(near)) if near else ""


def likely(word: str, right: Iterable[str]) -> Problem | str:
    """The word that a text was most likely, in brackets; nothing where none is near."""
    near = nearest(word, right)
    return problem(" (perhaps {near})", near=quoted(near)) if near else ""


def did_you_mean(word: str, right: Iterable[str], otherwise: Problem) -> Problem:
    """A question after the word that was most likely meant, else another sentence.

    Parameters
    ----------
    word
        The word that is not known.
    right
        Words that are.
    otherwise
        The sentence where none of them is near.
    """
    near = nearest(word, right)
    return problem("did you mean {near}?", near=quoted(near)) if near else otherwise


def fault_of_name(name: str) -> Problem | None:
    """What is wrong with a name read from a file, as the end of a sentence.

    Characters that are not seen are refused rather than dropped: two names that differ
    in them only would become one.
    """
    if not name.strip():
        return problem("is empty; give it a name")
    if len(name) > LONGEST_NAME:
        return problem(
            "({name}) has {count} characters; at most {most} fit",
            name=quoted(name),
            count=len(name),
            most=LONGEST_NAME,
        )
    at = UNSEEN.search(name)
    if at:
        return problem(
            "({name}) holds a line break or another control character or direction mark"
            " ({code}); delete it",
            name=quoted(name),
            code=code_of(at[0]),
        )
    return None


def fault_of_text(text: str) -> Problem | None:
    """What is wrong with a text of several words, as the end of a sentence."""
    if len(text) > LONGEST_TEXT:
        return problem(
            "has {count} characters; at most {most} fit",
            count=len(text),
            most=LONGEST_TEXT,
        )
    at = UNSEEN.search(text)
    if at:
        return problem(
            "holds a line break or another control character or direction mark"
            " ({code}); delete it",
            code=code_of(at[0]),
        )
    return None


def faults(begin: Problem | str, ends: Iterable[Problem]) -> list[Problem]:
    """Sentences from what they are about and each thing that is wrong with it."""
    return [joined(begin, " ", end, ".") for end in ends]


def some(sentences: Sequence[Problem], file: str, most: int = 5) -> list[Problem]:
    """The first few of many like sentences, and how many more there are.

    Parameters
    ----------
    sentences
        All of them.
    file
        Its name, for the sentence that counts the rest.
    most
        How many are given word for word.
    """
    if len(sentences) <= most:
        return list(sentences)
    more = len(sentences) - most
    return [
        *sentences[:most],
        problem("{file}: {more} more of this kind.", file=file, more=more),
    ]


def refuse_any(sentences: Sequence[Problem], file: str, most: int = 5) -> None:
    """Raise SiteError with the first few of these sentences, if there are any.

    Parameters
    ----------
    sentences
        What is wrong; where there is none, nothing happens.
    file
        Its name, for the sentence that counts the rest.
    most
        How many are given word for word.

    Raises
    ------
    SiteError
        When there is any sentence.
    """
    if sentences:
        raise SiteError(some(sentences, file, most))
