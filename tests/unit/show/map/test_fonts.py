"""Fonts that are written into the map."""

from fieldmap.show.map import fonts


def test_a_font_that_was_cut_hangs_on_no_clock(monkeypatch):
    """The reproducible builds standard SOURCE_DATE_EPOCH sets the clock of fontTools."""
    cuts = set()
    for seconds in ("0", "1000000000"):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", seconds)
        cuts.add(fonts._cut(fonts.FACES[0].file))
    assert len(cuts) == 1
