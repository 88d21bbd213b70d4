"""TOML files to tables, with what cannot be read in a sentence; records of tables."""

import re
import tomllib
import typing
from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import BaseModel

from fieldmap.errors import Problem, SiteError, problem, seen, site_error
from fieldmap.read.door import SiteFile
from fieldmap.read.wording import fault_of_text, refuse_any

Table = dict[str, Any]
DEEPEST = 12  # tables in tables; what is read lies 4 deep
_PART = r"""(?:[\w-]+|"[^"\n]*"|'[^'\n]*')"""
_DEEP_KEY = re.compile(
    rf"(?:^|[\[{{,])[ \t]*(?:{_PART}[ \t]*\.[ \t]*){{{DEEPEST}}}", re.M
)
LARGEST = 2**63 - 1  # as TOML has it


def read_table(file: SiteFile) -> Table:
    """The tables of a TOML file.

    Raises
    ------
    SiteError
        When it is not UTF-8 text, breaks the rules of TOML, or holds what no value may be.
    """
    try:
        text = file.text("utf-8-sig")
        if _DEEP_KEY.search(text):  # the parser would take hours over a very long one
            raise SiteError(_too_deep_or_long(file.name, RecursionError()))
        table = tomllib.loads(text)
    except UnicodeDecodeError as error:
        raise site_error(
            "{file}: byte {byte} is not UTF-8 text; save the file as UTF-8.",
            file=file.name,
            byte=error.start + 1,
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise SiteError(_fault_of_syntax(file.name, str(error))) from None
    except (RecursionError, ValueError) as error:
        # Brackets in brackets without end; a number of thousands of digits.
        raise SiteError(_too_deep_or_long(file.name, error)) from None
    refuse_any(list(_faults_of_values(table, file.name)), file.name)
    return table


def _too_deep_or_long(file: str, error: Exception) -> Problem:
    if isinstance(error, RecursionError):
        return problem(
            "{file}: it has more than {most} tables or lists inside each other; write"
            " one key = value on each line.",
            file=file,
            most=DEEPEST,
        )
    return problem(
        "{file}: a number or date cannot be read ({what}); numbers have at most 19"
        " digits.",
        file=file,
        what=str(error).partition(";")[0],
    )


def _faults_of_values(table: Table, file: str) -> Iterator[Problem]:
    """What no value of any table may be: too deep, too large, unseen, too long."""
    waiting: list[tuple[tuple[str, ...], int, Any]] = [((), 0, table)]
    while waiting:
        place, depth, value = waiting.pop()
        said = {"file": file, "key": seen(place[-1])[:60] if place else ""}
        said["where"] = (
            f" in [{seen('.'.join(place[:-1]))[:60]}]" if len(place) > 1 else ""
        )
        if depth > DEEPEST:
            yield _too_deep_or_long(file, RecursionError())
            return
        if isinstance(value, dict):
            for name in value:
                if fault := fault_of_text(name):
                    yield problem("{file}: a key {fault}.", file=file, fault=fault)
            waiting += [((*place, key), depth + 1, value[key]) for key in value]
        elif isinstance(value, list):
            waiting += [(place, depth + 1, inner) for inner in value]
        elif isinstance(value, str) and (fault := fault_of_text(value)):
            yield problem(
                "{file}: the text of {key}{where} {fault}.", **said, fault=fault
            )
        elif isinstance(value, int) and abs(value) > LARGEST:
            yield problem(
                "{file}: the number of {key}{where} has too many digits; at most 19"
                " fit.",
                **said,
            )


def _fault_of_syntax(file: str, message: str) -> Problem:
    # A message ends in its place: "(at line 3, column 7)" or "(at end of document)".
    what, _bracket, at = message.partition(" (at ")
    place = re.match(r"line (\d+), column (\d+)", at)
    where = problem("the last line")
    if place:
        where = problem("line {line}, column {column}", line=place[1], column=place[2])
    return problem(
        "{file}: {where} cannot be read ({what}); write one key = value on each"
        " line, with text in quotes and tables as [name].",
        file=file,
        where=where,
        what=what,
    )


def tables_in(model: type[BaseModel]) -> dict[str, type[BaseModel]]:
    """The records that keys of a record are read into, by key."""
    found: dict[str, type[BaseModel]] = {}
    for key, field in model.model_fields.items():
        for part in (field.annotation, *typing.get_args(field.annotation)):
            if isinstance(part, type) and issubclass(part, BaseModel):
                found[field.alias or key] = part
    return found


def model_at(model: type[BaseModel], place: Sequence[str | int]) -> type[BaseModel]:
    """The record at a place within another, by keys and numbers in lists."""
    for part in place:
        if isinstance(part, str):
            model = tables_in(model)[part]
    return model
