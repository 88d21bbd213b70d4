"""The page's plan and its "what if" as people use them: by mouse, by touch and by keys.

One small site without weather serves all: what is tried is made ready once.
"""

import json
import re
import tomllib

import geopandas as gpd
import pytest
from browser import DESKTOP, PATIENT_MS, PHONE, Finger, faults_of_access, painted
from open_page import OpenPage, ready, served
from shapely.geometry import LineString
from site_folder import SiteFolder

from fieldmap.read import read_site

# Of a picture, in the ink of the arrows alone.
INKED_PIXELS = """(picture) => {
  const canvas = document.querySelector(picture + " > canvas");
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let count = 0;
  for (let at = 0; at < data.length; at += 4)
    count += data[at] === 0x1d && data[at + 1] === 0x3f && data[at + 2] === 0x6e;
  return count;
}"""
FACTS = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """A plot on a slope, a hedge across the slope below it; its page."""
    there = SiteFolder(tmp_path_factory.mktemp("tries") / "site")
    there.path.mkdir()
    there.size_m = 400.0  # a night on it takes half the time of one on 600 m
    there.plain()
    (there.path / "weather.csv").unlink()
    there.plots([there.box(180, 180, 220, 220)], name=["Home"])
    ends = [(there.west + x, there.south + 170) for x in (120, 280)]
    hedge = {**FACTS, "name": "Low Hedge", "width_m": 2.0}
    nameless = [(there.west + x, there.south + 245) for x in (170, 230)]
    there.surroundings(
        ("hedge", LineString(ends), hedge),
        ("hedge", LineString(nameless), {**FACTS, "name": None, "width_m": 2.0}),
    )
    with served(there.path) as page:
        page.folder = there.path
        yield page


def opened(browser, site, size):
    context = browser.new_context(**size)
    context.set_default_timeout(PATIENT_MS)
    tab = OpenPage(context, site.address)
    if tab.page.locator("#write").is_visible():
        # A busy machine may not hear that the last test's tab was closed.
        with tab.page.expect_navigation():
            tab.word("Write here instead").click()
        ready(tab.page)
    return tab


@pytest.fixture
def desk(browser, site):
    tab = opened(browser, site, DESKTOP)
    yield tab
    assert tab.complaints == []
    tab.page.context.close()


@pytest.fixture
def phone(browser, site):
    tab = opened(browser, site, PHONE)
    yield tab
    assert tab.complaints == []
    tab.page.context.close()


def trying(tab):
    """The question, once the place is ready."""
    tab.word("What if something changed?").click()
    tab.word("Set a bank").wait_for()
    return tab.page


def answered(page):
    """The last change is worked out: what is said of it first."""
    answer = page.locator(".answer b")
    answer.wait_for()
    answer.filter(has_text="working it out").wait_for(state="detached")
    return answer.inner_text()


def kept(site):
    table = tomllib.loads((site.folder / "site.toml").read_text("utf-8"))
    return table.get("what_if", [])


class SeenGap:
    """The gap as it is seen at one moment, in pixels."""

    def __init__(self, page):
        page.locator(".handle[data-gap]").first.wait_for()
        ends, handles = page.evaluate(
            "[document.querySelector('.gap').getAttribute('d').match(/[0-9.]+/g),"
            " [...document.querySelectorAll('.handle[data-gap]')].map((each) =>"
            " each.getBoundingClientRect()).map((box) => [box.x + box.width / 2,"
            " box.y + box.height / 2])]"
        )
        west, y, east, _y = map(float, ends)
        self.middle = (west + east) / 2, y
        self.width = east - west
        self.handles = handles
        assert len(handles) == 2
        # Fingers need 44 px for each of the two, and the middle between them.
        assert handles[1][0] - handles[0][0] >= 88


def test_a_plan_by_the_button_stopped_then_made_with_its_map_beside(desk, site):
    page = desk.page
    desk.word("Make the plan").click()
    page.locator(".plan-steps li").first.wait_for()
    assert faults_of_access(page) == []
    desk.word("Stop", exact=True).click()
    page.get_by_text("Stopped. The old plan is unchanged.").first.wait_for()
    assert not (site.folder / "plan").exists()
    desk.word("Make the plan").click()
    page.locator("#map iframe").wait_for()
    shown = page.frame_locator("#map iframe")
    shown.locator("h1, h2").first.wait_for()
    assert (site.folder / "plan/map.html").is_file()
    assert [url for url in desk.asked if not url.startswith((site.address, "data:", "blob:"))] == []  # fmt: skip
    desk.word("Back to the ground").click()
    assert page.locator("#map").count() == 0
    # What is drawn after it makes the map an old one.
    desk.word("a gate").click()
    page.mouse.click(760, 620)
    page.get_by_text("The map was made before your last changes.").wait_for()
    desk.word("Take back: drew Gate").click()


def pressed_slowly(page, word, asked):
    """A word held down until the server has been asked twice more."""
    word.hover()
    page.mouse.down()
    for _answer in range(2):
        page.wait_for_event("response", lambda answer: answer.url.endswith(asked))
    page.mouse.up()


def test_a_slow_press_on_stop_is_heard_while_steps_come(desk):
    page = desk.page
    running = {"running": True, "steps": ["Light"], "took_s": None, "has_map": False}
    stopped = running | {"running": False, "ended": "stopped"}
    page.route(
        "**/plan",
        lambda route: route.fulfill(
            json=stopped if route.request.method == "DELETE" else running
        ),
    )
    desk.word("Make the plan").click()
    pressed_slowly(page, desk.word("Stop", exact=True), "/plan")
    page.get_by_text("Stopped. The old plan is unchanged.").first.wait_for()


def test_a_slow_press_is_heard_while_the_place_is_made_ready(desk):
    page = desk.page
    steps = {"ready": False, "running": True, "step": "Cold air", "problems": []}
    page.route("**/try/*", lambda route: route.fulfill(json=steps))
    desk.word("What if something changed?").click()
    page.get_by_text("Cold air").wait_for()
    pressed_slowly(page, desk.word("Ten sentences about the place"), "/try/state")
    page.locator("h1", has_text="Ten sentences").wait_for()


def tab_to(page, name):
    """Tab until a word has the focus, as who has no mouse does."""
    for _press in range(90):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()") == name:
            return
    raise AssertionError(f"Tab never came to {name}")


def test_a_plot_is_drawn_described_saved_and_planned_by_keys_alone(desk, site):
    page = desk.page
    tab_to(page, "a plot")
    page.keyboard.press("Enter")
    for _ten_metres in range(4):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    for way, metres in (("Right", 15), ("Up", 12), ("Left", 15)):
        page.keyboard.press(f"Arrow{way}")
        page.keyboard.type(str(metres))
        page.keyboard.press("Enter")
    page.keyboard.press("Enter")  # the last corner again
    page.get_by_text("Take back: drew Plot").wait_for()
    page.keyboard.press("n")
    page.keyboard.type("East Strip")
    page.keyboard.press("Enter")
    # The keys go on where they were: at the same blank of the sentence.
    assert page.evaluate("document.activeElement.dataset.blank") == "name"
    tab_to(page, "Ten sentences about the place")
    page.keyboard.press("Enter")
    page.locator("h1", has_text="Ten sentences").wait_for()
    tab_to(page, "Save the place")
    with page.expect_response("**/save"):
        page.keyboard.press("Enter")
    page.get_by_text("Saved: plots.geojson").first.wait_for()
    plots = gpd.read_file(site.folder / "plots.geojson")
    (east,) = plots[plots["name"] == "East Strip"].to_crs(32633).area
    assert east == pytest.approx(15 * 12, rel=0.02)
    tab_to(page, "Make the plan")
    page.keyboard.press("Enter")
    page.locator(".plan-steps li").first.wait_for()
    tab_to(page, "Stop")
    page.keyboard.press("Enter")
    page.get_by_text("Stopped. The old plan is unchanged.").first.wait_for()
    assert faults_of_access(page) == []


def test_what_cannot_be_saved_is_said_before_a_plan_is_begun(desk):
    page = desk.page
    desk.word("one tree").click()
    page.mouse.click(760, 620)
    desk.word("Make the plan").click()
    page.get_by_text("Not saved yet. Your draft is kept.").wait_for()
    assert page.locator("#notice p").count() >= 1
    assert page.locator(".plan-steps").count() == 0
    page.keyboard.press("Escape")
    desk.word("Take back: drew Tree").click()
    (complaint,) = desk.complaints  # of the browser, of a refusal
    assert "422" in complaint
    desk.complaints.clear()


def test_a_gap_is_opened_dragged_widened_and_kept_by_mouse(desk, site):
    page = trying(desk)
    desk.word("Low Hedge", exact=True).first.click()
    said = answered(page)
    assert "bed" in said
    assert page.get_by_text("As it is", exact=True).count() == 1
    assert page.get_by_text("With the change", exact=True).count() == 1
    assert faults_of_access(page) == []
    from_m = page.locator('[data-blank="from_m"]')
    assert from_m.inner_text() == "80 m"  # of 160 m
    seen = SeenGap(page)
    (x, y), ten_m = seen.middle, seen.width / 12 * 10  # the gap is 12 m wide
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + ten_m / 2, y, steps=3)
    page.mouse.move(x + ten_m, y)
    page.mouse.up()
    answered(page)
    assert from_m.inner_text() in {"89 m", "90 m", "91 m"}
    _one, end = SeenGap(page).handles
    page.mouse.move(*end)
    page.mouse.down()
    page.mouse.move(end[0] + ten_m / 5, end[1], steps=3)  # each side grows
    page.mouse.up()
    answered(page)
    width = page.locator('[data-blank="width_m"]').inner_text()
    assert width in {"15 m", "16 m", "17 m"}
    desk.word("Keep this as a named change").click()
    page.get_by_text("Kept in site.toml").first.wait_for()
    (gap,) = kept(site)
    assert gap["name"] == f"A gap of {width} in Low Hedge"
    assert gap["gaps"][0]["of"] == "Low Hedge"
    # The place stays ready: the next change is tried at once.
    assert page.get_by_text("Getting the place ready").count() == 0
    desk.word("Put it back").click()
    assert page.locator("h1").inner_text() == "What if something changed?"


def test_a_slow_press_is_heard_though_the_answer_comes_meanwhile(desk):
    page = trying(desk)
    held = []

    def hold(route):
        held.append(route)

    page.route(re.compile("/try$"), hold)
    with page.expect_request(re.compile("/try$")):
        desk.word("Low Hedge", exact=True).last.click()  # take away
    desk.word("Put it back").hover()
    page.mouse.down()
    with page.expect_request("**/try/range"):  # asked once the answer is there
        held[0].continue_()
    painted(page)
    page.mouse.up()
    page.locator("h1", has_text="What if something changed?").wait_for()


def test_a_gap_and_a_row_taken_away_by_touch(phone):
    page = trying(phone)
    phone.word("Low Hedge", exact=True).first.tap()
    answered(page)
    phone.word("Low Hedge", exact=True).last.tap()
    page.get_by_text("What if: Without Low Hedge?").wait_for()
    assert "warmer" in answered(page)  # what it held back runs off
    assert faults_of_access(page) == []


def test_a_gap_is_dragged_and_widened_and_a_bank_set_by_touch(phone):
    page = trying(phone)
    phone.word("Low Hedge", exact=True).first.tap()
    answered(page)
    from_m = page.locator('[data-blank="from_m"]')
    assert from_m.inner_text() == "80 m"  # of 160 m
    finger = Finger(page.context, page)
    seen = SeenGap(page)
    (x, y), ten_m = seen.middle, seen.width / 12 * 10  # the gap is 12 m wide
    finger.drag((x, y), (x + 3 * ten_m, y))
    answered(page)
    assert from_m.inner_text() in {"109 m", "110 m", "111 m"}
    _one, end = SeenGap(page).handles
    finger.drag(end, (end[0] + ten_m, end[1]))  # each side grows
    answered(page)
    assert page.locator('[data-blank="width_m"]').inner_text() in {
        *("31 m", "32 m", "33 m")
    }
    assert faults_of_access(page) == []
    phone.word("Put it back").tap()
    phone.word("Set a bank").tap()
    box = page.locator("#ground").bounding_box()
    for share in (0.4, 0.6):
        # In the lower picture, with the change.
        page.touchscreen.tap(share * box["width"], 0.85 * box["height"])
    phone.word("The bank ends here").tap()
    answered(page)
    page.get_by_text("What if: A bank of 1.2 m?").wait_for()


def test_what_is_drawn_and_not_saved_is_tried_and_saved_with_the_change(desk, site):
    page = desk.page
    before = (site.folder / "surroundings.geojson").read_bytes()
    desk.word("a wall", exact=True).click()
    for place in ((700, 560), (1000, 560), (1000, 560)):
        page.mouse.click(*place)
    for metres in ("2", "0.4"):
        page.keyboard.type(metres)
        page.keyboard.press("Enter")
    page.locator('[data-blank="name"]').click()
    page.keyboard.type("New Wall")
    page.keyboard.press("Enter")
    trying(desk)
    page.get_by_text("drawn here. This is not saved yet").wait_for()
    assert (site.folder / "surroundings.geojson").read_bytes() == before
    desk.word("New Wall", exact=True).last.click()  # take away
    answered(page)
    desk.word("Save the place and keep this as a named change").click()
    page.get_by_text("Kept in site.toml").first.wait_for()
    assert "New Wall" in (site.folder / "surroundings.geojson").read_text("utf-8")
    assert kept(site)[-1]["take_away"] == ["New Wall"]
    # What was tried is what was saved: the place stays ready.
    desk.word("Low Hedge", exact=True).first.click()
    answered(page)
    assert page.get_by_text("Tried on the place as it is saved.").count() == 1


def test_a_gap_and_a_bank_by_keys(desk, site):
    page = trying(desk)
    desk.word("Low Hedge", exact=True).first.focus()
    page.keyboard.press("Enter")
    answered(page)
    page.locator("#ground").focus()
    page.keyboard.press("Shift+ArrowRight")
    page.get_by_role("button", name="90 m").wait_for()
    answered(page)
    page.keyboard.press("Escape")
    desk.word("Set a bank").focus()
    page.keyboard.press("Enter")
    page.locator("#ground").focus()
    for key in ("Shift+ArrowLeft", "Enter", "Shift+ArrowRight", "Shift+ArrowRight", "Enter"):  # fmt: skip
        page.keyboard.press(key)
    desk.word("The bank ends here").focus()
    page.keyboard.press("Enter")
    answered(page)
    page.get_by_text("What if: A bank of 1.2 m?").wait_for()
    desk.word("Keep this as a named change").focus()
    page.keyboard.press("Enter")
    page.get_by_text("Kept in site.toml").first.wait_for()
    (bank,) = kept(site)[-1]["additions"]
    assert (bank["kind"], bank["height_m"], bank["width_m"]) == ("bank", 1.2, 3)
    (start, end) = bank["line"]
    # Two presses of 10 m east: the arc of a sphere of 6 371 km.
    metres_a_degree = 111_195 * 0.694  # cos 46.05°
    assert (end[0] - start[0]) * metres_a_degree == pytest.approx(20, rel=0.01)
    assert json.dumps(bank["line"]).count("[") == 3


def test_what_has_no_name_is_called_by_where_it_stands(desk, site):
    """It can be chosen, tried and kept; the file then has the name that the change uses."""
    page = trying(desk)
    desk.word("hedge north of Home, 60 m", exact=True).last.click()  # take away
    page.get_by_text("What if: Without hedge north of Home?").wait_for()
    answered(page)
    assert faults_of_access(page) == []
    desk.word("Save the place and keep this as a named change").click()
    page.get_by_text("Kept in site.toml").first.wait_for()
    assert kept(site)[-1]["take_away"] == ["hedge north of Home"]
    shapes = gpd.read_file(site.folder / "surroundings.geojson")
    assert "hedge north of Home" in list(shapes["name"])
    assert read_site(site.folder).alternatives[-1].name == "Without hedge north of Home"


def test_both_pictures_show_which_way_the_cold_air_runs(desk):
    page = trying(desk)
    page.get_by_text("Arrows show which way cold air runs").wait_for()
    desk.word("Low Hedge", exact=True).first.click()
    answered(page)
    painted(page)
    for picture in ("#before", "#ground"):
        inked = page.evaluate(INKED_PIXELS, picture)
        assert inked > 200, picture
