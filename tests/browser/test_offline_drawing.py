"""The drawing page as one file: offline, by touch, with a walk; `fieldmap start` takes it."""

import json

import geopandas as gpd
import pytest
from browser import PHONE, faults_of_access
from open_page import HEDGE, folder, ready, written
from shapely.geometry import shape
from typer.testing import CliRunner

from fieldmap.cli import app
from fieldmap.serve import offline

__all__ = ["folder"]
CORNER = 46.0504, 15.2606  # latitude, longitude
METRE = 1 / 111_195  # degrees of latitude: a sphere of 6 371 km
METRE_EAST = METRE / 0.6939  # cos 46.05°


class Walker:
    """Who walks with a phone on which the page is open."""

    def __init__(self, context, page):
        self.context, self.page = context, page

    def to(self, east_m, north_m, accuracy=4):
        self.context.set_geolocation(
            {
                "latitude": CORNER[0] + north_m * METRE,
                "longitude": CORNER[1] + east_m * METRE_EAST,
                "accuracy": accuracy,
            }
        )
        self.page.wait_for_timeout(1100)  # a person is no faster

    def press(self, name):
        self.page.get_by_role("button", name=name).tap()


@pytest.fixture
def walker(browser, folder, tmp_path):
    written(folder / "plots.geojson")
    file = tmp_path / "draw.html"
    offline.write(folder, file)
    context = browser.new_context(**PHONE, permissions=["geolocation"])
    context.set_offline(True)
    page = context.new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(file.as_uri())
    ready(page)
    yield Walker(context, page)
    assert [
        url
        for url in asked[1:]
        if not url.startswith(("data:", "blob:", file.as_uri()))
    ] == []
    context.close()


def copy(page):
    with page.expect_download() as saved:
        page.get_by_role("button", name="Keep a copy").tap()
    return saved.value.path()


def test_a_walk_becomes_a_plot_that_start_takes(walker, folder, tmp_path):
    page = walker.page
    walker.press("Walk around it with this phone")
    for corner in ((0, 0), (30, 0), (30, 20), (0, 20)):
        walker.to(*corner, accuracy=4)
        page.get_by_text("position within 4 m").first.wait_for()
        if corner != (0, 0):  # nobody walks 30 m in a second: the signal jumped
            page.get_by_text("The signal jumped").first.wait_for()
            walker.press("Go on from here")
            walker.to(corner[0] + 0.01, corner[1])
        walker.press("This is a corner")
    assert faults_of_access(page) == []
    walker.press("I am back at the start")
    page.get_by_text("The start is 20 m away").first.wait_for()
    walker.press("Close it straight")
    page.locator(".blank[data-blank=name], input[data-blank=name]").first.wait_for()
    page.locator("input[data-blank=name]").fill("Walked")
    page.keyboard.press("Enter")
    file = copy(page)
    hedge, plot = sorted(
        json.loads(file.read_text("utf-8"))["features"],
        key=lambda each: each["properties"]["kind"],
    )
    assert hedge == HEDGE
    assert plot["properties"]["name"] == "Walked"
    assert plot["properties"]["accuracy_m"] == 4
    metric = gpd.GeoSeries([shape(plot["geometry"])], crs=4326).to_crs(32633)
    assert metric.area[0] == pytest.approx(600, rel=0.01)
    target = tmp_path / "drawn.geojson"
    target.write_bytes(file.read_bytes())
    result = CliRunner().invoke(app, ["start", str(tmp_path / "new"), str(target)])
    assert result.exit_code == 0, result.output
    made = gpd.read_file(tmp_path / "new/plots.geojson")
    assert list(made["name"]) == ["Walked"]
    around = gpd.read_file(tmp_path / "new/surroundings.geojson")
    assert list(around["name"]) == ["West Hedge"]


def test_an_unsure_place_is_not_drawn_and_what_was_walked_is_kept(walker):
    page = walker.page
    walker.press("Walk around it with this phone")
    walker.to(0, 0, accuracy=25)
    page.get_by_text("Waiting until the phone knows").first.wait_for()
    for east in (0, 2, 4, 6):
        walker.to(east, 0)
    page.get_by_text("6 m walked").first.wait_for()
    walker.to(8, 0, accuracy=30)
    page.get_by_text("The signal jumped").first.wait_for()
    page.get_by_text("6 m walked").first.wait_for()
    page.reload()  # the phone is put away
    ready(page)
    walker.press("Go on with the earlier walk")
    page.get_by_text("6 m walked").first.wait_for()


def test_what_is_drawn_is_there_after_the_page_is_closed(walker):
    page = walker.page
    page.get_by_role("button", name="a gate").tap()
    page.touchscreen.tap(200, 200)
    page.get_by_text("Take back: drew Gate").first.wait_for()
    page.reload()
    ready(page)
    assert page.locator('.target[aria-label^="Gate"]').count() == 1
    assert len(json.loads(copy(page).read_text("utf-8"))["features"]) == 2
