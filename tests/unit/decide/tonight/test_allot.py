"""Covers given out by hand, as in a spreadsheet: what a metre of each saves, then the walk.

2.5 m of a cover are gathered at its ends (`cover_size.GATHERED_M`). Over beds of 0.75 m
and hoops 0.5 m high a bend is 1.36 m (`layers.hoop`); fabric needs 0.1 m more on each
side at the least, and 2.5 m rolls reach over.
"""

import pytest
from made_up_evening import roll

from fieldmap.decide.tonight.allot import Want, allot, saved_weeks
from fieldmap.decide.tonight.answer import Option
from fieldmap.model.settings import Cover, Materials

LIGHT, HEAVY = (
    Option("light_fabric", "likely", 0.5),
    Option("heavy_fabric", "sure", 0.8),
)


def want(place, length_m=20.0, weeks=10, options=(LIGHT,), **more):
    given = {"bed": place} | more
    return Want(place, given.pop("bed"), 0.75, length_m, weeks, tuple(options), **given)


def given(wants, owned, paths_m=()):
    found = allot(wants, owned, Materials(), paths_m)
    return {
        at: (piece.kind, round(piece.bed_m, 3)) for at, piece in sorted(found.items())
    }


def test_a_metre_of_cover_saves_a_share_of_the_growth_under_it():
    # .5 · 9 weeks · 20 m / 22.5 m = 4; two beds under one sheet: 2 · .5 · 9 · 20 / 22.5.
    assert saved_weeks([want(0, weeks=9)], [LIGHT]) == pytest.approx(4.0)
    both = [want(0, weeks=9), want(1, weeks=9)]
    assert saved_weeks(both, [LIGHT, LIGHT]) == pytest.approx(8.0)
    # A pair takes its metres twice.
    pair = Option("fabric_under_film", "likely", 0.5)
    assert saved_weeks([want(0, weeks=9)], [pair]) == pytest.approx(2.0)


def test_equal_beds_are_covered_from_the_gate_until_the_last_metre():
    """45 m reach over two beds of 20 m; the third would have nothing left."""
    wants = [want(0), want(1), want(2)]
    assert given(wants, [roll("light_fabric", 45.0)]) == {
        0: ("light_fabric", 20.0),
        1: ("light_fabric", 20.0),
    }


def test_the_last_metres_cover_a_part_from_five_metres_on():
    # 30 m: 22.5 for the first, 7.5 are left: 5 m of the second with its ends.
    wants = [want(0), want(1)]
    assert given(wants, [roll("light_fabric", 30.0)])[1] == ("light_fabric", 5.0)
    assert 1 not in given(wants, [roll("light_fabric", 29.9)])
    # A bed of 3 m is covered all or not at all.
    assert given([want(0, 3.0)], [roll("light_fabric", 5.5)]) == {
        0: ("light_fabric", 3.0)
    }
    assert given([want(0, 3.0)], [roll("light_fabric", 5.4)]) == {}


def test_lengths_that_lack_their_ends_do_not_go_before_a_piece_that_has_them():
    """20 m of bed take 22.5 m: 21 m of a roll are too short, a piece of 23 m is not."""
    owned = [
        roll("light_fabric", 21.0),
        roll("light_fabric", 23.0, may_cut=False),
    ]
    assert given([want(0)], owned) == {0: ("light_fabric", 20.0)}
    # 22.5 m of a roll are enough, and the piece stays whole for the next.
    owned[0] = roll("light_fabric", 22.5)
    assert given([want(0), want(1)], owned)[1] == ("light_fabric", 20.0)


@pytest.mark.parametrize(
    ("second", "first_served"),
    [
        # .5 · 10 · 20 / 22.5 = 4.44 for the first.
        ({"weeks": 9}, 0),  # 4.0
        ({"weeks": 11}, 1),  # 4.89
        # A long bed has fewer ends to a metre: .5 · 10 · 30 / 32.5 = 4.62.
        ({"length_m": 30.0}, 1),
        ({"length_m": 10.0}, 0),  # .5 · 10 · 10 / 12.5 = 4.0
        ({"options": (Option("light_fabric", "likely", 0.6),)}, 1),
        ({"options": (Option("light_fabric", "sure", 0.4),)}, 0),
        ({}, 0),  # as much: the one nearer to the gate
    ],
)
def test_what_saves_more_for_each_metre_goes_first(second, first_served):
    wants = [want(0), want(1, **second)]
    served = given(wants, [roll("light_fabric", wants[first_served].length_m + 2.5)])
    assert served == {first_served: ("light_fabric", wants[first_served].length_m)}


def test_a_warmer_cover_goes_where_it_saves_more():
    both = (LIGHT, HEAVY)  # .5 and .8
    owned = [roll("light_fabric", 30.0), roll("heavy_fabric", 22.5)]
    # The older crop: .8 · 20 goes before .8 · 10 and .5 · 20.
    wants = [want(0, options=both), want(1, weeks=20, options=both)]
    assert given(wants, owned) == {
        0: ("light_fabric", 20.0),
        1: ("heavy_fabric", 20.0),
    }


def test_of_covers_that_save_as_much_the_less_warm_one_serves():
    same = (Option("heavy_fabric", "sure", 0.5), LIGHT)
    owned = [roll("heavy_fabric", 22.5), roll("light_fabric", 22.5)]
    assert given([want(0, options=same)], owned) == {0: ("light_fabric", 20.0)}


def test_a_cover_that_lies_there_stays():
    wants = [want(0), want(1, lies="light_fabric")]
    assert given(wants, [roll("light_fabric", 22.5)]) == {1: ("light_fabric", 20.0)}


def test_a_whole_bed_goes_before_a_part_of_another():
    """30 m of light fabric: one bed; the other is covered whole by the heavy one."""
    both = (LIGHT, Option("heavy_fabric", "sure", 0.5))
    owned = [roll("light_fabric", 30.0), roll("heavy_fabric", 22.5)]
    wants = [want(0), want(1, options=both)]
    assert given(wants, owned) == {
        0: ("light_fabric", 20.0),
        1: ("heavy_fabric", 20.0),
    }


def test_a_roll_that_does_not_reach_over_the_hoops_is_none():
    # 1.36 + 2 · .1 = 1.56 m at the least for fabric.
    assert given([want(0)], [roll("light_fabric", 99.0, width_m=1.5)]) == {}
    assert given([want(0)], [roll("light_fabric", 99.0, width_m=1.6)]) != {}


def test_a_narrow_bed_leaves_the_wide_roll_to_the_wide_one():
    """Over 1.5 m hoops bend at least √(1.5² + 4 · .5²) = 1.80 m: 1.6 m do not reach over."""
    owned = [roll("light_fabric", 22.5, width_m=each) for each in (3.2, 1.6)]
    wants = [want(0), want(1)._replace(width_m=1.5)]
    assert given(wants, owned).keys() == {0, 1}
    # Of two pieces as wide the shorter one is taken where it is long enough.
    owned = [piece(each) for each in (40.0, 22.5)]
    assert given([want(0), want(1, 30.0)], owned).keys() == {0, 1}


def test_a_pair_takes_both_of_its_covers():
    pair = (Option("fabric_under_film", "likely", 0.5),)
    owned = [roll("light_fabric", 40.0), roll("clear_film", 30.0)]
    wants = [want(0, options=pair), want(1, options=(LIGHT,))]
    found = given(wants, owned)
    # Light fabric alone saves twice as much for each metre and goes first: 17.5 m are
    # left of it, 15 m of bed.
    assert found == {0: ("fabric_under_film", 15.0), 1: ("light_fabric", 20.0)}


# ------------------------------------------------------------------ whole pieces
def piece(length_m, width_m=2.5, kind="light_fabric"):
    return Cover(kind=kind, width_m=width_m, length_m=length_m)


def test_a_piece_that_may_not_be_cut_lies_over_one_bed_alone():
    wants = [want(0), want(1)]
    assert given(wants, [piece(100.0)]) == {0: ("light_fabric", 20.0)}
    # The shorter one that reaches serves, whatever their order.
    found = allot(wants, [piece(100.0), piece(23.0)], Materials())
    assert len(found) == 2
    # So the long one is left for a long bed, which saves less for each metre.
    both = [want(0), want(1, length_m=60.0, weeks=5)]
    assert given(both, [piece(100.0), piece(23.0)])[1] == ("light_fabric", 60.0)
    # One that is too short covers a part, and of those the longest.
    assert given([want(0)], [piece(12.5)]) == {0: ("light_fabric", 10.0)}
    assert given([want(0)], [piece(12.5), piece(17.5)]) == {0: ("light_fabric", 15.0)}


def test_a_length_that_may_be_cut_goes_before_a_whole_piece():
    owned = [piece(22.5), roll("light_fabric", 22.5)]
    wants = [want(0), want(1, length_m=30.0, weeks=1)]
    # The roll serves the first; the piece reaches over 20 m of the second.
    assert given(wants, owned) == {0: ("light_fabric", 20.0), 1: ("light_fabric", 20.0)}


def test_a_wide_piece_lies_over_neighbours_with_their_paths():
    """Two bends of 1.36 m, a path of .6 m and .1 m on each side: 3.52 m at the least."""
    wants, paths_m = [want(0), want(1), want(2)], (0.6, 0.6, None)
    wide = allot(wants, [piece(22.5, width_m=3.6)], Materials(), paths_m)
    assert sorted(wide) == [0, 1]
    assert [wide[at].cover_m for at in (0, 1)] == [22.5, 0.0]
    assert wide[0].sheet == wide[1].sheet == 0
    assert given(wants, [piece(22.5, width_m=3.4)], paths_m) == {
        0: ("light_fabric", 20.0)
    }
    # 12 m reach over all three, and over none that is no neighbour.
    assert len(given(wants, [piece(22.5, width_m=12.0)], paths_m)) == 3
    apart = (0.6, None, None)
    assert sorted(given(wants, [piece(22.5, width_m=12.0)], apart)) == [0, 1]
    # The last bed has no next one, whatever is said after it.
    assert sorted(given(wants[1:], [piece(22.5, width_m=12.0)], paths_m)) == [1, 2]


def test_a_wide_piece_that_is_too_short_for_a_bed_leaves_it_out():
    wants = [want(0), want(1, length_m=30.0)]
    found = given(wants, [piece(22.5, width_m=12.0)], (0.6, None))
    assert found == {0: ("light_fabric", 20.0)}
    found = given(wants, [piece(32.5, width_m=12.0)], (0.6, None))
    assert found == {0: ("light_fabric", 20.0), 1: ("light_fabric", 30.0)}


@pytest.mark.parametrize(
    ("start_m", "length_m", "sheets"),
    [
        # Parts of 6 m side by side take 8.5 m; 3 m farther up the one, 11.5 m.
        (0.0, 8.5, [0, 0]),
        (3.0, 11.5, [0, 0]),
        (3.0, 11.4, [None]),
        # From end to end they are 12 m, and the piece has to reach over both.
        (6.0, 14.5, [0, 0]),
        (6.0, 10.0, [None]),
    ],
)
def test_a_wide_piece_reaches_over_parts_of_beds_that_begin_apart(
    start_m, length_m, sheets
):
    wants = [want(0, 6.0), want(1, 6.0, start_m=start_m)]
    wide = Cover(kind="light_fabric", width_m=4.2, length_m=length_m)
    found = allot(wants, [wide], Materials(), (0.45, None))
    assert [piece.sheet for piece in found.values()] == sheets
    if len(sheets) == 2:
        assert found[0].cover_m == pytest.approx(6.0 + start_m + 2.5)


def test_no_piece_serves_twice_and_no_metre_either():
    wants = [want(at, length_m=10.0 + at) for at in range(12)]
    owned = [piece(30.0), piece(14.0), roll("light_fabric", 40.0)]
    found = allot(wants, owned, Materials())
    assert sum(each.cover_m for each in found.values()) <= 84.0
    assert len(found) <= 2 + 3  # two pieces, and 40 m in lengths of 12.5 m and more
