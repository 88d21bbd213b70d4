"""Which crops want shade cloth, which grade, and from when to when."""

from collections.abc import Container, Iterable, Sequence
from typing import NamedTuple

import numpy as np
import pandas as pd

from fieldmap.decide.calendar.in_tunnels import month_spells
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from layers import sunlight
from layers.cover import COVERS

ON_SALE = ("shade_30", "shade_40", "shade_50")
# Days over its limit from which a month is hot for a crop: a choice, no source.
HOT_MONTH_DAYS = 5.0
# After planting, and before the first harvest (common practice, no source). What is sown
# is up within two weeks in the warm soil of hot months.
UP_DAYS, YOUNG_DAYS, FRUIT_DAYS = 14, 28, 42
# By how much more than usual an owned cloth may take, where it leaves the crop its best
# light: one grade of cloth (a choice).
GRADE_PERCENT = 10
MONTH_DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class Need(NamedTuple):
    """What one crop wants on some beds.

    Attributes
    ----------
    kind
        Of the cloth, or the fabric that serves as one, in the names of `layers.cover`;
        None where it needs none.
    months
        First and last hot month, 1-12; None without a cloth.
    """

    why: Fact
    kind: str | None = None
    months: tuple[int, int] | None = None


def hot_days(tmax_c: pd.Series, limit_c: float) -> tuple[float, ...]:
    """Usual number of days over a limit in each month, January first.

    From the share of known days of that month in all years; NaN where none is known.
    """
    # Counted in arrays: asked for every crop, bed and cloth.
    known = tmax_c.notna().to_numpy()
    month = pd.DatetimeIndex(tmax_c.index).month.to_numpy()[known] - 1
    is_over = tmax_c.to_numpy()[known] > limit_c
    days = np.bincount(month, minlength=12)
    over = np.bincount(month, weights=is_over, minlength=12)
    share = np.divide(over, days, out=np.full(12, np.nan), where=days > 0)
    return tuple((share * MONTH_DAYS).tolist())


def stage_days(
    crop: Crop, from_day: int, harvest_day: int, to_day: int
) -> tuple[int, int]:
    """First and last day of a stay on which a crop may want shade, both within.

    The last lies before the first where it never does.

    Parameters
    ----------
    crop
        The crop: the stage in which it is shaded, and whether it is set out or sown.
    from_day
        First day of the stay on the bed, a day number.
    harvest_day
        First day of its harvest, counted as `from_day`.
    to_day
        Last day of the stay, counted as `from_day`.
    """
    if crop.shade_percent.stage == "until_up":
        # What is set out is up.
        return from_day, from_day + UP_DAYS - 1 if not crop.is_set_out else from_day - 1
    if crop.shade_percent.stage == "young":
        return from_day, min(from_day + YOUNG_DAYS - 1, to_day)
    if crop.shade_percent.stage == "fruiting":
        return max(harvest_day - FRUIT_DAYS, from_day), to_day
    return from_day, to_day


def cloths(owned: Iterable[str]) -> list[tuple[str, int]]:
    """Cloth on sale and fabric that is owned, the lightest first.

    Returns
    -------
    list
        Kind, in the names of `layers.cover`, and the light that it takes [%].
    """
    fabrics = [kind for kind in dict.fromkeys(owned) if COVERS[kind].kind == "fabric"]
    taken = (
        (kind, round(100 * (1 - COVERS[kind].light_share.central)))
        for kind in (*fabrics, *ON_SALE)
    )
    return sorted(taken, key=lambda cloth: cloth[1])


def need(
    crop: Crop,
    tmax_c: pd.Series,
    light_mj_m2_day: Sequence[float],
    owned: Sequence[str] = (),
    *,
    season: SeasonYear,
    allowed: Container[str] | None = None,
) -> Need:
    """The lightest cloth that brings summer light down to the crop's best.

    Asked only in months that are too hot for the crop. No cloth takes more than the
    crop is usually given, or leaves less light than it wants. One that is owned goes
    before one that is not, though the light under it be still a little more than the
    best, or though it take a grade more than usual; and it may leave as much less than
    the least that is best as light is not known to (`sunlight.LIGHT_INTEGRAL_BAND`).

    Parameters
    ----------
    crop
        The crop: its limit of heat, its best light and the shade that it is usually
        given.
    tmax_c
        Daily maxima of the record [°C], by date; NaN for days that are not known.
    light_mj_m2_day
        Light on the beds [MJ/m² a day], twelve months, January first. That of July counts
        (January in the south), by which beds are put in order for shade too.
    owned
        Kinds of cover that are owned, in the names of `layers.cover`: fabric serves as
        light shade.
    season
        The year of growing, by which high summer is January in the south.
    allowed
        Kinds that the crop may get; None for all.
    """
    months = _hot_months(hot_days(tmax_c, crop.heat_limit_c.value))
    if months is None:
        return Need(Fact("shade_no_hot_month", crop=crop.name))
    most = crop.shade_percent.high
    # A crop that is given no shade gets none, whatever is owned.
    darker = [kind for kind in owned if kind in ON_SALE] if most else []
    usual = [
        (kind, percent)
        for kind, percent in cloths(owned)
        if percent <= most + (GRADE_PERCENT if kind in darker else 0)
        and (allowed is None or kind in allowed)
    ]
    if not usual:
        return Need(Fact("shade_takes_all_light", crop=crop.name))
    month, best = season.local_month(7), crop.best_light_mol
    mol = float(sunlight.daily_light_integral_mol(light_mj_m2_day[month - 1]))
    light = {"crop": crop.name, "month": month, "light_mol": mol}
    if mol <= best.high:
        return Need(Fact("shade_not_too_bright", most_mol=best.high, **light))
    under_mol = {kind: mol * (1 - percent / 100) for kind, percent in usual}
    spared_mol = best.low * sunlight.LIGHT_INTEGRAL_BAND
    bright = [
        kind
        for kind in under_mol
        if under_mol[kind] >= best.low - (spared_mol if kind in owned else 0.0)
    ]
    if not bright:
        return Need(Fact("shade_too_dark", crop=crop.name))
    enough = [kind for kind in bright if under_mol[kind] <= best.high]
    kind = _first(
        [kind for kind in enough if kind in owned],
        # The darkest: fabric that is not enough only holds the heat.
        [kind for kind in reversed(bright) if kind in owned and kind in ON_SALE],
        enough,
        bright[::-1],
    )
    why = Fact(
        "shade_wanted",
        cover=kind,
        under_mol=under_mol[kind],
        low_mol=best.low,
        high_mol=best.high,
        **light,
    )
    return Need(why, kind, months)


def _first(*choices: Sequence[str]) -> str:
    """The first of the first list that is not empty."""
    return next(kinds[0] for kinds in choices if kinds)


def _hot_months(days: Sequence[float]) -> tuple[int, int] | None:
    """First and last month of the hot spell around the hottest, across New Year too."""
    spells = month_spells([count >= HOT_MONTH_DAYS for count in days])
    if not spells:
        return None
    # A second spell, as either side of rains, goes without: one cloth, on and off once.
    hottest = int(np.nanargmax(days)) + 1
    return next(
        (first, last)
        for first, last in spells
        if (hottest - first) % 12 <= (last - first) % 12
    )
