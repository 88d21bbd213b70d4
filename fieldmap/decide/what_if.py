"""What each change of the surroundings would do: to beds, and to whoever is below."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from rasterio import features

from fieldmap import analyse as analysis_
from fieldmap.analyse import wind
from fieldmap.analyse.bed_means import bed_means
from fieldmap.decide import tunnels
from fieldmap.decide.calendar import monte_carlo
from fieldmap.decide.calendar import planting_dates as dates_
from fieldmap.model.estimate import Estimate
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural
from layers import coldair

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt
    from shapely.geometry.base import BaseGeometry

    from fieldmap.analyse.bed_means import BedMeans
    from fieldmap.analyse.cold_air_flow import Night
    from fieldmap.analyse.fields import Analysis
    from fieldmap.cache import Store
    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.layout.beds import Bed
    from fieldmap.decide.tunnels import TunnelPlace
    from fieldmap.model.fact import Progress
    from fieldmap.model.site import Alternative, Site

    Floats = npt.NDArray[np.float64]

# Shade reaches so many heights: a sun of 3° throws it that far. Nearer light is worked
# out anew, farther light is kept (a choice).
SHADE_HEIGHTS = 20.0
# Ground outside the plots counts as "below" where the layer grows so much deeper, over
# so much of it (choices, no source).
DEEPER_M = 0.3
DEEPER_AREA_M2 = 200.0
# Smaller changes than these are not told (choices).
LEAST_DEPTH_M = 0.1
LEAST_PERCENT = 2.0
WIND_STEP_PERCENT = 10.0  # of a bed's wind; finer is not known (a choice)
SLIVER_M = 0.02  # narrower pieces of a change are not drawn
MORE_WIND = {
    "prevailing": later("about {percent} % more usual wind"),
    "storm": later("about {percent} % more storm wind"),
    "summer_breeze": later("about {percent} % more summer breeze"),
}
LESS_WIND = {
    "prevailing": later("about {percent} % less usual wind"),
    "storm": later("about {percent} % less storm wind"),
    "summer_breeze": later("about {percent} % less summer breeze"),
}
MORE_WIND_ON_BED = {
    "prevailing": later(
        "Of the usual wind in the open, bed {bed} gets {percent} % more than now."
    ),
    "storm": later(
        "Of the storm wind in the open, bed {bed} gets {percent} % more than now."
    ),
    "summer_breeze": later(
        "Of the summer breeze in the open, bed {bed} gets {percent} % more than now."
    ),
}
LESS_WIND_ON_BED = {
    "prevailing": later(
        "Of the usual wind in the open, bed {bed} gets {percent} % less than now."
    ),
    "storm": later(
        "Of the storm wind in the open, bed {bed} gets {percent} % less than now."
    ),
    "summer_breeze": later(
        "Of the summer breeze in the open, bed {bed} gets {percent} % less than now."
    ),
}
CAUTION = later(
    "Opening a hedge or raising a bank sends cold air, wind and water to whoever is "
    "below. Ask the neighbour and the owner first; hedges and nesting birds may be "
    "protected by law; the shelter is lost for years."
)


@dataclass(frozen=True)
class BedChange:
    """What an alternative does to a bed: as it would be, less as it is.

    Attributes
    ----------
    cold_air_m
        Depth of the cold air, in the central run; negative is shallower.
    offset_c
        On a clear calm night, run by run and rate by rate; negative is colder.
    days_earlier
        By how much earlier the crop that stands in for all can go out, without cover:
        10th, 50th and 90th percentile of the paired draws; None where no dates are told
        or the crop can never go out.
    spring_light_percent
        Light of March (September in the south), per cent of what it is now.
    wind_share
        Change of the share of the open wind by `wind.WINDS`; NaN where not told.
    """

    bed: str
    cold_air_m: float
    offset_c: Estimate
    days_earlier: tuple[float, float, float] | None
    spring_light_percent: float
    wind_share: tuple[float, ...]


@dataclass(frozen=True)
class Outcome:
    """An alternative that was worked out.

    Attributes
    ----------
    changes
        What is done, in plain words.
    ground
        Of what is "gone" and of what is "new", where there is such.
    analysis, means
        The ground as it would be, with tunnels as they are, and what beds get of it.
    beds
        One change a bed, in the order of the beds.
    below
        What it does outside the plots, in plain words.
    """

    name: str
    changes: tuple[str, ...]
    ground: Mapping[str, BaseGeometry]
    analysis: Analysis
    means: BedMeans
    beds: tuple[BedChange, ...]
    below: str


def weigh(
    site: Site,
    known: tuple[Analysis, BedMeans],
    beds: Sequence[Bed],
    places: Sequence[TunnelPlace],
    dates: Dates,
    store: Store,
    progress: Progress,
) -> tuple[Outcome, ...]:
    """Every alternative of the site beside the place as it is, with the same tunnels."""
    analysis, now = known
    outcomes = []
    for alternative in site.alternatives:
        progress(_("what if: {change}").format(change=alternative.name))
        changed = replace(site, surroundings=alternative.surroundings)
        there = analysis_.with_other_surroundings(
            analysis,
            changed,
            tunnels.standing(changed, places),
            _reach(alternative),
            store.within(_folder(alternative)),
            progress,
        )
        means = bed_means(there, [bed.outline for bed in beds], site.plots.geometry)
        outcomes.append(
            Outcome(
                alternative.name,
                alternative.changes,
                gone_and_new(site, alternative),
                there,
                means,
                _bed_changes(
                    site, now, means, beds, _days_earlier(site, means, beds, dates)
                ),
                _below(site, analysis.cold_air.night, there.cold_air.night),
            )
        )
    return tuple(outcomes)


def gone_and_new(site: Site, alternative: Alternative) -> dict[str, BaseGeometry]:
    """Ground of what is "gone" and of what is "new", where there is such."""
    now = site.surroundings.union_all()
    there = alternative.surroundings.union_all()
    both = {"gone": now.difference(there), "new": there.difference(now)}
    wide = {sign: _without_slivers(shape) for sign, shape in both.items()}
    return {sign: shape for sign, shape in wide.items() if not shape.is_empty}


def _without_slivers(shape: BaseGeometry) -> BaseGeometry:
    """What is wider than the noise that cutting an outline leaves along its edges."""
    return shape.buffer(-SLIVER_M / 2, join_style="mitre").buffer(
        SLIVER_M / 2, join_style="mitre"
    )


def _folder(alternative: Alternative) -> str:
    """A name for the store that no name of the user's can spoil."""
    digest = hashlib.sha256(alternative.name.encode()).hexdigest()[:16]
    return f"what-if-{digest}"


def _reach(alternative: Alternative) -> tuple[float, float, float, float]:
    reach_m = SHADE_HEIGHTS * alternative.height_m
    west, south, east, north = alternative.changed.buffer(reach_m).bounds
    return west, south, east, north


def _bed_changes(
    site: Site,
    now: BedMeans,
    there: BedMeans,
    beds: Sequence[Bed],
    earlier: Floats,
) -> tuple[BedChange, ...]:
    if not beds:
        return ()
    deeper_m = there.cold_air_m - now.cold_air_m
    change_c = coldair.offset_range_c(
        there.answers_c - now.answers_c, now.central_answer
    )
    before, after = (each.sun_mj_m2_day[site.spring_month] for each in (now, there))
    percent = 100.0 * (after / before - 1.0)
    shares = there.wind_share - now.wind_share
    return tuple(
        BedChange(
            bed.name,
            float(deeper_m[number]),
            Estimate(*(float(value) for value in change_c[:, number])),
            _told_days(earlier[number]),
            float(percent[number]),
            tuple(float(value) for value in shares[:, number]),
        )
        for number, bed in enumerate(beds)
    )


def _days_earlier(
    site: Site, there: BedMeans, beds: Sequence[Bed], dates: Dates
) -> Floats:
    """Days gained by the crop that stands in for all, (beds, draws); paired draws."""
    if not dates.are_told or not beds:
        return np.empty((len(beds), 0))
    would_be = dates_.early_of_stand_in(site, there, beds)
    with np.errstate(invalid="ignore"):  # never less never is not known
        return dates.early_draws - would_be


def _told_days(earlier: Floats) -> tuple[float, float, float] | None:
    if not len(earlier) or not np.isfinite(earlier).all():
        return None
    low, central, high = monte_carlo.told(earlier).tolist()
    return low, central, high


def _below(site: Site, now: Night | None, there: Night | None) -> str:
    """Where outside the plots the cold air would lie deeper."""
    if now is None or there is None:
        return _(
            "What it does below is not known: the elevation reaches too little beyond "
            "the plots to let cold air run."
        )
    grid = now.depth_m
    more_m = there.depth_m.values - grid.values
    outside = features.geometry_mask(site.plots.geometry, grid.shape, grid.transform)
    deeper = outside & (more_m >= DEEPER_M)
    area_m2 = float(deeper.sum()) * grid.cell_size_m**2
    if area_m2 < DEEPER_AREA_M2:
        return _(
            "Outside the plots cold air would lie nowhere much deeper, as far as the "
            "ground is known."
        )
    row, col = np.nonzero(deeper)
    centre = site.plots.union_all().centroid
    east = grid.transform.c + (col.mean() + 0.5) * grid.cell_size_m - centre.x
    north = grid.transform.f - (row.mean() + 0.5) * grid.cell_size_m - centre.y
    bearing_deg = float(np.degrees(np.arctan2(east, north))) + site.convergence_deg
    units = site.settings.units
    return _(
        "Outside the plots cold air would lie up to {depth} deeper on {area}, mostly to "
        "the {direction} of the plots' middle."
    ).format(
        depth=quantities.length(float(more_m[deeper].max()), units),
        area=quantities.area(round(area_m2, -1), units),
        direction=quantities.direction(bearing_deg),
    )


def sentences(outcome: Outcome, units: quantities.Units) -> list[str]:
    """What an alternative does to the beds, in plain words: cold, light and wind."""
    if not outcome.beds:
        return []
    told = _cold_sentences(outcome, units)
    light = np.array([change.spring_light_percent for change in outcome.beds])
    index = int(np.abs(light).argmax())
    if abs(light[index]) >= LEAST_PERCENT:
        more = quantities.compared_light(float(light[index]) / 100.0)
        told.append(
            _("In early spring bed {bed} gets {light}.").format(
                bed=outcome.beds[index].bed, light=more
            )
        )
    for number, name in enumerate(wind.WINDS):
        more_wind = np.array([change.wind_share[number] for change in outcome.beds])
        index = int(np.abs(more_wind).argmax())
        if abs(100.0 * more_wind[index]) >= LEAST_PERCENT:  # NaN is not
            said = MORE_WIND_ON_BED if more_wind[index] > 0 else LESS_WIND_ON_BED
            told.append(
                _(said[name]).format(
                    bed=outcome.beds[index].bed,
                    percent=f"{100 * abs(more_wind[index]):.0f}",
                )
            )
    return told


def wind_words(change: BedChange) -> str:
    """Which winds would blow more or less on a bed; nothing where hardly any."""
    percent = WIND_STEP_PERCENT * np.rint(
        100.0 * np.array(change.wind_share) / WIND_STEP_PERCENT
    )
    return ", ".join(
        _((MORE_WIND if more > 0 else LESS_WIND)[name]).format(
            percent=f"{abs(more):.0f}"
        )
        for name, more in zip(wind.WINDS, percent, strict=True)
        if abs(more) > 0  # NaN is not
    )


def depth_words(change: BedChange, units: quantities.Units) -> str:
    """How much deeper or shallower the cold air would lie; nothing where hardly."""
    if abs(change.cold_air_m) < LEAST_DEPTH_M:
        return ""
    said = _("{depth} deeper") if change.cold_air_m > 0 else _("{depth} shallower")
    return said.format(depth=quantities.length(abs(change.cold_air_m), units))


def _cold_sentences(outcome: Outcome, units: quantities.Units) -> list[str]:
    """The beds that gain and lose most on a still night; one sentence if none does."""
    deeper_m = [change.cold_air_m for change in outcome.beds]
    ends = (int(np.argmin(deeper_m)), int(np.argmax(deeper_m)))
    told = []
    for index in dict.fromkeys(ends):
        change = outcome.beds[index]
        deeper = depth_words(change, units)
        if deeper:
            days = days_words(change)
            plants = quantities.night(*change.offset_c, units)
            told.append(
                _(
                    "On a still night cold air on bed {bed} would lie {deeper} than "
                    "now. For plants there: {change}."
                ).format(
                    bed=change.bed,
                    deeper=deeper,
                    change=f"{plants}; {days}" if days else plants,
                )
            )
    return told or [
        _("On a still night cold air on the beds would lie as it does now.")
    ]


def days_words(change: BedChange) -> str:
    """Days by which planting would move; nothing where no dates are told."""
    if change.days_earlier is None:
        return ""
    low, central, high = (round(days) for days in change.days_earlier)
    if low <= 0 <= high:
        return _("no date moves for certain")
    least, most = (f"{days}" for days in sorted((abs(low), abs(high))))
    if central > 0:
        return plural(
            "planted {number} day earlier ({least} to {most})",
            "planted {number} days earlier ({least} to {most})",
            abs(central),
            least=least,
            most=most,
        )
    return plural(
        "planted {number} day later ({least} to {most})",
        "planted {number} days later ({least} to {most})",
        abs(central),
        least=least,
        most=most,
    )
