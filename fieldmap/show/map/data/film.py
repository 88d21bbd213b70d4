"""The night as a short film: how the cold comes, frame by frame."""

from collections.abc import Sequence
from typing import TypedDict

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.cold_air.flow import Night
from fieldmap.analyse.fields import ColdAirFields
from fieldmap.model.raster import Raster
from fieldmap.show.layer_styles import COLDER_C
from fieldmap.show.map.classed import colder_c
from fieldmap.show.map.overlay import LatLonBounds, classes
from fieldmap.show.text.map import cold_air as words
from fieldmap.show.text.map.labels import label

# Frames of one film: enough for a few seconds, few enough for a file that is mailed.
MOST_FRAMES = 18


class Film(TypedDict):
    """Pictures of one night in their order, the last one its end.

    `frames` are data: addresses of pictures that lie within `bounds` (south-west and
    north-east corner); `hours` are those after sunset, `told` the same in words.
    """

    name: str
    bounds: LatLonBounds
    frames: list[str]
    hours: list[float]
    told: list[str]


def films(
    now: ColdAirFields, changed: Sequence[tuple[str, ColdAirFields]]
) -> list[Film]:
    """A film of each night, the place as it is first; none where no air was let run."""
    if now.night is None:
        return []
    there = [(label("as_it_is"), now), *changed]
    return [
        film(name, cold_air.night, cold_air.offset_c)
        for name, cold_air in there
        if cold_air.night is not None
    ]


def film(name: str, night: Night, offset_c: Raster) -> Film:
    """One night on the shown cells, in the classes and colours of the legend.

    The last frame is the end of the night, drawn as the still picture is. Before, a
    place has as much of its cold as the root of its air has of what it will be.
    """
    style, end = COLDER_C, colder_c(offset_c)
    frames, hours = [], []
    at_end = _root(night, night.depth_m.values, end)
    for hour, depth_m in _moments(night):
        now = _root(night, depth_m, end)
        share = np.divide(now, at_end, out=np.zeros_like(now), where=at_end > 0)
        if hour == night.hours:
            share = np.ones_like(now)
        colder = end.with_values(end.values * share)
        overlay = classes(colder, style.edges, style.colours)
        frames.append(overlay.uri)
        hours.append(round(hour, 2))
    return {
        "name": name,
        "bounds": overlay.bounds,
        "frames": frames,
        "hours": hours,
        "told": [words.after_sunset(hour) for hour in hours],
    }


def _moments(night: Night) -> Sequence[tuple[float, npt.NDArray[np.floating]]]:
    """Hours after sunset and depths: bare ground, evenly chosen frames, and the end."""
    end_m = night.depth_m.values
    before = [at for at, hour in enumerate(night.frames_h) if hour < night.hours]
    count = min(len(before), MOST_FRAMES - 2)
    chosen = np.linspace(0, len(before) - 1, count).round().astype(int)
    return [
        (0.0, np.where(np.isnan(end_m), np.nan, 0.0)),
        *((night.frames_h[before[at]], night.frames_m[before[at]]) for at in chosen),
        (night.hours, end_m),
    ]


def _root(
    night: Night, depth_m: npt.NDArray[np.floating], shown: Raster
) -> npt.NDArray[np.float64]:
    """Root of a depth of air on the cells of the still picture, as the law has it."""
    coarse = night.depths_m.with_values(depth_m.astype(np.float64))
    depth = coarse.carried_on().read_on(shown)
    return np.asarray(np.sqrt(np.maximum(depth, 0.0)))
