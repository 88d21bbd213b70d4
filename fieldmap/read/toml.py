"""TOML files to tables, with what cannot be read in a sentence."""

from __future__ import annotations

import re
import tomllib
from typing import TYPE_CHECKING, Any

from fieldmap.errors import SiteError
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from pathlib import Path

Table = dict[str, Any]


def read_table(path: Path, file: str) -> Table:
    """The tables of a TOML file.

    Raises
    ------
    SiteError
        When it is not UTF-8 text or breaks the rules of TOML; names `file`.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as error:
        raise SiteError(
            _("{file}: byte {byte} is not UTF-8 text; save the file as UTF-8.").format(
                file=file, byte=error.start + 1
            )
        ) from None
    except tomllib.TOMLDecodeError as error:
        raise SiteError(_syntax_sentence(file, str(error))) from None


def _syntax_sentence(file: str, message: str) -> str:
    place = re.search(r"\(at (?:line (\d+), column (\d+)|end of document)\)", message)
    what = message[: place.start()].strip() if place else message
    where = (
        _("line {line}, column {column}").format(line=place[1], column=place[2])
        if place and place[1]
        else _("the last line")
    )
    return _(
        "{file}: {where} cannot be read ({what}); write one key = value a line, with"
        " text in quotes and tables as [name]."
    ).format(file=file, where=where, what=what)
