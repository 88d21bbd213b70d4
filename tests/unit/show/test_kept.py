"""What was drawn before from all the same is not drawn again, and is the same."""

import numpy as np
import pytest
from made_up import raster

from fieldmap.cache import Store
from fieldmap.show import typeset as module
from fieldmap.show.kept import kept, written
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
