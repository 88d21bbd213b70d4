"""Weeks in which a closed cover of film overheats on a clear day."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from fieldmap.decide.crop_plan import CropPlan
from fieldmap.decide.materials.cover_size import arc_m, is_film
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.season_year import WEEKS, SeasonYear, week_of
from fieldmap.model.settings import Materials
from layers import closed_air, warmth
from layers import evapotranspiration as water

Floats = npt.NDArray[np.float64]

# Over it leaves of most crops stop to grow and flowers drop (from memory).
TOO_HOT_C = 35.0
DARK_MJ = 0.01  # a month of less light has no ratios


class Sun(NamedTuple):
    """A clear day's light and the usual warmth of days.

    Attributes
    ----------
    noon_w_m2
        (weeks,) on level open ground.
    tmax_c
        (weeks,) usual maximum; NaN where it is not known.
    """

    noon_w_m2: Floats
    tmax_c: Floats


class SunnyBed(NamedTuple):
    """Where a bed lies, its width, and its light over that of level open ground by month."""

    plot: str
    width_m: float
    sun_ratio: Sequence[float]


class Venting(NamedTuple):
    """When one cover is too hot if it stays closed on a clear day.

    Attributes
    ----------
    name
        Of the tunnel, or of the plot whose low covers these are.
    kind
        Of the cover; "tunnel" for a walk-in tunnel.
    surely, maybe
        Weeks of the season-year: by all that is assumed, and by the warm end of it.
    lift_c
        Low, central and high: air inside over that outside, in the week of most lift.
    """

    name: str
    kind: str
    surely: tuple[int, ...]
    maybe: tuple[int, ...]
    lift_c: tuple[float, float, float]


def clear_days(
    tmax_c: pd.Series, latitude_deg: float, elevation_m: float, season: SeasonYear
) -> Sun:
    """Clear light and usual maxima of each week, at the fourth day of it.

    Parameters
    ----------
    tmax_c
        Daily maxima of the record [°C], by date; NaN for days that are not known.
    latitude_deg
        Latitude of the place, negative in the south.
    elevation_m
        Height of the place above the sea.
    season
        The year of growing, in which weeks are numbered.
    """
    middles = [
        pd.Timestamp(2025, *_middle_of(week, season)).day_of_year
        for week in range(WEEKS)
    ]
    above = water.extraterrestrial_mj_m2_day(latitude_deg, middles)
    light = water.clear_sky_mj_m2_day(above, elevation_m)
    known = tmax_c.dropna()
    weeks = (season.numbers(pd.DatetimeIndex(known.index)) - 1) // 7
    means = known.groupby(weeks).mean().reindex(range(WEEKS))
    noon = closed_air.noon_w_m2(light, warmth.day_length_h(latitude_deg, middles))
    return Sun(noon, np.asarray(means, float))


def find(
    stays: CropPlan,
    beds: Sequence[RankedBed],
    tunnels: tuple[Sequence[TunnelPlace], Sequence[Sequence[float]]],
    level_mj_m2_day: Floats,
    hoops: Materials,
    sun: Sun,
) -> tuple[Venting, ...]:
    """Weeks in which closed film overheats: walk-in tunnels, then film on low hoops.

    Parameters
    ----------
    stays
        What goes where, with its covers.
    beds
        Beds outdoors, with their light by month.
    tunnels
        Places of tunnels, and light on the ground of each by month [MJ/m² a day],
        January first.
    level_mj_m2_day
        (12,) light of level open ground [MJ/m² a day], January first.
    hoops
        What the grower chose: bend and height of hoops.
    sun
        Light of a clear day and usual maxima, week by week.
    """
    level = np.maximum(level_mj_m2_day, DARK_MJ)
    places, sun_mj = tunnels
    ratios = [(np.array(each) / level).tolist() for each in sun_mj]
    on_beds = {
        bed.bed.name: SunnyBed(
            bed.bed.plot,
            bed.bed.width_m,
            (np.array(bed.light.sun_mj_m2_day) / level).tolist(),
        )
        for bed in beds
    }
    return (
        *of_tunnels(places, ratios, sun, stays.season),
        *of_low_covers(stays, on_beds, hoops, sun),
    )


def of_tunnels(
    places: Sequence[TunnelPlace],
    sun_ratio: Sequence[Sequence[float]],
    sun: Sun,
    season: SeasonYear,
) -> Iterator[Venting]:
    """Each walk-in tunnel, through the whole year.

    Parameters
    ----------
    places
        Walk-in tunnels where they stand.
    sun_ratio
        For each tunnel the light of its ground over that of level open ground, by
        month, January first.
    sun
        Light of a clear day and usual maxima, week by week.
    season
        The year of growing, in which weeks are numbered.
    """
    for place, ratio in zip(places, sun_ratio, strict=True):
        size = place.size
        over_m = arc_m("half ellipse", size.width_m, size.height_m)
        # Both ends lose heat as the roof does.
        ends_m2 = 2 * np.pi / 4 * size.width_m * size.height_m
        cover = (over_m * size.length_m + ends_m2) / (size.width_m * size.length_m)
        light = sun.noon_w_m2 * _of_weeks(ratio, season)
        yield _venting(place.name, "tunnel", light, sun.tmax_c, cover, range(WEEKS))


def of_low_covers(
    stays: CropPlan, on_beds: Mapping[str, SunnyBed], hoops: Materials, sun: Sun
) -> Iterator[Venting]:
    """Film on beds, by plot and kind, in the weeks in which any of it lies there.

    The sunniest of its beds counts in each week.

    Parameters
    ----------
    stays
        What goes where, with its covers.
    on_beds
        Name of a bed outdoors -> its plot, width and light.
    hoops
        What the grower chose: bend and height of hoops.
    sun
        Light of a clear day and usual maxima, week by week.
    """
    lying: dict[tuple[str, str], dict[str, set[int]]] = {}
    for stay in stays.stays:
        for use in stay.covers:
            # Over a bed inside a tunnel it is the tunnel that overheats.
            if is_film(use.kind) and stay.bed in on_beds:
                beds = lying.setdefault((on_beds[stay.bed].plot, use.kind), {})
                weeks = range(week_of(use.from_day), week_of(use.to_day) + 1)
                beds.setdefault(stay.bed, set()).update(weeks)
    for (plot, kind), beds in lying.items():
        light = np.zeros(WEEKS)
        for bed, on in beds.items():
            here = sun.noon_w_m2 * _of_weeks(on_beds[bed].sun_ratio, stays.season)
            at = sorted(on)
            light[at] = np.maximum(light[at], here[at])
        width_m = max(on_beds[bed].width_m for bed in beds)
        cover = arc_m(hoops.hoop_bend, width_m, hoops.hoop_height_m) / width_m
        every = sorted(set().union(*beds.values()))
        yield _venting(plot, kind, light, sun.tmax_c, cover, every)


def _middle_of(week: int, season: SeasonYear) -> tuple[int, int]:
    """Month and day of the fourth day of a week; of the year's last in a short one."""
    return season.month_day(min(7 * week + 4, 365))


def _of_weeks(months: Sequence[float], season: SeasonYear) -> Floats:
    """A value of each month, by week."""
    found = [months[_middle_of(week, season)[0] - 1] for week in range(WEEKS)]
    return np.array(found)


def _venting(
    name: str,
    kind: str,
    light: Floats,
    tmax_c: Floats,
    cover: float,
    weeks: Sequence[int],
) -> Venting:
    ends = (closed_air.COOL_END, closed_air.MIDDLE, closed_air.WARM_END)
    cool, middle, warm = (closed_air.lift_c(light, cover, by) for by in ends)
    at = max(weeks, key=lambda week: float(middle[week]))
    return Venting(
        name,
        kind,
        tuple(week for week in weeks if tmax_c[week] + cool[week] >= TOO_HOT_C),
        tuple(week for week in weeks if tmax_c[week] + warm[week] >= TOO_HOT_C),
        (float(cool[at]), float(middle[at]), float(warm[at])),
    )
