"""Ground coloured by classes, each with its meaning in the legend."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.daylight import half_hours
from fieldmap.model.raster import Raster
from fieldmap.show.layer_styles import Classes
from fieldmap.show.map.overlay import Overlay, classes
from fieldmap.show.text.map.classes import sun_class
from fieldmap.show.text.map.labels import label

SUNNIEST_PERCENTILE = 98  # single bright cells do not count

# Lower and upper edge of a class (None where open) and its cells -> words.
Meaning = Callable[[float | None, float | None, "npt.NDArray[np.bool_]"], str]


class Swatch(NamedTuple):
    """A colour of the legend and what it means."""

    colour: str
    text: str
    pattern: str = ""


@dataclass(frozen=True)
class Picture:
    """What the map shows at one time: colours on the ground and their meaning."""

    sentence: str
    legend: tuple[Swatch, ...] = ()
    overlay: Overlay | None = None
    notes: tuple[str, ...] = ()


def colder_c(offset_c: Raster) -> Raster:
    """Degrees colder than the reference, from the range of an offset."""
    return offset_c.with_values(-offset_c.values[1])


def classed(raster: Raster, style: Classes, sentence: str, meaning: Meaning) -> Picture:
    """Colour each class that has a cell, and say what it means.

    `meaning` is given the lower edge of a class (None where that is 0), the upper edge
    (None for the last of all), and its cells.
    """
    number = _class_numbers(raster, style)
    uppers = (*style.edges[1:], None)
    legend = tuple(
        Swatch(colour, meaning(low or None, high, number == at))
        for at, (low, high, colour) in enumerate(
            zip(style.edges, uppers, style.colours, strict=True)
        )
        if (number == at).any()
    )
    overlay = classes(raster, style.edges, style.colours) if legend else None
    return Picture(sentence, legend, overlay)


def _class_numbers(raster: Raster, style: Classes) -> npt.NDArray[np.intp]:
    """Which class each cell is in; -1 below the first and where missing."""
    number = np.searchsorted(style.edges, raster.values, side="right") - 1
    number[~np.isfinite(raster.values)] = -1
    return number


def shares_of_sun(
    light: Raster,
    hours: npt.NDArray[np.floating],
    on_plots: npt.NDArray[np.bool_],
    style: Classes,
    sentence: Callable[[float, float], str],
) -> Picture:
    """Light as shares of that of the sunniest ground of the plots.

    `sentence` is given the light of that ground and its hours of direct sun.
    """
    known = light.values[on_plots & np.isfinite(light.values)]
    most = float(np.percentile(known, SUNNIEST_PERCENTILE)) if known.size else 0.0
    if most <= 0:  # a polar night, or nothing computed
        return Picture(sentence(0.0, 0.0))
    bright = on_plots & (light.values >= style.edges[-1] * most)
    shares = light.with_values(light.values / most)
    about = sentence(most, middle(hours[bright]))
    if _hours_rise(shares, hours, style):
        return classed(
            shares,
            style,
            about,
            lambda low, high, cells: sun_class(low, high, middle(hours[cells])),
        )
    # Hours that fall while light rises confuse: a slope towards the sun gets more
    # light in the same hours.
    bare = classed(shares, style, about, lambda low, high, _cells: sun_class(low, high))
    return replace(bare, notes=(label("hours_apart"),))


def _hours_rise(
    shares: Raster, hours: npt.NDArray[np.floating], style: Classes
) -> bool:
    """Whether the hours that are shown of each class of light never fall."""
    number = _class_numbers(shares, style)
    shown = [
        half_hours(middle(hours[number == at]))
        for at in range(len(style.edges))
        if (number == at).any()
    ]
    return all(low <= high for low, high in itertools.pairwise(shown))


def middle(values: npt.NDArray[np.floating]) -> float:
    """Median of what is known."""
    known = values[np.isfinite(values)]
    return float(np.median(known)) if known.size else 0.0
