"""The options of the command to what is asked for."""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from fieldmap.errors import SiteError, problem
from fieldmap.model.fact import Fact
from fieldmap.read.start.given import Given, cache_folder
from fieldmap.read.start.net.web import Web
from fieldmap.read.start.outline.around import Ask
from fieldmap.read.wording import fault_of_name, quoted

_AT = re.compile(r"\s*(-?\d{1,2}(?:\.\d+)?)\s*,\s*(-?\d{1,3}(?:\.\d+)?)\s*")


@dataclass(frozen=True)
class Words:
    """The options of `fieldmap start`, as they were written."""

    at: str | None
    elevation: str | None
    fetch: bool
    crs: str | None
    gps_error_m: float
    height_unit: str | None
    name: str | None
    language: str


@dataclass(frozen=True)
class People:
    """How the user is spoken with.

    Attributes
    ----------
    ask
        Puts a question; None where nobody is there to answer.
    tell
        Is called with each host before it is asked.
    say
        Puts a fact into words.
    comments
        Of the first `site.toml`, by the name of the part that they stand above.
    languages
        Codes of those that there are.
    """

    ask: Ask
    tell: Callable[[str], None]
    say: Callable[[Fact], str]
    comments: Mapping[str, str]
    languages: Sequence[str]


def given(folder: Path, files: Iterable[Path], words: Words, people: People) -> Given:
    """What is asked for.

    Parameters
    ----------
    folder
        Of the new site.
    files
        Files that the user names.
    words
        The options as they were written.
    people
        How the user is asked and spoken to.

    Raises
    ------
    SiteError
        When a word cannot be understood.
    """
    _check(words, people.languages)
    return Given(
        folder=folder,
        files=tuple(files),
        now=datetime.now(UTC),
        ask=people.ask,
        say=people.say,
        comments=people.comments,
        at=_place(words.at),
        crs=words.crs,
        error_m=words.gps_error_m,
        elevation=words.elevation,
        height_unit=words.height_unit,
        name=words.name,
        language=words.language,
        web=Web(cache_folder(), tell=people.tell) if words.fetch else None,
    )


def _check(words: Words, languages: Sequence[str]) -> None:
    right: Sequence[tuple[str, str | None, Sequence[str]]] = (
        ("--height-unit", words.height_unit, ("m", "ft")),
        ("--language", words.language, languages),
    )
    for option, value, allowed in right:
        if value is not None and value not in allowed:
            raise SiteError(
                problem(
                    "{option} is {value}; it must be {right}.",
                    option=option,
                    value=quoted(value),
                    right=", ".join(dict.fromkeys(allowed)),
                )
            )
    fault = None if words.name is None else fault_of_name(words.name)
    if fault is not None:
        raise SiteError(problem("--name {fault}.", fault=fault))


def _place(text: str | None) -> tuple[float, float] | None:
    """Latitude and longitude."""
    if text is None:
        return None
    found = _AT.fullmatch(text)
    latitude, longitude = map(float, found.groups()) if found else (99.0, 0.0)
    if abs(latitude) > 90 or abs(longitude) > 180:
        raise SiteError(
            problem(
                "--at is {value}; it must be latitude and longitude in degrees, as"
                " --at 44.05,-74.25.",
                value=quoted(text),
            )
        )
    return latitude, longitude
