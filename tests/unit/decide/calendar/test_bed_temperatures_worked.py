"""What is added to the station's nights on a bed, by hand and by the law of distance."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from fieldmap.decide.calendar import bed_temperatures, monte_carlo
from fieldmap.decide.calendar.bed_temperatures import Shifts, StationAir
from fieldmap.model.estimate import Estimate
from layers.cover import COVERS
from layers.nights import MIXED, STILL, WINDY
from layers.scatter import NO_SCATTER, Scatter

YEARS = np.arange(12)
SHARE = Estimate(0.1, 0.17, 0.24)


def draws(spread=NO_SCATTER):
    """Of a ground of which all differences are of the usual size: its factor is 1."""
    found = monte_carlo.sample(YEARS, 12, resample=False, spread=spread)
    return replace(found, size=np.full_like(found.size, 0.5))


def station(station_m=300.0, middle_m=340.0, place_m=None):
    return StationAir(station_m, middle_m, place_m, None, None)


def beds(places_m, answers_c, height_m=340.0):
    """Beds at places, on which nine answers for the offset are the same."""
    count = len(places_m)
    return SimpleNamespace(
        place_m=np.array(places_m, float),
        answers_c=np.broadcast_to(np.array(answers_c, float), (9, count)),
        height_m=np.full(count, height_m),
    )


def test_the_height_of_a_bed_counts_on_nights_that_are_not_still():
    """340 m against 300 m: 40 · -.0055 = -.22 °C, in steps of .05 °C -4 (-.20)."""
    made = beds([[0, 0]], [-1.0])
    found = bed_temperatures.of_beds(station(), made, ["none"], SHARE, draws())
    assert found.height.tolist() == [-4]
    assert not found.mixed_gain.any()
    assert not found.windy_gain.any()
    assert (found.offset == -10).all()
    # Middle of the plots against the station -.22 °C, and a bias of up to 1 °C.
    assert found.base.min() >= -13
    assert found.base.max() <= 8
    assert abs(np.median(found.base) + 2.2) < 2.0
    assert not found.unknown.any()


@pytest.mark.parametrize("name", ["medium_fabric", "light_fabric"])
def test_a_cover_is_worth_what_its_kind_of_night_says(name):
    """The same chance on each: triangles, so of mean (low + central + high) / 3."""
    names = ["none", name]
    at_station = station(place_m=(0.0, 0.0))
    made = beds([[0, 0]], [0.0], height_m=300.0)
    found = bed_temperatures.of_beds(at_station, made, names, SHARE, draws())
    low, central, high = COVERS[name].gain_c
    worth_c = 0.1 * (found.base[:, 1] - found.base[:, 0])
    assert (found.base[:, 0] == 0).all()
    assert low - 0.05 <= worth_c.min() <= worth_c.max() <= high + 0.05
    assert np.mean(worth_c) == pytest.approx((low + central + high) / 3, abs=0.1)
    windy_c, mixed_c = (
        0.05 * steps[:, 1] for steps in (found.windy_gain, found.mixed_gain)
    )
    assert 0 <= windy_c.min() <= windy_c.max() <= 0.5
    assert windy_c.mean() == pytest.approx(0.7 / 3, abs=0.03)  # 0, .2 and .5 °C
    # A fifth of the way from windy to still nights.
    between_c = 0.8 * windy_c + 0.2 * worth_c
    assert mixed_c == pytest.approx(between_c, abs=0.1)
    assert not found.windy_gain[:, 0].any()


def test_covers_move_still_mixed_and_windy_nights_by_their_own_worth():
    """Offset -1 °C, of which .2 is left on mixed nights; 100 m up: -.55 °C.

    Base .5 on still nights, .2 under the cover on mixed ones and .1 on windy ones.
    Still -1 + .5 = -.5; mixed -.55 - .2 + .2 = -.55; windy -.55 + .1 = -.45. Half, 3 in
    10 and 2 in 10: -.25 - .165 - .09 = -.505.
    """
    found = Shifts(
        offset=np.array([[-10]]),
        base=np.array([[0, 5]]),
        mixed_gain=np.array([[0, 4]]),
        windy_gain=np.array([[0, 2]]),
        mixed_share=np.array([0.2]),
        height=np.array([-11]),
        unknown=np.array([False]),
        scatter=NO_SCATTER,
    )
    kinds = np.zeros(3)
    kinds[[STILL, MIXED, WINDY]] = 0.5, 0.3, 0.2
    assert found.mean_c(kinds, 0)[1] == pytest.approx(-0.505)
    (rows, back) = found.places[0]
    offset, base, mixed, windy = rows[back[1, 0]]
    reach = found.reach
    assert (reach.offset[0] + offset, reach.base[0] + base) == (-10, 5)
    assert (reach.other[0] + mixed, reach.other[0] + windy) == (-11, -9)
    assert reach.other == (-15, -9)  # -.55 - .2 without a cover, -.55 + .1 with one


def test_a_mixed_night_keeps_its_share_of_the_offset():
    """.1 to .24 of -2 °C, most often .17: between -.2 and -.48 °C; mean (.51/3) · -2."""
    made = beds([[0, 0]], [-2.0])
    found = bed_temperatures.of_beds(station(), made, ["none"], SHARE, draws())
    left_c = [0.05 * found.left(draw, found.offset[draw])[0] for draw in range(200)]
    assert -0.5 <= min(left_c) <= max(left_c) <= -0.2
    assert np.mean(left_c) == pytest.approx(-0.34, abs=0.02)


def test_a_mean_of_nights_is_shifted_by_the_mean_of_its_kinds():
    """Half the nights still, 3 in 10 mixed, 2 in 10 windy; no height, share .2 of -2 °C.

    .5 · (-2) + .3 · (-.4) + .2 · 0 = -1.12 °C.
    """
    made = beds([[0, 0]], [-2.0], height_m=300.0)
    share = Estimate(0.2, 0.2, 0.2)
    at_station = station(place_m=(0.0, 0.0))
    found = bed_temperatures.of_beds(at_station, made, ["none"], share, draws())
    kinds = np.zeros(3)
    kinds[[STILL, MIXED, WINDY]] = 0.5, 0.3, 0.2
    assert found.mean_c(kinds, 0) == pytest.approx(-1.12)


@pytest.mark.parametrize(("away_m", "sd_c"), [(2.0, 0.141), (50.0, 0.627), (1e4, 1.0)])
def test_beds_of_one_offset_differ_by_what_their_distance_says(away_m, sd_c):
    """sd 1.0 √(1 − exp(−x/100 m)): √.0198 = .141, √.3935 = .627, 1.

    200 draws know it to about one part in twenty.
    """
    made = beds([[5e5, 5e6], [5e5 + away_m, 5e6]], [-1.0, -1.0])
    found = bed_temperatures.offsets_c(station(), made, draws(Scatter()))
    assert (found[:, 0] - found[:, 1]).std() == pytest.approx(sd_c, rel=0.15)
    assert found.std() == pytest.approx(0.71, rel=0.15)  # √.5
    assert found.mean() == pytest.approx(-1.0, abs=0.15)


@pytest.mark.parametrize(
    ("chance", "offset_c"), [(1 / 8, -1.449), (1 / 2, -2.0), (7 / 8, -2.449)]
)
def test_between_two_weights_an_answer_lies_on_a_line(chance, offset_c):
    """Weights of .4, .6 and .9 °C say -1, -2 and -3 °C; their logarithms are evenly apart.

    An eighth of a triangle lies before the middle of its first half: √(.4 · .6) = .4899 is
    (.4899 - .4) / .2 = .449 of the way to .6, and √(.6 · .9) = .7348 as much of that to .9.
    """
    made, usual = beds([[0, 0]], [0.0]), draws()
    made.answers_c = np.tile([-1.0, -2.0, -3.0], 3)[:, np.newaxis]
    drawn = replace(usual, rate=np.full_like(usual.rate, chance))
    found = bed_temperatures.offsets_c(station(), made, drawn)
    assert found == pytest.approx(np.full(found.shape, offset_c), abs=0.001)


@pytest.mark.parametrize(
    ("chance", "offset_c"),
    [(0.0, -1.0), (0.33, -1.0), (0.34, -2.0), (0.66, -2.0), (0.67, -3.0), (0.99, -3.0)],
)
def test_each_run_of_the_cold_air_is_drawn_as_often(chance, offset_c):
    """Three runs that say -1, -2 and -3 °C at any weight: a third of all chances each."""
    made, usual = beds([[0, 0]], [0.0]), draws()
    made.answers_c = np.repeat([-1.0, -2.0, -3.0], 3)[:, np.newaxis]
    drawn = replace(usual, run=np.full_like(usual.run, chance))
    found = bed_temperatures.offsets_c(station(), made, drawn)
    assert found == pytest.approx(np.full(found.shape, offset_c))


def test_no_size_of_a_ground_takes_an_answer_beyond_the_limits():
    """-3 °C, on a ground of the 99th percentile: exp(.55 · 2.326) = 3.59 times; -4 ends it.

    On one of the 1st percentile: -3 / 3.59 = -.83.
    """
    made, usual = beds([[0, 0]], [-3.0]), draws()
    for chance, offset_c in ((0.99, -4.0), (0.01, -0.83)):
        drawn = replace(usual, size=np.full_like(usual.size, chance))
        found = bed_temperatures.offsets_c(station(), made, drawn)
        assert found == pytest.approx(np.full(found.shape, offset_c), abs=0.01)


def test_a_bed_beside_the_station_hardly_differs_from_it():
    """Offsets are against the station's own place: at 2 m sd .141 °C, far off 1.0."""
    made = beds([[2.0, 0.0], [1e4, 0.0]], [0.0, 0.0])
    at_station = station(place_m=(0.0, 0.0))
    found = bed_temperatures.offsets_c(at_station, made, draws(Scatter()))
    assert found.std(axis=0) == pytest.approx([0.141, 1.0], rel=0.15)


def test_ground_that_is_not_known_is_marked():
    made = beds([[0, 0], [9, 9]], [np.nan, -1.0])
    found = bed_temperatures.of_beds(station(), made, ["none"], SHARE, draws())
    assert found.unknown.tolist() == [True, False]
