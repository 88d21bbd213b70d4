"""A site with comments in its choices, and what asks its page as a browser would."""

import json
import threading
import time
from contextlib import contextmanager
from types import SimpleNamespace

import pytest
from browser import heard, painted
from starlette.testclient import TestClient

from fieldmap.serve.app import application
from fieldmap.serve.run import listening, server

PORT = 50123
LONGEST_S = 60.0
TOKEN = "of-this-run"
HERE = f"http://127.0.0.1:{PORT}"
SQUARE = [
    [15.26, 46.05],
    [15.262, 46.05],
    [15.262, 46.052],
    [15.26, 46.052],
    [15.26, 46.05],
]
CHOICES = """\
# Our hill, as we found it.
name = "Hill Farm"

[beds]
tape_m = 30  # the long one

# What we own.
[[covers]]
kind = "light_fabric"
width_m = 2.2
length_m = 120.0
"""


def feature(shape, coordinates, **properties):
    return {
        "type": "Feature",
        "properties": properties,
        "geometry": {"type": shape, "coordinates": coordinates},
    }


HEDGE = feature(
    "LineString",
    [[15.2596, 46.0501], [15.2597, 46.0519]],
    kind="hedge",
    name="West Hedge",
    height_m=3.0,
    width_m=1.5,
    porosity=0.4,
    leaf="deciduous",
)


def written(path, *features):
    path.write_text(
        json.dumps({"type": "FeatureCollection", "features": features}), "utf-8"
    )


@pytest.fixture
def folder(tmp_path):
    site = tmp_path / "site"
    site.mkdir()
    (site / "site.toml").write_text(CHOICES, "utf-8")
    written(site / "plots.geojson", feature("Polygon", [SQUARE], name="Shelf"))
    written(site / "surroundings.geojson", HEDGE)
    return site


class Tab:
    """One tab of a browser that has the page open."""

    def __init__(self, folder, name="one", client=None):
        self.client = client or TestClient(
            application(folder, TOKEN, PORT), base_url=HERE
        )
        self.name = name
        self.state = self.ask("POST", "begin").json()
        self.number = (self.state["draft"] or {}).get("number", 0)

    def ask(self, method, path, headers=None, of_tab=True, **body):
        return self.client.request(
            method,
            f"/{TOKEN}/{path}",
            json=({"tab": self.name} if of_tab else {}) | body,
            headers={"origin": HERE} if headers is None else headers,
        )

    def draft(self, **more):
        """What is on the page, with more drawn or answered."""
        self.number += 1
        held = {key: self.state[key] for key in ("plots", "surroundings", "base")}
        return held | {"number": self.number, "answers": [], **more}


@pytest.fixture
def tab(folder):
    return Tab(folder)


@contextmanager
def served(folder, port=0, token=TOKEN):
    """The page of a site on a real port of loopback: its address, and how to end it early."""
    held = listening(port)
    port = held.getsockname()[1]
    answering = server(folder, token, port)
    thread = threading.Thread(
        target=answering.run, kwargs={"sockets": [held]}, daemon=True
    )
    thread.start()
    end_s = time.monotonic() + LONGEST_S
    while not answering.started:
        assert time.monotonic() < end_s, "the page is never served"
        time.sleep(0.01)

    def end():
        answering.should_exit = answering.force_exit = True
        thread.join(10)
        held.close()

    try:
        yield SimpleNamespace(
            address=f"http://127.0.0.1:{port}/{token}/", port=port, end=end
        )
    finally:
        end()


def ready(page):
    """The page is there, with what is drawn on its ground."""
    page.wait_for_selector("body[data-ready]", timeout=60_000)
    painted(page)


class OpenPage:
    """The page in a tab of a browser, with everything that it complained of."""

    def __init__(self, context, address):
        self.page = context.new_page()
        self.asked, self.complaints = heard(self.page)
        self.page.goto(address)
        ready(self.page)

    def word(self, name, **how):
        """A word or button of the page."""
        return self.page.get_by_role("button", name=name, **how)
