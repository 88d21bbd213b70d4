"""Pictures from the internet on the page of `fieldmap open`: of one host, and only once asked for."""

import io
import time

import numpy as np
import pytest
from browser import DESKTOP, PATIENT_MS, PHONE, faults_of_access, painted
from open_page import OpenPage, ready, served
from PIL import Image
from site_folder import SiteFolder

HOST = "https://tiles.example.org"
HOSTILE = "</bdi><script>alert(1)</script><img src=x onerror=alert(2)> © 'Us' {{ 7*7 }}"
BOX = "Show pictures from the internet"
COLOUR = np.array([128, 96, 64])


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    there = SiteFolder(tmp_path_factory.mktemp("background") / "site")
    there.path.mkdir()
    there.plain()
    there.toml(
        'name = "Hill Farm"\n[map]\n'
        f'background_tiles = "{HOST}/{{z}}/{{x}}/{{y}}.png?key=a&b=c"\n'
        f'background_credit = """{HOSTILE}"""\n'
    )
    with served(there.path) as page:
        yield page


@pytest.fixture(params=[DESKTOP, PHONE], ids=["desk", "phone"])
def tab(request, browser, site):
    context = browser.new_context(**request.param)
    context.set_default_timeout(PATIENT_MS)
    yield OpenPage(context, site.address)
    context.close()


def answered(page):
    """Pictures come from the host; the list of addresses grows as they are asked for."""
    asked = []
    made = io.BytesIO()
    Image.new("RGB", (256, 256), tuple(COLOUR.tolist())).save(made, "PNG")

    def answer(route):
        asked.append(route.request.url)
        route.fulfill(body=made.getvalue(), content_type="image/png")

    page.route("https://**/*", answer)
    return asked


def ground_colour(page):
    """Mean colour of a piece of ground below the plot, as it is seen."""
    box = page.locator("#ground").bounding_box()
    left, top = box["x"] + 0.8 * box["width"], box["y"] + 0.78 * box["height"]
    clip = {"x": left, "y": top, "width": 40, "height": 40}
    seen = Image.open(io.BytesIO(page.screenshot(clip=clip))).convert("RGB")
    return np.asarray(seen, float).mean(axis=(0, 1))


def turns(page, colour, within):
    """The ground has a colour, once its pictures are there."""
    end_s = time.monotonic() + PATIENT_MS / 1000
    while (seen := ground_colour(page)) != pytest.approx(colour, abs=within):
        assert time.monotonic() < end_s, f"{seen}, not {colour}"
        painted(page)


def test_pictures_are_asked_of_one_host_while_the_box_is_ticked(tab, site):
    page = tab.page
    asked = answered(page)
    box, credit = page.get_by_role("checkbox", name=BOX), page.locator(".credit")
    page.locator("#closer").click()
    page.locator("#further").click()
    painted(page)
    assert not box.is_checked()
    assert credit.is_hidden()
    own = (site.address, "data:")
    assert [url for url in tab.asked if not url.startswith(own)] == asked == []
    relief = ground_colour(page)

    box.check()
    # Source over with blend mode "multiply" (w3.org/TR/compositing-1), 60 % opaque.
    shaded = relief * (0.4 + 0.6 * COLOUR / 255)
    turns(page, shaded, within=6)
    assert 0 < len(asked) <= 64
    assert all(url.startswith(HOST + "/") for url in asked)
    assert all(url.endswith(".png?key=a&b=c") for url in asked)
    assert [url for url in tab.asked if not url.startswith((*own, HOST + "/"))] == []
    assert credit.inner_text() == HOSTILE
    assert credit.locator("script, img").count() == 0
    assert faults_of_access(page) == []

    box.uncheck()
    painted(page)
    assert ground_colour(page) == pytest.approx(relief)
    assert credit.is_hidden()
    number = len(asked)
    page.locator("#closer").click()
    page.reload()
    ready(page)
    page.wait_for_timeout(300)  # in which nothing is asked for
    assert not page.get_by_role("checkbox", name=BOX).is_checked()
    assert len(asked) == number
    assert tab.complaints == []


def test_without_signal_the_relief_stays_and_the_page_says_so(tab):
    page = tab.page
    page.route("https://**/*", lambda route: route.abort())
    relief = ground_colour(page)
    page.get_by_role("checkbox", name=BOX).check()
    page.get_by_text("Is there signal?").wait_for()
    page.locator("#notice").evaluate("(notice) => { notice.hidden = true; }")
    painted(page)
    assert ground_colour(page) == pytest.approx(relief)


def test_no_other_host_can_be_asked(tab):
    asked = answered(tab.page)
    with tab.page.expect_console_message(
        lambda said: "Content Security Policy" in said.text
    ):
        tab.page.evaluate("new Image().src = 'https://other.example.org/a.png'")
    assert asked == []
