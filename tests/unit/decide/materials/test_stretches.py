"""Which metres of a bed lie under a cover, from its gate end."""

import pytest

from fieldmap.decide.materials.at_once import stretches_m
from fieldmap.decide.materials.cover_size import GATHERED_M
from fieldmap.decide.materials.sheets import Sheet


def sheet(start_m, end_m, places=(0,)):
    length_m = end_m - start_m + GATHERED_M
    return Sheet("shade_40", 0, places, (20, 24), 1.4, length_m, False, start_m)


@pytest.mark.parametrize(
    ("ends", "covered"),
    [
        ([(0.0, 30.0)], ()),  # all of the bed
        ([(6.0, 12.0)], ((6.0, 12.0),)),
        # Side by side they are one, and in whatever order they are laid.
        ([(17.0, 29.0), (11.0, 17.0)], ((11.0, 29.0),)),
        ([(0.0, 15.0), (15.0, 30.0)], ()),
        ([(0.0, 6.0), (20.0, 26.0)], ((0.0, 6.0), (20.0, 26.0))),
        # What a cover is longer than the bed lies on no bed.
        ([(24.0, 34.0)], ((24.0, 30.0),)),
    ],
)
def test_parts_that_touch_are_one_and_a_whole_bed_has_none(ends, covered):
    laid = [sheet(*each) for each in ends]
    found = stretches_m(laid, 0, 30.0)
    assert [each for ends in found for each in ends] == pytest.approx(
        [each for ends in covered for each in ends]
    )


def test_sheets_over_other_beds_do_not_count():
    assert stretches_m([sheet(6.0, 12.0, (1, 2))], 0, 30.0) == ()
    assert stretches_m([sheet(6.0, 12.0, (0, 1))], 1, 30.0) == ((6.0, 12.0),)
