"""What happened: one line for each planting, loss, last day or low, as CSV."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path

from fieldmap.decide.layout.past_beds import History
from fieldmap.errors import Problem, SiteError, problem, site_error
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import WHATS, WORKED, WORKS, Happened, Worked
from fieldmap.read import door
from fieldmap.read.csv_table import (
    AS_IT_IS,
    FROM_FAHRENHEIT,
    CsvTable,
    day_of,
    number_of,
    read_csv,
)
from fieldmap.read.door import SiteFile
from fieldmap.read.wording import either, perhaps, quoted, refuse_any

EXAMPLE = "date,bed,what,crop,cover,low_c"
NEEDED = ("date", "bed", "what")
LOWS = {"low_c": AS_IT_IS, "low_f": FROM_FAHRENHEIT}
LENGTHS = {"metres": AS_IT_IS, "feet": (0.3048, 0.0)}
KNOWN = (*NEEDED, "crop", "cover", *LOWS, "work", "minutes", *LENGTHS)
BELIEVED_MINUTES, BELIEVED_M = (1.0, 6000.0), (1.0, 10000.0)  # a choice
BELIEVED_C = (-60.0, 45.0)  # no bed was colder or warmer in the morning (from memory)
WITH_CROP = ("planted", "lost", "held")


def read_happened(
    folder: Path, file: str, beds: Collection[str], crops: Collection[str]
) -> tuple[Happened, ...] | None:
    """The lines in the order of the file; None where there is no such file yet.

    Minutes of work are another story, see `read_worked`.

    Parameters
    ----------
    folder
        The site folder.
    file
        Name of the field log in it.
    beds, crops
        Names that a line may use: those of the plan, and those that `fieldmap keep`
        wrote down.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    if not door.is_there(folder, file):
        return None
    table = _table(read_csv(door.open_file(folder, file, door.MOST_BYTES_OF_TABLE)))
    known = _Known(beds, crops)
    problems = [
        problem("{file}: line {line} {fault}", file=file, line=line, fault=fault)
        for line, fields in table
        for fault in _faults(fields, known)
    ]
    refuse_any(problems, file)
    return tuple(
        _happened(line, fields, known)
        for line, fields in table
        if fields["what"].casefold() != WORKED
    )


def read_worked(path: SiteFile) -> tuple[Worked, ...]:
    """How long work took, from its lines; other lines are not looked at.

    Raises
    ------
    SiteError
        With a sentence for every line of work that cannot be used.
    """
    table = read_csv(path)
    if "minutes" not in table.header:
        return ()
    lines = [
        (line, fields)
        for line, fields in _table(table)
        if fields["what"].casefold() == WORKED
    ]
    problems = [
        problem("{file}: line {line} {fault}", file=table.file, line=line, fault=fault)
        for line, fields in lines
        for fault in _faults_of_work(fields)
    ]
    refuse_any(problems, table.file)
    return tuple(_worked(fields) for _line, fields in lines)


def _table(table: CsvTable) -> CsvTable:
    """A table whose header and lengths are right.

    Raises
    ------
    SiteError
        Where they are not.
    """
    file = table.file
    if not table.rows:
        raise site_error(
            "{file} has nothing in it; its first line is {example}, and each thing that"
            " happened has a line after it.",
            file=file,
            example=EXAMPLE,
        )
    wrong = list(_faults_of_header(table))
    if wrong:
        raise SiteError(wrong)
    table.check_lengths()
    return table


def read_on_beds(
    folder: Path, file: str, history: History, crops: Iterable[Crop]
) -> tuple[tuple[Happened, ...], list[Fact]] | None:
    """The lines on today's beds, and what is said of those that lie elsewhere.

    Parameters
    ----------
    folder
        The site folder.
    file
        Name of the field log in it.
    history
        Today's beds, and the ground that lines of earlier plans happened on.
    crops
        Those of the site; a line may name no others.

    Returns
    -------
    lines
        The lines on today's beds, and a remark for those that lie elsewhere; None where
        there is no field log yet.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    names = [crop.name for crop in crops]
    log = read_happened(folder, file, history.names(file), names)
    return None if log is None else history.happened(file, log)


class _Known:
    """Names of beds, crops and covers by their folded form."""

    def __init__(self, beds: Collection[str], crops: Collection[str]) -> None:
        self.beds = {name.casefold(): name for name in beds}
        self.crops = {name.casefold(): name for name in crops}
        # Here and not above: covers bring compiled loops, which only a log needs.
        from layers.cover import COVERS

        self.covers = {name: name for name in COVERS} | {"": "", "none": ""}


def _faults_of_header(table: CsvTable) -> Iterator[Problem]:
    file = table.file
    for name, _shown in table.unknown(KNOWN):
        yield problem(
            "{file}: column {name} is not known; use one of: {right}.",
            file=file,
            name=quoted(name),
            right=either(KNOWN),
        )
    for name in table.said_twice():
        yield problem(
            "{file} has {name} in more than one column; keep one.", file=file, name=name
        )
    for name in table.lacking(NEEDED):
        yield problem(
            "{file} has no column {name}; add it, as in {example}.",
            file=file,
            name=name,
            example=EXAMPLE,
        )
    if all(name in table.header for name in LOWS):
        yield problem("{file} has low_c and low_f; keep one.", file=file)
    if all(name in table.header for name in LENGTHS):
        yield problem("{file} has metres and feet; keep one.", file=file)


def _happened(line: int, fields: Mapping[str, str], known: _Known) -> Happened:
    """What a line says that has no fault."""
    what = next(each for each in WHATS if each == fields["what"].casefold())
    return Happened(
        line,
        date.fromisoformat(fields["date"]),
        known.beds[fields["bed"].casefold()],
        what,
        known.crops.get(fields.get("crop", "").casefold(), ""),
        known.covers[fields.get("cover", "").casefold()],
        _low_c(fields) if what == "low" else None,
    )


def _faults(fields: Mapping[str, str], known: _Known) -> Iterator[Problem]:
    """What is wrong with a line, as ends of sentences."""
    if day_of(fields["date"]) is None:
        yield problem(
            "has date {date}; write year, month, day, such as 2026-05-14.",
            date=quoted(fields["date"]),
        )
    what = fields["what"].casefold()
    if what == WORKED:
        yield from _faults_of_work(fields)
        return
    if what not in WHATS:
        yield problem(
            "has what {what}; use one of: {right}.",
            what=quoted(fields["what"]),
            right=either((*WHATS, WORKED)),
        )
    bed, crop, cover = (fields.get(name, "") for name in ("bed", "crop", "cover"))
    if bed.casefold() not in known.beds:
        yield _unknown("bed", bed, known.beds.values(), problem("a bed of the plan"))
    if what in WITH_CROP and crop.casefold() not in known.crops:
        yield _unknown(
            "crop", crop, known.crops.values(), problem("a crop of the site")
        )
    if cover.casefold() not in known.covers:
        covers = tuple(filter(None, known.covers))
        yield _unknown("cover", cover.casefold(), covers, problem("a cover"))
    if what == "low":
        yield from _faults_of_low(fields)


def _worked(fields: Mapping[str, str]) -> Worked:
    """What a line of work says that has no fault."""
    work = next(each for each in WORKS if each == fields["work"].casefold())
    length_m = _length_m(fields)
    minutes = number_of(fields["minutes"], AS_IT_IS)
    assert length_m is not None
    assert minutes is not None
    return Worked(work, minutes / length_m)


def _length_m(fields: Mapping[str, str]) -> float | None:
    column = next((name for name in LENGTHS if fields.get(name)), None)
    return None if column is None else number_of(fields[column], LENGTHS[column])


def _faults_of_work(fields: Mapping[str, str]) -> Iterator[Problem]:
    """What is wrong with a line of work, as ends of sentences."""
    work = fields.get("work", "").casefold()
    if work not in WORKS:
        yield problem(
            "has work {work}; use one of: {right}.",
            work=quoted(fields.get("work", "")),
            right=either(WORKS),
        )
    minutes, length_m = (
        number_of(fields.get("minutes", ""), AS_IT_IS),
        _length_m(fields),
    )
    for shown, value, (low, high), right in (
        ("minutes", minutes, BELIEVED_MINUTES, problem("of all hands together")),
        (
            "metres",
            length_m,
            BELIEVED_M,
            problem("of bed; feet in a column of that name"),
        ),
    ):
        if value is None or not low <= value <= high:
            yield problem(
                "has no {column} of work; write a number from {low:g} to {high:g}, {right}.",
                column=shown,
                low=low,
                high=high,
                right=right,
            )


def _unknown(column: str, text: str, known: Iterable[str], what: Problem) -> Problem:
    return problem(
        "has {column} {text}, which is not {what}{perhaps}.",
        column=column,
        text=quoted(text),
        what=what,
        perhaps=perhaps(text, known),
    )


def _low_column(fields: Mapping[str, str]) -> str | None:
    return next((name for name in LOWS if fields.get(name)), None)


def _low_c(fields: Mapping[str, str]) -> float | None:
    """The minimum that a line gives [°C], NaN where it is no number."""
    column = _low_column(fields)
    return None if column is None else number_of(fields[column], LOWS[column])


def _faults_of_low(fields: Mapping[str, str]) -> Iterator[Problem]:
    column, low_c = _low_column(fields), _low_c(fields)
    if column is None or low_c is None:
        yield problem("is a low without a reading; fill in low_c or low_f.")
        return
    lowest, highest = BELIEVED_C
    if not lowest <= low_c <= highest:
        factor, offset = LOWS[column]
        yield problem(
            "has {column} {fields}; write a number with a decimal point,"
            " from {lowest:g} to {highest:g}.",
            column=column,
            fields=quoted(fields[column]),
            lowest=(lowest - offset) / factor,
            highest=(highest - offset) / factor,
        )
