"""How few words answer each question of the demo, before anything is opened."""

import shutil

import pytest
from browser import DESKTOP, PHONE, READY, Page, ask, painted, wait_until

from fieldmap import read as reading
from fieldmap.cache import Store
from fieldmap.plan import make_plan
from fieldmap.show.map import map_html
from fieldmap.show.text import language
from fieldmap.show.text.language import spoken
from fieldmap.show.text.map.signs import KINDS

FEWER_THAN = 60

# Figures on the scale of a ramp are read one by one, so its words do not count.
SHOWN = """() => {
  const shown = kind => document.querySelector(`.${kind}.view:not([hidden])`);
  const scale = shown('legend').querySelector('.ramp');
  return [shown('answer').innerText, shown('legend').innerText, scale ? scale.innerText : ''];
}"""


# The same at each step of a question, from the first to the last.
EACH_STEP = """async () => {
  const [before, next] = ['#step-before', '#step-next'].map(each => document.querySelector(each));
  while (!before.disabled) before.click();
  const shown = [SHOWN];
  while (!next.disabled) {
    next.click();
    shown.push(SHOWN);
  }
  return shown;
}""".replace("SHOWN", f"({SHOWN})()")


def count(shown):
    answer, legend, scale = (len(each.split()) for each in shown)
    return answer + legend - scale


@pytest.fixture(scope="module")
def in_spanish(planned_demo, tmp_path_factory):
    """The demo's map in Spanish, whose sentences are longer."""
    folder = tmp_path_factory.mktemp("words") / "demo_site"
    shutil.copytree(planned_demo, folder)
    choices = folder / "site.toml"
    choices.write_text(f'language = "es"\n{choices.read_text("utf-8")}', "utf-8")
    with spoken(language.of_site("es", "metric")):
        read = reading.read_site(folder)
        plan = make_plan(read, Store(folder / ".fieldmap"), lambda step: None)
        (folder / "map.html").write_text(map_html(plan), "utf-8")
    return folder / "map.html"


@pytest.fixture(scope="module", params=[DESKTOP, PHONE], ids=["desktop", "phone"])
def spanish_page(request, browser, in_spanish):
    shown = Page(browser, in_spanish, **request.param)
    yield shown.page
    shown.close()


@pytest.fixture(scope="module", params=[DESKTOP, PHONE], ids=["desktop", "phone"])
def page(request, browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **request.param)
    yield shown.page
    shown.close()


def words_of_views(page):
    """Words of answer and legend of each picture of each question."""
    counts = {}
    for answer in page.locator(".answer.view").all():
        view = answer.get_attribute("data-view")
        key, _slash, at = view.partition("/")
        page.evaluate("([key, at]) => fieldmap.ask(key, at)", [key, int(at)])
        counts[view] = count(page.evaluate(SHOWN))
    assert len(counts) > 20  # months and changes too
    return counts


def words_of_weeks(page):
    """The same of each week of what grows where."""
    page.evaluate("fieldmap.ask('grows', 0)")
    counts = [count(shown) for shown in page.evaluate(EACH_STEP)]
    assert len(counts) > 20
    return counts


def test_answer_and_legend_of_each_question_have_under_sixty_words(page):
    found = words_of_views(page)
    assert {key: n for key, n in found.items() if n >= FEWER_THAN} == {}


def test_each_week_of_what_grows_where_is_said_in_under_sixty_words(page):
    assert max(words_of_weeks(page)) < FEWER_THAN


def test_the_same_holds_in_spanish(spanish_page):
    found = words_of_views(spanish_page)
    assert {key: n for key, n in found.items() if n >= FEWER_THAN} == {}
    assert max(words_of_weeks(spanish_page)) < FEWER_THAN


# ---- On a small phone, what is chosen, the place and the answer are seen together


SMALL_PHONE = PHONE | {"viewport": {"width": 360, "height": 640}}


@pytest.fixture(scope="module")
def phone(browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **SMALL_PHONE)
    yield shown.page
    assert shown.outside_requests() == []
    assert shown.complaints == []
    shown.close()


@pytest.mark.parametrize("key", ["what-if", "sun", "cold"])
def test_a_choice_its_place_and_its_answer_are_seen_together(phone, key):
    ask(phone, key)
    choices = phone.locator("fieldset.folds:visible")
    button = choices.locator(".unfold")
    before = choices.locator("label:visible").inner_text()
    button.click()
    assert button.get_attribute("aria-expanded") == "true"
    other = choices.locator("label:visible:not(:has(:checked))").first
    other_said = other.inner_text()
    other.tap()
    # Folded again, with the other in place of the first.
    assert choices.locator("label:visible").all_inner_texts() == [other_said]
    assert other_said != before
    wait_until(phone, "window.scrollY === 0")
    for seen in (
        choices,
        phone.locator(".map-box"),
        phone.locator(".answer.view:visible"),
    ):
        box = seen.bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= 640


# How far each part of the legend reaches below the top of the buttons.
BELOW_BUTTONS = """() => {
  const legend = document.querySelector('.legend.view:not([hidden])');
  const top = document.querySelector('.two').getBoundingClientRect().top;
  return [...legend.querySelectorAll('.tick:is(.first, .few, .last) > span, .swatches > li')]
    .map(each => each.getBoundingClientRect()).filter(({ height }) => height)
    .map(({ bottom }) => bottom - top);
}"""


def test_no_row_of_a_legend_lies_under_the_buttons_of_a_phone(browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **PHONE)
    for question in shown.page.evaluate(DATA)["questions"]:
        if question["key"] != "tonight":
            ask(shown.page, question["key"])
            painted(shown.page)
            below = shown.page.evaluate(BELOW_BUTTONS)
            assert below, question["key"]
            assert max(below) <= 0, question["key"]
    shown.close()


def test_choices_are_large_enough_for_gloves(phone):
    for key in ("what-if", "sun", "cold"):
        ask(phone, key)
        phone.locator(".folds:visible .unfold").click()
        for each in phone.locator(".folds:visible :is(label, button):visible").all():
            assert each.bounding_box()["height"] >= 56
        phone.locator(".folds:visible .unfold").click()


# ---- Every sign has its word, one touch away

SCENE = "JSON.parse(document.getElementById('fieldmap-scene').textContent)"
DATA = "JSON.parse(document.getElementById('fieldmap-data').textContent)"
KEY = """() => {
  const texts = (part) => [...document.querySelectorAll(part)].map(each => each.innerText.trim());
  const blank = [...document.querySelectorAll('#signs canvas')].filter(canvas => {
    const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
    const pixels = new Uint32Array(data.buffer);
    return pixels.every(pixel => pixel === pixels[0]);
  });
  const legend = [...document.querySelectorAll('.legend.view:not([hidden]) .swatch')];
  return [texts('#signs li'), legend.map(swatch => swatch.dataset.kind), blank.length];
}"""


def drawn_kinds(scene, picture):
    """Kinds of what the picture of a question draws, from what the page is handed."""
    extras = [
        thing for name in picture["extras"] for thing in scene["sets"].get(name, [])
    ]
    things = [*scene["things"], *scene["plots"], *scene["tunnels"], *extras]
    kinds = {
        "evergreen"
        if each["kind"] == "tree" and each.get("evergreen")
        else each["kind"]
        for each in things
    }
    lines = {"isoline"} if picture["ground"] and picture["ground"]["said"] else set()
    air = {"air"} if "flow" in picture["extras"] else set()
    pegs = {"peg"} if "pegs" in picture["extras"] else set()
    return kinds | lines | air | pegs | {"bed", "contour"}


def test_every_sign_of_every_picture_is_named_in_its_key_or_legend(page):
    scene, data = page.evaluate(SCENE), page.evaluate(DATA)
    page.locator("#signs > summary").click()
    seen = set()
    for question in data["questions"]:
        for at, picture in enumerate(question["pictures"]):
            page.evaluate("([key, at]) => fieldmap.ask(key, at)", [question["key"], at])
            named, legend, blank = page.evaluate(KEY)
            assert blank == 0
            for kind in drawn_kinds(scene, picture):
                word = KINDS[kind]
                assert kind in legend or word in named, (question["key"], kind)
            seen |= drawn_kinds(scene, picture)
    assert {"mark", "pocket", "gone", "new", "evergreen", "tunnel"} <= seen
    page.keyboard.press("Escape")
    assert page.locator("#signs ul").is_hidden()


# ---- Signs without their name have a line beside the map, absent ones none

LINES = """() => [...document.querySelectorAll('#key li')].map(each => each.innerText.trim())"""
PLACE = """name => {
  const { field } = fieldmap;
  field.goTo(field.find(name).find(each => each.kind === 'plot' && each.name === name));
}"""


def test_signs_that_stand_without_a_name_have_a_line_beside_the_map(page):
    # The tap is a drop without a word, and the spruce stands alone.
    nameless = {KINDS["water point"], KINDS["evergreen"], KINDS["keep off"]}
    seen = {
        "early": nameless | {KINDS["tunnel"]},
        "cold": nameless | {KINDS["mark"]},
        "water": nameless | {KINDS["mark"]},
    }
    for key, signs in seen.items():
        ask(page, key)
        page.locator("#whole").evaluate("button => button.click()")
        painted(page)
        lines = page.evaluate(LINES)
        assert signs <= set(lines), key
        assert len(lines) == len(set(lines))
    ask(page, "early")
    painted(page)
    lines = page.evaluate(LINES)
    assert KINDS["mark"] not in lines
    if page.viewport_size["width"] > 760:  # where the hedge has its name
        assert KINDS["hedge"] not in lines


def test_a_sign_that_leaves_the_window_or_gets_its_name_leaves_the_lines(page):
    ask(page, "early")
    page.evaluate(PLACE, "Brook Piece")
    painted(page)
    lines = page.evaluate(LINES)
    # Barn, tap, gate and septic field lie up the hill.
    away = ("water point", "gate", "keep off", "tunnel")
    assert not {KINDS[kind] for kind in away} & set(lines)
    page.evaluate(PLACE, "Shelf")
    painted(page)
    lines = page.evaluate(LINES)
    assert KINDS["keep off"] in lines or page.viewport_size["width"] > 760
    if page.viewport_size["width"] > 760:
        assert KINDS["gate"] not in lines  # "Barn Gate" stands there


LYING_OVER = """() => {
  const key = document.querySelector('#key');
  const box = document.querySelector('.map-box').getBoundingClientRect();
  const lines = [...key.querySelectorAll('li')].map(each => each.getBoundingClientRect());
  const over = each => each.bottom > box.top && each.top < box.bottom && each.right > box.left + 400 && each.left < box.right;
  return [lines.length, lines.filter(over).length];
}"""


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (1024, 768), (844, 390)])
def test_lines_for_signs_lie_off_the_map(browser, planned_demo, width, height):
    size = {"viewport": {"width": width, "height": height}}
    shown = Page(browser, planned_demo / "plan" / "map.html", **size)
    for key in ("cold", "water", "early"):
        ask(shown.page, key)
        painted(shown.page)
        lines, over = shown.page.evaluate(LYING_OVER)
        assert lines > 3
        assert over == 0, key
    shown.close()


def test_other_places_for_tunnels_wait_on_a_phone_until_the_map_is_near(phone):
    ask(phone, "tunnels")
    phone.locator("#whole").evaluate("button => button.click()")
    painted(phone)
    others = phone.locator(".legend:not([hidden]) li:has([data-kind='choice'])")
    caution = phone.locator(".legend:not([hidden]) .note")
    assert others.is_hidden()
    phone.evaluate(PLACE, "Shelf")
    painted(phone)
    assert others.is_visible()
    assert caution.is_visible()


def test_a_ramp_on_a_phone_says_what_its_ends_are_of(phone):
    for key in ("early", "cold", "what-if", "sun", "steep", "tunnels"):
        ask(phone, key)
        title = phone.locator(".legend:not([hidden]) .ramp .title")
        assert title.is_visible(), key
        assert title.inner_text().strip()


def test_where_nothing_needs_a_cover_the_map_fills_the_phone(browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **PHONE)
    page = shown.page
    page.clock.set_fixed_time("2026-12-01T18:00")
    page.reload()
    wait_until(page, READY)
    ask(page, "tonight")
    assert page.locator("#round").is_hidden()
    box = page.locator(".map-box").bounding_box()
    buttons = page.locator(".two").bounding_box()
    # Down to the buttons, and not under them.
    assert 0 <= buttons["y"] - (box["y"] + box["height"]) < 40
    page.locator("#example-turn").click()
    assert page.locator("#round").is_visible()
    assert page.locator(".map-box").bounding_box()["height"] == 300
    shown.close()
