"""The map's page as people use it: in a browser, with the network cut."""

import re
from dataclasses import replace

import numpy as np
import pytest
from browser import (
    DESKTOP,
    PHONE,
    PHONE_SIDEWAYS,
    READY,
    Finger,
    Page,
    ask,
    faults_in_file,
    faults_of_access,
    wait_until,
)
from made_up import (
    analysis,
    raster,
    with_cold_air,
    with_light,
)
from PIL import ImageColor
from pyproj import Transformer
from scipy import ndimage

from fieldmap.model.fact import Fact
from fieldmap.show.map import map_html, still
from fieldmap.show.map.data.shapes import planned_bounds
from fieldmap.show.map.questions import Asked
from fieldmap.show.map.questions.view import Picture, Question, View, shade_over
from fieldmap.show.text.map import spots
from fieldmap.show.text.map.labels import LABELS
from fieldmap.show.text.map.questions import QUESTIONS
from fieldmap.show.text.names import alphabetical, glossary
from fieldmap.show.text.sentence import say


@pytest.fixture(scope="module")
def plan(plan_of_two_plots):
    return plan_of_two_plots


@pytest.fixture(scope="module")
def asked(plan):
    return [question.key for question in Asked(plan).questions]


def plain(text):
    """Without spaces that hold a number to its unit."""
    return " ".join(text.split())


def shown(page, name):
    return page.locator(f".{name}.view:visible")


# ---- Question, answer, legend


def test_every_question_answers_without_a_network_or_a_complaint(opened, asked):
    page = opened.page
    for key in asked:
        ask(page, key)
        assert page.get_by_role("heading", level=1).inner_text() == QUESTIONS[key]
        assert shown(page, "answer").count() == 1
        assert shown(page, "answer").locator("b").inner_text()
    for button in ("Measure", "Stop measuring"):
        tool = page.get_by_role("button", name=button)
        if not tool.is_visible():
            page.get_by_role("button", name="other questions").click()
        tool.click()
    if page.locator("#others").is_visible():
        page.get_by_role("button", name="other questions").click()
    assert opened.outside_requests() == []
    assert opened.complaints == []


def test_a_page_is_painted_once_as_it_opens_and_again_in_its_own_letters(opened):
    # A phone waits for each picture: opening asked for five once.
    count = """window.painted = 0;
      const context = HTMLCanvasElement.prototype.getContext;
      HTMLCanvasElement.prototype.getContext = function (...asked) {
        if (this.className.includes("field-canvas")) window.painted += 1;
        return context.apply(this, asked);
      };"""
    page = opened.page.context.new_page()
    page.add_init_script(count)
    page.goto(opened.page.url.split("#")[0])
    wait_until(page, "window.painted > 0")
    page.wait_for_timeout(800)  # in which it is not painted again and again
    assert page.evaluate("window.painted") <= 3
    page.close()


def test_question_answer_and_legend_take_no_scrolling_and_few_words(opened, asked):
    page = opened.page
    high = page.viewport_size["height"]
    for key in asked:
        ask(page, key)
        answer = shown(page, "answer").bounding_box()
        assert answer["y"] + answer["height"] <= high, key
        ramp = page.locator(".legend.view:visible .colours")
        if ramp.count():
            box = ramp.bounding_box()
            assert box["y"] + box["height"] <= high, key
        note = page.locator(".legend.view:visible .note").all_inner_texts()
        words = " ".join([shown(page, "answer").inner_text(), *note]).split()
        assert len(words) < 60, key


def test_a_plot_keeps_its_name_in_one_place_whatever_is_asked(opened, asked, plan):
    """At one zoom, on a map as high as that of the first question."""
    page = opened.page
    ask(page, asked[0])
    view = page.evaluate("[fieldmap.map.getCenter(), fieldmap.map.getZoom()]")
    high = page.locator(".map-box").evaluate("box => box.clientHeight")
    plots = {str(name) for name in plan.site.plots["name"]}
    places = []
    for key in asked:
        ask(page, key)
        page.locator(".map-box").evaluate(
            "(box, high) => { box.style.flex = 'none'; box.style.height = `${high}px`; }",
            high,
        )
        page.evaluate(
            "([centre, zoom]) => { fieldmap.map.invalidateSize({ animate: false }); fieldmap.map.setView(centre, zoom, { animate: false }); fieldmap.field.repaint(); }",
            view,
        )
        words = page.evaluate("fieldmap.field.words()")
        places.append(
            {
                each["text"]: (round(each["left"]), round(each["top"]))
                for each in words
                if each["text"] in plots
            }
        )
    page.locator(".map-box").evaluate("box => box.removeAttribute('style')")
    page.evaluate("fieldmap.map.invalidateSize({ animate: false })")
    assert set(places[0]) == plots
    assert all(each == places[0] for each in places)


def test_the_desk_page_is_short_before_anything_is_opened(desktop):
    assert desktop.evaluate("document.documentElement.scrollHeight") < 6000


def test_the_map_fills_the_desk_and_nothing_needs_sideways_scrolling(opened):
    page = opened.page
    wide = page.viewport_size["width"]
    box = page.locator(".map-box").bounding_box()
    assert box["width"] == wide
    assert page.evaluate("document.documentElement.scrollWidth") <= wide


@pytest.mark.parametrize("key", ["early", "tonight", "cold", "what-if"])
def test_a_checker_finds_no_fault_of_access(opened, key):
    ask(opened.page, key)
    assert faults_of_access(opened.page) == []


def test_the_checker_finds_a_button_without_a_name(opened):
    opened.page.evaluate(
        "document.querySelector('main').append(document.createElement('button'))"
    )
    found = [fault[0] for fault in faults_of_access(opened.page)]
    opened.page.evaluate("document.querySelector('main > button').remove()")
    assert found == ["button-name"]


def test_targets_are_large_enough_for_a_finger(opened):
    """44 px at least (WCAG 2.2, target size, level AAA)."""
    small = opened.page.evaluate(
        """() => [...document.querySelectorAll("button, a, input:not([type=radio], [type=checkbox]), summary, label")]
            .filter((each) => each.offsetParent && getComputedStyle(each).visibility === "visible")
            .map((each) => [each.textContent.trim() || each.id, each.getBoundingClientRect().height])
            .filter(([, high]) => high < 43.5)"""
    )
    assert small == []


def test_each_month_of_the_sun_has_its_word_once(desktop):
    ask(desktop, "sun")
    months = desktop.get_by_role("group", name=LABELS["which_month"]).get_by_role(
        "radio"
    )
    values = [int(each.get_attribute("value")) for each in months.all()]
    assert sorted(values) == list(range(12))
    said = set()
    for value in values:
        months.and_(desktop.locator(f"[value='{value}']")).check(force=True)
        said.add(
            shown(desktop, "answer").inner_text().split(" get")[0].split(" all")[0]
        )
        assert shown(desktop, "answer").get_attribute("data-view") == f"sun/{value}"
    assert len(said) == 12


def test_a_change_is_chosen_and_answers(desktop, plan):
    ask(desktop, "what-if")
    assert desktop.get_by_role("radio", name="No hedge").is_checked()
    desktop.get_by_text("More", exact=True).locator("visible=true").click()
    assert "The change removes the Hedge" in shown(desktop, "legend").inner_text()


# ---- A bed


def find(page, text):
    page.keyboard.press("Escape")
    if page.get_by_role("button", name=LABELS["find_a_bed"]).is_visible():
        page.get_by_role("button", name=LABELS["find_a_bed"]).click()
    page.get_by_role("searchbox").fill(text)
    page.keyboard.press("Enter")
    return page.locator("#callout")


def test_a_bed_is_found_by_its_name_and_says_why_in_few_words(opened, plan):
    page = opened.page
    ask(page, "early")
    bed = plan.beds[1]
    callout = find(page, bed.bed.name)
    text = callout.inner_text()
    assert bed.bed.name in text
    assert len(text.split()) < 60
    reason = say(bed.reasons[0]["first"], "metric")
    assert reason[1:] in text
    page.get_by_role("button", name=LABELS["close"], exact=True).click()
    assert callout.is_hidden()


def test_what_stands_around_says_what_it_is_and_does_in_few_words(opened):
    page = opened.page
    ask(page, "cold")
    callout = find(page, "Hedge")
    # Three metres high, bare in winter, and no stem is clear: as the fixture draws it.
    assert [plain(each) for each in callout.locator("p").all_inner_texts()] == [
        "Hedge, 3 m high.",
        "It is bare in winter, so more light comes through then.",
        "On a still night it stops cold air, which collects on its uphill side.",
    ]
    page.keyboard.press("Escape")


def test_bare_ground_says_its_numbers_in_few_words(desktop):
    ask(desktop, "cold")
    spot = "fieldmap.map.containerPointToLatLng([900, 30])"
    desktop.evaluate(f"fieldmap.map.fire('click', {{ latlng: {spot} }})")
    callout = desktop.locator("#callout")
    callout.get_by_role("heading", name=LABELS["here_title"]).wait_for()
    assert 10 < len(callout.inner_text().split()) <= 60
    desktop.keyboard.press("Escape")


def test_what_a_bed_says_never_lies_over_it(opened, plan):
    page = opened.page
    ask(page, "early")
    for at in (0, len(plan.beds) // 2, len(plan.beds) - 1):
        callout = find(page, plan.beds[at].bed.name).bounding_box()
        bed = page.evaluate(
            """(index) => {
                const box = fieldmap.field.boxOf({ kind: "bed", index, name: "" });
                const map = fieldmap.map.getContainer().getBoundingClientRect();
                return [box.left + map.left, box.top + map.top, box.right + map.left, box.bottom + map.top];
            }""",
            at,
        )
        apart = (
            callout["x"] >= bed[2]
            or callout["x"] + callout["width"] <= bed[0]
            or callout["y"] >= bed[3]
            or callout["y"] + callout["height"] <= bed[1]
        )
        assert apart, plan.beds[at].bed.name
    page.keyboard.press("Escape")


@pytest.fixture(scope="module")
def sideways(browser, map_file):
    shown = Page(browser, map_file, **PHONE_SIDEWAYS)
    yield shown.page
    shown.close()


def test_on_a_phone_held_sideways_no_tool_and_no_word_lies_over_the_plots(
    sideways, plan
):
    ask(sideways, "early")
    sideways.evaluate("fieldmap.field.whole()")
    tools = sideways.locator(".corner").bounding_box()
    assert tools["height"] < 60
    find(sideways, plan.beds[0].bed.name)
    bed = sideways.evaluate("() => fieldmap.field.leaderEnd(fieldmap.field.bed(0))")
    said = sideways.locator("#callout").bounding_box()
    assert bed["x"] > said["x"] + said["width"]
    assert bed["y"] > tools["y"] + tools["height"]
    sideways.keyboard.press("Escape")
    assert not sideways.get_by_role("button", name=LABELS["bright"]).is_visible()
    sideways.locator("#all-questions").click()
    assert sideways.get_by_role("button", name=LABELS["bright"]).is_visible()


def test_on_a_phone_the_ends_of_a_change_are_named_by_words(opened):
    """As the question of changes has it where one moves cold air: degrees on either side."""
    page = opened.page
    ask(page, "what-if")
    page.evaluate(
        """() => document.querySelector(".legend.view:not([hidden])").insertAdjacentHTML("afterbegin",
            `<div class="ramp" id="made"><div class="scale"><div class="colours"></div>
            <p class="tick few first" style="--at:0"><span class="said">1 °C</span><span class="beside">less cold</span></p>
            <p class="tick few last" style="--at:1"><span class="said">1 °C</span><span class="beside">colder</span></p>
            </div></div>`)"""
    )
    boxes = [each.bounding_box() for each in page.locator("#made .tick span").all()]
    for said, beside in (boxes[:2], boxes[2:]):
        apart = (
            beside["y"] >= said["y"] + said["height"] - 4
            or beside["x"] >= said["x"] + said["width"]
        )
        assert apart
    page.evaluate("document.querySelector('#made').remove()")


def test_a_bed_is_looked_for_over_the_whole_width_of_a_phone(browser, map_file):
    page = Page(browser, map_file, **PHONE)
    page.page.get_by_role("button", name=LABELS["find_a_bed"]).click()
    assert page.page.locator("#find").bounding_box()["width"] == 390
    page.close()


def test_a_word_is_heard_at_once_after_the_map_was_flicked(browser, map_file):
    """Browsers take the first tap after a flick as one that stops it, and click nothing."""
    opened = Page(browser, map_file, **PHONE)
    page = opened.page
    box = page.locator(".leaflet-container").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    assert not page.locator("#find").is_visible()
    Finger(opened.context, page).flick((x - 120, y + 80), (x + 120, y - 80))
    page.get_by_role("button", name=LABELS["find_a_bed"]).tap()
    page.locator("#find").wait_for(timeout=5000)
    opened.close()


def test_the_words_of_the_page_are_folded_below_it_in_their_order(desktop):
    part = desktop.locator("#words")
    assert part.get_attribute("open") is None
    part.locator("summary").click()
    words = part.locator("dt").all_inner_texts()
    assert words == [word for word, _meaning in alphabetical(glossary())]
    assert part.get_by_text(dict(glossary())["cold pocket"]).is_visible()
    part.locator("summary").click()


def test_what_is_not_there_is_said(desktop):
    desktop.get_by_role("searchbox").fill("no such bed")
    assert (
        LABELS["not_found"].format(text="no such bed")
        in desktop.locator("#found").inner_text()
    )
    desktop.get_by_role("searchbox").fill("")


def test_no_part_of_the_page_is_named_as_a_question_is(desktop, plan):
    """A browser scrolls to the part whose id stands in the address (HTML, "Fragments")."""
    asked = {each.key for each in Asked(plan).questions}
    ids = desktop.evaluate("[...document.querySelectorAll('[id]')].map(({ id }) => id)")
    assert asked.isdisjoint(ids)


def test_all_about_a_bed_opens_its_row_made_only_then(desktop, plan):
    ask(desktop, "early")
    assert desktop.locator("#table-beds table").count() == 0
    bed = plan.beds[2]
    find(desktop, bed.bed.name).get_by_role("button", name="All about").click()
    row = desktop.locator("#bed-2")
    row.wait_for()
    assert say(bed.reasons[0], "metric") in row.inner_text()
    desktop.evaluate(
        "document.querySelector('#table-beds').open = false; scrollTo(0, 0)"
    )


# ---- The ground, place, measure


def test_the_number_under_a_finger_is_that_of_the_cell(desktop, plan):
    ask(desktop, "cold")
    depth = plan.analysis.cold_air.depth_m
    row, col = 100, 100  # between the plots
    size = depth.cell_size_m
    east = depth.transform.c + (col + 0.5) * size
    north = depth.transform.f - (row + 0.5) * size
    to_degrees = Transformer.from_crs(depth.crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(east, north)
    desktop.evaluate(
        "([lat, lng]) => fieldmap.map.fire('click', { latlng: L.latLng(lat, lng) })",
        [latitude, longitude],
    )
    low, central, high = plan.analysis.cold_air.offset_c.values[:, row, col].tolist()
    callout = desktop.locator("#callout")
    callout.get_by_text(
        "On a still night, compared with a typical spot in the plots (half of the ground is colder):"
    ).wait_for()
    said = callout.inner_text().replace("\N{NO-BREAK SPACE}", " ")
    assert f": {spots.likely(central, 'metric')}, " in said
    assert spots.in_places_like_this(low, high, "metric") in said
    desktop.keyboard.press("Escape")


def test_a_measured_square_has_the_length_and_area_it_was_drawn_with(desktop, plan):
    """A square of 40 m in the plan's own metres; UTM's scale is off by 0.04 %."""
    to_degrees = Transformer.from_crs(plan.site.crs, 4326, always_xy=True)
    west, south, *_ = plan.site.plots.total_bounds
    corners = [
        to_degrees.transform(west + east, south + north)[::-1]
        for east, north in ((0, 0), (40, 0), (40, 40), (0, 40), (20, 60))
    ]
    desktop.get_by_role("button", name="Measure", exact=True).click()
    at = desktop.evaluate(
        """(corners) => {
            const map = fieldmap.map;
            map.fitBounds(corners, { paddingTopLeft: [420, 220], paddingBottomRight: [80, 80], animate: false });
            const box = map.getContainer().getBoundingClientRect();
            return corners.map((corner) => {
                const at = map.latLngToContainerPoint(corner);
                return [at.x + box.x, at.y + box.y];
            });
        }""",
        corners,
    )
    for x, y in at:
        desktop.mouse.click(x, y)
    desktop.get_by_role("button", name=LABELS["undo"]).click()
    message = desktop.locator("#message").inner_text()
    around, area = re.match(
        r"([\d.,]+) m around, ([\d.,]+) m² inside", message
    ).groups()
    assert float(around) == pytest.approx(160, rel=0.01)
    assert float(area.replace(",", "")) == pytest.approx(1600, rel=0.02)
    assert desktop.locator("#callout").is_hidden()  # beds kept quiet
    line, drawing = desktop.evaluate(
        """[".measured", ".field-canvas"].map((one) => Number(getComputedStyle(
            document.querySelector(one).closest(".leaflet-pane")).zIndex))"""
    )
    assert line > drawing
    desktop.get_by_role("button", name=LABELS["measure_stop"]).click()


def test_my_place_is_followed_and_the_bed_named_or_it_says_why_not(
    browser, map_file, plan
):
    to_degrees = Transformer.from_crs(plan.site.crs, 4326, always_xy=True)
    bed = plan.beds[0]
    middle = bed.bed.outline.centroid
    longitude, latitude = to_degrees.transform(middle.x, middle.y)
    inside = {"longitude": longitude, "latitude": latitude, "accuracy": 3}
    on_bed = LABELS["you_are_on_bed"].format(bed=bed.bed.name, plot=bed.bed.plot)
    allowed = {"permissions": ["geolocation"]}
    for options, said in (
        ({"geolocation": inside} | allowed, on_bed),
        (
            {"geolocation": {"latitude": 0, "longitude": 0}} | allowed,
            LABELS["off_map"].split("{")[0],
        ),
        ({}, LABELS["no_place"]),
    ):
        page = Page(browser, map_file, **PHONE, **options)
        page.page.get_by_role("button", name=LABELS["locate"]).click()
        wait_until(
            page.page,
            "text => document.getElementById('message').textContent.startsWith(text)",
            arg=said,
        )
        page.close()


def test_question_place_and_zoom_are_kept_over_a_reload(browser, map_file):
    page = Page(browser, map_file, **DESKTOP)
    ask(page.page, "cold")
    page.page.evaluate(
        "fieldmap.map.setView(fieldmap.map.getCenter(), fieldmap.map.getZoom() + 1, { animate: false })"
    )
    before = page.page.evaluate(
        "[fieldmap.map.getZoom(), fieldmap.map.getCenter().lat]"
    )
    page.page.reload()
    wait_until(page.page, READY)
    assert page.page.locator("h1").inner_text() == QUESTIONS["cold"]
    zoom, lat = page.page.evaluate(
        "[fieldmap.map.getZoom(), fieldmap.map.getCenter().lat]"
    )
    assert zoom == pytest.approx(before[0], abs=0.01)
    assert lat == pytest.approx(before[1], abs=1e-5)
    page.close()


# ---- Looks


@pytest.mark.parametrize(
    ("asked_for", "look"),
    [
        ({}, "day"),
        ({"color_scheme": "dark"}, "night"),
        ({"contrast": "more"}, "bright"),
    ],
)
def test_the_look_is_that_which_the_browser_asks_for(
    browser, map_file, asked_for, look
):
    page = Page(browser, map_file, **DESKTOP, **asked_for)
    assert page.page.locator("html").get_attribute("data-look") == look
    assert faults_of_access(page.page) == []  # contrast of words, 4.5 to 1
    page.close()


# ---- Without scripts, on paper


def test_without_scripts_the_picture_of_every_question_and_the_warnings_are_shown(
    browser, map_file, plan, asked
):
    page = Page(browser, map_file, java_script_enabled=False, **PHONE)
    pictures = page.page.locator(".still img").all()
    assert len(pictures) == len(asked)
    for picture in pictures:
        assert picture.is_visible()
        assert picture.evaluate("image => image.naturalWidth") > 300
    # A legend stands under its own picture.
    for legend in page.page.locator(".legend:has(.still):has(.ramp)").all():
        picture, ramp = (
            legend.locator(each).bounding_box() for each in (".still", ".ramp")
        )
        assert ramp["y"] >= picture["y"] + picture["height"]
    warnings = page.page.locator("#warnings")
    assert warnings.get_by_text(say(plan.warnings[-1], "metric")).is_visible()
    assert not page.page.locator(".map-box").is_visible()
    assert page.page.evaluate("document.documentElement.scrollWidth") <= 390
    page.close()


def test_a_still_picture_shows_which_tunnels_get_shade_cloth(plan):
    first = plan.tunnels[0]
    cloth = Picture(extras=(shade_over(first.name),))
    asked = [
        Question(key, key, (View((), picture),))
        for key, picture in (("with", cloth), ("without", Picture()))
    ]
    place = still.scenery(plan)
    shown = still.of_questions(place, asked, "metric")
    (left, right), (top, bottom) = _inside(first.outline, place, shown["with"].width)

    def colours(key):
        found = np.asarray(shown[key].image.convert("RGB"), float)
        return found[top:bottom, left:right].reshape(-1, 3).mean(axis=0)

    # As its legend has it: beds under shade cloth are of the same colour.
    mesh = ImageColor.getrgb(still.IN_STILLS["mesh"])
    assert np.abs(colours("with") - mesh).max() < 25
    assert np.abs(colours("without") - mesh).max() > 60


def _inside(outline, place, width_px):
    """Columns and rows of a still picture around the middle of an outline."""
    west, _south, east, north = still._shown(
        planned_bounds(place.plots.geometry, place.tunnels)
    )
    px_per_m = width_px / (east - west)
    x = (outline.centroid.x - west) * px_per_m
    y = (north - outline.centroid.y) * px_per_m
    return [(round(each) - 3, round(each) + 4) for each in (x, y)]


def test_a_checker_finds_no_fault_of_access_in_what_is_shown_without_scripts(
    browser, map_file, tmp_path
):
    # The checker is a script itself, so the page's own are taken out of the file.
    text = map_file.read_text(encoding="utf-8")
    without = re.sub(r"<script\b.*?</script>", "", text, flags=re.DOTALL)
    (tmp_path / "map.html").write_text(without, encoding="utf-8")
    assert faults_in_file(browser, tmp_path / "map.html") == []


def test_on_paper_the_question_that_is_asked_stands_on_one_page(
    browser, map_file, tmp_path
):
    import pypdfium2

    page = Page(browser, map_file, **DESKTOP)
    for key, legend in (("cold", "At worst"), ("what-if", "No hedge")):
        ask(page.page, key)
        page.page.pdf(path=tmp_path / "map.pdf", format="A4")
        printed = pypdfium2.PdfDocument(tmp_path / "map.pdf")
        assert len(printed) == 1
        text = " ".join(printed[0].get_textpage().get_text_range().split())
        assert QUESTIONS[key] in text
        assert legend in text
    page.close()


def test_on_paper_the_picture_shows_what_the_window_shows_beside_its_words(
    browser, map_file
):
    """Both ends of what is seen beside the column, on paper as far apart as it is wide."""
    page = Page(browser, map_file, **DESKTOP)
    ask(page.page, "early")
    drawn = page.page.evaluate(
        """() => {
            const seen = [];
            const fill = CanvasRenderingContext2D.prototype.fillText;
            CanvasRenderingContext2D.prototype.fillText = function (text, x, y) {
                seen.push([text, x, y]);
                return fill.call(this, text, x, y);
            };
            fieldmap.field.toImage({ width: 720, height: 560, look: "print" });
            CanvasRenderingContext2D.prototype.fillText = fill;
            return seen;
        }"""
    )
    places = {text: (x, y) for text, x, y in drawn}
    for plot in ("Upper", "Lower"):
        x, y = places[plot]
        assert 0 < x < 720
        assert 0 < y < 560
    page.close()


# ---- Names, size, sameness


def renamed(plan, name):
    """The same plan with one name for everything that is named by people."""
    said = (Fact("plot_without_beds", plot=name, shortest_m=5.0),)
    beds = tuple(
        replace(ranked, bed=replace(ranked.bed, name=name, plot=name), reasons=said)
        for ranked in plan.beds
    )
    settings = plan.site.settings.model_copy(update={"name": name})
    site = replace(
        plan.site,
        settings=settings,
        plots=plan.site.plots.assign(name=name),
        surroundings=plan.site.surroundings.assign(name=name),
    )
    return replace(
        plan,
        site=site,
        beds=beds,
        tunnels=tuple(replace(tunnel, name=name) for tunnel in plan.tunnels),
        cold_pockets=plan.cold_pockets.assign(behind=name),
        warnings=said,
    )


@pytest.mark.parametrize(
    "name",
    [
        "</script><script>alert(1)</script><img src=x onerror=alert(1)>{{7*7}}"
        "@import url(https://example.org/a.css) $x^2$ \u2028 \"' -->",
        "W" * 2_000,
        "\u202e\u0627\u0644\u062d\u0642\u0644",
    ],
    ids=["markup, styles and formulas", "2,000 characters", "right to left"],
)
def test_a_hostile_name_shows_as_text_and_breaks_nothing(
    browser, plan, asked, tmp_path, name
):
    path = tmp_path / "map.html"
    path.write_text(map_html(renamed(plan, name)), encoding="utf-8")
    opened = Page(browser, path, **PHONE)
    page = opened.page
    alerts = []
    page.on("dialog", lambda dialog: alerts.append(dialog.message))
    for key in asked:
        ask(page, key)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, key
    page.evaluate("document.querySelectorAll('details').forEach((d) => d.open = true)")
    page.locator("#table-beds tbody th button").first.wait_for(state="attached")
    assert page.locator(".site bdi").text_content() == name
    assert page.locator("#table-beds tbody th").first.text_content() == name
    assert alerts == []
    assert opened.complaints == []
    assert opened.outside_requests() == []
    opened.close()


def test_a_rough_site_of_450_by_450_cells_stays_under_8_megabytes(plan):
    """Every cell of every month its own: the worst that real ground can do."""
    rng = np.random.default_rng(5)

    def rough(bands, mean, spread, reach):
        noise = ndimage.gaussian_filter(
            rng.standard_normal((bands, 450, 450)), (0, reach, reach)
        )
        return mean + spread * noise / noise.std()

    ground = raster(rough(1, 200.0, 3.0, 12.0)[0])
    rough_ground = with_light(
        analysis(ground, sun=rough(12, 15.0, 2.0, 2.0), offset_c=rough(1, 0, 1, 4)[0]),
        direct_hours=ground.with_values(rough(12, 9.0, 1.5, 2.0)),
    )
    rough_ground = with_cold_air(
        rough_ground,
        depth_m=ground.with_values(np.maximum(0, rough(1, 0.0, 2.0, 4.0)[0])),
    )
    page = map_html(replace(plan, analysis=rough_ground, what_ifs=()))
    assert len(page.encode()) < 8e6


def test_the_page_holds_no_measure_of_the_other_units(plan):
    """What the map itself says; reasons and warnings are other modules' words."""
    settings = plan.site.settings.model_copy(update={"units": "us"})
    bare = replace(
        plan,
        site=replace(plan.site, settings=settings),
        beds=tuple(replace(ranked, reasons=()) for ranked in plan.beds),
        tunnels=tuple(replace(tunnel, reasons=()) for tunnel in plan.tunnels),
        analysis=replace(plan.analysis, remarks=()),
        materials=replace(plan.materials, remarks=()),
        layouts=(),
        warnings=(),
    )
    text = map_html(bare).split("</style>")[-1].replace("\N{NO-BREAK SPACE}", " ")
    assert re.search(r"\d ft long", text)
    assert re.search(r"drops \d+ in in 10 ft", text)
    assert re.findall(r".{0,50}\d (?:°C|m|cm|m²)\b", text) == []
