"""A hand-over that still stands is not made again; anything that differs makes it so."""

import json

import pytest

from fieldmap import cache, output_folder
from fieldmap.cache import Store

LINES = ["plot  beds", "Home  A1 to A4"]


class Written:
    """A plan's folder that counts how often it is written."""

    def __init__(self, folder):
        self.folder = folder
        self.times = 0

    def __call__(self):
        self.times += 1
        (self.folder / "layers").mkdir(parents=True, exist_ok=True)
        (self.folder / "plan.json").write_text(json.dumps({"files": ["plan.json"]}))
        (self.folder / "layers" / "sun.tif").write_bytes(b"sun")
        return output_folder.HandOver(LINES, ("en", "metric"), {})


@pytest.fixture
def place(tmp_path):
    folder = tmp_path / "site"
    folder.mkdir()
    (folder / "site.toml").write_text("name = 'Home'")
    return folder


def run(folder, write, day="2027-03-01"):
    made, stays = output_folder.keep_or_make(
        write.folder, folder, Store(folder / ".fieldmap"), write, day
    )
    return made.lines, stays


def test_what_has_not_changed_is_listed_again_and_not_written_again(place):
    write = Written(place / "plan")
    assert run(place, write) == (LINES, False)
    assert run(place, write) == (LINES, True)
    assert write.times == 1


def test_on_another_day_a_plan_is_made_anew(place):
    write = Written(place / "plan")
    run(place, write)
    assert run(place, write, "2027-03-02") == (LINES, False)
    assert run(place, write, "2027-03-02") == (LINES, True)


def change_a_choice(place, monkeypatch):
    (place / "site.toml").write_text("name = 'Other'")


def add_a_file(place, monkeypatch):
    (place / "elevation.prj").write_text("another grid")


def spoil_the_plan(place, monkeypatch):
    (place / "plan" / "layers" / "sun.tif").write_bytes(b"moon")


def lose_a_file_of_the_plan(place, monkeypatch):
    (place / "plan" / "layers" / "sun.tif").unlink()


def install_another_library(place, monkeypatch):
    monkeypatch.setattr(output_folder, "installed", lambda: ["folium-99"])


def change_the_code(place, monkeypatch):
    monkeypatch.setattr(cache, "code_hash", lambda: "other code")


@pytest.mark.parametrize(
    "change",
    [
        change_a_choice,
        add_a_file,
        spoil_the_plan,
        lose_a_file_of_the_plan,
        install_another_library,
        change_the_code,
    ],
)
def test_any_difference_writes_the_plan_anew(place, monkeypatch, change):
    write = Written(place / "plan")
    run(place, write)
    change(place, monkeypatch)
    assert run(place, write)[1] is False
    assert write.times == 2
    assert (place / "plan" / "layers" / "sun.tif").read_bytes() == b"sun"


def test_another_folder_is_written_though_nothing_changed(place, tmp_path):
    run(place, Written(place / "plan"))
    other = Written(tmp_path / "other")
    assert run(place, other)[1] is False
    assert (tmp_path / "other" / "plan.json").is_file()


def test_python_and_the_libraries_are_known_by_their_versions():
    from importlib import metadata

    versions = output_folder.installed()
    assert f"folium-{metadata.version('folium')}.dist-info" in versions
