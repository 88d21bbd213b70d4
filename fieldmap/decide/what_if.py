"""What each change of the surroundings would do: to beds, and to whoever is below."""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
from rasterio import features
from shapely.geometry.base import BaseGeometry

from fieldmap import analyse
from fieldmap.analyse import wind
from fieldmap.analyse.bed_means import BedMeans, bed_means
from fieldmap.analyse.cold_air import offset
from fieldmap.analyse.cold_air.flow import Night
from fieldmap.analyse.cold_air.offset import CENTRAL
from fieldmap.analyse.fields import Analysis
from fieldmap.analyse.light import shade
from fieldmap.analyse.light.standing_things import StandingThings, standing_things
from fieldmap.cache import Store
from fieldmap.decide import tunnels
from fieldmap.decide.calendar import monte_carlo, planting_dates
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.ranking.by_days import FEWEST_DAYS
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.estimate import STEP_C, Estimate
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.site import Alternative, Site
from layers import coldness
from layers.scatter import Scatter

Floats = npt.NDArray[np.float64]

# Ground outside the plots counts as "below" where it grows so much colder, over so much
# of it (choices, no source).
COLDER_C = 0.2
COLDER_AREA_M2 = 200.0
# Smaller changes than these are no real difference and are not shown (choices). Of cold,
# those that are nothing in the steps that people are shown, as between beds.
LEAST_C = STEP_C / 2
LEAST_PERCENT = 2.0
SLIVER_M = 0.02  # narrower pieces of a change are not drawn
CAUTION = Fact("who_is_below")


# What days by which planting moves come to: clearly "earlier" or "later"; "likely_later",
# though it may be earlier; likely none, but days are lost "at_worst"; else "none".
Move = Literal["earlier", "later", "likely_later", "at_worst", "none"]


def move_of(days_earlier: Estimate) -> Move:
    """What days by which planting would move come to, in whole days.

    Under two days is no difference. A gain counts where nothing is lost even at worst. A
    loss that is likely, or that cannot be a gain, is never hidden.

    Days are rounded first, so that what is shown obeys the rule: 1.6 days are two, and 0.4
    days lost at worst are none. Between beds days are not rounded (`ranking.by_days`), so
    that what is a clear gain here may be a tie there.

    Parameters
    ----------
    days_earlier
        By how much earlier one could plant; negative is later.

    Examples
    --------
    >>> move_of(Estimate(0.0, 4.0, 16.0)), move_of(Estimate(-10.0, -4.0, 1.0))
    ('earlier', 'likely_later')
    >>> move_of(Estimate(-10.0, -1.0, 0.0))
    'at_worst'
    >>> move_of(Estimate(-0.4, 1.6, 4.0))  # shown as "2 days earlier (0 to 4 days)"
    'earlier'
    """
    low, central, high = map(round, days_earlier)
    if low >= 0 and central >= FEWEST_DAYS:
        return "earlier"
    if central <= -FEWEST_DAYS:
        return "later" if high <= 0 else "likely_later"
    return "at_worst" if high <= 0 and low <= -FEWEST_DAYS else "none"


@dataclass(frozen=True)
class BedEffect:
    """What a change does to a bed: as it would be, less as it is.

    Attributes
    ----------
    cold_air_m
        Depth of the cold air, in the central run; negative is shallower.
    offset_c
        On a clear calm night, run by run and rate by rate; negative is colder.
    days_earlier
        By how much earlier the crop that stands in for all can go out, without cover:
        10th, 50th and 90th percentile of the paired draws; None where no dates are known
        or the crop can never go out.
    spring_light_percent
        Light of March (September in the south), per cent of what it is now.
    wind_share
        Wind -> change of the share of the open wind; NaN where not known.
    wind_share_now
        Wind -> share of the open wind as it is; NaN where not known.
    """

    bed: str
    cold_air_m: float
    offset_c: Estimate
    days_earlier: Estimate | None
    spring_light_percent: float
    wind_share: Mapping[str, float]
    wind_share_now: Mapping[str, float]

    @property
    def moves_cold_air(self) -> bool:
        """Whether it is worth showing how much colder or less cold it would be."""
        return abs(self.offset_c.central) >= LEAST_C

    @property
    def move(self) -> Move:
        """What the days by which planting moves come to."""
        return "none" if self.days_earlier is None else move_of(self.days_earlier)

    @property
    def changes_light(self) -> bool:
        """Whether it is worth showing how much more or less light there would be."""
        return abs(self.spring_light_percent) >= LEAST_PERCENT


@dataclass(frozen=True)
class Effect:
    """What a change of the surroundings would do.

    Attributes
    ----------
    changes
        What is done, in plain words.
    ground
        Of what is "gone" and of what is "new", where there is such.
    offset_c
        (3, rows, cols) as `ColdAirFields` has it, as it would be.
    means
        What beds would get of the ground, with tunnels as they are.
    beds
        In the order of the beds.
    facts
        What it does to cold, light and wind on the beds, and outside the plots.
    """

    name: str
    changes: tuple[Fact, ...]
    ground: Mapping[str, BaseGeometry]
    offset_c: Raster
    means: BedMeans
    beds: tuple[BedEffect, ...]
    facts: tuple[Fact, ...]


class Present(NamedTuple):
    """The place as it is, which a change is compared with."""

    site: Site
    analysis: Analysis
    means: BedMeans
    beds: Sequence[Bed]
    places: Sequence[TunnelPlace]


def compute_effect(
    present: Present,
    dates: Dates,
    alternative: Alternative,
    store: Store,
    progress: Progress,
) -> Effect:
    """A change beside the place as it is, with the same tunnels.

    Parameters
    ----------
    present
        The place as it is, its beds in the order of the answer.
    dates
        Early and late dates of the beds as they are; where none are known, no days are
        compared.
    alternative
        The change: the surroundings as they would be, and the ground it touches.
    store
        Keeps what was computed of the change, to use it again.
    progress
        Is called with each step as it begins.
    """
    site, analysis, now, beds, places = present
    progress(Fact("step_what_if", change=alternative.name))
    there = analysis_there(site, alternative, analysis, places, store, progress)
    reach = shade.reach(alternative.changed, alternative.height_m)
    kept_there = store.within(folder(alternative))
    outlines, plots = [bed.outline for bed in beds], site.plots.geometry
    # Beds that the change cannot shade keep their light: it takes longest to work out.
    means = bed_means(there, outlines, plots, kept_there, (now, reach))
    earlier = np.empty((len(beds), 0))
    if dates.known and beds:
        # On the same draws, so that what is not known of the place falls out of the difference.
        would_be = planting_dates.early_of_reference_crop(site, means, beds)
        with np.errstate(invalid="ignore"):  # never less never is not known
            earlier = dates.early_draws - would_be
    drawn = offset.drawn(site.offset_factor)
    of_beds = tuple(_bed_effects(now, means, beds, earlier, site.spring_month, drawn))
    nights = analysis.cold_air.night, there.cold_air.night
    below = _below(site.plots.geometry, nights, site.convergence_deg)
    return Effect(
        alternative.name,
        alternative.changes,
        gone_and_new(site.surroundings, alternative.surroundings),
        there.cold_air.offset_c,
        means,
        of_beds,
        _without_air(notable(of_beds), below),
    )


def analysis_there(
    site: Site,
    alternative: Alternative,
    analysis: Analysis,
    places: Sequence[TunnelPlace],
    store: Store,
    progress: Progress,
) -> Analysis:
    """The ground as a change would leave it, with the same tunnels; of light that of beds.

    Parameters
    ----------
    site
        The site as it is.
    alternative
        The change.
    analysis
        Of the place as it is.
    places
        Tunnels that stand, before and after the change.
    store
        Keeps what was computed of each change, to use it again.
    progress
        Is called with each step as it begins.
    """
    changed = replace(site, surroundings=alternative.surroundings)
    return analyse.with_other_surroundings(
        analysis,
        changed,
        _standing(alternative, places, site.season),
        store.within(folder(alternative)),
        progress,
    )


def _standing(
    alternative: Alternative, places: Sequence[TunnelPlace], season: SeasonYear
) -> StandingThings:
    """What would dim the beds' light."""
    around = tunnels.standing(alternative.surroundings, places)
    return standing_things(around, southern=season.southern)


class Likeliest(NamedTuple):
    """What a change would most likely do, before its range is known.

    Attributes
    ----------
    analysis
        The ground as it would be, see `analyse.likeliest_with_other_surroundings`.
    change_c
        (beds,): offset as it would be, less as it is; negative is colder.
    light_percent
        (beds,): light of March (September in the south), per cent more than now.
    """

    analysis: Analysis
    change_c: Floats
    light_percent: Floats


def likeliest_effect(
    present: Present, alternative: Alternative, store: Store
) -> Likeliest:
    """A change beside the place as it is: the middle of what `compute_effect` says.

    Parameters
    ----------
    present
        The place as it is, which the change is compared with.
    alternative
        The change: the surroundings as they would be, and the ground it touches.
    store
        Keeps what was computed, to use it again.
    """
    site, analysis, now, beds, places = present
    there = analyse.likeliest_with_other_surroundings(
        analysis,
        (site.plots, alternative.surroundings),
        _standing(alternative, places, site.season),
        site.offset_factor,
        store,
    )
    reach = shade.reach(alternative.changed, alternative.height_m)
    outlines = [bed.outline for bed in beds]
    means = bed_means(there, outlines, site.plots.geometry, store, (now, reach))
    before, after = (each.answers_c[each.central_answer] for each in (now, means))
    light = [each.sun_mj_m2_day[site.spring_month] for each in (now, means)]
    return Likeliest(there, after - before, 100.0 * (light[1] / light[0] - 1.0))


def gone_and_new(
    now: gpd.GeoDataFrame, there: gpd.GeoDataFrame
) -> dict[str, BaseGeometry]:
    """Ground of what is "gone" and of what is "new", where there is such."""
    before, after = now.union_all(), there.union_all()
    both = {"gone": before.difference(after), "new": after.difference(before)}
    wide = {sign: _without_slivers(shape) for sign, shape in both.items()}
    return {sign: shape for sign, shape in wide.items() if not shape.is_empty}


def _without_slivers(shape: BaseGeometry) -> BaseGeometry:
    """What is wider than the noise that cutting an outline leaves along its edges."""
    return shape.buffer(-SLIVER_M / 2, join_style="mitre").buffer(
        SLIVER_M / 2, join_style="mitre"
    )


def folder(alternative: Alternative) -> str:
    """A name for the store that no name of the user's can spoil."""
    digest = hashlib.sha256(alternative.name.encode()).hexdigest()[:16]
    return f"what-if-{digest}"


def _bed_effects(
    now: BedMeans,
    there: BedMeans,
    beds: Sequence[Bed],
    earlier: Floats,
    spring_month: int,
    drawn: coldness.Cases,
) -> Iterator[BedEffect]:
    deeper_m = there.cold_air_m - now.cold_air_m
    answers_c = there.answers_c - now.answers_c
    change_c = coldness.range_c(answers_c, now.central_answer, drawn)
    before, after = (each.sun_mj_m2_day[spring_month] for each in (now, there))
    percent = 100.0 * (after / before - 1.0)
    shares = there.wind_share - now.wind_share
    for number, bed in enumerate(beds):
        yield BedEffect(
            bed.name,
            float(deeper_m[number]),
            Estimate(*change_c[:, number].tolist()),
            _days(earlier[number]),
            float(percent[number]),
            dict(zip(wind.WINDS, shares[:, number].tolist(), strict=True)),
            dict(zip(wind.WINDS, now.wind_share[:, number].tolist(), strict=True)),
        )


def _days(earlier: Floats) -> Estimate | None:
    """Of the draws of one bed; None where one is not known."""
    if not len(earlier) or not np.isfinite(earlier).all():
        return None
    return Estimate(*monte_carlo.percentiles(earlier).tolist())


def notable(beds: Sequence[BedEffect]) -> Iterator[Fact]:
    """What a change does to the beds that gain and lose most: cold, light and wind."""
    if not beds:
        return
    change_c = [each.offset_c.central for each in beds]
    # Who gains most and who loses most; of one bed, or where all change alike, once.
    ends = dict.fromkeys((int(np.argmax(change_c)), int(np.argmin(change_c))))
    cold = [beds[at] for at in ends if beds[at].moves_cold_air]
    yield from (Fact("what_if_cold", effect=bed) for bed in cold)
    if cold:
        yield Fact("what_if_scatter", degrees_c=Scatter().night_c)
    else:
        yield Fact("what_if_cold_as_now")
    bed, percent = _most([each.spring_light_percent for each in beds], beds)
    if bed.changes_light:
        yield Fact("what_if_light", bed=bed.bed, light=percent / 100.0)
    for name in wind.WINDS:
        bed, percent = _most([100.0 * each.wind_share[name] for each in beds], beds)
        if abs(percent) >= LEAST_PERCENT:  # NaN is not
            sign = "more" if percent > 0 else "less"
            now_percent = 100.0 * bed.wind_share_now[name]
            yield Fact(
                f"what_if_{sign}_{name}",
                bed=bed.bed,
                now_percent=now_percent,
                then_percent=now_percent + percent,
            )


def _most(
    changes: Sequence[float], beds: Sequence[BedEffect]
) -> tuple[BedEffect, float]:
    """The bed that changes most, whichever way, and by how much."""
    at = int(np.abs(changes).argmax())
    return beds[at], float(changes[at])


def _without_air(facts: Iterable[Fact], below: Fact) -> tuple[Fact, ...]:
    """Facts; where no air was let run none of them says that nights stay as they are."""
    known = below.kind != "below_is_not_known"
    kept = [each for each in facts if known or each.kind != "what_if_cold_as_now"]
    return (*kept, below)


def _below(
    plots: gpd.GeoSeries,
    nights: tuple[Night | None, Night | None],
    convergence_deg: float,
) -> Fact:
    """Where outside the plots still nights would be colder than they are now."""
    now, there = nights
    if now is None or there is None:
        return Fact("below_is_not_known")
    grid = now.depth_m
    made_c = [
        coldness.coldness_c(each.depth_m.values, np.zeros(grid.shape))[CENTRAL]
        for each in (now, there)
    ]
    more_c = made_c[1] - made_c[0]
    # On the plots beds say it; here it is asked for whoever lives or grows below them.
    outside = features.geometry_mask(plots, grid.shape, grid.transform)
    colder = outside & (more_c >= COLDER_C)
    area_m2 = float(colder.sum()) * grid.cell_size_m**2
    if area_m2 < COLDER_AREA_M2:
        return Fact("below_is_no_colder")
    row, col = np.nonzero(colder)
    centre = plots.union_all().centroid
    east = grid.transform.c + (col.mean() + 0.5) * grid.cell_size_m - centre.x
    north = grid.transform.f - (row.mean() + 0.5) * grid.cell_size_m - centre.y
    return Fact(
        "below_is_colder",
        degrees_c=round(float(more_c[colder].max()), 1),
        area_m2=round(area_m2, -1),
        direction=float(np.degrees(np.arctan2(east, north))) + convergence_deg,
    )
