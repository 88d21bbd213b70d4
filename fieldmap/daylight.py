"""When in a single day each bed is in direct sun."""

from __future__ import annotations

from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from fieldmap.analysis.light import place_of
from fieldmap.beds import points_in
from layers import sunlight

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    import numpy.typing as npt
    import pandas as pd

    from fieldmap.analysis import Analysis
    from fieldmap.beds import Bed
    from fieldmap.site import Site

    Spells = tuple[tuple[str, str], ...]

STEP_MINUTES = 2.0
SHORTEST_STEPS = 5  # a glimpse under ten minutes is none
# Leaves that let less than this through count as shade.
SHADE_UNDER = 0.5
IN_SUN_FROM = 0.5  # share of a bed that is in the sun when the bed is said to be


def spells(
    site: Site, analysis: Analysis, beds: Sequence[Bed], day: date
) -> list[Spells]:
    """From when to when each bed is in direct sun, by the clock of the place.

    A bed counts as in the sun while at least half of it is. Hours are those of a
    cloudless day.

    Returns
    -------
    list
        For each bed its spells, ("07:42", "12:10") and so on; none when it has none.
    """
    place = place_of(site, analysis.smooth_m)
    path = sunlight.sun_path([day], place, STEP_MINUTES)
    clock = path.times_utc.tz_convert(ZoneInfo(site.time_zone))
    return [
        _runs(_in_sun(analysis, bed, path, site.convergence_deg), clock) for bed in beds
    ]


def _in_sun(
    analysis: Analysis, bed: Bed, path: sunlight.SunPath, convergence_deg: float
) -> npt.NDArray[np.bool_]:
    """Whether most of a bed is in the sun, at each time of a path."""
    points = points_in(bed, 2 * analysis.elevation_m.cell_size_m)
    row, col = analysis.elevation_m.cell_of(*points.T)
    skyline = analysis.skyline
    seen = sunlight.in_direct_sun(path, skyline.solid_deg[:, row, col], convergence_deg)
    for crown in skyline.crowns:
        month = int(path.month[len(path.month) // 2])
        if crown.transmission[month] >= SHADE_UNDER:
            continue
        bottom, top = crown.bottom_deg[:, row, col], crown.top_deg[:, row, col]
        above = sunlight.in_direct_sun(path, top, convergence_deg)
        over_bottom = sunlight.in_direct_sun(path, bottom, convergence_deg)
        seen &= above | ~over_bottom
    return np.asarray(seen.mean(axis=0) >= IN_SUN_FROM)


def _runs(in_sun: npt.NDArray[np.bool_], clock: pd.DatetimeIndex) -> Spells:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], in_sun, [False]])))
    return tuple(
        (clock[start].strftime("%H:%M"), clock[stop - 1].strftime("%H:%M"))
        for start, stop in edges.reshape(-1, 2)
        if stop - start >= SHORTEST_STEPS
    )
