"""The page on which parcels are chosen: its sentence, map, cards and lists, offline."""

import io
import json
from contextlib import contextmanager
from dataclasses import replace
from functools import cache

import geopandas as gpd
import numpy as np
import pypdf
import pytest
from browser import DESKTOP, PHONE, READY, Finger, Page, faults_of_access, wait_until
from made_up import CRS, NORTH, WEST, plane
from made_up_region import layers
from shapely.geometry import box

from fieldmap.region.parcels import map_page, ranking
from fieldmap.region.parcels.facts import SLOPES_PERCENT, facts
from fieldmap.region.parcels.map_page import Shown
from fieldmap.region.parcels.season import USUAL, YEARS, Seasons
from fieldmap.region.parcels.tables import Chosen
from fieldmap.show.text.language import of_site, spoken

COUNT = 16
HOSTILE = "<img src=x onerror=alert(1)>"
EIGHT = SLOPES_PERCENT.index(8.0)


@cache
def parcels():
    """Sixteen squares of 4 ha in four rows; the likely days of each are 100 + 5 times

    its number, at worst 20 fewer; the last is not known, and the first four are wet.
    """
    outlines = [
        box(east, north - 200, east + 200, north)
        for row in range(4)
        for col in range(4)
        for east, north in [(WEST + 40 + 230 * col, NORTH - 40 - 230 * row)]
    ]
    names = [f"Field {at}" for at in range(COUNT)]
    names[7] = HOSTILE
    frame = gpd.GeoDataFrame(
        {"id": [f"p{at}" for at in range(COUNT)], "name": names},
        geometry=outlines,
        crs=CRS,
    )
    ground = plane(400, 400, east=0.03, north=0.02, cell_size_m=2.5)
    found = facts(outlines, layers(ground))
    dry_ha = found.dry_ha.copy()
    dry_ha[:, :4] = 0.05
    offset_c = found.offset_c.copy()
    offset_c[:, -1] = np.nan
    found = replace(found, dry_ha=dry_ha, offset_c=offset_c)
    likely = 100.0 + 5 * np.arange(COUNT)
    likely[-1] = np.nan
    days = np.stack(
        [
            np.stack([likely - 20, likely, likely + 10]) - 4 * (at - USUAL)
            for at in range(len(YEARS))
        ]
    )
    draws = np.repeat(likely[:, np.newaxis], 200, axis=1)
    seasons = Seasons(draws, days)
    ranks = ranking.ranks(found, seasons)
    return Chosen(frame, found, seasons, ranks, ranking.reasons(found)), ground


def written(folder, language="en", *, seasons=True):
    chosen, ground = parcels()
    if not seasons:
        chosen = chosen._replace(seasons=None, ranks=ranking.ranks(chosen.facts, None))
    with spoken(of_site(language, "metric")):
        page = map_page.page(chosen, Shown("Lyde valley", ground, "metric", "lyde"))
    path = folder / f"region_{language}_{seasons}.html"
    path.write_text(page, "utf-8")
    return path


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return written(tmp_path_factory.mktemp("page"))


# One page for each size serves all tests, and each begins with it as it is opened.


@pytest.fixture(scope="module")
def wide(browser, path):
    opened = Page(browser, path, **DESKTOP)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def narrow(browser, path):
    opened = Page(browser, path, **PHONE)
    yield opened
    opened.close()


@contextmanager
def anew(opened, path):
    """The page as it is opened; in the end, that it asked nobody and complained of nothing."""
    opened.requests.clear()
    opened.complaints.clear()
    opened.page.goto(path.as_uri())
    wait_until(opened.page, READY)
    yield
    assert opened.outside_requests() == []
    assert opened.complaints == []


@pytest.fixture
def desk(wide, path):
    with anew(wide, path):
        yield wide


@pytest.fixture
def phone(narrow, path):
    with anew(narrow, path):
        yield narrow


def settle(page):
    """Until the map fits the room that the cards leave: it is drawn a frame later."""
    page.evaluate(
        "new Promise((then) => requestAnimationFrame(() => requestAnimationFrame(then)))"
    )


def choose(page, **blanks):
    for name, value in blanks.items():
        page.select_option(f"select[name={name}]", str(value))
    settle(page)


def fitting(page):
    return page.locator("#fit-list > li").count()


def cards(page):
    return page.locator("#three bdi").all_inner_texts()


def test_the_sentence_says_at_once_which_parcels_are_left(desk):
    """At least 150 days: parcels 10 to 14 have 150 to 170, and 15 is not known."""
    choose(desk.page, days=150, years=2, hectares=1, slope=EIGHT)
    answer = desk.page.inner_text("#answer")
    assert answer.startswith("5 of 16 parcels fit.")
    # At worst each has 20 days fewer: only 170 stays at 150.
    assert "At worst, 1 would still fit." in answer
    assert "Too little is known of 1 parcel." in answer
    assert fitting(desk.page) == 5
    choose(desk.page, days=170)
    assert desk.page.inner_text("#answer").startswith("1 of 16 parcels fits.")
    assert cards(desk.page) == ["1 Field 14, 4 ha"]


def test_what_keeps_most_parcels_out_alone_is_said(desk):
    """Without days to keep the first four are out for their dry ground alone."""
    choose(desk.page, days=0, hectares=1, slope=EIGHT)
    answer = desk.page.inner_text("#answer")
    assert answer.startswith(
        "11 of 16 parcels fit. At worst, all of them would still fit."
    )
    assert "4 more would fit with less dry ground." in answer


def test_other_years_ask_for_other_days(desk):
    """In 9 of 10 years each has 4 days fewer than in 4 of 5."""
    choose(desk.page, days=150, years=2, hectares=0)
    assert fitting(desk.page) == 5
    choose(desk.page, years=3)
    assert fitting(desk.page) == 4
    assert "9 of 10 years" in desk.page.inner_text("#three")


def test_a_touched_parcel_takes_the_place_of_the_third(desk):
    choose(desk.page, days=0, hectares=0)
    x, y = desk.page.evaluate("fieldmap.map.pixelOf(5)")
    desk.page.mouse.click(x, y)
    assert cards(desk.page)[-1] == "3 Field 5, 4 ha"
    assert "Still nights" in desk.page.inner_text("#three li:last-child")
    settle(desk.page)
    x, y = desk.page.evaluate("fieldmap.map.pixelOf(7)")
    desk.page.mouse.click(x, y)
    assert cards(desk.page)[-1] == f"3 {HOSTILE}, 4 ha"


def test_a_parcel_that_does_not_fit_says_why(desk):
    choose(desk.page, days=150, years=2, hectares=1, slope=EIGHT)
    x, y = desk.page.evaluate("fieldmap.map.pixelOf(0)")
    desk.page.mouse.click(x, y)
    # Whatever kind of space stands before a sign.
    said = " ".join(desk.page.inner_text("#three li:last-child").split())
    assert "likely has 100 days without frost, and you ask for 150" in said
    assert "0.1 ha of dry ground on slopes up to 8 %, and you ask for 1 ha" in said


def test_all_of_it_works_by_keys(desk):
    page = desk.page
    page.focus("select[name=days]")
    page.keyboard.press("End")
    assert page.inner_text("#answer").startswith("1 of 16")
    page.focus("#map")
    settle(page)
    before = page.evaluate("fieldmap.map.pixelOf(3)")
    page.keyboard.press("ArrowLeft")
    after = page.evaluate("fieldmap.map.pixelOf(3)")
    assert after[0] > before[0]
    page.keyboard.press("+")
    apart = page.evaluate("fieldmap.map.pixelOf(3)[0] - fieldmap.map.pixelOf(0)[0]")
    page.keyboard.press("0")
    whole = page.evaluate("fieldmap.map.pixelOf(3)[0] - fieldmap.map.pixelOf(0)[0]")
    assert apart == pytest.approx(1.6 * whole, rel=0.01)
    page.focus("#others summary")
    page.keyboard.press("Enter")
    page.locator("#others[open]").wait_for()
    settle(page)
    page.keyboard.press("Tab")
    name = page.evaluate("document.activeElement.querySelector('bdi').textContent")
    page.keyboard.press("Enter")
    assert cards(page)[-1].endswith(name)


def test_a_kept_sentence_comes_back_with_its_parcels(browser, path, desk):
    choose(desk.page, days=140, years=0, hectares=0.5, slope=EIGHT)
    x, y = desk.page.evaluate("fieldmap.map.pixelOf(2)")
    desk.page.mouse.click(x, y)
    desk.page.click("#keep")
    kept, answer = cards(desk.page), desk.page.inner_text("#answer")
    address = desk.page.url
    other = browser.new_context(**DESKTOP)
    page = other.new_page()
    page.goto(address)
    wait_until(page, READY)
    assert (cards(page), page.inner_text("#answer")) == (kept, answer)
    other.close()


def test_a_parcel_is_found_by_the_beginning_of_its_name(desk):
    desk.page.fill("#wanted", "field 12")
    desk.page.press("#wanted", "Enter")
    assert cards(desk.page)[-1] == "3 Field 12, 4 ha"
    desk.page.fill("#wanted", "nowhere")
    desk.page.press("#wanted", "Enter")
    assert desk.page.inner_text("#message") == "No parcel has this name."


def test_cautions_stand_before_the_lists(desk):
    said = desk.page.inner_text(".cautions")
    assert "See the ground before you sign." in said
    assert "hang a thermometer in each parcel" in said


@pytest.mark.parametrize("size", ["wide", "narrow"])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_access(request, path, size, scheme):
    opened = request.getfixturevalue(size)
    page = opened.page
    page.emulate_media(color_scheme=scheme)
    with anew(opened, path):
        for list_ in ("#fitting", "#others"):
            page.evaluate(f"document.querySelector('{list_}').open = true")
        assert faults_of_access(page) == []
        assert page.evaluate("document.documentElement.dataset.look") == (
            "night" if scheme == "dark" else "day"
        )
    page.emulate_media(color_scheme="light")


def test_nothing_hangs_over_the_edge_of_a_phone(phone):
    wide = phone.page.evaluate("document.documentElement.scrollWidth")
    assert wide <= PHONE["viewport"]["width"]
    tall = phone.page.evaluate(
        "[...document.querySelectorAll('button, select, #wanted')]"
        ".filter((each) => each.offsetParent && each.offsetHeight < 40).length"
    )
    assert tall == 0


def test_a_tap_on_a_phone_brings_the_card(phone):
    choose(phone.page, days=0, hectares=0)
    phone.page.locator("#map").scroll_into_view_if_needed()
    x, y = phone.page.evaluate("fieldmap.map.pixelOf(9)")
    phone.page.locator("#wanted").focus()
    phone.page.locator("#map").tap(position={"x": x, "y": y})
    assert phone.page.evaluate("document.activeElement.id") != "wanted"
    assert cards(phone.page)[-1] == "3 Field 9, 4 ha"
    assert phone.page.locator("#three li:last-child").bounding_box()["y"] < 844


def test_a_word_is_heard_at_once_after_the_map_was_flicked(phone):
    """Browsers take the first tap after a flick as one that stops it, and click nothing."""
    page = phone.page
    page.locator("#map").scroll_into_view_if_needed()
    box = page.locator("#map").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    Finger(phone.context, page).flick((x - 120, y + 80), (x + 120, y - 80))
    page.locator("[data-look=night]").tap()
    page.locator("[data-look=night][aria-pressed=true]").wait_for(timeout=5000)
    page.locator("[data-look=bright]").tap()


def test_without_scripts_every_parcel_stands_in_words(browser, path):
    opened = Page(browser, path, java_script_enabled=False, **DESKTOP)
    text = opened.page.text_content("main")
    assert "This page needs scripts to show which parcels fit." in text
    assert text.count("Still nights: likely") == COUNT - 1
    opened.close()


def test_it_prints_the_answer_and_the_three(desk):
    choose(desk.page, days=150, years=2, hectares=1, slope=EIGHT)
    pages = pypdf.PdfReader(io.BytesIO(desk.page.pdf())).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "5 of 16 parcels fit." in text
    assert "Field 14" in text
    assert len(pages) <= 2


def test_without_a_record_still_nights_are_asked_for(browser, tmp_path):
    opened = Page(browser, written(tmp_path, seasons=False), **DESKTOP)
    choose(opened.page, hectares=0)
    # All likely lie 1 °C under the reference: none is as mild, all are within 1 °C.
    assert opened.page.inner_text("#answer").startswith("None of 16 parcels fits.")
    opened.page.select_option("select[name=degrees]", "-1.25")
    assert opened.page.inner_text("#answer").startswith("15 of 16 parcels fit.")
    assert "Frost-free" not in opened.page.inner_text("#three")
    assert opened.complaints == []
    opened.close()


def test_spanish_is_whole(browser, tmp_path):
    opened = Page(browser, written(tmp_path, "es"), **PHONE)
    choose(opened.page, days=150, years=2, hectares=1, slope=EIGHT)
    assert opened.page.inner_text("#answer").startswith("5 de 16 fincas cumplen.")
    opened.page.evaluate("document.querySelector('#others').open = true")
    shown = opened.page.inner_text("main")
    assert not {"parcel", "parcels", "ground", "nights", "likely"} & set(
        shown.lower().replace(",", " ").split()
    )
    assert opened.page.evaluate("document.documentElement.scrollWidth") <= 390
    opened.close()


def test_the_numbers_in_the_page_are_those_of_the_facts(path):
    text = path.read_text("utf-8")
    begin = text.index('id="fieldmap-data">') + len('id="fieldmap-data">')
    data = json.loads(text[begin : text.index("</script>", begin)])
    chosen, _ = parcels()
    assert data["days"][2][1][:15] == [100 + 5 * at for at in range(15)]
    assert data["days"][2][1][15] is None
    assert data["hectares"] == [4.0] * COUNT
    assert data["dry"][EIGHT][4] == pytest.approx(
        chosen.facts.dry_ha[EIGHT, 4], abs=1e-3
    )
