"""When in a single day each bed is in direct sun."""

from collections.abc import Sequence
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.analyse.fields import Analysis, LightFields
from fieldmap.analyse.light import sun
from fieldmap.analyse.light.sky import sky_over
from fieldmap.decide.layout.beds import Bed, points_in
from fieldmap.model.site import Site
from layers import sunlight

Spells = tuple[tuple[str, str], ...]

STEP_MINUTES = 2.0
SPACING_M = 1.0  # of points on a bed (a choice)
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

    Parameters
    ----------
    site
        The site: its time zone, by whose clock the hours are, and its sky.
    analysis
        Its computed ground and light: skyline, and what stands around.
    beds
        Beds in the order of the answer; none gives an empty list.
    day
        The day that is looked at.

    Returns
    -------
    list
        For each bed its spells, ("07:42", "12:10") and so on; none when it has none.
    """
    if not beds:
        return []
    # Days run from midnight to midnight of the sun, so that no time zone cuts a spell.
    path = sun.path(
        [day], sky_over(site, analysis.terrain.smooth_m).place, STEP_MINUTES
    )
    clock = path.times_utc.tz_convert(ZoneInfo(site.time_zone))
    points = [points_in(bed, SPACING_M) for bed in beds]
    seen = _in_sun(analysis.light, np.concatenate(points), path)
    ends = np.cumsum([len(each) for each in points])
    return [
        _runs(of_bed.mean(axis=0) >= IN_SUN_FROM, clock)
        for of_bed in np.split(seen, ends[:-1])
    ]


def _in_sun(
    light: LightFields, points: npt.NDArray[np.float64], path: sunlight.SunPath
) -> npt.NDArray[np.bool_]:
    """Whether each point is in the sun at each time of a path, leaves counted as shade."""
    hills_deg = light.shade.skyline_deg
    at = (slice(None), *hills_deg.cell_of(*points.T))
    # Skylines are counted from grid north, the path of the sun from true north.
    turn_deg = light.shade.sky.place.convergence_deg
    over = sunlight.in_direct_sun(path, hills_deg.values[at], turn_deg)
    return over & (light.shade.passing(points, path) >= SHADE_UNDER)


def _runs(in_sun: npt.NDArray[np.bool_], clock: pd.DatetimeIndex) -> Spells:
    # With no sun at either end, a spell that touches it has two edges as any other.
    edges = np.flatnonzero(np.diff(np.concatenate([[False], in_sun, [False]])))
    return tuple(
        (clock[start].strftime("%H:%M"), clock[stop - 1].strftime("%H:%M"))
        for start, stop in edges.reshape(-1, 2)
        if stop - start >= SHORTEST_STEPS
    )
