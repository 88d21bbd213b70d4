"""Lows side by side: a crop is said to be as safe as it is, covered or not."""

import pytest

from fieldmap.decide.tonight.matrix import Cell, Laid
from fieldmap.show.text.decide import tonight


@pytest.mark.parametrize(
    ("odds", "said"),
    [
        ("sure", "light fabric, 23 m"),
        ("likely", "light fabric, 23 m (likely warm enough)"),
        ("unsure", "light fabric, 23 m (may not be warm enough)"),
    ],
)
def test_a_cover_that_is_not_surely_enough_says_so(odds, said):
    laid = Laid("light_fabric", 23.0, ("A1",), is_all=True, odds=odds)
    assert tonight.cell(Cell("cover", (laid,)), ["A1"], "metric") == said


def test_a_crop_that_is_likely_safe_without_a_cover_is_not_said_to_be_less_safe():
    """The list of an evening calls the same crop "likely safe without a cover"."""
    assert tonight.cell(Cell("odds", ()), ["A1"], "metric") == "no cover (likely safe)"
