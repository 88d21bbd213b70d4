"""The drawn map on a page of its own: what is where, keys, looks, and pictures of it."""

import base64
import io
import math
from pathlib import Path
from types import SimpleNamespace

import made_up_farm
import numpy as np
import pytest
from bare_map import page
from browser import Page
from PIL import Image

from fieldmap.model.surroundings import KINDS
from fieldmap.show.text.map.signs import KINDS as SIGN_WORDS

BEDS = 160
HOOPED = 41  # of these beds the one with hoops, from 10 to 20 m of its 30
WINDOW = {"viewport": {"width": 800, "height": 600}}
PICTURES = Path(__file__).parent / "drawings"
BEYOND = [-400.0, -400.0, 400.0, 400.0]  # of the whole farm [m]
# Pictures are compared by the mean of squares of 20 pixels, where letters hardly weigh.
SQUARES = (40, 30)
KEEP = False  # True: pictures are kept anew, to be looked at before they are committed
MOST_OFF, MOST_OFF_ANYWHERE = 2.5, 26.0  # of 255, mean and worst


@pytest.fixture(scope="module")
def shown(browser, tmp_path_factory):
    path = tmp_path_factory.mktemp("drawing") / "map.html"
    hoops = SimpleNamespace(bed=f"1-{HOOPED + 1}", hoops_m=tuple(range(10, 21)))
    scene = made_up_farm.scene_of(BEDS, 2.2, low_tunnels=[hoops])
    seen = {"kind": "mark", "name": "white at dawn"}
    scene["sets"]["marks"] = [scene["plots"][1] | seen]
    path.write_text(page(scene), "utf-8")
    opened = Page(browser, path, **WINDOW)
    yield opened
    opened.close()


@pytest.fixture
def field(shown):
    """Asks the drawing, which shows the whole place by day again."""

    def ask(script, given=None):
        return shown.page.evaluate(
            f"(given) => {{ const {{ field, map }} = window.fieldmap; return {script}; }}",
            given,
        )

    ask("field.show(given)", made_up_farm.dates(BEDS))
    ask("document.activeElement.blur()")
    ask("field.choose(null)")
    ask("field.look('day')")
    ask("field.inset({ left: 0, top: 0, right: 0, bottom: 0 })")
    ask("field.whole()")
    return ask


# ---- What is where


def test_every_bed_is_found_where_it_was_laid(field):
    wrong = field(
        """Array.from({ length: given }, (_, bed) => {
          const end = field.leaderEnd(field.bed(bed));
          return field.at(map.containerPointToLatLng(end));
        }).filter((thing, bed) => !thing || thing.kind !== "bed" || thing.index !== bed).length""",
        BEDS,
    )
    assert wrong == 0


def test_a_touch_takes_beds_plots_and_things_and_nothing_off_them(field):
    assert field("field.at(map.containerPointToLatLng([2, 300]))") is None
    named = ("Tap", "Drain Field", "Long Hedge", "Power Line", "Old Spruce")
    for name in named:
        thing = field("field.find(given)[0]", name)
        assert (
            field("field.at(map.containerPointToLatLng(field.leaderEnd(given)))", thing)
            == thing
        )
        assert thing["kind"] == "thing"
    # The second plot has beds in its upper half alone.
    box = field("field.boxOf(field.find('Plot 2')[0])")
    bare = [(box["left"] + box["right"]) / 2, box["bottom"] - 10]
    assert field("field.at(map.containerPointToLatLng(given))", bare)["kind"] == "plot"


def test_a_bed_knows_what_a_question_outlines_around_it(field):
    script = "[3, 120].map((bed) => field.outlining('mark', field.bed(bed)))"
    assert field(script) == [[], []]
    field("field.show(given)", made_up_farm.dates(BEDS) | {"extras": ["marks"]})
    # Beds 100 and on lie in the second plot.
    assert field(script) == [[], ["white at dawn"]]


@pytest.mark.parametrize(
    ("typed", "first"),
    [("1-27", "1-27"), ("plot 2", "Plot 2"), ("tap", "Tap"), ("PLOT 1", "Plot 1")],
)
def test_things_are_found_by_name_whatever_the_case(field, typed, first):
    assert field("field.find(given)[0].name", typed) == first


def test_nothing_is_found_for_nothing(field):
    assert field("field.find('  ')") == []
    assert field("field.find('no such bed')") == []


def test_a_box_about_a_bed_lies_off_it_and_inside_the_window(field):
    field("field.inset({ left: 100, top: 0, right: 0, bottom: 0 })")
    bed = field("field.bed(60)")
    spot = field("field.freeSpot(220, 120, given)", bed)
    box = field("field.boxOf(given)", bed)
    apart = (
        spot["left"] >= box["right"]
        or spot["left"] + 220 <= box["left"]
        or spot["top"] >= box["bottom"]
        or spot["top"] + 120 <= box["top"]
    )
    assert apart
    assert 100 <= spot["left"] <= 800 - 220
    assert 0 <= spot["top"] <= 600 - 120


def test_there_is_no_room_for_a_box_as_large_as_the_window(field):
    assert field("field.freeSpot(790, 590, field.bed(60))") is None


# ---- Words


def apart(one, other):
    """How far two boxes are from each other in pixels."""
    across = max(one["left"] - other["right"], other["left"] - one["right"], 0)
    down = max(one["top"] - other["bottom"], other["top"] - one["bottom"], 0)
    return np.hypot(across, down)


@pytest.fixture(scope="module")
def crowded(browser, tmp_path_factory):
    """Nine plots of a hectare on the map of a small phone."""
    path = tmp_path_factory.mktemp("crowded") / "map.html"
    path.write_text(page(made_up_farm.scene_of(900, 9)), "utf-8")
    opened = Page(browser, path, viewport={"width": 360, "height": 270})
    yield opened
    opened.close()


def test_on_a_small_phone_no_plot_is_nameless_and_each_name_is_nearest_to_its_own(
    crowded,
):
    names = {f"Plot {number}" for number in range(1, 10)}
    words = {
        each["text"]: each for each in crowded.page.evaluate("fieldmap.field.words()")
    }
    plots = {
        name: crowded.page.evaluate(
            "name => fieldmap.field.boxOf(fieldmap.field.find(name)[0])", name
        )
        for name in names
    }
    assert set(words) == names
    for name, box in words.items():
        assert min(plots, key=lambda plot: apart(box, plots[plot])) == name


def test_the_name_of_a_plot_that_is_partly_seen_stands_on_it_or_nearer_to_it(field):
    # The second plot fills the window but for a strip of the first one.
    field("(field.goTo(field.find('Plot 2')[0]), field.repaint())")
    words = [each for each in field("field.words()") if each["text"].startswith("Plot")]
    plots = {
        each: field("field.boxOf(field.find(given)[0])", each)
        for each in ("Plot 1", "Plot 2")
    }
    assert words
    for each in words:
        other = next(name for name in plots if name != each["text"])
        assert apart(each, plots[each["text"]]) < apart(each, plots[other])


def test_what_grows_is_said_of_few_runs_those_first_that_matter_most(field):
    runs = [
        {
            "beds": [bed, bed + 1],
            "text": f"crop {bed}",
            "sub": "two beds",
            "first": bed == 80,
        }
        for bed in range(0, 150, 4)
    ]
    field("field.show(given)", made_up_farm.grows(BEDS) | {"callouts": runs})
    said = [each for each in field("field.words()") if each["text"].startswith("crop")]
    assert 2 <= len(said) <= 10
    assert "crop 80 two beds" in [each["text"] for each in said]
    for each in said:
        assert all(apart(each, other) > 0 for other in said if other is not each)


def test_a_number_stands_at_the_end_of_its_bed_towards_the_gate_and_nearest_to_it(
    field,
):
    """Beds lie end to end in pairs, from west to east; the gate lies west of them."""
    beds = (1, 20, 41, 62, 91)
    numbered = [{"bed": bed, "n": n} for n, bed in enumerate(beds, 1)]
    field("field.show(given)", made_up_farm.grows(BEDS) | {"numbered": numbered})
    boxes = field(
        "Array.from({ length: given }, (_, bed) => field.boxOf(field.bed(bed)))", BEDS
    )
    words = {each["text"]: each for each in field("field.words()")}
    for n, bed in enumerate(beds, 1):
        at = words[str(n)]
        x, y = (at["left"] + at["right"]) / 2, (at["top"] + at["bottom"]) / 2
        away = [
            math.hypot(
                max(box["left"] - x, x - box["right"], 0),
                max(box["top"] - y, y - box["bottom"], 0),
            )
            for box in boxes
        ]
        assert away[bed] <= min(away) + 0.1  # a tenth of a pixel
        assert x < (boxes[bed]["left"] + boxes[bed]["right"]) / 2


def test_no_number_hides_another(field):
    """A hundred neighbours a metre or so apart."""
    numbered = [{"bed": bed, "n": bed + 1} for bed in range(100)]
    field("field.show(given)", made_up_farm.grows(BEDS) | {"numbered": numbered})
    said = [each for each in field("field.words()") if each["text"].isdigit()]
    assert said[0]["text"] == "1"
    for each in said:
        assert all(apart(each, other) > 0 for other in said if other is not each)


@pytest.mark.parametrize(
    ("start", "end", "crosses"),
    [((-5, 5), (15, 5), True), ((-5, 5), (-1, 20), False), ((2, 2), (8, 8), False)],
)
def test_a_line_crosses_an_outline_and_not_one_beside_or_around_it(
    field, start, end, crosses
):
    """A square of 10 by 10, on a canvas of a pixel to a metre."""
    level = "{ x: (east) => east, y: (north) => north }"
    square = "{ rings: [[0, 0, 10, 0, 10, 10, 0, 10, 0, 0]] }"
    ends = [{"x": x, "y": y} for x, y in (start, end)]
    assert (
        field(f"fieldClear.overOutline({level}, {square}, ...given)", ends) == crosses
    )


# ---- The window


def test_the_whole_place_lies_beside_what_words_cover(field):
    field("field.inset({ left: 300, top: 0, right: 0, bottom: 0 })")
    field("field.whole()")
    boxes = [
        field("field.boxOf(field.find(given)[0])", name)
        for name in ("Plot 1", "Plot 2")
    ]
    assert min(box["left"] for box in boxes) >= 300
    assert max(box["right"] for box in boxes) <= 800
    assert min(box["top"] for box in boxes) >= 0
    assert max(box["bottom"] for box in boxes) <= 600


def test_closer_than_a_bed_that_fills_the_window_there_is_nothing(field):
    field("map.setZoom(99, { animate: false })")
    ground = field(
        "map.distance(map.containerPointToLatLng([0, 300]), map.containerPointToLatLng([800, 300]))"
    )
    assert 15 < ground < 25


def test_a_bed_that_is_chosen_out_of_view_comes_into_view(field):
    field("map.setZoom(22, { animate: false })")
    field("field.choose(field.bed(159))")
    end = field("field.leaderEnd(field.bed(159))")
    assert 0 <= end["x"] <= 800
    assert 0 <= end["y"] <= 600


# ---- By keys and aloud


def test_keys_go_from_bed_to_bed_and_each_is_said(field, shown):
    walk = shown.page.locator(".field-walk")
    said = shown.page.locator(".field-said")
    heard = []
    shown.page.evaluate(
        "window.heard = []; window.fieldmap.field.onChoose((thing) => window.heard.push(thing && thing.name))"
    )
    walk.focus()
    for key in ("Home", "ArrowRight", "ArrowDown", "ArrowLeft", "End", "PageUp"):
        shown.page.keyboard.press(key)
        heard.append(said.text_content())
    assert heard == [
        "1-1, Plot 1",
        "1-2, Plot 1",
        "1-3, Plot 1",
        "1-2, Plot 1",
        "2-60, Plot 2",
        "2-50, Plot 2",
    ]
    shown.page.keyboard.press("Enter")
    assert shown.page.evaluate("window.heard") == ["2-50"]
    assert walk.get_attribute("role") == "button"
    assert walk.get_attribute("aria-label") == "2-50, Plot 2"
    shown.page.keyboard.press("Escape")
    assert shown.page.evaluate("window.heard") == ["2-50", None]


def test_the_canvas_says_nothing_and_takes_no_touch(shown):
    for canvas in shown.page.locator("canvas").all():
        assert canvas.get_attribute("aria-hidden") == "true"


def test_drawing_asks_no_network_and_leaves_no_word_in_the_console(field, shown):
    assert shown.outside_requests() == []
    assert shown.complaints == []


# ---- Pictures


def picture(shown):
    return Image.open(io.BytesIO(shown.page.screenshot())).convert("RGB")


def squares(image):
    return np.asarray(image.resize(SQUARES, Image.Resampling.BOX)).astype(float)


@pytest.mark.parametrize(
    ("name", "asked", "closer", "look"),
    [
        ("dates", made_up_farm.dates, 0, "day"),
        ("far", made_up_farm.dates, -1.5, "day"),
        ("grows", made_up_farm.grows, 1, "day"),
        ("night", made_up_farm.grows, 0, "night"),
        ("paper", made_up_farm.dates, 2, "print"),
    ],
)
def test_pictures_are_as_they_were_looked_at(field, shown, name, asked, closer, look):
    field("field.show(given)", asked(BEDS))
    field("field.look(given)", look)
    field("map.setMinZoom(0)")
    field("map.setZoom(map.getZoom() + given, { animate: false })", closer)
    now, file = picture(shown), PICTURES / f"{name}.png"
    if KEEP:
        file.parent.mkdir(exist_ok=True)
        now.resize((200, 150), Image.Resampling.LANCZOS).quantize(64).save(
            file, optimize=True
        )
    kept = Image.open(file).convert("RGB")
    off = np.abs(squares(now) - squares(kept)).mean(axis=2)
    assert off.mean() < MOST_OFF
    assert off.max() < MOST_OFF_ANYWHERE


def colours_of(shown, box):
    image = np.asarray(picture(shown))
    return image[
        int(box["top"]) : int(box["bottom"]), int(box["left"]) : int(box["right"])
    ]


def test_from_afar_no_bed_is_lost_between_pixels(field, shown):
    # Beds of .75 m with paths of .45 m drawn one by one at under a pixel each would leave
    # bands of ground; runs of one value are one even area.
    same = {"kind": "ramp", "ramp": "dates", "codes": [127] * BEDS}
    looked_at = 0
    for farther in (-0.75, -1.0, -1.25, -1.5, -1.75):
        field("field.show(given)", {"key": "same", "beds": same})
        field("field.whole()")
        field("map.setMinZoom(0)")
        field("map.setZoom(map.getZoom() + given, { animate: false })", farther)
        if (
            field(
                "map.distance(map.containerPointToLatLng([0, 300]), map.containerPointToLatLng([800, 300]))"
            )
            < 800 / 2.5
        ):
            continue
        low, high = (
            field("field.boxOf(field.bed(20))"),
            field("field.boxOf(field.bed(60))"),
        )
        inner = {
            "left": low["left"] + 3,
            "right": low["left"] + 12,
            "top": low["top"] + 2,
            "bottom": high["bottom"] - 2,
        }
        red = colours_of(shown, inner)[..., 2].astype(float)
        looked_at += 1
        # But for lines of height, which cross it faintly.
        assert np.percentile(red, 90) - np.percentile(red, 10) < 14
    assert looked_at >= 3


def test_hoops_stand_on_the_part_of_a_bed_that_is_covered(field, shown):
    """Eleven hoops on the middle third of a bed, and none on the others.

    A bed 30 m long is drawn as three thirds; a line of ink across one is darker than the
    half of white.
    """
    names = ("", "hoops")
    codes = made_up_farm.kinds(names, [names[at == HOOPED] for at in range(BEDS)])
    bars = {"kind": "pattern", "names": names, "codes": codes}
    field("field.show(given)", {"key": "build", "beds": bars, "extras": ["hoops"]})
    field("map.setZoom(map.getZoom() + 1, { animate: false })")
    field("field.choose(field.bed(given))", HOOPED)
    field("field.choose(null)")
    box = field("field.boxOf(field.bed(given))", HOOPED)
    middle = (box["top"] + box["bottom"]) / 2
    third = (box["right"] - box["left"]) / 3
    dark = []
    for at in range(3):
        left = box["left"] + at * third + 4
        strip = {"left": left, "right": left + third - 8}
        strip |= {"top": middle - 1, "bottom": middle + 1}
        ink = colours_of(shown, strip).astype(float).mean(axis=(0, 2)) < 160
        dark.append(int(np.count_nonzero(np.diff(ink.astype(int)) == 1)))
    # The first and the last hoop stand on the edges of their third.
    assert dark[0] == dark[2] == 0
    assert 8 <= dark[1] <= 11


def code_254(scene_box):
    """A picture of the ground that has the last colour of its ramp everywhere."""
    kept = io.BytesIO()
    Image.new("RGBA", (4, 4), (254, 0, 0, 255)).save(kept, "PNG")
    uri = "data:image/png;base64," + base64.b64encode(kept.getvalue()).decode()
    none = {"starts": base64.b64encode(bytes(4)).decode(), "points": "", "unit": 1}
    return {
        "picture": {"uri": uri, "box": scene_box, "edge": []},
        "ramp": "wet",
        "lines": none,
        "said": [],
    }


def test_within_beds_that_a_question_outlines_the_ground_keeps_its_colour(field, shown):
    """The dark end of the ramp of water, as its list of colours has it; paper is not."""
    asked = {"key": "water", "beds": {"kind": "plain"}, "ground": code_254(BEYOND)}
    shades = []
    for outlined in ([], list(range(20, 60))):
        field("field.show(given)", asked | {"outlined": outlined})
        field("field.read(given)", asked["ground"]["picture"]["uri"])
        field("field.repaint()")
        box = field("field.boxOf(field.bed(40))")
        middle = {
            "left": (box["left"] + box["right"]) / 2 - 12,
            "right": (box["left"] + box["right"]) / 2 + 12,
            "top": box["top"] + 1,
            "bottom": box["bottom"] - 1,
        }
        shades.append(colours_of(shown, middle).astype(float).mean())
    assert shades[1] == pytest.approx(shades[0], abs=6)


def test_which_way_is_downhill_is_said_though_beds_fill_the_window(field):
    field("field.goTo(field.find('Plot 1')[0])")
    words = field(
        """(() => {
            map.setZoom(map.getZoom() + 1, { animate: false });
            const said = [];
            const fill = CanvasRenderingContext2D.prototype.fillText;
            CanvasRenderingContext2D.prototype.fillText = function (text, ...where) {
                said.push(text);
                return fill.call(this, text, ...where);
            };
            field.repaint();
            CanvasRenderingContext2D.prototype.fillText = fill;
            return said;
        })()"""
    )
    assert "downhill" in words


def test_a_still_image_of_the_map_has_the_size_that_is_asked_for(field):
    address = field(
        "field.toImage({ width: 300, height: 200, ratio: 2, look: 'print' })"
    )
    image = Image.open(io.BytesIO(base64.b64decode(address.split(",", 1)[1])))
    assert image.size == (600, 400)
    assert len(image.convert("RGB").resize((60, 40)).getcolors(2400)) > 20


def test_every_kind_of_surroundings_has_a_shape_of_its_own_in_the_list_of_signs(field):
    """Without one its picture in the list would be that of a line."""
    drawn = (*KINDS, "plot", "mark", "gone", "new", "aside", "evergreen")
    assert [each for each in drawn if not field("fieldSigns.has(given)", each)] == []
    assert not field("fieldSigns.has(given)", "no such kind")


def test_every_sign_that_has_a_word_is_drawn_for_its_list(field):
    """Beds, tunnels and pegs are drawn by their own names; a number is written."""
    plain = field("field.swatch('no such kind', 44, 22).toDataURL()")
    drawn = {
        each: field("field.swatch(given, 44, 22).toDataURL()", each)
        for each in SIGN_WORDS
        if each not in ("number", "bed")
    }
    assert [each for each, picture in drawn.items() if picture == plain] == []


# ---- What words keep off


def test_shapes_sorted_by_where_they_lie_are_found_as_without_sorting(field):
    """Of 300 boxes drawn at random some touch one of 80 squares, and some none."""
    found = field(
        """(() => {
          let seed = 7;
          const random = () => { seed = (seed * 16807) % 2147483647; return seed / 2147483647; };
          const square = () => {
            const [x, y, r] = [500 * random(), 500 * random(), 1 + 14 * random()];
            const ring = Float32Array.from([x - r, y - r, x + r, y - r, x + r, y + r, x - r, y + r, x - r, y - r]);
            return { form: "area", rings: [ring], box: [x - r, y - r, x + r, y + r] };
          };
          const plain = Array.from({ length: 80 }, square);
          const sorted = fieldClear.sorted([...plain]);
          const view = new fieldFrame.View(1, 0, 500, 500, 500, 1);
          const wrong = [], touched = [0, 0];
          for (let turn = 0; turn < 300; turn += 1) {
            const [left, top] = [520 * random() - 10, 520 * random() - 10];
            const box = { left, top, right: left + 30, bottom: top + 12 };
            const own = plain[turn % 80];
            const one = fieldClear.off({ view }, box, plain, own);
            touched[Number(one)] += 1;
            const same = one === fieldClear.off({ view }, box, sorted, own) &&
              fieldClear.anyNearer(view, box, plain, own, 9) === fieldClear.anyNearer(view, box, sorted, own, 9);
            if (!same) wrong.push(box);
          }
          return [wrong.length, ...touched];
        })()"""
    )
    wrong, on, off = found
    assert wrong == 0
    assert on > 20
    assert off > 20
