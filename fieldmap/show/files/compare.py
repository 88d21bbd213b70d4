"""Candidates side by side: one page for the screen and paper, and rows beside it."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from fieldmap.errors import problem
from fieldmap.review.compare import Comparison, Row, Value
from fieldmap.show import html
from fieldmap.show.files import one_file
from fieldmap.show.files.tables import csv_text
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.review import compare as words
from fieldmap.show.text.sentence import say_all

COLUMNS = ("fact", "candidate", "low", "central", "high", "mark", "text")
SIGN = '<meta name="what" content="candidates'  # of the page's template


def check_place(file: Path) -> None:
    """Raise PlanError unless the page and the rows may be written there."""
    begins = ",".join(COLUMNS)
    for path, is_ours in (
        (file, lambda text: SIGN in text),
        (file.with_suffix(".csv"), lambda text: text.startswith(begins)),
    ):
        ending = ".html" if path == file else ".csv"
        refusal = problem(
            "{file} is not what an earlier comparison wrote, so it is left alone; give "
            "another name with --out, or move it away",
            file=path,
        )
        one_file.check_place(path, (ending,), is_ours, refusal)


def write(found: Comparison, pictures: Sequence[str], file: Path, units: Units) -> None:
    """Write the page, and its rows beside it; `pictures` are data URIs."""
    one_file.write(_csv(found, units), file.with_suffix(".csv"))
    one_file.write(_page(found, pictures, units), file)


def _csv(found: Comparison, units: Units) -> str:
    names = words.names(found)
    rows = [
        (row.kind, name, *map(_plain, each.estimate), each.mark, text)
        for row in found.rows
        for name, (each, text) in zip(names, _cells(row, found, units), strict=True)
    ]
    return csv_text(COLUMNS, (dict(zip(COLUMNS, row, strict=True)) for row in rows))


def _cells(row: Row, found: Comparison, units: Units) -> list[tuple[Value, str]]:
    """What each candidate comes to, with its text."""
    texts = words.row_texts(row, found.seasons, units)
    return list(zip(row.values, texts, strict=True))


def _plain(value: float) -> float | str:
    return round(float(value), 2) if np.isfinite(value) else ""


def _page(found: Comparison, pictures: Sequence[str], units: Units) -> str:
    return html.page(
        "files/compare.html",
        title=_("Side by side"),
        names=words.names(found),
        rows=[
            (
                words.row_name(row),
                [
                    (each.mark, words.SYMBOLS[each.mark] + text)
                    for each, text in _cells(row, found, units)
                ],
            )
            for row in found.rows
        ],
        remarks=say_all(found.remarks, units),
        pictures=pictures,
        picture=_("Map"),
    )
