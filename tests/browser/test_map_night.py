"""The cold night on the map: its film, the ways it runs, what dams it."""

import base64
import io
import re
import time
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
from browser import DESKTOP, PHONE, Page, choose
from made_up import with_cold_air
from PIL import Image

from fieldmap.show.files import geopackage
from fieldmap.show.map import map_html
from fieldmap.show.map.data import film
from fieldmap.show.map.questions import questions
from fieldmap.show.map.tables import all_tables
from fieldmap.show.text.map import cold_air
from fieldmap.show.text.map.labels import HEADINGS, LABELS
from fieldmap.show.text.map.signs import KINDS
from fieldmap.show.text.sentence import phrase

HEDGE = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}


@pytest.fixture(scope="module")
def plan(hedged_plan):
    return hedged_plan


@pytest.fixture
def opened(opened):
    choose(opened.page, "cold")
    return opened


@pytest.fixture
def desktop(desktop):
    choose(desktop, "cold")
    return desktop


def colours_shown(page):
    """Addresses of the coloured pictures on the map."""
    return page.eval_on_selector_all("img.colours", "all => all.map((one) => one.src)")


def picture_of(address):
    file = io.BytesIO(base64.b64decode(address.split(",", 1)[1]))
    return Image.open(file)


# ---- The film itself


def films(plan):
    return film.films(
        plan.analysis.cold_air,
        [(one.name, one.analysis.cold_air) for one in plan.what_ifs],
    )


def table_of(plan, name):
    return next(table for table in all_tables(plan) if table.id == name)


def test_the_last_frame_is_the_still_picture_and_the_first_is_bare(plan):
    as_it_is, changed = films(plan)
    cold = next(one for one in questions(plan) if one.key == "cold")
    assert as_it_is["frames"][-1] == cold.pictures[0].overlay.uri
    assert as_it_is["bounds"] == cold.pictures[0].overlay.bounds
    assert np.asarray(picture_of(as_it_is["frames"][0])).max() == 0
    assert changed["frames"][-1] != as_it_is["frames"][-1]
    assert [as_it_is["name"], changed["name"]] == [LABELS["as_it_is"], "No hedge"]


def test_the_hours_rise_from_sunset_to_the_end_of_the_night(plan):
    for shown in films(plan):
        assert shown["hours"][0] == 0
        assert (np.diff(shown["hours"]) > 0).all()
        assert len(shown["frames"]) == len(shown["hours"]) == len(shown["told"])
        assert 4 <= len(shown["frames"]) <= film.MOST_FRAMES
    assert films(plan)[0]["hours"][-1] == pytest.approx(
        plan.analysis.cold_air.night.hours, abs=0.01
    )


def test_no_moment_says_what_the_rest_of_the_night_is_like(plan):
    """Arrows still run there, and single nights stray: not even one that hardly changes."""
    told = films(plan)[0]["told"]
    assert plan.analysis.cold_air.night.steady
    assert all(moment.endswith("after sunset") for moment in told[1:])
    assert not any("morning" in moment for moment in told)


def test_the_layer_grows_from_bare_ground(plan):
    """Mean class of the cells: it grows colder as air is made, and is never less so."""
    frames = films(plan)[0]["frames"]
    means = [float(np.asarray(picture_of(frame)).mean()) for frame in frames]
    assert means[0] == 0 < means[-1]
    assert means[1] < means[-1]
    assert min(np.diff(means)) > -0.05 * means[-1]


def test_frames_are_small_pictures_of_few_colours(plan):
    for shown in films(plan):
        for frame in shown["frames"]:
            assert picture_of(frame).mode == "P"
            assert len(frame) < 20_000


def test_without_a_night_there_is_no_film_and_no_line(plan):
    still = replace(
        plan,
        analysis=with_cold_air(plan.analysis, night=None),
        what_ifs=(),
        flow_lines=(),
        cold_air_barriers=(),
    )
    assert films(still) == []
    page = map_html(still)
    assert 'id="play"' not in page
    assert KINDS["drain"] not in page


@pytest.mark.parametrize(
    ("hours", "told"),
    [
        (0.0, "at sunset"),
        (0.25, "15 minutes after sunset"),
        (1.0, "1 hour after sunset"),
        (2.0, "2 hours after sunset"),
        (2.5, "2 h 30 min after sunset"),
    ],
)
def test_moments_are_told_in_hours_and_minutes(hours, told):
    assert cold_air.after_sunset(hours) == told


# ---- The film in a browser


def test_it_stands_at_the_end_then_plays_through_in_some_seconds(
    browser, map_file, plan
):
    shown = Page(browser, map_file, **PHONE)
    page = shown.page
    choose(page, "cold")
    told = films(plan)[0]["told"]
    still = colours_shown(page)
    moment, play = page.locator("#moment"), page.locator("#play")
    assert moment.inner_text() == told[-1]
    assert still == [films(plan)[0]["frames"][-1]]
    started = time.monotonic()
    play.click()
    assert play.inner_text() == LABELS["pause"]
    assert moment.get_attribute("aria-live") == "off"  # not every frame is read out
    seen = {colours_shown(page)[0]}
    while play.inner_text() == LABELS["pause"]:
        seen.update(colours_shown(page))
        assert time.monotonic() < started + 15
    assert 4 < time.monotonic() - started < 12
    assert len(seen) >= 4
    assert moment.inner_text() == told[-1]
    assert moment.get_attribute("aria-live") == "polite"
    assert colours_shown(page) == still
    assert shown.complaints == []
    assert shown.outside_requests() == []
    width = page.viewport_size["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    shown.close()


def test_pause_holds_a_frame_and_play_goes_on_from_it(desktop):
    desktop.locator("#play").click()
    desktop.wait_for_function(
        "() => Number(document.getElementById('hour').value) >= 2"
    )
    desktop.locator("#play").click()
    held = desktop.locator("#hour").input_value()
    desktop.wait_for_timeout(1200)
    assert desktop.locator("#hour").input_value() == held
    desktop.locator("#play").click()
    desktop.wait_for_function(
        "held => Number(document.getElementById('hour').value) > held", arg=int(held)
    )


def test_the_hours_turn_by_keyboard_alone(desktop, plan):
    shown = films(plan)[0]
    slider = desktop.locator("#hour")
    slider.focus()
    for key, at in (("ArrowLeft", -2), ("Home", 0), ("ArrowRight", 1), ("End", -1)):
        desktop.keyboard.press(key)
        assert desktop.locator("#moment").inner_text() == shown["told"][at]
        assert slider.get_attribute("aria-valuetext") == shown["told"][at]
        assert colours_shown(desktop) == [shown["frames"][at]]
    desktop.locator("#play").focus()
    desktop.keyboard.press("Space")
    assert desktop.locator("#play").inner_text() == LABELS["pause"]


def test_another_question_stops_and_hides_the_film(desktop):
    desktop.locator("#play").click()
    desktop.locator("input[value=steep]").check()
    assert desktop.locator(".film").is_hidden()
    steep = colours_shown(desktop)
    desktop.wait_for_timeout(1200)
    assert colours_shown(desktop) == steep
    assert desktop.locator("#play").text_content() == LABELS["play"]


def test_whoever_wants_no_motion_has_the_slider_alone(browser, map_file, plan):
    shown = Page(browser, map_file, reduced_motion="reduce", **DESKTOP)
    choose(shown.page, "cold")
    assert shown.page.locator("#play").is_hidden()
    shown.page.locator("#hour").focus()
    shown.page.keyboard.press("Home")
    assert shown.page.locator("#moment").inner_text() == LABELS["at_sunset"]
    shown.close()


def test_a_change_has_its_own_film_chosen_from_a_list(opened, plan):
    page = opened.page
    _, changed = films(plan)
    if not page.locator(".nights").evaluate("element => element.open"):
        page.locator(".nights summary").click()
    page.locator('input[name=film][value="1"]').check()
    assert colours_shown(page) == [changed["frames"][-1]]
    assert page.locator("path.drain:not(.swatch path)").count() == 0
    page.locator('input[name=film][value="0"]').check()
    assert colours_shown(page) == [films(plan)[0]["frames"][-1]]
    assert opened.complaints == []


# ---- What a change does to each bed


def test_every_bed_is_told_what_a_change_does_to_it(plan):
    (outcome,) = plan.what_ifs
    table = table_of(plan, "what-if-0")
    told = {}
    for row in table.rows:
        first, *last = re.split(" to | and ", row.cells[0])
        names = [each.bed for each in outcome.beds]
        run = names[names.index(first) : names.index((last or [first])[0]) + 1]
        told |= dict.fromkeys(run, row.cells[1:])
    assert list(told) == [each.bed for each in outcome.beds]
    for change in outcome.beds:
        still_night, *_ = told[change.bed]
        central_c = change.offset_c.central
        if abs(central_c) >= 0.1:
            side = "less cold" if central_c > 0 else "colder"
            assert still_night == f"{round(abs(central_c), 1):g} °C {side}"


def test_what_goes_is_drawn_and_the_table_of_a_change_is_a_step_away(opened, plan):
    page = opened.page
    choose(page, "what-if")
    assert page.locator(".leaflet-overlay-pane path.gone").count() == 1
    assert page.locator(".of-change").all_text_contents() == ["taken away"]
    assert page.locator(".leaflet-overlay-pane path.new").count() == 0
    legend = page.locator(".answer:not([hidden]) .legend").inner_text()
    assert KINDS["gone"] in legend
    page.locator(".answer:not([hidden]) .jump").click()
    table = page.locator("#what-if-0")
    assert table.evaluate("element => element.open")
    table.locator(".find").first.click()
    assert page.locator(".leaflet-popup h2").inner_text() == plan.beds[0].bed.name
    choose(page, "cold")
    assert page.locator("path.gone:not(.swatch .gone)").count() == 0
    assert opened.complaints == []


def test_beds_of_two_plots_share_no_row_and_unknown_wind_has_no_column(plan):
    first, *others = plan.beds
    elsewhere = replace(first, bed=replace(first.bed, plot="Elsewhere"))
    table = table_of(replace(plan, beds=(elsewhere, *others)), "what-if-0")
    assert table.rows[0].cells[0] == first.bed.name
    assert HEADINGS["wind_share"] not in table.columns  # the site tells no wind
    assert HEADINGS["planting"] not in table.columns  # nor any crop


def test_a_bed_tells_what_each_change_does_to_it_where_that_is_asked(opened, plan):
    page = opened.page
    choose(page, "what-if")
    (outcome,) = plan.what_ifs
    lowest = max(
        range(len(outcome.beds)), key=lambda at: outcome.beds[at].offset_c.central
    )
    change = outcome.beds[lowest]
    page.locator("#beds").evaluate("element => { element.open = true; }")
    page.locator(f"#bed-{lowest} .find").click()
    story = page.locator(".leaflet-popup").inner_text()
    assert phrase("effect_on_beds", name=outcome.name) in story
    assert f"{round(change.offset_c.central, 1):g} °C less cold" in story
    page.keyboard.press("Escape")
    choose(page, "early")
    page.locator(f"#bed-{lowest} .find").click()
    assert phrase("effect_on_beds", name=outcome.name) not in (
        page.locator(".leaflet-popup").last.inner_text()
    )


def test_what_goes_is_drawn_over_the_night_of_that_change_too(opened):
    page = opened.page
    assert page.locator(".leaflet-overlay-pane path.gone").count() == 0
    if not page.locator(".nights").evaluate("element => element.open"):
        page.locator(".nights summary").click()
    page.locator("input[name=film]").nth(1).check()
    assert page.locator(".leaflet-overlay-pane path.gone").count() == 1
    page.locator("input[name=film]").nth(0).check()
    assert page.locator(".leaflet-overlay-pane path.gone").count() == 0
    assert KINDS["gone"] in page.locator(".signs").text_content()


def test_without_scripts_each_change_is_told_too(browser, map_file):
    shown = Page(browser, map_file, **PHONE, java_script_enabled=False)
    assert shown.page.locator("#what-if-0 tbody tr").first.is_visible()
    shown.close()


# ---- Ways that cold air runs


def ways(page):
    return page.locator(".leaflet-ways-pane path.drain")


def test_closer_looks_show_more_ways_and_other_questions_none(desktop, plan):
    assert {line.level for line in plan.flow_lines} == {1, 2, 3}
    counts = []
    for metres_per_pixel in (2.0, 1.0, 0.3):
        desktop.evaluate(
            """(wanted) => {
                const map = fieldmap.map;
                map.setMinZoom(0).setMaxBounds(null);
                const metres = 40075016.7 * Math.cos(map.getCenter().lat * Math.PI / 180);
                map.setZoom(Math.log2(metres / 256 / wanted), { animate: false });
            }""",
            metres_per_pixel,
        )
        counts.append(ways(desktop).count())
    assert counts == [2, 4, 6]  # a line and its pale rim for each level
    desktop.locator("input[value=early]").check()
    assert ways(desktop).count() == 0


def test_heads_point_down_the_slope(desktop):
    """The ground falls to the south, which is down on the screen."""
    drawn = ways(desktop).last.get_attribute("d")
    heads = re.findall(
        r"M([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)L([-\d.]+) ([-\d.]+)$", drawn
    )
    left_x, left_y, tip_x, tip_y, right_x, right_y = map(float, heads[-1])
    assert tip_y > max(left_y, right_y)
    assert min(left_x, right_x) < tip_x < max(left_x, right_x)


def test_ways_hide_while_the_night_is_not_over(desktop):
    assert ways(desktop).count() >= 2
    desktop.locator("#hour").focus()
    desktop.keyboard.press("ArrowLeft")
    assert ways(desktop).count() == 0
    desktop.keyboard.press("End")
    assert ways(desktop).count() >= 2


# ---- What dams


def test_dams_are_told_by_name_under_the_colours_and_in_the_table(desktop, plan):
    (dam,) = plan.cold_air_barriers
    told = cold_air.barrier(dam, "metric")
    assert told.startswith(
        "Cold air stands behind the Long Hedge (north side): likely up to "
    )
    assert told in desktop.locator(".answer:not([hidden])").inner_text()
    rows = table_of(plan, "pockets").rows
    held = [row.cells[1] for row in rows]
    assert any(cell == "stands behind the Long Hedge" for cell in held)


def test_a_nameless_dam_is_told_by_its_kind_in_the_units_of_the_site(plan):
    nameless = replace(plan.cold_air_barriers[0], name="", colder_c=1.0)
    told = cold_air.barrier(nameless, "us")
    assert "behind a hedge (north side)" in told
    assert "1.8 °F colder" in told


# ---- For other programs


def test_drain_lines_go_to_the_geopackage(plan, tmp_path):
    path = tmp_path / "plan.gpkg"
    geopackage.write(geopackage.layers(plan), path)
    lines = gpd.read_file(path, layer="drain_lines")
    assert list(lines["level"]) == [line.level for line in plan.flow_lines]
    assert list(lines["strength_m2_s"]) == [
        line.strength_m2_s for line in plan.flow_lines
    ]
    assert lines.geometry.length.tolist() == pytest.approx(
        [line.line.length for line in plan.flow_lines]
    )
    assert set(gpd.read_file(path, layer="cold_pockets")["behind"]) >= {"Long Hedge"}


def test_a_plan_without_lines_has_an_empty_layer(plan, tmp_path):
    path = tmp_path / "plan.gpkg"
    geopackage.write(geopackage.layers(replace(plan, flow_lines=())), path)
    assert len(gpd.read_file(path, layer="drain_lines")) == 0
