"""Frames are as tall as their words need, so that nothing is printed over anything."""

import io

import pypdf
import pytest

from fieldmap.show.print import paper


def heights_pt(frames, height_mm):
    """Height above the foot of the page at which each piece of text stands."""
    made = (paper.Head("Walk"), paper.Frames(tuple(frames), 2, height_mm))
    found = {}

    def visit(text, page, line, _font, _size):
        for word in text.split():
            found.setdefault(word, line[4] * page[1] + line[5] * page[3] + page[5])

    read = pypdf.PdfReader(
        io.BytesIO(paper.pdf(paper.Sheet("t", "p", "m", made), "a4"))
    )
    assert len(read.pages) == 1
    read.pages[0].extract_text(visitor_text=visit)
    return found


def frame(words, photo="photo", lines=("guess", "seen")):
    said = (paper.Said((paper.Part(words),)),)
    return paper.Frame(number="1", title="Slope", said=said, lines=lines, photo=photo)


@pytest.mark.parametrize("words", [1, 20, 60, 120])
def test_what_is_written_beside_a_photo_stands_below_the_question(words):
    question = " ".join(["level"] * words + ["end?"])
    at = heights_pt([frame(question), frame("short")], 40.0)
    assert at["guess"] < at["end?"] - 8.0
    assert at["guess"] == pytest.approx(at["seen"])


def test_lines_to_write_on_are_left_out_where_words_take_their_room():
    long = " ".join(["level"] * 60 + ["end?"])
    at = heights_pt(
        [frame(long, "", ("one", "two")), frame("short", "", ("three", "four"))], 30.0
    )
    assert "one" not in at
    assert at["end?"] > at["four"] - 20.0
    assert at["three"] > at["four"]
