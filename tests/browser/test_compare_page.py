"""The page that sets places side by side: equal pictures, and ranges that are drawn."""

import csv
import dataclasses
import io
import re
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
from browser import DESKTOP, PHONE, faults_of_access
from made_up_crops import crop
from PIL import Image

from fieldmap.review import compare
from fieldmap.show.files import compare as pages
from fieldmap.show.files.compare import pictures
from fieldmap.show.layer_styles import ramp_colours
from fieldmap.show.map import still
from fieldmap.show.text import language
from fieldmap.show.text.language import spoken

# Of days that are spread evenly from 130 to 170, a tenth lie before 134, half before 150
# and nine tenths before 166; so for those from 250 to 290.
SPRING, AUTUMN = np.linspace(130.0, 170.0, 201), np.linspace(250.0, 290.0, 201)
APART = 40.0  # days by which the other place has less, at either end
LIES = {
    "order_early_days": [(134, 150, 166), (174, 190, 206)],
    "order_late_days": [(254, 270, 286), (214, 230, 246)],
}


def dated(plan, less):
    """A plan whose beds all have such days."""
    beds, crops = len(plan.beds), (crop("tomato"), crop("pea", "hardy"))
    early = np.full((3, 2, 2, beds), 150.0 + less)
    early[:, 1, 0] = np.array([[60.0], [70.0], [np.inf]])
    dates = SimpleNamespace(
        known=True,
        crops=crops,
        reference_crop="tomato",
        season=plan.site.season,
        early=early,
        early_draws=np.tile(SPRING + less, (beds, 1)),
        late_draws=np.tile(AUTUMN - less, (beds, 1)),
    )
    return dataclasses.replace(plan, dates=dates)


def renamed(plan, name):
    settings = plan.site.settings.model_copy(update={"name": name})
    return dataclasses.replace(
        plan, site=dataclasses.replace(plan.site, settings=settings)
    )


def grounds(plans):
    return [
        pictures.ground(
            plan.site.settings.name, still.scenery(plan), plan.beds, plan.dates
        )
        for plan in plans
    ]


@pytest.fixture(scope="module")
def plans(hedged_plan):
    """A place, and one whose spring is later and whose autumn is earlier."""
    return [
        dated(renamed(hedged_plan, "High Acre"), 0.0),
        dated(renamed(hedged_plan, "Low Acre"), APART),
    ]


@pytest.fixture(scope="module")
def file(plans, tmp_path_factory):
    path = tmp_path_factory.mktemp("compare") / "compare.html"
    pages.write(compare.compare(plans), grounds(plans), path, "metric")
    return path


@pytest.fixture(params=["desktop", "phone"], scope="module")
def page(request, browser, file):
    context = browser.new_context(**{"desktop": DESKTOP, "phone": PHONE}[request.param])
    opened = context.new_page()
    opened.goto(file.as_uri())
    yield opened
    context.close()


def middle(box):
    return box["x"] + box["width"] / 2


def day_number(said):
    """Day of a common year that a label such as "10 June" names."""
    months = "January February March April May June July August September October"
    day, month = said.split()
    names = [*months.split(), "November", "December"]
    when = date(2001, names.index(month) + 1, int(day))
    return (when - date(2001, 1, 1)).days + 1


def scale_of(chart):
    """Pixels to days, by two of the chart's own labels."""
    ticks = [
        (middle(t.bounding_box()), t.inner_text())
        for t in chart.locator(".tick span").all()
    ]
    (x0, first), (x1, last) = ticks[0], ticks[-1]
    begins, ends = day_number(first), day_number(last)
    assert ends > begins
    assert x1 > x0
    return lambda x: begins + (x - x0) / (x1 - x0) * (ends - begins)


@pytest.mark.parametrize("kind", LIES)
def test_a_range_is_drawn_where_its_days_lie(page, kind):
    chart = page.locator(f'.chart[data-kind="{kind}"]')
    day = scale_of(chart)
    lines, dots = chart.locator(".line").all(), chart.locator(".dot").all()
    assert len(lines) == len(dots) == 2
    for lies, line, dot in zip(LIES[kind], lines, dots, strict=True):
        drawn, box = line.bounding_box(), dot.bounding_box()
        ends = drawn["x"], middle(box), drawn["x"] + drawn["width"]
        # A last day is the last whole one before; half a day is for pixels.
        before = 1 if "late" in kind else 0
        assert [day(x) + before for x in ends] == pytest.approx(lies, abs=0.6)
        assert box["width"] > 8


def test_a_day_that_may_never_come_has_a_line_that_runs_on(page):
    chart = page.locator('.chart[data-kind="hardy_early_day"]')
    assert chart.locator(".line.open").count() == 2
    right = chart.locator(".line").first.bounding_box()
    last = chart.locator(".tick span").last.bounding_box()
    assert right["x"] + right["width"] == pytest.approx(middle(last), abs=1.0)


def test_marks_can_be_seen(page):
    """The line is ink on paper, in the picture that the browser paints."""
    line = page.locator(".chart .line").first
    line.scroll_into_view_if_needed()
    # The box and a few pixels of paper around it.
    box = line.bounding_box()
    clip = {"x": box["x"], "y": box["y"] - 6, "width": box["width"], "height": 14}
    shot = Image.open(io.BytesIO(page.screenshot(clip=clip))).convert("L")
    grey = np.asarray(shot)
    assert (grey < 80).any(axis=0).mean() > 0.95
    assert (grey > 235).any(axis=0).mean() > 0.8


def test_pictures_are_alike_in_size_and_each_says_what_it_is(page):
    boxes = [each.bounding_box() for each in page.locator(".pictures img").all()]
    assert len(boxes) == 2
    assert boxes[0]["width"] == pytest.approx(boxes[1]["width"], abs=0.5)
    assert boxes[0]["height"] == pytest.approx(boxes[1]["height"], abs=0.5)
    captions = page.locator(".pictures figcaption").all_inner_texts()
    for name, caption in zip(("High Acre", "Low Acre"), captions, strict=True):
        assert re.match(rf"{name}: \d+ beds, .*\d", caption)


def test_nothing_runs_over_the_side(page):
    wide, window = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide <= window
    for label in page.locator(".tick span").all():
        box = label.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= window


def test_the_answer_comes_first_and_is_short(page):
    said = page.locator(".answer").inner_text()
    assert len(said.split()) < 60
    # Day 150 of the year is 30 May, day 190 is 9 July.
    lead = "First: High Acre. Tomato can go out there from 30 May."
    assert said.startswith(f"{lead} Later: Low Acre, from 9 July.")


def test_no_fault_of_access(page):
    assert faults_of_access(page) == []


def test_the_page_is_printed_with_its_lines(browser, file):
    context = browser.new_context(**DESKTOP)
    page = context.new_page()
    page.goto(file.as_uri())
    page.emulate_media(media="print")
    line = page.locator(".chart .line").first
    assert line.evaluate("it => getComputedStyle(it).borderTopWidth") != "0px"
    ink = line.evaluate("it => getComputedStyle(it).borderTopColor")
    assert ink == "rgb(0, 0, 0)"
    context.close()


def test_colours_mean_the_same_day_on_every_picture(plans):
    """The later place has none of the colours of the earlier, and the scale has both."""
    found = pictures.drawn(grounds(plans), ["High", "Low"], "metric")
    ends = [found.ticks[0], found.ticks[-1]]
    # Days 150 and 190 of the year.
    assert [(tick.at, tick.text) for tick in ends] == [(0.0, "30 May"), (1.0, "9 July")]
    one, other = (
        np.asarray(picture.image).astype(int) for _alt, _said, picture in found.pictures
    )
    assert one.shape == other.shape
    early, late = (
        np.array(list(bytes.fromhex(colour[1:])))
        for colour in ramp_colours("dates", (0.0, 1.0), "print")
    )

    def shows(picture, colour):
        return (abs(picture - colour).max(axis=-1) <= 8).sum()

    assert shows(one, early) > 100 > 5 * shows(other, early)
    assert shows(other, late) > 100 > 5 * shows(one, late)


def test_a_spanish_page_in_us_units(plans, tmp_path):
    with spoken(language.of_site("es", "us")):
        pages.write(compare.compare(plans), grounds(plans), tmp_path / "c.html", "us")
    text = (tmp_path / "c.html").read_text("utf-8")
    body = re.sub(r"<style>.*?</style>", "", text, flags=re.DOTALL)
    said = re.sub(r"<[^>]+>", " ", body)
    assert '<html lang="es">' in text
    assert not re.search(r"\b(the|from|first|beds|and|with)\b", said, re.IGNORECASE)
    assert "acres" in said or "ft²" in said or "pies" in said
    with (tmp_path / "c.csv").open() as rows:
        assert next(csv.reader(rows)) == list(pages.COLUMNS)
