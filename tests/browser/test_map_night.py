"""The cold night on the map: its film, what dams it, and the list for tonight."""

import base64
import io
import re
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
from browser import DESKTOP, PHONE, Page, ask, wait_until
from made_up import with_cold_air
from PIL import Image

from fieldmap.decide.tonight.forecast import LOWS
from fieldmap.show.files import geopackage
from fieldmap.show.map import map_html, scene
from fieldmap.show.map.data import film
from fieldmap.show.map.data.script import drawn as drawn_by_script
from fieldmap.show.map.questions import Asked
from fieldmap.show.map.questions import cold as questions_cold
from fieldmap.show.map.tables import all_tables
from fieldmap.show.text.map import cold_air
from fieldmap.show.text.map.labels import HEADINGS, LABELS


@pytest.fixture(scope="module")
def plan(hedged_plan):
    return hedged_plan


def frame_of(plan):
    return scene.frame_of(plan.site.plots, plan.tunnels)


def shades(shown):
    """Grey of a frame: 0 is the pale end of the ramp."""
    address = shown["picture"]["uri"]
    file = io.BytesIO(base64.b64decode(address.split(",", 1)[1]))
    return np.asarray(Image.open(file).convert("LA"))[..., 0].astype(float)


def table_of(plan, name):
    return next(table for table in all_tables(plan) if table.id == name)


# ---- The film itself


def test_the_last_frame_is_the_picture_of_the_question_and_the_first_is_bare(plan):
    frames = film.film(plan.analysis.cold_air, frame_of(plan))["frames"]
    (cold,) = (one for one in Asked(plan).questions if one.key == "cold")
    of_question = drawn_by_script(cold.views[0].picture, frame_of(plan))["ground"]
    assert frames[-1]["picture"] == of_question["picture"]
    assert shades(frames[0]).max() == 0


def test_the_layer_grows_from_bare_ground(plan):
    """Mean of the cells: it grows colder as air is made, and is hardly ever less so."""
    shown = film.film(plan.analysis.cold_air, frame_of(plan))
    means = [shades(frame).mean() for frame in shown["frames"]]
    assert 4 <= len(means) <= film.MOST_FRAMES
    assert means[0] == 0 < means[1] < means[-1]
    assert min(np.diff(means)) > -0.05 * means[-1]


def test_no_moment_says_what_the_rest_of_the_night_is_like(plan):
    """Arrows still run there, and single nights stray: not even one that hardly changes."""
    captions = film.film(plan.analysis.cold_air, frame_of(plan))["captions"]
    assert plan.analysis.cold_air.night.steady
    assert captions[0] == LABELS["at_sunset"]
    assert all(moment.endswith("after sunset") for moment in captions[1:])


def test_without_a_night_there_is_no_film_and_no_line(plan):
    still = replace(
        plan,
        analysis=with_cold_air(plan.analysis, night=None),
        what_ifs=(),
        flow_lines=(),
        cold_air_barriers=(),
    )
    assert film.film(still.analysis.cold_air, frame_of(still)) is None
    assert 'id="play"' not in map_html(still)


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        (0.0, "at sunset"),
        (2 / 60, "a few minutes after sunset"),
        (9 / 60, "a few minutes after sunset"),
        (10 / 60, "10 minutes after sunset"),
        (0.25, "15 minutes after sunset"),
        (1.0, "1 hour after sunset"),
        (2.0, "2 hours after sunset"),
        (2.5, "2 h 30 min after sunset"),
    ],
)
def test_moments_are_shown_in_hours_and_minutes(hours, words):
    assert cold_air.after_sunset(hours) == words


# ---- The film on the page


@pytest.mark.parametrize("by_station", [False, True])
def test_the_answer_says_what_its_degrees_are_compared_with(plan, by_station):
    shown = questions_cold.Shown("metric", by_station=by_station, air_ran=True)
    offset_c = plan.analysis.cold_air.offset_c
    answer = questions_cold.view(offset_c, plan.beds, shown, (), ()).said
    assert f" than {shown.than}." in answer.replace("\u00a0", " ")


def moments(page):
    """The moments that have a name, in their order."""
    return page.get_by_role("group", name=LABELS["hour"]).get_by_role("radio")


def test_it_stands_at_the_end_plays_when_asked_and_stops_with_the_question(desktop):
    ask(desktop, "cold")
    assert moments(desktop).last.is_checked()
    desktop.get_by_role("button", name=LABELS["play"]).click()
    assert moments(desktop).first.is_checked()
    assert LABELS["at_sunset"] in desktop.locator("#moment").inner_text()
    wait_until(
        desktop,
        "(start) => document.querySelector('#moment').textContent !== start",
        arg=LABELS["at_sunset"],
    )
    assert desktop.get_by_role("button", name=LABELS["pause"]).is_visible()
    ask(desktop, "early")
    assert desktop.locator("#film").is_hidden()
    ask(desktop, "cold")
    assert moments(desktop).last.is_checked()
    assert desktop.locator("#moment").is_hidden()


def test_moments_of_a_night_are_chosen_by_keyboard_alone(desktop):
    ask(desktop, "cold")
    end = desktop.evaluate(
        "fieldmap.field.toImage({ width: 300, height: 200, look: 'day' })"
    )
    moments(desktop).last.focus()
    desktop.keyboard.press("ArrowDown")
    assert moments(desktop).first.is_checked()
    bare = desktop.evaluate(
        "fieldmap.field.toImage({ width: 300, height: 200, look: 'day' })"
    )
    assert bare != end
    desktop.keyboard.press("ArrowUp")
    assert moments(desktop).last.is_checked()


def test_the_middle_moment_has_the_frame_nearest_to_half_of_the_cold():
    times = ["at sunset", "5 minutes after sunset", "1 hour after sunset", "2 hours"]
    # 0.4 is nearer to a half than 0.7.
    named = film._named([0.0, 0.4, 0.7, 1.0], times)
    assert [(each["frame"], each["said"]) for each in named] == [
        (0, "At sunset: no cold air yet"),
        (1, "5 minutes after sunset: about half has collected"),
        (3, "2 hours: cold air has collected"),
    ]
    # Where no frame lies between, two moments are enough.
    assert [each["frame"] for each in film._named([0.0, 1.0], times[:2])] == [0, 1]


def test_whoever_wants_no_motion_has_the_moments_alone(browser, map_file):
    page = Page(browser, map_file, **DESKTOP, reduced_motion="reduce")
    ask(page.page, "cold")
    assert moments(page.page).first.is_visible()
    assert page.page.locator("#play").is_hidden()
    page.close()


# ---- Changes and dams


def test_every_bed_shows_what_a_change_does_to_it(plan):
    (outcome,) = plan.what_ifs
    table = table_of(plan, "what-if-0")
    shown = {}
    for row in table.rows:
        first, *last = re.split(" to | and ", row.cells[0])
        names = [each.bed for each in outcome.beds]
        run = names[names.index(first) : names.index((last or [first])[0]) + 1]
        shown |= dict.fromkeys(run, row.cells[1:])
    assert list(shown) == [each.bed for each in outcome.beds]
    for change in outcome.beds:
        still_night, *_ = shown[change.bed]
        central_c = change.offset_c.central
        side = "warmer" if central_c > 0 else "colder"
        is_shown = abs(central_c) >= 0.25  # half of the steps of half a degree
        size = f"{round(abs(central_c), 1):g}"
        assert still_night == (f"{size} °C {side}" if is_shown else "as now")


def test_the_answer_counts_the_beds_that_change_and_outlines_them(plan):
    (change,) = next(one for one in Asked(plan).questions if one.key == "what-if").views
    (outcome,) = plan.what_ifs
    changed = {
        at
        for at, bed in enumerate(outcome.beds)
        if abs(bed.offset_c.central) >= 0.25 or abs(bed.spring_light_percent) >= 2.0
    }
    assert 0 < len(changed) < len(outcome.beds)
    assert set(change.picture.outlined) in (changed, set())
    assert change.picture.extras == ("change-0",)


def test_beds_of_two_plots_share_no_row_and_unknown_wind_has_no_column(plan):
    first, *others = plan.beds
    elsewhere = replace(first, bed=replace(first.bed, plot="Elsewhere"))
    table = table_of(replace(plan, beds=(elsewhere, *others)), "what-if-0")
    assert table.rows[0].cells[0] == first.bed.name
    assert HEADINGS["wind_share"] not in table.columns  # the site tells no wind
    assert HEADINGS["planting"] not in table.columns  # nor any crop


def test_dams_are_shown_by_name_with_the_answer_and_in_the_table(desktop, plan):
    ask(desktop, "cold")
    (dam,) = plan.cold_air_barriers
    sentence = cold_air.barrier(dam, "metric")
    assert sentence.startswith(
        "Cold air stays behind the Long Hedge, on its north side. There it is likely up to "
    )
    desktop.get_by_text(LABELS["more"]).locator("visible=true").click()
    assert desktop.get_by_text(sentence).is_visible()
    held = [row.cells[1] for row in table_of(plan, "pockets").rows]
    assert any(cell == "stays behind the Long Hedge" for cell in held)


def test_a_nameless_dam_is_shown_by_its_kind_in_the_units_of_the_site(plan):
    nameless = replace(plan.cold_air_barriers[0], name="", colder_c=1.0)
    sentence = cold_air.barrier(nameless, "us")
    assert "behind a hedge, on its north side" in sentence
    assert "1.8 °F colder" in sentence


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


# ---- Tonight


def test_the_ends_of_the_lows_are_ends_and_the_low_is_said(desktop):
    ask(desktop, "tonight")
    if desktop.locator("#evening").is_hidden():
        desktop.locator("#example-turn").click()
    colder = desktop.get_by_role("button", name=LABELS["colder"])
    warmer = desktop.get_by_role("button", name=LABELS["warmer"])
    low = desktop.locator("#low")
    warmest, coldest = LOWS["metric"]
    for _ in range(warmest - coldest):
        if warmer.is_enabled():
            warmer.click()
    assert warmer.is_disabled()
    assert low.inner_text() == f"{warmest}\N{NO-BREAK SPACE}°C"
    colder.click()
    assert low.inner_text() == f"{warmest - 1}\N{NO-BREAK SPACE}°C"


def test_the_list_is_read_in_the_dark_and_the_next_question_by_day(browser, map_file):
    page = Page(browser, map_file, **PHONE)
    look = page.page.locator("html")
    ask(page.page, "tonight")
    assert look.get_attribute("data-look") == "night"
    ask(page.page, "early")
    assert look.get_attribute("data-look") == "day"
    page.close()
