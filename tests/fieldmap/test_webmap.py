"""The map as people use it: in a browser, with the network cut."""

import io

import numpy as np
import pytest
from browser import DESKTOP, PHONE, Page, chromium
from made_up import plane, plot_box, site, surroundings
from PIL import Image
from pyproj import Transformer

from fieldmap import plan as planning
from fieldmap.cache import Store
from fieldmap.raster import Raster
from fieldmap.webmap import map_html, words
from fieldmap.webmap.overlay import classes

HOSTILE = "<script>alert(1)</script>"
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
    return planning.make(made_up, Store(folder / "store"), lambda step: None)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return made_plan(tmp_path_factory.mktemp("map"))


@pytest.fixture(scope="module")
def map_file(plan, tmp_path_factory):
    path = tmp_path_factory.mktemp("html") / "map.html"
    path.write_text(map_html(plan), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def browser():
    with chromium() as opened:
        yield opened


@pytest.fixture(params=["desktop", "phone"])
def opened(request, browser, map_file):
    shown = Page(
        browser, map_file, **{"desktop": DESKTOP, "phone": PHONE}[request.param]
    )
    yield shown
    shown.close()


@pytest.fixture
def desktop(browser, map_file):
    shown = Page(browser, map_file, **DESKTOP)
    yield shown.page
    shown.close()


def choose(page, key):
    """Ask a question, unfolding the list first where it is folded."""
    if not page.locator(".questions").evaluate("element => element.open"):
        page.locator(".questions summary").click()
    page.locator(f"input[value={key}]").check()


def test_every_question_and_month_works_without_a_network_or_a_complaint(opened):
    page = opened.page
    for key in words.QUESTIONS:
        choose(page, key)
        answer = page.locator(".answer:not([hidden])")
        assert answer.count() == 1
        assert answer.get_attribute("data-key") == key
        assert answer.locator("li").count() >= 1
    choose(page, "sun")
    texts = set()
    for month in range(12):
        page.locator("#month").select_option(str(month))
        texts.add(page.locator(".answer:not([hidden])").inner_text())
    assert len(texts) == 12
    for button in ("#locate", "#measure", "#measure"):
        page.locator(button).click()
    assert opened.outside_requests() == []
    assert opened.complaints == []


def test_the_map_fills_most_of_the_screen_and_nothing_needs_sideways_scrolling(opened):
    page = opened.page
    wide, high = page.viewport_size["width"], page.viewport_size["height"]
    box = page.locator(".frame").bounding_box()
    assert box["width"] * box["height"] > 0.5 * wide * high
    assert page.evaluate("document.documentElement.scrollWidth") <= wide


def test_all_plots_are_in_view_at_first(opened):
    assert opened.page.evaluate(
        "fieldmap.map.getBounds().contains(JSON.parse("
        "document.getElementById('fieldmap-data').textContent).view)"
    )


def test_a_bed_says_why_by_pointer_and_by_keyboard(desktop, plan):
    first = min(plan.beds, key=lambda ranked: ranked.early_rank)
    desktop.get_by_role(
        "button", name=words.TEXT["show"].format(name=first.bed.name)
    ).or_(desktop.locator(".find", has_text=first.bed.name)).first.click()
    popup = desktop.locator(".leaflet-popup-content")
    assert first.reasons[0] in popup.inner_text()
    desktop.keyboard.press("Escape")
    path = desktop.locator("path.bed[tabindex='0']")
    path.focus()
    desktop.keyboard.press("ArrowRight")
    desktop.keyboard.press("Enter")
    focused = plan.beds[1]
    assert focused.bed.name in popup.last.inner_text()
    assert focused.reasons[0] in popup.last.inner_text()


def test_a_tunnel_shows_its_cautions(desktop):
    desktop.locator("#tunnels .find").first.click()
    text = desktop.locator(".leaflet-popup-content").inner_text()
    assert all(caution in text for caution in words.TUNNEL_CAUTIONS)


def test_the_number_under_the_pointer_is_that_of_the_cell(desktop, plan):
    choose(desktop, "sun")
    sun = plan.analysis.sun_mj_m2_day
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


def test_without_scripts_a_still_map_the_beds_and_the_warnings_are_shown(
    browser, map_file, plan
):
    shown = Page(browser, map_file, java_script_enabled=False, **PHONE)
    picture = shown.page.locator(".still img")
    assert picture.is_visible()
    assert picture.evaluate("image => image.naturalWidth") > 300
    assert (
        shown.page.locator("#beds")
        .get_by_text(plan.beds[0].reasons[0])
        .first.is_visible()
    )
    assert shown.page.locator("#warnings").get_by_text(plan.warnings[-1]).is_visible()
    assert not shown.page.locator(".sheet").is_visible()
    shown.close()


def test_on_paper_the_still_map_and_the_beds_are_printed(browser, map_file, plan):
    shown = Page(browser, map_file, **DESKTOP)
    shown.page.emulate_media(media="print")
    assert shown.page.locator(".still img").is_visible()
    assert shown.page.locator("#beds").is_visible()
    assert not shown.page.locator(".frame").is_visible()
    shown.close()


@pytest.mark.parametrize(
    "name",
    [HOSTILE, "<img src=x onerror=alert(1)>", "long " * 2000, "\u202eright to left"],
    ids=["script", "onerror", "10,000 characters", "right to left"],
)
def test_a_hostile_name_shows_as_text_and_breaks_nothing(browser, tmp_path, name):
    plots = {name: plot_box(40, 30, 160, 90)}
    path = tmp_path / "map.html"
    path.write_text(map_html(made_plan(tmp_path, plots)), encoding="utf-8")
    shown = Page(browser, path, **PHONE)
    alerts = []
    shown.page.on("dialog", lambda dialog: alerts.append(dialog.message))
    for key in words.QUESTIONS:
        choose(shown.page, key)
    assert alerts == []
    assert shown.complaints == []
    assert shown.outside_requests() == []
    assert name.strip() in shown.page.locator(".name.of-plot").first.text_content()
    assert shown.page.evaluate("document.documentElement.scrollWidth") <= 390
    shown.close()


def test_the_same_plan_gives_the_same_page(plan, map_file):
    assert map_html(plan) == map_file.read_text(encoding="utf-8")


def test_us_units_are_used_throughout(tmp_path):
    page = map_html(made_plan(tmp_path, units="us"))
    assert " ft long" in page
    assert "drops" in page
    assert " cm in 10 m" not in page
    assert "°C" not in page.split("</style>")[-1]


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
