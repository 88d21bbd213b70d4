"""`fieldmap start` makes a folder that is read as a site, or writes nothing."""

import errno
import os
import re
import shlex
import tomllib
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from made_up_archive import inventory, station
from made_up_walks import gpx, walk
from range_server import serving
from shapely.errors import GEOSException
from site_folder import SiteFolder
from typer.testing import CliRunner

from fieldmap.cli import app
from fieldmap.errors import SiteError
from fieldmap.model.settings import Settings
from fieldmap.read import read_site
from fieldmap.read.start import demo_site, run, sources
from fieldmap.read.start.given import Given
from fieldmap.read.start.net.web import Web
from fieldmap.read.start.weather import choose as weather
from fieldmap.show.text.sentence import say, say_all
from fieldmap.show.text.site.start import comments

NOW = datetime(2026, 11, 28, 12, 0, tzinfo=UTC)
FIELD = [(0, 0), (90, 0), (90, 80), (0, 80)]


@pytest.fixture
def walked(tmp_path):
    """A noisy walk about the middle of the made-up square, its gate and an oak."""
    places, seconds = walk(FIELD, 1)
    corner = np.array([520255.0, 5100260.0])
    marks = [(520345, 5100340, "Gate"), (520300, 5100200, "Old oak")]
    path = tmp_path / "walk.gpx"
    path.write_text(gpx(places + corner, seconds, waypoints=marks))
    return path


@pytest.fixture
def heights(tmp_path):
    folder = SiteFolder(tmp_path / "square")
    folder.path.mkdir()
    folder.elevation(unit=None)
    return folder.path / "elevation.tif"


def begin(folder, *files, ask=lambda _question: None, **how):
    return run.start(
        Given(
            folder=folder,
            files=files,
            now=NOW,
            ask=ask,
            say=lambda fact: say(fact, "metric"),
            comments=comments(),
            **how,
        )
    )


def kinds(facts):
    return {fact.kind for fact in facts}


def test_a_walk_and_a_grid_are_a_site(tmp_path, walked, heights):
    facts = begin(tmp_path / "place", walked, heights)
    assert "start_next_plan" in kinds(facts)
    assert "start_metres_taken" in kinds(facts)
    site = read_site(tmp_path / "place")
    assert site.settings.name == "Long Field"
    assert list(site.plots["name"]) == ["Long Field"]
    said = next(fact for fact in facts if fact.kind == "start_walk_area")
    assert abs(site.plots.area.sum() - 7200) < said["give_or_take_m2"]
    assert list(site.surroundings["kind"]) == ["gate"]
    assert (tmp_path / "place" / "walk_1.svg").read_text().startswith("<svg")
    assert "Old oak" in (tmp_path / "place" / "left_aside.geojson").read_text()
    assert all(say_all(facts, "metric"))


def test_a_site_of_a_walk_says_so_and_prints_no_pegs_before_lengths_are_taped(
    tmp_path, walked, heights
):
    begin(tmp_path / "place", walked, heights)
    site = read_site(tmp_path / "place")
    assert site.settings.pegging.outline == "walked"
    assert "outline_wants_lengths" in kinds(site.remarks)


@pytest.mark.parametrize("hour", ["14 March 09:10", "2026-03-14T09_10", "Run 9:05 am"])
def test_the_hour_of_a_walk_is_no_name_of_the_plot(tmp_path, heights, hour):
    places, seconds = walk(FIELD, 1)
    track = tmp_path / "walk.gpx"
    track.write_text(gpx(places + np.array([520255.0, 5100260.0]), seconds, hour))
    begin(tmp_path / "place", track, heights)
    site = read_site(tmp_path / "place")
    assert site.settings.name == "place"
    assert list(site.plots["name"]) == ["A"]


@pytest.mark.parametrize(
    ("ground", "unit", "phone_m", "said"),
    [
        (1000.0, None, 305.0, True),  # 1000 ft are 304.8 m
        (1000.0, None, 364.0, True),
        (1000.0, None, 366.0, False),  # neither metres nor feet explain it
        (300.0, None, 305.0, False),
        (1000.0, "ft", 305.0, False),
    ],
)
def test_heights_that_fit_the_phone_only_as_feet_are_said_to_be_feet(
    tmp_path, walked, ground, unit, phone_m, said
):
    folder = SiteFolder(tmp_path / "square")
    folder.path.mkdir()
    level = np.full_like(folder.plane(), ground, dtype="float32")
    folder.elevation(level, unit=None)
    height = f"<ele>{phone_m}</ele><time>"
    walked.write_text(walked.read_text().replace("<time>", height))
    facts = begin(
        tmp_path / "place", walked, folder.path / "elevation.tif", height_unit=unit
    )
    assert ("start_heights_like_feet" in kinds(facts)) == said


def test_each_line_to_use_of_the_first_choices_can_be_used(tmp_path, walked, heights):
    begin(tmp_path / "place", walked, heights)
    choices = tmp_path / "place" / "site.toml"
    used = re.sub(r"^# (?=\[|\w+ = )", "", choices.read_text(), flags=re.M)
    choices.write_text(used)
    settings = read_site(tmp_path / "place").settings
    assert settings.units == "us"
    assert settings.wind.storm_from_deg == 315.0
    assert [crop.name for crop in settings.crops] == ["lettuce"]


def test_an_outline_that_was_drawn_is_not_said_to_be_walked(tmp_path, heights):
    table = tmp_path / "corners.csv"
    rows = ["15.2620,46.0555", "15.2630,46.0555", "15.2630,46.0562"]
    table.write_text(
        "\n".join(["plot,longitude,latitude", *(f"A,{at}" for at in rows)])
    )
    begin(tmp_path / "place", table, heights)
    assert "walked" not in (tmp_path / "place" / "site.toml").read_text()


@pytest.mark.parametrize(
    ("there", "then"),
    [
        ('outline = "surveyed"\n', "surveyed"),
        ("# not yet known\n", "walked"),
        (None, "walked"),
    ],
)
def test_a_walk_added_later_leaves_what_the_choices_say_of_the_outline(
    tmp_path, walked, heights, there, then
):
    begin(tmp_path / "place", walked, heights)
    choices = tmp_path / "place" / "site.toml"
    table = "" if there is None else f"[pegging]\n{there}"
    choices.write_text(f'name = "Hill Farm"\n{table}[beds]\nbed_width_m = 1.0\n')
    begin(tmp_path / "place", walked, ask=lambda _question: "yes")
    site = read_site(tmp_path / "place")
    assert site.settings.pegging.outline == then
    assert site.settings.beds.bed_width_m == 1.0


def test_without_heights_it_says_which_could_be_had_and_asks_nobody(tmp_path, walked):
    facts = begin(tmp_path / "place", walked)
    assert {"start_elevation_could", "start_next_elevation"} <= kinds(facts)
    assert not (tmp_path / "place" / "elevation.tif").exists()


def test_an_address_is_never_asked_without_leave(tmp_path, walked, heights):
    with serving({"/heights.tif": heights.read_bytes()}) as (base, server):
        with pytest.raises(SiteError, match="add --fetch"):
            begin(tmp_path / "place", walked, elevation=f"{base}/heights.tif")
        assert server.asked == []
    assert not (tmp_path / "place").exists()


def record(lows):
    days = pd.date_range("2010-01-01", "2020-12-31")
    head = "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES"
    return "\n".join(
        [head]
        + [
            f'{{0}},{day:%Y-%m-%d},46.1,15.3,{{1}},{{2}},150,",,S",{lows},",,S"'
            for day in days
        ]
    )


@pytest.fixture
def archive(monkeypatch, heights):
    """All services on loopback, laid out as they are."""
    one, two = "SIM00000001", "SIM00000002"
    files = {
        "/heights.tif": heights.read_bytes(),
        "/stations.txt": "\n".join(
            [
                station(one, 46.1, 15.3, 310.0, "NEAR"),
                station(two, 46.2, 15.3, 310.0, "NEXT"),
            ]
        ).encode(),
        "/inventory.txt": "\n".join(
            inventory(code, element, 2010, 2026)
            for code in (one, two)
            for element in ("TMIN", "TMAX")
        ).encode(),
        f"/{one}.csv": record(20).format(one, 310, "NEAR").encode(),
        f"/{two}.csv": record(50).format(two, 310, "NEXT").encode(),
    }
    with serving(files) as (base, server):
        (known,) = sources.tables()["weather"]
        own = known | {
            "stations": f"{base}/stations.txt",
            "inventory": f"{base}/inventory.txt",
            "record": base + "/{station}.csv",
        }
        own_year = {"address": f"{base}/year.epw", "name": "Years"}
        tables = {"weather": [own], "typical_year": [known | own_year]}
        monkeypatch.setattr(weather, "tables", lambda: tables)
        yield base, server


def test_with_leave_heights_and_weather_come_and_it_is_written_from_whom(
    tmp_path, walked, archive
):
    """Nights at the next station are 3 °C warmer at one height: both are kept."""
    base, _server = archive
    place, web = tmp_path / "place", Web(tmp_path / "cache", wait_s=2.0)
    facts = begin(place, walked, elevation=f"{base}/heights.tif", web=web)
    assert "start_station_higher" in kinds(facts) or "start_station_lower" in kinds(
        facts
    )
    differ = next(fact for fact in facts if fact.kind == "start_stations_disagree")
    assert differ["degrees_c"] == pytest.approx(3.0)
    assert differ["colder"] == "NEAR"
    site = read_site(place)
    assert site.weather.is_there
    assert site.settings.files.weather == "weather.csv"
    fetched = tomllib.loads((place / "fetched.toml").read_text())["fetched"]
    assert [each["file"] for each in fetched] == [
        "elevation.tif",
        "weather.csv",
        "weather_SIM00000002.csv",
    ]
    assert {each["when"] for each in fetched} == {"2026-11-28T12:00:00Z"}
    assert fetched[1]["credit"].startswith("NOAA")
    assert [each["addresses"] for each in fetched] == [
        [f"{base}/heights.tif"],
        [f"{base}/SIM00000001.csv"],
        [f"{base}/SIM00000002.csv"],
    ]


def test_a_link_out_of_the_folder_is_not_read_for_what_was_fetched(
    tmp_path, walked, archive
):
    base, _server = archive
    place, web = tmp_path / "place", Web(tmp_path / "cache", wait_s=2.0)
    begin(place, walked)
    (tmp_path / "secret").write_text("secret")
    (place / "fetched.toml").symlink_to(tmp_path / "secret")
    with pytest.raises(SiteError, match=r"fetched\.toml is a link"):
        begin(place, elevation=f"{base}/heights.tif", web=web)


def epw():
    """A year of hours in the form of EnergyPlus: 8 lines of header, 35 columns."""
    head = ["LOCATION,Here,-,-,made up,-,46.05,15.26,1.0,300.0", *["X"] * 7]
    hours = pd.date_range("2019-01-01 01:00", periods=8760, freq="h")
    lines = []
    for at in hours:
        day = at - pd.Timedelta(hours=1)
        bright = 300 if 8 <= day.hour < 16 else 0
        numbers = [5.0, 0.0, 80, 95000, 0, 0, 300, bright, bright, bright // 2]
        when = f"{day.year},{day.month},{day.day},{day.hour + 1},0,?"
        lines.append(",".join([when, *map(str, numbers), *["0"] * 19]))
    return "\n".join([*head, *lines]) + "\n"


def test_with_leave_a_typical_year_comes_for_the_cloud(tmp_path, walked, archive):
    base, server = archive
    server.files["/year.epw"] = epw().encode()
    place, web = tmp_path / "place", Web(tmp_path / "cache", wait_s=2.0)
    facts = begin(place, walked, elevation=f"{base}/heights.tif", web=web)
    assert "start_typical_year_is" in kinds(facts)
    site = read_site(place)
    assert site.typical_year.hours["ghi"].max() == 300
    assert "typical_year.epw" in (place / "fetched.toml").read_text()


def test_weather_that_cannot_be_had_does_not_hold_up_a_site(tmp_path, walked, archive):
    base, server = archive
    del server.files["/inventory.txt"]
    web = Web(tmp_path / "cache", wait_s=2.0)
    facts = begin(tmp_path / "place", walked, elevation=f"{base}/heights.tif", web=web)
    assert {"start_source_failed", "start_no_weather"} <= kinds(facts)
    assert read_site(tmp_path / "place").weather.is_there is False


def test_heights_that_cannot_be_had_leave_nothing_half_written(
    tmp_path, walked, archive
):
    base, server = archive
    server.manner = "cut"
    web = Web(tmp_path / "cache", wait_s=2.0)
    with pytest.raises(SiteError, match="could not be downloaded"):
        begin(tmp_path / "place", walked, elevation=f"{base}/heights.tif", web=web)
    assert not (tmp_path / "place").exists()
    assert not list(tmp_path.glob(".place*"))


def test_nothing_is_replaced_without_a_yes(tmp_path, walked, heights):
    place = tmp_path / "place"
    begin(place, walked, heights)
    before = {path.name: path.read_bytes() for path in place.iterdir()}
    with pytest.raises(SiteError, match=r"plots\.geojson.* already"):
        begin(place, walked)
    assert {path.name: path.read_bytes() for path in place.iterdir()} == before
    asked = []
    begin(place, walked, ask=lambda fact: asked.append(fact.kind) or "yes")
    assert "start_ask_replace" in asked


def test_what_was_missing_is_added_and_choices_stay_as_they_are(
    tmp_path, walked, heights
):
    place = tmp_path / "place"
    begin(place, walked)
    choices = (place / "site.toml").read_text() + "\n# mine\n"
    (place / "site.toml").write_text(choices)
    begin(place, heights)
    folder = SiteFolder(tmp_path / "square")
    folder.weather()
    asked = []
    facts = begin(place, folder.path / "weather.csv", ask=asked.append)
    assert [fact.kind for fact in asked] == ["start_ask_station"]
    assert "start_weather_is" in kinds(facts)
    assert (place / "site.toml").read_text() == choices
    assert read_site(place).weather.is_there


def test_a_record_that_does_not_say_where_it_was_kept_is_asked_for_its_place(
    tmp_path, walked, heights
):
    """500 ft are 152.4 m."""
    folder = SiteFolder(tmp_path / "square")
    folder.weather()
    answers = iter(["at the school", "46.1, 15.3, 500 ft"])
    place, record = tmp_path / "place", folder.path / "weather.csv"
    begin(place, walked, heights)
    begin(place, record, ask=lambda _question: next(answers))
    station = read_site(place).settings.station
    assert (station.latitude, station.longitude) == (46.1, 15.3)
    assert station.elevation_m == 152.4


def test_a_place_alone_is_named_by_two_numbers(tmp_path, heights):
    facts = begin(tmp_path / "place", heights, at=(46.0557, 15.2625))
    assert "start_next_outline" in kinds(facts)
    with pytest.raises(SiteError, match="something to make a site from"):
        begin(tmp_path / "other")


def test_a_table_that_is_no_outline_is_named(tmp_path):
    """A slip in the head of a table of corners makes it a weather record."""
    table = tmp_path / "corners.csv"
    table.write_text("plot,longitud e,latitude\nField,15.26,46.05\n")
    with pytest.raises(SiteError, match=r"corners\.csv says no outline"):
        begin(tmp_path / "place", table)


def test_a_place_alone_and_nobody_asked_says_what_could_be_and_writes_nothing(tmp_path):
    facts = begin(tmp_path / "place", at=(46.0557, 15.2625))
    assert {"start_elevation_could", "start_nothing_yet"} == kinds(facts)
    assert not (tmp_path / "place").exists()


def test_it_says_how_many_plots_lie_where(tmp_path):
    """A square of 0.001° and one beside it: their middle is 15.261 east, 46.0505 north."""
    corners = tmp_path / "corners.csv"
    squares = {"Top": 15.26, "Low": 15.261}
    lines = [
        f"{name},{west + east / 1000:.4f},{46.05 + north / 1000:.4f}"
        for name, west in squares.items()
        for east, north in ((0, 0), (1, 0), (1, 1), (0, 1))
    ]
    corners.write_text("plot,lon,lat\n" + "\n".join(lines))
    facts = begin(tmp_path / "place", corners)
    (said,) = (fact for fact in facts if fact.kind == "start_plots")
    assert say(said, "metric") == (
        "2 plots (Top, Low) lie around latitude 46.0505, longitude 15.261"
        " (time zone Europe/Ljubljana)."
    )


def test_commands_that_are_proposed_can_be_typed(tmp_path, walked):
    """A folder with a space is one word to a shell."""
    place = tmp_path / "top field"
    *_, following = say_all(begin(place, walked), "metric")
    assert str(place) in shlex.split(following)
    with pytest.raises(SiteError, match="or make it: fieldmap start") as refused:
        read_site(place)
    assert str(place) in shlex.split(str(refused.value))


def test_the_lines_of_the_first_choices_can_all_be_used(tmp_path, walked):
    begin(tmp_path / "place", walked)
    text = (tmp_path / "place" / "site.toml").read_text()
    lines = [line.removeprefix("# ") for line in text.splitlines()]
    used = [line for line in lines if "=" in line or line.startswith("[")]
    Settings.model_validate(tomllib.loads("\n".join(used)))


def test_a_plan_of_no_folder_says_that_there_is_none_and_makes_none(tmp_path):
    said = CliRunner().invoke(app, ["plan", str(tmp_path / "nowhere")])
    assert said.exit_code == 1
    assert "nowhere does not exist" in said.stderr
    assert len(said.stderr.splitlines()) == 1
    assert not list(tmp_path.iterdir())


def test_a_table_of_corners_in_utf_16_is_known_as_one(tmp_path):
    corners = tmp_path / "corners.csv"
    text = "lon;lat\r\n15,26;46,05\r\n15,261;46,05\r\n15,261;46,051\r\n"
    corners.write_bytes(text.encode("utf-16"))
    begin(tmp_path / "place", corners)
    assert (tmp_path / "place" / "plots.geojson").exists()


def test_a_folder_whose_name_no_site_may_have_asks_for_a_name(tmp_path, walked):
    corners = tmp_path / "corners.csv"
    corners.write_text("lon,lat\n15.26,46.05\n15.261,46.05\n15.261,46.051\n")
    place = tmp_path / "two\nlines"
    with pytest.raises(SiteError, match="say with --name"):
        begin(place, corners)
    assert not place.exists()
    begin(place, corners, name='"Hill" [beds] \\')
    assert name_in(place) == '"Hill" [beds] \\'
    with pytest.raises(SiteError, match="not UTF-8"):
        begin(tmp_path / "bad\udcff", walked)


def name_in(place):
    return tomllib.loads((place / "site.toml").read_text())["name"]


def test_swapped_coordinates_are_caught_by_the_named_place(tmp_path):
    corners = tmp_path / "corners.csv"
    corners.write_text("lat,lon\n15.26,46.05\n15.26,46.051\n15.261,46.051\n")
    with pytest.raises(SiteError, match="look swapped"):
        begin(tmp_path / "place", corners, at=(46.05, 15.26))


def test_two_elevations_are_one_too_many(tmp_path, walked, heights):
    with pytest.raises(SiteError, match="2 elevations"):
        begin(tmp_path / "place", walked, heights, heights)


def test_the_demo_is_written_once_and_is_a_site(tmp_path):
    demo_site.write(tmp_path / "demo")
    assert read_site(tmp_path / "demo").settings.name == "Pennywhin Hill"
    with pytest.raises(SiteError, match="not empty"):
        demo_site.write(tmp_path / "demo")


def test_a_file_of_another_kind_is_no_elevation(tmp_path, walked):
    table = tmp_path / "weather.csv"
    table.write_text("date,tmin_c\n2020-01-01,1\n")
    with pytest.raises(SiteError, match=r"weather\.csv ends in '\.csv', and no elev"):
        begin(tmp_path / "place", walked, elevation=str(table))


def test_areas_that_are_lost_in_their_slivers_are_one_sentence(
    tmp_path, walked, monkeypatch
):
    """As of 150 walks around one plot, cut from each other."""

    def lost(_shape, _size):
        raise GEOSException("TopologyException: unable to assign free hole to a shell")

    monkeypatch.setattr(run.geojson.shapely, "set_precision", lost)
    with pytest.raises(SiteError, match=r"walk\.gpx: the areas cross each other"):
        begin(tmp_path / "place", walked)
    assert not (tmp_path / "place").exists()


def test_a_site_that_is_a_disk_of_its_own_is_added_to(tmp_path, walked, monkeypatch):
    """No file can be renamed from one disk to another (rename(2), EXDEV)."""
    site = tmp_path / "disk"
    site.mkdir()
    rename = Path.replace

    def on_its_disk(self, target):
        if not self.is_relative_to(site):
            raise OSError(errno.EXDEV, os.strerror(errno.EXDEV))
        return rename(self, target)

    monkeypatch.setattr(Path, "replace", on_its_disk)
    begin(site, walked)
    names = {path.name for path in site.iterdir()}
    assert {"plots.geojson", "site.toml", "walk_1.svg"} <= names
    assert not any(name.startswith(".") for name in names)
