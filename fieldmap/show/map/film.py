"""The night as a short film: how deep the cold air lies, frame by frame."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

import numpy as np

from fieldmap.analyse import cold_air_flow
from fieldmap.show.map import views
from fieldmap.show.map.overlay import classes
from fieldmap.show.text import map

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from fieldmap.analyse.cold_air_flow import Night
    from fieldmap.model.raster import Raster
    from fieldmap.plan import Plan
    from fieldmap.show.map.overlay import LatLonBounds

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


def films(plan: Plan) -> list[Film]:
    """A film of each night, the place as it is first; none where no air was let run."""
    return [film(plan, name, night) for name, night in nights(plan)]


def nights(plan: Plan) -> list[tuple[str, Night]]:
    """The nights that are shown, by name: as it is, and after each change."""
    if plan.analysis.cold_air.night is None:
        return []
    changed = [(each.name, each.analysis.cold_air.night) for each in plan.what_ifs]
    return [
        (map.text("as_it_is"), plan.analysis.cold_air.night),
        *((name, night) for name, night in changed if night is not None),
    ]


def film(plan: Plan, name: str, night: Night) -> Film:
    """One night on the shown cells, in the classes and colours of the legend.

    The last frame is the end of the night, drawn as the still picture is.
    """
    shown = plan.analysis.cold_air.depth_m
    edges_m = views.depth_edges_m(plan.site.settings.units).tolist()
    frames, hours = [], []
    for hour, depth_m in _moments(night):
        depth = _on(shown, night, depth_m)
        overlay = classes(depth, edges_m, views.DEPTH_COLOURS)
        frames.append(overlay.uri)
        hours.append(round(hour, 2))
    told = [map.after_sunset(hour) for hour in hours]
    if night.steady:
        told[-1] = map.until_morning(told[-1])
    return {
        "name": name,
        "bounds": overlay.bounds,
        "frames": frames,
        "hours": hours,
        "told": told,
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


def _on(shown: Raster, night: Night, depth_m: npt.NDArray[np.floating]) -> Raster:
    """Depth on the cells of the still picture, read as the analysis reads it."""
    coarse = night.depths_m.with_values(depth_m.astype(np.float64))
    return shown.with_values(cold_air_flow.read_at(coarse, shown))
