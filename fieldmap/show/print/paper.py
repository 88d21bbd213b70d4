"""What a printed sheet is made of, and how it becomes a PDF.

Sheets are data: blocks of plain text, tables and drawings. The setting into pages is
typst's (`sheet.typ`), which takes text as text, whatever a file put into a name.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any, Literal, NamedTuple

from fieldmap.show.html import text_of
from fieldmap.show.text import language
from fieldmap.show.typeset import FONT, typeset

Paper = Literal["a4", "letter"]
TYPST_PAPER = {"a4": "a4", "letter": "us-letter"}
# Between the margins of `sheet.typ`.
INNER_MM = {"a4": (182.0, 268.0), "letter": (187.9, 250.4)}


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    text: str


class Heading(Text):
    """A heading within a sheet."""


@dataclass(frozen=True)
class Items:
    """Texts one below the other."""

    items: tuple[str, ...]


class Points(Items):
    """A list."""


class Large(Items):
    """A list to be read from a step away."""


class Steps(Items):
    """A numbered list."""


@dataclass(frozen=True)
class Table:
    """A table; `widths` are shares of the page."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]

    def in_two(self) -> Table:
        """The same in two columns side by side, the first filled first."""
        half = -(-len(self.rows) // 2)
        empty = ("",) * len(self.head)
        right = (*self.rows[half:], *([empty] * (2 * half - len(self.rows))))
        rows = tuple(
            (*one, *other) for one, other in zip(self.rows[:half], right, strict=True)
        )
        return Table(self.head * 2, rows, self.widths * 2)


@dataclass(frozen=True)
class Drawing:
    """A drawing with what it says for those who cannot see it."""

    svg: str
    width_mm: float
    says: str
    caption: str = ""


@dataclass(frozen=True)
class Drawings:
    """Drawings side by side, `across` in a row."""

    drawings: tuple[Drawing, ...]
    across: int


@dataclass(frozen=True)
class Caution:
    """A caution and its sign; without a sign the SVG is empty."""

    text: str
    svg: str = ""


@dataclass(frozen=True)
class Cautions:
    """A box of cautions."""

    head: str
    items: tuple[Caution, ...]


def cautions(head: str, texts: Mapping[str, str]) -> Cautions:
    """A box of cautions from texts by their signs, drawings of our own; "" is without one.

    The signs are black on white, for any printer.
    """
    return Cautions(
        head,
        tuple(
            Caution(
                language._(text), text_of(f"print/signs/{sign}.svg") if sign else ""
            )
            for sign, text in texts.items()
        ),
    )


class Part(NamedTuple):
    """A piece of a sentence; numbers that are read from a tape are bold."""

    text: str
    bold: bool = False


def parts(text: str) -> tuple[Part, ...]:
    r"""A sentence in pieces; what stands between \x02 and \x03 is bold.

    Examples
    --------
    >>> parts("\x02567\x03 from 1.")
    (Part(text='567', bold=True), Part(text=' from 1.', bold=False))
    """
    pieces = re.split("[\x02\x03]", text)
    return tuple(
        Part(piece, number % 2 == 1) for number, piece in enumerate(pieces) if piece
    )


class Step(NamedTuple):
    """One thing to do, with a box to tick.

    Attributes
    ----------
    mark
        "peg": its number on a black disc; "check": a boxed tick; "job": an empty ring.
    """

    mark: str
    number: str
    said: tuple[Part, ...]


@dataclass(frozen=True)
class PegSheet:
    """A page on which one field is pegged.

    Attributes
    ----------
    lines, outfit
        Beneath the title; people and tools.
    columns, beside
        Steps next to the drawing, in that number of columns.
    below, across
        Steps under it, page by page and column by column, and those that follow over the
        whole width.
    gauges
        Drawings across the page.
    foot
        What must not be forgotten.
    """

    title: str
    lines: tuple[str, ...]
    outfit: tuple[str, ...]
    drawing: Drawing
    columns: int
    beside: tuple[Step, ...]
    below: tuple[tuple[tuple[Step, ...], ...], ...]
    across: tuple[Step, ...]
    gauges: tuple[Drawing, ...]
    foot: tuple[str, ...]


class Lines(Items):
    """Lines to write on."""


@dataclass(frozen=True)
class NewPage:
    """The rest begins on a new page, under a title if there is one."""

    text: str = ""


Block = Text | Items | Table | Drawing | Drawings | Cautions | NewPage | PegSheet


@dataclass(frozen=True)
class Sheet:
    """One document.

    Attributes
    ----------
    site, made
        For the foot of each page: whose it is, what it was made with.
    """

    title: str
    site: str
    made: str
    blocks: tuple[Block, ...]


def pdf(sheet: Sheet, paper: Paper) -> bytes:
    """A sheet as PDF; the same sheet gives the same bytes.

    Returns
    -------
    bytes
        A tagged PDF with its fonts inside.
    """
    data = as_data(sheet) | {
        "paper": TYPST_PAPER[paper],
        "font": FONT,
        "language": language.current().code,
    }
    template = resources.files("fieldmap.show.print").joinpath("sheet.typ").read_bytes()
    return typeset(template, {"sheet": json.dumps(data, default=as_data)}, "pdf")


def as_data(part: object) -> dict[str, Any]:
    """A part of a sheet by names, with its kind; parts within stay as they are.

    Examples
    --------
    >>> as_data(NewPage("Shopping"))
    {'kind': 'newpage', 'text': 'Shopping'}
    """
    return {"kind": type(part).__name__.lower(), **vars(part)}
