"""What was drawn before from all the same is not drawn again, and is the same."""

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
import pytest
from made_up import raster
from shapely.geometry import Point

from fieldmap.cache import Store
from fieldmap.show import typeset as module
from fieldmap.show.kept import digest, kept, written
from fieldmap.show.map.scene import fields, ground
from fieldmap.show.map.scene.frame import frame_around
from fieldmap.show.text.language import Language, _, spoken
from fieldmap.show.typeset import typeset

PAGE = b"#set page(width: 20pt, height: 20pt)\n#sys.inputs.text"


def refuse(*_words, **_named):
    raise AssertionError("drawn again")


def test_a_page_is_drawn_once(tmp_path, monkeypatch):
    alone = typeset(PAGE, {"text": "a"}, "png")
    with kept(Store(tmp_path)):
        assert typeset(PAGE, {"text": "a"}, "png") == alone
    monkeypatch.setattr(module.typst, "compile", refuse)
    with kept(Store(tmp_path)):
        assert typeset(PAGE, {"text": "a"}, "png") == alone
        for text, form in (("b", "png"), ("a", "pdf")):
            with pytest.raises(AssertionError, match="drawn again"):
                typeset(PAGE, {"text": text}, form)


def test_a_field_is_drawn_again_for_other_cells_lines_and_frames(tmp_path, monkeypatch):
    place = raster(np.array([[0.0, 0.2], [0.4, np.nan]]))
    frame = frame_around(place.bounds, place.crs)
    steps = {0.3: "a line"}
    alone = fields.field(place, "cold", frame, steps)
    with kept(Store(tmp_path)):
        assert fields.field(place, "cold", frame, steps) == alone
    monkeypatch.setattr(ground, "_png", refuse)
    with kept(Store(tmp_path)):
        assert fields.field(place, "cold", frame, steps) == alone
        moved = raster(place.values, cell_size_m=2 * place.cell_size_m)
        others = (
            (place.with_values(place.values + 0.1), "cold", frame, steps),
            (moved, "cold", frame, steps),
            (place, "warm", frame, steps),
            (place, "cold", frame._replace(x=frame.x + 1.0), steps),
            (place, "cold", frame, {0.3: "another"}),
        )
        for other in others:
            with pytest.raises(AssertionError, match="drawn again"):
                fields.field(*other)


def test_what_is_written_is_written_again_in_another_language(tmp_path):
    def greeting():
        return [_("bed")]

    spanish = Language("es", "es_ES", {"bed": "bancal"})
    with kept(Store(tmp_path)):
        assert written("words", {}, greeting) == ["bed"]
    with kept(Store(tmp_path)):
        with spoken(spanish):
            assert written("words", {}, greeting) == ["bancal"]
        assert written("words", {}, refuse) == ["bed"]


def test_what_fails_keeps_nothing_and_what_was_kept_before_stays(tmp_path):
    with kept(Store(tmp_path)):
        typeset(PAGE, {"text": "a"}, "png")
    before = (tmp_path / "drawn.npz").read_bytes()

    def stopped():
        with kept(Store(tmp_path)):
            typeset(PAGE, {"text": "b"}, "png")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert (tmp_path / "drawn.npz").read_bytes() == before


class Record(NamedTuple):
    name: str
    at: object


@dataclass(frozen=True)
class Other:
    name: str
    at: object


def test_records_that_differ_in_anything_have_other_digests():
    names = frozenset(f"bed {number}" for number in range(40))
    things = [
        Record("a", 1.0),
        Record("a", 1.5),
        Record("a", 1),
        Record("a", "1.0"),
        Record("a", None),
        Record("ab", ""),
        Record("a", "b"),
        Record("a", ("b", "c")),
        Record("a", (("b",), "c")),
        Record("a", names),
        Record("a", {"b": 1.0}),
        Record("a", {"b": 2.0}),
        Record("a", np.array([1.0, 2.0])),
        Record("a", np.array([[1.0, 2.0]])),
        Record("a", Point(1.0, 2.0)),
        Record("a", Point(1.0, 3.0)),
        Record("a", date(2026, 1, 1)),
        Other("a", 1.0),
    ]
    assert len({digest(each) for each in things}) == len(things)


def test_the_order_of_a_set_changes_no_digest():
    # 0 and 8 meet in a table of eight places: which comes first depends on who came.
    one, other = frozenset([0, 8]), frozenset([8, 0])
    assert list(one) != list(other)
    assert digest(Record("a", one)) == digest(Record("a", other))


def test_what_cannot_be_distinguished_has_no_digest():
    with pytest.raises(TypeError, match="no digest of a object"):
        digest(Record("a", object()))
