"""Names of the demo's plots on a phone: what they keep off."""

import pytest
from browser import PHONE, Page, ask

SMALL = PHONE | {"viewport": {"width": 360, "height": 640}}
# Where the barn and its tap are drawn.
BOXES = """() => ['Barn', 'Barn Tap'].map(name => {
  const { field } = fieldmap;
  return field.boxOf(field.find(name).find(each => each.kind === 'thing' && each.name === name));
})"""


def overlap(one, other):
    return (
        one["left"] < other["right"]
        and other["left"] < one["right"]
        and one["top"] < other["bottom"]
        and other["top"] < one["bottom"]
    )


@pytest.fixture(params=[PHONE, SMALL], ids=["390 by 844", "360 by 640"])
def page(request, browser, planned_demo):
    shown = Page(browser, planned_demo / "plan" / "map.html", **request.param)
    yield shown.page
    shown.close()


def test_names_of_plots_keep_off_buildings_and_taps(page):
    plots = ("Top Field", "Shelf", "Brook Piece", "Barn Garden")
    for key in ("early", "cold", "sun", "steep", "tunnels"):
        ask(page, key)
        things = page.evaluate(BOXES)
        assert len(things) == 2
        words = page.evaluate("fieldmap.field.words()")
        names = [each for each in words if each["text"] in plots]
        assert {each["text"] for each in names} == set(plots), key
        hidden = [
            name["text"] for name in names for thing in things if overlap(name, thing)
        ]
        assert hidden == [], key


# Distance of each name from the outline of its plot, and whether its line ends there.
OFF = """(plots) => {
  const { field } = fieldmap;
  return field.words().filter(each => plots.includes(each.text)).map(({ text, left, top, right, bottom, to }) => {
    const box = field.boxOf(field.find(text).find(each => each.kind === 'plot' && each.name === text));
    const away = Math.hypot(
      Math.max(box.left - right, 0, left - box.right), Math.max(box.top - bottom, 0, top - box.bottom));
    const led = to && to.x >= box.left && to.x <= box.right && to.y >= box.top && to.y <= box.bottom;
    return [text, away, Boolean(led)];
  });
}"""


def test_a_name_off_its_plot_has_a_line_to_it(page):
    plots = ["Top Field", "Shelf", "Brook Piece", "Barn Garden"]
    for key in ("early", "cold", "what-if", "sun", "steep", "water", "tunnels"):
        ask(page, key)
        found = page.evaluate(OFF, plots)
        assert {name for name, _away, _led in found} == set(plots)
        # 28 px: 20 of the gap, and the line of days between a name and its plot.
        far = [name for name, away, led in found if away > 28 and not led]
        assert far == [], key
