"""TOML files to tables, with what cannot be read in a sentence; records of tables."""

import re
import tomllib
import typing
from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel

from fieldmap.errors import Problem, SiteError, problem, site_error
from fieldmap.read.door import SiteFile

Table = dict[str, Any]


def read_table(file: SiteFile) -> Table:
    """The tables of a TOML file.

    Raises
    ------
    SiteError
        When it is not UTF-8 text or breaks the rules of TOML.
    """
    try:
        return tomllib.loads(file.text("utf-8-sig"))
    except UnicodeDecodeError as error:
        raise site_error(
            "{file}: byte {byte} is not UTF-8 text; save the file as UTF-8.",
            file=file.name,
            byte=error.start + 1,
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise SiteError(_fault_of_syntax(file.name, str(error))) from None


def _fault_of_syntax(file: str, message: str) -> Problem:
    # A message ends in its place: "(at line 3, column 7)" or "(at end of document)".
    what, _bracket, at = message.partition(" (at ")
    place = re.match(r"line (\d+), column (\d+)", at)
    where = problem("the last line")
    if place:
        where = problem("line {line}, column {column}", line=place[1], column=place[2])
    return problem(
        "{file}: {where} cannot be read ({what}); write one key = value a line, with"
        " text in quotes and tables as [name].",
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
