"""Several weather stations: the nearest in distance and height is taken, and said."""

import pyproj
import pytest
from made_up import say_all

from fieldmap.errors import SiteError
from fieldmap.model.settings import Station, StationFile
from fieldmap.read import read_site
from fieldmap.read.weather.stations import check_height

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
        one
        for one in say_all(site.remarks)
        if one.startswith("Of 2 weather stations, ")
    ]
    assert said.startswith(
        f"Of 2 weather stations, the plan uses the nearest: {taken} ("
    )
    assert "The second nearest is " in said


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


# ------------------------------------------------------------------ how high it stands
def at(elevation_m):
    return Station(latitude=46.05, longitude=15.25, elevation_m=elevation_m)


@pytest.mark.parametrize(
    ("elevation_m", "there_m", "plots_m", "kind"),
    [
        (311.0, 311.0, 340.0, None),
        # Where it stands the ground is known: 50 m off is still a coarse elevation.
        (361.0, 311.0, 340.0, None),
        (362.0, 311.0, 340.0, "station_off_ground"),
        (200.0, 311.0, 340.0, "station_off_ground"),
        # 1020 ft are 310.9 m, 902 ft 274.9 m.
        (1020.0, 311.0, 340.0, "station_height_in_feet"),
        (902.0, 300.0, 300.0, "station_height_in_feet"),
        # Off the elevation it may stand on a hill: up to 150 m is nothing to say.
        (490.0, None, 340.0, None),
        (491.0, None, 340.0, "station_plots_far_up"),
        (189.0, None, 340.0, "station_plots_far_up"),
        (1115.0, None, 340.0, "station_height_in_feet"),  # 339.9 m
        (1800.0, None, 340.0, "station_plots_far_up"),  # 548.6 m in feet: not near
    ],
)
def test_a_height_far_from_the_ground_is_remarked(elevation_m, there_m, plots_m, kind):
    found = check_height(at(elevation_m), there_m, plots_m)
    assert [fact.kind for fact in found] == ([] if kind is None else [kind])


def test_a_height_in_feet_is_said_with_what_it_does(says):
    # (340 - 1115) m · -5.5 °C/km = +4.3 °C.
    (remark,) = say_all(check_height(at(1115.0), None, 340.0))
    says(remark, "elevation_m = 1115", "340 m", "4.5 °C warmer", "elevation_ft = 1115")
    (remark,) = say_all(check_height(at(700.0), None, 340.0))
    says(remark, "700 m", "340 m", "2 °C warmer")
    assert check_height(None, None, 340.0) == ()


def test_feet_are_a_key_of_their_own(says):
    feet = {"latitude": 46.0, "longitude": 15.0, "elevation_ft": 1000}
    assert Station.model_validate(feet).elevation_m == pytest.approx(304.8)
    other = StationFile.model_validate(feet | {"weather": "ridge.csv"})
    assert other.elevation_m == pytest.approx(304.8)
    for wrong, part in (
        ({"elevation_m": 3.0}, "not both"),
        ({"elevation_ft": "x"}, "x"),
    ):
        with pytest.raises(ValueError, match=part):
            Station.model_validate(feet | wrong)


def test_a_site_whose_station_height_is_in_feet_says_so(site_folder, says):
    site_folder.toml(MAIN.format(latitude=46.05).replace("290.0", "951.4"))
    remarks = say_all(read_site(site_folder.path).remarks)
    assert [line for line in remarks if "elevation_ft = 951.4" in line] != []
