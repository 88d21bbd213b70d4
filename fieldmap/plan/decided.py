"""All that is decided of a place as it is: tunnels, beds, crops, jobs, purchases and pegs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd

from fieldmap import analyse
from fieldmap.analyse.bed_means import BedMeans, bed_means
from fieldmap.analyse.cold_air import barriers, flow_lines, pockets
from fieldmap.analyse.cold_air.flow_lines import FlowLine
from fieldmap.analyse.fields import Analysis
from fieldmap.analyse.light.standing_things import standing_things
from fieldmap.cache import Store
from fieldmap.cache.digest import digest
from fieldmap.decide import (
    crop_plan,
    marks,
    materials,
    ranking,
    tunnels,
    weekly_jobs,
    what_if,
)
from fieldmap.decide.calendar import (
    direct_sun,
    in_tunnels,
    planting_dates,
    soil_warming,
)
from fieldmap.decide.crop_plan import CropPlan
from fieldmap.decide.crop_plan.milp import kept_best
from fieldmap.decide.layout import cautions
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.choose import Layout, as_tunnels_see_it, choose_layouts
from fieldmap.decide.layout.fill import fill_plots
from fieldmap.decide.layout.hints import hints
from fieldmap.decide.layout.past_beds import History
from fieldmap.decide.marks import MarkComparison
from fieldmap.decide.materials import Materials
from fieldmap.decide.pegging.site_pegs import Staking, peg_site
from fieldmap.decide.tunnels import SiteOption, TunnelPlace, TunnelSet, TunnelSites
from fieldmap.decide.tunnels import light as tunnel_light
from fieldmap.decide.weekly_jobs import Schedule
from fieldmap.errors import PlanError, problem
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.settings import Files, Settings
from fieldmap.model.site import Site

# True of every plan.
CAUTIONS = (
    Fact("frost_advice_is_odds"),
    Fact("windy_frost_reverses_order"),
    Fact("buried_lines"),
    Fact("pipes_and_overhead_lines"),
    Fact("loads_on_tunnels"),
    Fact("closed_tunnels_overheat"),
)
CELLS_BEYOND = 2  # a gradient, and reading between cells


@dataclass(frozen=True, kw_only=True)
class Decided:
    """All that is decided of a place as it is, whatever changes of it are asked about.

    Attributes
    ----------
    site
        With what stood on today's beds last year.
    means
        What each bed gets of the fields of the analysis, in the order of `beds`.
    dates
        When crops can go out on each bed, in the order of `beds`.
    crop_plan
        What goes where, through the year.
    layouts
        Which way beds run on each plot, or part of one, and why.
    tunnel_choices
        Sets of places for tunnels that differ; `tunnels` is one of them.
    nondominated_tunnels
        Places for each size that no other beats.
    tunnel_light
        Light on the floor of each of `tunnels` by the bearing it could have.
    tunnel_dates
        When crops can go out inside each of `tunnels`, see `in_tunnels`.
    tunnel_sun_mj_m2_day
        By tunnel: light of its ground without it, January first.
    materials
        What to buy and cut.
    plots_in_grass
        Plots on which nothing is made this year, with the number of their beds.
    stakes
        How each field is pegged.
    weekly_jobs
        The year's jobs by week.
    cold_pockets
        Polygons in the site's CRS, see `pockets.find`.
    sun_spells
        From when to when each bed, by name, is in direct sun on the day that
        `site.toml` names; empty where it names none.
    warnings
        What could not be known or done, then cautions.
    flow_lines
        Ways that cold air runs on the shown ground; none where none was let run.
    cold_air_barriers
        Things on the shown ground that cold air stands behind.
    marks
        What the grower saw on the ground, beside what was computed.
    today
        The day of planning; None where none was given.
    """

    site: Site
    means: BedMeans
    beds: tuple[ranking.RankedBed, ...]
    dates: planting_dates.Dates
    crop_plan: CropPlan
    weekly_jobs: Schedule
    layouts: tuple[Layout, ...]
    tunnels: tuple[TunnelPlace, ...]
    tunnel_choices: tuple[TunnelSet, ...]
    nondominated_tunnels: tuple[SiteOption, ...]
    tunnel_light: tuple[tunnel_light.Curve, ...]
    tunnel_dates: planting_dates.Dates
    tunnel_sun_mj_m2_day: list[list[float]]
    materials: Materials
    plots_in_grass: Mapping[str, int]
    stakes: Staking
    cold_pockets: gpd.GeoDataFrame
    sun_spells: Mapping[str, direct_sun.Spells]
    warnings: tuple[Fact, ...]
    flow_lines: tuple[FlowLine, ...] = ()
    cold_air_barriers: tuple[barriers.Barrier, ...] = ()
    marks: tuple[MarkComparison, ...] = ()
    today: date | None = None


class Placed(NamedTuple):
    """What stands where, and the ground with it."""

    present: what_if.Present
    dates: planting_dates.Dates
    found: TunnelSites
    tunnels: tuple[TunnelPlace, ...]
    light: tuple[tunnel_light.Curve, ...]
    dates_within: planting_dates.Dates
    tunnel_sun_mj_m2_day: list[list[float]]
    layouts: tuple[Layout, ...]
    rolls: list[bool]
    sun_spells: Mapping[str, direct_sun.Spells]
    remarks: tuple[Fact, ...]


def placed_on(site: Site, ground: Analysis, store: Store, progress: Progress) -> Placed:
    """Tunnels on the ground as it is, then beds beside them and in their shade."""
    files = site.settings.files
    progress(Fact("step_bearings"))
    layouts = choose_layouts(site, ground)
    progress(Fact("step_tunnels"))
    found = tunnels.find(as_tunnels_see_it(site, layouts), ground, store, progress)
    places = _chosen(found.sets, site.settings.tunnel_choice)
    # Beds come after: how they are laid out has no say in it.
    asked = site.without_what_ifs
    settings = asked.settings.model_copy(update={"beds": None})
    seen = replace(asked, settings=settings)
    places, light, within, sun = store.recall(
        "looked_into",
        digest((seen, ground, places)),
        partial(_looked_into, seen, ground, places, store),
    )
    there = site.surroundings, site.season
    analysis = beside_tunnels(ground, places, *there, store, progress)
    progress(Fact("step_beds"))
    taken = [tunnels.working_space(at.outline) for at in places]
    filled = fill_plots(site, analysis, layouts, taken)
    beds = filled.beds
    day = site.settings.sun.day
    history = History(site.past_beds, site.own_beds, beds)
    stood, of_history = history.stood(files.last_year, site.last_year)
    site = replace(site, last_year=stood)
    outlines = [bed.outline for bed in beds]
    means = bed_means(analysis, outlines, site.plots.geometry, store)
    spells = [] if day is None else direct_sun.spells(site, analysis, beds, day)
    return Placed(
        what_if.Present(site, analysis, means, beds, places),
        planting_dates.compute(site, means, beds),
        found,
        places,
        light,
        within,
        sun,
        filled.layouts,
        [bed.name in filled.roll_over for bed in beds],
        {bed.name: here for bed, here in zip(beds, spells, strict=day is not None)},
        (
            *found.warnings,
            *hints(site.settings, list(site.plots["name"]), filled),
            *of_history,
        ),
    )


def beside_tunnels(
    ground: Analysis,
    places: Sequence[TunnelPlace],
    around: gpd.GeoDataFrame,
    season: SeasonYear,
    store: Store,
    progress: Progress,
) -> Analysis:
    """The ground in the shade of tunnels, which were placed on the light without them."""
    if not places:
        return ground
    with_tunnels = tunnels.standing(around, places)
    standing = standing_things(with_tunnels, southern=season.southern)
    reach = tunnels.shaded_by(places)
    return analyse.with_more_around(ground, standing, reach, store, progress)


def _looked_into(
    site: Site, ground: Analysis, places: Sequence[TunnelPlace], store: Store
) -> tuple[
    tuple[TunnelPlace, ...],
    tuple[tunnel_light.Curve, ...],
    planting_dates.Dates,
    list[list[float]],
]:
    """Tunnels with what is said of each, light by bearing, dates inside, sun by month."""
    light = tuple(tunnel_light.curve(site, ground, at, store) for at in places)
    sky = tunnels.Sky(ground.light, site.season, site.latitude)
    between = tunnels.shade_between(sky, places)
    to_floor = [
        curve.at(at.bearing_deg) for at, curve in zip(places, light, strict=True)
    ]
    floors = [tunnels.as_bed(at) for at in places]
    outlines = [floor.outline for floor in floors]
    # They take the light of the ground without them.
    means = bed_means(ground, outlines, site.plots.geometry, store.within("tunnels"))
    within = planting_dates.compute(
        *(site, means, floors),
        covers=in_tunnels.COVERS,
        light=np.array(to_floor) / 100,
    )
    said = (
        replace(
            at,
            reasons=(
                *at.reasons,
                tunnel_light.verdict(light[number], at.bearing_deg),
                *between[number],
                *in_tunnels.reasons(within, number),
            ),
        )
        for number, at in enumerate(places)
    )
    return tuple(said), light, within, means.sun_mj_m2_day.T.tolist()


def _chosen(sets: Sequence[TunnelSet], letter: str) -> tuple[TunnelPlace, ...]:
    """The tunnels of the choice that the grower made.

    Raises
    ------
    PlanError
        When there is no such choice here.
    """
    by_letter = {each.letter: each.places for each in sets}
    if letter in by_letter or not sets:
        return by_letter.get(letter, ())
    *most, last = by_letter
    there = problem("{most} and {last}", most=", ".join(most), last=last)
    raise PlanError(
        problem(
            "site.toml: tunnel_choice is {wanted!r}, but on this ground there is only"
            " {letters}; choose one of these",
            wanted=letter,
            letters=there if most else last,
        )
    )


def check_margin(margin_m: float, cell_size_m: float, files: Files) -> None:
    """Slope and sun at the rim of a plot need ground beyond it."""
    needed_m = CELLS_BEYOND * cell_size_m
    if margin_m < needed_m:
        raise PlanError(
            problem(
                "{file}: the heights end {margin} m from the plots; they must reach at"
                " least {needed} m beyond the plots, and a kilometre is better",
                file=files.elevation,
                margin=f"{margin_m:.0f}",
                needed=f"{needed_m:.0f}",
            )
        )


def decide(
    placed: Placed, store: Store, progress: Progress, today: date | None
) -> Decided:
    """Crops, jobs and all that is bought and pegged, for what stands where."""
    site, analysis, means, beds, places = placed.present
    settings, plots, dates = site.settings, site.plots.geometry, placed.dates
    turn_deg = site.convergence_deg
    near_line = cautions.near_overhead_lines(site.surroundings, beds)
    wet = soil_warming.wet_in_march(site.plots, site.seen, beds).tolist()
    first = cautions.of_each_bed(near_line, wet, placed.rolls)
    ranked = ranking.rank(means, beds, site.season, turn_deg, dates, first)
    progress(Fact("step_crop_plan"))
    allows = materials.hoop_ground(beds, near_line, settings.wind.storm_from_deg)
    floor = crop_plan.floor_beds(places, _floor_mj_m2_day(placed), settings.beds)
    inside = in_tunnels.beside(dates, placed.dates_within, [e.under for e in floor])
    stays = crop_plan.make(site, ranked, inside, kept_best(store), allows, floor)
    more = crop_plan.more_jobs(stays, (*ranked, *floor), dates.crops)
    bought = _bought(settings, placed, stays, dates.crops, site.weather.days)
    behind = barriers.find(site.surroundings, analysis, turn_deg)
    seen = marks.compare(site.marks, analysis, plots, site.spring_month)
    more += weekly_jobs.tunnel_jobs(bought.inside)
    planned = crop_plan.chosen(stays, ranked), stays.floor, more
    schedule = weekly_jobs.make(site, ranked, dates, today, *planned)
    in_grass = stays.plots_in_grass(beds, {place.plot for place in places})
    driven = _driven(site, analysis, (beds, places), bought, in_grass)
    return Decided(
        site=site,
        means=means,
        beds=tuple(ranked),
        dates=dates,
        crop_plan=stays,
        weekly_jobs=schedule,
        layouts=placed.layouts,
        tunnels=placed.tunnels,
        tunnel_choices=placed.found.sets,
        nondominated_tunnels=placed.found.nondominated,
        tunnel_light=placed.light,
        tunnel_dates=placed.dates_within,
        tunnel_sun_mj_m2_day=placed.tunnel_sun_mj_m2_day,
        materials=bought,
        plots_in_grass=in_grass,
        stakes=driven,
        cold_pockets=pockets.find(plots, site.surroundings, analysis, behind),
        sun_spells=placed.sun_spells,
        warnings=(
            *(*site.remarks, *site.weather.left_out, *analysis.remarks),
            *(*dates.remarks, *placed.remarks),
            *cautions.of_beds(beds, near_line, wet),
            *(each.fact for each in seen),
            *CAUTIONS,
        ),
        flow_lines=flow_lines.find(analysis, store),
        cold_air_barriers=behind,
        marks=seen,
        today=today,
    )


def _driven(
    site: Site,
    analysis: Analysis,
    things: tuple[Sequence[Bed], Sequence[TunnelPlace]],
    bought: Materials,
    in_grass: Mapping[str, int],
) -> Staking:
    """Pegs of all that is to be laid out and built this year."""
    hoops_m = {each.bed: each.hoops_m for each in bought.low_tunnels}
    beds, places = things
    made = [bed for bed in beds if bed.plot not in in_grass]
    staking = peg_site(
        *(site.plots, site.surroundings, analysis.terrain.smooth_m),
        *(site.convergence_deg, site.settings.beds.tape_m, (made, places, hoops_m)),
        site.untaped,
    )
    not_there = {bed.plot for bed in beds if not bed.exists}
    later = [(plot, beds) for plot, beds in in_grass.items() if plot in not_there]
    return staking._replace(waiting=tuple(later))


def _floor_mj_m2_day(placed: Placed) -> list[list[float]]:
    """Light on the floor of each tunnel, by month."""
    to_floor = [
        curve.at(place.bearing_deg) / 100
        for place, curve in zip(placed.tunnels, placed.light, strict=True)
    ]
    return [
        [sun * share for sun in months]
        for months, share in zip(placed.tunnel_sun_mj_m2_day, to_floor, strict=True)
    ]


def _bought(
    settings: Settings,
    placed: Placed,
    stays: CropPlan,
    crops: Sequence[Crop],
    days: pd.DataFrame,
) -> Materials:
    """What the covers of a crop plan and the tunnels ask for."""
    lights = _floor_mj_m2_day(placed)
    within = materials.within(placed.tunnels, lights, stays.floor, stays.stays)
    idle_m = {each.kind: each.idle_m for each in stays.covers if each.owned_m}
    inside = materials.plan_covers(
        settings, within, crops, days["tmax_c"], stays.season, idle_m
    )
    return materials.make(
        settings.materials,
        settings.covers,
        (*placed.present.beds, *stays.floor),
        placed.tunnels,
        stays.sheets,
        inside=inside,
        storm_from_deg=settings.wind.storm_from_deg,
    )
