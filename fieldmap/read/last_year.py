"""What stood on the beds last year: one line for each bed and crop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.errors import SiteError
from fieldmap.model.site import Stood
from fieldmap.read.crops import named
from fieldmap.read.csv_table import check_lengths, read_rows
from fieldmap.read.wording import fault_of_name, nearest, quoted, some
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

    from fieldmap.model.crops import Crop

COLUMNS = ("bed", "crop")
FAMILY = "family"
EXAMPLE = "bed,crop"


def read_last_year(
    path: Path, file: str, crops: Mapping[str, Crop]
) -> tuple[Stood, ...]:
    """Beds and their crops; a bed has a line for each crop that stood on it.

    A column `family` tells that of crops which fieldmap does not know. Whether the beds
    are there is not known yet.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    rows = read_rows(path, file)
    header = [field.strip().casefold() for field in rows[0][1]] if rows else []
    _check_header(header, file)
    check_lengths(rows[1:], header, file)
    problems: list[str] = []
    found: list[Stood] = []
    for line, fields in rows[1:]:
        row = dict(zip(header, (field.strip() for field in fields), strict=True))
        faults = list(
            _faults(row, crops, _("{file}: line {line}").format(file=file, line=line))
        )
        problems += faults
        if not faults:
            crop = named(row["crop"], crops)
            known = None if crop is None or crop.family is None else crop.family.value
            found.append(Stood(row["bed"], row["crop"], row.get(FAMILY) or known))
    if problems:
        raise SiteError(some(problems))
    return tuple(found)


def _check_header(header: list[str], file: str) -> None:
    """Raise SiteError unless the columns are those that are read, each once."""
    right = (*COLUMNS, FAMILY)
    problems = [
        _(
            "{file} has no column {name}; its first line is {example}, and each "
            "bed and crop of last year has a line after it."
        ).format(file=file, name=quoted(name), example=EXAMPLE)
        for name in COLUMNS
        if name not in header
    ]
    for name in dict.fromkeys(header):
        if name not in right:
            near = nearest(name, right)
            meant = (
                _("did you mean {near}?").format(near=quoted(near))
                if near
                else _("it reads {example}.").format(example=EXAMPLE)
            )
            problems.append(
                _("{file}: {name} is no column of it; {meant}").format(
                    file=file, name=quoted(name), meant=meant
                )
            )
        elif header.count(name) > 1:
            problems.append(
                _("{file}: column {name} stands there twice.").format(
                    file=file, name=quoted(name)
                )
            )
    if problems:
        raise SiteError(problems)


def _faults(
    row: dict[str, str], crops: Mapping[str, Crop], where: str
) -> Iterator[str]:
    """What is wrong with one line."""
    for column in COLUMNS:
        fault = fault_of_name(row[column])
        if fault:
            yield f"{where}: {column} {fault}."
    if row.get(FAMILY):
        fault = fault_of_name(row[FAMILY])
        if fault:
            yield f"{where}: {FAMILY} {fault}."
    elif row["crop"] and named(row["crop"], crops) is None:
        near = nearest(row["crop"], crops)
        perhaps = _(" (did you mean {near}?)").format(near=quoted(near)) if near else ""
        yield (
            _(
                "{where}: crop {crop} is not known{perhaps}; mend it, give "
                "its family in a column 'family', or describe it in crops.toml."
            ).format(where=where, crop=quoted(row["crop"]), perhaps=perhaps)
        )
