"""The map as people use it: in a browser, with the network cut."""

import io
import json
import re
from dataclasses import replace

import numpy as np
import pytest
from browser import DESKTOP, PHONE, Page, choose, faults_in_file, faults_of_access
from made_up import (
    analysis,
    plane,
    plot_box,
    raster,
    site,
    surroundings,
    with_cold_air,
    with_light,
)
from PIL import Image
from pyproj import Transformer
from scipy import ndimage

from fieldmap.cache import Store
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.settings import WhatIf
from fieldmap.plan import make_plan
from fieldmap.read.outlines.what_if import imagine
from fieldmap.show.map import map_html
from fieldmap.show.map.overlay import classes
from fieldmap.show.map.questions import questions
from fieldmap.show.map.tables import beds
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import month_name
from fieldmap.show.text.map import spots
from fieldmap.show.text.map.classes import GROUPS
from fieldmap.show.text.map.labels import HEADINGS, LABELS
from fieldmap.show.text.map.questions import QUESTIONS
from fieldmap.show.text.sentence import say

TUNNEL_CAUTIONS = texts("fieldmap.show.text.map.tunnels", "read_first")["cautions"]
TUNNEL = {"length_m": 12.0, "width_m": 4.5, "height_m": 2.4}


def made_plan(folder, plots=None, **choices):
    """A sloping square with a bowl in it, a hedge and two plots."""
    ground = plane(east=0.01, north=0.05)
    row, col = np.mgrid[0:200, 0:200]
    bowl = np.maximum(0, 2 - np.hypot(row - 130, col - 120) / 10)
    ground = ground.with_values(ground.values - bowl)
    hedge = {"height_m": 3.0, "porosity": 0.4, "clear_stem_m": 0.0, "leaf": "deciduous"}
    around = surroundings(
        ("hedge", plot_box(30, 20, 170, 22), {"name": "Hedge"} | hedge)
    )
    plots = plots or {
        "Upper": plot_box(40, 110, 160, 170),
        "Lower": plot_box(40, 30, 160, 90),
    }
    choices = {"tunnels": (TUNNEL,), "beds": {"path_width_m": 1.5}} | choices
    made_up = site(ground, plots, around, **choices)
    what_if = (WhatIf(name="No hedge", take_away=("Hedge",)),)
    made_up = replace(made_up, alternatives=imagine(what_if, around, "metric"))
    return make_plan(made_up, Store(folder / "store"), lambda step: None)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return made_plan(tmp_path_factory.mktemp("map"))


def test_every_question_and_month_works_without_a_network_or_a_complaint(opened):
    page = opened.page
    for key in QUESTIONS:
        choose(page, key)
        answer = page.locator(".answer:not([hidden])")
        assert answer.count() == 1
        assert answer.get_attribute("data-key") == key
        assert answer.locator("li, #list p, .jump").count() >= 1
    choose(page, "what-if")
    assert "Hedge is taken away" in page.locator(".answer:not([hidden])").inner_text()
    assert page.locator(".changes").inner_text().endswith("No hedge")
    choose(page, "sun")
    assert page.locator(".changes").is_hidden()
    texts = set()
    for month in range(12):
        page.locator("#month").select_option(str(month))
        texts.add(page.locator(".answer:not([hidden])").inner_text())
    assert len(texts) == 12
    for button in ("#locate", "#measure", "#measure"):
        page.locator(button).click()
    assert opened.outside_requests() == []
    assert opened.complaints == []


@pytest.mark.parametrize("question", ["early", "tonight", "cold", "what-if", "sun"])
def test_a_checker_finds_no_fault_of_access(opened, question):
    choose(opened.page, question)
    if question == "early":
        opened.page.evaluate("document.querySelector('#beds').open = true")
        opened.page.locator("#beds .find").first.click()
        opened.page.locator(".leaflet-popup-content").wait_for()
    assert faults_of_access(opened.page) == []


def test_the_checker_finds_a_button_without_a_name(opened):
    opened.page.evaluate(
        "document.querySelector('main').append(document.createElement('button'))"
    )
    assert [fault[0] for fault in faults_of_access(opened.page)] == ["button-name"]


def test_the_map_fills_most_of_the_screen_and_nothing_needs_sideways_scrolling(opened):
    page = opened.page
    wide, high = page.viewport_size["width"], page.viewport_size["height"]
    box = page.locator(".frame").bounding_box()
    assert box["width"] * box["height"] > 0.5 * wide * high
    assert page.evaluate("document.documentElement.scrollWidth") <= wide
    page.set_viewport_size({"width": 360, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_all_plots_are_in_view_at_first(opened):
    assert opened.page.evaluate(
        "fieldmap.map.getBounds().contains(JSON.parse("
        "document.getElementById('fieldmap-data').textContent).view)"
    )


def test_a_bed_on_the_map_says_why_when_it_is_clicked(desktop, plan):
    bed = plan.beds[len(plan.beds) // 2]
    middle = bed.bed.outline.centroid
    to_degrees = Transformer.from_crs(plan.site.crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(middle.x, middle.y)
    at = desktop.evaluate(
        """([lat, lng]) => {
            fieldmap.map.setView([lat, lng], 20, { animate: false });
            const at = fieldmap.map.latLngToContainerPoint([lat, lng]);
            const box = fieldmap.map.getContainer().getBoundingClientRect();
            return { x: at.x + box.x, y: at.y + box.y };
        }""",
        [latitude, longitude],
    )
    desktop.mouse.click(at["x"], at["y"])
    text = desktop.locator(".leaflet-popup-content").inner_text()
    assert bed.bed.name in text
    assert say(bed.reasons[0], "metric") in text
    for key in ("still_night", "sun", "tomatoes"):
        assert HEADINGS[key] in text


def test_a_bed_is_reached_and_opened_by_keyboard_alone(desktop, plan):
    desktop.locator("path.bed[tabindex='0']").focus()
    desktop.keyboard.press("ArrowRight")
    desktop.keyboard.press("Enter")
    popup = desktop.locator(".leaflet-popup-content")
    assert plan.beds[1].bed.name in popup.inner_text()
    assert say(plan.beds[1].reasons[0], "metric") in popup.inner_text()
    assert popup.evaluate("element => element.contains(document.activeElement)")
    desktop.keyboard.press("Escape")
    popup.wait_for(state="detached")
    assert desktop.evaluate(
        "document.activeElement.getAttribute('aria-label')"
    ).startswith(plan.beds[1].bed.name)


def test_a_row_of_the_table_shows_its_bed_on_the_map(desktop, plan):
    named = desktop.locator("#beds .find").first
    (first,) = (bed for bed in plan.beds if bed.bed.name == named.inner_text())
    named.click()
    popup = desktop.locator(".leaflet-popup-content")
    assert say(first.reasons[0], "metric") in popup.inner_text()
    tip = desktop.locator(".leaflet-popup-tip-container").bounding_box()
    open_bed = desktop.locator("path.bed.open").bounding_box()
    assert open_bed["x"] <= tip["x"] + tip["width"] / 2
    assert tip["x"] + tip["width"] / 2 <= open_bed["x"] + open_bed["width"]


def test_questions_are_chosen_by_arrow_keys(desktop):
    desktop.locator("input[value=early]").focus()
    for key in list(QUESTIONS)[1:]:
        desktop.keyboard.press("ArrowDown")
        assert desktop.locator(f".answer[data-key={key}]:not([hidden])").count() == 1


def test_cautions_name_the_standard_that_rules_in_the_united_states():
    # Common practice, no source; no standard is named whose text was not read.
    assert not any("NRCS" in said for said in TUNNEL_CAUTIONS)
    for said in ("springs back", "one holds", "leaves hang still", "from inside"):
        assert any(said in caution for caution in TUNNEL_CAUTIONS)


def test_a_tunnel_shows_its_cautions(desktop):
    desktop.locator("#tunnels .find").first.click()
    text = desktop.locator(".leaflet-popup-content").inner_text()
    assert all(caution in text for caution in TUNNEL_CAUTIONS)


def test_the_number_under_the_pointer_is_that_of_the_cell(desktop, plan):
    choose(desktop, "sun")
    sun = plan.analysis.light.sun_mj_m2_day
    rows, cols = sun.shape
    to_degrees = Transformer.from_crs(sun.crs, 4326, always_xy=True)
    for row, col in ((rows // 3, cols // 4), (2 * rows // 3, cols // 2)):
        east = sun.transform.c + (col + 0.5) * sun.cell_size_m
        north = sun.transform.f - (row + 0.5) * sun.cell_size_m
        longitude, latitude = to_degrees.transform(east, north)
        desktop.evaluate(
            "([lat, lng]) => fieldmap.map.fire('click', "
            "{ latlng: L.latLng(lat, lng) })",
            [latitude, longitude],
        )
        march = sun.values[2, row, col]
        desktop.wait_for_function(
            "text => document.getElementById('here').textContent.includes(text)",
            arg=f"{march:.1f} MJ/m²",
        )


def test_the_number_is_read_under_a_real_pointer_and_a_finger(opened, plan):
    """The likely offset of the cell and its ends in places like it, by the library's words."""
    page = opened.page
    computed = plan.analysis
    units = plan.site.settings.units
    row, col = 130, 120  # the bottom of the bowl
    depth = computed.cold_air.depth_m
    east, north = plan_point(depth, row, col)
    to_degrees = Transformer.from_crs(depth.crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(east, north)
    choose(page, "cold")
    if page.locator(".questions summary").is_visible():
        page.evaluate("document.querySelector('.questions').open = false")
    at = page.evaluate(
        """([lat, lng]) => {
            const map = fieldmap.map;
            map.getContainer().scrollIntoView();
            map.setView([lat, lng], 22, { animate: false });
            const at = map.latLngToContainerPoint([lat, lng]);
            const box = map.getContainer().getBoundingClientRect();
            return { x: at.x + box.x, y: at.y + box.y };
        }""",
        [latitude, longitude],
    )
    if page.evaluate("'ontouchstart' in window"):
        page.touchscreen.tap(at["x"], at["y"])
    else:
        page.mouse.move(at["x"], at["y"])
    low, central, high = computed.cold_air.offset_c.values[:, row, col].tolist()
    page.wait_for_function(
        "text => document.getElementById('here').textContent.includes(text)",
        arg=spots.likely(central, units),
    )
    text = page.locator("#here").inner_text()
    assert spots.in_places_like_this(low, high, units) in text


def plan_point(cells, row, col):
    """Middle of a cell."""
    size = cells.cell_size_m
    return cells.transform.c + (col + 0.5) * size, cells.transform.f - (
        row + 0.5
    ) * size


def test_off_the_grid_and_in_an_old_browser_the_map_says_so(desktop):
    desktop.evaluate("fieldmap.map.fire('click', { latlng: L.latLng(0, 0) })")
    desktop.wait_for_function(
        "text => document.getElementById('here').textContent === text",
        arg=LABELS["nothing_here"],
    )
    desktop.evaluate("delete window.DecompressionStream")
    desktop.evaluate("fieldmap.map.fire('click', { latlng: L.latLng(0, 0) })")
    assert desktop.locator("#here").inner_text() == LABELS["too_old"]


def test_a_measured_square_has_the_length_and_area_it_was_drawn_with(desktop, plan):
    """A square of 40 m in the plan's own metres; UTM's scale is off by 0.04 %."""
    to_degrees = Transformer.from_crs(plan.site.crs, 4326, always_xy=True)
    west, south, *_ = plan.site.plots.total_bounds
    corners = [
        to_degrees.transform(west + east, south + north)[::-1]
        for east, north in ((0, 0), (40, 0), (40, 40), (0, 40))
    ]
    desktop.locator("#measure").click()
    at = desktop.evaluate(
        """(corners) => {
            const map = fieldmap.map;
            map.fitBounds(corners, { padding: [80, 80], animate: false });
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
    told = desktop.locator("#told").inner_text()
    around, area = re.match(r"([\d.,]+) m around, ([\d.,]+) m² inside", told).groups()
    assert float(around) == pytest.approx(160, rel=0.01)
    assert float(area.replace(",", "")) == pytest.approx(1600, rel=0.02)
    assert desktop.locator(".leaflet-popup").count() == 0  # beds kept quiet


def test_where_am_i_shows_the_place_or_says_why_not(browser, map_file, plan):
    inside = {"latitude": plan.site.latitude, "longitude": plan.site.longitude}
    to_degrees = Transformer.from_crs(plan.site.crs, 4326, always_xy=True)
    middle = plan.site.plots.union_all().centroid
    inside["longitude"], inside["latitude"] = to_degrees.transform(middle.x, middle.y)
    inside["accuracy"] = 5
    for options, start in (
        ({"geolocation": inside, "permissions": ["geolocation"]}, "on_map"),
        (
            {
                "geolocation": {"latitude": 0, "longitude": 0},
                "permissions": ["geolocation"],
            },
            "off_map",
        ),
        ({}, "no_place"),
    ):
        shown = Page(browser, map_file, **DESKTOP, **options)
        shown.page.locator("#locate").click()
        shown.page.wait_for_function(
            "text => document.getElementById('told').textContent.startsWith(text)",
            arg=LABELS[start].split("{")[0],
        )
        shown.close()


def test_without_scripts_a_still_map_the_beds_and_the_warnings_are_shown(
    browser, map_file, plan
):
    shown = Page(browser, map_file, java_script_enabled=False, **PHONE)
    pictures = shown.page.locator(".still img").all()  # beds, and the cold night
    assert len(pictures) == 2
    for picture in pictures:
        assert picture.is_visible()
        assert picture.evaluate("image => image.naturalWidth") > 300
    assert (
        shown.page.locator("#beds")
        .get_by_text(say(plan.beds[0].reasons[0], "metric"))
        .first.is_visible()
    )
    assert (
        shown.page.locator("#warnings")
        .get_by_text(say(plan.warnings[-1], "metric"))
        .is_visible()
    )
    assert not shown.page.locator(".field").is_visible()
    shown.close()


def test_a_checker_finds_no_fault_of_access_in_what_is_shown_without_scripts(
    browser, map_file, tmp_path
):
    # The checker is a script itself, so the page's own are taken out of the file.
    text = map_file.read_text(encoding="utf-8")
    without = re.sub(r"<script\b.*?</script>", "", text, flags=re.DOTALL)
    (tmp_path / "map.html").write_text(without, encoding="utf-8")
    assert faults_in_file(browser, tmp_path / "map.html") == []


def test_on_paper_the_still_map_and_the_beds_are_printed(browser, map_file, plan):
    shown = Page(browser, map_file, **DESKTOP)
    shown.page.emulate_media(media="print")
    assert all(one.is_visible() for one in shown.page.locator(".still img").all())
    assert shown.page.locator(".still img").count() == 2
    assert shown.page.locator("#beds").is_visible()
    assert not shown.page.locator(".frame").is_visible()
    shown.close()


def renamed(plan, name):
    """The same plan with one name for everything that is named by people."""
    said = (Fact("plot_without_beds", plot=name, shortest_m=5.0),)
    beds = tuple(
        replace(ranked, bed=replace(ranked.bed, name=name), reasons=said)
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
        "</script><script>alert(1)</script><img src=x onerror=alert(1)>{{7*7}}",
        "@import url(https://example.org/a.css) $x^2$ \u2028 \"' -->",
        "W" * 10_000,
        "\u202e\u0627\u0644\u062d\u0642\u0644",
    ],
    ids=["markup", "styles and formulas", "10,000 characters", "right to left"],
)
def test_a_hostile_name_shows_as_text_and_breaks_nothing(browser, plan, tmp_path, name):
    path = tmp_path / "map.html"
    path.write_text(map_html(renamed(plan, name)), encoding="utf-8")
    shown = Page(browser, path, **PHONE)
    page = shown.page
    alerts = []
    page.on("dialog", lambda dialog: alerts.append(dialog.message))
    for key in QUESTIONS:
        choose(page, key)
    page.evaluate("document.querySelectorAll('details').forEach((d) => d.open = true)")
    page.locator("#beds .find").first.click()
    assert page.locator(".leaflet-popup-content h2").text_content() == name
    assert page.locator("h1").text_content() == name
    assert page.locator(".name.of-plot").first.text_content() == name
    assert alerts == []
    assert shown.complaints == []
    assert shown.outside_requests() == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    shown.close()


def test_the_same_plan_gives_the_same_page(plan, map_file):
    assert map_html(plan) == map_file.read_text(encoding="utf-8")


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


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.7, "mostly morning sun"), (0.3, "mostly afternoon sun"), (0.55, "")],
)
def test_beds_and_spots_tell_when_most_sun_comes_unless_it_is_even(plan, share, told):
    shares = np.full(plan.analysis.light.morning_share.values.shape, share)
    shares[11] = np.nan  # a month without sun says nothing
    uneven = replace(
        plan,
        beds=tuple(
            replace(bed, light=bed.light._replace(morning_share=(share,) * 12))
            for bed in plan.beds
        ),
        analysis=with_light(
            plan.analysis,
            morning_share=plan.analysis.light.morning_share.with_values(shares),
        ),
    )
    page = map_html(uneven)
    spots = json.loads(
        re.search(r'id="fieldmap-data">(.*?)</script>', page, re.DOTALL)[1]
    )["readings"]
    said = {
        month: [
            phrase
            for one in spots
            if (one["key"], one["at"]) == ("sun", month)
            for phrase in one["phrases"]
            if "mostly" in phrase
        ]
        for month in range(12)
    }
    assert said == {month: [told] if told and month < 11 else [] for month in range(12)}
    table = beds.beds(uneven)
    column = table.columns.index("Sun")
    for row in table.rows:
        assert ("mostly" in row.cells[column]) == bool(told)
        assert row.cells[column].endswith(told)


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
    text = map_html(bare).split("</style>")[-1]
    assert re.search(r"\d ft long", text)
    assert re.search(r"drops \d+ in in \d+ ft", text)
    assert re.findall(r".{0,50}\d (?:°C|m|cm|m²)\b", text) == []


# One bright cell in a metric grid at: a zone edge at mid-latitude (grid north is 2° off
# true north), 60° north, and the southern hemisphere.
PLACES = {
    "zone edge": (32633, 17.95, 44.5),
    "60 north": (32635, 25.0, 60.0),
    "southern": (32760, 174.8, -41.3),
}


@pytest.mark.parametrize("where", PLACES)
def test_a_bright_cell_is_drawn_where_it_lies(browser, map_file, tmp_path, where):
    """Its middle on the screen, against Leaflet's own place for its true degrees."""
    epsg, longitude, latitude = PLACES[where]
    to_grid = Transformer.from_crs(4326, epsg, always_xy=True)
    to_degrees = Transformer.from_crs(epsg, 4326, always_xy=True)
    east, north = to_grid.transform(longitude, latitude)
    from pyproj import CRS
    from rasterio.transform import from_origin

    values = np.zeros((100, 100))
    values[20, 70] = 1.0
    transform = from_origin(east - 100, north + 100, 2.0, 2.0)
    overlay = classes(
        Raster(values, transform, CRS(epsg)), [0.0, 0.5], ["#000000", "#ffffff"]
    )
    bright = to_degrees.transform(east - 100 + 70.5 * 2, north + 100 - 20.5 * 2)
    shown = Page(browser, map_file, **DESKTOP)
    # Leaflet draws the overlay alone, in the place of the map's own things.
    pixel = shown.page.evaluate(
        """([uri, bounds, lng, lat]) => {
            const map = fieldmap.map;
            map.setMaxBounds(null);
            map.eachLayer((layer) => layer.remove());
            L.imageOverlay(uri, bounds).addTo(map);
            map.setView([lat, lng], 20, { animate: false });
            document.querySelector(".north").remove();
            document.querySelectorAll(".leaflet-control").forEach((c) => c.remove());
            const at = map.latLngToContainerPoint([lat, lng]);
            const box = map.getContainer().getBoundingClientRect();
            const metres = map.distance([lat, lng],
                map.containerPointToLatLng(at.add([100, 0]))) / 100;
            return { x: at.x + box.x, y: at.y + box.y, metres };
        }""",
        [overlay.uri, [list(corner) for corner in overlay.bounds], *bright],
    )
    shown.page.wait_for_timeout(300)
    frame = shown.page.locator(".folium-map").bounding_box()
    picture = Image.open(io.BytesIO(shown.page.screenshot(clip=frame))).convert("L")
    shown.close()
    rows, cols = np.nonzero(np.asarray(picture) > 250)
    assert len(rows) > 10
    off_m = pixel["metres"] * np.hypot(
        cols.mean() + 0.5 + frame["x"] - pixel["x"],
        rows.mean() + 0.5 + frame["y"] - pixel["y"],
    )
    assert off_m < 1.0  # half a cell


def test_the_cold_air_of_one_cell_is_drawn_where_it_lies_on_the_whole_map(
    browser, plan, tmp_path
):
    """As people see it: the only colour on the grey relief, names and lines hidden."""
    depth = plan.analysis.cold_air.depth_m
    row, col = depth.shape[0] // 3, depth.shape[1] // 4
    values = np.zeros((3, *depth.shape))
    values[:, row, col] = -3.0
    cold = with_cold_air(plan.analysis, offset_c=depth.with_values(values))
    path = tmp_path / "map.html"
    path.write_text(map_html(replace(plan, analysis=cold)), encoding="utf-8")
    to_degrees = Transformer.from_crs(depth.crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(*plan_point(depth, row, col))
    shown = Page(browser, path, **DESKTOP)
    choose(shown.page, "cold")
    at = shown.page.evaluate(
        """([lat, lng]) => {
            const map = fieldmap.map;
            map.setView([lat, lng], 21, { animate: false });
            for (const hidden of document.querySelectorAll(
                ".north, .leaflet-control, .leaflet-overlay-pane svg, .name, .on-bed"
            )) hidden.remove();
            const at = map.latLngToContainerPoint([lat, lng]);
            const across = map.containerPointToLatLng(at.add([100, 0]));
            return { x: at.x, y: at.y, metres: map.distance([lat, lng], across) / 100 };
        }""",
        [latitude, longitude],
    )
    shown.page.wait_for_timeout(300)
    frame = shown.page.locator(".folium-map").bounding_box()
    picture = Image.open(io.BytesIO(shown.page.screenshot(clip=frame))).convert("RGB")
    shown.close()
    red, _, blue = np.moveaxis(np.asarray(picture, int), -1, 0)
    rows, cols = np.nonzero(blue - red > 40)
    side = depth.cell_size_m / at["metres"]
    assert len(rows) == pytest.approx(side**2, rel=0.2)
    off = np.hypot(cols.mean() + 0.5 - at["x"], rows.mean() + 0.5 - at["y"])
    assert off < side / 2


def test_planting_is_told_by_group_and_groups_hold_every_bed(plan):
    rows = beds.beds(plan).rows
    told = [row.cells[1] for row in rows]
    by_name = {ranked.bed.name: ranked.earliness.group for ranked in plan.beds}
    for row in rows:
        assert row.cells[1].startswith(GROUPS[by_name[row.cells[0]]])
    for said in set(told):
        assert f"({told.count(said)} of {len(plan.beds)} beds)" in said


def test_the_shade_picture_is_of_the_month_that_orders_the_beds(plan):
    (shade,) = next(one for one in questions(plan) if one.key == "shade").pictures
    assert f"in {month_name(plan.site.summer_month + 1)} " in shade.sentence
