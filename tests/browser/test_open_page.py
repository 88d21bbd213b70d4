"""The page of `fieldmap open` as people use it: by mouse, by touch and by keys."""

import json
import tomllib

import pytest
from browser import DESKTOP, PHONE, Finger, faults_of_access, painted
from open_page import CHOICES, HEDGE, OpenPage, feature, folder, ready, served, written

from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.surroundings import read_surroundings
from fieldmap.serve.desk import Desk

__all__ = ["folder"]


@pytest.fixture
def site(folder):
    """The address of a page, and the folder it writes."""
    with served(folder) as there:
        there.folder = folder
        yield there


@pytest.fixture(params=["desk", "phone"])
def size(request):
    return {"desk": DESKTOP, "phone": PHONE}[request.param]


@pytest.fixture
def desk(browser, site):
    context = browser.new_context(**DESKTOP)
    yield OpenPage(context, site.address)
    context.close()


def shapes(site, name):
    return json.loads((site.folder / name).read_text("utf-8"))["features"]


def middle(locator):
    box = locator.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page, start, end):
    page.mouse.move(*start)
    page.mouse.down()
    page.mouse.move(end[0], end[1] - 3, steps=4)
    page.mouse.move(*end)
    page.mouse.up()


def save(open_page):
    # An earlier save is still said, so this one's answer is waited for.
    with open_page.page.expect_response("**/save"):
        open_page.word("Save the place").click()
    open_page.page.get_by_text("Saved:").first.wait_for()


def thing(open_page, name):
    return open_page.page.locator(f'.target[aria-label*="{name}"]')


def test_a_hedge_by_mouse_is_read_back_as_it_was_said(desk, site):
    page = desk.page
    desk.word("a hedge", exact=True).click()
    for place in ((600, 600), (700, 620), (800, 600), (800, 600)):  # the last one again
        page.mouse.click(*place)
    page.keyboard.type("2,5")
    page.keyboard.press("Enter")
    page.keyboard.type("1.2 m")
    page.keyboard.press("Enter")
    desk.word("a hand goes through").click()
    desk.word("green in winter").click()
    page.locator('[data-blank="name"]').click()
    page.keyboard.type("South <i>Hedge</i>")
    page.keyboard.press("Enter")
    assert faults_of_access(page) == []
    save(desk)
    old, new = shapes(site, "surroundings.geojson")
    assert old == HEDGE
    assert new["properties"] == {
        "kind": "hedge",
        "height_m": 2.5,
        "width_m": 1.2,
        "porosity": 0.4,
        "leaf": "evergreen",
        "name": "South <i>Hedge</i>",
    }
    assert new["geometry"]["type"] == "LineString"
    assert len(new["geometry"]["coordinates"]) == 3
    assert desk.complaints == []
    assert [
        url for url in desk.asked if not url.startswith((site.address, "data:"))
    ] == []


def test_what_was_drawn_is_moved_split_renamed_taken_away_and_taken_back(desk, site):
    page = desk.page
    before = shapes(site, "surroundings.geojson")[0]["geometry"]["coordinates"]
    west_hedge = thing(desk, "West Hedge")
    page.mouse.click(*middle(west_hedge))
    corner = middle(page.locator(".handle.corner").first)
    drag(page, corner, (corner[0] + 40, corner[1]))
    desk.word("Take back: moved West Hedge").wait_for()
    save(desk)
    (moved,) = shapes(site, "surroundings.geojson")
    assert moved["geometry"]["coordinates"][0][0] > before[0][0]
    assert moved["geometry"]["coordinates"][1] == before[1]
    # Undo reaches past a save.
    desk.word("Take back: moved West Hedge").click()
    save(desk)
    assert shapes(site, "surroundings.geojson") == [HEDGE]
    x, y = middle(thing(desk, "West Hedge"))
    desk.word("Split it").click()
    page.mouse.click(x - 40, y + 10)
    page.mouse.click(x + 40, y + 10)
    desk.word("Take back: split West Hedge").wait_for()
    save(desk)
    one, two = shapes(site, "surroundings.geojson")
    assert [one["properties"]["name"], two["properties"]["name"]] == [
        "West Hedge",
        "West Hedge 2",
    ]
    assert one["geometry"]["coordinates"][0] == before[0]
    assert one["geometry"]["coordinates"][-1] == two["geometry"]["coordinates"][0]
    assert two["geometry"]["coordinates"][-1] == before[1]
    thing(desk, "West Hedge 2").focus()
    page.keyboard.press("Enter")
    desk.word("Take it away").click()
    save(desk)
    assert len(shapes(site, "surroundings.geojson")) == 1


def test_a_new_corner_by_a_drag_at_the_middle_of_an_edge(desk, site):
    page = desk.page
    page.mouse.click(*middle(thing(desk, "West Hedge")))
    at = middle(page.locator(".handle.middle"))
    drag(page, at, (at[0] + 60, at[1]))
    save(desk)
    (hedge,) = shapes(site, "surroundings.geojson")
    assert len(hedge["geometry"]["coordinates"]) == 3
    assert (
        hedge["geometry"]["coordinates"][1][0] > HEDGE["geometry"]["coordinates"][0][0]
    )


def test_all_of_it_by_keys(desk, site):
    page = desk.page
    desk.word("a gate").focus()
    page.keyboard.press("Enter")
    page.locator("#ground").focus()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("Enter")
    page.locator('[data-blank="width_m"]').wait_for()
    gate = page.locator('.target[aria-label^="Gate"]')
    gate.focus()
    page.keyboard.press("Enter")
    page.locator("#ground").focus()
    page.keyboard.press("n")
    page.keyboard.type("Low Gate")
    page.keyboard.press("Enter")
    thing(desk, "Low Gate").focus()
    page.keyboard.press("ArrowRight")
    save(desk)
    _hedge, gate = shapes(site, "surroundings.geojson")
    assert gate["properties"] == {"kind": "gate", "name": "Low Gate"}
    (ring,) = shapes(site, "plots.geojson")[0]["geometry"]["coordinates"]
    west, east = min(x for x, _y in ring), max(x for x, _y in ring)
    # 11 m east and 1 m north of the middle: the arcs of a sphere of 6 371 km.
    longitude, latitude = gate["geometry"]["coordinates"]
    assert longitude - (west + east) / 2 == pytest.approx(11 / 77_200, rel=0.01)
    assert latitude - 46.051 == pytest.approx(1 / 111_195, rel=0.01)
    thing(desk, "Low Gate").focus()
    page.keyboard.press("Delete")
    page.keyboard.press("Control+z")
    thing(desk, "Low Gate").wait_for()
    page.keyboard.press("Control+Shift+Z")
    page.wait_for_selector('.target[aria-label*="Low Gate"]', state="detached")
    # A line: digits set the next length, Enter twice ends it.
    desk.word("a fence").focus()
    page.keyboard.press("Enter")
    page.locator("#ground").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("ArrowRight")
    page.keyboard.type("20")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.locator('[data-blank="height_m"]').wait_for()
    assert page.locator("#view .note").first.inner_text() == "20 m"


def test_tab_goes_from_west_to_east(desk):
    places = [
        box["x"]
        for box in desk.page.locator(".target").evaluate_all(
            "all => all.map(each => ({x: each.getBoundingClientRect().x}))"
        )
    ]
    assert len(places) == 2
    assert places == sorted(places)


def test_a_plot_by_touch_and_a_corner_dragged_under_a_loupe(browser, site):
    written(site.folder / "plots.geojson")
    context = browser.new_context(**PHONE)
    phone = OpenPage(context, site.address)
    page = phone.page
    assert page.locator("h1").inner_text() == "Where is the ground?"
    phone.word("a plot").tap()
    for place in ((120, 120), (260, 120), (260, 260), (120, 260), (120, 120)):
        page.touchscreen.tap(*place)
    page.locator(".blank[data-blank=name]").wait_for()
    x, y = middle(page.locator(".handle.corner").first)
    finger = Finger(context, page)
    finger.down((x, y))
    for step in (10, 20, 30):
        finger.move((x - step, y - step))
    page.locator(".loupe svg").wait_for()
    finger.up()
    page.wait_for_selector(".loupe", state="hidden")
    assert faults_of_access(page) == []
    save(phone)
    (plot,) = shapes(site, "plots.geojson")
    (ring,) = plot["geometry"]["coordinates"]
    assert len(ring) == 5
    assert ring[0] == ring[-1]
    assert ring[0][0] < min(place[0] for place in ring[1:-1])
    assert phone.complaints == []
    context.close()


def test_all_of_it_by_touch(browser, site):
    """Drawn, described, moved, bent, split, renamed, taken away and taken back by one finger."""
    context = browser.new_context(**PHONE)
    phone = OpenPage(context, site.address)
    page, finger = phone.page, Finger(context, phone.page)
    phone.word("a hedge", exact=True).tap()
    for place in ((60, 200), (220, 210), (220, 210)):  # the last one again
        page.touchscreen.tap(*place)
    for metres in ("2", "1"):
        page.locator("input.blank").fill(metres)
        page.keyboard.press("Enter")  # of the phone's own keyboard
    phone.word("a hand goes through").tap()
    phone.word("green in winter").tap()
    page.locator('[data-blank="name"]').tap()
    page.locator("input.blank").fill("Low Hedge")
    page.keyboard.press("Enter")
    there = hedge_named(site, phone, "Low Hedge")
    assert there["properties"]["height_m"] == 2
    assert there["properties"]["porosity"] == 0.4
    (one, two) = there["geometry"]["coordinates"]
    # All of it: taken where no corner is, and no middle of an edge.
    scale = 160 / ((two[0] - one[0]) * METRES_A_DEGREE)  # pixels a metre
    finger.drag((100, 202), (100, 242))
    phone.word("Take back: moved Low Hedge").wait_for()
    moved = hedge_named(site, phone, "Low Hedge")["geometry"]["coordinates"]
    for was, now in zip((one, two), moved, strict=True):
        assert now[0] == pytest.approx(was[0], abs=1e-6)
        assert (was[1] - now[1]) * 111_195 == pytest.approx(40 / scale, rel=0.05)
    painted(page)
    # A new corner at the middle of its edge.
    at = middle(page.locator(".things .handle.middle"))
    finger.drag(at, (at[0], at[1] - 40))
    bent = hedge_named(site, phone, "Low Hedge")["geometry"]["coordinates"]
    assert [bent[0], bent[2]] == moved
    assert bent[1][1] > moved[0][1]
    phone.word("Split it").tap()
    page.touchscreen.tap(90, 150)
    page.touchscreen.tap(90, 290)
    phone.word("Take back: split Low Hedge").wait_for()
    assert hedge_named(site, phone, "Low Hedge 2")
    phone.word("Take back: split Low Hedge").tap()
    phone.word("Take it away").tap()
    phone.word("Take back: took Low Hedge away").tap()
    assert hedge_named(site, phone, "Low Hedge")["geometry"]["coordinates"] == bent
    assert faults_of_access(page) == []
    assert phone.complaints == []
    context.close()


METRES_A_DEGREE = 111_195 * 0.694  # of longitude: a sphere of 6 371 km, cos 46.05°


def hedge_named(site, open_page, name):
    """A hedge as it is saved and read back."""
    save(open_page)
    (found,) = [
        each
        for each in shapes(site, "surroundings.geojson")
        if each["properties"]["name"] == name
    ]
    return found


def test_two_fingers_look_closer_and_one_moves_the_ground(browser, site):
    context = browser.new_context(**PHONE)
    phone = OpenPage(context, site.address)
    page, finger = phone.page, Finger(context, phone.page)

    def of_plot():
        box = page.locator(".body.plot").bounding_box()
        return box["x"], box["y"], box["width"]

    x, y, width = of_plot()
    finger.drag((60, 120), (90, 150))
    painted(page)
    moved_x, moved_y, same = of_plot()
    assert (moved_x - x, moved_y - y) == pytest.approx((30, 30), abs=2)
    assert same == pytest.approx(width, rel=0.01)
    finger.down((150, 200), (250, 200))
    for apart in (60, 75, 100):
        finger.move((200 - apart, 200), (200 + apart, 200))
    finger.up()
    painted(page)
    assert of_plot()[2] == pytest.approx(
        2 * width, rel=0.02
    )  # from 100 px apart to 200
    assert phone.page.locator("h1").inner_text() == "What is here?"
    context.close()


def test_a_word_is_heard_at_once_after_the_ground_was_flicked(browser, site):
    """Browsers take the first tap after a flick as one that stops it, and click nothing."""
    context = browser.new_context(**PHONE)
    phone = OpenPage(context, site.address)
    Finger(context, phone.page).flick((60, 350), (300, 150))
    phone.word("a hedge", exact=True).tap()
    phone.page.locator(".adding").wait_for()
    context.close()


def test_two_near_ask_which_one(browser, site):
    gate = feature(
        "Point", HEDGE["geometry"]["coordinates"][0], kind="gate", name="Low Gate"
    )
    written(site.folder / "surroundings.geojson", HEDGE, gate)
    context = browser.new_context(**PHONE)
    phone = OpenPage(context, site.address)
    phone.page.touchscreen.tap(*middle(thing(phone, "Low Gate")))
    phone.page.locator("h1", has_text="Which one?").wait_for()
    phone.word("Low Gate", exact=True).tap()
    phone.page.locator("h1", has_text="Low Gate").wait_for()
    context.close()


def test_a_word_is_heard_at_once_while_a_blank_is_being_filled_in(browser, site, size):
    context = browser.new_context(**size)
    found = OpenPage(context, site.address)
    page = found.page
    press = "tap" if size is PHONE else "click"
    thing(found, "West Hedge").focus()
    page.keyboard.press("Enter")
    getattr(page.locator('[data-blank="height_m"]'), press)()
    page.locator("input.blank").fill("4")
    getattr(page.locator('[data-blank="width_m"]'), press)()
    page.locator('input[data-blank="width_m"]').fill("2")
    getattr(found.word("Take it away"), press)()
    getattr(found.word("Take back: took West Hedge away"), press)()
    thing(found, "West Hedge").wait_for()
    save(found)
    (hedge,) = shapes(site, "surroundings.geojson")
    assert (hedge["properties"]["height_m"], hedge["properties"]["width_m"]) == (4, 2)
    context.close()


def test_an_outline_that_crosses_itself_is_not_kept(desk, site):
    desk.word("a plot").click()
    for place in ((600, 560), (700, 660), (700, 560), (600, 660), (600, 560)):
        desk.page.mouse.click(*place)
    desk.page.locator(".crossed").wait_for()
    assert desk.page.get_by_text("Which part is the plot?").count() >= 1
    assert len(shapes(site, "plots.geojson")) == 1


def test_names_are_text_whatever_they_hold(browser, site):
    hostile = '<img src=x onerror="document.title=1">'
    plots = shapes(site, "plots.geojson")
    plots[0]["properties"]["name"] = hostile
    written(site.folder / "plots.geojson", *plots)
    unnamed = feature("Point", [15.2612, 46.0515], name="</script><b>WP 014")
    written(site.folder / "surroundings.geojson", HEDGE, unnamed)
    text = f"name = '''{hostile}'''\n"
    (site.folder / "site.toml").write_text(text, "utf-8")
    context = browser.new_context(**DESKTOP)
    found = OpenPage(context, site.address)
    assert found.page.locator("img").count() == 0
    assert found.page.title() == hostile
    assert found.page.locator(".plot-name").inner_html() == (
        '&lt;img src=x onerror="document.title=1"&gt;'
    )
    # What has no kind yet is asked about.
    found.word("What is it?").click()
    found.word("a post").count()
    found.word("something else").count()
    found.word("one tree").click()
    found.page.keyboard.type("12")
    found.page.keyboard.press("Enter")
    assert found.page.locator("b").filter(has_text="WP 014").count() <= 1
    assert found.complaints == []
    context.close()


def test_a_second_tab_reads_until_it_is_asked_to_write(browser, site):
    context = browser.new_context(**DESKTOP)
    one, two = OpenPage(context, site.address), OpenPage(context, site.address)
    assert two.word("a hedge", exact=True).count() == 0
    assert two.page.get_by_text("Another tab can change").count() == 1
    one.word("a gate").click()
    one.page.mouse.click(700, 620)
    one.page.get_by_text("Take back: drew Gate").wait_for()
    with two.page.expect_navigation():
        two.word("Write here instead").click()
    ready(two.page)
    assert two.page.locator('.target[aria-label^="Gate"]').count() == 1  # nothing lost
    # The first learns of it at its next touch, and what is drawn there stays in the browser.
    one.page.keyboard.press("Escape")
    one.word("a gate").click()
    one.page.mouse.click(760, 620)
    one.page.get_by_text("Now another tab can change").wait_for()
    context.close()


@pytest.mark.parametrize("token", ["of-this-run", "of-the-next-run"])
def test_what_is_drawn_while_nobody_answers_is_there_again(browser, folder, token):
    context = browser.new_context(**DESKTOP)
    with served(folder) as first:
        tab = OpenPage(context, first.address)
        tab.word("a gate").click()
        first.end()
        tab.page.mouse.click(700, 620)
        tab.page.get_by_text("Your draft is safe here").first.wait_for()
        with served(folder, first.port, token) as again:
            if token == "of-this-run":  # the same page goes on by itself
                tab.page.wait_for_selector("#notice", state="hidden")
            fresh = OpenPage(context, again.address)
            if fresh.page.locator("#write").is_visible():
                with fresh.page.expect_navigation():
                    fresh.word("Write here instead").click()
                ready(fresh.page)
            assert fresh.page.locator('.target[aria-label^="Gate"]').count() == 1
    context.close()


def test_a_stale_address_says_so_and_keeps_the_draft(browser, folder):
    context = browser.new_context(**DESKTOP)
    with served(folder) as first:
        tab = OpenPage(context, first.address)
        first.end()
        with served(folder, first.port, "of-the-next-run") as again:
            tab.word("a gate").click()
            tab.page.mouse.click(700, 620)
            tab.page.get_by_text("This address is old").first.wait_for()
            fresh = OpenPage(context, again.address)
            assert fresh.page.locator('.target[aria-label^="Gate"]').count() == 1
    context.close()


def test_a_file_that_was_changed_outside_asks_which_to_keep(desk, site):
    desk.word("a gate").click()
    desk.page.mouse.click(700, 620)
    desk.page.get_by_text("Take back: drew Gate").wait_for()
    written(site.folder / "surroundings.geojson", HEDGE, HEDGE, HEDGE)
    desk.word("Save the place").click()
    desk.page.get_by_text("now has 3 shapes, and this page has 2").wait_for()
    assert len(shapes(site, "surroundings.geojson")) == 3
    desk.word("Keep what is on this page").click()
    desk.page.get_by_text("Saved:").first.wait_for()
    assert len(shapes(site, "surroundings.geojson")) == 2


def test_answers_are_saved_with_their_comments_and_mistakes_say_what_is_meant(
    desk, site
):
    page = desk.page
    desk.word("Ten sentences about the place").click()
    assert faults_of_access(page) == []
    page.locator('[data-blank="beds_tape_m"]').click()
    page.keyboard.type("500")
    page.keyboard.press("Enter")
    page.get_by_text("“500” is not from 10 m to 100 m.").wait_for()
    page.locator('input[data-blank="beds_tape_m"]').fill("50")
    page.keyboard.press("Enter")
    page.locator('[data-blank="wind_storm_from_deg"]').click()
    desk.word("north-west", exact=True).click()
    page.locator('[data-add="crops"]').click()
    page.keyboard.type("letuce")
    page.keyboard.press("Enter")
    page.get_by_text("did you mean “lettuce”").or_(
        page.get_by_text("did you mean")
    ).first.wait_for()
    page.locator('.row-form [data-blank="name"]').click()
    page.keyboard.press("Control+a")
    page.keyboard.type("lettuce")
    page.keyboard.press("Enter")
    page.locator('.row-form [data-blank="beds"]').click()
    page.keyboard.type("8")
    page.keyboard.press("Enter")
    assert faults_of_access(page) == []
    save(desk)
    text = (site.folder / "site.toml").read_text("utf-8")
    table = tomllib.loads(text)
    assert table["beds"] == {"tape_m": 50}
    assert table["wind"] == {"storm_from_deg": 315}
    assert table["crops"] == [{"name": "lettuce", "beds": 8}]
    comments = [line for line in CHOICES.splitlines() if line.startswith("#")]
    assert [line for line in comments if line not in text] == []
    assert "tape_m = 50  # the long one" in text
    assert desk.complaints == []


def test_every_word_stands_on_the_page_in_spanish_too(browser, site, size):
    (site.folder / "site.toml").write_text('name = "Loma"\nlanguage = "es"\n', "utf-8")
    context = browser.new_context(**size)
    page = OpenPage(context, site.address)
    assert page.page.locator("h1").inner_text() == "¿Qué hay aquí?"
    assert faults_of_access(page.page) == []
    wide = page.page.evaluate("document.documentElement.scrollWidth > innerWidth")
    assert not wide
    context.close()


def test_a_mistake_of_ours_is_said_and_loses_nothing(desk, site, monkeypatch, capfd):
    page = desk.page

    def fails(*_given):
        raise KeyError("planted")

    with monkeypatch.context() as planted:
        planted.setattr(Desk, "keep", fails)
        desk.word("a gate").click()
        page.mouse.click(700, 620)
        page.get_by_text("Something went wrong in fieldmap itself").wait_for()
    assert faults_of_access(page) == []
    shown = capfd.readouterr().err
    assert "Traceback" in shown
    assert "planted" in shown
    page.once(
        "dialog", lambda dialog: dialog.accept()
    )  # what is not kept yet is warned of
    page.reload()
    page.get_by_text("What you drew while this page got no answer").wait_for()
    painted(page)
    assert page.locator('.target[aria-label^="Gate"]').count() == 1
    save(desk)
    assert len(shapes(site, "surroundings.geojson")) == 2
    (complaint,) = desk.complaints  # of the browser
    assert "500" in complaint


def test_targets_are_large_enough_for_fingers(browser, site, size):
    context = browser.new_context(**size)
    page = OpenPage(context, site.address).page
    least = 43 if size is DESKTOP else 48
    small = page.locator(
        "button.word, button.plain, button.main, button.row"
    ).evaluate_all(
        "(all, least) => all.filter(each => each.offsetHeight && each.offsetHeight < least)"
        ".map(each => each.textContent)",
        least,
    )
    assert small == []
    context.close()


def standing(kind, shape, coordinates, **facts):
    return feature(shape, coordinates, kind=kind, **facts)


def test_a_barn_stands_on_its_track_and_no_name_lies_over_a_hedge(browser, folder):
    """The plot's name would stand at its right, where a hedge ends: it gives way."""
    barn = [[15.2585, 46.0505], [15.2588, 46.0505], [15.2588, 46.0508], [15.2585, 46.0508], [15.2585, 46.0505]]  # fmt: skip
    track = [[15.2580, 46.05065], [15.2596, 46.05065]]
    beside = [[15.26202, 46.05101], [15.2630, 46.05101]]
    written(
        folder / "surroundings.geojson",
        standing("building", "Polygon", [barn], name="Barn", height_m=6.0),
        standing("road", "LineString", track, name="Track", width_m=3.0),
        {**HEDGE, "geometry": {"type": "LineString", "coordinates": beside}},
    )
    with served(folder) as there:
        context = browser.new_context(**DESKTOP)
        page = OpenPage(context, there.address).page
        order = page.eval_on_selector_all(
            ".below .body", "(every) => every.map((each) => each.classList[1])"
        )
        assert order.index("road") < order.index("building")
        name = page.locator(".plot-name").bounding_box()
        hedge = page.locator(".body.hedge").bounding_box()
        assert (
            name["x"] + name["width"] <= hedge["x"]
            or name["y"] + name["height"] <= hedge["y"]
            or hedge["y"] + hedge["height"] <= name["y"]
        )
        # Where it is wide enough to be seen, a hedge has leaves.
        for _step in range(3):
            page.get_by_role("button", name="Closer").click()
        page.locator(".leaves").first.wait_for(state="attached")
        context.close()


def test_what_was_left_aside_is_asked_for_and_then_stands_around(browser, folder):
    """Two waypoints of a walk: one that says nothing, and a tree of unknown height."""
    unclear = feature("Point", [15.2605, 46.0515], name="WP 014", not_known="kind")
    oak = feature("Point", [15.2615, 46.0505], name="Oak", kind="tree", not_known="all")
    written(folder / "left_aside.geojson", unclear, oak)
    with served(folder) as there:
        there.folder = folder
        context = browser.new_context(**DESKTOP)
        found = OpenPage(context, there.address)
        page = found.page
        found.word("What is it?").click()
        found.word("a gate").click()
        save(found)
        names = [each["properties"] for each in shapes(there, "surroundings.geojson")]
        assert names[-1] == {"name": "WP 014", "kind": "gate"}
        assert [each["properties"]["name"] for each in shapes(there, "left_aside.geojson")] == ["Oak"]  # fmt: skip
        found.word("Never mind").click()
        found.word("how tall?").click()
        for metres in ("9", "6"):
            page.keyboard.type(metres)
            page.keyboard.press("Enter")
        for _blank in range(3):
            asked = page.locator(".blank.asked")
            if asked.get_attribute("data-blank") == "clear_stem_m":
                page.keyboard.type("2")
                page.keyboard.press("Enter")
            else:
                page.locator(".answers button").first.click()
        save(found)
        tree = shapes(there, "surroundings.geojson")[-1]["properties"]
        assert (tree["name"], tree["height_m"], tree["width_m"]) == ("Oak", 9, 6)
        assert not (folder / "left_aside.geojson").exists()
        assert read_surroundings(
            SiteFile(folder / "surroundings.geojson", "surroundings.geojson")
        )
        context.close()
