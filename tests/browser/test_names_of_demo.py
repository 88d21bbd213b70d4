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
