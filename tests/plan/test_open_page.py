"""What the page plans and tries is what the command plans and tries."""

import shutil
import time

import numpy as np
import pytest
import tomlkit
from pyproj import Transformer
from site_folder import SiteFolder

from fieldmap.cache import Store
from fieldmap.errors import FieldmapError
from fieldmap.model.settings import WhatIf
from fieldmap.plan import make_plan
from fieldmap.read import read_site
from fieldmap.serve.desk import Desk
from fieldmap.serve.files.draft import Draft
from fieldmap.serve.planning import Planning
from fieldmap.serve.trying import NotReady, Trying

TOLERANCE_C = 0.05  # what is promised
FACTS = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}


def quietly(_step):
    """Progress that nobody sees."""


@pytest.fixture(scope="module")
def hedged(tmp_path_factory):
    """A slope with one plot, a hedge across the slope below it, and one above."""
    there = SiteFolder(tmp_path_factory.mktemp("tried") / "site")
    there.path.mkdir()
    there.cell_m, there.size_m = 5.0, 400.0
    there.plain()
    there.plots([there.box(160, 160, 240, 240)], name=["Home"])
    there.surroundings(
        ("hedge", there.box(100, 152, 300, 154), {**FACTS, "name": "Low Hedge"}),
        ("hedge", there.box(100, 246, 300, 248), {**FACTS, "name": "High Hedge"}),
    )
    return there


@pytest.fixture(scope="module")
def trying(hedged):
    found = Trying(hedged.path, Desk(hedged.path).drafted)
    found.begin()
    ready(found)
    return found


def ready(trying):
    """The state once changes can be tried."""
    began = time.monotonic()
    while not (state := trying.state())["ready"]:
        assert state["problems"] == []
        assert time.monotonic() < began + 300
        time.sleep(0.2)
    return state


def gap(hedged, thing, east_m, north_m):
    to_degrees = Transformer.from_crs(hedged.crs, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(
        hedged.west + east_m, hedged.south + north_m
    )
    return {"of": thing, "width_m": 12.0, "longitude": longitude, "latitude": latitude}


def without(thing):
    return WhatIf(name="gone", take_away=[thing])


def changes(hedged):
    to_degrees = Transformer.from_crs(hedged.crs, 4326, always_xy=True)
    ends = [
        to_degrees.transform(hedged.west + x, hedged.south + 250) for x in (150, 250)
    ]
    bank = {"kind": "bank", "name": "B", "height_m": 1.5, "width_m": 3.0, "line": ends}
    return [
        {"name": "gap", "gaps": [gap(hedged, "Low Hedge", 200, 153)]},
        {"name": "gone", "take_away": ["Low Hedge"]},
        {"name": "bank", "additions": [bank]},
    ]


def test_the_first_answer_is_that_of_a_whole_plan(hedged, trying):
    asked = changes(hedged)
    lines = [line for change in asked for line in (WhatIf.model_validate(change),)]
    text = (hedged.path / "site.toml").read_text("utf-8")
    table = tomlkit.parse(text)
    table["what_if"] = [
        line.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
        for line in lines
    ]
    # With what is kept of the place as it is; each finds the changes for itself.
    other = shutil.copytree(hedged.path, hedged.path.with_name("planned"))
    (other / "site.toml").write_text(tomlkit.dumps(table), "utf-8")
    plan = make_plan(read_site(other), Store(other / ".fieldmap"), quietly)
    moved_c = []
    for change, effect in zip(asked, plan.what_ifs, strict=True):
        first = trying.first(WhatIf.model_validate(change))
        names = [bed.bed for bed in effect.beds]
        assert names == [bed["name"] for bed in trying.state()["beds"]]
        planned_c = [bed.offset_c.central for bed in effect.beds]
        assert first["change_c"] == pytest.approx(planned_c, abs=TOLERANCE_C)
        light = [bed.spring_light_percent for bed in effect.beds]
        assert first["light_percent"] == pytest.approx(light, abs=0.1)
        whole = trying.whole(WhatIf.model_validate(change))
        middles = [bed["offset_c"][1] for bed in whole["beds"]]
        assert middles == pytest.approx(planned_c, abs=TOLERANCE_C)
        moved_c.append(np.abs(planned_c).max())
    assert max(moved_c) > 0.1  # else nothing was compared


def test_beds_above_a_gap_warm_and_the_sentence_names_them(hedged, trying):
    # Cold air stands behind what lies across its way (as every handbook of frost has it,
    # common practice, no source); an opening lets it out.
    first = trying.first(without("Low Hedge"))
    assert max(first["change_c"]) >= first["least_c"] == 0.25
    assert "warmer" in first["sentences"][0]
    assert "Home" in first["sentences"][0]


def test_no_bed_changes_is_an_answer(hedged, trying):
    opened = gap(hedged, "High Hedge", 298, 247)
    first = trying.first(WhatIf.model_validate({"name": "far", "gaps": [opened]}))
    # The east end of the upper hedge, 58 m beside the plot: no cold air comes from there.
    assert max(map(abs, first["change_c"])) < first["least_c"]
    assert first["sentences"][0] == "Likely no bed changes on a clear, still night."


def test_a_change_that_cannot_be_says_why(hedged, trying):
    with pytest.raises(FieldmapError, match="Low Hedge"):
        trying.first(without("Lou Hedge"))


def test_a_place_that_changed_is_made_ready_again(hedged, trying):
    path = hedged.path / "site.toml"
    before = path.read_bytes()
    path.write_bytes(before + b"\n# more\n")
    with pytest.raises(NotReady) as refused:
        trying.first(without("Low Hedge"))
    assert refused.value.state["running"]
    path.write_bytes(before)
    ready(trying)


def test_what_is_drawn_and_not_saved_is_what_is_tried(hedged, trying):
    """A draft without the hedge changes nothing when that hedge would be taken away."""
    desk = Desk(hedged.path)
    state = desk.state()
    high = [
        each
        for each in state["surroundings"]
        if each["properties"]["name"] == "High Hedge"
    ]
    tab = "one"
    drawn = {key: state[key] for key in ("plots", "base")} | {"surroundings": high}
    desk.begin(tab)
    desk.keep(tab, Draft(number=1, **drawn))
    with pytest.raises(NotReady):
        trying.first(without("High Hedge"))
    found = ready(trying)
    assert found["unsaved"]
    assert [each["name"] for each in found["things"]] == ["High Hedge"]
    with pytest.raises(FieldmapError, match="Low Hedge"):
        trying.first(without("Low Hedge"))
    before = (hedged.path / "surroundings.geojson").read_bytes()
    assert b"Low Hedge" in before
    # A save writes what was tried: the place stays ready.
    desk.save(tab, Draft(number=2, **drawn), ())
    assert trying.first(without("High Hedge"))["sentences"]
    assert not trying.state()["unsaved"]
    (hedged.path / "surroundings.geojson").write_bytes(before)
    trying.begin()
    ready(trying)
    assert not list((hedged.path / ".fieldmap").glob("drafted-*"))


def ended(planning):
    began = time.monotonic()
    while (state := planning.state())["running"]:
        assert time.monotonic() < began + 400
        time.sleep(0.1)
    return state


def test_a_plan_names_its_steps_and_one_that_is_stopped_leaves_the_old(hedged, trying):
    planning = Planning(hedged.path)
    planning.start()
    state = ended(planning)
    assert state["ended"] == "made", state
    assert "reading the site" in state["steps"]
    assert state["has_map"]
    plan = hedged.path / "plan"
    before = {path: path.read_bytes() for path in plan.rglob("*") if path.is_file()}
    (hedged.path / "site.toml").write_text('name = "Other"\n', "utf-8")
    planning.start()
    began = time.monotonic()
    while not planning.state()["steps"]:
        assert time.monotonic() < began + 400
        time.sleep(0.05)
    planning.stop()
    assert planning.state()["ended"] == "stopped"
    after = {path: path.read_bytes() for path in plan.rglob("*") if path.is_file()}
    assert after == before
    (hedged.path / "site.toml").write_text("name = 1\n", "utf-8")
    planning.start()
    state = ended(planning)
    assert state["ended"] == "failed"
    assert any("site.toml" in step for step in state["steps"])
