"""Steps of a sheet in columns, page by page, so that no column is longer than its page.

Sizes are those of `sheet.typ`, measured on a printed page; where one comes out longer the
typesetter goes on upon the next page.
"""

from collections.abc import Iterator, Sequence
from textwrap import wrap

from fieldmap.show.print.paper import Step

Column = tuple[Step, ...]
LINE_MM, GAP_MM, DISC_MM = 4.2, 1.5, 8.4
# Between columns; what disc, box and their gaps take of one; a letter.
GUTTER_MM, MARKS_MM, LETTER_MM = 4.0, 15.0, 1.55
LEAST_MM = 40.0  # less room than that on a page is left empty
FINER_MM = 2.0
NARROWEST_MM = 54.0


def height_mm(step: Step, column_mm: float) -> float:
    """How much of a column a step takes, the gap below it included.

    Parameters
    ----------
    column_mm
        Width of the column.
    """
    letters = max(int((column_mm - MARKS_MM) / LETTER_MM), 1)
    text = "".join(part.text for part in step.said)
    lines = sum(len(wrap(line, letters)) for line in text.split("\n"))
    return max(LINE_MM * lines + GAP_MM, DISC_MM)


def width_mm(room_mm: float, across: int) -> float:
    """Width of each of some columns side by side.

    Examples
    --------
    >>> width_mm(188.0, 3)
    60.0
    """
    return (room_mm - GUTTER_MM * (across - 1)) / across


def fit(
    steps: Sequence[Step], room_mm: float, column_mm: float, across: int = 1
) -> int:
    """How many of the first steps columns hold; none where they are too narrow.

    Parameters
    ----------
    steps
        Steps in order.
    room_mm
        Height of a column [mm].
    column_mm
        Width of a column [mm].
    across
        Columns side by side.

    Examples
    --------
    >>> fit([Step("peg", "1", ())] * 9, 20.0, 60.0), fit([], 20.0, 60.0)
    (2, 0)
    >>> fit([Step("peg", "1", ())] * 9, 20.0, 60.0, across=2)
    4
    >>> fit([Step("peg", "1", ())], 20.0, NARROWEST_MM - 1.0)
    0
    """
    if column_mm < NARROWEST_MM:
        return 0
    heights = [height_mm(step, column_mm) for step in steps]
    return _ends(heights, 0, room_mm, across)[-1]


def by_page(
    steps: Sequence[Step],
    rooms_mm: tuple[float, float],
    page_width_mm: float,
    across: int,
) -> Iterator[tuple[Column, ...]]:
    """Columns of each page, read one after the other; those of the last are about even.

    Parameters
    ----------
    steps
        Steps in order.
    rooms_mm
        Height that is left on the first page, and that of a whole one.
    page_width_mm
        Width that all columns and the gaps between them take [mm].
    across
        Columns side by side.
    """
    column_mm = width_mm(page_width_mm, across)
    heights = [height_mm(step, column_mm) for step in steps]
    first_mm, whole_mm = rooms_mm
    room_mm = first_mm if first_mm >= LEAST_MM else whole_mm
    at = 0
    while at < len(steps):
        even_mm = max(sum(heights[at:]) / across, FINER_MM)
        while even_mm < room_mm and _ends(heights, at, even_mm, across)[-1] < len(
            steps
        ):
            even_mm += FINER_MM
        ends = _ends(heights, at, min(even_mm, room_mm), across)
        starts = (at, *ends[:-1])
        yield tuple(
            tuple(steps[start:end]) for start, end in zip(starts, ends, strict=True)
        )
        at, room_mm = ends[-1], whole_mm


def _ends(
    heights: Sequence[float], at: int, room_mm: float, across: int
) -> tuple[int, ...]:
    """Where each column ends that is filled to a height; one step at the least."""
    ends = []
    for _column in range(across):
        taken_mm, start = 0.0, at
        while at < len(heights) and (at == start or taken_mm + heights[at] <= room_mm):
            taken_mm += heights[at]
            at += 1
        ends.append(at)
    return tuple(ends)
