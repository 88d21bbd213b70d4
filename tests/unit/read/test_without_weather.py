"""A site without a weather record: read, checked, and its open questions said."""

from datetime import date

import numpy as np
import pytest
from made_up import plane, plot_box, site
from site_folder import SiteFolder

from fieldmap.analyse import climatology
from fieldmap.analyse.cold_air import flow
from fieldmap.decide.calendar.in_tunnels import ALL_YEAR, door_months
from fieldmap.decide.weekly_jobs import NO_DAY, first_day
from fieldmap.errors import SiteError
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.site import WeatherRecord
from fieldmap.show.text.site import open_questions
from fieldmap.show.text.site.site_check import describe

NORTH = SeasonYear(southern=False)


@pytest.fixture
def bare(tmp_path):
    """Outline and elevation alone."""
    folder = SiteFolder(tmp_path)
    folder.toml()
    folder.plots()
    folder.elevation()
    return folder


def test_outline_and_elevation_alone_are_a_site(bare):
    read = bare.read()
    assert not read.weather.is_there
    assert "weather.csv" not in read.input_hashes


def test_what_is_missing_is_said_with_what_it_costs(bare):
    lines = describe(bare.read())
    assert "Weather: none" in lines
    opened = [line for line in lines if line.startswith("Still open: ")]
    assert "dates" in opened[0]
    assert "fieldmap start SITE RECORD.csv" in opened[0]
    assert "fieldmap start SITE --fetch" in opened[0]
    assert any("hedge" in line for line in opened)
    assert any("does not know the clouds" in line for line in opened)
    assert not any(line.startswith("Note: There is no weather") for line in lines)


def test_a_record_that_is_named_must_be_there(bare):
    bare.toml('name = "a"\n[files]\nweather = "valley.csv"\n')
    with pytest.raises(SiteError, match=r"valley\.csv is missing"):
        bare.read()


def test_of_several_stations_none_may_be_missing(bare):
    bare.toml('name = "a"\n[[other_stations]]\nweather = "ridge.csv"\n')
    with pytest.raises(SiteError, match=r"weather\.csv is missing"):
        bare.read()


def test_no_record_gives_no_dates_and_says_so():
    found = climatology.read_record(WeatherRecord.none(), "weather.csv", (), NORTH)
    assert found == Fact("no_weather", file="weather.csv")


def test_without_a_record_the_night_is_that_of_the_usual_last_freeze():
    """As with a record in which nothing freezes, so the night has the same hours."""
    made = site(plane(), {"A": plot_box(40, 40, 60, 60)})
    warm = made.weather.days.assign(tmin_c=5.0)
    none = WeatherRecord.none().days
    assert flow.night_h(none, 45.0, 15.0) == flow.night_h(warm, 45.0, 15.0)


def test_without_a_record_the_door_is_watched_all_year():
    assert door_months(WeatherRecord.none().days["tmax_c"]) == [ALL_YEAR]


def test_without_a_record_only_the_grower_says_when_the_year_begins():
    assert first_day(date(2027, 3, 1), None, NORTH) == date(2027, 3, 1)
    assert first_day(None, None, NORTH) == NO_DAY


def test_each_fact_is_either_an_open_question_or_another_remark():
    facts = [Fact("few_years"), Fact("no_weather"), Fact("no_surroundings")]
    still_open, others = open_questions.split(facts)
    assert [fact.kind for fact in still_open] == ["no_weather", "no_surroundings"]
    assert [fact.kind for fact in others] == ["few_years"]


def test_no_night_of_no_record_is_of_any_kind():
    assert np.size(climatology.kinds(WeatherRecord.none().days)) == 0
