"""Fonts that are written into the map."""

import base64
import re

import pytest

from fieldmap.show.map import fonts


@pytest.fixture
def new_user(tmp_path, monkeypatch):
    """A user of whom nothing is kept yet; faces are cut at once."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr(fonts, "_cut", lambda file: file.name.encode())
    fonts._all_cut.cache_clear()
    yield tmp_path
    fonts._all_cut.cache_clear()


def test_fonts_are_cut_once_for_a_user(new_user, monkeypatch):
    first = fonts.css()
    fonts._all_cut.cache_clear()
    monkeypatch.setattr(fonts, "_cut", lambda file: pytest.fail("cut again"))
    assert fonts.css() == first
    held = [base64.b64decode(each) for each in re.findall(r"base64,([^\"]*)", first)]
    assert held == [face.file.name.encode() for face in fonts.FACES]


def test_kept_fonts_that_were_damaged_are_cut_anew(new_user):
    first = fonts.css()
    fonts._all_cut.cache_clear()
    (kept,) = (new_user / "fieldmap" / "kept").iterdir()
    kept.write_bytes(kept.read_bytes()[:-9] + b"something")
    assert fonts.css() == first


def test_a_font_that_was_cut_hangs_on_no_clock(monkeypatch):
    """The reproducible builds standard SOURCE_DATE_EPOCH sets the clock of fontTools."""
    cuts = set()
    for seconds in ("0", "1000000000"):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", seconds)
        cuts.add(fonts._cut(fonts.FACES[0].file))
    assert len(cuts) == 1
