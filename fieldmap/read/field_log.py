"""What happened: one line for each planting, loss, last day or low, as CSV."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from fieldmap.errors import SiteError
from fieldmap.model.field_log import WHATS, Happened
from fieldmap.read.csv_table import check_lengths, read_rows
from fieldmap.read.wording import either, nearest, quoted, some
from fieldmap.show.text.language import _
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from pathlib import Path

EXAMPLE = "date,bed,what,crop,cover,low_c"
NEEDED = ("date", "bed", "what")
# Column -> factor and offset to °C.
LOWS = {"low_c": (1.0, 0.0), "low_f": (5 / 9, -160 / 9)}
KNOWN = (*NEEDED, "crop", "cover", *LOWS)
BELIEVED_C = (-60.0, 45.0)  # no bed was colder or warmer in the morning (from memory)
WITH_CROP = ("planted", "lost", "held")


def read_happened(
    folder: Path, file: str, beds: Collection[str], crops: Collection[str]
) -> tuple[Happened, ...] | None:
    """The lines in the order of the file; None where there is no such file yet.

    Parameters
    ----------
    beds, crops
        Names that the plan knows.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    path = folder / file
    if not path.exists():
        return None
    rows = read_rows(path, file)
    if len(rows) < 2:
        raise SiteError(
            _(
                "{file} has nothing in it; its first line is {example}, and each thing that"
                " happened has a line after it."
            ).format(file=file, example=EXAMPLE)
        )
    header = [name.strip().casefold() for name in rows[0][1]]
    _check_header(header, file)
    check_lengths(rows[1:], header, file)
    names = {name.casefold(): name for name in beds}
    grown = {name.casefold(): name for name in crops}
    found, problems = [], []
    for line, row in rows[1:]:
        fields = dict(zip(header, (text.strip() for text in row), strict=True))
        faults, happened = _line(line, fields, names, grown)
        problems += [
            _("{file}: line {line} {fault}").format(file=file, line=line, fault=fault)
            for fault in faults
        ]
        if happened is not None:
            found.append(happened)
    if problems:
        raise SiteError(some(problems))
    return tuple(found)


def _check_header(header: Sequence[str], file: str) -> None:
    problems = [
        _("{file}: column {name} is not known; right are {right}.").format(
            file=file, name=quoted(name), right=either(KNOWN)
        )
        for name in header
        if name not in KNOWN
    ]
    problems += [
        _("{file} has {name} in more than one column; keep one.").format(
            file=file, name=name
        )
        for name in dict.fromkeys(header)
        if header.count(name) > 1
    ]
    problems += [
        _("{file} has no column {name}; add it, as in {example}.").format(
            file=file, name=name, example=EXAMPLE
        )
        for name in NEEDED
        if name not in header
    ]
    if all(name in header for name in LOWS):
        problems.append(_("{file} has low_c and low_f; keep one.").format(file=file))
    if problems:
        raise SiteError(problems)


def _line(
    line: int, fields: dict[str, str], beds: dict[str, str], crops: dict[str, str]
) -> tuple[list[str], Happened | None]:
    """What is wrong with a line, as ends of sentences, or what it says."""
    faults = []
    day = None
    try:
        day = date.fromisoformat(fields["date"])
    except ValueError:
        faults.append(
            _("has date {date}; write year, month, day, such as 2026-05-14.").format(
                date=quoted(fields["date"])
            )
        )
    what = fields["what"].casefold()
    if what not in WHATS:
        faults.append(
            _("has what {what}; right are {right}.").format(
                what=quoted(fields["what"]), right=either(WHATS)
            )
        )
    bed = beds.get(fields["bed"].casefold())
    if bed is None:
        faults.append(_unknown("bed", fields["bed"], beds, _("a bed of the plan")))
    crop = crops.get(fields.get("crop", "").casefold(), "")
    if what in WITH_CROP and not crop:
        faults.append(
            _unknown("crop", fields.get("crop", ""), crops, _("a crop of the site"))
        )
    cover = fields.get("cover", "").casefold()
    if cover not in ("", "none", *COVERS):
        faults.append(_unknown("cover", cover, dict.fromkeys(COVERS, ""), _("a cover")))
    low_c, fault = _low(fields, what)
    faults += fault
    if faults or day is None or bed is None:
        return faults, None
    told = next(each for each in WHATS if each == what)
    cover = "" if cover == "none" else cover
    return [], Happened(line, day, bed, told, crop, cover, low_c)


def _unknown(column: str, text: str, known: dict[str, str], what: str) -> str:
    near = nearest(text, known)
    perhaps = (
        _(" (did you mean {near}?)").format(near=quoted(known[near] or near))
        if near
        else ""
    )
    return _("has {column} {text}, which is not {what}{perhaps}.").format(
        column=column, text=quoted(text), what=what, perhaps=perhaps
    )


def _low(fields: dict[str, str], what: str) -> tuple[float | None, list[str]]:
    column = next((name for name in LOWS if fields.get(name)), None)
    if what != "low":
        return None, []
    if column is None:
        return None, [_("is a low without a reading; fill in low_c or low_f.")]
    factor, offset = LOWS[column]
    try:
        low_c = float(fields[column]) * factor + offset
    except ValueError:
        low_c = float("nan")
    lowest, highest = BELIEVED_C
    if not lowest <= low_c <= highest:
        return None, [
            _(
                "has {column} {fields}; write a number with a decimal point,"
                " from {lowest:g} to {highest:g}."
            ).format(
                column=column,
                fields=quoted(fields[column]),
                lowest=(lowest - offset) / factor,
                highest=(highest - offset) / factor,
            )
        ]
    return low_c, []
