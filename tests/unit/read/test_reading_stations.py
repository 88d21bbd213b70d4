"""Several weather stations: the nearest in distance and height is taken, and said."""

import pyproj
import pytest
from made_up import say_all

from fieldmap.errors import SiteError
from fieldmap.read import read_site

OTHER = """
[[other_stations]]
weather = "ridge.csv"
"""
RIDGE = OTHER + "latitude = 46.05\nlongitude = 15.25\nelevation_m = {height}\n"
MAIN = """name = "Hill Farm"
[station]
latitude = {latitude}
longitude = 15.26
elevation_m = 290.0
"""


def with_ridge(site_folder, text):
    site_folder.toml(text)
    record = (site_folder.path / "weather.csv").read_bytes()
    (site_folder.path / "ridge.csv").write_bytes(record)
    return site_folder


@pytest.mark.parametrize(
    ("latitude", "height", "taken"),
    [
        (46.05, 290.0, "weather.csv"),
        # 0.3 degrees of latitude are 33 km, as much as 330 m of height.
        (46.35, 590.0, "ridge.csv"),
        (46.35, 690.0, "weather.csv"),
    ],
    ids=[
        "both near, the first by name breaks no tie",
        "far beats high",
        "high beats far",
    ],
)
def test_the_nearest_in_distance_and_height_is_taken(
    site_folder, latitude, height, taken
):
    text = MAIN.format(latitude=latitude) + RIDGE.format(height=height)
    site = with_ridge(site_folder.plain(), text).read()
    _, _, metres = pyproj.Geod(ellps="WGS84").inv(
        site.longitude, site.latitude, 15.26, latitude
    )
    middle = site.plots.union_all().centroid
    ground_m = float(site.elevation.sample([middle.x], [middle.y])[0])
    _, _, to_ridge = pyproj.Geod(ellps="WGS84").inv(
        site.longitude, site.latitude, 15.25, 46.05
    )
    far = {
        "weather.csv": metres / 10_000 + abs(290.0 - ground_m) / 100,
        "ridge.csv": to_ridge / 10_000 + abs(height - ground_m) / 100,
    }
    assert min(far, key=far.get) == taken
    assert site.settings.files.weather == taken
    assert site.settings.station.elevation_m == (
        290.0 if taken == "weather.csv" else height
    )
    (said,) = [
        one for one in say_all(site.remarks) if one.startswith("Of 2 weather stations")
    ]
    assert said.startswith(f"Of 2 weather stations {taken} (")
    assert "The next is " in said


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            'name = "x"\n' + OTHER,
            r"where the weather of 'weather\.csv' was kept is not",
        ),
        (
            MAIN.format(latitude=46.05) + OTHER + "latitude = 46.0\n",
            r"give latitude, longitude and elevation_m together",
        ),
        (
            MAIN.format(latitude=46.05) + OTHER.replace("ridge", "weather"),
            r"two weather stations have the same file",
        ),
        (
            MAIN.format(latitude=46.05) + OTHER.replace("ridge", "moor"),
            r"moor\.csv",
        ),
    ],
    ids=["no place", "half a place", "one file twice", "no file"],
)
def test_what_cannot_be_compared_is_refused_in_one_sentence(
    site_folder, text, sentence
):
    folder = with_ridge(site_folder.plain(), text)
    with pytest.raises(SiteError, match=sentence):
        read_site(folder.path)
