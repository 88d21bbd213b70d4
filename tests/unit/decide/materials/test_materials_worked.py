"""Low tunnels, pipes and the shopping list, each worked by hand.

All hoops here are half circles: a half ellipse 1.0 m wide and 0.5 m tall is π · 0.5 =
1.5708 m long. Edges, legs, spacings and gathered ends are common practice, no source.
"""

from types import SimpleNamespace

import pytest

from fieldmap.decide.materials import cutting, make
from fieldmap.decide.materials.at_once import parts_by_week
from fieldmap.decide.materials.cover_size import (
    CoverSize,
    Rolls,
    cover_size,
    is_film,
    is_wide_enough,
    rolls,
)
from fieldmap.decide.materials.cutting import Pattern
from fieldmap.decide.materials.hoop_ground import hoop_ground, storms
from fieldmap.decide.materials.low_tunnels import low_tunnel
from fieldmap.decide.materials.model import Line, barrow_trips
from fieldmap.decide.materials.model import Materials as Bought
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.decide.materials.shopping_list import peak_l_s
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Cover, Materials, TunnelSize
from fieldmap.show.text.language import of_site, spoken
from fieldmap.show.text.sentence import say

HALF_CIRCLE_M = 1.5707963
ON_SALE_M = (1.6, 2.2, 3.2, 4.2)


def bed(name="A1", length_m=10.0, width_m=1.0):
    return SimpleNamespace(
        name=name, length_m=length_m, width_m=width_m, bearing_deg=0.0, tunnel=""
    )


def tunnel(name="T1", length_m=12.0, width_m=6.0, height_m=3.0):
    size = TunnelSize(length_m=length_m, width_m=width_m, height_m=height_m)
    return SimpleNamespace(name=name, size=size)


def under(kind, length_m=10.0, **choices):
    return low_tunnel(
        bed(length_m=length_m), kind, Materials(**choices), ON_SALE_M, [(0.0, length_m)]
    )


# ------------------------------------------------------------------ size of a cover
@pytest.mark.parametrize(
    ("kind", "film"),
    [
        ("light_fabric", False),
        ("heavy_fabric", False),
        ("shade_40", False),
        ("insect_net", False),
        ("clear_film", True),
        ("slitted_film", True),
        ("double_film", True),
        ("fabric_under_film", True),
    ],
)
def test_film_alone_or_over_another_cover_asks_of_hoops_what_film_asks(kind, film):
    assert is_film(kind) == film


@pytest.mark.parametrize(
    ("kind", "anchor", "edges_m", "spared_m"),
    [
        ("light_fabric", "bags", 2 * 0.20, 2 * 0.10),
        ("light_fabric", "stones", 2 * 0.20, 2 * 0.10),
        ("light_fabric", "trench", 2 * 0.40, 2 * 0.10),
        ("clear_film", "bags", 2 * 0.40, 2 * 0.10),
        ("clear_film", "trench", 2 * 0.40, 2 * 0.10),
        ("fabric_under_film", "bags", 2 * 0.40, 2 * 0.10),
        ("shade_30", "bags", 0.0, 0.0),
        ("shade_30", "trench", 0.0, 0.0),
    ],
)
def test_a_cover_is_the_arc_and_both_edges_and_two_gathered_ends(
    kind, anchor, edges_m, spared_m
):
    """10 m of bed and 2.5 m for both ends; ten centimetres less on each edge still hold."""
    size = cover_size(kind, 1.0, 10.0, Materials(anchor=anchor))
    assert size.width_m == pytest.approx(HALF_CIRCLE_M + edges_m)
    assert size.least_width_m == pytest.approx(HALF_CIRCLE_M + edges_m - spared_m)
    assert size.length_m == 12.5


def test_taller_hoops_ask_for_wider_covers():
    """0.9 m tall over 1.8 m: a half circle of π · 0.9 = 2.8274 m, 3.2274 with edges."""
    size = cover_size("light_fabric", 1.8, 10.0, Materials(hoop_height_m=0.9))
    assert size.width_m == pytest.approx(3.2274, abs=1e-4)


@pytest.mark.parametrize(
    ("widths_m", "found"),
    [
        # A roll of just the width is wide enough, in whatever order they are owned.
        ((3.2, 2.0, 1.6), Rolls(2.0, 2.0, 0)),
        ((3.2, 2.2, 1.6), Rolls(2.0, 2.2, 0)),
        # Just the least width: the cover is as wide as its roll.
        ((1.8, 1.2), Rolls(1.8, 1.8, 0)),
        # Under it two widths are joined: 1.79 + 1.69 = 3.48 m.
        ((1.79, 1.2), Rolls(2.0, 1.79, 1)),
        # A seam takes 10 cm: 0.8 + 0.7 + 0.7 = 2.2 m, and 0.8 + 0.7 = 1.5 m is too little.
        ((0.8,), Rolls(2.0, 0.8, 2)),
        # 1 + 0.9 = 1.9 m is too little by the seam alone.
        ((1.0,), Rolls(2.0, 1.0, 2)),
        # 0.8 + 0.6 + 0.6 would not be it: 1.05 + 0.95 = 2.0 m is reached exactly.
        ((1.05,), Rolls(2.0, 1.05, 1)),
    ],
)
def test_a_cover_two_metres_wide_is_cut_from_rolls(widths_m, found):
    assert rolls(CoverSize(2.0, 1.8, 12.5, 1.6), widths_m) == pytest.approx(found)


@pytest.mark.parametrize(
    ("weeks", "standing"), [((0, 1), 2), ((1, 2), 3), ((3, 4), 3), ((52, 52), 2)]
)
def test_hoops_stand_from_a_week_before_their_cover_within_the_year(weeks, standing):
    """12.5 m of cover with 2.5 m of ends are 10 m of bed."""
    sheet = Sheet("light_fabric", 0, (0,), weeks, 2.0, 12.5, is_whole=False)
    found = parts_by_week([sheet], {0: 20.0})[0]
    first = max(weeks[0] - 1, 0)
    assert [at for at, m in enumerate(found) if m] == list(range(first, weeks[1] + 1))
    assert found.count([(0.0, 10.0)]) == standing


def test_the_cost_is_of_what_is_bought_and_known_where_each_of_it_has_a_price():
    bought = Line("stake", "pieces", 4.0, 0.0, 4.0, rough=False, cost=6.0)
    cord = Line("ridge_cord", "m", 20.0, 5.0, 15.0, rough=False, cost=1.5)
    on_hand = Line("clip", "pieces", 8.0, 9.0, 0.0, rough=False, cost=None)
    without = on_hand._replace(buy=8.0)

    def cost(*lines):
        return Bought((), lines, (), 6.0, (), 50.0, ()).cost

    assert cost(bought, cord, on_hand) == 7.5
    assert cost(bought, cord, without) is None
    assert cost(on_hand) is None


def test_a_roll_of_the_least_width_reaches_over_and_a_millimetre_less_does_not():
    size = CoverSize(2.0, 1.8, 12.5, 1.6)
    assert is_wide_enough(1.8, size)
    assert not is_wide_enough(1.799, size)


# ------------------------------------------------------------------ one low tunnel
@pytest.mark.parametrize(
    ("kind", "choices", "hoops", "cut_m"),
    [
        # 10 / 1.5 = 6.67, so 7 gaps; 1.5708 + 2 · 0.30 = 2.1708, rounded up to cm.
        ("light_fabric", {}, 8, 2.18),
        # 10 gaps of 1 m; the legs of film are those of fabric.
        ("clear_film", {}, 11, 2.18),
        # 5 gaps of 2 m; 1.5708 + 2 · 0.25 = 2.0708.
        ("clear_film", {"hoop_spacing_m": 2.0, "leg_m": 0.25}, 6, 2.08),
    ],
)
def test_hoops_by_number_and_length_of_pipe(kind, choices, hoops, cut_m):
    low = under(kind, **choices)
    assert (low.hoops, low.cut_m) == (hoops, pytest.approx(cut_m))
    assert (low.length_m, low.span_m, low.height_m) == (10.0, 1.0, 0.5)
    assert low.spacing_m == choices.get("hoop_spacing_m", low.spacing_m)
    assert low.leg_m == choices.get("leg_m", low.leg_m)


# A wind of 15 m/s lifts 0.613 · 15² · 0.8 · 1.0 = 110.34 N on a metre of bed, 55.17 on
# each edge. A bag of 10 kg holds 0.6 · 10 · 9.81 = 58.86 N, so one lies each 1.067 m.
@pytest.mark.parametrize(
    ("length_m", "choices", "gap_m", "anchors", "lets_go_m_s"),
    [
        # 10 / 1.07 = 9.3: 11 on each edge. Wind² = 58.86 / (0.5 · 0.4904 · 1.07).
        (10.0, {}, 1.07, 22, 14.98),
        (10.0, {"anchor": "stones", "bag_kg": 20.0}, 1.07, 22, 14.98),
        # 20 kg would do each 2.13 m, but 1.5 m is the most.
        (10.0, {"bag_kg": 20.0}, 1.5, 16, 17.89),
        # 9 m are just six gaps.
        (9.0, {"bag_kg": 20.0}, 1.5, 14, 17.89),
    ],
)
def test_bags_lie_as_close_as_the_wind_asks(
    length_m, choices, gap_m, anchors, lets_go_m_s
):
    low = under("light_fabric", length_m, **choices)
    assert (low.anchor_gap_m, low.anchors) == (gap_m, anchors)
    assert low.lets_go_m_s == pytest.approx(lets_go_m_s, abs=0.005)


def test_buried_edges_need_no_bags():
    low = under("light_fabric", anchor="trench")
    assert (low.anchor_gap_m, low.anchors, low.lets_go_m_s) == (0.0, 0, None)
    assert (low.anchor_kg, low.holds_to_m_s) == (0.0, None)


def test_waste_is_what_the_roll_has_beyond_the_cover():
    # 2.2 m of roll less 1.9708 m of cover, over 12.5 m.
    assert under("light_fabric").waste_m2 == pytest.approx(0.2292 * 12.5, abs=1e-3)
    # Two widths of 1.4 m for a cover of 2.3708 m.
    joined = low_tunnel(bed(), "clear_film", Materials(), (1.4,), [(0.0, 10.0)])
    assert joined.waste_m2 == pytest.approx((2.8 - 2.3708) * 12.5, abs=1e-3)


# ------------------------------------------------------------------ cutting
def test_eight_pieces_of_1_9_m_from_pipes_of_6_m():
    """A piece and its cut take 1.903 m of 6.003 m (the last end needs no cut): 3 a pipe.

    6.003 - 3 · 1.903 = 0.294 m are left of a full one, 6.003 - 2 · 1.903 = 2.197 of the
    third.
    """
    assert cutting.cut({1.9: 8}, 6.0, 0.003) == (
        Pattern(2, ((1.9, 3),), 0.294),
        Pattern(1, ((1.9, 2),), 2.197),
    )


def test_pieces_that_fit_exactly_leave_nothing():
    # 3 · 1.998 m and two cuts of 3 mm are 6 m.
    assert cutting.cut({1.998: 3}, 6.0, 0.003) == (Pattern(1, ((1.998, 3),), 0.0),)
    assert cutting.cut({6.0: 2}, 6.0, 0.003) == (Pattern(2, ((6.0, 1),), 0.0),)


def test_the_longest_piece_is_cut_first_where_two_share_a_pipe():
    assert cutting.cut({2.0: 1, 4.0: 1}, 6.0, 0.0) == (
        Pattern(1, ((4.0, 1), (2.0, 1)), 0.0),
    )
    # With a cut of 3 mm between them they do not.
    assert cutting.cut({2.0: 1, 4.0: 1}, 6.0, 0.003) == (
        Pattern(1, ((4.0, 1),), 2.0),
        Pattern(1, ((2.0, 1),), 4.0),
    )


def test_no_more_pipes_are_cut_than_needed():
    """One of 4 m and four of 2 m: 4 + 2, and 2 + 2 + 2."""
    assert cutting.cut({4.0: 1, 2.0: 4}, 6.0, 0.0) == (
        Pattern(1, ((4.0, 1), (2.0, 1)), 0.0),
        Pattern(1, ((2.0, 3),), 0.0),
    )


def test_pipes_with_the_longest_pieces_are_cut_first_whatever_they_leave():
    assert cutting.cut({3.0: 2, 3.5: 1}, 6.0, 0.0) == (
        Pattern(1, ((3.5, 1),), 2.5),
        Pattern(1, ((3.0, 2),), 0.0),
    )


def test_short_pieces_and_half_a_millimetre_of_saw():
    assert cutting.cut({0.5: 12}, 6.0, 0.0) == (Pattern(1, ((0.5, 12),), 0.0),)
    # 6.0005 - 2 · 1.0005.
    assert cutting.cut({1.0: 2}, 6.0, 0.0005) == (Pattern(1, ((1.0, 2),), 3.9995),)


def test_no_pieces_take_no_pipe():
    assert cutting.cut({}, 6.0, 0.003) == ()
    assert cutting.cut({2.0: 0}, 6.0, 0.003) == ()


@pytest.mark.parametrize(
    ("piece_m", "stock_m", "saw_m"),
    [(0.0, 6.0, 0.0), (-1.0, 6.0, 0.0), (1.0, 0.0, 0.0), (1.0, 6.0, -0.1)],
)
def test_lengths_that_cannot_be_are_refused(piece_m, stock_m, saw_m):
    with pytest.raises(ValueError, match="lengths must be over 0"):
        cutting.cut({piece_m: 1}, stock_m, saw_m)


def test_a_piece_a_millimetre_longer_than_the_pipe_is_refused():
    with pytest.raises(ValueError, match=r"6\.001 m is longer than 6 m"):
        cutting.cut({6.001: 1}, 6.0, 0.0)


# ------------------------------------------------------------------ the list
BEDS = [bed("A1"), bed("A2"), bed("A3")]
FABRIC, FILM = "light_fabric", "clear_film"
# On A1 and A2 in weeks 10 to 12: 12.5 m each.
COVERED = ((0, FABRIC, (10, 12)), (1, FILM, (10, 12)))


def sheet(place, kind, weeks, length_m=12.5):
    return Sheet(kind, 0, (place,), weeks, 2.0, length_m, is_whole=False)


def listed(covered=COVERED, tunnels=(), owned=(), **choices):
    owned = [
        Cover(kind=kind, width_m=width, length_m=length)
        for kind, width, length in owned
    ]
    sheets = [sheet(*each) for each in covered]
    return make(Materials(**choices), owned, BEDS, tunnels, sheets)


def amounts(found):
    return [(line.item, line.need, line.unit) for line in found.lines]


def test_the_whole_list_for_one_bed_of_fabric_and_one_of_film():
    """8 hoops and 11 of 2.18 m from pipes of 6 m, two a pipe (4.366 m with cuts): ten."""
    found = listed()
    assert [low.bed for low in found.low_tunnels] == ["A1", "A2"]
    assert amounts(found) == [
        ("pipe", 10, "pieces"),
        ("stake", 4, "pieces"),  # one at each end of a bed
        ("bag", 44, "pieces"),  # 22 a bed
        ("tie", 8, "pieces"),  # 4 a bed
        ("ridge_cord", 13, "m"),  # over the 12.5 m of film alone
        ("light_fabric", 13, "m"),  # 12.5 m in whole metres
        ("clear_film", 13, "m"),
    ]
    assert not any(line.rough for line in found.lines)
    assert found.stock_m == 6.0
    assert sum(each.times for each in found.cutting) == 10
    pieces = {}
    for each in found.cutting:
        for m, count in each.pieces:
            pieces[m] = pieces.get(m, 0) + each.times * count
    assert pieces == {2.18: 19}


def test_beds_alike_share_one_entry_of_the_cutting_plan():
    found = listed([(0, FABRIC, (10, 12)), (2, FABRIC, (10, 12))])
    # 16 hoops of 2.18 m, two a pipe.
    assert amounts(found)[0] == ("pipe", 8, "pieces")
    assert [each.times for each in found.cutting] == [8]


def test_stones_stand_for_bags_and_a_trench_for_neither():
    assert ("stone", 44, "pieces") in amounts(listed(anchor="stones"))
    items = [line.item for line in listed(anchor="trench").lines]
    assert "bag" not in items
    assert "stone" not in items


def test_fabric_alone_needs_no_ridge_cord():
    found = listed([(0, FABRIC, (10, 12))])
    assert "ridge_cord" not in [line.item for line in found.lines]


def test_what_is_owned_of_all_pieces_is_taken_off_and_never_less_than_nothing():
    found = listed(
        owned=[
            ("light_fabric", 2.2, 4.0),
            ("light_fabric", 3.2, 3.0),
            ("clear_film", 3.2, 50.0),
        ],
        on_hand=[
            {"item": "pipe", "amount": 3},
            {"item": "bag", "amount": 100},
        ],
        prices=[{"item": "pipe", "each": 7.33}, {"item": "bag", "each": 2.0}],
    )
    at = {line.item: line for line in found.lines}
    assert (at["light_fabric"].on_hand, at["light_fabric"].buy) == (7.0, 6.0)
    assert at["clear_film"].buy == 0.0
    assert (at["pipe"].on_hand, at["pipe"].buy) == (3.0, 7.0)
    assert at["pipe"].cost == 51.31  # 7 · 7.33
    assert (at["bag"].buy, at["bag"].cost) == (0.0, 0.0)
    assert at["tie"].cost is None
    # Stakes are bought and have no price: nobody knows what all of it costs.
    assert found.cost is None


def test_the_whole_costs_what_its_lines_cost():
    priced = ("pipe", "stake", "bag", "tie", "light_fabric")
    found = listed(
        [(0, FABRIC, (10, 12))],
        prices=[{"item": item, "each": 2.0} for item in priced],
        on_hand=[{"item": "tie", "amount": 4}],
    )
    # 8 hoops, two a pipe: 4 pipes; 2 stakes, 22 bags, no ties, 13 m.
    assert found.cost == 2.0 * (4 + 2 + 22 + 0 + 13)


def test_no_covered_bed_asks_for_nothing_and_says_so():
    found = listed([])
    assert (found.lines, found.cutting, found.cost) == ((), (), None)
    assert found.remarks == (Fact("no_hoops_counted"),)


def said(found, kind):
    (fact,) = (each for each in found.remarks if each.kind == kind)
    return dict(fact.values)


def kinds(found):
    return [each.kind for each in found.remarks]


def test_anchoring_is_said_as_mass_spacing_what_is_carried_and_the_gust_it_holds():
    """22 bags a bed on two beds of 10 m, each 1.07 m: 44 of 10 kg are 440 kg.

    They let go at 14.98 m/s; with a quarter more force at 14.98 / √1.25 = 13.40.
    """
    found = said(listed(), "weights_hold")
    assert found.pop("speed_m_s") == pytest.approx(13.40, abs=0.005)
    # 50 kg in a wheelbarrow: 44 / 5 is 8.8.
    trips = {"carried": Fact("weights_carried", number=9, at_a_time=5)}
    assert found == {
        "number": 44, "weight_kg": 10.0, "gap_m": 1.07, "total_kg": 440.0, **trips
    }  # fmt: skip
    # 20 kg: 1.5 m at most, 16 a bed; 17.89 / √1.25 = 16.00.
    found = said(listed(bag_kg=20.0), "weights_hold")
    assert found.pop("speed_m_s") == pytest.approx(16.0, abs=0.005)
    trips = {"carried": Fact("weights_carried", number=16, at_a_time=2)}
    assert found == {
        "number": 32, "weight_kg": 20.0, "gap_m": 1.5, "total_kg": 640.0, **trips
    }  # fmt: skip
    # The plan counts as many, of bags as of stones, and none where edges are buried.
    counts = [listed(anchor=each).weights for each in ("bags", "trench")]
    assert counts == [44, 0]
    stones = said(listed(anchor="stones"), "weights_hold")
    assert listed(anchor="stones").weights == stones["number"] > 0
    assert kinds(listed(anchor="trench"))[0] == "edges_buried"
    assert "weights_hold" not in kinds(listed(anchor="trench"))
    assert kinds(listed([], anchor="trench")) == ["no_hoops_counted"]


def test_weights_that_fit_into_one_wheelbarrow_are_no_trips():
    """Eight of 5 kg are 40 kg, under 50. Of 44, ten at a time, the fifth trip has four."""
    known = {"weight_kg": 5.0, "gap_m": 1.5, "total_kg": 40.0, "speed_m_s": 12.0}
    for language, one, many in (
        ("en", "They all fit into one wheelbarrow.", "5 trips with 10 at a time"),
        ("es", "Caben todos en una carretilla.", "5 viajes, con 10 cada vez"),
    ):
        with spoken(of_site(language, "metric")):
            for number, expected in ((8, one), (44, many)):
                trips, at_a_time = barrow_trips(number, 5.0)
                carried = Fact("weights_carried", number=trips, at_a_time=at_a_time)
                fact = Fact("weights_hold", number=number, carried=carried, **known)
                assert expected in say(fact, "metric")


def test_above_a_tonne_buried_edges_or_rope_are_proposed():
    """Of 31.25 kg each 1.5 m, 16 a bed: 500 kg on a bed; two beds are a tonne."""
    assert said(listed(bag_kg=31.25), "weights_hold")["total_kg"] == 1000.0
    assert "weights_are_heavy" not in kinds(listed(bag_kg=31.25))
    found = said(listed(bag_kg=32.0), "weights_are_heavy")
    assert found == {"number": 32, "weight_kg": 32.0}


def test_a_cover_that_goes_from_bed_to_bed_is_cut_once():
    """Two beds of 10 m and 2.5 m of gathered ends are 25 m; 12.5 m lies out at once."""
    in_turn = [(0, FABRIC, (10, 12)), (2, FABRIC, (13, 14))]
    found = said(listed(in_turn), "cover_in_turn")
    assert found == {"cover": "light_fabric", "length_m": 12.5, "beds_m": 25.0}
    words = say(Fact("cover_in_turn", **found), "metric")
    assert words == (
        "Light fabric: you use the same pieces on one bed after another, so 12.5 m is enough. Do not cut a piece for each bed: that would take 25 m."
    )
    together = [(0, FABRIC, (10, 12)), (2, FABRIC, (12, 14))]
    assert "cover_in_turn" not in kinds(listed(together))
    assert "cover_in_turn" not in kinds(listed())


# ------------------------------------------------------------------ where they stand
def turned(name, bearing_deg):
    return SimpleNamespace(name=name, bearing_deg=bearing_deg)


# From the north-west a wind runs along 135°: 45° off a bed of 0 or 90° is not across.
TURNED = [
    turned("A1", 0.0),
    turned("A2", 89.0),
    turned("A3", 44.0),
    turned("A4", 135.0),
]


def test_hoops_keep_off_lines_and_beds_across_the_storm_are_known():
    found = hoop_ground(TURNED, [False, True, False, False], 315.0)
    assert found.under_line == {"A2"}
    # 46° for 89°, 89° for 44°.
    assert found.across_storm == {"A2", "A3"}
    assert hoop_ground(TURNED, [False] * 4, None) == (frozenset(), frozenset())


def test_a_run_across_the_storm_wind_is_said_with_its_angle():
    covered = ["A1", "A3", "A4"]
    stand, across, along = storms(TURNED, covered, 315.0)
    names = ["A1", "A2", "A3", "A4"]
    assert stand == Fact("low_tunnels_stand", beds=covered, all_beds=names)
    assert across == Fact(
        "low_tunnels_across_storm",
        beds=["A3"],
        all_beds=names,
        storm_from_deg=315.0,
        angle=89,
    )
    assert along == Fact(
        "low_tunnels_along_storm",
        beds=["A1", "A4"],
        all_beds=names,
        storm_from_deg=315.0,
    )
    assert [each.kind for each in storms(TURNED, covered, None)] == [
        "low_tunnels_stand",
        "low_tunnels_storm_unknown",
    ]
    assert list(storms(TURNED, [], 315.0)) == []


# ------------------------------------------------------------------ walk-in tunnels
def test_a_walk_in_tunnel_of_twelve_by_six_metres():
    """A half circle of radius 3: π · 3 = 9.4248 m over.

    Bows each 1.2 m: 11, with two posts each; three purlins of 12 m. Film: (9.4248 + 1) m
    times 14 m, and two half discs of π · 3² / 2 = 14.137 m²: 174.22 m².
    """
    found = listed([], [tunnel()])
    assert amounts(found) == [
        ("bow", 11, "pieces"),
        ("ground_post", 22, "pieces"),
        ("purlin", 36, "m"),
        ("tunnel_film", 175, "m²"),
    ]
    assert all(line.rough for line in found.lines)
    assert found.remarks == (
        Fact("no_hoops_counted"),
        Fact("walk_in_rough", spacing_m=1.2, purlins=3),
        Fact("peak_flow", rain_mm=50.0),
    )


def test_a_tunnel_that_is_no_half_circle_has_ends_of_half_an_ellipse():
    """8 m wide and 2 m tall: as long as 2 · 4 · E(1 - 0.25) = 8 · 1.21106 = 9.6884 m.

    (E is the complete elliptic integral, table value 1.21106 at m = 0.75.) 10.6884 ·
    14 m and two ends of π / 4 · 8 · 2 = 12.566 m²: 149.638 + 25.133 = 174.77 m².
    """
    found = listed([], [tunnel(width_m=8.0, height_m=2.0)])
    assert amounts(found)[-1] == ("tunnel_film", 175, "m²")


def test_two_tunnels_count_twice_and_each_roof_has_its_own_water():
    """72 m² and 30 m²: 25 mm are 1,800 and 750 litres; 40 mm/h · 0.95 · 72 / 3600 l/s."""
    found = listed([], [tunnel(), tunnel("T2", 10.0, 3.0)], rain_mm_h=40.0)
    # 10 / 1.2 = 8.33: ten bows.
    assert amounts(found)[:3] == [
        ("bow", 21, "pieces"),
        ("ground_post", 42, "pieces"),
        ("purlin", 66, "m"),
    ]
    assert [(r.tunnel, r.area_m2, r.litres_per_25_mm) for r in found.roofs] == [
        ("T1", 72.0, 1800.0),
        ("T2", 30.0, 750.0),
    ]
    assert found.roofs[0].peak_l_s == pytest.approx(0.76)
    assert peak_l_s(30.0, 40.0) == pytest.approx(0.95 * 40 * 30 / 3600)


# ------------------------------------------------------------------ hoops and pipes
def lower(**choices):
    found = [
        each for each in listed(**choices).remarks if each.kind == "lower_hoops_fit"
    ]
    return [(each["lower_m"], each["pipes"], each["pipes_if_lower"]) for each in found]


@pytest.mark.parametrize(
    ("pipe_m", "found"),
    [
        # 49 cm over 1 m: π / 2 · 0.99 = 1.5551 m, with legs 2.16 m; three and two cuts
        # take 6.486 m. 19 hoops: ten pipes at two each, seven at three.
        (6.5, [(0.49, 10, 7)]),
        # 48 cm: π / 2 · 0.98 = 1.5395 m, with legs 2.14 m; three and two cuts 6.426 m.
        (6.45, [(0.48, 10, 7)]),
        # 45 cm: half of 2.986 m (Ramanujan), with legs 2.10 m; three take 6.306 m.
        (6.31, [(0.45, 10, 7)]),
        # 44 cm would do, which is more than a little lower.
        (6.29, []),
        # Three come from each as they are: 6.546 m.
        (6.55, []),
    ],
)
def test_hoops_a_little_lower_are_named_where_more_come_from_a_pipe(pipe_m, found):
    assert lower(pipe_length_m=pipe_m) == found


def test_lower_hoops_are_named_only_where_a_tenth_of_the_pipes_is_saved():
    """11 hoops at 45 cm would fill the last pipe alone: six pipes either way."""
    assert lower(pipe_length_m=4.2) == []


def test_no_hoops_are_named_lower_than_a_site_may_ask():
    """20 cm is the least; over 1 m half an ellipse of it is 1.1506 m, with legs 1.76 m."""
    assert lower(hoop_height_m=0.2, pipe_length_m=5.27) == []


def test_what_lower_hoops_save_names_the_key_and_its_value():
    (said,) = [
        say(each, "metric")
        for each in listed(pipe_length_m=6.5).remarks
        if each.kind == "lower_hoops_fit"
    ]
    assert "0.49 m" in said
    assert "7 pipes" in said
    assert "hoop_height_m = 0.49" in said
