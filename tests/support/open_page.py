"""A site with comments in its choices, and what asks its page as a browser would."""

import json

import pytest
from starlette.testclient import TestClient

from fieldmap.serve.app import application

PORT = 50123
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
    [[15.2591, 46.0501], [15.2592, 46.0519]],
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

    def ask(self, method, path, headers=None, **body):
        return self.client.request(
            method,
            f"/{TOKEN}/{path}",
            json={"tab": self.name, **body},
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
