"""Which crops want shade cloth, which grade, and from when to when."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, month_name
from layers import sunlight
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fieldmap.model.crops import Crop
    from fieldmap.model.season_year import SeasonYear

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
    why
        A sentence.
    """

    kind: str | None
    percent: int | None
    months: tuple[int, int] | None
    why: str


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
    name: str


def cloths(owned: Iterable[str]) -> list[Cloth]:
    """Cloth on sale and fabric that is owned, the lightest first."""
    shades = [
        Cloth(f"shade_{n}", n, _("{percent} % shade cloth").format(percent=n))
        for n in GRADES
    ]
    fabrics = [
        Cloth(
            kind,
            round(100 * (1 - COVERS[kind].light_share.central)),
            _("{cover} high on hoops, its sides open").format(
                cover=quantities.cover(COVERS[kind].name)
            ),
        )
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
    summer = season.month_index(7)
    mol = float(sunlight.daily_light_integral_mol(light_mj_m2_day[summer]))
    best = crop.best_light_mol
    name = quantities.started(_(crop.name))
    month = month_name(summer + 1)
    months = _hot_months(hot_days(tmax_c, crop.heat_limit_c.value))
    usual = [each for each in cloths(owned) if each.percent <= crop.shade_percent.high]
    if months is None:
        why = _("{crop} needs no shade: no month is too hot for it.")
        return Need(None, None, None, why.format(crop=name))
    if not usual:
        why = _("{crop} needs no shade: it takes all the light it gets.")
        return Need(None, None, None, why.format(crop=name))
    if mol <= best.high:
        why = _(
            "{crop} needs no shade: {month} gives {light} mol/m² a day, and up to "
            "{most} is good for it."
        ).format(crop=name, month=month, light=f"{mol:.0f}", most=f"{best.high:g}")
        return Need(None, None, None, why)
    bright = [each for each in usual if mol * (1 - each.percent / 100) >= best.low]
    if not bright:
        why = _("{crop} needs no shade: the lightest cloth takes too much light.")
        return Need(None, None, None, why.format(crop=name))
    enough = [each for each in bright if mol * (1 - each.percent / 100) <= best.high]
    cloth = enough[0] if enough else bright[-1]
    under = mol * (1 - cloth.percent / 100)
    return Need(
        cloth.kind,
        cloth.percent,
        months,
        _(
            "{crop}: {cover} leaves {under} of {light} mol/m² a day in {month}; {low} "
            "to {high} is best."
        ).format(
            crop=name,
            cover=cloth.name,
            under=f"{under:.0f}",
            light=f"{mol:.0f}",
            month=month,
            low=f"{best.low:g}",
            high=f"{best.high:g}",
        ),
    )


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
