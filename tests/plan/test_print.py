"""Printed sheets: pages that a general reader of PDF reads back as the plan has them."""

import dataclasses
import io
import re
from functools import cache

import numpy as np
import pypdf
import pypdfium2
import pytest
from made_up import plane, plot_box, site
from shapely.geometry import Point, box
from words_on_pages import words_on_pages

from fieldmap.decide.crop_plan.model import CropPlan, Stay
from fieldmap.decide.pegging.site_pegs import Staking
from fieldmap.plan import make_plan
from fieldmap.read.crops import packaged_crops
from fieldmap.show import print
from fieldmap.show.layer_styles import ON_PAPER, PaperStyle
from fieldmap.show.print.ground.drawing import MARGIN_MM, PlanDrawing
from fieldmap.show.print.paper import (
    Heading,
    NewPage,
    Points,
    Sheet,
    Text,
    as_data,
    pdf,
)
from fieldmap.show.print.teaching import dawn_walk

HOSTILE = '#panic("x") *bold* <script>$x$ \u202egnol\u202c'
# ISO 216 and ANSI Y14.1, in PostScript points of 1/72 inch.
A4_PT = (210 / 25.4 * 72, 297 / 25.4 * 72)
LETTER_PT = (8.5 * 72, 11 * 72)


def plan_of(store, name="Home", **choices):
    made_up = site(
        plane(east=0.02, north=0.05),
        {name: plot_box(60, 60, 140, 140)},
        tunnels=({"length_m": 12.0, "width_m": 4.5, "height_m": 2.4},),
        **choices,
    )
    return make_plan(made_up, store, lambda step: None)


@pytest.fixture(scope="module")
def plan(kept):
    return plan_of(kept)


@pytest.fixture(scope="module")
def files(plan):
    return print.pdfs(plan)


def pages(file):
    return pypdf.PdfReader(io.BytesIO(file), strict=True).pages


@cache
def text(file):
    """What a reader of PDF finds, without line breaks and hyphens of the page."""
    return " ".join(words_on_pages(file)).replace("\u00ad", "")


def test_before_you_sign_is_one_page_with_what_the_plan_knows(plan, files):
    assert len(pages(files["before_you_sign.pdf"])) == 1
    said = " ".join(text(files["before_you_sign.pdf"]).split())
    # On a plane no bed comes before another.
    first, last = plan.beds[0].bed.name, plan.beds[-1].bed.name
    assert f"Dig one hole at bed {first} and one at bed {last}." in said
    for plot in plan.site.plots["name"]:
        assert said.count(plot) >= 2  # in the head, and its fence
    for asked in (
        "Lead",
        "Sow four beans in each",
        "who allows it",
        "the lease start and end",
        "a paper that says you may use the track",
    ):
        assert asked in said
    assert "not legal advice" in said


def test_the_landowner_gets_two_pages_with_the_plan_and_a_line_to_sign(plan, files):
    assert len(pages(files["landowner.pdf"])) == 2
    said = text(files["landowner.pdf"])
    assert f"{len(plan.beds)} beds and " in said
    # 12 by 4.5 m of roof under 25 mm of rain.
    assert f"{12 * 4.5 * 25:,.0f} litres" in said
    for place in plan.tunnels:
        assert f"Walk-in tunnel {place.name}" in said
    for word in (
        "Landowner, date",
        "Insurance",
        "Permit",
        "Overhead power lines",
        "we call the utility locating service",
    ):
        assert word in said


def test_every_bed_is_on_a_page_of_the_crew(plan, files):
    said = text(files["crew.pdf"])
    runs = re.findall(r"\b([A-Z]+[a-z]*)(\d+)(?: to [A-Z]+[a-z]*(\d+))?", said)
    named = {
        f"{letter}{number}"
        for letter, first, last in runs
        for number in range(int(first), int(last or first) + 1)
    }
    # Those that lie there already want no pegs.
    assert {each.bed.name for each in plan.beds if not each.bed.exists} <= named


def test_cautions_stand_on_what_is_built_from(files):
    said = text(files["crew.pdf"])
    for word in (
        "locating",
        "Overhead power lines",
        "a cap on every stake",
        "safety glasses",
    ):
        assert word in said
    assert "dangerously hot" in text(files["tunnel_door.pdf"])


def test_each_tunnel_has_its_own_card_on_one_page(plan, files):
    cards = words_on_pages(files["tunnel_door.pdf"])
    assert len(cards) == len(plan.tunnels)
    for tunnel, card in zip(plan.tunnels, cards, strict=True):
        assert f"tunnel {tunnel.name}" in card
        assert f"{tunnel.size.length_m:g} m long" in card
        assert "hotter than 35 °C inside" in card


def test_a_dawn_walk_hides_its_answers_on_the_second_page(plan, files):
    first, second = words_on_pages(files["dawn_walk.pdf"])
    assert "guess" not in second
    assert "What the plan says" in second
    assert "What the plan says" not in first
    chosen = dawn_walk.pegs(plan.beds, plan.site.surroundings)
    likely = [each.offset_c.central for each in plan.beds]
    offsets = [peg.bed.offset_c.central for peg in chosen]
    assert min(offsets) == min(likely)
    assert max(offsets) == max(likely)
    easts = [round(peg.place[0], 3) for peg in chosen]
    assert easts == sorted(easts)


def test_the_same_plan_gives_the_same_bytes(plan, files):
    assert print.pdfs(plan) == files


@pytest.mark.parametrize(
    ("paper", "size_pt"), [("a4", A4_PT), ("letter", LETTER_PT)], ids=["A4", "Letter"]
)
def test_paper_has_the_size_of_its_standard(plan, paper, size_pt):
    settings = plan.site.settings.model_copy(
        update={"sheets": plan.site.settings.sheets.model_copy(update={"paper": paper})}
    )
    there = dataclasses.replace(
        plan, site=dataclasses.replace(plan.site, settings=settings)
    )
    written = print.pdfs(there)
    for file in written.values():
        for page in pages(file):
            width_pt, height_pt = page.mediabox.upper_right
            assert float(width_pt) == pytest.approx(size_pt[0], abs=0.5)
            assert float(height_pt) == pytest.approx(size_pt[1], abs=0.5)
    assert len(pages(written["landowner.pdf"])) == 2


def test_names_are_set_as_text_whatever_they_hold(kept):
    written = print.pdfs(plan_of(kept, name=HOSTILE))
    assert '#panic("x") *bold* <script>$x$' in text(written["crew.pdf"])
    sheet = Sheet(HOSTILE, HOSTILE, HOSTILE, (Text(HOSTILE), Points((HOSTILE,) * 2)))
    assert text(pdf(sheet, "a4")).count("<script>$x$") == 6


def test_a_us_site_reads_feet_and_letter_paper(kept):
    written = print.pdfs(plan_of(kept, units="us"))
    assert float(pages(written["crew.pdf"])[0].mediabox.width) == 8.5 * 72
    said = text(written["landowner.pdf"])
    assert " gallons of water run off their roofs" in said
    assert not re.search(r"\d (m|m²|cm|°C)\b", said)


def test_a_drawing_is_to_scale():
    # 40 m by 20 m on 100 by 100 mm: the next scale that fits 82 mm is 1:500.
    drawn = PlanDrawing((0, 0, 40, 20), (100.0, 100.0))
    assert drawn.scale == 500
    assert drawn.width_mm == pytest.approx(40 * 1000 / 500 + 2 * MARGIN_MM)
    drawn.add(plot_box(0, 0, 1, 1), PaperStyle())
    assert "path" not in drawn.drawing("far off").svg


def drawn_bed(width_m):
    """A bed on a drawing at 1:5000, on which a metre is 0.2 mm."""
    drawn = PlanDrawing((0, 0, 400, 400), (100.0, 100.0))
    assert drawn.scale == 5000
    drawn.add(box(100, 100, 200, 100 + width_m), ON_PAPER["bed"])
    return drawn.drawing("a bed").svg


def test_a_bed_too_narrow_for_an_outline_is_one_line():
    # 0.75 m is 0.15 mm: lines on both sides, a screen's dot wide, would fill it.
    assert drawn_bed(0.75).count("<path") == 1
    assert 'fill="none" stroke="#000"' in drawn_bed(0.75)
    assert 'fill="#ffffff" stroke="#000"' in drawn_bed(4.0)


def test_of_many_such_beds_a_line_is_drawn_every_millimetre_or_so():
    drawn = PlanDrawing((0, 0, 400, 400), (100.0, 100.0))
    for number in range(40):  # 48 m of them are 9.6 mm
        drawn.add(
            box(100, 100 + 1.2 * number, 200, 100.75 + 1.2 * number), ON_PAPER["bed"]
        )
    assert 8 <= drawn.drawing("beds").svg.count("<path") <= 13


def test_no_paper_style_is_grey():
    for style in ON_PAPER.values():
        assert style.fill in ("none", "#000000", "#ffffff")


def ink(text):
    """Darkness of a page with one name on a drawing, or with none."""
    drawn = PlanDrawing((0, 0, 40, 20), (100.0, 100.0))
    blocks = () if text is None else (drawn_name(drawn, text),)
    [page] = pypdfium2.PdfDocument(pdf(Sheet("", "", "", blocks), "a4"))
    return float((255 - np.asarray(page.render(scale=4).to_pil().convert("L"))).sum())


def drawn_name(drawn, text):
    drawn.name(Point(20, 10), text, size_mm=6.0)
    return drawn.drawing("a name")


def test_names_on_drawings_are_not_set_in_the_thinnest_of_the_font():
    """Strokes of a letter l: its ink by its height is their width, over 0.08 of size."""
    # Light type has stems of about 0.06 of the size, regular type of 0.08 and more.
    size_dots = 6.0 / 25.4 * 72 * 4
    height_dots = 0.7 * size_dots  # of the ascenders of most fonts
    stem = (ink("llllllllll") - ink(None)) / 255 / 10 / height_dots / size_dots
    assert 0.08 < stem < 0.2


def test_each_page_of_the_crew_says_at_its_foot_what_it_belongs_to():
    parts = (Text("x"), NewPage("Block B"), Text("y"), NewPage("Shopping"), Text("z"))
    sheet = Sheet(
        "Block A", "Home, plan of 3 March", "", parts, "Sheet {number} of {all}"
    )
    made = pages(pdf(sheet, "a4"))
    titles = "Block A", "Block B", "Shopping"
    for number, (page, title) in enumerate(zip(made, titles, strict=True), start=1):
        foot = " ".join(page.extract_text().split()).rpartition("Home, plan of")[2]
        assert foot.split(" Sheet ") == [f" 3 March {title}", f"{number} of 3"]


def test_a_plan_without_beds_still_prints(plan):
    bare = dataclasses.replace(plan, beds=(), tunnels=(), stakes=Staking())
    assert "No bed is planned" in text(print.pdfs(bare)["crew.pdf"])


def test_blocks_know_their_kind():
    assert as_data(Heading("x")) == {"kind": "heading", "text": "x"}


def with_stays(plan):
    """The same plan with tomatoes on its first two beds from day 100 to 200."""
    crop, name = packaged_crops()["tomato"], "tomato"
    stays = tuple(
        Stay(
            "spring", 100, 150, 200, (), bed=each.bed.name, crop=name, days_by_place=0.0
        )
        for each in plan.beds[:2]
    )
    site = dataclasses.replace(plan.site, crops=(crop,))
    return dataclasses.replace(plan, site=site, crop_plan=CropPlan(stays=stays))


def test_the_wall_has_a_column_for_each_low_and_a_line_for_each_crop_on_one_page(plan):
    planted = with_stays(plan)
    sheet = print.pdfs(planted)["tonight.pdf"]
    said = text(sheet)
    assert len(pypdfium2.PdfDocument(sheet)) == 1
    assert planted.tonight is not None
    for low in ("+4", "+2", "0", "−2", "−4", "−6"):
        assert low in said
    first, second = (each.bed.name for each in plan.beds[:2])
    assert f"{first} and {second}" in " ".join(said.split())
    assert plan.beds[2].bed.name not in said
    assert "Cover nothing." in said
    assert "a heater there without a flue (a pipe to the outside)" in said
    assert "Tomorrow:" in said
    assert said.index("Tomorrow:") > said.index("Be done by")


def test_the_wall_of_a_plan_without_stays_says_that_nothing_stands(files):
    assert "Nothing stands on the beds" in " ".join(text(files["tonight.pdf"]).split())
