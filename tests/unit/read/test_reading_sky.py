"""A measured skyline and a typical year, read or refused in one sentence.

The typical years are those of Greensboro, Sand Point and Miami that pvlib carries.
"""

import csv
import itertools
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pvlib
import pytest
from made_up import say_all

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.sky import read_skyline, read_typical_year

PVLIB_DATA = Path(pvlib.__file__).parent / "data"


@cache
def typical_year(name):
    """One that pvlib carries, read once for all."""
    return read_typical_year(SiteFile(PVLIB_DATA / name, name))


def skyline(tmp_path, text):
    path = tmp_path / "skyline.csv"
    path.write_text(text)
    return read_skyline(SiteFile(path, path.name))


def test_a_skyline_is_sorted_by_azimuth(tmp_path):
    read = skyline(tmp_path, "azimuth_deg,elevation_deg\n270,5\n0,2\n90,10.5\n180,0\n")
    assert read.azimuth_deg.tolist() == [0, 90, 180, 270]
    assert read.elevation_deg.tolist() == [2, 10.5, 0, 5]


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (
            "azimuth,elevation\n0,1\n",
            ("azimuth,elevation", "azimuth_deg,elevation_deg"),
        ),
        (
            "azimuth_deg,elevation_deg\n0,1\n90,95\n180,1\n270,1\n",
            ("line 3", "95", "under 90"),
        ),
        (
            "azimuth_deg,elevation_deg\n0,1\n90,x\n180,1\n270,1\n",
            ("line 3", "'x'"),
        ),
        (
            "azimuth_deg,elevation_deg\n0,1\n90,2\n90,3\n270,1\n",
            ("3 different azimuths on 4 lines",),
        ),
        ("", ("skyline.csv",)),
    ],
    ids=["names", "too high", "no number", "twice", "empty"],
)
def test_a_bad_skyline_is_refused_in_one_sentence(tmp_path, text, parts):
    with pytest.raises(SiteError) as refused:
        skyline(tmp_path, text)
    (sentence,) = map(str, refused.value.problems)
    for part in ("skyline.csv", *parts):
        assert part in sentence


@pytest.mark.parametrize(
    ("name", "latitude", "longitude", "elevation_m"),
    [
        ("723170TYA.CSV", 36.10, -79.95, 273),
        ("703165TY.csv", 55.317, -160.517, 7),
        ("12839.tm2", 25.8, -80.27, 2),
    ],
)
def test_typical_years_of_pvlib_are_read(name, latitude, longitude, elevation_m):
    year = typical_year(name)
    assert year.latitude == pytest.approx(latitude, abs=0.01)
    assert year.longitude == pytest.approx(longitude, abs=0.01)
    assert year.elevation_m == pytest.approx(elevation_m, abs=1)
    assert len(year.hours) == 8760
    # Light is highest about noon by the clock of the place.
    by_hour = year.hours["ghi"].groupby(year.hours.index.hour).mean()
    assert 10 <= by_hour.idxmax() <= 13
    assert year.hours.index.tz is not None
    assert np.isfinite(year.hours.to_numpy()).all()


def test_a_year_of_an_unknown_kind_is_refused(tmp_path):
    (tmp_path / "year.txt").write_text("x")
    with pytest.raises(SiteError, match=r"year\.txt.*EPW"):
        read_typical_year(SiteFile(tmp_path / "year.txt", "year.txt"))


def test_a_cut_year_is_refused(tmp_path):
    lines = (PVLIB_DATA / "723170TYA.CSV").read_text().splitlines()
    (tmp_path / "year.csv").write_text("\n".join(lines[:1000]) + "\n")
    with pytest.raises(SiteError, match=r"998 hours"):
        read_typical_year(SiteFile(tmp_path / "year.csv", "year.csv"))


def test_a_year_that_is_none_is_refused(tmp_path):
    shutil.copy(__file__, tmp_path / "year.epw")
    with pytest.raises(SiteError, match=r"year\.epw cannot be read"):
        read_typical_year(SiteFile(tmp_path / "year.epw", "year.epw"))


def test_a_named_file_that_is_missing_is_refused(site_folder, says):
    site_folder.toml('name = "x"\n[files]\nskyline = "sky.csv"\n')
    says(site_folder.problem(), "sky.csv", "missing")


def test_means_must_come_together_and_make_sense(site_folder, says):
    numbers = ", ".join(["10.0"] * 12)
    site_folder.toml(f'name = "x"\n[sun]\nglobal_mj_m2_day = [{numbers}]\n')
    says(site_folder.problem(), "diffuse_mj_m2_day", "together")
    more = ", ".join(["12.0"] * 12)
    site_folder.toml(
        f'name = "x"\n[sun]\nglobal_mj_m2_day = [{numbers}]\n'
        f"diffuse_mj_m2_day = [{more}]\n"
    )
    says(site_folder.problem(), "12", "more than")


def test_a_wider_elevation_must_reach_farther(site_folder, says):
    site_folder.toml('name = "x"\n[files]\nwide_elevation = "elevation.tif"\n')
    says(site_folder.problem(), "elevation.tif", "does not reach farther")


def test_everything_named_is_read(site_folder):
    path = site_folder.path
    (path / "skyline.csv").write_text(
        "azimuth_deg,elevation_deg\n0,2\n90,10\n180,0\n270,5\n"
    )
    shutil.copy(PVLIB_DATA / "723170TYA.CSV", path / "year.csv")
    site_folder.toml(
        'name = "x"\n[files]\nskyline = "skyline.csv"\ntypical_year = "year.csv"\n'
        "[sun]\nday = 2026-03-20\n"
    )
    site = site_folder.read()
    assert site.skyline.elevation_deg.max() == 10
    assert len(site.typical_year.hours) == 8760
    assert {"skyline.csv", "year.csv"} <= set(site.input_hashes)
    # Greensboro is far from the made-up hill: that is said.
    assert any("year.csv comes from" in remark for remark in say_all(site.remarks))


@pytest.mark.parametrize("name", ["723170TYA.CSV", "12839.tm2"])
def test_light_stands_at_the_middle_of_its_hour(name):
    # What reaches level ground is sky light and the beam times the sine of the sun's
    # altitude; half an hour off, the two sides of the day no longer agree.
    year = typical_year(name)
    hours = year.hours

    def agreement(minutes):
        later = hours.index + np.timedelta64(minutes, "m")
        sun = pvlib.solarposition.get_solarposition(
            later, year.latitude, year.longitude
        )
        up = np.sin(np.radians(sun["apparent_elevation"].clip(lower=0)))
        beam = hours["dni"].to_numpy() * up.to_numpy()
        return np.corrcoef(hours["ghi"] - hours["dhi"], beam)[0, 1]

    assert agreement(0) > 0.999
    assert agreement(0) > max(agreement(-30), agreement(30))
    assert not ((hours.index.month == 2) & (hours.index.day == 29)).any()
    assert len(hours) == 8760


def test_the_air_of_a_typical_year_is_that_of_its_file():
    """Columns of the files themselves: "Dry-bulb (C)" of TMY3; 68 to 71 of TM2, in tenths."""
    with (PVLIB_DATA / "723170TYA.CSV").open() as file:
        lines = list(csv.DictReader(itertools.islice(file, 1, None)))
    written = [float(line["Dry-bulb (C)"]) for line in lines]
    assert typical_year("723170TYA.CSV").air_c.tolist() == written
    lines = (PVLIB_DATA / "12839.tm2").read_text().splitlines()[1:]
    written = [int(line[67:71]) / 10 for line in lines]
    found = typical_year("12839.tm2")
    assert found.air_c.tolist() == pytest.approx(written)
    assert found.air_c.index.equals(found.hours.index)
