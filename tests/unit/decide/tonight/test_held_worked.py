"""Hoops, weights and clips of an evening's covers, counted by hand.

Fabric has a hoop every 1.5 m and film every 1 m, and one more at the end. On the edge of
a cover over a bed of 0.75 m bags of 10 kg lie no more than 1.42 m apart in gusts of
15 m/s: a side of 20 m has ⌈20 / 1.42⌉ + 1 = 16, a side of 11.5 m has ⌈8.1⌉ + 1 = 10.
"""

from dataclasses import replace

import pytest
from made_up_evening import advice_for, bed, roll, round_of, stand_of, standing

from fieldmap.decide.materials import low_tunnels
from fieldmap.decide.tonight.advice import Held
from fieldmap.model.settings import Materials
from fieldmap.show.text.decide import tonight as words
from fieldmap.show.text.language import of_site, spoken

COVERED = -0.5  # °C, from which light fabric saves what 0 °C harms


def held(*beds, owned, hoops=None, low_c=COVERED, **more):
    round_ = round_of(*beds, owned=owned, **more)
    if hoops is not None:
        object.__setattr__(round_, "hoops", hoops)
    stands = stand_of(*(standing(each.bed.name) for each in beds))
    return advice_for(round_, stands, low_c).held


def test_the_gap_between_bags_is_that_of_the_docstring():
    assert low_tunnels.anchor("light_fabric", 0.75, Materials()) == (1.42, 10.0)


def test_fabric_over_two_beds_is_counted_bed_by_bed():
    """20 / 1.5 is 13.3, so 14 gaps and 15 hoops; two sides of 16 bags."""
    found = held(bed("A1"), bed("A2"), owned=[roll("light_fabric", 50.0)])
    assert found == Held(30, 64, 10.0, 0)


def test_a_cover_that_ends_within_a_bed_is_held_as_far_as_it_reaches():
    """14 m of fabric reach over 11.5 m: 8 gaps and 9 hoops; two sides of 10 bags."""
    found = held(bed("A1"), owned=[roll("light_fabric", 14.0)])
    assert found == Held(9, 20, 10.0, 0)


@pytest.mark.parametrize(
    ("parts_m", "hoops", "weights"),
    [
        # 6 and 5 m that meet: 4 and 4 gaps, 9 hoops. ⌈6 / 1.42⌉ + 1 = 6 bags on each side
        # of the one, ⌈3.5⌉ + 1 = 5 on each side of the other.
        ([(0.0, 6.0), (6.0, 11.0)], 9, 22),
        # 6 and 5 m apart: 5 and 5 hoops.
        ([(0.0, 6.0), (12.0, 17.0)], 10, 22),
    ],
)
def test_covers_that_meet_on_a_bed_share_a_hoop_and_others_do_not(
    parts_m, hoops, weights
):
    round_ = round_of(bed("A1"), owned=[roll("light_fabric", 50.0)])
    stands = stand_of(*(standing("A1", part_m=part_m) for part_m in parts_m))
    found = advice_for(round_, stands, COVERED).held
    assert found == Held(hoops, weights, 10.0, 0)


def test_film_has_more_hoops_and_as_many_bags():
    found = held(bed("A1"), owned=[roll("slitted_film", 50.0)])
    assert found == Held(21, 32, 10.0, 0)


def test_inside_a_tunnel_no_wind_asks_for_weights_and_each_hoop_has_two_clips():
    found = held(bed("A1"), owned=[roll("light_fabric", 50.0)], inside=("A1",))
    assert found == Held(15, 0, 0.0, 30)


def test_edges_in_a_trench_have_no_weights():
    found = held(
        bed("A1"),
        owned=[roll("light_fabric", 50.0, width_m=3.0)],
        hoops=Materials(anchor="trench"),
    )
    assert found == Held(15, 0, 0.0, 0)


def test_a_sheet_over_neighbours_has_bags_on_its_ends_too():
    """Over two beds and a path of 0.6 m.

    Hoops 0.5 m high over 0.75 m are half ellipses of 1.38 m (Ramanujan's second formula),
    so the sheet is 2 × 1.38 + 0.6 + 2 × 0.2 = 3.76 m wide: ⌈2.65⌉ + 1 = 4 bags on each
    end, beside four sides of 16.
    """
    wide = roll("light_fabric", 22.5, width_m=4.0, may_cut=False)
    found = held(bed("A1"), bed("A2"), owned=[wide], paths_m=(0.6, None))
    assert found == Held(30, 72, 10.0, 0)


@pytest.mark.parametrize("is_turned", [False, True])
def test_a_sheet_is_as_wide_from_whichever_end_one_comes(is_turned):
    """Over two beds and a path of 1.4 m.

    The sheet is 2 × 1.38 + 1.4 + 2 × 0.2 = 4.56 m wide: ⌈3.2⌉ + 1 = 5 bags on each end.
    Without the path it would be 3.16 m, with 4.
    """
    beds = bed("A1"), bed("A2")
    wide = roll("light_fabric", 22.5, width_m=5.0, may_cut=False)
    round_ = round_of(*beds, owned=[wide], paths_m=(1.4, None))
    if is_turned:
        object.__setattr__(round_, "stops", round_.stops[::-1])
    stands = stand_of(*(standing(each.bed.name) for each in beds))
    assert advice_for(round_, stands, COVERED).held == Held(30, 74, 10.0, 0)


def test_where_nothing_is_covered_nothing_is_needed():
    found = held(bed("A1"), owned=[roll("light_fabric", 50.0)], low_c=5.0)
    assert found == Held(0, 0, 0.0, 0)


@pytest.mark.parametrize(
    ("beds", "width_m", "number"),
    [
        # ⌈10 / 2⌉ + 1 = 6 on each side.
        ([(10.0, 2.0)], 1.5, 12),
        # No weights.
        ([(10.0, 0.0)], 1.5, 0),
        # Two beds of 10 m and 9 m: 12 + 2 × (5 + 1), and ⌈3.1 / 2⌉ + 1 = 3 on each end.
        ([(10.0, 2.0), (9.0, 2.0)], 3.1, 30),
    ],
)
def test_weights_lie_along_sides_and_on_ends_of_wide_sheets(beds, width_m, number):
    assert low_tunnels.weights_around(beds, width_m) == number


@pytest.mark.parametrize(
    ("counted", "of_weights"),
    [
        (32, "32 weights of 10 kg on their edges."),
        # As the printed sheet for tonight has it.
        (31, "32 weights on their edges (10 kg each, the plan counts 31)."),
    ],
)
def test_the_list_says_how_many_weights_the_plan_counts_where_it_needs_more(
    counted, of_weights
):
    """One bed of 30 m: 2 × 16 weights, as in `test_weights_lie_along_sides`."""
    round_ = round_of(bed("A2"), owned=[roll("light_fabric", 50.0)])
    found = advice_for(round_, stand_of(standing("A2")), COVERED)
    held = found.held._replace(counted=counted)
    said = words.first(replace(found, held=held), "metric")[2].replace("\u00a0", " ")
    assert said.startswith(f"These covers need 15 hoops, and {of_weights}")


def test_clips_are_said_beside_hoops_only_where_covers_lie_inside_tunnels():
    """A1 is inside: 15 hoops and 30 clips. A2 is not: 15 hoops and 32 weights."""
    owned = [roll("light_fabric", 50.0)]
    round_ = round_of(bed("A1"), bed("A2"), owned=owned, inside=("A1",))

    def said(*beds):
        stands = stand_of(*map(standing, beds))
        found = advice_for(round_, stands, COVERED)
        return words.in_words(found, "Farm", "metric").first[2].replace("\u00a0", " ")

    clips = "Inside tunnels, clip the cover to both sides of each hoop. That takes 30 clips."
    assert said("A1") == (
        "These covers need 15 hoops. This number includes hoops that are already on the"
        f" beds. {clips}"
    )
    assert said("A1", "A2").startswith(
        "These covers need 30 hoops, and 32 weights of 10 kg on their edges."
    )
    assert said("A1", "A2").endswith(clips)
    assert "the plan counts" not in said("A1", "A2")
    assert "clip" not in said("A2")
    with spoken(of_site("es", "metric")):
        assert said("A1").endswith(
            "a los dos lados de cada arco. Hacen falta 30 pinzas."
        )
