"""Pegging sheets as a crew holds them: one page, the numbers of the record, no more."""

import functools
import re
from dataclasses import replace
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
from fields_to_peg import at, deep, narrow, pegged, rough, wide
from made_up import CRS, plot_box, surroundings
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, box
from words_on_pages import words_on_pages

from fieldmap.decide.pegging.field_pegs import Tunnel
from fieldmap.decide.pegging.model import Check, FieldPegs, Peg
from fieldmap.decide.pegging.site_pegs import Staking
from fieldmap.show.map.questions import build
from fieldmap.show.print import crew, paper
from fieldmap.show.print.ground import key
from fieldmap.show.print.ground.site_plan import SitePlan
from fieldmap.show.print.pegs import knots, peg_drawing, peg_sheet, to_tape
from fieldmap.show.print.pegs.peg_drawing import View
from fieldmap.show.print.pegs.tape_drawing import TapeDrawing
from fieldmap.show.text.decide import pegging

HEIGHT = rough(1, 0.02, 0.07)


@pytest.fixture
def height():
    return HEIGHT


@functools.cache
def pegs_of(lay_out):
    """The plot, the beds and the pegs of a field, found once."""
    plot, beds = lay_out(HEIGHT)
    return pegged(plot, beds, HEIGHT), plot, beds


def drawn(field, plot, beds, units="metric", others=(), height_mm=271.0):
    plots = gpd.GeoDataFrame({"name": ["Home"]}, geometry=[plot], crs=CRS)
    things = surroundings(("gate", Point(at(60, 50)), {}), *others)
    return SitePlan(
        plots, things, (), beds, (), Staking((field,)), 0.0, units, 182.0, height_mm
    )


def pages(field, plot, beds, units="metric", size="a4", others=()):
    shown = drawn(field, plot, beds, units, others, paper.INNER_MM[size][1])
    sheet = peg_sheet.sheet(shown, field, 30.0, [1.0])
    made = paper.pdf(paper.Sheet("Crew", "Farm", "made", (sheet,)), size)
    return words_on_pages(made)


@functools.cache
def said_of(lay_out):
    """The words on the pages of a field, printed once."""
    return pages(*pegs_of(lay_out))


@pytest.mark.parametrize("lay_out", [narrow, wide, deep])
def test_sixty_beds_are_pegged_from_one_page(lay_out):
    field, _plot, beds = pegs_of(lay_out)
    said = said_of(lay_out)
    assert len(said) == 1
    assert f"Home: put pegs for {len(beds)} beds" in said[0]
    assert "28 m and 63 cm" in said[0]
    for bay in field.bays:
        assert f"{bay.beds[0]} to {bay.beds[-1]}" in said[0]


def test_every_length_of_the_record_stands_on_the_page_in_whole_centimetres():
    field, *_ = pegs_of(deep)
    (said,) = said_of(deep)
    numbers = set(re.findall(r"\d+", said))
    for step in field.steps:
        lengths = (
            [step.length_m]
            if isinstance(step, Check)
            else [tie.length_m for tie in step.ties]
        )
        for length_m in lengths:
            assert f"{100 * length_m:.0f}" in numbers
    # No decimals where one reads a tape.
    assert not re.search(r"\d\.\d", said.replace("fieldmap 0.1", ""))


def test_a_tunnel_has_corners_bows_and_a_centre_line(height):
    """A frame of 20 by 6 m with a bow every 1.5 m at most: 14 gaps of 143 cm."""
    plot = plot_box(50, 50, 72, 90)
    frame = box(*at(58, 60), *at(64, 80))
    tunnel = Tunnel("T1", frame, 20.0, 6.0, 0.0, 1.5)
    field = pegged(plot, [], height, tunnels=[tunnel])
    (said,) = pages(field, plot, [])
    assert "Home: put pegs for the tunnel" in said
    for words in (
        "143",
        "There are 15 bows, so each side has 15 bow ends",
        "the middle of each end, 300 cm from its corners",
    ):
        assert words in said
    # The ground rises 7 % to the north, on which two swells of 18 cm may add.
    assert "the ground rises" in said


def test_us_crews_read_feet_and_inches():
    field, plot, beds = pegs_of(narrow)
    (said,) = pages(field, plot, beds, "us", "letter")
    assert "feet and inches" in said
    # 25 m are 82.02 ft.
    assert "82' 0\"" in said


def test_the_gate_is_at_the_foot_of_the_drawing():
    field, *_ = pegs_of(narrow)
    view, bay = View(field), field.bays[0]
    near, far = (view.at(field.pegs[row[0]].at) for row in bay.rows)
    assert far[1] > near[1] + 20
    assert far[0] == pytest.approx(near[0], abs=0.2)


@pytest.mark.parametrize("turn_deg", [0.0, 57.0, -110.0])
def test_north_and_uphill_on_the_drawing_are_those_of_the_ground(height, turn_deg):
    """What lies north of a corner is drawn where the arrow points, however it is seen."""
    plot = plot_box(50, 50, 90, 90)
    frame = rotate(box(*at(67, 60), *at(73, 80)), turn_deg)
    tunnel = Tunnel("T1", frame, 20.0, 6.0, 0.0, 1.5)
    field = pegged(plot, [], height, tunnels=[tunnel])
    svg = peg_drawing.draw(field, [], [], (120.0, 160.0), 2.0, "metric").drawing("").svg
    uphill_deg, north_deg = map(float, re.findall(r'g transform="rotate\((\S+) ', svg))
    view = View(field)
    corner = view.at(at(70, 70))

    def seen_deg(east_m, north_m):
        right, up = np.subtract(view.at(at(70 + east_m, 70 + north_m)), corner)
        return np.degrees(np.arctan2(right, up))

    # True north lies 2° to the left of the grid's.
    assert apart_deg(north_deg, seen_deg(0.0, 10.0) - 2.0) < 0.1
    up = np.radians(field.uphill_deg)
    assert apart_deg(uphill_deg, seen_deg(10 * np.sin(up), 10 * np.cos(up))) < 0.1


def apart_deg(one, other):
    return abs((one - other + 180.0) % 360.0 - 180.0)


def test_a_power_line_over_beds_is_said_on_the_page_of_their_field(height):
    field, plot, beds = pegs_of(narrow)
    caution = "under an overhead power line"
    assert not any(caution in page for page in said_of(narrow))
    over = beds[0].outline.centroid
    line = LineString([(over.x - 50, over.y - 50), (over.x + 50, over.y + 50)])
    (said,) = pages(
        field, plot, beds, others=[("overhead line", line, {"height_m": 8.0})]
    )
    assert caution in said
    assert "no hoops, long pipes or tall tools" in said


def test_a_walked_field_asks_for_lengths_and_prints_no_peg():
    """A field of 40 by 20 m: its corners have their names where they lie, and no others."""
    outline = box(0, 0, 40, 20)
    wanted = (("Home north-west", "Home south-east"),)
    field = FieldPegs("A", "Home", (0.0, 0.0), wanted=wanted)
    nothing = gpd.GeoDataFrame({"kind": [], "name": []}, geometry=[], crs=32633)
    plots = gpd.GeoDataFrame({"name": ["Home"]}, geometry=[outline], crs=32633)
    drawn = SitePlan(plots, nothing, (), (), (), None, 0.0, "metric", 180.0, 250.0)
    heading, text, caution, drawing, lines = to_tape.blocks(drawn, field)
    assert "Home: measure" in heading.text
    assert "Set a post at each corner" in text.text
    assert "metres" not in text.text  # which a sheet in feet has not
    assert "utility locating service has marked" in caution.text
    assert lines.items == ("Home north-west – Home south-east",)
    at = {
        name: (float(x), float(y))
        for x, y, name in re.findall(
            r'<text x="([^"]+)" y="([^"]+)"[^>]*>(Home[^<]*)<', drawing.svg
        )
    }
    assert set(at) == {"Home north-west", "Home south-east"}
    west, east = at["Home north-west"], at["Home south-east"]
    assert west[0] < east[0]
    assert west[1] < east[1]  # down the paper


def test_what_is_taped_along_the_outline_is_seen_there_and_far_gates_are_not():
    """The west side is a way to tape: its dashes lie on a line that is much thinner."""
    outline = box(0, 0, 40, 20)
    field = FieldPegs(
        "A", "Home", (0.0, 0.0), wanted=(("Home north-west", "Home south-west"),)
    )
    plots = gpd.GeoDataFrame({"name": ["Home"]}, geometry=[outline], crs=32633)

    def drawn(*gates):
        there = gpd.GeoDataFrame(
            {"kind": ["gate"] * len(gates)}, geometry=[*gates], crs=32633
        )
        site = SitePlan(plots, there, (), (), (), None, 0.0, "metric", 180.0, 250.0)
        return to_tape.blocks(site, field)[3].svg

    widths = {
        bool(dashes): float(width)
        for width, dashes in re.findall(
            r'<path[^>]*stroke-width="([^"]+)"( stroke-dasharray)?', drawn()
        )
    }
    assert widths[True] > 2 * widths[False]
    assert drawn(Point(0, 10)) != drawn()
    assert drawn(Point(-500, 10)) == drawn()


def test_each_walked_field_has_its_words_and_its_drawing_on_one_page():
    names = ("Home", "Away")
    plots = gpd.GeoDataFrame(
        {"name": names}, geometry=[box(0, 0, 40, 20), box(90, 0, 130, 20)], crs=32633
    )
    nothing = gpd.GeoDataFrame({"kind": [], "name": []}, geometry=[], crs=32633)
    fields = [
        FieldPegs(
            letter,
            name,
            (0.0, 0.0),
            wanted=((f"{name} north-west", f"{name} south-east"),),
        )
        for letter, name in zip("AB", names, strict=True)
    ]
    stakes = SimpleNamespace(fields=fields)
    site = SitePlan(plots, nothing, (), (), (), stakes, 0.0, "metric", 180.0, 250.0)
    kinds = [type(each).__name__ for each in crew._fields(site, {}, 30.0)]
    page = ["Heading", "Text", "Text", "Drawing", "Lines"]
    assert kinds == [*page, "NewPage", *page]


def test_pegs_in_a_row_stand_each_on_a_line_of_its_own():
    """Pegs 5 to 8 stand on the string of the near end of a wide bay."""
    field, *_ = pegs_of(wide)
    said = peg_sheet._pegs(field, "metric")
    text = ["".join(part.text for part in step.said) for step in said]
    assert len(text) < len(field.steps) - 3
    row = next(line for line in text if "Stretch a string from peg" in line)
    pulled, *lines = row.split("\n")
    assert pulled.endswith("Put these pegs along it:")
    inner = field.bays[0].rows[0][1:-1]
    for number, line in zip(inner, lines, strict=True):
        taped = pegging.taped(field.pegs[number].ties[0].length_m, "metric")
        assert line.startswith(f"peg {number}: {taped}\xa0cm from ")


def test_a_line_is_pulled_from_peg_to_peg_along_both_ends():
    """Of a bay in sections the line is pulled once for each; a single bed has none."""
    field, *_ = pegs_of(wide)
    bay = field.bays[0]
    near, far = bay.rows[0], bay.rows[-1]
    said = peg_sheet._of_bay(bay)
    assert said.startswith(f"{bay.beds[0]} to {bay.beds[-1]}: pegs {near[0]} → ")
    assert said.count("→") == len(near) + len(far) - 2 > 2
    assert said.endswith(f"→ {near[-1]}, then {' → '.join(map(str, far))}")
    alone = replace(bay, beds=("A0",), rows=((7,), (9,)))
    assert peg_sheet._of_bay(alone) == "A0: pegs 7 → 9"
    assert "Look from the first peg to the second" in peg_sheet._ends(
        alone, field, "metric"
    )


def test_alike_landmarks_are_distinguished():
    field = pegged(*narrow(rough(1)), rough(1))
    first = field.landmarks[0]
    assert pegging.landmark(first).endswith("corner")
    second = pegging.landmark(first._replace(nth=2))
    assert second == f"{pegging.landmark(first)}, no. 2"


def test_the_stick_shows_a_path_though_the_first_bed_stands_alone():
    """Beds of 75 with paths of 45: bed and path are 120."""
    field, *_ = pegs_of(narrow)
    alone = replace(field.bays[0], beds=("A0",), path_m=0.0)
    *_lines, stick = peg_sheet._gauges(
        replace(field, bays=(alone, *field.bays)), [], 182.0, "metric"
    )
    assert "bed + path" in stick.svg
    assert ">120<" in stick.svg
    *_lines, stick = peg_sheet._gauges(
        replace(field, bays=(alone,)), [], 182.0, "metric"
    )
    assert "bed + path" not in stick.svg


def test_pegs_that_would_hide_each_other_stand_apart_on_lines():
    """Five pegs within a millimetre of paper, and one far off that stays."""
    drawn = TapeDrawing((0, 0, 40, 40), (100.0, 100.0))
    pegs = [((20 + 0.1 * n, 20.0), str(n), False) for n in range(5)]
    drawn.discs([*pegs, ((5.0, 5.0), "9", False)])
    svg = drawn.drawing("pegs").svg
    discs = re.findall(r'cx="([\d.]+)" cy="([\d.]+)" r="3.0"', svg)
    at = [(float(x), float(y)) for x, y in discs]
    assert len(at) == 6
    for number, (x, y) in enumerate(at):
        for other_x, other_y in at[:number]:
            assert (x - other_x) ** 2 + (y - other_y) ** 2 >= (2 * 3.0) ** 2
    # A line and a dot for each that stands aside: all of the five but the first.
    assert svg.count('r="0.7"') >= 4
    assert drawn.at((5.0, 5.0)) == pytest.approx(at[-1])


def test_numbers_of_lengths_and_pegs_do_not_cover_each_other():
    """Four lines of 30 m out of one corner, a degree apart, and a peg on one of them."""
    drawn = TapeDrawing((0, 0, 40, 40), (100.0, 100.0))
    drawn.keep_free([((20.0, 2.0), False)])
    for north in (2.0, 2.5, 3.0, 3.5):
        drawn.length(((2.0, 2.0), (32.0, north)), f"30{north:.0f}")
    svg = drawn.drawing("tapes").svg
    places = re.findall(r"translate\(([\d.]+) ([\d.]+)\)", svg)
    written = [(float(x), float(y)) for x, y in places]
    assert 1 <= len(written) < 4
    peg = drawn.at((20.0, 2.0))
    for number, (x, y) in enumerate(written):
        # Letters of 4.2 mm are half as wide as high: four of them take 8.4 mm.
        for other_x, other_y in [*written[:number], peg]:
            assert abs(x - other_x) >= 4.2 or abs(y - other_y) >= 4.2


def test_no_line_that_is_measured_runs_through_a_number():
    """Of several lengths along one string a longer one would cross out a shorter one."""
    field, plot, beds = pegs_of(narrow)
    shown = drawn(field, plot, beds)
    svg = peg_sheet.sheet(shown, field, 30.0, []).drawing.svg
    first = svg.index('<g transform="translate(')
    assert 'stroke-dasharray="' in svg[:first]
    assert 'stroke-dasharray="' not in svg[first:]


def test_buried_lines_are_marked_before_the_first_peg_is_hammered():
    """Locating services ask to be called before stakes too (common practice, no source)."""
    (said,) = said_of(narrow)
    warned = said.index(
        "Hammer in pegs only after the utility locating service has marked"
    )
    assert warned < said.index("from peg 1 ")


def set_by_tape(number, **more):
    """A field of which a number of pegs are set by tape."""
    pegs = (
        Peg(each, "corner", (0.0, 0.0), (), None, 0.0, 0.0)
        for each in range(1, number + 1)
    )
    return FieldPegs("A", "Home", (0.0, 0.0), steps=tuple(pegs), **more)


def test_the_map_asks_for_as_many_pegs_as_the_sheet():
    """Twelve beds have 48 corners; tapes set the four of the bay, knotted lines the rest."""
    field, _plot, _beds = pegs_of(narrow)
    assert sum(peg.role == "corner" for peg in field.pegs.values()) == 4
    helpers = len(field.pegs) - 4
    by_plot = build.pegs_by_plot(["Brook", "Home"], [field])
    assert by_plot == {"Brook": 0, "Home": 48 + helpers}
    on_sheet = peg_sheet._outfit(field, 30.0, "metric")[-1]
    assert on_sheet == f"{by_plot['Home']} pegs with caps"


def test_pegs_are_counted_by_hand_with_those_within_long_beds():
    """Two beds side by side of two sections each have 8 ends.

    Their bay has a row of pegs at either end and one between (3, 4), a mark on a string (1)
    and no tunnel: 8 + 3 = 11 pegs to bring, and 3 to pull out again.
    """
    bay = SimpleNamespace(beds=("A1", "A2"), rows=((2, 5), (3, 4), (6, 7)))
    field = set_by_tape(7, bays=(bay,))
    assert field.not_at_corners == [1, 3, 4]
    assert peg_sheet._outfit(field, 30.0, "metric")[-1] == "11 pegs with caps"


def test_the_corners_of_a_tunnel_stay():
    tunnel = SimpleNamespace(corners=(1, 2, 3, 4))
    field = set_by_tape(5, tunnels=(tunnel,))
    assert field.not_at_corners == [5]
    assert field.pegs_to_bring == 5


def test_a_key_explains_the_signs_of_the_drawing_and_no_others():
    """The line passes 15 m from the near end of beds, the pond lies 500 m off."""
    field, _plot, beds = pegs_of(narrow)
    near = LineString([at(-50, 55), at(200, 55)])
    things = [("overhead line", near), ("water", Point(at(900, 900)).buffer(5.0))]
    words = [entry.word for entry in peg_drawing.signs(field, beds, things)]
    assert words[:3] == ["fixed point", "peg", "bed"]
    assert "overhead power line" in words
    assert "water" not in words
    assert "walk-in tunnel" not in words
    said = " ".join(said_of(narrow))
    assert all(word in said for word in ("fixed point", "peg", "bed", "tape"))
    svg = key.drawing(list(peg_drawing.signs(field, beds, things)), 60.0, "").svg
    # Rows of 6 mm: what does not fit goes on in the next one.
    heights = {float(y) for y in re.findall(r'<text x="11.00" y="([\d.]+)"', svg)}
    assert heights == {3.9 + 6.0 * row for row in range(len(heights))}
    assert len(heights) > 1


def texts_at(svg):
    """Where each text of a drawing stands, from the left [mm]."""
    found = re.findall(r'<text x="([\d.]+)"[^>]*>([^<]+)</text>', svg)
    return {text: float(x) for x, text in found}


def test_a_word_on_the_stick_keeps_off_the_line_of_the_next_mark():
    """Marks at 135 and 150 cm of 150: the words lie to the left of the last line.

    Letters are taken as .27 of 3.8 mm on each side of the middle, and .8 mm between.
    """
    marks = [(0.75, "cama"), (1.35, "cama + pasillo"), (1.5, "de arco a arco")]
    svg = knots.stick("Vara", marks, 188.0, "metric").svg
    at = texts_at(svg)
    half_mm = 0.27 * 3.8 * len("cama + pasillo") + 0.8
    assert at["cama + pasillo"] + half_mm <= at["150"] + 0.01
    assert at["cama + pasillo"] < at["135"]
    assert at["cama"] == at["75"]
