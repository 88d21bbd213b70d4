"""What was said and what happened, as rows for a spreadsheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.files import one_file
from fieldmap.show.files.tables import csv_text
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from pathlib import Path

    from fieldmap.review.field_log import Review

COLUMNS = (
    "line",
    "date",
    "bed",
    "what",
    "crop",
    "cover",
    "read_c",
    "said_low",
    "said_likely",
    "said_high",
    "difference",
    "within",
)


def check_place(file: Path) -> None:
    """Raise PlanError unless the rows may be written there."""
    one_file.check_place(
        file,
        (".csv",),
        lambda text: text.startswith(",".join(COLUMNS)),
        _(
            "{file} is not what an earlier review wrote, so it is left alone; give another "
            "name with --out, or move it away"
        ),
    )


def write(found: Review, file: Path) -> None:
    """Write one line for each thing that happened, whole or not at all."""
    check_place(file)
    one_file.write(
        csv_text(
            COLUMNS,
            (
                dict(
                    zip(
                        COLUMNS,
                        (*row[:6], row.read_c, *row.said, row.difference, row.within),
                        strict=True,
                    )
                )
                for row in found.rows
            ),
        ),
        file,
    )
