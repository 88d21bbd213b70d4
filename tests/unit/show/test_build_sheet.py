"""How to build a low tunnel: every number of the sheet is the bed's own."""

import dataclasses
import functools
import math
import re
from types import SimpleNamespace

import pytest
from fields_to_peg import narrow, rough
from words_on_pages import words_on_pages

from fieldmap.decide.crop_plan.model import CoverUse
from fieldmap.decide.materials import make
from fieldmap.decide.materials.low_tunnels import low_tunnel
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.errors import PlanError
from fieldmap.model.season_year import NORTH
from fieldmap.model.settings import Cover, Materials
from fieldmap.model.site import LEARNERS_WORDS, OwnWords
from fieldmap.show.print import _check_letters, paper
from fieldmap.show.print.teaching import build, twelve_words
from fieldmap.show.print.two_languages import together
from fieldmap.show.text import quantities
from fieldmap.show.text.language import of_site, spoken

ROLLS_M = (1.6, 2.2, 3.2)


def blocks(anchor="bags", kind="light_fabric", units="metric", own=(), **more):
    _plot, beds = narrow(rough(1))
    choices = Materials(anchor=anchor)
    lows = [
        low_tunnel(bed, kind, choices, ROLLS_M, [(0.0, bed.length_m)])
        for bed in beds[:3]
    ]
    kinds = build.builds(lows, beds, 0.45, (), NORTH)
    order = [bed.name for bed in beds]
    page = "letter" if units == "us" else "a4"
    return lows[0], build.blocks(kinds, order, anchor, own, page, units, **more)


def pages(made, units="metric"):
    size = "letter" if units == "us" else "a4"
    return words_on_pages(paper.pdf(paper.Sheet("t", "p", "m", made), size))


@functools.cache
def printed(anchor="bags", kind="light_fabric", units="metric"):
    """A low tunnel, and the words on the two pages of its sheet."""
    low, made = blocks(anchor, kind, units)
    return low, pages(made, units)


def test_one_kind_of_low_tunnel_is_a_page_and_a_page_of_words():
    low, (front, back) = printed()
    # Beds of 25 m, 75 cm wide (`narrow`); hoops every 1.5 m under fabric: 25/1.5 = 16.7
    # gaps, so 17, and 18 hoops.
    assert "25 m long and 75 cm wide" in front
    assert "18 hoops" in front
    assert low.hoops == 18
    # Legs of 30 on either end of each pipe; the rest lies over the bed.
    assert "Put tape on each pipe, 30 cm from both ends" in front
    # Half an ellipse of 75 by 50: by Ramanujan's series π (a + b) (1 + h/4) / 2 with
    # a = .375, b = .5, h = (.125 / .875)² it is 138.1 cm; with both legs 198.1, cut at 199.
    assert "199" in front
    assert "139" in front
    assert "The top is now 50 cm high" in front
    # Ends of 125 each: 2.5 m together (`cover_size`).
    assert "Leave 125 cm of cover at each end" in front
    assert f"{low.anchors} bags" in front
    assert f"All {low.anchors} bags weigh about {10 * low.anchors} kg" in front
    # Five bags of 10 kg are a wheelbarrow of 50 kg.
    assert f"{-(-low.anchors // 5)} trips with 5 at a time" in front
    assert "Twelve words" in back


def test_every_number_of_the_sheet_is_of_this_tunnel():
    low, (front, _back) = printed()
    known = {
        *(str(each) for each in range(1, 9)),  # the steps
        *("25", "75", "2", "3", "18", "30", "50", "20", "125", "10", "15"),
        f"{100 * low.cut_m:.0f}",
        f"{100 * low.cut_m - 60:.0f}",
        f"{100 * low.spacing_m:.0f}",
        f"{100 * low.cover_width_m:.0f}",
        f"{low.cover_length_m:g}",
        f"{100 * low.anchor_gap_m:.0f}",
        str(low.anchors),
        f"{low.anchors * low.anchor_kg:g}",
        quantities.careful_gust(low.holds_to_m_s, "metric").split()[0],
    }
    body = front.replace(low.bed, "")
    assert (
        set(re.findall(r"(?<![A-Z\d.])\d+(?:\.\d+)?", body.split("p How")[0])) <= known
    )


def test_a_gust_is_never_printed_higher_than_the_cautious_end():
    low, (front, _back) = printed()
    (gust,) = re.findall(r"gusts \(sudden wind\) up to about (\d+) km/h", front)
    assert int(gust) <= low.holds_to_m_s * 3.6
    assert int(gust) > low.holds_to_m_s * 3.6 - 5


@pytest.mark.parametrize(
    ("anchor", "said", "unsaid"),
    [
        ("bags", "one bag every", "trench"),
        ("stones", "one stone every", "bag"),
        ("trench", "Dig a trench on both sides", "one bag"),
    ],
)
def test_edges_are_held_as_the_grower_chose(anchor, said, unsaid):
    _low, (front, _back) = printed(anchor)
    assert said in front
    assert unsaid not in front
    assert ("When it is closed, the cover holds in gusts" in front) == (
        anchor != "trench"
    )


def test_us_growers_read_feet_and_inches():
    _low, (front, back) = printed(units="us")
    assert "feet and inches" in front
    assert "mph" in front
    assert not re.search(r"\d (m|cm|kg|°C)\b", front + back)


def test_all_twelve_words_have_a_picture():
    assert set(build.TWELVE) == set(twelve_words.PICTURES) == set(LEARNERS_WORDS)


def test_words_of_a_trainer_stand_under_the_words():
    words = {"hoop": "Bogen", "open": "#panic() *öffnen*"}
    _low, made = blocks(own=(OwnWords("Deutsch", words),))
    _front, back = pages(made)
    for said in ("My language: Deutsch", "Bogen", "#panic() *öffnen*"):
        assert said in back


@pytest.mark.parametrize("units", ["metric", "us"])
def test_two_languages_take_a_page_for_hoops_and_one_for_the_cover(units):
    """Both pages have all cautions in both languages, and four of the eight steps."""
    _low, english = blocks(kind="clear_film", units=units, in_two=True)
    with spoken(of_site("es", "metric")):
        _low, spanish = blocks(kind="clear_film", units=units, in_two=True)
    hoops, cover, _words = pages(together(english, spanish), units)
    assert "2 stakes and 4 short cords. Count them. Traiga esto y" in hoops
    assert "Page 1 of 2: the hoops." in hoops
    assert "Página 2 de 2: la cubierta." in cover
    assert "Is there wind?" not in hoops
    assert "Is there wind? Wait for another day. No wind? Go on. ¿Hay viento?" in cover
    for page in (hoops, cover):
        assert "A bent pipe springs back" in page
        assert "Un tubo doblado salta hacia atrás" in page
        assert "wait until the utility locating service has marked them" in page
        assert "La cubierta" in page or "la cubierta" in page


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("kind", ["slitted_film", "shade_40"])
def test_several_covers_over_a_bed_still_fit_one_page(language, units, kind):
    """With the numbered drawing, which has the longest words."""
    with spoken(of_site(language, units)):
        parts = over_parts(kind, (2.0, 8.0), (8.0, 13.0), (15.0, 18.0))
        _low, made = made_from(parts, units=units)
        assert len(pages(made, units)) == 2


def test_a_plan_without_covers_says_so():
    (said,) = build.blocks([], [], "bags", (), "a4", "metric")
    assert "no low tunnel" in said.text


def test_letters_that_would_be_boxes_are_refused():
    own = (OwnWords("Tigrinya", {"hoop": "\N{ETHIOPIC SYLLABLE HA}"}),)
    with pytest.raises(PlanError) as refused:
        _check_letters(own, "words.toml")
    (said,) = map(str, refused.value.problems)
    assert said.startswith("words.toml: '\N{ETHIOPIC SYLLABLE HA}' of 'Tigrinya'")
    assert "write it by hand" in said


def test_a_cover_that_is_clipped_speaks_of_no_weights():
    low, both = printed(kind="shade_40")
    assert low.anchors == 0
    for page in both:
        assert "0 kg" not in page
        assert "one bag at a time" not in page


@pytest.mark.parametrize(
    ("kind", "ends", "in_sun"),
    [
        # Shut at night and open in sun; cloth that only shades stays open; a net that is
        # to keep insects out stays shut (common practice, no source).
        ("light_fabric", "Shut it at night", "open both ends"),
        ("slitted_film", "Shut it at night", "take this cover off"),
        ("shade_40", "Both ends stay open", "Never close them"),
        ("insect_net", "Keep it shut", "take the net off"),
    ],
)
def test_ends_and_the_caution_on_sun_say_the_same(kind, ends, in_sun):
    _low, (front, _back) = printed(kind=kind)
    assert ends in front
    assert in_sun in front


@pytest.mark.parametrize("anchor", ["bags", "stones", "trench"])
@pytest.mark.parametrize("kind", ["light_fabric", "shade_40"])
@pytest.mark.parametrize("units", ["metric", "us"])
def test_whoever_hammers_reads_of_lines_in_the_ground_and_overhead(anchor, kind, units):
    _low, said = printed(anchor, kind, units)
    assert len(said) == 2
    assert "wait until the utility locating service has marked them" in said[0]
    assert "use no long pipes near a line" in said[0]


def test_a_low_tunnel_over_a_part_of_a_bed_says_which_part():
    _plot, beds = narrow(rough(1))
    whole, other = (
        low_tunnel(bed, "light_fabric", Materials(), ROLLS_M, [(0.0, 6.0)])
        for bed in beds[:2]
    )
    lows = [
        whole._replace(stretches_m=((6.0, 12.0),)),
        other._replace(stretches_m=((0.0, 6.0),)),
    ]
    (kind,) = build.builds(lows, beds, 0.45, (), NORTH)
    order = [bed.name for bed in beds]
    made = build.blocks([kind], order, "bags", (), "a4", "metric")
    front, _back = pages(made)
    assert (
        "A1 (6 to 12 m from the end near the gate) and A2 (only the 6 m nearest the gate)"
        in front
    )
    assert "each is 6 m long" in front


def test_cloth_that_is_clipped_wants_no_stakes():
    _low, (front, _back) = printed(kind="shade_40")
    assert "a hammer" not in front
    assert "2 stakes" not in front
    assert "Get these things, and string and tape" in front


def test_a_page_names_its_cover_and_when_it_lies_out():
    """Day 60 is 1 March, 91 is 1 April, 95 is 5 April and 120 is 30 April."""
    _plot, beds = narrow(rough(1))
    low = low_tunnel(beds[0], "slitted_film", Materials(), ROLLS_M, [(0.0, 25.0)])

    def stay(bed, *uses):
        covers = [CoverUse(kind, on, off, 5.0) for kind, on, off in uses]
        return SimpleNamespace(bed=bed, covers=covers)

    stays = [
        stay(low.bed, ("slitted_film", 60, 91), ("slitted_film", 95, 120)),
        stay(low.bed, ("light_fabric", 200, 210)),
        stay("elsewhere", ("slitted_film", 300, 310)),
    ]
    (kind,) = build.builds([low], beds, 0.45, stays, NORTH)
    assert kind.spans == (((3, 1), (4, 30)),)
    said = build._cover(kind, "metric")
    assert (
        said
        == "Cover: slitted film. In this plan it lies on the bed from 1 March to 30 April."
    )


@pytest.mark.parametrize(
    ("stretches_m", "is_there", "said"),
    [
        (((),), False, "Begin at the bed's two pegs near the gate."),
        (((),), True, "Begin at the end of the bed near the gate."),
        ((((0.0, 6.0),),), False, "Begin at the bed's two pegs near the gate."),
        (
            (((11.0, 17.0),),),
            False,
            "Measure 11 m from the bed's two pegs near the gate.",
        ),
        (
            (((11.0, 17.0),),),
            True,
            "Measure 11 m from the end of the bed near the gate.",
        ),
        # One bed from 6 m on, the other whole: one number would be wrong for one of them.
        (
            (((6.0, 12.0),), ()),
            False,
            "Measure from the bed's two pegs near the gate: see above.",
        ),
        (
            (((6.0, 12.0),), ()),
            True,
            "Measure from the end of the bed near the gate: see above.",
        ),
    ],
)
def test_the_first_hoop_has_a_place_that_can_be_found(stretches_m, is_there, said):
    _plot, beds = narrow(rough(1))
    beds = [dataclasses.replace(bed, exists=is_there) for bed in beds]
    lows = [
        low_tunnel(
            bed,
            "light_fabric",
            Materials(),
            ROLLS_M,
            parts or [(0.0, 6.0)],
            None,
            parts,
        )
        for bed, parts in zip(beds, stretches_m, strict=False)
    ]
    (kind,) = build.builds(lows, beds, 0.45, (), NORTH)
    made = build.blocks([kind], [bed.name for bed in beds], "bags", (), "a4", "metric")
    front, _back = pages(made)
    assert said in front.replace("\u00a0", " ")


def made_from(sheets, owned=(), anchor="bags", units="metric"):
    """The pages of low tunnels under these sheets, over beds of 25 m by 75 cm."""
    _plot, beds = narrow(rough(1))
    found = make(Materials(anchor=anchor), owned, beds, [], sheets).low_tunnels
    kinds = build.builds(found, beds, 0.45, (), NORTH)
    order = [bed.name for bed in beds]
    page = "letter" if units == "us" else "a4"
    return found, build.blocks(kinds, order, anchor, (), page, units)


def test_a_bed_under_two_pieces_at_once_gets_what_both_of_them_take():
    """Film over 6 m and 4 m that meet: a stake and two ties at both ends of the two.

    Cord over 8.5 and 6.5 m.
    """
    sheets = [
        Sheet("clear_film", 0, (0,), (10, 12), 2.0, along_m + 2.5, False, start_m)
        for start_m, along_m in ((0.0, 6.0), (6.0, 4.0))
    ]
    (low,), made = made_from(sheets)
    front, _back = pages(made)
    assert "15 m of cord" in front
    assert "2 stakes and 4 short cords" in front
    gap_m = low.anchor_gap_m
    bags = 2 * (math.ceil(6 / gap_m) + 1) + 2 * (math.ceil(4 / gap_m) + 1)
    assert f"{bags} bags" in front


def over_parts(kind, *ends_m):
    """Pieces over parts of the first bed."""
    return [
        Sheet(kind, 0, (0,), (10, 12), 1.6, end_m - start_m + 2.5, False, start_m)
        for start_m, end_m in ends_m
    ]


def drawn_in_step(made, number):
    """Texts in the drawing of a step, in their order."""
    frames = next(block for block in made if isinstance(block, paper.Frames))
    svg = frames.frames[number - 1].drawing.svg
    return re.findall(r">([^<>]+)</text>", svg)


def test_covers_that_meet_are_drawn_with_their_numbers_lengths_and_places():
    """Cloth from 2 to 8 and from 8 to 13 m: 8.5 m and 7.5 m with their ends of 2.5 m.

    From the first hoop they begin and end at 0, 600 and 1100 cm. Half an ellipse of 75 by
    50 is 138 cm wide (`test_one_kind_of_low_tunnel_is_a_page_and_a_page_of_words`).
    """
    _low, made = made_from(over_parts("shade_40", (8.0, 13.0), (2.0, 8.0)))
    row = drawn_in_step(made, 6)
    assert [text for text in row if text.endswith("m")] == ["8.5 m", "7.5 m"]
    assert row[-3:] == ["0", "600", "1100"]
    sizes = [text for text in drawn_in_step(made, 1) if "×" in text]
    assert sizes == ["8.5 m × 138", "7.5 m × 138"]
    front = pages(made)[0].replace("\u00a0", " ")
    assert "Measure 2 m from the bed's two pegs" in front
    assert "11 m long" in front
    # 4 gaps of 150 cm, then 5 m in 4 gaps.
    assert "one where each cover begins or ends (see 6): 9 hoops" in front
    assert "both hang on one hoop" in front


def test_covers_that_do_not_touch_say_what_they_cover_in_all():
    """Film over 0 to 6 m, 6 to 9.5 m and 12 to 16 m: 13.5 m, of 8.5, 6 and 6.5 m.

    Hoops each metre: 6 + 4 gaps and 11 hoops, then 4 gaps and 5 hoops.
    """
    _low, made = made_from(
        over_parts("clear_film", (0.0, 6.0), (6.0, 9.5), (12.0, 16.0))
    )
    assert drawn_in_step(made, 6)[-5:] == ["0", "600", "950", "1200", "1600"]
    assert [text for text in drawn_in_step(made, 1) if "×" in text] == ["(see 6) × 218"]
    front = pages(made)[0].replace("\u00a0", " ")
    assert "in 2 parts: 0 to 9.5 m and 12 to 16 m from the end near the gate" in front
    assert "13.5 m in all, 75 cm wide" in front
    assert "Begin at the bed's two pegs near the gate" in front
    assert "(see 6): 16 hoops" in front
    assert "4 stakes and 8 short cords" in front
    assert "lay the ends over each other" in front


def test_beds_with_alike_pieces_share_a_page_wherever_these_begin():
    _plot, beds = narrow(rough(1))
    cloth = over_parts("shade_40", (2.0, 8.0), (8.0, 14.0))
    moved = [each._replace(places=(1,), start_m=each.start_m + 5.3) for each in cloth]
    found, _made = made_from([*cloth, *moved])
    (kind,) = build.builds(found, beds, 0.45, (), NORTH)
    assert kind.beds == ("A1", "A2")
    assert kind.starts_m == pytest.approx((2.0, 7.3))


def test_cloth_in_two_pieces_has_clips_on_the_hoops_of_each():
    """Hoops each 1.5 m: 6 m have 5 and 4 m have 4, two clips on each."""
    sheets = [
        Sheet("shade_40", 0, (0,), (10, 12), 1.4, along_m + 2.5, False, start_m)
        for start_m, along_m in ((0.0, 6.0), (6.0, 4.0))
    ]
    _low, made = made_from(sheets)
    assert "18 clips" in pages(made)[0]


WIDE_SAYS = {
    "bags": ("Put one bag every", "Put bags there too", "stone"),
    "stones": ("Put one stone every", "Put stones there too", "bag"),
    "trench": ("Dig a trench on both sides", "Bury its edge in a trench", "stakes"),
}


@pytest.mark.parametrize("anchor", WIDE_SAYS)
@pytest.mark.parametrize("kind", ["clear_film", "light_fabric"])
def test_a_piece_over_two_beds_is_fetched_and_held_as_a_whole(anchor, kind):
    """Two beds of 25 m under a piece 4 m wide.

    Film has a hoop each metre, 26 a bed; fabric each 1.5 m, 18. Cord over 27.5 m of each.
    Weights along both sides of each bed, and along both ends.
    """
    owned = [Cover(kind=kind, width_m=4.0, length_m=30.0)]
    wide = Sheet(kind, 0, (0, 1), (10, 12), 4.0, 27.5, is_whole=True)
    found, made = made_from([wide], owned, anchor)
    front = pages(made)[0]
    is_film = kind == "clear_film"
    assert ("55 m of cord, string, tape and a hammer" in front) == is_film
    assert ("52 hoops" if is_film else "36 hoops") in front
    assert f"Each bed has {26 if is_film else 18} hoops" in front
    sides, ends, unsaid = WIDE_SAYS[anchor]
    assert sides in front
    assert ends in front
    assert not re.search(rf"\b{unsaid}\b", front)
    assert "tie it to a stake" not in front.lower()
    gap_m = found[0].anchor_gap_m
    if gap_m:
        along, across = math.ceil(25 / gap_m) + 1, math.ceil(4 / gap_m) + 1
        assert f"{4 * along + 2 * across} {anchor}" in front


def test_weights_for_one_wheelbarrow_are_no_trips():
    """Four bags of 10 kg are 40 kg, under the 50 of a wheelbarrow."""
    _plot, beds = narrow(rough(1))
    low = low_tunnel(beds[0], "light_fabric", Materials(), ROLLS_M, [(0.0, 25.0)])
    few = low._replace(anchors=4, gear=low.gear._replace(weights=4))
    (kind,) = build.builds([few], beds, 0.45, (), NORTH)
    for language, said in (
        ("en", "All 4 bags weigh about 40 kg and fit into the wheelbarrow together."),
        ("es", "Los 4 pesan unos 40 kg y caben juntos en la carretilla."),
    ):
        with spoken(of_site(language, "metric")):
            made = build.blocks([kind], [beds[0].name], "bags", (), "a4", "metric")
            assert said in pages(made)[0].replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("language", "units"), [("en", "us"), ("es", "us"), ("es", "metric")]
)
def test_film_on_two_plots_that_lies_out_twice_a_year_still_fits_one_page(
    language, units
):
    """The longest words that the made-up farm needs; the second page is of twelve words."""
    _plot, beds = narrow(rough(1))
    low = low_tunnel(beds[0], "slitted_film", Materials(), ROLLS_M, [(0.0, 30.0)])
    (kind,) = build.builds([low], beds, 0.45, (), NORTH)
    kind = kind._replace(
        plots=("Top Field", "Shelf"),
        beds=("A10", "B8"),
        spans=(((5, 8), (5, 22)), ((10, 1), (10, 16))),
    )
    page = "letter" if units == "us" else "a4"
    with spoken(of_site(language, units)):
        made = build.blocks([kind], ["A10", "B8"], "bags", (), page, units)
        assert len(pages(made, units)) == 2
