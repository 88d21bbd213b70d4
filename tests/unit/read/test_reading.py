"""A whole folder: read as one site, described, or refused with every problem."""

import hashlib
import re
import time
from pathlib import Path

import numpy as np
import pytest
from made_up import say_all

from fieldmap.analyse.cold_air.ground import flow_ground
from fieldmap.errors import SiteError
from fieldmap.read import read_site
from fieldmap.show.text.quantities import direction
from fieldmap.show.text.sentence import say
from fieldmap.show.text.site.site_check import cold_air_worth, describe, skyline_worth

DEMO = Path(__file__).parents[3] / "demo_site"


def station(latitude, longitude):
    return (
        f'name = "a"\n[station]\nlatitude = {latitude}\nlongitude = {longitude}\n'
        "elevation_m = 200\n"
    )


def test_a_plain_folder_is_read_without_a_default_place(site_folder):
    site = site_folder.read()
    assert site.settings.name == "Hill Farm"
    # The plot's middle, 300 m east and 300 m north of the corner, by the grid of UTM.
    assert site.latitude == pytest.approx(46.0560, abs=1e-4)
    assert site.longitude == pytest.approx(15.2624, abs=1e-4)
    assert site.time_zone == "Europe/Ljubljana"
    assert not site.season.southern
    assert site.convergence_deg > 0  # east of 15°E


def test_every_file_is_hashed_as_sha256(site_folder):
    site = site_folder.read()
    for name in ("site.toml", "plots.geojson", "elevation.tif", "weather.csv"):
        content = (site_folder.path / name).read_bytes()
        assert site.input_hashes[name] == hashlib.sha256(content).hexdigest()
    assert "surroundings.geojson" not in site.input_hashes


def test_files_may_lie_in_folders_of_their_own(site_folder):
    (site_folder.path / "maps").mkdir()
    for name in ("plots.geojson", "elevation.tif"):
        (site_folder.path / name).rename(site_folder.path / "maps" / name)
    site_folder.toml(
        'name = "a"\n[files]\nplots = "maps/plots.geojson"\n'
        'elevation = "maps/elevation.tif"\n'
    )
    assert "maps/plots.geojson" in site_folder.read().input_hashes


@pytest.mark.parametrize("name", ["plots.geojson", "elevation.tif"])
def test_a_missing_file_is_named_with_what_to_do(site_folder, says, name):
    (site_folder.path / name).unlink()
    says(site_folder.problem(), f"{name} is missing", "[files]", "site.toml")


def test_a_missing_file_with_a_near_name_is_pointed_at(site_folder, says):
    path = site_folder.path / "weather.csv"
    path.rename(path.with_name("wether.csv"))
    says(site_folder.problem(), "weather.csv is missing", "did you mean 'wether.csv'")


def test_a_folder_in_place_of_a_file_is_refused(site_folder, says):
    (site_folder.path / "weather.csv").unlink()
    (site_folder.path / "weather.csv").mkdir()
    says(site_folder.problem(), "weather.csv is a folder")


def test_a_site_that_is_not_there_is_refused(tmp_path, says):
    with pytest.raises(SiteError) as refused:
        read_site(tmp_path / "nowhere")
    says(str(refused.value), "nowhere does not exist", "site.toml")
    (tmp_path / "file").touch()
    with pytest.raises(SiteError) as refused:
        read_site(tmp_path / "file")
    says(str(refused.value), "is a file", "site.toml")


def test_an_empty_folder_lacks_three_files(tmp_path):
    with pytest.raises(SiteError) as refused:
        read_site(tmp_path)
    missing = [sentence.split()[0] for sentence in map(str, refused.value.problems)]
    assert missing == ["site.toml", "plots.geojson", "elevation.tif"]


def test_problems_of_all_files_are_reported_at_once(site_folder, says):
    site_folder.toml('name = "a"\n[beds]\nheadlands = 2\n')
    site_folder.plots(soil=["lome"])
    site_folder.surroundings(("hegde", site_folder.box(9, 9, 19, 19), {}))
    site_folder.elevation(unit="fathom")
    site_folder.weather(text="date,tmin,tmax_c\n2020-01-01,1,2\n")
    problems = site_folder.problems()
    assert len(problems) == 5
    for problem, part in zip(
        problems, ("headland_m", "loam", "hedge", "fathom", "tmin_c"), strict=True
    ):
        says(problem, part)


def test_a_wrong_choice_does_not_hide_the_height_unit_beside_it(site_folder):
    site_folder.elevation(unit=None)
    site_folder.toml('name = "a"\n[ground]\nheight_unit = "m"\nsmooth = 3\n')
    assert "smoothing_m" in site_folder.problem()


# The weather station


def test_a_station_nearby_is_taken_without_a_word(site_folder):
    site_folder.toml(station(46.2, 15.0))
    assert not [
        line for line in say_all(site_folder.read().remarks) if "station" in line
    ]


def test_no_station_is_remarked(site_folder):
    assert any("no [station]" in line for line in say_all(site_folder.read().remarks))


def test_a_station_far_away_is_remarked_with_the_distance(site_folder, says):
    # Four degrees of latitude: 4 x 111.2 km.
    site_folder.toml(station(50.056, 15.262))
    (remark,) = (
        line for line in say_all(site_folder.read().remarks) if "[station]" in line
    )
    says(
        remark, "site.toml", "latitude 50.056", "445 km", "the weather may be different"
    )


def test_a_station_with_latitude_and_longitude_swapped_is_refused(site_folder, says):
    site_folder.toml(station(15.0, 46.2))
    says(site_folder.problem(), "site.toml", "latitude 15", "longitude 46.2", "swapped")


def test_winds_that_are_not_given_are_reported_as_left_out(site_folder, says):
    site_folder.toml('name = "a"\n[wind]\nstorm_from_deg = 315\n')
    (remark,) = (
        line for line in say_all(site_folder.read().remarks) if "[wind]" in line
    )
    says(remark, "prevailing_from_deg", "summer_breeze_from_deg", "leaves out")
    assert "storm_from_deg" not in remark


# What is said of a site


def described(site):
    return "\n".join(describe(site))


def test_a_site_is_described_by_what_was_found(site_folder, says):
    site_folder.plots(soil=["clay"], wet_in_march=[True])
    site_folder.surroundings(
        ("building", site_folder.box(9, 9, 19, 19), {"height_m": 5.0})
    )
    table = site_folder.days()
    table.loc[3, ["tmin_c", "tmax_c"]] = [9.0, 3.0]
    table.loc[4, "tmin_c"] = np.nan
    site_folder.weather(table)
    says(
        described(site_folder.read()),
        "Hill Farm",
        "latitude 46.0560, longitude 15.2624",
        "Europe/Ljubljana",
        "UTM zone 33N",
        "Plot 1: 6,000 m²; ground: not given, clay, wet in March",
        "1 building",
        "60 by 60 cells of 10 m (0.60 by 0.60 km), all known",
        "heights 201.5 to 378.5 m",  # the plane at its corner cells
        "2015-01-01 to 2016-12-31 (2.0 years)",
        "2 lows and 1 highs of 731 days",
        "Readings left out, because they cannot be right: 1",
        "2015-01-04",
        "Wind: not given, so it is left out",
    )


def test_areas_are_shown_in_acres_too_where_the_grower_thinks_in_them(
    site_folder, says
):
    site_folder.toml('name = "a"\nunits = "us"\n')
    # 6000 m² / 4046.856 m² is 1.48 acres.
    says(described(site_folder.read()), "6,000 m² (1.48 acres)")


def test_the_margin_is_shown_with_what_it_is_good_for(site_folder, says):
    text = described(site_folder.read())
    found = re.search(r"known for (\d+) m around the plots, up to where it ends", text)
    # From the plot's western side, 250 m east of the corner, to within a cell.
    assert found is not None
    assert float(found[1]) == pytest.approx(250, abs=10)
    says(text, "Skyline: the plan knows what stands near, and the slope itself")


def test_a_hole_that_cuts_the_margin_is_reported(site_folder, says):
    heights = site_folder.plane()
    # 6 by 6 cells, too many to fill, from 340 m north on; the plot ends at 330 m.
    heights[20:26, 28:34] = np.nan
    site_folder.elevation(heights)
    text = described(site_folder.read())
    says(text, "up to where a height is missing", "knows only near hedges and barns")
    says(text, "99.0% of them known")  # 3564 of 3600


def test_a_skyline_is_worth_more_the_farther_the_ground_is_known(says):
    # atan(50 / 50) = 45°, atan(50 / 500) = 5.7°, atan(50 / 2000) = 1.4°.
    says(skyline_worth(50.0), "knows only near hedges and barns", "lowest 45°")
    says(skyline_worth(500.0), "the slope itself", "lowest 6°")
    says(skyline_worth(2000.0), "and the hills", "lowest 1°")


def test_cold_air_needs_the_slopes_above_the_plots(says):
    says(cold_air_worth(50.0, None), "too little ground")
    says(cold_air_worth(400.0, "air runs off"), "air runs off")
    says(cold_air_worth(400.0, None), "to its top", "farther down the valley")
    assert "may not be" not in cold_air_worth(2000.0, None)


def beyond(site):
    return flow_ground(site, site.elevation).cut


def test_a_slope_that_goes_on_is_reported_by_its_directions(site_folder):
    # The plane rises 1 in 10 to the east and 2 in 10 to the north, so water comes from
    # the north-north-east: atan(1 / 2) = 27° from north.
    found = beyond(site_folder.read())
    assert set(found["bearings_deg"]) <= {0.0, 45.0}
    assert found["distance_m"] % 100 == 0
    assert direction(found["bearings_deg"][0]) in say(found, "metric")


def test_a_ridge_all_round_within_the_elevation_is_recognised(site_folder):
    # A bowl whose rim, 200 m from the middle, falls away to the outside.
    north_m, east_m = (np.indices((60, 60)) + 0.5) * 10 - 300
    rim = 300 - 0.2 * np.abs(np.hypot(north_m, east_m) - 200)
    site_folder.elevation(rim)
    assert beyond(site_folder.read()) is None


# The demonstration site


def test_the_demo_site_is_read_and_described_in_two_seconds():
    begin = time.process_time()
    site = read_site(DEMO)
    lines = describe(site)
    assert time.process_time() - begin < 2.0
    assert len(site.plots) >= 1
    assert site.margin_m > 0
    assert lines[0] == site.settings.name


def test_each_remedy_names_the_folder_as_it_is_typed(site_folder):
    (site_folder.path / "weather.csv").unlink()
    lines = "\n".join(describe(site_folder.read(), "'my place'"))
    assert "fieldmap start 'my place' RECORD.csv" in lines
    assert "fieldmap open 'my place'" in lines
    assert "SITE" not in lines
