"""What a few readings teach, in sums that can be done on the back of the sheet."""

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from made_up import CRS, NORTH, WEST, raster
from shapely.geometry import box

from fieldmap.analyse.cold_air import offset
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.thermometer_readings import Thermometers
from fieldmap.review import thermometers
from fieldmap.review.next_thermometers import places
from fieldmap.review.thermometers import (
    Finding,
    Lesson,
    StillNights,
    _alike,
    learn,
    still_nights,
    unit_slip_c,
)

NIGHTS = 12


def hung(height_m=(1.5,), shielded=None, at_m=None, minima_c=None):
    """Thermometers at heights, in a row of 20 m steps along the ground."""
    count = len(height_m)
    east = WEST + 10.0 + 20.0 * np.arange(count) if at_m is None else np.array(at_m)
    return Thermometers(
        file="thermometers.csv",
        names=tuple(f"T{number}" for number in range(1, count + 1)),
        at_m=np.column_stack([east, np.full(count, NORTH - 50.0)]),
        height_m=np.array(height_m),
        is_shielded=np.ones(count, bool) if shielded is None else np.array(shielded),
        minima_c=pd.DataFrame() if minima_c is None else minima_c,
    )


def nights(low_c, station_c=None, others=0):
    low_c = np.array(low_c, float)
    station = np.zeros(len(low_c)) if station_c is None else np.array(station_c, float)
    return StillNights(low_c, station, others)


# ------------------------------------------------------------------ how they hang
@pytest.mark.parametrize(
    ("height_m", "shielded", "counts"),
    [(1.25, True, True), (2.0, True, True), (1.24, True, False), (2.01, True, False), (1.5, False, False)],
)  # fmt: skip
def test_a_screen_hangs_shielded_at_125_to_200_cm(height_m, shielded, counts):
    assert hung([height_m], [shielded]).in_screen.tolist() == [counts]


@pytest.mark.parametrize(
    ("height_m", "shielded", "alike"),
    [
        # Half a metre apart is alike, more is not.
        ([1.0, 1.51, 1.51], [1, 1, 1], [0, 1, 1]),
        ([1.0, 1.5, 1.5], [1, 1, 1], [1, 1, 1]),
        # The largest set, of one kind of shield.
        ([1.5, 1.5, 1.5], [1, 0, 0], [0, 1, 1]),
        # Of two as large sets the shielded one, and the lower one.
        ([1.5, 1.5], [1, 0], [1, 0]),
        ([0.2, 0.3, 1.4, 1.5], [1, 1, 1, 1], [1, 1, 0, 0]),
        ([3.0], [0], [1]),
    ],
    ids=str,
)
def test_the_largest_set_that_hangs_alike_is_used(height_m, shielded, alike):
    found = _alike(hung(height_m, np.array(shielded, bool)))
    assert found.tolist() == [bool(each) for each in alike]


# ------------------------------------------------------------------ nights that count
def test_nights_count_that_were_still_and_read():
    # Falls of the nights of May 2 to 11: 5 °C, but 15 before the 4th, 6th and 8th; the
    # 60th percentile is 5 or more, so those with 5.0 alone do not reach 5.1.
    days = pd.DataFrame(
        {"tmin_c": 5.0, "tmax_c": 10.0}, index=pd.date_range("2025-05-01", periods=11)
    )
    for still in ("2025-05-04", "2025-05-06", "2025-05-08"):
        days.loc[pd.Timestamp(still) - pd.Timedelta(days=1), "tmax_c"] = 20.0
    days["tmax_c"] += np.linspace(0, 1.0, 11)
    days.loc["2025-05-06", "tmin_c"] = 4.0
    read = pd.DataFrame(
        {"T1": [1.0, np.nan, 3.0, np.nan], "T2": [np.nan, np.nan, 4.0, 2.0]},
        index=pd.to_datetime(["2025-05-04", "2025-05-05", "2025-05-06", "2025-05-02"]),
    )
    found = still_nights(hung((1.5, 1.5), minima_c=read), days)
    # The 5th was read by none, and the 2nd was not still.
    np.testing.assert_array_equal(found.low_c, [[1.0, np.nan], [3.0, 4.0]])
    assert found.station_c.tolist() == [5.0, 4.0]
    assert (found.count, found.others) == (2, 1)


@pytest.mark.parametrize(
    ("over_c", "slip_c"),
    [
        (15.0, None),
        (15.1, 15.1),
        (-15.0, None),
        (-15.1, -15.1),
        (0.0, None),
    ],
)
def test_readings_more_than_15_degrees_off_in_the_middle_are_of_another_unit(
    over_c, slip_c
):
    # Readings: over_c, that and 1 less, and one wild night: the median is over_c.
    low = [[over_c], [over_c - 1], [over_c], [over_c + 99], [over_c]]
    found = unit_slip_c(nights(low, [0.0] * 5))
    assert found == (None if slip_c is None else pytest.approx(slip_c))


def test_the_difference_is_that_from_the_station_and_without_nights_there_is_none():
    assert unit_slip_c(nights([[40.0], [np.nan]], [20.0, 0.0])) == 20.0
    assert unit_slip_c(nights(np.empty((0, 1)))) is None


# ------------------------------------------------------------------ what they teach
@pytest.fixture(autouse=True)
def coldness(monkeypatch):
    """A night makes places 1 °C colder with every 20 m to the east, in every answer."""

    def coldness_at(_night, easting, _northing):
        return np.tile((np.asarray(easting) - WEST) / 20.0, (offset.LIKELIEST + 1, 1))

    monkeypatch.setattr(thermometers.offset, "coldness_at", coldness_at)


def cold_air(offset_c=(-2.0, -1.0, 1.0), is_run=True):
    """An offset alike everywhere; the reference is .5 °C cold by the likeliest answer."""
    grid = np.broadcast_to(np.reshape(offset_c, (3, 1, 1)), (3, 10, 20))
    reference_c = np.full(offset.LIKELIEST + 1, 9.0)
    reference_c[offset.LIKELIEST] = 0.5
    return SimpleNamespace(
        night="a night" if is_run else None,
        offset_c=raster(grid, 10.0),
        reference_c=reference_c,
    )


def test_each_thermometer_runs_by_the_mean_of_the_nights_it_was_read():
    low = [[1.0, np.nan, -1.0], [4.0, np.nan, 3.0], [np.nan, np.nan, 0.0]]
    found = learn(
        hung((1.5, 1.5, 0.5), [True, True, False]),
        nights(low, [2.0, 3.0, 1.0], others=7),
        cold_air(),
        from_station=False,
    )
    # 1 - 2 and 4 - 3 are 0 in the mean; -3, 0 and -1 are -4 / 3.
    first, second, third = found.runs
    assert first == ("T1", 2, 0.0, 1.5, True, True)
    assert (second.name, second.nights) == ("T2", 0)
    assert np.isnan(second.over_station_c)
    assert third[:2] == ("T3", 3)
    assert third.over_station_c == pytest.approx(-4 / 3)
    assert third[3:] == (0.5, False, False)
    assert (found.clear_calm_nights, found.other_nights) == (3, 7)


def test_without_a_still_night_nothing_is_learnt():
    found = learn(
        hung(), nights(np.empty((0, 1)), others=4), cold_air(), from_station=True
    )
    assert (found.clear_calm_nights, found.other_nights) == (0, 4)
    assert found.factor is found.bias is None
    assert found.observed("0" * 64) is None


def test_the_bias_is_what_readings_lack_of_the_station_and_the_expected_offset():
    # Nights of -3 and -5 °C under the station; the place should be -1 °C.
    low = [[-3.0], [-5.0]] * 6
    found = learn(hung(), nights(low), cold_air(), from_station=False)
    bias = found.bias
    assert bias.estimate.central == -3.0  # -4 + 1
    assert bias.fact.kind == "bias_of_plots"
    assert bias.fact["likely_c"] == pytest.approx(-3.0)
    # Variances: nights (12/11)/12 = .0909, one place .71² = .5041, and .55² of the 1 °C
    # that is expected .3025, in all .8975. With over a thousand degrees of freedom (by
    # Welch and Satterthwaite, .8975² · 11 / .0909²) 1.646 · .9474 = 1.560 either way.
    assert bias.fact["low_c"] == pytest.approx(-3.0 - 1.560, abs=0.002)
    assert bias.estimate == pytest.approx((-4.56, -3.0, -1.44), abs=0.006)
    assert bias.fact["said"] == Fact("ground_ran", number=12, degrees_c=-4.0)
    at_station = learn(hung(), nights(low), cold_air(), from_station=True)
    assert at_station.bias.fact.kind == "bias_of_station"
    observed = found.observed("a" * 64)
    assert (observed.bias_c.central, observed.offset_factor) == (-3.0, None)
    assert (observed.clear_calm_nights, observed.readings_sha256) == (12, "a" * 64)


@pytest.mark.parametrize(
    ("low_c", "from_station", "kind"),
    [
        # Two nights: a t of so few degrees of freedom reaches to both sides of none.
        ([[-3.0], [-5.0]], False, "bias_too_unsure"),
        # Warmer by one thermometer, by two, and by three that agree: ± 1.645 · .71 / √3.
        ([[0.5], [0.4]] * 9, False, "bias_warm_of_few"),
        ([[0.5, 0.5], [0.4, 0.4]] * 9, False, "bias_warm_of_few"),
        ([[0.5, 0.5, 0.5], [0.4, 0.4, 0.4]] * 9, False, "bias_of_plots"),
        # Of one thermometer ± 1.645 · .71 = 1.17: -1.05 might be none, -1.25 hardly.
        ([[-1.0], [-1.1]] * 9, True, "bias_is_noise"),
        ([[-1.2], [-1.3]] * 9, True, "bias_too_unsure"),
        ([[-2.3], [-2.4]] * 9, True, "bias_of_station"),
        ([[-8.0], [-8.1]] * 9, False, "bias_beyond_belief"),
        ([[-7.9], [-8.0]] * 9, False, "bias_of_plots"),
        ([[4.1] * 3, [4.0] * 3] * 9, False, "bias_beyond_belief"),
    ],
)
def test_a_bias_is_used_where_it_is_surer_than_none_and_safe(low_c, from_station, kind):
    count = len(low_c[0])
    found = learn(
        hung((1.5,) * count),
        nights(low_c),
        cold_air((-1.0, 0.0, 1.0), is_run=False),
        from_station=from_station,
    )
    assert found.bias.fact.kind == kind
    is_used = kind in ("bias_of_plots", "bias_of_station")
    assert (found.bias.estimate is not None) == is_used


def test_one_night_is_shown_and_not_used():
    found = learn(hung(), nights([[-3.0]]), cold_air(), from_station=False)
    assert found.bias == Finding(
        Fact("bias_of_one_night", said=Fact("ground_ran", number=1, degrees_c=-3.0))
    )
    assert found.observed("a" * 64) is None


def test_only_thermometers_in_a_screen_and_on_the_map_tell_of_the_bias():
    # The second is bare, the third is off the map; the first was never read.
    low = [[np.nan, -3.0, -3.0], [np.nan, -3.0, -3.0]]
    three = hung(
        (1.5, 1.5, 1.5), [True, False, True], [WEST + 5, WEST + 25, WEST + 900]
    )
    found = learn(three, nights(low), cold_air(), from_station=False)
    assert found.bias.fact == Fact("bias_unknown", heights_m=(1.25, 2.0))
    low[0][0] = low[1][0] = -2.0
    found = learn(three, nights(low), cold_air(), from_station=False)
    assert found.bias.fact["likely_c"] == -1.0  # -2 + 1, of the first alone


COLDNESS_C = np.array([0.5, 1.5, 2.5])  # at 10, 30 and 50 m to the east
WARM_C = np.arange(NIGHTS)[:, np.newaxis]  # nights of 0 to 11 °C


def factor_of(low_c, count=3, **air):
    """Thermometers 20 m apart, so each a degree colder."""
    return learn(
        hung((1.5,) * count), nights(low_c), cold_air(**air), from_station=False
    )


def test_a_factor_that_all_nights_agree_on_is_found_with_no_range():
    found = factor_of(WARM_C - 1.2 * COLDNESS_C)
    assert found.factor.estimate == (1.2, 1.2, 1.2)
    assert found.factor.fact.kind == "factor_fitted"
    assert found.factor.fact["factor"] == 1.2
    fit = found.factor.fact["fit"]
    assert fit["factor"] == pytest.approx((1.2, 1.2, 1.2))
    assert (fit["loggers"], fit["nights"], fit["with_it_c"]) == (3, 12, 0.0)
    # Left out, the ends lie 1.5 x 1.2 = 1.8 °C off the mean of the others, the middle
    # none: the root of 2 x 3.24 / 3 is 1.47.
    assert fit["without_c"] == 1.5


@pytest.mark.parametrize(
    ("factor", "held", "kind"),
    [
        (2.5, 2.0, "factor_held"),
        (1.9, 1.9, "factor_fitted"),
        (0.6, 0.6, "factor_fitted"),
        (0.4, 0.5, "factor_held"),
    ],
)
def test_a_factor_is_held_between_a_half_and_two(factor, held, kind):
    found = factor_of(WARM_C - factor * COLDNESS_C).factor
    assert found.estimate == (held, held, held)
    assert (found.fact.kind, found.fact["factor"]) == (kind, held)
    assert found.fact["fit"]["factor"].central == pytest.approx(factor)


def test_with_a_factor_the_expected_offset_is_that_of_the_coldness_by_the_factor():
    # 0, 1 and 2 °C colder than the reference, times 1.2. Readings of -.2, -1.4 and -2.6
    # are .2 °C under that each.
    found = factor_of(np.repeat([[-0.2, -1.4, -2.6]], NIGHTS, axis=0))
    assert found.factor.estimate == (1.2, 1.2, 1.2)
    assert found.bias.estimate.central == -0.2
    assert found.observed("a" * 64).offset_factor.central == 1.2


def test_a_factor_has_the_range_of_a_line_through_three_points():
    # Off a line of 1.2 by .05, -.1 and .05 °C at -1, 0 and 1 °C about the middle: their
    # squares come to .015 with one degree of freedom, the slope's error is the root of
    # .015 / 2 = .0866, and Student's t of 6.314 makes it .547 either way.
    own_c = np.array([0.05, -0.1, 0.05])
    found = factor_of(WARM_C - 1.2 * COLDNESS_C + own_c).factor
    # Other grounds say 1 with an error of .55, so the fit has a weight of .3025 / (.3025
    # + .0075) = .976: 1 + .976 · .2 = 1.195, and √.976 · .547 = .540 either way.
    assert found.estimate == pytest.approx((0.655, 1.195, 1.735), abs=0.006)
    fit = found.fact["fit"]
    assert fit["factor"] == pytest.approx((1.2 - 0.547, 1.2, 1.2 + 0.547), abs=0.001)
    # Left out, each is missed by .3, .15 and .3 °C: .26 in the root of the mean square.
    assert fit["with_it_c"] == 0.3


def test_a_night_that_one_of_several_missed_counts_by_the_others():
    # -3 and -4.5 in the mean of each night, and 1 °C more as expected.
    low = [[-3.0, np.nan], [-5.0, -4.0]]
    found = learn(hung((1.5, 1.5)), nights(low), cold_air(), from_station=False)
    assert found.bias.fact["likely_c"] == -2.75


def test_too_few_readings_say_what_is_wanted_and_what_there_is():
    fact = factor_of(np.zeros((NIGHTS, 2)), count=2).factor.fact
    assert fact.kind == "factor_few_readings"
    assert (fact["loggers"], fact["nights"], fact["difference_c"]) == (3, 10, 0.5)
    assert (fact["here"], fact["number"], fact["apart_c"]) == (2, 12, 1.0)
    # 21.2 m apart are 1.06 °C, said to a tenth.
    apart = hung((1.5, 1.5), at_m=[WEST + 10, WEST + 31.2])
    found = learn(apart, nights(np.zeros((NIGHTS, 2))), cold_air(), from_station=False)
    assert found.factor.fact["apart_c"] == 1.1
    assert factor_of(np.zeros((9, 3))).factor.fact["here"] == 0


def test_a_factor_the_wrong_way_is_noise_and_without_a_night_there_is_none():
    wrong = factor_of(WARM_C + COLDNESS_C)
    assert wrong.factor.fact.kind == "factor_is_noise"
    assert wrong.factor.estimate is None
    unknown = factor_of(WARM_C - COLDNESS_C, is_run=False)
    assert unknown.factor == Finding(Fact("factor_flow_unknown"))
    # What is expected is then the offset itself: 0 to 11 less coldness, and 1 more.
    assert unknown.bias.fact["likely_c"] == pytest.approx(5.5 - 1.5 + 1.0)


def test_what_hangs_otherwise_does_not_enter_the_factor():
    low = np.hstack([WARM_C - 1.2 * COLDNESS_C, WARM_C + 50.0])
    four = hung((1.5, 1.5, 1.5, 1.5), [True, True, True, False])
    found = learn(four, nights(low), cold_air(), from_station=False)
    assert found.factor.estimate == (1.2, 1.2, 1.2)


def test_what_the_next_plan_uses_is_each_number_that_is_known():
    factor = Finding(Fact("factor_fitted"), Estimate(0.8, 1.2, 1.6))
    none = Finding(Fact("bias_unknown"))
    observed = Lesson(12, 0, (), factor, none).observed("b" * 64)
    assert (observed.offset_factor.low, observed.offset_factor.high) == (0.8, 1.6)
    assert observed.bias_c is None
    assert Lesson(12, 0, (), none, none).observed("b" * 64) is None


# ------------------------------------------------------------------ the next one
def spread(low, central, high):
    """An offset on 10 x 20 cells of 10 m by column."""
    rows = [np.broadcast_to(each, (10, 20)) for each in (low, central, high)]
    return raster(np.stack(rows), 10.0)


PLOTS = gpd.GeoDataFrame(
    {"name": ["West", "East"]},
    geometry=[
        box(WEST, NORTH - 100, WEST + 100, NORTH),
        box(WEST + 100, NORTH - 100, WEST + 200, NORTH),
    ],
    crs=CRS,
)


def column(place):
    return int((place.east - WEST) // 10)


def test_the_first_hangs_where_the_prediction_spreads_most():
    # Colder at worst by .1 °C with each column, as is warmer at best in the west.
    steps = np.arange(20.0)
    found = places(spread(-0.1 * steps, -0.05 * steps, 0.0 * steps), PLOTS, [])
    first, second, third = found
    assert column(first) == 19
    assert first.offset_c == pytest.approx((-1.9, -0.95, 0.0))
    assert (first.plot, first.bed, first.in_bed) == ("East", None, False)
    # The middle of a cell: 195 m east; 15° east is the middle of the zone.
    assert first.east == WEST + 195.0
    assert first.longitude == pytest.approx(15.0, abs=0.01)
    # The next is that whose spread is farthest from both 1.9 and none: .9 or 1 ...
    assert column(second) in (9, 10)
    # ... and the third between two of these.
    assert column(third) in (4, 5, 14, 15)


STRIP = PLOTS.iloc[:1].assign(geometry=[box(WEST, NORTH - 30, WEST + 200, NORTH - 20)])


def one_row(**columns):
    """Offsets of no width but in some columns, of which each has a range."""
    ends = np.zeros((3, 20))
    for at, values in columns.items():
        ends[:, int(at[1:])] = values
    return spread(*ends)


def test_the_width_of_a_range_counts_and_not_its_middle():
    # From -1 to 1 °C it is 2 wide, from -1.5 to 0 1.5, from 1 to 2 °C 1.
    field = one_row(c2=(-1, -0.1, 1), c9=(-1.5, -1.4, 0), c16=(1, 1.5, 2))
    found = places(field, STRIP, [])
    assert [column(each) for each in found] == [2, 16, 9]
    # The strip is the third row: its middle is 25 m south of the corner.
    assert {each.north for each in found} == {NORTH - 25.0}
    assert found[0].offset_c == (-1.0, -0.1, 1.0)


def test_thirty_metres_are_just_far_enough():
    field = one_row(c2=(-1, -0.5, 0), c5=(0, 0.5, 1), c7=(0, 0.3, 0.8))
    # Columns 2 and 5 are 30 m apart, 5 and 7 twenty.
    assert [column(each) for each in places(field, STRIP, [])] == [2, 5]


def test_ground_that_is_colder_and_ground_that_is_warmer_swing_to_other_sides():
    # A swing of 1 °C to the colder side in the west, known; as wide to the warmer side in
    # the east is two degrees from it.
    west = np.arange(20) < 10
    central = np.where(west, -0.5, 0.5)
    low, high = np.where(west, -1.0, 0.0), np.where(west, 0.0, 1.0)
    known = np.array([[WEST + 15.0, NORTH - 50.0]])
    (first, *more) = places(spread(low, central, high), PLOTS, [], known)
    assert first.plot == "East"
    assert more == []  # all ground has been seen then


def test_none_hangs_nearer_than_thirty_metres_to_another():
    steps = np.arange(20.0)
    known = np.array([[WEST + 185.0, NORTH - 55.0]])
    found = places(spread(-0.1 * steps, -0.05 * steps, 0.0 * steps), PLOTS, [], known)
    at = np.array(
        [[WEST + 185.0, NORTH - 55.0], *[(each.east, each.north) for each in found]]
    )
    gaps = np.hypot(*(at[:, np.newaxis] - at).T)
    assert gaps[np.triu_indices(len(at), 1)].min() >= 30.0


def test_a_place_is_named_by_the_bed_it_lies_in_or_the_nearest():
    steps = np.arange(20.0)
    field = spread(-0.1 * steps, -0.05 * steps, 0.0 * steps)
    (first, *_) = places(field, PLOTS, [])

    def bed(name, west_m):
        return SimpleNamespace(
            name=name,
            outline=box(
                first.east + west_m,
                first.north - 1,
                first.east + west_m + 2,
                first.north + 1,
            ),
        )

    (found, *_) = places(field, PLOTS, [bed("Far", -60), bed("Near", -10)])
    assert (found.bed, found.in_bed) == ("Near", False)
    (found, *_) = places(field, PLOTS, [bed("Far", -60), bed("Here", -1)])
    assert (found.bed, found.in_bed) == ("Here", True)
