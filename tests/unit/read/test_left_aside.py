"""What was drawn and is not known well enough is read, said and shown, but not counted."""

import pytest

from fieldmap.errors import SiteError
from fieldmap.read.door import ASIDE_FILE
from fieldmap.show.map.scene.frame import frame_around
from fieldmap.show.map.scene.things import left_aside
from fieldmap.show.text.sentence import say


@pytest.fixture
def folder(site_folder):
    """A tree of unknown height, and something of which nothing is known."""
    site_folder.outlines(
        ASIDE_FILE,
        {"name": ["Old oak", None], "kind": ["tree", None]},
        [site_folder.box(300, 300, 304, 304), site_folder.box(100, 100, 120, 110)],
    )
    return site_folder


def test_what_is_left_aside_is_read_and_said_but_stands_nowhere(folder):
    site = folder.read()
    oak, other = site.aside
    assert (oak.name, oak.kind) == ("Old oak", "tree")
    assert (other.name, other.kind) == (None, None)
    west, south, *_rest = other.outline.bounds
    assert (west, south) == pytest.approx(
        (folder.west + 100, folder.south + 100), abs=0.05
    )
    assert site.surroundings.empty
    assert ASIDE_FILE in site.input_hashes
    (fact,) = (each for each in site.remarks if each.kind == "things_left_aside")
    assert say(fact, "metric").startswith("2 things of left_aside.geojson")


def test_the_map_shows_it_by_its_name_or_as_not_known(folder):
    site = folder.read()
    frame = frame_around(site.plots.total_bounds, site.crs)
    oak, other = left_aside(site.aside, frame, site.crs)
    assert [oak["kind"], oak["name"]] == ["aside", "Old oak"]
    assert oak["card"][0] == "Tree."
    assert other["card"][0] == "Not known."
    assert all("does not count it" in each["card"][1] for each in (oak, other))


def test_without_the_file_nothing_is_said(site_folder):
    site = site_folder.read()
    assert site.aside == ()
    assert not any(each.kind == "things_left_aside" for each in site.remarks)


def test_a_broken_file_is_refused_by_its_name(site_folder):
    (site_folder.path / ASIDE_FILE).write_text("{")
    with pytest.raises(SiteError, match=ASIDE_FILE):
        site_folder.read()
