"""The table of a CSV file, with the line on which each of its rows stands."""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fieldmap.errors import UNSEEN, Problem, code_of, problem, site_error
from fieldmap.read.door import SiteFile
from fieldmap.read.wording import did_you_mean, either, nearest, quoted, refuse_any

# A field takes some 60 bytes once it is read; 150 years of days fill half a million.
MOST_FIELDS = 5_000_000
MOST_COLUMNS = 500  # an archive has some hundred
_UNSEEN_IN_TABLE = re.compile(f"(?![\t\r\n]){UNSEEN.pattern}")

# Factor and offset from the unit of a column to the one that is kept.
Conversion = tuple[float, float]
AS_IT_IS: Conversion = (1.0, 0.0)
FROM_FAHRENHEIT: Conversion = (5 / 9, -160 / 9)
_OWN_NAMES: Mapping[str, str] = {}  # every column says what its name says


@dataclass(frozen=True)
class CsvTable:
    """A header and rows; blank lines are left out.

    Attributes
    ----------
    given, header
        Names of the columns as written, and folded.
    lines
        On which each row ends, counted from 1.
    rows
        Fields without the space around them.
    divider
        What stands between fields.
    """

    file: str
    given: tuple[str, ...]
    header: tuple[str, ...]
    lines: tuple[int, ...]
    rows: tuple[tuple[str, ...], ...]
    divider: str = ","

    def __iter__(self) -> Iterator[tuple[int, dict[str, str]]]:
        """The line of each row, and its fields by column."""
        for line, row in zip(self.lines, self.rows, strict=True):
            yield line, dict(zip(self.header, row, strict=True))

    def column(self, name: str) -> list[str]:
        """The fields of a column."""
        at = self.header.index(name)
        return [row[at] for row in self.rows]

    def unknown(self, right: Sequence[str]) -> list[tuple[str, str]]:
        """Columns of no such name, folded and as written."""
        names = zip(self.header, self.given, strict=True)
        return [(name, shown) for name, shown in names if name not in right]

    def unknown_columns(self, right: Sequence[str]) -> list[Problem]:
        """A sentence for each column of no such name, where names end in units."""
        return [
            problem(
                "{file}: column {shown} is not known; {meant}",
                file=self.file,
                shown=quoted(shown),
                meant=_unit_or_name(name, right),
            )
            for name, shown in self.unknown(right)
        ]

    def said_twice(
        self, meaning: Mapping[str, str] = _OWN_NAMES
    ) -> dict[str, list[str]]:
        """What more than one column says, with those columns.

        Parameters
        ----------
        meaning
            What a column says, where that is not its name.
        """
        found: dict[str, list[str]] = {}
        for name in self.header:
            found.setdefault(meaning.get(name, name), []).append(name)
        return {what: names for what, names in found.items() if len(names) > 1}

    def lacking(
        self, needed: Iterable[str], meaning: Mapping[str, str] = _OWN_NAMES
    ) -> list[str]:
        """What is needed and no column says."""
        said = {meaning.get(name, name) for name in self.header}
        return [what for what in needed if what not in said]

    def check_lengths(self) -> None:
        """Raise SiteError unless every row has a field for each column."""
        refuse_any(
            [
                problem(
                    "{file}: line {line} has {fields} fields and the header {columns}; write"
                    " one field for each column, empty where there is no reading.",
                    file=self.file,
                    line=line,
                    fields=len(row),
                    columns=len(self.header),
                )
                for line, row in zip(self.lines, self.rows, strict=True)
                if len(row) != len(self.header)
            ],
            self.file,
            most=3,
        )


def read_csv(path: SiteFile, dividers: str = ",") -> CsvTable:
    """A table as it stands; its columns and lengths are not yet checked.

    Parameters
    ----------
    dividers
        What may stand between fields; the first of these that the first line holds does.

    Raises
    ------
    SiteError
        When the file is no UTF-8 text or no CSV.
    """
    file = path.name
    try:
        text = path.text("utf-8-sig")
    except UnicodeDecodeError as error:
        raise site_error(
            "{file}: byte {byte} is not UTF-8 text; save it as CSV in UTF-8.",
            file=file,
            byte=error.start + 1,
        ) from error
    first = next((line for line in text.splitlines() if line.strip()), "")
    divider = next((mark for mark in dividers if mark in first), ",")
    check_text(text, file, divider)
    reader = csv.reader(io.StringIO(text), delimiter=divider)
    try:
        found = [(reader.line_num, row) for row in reader if any(row)]
    except csv.Error as error:
        raise site_error(
            "{file}: line {line} cannot be read as CSV ({error}); save it as CSV again.",
            file=file,
            line=reader.line_num,
            error=error,
        ) from error
    given = tuple(found[0][1]) if found else ()
    return CsvTable(
        file,
        given,
        tuple(name.strip().casefold() for name in given),
        tuple(line for line, _row in found[1:]),
        tuple(tuple(field.strip() for field in row) for _line, row in found[1:]),
        divider,
    )


def check_text(text: str, file: str, divider: str = ",") -> None:
    """Raise SiteError where a text holds more than a table may, or what is not seen.

    Parameters
    ----------
    text
        The whole content of the file.
    file
        Its name in the site folder, for the message.
    divider
        What stands between fields, such as "," or ";".

    Raises
    ------
    SiteError
        When it has too many fields, a line of too many fields, or a control character.
    """
    check_fields(text, file, divider)
    at = _UNSEEN_IN_TABLE.search(text)
    if at:
        raise site_error(
            "{file}: line {line} holds a control character or direction mark ({code});"
            " delete it.",
            file=file,
            line=text.count("\n", 0, at.start()) + 1,
            code=code_of(at[0]),
        )


def check_fields(text: str, file: str, divider: str = ",") -> None:
    """Raise SiteError where a text has more fields, or a longer line, than a table may.

    Libraries take minutes over a line of a hundred thousand fields.
    """
    fields = text.count(divider) + text.count("\n")
    if fields > MOST_FIELDS:
        raise site_error(
            "{file} has {fields:,} fields, and fieldmap reads at most {most:,}; delete"
            " what you do not need.",
            file=file,
            fields=fields,
            most=MOST_FIELDS,
        )
    wide = [each for each in text.splitlines() if each.count(divider) >= MOST_COLUMNS]
    if wide:
        raise site_error(
            "{file} has a line of {fields:,} fields, and fieldmap reads at most"
            " {most:,}; delete what you do not need.",
            file=file,
            fields=wide[0].count(divider) + 1,
            most=MOST_COLUMNS,
        )


def _unit_or_name(name: str, right: Sequence[str]) -> Problem:
    """What an unknown column should have been, as the end of a sentence."""
    # Of names that differ in their unit only, none is likelier than another.
    stem, _underscore, unit = (nearest(name, right) or "").rpartition("_")
    stems = {name, "" if name.endswith(f"_{unit}") else stem} - {""}
    with_unit = [each for each in right if each.rpartition("_")[0] in stems]
    if len(with_unit) > 1:
        return problem(
            "write its unit into its name: {right}.", right=either(with_unit)
        )
    return did_you_mean(
        name, right, problem("use one of: {right}.", right=either(right))
    )


def number_of(text: str, conversion: Conversion) -> float:
    """A number in the unit that is kept, NaN where the text is none.

    >>> number_of("23", FROM_FAHRENHEIT), number_of("mild", AS_IT_IS)
    (-5.0, nan)
    """
    factor, offset = conversion
    try:
        return float(text) * factor + offset
    except ValueError:
        return float("nan")


def day_of(text: str) -> date | None:
    """A day written as year, month, day; None where the text is none.

    >>> day_of("2025-04-30"), day_of("30.4.2025")
    (datetime.date(2025, 4, 30), None)
    """
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
