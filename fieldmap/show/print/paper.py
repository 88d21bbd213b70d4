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
from fieldmap.show.text.language import unbroken
from fieldmap.show.typeset import FONT, typeset

Paper = Literal["a4", "letter"]
TYPST_PAPER = {"a4": "a4", "letter": "us-letter"}
# Between the margins of `sheet.typ`: drawings are as wide on either paper.
INNER_MM = {"a4": (188.0, 271.0), "letter": (188.0, 253.4)}
HEAD_MM = 24.0  # of a sheet, with two lines beneath its title


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


@dataclass(frozen=True)
class Drawing:
    """A drawing with what it says for those who cannot see it."""

    svg: str
    width_mm: float
    says: str
    caption: str = ""

    @property
    def height_mm(self) -> float:
        """As its SVG says."""
        found = re.search(r'height="([\d.]+)mm"', self.svg)
        return 0.0 if found is None else float(found[1])


@dataclass(frozen=True)
class Drawings:
    """Drawings side by side, `across` in a row."""

    drawings: tuple[Drawing, ...]
    across: int


@dataclass(frozen=True)
class Caution:
    """A caution and its sign.

    Attributes
    ----------
    text, rest
        What is bold, and what follows it.
    svg
        Empty: no sign.
    second
        All of it in a second language.
    """

    text: str
    rest: str = ""
    svg: str = ""
    second: str = ""


@dataclass(frozen=True)
class Cautions:
    """A box of cautions."""

    head: str
    items: tuple[Caution, ...]


def cautions(head: str, texts: Mapping[str, str]) -> Cautions:
    """A box of cautions from texts by their signs; "" is without one."""
    return Cautions(
        head, tuple(caution(sign, language._(text)) for sign, text in texts.items())
    )


def caution(sign: str, said: str) -> Caution:
    """A caution; its first words, up to a colon or full stop, are bold.

    Examples
    --------
    >>> caution("", "Ladder: one climbs, one holds.").rest
    'one climbs, one holds.'
    """
    mark = re.search(r"[.:](?=\s|$)", said)
    cut = len(said) if mark is None else mark.end()
    svg = drawn_sign(sign) if sign else ""
    return Caution(said[:cut], said[cut:].strip(), svg)


# By what a sign stands for: a triangle round what can hurt, a black disc round what one
# must do, a bar across what one must never do.
MUST, NEVER = ("eyes",), ("fumes", "snow")
SHAPES = {
    "hurts": (
        '<path d="M50 8 L95 88 H5 Z" fill="#fff" stroke="#000" stroke-width="6" '
        'stroke-linejoin="round"/><g transform="translate(26.5 38) scale(.78)">{}</g>'
    ),
    "must": (
        '<circle cx="50" cy="50" r="46"/><g transform="translate(18 18) scale(1.07)">{}</g>'
    ),
    "never": (
        '<circle cx="50" cy="50" r="43" fill="#fff" stroke="#000" stroke-width="6"/>'
        '<g transform="translate(22 20) scale(.93)">{}</g>'
        '<path d="M19.600 19.600 L80.400 80.400" stroke="#000" stroke-width="6"/>'
    ),
}


def drawn_sign(sign: str) -> str:
    """A sign in black and white; the pictures within are our own."""
    picture = text_of(f"print/signs/{sign}.svg")
    inner = picture[picture.index(">") + 1 : picture.rindex("</svg>")]
    shape = "must" if sign in MUST else "never" if sign in NEVER else "hurts"
    if shape == "must":
        inner = inner.replace("#000", "#fff")
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">'
        f"{SHAPES[shape].format(inner)}</svg>"
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
    first
        What comes before the first step.
    columns, beside
        Steps next to the drawing, in that number of columns.
    below, across
        Steps under it, page by page and column by column, and those that follow over the
        whole width.
    gauges
        Drawings across the page.
    foot
        What must not be forgotten.
    foot_first
        Whether it stands beneath the drawing, where steps below it begin a new page.
    """

    title: str
    lines: tuple[str, ...]
    outfit: tuple[str, ...]
    first: Caution
    drawing: Drawing
    columns: int
    beside: tuple[Step, ...]
    below: tuple[tuple[tuple[Step, ...], ...], ...]
    across: tuple[Step, ...]
    gauges: tuple[Drawing, ...]
    foot: tuple[str, ...]
    foot_first: bool


@dataclass(frozen=True)
class Lead:
    """A paragraph whose first words are bold."""

    head: str
    rest: str


class Lines(Items):
    """Lines to write on."""


@dataclass(frozen=True)
class WallSheet:
    """A page of crops by plot down and lows across.

    Attributes
    ----------
    items
        What to do in what order.
    text
        What must not be forgotten.
    words
        Texts that hold for every farm, by key.
    tomorrow
        What is done next.
    matrix
        The farm's own; empty where nothing stands.
    """

    title: str
    items: tuple[str, ...]
    text: str
    words: Mapping[str, str]
    tomorrow: Lines
    matrix: Mapping[str, Any]


@dataclass(frozen=True)
class Head:
    """The head of a page: title, a sentence or two, and at the right people and tools.

    Attributes
    ----------
    aside
        Lines at the right.
    """

    title: str
    lines: tuple[str, ...] = ()
    aside: tuple[str, ...] = ()


class Said(NamedTuple):
    """A text, and the same in a second language; empty where there is none."""

    first: tuple[Part, ...]
    second: tuple[Part, ...] = ()


@dataclass(frozen=True)
class Frame:
    """A box with a drawing and what it says.

    Attributes
    ----------
    number
        On a black disc; empty: none.
    lines
        Dotted lines below, to write on.
    photo
        What stands where a photo goes; empty: no room for one.
    """

    number: str = ""
    title: str = ""
    drawing: Drawing | None = None
    when: str = ""
    said: tuple[Said, ...] = ()
    lines: tuple[str, ...] = ()
    photo: str = ""


@dataclass(frozen=True)
class Frames:
    """Boxes, `across` in a row.

    Attributes
    ----------
    height_mm
        Of a row; less where the page has less room, more where its words need it.
    """

    frames: tuple[Frame, ...]
    across: int
    height_mm: float


@dataclass(frozen=True)
class Beside:
    """Blocks side by side; the left ones take a share of the page."""

    left: tuple[Block, ...]
    right: tuple[Block, ...]
    left_mm: float


@dataclass(frozen=True)
class Boxed:
    """Blocks in a frame."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Numbered:
    """Paragraphs, each with its mark on a black disc, or in a box."""

    items: tuple[tuple[str, Said], ...]
    boxed: bool = False


@dataclass(frozen=True)
class NewPage:
    """The rest begins on a new page, under a title if there is one."""

    text: str = ""


Block = (
    Text
    | Items
    | Table
    | Drawing
    | Drawings
    | Cautions
    | NewPage
    | PegSheet
    | Head
    | Frames
    | Beside
    | Boxed
    | Numbered
    | WallSheet
    | Lead
)


@dataclass(frozen=True)
class Sheet:
    """One document.

    Attributes
    ----------
    plan, made
        Whose plan it is, of which day, and what it was made with.
    page
        How a page is counted at its foot, with places `{number}` and `{all}`.
    """

    title: str
    plan: str
    made: str
    blocks: tuple[Block, ...]
    page: str = "{number} / {all}"


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
    plain = json.loads(json.dumps(data, default=as_data))
    return typeset(template, {"sheet": json.dumps(_unbroken(plain))}, "pdf")


def _unbroken(part: Any) -> Any:
    """Parts of a sheet with their numbers kept to their units; drawings as they are."""
    if isinstance(part, str):
        return part if part.startswith("<svg") else unbroken(part)
    if isinstance(part, list):
        return [_unbroken(each) for each in part]
    if isinstance(part, dict):
        return {key: _unbroken(each) for key, each in part.items()}
    return part


def as_data(part: object) -> dict[str, Any]:
    """A part of a sheet by names, with its kind; parts within stay as they are.

    Examples
    --------
    >>> as_data(NewPage("Shopping"))
    {'kind': 'newpage', 'text': 'Shopping'}
    """
    return {"kind": type(part).__name__.lower(), **vars(part)}
