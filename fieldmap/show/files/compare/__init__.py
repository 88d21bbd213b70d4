"""Candidates side by side: one page for the screen and paper, and rows beside it."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from fieldmap.errors import problem
from fieldmap.review.compare import Comparison
from fieldmap.show import html
from fieldmap.show.files import one_file
from fieldmap.show.files.compare import pictures, range_charts
from fieldmap.show.files.compare.pictures import Ground
from fieldmap.show.files.tables import csv_text
from fieldmap.show.layer_styles import css_looks
from fieldmap.show.map import fonts
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.review import compare as words
from fieldmap.show.text.sentence import phrase, say_all

HEADINGS = ("ranges", "ranges_about", "drawn", "numbers", "how")
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
            "{file} was not written by an earlier comparison, so fieldmap does not"
            " replace it; give another name with --out, or move the file away",
            file=path,
        )
        one_file.check_place(path, (ending,), is_ours, refusal)


def write(
    found: Comparison, places: Sequence[Ground], file: Path, units: Units
) -> None:
    """Write the page, with a picture of each plan's place, and its rows beside it.

    Parameters
    ----------
    found
        The candidates, with their numbers and remarks.
    places
        What is drawn of each candidate's plan, in the order of the candidates.
    file
        The page (`.html`). The rows go beside it, under the same name with `.csv`.
    units
        "metric" or "us", for the texts; the numbers in the rows are metric.

    Raises
    ------
    PlanError
        When a file cannot be written.
    """
    one_file.write(_csv(found, units), file.with_suffix(".csv"))
    one_file.write(_page(found, places, units), file)


def _csv(found: Comparison, units: Units) -> str:
    names = words.names(found)
    rows = [
        (row.kind, name, *map(_plain, each.estimate), each.mark, text)
        for row in found.rows
        for name, (each, text) in zip(
            names,
            zip(row.values, words.row_texts(row, found.seasons, units), strict=True),
            strict=True,
        )
    ]
    return csv_text(COLUMNS, (dict(zip(COLUMNS, row, strict=True)) for row in rows))


def _plain(value: float) -> float | str:
    return round(float(value), 2) if np.isfinite(value) else ""


def _page(found: Comparison, places: Sequence[Ground], units: Units) -> str:
    lead, *rest = words.answer(found, units)
    return html.page(
        "files/compare/compare.html",
        policy=f"{html.STILL_POLICY}; font-src data:",
        title=words.title(found),
        asked=words.asked(found),
        lead=lead,
        rest=rest,
        look_css=fonts.css() + css_looks(),
        drawn=pictures.drawn(places, words.names(found), units),
        charts=range_charts.charts(found, units),
        names=words.names(found),
        rows=[
            (
                words.row_name(row),
                [
                    (each.mark, text)
                    for each, text in zip(row.values, texts, strict=True)
                ],
            )
            for row, texts in (
                (row, words.marked_texts(row, found.seasons, units))
                for row in found.rows
            )
        ],
        remarks=say_all(found.remarks, units),
        say={key: phrase(f"compare_{key}") for key in HEADINGS},
    )
