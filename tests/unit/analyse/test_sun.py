"""The sun over a place is worked out once, and is the same when it comes from what is kept."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from fieldmap.analyse.light import sun
from layers import sunlight
from layers.sunlight import Place

PLACE = Place(46.0, 15.3, 300.0, 0.4)
DAYS = [dt.date(2025, 3, 20), dt.date(2025, 6, 21)]


@pytest.fixture(autouse=True)
def own_state(tmp_path, monkeypatch):
    """The user's kept results begin empty."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))


def refuse(*_asked, **_named):
    raise AssertionError("worked out again")


def test_a_kept_path_is_the_path(monkeypatch):
    alone = sunlight.sun_path(DAYS, PLACE, 30.0)
    sun.path(DAYS, PLACE, 30.0)
    monkeypatch.setattr(sunlight, "sun_path", refuse)
    kept = sun.path(DAYS, PLACE, 30.0)
    pd.testing.assert_index_equal(kept.times_utc, alone.times_utc)
    assert kept.step_hours == alone.step_hours == 0.5
    for name in ("altitude_deg", "azimuth_deg", "before_noon", "month", "days"):
        np.testing.assert_array_equal(getattr(kept, name), getattr(alone, name))


@pytest.mark.parametrize(
    ("days", "place", "step_minutes"),
    [
        (DAYS[:1], PLACE, 30.0),
        (DAYS, Place(46.1, 15.3, 300.0, 0.4), 30.0),
        (DAYS, PLACE, 15.0),
    ],
)
def test_another_day_place_or_step_is_worked_out(
    monkeypatch, days, place, step_minutes
):
    sun.path(DAYS, PLACE, 30.0)
    monkeypatch.setattr(sunlight, "sun_path", refuse)
    with pytest.raises(AssertionError, match="worked out again"):
        sun.path(days, place, step_minutes)


def test_a_kept_clear_sky_is_the_clear_sky(monkeypatch):
    path = sunlight.sun_path(DAYS, PLACE, 30.0)
    alone = sunlight.clear_sky(path, PLACE, "hay-davies")
    sun.clear_sky(DAYS, PLACE, 30.0, "hay-davies")
    monkeypatch.setattr(sunlight, "clear_sky", refuse)
    under, kept = sun.clear_sky(DAYS, PLACE, 30.0, "hay-davies")
    np.testing.assert_array_equal(under.altitude_deg, path.altitude_deg)
    for name in ("dni_w_m2", "dhi_w_m2", "circumsolar_w_m2"):
        np.testing.assert_array_equal(getattr(kept, name), getattr(alone, name))
    with pytest.raises(AssertionError, match="worked out again"):
        sun.clear_sky(DAYS, PLACE, 30.0, "isotropic")


@pytest.mark.parametrize(
    ("latitude_deg", "time_zone"), [(46.0, "Europe/Vienna"), (80.0, "UTC")]
)
def test_kept_hours_of_the_sun_are_its_hours(monkeypatch, latitude_deg, time_zone):
    asked = DAYS, latitude_deg, 15.3, time_zone
    alone = sunlight.rise_and_set(*asked)
    sun.rise_and_set(*asked)
    monkeypatch.setattr(sunlight, "rise_and_set", refuse)
    kept = sun.rise_and_set(*asked)
    for name in ("sunrise", "sunset"):
        # At 80° north the midsummer sun does not set, and none of it is a time then.
        assert kept[name].isna().tolist() == alone[name].isna().tolist()
        assert (kept[name].dropna() == alone[name].dropna()).all()
        assert str(kept[name].dt.tz) == time_zone


def test_a_kept_table_is_the_table(monkeypatch):
    asked = PLACE, 8, 2025, "hay-davies"
    alone = sunlight.sun_table(*asked)
    sun.clear_table.__wrapped__(*asked)
    monkeypatch.setattr(sunlight, "tabulate", refuse)
    kept = sun.clear_table.__wrapped__(*asked)
    for name, values in vars(alone).items():
        np.testing.assert_array_equal(getattr(kept, name), values)


def test_tables_of_a_place_share_the_path_of_its_sun(monkeypatch):
    place = Place(45.9, 15.1, 310.0, 0.0)
    alone = [sunlight.sun_table(place, sectors, 2025) for sectors in (4, 6)]
    sun.clear_table(place, 4, 2025, "isotropic")
    monkeypatch.setattr(sunlight, "sun_path", refuse)
    for made, sectors in zip(alone, (4, 6), strict=True):
        table = sun.clear_table(place, sectors, 2025, "isotropic")
        for name, values in vars(made).items():
            np.testing.assert_array_equal(getattr(table, name), values)


def test_tables_of_three_sites_are_kept(monkeypatch):
    path = sunlight.sun_path(DAYS, PLACE, 30.0)
    two_days = path, sunlight.clear_sky(path, PLACE, "isotropic")
    monkeypatch.setattr(sun, "_clear_year", lambda *_asked: two_days)
    asked = [
        (Place(45.0 + at, 15.0, 300.0, 0.0), sectors)
        for at in range(3)
        for sectors in (4, 5, 6)
    ]
    for place, sectors in asked:
        sun.clear_table.__wrapped__(place, sectors, 2025, "isotropic")
    monkeypatch.setattr(sunlight, "tabulate", refuse)
    for place, sectors in asked:
        sun.clear_table.__wrapped__(place, sectors, 2025, "isotropic")
