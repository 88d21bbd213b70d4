"""How likely a crop comes through a night, worked by hand.

Worth of covers on a clear calm night, least, likely and most (layers.cover): light fabric
-0.5, 1 and 1.5 °C, medium fabric 1.1, 2.2 and 3, heavy fabric 3, 3.5 and 4, clear film 0,
0.5 and 1.5. On other nights 0, 0.2 and 0.5.
"""

import pytest
from made_up_evening import HUT, LEAF

from fieldmap.decide.tonight.answer import (
    Bare,
    Option,
    Outlook,
    chance,
    odds,
    outlook,
    parts_of,
    usable,
)
from fieldmap.model.estimate import Estimate
from layers.cover import COVERS, Range

NOTHING = Range.only(0.0)


def still(limit_c, worst_c, likely_c, *covers):
    return outlook(limit_c, Bare(worst_c, likely_c), covers, is_still=True)


# A table of the standard normal law: Φ(0) .5, Φ(.5) .6915, Φ(1) .8413, Φ(1.2816) .9,
# Φ(1.6449) .95, Φ(2) .9772.
@pytest.mark.parametrize(
    ("limit_c", "bare", "gain_c", "expected"),
    [
        # One standard deviation of the air is 1.2816 / 1.2816 = 1 °C; limit known.
        (HUT, (-0.2816, 1.0), NOTHING, 0.8413),
        (HUT, (-2.2816, -1.0), NOTHING, 1 - 0.8413),
        (HUT, (-1.2816, 0.0), NOTHING, 0.5),
        (HUT, (0.0, 1.2816), NOTHING, 0.9),
        # A leaf's limit of 0, 2, 4: variance of the triangle (0 + 4 + 16 - 0 - 0 - 8) / 18
        # = 2/3. Air known: 2 + .8165 is one standard deviation over it.
        (LEAF, (2.8165, 2.8165), NOTHING, 0.8413),
        # With air of 1 °C: sqrt(1 + 2/3) = 1.29099 °C over 2.
        (LEAF, (2.0094, 3.29099), NOTHING, 0.8413),
        # Light fabric, -.5, 1, 1.5: (.25 + 1 + 2.25 + .5 + .75 - 1.5) / 18 = .18056, a
        # standard deviation of .42492; likely 1 °C more.
        (HUT, (-0.57508, -0.57508), COVERS["light_fabric"].gain_c, 0.8413),
        (HUT, (-1.0, -1.0), COVERS["light_fabric"].gain_c, 0.5),
        # All known: it is over the limit or not.
        (HUT, (0.1, 0.1), NOTHING, 1.0),
        (HUT, (0.0, 0.0), NOTHING, 0.0),
    ],
)
def test_a_chance_is_that_of_a_normal_law(limit_c, bare, gain_c, expected):
    assert chance(limit_c, Bare(*bare), gain_c) == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize(
    ("limit_c", "bare", "kind", "expected"),
    [
        # Harmed at 4 °C by leaves that are 4 °C colder: 4.0 is not over it.
        (LEAF, (4.1, 5.0), "none", "sure"),
        (LEAF, (4.0, 5.0), "none", "likely"),
        (LEAF, (0.0, 2.1), "none", "likely"),
        # 2 is not over 2; one in two is more than three in ten.
        (LEAF, (0.0, 2.0), "none", "unsure"),
        # Light fabric may be half a degree colder: 4.6 - .5 is over 4, 4.5 - .5 is not.
        (LEAF, (4.6, 5.0), "light_fabric", "sure"),
        (LEAF, (4.5, 5.0), "light_fabric", "likely"),
        # 3 + 1.1 is over 4, 2.9 + 1.1 is not.
        (LEAF, (3.0, 3.0), "medium_fabric", "sure"),
        (LEAF, (2.9, 2.9), "medium_fabric", "likely"),
        # Air 1 °C wide: .5244 standard deviations under the limit is three in ten.
        (HUT, (-1.8, -0.52), "none", "unsure"),
        (HUT, (-1.82, -0.54), "none", "harmed"),
        (HUT, (-1.0, -1.0), "none", "harmed"),
        # 0 is no more over 0 than -1 + 1 is.
        (HUT, (0.0, 0.0), "none", "harmed"),
        (HUT, (0.1, 0.1), "none", "sure"),
        (HUT, (-0.9, -0.9), "light_fabric", "likely"),
    ],
)
def test_odds_in_words(limit_c, bare, kind, expected):
    gain_c = COVERS[kind].gain_c
    assert odds(limit_c, Bare(*bare), gain_c, is_still=True) == expected


def test_on_other_nights_the_middle_of_the_limit_is_safe():
    """Leaves run 4 °C colder than the screen on clear calm nights only."""
    for air_c, said in ((2.1, "sure"), (2.0, "unsure")):
        bare = Bare(air_c, air_c)
        assert odds(LEAF, bare, NOTHING, is_still=False) == said
    # Any cover is worth .2 °C: 1.9 + .2 is over 2.
    found = outlook(LEAF, Bare(1.9, 1.9), ("heavy_fabric",), is_still=False)
    assert found.options[0].odds == "likely"


def test_a_cover_counts_by_what_it_betters_in_tenths():
    # Bare -.5244 standard deviations of 1 °C: .3. Under medium fabric 2.2 °C more; its
    # variance (1.21 + 4.84 + 9 - 2.42 - 3.3 - 6.6) / 18 = .15167, in all 1.0731:
    # (-.5244 + 2.2) / 1.0731 = 1.5615, .9408. It betters .3 to .94 by .6.
    found = still(HUT, -1.806, -0.5244, "medium_fabric")
    assert found == Outlook("unsure", (Option("medium_fabric", "likely", 0.6),))


def test_covers_come_by_their_worth_and_none_where_none_is_needed():
    found = still(HUT, -2.0, -1.0, "heavy_fabric", "medium_fabric", "light_fabric")
    kinds = [option.kind for option in found.options]
    assert kinds == ["light_fabric", "medium_fabric", "heavy_fabric"]
    assert still(HUT, 0.1, 1.0, "heavy_fabric") == Outlook("sure", ())


# A leaf's limit of 0, 2, 4 has a variance of 2/3; air of 4.5, at worst 3.9: .2192 more. 2.5
# / .9412 = 2.656: .9960. Clear film, 0, .5, 1.5: (.25 + 2.25 - .75) / 18 = .0972 more, and
# 3 / .9915 = 3.026: .9988. It betters nothing that counts, and 3.9 is not over 4.
NEARLY = Bare(3.9, 4.5)


def test_what_betters_the_chance_by_less_than_a_tenth_is_not_tried():
    assert outlook(LEAF, NEARLY, ("clear_film",), is_still=True).options == ()
    # -10 °C is far under any limit: nothing is three in ten likely.
    assert still(HUT, -12.0, -10.0, "heavy_fabric") == Outlook("harmed", ())


def test_a_cover_that_lies_there_is_closed_for_less():
    film = ("clear_film",)
    closed = outlook(LEAF, NEARLY, film, "clear_film", is_still=True)
    assert closed == Outlook("likely", (Option("clear_film", "likely", 0.0),))
    assert outlook(LEAF, NEARLY, film, "light_fabric", is_still=True).options == ()
    # Not where nothing is at risk, nor where it saves nothing.
    for air_c in (5.0, -10.0):
        bare = Bare(air_c, air_c)
        assert outlook(LEAF, bare, film, "clear_film", is_still=True).options == ()


def test_covers_that_warm_are_usable_and_two_of_them_together():
    owned = ["clear_film", "shade_40", "light_fabric", "insect_net", "medium_fabric"]
    assert usable(owned, None) == (
        "light_fabric",
        "medium_fabric",
        "clear_film",
        "fabric_under_film",
    )
    assert usable(owned, ["clear_film", "light_fabric"]) == (
        "light_fabric",
        "clear_film",
        "fabric_under_film",
    )
    assert usable(owned, ["clear_film", "heavy_fabric"]) == ("clear_film",)
    assert usable(owned, []) == usable(["shade_40"], None) == ()
    assert parts_of("fabric_under_film") == ("light_fabric", "clear_film")
    assert parts_of("clear_film") == ("clear_film",)


def test_a_range_with_a_far_end_spreads_more():
    """The triangle 0, 0, 6: 36 / 18 = 2; 0, 3, 6: (9 + 36 - 18) / 18 = 1.5."""
    bare = Bare(1.0, 1.0)
    far = chance(Estimate(0.0, 0.0, 6.0), bare, NOTHING)
    assert far == pytest.approx(0.7602, abs=1e-4)  # Φ(1 / 1.41421) = Φ(.70711)
