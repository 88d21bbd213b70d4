"""The rows of a CSV file, with the line each stands on."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from fieldmap.errors import SiteError
from fieldmap.read.wording import some
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

Row = tuple[int, list[str]]  # the line on which it ends, and its fields


def read_rows(path: Path, file: str) -> list[Row]:
    """Rows as they stand; blank lines are left out.

    Raises
    ------
    SiteError
        When the file is no UTF-8 text or no CSV.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise SiteError(
            _("{file}: byte {byte} is not UTF-8 text; save it as CSV in UTF-8.").format(
                file=file, byte=error.start + 1
            )
        ) from error
    reader = csv.reader(io.StringIO(text))
    try:
        return [(reader.line_num, row) for row in reader if any(row)]
    except csv.Error as error:
        raise SiteError(
            _(
                "{file}: line {line} cannot be read as CSV ({error}); save it"
                " as CSV again."
            ).format(file=file, line=reader.line_num, error=error)
        ) from error


def check_lengths(rows: Sequence[Row], header: Sequence[str], file: str) -> None:
    """Raise SiteError unless every row has a field for each column."""
    wrong = [
        _(
            "{file}: line {line} has {fields} fields and the header {columns}; write"
            " one field for each column, empty where there is no reading."
        ).format(file=file, line=line, fields=len(row), columns=len(header))
        for line, row in rows
        if len(row) != len(header)
    ]
    if wrong:
        raise SiteError(some(wrong, most=3))
