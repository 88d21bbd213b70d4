"""The sun over a place, kept once for all sites of a user: it hangs on no site.

What is kept needs no pvlib, which takes longer to load than most of what a plan asks it.
"""

from collections.abc import Callable, Sequence
from dataclasses import fields
from datetime import date
from functools import cache, lru_cache
from typing import Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.cache import Arrays, of_user
from layers import sunlight
from layers.sunlight import Place, SkyLight, SunPath, SunTable

SkyForm = Literal["isotropic", "hay-davies"]


def path(
    days: Sequence[date], place: Place, step_minutes: float = sunlight.STEP_MINUTES
) -> SunPath:
    """Sun's positions over whole days; see `sunlight.sun_path`.

    Parameters
    ----------
    days
        Days of the calendar.
    place
        Where the sun is seen from.
    step_minutes
        Between positions; it must divide a day.

    Raises
    ------
    ValueError
        When there is no day, or the step does not divide a day.
    """

    def compute() -> Arrays:
        return _arrays(sunlight.sun_path(days, place, step_minutes))

    return _path(_kept("sun path", place, [*map(str, days), step_minutes], compute))


def clear_sky(
    days: Sequence[date], place: Place, step_minutes: float, sky_light: SkyForm
) -> tuple[SunPath, SkyLight]:
    """Sun's positions over whole days, and what a cloudless sky sends then.

    Parameters
    ----------
    days
        Days of the calendar.
    place
        Where the sun is seen from; its height thins the air.
    step_minutes
        Between positions; it must divide a day.
    sky_light
        How light of the clear sky is spread over it, as in `sunlight.clear_sky`.

    Raises
    ------
    ValueError
        When there is no day, the step does not divide a day, or the sky light is unknown.
    """

    def compute() -> Arrays:
        found = sunlight.sun_path(days, place, step_minutes)
        return _arrays(found) | vars(sunlight.clear_sky(found, place, sky_light))

    asked: list[str | float] = [*map(str, days), step_minutes, sky_light]
    kept = _kept("clear sky", place, asked, compute)
    light = SkyLight(**{each.name: kept.pop(each.name) for each in fields(SkyLight)})
    return _path(kept), light


def _arrays(path: SunPath) -> Arrays:
    return vars(path) | {
        "times_utc": _ticks(path.times_utc),
        "step_hours": np.array(path.step_hours),
    }


def _path(kept: Arrays) -> SunPath:
    times = pd.DatetimeIndex(_times(kept.pop("times_utc"), "UTC"))
    step_hours = float(kept.pop("step_hours"))
    return SunPath(times_utc=times, step_hours=step_hours, **kept)


@cache
def clear_table(place: Place, sectors: int, year: int, sky_light: SkyForm) -> SunTable:
    """Light of clear skies; asked for with and without tunnels, and for each what if.

    Parameters
    ----------
    place
        Where the sky is seen from.
    sectors
        Number of sectors of the skylines, four or more.
    year
        Any year serves: the sun's path hardly differs.
    sky_light
        How light of the clear sky is spread over it, as in `sunlight.clear_sky`.

    Raises
    ------
    ValueError
        When there are fewer than four sectors, or the sky light is unknown.
    """

    def compute() -> Arrays:
        path, sky = _clear_year(place, year, sky_light)
        return vars(sunlight.tabulate(path, sky, sectors, place.convergence_deg))

    return SunTable(**_kept("sun table", place, [sectors, year, sky_light], compute))


# Of one place, tables are made for several numbers of sectors.
_clear_year = lru_cache(maxsize=1)(sunlight.clear_year)


def rise_and_set(
    days: Sequence[date], latitude_deg: float, longitude_deg: float, time_zone: str
) -> pd.DataFrame:
    """When the sun rises and sets on some days; see `sunlight.rise_and_set`.

    Parameters
    ----------
    days
        Days of the calendar of the time zone.
    latitude_deg, longitude_deg
        Of the place, north and east positive.
    time_zone
        Its name in the IANA database.

    Returns
    -------
    times
        One row a day, columns `sunrise` and `sunset`, in the time zone; missing on days
        without one.
    """

    def compute() -> Arrays:
        found = sunlight.rise_and_set(days, latitude_deg, longitude_deg, time_zone)
        return {
            name: _ticks(pd.DatetimeIndex(pd.to_datetime(found[name], utc=True)))
            for name in found
        }

    place = Place(latitude_deg, longitude_deg, 0.0, 0.0)
    kept = _kept("sun rise", place, [*map(str, days), time_zone], compute)
    return pd.DataFrame({name: _times(at, time_zone) for name, at in kept.items()})


def _kept(
    stage: str,
    place: Place,
    asked: Sequence[str | float],
    compute: Callable[[], Arrays],
) -> Arrays:
    inputs = {"place": vars(place), "asked": list(asked)}
    return of_user().reuse(stage, inputs, compute)


def _ticks(times: pd.DatetimeIndex) -> npt.NDArray[np.int64]:
    """Nanoseconds of UTC, those of a missing time too."""
    # Plain numbers, as what is kept is read without unpickling anything.
    ticks: npt.NDArray[np.int64] = times.as_unit("ns").asi8
    return ticks


def _times(ticks: npt.NDArray[np.int64], time_zone: str) -> pd.DatetimeIndex:
    found = pd.DatetimeIndex(ticks.view("datetime64[ns]"), tz="UTC")
    return found.tz_convert(time_zone)
