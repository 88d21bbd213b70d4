"""The end of a season on records and light whose answers are worked by hand."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up import analysis, beds_in, means, plane, plot_box, site, with_light

from fieldmap.analyse.climatology import Record
from fieldmap.decide.calendar import light_limit
from fieldmap.read.crops import packaged_crops
from layers import freeze

CROP = packaged_crops()["carrot"]
BEDS = beds_in(plot_box(60, 80, 72, 83))[:1]
DAYS = np.arange("2001-01-01", "2013-01-01", dtype="datetime64[D]")


def record(mean_c):
    """Twelve years, each day 4 °C from its minimum to its mean."""
    mean = np.broadcast_to(np.asarray(mean_c, float), DAYS.shape)
    calendar = freeze.calendar(DAYS, southern=False)
    none = np.zeros(len(DAYS), np.intp)
    return Record(calendar, mean - 4.0, mean, none > 0, none, np.arange(12))


def crop(base_c=5.0, **growth):
    changed = {"degree_days": None, "days_to_maturity": None} | {
        name: SimpleNamespace(**values) for name, values in growth.items()
    }
    base = CROP.base_c.model_copy(update={"value": base_c})
    return CROP.model_copy(update=changed | {"base_c": base})


def test_warmth_is_counted_back_from_the_end_of_the_season():
    # Ten degree days a day (15 °C over a base of 5): 600 take 60 days, the day of
    # sowing and that of the end among them.
    grown = crop(degree_days={"low": 500.0, "high": 600.0})
    found = light_limit.last_sowing(record(15.0), grown, np.array([280.0, 260.0]), 0.1)
    # By the morning of day 280 the days 220 to 279 have added theirs.
    assert found.tolist() == [220.0, 200.0]


def test_days_to_maturity_are_those_of_the_warmest_months():
    # 15 °C all year, so 10 degree days: a day is a day.
    grown = crop(days_to_maturity={"low": 50.0, "high": 60.0, "counted_from": "sowing"})
    assert light_limit.last_sowing(record(15.0), grown, np.array([280.0]), 0.1) == 220.0
    # From September on half as warm: 60 warm days, of which 40 lie after 31 August in
    # 80 cool ones.
    is_late = DAYS.astype("datetime64[Y]") + np.timedelta64(8, "M") <= DAYS
    cool = record(np.where(is_late, 10.0, 15.0))
    # The end is day 284: 40 days from 244 to 283 give 20 warm ones, so 40 before 244.
    assert light_limit.last_sowing(
        cool, grown, np.array([284.0]), 0.1
    ) == pytest.approx(204.0, abs=1.0)


def test_a_season_that_is_too_short_has_no_last_sowing():
    grown = crop(degree_days={"low": 5000.0, "high": 5000.0})
    ends = np.array([280.0, np.nan, np.inf])
    assert np.isnan(light_limit.last_sowing(record(15.0), grown, ends, 0.1)).all()


def test_a_later_end_never_has_an_earlier_last_sowing():
    rng = np.random.default_rng(3)
    mean = (
        12.0 + 8.0 * np.sin(np.arange(len(DAYS)) / 58.1) + rng.normal(0, 3, len(DAYS))
    )
    grown = crop(degree_days={"low": 300.0, "high": 400.0})
    found = light_limit.last_sowing(record(mean), grown, np.arange(200.0, 366.0), 0.2)
    known = found[~np.isnan(found)]
    assert len(known) > 50
    assert (np.diff(known) >= 0).all()


def light(*months_mj):
    made = analysis(plane())
    values = np.broadcast_to(np.array(months_mj)[:, None, None], (12, 200, 200))
    return with_light(
        made, beam_mj_m2_day=made.terrain.slope_deg.with_values(values.copy())
    )


def test_the_29th_of_february_is_left_out_and_takes_the_place_of_no_other_day():
    # Ten degree days a day but 20 on 29 February, in the leap years 2004, 2008 and 2012.
    days = pd.DatetimeIndex(DAYS)
    is_leap_day = (days.month == 2) & (days.day == 29)
    warm = light_limit._daily_warmth(record(np.where(is_leap_day, 25.0, 15.0)), crop())
    assert warm.shape == (12, 365)
    assert (warm == 10.0).all()


def test_growth_ends_when_the_light_falls_under_the_least():
    # A straight fall from 16.25 MJ in mid-July to 1.25 in mid-December, 3 a month. Six
    # mol are 2.75 MJ (2.18 mol per MJ): reached half a month before mid-December.
    months = [
        1.25,
        4.25,
        7.25,
        10.25,
        13.25,
        16.25,
        16.25,
        13.25,
        10.25,
        7.25,
        4.25,
        1.25,
    ]
    home = site(plane(), {"Home": plot_box(60, 60, 140, 140)})
    (found,) = light_limit.grows_until(
        home.season, means(home, light(*months), BEDS).sun_mj_m2_day, [CROP]
    )
    assert found[0] == pytest.approx(365 * 11 / 12, abs=2.0)


def test_where_light_always_suffices_growth_does_not_end():
    home = site(plane(), {"Home": plot_box(60, 60, 140, 140)})
    (found,) = light_limit.grows_until(
        home.season, means(home, light(*[15.0] * 12), BEDS).sun_mj_m2_day, [CROP]
    )
    assert found[0] == np.inf


def test_in_the_south_the_half_year_is_the_other():
    # Light falls from February to June there; the season-year begins on 1 July.
    months = [
        16.25,
        13.25,
        10.25,
        7.25,
        4.25,
        1.25,
        1.25,
        4.25,
        7.25,
        10.25,
        13.25,
        16.25,
    ]
    home = site(plane(), {"Home": plot_box(60, 60, 140, 140)}, latitude=-45.0)
    (found,) = light_limit.grows_until(
        home.season, means(home, light(*months), BEDS).sun_mj_m2_day, [CROP]
    )
    assert found[0] == pytest.approx(365 * 5 / 12 + 184, abs=2.0)
