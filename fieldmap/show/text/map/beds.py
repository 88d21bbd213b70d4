"""What is shown of each bed."""

import math
from collections.abc import Iterable, Sequence
from datetime import date

from fieldmap.decide import daylight
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.map import classes, questions, spots

ABOUT_DATES = (
    later(
        "Dates are without a cover, for the first day on which both frost and soil allow it;"
        " in brackets is what the unknowns make of it, 8 times in 10. dates.csv has covers "
        "and autumn too."
    ),
    later(
        "Are spare plants or a cover ready? Then more risk may do: write it under [risk] in "
        "site.toml."
    ),
)

# Of light for tomatoes, and of sun in the halves of the day (1 morning, -1 afternoon).
ENOUGH = texts(__name__, "enough")

NEVER = later("no such frost")


def planted(group: str, beds: int, alike: int) -> str:
    """The group of a bed in the order of planting, and how many beds are in it.

    Places within a group are not told: people would read more into them than is known.

    Examples
    --------
    >>> planted("first", 52, 9), planted("last", 1, 1)
    ('Plant first (9 of 52 beds)', 'Plant last (1 of 1 bed)')
    """
    return plural(
        "{group} ({alike} of {number:,} bed)",
        "{group} ({alike} of {number:,} beds)",
        beds,
        group=_(classes.GROUPS[group]),
        alike=str(alike),
    )


def place(rank: int, beds: int, sharing: int) -> str:
    """A place in an order; beds that share it are no different."""
    if 1 < sharing == beds:
        return _("no real difference between beds")
    if 2 * sharing > beds:
        return _("no real difference between most beds")
    where = _("{rank} of {beds}").format(rank=names.ordinal(rank), beds=beds)
    if sharing == 1:
        return where
    return plural(
        "{place}, like {number} more",
        "{place}, like {number} more",
        sharing - 1,
        place=where,
    )


def sun(direct_hours: float, mj_m2: float, month: str, morning_share: float) -> str:
    """Sun on a bed, hours first, and when most of it comes if that is uneven."""
    told = _("{hours} a day in {month} ({light})").format(
        hours=spots.hours(direct_hours), month=month, light=spots.light(mj_m2)
    )
    when = spots.half_day(daylight.sunnier_half(morning_share))
    return f"{told}, {when}" if when else told


def sun_on(day: date) -> str:
    """Heading of the hours of one day."""
    return _("Sun on {day}").format(day=quantities.day(day.month, day.day))


def spells(times: Sequence[tuple[str, str]]) -> str:
    """From when to when the sun shines on most of a bed, were the day clear."""
    told = [_("{start} to {end}").format(start=start, end=end) for start, end in times]
    return ", ".join(told) or _("none")


def tomatoes(light_mol_m2_day: float, band: float, month: str, sky: str) -> str:
    """Whether a month has light enough for tomatoes."""
    answer = _(ENOUGH[daylight.enough_for_tomatoes(light_mol_m2_day, band)])
    said = (
        _("{answer}, on clear days of {month} ({light} mol/m² a day)")
        if sky == questions.CLEAR
        else _("{answer}, in {month} ({light} mol/m² a day)")
    )
    return said.format(answer=answer, month=month, light=f"{light_mol_m2_day:.0f}")


def ground(
    slope_percent: float,
    faces_deg: float,
    along_percent: float,
    units: quantities.Units,
) -> str:
    """How the ground of a bed falls, which way, and along the bed.

    Examples
    --------
    >>> ground(4.0, 175.0, 0.6, "metric")
    'drops 40 cm in 10 m to the south; along the bed: drops 6 cm in 10 m'
    >>> ground(0.2, float("nan"), 0.1, "metric")
    'level'
    """
    fall = quantities.fall(slope_percent, units)
    if math.isnan(faces_deg) or fall == quantities.fall(0.0, units):
        return fall
    return _("{fall} to the {direction}; along the bed: {along}").format(
        fall=fall,
        direction=quantities.direction(faces_deg),
        along=quantities.fall(along_percent, units),
    )


def wind_left(share: float) -> str:
    """What hedges and walls leave of the prevailing wind.

    Examples
    --------
    >>> wind_left(0.62), wind_left(float("nan"))
    ('62 % of the open wind', 'not known')
    """
    if math.isnan(share):
        return _("not known")
    return _("{percent} % of the open wind").format(percent=round(100 * share))


def rain_water(water_share: float) -> str:
    """What rain water does on a bed, by the shape of the ground.

    Examples
    --------
    >>> rain_water(0.0), rain_water(0.3), rain_water(0.97)
    ('does not gather', 'gathers on 30 % of it', 'gathers here')
    """
    if math.isnan(water_share):
        return _("not known")
    percent = 10 * round(10 * water_share)
    if percent == 0:
        return _("does not gather")
    if percent == 100:
        return _("gathers here")
    return _("gathers on {percent} % of it").format(percent=percent)


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
        return _("{crop}: not warm enough in the open in usual years").format(crop=crop)
    told = _("{crop} from {day}").format(crop=crop, day=quantities.day(*central))
    if high is None:
        until = _("{first} to never").format(first=quantities.day(*low))
    elif low == high:
        return told
    else:
        start = f"{low[1]}" if low[0] == high[0] else quantities.day(*low)
        until = _("{first} to {last}").format(first=start, last=quantities.day(*high))
    return f"{told} ({until})"


def risk(share: float, crops: Sequence[str]) -> str:
    """The risk that was taken with some crops."""
    return _("For {crops}, frost comes after the date told in at most {odds}.").format(
        crops=names.listed(crops), odds=quantities.odds(share)
    )


def over_years(share: float, years: int, chance: float) -> str:
    """What a risk comes to over several years."""
    return _(
        "{odds} means: over {years} years about {growers} in 10 growers meet at least one "
        "such year."
    ).format(
        odds=names.started(quantities.odds(share)),
        years=years,
        growers=round(10 * chance),
    )


def frost_day(day: tuple[int, int] | None) -> str:
    """A day of the year, or that there is none."""
    return _(NEVER) if day is None else quantities.day(*day)
