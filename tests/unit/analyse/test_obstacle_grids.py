"""What stands around becomes solid ground or a crown, where it stands."""

import numpy as np
import pytest
from made_up import plane, plot_box, surroundings

from fieldmap.analyse import obstacle_grids
from fieldmap.model.surroundings import KINDS
from fieldmap.show.layer_styles import STYLES
from fieldmap.show.text.catalogue import texts

GROUND = plane(rows=20, cols=20)


def box_on_cells():
    """Cells of rows 5 to 9 and columns 5 to 9 of a 20 m square, by their middles."""
    return plot_box(5.2, 190.2, 9.8, 194.8)


def test_a_building_stands_on_the_ground_and_lets_no_light_through():
    table = surroundings(
        ("building", box_on_cells(), {"height_m": 6.0, "leaf": "none"})
    )
    raised = obstacle_grids.solid_surface_m(GROUND, table).values - GROUND.values
    assert raised[5:10, 5:10].min() == 6.0
    assert raised.sum() == 25 * 6.0
    assert obstacle_grids.crowns(GROUND, table, southern=False) == []


def test_a_tree_is_a_crown_above_a_clear_stem():
    more = {"height_m": 12.0, "clear_stem_m": 3.0, "leaf": "deciduous"}
    table = surroundings(("tree", box_on_cells(), more))
    assert (obstacle_grids.solid_surface_m(GROUND, table).values == GROUND.values).all()
    (crown,) = obstacle_grids.crowns(GROUND, table, southern=False)
    above = crown.top_m - GROUND.values
    assert above[7, 7] == 12.0
    assert (crown.bottom_m - GROUND.values)[7, 7] == 3.0
    assert np.isnan(above[0, 0])


def test_leaves_are_out_in_summer_in_either_hemisphere():
    more = {"height_m": 3.0, "clear_stem_m": 0.0, "leaf": "deciduous"}
    table = surroundings(("hedge", box_on_cells(), more))
    (north,) = obstacle_grids.crowns(GROUND, table, southern=False)
    (south,) = obstacle_grids.crowns(GROUND, table, southern=True)
    assert north.transmission[6] < north.transmission[0]
    assert south.transmission == north.transmission[6:] + north.transmission[:6]


def test_an_open_fence_lets_its_porosity_of_the_light_through():
    more = {"height_m": 2.0, "porosity": 0.5, "leaf": "none"}
    (fence,) = obstacle_grids.crowns(
        GROUND, surroundings(("fence", box_on_cells(), more)), southern=False
    )
    assert fence.transmission == (0.5,) * 12


def test_where_crowns_overlap_the_highest_top_and_the_lowest_bottom_count():
    low = {"height_m": 5.0, "clear_stem_m": 1.0, "leaf": "evergreen"}
    high = {"height_m": 9.0, "clear_stem_m": 4.0, "leaf": "evergreen"}
    (crown,) = obstacle_grids.crowns(
        GROUND,
        surroundings(("tree", box_on_cells(), high), ("tree", box_on_cells(), low)),
        southern=False,
    )
    assert (crown.top_m - GROUND.values)[7, 7] == 9.0
    assert (crown.bottom_m - GROUND.values)[7, 7] == 1.0


@pytest.mark.parametrize("kind", ["gate", "water", "overhead line"])
def test_what_lies_or_hangs_casts_no_shade(kind):
    table = surroundings((kind, box_on_cells(), {"height_m": 7.0}))
    assert (obstacle_grids.solid_surface_m(GROUND, table).values == GROUND.values).all()
    assert obstacle_grids.crowns(GROUND, table, southern=False) == []


def test_every_kind_of_surroundings_has_a_word_a_sign_and_a_style():
    words = texts("fieldmap.show.text.names", "vocabulary")["surroundings"]
    assert words == list(KINDS)
    assert KINDS.keys() <= texts("fieldmap.show.text.map.signs", "kinds").keys()
    assert KINDS.keys() <= STYLES.keys()
