"""Two maps beside each other, in a browser, with the network cut."""

from dataclasses import replace

import pytest
import rasterio
from axe_playwright_python.sync_playwright import Axe
from browser import DESKTOP, PHONE, Page, choose
from pyproj import Transformer

from fieldmap.show.files import grids
from fieldmap.show.map.questions import questions
from fieldmap.show.text.map import spots as words
from fieldmap.show.text.map.classes import GROUPS
from fieldmap.show.text.map.labels import LABELS
from fieldmap.show.text.map.questions import QUESTIONS

HEDGE = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}
# What is set beside, by what the page says of it.
COLD, COLD_WITHOUT, CHANGE, SUN, STEEP = (
    "cold 0",
    "cold 1",
    "what-if 0",
    "sun 0",
    "steep 0",
)


@pytest.fixture(scope="module")
def plan(hedged_plan):
    return hedged_plan


def beside(page, what):
    page.locator("#beside").select_option(what)


def headings(page):
    return page.locator(".side h2:visible").all_inner_texts()


def pictures(page, side):
    """Addresses of the coloured pictures of one map."""
    return (
        page.locator(".side")
        .nth(side)
        .locator("img.colours")
        .evaluate_all("all => all.map((one) => one.src)")
    )


def places(page):
    """Centre and zoom of both maps, and the size of a pixel there, in degrees."""
    return page.evaluate(
        """() => fieldmap.sides.map(({ map }) => {
            const { lat, lng } = map.getCenter();
            const [one, next] = [0, 1].map((at) => map.containerPointToLatLng([at, at]));
            return { lat, lng, zoom: map.getZoom(), east: next.lng - one.lng, north: one.lat - next.lat };
        })"""
    )


def assert_same_place(page):
    first, second = places(page)
    assert first["zoom"] == second["zoom"]
    assert first["lng"] == pytest.approx(second["lng"], abs=1.1 * first["east"])
    assert first["lat"] == pytest.approx(second["lat"], abs=1.1 * first["north"])


def looks(page):
    """What a person sees of the page: visible texts, the boxes, and the map's place."""
    boxes = (".frame", "#here", ".answers", ".papers", ".ask")
    return (
        page.locator("main").inner_text(),
        [page.locator(each).first.bounding_box() for each in boxes],
        page.evaluate("[fieldmap.map.getCenter().toString(), fieldmap.map.getZoom()]"),
        page.evaluate("fieldmap.map.getMinZoom()"),
        page.locator(".side:visible").count(),
    )


def test_a_second_map_opens_and_taking_it_away_gives_the_page_back(opened, plan):
    page = opened.page
    choose(page, "cold")
    page.evaluate("scrollTo(0, 0)")
    before = looks(page)
    beside(page, SUN)
    cold, sun = page.locator(".frame").all()
    assert cold.is_visible()
    assert sun.is_visible()
    assert page.locator(".answer:not([hidden])").count() == 2
    beside(page, "")
    page.evaluate("scrollTo(0, 0)")
    assert looks(page) == before
    assert opened.complaints == []
    assert opened.outside_requests() == []


def test_each_map_has_its_heading_its_picture_and_its_legend_in_words(opened, plan):
    page = opened.page
    drawn = {one.key: one for one in questions(plan)}
    choose(page, "steep")
    for what, at in ((COLD, 0), (COLD_WITHOUT, 1)):
        beside(page, what)
        name = ("The place as it is", "No hedge")[at]
        assert headings(page) == [
            QUESTIONS["steep"],
            f"{QUESTIONS['cold']} {name}",
        ]
        (steep,) = drawn["steep"].pictures
        cold = drawn["cold"].pictures[at]
        assert pictures(page, 0) == [steep.overlay.uri]
        assert pictures(page, 1) == ([cold.overlay.uri] if cold.overlay else [])
        answers = page.locator(".answer:visible")
        assert sorted(answers.locator("h2").all_inner_texts()) == sorted(headings(page))
        told = " ".join(answers.locator(".legend").all_inner_texts())
        for swatch in (*steep.legend, *cold.legend):
            assert swatch.text in told
    assert drawn["cold"].pictures[0].overlay != drawn["cold"].pictures[1].overlay


def test_what_a_change_takes_away_is_drawn_on_the_map_of_the_change_alone(desktop):
    choose(desktop, "cold")
    beside(desktop, COLD_WITHOUT)
    without = desktop.locator(".side").nth(1)
    assert desktop.locator(".side path.gone").count() == 1
    assert without.locator("path.gone").count() == 1
    assert without.locator("path.drain").count() == 0
    assert desktop.locator(".side").first.locator("path.drain").count() > 0


@pytest.fixture(scope="module")
def written(plan, tmp_path_factory):
    """The folder of rasters that a plan is written to, with that of the change."""
    folder = tmp_path_factory.mktemp("layers")
    grids.write(plan.analysis, folder)
    changed = replace(plan, analysis=plan.what_ifs[0].analysis)
    grids.write(changed.analysis, folder / "changed")
    return folder


def value(path, east, north, band=1):
    with rasterio.open(path) as raster:
        return float(next(raster.sample([(east, north)], indexes=band))[0])


def point(page, east, north, crs):
    """Touch the map at a place."""
    to_degrees = Transformer.from_crs(crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(east, north)
    page.evaluate(
        "([lat, lng]) => fieldmap.map.fire('click', { latlng: L.latLng(lat, lng) })",
        [latitude, longitude],
    )
    page.wait_for_function("document.querySelectorAll('#here > span').length === 2")


def spots(plan):
    """Two middles of cells: behind the hedge and above it."""
    cells = plan.analysis.cold_air.depth_m
    for row, col in ((cells.shape[0] // 2, cells.shape[1] // 2), (25, 30)):
        yield (
            cells.transform.c + (col + 0.5) * cells.cell_size_m,
            cells.transform.f - (row + 0.5) * cells.cell_size_m,
        )


def test_both_numbers_are_those_of_the_written_rasters_each_with_its_unit(
    desktop, plan, written
):
    for east, north in spots(plan):
        now_c = value(written / "offset_c.tif", east, north, band=2)
        then_c = value(written / "changed" / "offset_c.tif", east, north, band=2)
        june = value(written / "sun_mj_m2_day.tif", east, north, band=6)
        told = {
            COLD: words.likely(now_c, "metric"),
            COLD_WITHOUT: words.likely(then_c, "metric"),
            CHANGE: words.change(round(then_c - now_c, 1), "metric"),
            SUN: f"In June: {{}}{june:.1f} MJ/m²",
        }
        choose(desktop, "cold")
        for what in (COLD_WITHOUT, CHANGE, SUN):
            beside(desktop, what)
            if what == SUN:
                desktop.locator("#month-beside").select_option(label="June")
            point(desktop, east, north, plan.analysis.cold_air.depth_m.crs)
            desktop.wait_for_function(
                "([at, text]) => document.querySelectorAll('#here > span')[at]"
                ".textContent.startsWith(text)",
                arg=[1, headings(desktop)[1]],
            )
            first, second = desktop.locator("#here > span").all_inner_texts()
            assert first.startswith(headings(desktop)[0])
            assert told[COLD] in first
            for part in told[what].split("{}"):
                assert part in second


def test_the_hedge_makes_a_difference_at_the_spots_that_are_read(plan, written):
    """Else the test above could not tell one map from the other."""
    east, north = next(spots(plan))
    now_m = value(written / "cold_air_m.tif", east, north)
    then_m = value(written / "changed" / "cold_air_m.tif", east, north)
    assert abs(now_m - then_m) > 0.1


def test_of_a_bed_the_bed_is_told_and_beside_the_beds_there_is_none(desktop, plan):
    crs = plan.site.crs
    bed = plan.beds[3].bed
    beside(desktop, STEEP)
    point(desktop, bed.outline.centroid.x, bed.outline.centroid.y, crs)
    told = desktop.locator("#here > span").first
    assert f"– {bed.name}, {GROUPS[plan.beds[3].earliness.group]}" in told.inner_text()
    west, south, *_ = plan.site.plots.total_bounds
    point(desktop, west - 20, south, crs)
    desktop.wait_for_function(
        "text => document.querySelector('#here > span').textContent.endsWith(text)",
        arg=LABELS["no_bed_here"],
    )


def test_where_one_map_goes_the_other_goes_too(opened):
    page = opened.page
    choose(page, "cold")
    beside(page, SUN)
    assert_same_place(page)
    for leader in (0, 1):
        before = places(page)[1 - leader]
        page.evaluate(
            "(at) => fieldmap.sides[at].map.panBy([60, -40], { animate: false })",
            leader,
        )
        assert_same_place(page)
        assert places(page)[1 - leader]["lng"] != before["lng"]
        page.evaluate(
            "(at) => fieldmap.sides[at].map.zoomIn(0.5, { animate: false })", leader
        )
        assert_same_place(page)
        assert places(page)[1 - leader]["zoom"] > before["zoom"]


def test_a_drag_of_the_second_map_takes_the_first_along(desktop):
    beside(desktop, STEEP)
    desktop.evaluate("fieldmap.map.setZoom(19, { animate: false })")
    before = places(desktop)[0]
    box = desktop.locator("#map-beside").bounding_box()
    x, y = box["x"] + 30, box["y"] + box["height"] - 30
    desktop.mouse.move(x, y)
    desktop.mouse.down()
    desktop.mouse.move(x + 50, y - 80, steps=6)
    assert_same_place(desktop)
    desktop.mouse.up()
    desktop.wait_for_timeout(400)  # it runs on
    assert_same_place(desktop)
    assert places(desktop)[0]["lng"] < before["lng"]


def test_maps_stay_of_one_size_where_one_heading_is_longer(desktop):
    desktop.set_viewport_size({"width": 900, "height": 700})
    choose(desktop, "steep")
    beside(desktop, COLD_WITHOUT)
    for what in (COLD_WITHOUT, STEEP, COLD):
        beside(desktop, what)
        left, right = (one.bounding_box() for one in desktop.locator(".frame").all())
        assert (left["y"], left["height"]) == (right["y"], right["height"])
        known = desktop.evaluate("fieldmap.sides.map(({ map }) => map.getSize().y)")
        inside = left["height"] - 4  # its border
        assert known == pytest.approx([inside, inside], abs=1)
        assert_same_place(desktop)


def test_a_ring_marks_on_the_other_map_what_the_pointer_reads(desktop):
    beside(desktop, STEEP)
    box = desktop.locator("#map-beside").bounding_box()
    desktop.mouse.move(box["x"] + 40, box["y"] + 60)
    (ring,) = desktop.locator("path.spot").all()
    ring = ring.bounding_box()
    other = desktop.locator(".folium-map").first.bounding_box()
    assert ring["x"] + ring["width"] / 2 - other["x"] == pytest.approx(40, abs=2)
    assert ring["y"] + ring["height"] / 2 - other["y"] == pytest.approx(60, abs=2)


def test_each_map_has_a_month_of_its_own(opened, plan):
    page = opened.page
    sun = next(one for one in questions(plan) if one.key == "sun").pictures
    choose(page, "sun")
    assert page.locator("#month-beside").is_hidden()
    beside(page, SUN)
    page.locator("#month").select_option("5")
    page.locator("#month-beside").select_option("11")
    assert [heading.split()[-1] for heading in headings(page)] == ["June", "December"]
    assert pictures(page, 0) == [sun[5].overlay.uri]
    assert pictures(page, 1) == [sun[11].overlay.uri]
    page.locator(".month:has(#month-beside) [data-step='1']").click()
    assert [heading.split()[-1] for heading in headings(page)] == ["June", "January"]
    choose(page, "cold")
    assert page.locator("#month").is_hidden()
    assert pictures(page, 1) == [sun[0].overlay.uri]
    assert opened.complaints == []


def test_the_list_for_tonight_comes_with_its_map(opened):
    page = opened.page
    beside(page, "tonight 0")
    assert page.locator(".evening").is_visible()
    signs = (
        "all => all.filter((one) => one.classList.value.includes('tonight-')).length"
    )
    second = page.locator(".side").nth(1).locator("path.bed")
    assert second.evaluate_all(signs) == second.count() > 0
    beside(page, "")
    assert page.locator(".evening").is_hidden()


def test_by_keyboard_alone_a_map_is_set_beside_and_moved_and_read(desktop):
    desktop.locator("#beside").focus()
    desktop.keyboard.type("Where does cold")
    assert headings(desktop)[1].startswith(QUESTIONS["cold"])
    for _ in range(12):
        desktop.keyboard.press("Tab")
        if desktop.evaluate("document.activeElement.id === 'map-beside'"):
            break
    before = places(desktop)[0]
    desktop.keyboard.press("ArrowRight")
    desktop.wait_for_function(
        "lng => fieldmap.map.getCenter().lng > lng", arg=before["lng"]
    )
    desktop.wait_for_timeout(400)
    assert_same_place(desktop)
    assert desktop.locator("#here > span").count() == 2
    desktop.keyboard.press("Tab")
    desktop.keyboard.press("Enter")
    popup = desktop.locator("#map-beside .leaflet-popup-content")
    assert popup.evaluate("element => element.contains(document.activeElement)")
    desktop.keyboard.press("Escape")
    popup.wait_for(state="detached")


def test_both_maps_fit_a_phone_one_above_the_other(browser, map_file):
    shown = Page(
        browser, map_file, **PHONE | {"viewport": {"width": 360, "height": 640}}
    )
    page = shown.page
    choose(page, "sun")
    beside(page, COLD_WITHOUT)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    upper, lower = (one.bounding_box() for one in page.locator(".frame").all())
    assert upper["width"] == lower["width"] == 360
    assert upper["height"] == lower["height"] >= 200
    assert upper["y"] + upper["height"] <= lower["y"]
    assert upper["y"] >= 0
    assert lower["y"] + lower["height"] <= 640
    shown.close()


def test_on_a_wide_screen_they_stand_side_by_side_with_their_legends_below(desktop):
    choose(desktop, "sun")
    beside(desktop, COLD)
    left, right = (one.bounding_box() for one in desktop.locator(".frame").all())
    assert left["y"] == right["y"]
    assert left["x"] + left["width"] < right["x"]
    for key, frame in (("sun", left), ("cold", right)):
        legend = desktop.locator(f".answer[data-key={key}]:visible .legend")
        box = legend.bounding_box()
        assert box["x"] == pytest.approx(frame["x"], abs=2)
        assert frame["y"] + frame["height"] < box["y"] < 800


def test_a_checker_finds_no_serious_fault_of_access_with_two_maps(opened):
    choose(opened.page, "sun")
    beside(opened.page, COLD_WITHOUT)
    alike = {"exclude": [["tbody tr:nth-child(n+4)"]]}
    found = Axe().run(opened.page, alike, {"resultTypes": ["violations"]})
    grave = ("serious", "critical")
    assert [
        (each["id"], each["nodes"][0]["target"])
        for each in found.response["violations"]
        if each["impact"] in grave
    ] == []


def test_paper_and_viewers_without_scripts_know_nothing_of_it(browser, map_file):
    shown = Page(browser, map_file, java_script_enabled=False, **PHONE)
    assert not shown.page.locator("#beside").is_visible()
    assert not shown.page.locator(".side").first.is_visible()
    shown.close()
    shown = Page(browser, map_file, **DESKTOP)
    shown.page.emulate_media(media="print")
    alone = shown.page.locator("body").inner_text()
    shown.page.emulate_media(media="screen")
    beside(shown.page, STEEP)
    shown.page.emulate_media(media="print")
    assert shown.page.locator("body").inner_text() == alone
    assert not shown.page.locator("#map-beside").is_visible()
    shown.close()
