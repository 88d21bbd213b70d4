"""Learning from thermometers: what is taught, what is refused, and what is written."""

import hashlib
import re
from dataclasses import replace
from types import SimpleNamespace

import made_up
import numpy as np
import pandas as pd
import pytest
from made_up import say_all

from fieldmap.errors import SiteError
from fieldmap.model.observed import FILE, Observed, Range
from fieldmap.model.thermometer_readings import Thermometers
from fieldmap.read.door import input_hashes
from fieldmap.read.observed import read_observed
from fieldmap.read.thermometers import hang, read_thermometers
from fieldmap.review import next_thermometers
from fieldmap.review.thermometers import learn, still_nights, unit_slip_c
from fieldmap.show.files.observed import write_observed
from fieldmap.show.text.review import thermometers as words

HEADER = "place,longitude,latitude,height_m,shield,date,tmin_c\n"
STILL = pd.date_range("2021-04-01", "2021-04-30")
COLDER_C = (-1.8, -1.2, -0.4, 0.4, 1.2)
MIDDLE_C = 2.0


def write(folder, *lines, header=HEADER):
    text = header + "\n".join(lines) + "\n"
    (folder / "thermometers.csv").write_text(text, encoding="utf-8")


def read(folder):
    return read_thermometers(folder, "thermometers.csv")


def problem(folder, *lines, header=HEADER):
    write(folder, *lines, header=header)
    with pytest.raises(SiteError) as refused:
        read(folder)
    assert len(refused.value.problems) == 1, refused.value.problems
    return str(refused.value.problems[0])


@pytest.fixture
def planned(tmp_path):
    """A plan on ground that is 2 °C colder than its middle in the east, 2 °C warmer west.

    Its station has a clear, calm night on each day of April 2021 and on no other.
    """
    ground = made_up.plane()
    site = made_up.site(ground, {"Field": made_up.plot_box(10, 10, 190, 190)})
    days = pd.DataFrame(
        {"tmin_c": 5.0, "tmax_c": 9.0, "wind_m_s": 5.0},
        index=pd.date_range("2020-01-01", "2021-12-31", name="date"),
    )
    days.loc[STILL, "wind_m_s"] = 0.5
    days.loc[STILL, "tmin_c"] = np.arange(30) % 7 - 3.0
    days.loc[STILL, "tmax_c"] = days.loc[STILL, "tmin_c"].shift(-1, fill_value=0) + 15
    days.loc["2021-03-31", "tmax_c"] = 12.0
    weather = replace(site.weather, days=days)
    site = replace(site, folder=tmp_path, weather=weather)
    (tmp_path / "thermometers.csv").write_text("readings")
    colder_c = np.tile((np.arange(200) - 99.5) / 50, (200, 1))
    # The likeliest law has 0.6 °C for the root of a metre; wetness is the same all over.
    depth = ((colder_c + MIDDLE_C) / 0.6) ** 2
    night = made_up.night(ground.with_values(np.stack([depth] * 3)), hours=3.0)
    off_c = np.stack([-colder_c] * 3)
    off_c[0] -= np.clip(colder_c, 0, None)
    off_c[2] += np.clip(-colder_c, 0, None)
    analysis = made_up.with_cold_air(
        made_up.analysis(ground),
        depth_m=ground.with_values(depth),
        offset_c=ground.with_values(off_c),
        reference_c=(MIDDLE_C,) * 9,
        night=night,
    )
    return SimpleNamespace(site=site, analysis=analysis, beds=())


def thermometers(factor, bias_c, colder_c=COLDER_C, nights=30, noise_c=0.2, **facts):
    """Readings at places, with a known factor and a known bias of the middle."""
    rng = np.random.default_rng(1)
    colder = np.array(colder_c)
    station_c = (np.arange(nights) % 7 - 3.0)[:, None]
    low = station_c + bias_c - factor * colder
    low = low + rng.normal(0, noise_c, low.shape)
    at_m = np.column_stack(
        [made_up.WEST + 100 + colder * 50, np.full(len(colder), made_up.NORTH - 100)]
    )
    names = tuple(f"Post {number}" for number in range(len(colder)))
    made = {
        "height_m": np.full(len(colder), 1.5),
        "is_shielded": np.ones(len(colder), bool),
        "minima_c": pd.DataFrame(low, index=STILL[:nights], columns=list(names)),
    }
    return Thermometers("thermometers.csv", names, at_m, **made | facts)


def lesson_of(planned, hung):
    nights = still_nights(hung, planned.site.weather.days)
    return learn(hung, nights, planned.analysis.cold_air, from_station=False)


def sentences(lesson, units="metric"):
    return words.lines("thermometers.csv", lesson, units)


def next_places(planned, hung=None):
    return next_thermometers.places(
        planned.analysis.cold_air.offset_c,
        planned.site.plots,
        planned.beds,
        None if hung is None else hung.at_m,
    )


def test_a_known_factor_and_bias_are_found_within_their_ranges(planned):
    lesson = lesson_of(planned, thermometers(1.5, -2.0))
    factor, bias = (
        lesson.observed("a" * 64).offset_factor,
        lesson.observed("a" * 64).bias_c,
    )
    assert factor.low < 1.5 < factor.high
    assert factor.low > 1.2
    assert factor.high < 1.8
    assert bias.low < -2.0 < bias.high
    assert bias.central == pytest.approx(-2.0, abs=0.1)
    assert lesson.observed("a" * 64).clear_calm_nights == 30
    assert any(" times) as large" in said for said in sentences(lesson))


def test_what_is_said_in_the_us_is_in_feet_and_within_the_limits(planned):
    few = thermometers(
        1.5, -2.0, colder_c=(-0.2, 0.0, 0.1), is_shielded=np.zeros(3, bool)
    )
    places = words.places(next_places(planned, few), "next", "us", from_station=False)
    said = " ".join(sentences(lesson_of(planned, few), "us") + places)
    # 1.25 to 2 m are 4.10 to 6.56 ft; half feet that lie inside.
    assert "4.5 to 6.5 ft above the ground" in said
    assert "by 0.9 °F" in said
    assert "It hangs 4.9 ft above the ground without a shield" in said
    assert not re.search(r"\d m\b|°C", said)


def test_noise_gives_no_factor_but_the_bias_stays(planned):
    hung = thermometers(0.0, -2.0, noise_c=1.0)
    lesson = lesson_of(planned, hung)
    assert lesson.observed("a" * 64).offset_factor is None
    assert any("Chance alone could give such" in said for said in sentences(lesson))
    assert lesson.observed("a" * 64).bias_c.central < -1.0


def test_two_thermometers_tell_how_the_ground_runs_against_the_station(planned):
    hung = thermometers(1.0, -3.0, colder_c=(-0.4, 0.4), nights=5, noise_c=0.0)
    lesson = lesson_of(planned, hung)
    assert lesson.observed("a" * 64).offset_factor is None
    assert lesson.observed("a" * 64).bias_c.central == pytest.approx(-3.0, abs=0.015)
    said = "\n".join(sentences(lesson))
    assert "On 5 still nights, your ground was 3.0 °C colder than the station" in said
    assert "could not be checked yet" in said


def test_one_night_is_reported_and_not_used(planned):
    hung = thermometers(1.0, -3.0, colder_c=(0.0,), nights=1, noise_c=0.0)
    lesson = lesson_of(planned, hung)
    assert lesson.observed("a" * 64) is None
    assert any("3.0 °C colder than" in said for said in sentences(lesson))


def test_a_factor_that_is_hardly_believable_is_held_and_that_is_said(planned):
    lesson = lesson_of(planned, thermometers(3.0, -2.0, noise_c=0.1))
    assert lesson.observed("a" * 64).offset_factor.central == 2.0
    assert any("The next plan uses 2" in said for said in sentences(lesson))


def test_what_was_learnt_before_does_not_count_twice(planned):
    # The plan that the readings are laid beside already took the factor.
    air = planned.analysis.cold_air
    planned.analysis = made_up.with_cold_air(
        planned.analysis, offset_c=air.offset_c.with_values(1.5 * air.offset_c.values)
    )
    again = lesson_of(planned, thermometers(1.5, -2.0)).observed("a" * 64)
    assert again.offset_factor.central == pytest.approx(1.5, abs=0.1)


def test_windy_and_cloudy_nights_teach_nothing(planned):
    hung = thermometers(1.5, -2.0)
    moved = hung.minima_c.set_axis(hung.minima_c.index + pd.Timedelta(days=60))
    lesson = lesson_of(planned, replace(hung, minima_c=moved))
    assert lesson.observed("a" * 64) is None
    assert "the plan learns nothing yet" in sentences(lesson)[0]


def test_thermometers_that_hang_otherwise_are_reported_and_not_used(planned):
    shield = np.array([True, True, True, True, False])
    hung = thermometers(1.5, -2.0, is_shielded=shield)
    spoiled = hung.minima_c.copy()
    spoiled["Post 4"] -= 5.0  # what a bare thermometer may read on a clear night
    lesson = lesson_of(planned, replace(hung, minima_c=spoiled))
    assert (
        lesson.observed("a" * 64).offset_factor.low
        < 1.5
        < lesson.observed("a" * 64).offset_factor.high
    )
    assert lesson.observed("a" * 64).bias_c.central == pytest.approx(-2.0, abs=0.15)
    assert any("without a shield" in said for said in sentences(lesson))


def test_where_no_air_was_let_run_no_factor_is_fitted(planned):
    planned.analysis = made_up.with_cold_air(planned.analysis, night=None)
    lesson = lesson_of(planned, thermometers(1.5, -2.0))
    assert lesson.observed("a" * 64).offset_factor is None
    assert lesson.observed("a" * 64).bias_c is not None


def test_readings_in_fahrenheit_under_a_celsius_name_are_refused(planned, says):
    hung = thermometers(1.0, -2.0)
    wrong = replace(hung, minima_c=hung.minima_c * 1.8 + 32)
    slip_c = unit_slip_c(still_nights(wrong, planned.site.weather.days))
    refused = words.unit_slip("thermometers.csv", slip_c, "metric")
    assert isinstance(refused, SiteError)
    says(str(refused), "thermometers.csv", "tmin_f")
    right = still_nights(hung, planned.site.weather.days)
    assert unit_slip_c(right) is None


def test_the_next_thermometer_hangs_at_the_end_that_none_has_seen(planned):
    # The known ones hang in the west, so the cold in the east is what spreads.
    hung = thermometers(1.0, -2.0, colder_c=(-1.9, -1.8))
    places = next_places(planned, hung)
    assert places[0].east - made_up.WEST > 180
    at_m = np.array([(place.east, place.north) for place in places])
    gaps = np.hypot(*(at_m[:, None] - hung.at_m).T)
    assert gaps.min() >= 30


def test_what_was_learnt_is_read_back_as_written_and_an_old_lesson_goes(tmp_path):
    ends = Range(low=0.05, central=0.1, high=0.2)
    learnt = Observed(
        readings_sha256="a" * 64, clear_calm_nights=12, offset_factor=ends, bias_c=None
    )
    write_observed(learnt, tmp_path, "thermometers.csv")
    assert read_observed(tmp_path) == learnt
    assert [path.name for path in tmp_path.iterdir()] == [FILE]
    write_observed(None, tmp_path, "thermometers.csv")
    assert read_observed(tmp_path) is None


def test_the_hash_of_what_was_learnt_is_that_of_the_readings(planned, tmp_path):
    write(tmp_path, "A,15,45,1.5,yes,2021-04-01,1")
    written = (tmp_path / "thermometers.csv").read_bytes()
    readings = input_hashes(tmp_path, ("thermometers.csv",))["thermometers.csv"]
    assert readings == hashlib.sha256(written).hexdigest()
    lesson = lesson_of(planned, thermometers(1.5, -2.0))
    assert lesson.observed(readings).readings_sha256 == readings


def test_a_lesson_edited_by_hand_is_refused(tmp_path, says):
    text = f'readings_sha256 = "{"a" * 64}"\nclear_calm_nights = 12\n'
    for more, part in (
        ("[bias_c]\nlow = 1.0\ncentral = 0.0\nhigh = 2.0\n", "must rise"),
        ("[offset_factor]\nlow = -0.1\ncentral = 0.0\nhigh = 0.2\n", "more than 0"),
        ("colour = 3\n", "colour"),
    ):
        (tmp_path / FILE).write_text(text + more)
        with pytest.raises(SiteError) as refused:
            read_observed(tmp_path)
        says(str(refused.value), FILE, part, "fieldmap observe")


def test_places_dates_and_fahrenheit_are_read(tmp_path):
    write(
        tmp_path,
        "Low Post,15.0,45.0,1.5,yes,2021-04-02,23",
        "low post,,,,,2021-04-01,32",
        "Bed A,,,1.5,Yes,2021-04-01,",
        header=HEADER.replace("tmin_c", "tmin_f"),
    )
    site = made_up.site(made_up.plane(), {"F": made_up.plot_box(10, 10, 90, 90)})
    bed = made_up.plot_box(20, 20, 40, 60)
    where = site.crs, site.longitude, site.latitude
    hung = hang(read(tmp_path), {"bed A": bed}, ["bed A"], *where)
    assert hung.names == ("Low Post", "Bed A")
    assert hung.minima_c["Low Post"].tolist() == pytest.approx([0.0, -5.0])
    assert hung.at_m[1].tolist() == [bed.centroid.x, bed.centroid.y]
    # 15° E is the central meridian of UTM zone 33: exactly 500 km east.
    assert hung.at_m[0, 0] == pytest.approx(500000.0, abs=0.01)
    assert hung.in_screen.all()


def test_no_file_is_no_mistake(tmp_path):
    assert read(tmp_path) is None


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("A,15,45,1.5,yes,2021-04-31,1", ["line 2", "'2021-04-31'", "2025-04-30"]),
        ("A,15,45,1.5,maybe,2021-04-01,1", ["line 2", "'maybe'", "yes"]),
        ("A,15,45,1.5,yes,2021-04-01,1;5", ["line 2", "'1;5'", "decimal point"]),
        ("A,15,45,1.5,yes,2021-04-01,99", ["line 2", "'99'", "-90 to 45"]),
        ("A,15,45,150,yes,2021-04-01,1", ["line 2", "height_m '150'", "0 to 20"]),
        ("A,15,95,1.5,yes,2021-04-01,1", ["line 2", "latitude '95'", "-90 to 90"]),
        (",15,45,1.5,yes,2021-04-01,1", ["line 2", "place is empty"]),
        ("A,15,45,,yes,2021-04-01,1", ["'A'", "line 2", "height_m"]),
        ("A,15,45,1.5,,2021-04-01,1", ["'A'", "line 2", "shield"]),
        ("A,15,,1.5,yes,2021-04-01,1", ["'A'", "both longitude and latitude"]),
        ("A,15,45,1.5,yes,2021-04-01", ["line 2", "6 fields", "7"]),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_bad_line_is_refused_with_its_value_and_what_is_right(
    tmp_path, says, line, parts
):
    says(problem(tmp_path, line), "thermometers.csv", *parts)


def test_two_lines_that_differ_or_stand_twice_are_refused(tmp_path, says):
    first = "A,15,45,1.5,yes,2021-04-01,1"
    says(
        problem(tmp_path, first, "a,,,2.0,,2021-04-02,1"),
        *("line 3", "height_m", "line 2", "new name"),
    )
    says(problem(tmp_path, first, first), "line 3", "second line", "line 2")


def test_a_header_that_cannot_be_used_is_refused(tmp_path, says):
    line = "A,1.5,yes,2021-04-01,1"
    no_unit = "place,height_m,shield,date,tmin\n"
    says(problem(tmp_path, line, header=no_unit), "'tmin'", "tmin_c")
    half = "place,longitude,height_m,shield,date,tmin_c\n"
    says(problem(tmp_path, "A,15,1.5,yes,2021-04-01,1", header=half), "together")
    bare = "place,height_m,date,tmin_c\n"
    says(problem(tmp_path, "A,1.5,2021-04-01,1", header=bare), "no column shield")
    says(problem(tmp_path), "has no reading", HEADER.strip())


def test_a_place_that_is_no_bed_or_far_away_is_refused(tmp_path, says):
    site = made_up.site(made_up.plane(), {"F": made_up.plot_box(10, 10, 90, 90)})
    write(
        tmp_path,
        "C33,,,1.5,yes,2021-04-01,1",
        "B,45,15,1.5,yes,2021-04-01,1",
        "c4,,,1.5,yes,2021-04-01,1",
    )
    with pytest.raises(SiteError) as refused:
        hang(
            read(tmp_path),
            {"C3": made_up.plot_box(1, 1, 9, 9)},
            ["C3", "C4"],
            site.crs,
            site.longitude,
            site.latitude,
        )
    no_bed, far, planned = map(str, refused.value.problems)
    says(planned, "line 4", "'c4'", "fieldmap keep", "longitude")
    says(no_bed, "line 2", "'C33'", "did you mean 'C3'?", "longitude")
    says(far, "line 3", "'B'", "km from the plots")


def test_readings_that_came_after_the_lesson_are_reported_when_the_site_is_read(
    site_folder,
):
    learnt = Observed(
        readings_sha256="0" * 64,
        clear_calm_nights=12,
        offset_factor=Range(low=0.1, central=0.2, high=0.3),
    )
    write_observed(learnt, site_folder.path, "thermometers.csv")
    read_again = site_folder.read()
    assert read_again.observed == learnt
    assert "observed.toml" in read_again.input_hashes
    assert any(
        "Run `fieldmap observe` again" in text for text in say_all(read_again.remarks)
    )
