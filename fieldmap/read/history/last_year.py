"""What stood on the beds last year: one line for each bed and crop."""

from collections.abc import Iterator, Mapping

from fieldmap.errors import Problem, SiteError, joined, problem
from fieldmap.model.crops import Crop
from fieldmap.model.site import Stood
from fieldmap.read.crops import named
from fieldmap.read.csv_table import CsvTable, read_csv
from fieldmap.read.door import SiteFile
from fieldmap.read.wording import (
    did_you_mean,
    fault_of_name,
    quoted,
    refuse_any,
)

COLUMNS = ("bed", "crop")
FAMILY = "family"
EXAMPLE = "bed,crop"


def read_last_year(path: SiteFile, crops: Mapping[str, Crop]) -> tuple[Stood, ...]:
    """Beds and their crops; a bed has a line for each crop that stood on it.

    A column `family` tells that of crops which fieldmap does not know; a crop of which no
    family is known is kept without one, and remarked on where beds are shared out.
    Whether the beds are there is not known yet.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    table = read_csv(path)
    problems = list(_faults_of_header(table))
    if problems:
        raise SiteError(problems)
    table.check_lengths()
    for line, row in table:
        where = problem("{file}: line {line}", file=path.name, line=line)
        problems += _faults(row, where)
    refuse_any(problems, path.name)
    return tuple(
        Stood(row["bed"], row["crop"], row.get(FAMILY) or _family(row["crop"], crops))
        for _line, row in table
    )


def _family(name: str, crops: Mapping[str, Crop]) -> str | None:
    """The family of a crop that is known."""
    crop = named(name, crops)
    return None if crop is None or crop.family is None else crop.family.value


def _faults_of_header(table: CsvTable) -> Iterator[Problem]:
    """What is wrong with the columns: those that are read are right, each once."""
    file, right = table.file, (*COLUMNS, FAMILY)
    for name in table.lacking(COLUMNS):
        yield problem(
            "{file} has no column {name}; its first line is {example}, and each "
            "bed and crop of last year has a line after it.",
            file=file,
            name=quoted(name),
            example=EXAMPLE,
        )
    otherwise = problem("it reads {example}.", example=EXAMPLE)
    for name in dict.fromkeys(folded for folded, _shown in table.unknown(right)):
        yield problem(
            "{file}: {name} is not a column of it; {meant}",
            file=file,
            name=quoted(name),
            meant=did_you_mean(name, right, otherwise),
        )
    for name in table.said_twice():
        if name in right:
            yield problem(
                "{file}: column {name} stands there twice.",
                file=file,
                name=quoted(name),
            )


def _faults(row: dict[str, str], where: Problem) -> Iterator[Problem]:
    """What is wrong with one line."""
    for column in (*COLUMNS, FAMILY):
        fault = fault_of_name(row.get(column, ""))
        if fault and (column in COLUMNS or row.get(column)):
            yield joined(where, f": {column} ", fault, ".")
