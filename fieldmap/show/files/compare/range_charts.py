"""Ranges of several places on one scale, as parts of a page: a line, and a dot on it."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from fieldmap.review.compare import Comparison
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.review import compare as words

STEPS_DAYS = (1, 2, 5, 10, 20, 50, 100, 200)
MOST_STEPS = 4  # of a scale, whose labels have room on a phone


class Range(NamedTuple):
    """What one place comes to, by places on the scale from 0 to 1.

    Attributes
    ----------
    low, high
        Ends of the line; None where nothing is known of them.
    likely
        Of the dot; None where that day is not known or never comes.
    is_open
        The line runs on: in some years the day never comes.
    """

    name: str
    text: str
    low: float | None
    likely: float | None
    high: float | None
    is_open: bool


class Chart(NamedTuple):
    """One row of a comparison, drawn.

    Attributes
    ----------
    ticks
        Places from 0 to 1, and what stands there.
    """

    kind: str
    title: str
    ranges: tuple[Range, ...]
    ticks: tuple[tuple[float, str], ...]


def charts(found: Comparison, units: Units) -> list[Chart]:
    """Every row of days that are known of some place.

    Days of places whose years begin in other months have no common scale.
    """
    if len(set(found.seasons)) > 1:
        return []
    drawn = []
    for row in found.rows:
        if not words.is_of_days(row.kind):
            continue
        days = [
            [words.whole_day(row.kind, day) for day in each.estimate]
            for each in row.values
        ]
        known = [day for each in days for day in each if math.isfinite(day)]
        if not known:
            continue
        scale = _scale(min(known), max(known))
        said = words.marked_texts(row, found.seasons, units)
        drawn.append(
            Chart(
                row.kind,
                words.row_name(row),
                tuple(
                    _range(name, text, each, scale)
                    for name, text, each in zip(
                        words.names(found), said, days, strict=True
                    )
                ),
                tuple(
                    (_at(day, scale), words.on_scale(row.kind, day, found.seasons[0]))
                    for day in scale
                ),
            )
        )
    return drawn


def _scale(first: float, last: float) -> range:
    """Days at even steps, from the first or before it to the last or after it.

    Examples
    --------
    >>> list(_scale(131.0, 159.0))
    [130, 140, 150, 160]
    """
    step = next(
        (each for each in STEPS_DAYS if each * (MOST_STEPS - 1) >= last - first),
        STEPS_DAYS[-1],
    )
    begins = step * math.floor(first / step)
    ends = max(step * math.ceil(last / step), begins + step)
    return range(begins, ends + 1, step)


def _at(day: float, scale: range) -> float:
    return round((day - scale[0]) / (scale[-1] - scale[0]), 4)


def _range(name: str, text: str, days: Sequence[float], scale: range) -> Range:
    low, likely, high = (
        _at(day, scale) if math.isfinite(day) else None for day in days
    )
    is_open = low is not None and days[2] == math.inf
    return Range(name, text, low, likely, 1.0 if is_open else high, is_open)
