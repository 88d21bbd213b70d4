"""The field log beside what was predicted, as rows for a spreadsheet."""

from pathlib import Path

from fieldmap.errors import problem
from fieldmap.review.field_log import Entry, Review
from fieldmap.show.files import one_file
from fieldmap.show.files.tables import csv_text

LOGGED = ("line", "date", "bed", "what", "crop", "cover", "read_c")
PREDICTED = ("said_low", "said_likely", "said_high")
COLUMNS = (*LOGGED, *PREDICTED, "difference", "within")


def check_place(file: Path) -> None:
    """Raise PlanError unless the rows may be written there."""
    one_file.check_place(
        file,
        (".csv",),
        lambda text: text.startswith(",".join(COLUMNS)),
        problem(
            "{file} was not written by an earlier review, so fieldmap does not replace"
            " it; give another name with --out, or move the file away",
            file=file,
        ),
    )


def write(found: Review, file: Path) -> None:
    """Write one line for each entry of the log, whole or not at all."""
    check_place(file)
    rows = (dict(zip(COLUMNS, _row(entry), strict=True)) for entry in found.entries)
    one_file.write(csv_text(COLUMNS, rows), file)


def _row(entry: Entry) -> tuple[object, ...]:
    predicted = entry.predicted or ("", "", "")
    return (
        *entry.logged,
        *(round(each, 1) if isinstance(each, float) else each for each in predicted),
        entry.difference,
        entry.is_within,
    )
