"""Pictures from the internet behind the map: of one host, and only once asked for."""

import io
from dataclasses import replace

import pytest
from browser import DESKTOP, PHONE, Page, faults_of_access, wait_until
from PIL import Image

from fieldmap.model.settings import Map
from fieldmap.show.map import map_html

HOST = "https://tiles.example.org"
HOSTILE = '</bdi><script>alert(1)</script><img src=x onerror=alert(2)> © "Us" {{ 7*7 }}'
ALL_LOADED = (
    "[...document.querySelectorAll('img.leaflet-tile')].every((each) => each.complete)"
)
CHOSEN = Map(
    background_tiles=HOST + "/{z}/{x}/{y}.png?key=a&b=c", background_credit=HOSTILE
)


@pytest.fixture(scope="module")
def plan(hedged_plan):
    settings = hedged_plan.site.settings.model_copy(update={"map": CHOSEN})
    return replace(hedged_plan, site=replace(hedged_plan.site, settings=settings))


@pytest.fixture
def shown(request, browser, map_file):
    page = Page(browser, map_file, **getattr(request, "param", DESKTOP))
    yield page
    page.close()


def tile():
    made = io.BytesIO()
    Image.new("RGB", (256, 256), "#806040").save(made, "PNG")
    return made.getvalue()


def served(shown):
    """Pictures come from the host; the list of addresses grows as they are asked for."""
    asked = []

    def answer(route):
        asked.append(route.request.url)
        route.fulfill(body=tile(), content_type="image/png")

    shown.page.route("**/*", answer)
    return asked


def test_nothing_is_asked_for_until_the_box_is_ticked_nor_after(shown):
    page = shown.page
    asked = served(shown)
    box = page.get_by_role("checkbox", name="Show pictures from the internet")
    assert not box.is_checked()
    page.evaluate("fieldmap.map.setZoom(19, { animate: false })")
    page.wait_for_timeout(500)
    assert asked == shown.outside_requests() == []

    box.check()
    page.locator("img.leaflet-tile-loaded").first.wait_for()
    wait_until(page, ALL_LOADED)  # or some would be asked for later
    assert asked
    assert all(url.startswith(HOST + "/19/") for url in asked)
    assert all(url.endswith(".png?key=a&b=c") for url in asked)

    box.uncheck()
    assert page.locator("img.leaflet-tile").count() == 0
    before = len(asked)
    page.evaluate("fieldmap.map.setZoom(20, { animate: false })")
    page.wait_for_timeout(500)
    assert len(asked) == before
    assert shown.complaints == []


def test_no_other_host_can_be_asked(shown):
    served(shown)
    with shown.page.expect_console_message(
        lambda said: "Content Security Policy" in said.text
    ):
        shown.page.evaluate(
            "document.body.append(Object.assign(new Image(), { src: 'https://other.example.org/a.png' }))"
        )


def test_the_credit_is_text_and_stands_there_while_pictures_do(shown):
    served(shown)
    credit = shown.page.locator("#background-credit")
    assert credit.is_hidden()
    shown.page.locator("#background").check()
    assert credit.inner_text() == HOSTILE
    assert credit.locator("script, img").count() == 0
    shown.page.locator("#background").uncheck()
    assert credit.is_hidden()


def test_without_signal_the_map_says_so_and_still_works(shown):
    shown.page.locator("#background").check()
    message = shown.page.locator("#message")
    message.get_by_text("Is there signal?").wait_for()
    shown.page.locator("#background").uncheck()
    assert message.inner_text() == ""


@pytest.mark.parametrize(
    "shown", [DESKTOP, PHONE], indirect=True, ids=["desk", "phone"]
)
def test_with_pictures_a_checker_finds_no_fault(shown):
    served(shown)
    shown.page.locator("#background").check()
    shown.page.locator("img.leaflet-tile-loaded").first.wait_for()
    assert faults_of_access(shown.page) == []
    width = shown.page.viewport_size["width"]
    assert shown.page.evaluate("document.documentElement.scrollWidth") <= width


def test_without_the_choice_the_page_has_no_trace_of_it(hedged_plan, map_file):
    without, with_it = map_html(hedged_plan), map_file.read_text(encoding="utf-8")
    assert "background_tiles" not in without
    for trace in ("background-credit", "tileLayer(box", ".behind", HOST, "internet"):
        assert trace in with_it
        assert trace not in without
