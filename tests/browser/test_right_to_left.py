"""A made-up language, long and from right to left, breaks no page."""

from pathlib import Path

import pytest
from browser import PHONE, Page, ask
from texts import marked_texts

from fieldmap.show.map import map_html
from fieldmap.show.text import language
from fieldmap.show.text.language import _, spoken

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "fieldmap"

# ---- A made-up language: long, and from right to left


def stretched(text):
    """A text in brackets that show where it was cut, 40 % longer at least."""
    return f"⟦{text}{' more' * -(-len(text) * 4 // 50)}⟧"


@pytest.fixture(scope="module")
def made_up_language():
    long = {id_: stretched(id_) for id_ in marked_texts() if isinstance(id_, str)}
    counted = {
        id_[0]: tuple(map(stretched, id_))
        for id_ in marked_texts()
        if not isinstance(id_, str)
    }
    return language.Language("ar", "ar", long, counted)


@pytest.fixture(scope="module")
def stretched_map(made_up_language, plan_of_two_plots, tmp_path_factory):
    folder = tmp_path_factory.mktemp("stretched")
    with spoken(made_up_language):
        (folder / "map.html").write_text(map_html(plan_of_two_plots), encoding="utf-8")
    return folder / "map.html"


def test_long_texts_from_right_to_left_stay_within_a_narrow_phone(
    browser, stretched_map, made_up_language
):
    narrow = PHONE | {"viewport": {"width": 360, "height": 740}}
    opened = Page(browser, stretched_map, **narrow)
    page = opened.page
    root = page.locator("html")
    assert root.get_attribute("dir") == "rtl"
    assert root.get_attribute("lang") == "ar"
    listed = page.locator("#questions a")
    for key in listed.evaluate_all("all => all.map((one) => one.hash.slice(1))"):
        ask(page, key)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, key
        assert page.evaluate("document.documentElement.scrollLeft") == 0, key
    page.evaluate("document.querySelector('#table-beds').open = true")
    begins = "element => getComputedStyle(element).textAlign"
    cell = page.locator("#table-beds td").first
    cell.wait_for()
    assert cell.evaluate(begins) in ("right", "start")
    page.locator("#others").click()
    for link in listed.all():
        box = link.bounding_box()
        assert link.is_visible()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 360
    with spoken(made_up_language):
        assert listed.first.inner_text() == _("Which beds can I plant first?")
    assert opened.complaints == []
    opened.close()
