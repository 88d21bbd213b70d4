"""What is drawn is kept at each touch, and saved as a person would have written it."""

import json
import os
import re
import tomllib

import geopandas as gpd
import pytest
from campaign.attempt import Watch
from open_page import CHOICES, HEDGE, SQUARE, Tab, feature, written
from shapely.geometry import box
from site_folder import SiteFolder

from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.marks import read_marks
from fieldmap.read.outlines.own_beds import read_beds
from fieldmap.serve.desk import KEPT


def shapes(folder, name):
    return json.loads((folder / name).read_text("utf-8"))["features"]


GATE = feature("Point", [15.2601, 46.0512], kind="gate", name="Barn <b>Gate</b>")


def test_a_folder_of_any_name_gives_its_place_a_name(folder):
    """TOML 1.0: a quotation mark within a basic string is escaped."""
    odd = folder.rename(folder.with_name('the "Shelf"'))
    (odd / "site.toml").unlink()
    tab = Tab(odd)
    answer = tab.ask("POST", "save", draft=tab.draft(surroundings=[HEDGE, GATE]))
    assert "site.toml" in answer.json()["saved"]
    assert tomllib.loads((odd / "site.toml").read_text())["name"] == 'the "Shelf"'


def test_a_draft_is_on_disk_at_each_touch_and_the_files_are_as_they_were(folder, tab):
    before = (folder / "surroundings.geojson").read_bytes()
    drawn = tab.draft(surroundings=[HEDGE, GATE])
    assert tab.ask("PUT", "draft", draft=drawn).status_code == 204
    kept = json.loads((folder / KEPT / "draft.json").read_text("utf-8"))
    assert kept["surroundings"] == [HEDGE, GATE]
    assert (folder / "surroundings.geojson").read_bytes() == before


def test_a_closed_laptop_loses_nothing(folder, tab):
    tab.ask("PUT", "draft", draft=tab.draft(surroundings=[HEDGE, GATE]))
    # The program ends and is started anew; no tab had said that it leaves.
    again = Tab(folder, "another")
    assert again.state["writes"]
    assert again.state["draft"]["surroundings"] == [HEDGE, GATE]


def test_what_is_saved_is_read_back_equal(folder, tab):
    moved = feature("Polygon", [SQUARE], name="Shelf", soil="sand", wet_in_march=False)
    draft = tab.draft(plots=[moved], surroundings=[HEDGE, GATE])
    answer = tab.ask("POST", "save", draft=draft)
    assert answer.json()["saved"] == ["plots.geojson", "surroundings.geojson"]
    assert shapes(folder, "plots.geojson") == [moved]
    assert shapes(folder, "surroundings.geojson") == [HEDGE, GATE]
    # The same by another reader of GeoJSON.
    there = gpd.read_file(folder / "surroundings.geojson")
    assert list(there["name"]) == ["West Hedge", "Barn <b>Gate</b>"]
    assert list(there.geometry[1].coords) == [(15.2601, 46.0512)]
    assert not (folder / KEPT / "draft.json").exists()


def test_what_did_not_change_is_not_written(folder, tab):
    before = (folder / "plots.geojson").stat()
    tab.ask("POST", "save", draft=tab.draft(surroundings=[HEDGE, GATE]))
    after = (folder / "plots.geojson").stat()
    assert (before.st_mtime_ns, before.st_ino) == (after.st_mtime_ns, after.st_ino)
    assert (
        tab.ask(
            "POST", "save", draft=tab.draft(base={}, surroundings=[HEDGE, GATE])
        ).json()["saved"]
        == []
    )


def test_an_old_copy_is_kept_of_each_save(folder, tab):
    first = (folder / "surroundings.geojson").read_bytes()
    base = tab.ask("POST", "save", draft=tab.draft(surroundings=[GATE])).json()["base"]
    second = (folder / "surroundings.geojson").read_bytes()
    tab.ask("POST", "save", draft=tab.draft(surroundings=[HEDGE], base=base))
    assert (folder / "earlier/surroundings-1.geojson").read_bytes() == first
    assert (folder / "earlier/surroundings-2.geojson").read_bytes() == second


def test_answers_are_written_and_comments_stay(folder, tab):
    answers = [
        {"place": ["beds", "tape_m"], "value": 50},
        {"place": ["wind", "storm_from_deg"], "value": 315.0},
        {"place": ["sun", "day"], "value": "2026-04-15"},
        {"place": ["crops"], "value": [{"name": "lettuce", "beds": 8}]},
    ]
    answer = tab.ask("POST", "save", draft=tab.draft(answers=answers))
    assert answer.json()["saved"] == ["site.toml"]
    text = (folder / "site.toml").read_text("utf-8")
    comments = [line for line in CHOICES.splitlines() if line.startswith("#")]
    assert [line for line in comments if line not in text] == []
    assert "tape_m = 50  # the long one" in text
    table = tomllib.loads(text)
    assert table["wind"] == {"storm_from_deg": 315.0}
    assert table["sun"]["day"].isoformat() == "2026-04-15"
    assert table["crops"] == [{"name": "lettuce", "beds": 8}]
    assert table["covers"] == tomllib.loads(CHOICES)["covers"]
    assert (folder / "earlier/site-1.toml").read_text("utf-8") == CHOICES


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {"answers": [{"place": ["beds", "tape_m"], "value": 500}]},
            ["site.toml", "tape_m", "500"],
        ),
        (
            {"answers": [{"place": ["crops"], "value": [{"name": "skorzonera"}]}]},
            ["skorzonera"],
        ),
        (
            {"answers": [{"place": ["crops"], "value": [{"name": "letuce"}]}]},
            ["letuce", "did you mean", "lettuce"],
        ),
        (
            {"surroundings": [feature("Point", [15.26, 46.05], kind="tree")]},
            ["surroundings.geojson", "width_m"],
        ),
        (
            {"surroundings": [feature("Point", [15.26, 46.05], kind="dragon")]},
            ["surroundings.geojson", "dragon"],
        ),
        (
            {
                "plots": [
                    feature(
                        "Polygon",
                        [[SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3], SQUARE[0]]],
                    )
                ]
            },
            ["plots.geojson", "crosses"],
        ),
    ],
)
def test_what_no_plan_could_be_read_from_is_not_saved(folder, tab, changes, said):
    names = ("site.toml", "plots.geojson", "surroundings.geojson")
    before = {name: (folder / name).read_bytes() for name in names}
    answer = tab.ask("POST", "save", draft=tab.draft(**changes))
    assert answer.status_code == 422
    words = " ".join(answer.json()["problems"])
    assert [part for part in said if part not in words] == []
    assert {name: (folder / name).read_bytes() for name in names} == before
    assert (folder / KEPT / "draft.json").exists()  # the draft is safe


def test_a_second_tab_reads_until_it_takes_over(folder, tab):
    other = Tab(folder, "two", tab.client)
    assert (tab.state["writes"], other.state["writes"]) == (True, False)
    drawn = other.draft(surroundings=[])
    assert other.ask("PUT", "draft", draft=drawn).status_code == 423
    assert other.ask("POST", "save", draft=drawn).status_code == 423
    assert len(shapes(folder, "surroundings.geojson")) == 1
    tab.ask("PUT", "draft", draft=tab.draft(surroundings=[HEDGE, GATE]))
    other.ask("POST", "write-here")
    assert tab.ask("PUT", "draft", draft=tab.draft()).status_code == 423
    taken = Tab(folder, "two", tab.client)
    assert taken.state["writes"]
    assert taken.state["draft"]["surroundings"] == [HEDGE, GATE]  # nothing was lost


def test_a_tab_that_leaves_lets_the_next_write(folder, tab):
    tab.ask("POST", "leave")
    assert Tab(folder, "two", tab.client).state["writes"]


def test_a_file_changed_outside_is_written_over_only_where_that_is_chosen(folder, tab):
    written(
        folder / "surroundings.geojson",
        HEDGE,
        GATE,
        {**GATE, "properties": {"kind": "gate", "name": "2"}},
    )
    draft = tab.draft(surroundings=[GATE])
    answer = tab.ask("POST", "save", draft=draft)
    assert answer.status_code == 409
    (changed,) = answer.json()["changed"]
    assert changed["file"] == "surroundings.geojson"
    assert "3 shapes" in changed["words"]
    assert "this page has 1" in changed["words"]
    assert len(shapes(folder, "surroundings.geojson")) == 3
    assert (
        tab.ask("POST", "save", draft=draft, over=["surroundings.geojson"]).status_code
        == 200
    )
    assert shapes(folder, "surroundings.geojson") == [GATE]
    assert (
        len(
            json.loads((folder / "earlier/surroundings-1.geojson").read_text())[
                "features"
            ]
        )
        == 3
    )


def test_the_files_may_be_taken_as_they_are(folder, tab):
    tab.ask("PUT", "draft", draft=tab.draft(surroundings=[GATE]))
    written(folder / "surroundings.geojson", HEDGE, GATE)
    again = Tab(folder, "one", tab.client)
    assert [each["file"] for each in again.state["changed"]] == ["surroundings.geojson"]
    again.ask("POST", "take-files")
    fresh = Tab(folder, "one", tab.client)
    assert fresh.state["draft"] is None
    assert fresh.state["surroundings"] == [HEDGE, GATE]


def test_a_change_that_was_tried_becomes_one_more_what_if(folder, tab):
    gap = {"of": "West Hedge", "width_m": 4.0, "longitude": 15.2596, "latitude": 46.051}
    change = {"name": "A 4 m gap in the “West” Hedge", "gaps": [gap]}
    answer = tab.ask("POST", "try/keep", change=change)
    assert answer.status_code == 200
    text = (folder / "site.toml").read_text("utf-8")
    assert text.startswith(CHOICES.rstrip())
    assert tomllib.loads(text)["what_if"] == [change]
    assert tab.ask("POST", "try/keep", change=change).status_code == 422  # twice


def test_a_link_is_not_written_through(folder, tab, tmp_path):
    outside = tmp_path / "outside.geojson"
    (folder / "surroundings.geojson").rename(outside)
    (folder / "surroundings.geojson").symlink_to(outside)
    before = outside.read_bytes()
    answer = tab.ask("POST", "save", draft=tab.draft(surroundings=[GATE], base={}))
    assert answer.status_code == 422
    assert outside.read_bytes() == before


def in_a_folder_below(folder):
    with (folder / "site.toml").open("a", encoding="utf-8") as choices:
        choices.write('\n[files]\nsurroundings = "maps/around.geojson"\n')


def test_a_file_in_a_folder_below_is_saved_there(folder):
    (folder / "maps").mkdir()
    (folder / "surroundings.geojson").rename(folder / "maps" / "around.geojson")
    in_a_folder_below(folder)
    tab = Tab(folder)
    answer = tab.ask("POST", "save", draft=tab.draft(surroundings=[HEDGE, GATE]))
    assert answer.json()["saved"] == ["maps/around.geojson"]
    assert shapes(folder, "maps/around.geojson") == [HEDGE, GATE]
    assert shapes(folder, "earlier/around-1.geojson") == [HEDGE]


def test_nothing_is_written_where_a_folder_that_is_a_link_leads(folder, tmp_path):
    outside = tmp_path / "outside"
    outside.mkdir()
    (folder / "maps").symlink_to(outside)
    (folder / "surroundings.geojson").unlink()
    in_a_folder_below(folder)
    tab = Tab(folder)
    answer = tab.ask("POST", "save", draft=tab.draft(surroundings=[GATE]))
    assert answer.status_code == 422
    assert "inside the site folder" in answer.json()["problems"][0]
    assert list(outside.iterdir()) == []


def test_a_shared_file_is_read_and_never_written(folder, tmp_path, monkeypatch):
    shared = tmp_path / "shared"
    shared.mkdir()
    (folder / "surroundings.geojson").rename(shared / "around.geojson")
    monkeypatch.setenv("FIELDMAP_SHARED", str(shared))
    with (folder / "site.toml").open("a", encoding="utf-8") as choices:
        choices.write(f"\n[files]\nsurroundings = '{shared / 'around.geojson'}'\n")
    tab = Tab(folder)
    assert tab.state["surroundings"] == [HEDGE]
    for path in ("check", "save"):
        of_tab = path == "save"
        drawn = tab.draft(surroundings=[GATE])
        said = tab.ask("POST", path, of_tab=of_tab, draft=drawn).json()["problems"]
        assert "inside the site folder" in said[0]
    assert shapes(shared, "around.geojson") == [HEDGE]


def test_a_draft_is_not_written_through_a_link(folder, tab, tmp_path):
    outside = tmp_path / "outside.txt"
    outside.write_text("ours", "utf-8")
    (folder / KEPT).mkdir()
    (folder / KEPT / f"draft.json.{os.getpid()}.part").symlink_to(outside)
    drawn = tab.draft(surroundings=[HEDGE, GATE])
    assert tab.ask("PUT", "draft", draft=drawn).status_code == 204
    assert outside.read_text("utf-8") == "ours"
    kept = json.loads((folder / KEPT / "draft.json").read_text("utf-8"))
    assert kept["surroundings"] == [HEDGE, GATE]


def test_an_old_copy_is_not_written_through_a_link(folder, tab, tmp_path):
    outside = tmp_path / "outside.geojson"  # a link to nothing makes what it names
    (folder / "earlier").mkdir()
    link = folder / "earlier" / "surroundings-2.geojson"
    link.symlink_to(outside)
    drawn = tab.draft(surroundings=[HEDGE, GATE])
    assert tab.ask("POST", "save", draft=drawn).status_code == 200
    assert not outside.exists()
    assert link.is_symlink()
    assert shapes(folder, "earlier/surroundings-3.geojson") == [HEDGE]


def test_where_old_copies_are_a_link_that_link_is_named(folder, tab, tmp_path):
    (folder / "earlier").symlink_to(tmp_path)
    drawn = tab.draft(surroundings=[HEDGE, GATE])
    answer = tab.ask("POST", "save", draft=drawn)
    assert answer.json()["problems"] == ["earlier is a link; put the file itself here."]


def test_a_change_is_not_added_to_choices_that_cannot_be_read(folder, tab):
    (folder / "site.toml").write_text('name = "Hill', "utf-8")
    change = {"name": "No hedge", "take_away": ["West Hedge"]}
    answer = tab.ask("POST", "try/keep", change=change)
    assert answer.status_code == 422
    assert "site.toml" in answer.json()["problems"][0]
    assert (folder / "site.toml").read_text("utf-8") == 'name = "Hill'


def moved(east_deg):
    return [[east + east_deg, north] for east, north in SQUARE]


@pytest.mark.parametrize(
    "plots",
    [
        [moved(0.0), moved(0.3)],  # 23 km apart
        [
            [SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3], SQUARE[0]],
            [SQUARE[0], SQUARE[2], moved(0.002)[1], SQUARE[3], SQUARE[1], SQUARE[0]],
        ],
    ],
    ids=["far apart", "crossing themselves and each other"],
)
def test_outlines_that_no_plan_could_be_made_of_are_shown_all_the_same(tmp_path, plots):
    SiteFolder(tmp_path).plain()
    drawn = [
        feature("Polygon", [ring], name=f"P{number}")
        for number, ring in enumerate(plots)
    ]
    written(tmp_path / "plots.geojson", *drawn)
    assert Tab(tmp_path).state["plots"] == drawn


def test_outlines_in_metres_are_refused_in_words(folder):
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32633"}}
    table = {"type": "FeatureCollection", "crs": crs, "features": [GATE]}
    (folder / "surroundings.geojson").write_text(json.dumps(table), "utf-8")
    refused = Tab.__new__(Tab)
    with pytest.raises(KeyError):
        Tab.__init__(refused, folder)
    assert "32633" in refused.state["problems"][0]


STRIP = [[15.2605, 46.0505], [15.2607, 46.0505], [15.2607, 46.05051], [15.2605, 46.05051]]  # fmt: skip
SEEN = feature("Polygon", [SQUARE], seen="white at dawn")
BED = feature("Polygon", [[*STRIP, STRIP[0]]], name="Old 1")


def test_what_was_seen_and_beds_that_stay_are_saved_in_files_of_their_own(folder, tab):
    assert tab.state["marks"] == tab.state["beds"] == []
    answer = tab.ask("POST", "save", draft=tab.draft(marks=[SEEN], beds=[BED]))
    assert answer.json()["saved"] == ["beds.geojson", "marks.geojson"]
    marks = read_marks(SiteFile(folder / "marks.geojson", "marks.geojson"))
    assert marks.frame["seen"].tolist() == ["white at dawn"]
    beds = read_beds(SiteFile(folder / "beds.geojson", "beds.geojson"))
    assert beds.frame["name"].tolist() == ["Old 1"]
    again = Tab(folder, "one", tab.client)
    assert (again.state["marks"], again.state["beds"]) == ([SEEN], [BED])
    # The last one taken away takes the file away, as no plan is read from an empty one.
    base = answer.json()["base"]
    gone = tab.draft(marks=[], beds=[], surroundings=[], base=base)
    assert tab.ask("POST", "save", draft=gone).status_code == 200
    for name in ("marks", "beds", "surroundings"):
        assert not (folder / f"{name}.geojson").exists()
        assert (folder / f"earlier/{name}-1.geojson").exists()


@pytest.mark.parametrize(
    ("layer", "shape", "said"),
    [
        ("marks", feature("Polygon", [SQUARE]), "what was seen"),
        ("marks", feature("Polygon", [SQUARE], seen="white"), "white at dawn"),
        ("beds", feature("Polygon", [SQUARE]), "no name"),
    ],
)
def test_a_mark_or_bed_that_no_plan_could_read_is_not_saved(
    folder, tab, layer, shape, said
):
    answer = tab.ask("POST", "save", draft=tab.draft(**{layer: [shape]}))
    assert answer.status_code == 422
    assert said in " ".join(answer.json()["problems"])
    assert not (folder / f"{layer}.geojson").exists()


def test_beds_in_metres_stay_as_they_are_and_the_page_draws_the_rest(folder):
    there = gpd.GeoDataFrame(
        {"name": ["B1"]}, geometry=[box(520000, 5100000, 520010, 5100001)], crs=32633
    )
    there.to_file(folder / "beds.geojson")
    before = (folder / "beds.geojson").read_bytes()
    tab = Tab(folder)
    assert "beds" not in tab.state
    saved = tab.ask("POST", "save", draft=tab.draft(marks=[SEEN])).json()["saved"]
    assert saved == ["marks.geojson"]
    assert (folder / "beds.geojson").read_bytes() == before


def test_what_is_still_open_is_what_check_says(folder, tab):
    """Without heights no plan can be made, and that is what is open first."""
    said = tab.ask("POST", "open", of_tab=False).json()["open"]
    assert any("elevation.tif" in line["words"] for line in said)


def test_what_a_page_holds_is_checked_whoever_writes(tab):
    wrong = [{"place": ["beds", "tape_m"], "value": "long"}]
    said = tab.ask("POST", "check", of_tab=False, draft=tab.draft(answers=wrong))
    (problem,) = said.json()["problems"]
    assert "tape_m" in problem


def test_no_pictures_are_offered_where_no_tiles_or_no_heights_are(tmp_path):
    there = SiteFolder(tmp_path).plain()
    assert Tab(there.path).state["background"] is None
    there.toml(
        'name = "Hill Farm"\n[map]\nbackground_credit = "© <b>Us</b>"\n'
        'background_tiles = "https://tiles.example.org/{z}/{x}/{y}.png"\n'
    )
    offered = Tab(there.path).state["background"]
    assert offered["credit"] == "© <b>Us</b>"
    addresses = [each["address"] for each in offered["tiles"]]
    assert len(set(addresses)) == len(addresses) <= 64
    assert all(
        re.fullmatch(r"https://tiles\.example\.org/\d+/\d+/\d+\.png", each)
        for each in addresses
    )
    (there.path / "elevation.tif").unlink()
    assert Tab(there.path).state["background"] is None


def test_nothing_in_a_list_is_refused_in_a_sentence(tab):
    """JSON has a word for nothing, and TOML has none."""
    wrong = {"place": ["beds", "tape_m"], "value": [None, 1]}
    answer = tab.ask("POST", "save", draft=tab.draft(answers=[wrong]), over=[])
    assert answer.status_code == 422
    assert "tape_m" in answer.json()["problems"][0]


def test_a_pipe_in_place_of_a_draft_is_not_waited_for(folder):
    (folder / ".fieldmap").mkdir()
    os.mkfifo(folder / ".fieldmap" / "draft.json")
    assert Tab(folder).state["draft"] is None


def test_no_draft_is_kept_where_a_link_leads(folder, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    (folder / ".fieldmap").symlink_to(elsewhere)
    tab = Tab(folder)
    answer = tab.ask("PUT", "draft", draft=tab.draft())
    assert answer.status_code == 422
    assert ".fieldmap is a link" in answer.json()["problems"][0]
    assert not list(elsewhere.iterdir())


def test_what_lies_outside_is_not_read_though_a_link_leads_there(
    folder, tmp_path_factory
):
    outside = tmp_path_factory.mktemp("outside")
    (outside / "secret").write_text("words")
    (folder / "marks.geojson").symlink_to(outside / "secret")
    (folder / "plan").mkdir()
    (folder / "plan" / "map.html").symlink_to(outside / "secret")
    watch = Watch(outside)
    tab = Tab(folder)
    assert tab.state["base"]["marks.geojson"] == ""
    assert tab.ask("GET", "map").status_code == 404
    assert watch.reads() == []
