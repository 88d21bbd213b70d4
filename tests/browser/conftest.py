"""Pages in headless Chromium, and a plan that many of the map's tests look at."""

from dataclasses import replace

import numpy as np
import pytest
from browser import DESKTOP, PHONE, Page, chromium
from made_up import plane, plot_box, site, surroundings
from shared import once_made

from fieldmap.model.settings import WhatIf
from fieldmap.plan import make_plan
from fieldmap.read.outlines.what_if import imagine
from fieldmap.show import kept as drawing
from fieldmap.show.map import map_html

TUNNEL = {"length_m": 12.0, "width_m": 4.5, "height_m": 2.4}


def make_plan_of_two_plots(store):
    """A sloping square with a bowl in it, a hedge and two plots."""
    ground = plane(east=0.01, north=0.05)
    row, col = np.mgrid[0:200, 0:200]
    bowl = np.maximum(0, 2 - np.hypot(row - 130, col - 120) / 10)
    ground = ground.with_values(ground.values - bowl)
    hedge = {"height_m": 3.0, "porosity": 0.4, "clear_stem_m": 0.0, "leaf": "deciduous"}
    around = surroundings(
        ("hedge", plot_box(30, 20, 170, 22), {"name": "Hedge"} | hedge)
    )
    plots = {"Upper": plot_box(40, 110, 160, 170), "Lower": plot_box(40, 30, 160, 90)}
    made_up = site(ground, plots, around, tunnels=(TUNNEL,), beds={"path_width_m": 1.5})
    what_if = (WhatIf(name="No hedge", take_away=("Hedge",)),)
    made_up = replace(made_up, alternatives=imagine(what_if, around, "metric"))
    return make_plan(made_up, store, lambda step: None)


@pytest.fixture(scope="session")
def plan_of_two_plots(tmp_path_factory, kept):
    return once_made(
        tmp_path_factory, "two-plots", lambda: make_plan_of_two_plots(kept)
    )


# The map of a module's own `plan`, in a browser


@pytest.fixture(scope="session", autouse=True)
def drawn_once(kept):
    """What maps have in common is drawn once, as a site's own plans do it."""
    with drawing.kept(kept):
        yield


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
