"""Factor and bias from thermometers: known answers, noise, and scipy beside them."""

import numpy as np
import pytest
from scipy import stats

from layers import loggers

COLDNESS_C = np.array([0.2, 1.5, 3.0, 4.5, 6.0, 8.0])


def hung(seed, factor, coldness_c=COLDNESS_C, nights=14, own_c=0.1, noise_c=0.4):
    """Minima with a known rate; each thermometer has an error that stays with it."""
    rng = np.random.default_rng(seed)
    night_c = rng.normal(-1, 3, (nights, 1))
    own = rng.normal(0, own_c, len(coldness_c))
    return (
        night_c
        - factor * coldness_c
        + own
        + rng.normal(0, noise_c, (nights, len(coldness_c)))
    )


@pytest.mark.parametrize("rate", [0.06, 0.12, 0.23])
def test_a_known_factor_lies_in_nine_of_ten_ranges(rate):
    # 400 draws: 90 % ± three standard errors of a binomial share (0.015).
    fits = [loggers.fit_factor(hung(seed, rate), COLDNESS_C) for seed in range(400)]
    hits = [fit.low <= rate <= fit.high for fit in fits]
    assert np.mean(hits) == pytest.approx(0.90, abs=0.045)


def test_a_clear_rate_is_distinguished_from_noise_and_improves_the_left_out_error():
    # 0.2 °C/m times a spread of 2.7 m is 0.5 °C, five times what the readings scatter.
    fit = loggers.fit_factor(hung(1, 0.2, own_c=0.05, noise_c=0.1), COLDNESS_C)
    assert fit.is_more_than_noise
    assert fit.error_with_c < 0.5 * fit.error_without_c


@pytest.mark.parametrize("own_c", [0.0, 0.5])
@pytest.mark.parametrize("count", [3, 6])
def test_noise_passes_for_a_factor_in_one_case_of_twenty_at_most(own_c, count):
    # Half of a 90 % range's misses lie above zero; 300 draws, three standard errors.
    coldness_c = np.linspace(0, 6, count)
    kept = [
        loggers.fit_factor(hung(seed, 0.0, coldness_c, own_c=own_c), coldness_c)
        for seed in range(300)
    ]
    assert np.mean([fit.is_more_than_noise for fit in kept]) <= 0.05 + 0.038


def test_warmer_with_depth_is_no_factor():
    assert not loggers.fit_factor(hung(2, -0.2), COLDNESS_C).is_more_than_noise


def test_the_fit_is_scipys_line_through_the_means_of_the_thermometers():
    # Reference: scipy.stats.linregress, whose range has loggers - 2 degrees of freedom.
    low = hung(3, 0.15)
    line = stats.linregress(COLDNESS_C, low.mean(axis=0))
    half = stats.t.ppf(0.95, len(COLDNESS_C) - 2) * line.stderr
    fit = loggers.fit_factor(low, COLDNESS_C)
    assert fit.factor == pytest.approx(-line.slope, rel=1e-9)
    assert fit.low == pytest.approx(-line.slope - half, rel=1e-9)
    assert fit.high == pytest.approx(-line.slope + half, rel=1e-9)


def test_left_out_errors_are_those_of_scipys_lines_through_the_others():
    low = hung(4, 0.15)
    means = low.mean(axis=0)
    with_factor, without = [], []
    for left in range(len(COLDNESS_C)):
        others = np.arange(len(COLDNESS_C)) != left
        line = stats.linregress(COLDNESS_C[others], means[others])
        rest = low[:, others].mean(axis=1)
        deeper = COLDNESS_C[left] - COLDNESS_C[others].mean()
        over = (low[:, left] - rest).mean()
        without.append(over)
        with_factor.append(over - line.slope * deeper)
    fit = loggers.fit_factor(low, COLDNESS_C)
    for found, errors in (
        (fit.error_with_c, with_factor),
        (fit.error_without_c, without),
    ):
        assert found == pytest.approx(np.sqrt(np.mean(np.square(errors))), rel=1e-9)


def test_the_slope_with_gaps_is_that_of_a_regression_with_one_term_for_each_night():
    # Reference: numpy's least squares on depth and a dummy variable for each night
    # (the theorem of Frisch, Waugh and Lovell: the same slope as of deviations).
    rng = np.random.default_rng(5)
    low = hung(6, 0.15, nights=40)
    low[rng.random(low.shape) < 0.3] = np.nan
    night, logger = np.nonzero(~np.isnan(low))
    terms = np.column_stack([COLDNESS_C[logger], np.eye(40)[night]])
    slope = np.linalg.lstsq(terms, low[night, logger], rcond=None)[0][0]
    fit = loggers.fit_factor(low, COLDNESS_C)
    assert fit.factor == pytest.approx(-slope, rel=1e-8)
    assert fit.low < 0.15 < fit.high


def test_colder_nights_and_the_order_of_thermometers_change_nothing():
    low = hung(7, 0.15)
    fit = loggers.fit_factor(low, COLDNESS_C)
    order = np.array([3, 0, 5, 1, 4, 2])
    nights_c = np.linspace(-9, 9, len(low))[:, None]
    again = loggers.fit_factor((low + nights_c)[:, order], COLDNESS_C[order] + 2.0)
    for name in ("factor", "high", "error_with_c", "error_without_c"):
        assert getattr(again, name) == pytest.approx(getattr(fit, name), rel=1e-9)


def test_contrast_that_hangs_on_one_thermometer_cannot_be_tested():
    # Without the deep one the others have no contrast: nothing to foretell it from.
    coldness_c = np.array([0.0, 0.0, 5.0])
    fit = loggers.fit_factor(
        hung(8, 0.3, coldness_c, own_c=0.0, noise_c=0.01), coldness_c
    )
    assert np.isnan(fit.error_with_c)
    assert not fit.is_more_than_noise


@pytest.mark.parametrize(
    ("nights", "coldness_c"),
    [(9, [0.0, 3.0, 6.0]), (14, [0.0, 6.0]), (14, [0.0, 0.2, 0.45])],
    ids=["nine nights", "two thermometers", "under 0.5 °C of contrast"],
)
def test_too_little_evidence_gives_no_fit(nights, coldness_c):
    low = hung(9, 0.2, np.array(coldness_c), nights)
    assert not loggers.evidence(low, coldness_c).is_enough
    with pytest.raises(ValueError, match="a factor needs"):
        loggers.fit_factor(low, coldness_c)


def test_thermometers_that_were_never_read_in_one_night_are_no_evidence():
    low = np.full((30, 3), np.nan)
    for logger in range(3):
        low[logger * 10 : logger * 10 + 10, logger] = 0.0
    found = loggers.evidence(low, [0.0, 3.0, 6.0])
    assert (found.loggers, found.nights, found.contrast_c) == (0, 0, 0.0)


def test_a_thermometer_of_few_nights_does_not_count():
    low = hung(10, 0.15)
    low[3:, 0] = np.nan
    found = loggers.evidence(low, COLDNESS_C)
    assert found.counted.tolist() == [False] + [True] * 5
    assert found.contrast_c == pytest.approx(8.0 - 1.5)
    fit, without = (
        loggers.fit_factor(low, COLDNESS_C),
        loggers.fit_factor(low[:, 1:], COLDNESS_C[1:]),
    )
    assert fit == without


def test_a_plot_three_degrees_under_the_station_is_said_so():
    station_c = np.array([2.0, 0.0, -1.0, 3.0, 1.0])
    low = (station_c - 3.0)[:, None] + [0.5, -0.5]
    bias = loggers.bias_against_station(low, station_c, [0.0, 0.0], place_c=0.0)
    # Half a degree either side of -3: the error of the mean is .5, of two places that
    # agree on every night, with one degree of freedom: 6.314 · .5 either way.
    assert (bias.central_c, bias.nights) == (-3, 5)
    assert (bias.low_c, bias.high_c) == pytest.approx((-6.157, 0.157), abs=0.001)
    placed = loggers.bias_against_station(low, station_c, [0.5, -0.5])
    assert placed.central_c == -3


def test_places_add_what_the_scatter_of_nights_leaves_of_their_own():
    """Two nights at three places: 0 and 0, 3 and 1, -3 and -1 °C over the station.

    Means 0, 2 and -2 °C have a variance of 8 / 2 = 4. Of it nights make 2 / 2 = 1: four
    readings lie 1 °C off their place's mean, 4 over (2 - 1) · (3 - 1) is 2. So 3 are left,
    and 3 / 3 = 1 of the mean of three places.
    """
    over_c = np.array([[0.0, 3.0, -3.0], [0.0, 1.0, -1.0]])
    assert loggers._places_variance(over_c, 0.0) == pytest.approx((1.0, 2.0))


def test_the_range_of_a_bias_is_that_of_students_t():
    # Reference: scipy's t interval of a mean.
    over = np.random.default_rng(11).normal(-2, 1, 12)
    bias = loggers.bias_against_station(over[:, None], np.zeros(12), [0.0], place_c=0.0)
    low, high = stats.t.interval(0.9, 11, over.mean(), stats.sem(over))
    assert (bias.low_c, bias.high_c) == pytest.approx((low, high))


def test_nights_without_the_station_or_without_a_thermometer_do_not_count():
    bias = loggers.bias_against_station(
        [[-1.0], [np.nan], [-9.0]], [0.0, 0.0, np.nan], [0.0]
    )
    assert (bias.central_c, bias.nights) == (-1.0, 1)
    assert np.isnan(bias.low_c)
    assert np.isnan(bias.high_c)
    with pytest.raises(ValueError, match="no night"):
        loggers.bias_against_station([[np.nan]], [0.0], [0.0])


def test_the_next_thermometer_hangs_where_the_prediction_spreads_most():
    at = np.column_stack([np.arange(100.0), np.zeros(100)])
    swing = np.where(at[:, 0] < 50, -1.0, 0.0)
    swing[20], swing[80], swing[90] = -3.0, 0.5, np.nan
    none = np.empty(0), np.empty((0, 2))
    assert loggers.next_places(swing, at, *none, 30.0, 1).tolist() == [20]
    # One hangs in the deepest place: the farthest from it now is the highest.
    known = np.array([-3.0]), at[20:21]
    assert loggers.next_places(swing, at, *known, 30.0, 1).tolist() == [80]
    # Nothing within 30 m of it, and none where nothing would be learnt.
    assert loggers.next_places(swing, at, *known, 70.0, 5).tolist() == [91]
    assert loggers.next_places(np.zeros(100), at, *none, 1.0, 3).size == 0


def test_shapes_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match="one fact for each"):
        loggers.deviations(np.zeros((3, 2)), [0.0, 1.0, 2.0])
    with pytest.raises(ValueError, match="finite"):
        loggers.evidence(np.zeros((3, 2)), [0.0, np.nan])
    with pytest.raises(ValueError, match="3 nights"):
        loggers.bias_against_station(np.zeros((3, 2)), np.zeros(2), [0.0, 0.0])
    with pytest.raises(ValueError, match="places must be"):
        loggers.next_places(
            np.zeros(3), np.zeros((2, 2)), np.empty(0), np.empty((0, 2)), 1.0, 1
        )
