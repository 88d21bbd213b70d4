"""Steps in columns: a step of one or two lines takes 8.4 or 9.9 mm, of three 14.1 mm.

A line takes 4.2 mm, the gap below a step 1.5 mm, a disc with its gap 8.4 mm. Three columns
on 182 mm are (182 - 2 * 4) / 3 = 58 mm wide; disc and box take 15 of that, and a letter
1.55: 27 letters a line.
"""

import pytest

from fieldmap.show.print.paper import Part, Step
from fieldmap.show.print.pegs.columns import by_page, height_mm


def step(letters=10):
    """A step of words of nine letters and a blank."""
    return Step("peg", "1", (Part(" ".join(["ninechars"] * (letters // 10))),))


@pytest.mark.parametrize(
    # Two words of nine letters fit on a line of 27, and not three.
    ("letters", "mm"),
    [(10, 8.4), (20, 8.4), (30, 9.9), (40, 9.9), (50, 14.1), (200, 43.5)],
)
def test_a_step_is_as_high_as_its_lines(letters, mm):
    assert height_mm(step(letters), 58.0) == pytest.approx(mm)


def sizes(steps, first_mm, whole_mm=100.0):
    pages = by_page(steps, (first_mm, whole_mm), 182.0, 3)
    return [[len(column) for column in page] for page in pages]


def test_columns_are_full_but_for_those_of_the_last_page_which_are_even():
    # Eleven steps of 8.4 mm in 100 mm; 39 in all leave 6 for the second page.
    assert sizes([step()] * 39, 100.0) == [[11, 11, 11], [2, 2, 2]]
    # Four in 40 mm: a first page with that left.
    assert sizes([step()] * 18, 40.0) == [[4, 4, 4], [2, 2, 2]]


def test_a_page_with_little_left_is_passed_over():
    assert sizes([step()] * 6, 39.0) == [[2, 2, 2]]


def test_no_column_is_longer_than_its_page_whatever_its_steps():
    steps = [step(10 * (1 + number % 7)) for number in range(60)]
    pages = list(by_page(steps, (60.0, 100.0), 182.0, 3))
    assert [one for page in pages for column in page for one in column] == steps
    for number, page in enumerate(pages):
        for column in page:
            taken_mm = sum(height_mm(one, 58.0) for one in column)
            assert taken_mm <= (100.0 if number else 60.0) + 1e-9


def test_a_step_higher_than_a_page_stands_alone():
    assert sizes([step(1000)] * 4, 100.0) == [[1, 1, 1], [1, 0, 0]]
    assert sizes([], 100.0) == []
