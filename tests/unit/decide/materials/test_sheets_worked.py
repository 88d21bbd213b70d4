"""Which piece lies over which beds, and what lies out at once, worked by hand.

Beds are 1.0 m wide and 10 m long, hoops half circles 0.5 m high: π · 0.5 = 1.5708 m over
each. Fabric has 0.2 m of edge on each side, or 0.1 where a piece is narrow; ends take
2.5 m. Paths are 0.6 m. All of it is common practice, no source.
"""

from types import SimpleNamespace

import pytest
import shapely

from fieldmap.decide.materials import make
from fieldmap.decide.materials.model import Gear, WideSheet
from fieldmap.decide.materials.sheets import (
    Covered,
    Laid,
    Sheet,
    lay,
    most_beds,
    out_by_week_m,
    paths_between,
    width_over_m,
)
from fieldmap.decide.materials.tunnel_covers import TunnelCovers, shade_over
from fieldmap.model.settings import Cover, Materials, TunnelSize
from fieldmap.show.text.map.materials import pieces_to_cut
from fieldmap.show.text.sentence import say

FABRIC, FILM, CLOTH = "light_fabric", "clear_film", "shade_40"
OVER_M = 1.5707963
SPRING = (10, 14)
HOOPS = Materials()


def wants(*places, kind=FABRIC, weeks=SPRING, length_m=10.0):
    return [Covered(place, length_m, 1.0, kind, weeks) for place in places]


def piece(width_m=12.0, length_m=100.0, kind=FABRIC, *, may_cut=False):
    return Cover(kind=kind, width_m=width_m, length_m=length_m, may_cut=may_cut)


def laid(wanted, owned, paths_m=(0.6,) * 20):
    return lay(wanted, paths_m, owned, HOOPS)


def over(found):
    return [(sheet.piece, sheet.places) for sheet in found.sheets]


# ------------------------------------------------------------------ all that stands there
def part(place, start_m, length_m, weeks):
    return Covered(place, length_m, 1.0, FABRIC, weeks, start_m)


def test_a_whole_piece_over_a_bed_covers_all_that_stands_on_it():
    """Sowings at 0 to 4 m and 6 to 10 m: 10 m and 2.5 of ends, from the first to the last."""
    wanted = [part(0, 0.0, 4.0, (10, 12)), part(0, 6.0, 4.0, (12, 15))]
    found = laid(wanted, [piece(2.2, 12.5)])
    assert found.left == ()
    (sheet,) = found.sheets
    assert (sheet.weeks, sheet.length_m, sheet.start_m) == ((10, 15), 12.5, 0.0)


def test_a_piece_that_is_too_short_or_away_for_weeks_is_not_drawn_along():
    wanted = [part(0, 0.0, 4.0, (10, 12)), part(0, 6.0, 4.0, (12, 15))]
    found = laid(wanted, [piece(2.2, 12.4)])
    assert [each.start_m for each in found.left] == [6.0]
    # Weeks 13 to 15 lie between: it is laid a second time.
    wanted = [part(0, 0.0, 4.0, (10, 12)), part(0, 6.0, 4.0, (16, 18))]
    found = laid(wanted, [piece(2.2, 12.5)])
    assert [(each.weeks, each.length_m) for each in found.sheets] == [
        ((10, 12), 6.5),
        ((16, 18), 6.5),
    ]


def test_a_piece_that_is_wanted_elsewhere_later_is_not_drawn_along():
    """Bed 0 in weeks 10 to 12, bed 5 in 13: bed 0 has it no longer."""
    wanted = [
        part(0, 0.0, 4.0, (10, 12)),
        part(5, 0.0, 4.0, (13, 13)),
        part(0, 6.0, 4.0, (13, 15)),
    ]
    found = laid(wanted, [piece(2.2, 12.5)])
    # The first of those that want it in week 13 gets it: bed 0 comes first.
    assert [(each.places, each.weeks) for each in found.sheets] == [((0,), (10, 15))]
    assert [each.place for each in found.left] == [5]


# ------------------------------------------------------------------ neighbours
def lying(name, west, south, plot="Home", width=1.0, length=10.0):
    return SimpleNamespace(
        name=name,
        plot=plot,
        width_m=width,
        length_m=length,
        outline=shapely.box(west, south, west + width, south + length),
    )


def test_neighbours_lie_side_by_side_a_path_apart():
    beds = [
        lying("A1", 0.0, 0.0),
        lying("A2", 1.6, 0.0),
        lying("A3", 1.6, 10.6),  # beyond the end of A2, a path apart
        lying("A4", 3.2, 10.6),
        lying("A5", 7.2, 10.6),  # beyond a lane of 3 m
        lying("A6", 8.8, 14.0),  # beside, and a third of its length out of line
        lying("B1", 10.4, 14.0, plot="Other"),
    ]
    found = paths_between(beds)
    assert found[0] == pytest.approx(0.6)
    assert found[2] == pytest.approx(0.6)
    assert [found[at] for at in (1, 3, 4, 5, 6)] == [None] * 5


@pytest.mark.parametrize(("along_m", "path_m"), [(2.0, 0.6), (2.1, None)])
def test_neighbours_may_be_out_of_line_by_little(along_m, path_m):
    """Middles 1.6 m apart, square across, may be a tenth of 10 m farther: 2.6 m.

    √(1.6² + 2.0²) = 2.56 m is near enough, and √(1.6² + 2.1²) = 2.64 m is not.
    """
    beds = [lying("A1", 0.0, 0.0), lying("A2", 1.6, along_m)]
    assert paths_between(beds)[0] == (path_m and pytest.approx(path_m))


# ------------------------------------------------------------------ widths
def test_a_sheet_over_three_beds_dips_into_two_paths():
    full_m, least_m = width_over_m(FABRIC, [1.0] * 3, [0.6, 0.6], HOOPS)
    assert full_m == pytest.approx(3 * OVER_M + 1.2 + 0.4)
    assert least_m == pytest.approx(3 * OVER_M + 1.2 + 0.2)


@pytest.mark.parametrize(
    ("width_m", "number"),
    [(1.77, 0), (1.78, 1), (3.94, 1), (3.95, 2), (12.0, 5), (12.62, 5), (12.63, 6)],
)
def test_beds_under_a_width(width_m, number):
    """n beds take 1.5708 n + 0.6 (n - 1) + 0.2 m: 1.771, 3.942, ..., 10.454, 12.625."""
    assert most_beds(FABRIC, width_m, 1.0, 0.6, HOOPS) == number


# ------------------------------------------------------------------ pieces as owned
def test_a_fleece_of_twelve_by_a_hundred_metres_stays_whole_over_five_beds():
    """It is never two sheets: a sixth neighbour, and a bed elsewhere, go without."""
    found = laid(wants(0, 1, 2, 3, 4, 5, 9), [piece()])
    (sheet,) = found.sheets
    assert (sheet.places, sheet.weeks, sheet.is_whole) == (
        (0, 1, 2, 3, 4),
        SPRING,
        True,
    )
    assert sheet.width_m == pytest.approx(5 * OVER_M + 4 * 0.6 + 0.4)
    assert sheet.length_m == 12.5
    assert [each.place for each in found.left] == [5, 9]


def test_a_piece_that_may_be_cut_gives_each_bed_its_own_length():
    """Four times 12.5 m are 50 m: a fifth bed finds none, until the others are done."""
    found = laid(wants(0, 1, 2, 3, 4), [piece(length_m=50.0, may_cut=True)])
    assert over(found) == [(0, (at,)) for at in range(4)]
    assert all(not sheet.is_whole for sheet in found.sheets)
    assert [each.place for each in found.left] == [4]
    later = [*wants(0, 1, 2, 3), *wants(4, weeks=(15, 16))]
    assert laid(later, [piece(length_m=50.0, may_cut=True)]).left == ()


def test_a_whole_piece_goes_to_other_beds_once_the_first_are_done():
    later, sooner = wants(6, 7, weeks=(15, 18)), wants(6, 7, weeks=(14, 18))
    assert over(laid([*wants(0, 1), *later], [piece()])) == [(0, (0, 1)), (0, (6, 7))]
    assert over(laid([*wants(0, 1), *sooner], [piece()])) == [(0, (0, 1))]


def test_neighbours_under_one_sheet_get_and_lose_it_within_a_week():
    """It lies from the first week of any of them to the last."""
    near = [*wants(0), *wants(1, weeks=(11, 15)), *wants(2, weeks=(10, 13))]
    (sheet,) = laid(near, [piece()]).sheets
    assert (sheet.places, sheet.weeks) == ((0, 1, 2), (10, 15))
    apart = [*wants(0), *wants(1, weeks=(12, 14))]
    assert over(laid(apart, [piece(), piece()])) == [(0, (0,)), (1, (1,))]


def test_beds_with_a_lane_between_them_or_under_other_covers_are_no_run():
    lane = (0.6, None, 0.6, 0.6)
    assert over(laid(wants(0, 1, 2), [piece()] * 2, lane)) == [(0, (0, 1)), (1, (2,))]
    # Nor where the bed on the far side of the lane wants its cover a week later.
    later = [*wants(1, 2), *wants(0, weeks=(11, 14))]
    lane = (None, 0.6, 0.6, 0.6)
    assert over(laid(later, [piece()] * 2, lane)) == [(0, (1, 2)), (1, (0,))]
    other = [*wants(0, 2), *wants(1, kind=FILM)]
    found = laid(other, [piece(), piece(), piece(kind=FILM)])
    assert sorted(over(found)) == [(0, (0,)), (1, (2,)), (2, (1,))]


def test_the_piece_over_most_beds_is_taken_and_of_equal_ones_the_narrowest():
    owned = [piece(12.0), piece(4.0), piece(4.5)]
    assert over(laid(wants(0, 1, 2), owned)) == [(0, (0, 1, 2))]
    assert over(laid(wants(0, 1), owned)) == [(1, (0, 1))]
    # A single bed takes a length that may be cut before a whole piece.
    owned = [piece(2.0), piece(3.0, may_cut=True), piece(2.5, may_cut=True)]
    assert over(laid(wants(0), owned)) == [(2, (0,))]
    assert over(laid(wants(0), owned[:1])) == [(0, (0,))]


@pytest.mark.parametrize(("length_m", "lies"), [(12.5, True), (12.4, False)])
def test_a_piece_must_reach_along_the_bed_and_its_ends(length_m, lies):
    for may_cut in (True, False):
        owned = [piece(length_m=length_m, may_cut=may_cut)]
        assert bool(laid(wants(0), owned).sheets) == lies


def test_a_piece_too_narrow_or_of_another_kind_is_left():
    assert laid(wants(0), [piece(1.7), piece(kind=FILM)]) == Laid((), tuple(wants(0)))


# ------------------------------------------------------------------ at once
SHAPE = {"length_m": 10.0, "width_m": 1.0, "bearing_deg": 0.0, "tunnel": ""}
BEDS = [SimpleNamespace(name=f"A{at}", **SHAPE) for at in range(1, 6)]


def alone(place, kind, weeks):
    return Sheet(kind, 0, (place,), weeks, 2.0, 12.5, is_whole=False)


def hoops(listed):
    """Cut of all lengths, each as many as its fullest week wants."""
    return sum(
        each.times * count for each in listed.cutting for _m, count in each.pieces
    )


def needs(sheets, owned=(), **choices):
    found = make(Materials(**choices), owned, BEDS, [], sheets)
    return {line.item: line.need for line in found.lines}, found


def test_what_lies_out_at_once_is_what_is_needed():
    """Three beds in turn, by the rows of a spreadsheet.

    Fabric has 8 hoops a bed, film 11; both 22 bags (10 m by 1.07 m: 11 an edge), 2 stakes
    and 4 ties. Hoops are set a week before the cover.

        week                   9   10   11   12   13   14   15   16
        A1 fabric, hoops       8    8    8    8
        A2 film, hoops                  11   11   11   11
        A3 fabric, hoops                          8    8    8    8
        hoops                  8    8   19   19   19   19    8    8
        A1 fabric, bags            22   22   22
        A2 film, bags                        22   22   22
        A3 fabric, bags                                22   22   22
        bags                       22   22   44   22   44   22   22
        fabric, m                12.5 12.5 12.5      12.5 12.5 12.5
        film, m                             12.5 12.5 12.5

    So 19 hoops and not 27, from 10 pipes (two of 2.18 m from 6 m); 44 bags and not 66.
    """
    sheets = [alone(0, FABRIC, (10, 12)), alone(1, FILM, (12, 14))]
    sheets.append(alone(2, FABRIC, (14, 16)))
    found, listed = needs(sheets)
    assert found == {
        "pipe": 10,
        "stake": 4,
        "bag": 44,
        "tie": 8,
        "ridge_cord": 13,
        FABRIC: 13,
        FILM: 13,
    }
    turn = [each for each in listed.remarks if each.kind == "hoops_in_turn"]
    assert [dict(each.values) for each in turn] == [{"number": 19, "of_beds": 27}]
    assert "To cover all beds at once, you would need 27" in say(turn[0], "metric")
    together = [sheet._replace(weeks=(10, 12)) for sheet in sheets]
    found, listed = needs(together)
    assert (found["bag"], found["pipe"]) == (66, 14)
    assert "hoops_in_turn" not in [each.kind for each in listed.remarks]


def test_hoops_of_each_length_are_counted_in_their_own_fullest_week():
    """Beds of 1.0 and 1.4 m in turn: 8 hoops of each, though 8 stand at once."""
    beds = [BEDS[0], SimpleNamespace(**vars(BEDS[1]) | {"width_m": 1.4})]
    sheets = [alone(0, FABRIC, (10, 12)), alone(1, FABRIC, (20, 22))]
    found = make(Materials(), (), beds, [], sheets)
    cut = {}
    for each in found.cutting:
        for length, count in each.pieces:
            cut[length] = cut.get(length, 0) + each.times * count
    assert sorted(cut.values()) == [8, 8]
    (turn,) = (each for each in found.remarks if each.kind == "hoops_in_turn")
    assert dict(turn.values) == {"number": 8, "of_beds": 16}


def test_a_bed_under_two_covers_has_its_hoops_once_and_cloth_takes_no_bags():
    """Fabric in weeks 10 to 14, cloth clipped to the same 8 hoops in 13 to 20.

    Two clips on each hoop; the ends of cloth stay open, so they take no cord or stake.
    """
    both = [alone(0, FABRIC, (10, 14)), alone(0, CLOTH, (13, 20))]
    found, _ = needs(both)
    assert (found["clip"], found["bag"], found["stake"], found["tie"]) == (16, 22, 2, 4)
    found, listed = needs([alone(0, CLOTH, (13, 20))])
    assert found == {"pipe": 4, "clip": 16, CLOTH: 13}
    (low,) = listed.low_tunnels
    assert (low.anchors, low.anchor_kg, low.holds_to_m_s) == (0, 0.0, None)


def test_hoops_are_those_for_the_cover_that_asks_most_of_them_or_the_first():
    """Film each 1 m, fabric each 1.5 m; cloth asks least. Two fabrics ask alike."""

    def hoops_for(*kinds):
        sheets = [
            alone(0, kind, (10 + 3 * at, 12 + 3 * at)) for at, kind in enumerate(kinds)
        ]
        _, listed = needs(sheets)
        (low,) = listed.low_tunnels
        return low.kind, low.spacing_m

    assert hoops_for(FABRIC, FILM, CLOTH) == (FILM, 1.0)
    assert hoops_for(CLOTH, "medium_fabric", FABRIC) == ("medium_fabric", 1.5)


def test_a_whole_sheet_over_three_beds_is_weighed_in_paths_and_along_its_ends():
    """22 bags a bed, those of two beds in each path; ends 6.31 m wide: 7 bags each.

    Nothing is gathered to stakes. 66 + 14 = 80 bags. Of 12.5 m that lie out none is
    bought, and the piece is named.
    """
    wide = Sheet(FABRIC, 0, (0, 1, 2), (10, 12), 6.3124, 12.5, is_whole=True)
    found, listed = needs([wide], [piece()])
    assert (found["bag"], hoops(listed)) == (80, 24)
    assert "stake" not in found
    assert "clip" not in found
    assert "tie" not in found
    under = WideSheet(("A1", "A2", "A3"), 12.0, 100.0)
    assert [low.under for low in listed.low_tunnels] == [under] * 3
    (line,) = (each for each in listed.lines if each.item == FABRIC)
    assert (line.need, line.on_hand, line.buy) == (13, 100.0, 0.0)
    (kept,) = (each for each in listed.remarks if each.kind == "piece_kept_whole")
    assert dict(kept.values) == {
        "cover": FABRIC,
        "width_m": 12.0,
        "length_m": 100.0,
        "number": 3,
    }
    assert "12 m by 100 m" in say(kept, "metric")
    found, _ = needs([wide], [piece()], anchor="trench")
    assert "bag" not in found


def test_a_piece_that_is_cut_is_not_said_to_stay_whole():
    """One bed under what was cut from the first piece, three under the second, uncut."""
    cut = alone(4, FABRIC, (10, 12))._replace(piece=0)
    wide = Sheet(FABRIC, 1, (0, 1, 2), (10, 12), 6.3124, 12.5, is_whole=True)
    _, listed = needs([cut, wide], [piece(2.2), piece()])
    kept = [each for each in listed.remarks if each.kind == "piece_kept_whole"]
    assert [(each["width_m"], each["number"]) for each in kept] == [(12.0, 3)]


def test_a_wide_sheet_counts_once_by_the_week():
    wide = Sheet(FABRIC, 0, (0, 1, 2), (10, 11), 6.3, 12.5, is_whole=True)
    found = out_by_week_m([wide, alone(4, FABRIC, (11, 12))])
    assert found[9:14] == [0.0, 12.5, 25.0, 12.5, 0.0]


def sown(place, weeks, start_m, end_m, kind=FABRIC):
    """Fabric over a part of a bed."""
    length_m = end_m - start_m + 2.5
    laid = Sheet(kind, 0, (place,), weeks, 2.0, length_m, is_whole=False)
    return laid._replace(start_m=start_m)


def test_parts_of_a_bed_that_meet_share_a_hoop():
    """Sowings on 3 m and 4.5 m of A1 in weeks 10-12 and 12-14, then on all 10 m of A2.

    Fabric hoops each 1.5 m: in week 12 A1 has 2 gaps, then 3, so 6 hoops; bags each
    1.07 m: 4 and 6 an edge, so 8 + 12 = 20. A2 has 8 hoops and 22 bags in weeks 20 to 21.
    """
    parts = [sown(0, (10, 12), 0.0, 3.0), sown(0, (12, 14), 3.0, 7.5)]
    found, listed = needs(parts)
    assert (hoops(listed), found["bag"], found["stake"]) == (6, 20, 2)
    assert [(low.length_m, low.hoops) for low in listed.low_tunnels] == [(7.5, 6)]
    assert listed.low_tunnels[0].hoops_m == (0.0, 1.5, 3.0, 4.5, 6.0, 7.5)
    found, listed = needs([*parts, sown(1, (20, 21), 0.0, 10.0)])
    assert (hoops(listed), found["bag"]) == (8, 22)
    # On the same ground in turn they are the same hoops, and no bed is longer than itself.
    assert hoops(needs([sown(0, (10, 12), 0.0, 4.0)] * 3)[1]) == 4
    assert hoops(needs([sown(0, (10, 12), 7.0, 13.0)])[1]) == 3


def test_parts_of_a_bed_that_do_not_touch_have_hoops_of_their_own():
    """Fabric over 0 to 4 m and over 6 to 10 m of A1: 3 gaps and 4 hoops each, 8 in all.

    8 m in one piece would have 6 gaps and 7 hoops. Bags each 1.07 m: 5 on each of four
    edges (3.7 gaps). Then film over 1 m and 2 m apart: 2 and 3 hoops.
    """
    found, listed = needs([sown(0, (10, 12), 0.0, 4.0), sown(0, (12, 14), 6.0, 10.0)])
    (low,) = listed.low_tunnels
    assert (hoops(listed), low.hoops, low.length_m) == (8, 8, 8.0)
    assert low.hoops_m == pytest.approx((0, 4 / 3, 8 / 3, 4, 6, 22 / 3, 26 / 3, 10))
    assert (found["bag"], low.gear.weights) == (20, 20)
    assert low.stretches_m == ((0.0, 4.0), (6.0, 10.0))
    film = [sown(0, (10, 12), *ends, kind=FILM) for ends in ((0.0, 1.0), (7.0, 9.0))]
    assert hoops(needs(film)[1]) == 5
    # In turn, with a week between, the hoops of the longer part serve for both.
    turn = [sown(0, (10, 11), 0.0, 3.0), sown(0, (14, 15), 6.0, 10.0)]
    assert hoops(needs(turn)[1]) == 4


def test_hoops_are_set_in_the_week_before_the_cover():
    """Fabric on A1 until week 12, on A2 from week 13: in week 12 both have their 8 hoops.

    From week 14 on only one bed has any, and its bags come with the cover.
    """
    next_week = [alone(0, FABRIC, (10, 12)), alone(1, FABRIC, (13, 14))]
    found, listed = needs(next_week)
    assert (hoops(listed), found["bag"]) == (16, 22)
    later = [alone(0, FABRIC, (10, 12)), alone(1, FABRIC, (14, 15))]
    assert hoops(needs(later)[1]) == 8


def test_cloth_over_parts_of_beds_is_cut_and_clipped_piece_by_piece():
    """Four sowings of 6 m, each under 8.5 m of cloth (6 and 2.5 that are folded back).

        week                10   11   12   13   14
        A1, 0 to 6 m       8.5  8.5
        A2, 0 to 6 m            8.5  8.5  8.5
        A1, 6 to 10 m      6.5  6.5
        A3, 0 to 6 m                 8.5  8.5  8.5
        out, m              15 23.5   17   17  8.5
        hoops under it       9   14   10   10    5

    Hoops each 1.5 m: 6 m have 5, 4 m have 4. So 23.5 m, in whole metres 24, where all
    pieces together are 32; and 28 clips. On A1 two pieces lie at once.
    """

    def cloth(place, start_m, along_m, weeks):
        length_m = along_m + 2.5
        laid = Sheet(CLOTH, 0, (place,), weeks, 1.57, length_m, is_whole=False)
        return laid._replace(start_m=start_m)

    pieces = [
        cloth(0, 0.0, 6.0, (10, 11)),
        cloth(1, 0.0, 6.0, (11, 13)),
        cloth(0, 6.0, 4.0, (10, 11)),
        cloth(2, 0.0, 6.0, (12, 14)),
    ]
    found, listed = needs(pieces)
    assert (found[CLOTH], found["clip"]) == (24, 28)
    (turn,) = (each for each in listed.remarks if each.kind == "cover_in_turn")
    assert dict(turn.values) == {"cover": CLOTH, "length_m": 23.5, "beds_m": 32.0}
    assert [low.pieces_m for low in listed.low_tunnels] == [(8.5, 6.5), (8.5,), (8.5,)]
    assert listed.low_tunnels[0].cover_length_m == 15.0
    assert [low.held_by for low in listed.low_tunnels] == ["clips"] * 3
    first, *_others = listed.low_tunnels
    assert pieces_to_cut(first, "metric") == "1.57 m by 8.50 m and 1.57 m by 6.50 m"
    alike = first._replace(laid_m=((0.0, 6.0), (6.0, 12.0)))
    assert pieces_to_cut(alike, "metric") == "2 pieces of 1.57 m by 8.50 m"


def test_the_list_says_that_tunnels_take_more_of_the_cloth_that_goes_from_bed_to_bed():
    """12.5 m on each of two beds in turn, and in the first weeks 80 m over a tunnel."""
    size = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
    over = shade_over("T1", size, ("shade_40", "tomato"), (71, 80), 2.4)
    sheets = [alone(0, CLOTH, (10, 12)), alone(1, CLOTH, (14, 16))]
    found = make(Materials(), (), BEDS, [], sheets, inside=TunnelCovers(shades=(over,)))
    assert {line.item: line.need for line in found.lines}[CLOTH] == 93
    (turn,) = (
        each
        for each in found.remarks
        if "in_turn" in each.kind and "cover" in each.kind
    )
    assert turn.kind == "cover_in_turn_on_beds"
    said = say(turn, "metric")
    assert "12.5 m is enough for the beds" in said
    assert "that would take 25 m" in said
    assert "Walk-in tunnels need some of this cover too" in said
    assert found.goes_in_turn


def test_each_row_of_hoops_under_a_wide_sheet_of_film_has_its_own_cord():
    """Over two beds 12.5 m of film, so twice 12.5 m of cord."""
    wide = Sheet(FILM, 0, (0, 1), (10, 12), 5.0, 12.5, is_whole=True)
    found, _ = needs([wide], [piece(5.0, kind=FILM)])
    assert found["ridge_cord"] == 25
    assert (needs([alone(0, FILM, (10, 12))])[0])["ridge_cord"] == 13


# ------------------------------------------------------------------ what a bed's pieces take
def part_of(kind, start_m, along_m):
    """A piece over a part of A1 in weeks 10 to 12."""
    laid = Sheet(kind, 0, (0,), (10, 12), 2.0, along_m + 2.5, is_whole=False)
    return laid._replace(start_m=start_m)


def test_two_pieces_over_one_bed_take_what_the_list_counts_for_them():
    """Film over 6 m and 3 m of A1 at once.

    Weights each 1.07 m: 6 m have 7 an edge (5.6 gaps), 3 m have 4 (2.8): 14 + 8 = 22.
    Cord over 6 + 2.5 and 3 + 2.5 m. Two stakes and four ties for each, but where the two
    meet their ends lie over each other.
    """
    for start_m, stakes in ((6.0, 2), (7.0, 4)):
        found, listed = needs([part_of(FILM, 0.0, 6.0), part_of(FILM, start_m, 3.0)])
        (low,) = listed.low_tunnels
        assert low.pieces_m == (8.5, 5.5)
        assert low.gear == Gear(22, stakes, 2 * stakes, clips=0, cord_m=14.0)
        assert low.anchors == found["bag"] == 22
        needed = found["stake"], found["tie"], found["ridge_cord"]
        assert needed == (stakes, 2 * stakes, 14)


def test_covers_of_two_kinds_that_meet_are_tied_each_on_its_own():
    """Film over 0 to 6 m and fabric over 6 to 9 m: two stakes and four ties each."""
    found, _listed = needs([part_of(FILM, 0.0, 6.0), part_of(FABRIC, 6.0, 3.0)])
    assert (found["stake"], found["tie"]) == (4, 8)


def test_two_pieces_of_cloth_over_one_bed_are_clipped_to_the_hoops_of_each():
    """Hoops each 1.5 m: 6 m have 5 and 4 m have 4, with two clips on each: 18, not 16."""
    found, listed = needs([part_of(CLOTH, 0.0, 6.0), part_of(CLOTH, 6.0, 4.0)])
    (low,) = listed.low_tunnels
    assert low.gear == Gear(clips=18)
    assert found["clip"] == 18


def test_a_wide_piece_has_the_weights_of_all_its_beds_and_of_its_ends():
    """Film over two beds of 10 m: 22 weights a bed, and 6 along each end of 5 m.

    5 / 1.07 are 4.7 gaps. The cord runs over 12.5 m of each bed. No end is tied.
    """
    wide = Sheet(FILM, 0, (0, 1), (10, 12), 5.0, 12.5, is_whole=True)
    found, listed = needs([wide], [piece(kind=FILM)])
    assert [low.gear for low in listed.low_tunnels] == [Gear(56, 0, 0, 0, 25.0)] * 2
    assert [low.anchors for low in listed.low_tunnels] == [22, 22]
    assert (found["bag"], found["ridge_cord"]) == (56, 25)
