"""Nearest stations of the archive, by lists in its own form."""

import numpy as np
import pandas as pd
import pytest
from made_up_archive import inventory, station

from fieldmap.errors import SiteError
from fieldmap.model.site import WeatherRecord
from fieldmap.read.start.weather.archive import differ_by_c, nearest

HERE = (-74.25, 44.05, 300.0)


def lists(*stations):
    """Both lists; of each station its line and its years of lows and of highs."""
    lines, known = [], []
    for line, lows, highs in stations:
        lines.append(line)
        for element, span in (("PRCP", (1900, 2026)), ("TMIN", lows), ("TMAX", highs)):
            if span:
                known.append(inventory(line[:11], element, *span))
    return "\n".join(lines), "\n".join(known)


LONG = (1980, 2026)


def names(*stations):
    found = nearest(*lists(*stations), HERE, 2026)
    return [each.name for each in found]


def test_ten_kilometres_count_like_a_hundred_metres_of_height():
    """0.09° of latitude are 10.0 km: 20 km level is 2, 10 km and 150 m lower is 2.5."""
    level = station("USC00300001", 44.05 + 0.18, -74.25, 300.0, "LEVEL")
    lower = station("USC00300002", 44.05 + 0.09, -74.25, 150.0, "LOWER")
    assert names((lower, LONG, LONG), (level, LONG, LONG)) == ["LEVEL", "LOWER"]
    lower = station("USC00300002", 44.05 + 0.09, -74.25, 250.0, "LOWER")  # 1.5
    assert names((lower, LONG, LONG), (level, LONG, LONG)) == ["LOWER", "LEVEL"]


def test_short_ended_and_half_records_are_left_out():
    def at(number, name):
        return station(f"USC0030000{number}", 44.05, -74.2 - number / 100, 300.0, name)

    assert names(
        (at(1, "RAIN ALONE"), None, None),
        (at(2, "LOWS ALONE"), LONG, None),
        (at(3, "ENDED"), (1950, 2020), (1950, 2020)),
        (at(4, "NINE YEARS"), (2018, 2026), (2018, 2026)),
        (at(5, "TEN YEARS"), (2017, 2026), (2010, 2026)),
        (at(6, "NO HEIGHT").replace(" 300.0", "-999.9"), LONG, LONG),
    ) == ["TEN YEARS"]


def test_none_near_enough_is_said():
    far = station("USC00300001", 46.5, -74.25, 300.0, "FAR")  # 272 km
    with pytest.raises(SiteError, match="no station of the archive within 150 km"):
        names((far, LONG, LONG))


def test_a_list_of_another_form_is_said():
    with pytest.raises(
        SiteError, match=r"ghcnd-stations\.txt has a form that fieldmap does not know"
    ):
        nearest("<html>" + "x" * 60, "", HERE, 2026)


def record(tmin_c, days=800):
    index = pd.date_range("2020-01-01", periods=days, name="date")
    return WeatherRecord(pd.DataFrame({"tmin_c": tmin_c, "tmax_c": 20.0}, index))


def test_nights_are_compared_with_the_difference_of_heights_taken_off():
    """200 m lower is 1.3 °C warmer in the standard atmosphere: 5.0 - (2.0 + 1.3) = 1.7."""
    assert differ_by_c((record(5.0), 100.0), (record(2.0), 300.0)) == pytest.approx(1.7)
    assert differ_by_c((record(2.0), 300.0), (record(5.0), 100.0)) == pytest.approx(
        -1.7
    )
    assert differ_by_c((record(5.0, 364), 0.0), (record(5.0), 0.0)) is None
    assert differ_by_c((record(np.nan), 0.0), (record(5.0), 0.0)) is None


def test_a_station_whose_identifier_would_lead_out_of_the_folder_is_refused():
    line = station("../../../x1", 44.05, -74.25, 300.0, "HOSTILE")
    with pytest.raises(SiteError, match="a form that fieldmap does not know"):
        names((line, LONG, LONG))
