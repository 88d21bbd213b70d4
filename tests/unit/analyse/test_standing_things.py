"""What stands around becomes upright prisms with their leaves, and what breaks the wind."""

import numpy as np
import pytest
from made_up import plot_box, surroundings

from fieldmap.analyse.light.standing_things import (
    LEAVES_OVER_THE_YEAR,
    LEAVES_WHEN_BARE,
    standing_things,
)
from fieldmap.model.surroundings import KINDS
from fieldmap.show.layer_styles import STYLES
from fieldmap.show.text.catalogue import texts

SQUARE = plot_box(5.2, 190.2, 9.8, 194.8)


def things(*records, southern=False):
    return standing_things(surroundings(*records), southern=southern)


def test_a_building_stands_as_drawn_and_lets_no_light_through():
    found = things(("building", SQUARE, {"height_m": 6.0, "leaf": "none"}))
    prisms = found.prisms
    assert (prisms.bottom_m.tolist(), prisms.top_m.tolist()) == ([0.0], [6.0])
    corners = {tuple(each) for each in np.round(prisms.sides[:, :2], 3)}
    assert corners == {tuple(np.round(each, 3)) for each in SQUARE.exterior.coords}
    assert (found.transmission == 0).all()


def test_a_tree_is_a_crown_above_a_clear_stem():
    more = {"height_m": 12.0, "clear_stem_m": 3.0, "leaf": "deciduous"}
    found = things(("tree", SQUARE, more))
    assert found.prisms.bottom_m.tolist() == [3.0]
    assert found.prisms.top_m.tolist() == [12.0]


def test_a_courtyard_is_no_part_of_the_building_around_it():
    court = plot_box(6.2, 191.2, 8.8, 193.8)
    ring = SQUARE.difference(court)
    found = things(("building", ring, {"height_m": 6.0, "leaf": "none"}))
    assert len(found.prisms.sides) == 8


def test_leaves_are_out_in_summer_in_either_hemisphere():
    hedge = (
        "hedge",
        SQUARE,
        {"height_m": 3.0, "clear_stem_m": 0.0, "leaf": "deciduous"},
    )
    north, south = (things(hedge, southern=each) for each in (False, True))
    assert north.transmission[0, 6] < north.transmission[0, 0]
    months = north.transmission[0]
    assert south.transmission[0].tolist() == [*months[6:], *months[:6]]
    assert south.reflectance[0, 0] > south.reflectance[0, 6]


def test_an_open_fence_lets_its_porosity_of_the_light_through():
    more = {"height_m": 2.0, "porosity": 0.5, "leaf": "none"}
    found = things(("fence", SQUARE, more))
    assert (found.transmission == 0.5).all()


def test_things_that_overlap_stay_things_of_their_own():
    low = {"height_m": 5.0, "clear_stem_m": 1.0, "leaf": "evergreen"}
    high = {"height_m": 9.0, "clear_stem_m": 4.0, "leaf": "evergreen"}
    found = things(("tree", SQUARE, high), ("tree", SQUARE, low))
    assert found.prisms.bottom_m.tolist() == [4.0, 1.0]
    assert found.prisms.top_m.tolist() == [9.0, 5.0]


@pytest.mark.parametrize("kind", ["gate", "water", "overhead line"])
def test_what_lies_or_hangs_casts_no_shade(kind):
    assert len(things((kind, SQUARE, {"height_m": 7.0})).prisms) == 0


def test_every_kind_of_surroundings_has_a_word_a_sign_and_a_style():
    words = texts("fieldmap.show.text.names", "vocabulary")["surroundings"]
    assert words == list(KINDS)
    assert KINDS.keys() <= texts("fieldmap.show.text.map.signs", "kinds").keys()
    assert KINDS.keys() <= STYLES.keys()


def test_bare_crowns_keep_back_two_fifths_of_what_they_do_in_leaf():
    """.35 of the light bare, .6 half in leaf, .85 in leaf: .35 / .85 = .412.

    Five months bare, two half in leaf and five in leaf: 7.2 of 12 · .85, .706.
    """
    assert pytest.approx(0.412, abs=0.001) == LEAVES_WHEN_BARE
    assert pytest.approx(0.706, abs=0.001) == LEAVES_OVER_THE_YEAR
