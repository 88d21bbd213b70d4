"""Tonight's list as one page for the shed wall: offline, no scripts, black on white."""

from pathlib import Path

from fieldmap.errors import problem
from fieldmap.show import html
from fieldmap.show.files import one_file
from fieldmap.show.text.decide.tonight import Words, hours_title

# Stands in every page, so that no file but such a page is written over.
MARK = '<meta name="generator" content="fieldmap tonight">'


def page(tonight: Words) -> str:
    """One HTML page; everything that was read from files is escaped."""
    return html.page(
        "files/tonight.html",
        title=tonight.heading,
        tonight=tonight,
        mark=MARK,
        hours_title=hours_title(),
    )


def check_place(file: Path) -> None:
    """Raise PlanError unless the page may be written there."""
    one_file.check_place(
        file,
        (".html", ".htm"),
        lambda text: MARK in text,
        problem(
            "{file} is not a page of an earlier evening, so fieldmap does not replace"
            " it; give another name with --out, or move the file away",
            file=file,
        ),
    )


def write(tonight: Words, file: Path) -> None:
    """Write the page whole or not at all; see `single.write`."""
    check_place(file)
    one_file.write(page(tonight), file)
