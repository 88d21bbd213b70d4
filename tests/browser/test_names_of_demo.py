"""Names of the demo's plots on a phone: what they keep off."""

import io

import pytest
from browser import DESKTOP, PHONE, READY, Page, ask, painted, wait_until
from PIL import Image, ImageColor

from fieldmap.show.layer_styles import DAY

PLOTS = ["Top Field", "Shelf", "Brook Piece", "Barn Garden"]
KEYS = ("early", "cold", "what-if", "sun", "steep", "water", "tunnels")
SMALL = PHONE | {"viewport": {"width": 360, "height": 640}}
# Where the barn and its tap are drawn.
BOXES = """() => ['Barn', 'Barn Tap'].map(name => {
  const { field } = fieldmap;
  return field.boxOf(field.find(name).find(each => each.kind === 'thing' && each.name === name));
})"""

# The sign of the tree that is green all year.
TREE = """() => {
  const { field } = fieldmap;
  const scene = JSON.parse(document.getElementById('fieldmap-scene').textContent);
  const index = scene.things.findIndex(each => each.kind === 'tree' && each.evergreen);
  const box = field.boxOf({ kind: 'thing', index, name: '' });
  const [x, y] = [(box.left + box.right) / 2, (box.top + box.bottom) / 2];
  return { left: x - 6, right: x + 6, top: y - 6, bottom: y + 6 };
}"""
DROP = ImageColor.getrgb(DAY.water_ink)


def overlap(one, other):
    return (
        one["left"] < other["right"]
        and other["left"] < one["right"]
        and one["top"] < other["bottom"]
        and other["top"] < one["bottom"]
    )


@pytest.fixture(params=[PHONE, SMALL], ids=["390 by 844", "360 by 640"], scope="module")
def page(request, browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **request.param)
    yield shown.page
    shown.close()


def test_names_of_plots_keep_off_buildings_and_taps(page):
    for key in ("early", "cold", "sun", "steep", "tunnels"):
        ask(page, key)
        things = page.evaluate(BOXES)
        assert len(things) == 2
        words = page.evaluate("fieldmap.field.words()")
        names = [each for each in words if each["text"] in PLOTS]
        assert {each["text"] for each in names} == set(PLOTS), key
        hidden = [
            name["text"] for name in names for thing in things if overlap(name, thing)
        ]
        assert hidden == [], key


def test_nothing_is_drawn_over_the_tap(browser, planned_demo):
    """Its middle has the colour of its drop: no arrow and no words lie there."""
    shown = Page(browser, planned_demo / "plan" / "map.html", **PHONE)
    page = shown.page
    for key in ("early", "grows", "water", "tunnels", "materials"):
        ask(page, key)
        painted(page)
        _barn, tap = page.evaluate(BOXES)
        at = page.locator(".map-box").bounding_box()
        shot = Image.open(io.BytesIO(page.locator(".map-box").screenshot(scale="css")))
        assert abs(shot.width - at["width"]) <= 1
        middle = (round((tap["left"] + tap["right"]) / 2), round(tap["top"] + 2))
        found = shot.convert("RGB").getpixel(middle)
        off = [abs(one - other) for one, other in zip(found, DROP, strict=True)]
        assert max(off) <= 30, key
    shown.close()


def test_words_of_crops_hide_no_evergreen(browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **DESKTOP)
    page = shown.page
    page.clock.set_fixed_time("2026-12-01T12:00")
    page.reload()
    wait_until(page, READY)
    ask(page, "grows")
    painted(page)
    tree = page.evaluate(TREE)
    words = page.evaluate("fieldmap.field.words()")
    assert any("kale" in each["text"] for each in words)
    assert [each["text"] for each in words if overlap(each, tree)] == []
    shown.close()


# Distance of each name from the outline of its plot, and whether its line ends there.
OFF = """(plots) => {
  const { field } = fieldmap;
  return field.words().filter(each => plots.includes(each.text)).map(({ text, left, top, right, bottom, to }) => {
    const box = field.boxOf(field.find(text).find(each => each.kind === 'plot' && each.name === text));
    const away = Math.hypot(
      Math.max(box.left - right, 0, left - box.right), Math.max(box.top - bottom, 0, top - box.bottom));
    const led = to && to.x >= box.left && to.x <= box.right && to.y >= box.top && to.y <= box.bottom;
    return [text, away, Boolean(led)];
  });
}"""


def test_a_name_off_its_plot_has_a_line_to_it(page):
    for key in KEYS:
        ask(page, key)
        found = page.evaluate(OFF, PLOTS)
        assert {name for name, _away, _led in found} == set(PLOTS)
        # 28 px: 20 of the gap, and the line of days between a name and its plot.
        far = [name for name, away, led in found if away > 28 and not led]
        assert far == [], key


# Of each name of a plot: how far its own box lies off, and the nearest of the others.
NEAREST = """(plots) => {
  const { field } = fieldmap;
  const boxes = Object.fromEntries(plots.map(text => [text,
    field.boxOf(field.find(text).find(each => each.kind === 'plot' && each.name === text))]));
  const apart = (one, other) => Math.hypot(
    Math.max(one.left - other.right, 0, other.left - one.right),
    Math.max(one.top - other.bottom, 0, other.top - one.bottom));
  return field.words().filter(each => plots.includes(each.text)).map(word => [
    word.text, Boolean(word.to), apart(word, boxes[word.text]),
    Math.min(...plots.filter(each => each !== word.text).map(each => apart(word, boxes[each])))]);
}"""


def test_a_name_that_is_no_nearer_its_own_plot_than_another_has_a_line(page):
    for key in KEYS:
        ask(page, key)
        found = page.evaluate(NEAREST, PLOTS)
        assert len(found) == len(PLOTS)
        doubtful = [name for name, led, own, other in found if other <= own and not led]
        assert doubtful == [], key


def test_own_place_and_search_stay_within_reach_of_a_thumb(page):
    for key in ("early", "grows", "tonight", "cold"):
        ask(page, key)
        for scroll in (0, 600):
            page.evaluate("y => window.scrollTo(0, y)", scroll)
            for name in ("locate", "find-open"):
                box = page.locator(f"#{name}").bounding_box()
                assert box["y"] + box["height"] <= page.viewport_size["height"]
                assert box["height"] >= 56


def test_a_map_begins_right_under_its_buttons(page):
    ask(page, "early")
    buttons = page.locator("#others").bounding_box()
    top = page.locator(".map-box").bounding_box()["y"]
    assert top - (buttons["y"] + buttons["height"]) <= 4


GROWS = "JSON.parse(document.getElementById('fieldmap-data').textContent).grows"
# What numbers on the map stand for, as it is read beside the map.
KEYED = """() => [...document.querySelectorAll('#keyed:not([hidden]) li')].map(
  each => [each.firstElementChild.innerText, each.lastElementChild.innerText])"""
FIRST, LAST = "#step-before", "#step-next"


def from_first_job(page):
    """The year from its first job on, after it is over: with no day of its own for today."""
    page.clock.set_fixed_time("2040-01-01T12:00")
    page.reload()
    wait_until(page, READY)
    ask(page, "grows")
    while page.locator(FIRST).is_enabled():
        page.locator(FIRST).click()
    return page.evaluate(GROWS)


def standing(grows, day):
    """Crops that stand on a day of the season-year, or whose cover lies ready."""
    year = 365  # one that stands into the next year stands on these days too
    return {
        grows["crops"][crop]
        for _bed, crop, first, _ready, last, covers in grows["stays"]
        for each in (day, day + year)
        if first <= each <= last or any(a <= each <= b for _kind, a, b in covers)
    }


def named(page):
    """What the map says: words, and those for which its numbers stand."""
    painted(page)
    words = [each["text"] for each in page.evaluate("fieldmap.field.words()")]
    keyed = dict(page.evaluate(KEYED))
    # Each number of the key is on the map, and none is there without the key.
    assert sorted(keyed) == sorted(each for each in words if each.isdecimal())
    return words, keyed.values()


def test_each_crop_that_stands_is_named_on_the_map_on_each_day_of_jobs(page):
    grows = from_first_job(page)
    bare, most = {}, 0
    for at, step in enumerate(grows["steps"]):
        words, keyed = named(page)
        crops = standing(grows, step["until"])
        most = max(most, len(crops))
        nameless = {
            crop
            for crop in crops
            if crop not in keyed and not any(each.startswith(crop) for each in words)
        }
        bare |= {step["shown"]: nameless} if nameless else {}
        if at + 1 < len(grows["steps"]):
            page.locator(LAST).click()
    assert page.locator(LAST).is_disabled()
    assert most >= 8
    assert bare == {}


def test_crops_inside_tunnels_have_words_with_a_line_into_the_tunnel(page):
    grows = from_first_job(page)
    wanted = {
        (grows["crops"][crop], grows["inside"][str(bed)])
        for bed, crop, *_days in grows["stays"]
        if str(bed) in grows["inside"]
    }
    assert {tunnel for _crop, tunnel in wanted} == set(grows["tunnels"])
    led = set()
    for _step in grows["steps"]:
        painted(page)
        words = page.evaluate("fieldmap.field.words()")
        for crop, tunnel in wanted - led:
            box = page.evaluate(TUNNEL, tunnel)
            ends = [each["to"] for each in words if each["to"] and crop in each["text"]]
            if any(
                box["left"] <= to["x"] <= box["right"]
                and box["top"] <= to["y"] <= box["bottom"]
                for to in ends
            ):
                led.add((crop, tunnel))
        if page.locator(LAST).is_enabled():
            page.locator(LAST).click()
    assert led == wanted


TUNNEL = """name => fieldmap.field.boxOf(
  fieldmap.field.find(name).find(each => each.kind === 'tunnel' && each.name === name))"""


def test_each_crop_that_stands_on_a_winter_day_is_named_on_the_map(page):
    starts = page.evaluate(
        "JSON.parse(document.getElementById('fieldmap-data').textContent).grows.starts"
    )
    year = int(starts[:4]) + (starts[5:] > "12-01")
    page.clock.set_fixed_time(f"{year}-12-01T12:00")
    page.reload()
    wait_until(page, READY)
    ask(page, "grows")
    answer = page.locator(".answer:visible").inner_text()
    crops = [each for each in ("kale", "spinach", "garlic") if each in answer]
    assert len(crops) >= 2
    words = [each["text"] for each in page.evaluate("fieldmap.field.words()")]
    bare = [crop for crop in crops if not any(crop in text for text in words)]
    assert bare == []
