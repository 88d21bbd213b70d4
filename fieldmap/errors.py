"""What goes wrong in the user's words; only the command turns it into exit code 1."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

# What is not seen and can turn round or break the line that it stands in: controls, line
# and paragraph separators, directions, halves of a character. Joiners stay, as words of
# several languages need them.
UNSEEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\u00ad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e"
    "\u2060-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff\U000e0000-\U000e007f]"
)


def code_of(character: str) -> str:
    """A character by its number in Unicode.

    >>> code_of(chr(0x202E))
    'U+202E'
    """
    return f"U+{ord(character):04X}"


def seen(text: str) -> str:
    """A text for a terminal, with what would not be seen written by its number.

    >>> seen("beds " + chr(0x202E))
    'beds <U+202E>'
    """
    return "\n".join(
        UNSEEN.sub(lambda found: f"<{code_of(found[0])}>", line)
        for line in text.split("\n")
    )


@dataclass(frozen=True)
class Problem:
    """What is wrong with an input, and what would be right.

    It is written in English where it is found and translated where it is shown, by
    `show.text.language.problem_in_words`.

    Attributes
    ----------
    text
        One English sentence, or part of one, with `{places}`.
    values
        What fills the places: plain values, or problems that are parts of this one.
    """

    text: str
    values: Mapping[str, Any]

    def __str__(self) -> str:
        """The English sentence."""
        return self.text.format(**self.values)


def problem(text: str, /, **values: Any) -> Problem:
    """A problem from its English text and the values for its `{places}`.

    Examples
    --------
    >>> str(problem("{file}: line {line} is empty.", file="beds.csv", line=3))
    'beds.csv: line 3 is empty.'
    """
    return Problem(text, values)


def joined(*parts: Problem | str) -> Problem:
    """Parts side by side as one problem; each is translated for itself.

    Examples
    --------
    >>> str(joined("beds.csv", ": ", problem("bed {name} is missing", name="A1"), "."))
    'beds.csv: bed A1 is missing.'
    """
    values = {f"part_{number}": part for number, part in enumerate(parts)}
    return Problem("".join(f"{{{name}}}" for name in values), values)


def refuse_first(problems: Iterable[Problem]) -> None:
    """Raise ValueError with the first problem, as a validated record refuses its values.

    Examples
    --------
    >>> refuse_first([problem("{low} is more than {high}", low=2, high=1)])
    Traceback (most recent call last):
    ValueError: 2 is more than 1
    """
    for found in problems:
        raise ValueError(found)


class FieldmapError(Exception):
    """A mistake that the user can mend: what is wrong, the value, what would be right.

    Attributes
    ----------
    problems
        One sentence each, in the order found.
    """

    def __init__(self, problems: Problem | str | Sequence[Problem | str]) -> None:
        self.problems: tuple[Problem | str, ...]
        if isinstance(problems, Problem | str):
            self.problems = (problems,)
        else:
            self.problems = tuple(problems)
        super().__init__("\n".join(map(str, self.problems)))


class SettingsError(FieldmapError):
    """A choice in `site.toml` that cannot be used."""


class SiteError(FieldmapError):
    """A file of the site that cannot be used."""


class PlanError(FieldmapError):
    """A plan that cannot be made, or cannot be written where it was asked for."""


def site_error(text: str, /, **values: Any) -> SiteError:
    """A SiteError of one problem, from its English text and what fills its places."""
    return SiteError(problem(text, **values))
