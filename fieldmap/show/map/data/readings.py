"""Grids that a finger on the map reads, in the order they are read out."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.fields import Analysis
from fieldmap.decide import daylight
from fieldmap.model.estimate import STEP_C, rounded_c
from fieldmap.model.raster import Raster
from fieldmap.show.kept import written
from fieldmap.show.layer_styles import WETNESS
from fieldmap.show.map.data import grids
from fieldmap.show.map.questions.light import of_sunniest
from fieldmap.show.text import quantities
from fieldmap.show.text.map import classes, spots
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

# What a finger reads, to this step: no finer than the numbers deserve.
CHANGE_STEP_C = 0.1
HOURS_STEP = 0.5
LIGHT_STEP_PERCENT = 5.0

Reading = dict[str, Any]
Values = npt.NDArray[np.floating]


def readings(
    now: Analysis,
    changed_c: Sequence[Raster],
    fall_percent: Raster,
    units: Units,
    *,
    by_station: bool,
) -> Iterator[Reading]:
    """All readings.

    `key` is the question they belong to and `at` which of its pictures: the month of
    the sun, 0 for cold air as it is and 1 and up for the changes.

    Parameters
    ----------
    now
        The place as it is.
    changed_c
        Offsets as each change of the surroundings would leave them, (3, rows, cols), in
        the order of the changes.
    fall_percent
        Grade of the smoothed ground [%], on the grid of the analysis.
    units
        "metric" or "us", for degrees and falls.
    by_station
        Whether offsets are against the weather station; else against the median of the
        plots.

    Yields
    ------
    reading
        One for each grid that a finger reads. A grid too large for the page has every
        n-th cell.
    """
    offsets_c = [_values(each) for each in (now.cold_air.offset_c, *changed_c)]
    said: dict[str, Any] = {"units": units, "by_station": by_station}
    for at, offset_c in enumerate(offsets_c):
        yield from written(
            "cold read",
            said | {"at": at, "offset_c": offset_c},
            partial(_cold_read, offset_c, units, at, by_station=by_station),
        )
    for at, (_low, central_c, _high) in enumerate(offsets_c[1:]):
        change_c = central_c - offsets_c[0][1]
        yield written(
            "change read",
            said | {"at": at, "change_c": change_c},
            partial(_change_read, change_c, units, at),
        )
    grounds = {
        "fall": fall_percent,
        "wetness": now.wetness_index,
        "hours": now.light.direct_hours,
        "morning": now.light.morning_share,
        "sun": now.light.sun_mj_m2_day,
    }
    yield from written(
        "ground read",
        said | {name: each.values for name, each in grounds.items()},
        lambda: list(_of_ground(now, fall_percent, units)),
    )


def _cold_read(
    offset_c: Values, units: Units, at: int, *, by_station: bool
) -> list[Reading]:
    return list(_cold(offset_c, units, at, spots.on_still_night(by_station=by_station)))


def _change_read(change_c: Values, units: Units, at: int) -> Reading:
    in_words = partial(spots.change, units=units)
    return _reading(("what-if", at), change_c, CHANGE_STEP_C, in_words)


def _of_ground(now: Analysis, fall_percent: Raster, units: Units) -> Iterator[Reading]:
    """What no change around the place changes."""
    yield _reading(
        ("steep", 0),
        _where_known(partial(_shown_percent, units=units), _values(fall_percent)),
        _fall_step_percent(units),
        lambda percent: quantities.fall(percent, units),
    )
    yield _reading(
        ("water", 0),
        _wetness_class(_values(now.wetness_index)),
        1.0,
        lambda at: classes.water_class(int(at)),
    )
    for month in range(12):
        yield from _sun(now, month)


def _values(raster: Raster) -> npt.NDArray[np.floating]:
    return grids.thinned(raster).values


def _reading(
    picture: tuple[str, int],
    values: npt.NDArray[np.floating],
    step: float,
    in_words: Callable[[float], str],
    lead: str = "",
) -> Reading:
    key, at = picture
    packed = grids.reading(values, step, in_words)
    return {"key": key, "at": at, "lead": lead, **packed}


def _where_known(function: Callable[[Values], Values], values: Values) -> Values:
    """A function of values; what is missing stays missing."""
    known = np.isfinite(values)
    found = np.full(values.shape, np.nan)
    found[known] = function(values[known].astype(np.float64))
    return found


def _wetness_class(wetness: npt.NDArray[np.floating]) -> npt.NDArray[np.floating]:
    number = np.searchsorted(WETNESS.edges[1:], wetness, side="right").astype(float)
    number[np.isnan(wetness)] = np.nan
    return number


def _fall_step_percent(units: Units) -> float:
    """5 cm in 10 m, or an inch in 10 ft."""
    return 100 / 120 if units == "us" else 0.5


def _shown_percent(fall_percent: Values, units: Units) -> Values:
    """A fall in the steps in which people read it: as the tables say it of a bed."""
    finest = _fall_step_percent(units)
    step = finest if units == "us" else np.where(fall_percent < 5.0, finest, 1.0)
    shown = step * np.round(fall_percent / step)
    return np.where(fall_percent < quantities.LEVEL_PERCENT, 0.0, shown)


def _cold(offset_c: Values, units: Units, at: int, lead: str) -> Iterator[Reading]:
    """How cold it likely is, and in places like this."""
    cold = ("cold", at)
    low_c, central_c, high_c = (_where_known(rounded_c, each) for each in offset_c)
    yield _reading(cold, central_c, STEP_C, partial(spots.likely, units=units), lead)
    known = np.isfinite(central_c)
    pairs, number = np.unique(
        np.stack([low_c[known], high_c[known]]), axis=1, return_inverse=True
    )
    which = np.full(central_c.shape, np.nan)
    which[known] = number.ravel()
    ends = pairs.T.tolist()

    def in_places_like_this(at: float) -> str:
        low_c, high_c = ends[int(at)] if ends else (0.0, 0.0)
        return spots.in_places_like_this(low_c, high_c, units)

    yield _reading(cold, which, 1.0, in_places_like_this, lead)


def _sun(analysis: Analysis, month: int) -> Iterator[Reading]:
    """Hours, half of the day and light of a month."""
    light = analysis.light
    lead = phrase("in_month", month=month + 1)
    share = np.minimum(of_sunniest(_values(light.sun_mj_m2_day)[month]), 1.0)
    half = _where_known(daylight.sunnier_half, _values(light.morning_share)[month])
    for values, step, in_words in (
        (_values(light.direct_hours)[month], HOURS_STEP, spots.hours),
        (half, 1.0, spots.half_day),
        (100.0 * share, LIGHT_STEP_PERCENT, spots.light),
    ):
        yield _reading(("sun", month), values, step, in_words, lead)
