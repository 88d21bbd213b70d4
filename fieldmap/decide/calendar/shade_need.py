"""Which crops want shade cloth, which grade, and from when to when."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from layers import sunlight
from layers.cover import COVERS

GRADES = (30, 40, 50)  # shade cloth on sale: per cent of the light that it takes
# A month is hot for a crop from so many days over its limit: a choice, no source.
HOT_MONTH_DAYS = 5.0
MONTH_DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class Need(NamedTuple):
    """What one crop wants on some beds.

    Attributes
    ----------
    kind
        Of the cloth, or the fabric that serves as one, in the names of `layers.cover`;
        None where it needs none.
    percent
        Of the light that it takes; None where it needs none.
    months
        First and last hot month, 1-12; None without a cloth.
    """

    kind: str | None
    percent: int | None
    months: tuple[int, int] | None
    why: Fact


def hot_days(tmax_c: pd.Series, limit_c: float) -> tuple[float, ...]:
    """Usual number of days over a limit in each month, January first.

    From the share of known days of that month in all years; NaN where none is known.
    """
    known = tmax_c.dropna()
    share = (known > limit_c).groupby(pd.DatetimeIndex(known.index).month).mean()
    return tuple(
        float(share.get(month, np.nan)) * MONTH_DAYS[month - 1]
        for month in range(1, 13)
    )


class Cloth(NamedTuple):
    """What may serve as shade: its kind in `layers.cover`, the light it takes [%]."""

    kind: str
    percent: int


def cloths(owned: Iterable[str]) -> list[Cloth]:
    """Cloth on sale and fabric that is owned, the lightest first."""
    shades = [Cloth(f"shade_{percent}", percent) for percent in GRADES]
    fabrics = [
        Cloth(kind, round(100 * (1 - COVERS[kind].light_share.central)))
        for kind in dict.fromkeys(owned)
        if COVERS[kind].kind == "fabric"
    ]
    return sorted((*fabrics, *shades), key=lambda cloth: cloth.percent)


def need(
    crop: Crop,
    tmax_c: pd.Series,
    light_mj_m2_day: Sequence[float],
    owned: Iterable[str] = (),
    *,
    season: SeasonYear,
) -> Need:
    """The lightest cloth that brings summer light down to the crop's best.

    Asked only in months that are too hot for the crop. No cloth takes more than the
    crop is usually given, or leaves less light than it wants.

    Parameters
    ----------
    tmax_c
        Daily maxima of the record.
    light_mj_m2_day
        Of the beds, twelve months, January first. That of the month of most light
        counts, by which beds are put in order for shade too.
    owned
        Kinds of cover that are owned: fabric serves as light shade.
    """
    month = season.local_month(7)
    mol = float(sunlight.daily_light_integral_mol(light_mj_m2_day[month - 1]))
    best = crop.best_light_mol
    facts = {
        "crop": crop.name,
        "month": month,
        "light_mol": mol,
        "least_mol": best.low,
        "most_mol": best.high,
    }
    months = _hot_months(hot_days(tmax_c, crop.heat_limit_c.value))
    usual = [each for each in cloths(owned) if each.percent <= crop.shade_percent.high]
    bright = [each for each in usual if mol * (1 - each.percent / 100) >= best.low]
    if months is None:
        return _none("shade_no_hot_month", facts)
    if not usual:
        return _none("shade_takes_all_light", facts)
    if mol <= best.high:
        return _none("shade_not_too_bright", facts)
    if not bright:
        return _none("shade_too_dark", facts)
    enough = [each for each in bright if mol * (1 - each.percent / 100) <= best.high]
    cloth = enough[0] if enough else bright[-1]
    under_mol = mol * (1 - cloth.percent / 100)
    why = Fact("shade_wanted", cover=cloth.kind, under_mol=under_mol, **facts)
    return Need(cloth.kind, cloth.percent, months, why)


def _none(kind: str, facts: Mapping[str, Any]) -> Need:
    return Need(None, None, None, Fact(kind, **facts))


def _hot_months(days: Sequence[float]) -> tuple[int, int] | None:
    """First and last month of the hot spell around the hottest, across New Year too."""
    hot = [count >= HOT_MONTH_DAYS for count in days]
    if not any(hot):
        return None
    if all(hot):
        return 1, 12
    first = last = int(np.nanargmax(days))
    while hot[(first - 1) % 12]:
        first = (first - 1) % 12
    while hot[(last + 1) % 12]:
        last = (last + 1) % 12
    return first + 1, last + 1
