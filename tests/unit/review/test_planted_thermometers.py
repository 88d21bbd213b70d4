"""Planted truths: what thermometers that are right, and one that lies, teach of them.

Each of 100 seeded draws plants how the ground runs against the station (evenly within the
degree either way that dates allow for) and how far places lie apart (log-normal, .55);
readings scatter by 1 °C from night to night.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up import NORTH, WEST, raster
from scipy.special import ndtri

from fieldmap.analyse.cold_air import offset
from fieldmap.model.thermometer_readings import Thermometers
from fieldmap.review import thermometers
from fieldmap.review.thermometers import StillNights, learn

DRAWS, NIGHTS, COUNT = 100, 30, 6
COLDER_C = np.linspace(0.0, 2.0, COUNT)
HERE_C = np.linspace(0.0, 2.0, 5)  # places that are asked about
WITHOUT_80_C = 0.8  # 8 of 10 of an even law within 1 °C
LIKELY = ndtri(0.9) / ndtri(0.95)  # of a range at 90 %, its part at 80 %
HUNG = Thermometers(
    file="thermometers.csv",
    names=tuple(f"T{number}" for number in range(COUNT)),
    at_m=np.column_stack([WEST + 20 * COLDER_C, np.full(COUNT, NORTH - 50.0)]),
    height_m=np.full(COUNT, 1.5),
    is_shielded=np.ones(COUNT, bool),
    minima_c=pd.DataFrame(),
)


def warm(low_c):
    low_c[:, 2] += 5.0


def stuck(low_c):
    low_c[:, 2] = 1.0


def one_entry(low_c):
    low_c[3, 2] = -40.0


def right(_low_c):
    pass


@pytest.fixture(scope="module")
def learnt():
    """What each way to spoil readings comes to: errors, ranges, refusals by draw."""
    with pytest.MonkeyPatch.context() as patch:

        def coldness_at(_night, easting, _northing):
            cold_c = (np.asarray(easting) - WEST) / 20.0
            return np.tile(cold_c, (offset.LIKELIEST + 1, 1))

        patch.setattr(thermometers.offset, "coldness_at", coldness_at)
        return {
            each.__name__: outcome(each) for each in (right, warm, stuck, one_entry)
        }


def outcome(spoil):
    found = [one_draw(seed, spoil) for seed in range(DRAWS)]
    error_c, without_c, holds, wide_c, refused = map(np.array, zip(*found, strict=True))
    return SimpleNamespace(
        error_c=np.sqrt(np.mean(error_c)),
        without_c=np.sqrt(np.mean(without_c)),
        holds=int(holds.sum()),
        widest_c=wide_c.max(),
        refused=refused,
    )


def one_draw(seed, spoil):
    rng = np.random.default_rng(seed)
    bias_c, factor = rng.uniform(-1, 1), np.exp(0.55 * rng.standard_normal())
    station_c = rng.normal(0.0, 3.0, NIGHTS)
    low_c = station_c[:, None] + bias_c - factor * COLDER_C
    low_c = low_c + rng.normal(0.0, 1.0, low_c.shape)
    spoil(low_c)
    ground = SimpleNamespace(
        night="a night",
        offset_c=raster(np.zeros((3, 10, 20)), 10.0),
        reference_c=np.zeros(offset.LIKELIEST + 1),
    )
    lesson = learn(HUNG, StillNights(low_c, station_c, 0), ground, from_station=False)
    known, times = lesson.bias.estimate, lesson.factor.estimate
    low, central, high = known or (0.0, 0.0, 0.0)
    times = 1.0 if times is None else times.central
    truth_c = bias_c - factor * HERE_C
    below, above = (
        (LIKELY * (central - low), LIKELY * (high - central))
        if known
        else (WITHOUT_80_C, WITHOUT_80_C)
    )
    return (
        np.mean((central - times * HERE_C - truth_c) ** 2),
        np.mean((0.0 - HERE_C - truth_c) ** 2),
        central - below <= bias_c <= central + above,
        below + above,
        len(lesson.refused),
    )


def test_six_right_thermometers_are_kept_and_halve_the_error(learnt):
    found = learnt["right"]
    assert (found.refused == 0).sum() >= 95
    assert found.error_c <= 0.5 * found.without_c


@pytest.mark.parametrize("how", ["warm", "stuck", "one_entry"])
def test_a_lie_is_refused_and_hardly_moves_the_plan(learnt, how):
    found = learnt[how]
    assert (found.refused >= 1).sum() >= 95
    assert found.error_c - learnt["right"].error_c < 0.3


@pytest.mark.parametrize("how", ["right", "warm", "stuck", "one_entry"])
def test_ranges_hold_the_truth_and_are_no_wider_than_without(learnt, how):
    assert 72 <= learnt[how].holds <= 88
    assert learnt[how].widest_c <= 2 * WITHOUT_80_C
