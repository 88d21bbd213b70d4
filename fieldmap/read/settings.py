"""`site.toml` to `Settings`, every mistake in a sentence of its own."""

from __future__ import annotations

import typing
from pathlib import PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Any

from pydantic import BaseModel, ValidationError

from fieldmap.errors import FieldmapError, SettingsError
from fieldmap.model.settings import Settings
from fieldmap.read.toml import Table, read_table
from fieldmap.read.wording import either, fault_of_name, nearest, quoted, what_is_right
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fieldmap.show.text.language import Language

FILE = "site.toml"
_NO_NAME = "(no name)"

Place = tuple[str | int, ...]


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
        problem = _(
            "{file} is missing from {folder}; make it with at least one line, such as"
            ' name = "Hill Farm".'
        ).format(file=FILE, folder=folder)
        return Settings(name=_NO_NAME), [problem]
    try:
        table = read_table(path, FILE)
    except FieldmapError as error:
        return None, list(error.problems)
    return _checked(table)


def spoken_in(folder: Path) -> Language:
    """The language that a site asks for; English where its choices cannot be read."""
    settings, _problems = draft_choices(folder)
    return Settings(name=_NO_NAME).spoken if settings is None else settings.spoken


def _checked(table: Table) -> tuple[Settings | None, list[str]]:
    try:
        settings, problems, wrong = Settings.model_validate(table), [], set()
    except ValidationError as error:
        details = error.errors(include_url=False)
        # A line of places may be wrong in several of its numbers: told once.
        problems = list(dict.fromkeys(_sentence(detail, table) for detail in details))
        wrong = {detail["loc"][0] for detail in details}
        settings = _what_is_right(table, error)
    fault = fault_of_name(settings.name)
    if fault:
        problems.append(_("{file}: name {fault}.").format(file=FILE, fault=fault))
    credit = settings.map.background_credit
    fault = None if credit is None else fault_of_name(credit)
    if fault:
        problems.append(
            _("{file}: background_credit in [map] {fault}.").format(
                file=FILE, fault=fault
            )
        )
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
                _(
                    "{file}: {role} in [files] is {name}; name a file inside the"
                    " site folder, by its path from there and without '..'."
                ).format(file=FILE, role=role, name=quoted(name))
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
    if "line" in place:
        where = _table_name(place[: place.index("line")])
        return _(
            "{file}: line in {where} must be two or more places as [longitude,"
            " latitude] in degrees, such as [[-74.25, 44.05], [-74.24, 44.06]]."
        ).format(file=FILE, where=where)
    key, where = _key(place), _table_name(place[:-1])
    if len(place) > 1 and isinstance(place[-1], int):  # one of a list
        where = _table_name(place[:-2])
    if kind == "missing":
        owner = where or _("the file")
        return _(
            "{file}: {owner} lacks {key}; add a line {key_bare} = ...{meaning}."
        ).format(
            file=FILE,
            owner=owner,
            key=quoted(place[-1]),
            key_bare=place[-1],
            meaning=_meaning(place),
        )
    if where:
        key += _(" in {where}").format(where=where)
    right = _right_form(detail)
    swapped = _swapped_station(place, table)
    return _("{file}: {key} is {value}; it must be {right}{swapped}.").format(
        file=FILE, key=key, value=quoted(value), right=right, swapped=swapped
    )


def _right_form(detail: Any) -> str:
    """What a value should have been."""
    place: Place = detail["loc"]
    kind: str = detail["type"]
    if kind == "model_type":
        return _("a table that begins with a line {table_line}").format(
            table_line=_table_line(place)
        )
    if (kind == "tuple_type" and place[0] == "sun") or kind.startswith("too_"):
        return _("twelve numbers in brackets, January first")
    if kind == "tuple_type" and len(place) > 1:
        example = "spring" if place[-1] == "seasons" else "light_fabric"
        return _('a list in brackets, such as ["{example}"]').format(example=example)
    if kind == "tuple_type":
        return _("tables that each begin with a line [[{key_bare}]]").format(
            key_bare=place[-1]
        )
    return what_is_right(detail)


def _key(place: Place) -> str:
    """The key that a value belongs to, and which of a list it is."""
    last = place[-1]
    if isinstance(last, int):
        return _("number {number} of {list}").format(number=last + 1, list=place[-2])
    return last


def _swapped_station(place: Place, table: Table) -> str:
    if place != ("station", "latitude"):
        return ""
    latitude, longitude = (
        table["station"].get(key) for key in ("latitude", "longitude")
    )
    numbers = all(isinstance(value, int | float) for value in (latitude, longitude))
    if numbers and 90 < abs(latitude) <= 180 and abs(longitude) <= 90:
        return _(", and longitude is {longitude}: the two look swapped").format(
            longitude=longitude
        )
    return ""


def _unknown_key(place: Place, value: object) -> str:
    key = str(place[-1])
    where = _table_name(place[:-1]) or _("the top of the file")
    model = _model_at(place[:-1])
    known = list(model.model_fields)
    given = (
        ""
        if isinstance(value, dict | list)
        else _(" (value {value})").format(value=quoted(value))
    )
    begin = _("{file}: {key} is no key of {where}{given}").format(
        file=FILE, key=quoted(key), where=where, given=given
    )
    near = nearest(key, known)
    if near:
        return _("{begin}; did you mean {near}?").format(begin=begin, near=quoted(near))
    for table, inner in _tables().items():
        meant = nearest(key, inner.model_fields)
        if meant:
            return _(
                "{begin}; did you mean {meant}, which belongs in [{table}]?"
            ).format(begin=begin, meant=quoted(meant), table=table)
    return _("{begin}; its keys are {keys}.").format(begin=begin, keys=either(known))


def _meaning(place: Place) -> str:
    meanings = {
        "name": _(", what the place is called"),
        "latitude": _(" in degrees, north positive"),
        "longitude": _(" in degrees, east positive"),
        "elevation_m": _(", the station's height above the sea in metres"),
    }
    if place[0] == "crops":
        return _(', such as "lettuce"')
    return meanings.get(str(place[-1]), "")


def _table_line(place: Sequence[str | int]) -> str:
    """The line that a table begins with."""
    key = ".".join(part for part in place if isinstance(part, str))
    return f"[[{key}]]" if any(isinstance(part, int) for part in place) else f"[{key}]"


def _table_name(place: Sequence[str | int]) -> str:
    if not place:
        return ""
    names = [str(part) for part in place if isinstance(part, str)]
    numbers = [part + 1 for part in place if isinstance(part, int)]
    line = _table_line(place)
    if not numbers:
        return line
    outer = _("{table} number {number}").format(
        table=f"[[{names[0]}]]", number=numbers[0]
    )
    if len(names) == 1:
        return outer
    return _("{table} number {number} of {outer}").format(
        table=line, number=numbers[-1], outer=outer
    )


def _tables() -> dict[str, type[BaseModel]]:
    """The tables of `site.toml` and the model of each."""
    return _tables_in(Settings)


def _tables_in(model: type[BaseModel]) -> dict[str, type[BaseModel]]:
    found: dict[str, type[BaseModel]] = {}
    for key, field in model.model_fields.items():
        parts = (field.annotation, *typing.get_args(field.annotation))
        for part in parts:
            if isinstance(part, type) and issubclass(part, BaseModel):
                found[key] = part
    return found


def _model_at(place: Sequence[str | int]) -> type[BaseModel]:
    model: type[BaseModel] = Settings
    for part in place:
        if isinstance(part, str):
            model = _tables_in(model)[part]
    return model
