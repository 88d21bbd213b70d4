"""Pages in headless Chromium, and the plan that most of the map's tests look at."""

import pickle
from dataclasses import replace

import pytest
from browser import DESKTOP, PHONE, Page, chromium
from made_up import plane, plot_box, site, surroundings
from shared import once

from fieldmap.model.settings import WhatIf
from fieldmap.plan import make_plan
from fieldmap.read.outlines.what_if import imagine
from fieldmap.show.map import map_html


def make_hedged_plan(folder, store):
    ground = plane(rows=200, cols=200, north=0.05, cell_size_m=2.0)
    hedge = {
        "name": "Long Hedge",
        "height_m": 3.0,
        "porosity": 0.2,
        "clear_stem_m": 0.0,
        "leaf": "evergreen",
    }
    around = surroundings(("hedge", plot_box(150, -44, 250, -42), hedge))
    made_up = site(ground, {"Home": plot_box(180, -40, 220, 40)}, around)
    what_if = (WhatIf(name="No hedge", take_away=("Long Hedge",)),)
    made_up = replace(made_up, alternatives=imagine(what_if, around, "metric"))
    plan = make_plan(made_up, store, lambda step: None)
    (folder / "plan.pickle").write_bytes(pickle.dumps(plan))


@pytest.fixture(scope="session")
def hedged_plan(tmp_path_factory, kept):
    """A plot of 40 m by 80 m on ground that falls 5 % south, a hedge at its foot."""
    made = once(
        tmp_path_factory, "hedged", lambda folder: make_hedged_plan(folder, kept)
    )
    return pickle.loads((made / "plan.pickle").read_bytes())


# The map of a module's own `plan`, in a browser


@pytest.fixture(scope="session")
def drawn():
    """Plans whose map was drawn, with its file."""
    return []


@pytest.fixture(scope="module")
def map_file(plan, drawn, tmp_path_factory):
    for other, path in drawn:
        if other is plan:
            return path
    path = tmp_path_factory.mktemp("html") / "map.html"
    path.write_text(map_html(plan), encoding="utf-8")
    drawn.append((plan, path))
    return path


@pytest.fixture(scope="session")
def browser():
    with chromium() as opened:
        yield opened


# One page serves the tests of a module: each asks its own question first.


@pytest.fixture(params=["desktop", "phone"], scope="module")
def opened(request, browser, map_file):
    size = {"desktop": DESKTOP, "phone": PHONE}[request.param]
    shown = Page(browser, map_file, **size)
    yield shown
    shown.close()


@pytest.fixture(scope="module")
def desktop(browser, map_file):
    shown = Page(browser, map_file, **DESKTOP)
    yield shown.page
    shown.close()
