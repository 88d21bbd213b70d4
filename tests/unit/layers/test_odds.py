"""Odds of yearly dates: worked cases, printed tables, reference libraries, counting."""

import math
from statistics import NormalDist

import hypothesis
import hypothesis.extra.numpy as hnp
import hypothesis.strategies as st
import numpy as np
import pytest
from scipy.stats import mstats

from layers import odds

RISKS = st.floats(0.02, 0.98)
YEARS = hnp.arrays(
    np.float64,
    st.integers(1, 40),
    elements=st.one_of(st.integers(1, 212).map(float), st.just(-np.inf)),
)


def of_mean_and_spread(mean, spread):
    """Three dates with just this mean and standard deviation (n - 1)."""
    return np.array([mean - spread, mean, mean + spread])


@hypothesis.given(dates=hnp.arrays(np.float64, 12, elements=st.floats(1, 366)))
@hypothesis.settings(deadline=None)
def test_quantiles_are_those_of_plotting_positions_i_over_n_plus_1(dates):
    # scipy.stats.mstats with alphap = betap = 0 and numpy's "weibull" are this rule.
    for risk in (0.03, 0.1, 0.2, 0.35, 0.5, 0.9):
        after, before = odds.safe_after(dates, risk), odds.safe_before(dates, risk)
        by_scipy = mstats.mquantiles(dates, [1 - risk, risk], alphap=0, betap=0)
        assert (after, before) == pytest.approx(tuple(by_scipy), abs=1e-6)
        by_numpy = np.quantile(dates, risk, method="weibull")
        assert before == pytest.approx(by_numpy, abs=1e-6)


def test_of_nine_years_the_latest_is_passed_one_year_in_ten():
    dates = np.array([81.0, 99, 75, 102, 88, 90, 95, 79, 84])
    assert odds.safe_after(dates, 0.1) == 102.0
    assert odds.safe_before(dates, 0.1) == 75.0
    assert odds.safe_after(dates, 0.5) == 88.0


def test_years_without_a_freeze_take_part_in_the_quantile():
    springs = np.array([-np.inf, -np.inf, -np.inf, 80.0, 90.0, 100.0, 110.0])
    assert odds.safe_after(springs, 1 / 8) == 110.0
    assert odds.safe_after(springs, 4 / 8) == 80.0
    assert odds.safe_after(springs, 5 / 8) == -np.inf
    autumns = 366.0 - springs
    assert odds.safe_before(autumns, 1 / 8) == 256.0
    assert odds.safe_before(autumns, 5 / 8) == np.inf


def test_between_a_year_with_a_freeze_and_one_without_the_season_s_edge_counts():
    assert odds.safe_after([-np.inf, 81.0, 99.0], 0.625) == pytest.approx(41.0)
    assert odds.safe_before([290.0, 300.0, np.inf], 0.625) == pytest.approx(333.0)


@hypothesis.given(dates=YEARS, earlier=st.data(), risk=RISKS)
@hypothesis.settings(deadline=None)
def test_earlier_years_never_give_a_later_date(dates, earlier, risk):
    days = earlier.draw(
        hnp.arrays(
            np.float64, dates.shape, elements=st.sampled_from([0.0, 3.0, 40.0, np.inf])
        )
    )
    sooner = dates - days
    sooner[sooner < 1] = -np.inf
    assert odds.safe_after(sooner, risk) <= odds.safe_after(dates, risk)
    assert odds.safe_before(367 - sooner, risk) >= odds.safe_before(367 - dates, risk)


@hypothesis.given(dates=YEARS, risks=st.tuples(RISKS, RISKS))
@hypothesis.settings(deadline=None)
def test_a_smaller_risk_never_gives_an_earlier_spring_date(dates, risks):
    small, large = sorted(risks)
    assert odds.safe_after(dates, small) >= odds.safe_after(dates, large)
    assert odds.normal_after(dates, small) >= odds.normal_after(dates, large) or (
        np.isfinite(dates).sum() < 2
    )


@pytest.mark.parametrize(
    ("risk", "date"), [(0.1, 132.8), (0.2, 128.4), (0.3, 125.2), (0.05, 136.4)]
)
def test_normal_spring_dates_lie_printed_multiples_of_the_spread_after_the_mean(
    risk, date
):
    # Mean 120, spread 10; z of .90 .80 .70 .95: 1.2816 .8416 .5244 1.6449 in any table.
    dates = of_mean_and_spread(120.0, 10.0)
    assert odds.normal_after(dates, risk) == pytest.approx(date, abs=0.05)


def test_one_autumn_in_ten_freezes_eleven_and_a_half_days_before_the_mean():
    # Mean 280, spread 9, z = 1.2816.
    dates = of_mean_and_spread(280.0, 9.0)
    assert odds.normal_before(dates, 0.1) == pytest.approx(268.5, abs=0.05)


def test_with_a_freeze_in_24_of_30_years_even_odds_lie_at_the_375th_permille():
    # .5 = .8 · (1 - Φ): the mixed law of a freeze or none, and its date.
    with_freeze = np.tile(of_mean_and_spread(120.0, 10.0), 8)
    springs = np.concatenate((with_freeze, np.full(6, -np.inf)))
    law = NormalDist(120.0, with_freeze.std(ddof=1))
    assert odds.normal_after(springs, 0.5) == pytest.approx(law.inv_cdf(0.375))
    assert odds.normal_after(springs, 0.8) == -np.inf
    autumns = np.where(np.isfinite(springs), springs + 160, np.inf)
    law = NormalDist(280.0, law.stdev)
    assert odds.normal_before(autumns, 0.5) == pytest.approx(law.inv_cdf(0.625))
    assert odds.normal_before(autumns, 0.85) == np.inf


def test_clemson_s_odds_after_15_april_by_theory_and_by_count():
    # 1991-2020, ≤ 32 °F: mean 88.53, spread 12.41; .092 after day 105 by the normal
    # law.
    dates = of_mean_and_spread(88.53, 12.41)
    assert odds.normal_after(dates, 0.092) == pytest.approx(105.0, abs=0.1)


def test_with_two_years_the_range_is_that_of_a_cauchy_law():
    # Student's t of one degree of freedom is tan(π(p - 1/2)): 1 at p = 3/4.
    low, high = odds.few_years_range([100.0, 110.0], 0.25)
    reach = math.sqrt(50.0) * math.sqrt(1.5)
    assert (low, high) == pytest.approx((105 - reach, 105 + reach))


@pytest.mark.parametrize(
    ("years", "risk", "t"), [(5, 0.1, 1.533), (5, 0.05, 2.132), (9, 0.1, 1.397)]
)
def test_few_years_reach_as_far_as_printed_tables_of_student_s_t(years, risk, t):
    dates = np.arange(years, dtype=float)
    low, high = odds.few_years_range(dates, risk)
    reach = t * dates.std(ddof=1) * math.sqrt(1 + 1 / years)
    assert high - low == pytest.approx(2 * reach, rel=1e-3)
    assert (high + low) / 2 == pytest.approx(dates.mean())


def test_the_next_year_lies_beyond_the_range_of_few_as_often_as_said():
    draws = np.random.default_rng(4).normal(100.0, 12.0, (20_000, 7))
    low, high = odds.few_years_range(draws[:, :6], 0.1)
    for beyond in (draws[:, 6] < low, draws[:, 6] > high):
        assert beyond.mean() == pytest.approx(0.1, abs=0.01)


def test_a_year_without_a_freeze_opens_the_range_of_few_years():
    low, high = odds.few_years_range([-np.inf, 90.0, 100.0, 110.0], 0.1)
    assert low == -np.inf
    assert high == odds.few_years_range([90.0, 100.0, 110.0], 0.1)[1]
    low, high = odds.few_years_range([np.inf, 300.0, 310.0], 0.1)
    assert (np.isfinite(low), high) == (True, np.inf)


@pytest.mark.parametrize(
    ("risk", "years", "expected"),
    [
        (0.1, 5, 0.4095),
        (0.1, 10, 0.6513),
        (0.1, 20, 0.8784),
        (0.05, 20, 0.6415),
        (0.01, 30, 0.2603),
    ],
)
def test_a_risk_taken_year_after_year_adds_up(risk, years, expected):
    # FAO, Frost protection 2 (2005), ch. 1, after Haan: R = 1 - (1 - p)^N.
    assert odds.risk_over_years(risk, years) == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(
    "date_of",
    [odds.safe_after, odds.safe_before, odds.normal_after, odds.normal_before],
)
def test_beds_side_by_side_keep_their_own_dates_and_missing_ones(date_of):
    beds = np.array([[90.0, 95, 110, 84], [90.0, np.nan, 110, 84], [70.0, 75, 90, 64]])
    dates = date_of(beds, 0.2)
    assert np.isnan(dates).tolist() == [False, True, False]
    assert dates[0] - dates[2] == pytest.approx(20.0)
    assert dates[0] == date_of(beds[0], 0.2)


@pytest.mark.parametrize("risk", [0.0, 1.0, -0.1, 10.0, np.nan])
def test_a_risk_that_is_no_share_is_refused(risk):
    with pytest.raises(ValueError, match="between 0 and 1"):
        odds.safe_after([90.0, 100.0], risk)


def test_no_years_have_no_odds():
    with pytest.raises(ValueError, match="at least one year"):
        odds.safe_before([], 0.1)
