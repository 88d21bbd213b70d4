"""What is shown of each bed."""

import math
from collections.abc import Iterable, Sequence

from fieldmap.decide import daylight
from fieldmap.decide.ranking import Light
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.map import classes, spots
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase
from fieldmap.show.text.site.analysis import SKIES

ABOUT_DATES: Sequence[str] = texts(__name__, "dates")["about"]

# Of light for tomatoes, and of sun in the halves of the day (1 morning, -1 afternoon).
ENOUGH = texts(__name__, "enough")
CLEAR = SKIES[0]


def planted(group: str, beds: int, alike: int) -> str:
    """The group of a bed in the order of planting, and how many beds are in it.

    The place within a group is left out: people would read more into it than is known.

    Parameters
    ----------
    group
        "first", "no real difference", "in between" or "last".
    beds
        Number of all beds.
    alike
        Number of beds in this group.

    Examples
    --------
    >>> planted("first", 52, 9), planted("last", 1, 1)
    ('Plant first (9 of 52 beds)', 'Plant last (1 of 1 bed)')
    """
    return phrase(
        "bed_of_group", number=beds, group=_(classes.GROUPS[group]), alike=alike
    )


def place(rank: int, beds: int, sharing: int) -> str:
    """A place in an order; beds that share it are no different.

    Parameters
    ----------
    rank
        Place in the order, from 1.
    beds
        Number of all beds.
    sharing
        Number of beds at this place, this one included. Where most beds share it, that
        is said and no place is named.
    """
    if 1 < sharing == beds:
        return phrase("all_beds_alike")
    if 2 * sharing > beds:
        return phrase("most_beds_alike")
    where = phrase("bed_place", rank=names.ordinal(rank), beds=beds)
    if sharing == 1:
        return where
    return phrase("shared_bed_place", number=sharing - 1, place=where)


def sun(light: Light, month: int) -> str:
    """Sun on a bed in a month (0: January), hours first, and when if it is uneven."""
    said = phrase(
        "sun_on_bed",
        hours=spots.hours(light.direct_hours[month]),
        month=month + 1,
    )
    when = spots.half_day(daylight.sunnier_half(light.morning_share[month]))
    return f"{said}, {when}" if when else said


def spells(times: Sequence[tuple[str, str]]) -> str:
    """From when to when the sun shines on most of a bed, were the day clear."""
    said = [phrase("sun_spell", start=start, end=end) for start, end in times]
    return ", ".join(said) or _("none")


def tomatoes(light_mol_m2_day: float, band: float, month: int, sky: str) -> str:
    """Whether a month has light enough for tomatoes.

    Parameters
    ----------
    light_mol_m2_day
        Daily light integral of the month [mol/m² a day].
    band
        Part of the light by which it may be out, 0 to 1.
    month
        1 for January to 12.
    sky
        Whose light it is. Under a clear sky the sentence says that clouds are left out.
    """
    return phrase(
        "tomatoes_on_clear_days" if sky == CLEAR else "tomatoes",
        answer=_(ENOUGH[daylight.enough_for_tomatoes(light_mol_m2_day, band)]),
        month=month,
    )


def ground(
    slope_percent: float, faces_deg: float, along_percent: float, units: Units
) -> str:
    """How the ground of a bed falls, which way, and along the bed.

    Parameters
    ----------
    slope_percent
        Mean grade of the bed's ground [%].
    faces_deg
        Downhill bearing, clockwise from true north; NaN where the ground is level.
    along_percent
        Grade along the bed [%].
    units
        "metric" or "us", for drop and length.

    Examples
    --------
    >>> ground(4.0, 175.0, 0.6, "metric")
    'drops 40 cm in 10 m to the south. Along the bed: drops 5 cm in 10 m'
    >>> ground(0.2, float("nan"), 0.1, "metric")
    'level'
    """
    fall = quantities.fall(slope_percent, units)
    if math.isnan(faces_deg) or fall == quantities.fall(0.0, units):
        return fall
    return phrase(
        "bed_ground", units, fall=fall, direction=faces_deg, along=along_percent
    )


def wind_left(share: float) -> str:
    """What hedges and walls leave of the prevailing wind.

    Examples
    --------
    >>> wind_left(0.62)[:25], wind_left(float("nan"))
    ('62 % as strong as on open', 'not known')
    """
    if math.isnan(share):
        return _("not known")
    return phrase("wind_left", percent=round(100 * share))


def rain_water(water_share: float) -> str:
    """What rain water does on a bed, by the shape of the ground.

    Examples
    --------
    >>> rain_water(0.0), rain_water(0.3), rain_water(0.97)
    ('does not collect', 'collects on 30 % of the bed', 'collects here')
    """
    if math.isnan(water_share):
        return _("not known")
    percent = 10 * round(10 * water_share)
    kind = {0: "water_runs_off", 100: "water_gathers"}.get(percent, "water_on_part")
    return phrase(kind, percent=percent)


def out_from(crop: str, days: Iterable[tuple[int, int] | None]) -> str:
    """From when a crop can go out: low, central and high as month and day.

    Examples
    --------
    >>> out_from("tomato", [(5, 18), (5, 24), (6, 1)])
    'tomato from 24 May (18 May to 1 June)'
    >>> out_from("tomato", [(5, 18), (5, 24), (5, 30)])
    'tomato from 24 May (18 to 30 May)'
    """
    low, central, high = days
    if low is None or central is None:
        return phrase("crop_never_out", crop=crop)
    said = phrase("crop_out_from", crop=crop, day=central)
    if low == high:
        return said
    if high is None:
        until = phrase("day_to_never", first=quantities.day(*low))
    else:
        until = span_of_days(low, high)
    return f"{said} ({until})"


def span_of_days(
    low: tuple[int, int], high: tuple[int, int], *, kind: str = "day_to_day"
) -> str:
    """From a day to another, month and day; `kind` is of the sentence that has both.

    Examples
    --------
    >>> span_of_days((6, 2), (6, 3)), span_of_days((5, 28), (6, 3))
    ('2 to 3 June', '28 May to 3 June')
    """
    if low == high:
        return quantities.day(*low)
    first, last = _days(low, high)
    return phrase(kind, first=first, last=last)


def _days(low: tuple[int, int], high: tuple[int, int]) -> tuple[str, str]:
    """Two days; their month is said once, where the language puts it."""
    first, last = quantities.day(*low), quantities.day(*high)
    if low[0] != high[0]:
        return first, last
    if first.startswith(f"{low[1]}"):
        return f"{low[1]}", last
    return first, f"{high[1]}"


def over_years(share: float, years: int, chance: float) -> str:
    """What a risk comes to over several years.

    Parameters
    ----------
    share
        Risk of a single year, 0 to 1, not 0.
    years
        How many years are looked at.
    chance
        Chance that it happens in any of these years, 0 to 1. It is said as growers in
        ten.
    """
    growers = round(10 * chance)
    return phrase(
        "risk_over_years" if growers < 10 else "risk_nearly_sure",
        odds=quantities.odds(share),
        years=years,
        growers=growers,
    )


def harmed_at(limits_c: tuple[float, float], units: Units) -> str:
    """Limits of spring and of autumn.

    Examples
    --------
    >>> harmed_at((0.0, 0.0), "metric"), harmed_at((-7.0, -12.0), "metric")
    ('0 °C', '−7 °C, in autumn −12 °C')
    """
    spring, autumn = (quantities.temperature(each, units) for each in limits_c)
    if spring == autumn:
        return spring
    return phrase("harmed_at_both", units, spring=spring, autumn=autumn)


def frost_day(day: tuple[int, int] | None) -> str:
    """A day of the year, or that there is none."""
    return phrase("no_such_frost") if day is None else quantities.day(*day)
