"""`site.toml` to `Settings`, every mistake in a sentence of its own."""

from collections.abc import Collection, Iterator, Sequence
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from fieldmap.errors import FieldmapError, Problem, SettingsError, joined, problem
from fieldmap.model.settings import FOR_LEARNERS, Settings, Units
from fieldmap.read import door
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.toml import Table, model_at, read_table, tables_in
from fieldmap.read.wording import (
    either,
    fault_of_name,
    nearest,
    quoted,
    said_by,
    what_is_right,
)

FILE = CHOICES_FILE
MOST_FAULTS = 50  # that are said; with more, nothing else is looked at
_NO_NAME = "(no name)"

_MEANINGS = {
    "name": problem(", what the place is called"),
    "latitude": problem(" in degrees, north positive"),
    "longitude": problem(" in degrees, east positive"),
    "elevation_m": problem(", the station's height above the sea in metres"),
}

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


def draft_choices(
    folder: Path, languages: Collection[str] = ()
) -> tuple[Settings | None, list[Problem | str]]:
    """What of `site.toml` can be used, and all that is wrong with it.

    The draft lets the other files be checked in the same run; it is None where not
    even their names are known.

    Parameters
    ----------
    languages
        Those that there are; none where any will do.
    """
    if not door.is_there(folder, FILE):
        missing = problem(
            "{file} is missing from {folder}; make it with at least one line, such as"
            ' name = "Hill Farm".',
            file=FILE,
            folder=folder,
        )
        return Settings(name=_NO_NAME), [missing]
    try:
        table = read_table(door.open_file(folder, FILE, door.MOST_BYTES_OF_TOML))
    except FieldmapError as error:
        return None, list(error.problems)
    return _checked(table, languages)


def language_and_units(folder: Path) -> tuple[str, Units]:
    """What a site asks for, as far as its choices can be read; else the defaults."""
    settings, _problems = draft_choices(folder)
    settings = Settings(name=_NO_NAME) if settings is None else settings
    return settings.language, settings.units


def _checked(
    table: Table, languages: Collection[str]
) -> tuple[Settings | None, list[Problem | str]]:
    problems: list[Problem | str] = []
    wrong = set()
    try:
        settings = Settings.model_validate(table)
    except ValidationError as error:
        details = error.errors(include_url=False)
        # A line of places may be wrong in several of its numbers: reported once.
        said = (_sentence(detail, table) for detail in details[:MOST_FAULTS])
        found = {str(each): each for each in said}
        problems += found.values()
        if len(details) > MOST_FAULTS:
            more = len(details) - MOST_FAULTS
            problems.append(
                problem("{file}: {more} more of this kind.", file=FILE, more=more)
            )
            return None, problems
        wrong = {key for detail in details for key in detail["loc"][:1]}
        settings = _what_is_right(table, error)
    outside = list(_files_outside(settings))
    problems += [*_faults_of_names(settings), *outside]
    problems += _faults_of_languages(settings, languages)
    return (None if outside or "files" in wrong else settings), problems


def _faults_of_languages(
    settings: Settings, languages: Collection[str]
) -> Iterator[Problem]:
    """Languages that there are not, of all and of single sheets."""
    asked = [("language", settings.language)]
    for sheet, codes in settings.sheets.languages.items():
        if len(codes) > 1 and sheet not in FOR_LEARNERS:
            yield problem(
                "{file}: [sheets.languages]: {sheet} has two languages; only {right} take"
                " two.",
                file=FILE,
                sheet=sheet,
                right=", ".join(FOR_LEARNERS),
            )
    for sheet, codes in settings.sheets.languages.items():
        asked += [(f"sheets.languages.{sheet}", code) for code in codes]
    for key, code in asked:
        if languages and code not in languages:
            unknown = problem(
                "{key} is {code!r}; there are {codes}",
                key=key.rpartition(".")[2],
                code=code,
                codes=", ".join(languages),
            )
            place = key.rpartition(".")[0] or key
            yield joined(f"{FILE}: [{place}]: ", unknown, ".")


def _faults_of_names(settings: Settings) -> Iterator[Problem]:
    """What is wrong with texts that stand in names and credits."""
    if fault := fault_of_name(settings.name):
        yield problem("{file}: name {fault}.", file=FILE, fault=fault)
    credit = settings.map.background_credit
    if credit is not None and (fault := fault_of_name(credit)):
        yield problem(
            "{file}: background_credit in [map] {fault}.", file=FILE, fault=fault
        )


def _what_is_right(table: Table, error: ValidationError) -> Settings:
    """The choices without the wrong ones, nor what then lacks a key."""
    while True:
        before = table
        for detail in error.errors(include_url=False):
            missing = detail["type"] == "missing"
            table = _without(table, detail["loc"], missing=missing)
        if table == before:  # nothing is left to take out
            return Settings(name=_NO_NAME)
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
    # What joins several tables is the crop that beds are put in order for.
    key = place[0] if place else "order_for"
    if not isinstance(key, str) or key not in table:
        return table  # dropped already, for another mistake of the same table
    rest = place[1:]
    inner = table[key]
    if rest and isinstance(inner, dict):
        return {**table, key: _without(inner, rest, missing=False)}
    return {name: value for name, value in table.items() if name != key}


def _files_outside(settings: Settings) -> Iterator[Problem]:
    """A sentence for each file that is named outside the site folder."""
    for role, name in settings.files.model_dump(exclude_none=True).items():
        if not door.may_be_named(name):
            yield problem(
                "{file}: {role} in [files] is {name}; name a file inside the"
                " site folder, by its path from there and without '..'.",
                file=FILE,
                role=role,
                name=quoted(name),
            )
    for number, station in enumerate(settings.other_stations):
        if not door.may_be_named(station.weather):
            yield problem(
                "{file}: {key} in {where} is {name}; name a file inside the"
                " site folder, by its path from there and without '..'.",
                file=FILE,
                key="weather",
                where=_table_name(("other_stations", number)),
                name=quoted(station.weather),
            )


def _sentence(detail: Any, table: Table) -> Problem:
    """One of pydantic's findings in words."""
    place: Place = detail["loc"]
    kind: str = detail["type"]
    if kind == "extra_forbidden":
        return _unknown_key(place, detail["input"])
    if kind == "value_error":  # a rule of ours that joins several keys of a table
        in_table = (_table_name(place), ": ") if place else ()
        return joined(f"{FILE}: ", *in_table, said_by(detail), ".")
    if "line" in place:
        return problem(
            "{file}: line in {where} must be two or more places as [longitude,"
            " latitude] in degrees, such as [[-74.25, 44.05], [-74.24, 44.06]].",
            file=FILE,
            where=_table_name(place[: place.index("line")]),
        )
    where = _table_name(place[:-1])
    if kind == "missing":
        return problem(
            "{file}: {owner} lacks {key}; add a line {key_bare} = ...{meaning}.",
            file=FILE,
            owner=where or problem("the file"),
            key=quoted(place[-1]),
            key_bare=place[-1],
            meaning=_meaning(place),
        )
    if len(place) > 1 and isinstance(place[-1], int):  # one of a list
        where = _table_name(place[:-2])
    key = _key(place)
    if where:
        key = joined(key, problem(" in {where}", where=where))
    return problem(
        "{file}: {key} is {value}; it must be {right}{swapped}.",
        file=FILE,
        key=key,
        value=quoted(detail["input"]),
        right=_right_form(detail),
        swapped=_swapped_station(place, table),
    )


def _right_form(detail: Any) -> Problem:
    """What a value should have been."""
    place: Place = detail["loc"]
    kind: str = detail["type"]
    if kind == "model_type":
        return problem(
            "a table that begins with a line {table_line}",
            table_line=_table_line(place),
        )
    if place[0] == "sun" and (kind == "tuple_type" or kind.startswith("too_")):
        return problem("twelve numbers in brackets, January first")
    if kind == "tuple_type" and len(place) > 1:
        example = "spring" if place[-1] == "seasons" else "light_fabric"
        return problem('a list in brackets, such as ["{example}"]', example=example)
    if kind == "tuple_type":
        return problem(
            "tables that each begin with a line [[{key_bare}]]", key_bare=place[-1]
        )
    return what_is_right(detail)


def _key(place: Place) -> Problem | str:
    """The key that a value belongs to, and which of a list it is."""
    last = place[-1]
    if isinstance(last, int):
        return problem("number {number} of {list}", number=last + 1, list=place[-2])
    return last


def _swapped_station(place: Place, table: Table) -> Problem | str:
    if place != ("station", "latitude"):
        return ""
    latitude, longitude = (
        table["station"].get(key) for key in ("latitude", "longitude")
    )
    numbers = all(isinstance(value, int | float) for value in (latitude, longitude))
    if numbers and 90 < abs(latitude) <= 180 and abs(longitude) <= 90:
        return problem(
            ", and longitude is {longitude}: the two look swapped", longitude=longitude
        )
    return ""


def _unknown_key(place: Place, value: object) -> Problem:
    key = str(place[-1])
    known = list(model_at(Settings, place[:-1]).model_fields)
    given: Problem | str = ""
    if not isinstance(value, dict | list):
        given = problem(" (value {value})", value=quoted(value))
    begin = problem(
        "{file}: {key} is not a key of {where}{given}",
        file=FILE,
        key=quoted(key),
        where=_table_name(place[:-1]) or problem("the top of the file"),
        given=given,
    )
    near = nearest(key, known)
    if near:
        return problem("{begin}; did you mean {near}?", begin=begin, near=quoted(near))
    for table, inner in tables_in(Settings).items():
        meant = nearest(key, inner.model_fields)
        if meant:
            return problem(
                "{begin}; did you mean {meant}, which belongs in [{table}]?",
                begin=begin,
                meant=quoted(meant),
                table=table,
            )
    return problem("{begin}; its keys are {keys}.", begin=begin, keys=either(known))


def _meaning(place: Place) -> Problem | str:
    """What a key that is missing stands for, as the end of a sentence."""
    if place[0] == "crops":
        return problem(', such as "lettuce"')
    return _MEANINGS.get(str(place[-1]), "")


def _table_line(place: Sequence[str | int]) -> str:
    """The line that a table begins with."""
    key = ".".join(part for part in place if isinstance(part, str))
    return f"[[{key}]]" if any(isinstance(part, int) for part in place) else f"[{key}]"


def _table_name(place: Sequence[str | int]) -> Problem | str:
    """A table as its line has it, and which of several alike it is."""
    names = [str(part) for part in place if isinstance(part, str)]
    numbers = [part + 1 for part in place if isinstance(part, int)]
    if not numbers:
        return _table_line(place) if place else ""
    outer = problem(
        "{table} number {number}", table=f"[[{names[0]}]]", number=numbers[0]
    )
    if len(names) == 1:
        return outer
    return problem(
        "{table} number {number} of {outer}",
        table=_table_line(place),
        number=numbers[-1],
        outer=outer,
    )
