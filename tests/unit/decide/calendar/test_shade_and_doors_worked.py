"""Hot months, cloth and tunnel doors by tables of months that add up on paper."""

import numpy as np
import pandas as pd
import pytest
from made_up_crops import crop, limit, span

from fieldmap.decide.calendar.in_tunnels import door_months, month_spells
from fieldmap.decide.calendar.shade_need import cloths, hot_days, need
from fieldmap.model.season_year import NORTH, SOUTH
from layers.sunlight import MOL_PER_MJ


def within(*months):
    return [month in months for month in range(1, 13)]


# ------------------------------------------------------------------ spells of months
@pytest.mark.parametrize(
    ("months", "spells"),
    [
        ((), []),
        (range(1, 13), [(1, 12)]),
        ((5,), [(5, 5)]),
        ((1,), [(1, 1)]),
        ((12,), [(12, 12)]),
        ((4, 5, 6), [(4, 6)]),
        ((12, 1), [(12, 1)]),
        ((11, 12, 1, 2, 3), [(11, 3)]),
        # Each spell has its own end: that of November to February is February's.
        ((11, 12, 1, 2, 5, 6, 7), [(5, 7), (11, 2)]),
        ((2, 3, 8), [(2, 3), (8, 8)]),
        ((1, 3, 5), [(1, 1), (3, 3), (5, 5)]),
        ([month for month in range(1, 13) if month != 6], [(7, 5)]),
    ],
    ids=str,
)
def test_months_in_a_row_are_one_spell_and_december_is_followed_by_january(
    months, spells
):
    assert month_spells(within(*months)) == spells


def days_of(year, monthly):
    """A day's value for every day of a year, by month."""
    days = pd.date_range(f"{year}-01-01", f"{year}-12-31")
    return pd.Series(np.array(monthly, float)[days.month - 1], days)


def test_the_door_is_watched_from_a_mean_of_just_eight_degrees():
    tmax_c = days_of(2023, [7.9, 8.0, 9.0, 20, 20, 20, 20, 20, 20, 12, 8.1, 7.9])
    assert door_months(tmax_c) == [(2, 11)]


def test_the_mean_of_the_maxima_counts_and_not_their_most():
    # 28 days of February 2023: 14 of 4 °C and 14 of 11.8 are 7.9 in the mean, of 12 8.
    february = pd.date_range("2023-02-01", "2023-02-28")
    for warm_c, spells in ((11.8, []), (12.0, [(2, 2)])):
        cold = days_of(2023, [0.0] * 12)
        cold[february] = [4.0, warm_c] * 14
        assert door_months(cold) == spells


def test_a_month_that_is_not_known_is_watched():
    tmax_c = days_of(2023, [0.0] * 12)
    no_june = tmax_c[tmax_c.index.month != 6]
    assert door_months(no_june) == [(6, 6)]
    tmax_c[tmax_c.index.month == 6] = np.nan
    assert door_months(tmax_c) == [(6, 6)]


# ------------------------------------------------------------------ hot days
def test_a_day_is_hot_over_the_limit_and_not_at_it():
    # 4 days of June are known, 1 is over 30 °C: 30 / 4 = 7.5 a June.
    tmax_c = pd.Series(
        [30.0, 30.1, 29.0, 12.0, np.nan], pd.date_range("2025-06-01", periods=5)
    )
    assert hot_days(tmax_c, 30.0)[5] == pytest.approx(7.5)


def test_a_february_has_a_quarter_of_a_29th_and_leap_years_count_all_their_days():
    # 28 + 29 = 57 days, of which 19 are hot, a third: 28.25 / 3.
    days = pd.DatetimeIndex(
        [
            *pd.date_range("2023-02-01", "2023-02-28"),
            *pd.date_range("2024-02-01", "2024-02-29"),
        ]
    )
    tmax_c = pd.Series([40.0] * 19 + [20.0] * 38, days)
    found = hot_days(tmax_c, 30.0)
    assert found[1] == pytest.approx(28.25 / 3)
    assert np.isnan(np.delete(found, 1)).all()


def test_months_have_their_own_lengths():
    hot = hot_days(days_of(2023, [40.0] * 12), 30.0)
    assert hot == (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


# ------------------------------------------------------------------ cloth
def test_cloth_is_put_in_order_by_the_light_it_takes():
    # Light fabric lets 85 % through and takes 15; medium 72 % and 28; cloth as sold.
    assert cloths(()) == [("shade_30", 30), ("shade_40", 40), ("shade_50", 50)]
    owned = ("medium_fabric", "clear_film", "light_fabric", "light_fabric", "shade_40")
    assert cloths(owned) == [
        ("light_fabric", 15),
        ("medium_fabric", 28),
        ("shade_30", 30),
        ("shade_40", 40),
        ("shade_50", 50),
    ]


def test_heavy_fabric_takes_half_the_light_and_stands_among_the_darkest():
    assert cloths(("heavy_fabric", "light_fabric")) == [
        ("light_fabric", 15),
        ("shade_30", 30),
        ("shade_40", 40),
        ("heavy_fabric", 50),
        ("shade_50", 50),
    ]


# Two hot months, of 31 days each over 30 °C.
HOT_JULY = [20.0] * 6 + [35.0] * 2 + [20.0] * 4
HOT_JANUARY = [35.0] * 2 + [20.0] * 9 + [35.0]


def light(mol, month=7, elsewhere=1.0):
    """Light of a bed by month, of which one has `mol` [mol/m² a day]."""
    months = [elsewhere] * 12
    months[month - 1] = mol / MOL_PER_MJ
    return months


def wanted(
    mol, best=(15, 20), shade=(0, 50), owned=(), tmax=HOT_JULY, season=NORTH, month=7
):
    grown = crop(best_light_mol=span(*best), shade_percent=span(*shade))
    return need(grown, days_of(2023, tmax), light(mol, month), owned, season=season)


@pytest.mark.parametrize(
    ("mol", "best", "shade", "owned", "kind", "why"),
    [
        # 20 mol is the most that is best: enough.
        (20.0, (15, 20), (0, 50), (), None, "shade_not_too_bright"),
        # 20.1 × .7 = 14.07 is less than the least of 15, as is all darker cloth.
        (20.1, (15, 20), (0, 50), (), None, "shade_too_dark"),
        # 25 × .7 = 17.5.
        (25.0, (15, 20), (0, 50), (), "shade_30", "shade_wanted"),
        # 28 × .7 = 19.6; 30 × .7 = 21 is too much, × .6 = 18.
        (28.0, (15, 20), (0, 50), (), "shade_30", "shade_wanted"),
        (30.0, (15, 20), (0, 50), (), "shade_40", "shade_wanted"),
        # 40 × .5 = 20, just the most.
        (40.0, (15, 20), (0, 50), (), "shade_50", "shade_wanted"),
        # 50 × .5 = 25 is still over 20: the darkest there is.
        (50.0, (15, 20), (0, 50), (), "shade_50", "shade_wanted"),
        # No cloth takes more than the crop is given: 40 % leaves 30 of 50.
        (50.0, (15, 20), (0, 40), (), "shade_40", "shade_wanted"),
        (50.0, (15, 20), (0, 30), (), "shade_30", "shade_wanted"),
        (50.0, (15, 20), (0, 29), (), None, "shade_takes_all_light"),
        # Fabric that is owned takes 15 %: 23 × .85 = 19.55.
        (23.0, (15, 20), (0, 29), ("light_fabric",), "light_fabric", "shade_wanted"),
        (23.0, (15, 20), (0, 14), ("light_fabric",), None, "shade_takes_all_light"),
        # 28 × .7 = 19.6 and × .6 = 16.8 are over 16.5, × .5 = 14 is under 15: the
        # darkest of those that leave enough.
        (28.0, (15, 16.5), (0, 50), (), "shade_40", "shade_wanted"),
        # 30 × .5 = 15 is just the least that is best, and brings it under 17.
        (30.0, (15, 17), (0, 50), (), "shade_50", "shade_wanted"),
    ],
)  # fmt: skip
def test_the_lightest_cloth_is_chosen_that_brings_light_down_to_the_best(
    mol, best, shade, owned, kind, why
):
    found = wanted(mol, best, shade, owned)
    assert (found.kind, found.why.kind) == (kind, why)
    assert found.months == ((7, 8) if kind else None)


def test_cloth_that_leaves_just_the_most_that_is_best_is_dark_enough():
    # 10 MJ are 21.8 mol, of which 40 % shade leaves 13.08; 50 % would be in the best, too.
    most = MOL_PER_MJ * 10 * (1 - 40 / 100)
    grown = crop(best_light_mol=span(5, most), shade_percent=span(0, 50))
    found = need(grown, days_of(2023, HOT_JULY), [10.0] * 12, season=NORTH)
    assert found.kind == "shade_40"


def test_what_is_wanted_is_said_with_the_light_of_july_and_under_the_cloth():
    why = wanted(30.0).why
    assert (why["month"], why["cover"]) == (7, "shade_40")
    assert why["light_mol"] == pytest.approx(30.0)
    assert why["under_mol"] == pytest.approx(18.0)
    assert (why["low_mol"], why["high_mol"]) == (15, 20)
    bright = wanted(18.0).why
    assert (bright["month"], bright["most_mol"]) == (7, 20)
    assert bright["light_mol"] == pytest.approx(18.0)


def test_in_the_south_light_is_that_of_january_and_summer_crosses_new_year():
    found = wanted(30.0, tmax=HOT_JANUARY, season=SOUTH, month=1)
    assert (found.kind, found.months, found.why["month"]) == ("shade_40", (12, 2), 1)
    # July there is the darkest month, with 1 MJ in this table.
    assert wanted(30.0, tmax=HOT_JANUARY, season=SOUTH, month=7).kind is None


def test_five_hot_days_make_a_hot_month():
    # 30 days of June 2023: 5 of them over 30 °C.
    for hot, months in ((4, None), (5, (6, 6))):
        tmax_c = days_of(2023, [20.0] * 12)
        tmax_c[pd.date_range("2023-06-01", periods=hot)] = 31.0
        found = need(crop(), tmax_c, light(30.0), season=NORTH)
        assert found.months == months
        assert (found.why.kind == "shade_no_hot_month") is (months is None)


@pytest.mark.parametrize(
    ("monthly", "months"),
    [
        # May has 31 days over the limit and July 31 too: the first of them counts.
        ([20] * 4 + [35] + [20] + [35] + [20] * 5, (5, 5)),
        ([35] * 2 + [20] * 8 + [35] * 2, (11, 2)),
        ([35] * 12, (1, 12)),
    ],
)
def test_the_cloth_hangs_for_the_spell_of_the_hottest_month(monthly, months):
    found = need(crop(), days_of(2023, monthly), light(30.0), season=NORTH)
    assert found.months == months


def test_the_hottest_month_may_be_the_last_of_a_spell_across_new_year():
    # 10 hot days in November, December and January, 20 in February; 15 in June.
    tmax_c = days_of(2023, [20.0] * 12)
    for month, hot in ((11, 10), (12, 10), (1, 10), (2, 20), (6, 15)):
        tmax_c[pd.date_range(f"2023-{month:02}-01", periods=hot)] = 31.0
    assert need(crop(), tmax_c, light(30.0), season=NORTH).months == (11, 2)


def test_of_two_spells_that_with_most_hot_days_counts():
    # April: 10 hot days of 30; August: 20 of 31; the other way round April.
    for april, august, months in ((10, 20, (8, 8)), (20, 10, (4, 4))):
        tmax_c = days_of(2023, [20.0] * 12)
        tmax_c[pd.date_range("2023-04-01", periods=april)] = 31.0
        tmax_c[pd.date_range("2023-08-01", periods=august)] = 31.0
        assert need(crop(), tmax_c, light(30.0), season=NORTH).months == months


def test_a_crop_has_its_own_limit_of_heat():
    tmax_c = days_of(2023, HOT_JULY)
    stands = crop(heat_limit_c=limit(35.0))
    assert need(stands, tmax_c, light(30.0), season=NORTH).why["crop"] == "test crop"
    assert need(stands, tmax_c, light(30.0), season=NORTH).kind is None
