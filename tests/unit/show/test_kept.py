"""What was drawn before from all the same is not drawn again, and is the same."""

import numpy as np
import pytest
from made_up import raster

from fieldmap.cache import Store
from fieldmap.show import typeset as module
from fieldmap.show.kept import kept
from fieldmap.show.map.scene import ground
from fieldmap.show.map.scene.frame import frame_around
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


def test_a_picture_is_drawn_again_for_other_cells(tmp_path, monkeypatch):
    place = raster(np.array([[0.0, 0.2], [0.4, np.nan]]))
    frame = frame_around(place.bounds, place.crs)
    alone = ground.field_picture(place, frame)
    with kept(Store(tmp_path)):
        assert ground.field_picture(place, frame) == alone
    monkeypatch.setattr(ground, "_png", refuse)
    with kept(Store(tmp_path)):
        assert ground.field_picture(place, frame) == alone
        with pytest.raises(AssertionError, match="drawn again"):
            ground.field_picture(place.with_values(place.values + 0.1), frame)


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
