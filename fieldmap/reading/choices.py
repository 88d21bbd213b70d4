"""`site.toml` to `Settings`, every mistake in a sentence of its own."""

from __future__ import annotations

import re
import tomllib
import typing
from pathlib import PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ValidationError

from fieldmap.errors import SettingsError
from fieldmap.reading.sentences import either, fault_of_name, nearest, quoted
from fieldmap.settings import Settings

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

FILE = "site.toml"
_NO_NAME = "(no name)"

Table = dict[str, Any]
Place = tuple[str | int, ...]

_WHAT_IS_RIGHT = {
    "float_type": "a number, without quotes",
    "int_type": "a whole number, without quotes",
    "string_type": "text in quotes",
    "bool_type": "true or false, without quotes",
    "finite_number": "a finite number",
    "string_too_short": "text of at least one character",
    "string_too_long": "text of at most {max_length} characters",
    "literal_error": "{expected}",
    "greater_than": "more than {gt:g}",
    "greater_than_equal": "at least {ge:g}",
    "less_than": "less than {lt:g}",
    "less_than_equal": "at most {le:g}",
}


def read_choices(folder: Path) -> Settings:
    """The checked choices of a site folder.

    Raises
    ------
    SettingsError
        With a sentence for every key that cannot be used.
    """
    settings, problems = draft_choices(folder)
    if settings is None or problems:
        raise SettingsError(problems)
    return settings


def draft_choices(folder: Path) -> tuple[Settings | None, list[str]]:
    """What of `site.toml` can be used, and all that is wrong with it.

    The draft lets the other files be checked in the same run; it is None where not
    even their names are known.
    """
    path = folder / FILE
    if not path.is_file():
        problem = (
            f"{FILE} is missing from {folder}; make it with at least one line, such as"
            ' name = "Hill Farm".'
        )
        return Settings(name=_NO_NAME), [problem]
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as error:
        return None, [
            f"{FILE}: byte {error.start + 1} is not UTF-8 text; save the file as UTF-8."
        ]
    except tomllib.TOMLDecodeError as error:
        return None, [_syntax_sentence(str(error))]
    return _checked(table)


def _syntax_sentence(message: str) -> str:
    place = re.search(r"\(at (?:line (\d+), column (\d+)|end of document)\)", message)
    what = message[: place.start()].strip() if place else message
    where = (
        f"line {place[1]}, column {place[2]}" if place and place[1] else "the last line"
    )
    return (
        f"{FILE}: {where} cannot be read ({what}); write one key = value a line, with"
        " text in quotes and tables as [name]."
    )


def _checked(table: Table) -> tuple[Settings | None, list[str]]:
    try:
        settings, problems, wrong = Settings.model_validate(table), [], set()
    except ValidationError as error:
        details = error.errors(include_url=False)
        problems = [_sentence(detail, table) for detail in details]
        wrong = {detail["loc"][0] for detail in details}
        settings = _what_is_right(table, error)
    fault = fault_of_name(settings.name)
    if fault:
        problems.append(f"{FILE}: name {fault}.")
    outside = _files_outside(settings)
    problems += outside
    return (None if outside or "files" in wrong else settings), problems


def _what_is_right(table: Table, error: ValidationError) -> Settings:
    """The choices without the wrong ones, nor what then lacks a key."""
    while True:
        for detail in error.errors(include_url=False):
            missing = detail["type"] == "missing"
            table = _without(table, detail["loc"], missing=missing)
        try:
            return Settings.model_validate(table)
        except ValidationError as consequence:
            error = consequence


def _without(table: Table, place: Place, *, missing: bool) -> Table:
    """A copy of the table without the value at `place` (or without what lacks it)."""
    if place == ("name",):
        return {**table, "name": _NO_NAME}
    if missing:
        place = place[:-1]
    key = place[0]
    if not isinstance(key, str) or key not in table:
        return table  # dropped already, for another mistake of the same table
    rest = place[1:]
    inner = table[key]
    if rest and isinstance(inner, dict):
        return {**table, key: _without(inner, rest, missing=False)}
    return {name: value for name, value in table.items() if name != key}


def _files_outside(settings: Settings) -> list[str]:
    problems = []
    for role, name in settings.files.model_dump(exclude_none=True).items():
        windows, posix = PureWindowsPath(name), PurePosixPath(name)
        inside = (
            name.strip() not in {"", "."}
            and fault_of_name(name) is None
            and not (windows.is_absolute() or windows.drive or windows.root)
            and not posix.is_absolute()
            and ".." not in windows.parts
        )
        if not inside:
            problems.append(
                f"{FILE}: {role} in [files] is {quoted(name)}; name a file inside the"
                " site folder, by its path from there and without '..'."
            )
    return problems


def _sentence(detail: Any, table: Table) -> str:
    """One of pydantic's findings in words."""
    place: Place = detail["loc"]
    kind: str = detail["type"]
    value = detail["input"]
    if kind == "extra_forbidden":
        return _unknown_key(place, value)
    if kind == "value_error":  # a rule of ours that joins several keys of a table
        return f"{FILE}: {_table_name(place)}: {detail['ctx']['error']}."
    where = _table_name(place[:-1])
    if kind == "missing":
        owner = where or "the file"
        return (
            f"{FILE}: {owner} lacks {quoted(place[-1])}; add a line {place[-1]} = ..."
            f"{_meaning(place)}."
        )
    key = f"{place[-1]} in {where}" if where else f"{place[-1]}"
    if kind == "model_type":
        right = f"a table that begins with a line {_table_name(place)}"
    elif (kind == "tuple_type" and place[0] == "sun") or kind.startswith("too_"):
        right = "twelve numbers in brackets, January first"
    elif kind == "tuple_type":
        right = f"tables that each begin with a line [[{place[-1]}]]"
    elif kind in _WHAT_IS_RIGHT:
        right = _WHAT_IS_RIGHT[kind].format(**detail.get("ctx", {}))
    else:
        right = f"otherwise ({detail['msg']})"
    swapped = _swapped_station(place, table)
    return f"{FILE}: {key} is {quoted(value)}; it must be {right}{swapped}."


def _swapped_station(place: Place, table: Table) -> str:
    if place != ("station", "latitude"):
        return ""
    latitude, longitude = (
        table["station"].get(key) for key in ("latitude", "longitude")
    )
    numbers = all(isinstance(value, int | float) for value in (latitude, longitude))
    if numbers and 90 < abs(latitude) <= 180 and abs(longitude) <= 90:
        return f", and longitude is {longitude}: the two look swapped"
    return ""


def _unknown_key(place: Place, value: object) -> str:
    key = str(place[-1])
    where = _table_name(place[:-1]) or "the top of the file"
    model = _model_at(place[:-1])
    known = list(model.model_fields)
    given = "" if isinstance(value, dict | list) else f" (value {quoted(value)})"
    begin = f"{FILE}: {quoted(key)} is no key of {where}{given}"
    near = nearest(key, known)
    if near:
        return f"{begin}; did you mean {quoted(near)}?"
    for table, inner in _tables().items():
        meant = nearest(key, inner.model_fields)
        if meant:
            return f"{begin}; did you mean {quoted(meant)}, which belongs in [{table}]?"
    return f"{begin}; its keys are {either(known)}."


def _meaning(place: Place) -> str:
    meanings = {
        "name": ", what the place is called",
        "latitude": " in degrees, north positive",
        "longitude": " in degrees, east positive",
        "elevation_m": ", the station's height above the sea in metres",
    }
    return meanings.get(str(place[-1]), "")


def _table_name(place: Sequence[str | int]) -> str:
    if not place:
        return ""
    if len(place) > 1 and isinstance(place[1], int):
        return f"[[{place[0]}]] number {place[1] + 1}"
    return f"[{'.'.join(str(part) for part in place)}]"


def _tables() -> dict[str, type[BaseModel]]:
    """The tables of `site.toml` and the model of each."""
    found: dict[str, type[BaseModel]] = {}
    for key, field in Settings.model_fields.items():
        parts = (field.annotation, *typing.get_args(field.annotation))
        for part in parts:
            if isinstance(part, type) and issubclass(part, BaseModel):
                found[key] = part
    return found


def _model_at(place: Sequence[str | int]) -> type[BaseModel]:
    return _tables()[str(place[0])] if place else Settings
