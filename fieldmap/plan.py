"""What fits together: tunnels, beds around them, their order, and how it was made."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from importlib import metadata
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import pandas as pd

from fieldmap import analyse
from fieldmap.analyse import ahead
from fieldmap.analyse.bed_means import BedMeans, bed_means
from fieldmap.analyse.cold_air import barriers, flow_lines, pockets
from fieldmap.analyse.cold_air.flow_lines import FlowLine
from fieldmap.analyse.fields import Analysis
from fieldmap.cache import Store
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
from fieldmap.decide.materials import Materials, watering
from fieldmap.decide.materials.watering import Watering
from fieldmap.decide.pegging.site_pegs import Staking, peg_site
from fieldmap.decide.tonight import dusk, evening_round, standing
from fieldmap.decide.tonight.evenings import Evenings
from fieldmap.decide.tonight.matrix import Matrix, coldest_by_month, matrix
from fieldmap.decide.tunnels import SiteOption, TunnelPlace, TunnelSet, TunnelSites
from fieldmap.decide.tunnels import light as tunnel_light
from fieldmap.decide.weekly_jobs import Schedule, venting
from fieldmap.errors import PlanError, problem
from fieldmap.model.crops import Crop
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.field_log import Happened
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


@dataclass(frozen=True)
class Plan:
    """Everything the hand-over is made from.

    Attributes
    ----------
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
    stakes
        How each field is pegged.
    weekly_jobs
        The year's jobs by week.
    what_ifs
        What each change of the surroundings that `site.toml` asks about would do.
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
    happened
        The field log on its beds, for whoever asks what stands there tonight.
    """

    site: Site
    analysis: Analysis
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
    stakes: Staking
    what_ifs: tuple[what_if.Effect, ...]
    cold_pockets: gpd.GeoDataFrame
    sun_spells: Mapping[str, direct_sun.Spells]
    warnings: tuple[Fact, ...]
    flow_lines: tuple[FlowLine, ...] = ()
    cold_air_barriers: tuple[barriers.Barrier, ...] = ()
    marks: tuple[MarkComparison, ...] = ()
    today: date | None = None
    happened: tuple[Happened, ...] = ()

    @cached_property
    def history(self) -> History:
        """Where lines of history files happened, beside its beds."""
        beds = [ranked.bed for ranked in self.beds]
        return History(self.site.past_beds, self.site.own_beds, beds)

    @cached_property
    def evenings(self) -> Evenings:
        """What the advice for any evening is made from."""
        site = self.site
        wanted = site.settings.crops
        soft = frozenset(crop.name for crop in wanted if crop.transplants == "soft")
        return Evenings(
            evening_round.evening_round(site, self.beds, self.tunnels),
            *(self.crop_plan, site.crops, self.happened, soft),
            standing.up_days(site.crops, site.weather.days, site.season),
            dusk.dusk_line(site.typical_year, site.time_zone),
            *(site.latitude, site.longitude, site.time_zone),
        )

    @cached_property
    def tonight(self) -> Matrix | None:
        """The sheet for the next evenings of frost; None where nothing stands."""
        return matrix(
            self.evenings,
            self.weekly_jobs.starts,
            coldest_by_month(self.site.weather.days["tmin_c"]),
            self.site.settings.units,
        )

    @cached_property
    def watering(self) -> Watering:
        """Litres a day by month, and drip, headers and pipe from the tap."""
        site = self.site
        beds = [*(bed.bed for bed in self.beds), *self.crop_plan.floor]
        here = watering.Here(
            site.latitude,
            self.means.middle_height_m,
            # Without cloud the light is that of clear days, and dries more than there is.
            self.means.open_sun_mj_m2_day if site.has_cloud else None,
            watering.taps(site.surroundings),
        )
        what = self.crop_plan, beds, site.crops, self.tunnels
        return watering.plan_water(*what, site.weather.days, here)

    @cached_property
    def venting(self) -> tuple[venting.Venting, ...]:
        """Weeks in which a closed cover overheats; none without a record."""
        site, height_m = self.site, self.means.middle_height_m
        if site.weather.days.empty:
            return ()
        tmax_c = site.weather.days["tmax_c"]
        sun = venting.clear_days(tmax_c, site.latitude, height_m, site.season)
        tunnel_sun = self.tunnels, self.tunnel_sun_mj_m2_day
        level, hoops = self.means.open_sun_mj_m2_day, site.settings.materials
        return venting.find(self.crop_plan, self.beds, tunnel_sun, level, hoops, sun)

    @property
    def made_with(self) -> Mapping[str, Any]:
        """Version, day of planning, settings and hashes of the inputs."""
        day = {} if self.today is None else {"today": self.today.isoformat()}
        return day | {
            "version": metadata.version("fieldmap"),
            "settings": self.site.settings.model_dump(mode="json"),
            "input_sha256": dict(sorted(self.site.input_hashes.items())),
        }


class _Placed(NamedTuple):
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


def make_plan(
    site: Site, store: Store, progress: Progress, today: date | None = None
) -> Plan:
    """A plan for a site: tunnels first, then beds around them, then their order.

    Parameters
    ----------
    site
        Everything that was read, in one metric CRS.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.
    today
        The day of planning, from which the list by week runs where the site names no
        other. None: from the year after the weather record.

    Raises
    ------
    PlanError
        When the known ground ends at the plots, `tunnel_choice` names no choice that
        there is, or a hoop is longer than a pipe.
    """
    there = (
        (each.surroundings, store.within(what_if.folder(each)))
        for each in site.alternatives
    )
    with ahead.nights(site, [(site.surroundings, store), *there]):
        placed = _placed(site, store, progress)
        return _made(placed, store, progress, today)


def make_present(
    site: Site, store: Store, progress: Progress
) -> tuple[what_if.Present, planting_dates.Dates]:
    """What changes of the surroundings are compared with; as a whole plan has it.

    Parameters
    ----------
    site
        Everything that was read, in one metric CRS.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.

    Returns
    -------
    present
        Site, analysis, beds with their means, and tunnels.
    dates
        First and last dates of the beds.

    Raises
    ------
    PlanError
        When the known ground ends at the plots, or `tunnel_choice` names no choice that
        there is.
    """
    with ahead.nights(site, [(site.surroundings, store)]):
        placed = _placed(site, store, progress)
    return placed.present, placed.dates


def _made(
    placed: _Placed, store: Store, progress: Progress, today: date | None
) -> Plan:
    """What takes longest to be known is asked for last."""
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
    driven = _driven(site, analysis, (beds, places), bought)
    effects = what_if.compute_effects(
        site, (analysis, means), beds, places, dates, store, progress
    )
    return Plan(
        site=site,
        analysis=analysis,
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
        stakes=driven,
        what_ifs=effects,
        cold_pockets=pockets.find(plots, analysis, behind),
        sun_spells=placed.sun_spells,
        warnings=(
            *(*site.remarks, *site.weather.left_out, *analysis.remarks),
            *(*dates.remarks, *placed.remarks),
            *cautions.of_beds(beds, near_line, wet),
            *(each.fact for each in seen),
            *(*CAUTIONS, *([what_if.CAUTION] if effects else [])),
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
) -> Staking:
    """Pegs of all that is to be laid out and built."""
    hoops = {each.bed: each.hoops for each in bought.low_tunnels}
    return peg_site(
        *(site.plots, site.surroundings, analysis.terrain.smooth_m),
        *(site.convergence_deg, site.settings.beds.tape_m, (*things, hoops)),
        site.untaped,
    )


def _floor_mj_m2_day(placed: _Placed) -> list[list[float]]:
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
    placed: _Placed,
    stays: CropPlan,
    crops: Sequence[Crop],
    days: pd.DataFrame,
) -> Materials:
    """What the covers of a crop plan and the tunnels ask for."""
    lights = _floor_mj_m2_day(placed)
    within = materials.within(placed.tunnels, lights, stays.floor, stays.stays)
    inside = materials.plan_covers(
        settings, within, crops, days["tmax_c"], stays.season
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


def _placed(site: Site, store: Store, progress: Progress) -> _Placed:
    """Tunnels on the ground as it is, then beds beside them and in their shade."""
    files = site.settings.files
    _check_margin(site.margin_m, site.elevation.cell_size_m, files)
    ground = analyse.analyse(site, store, progress)
    progress(Fact("step_bearings"))
    layouts = choose_layouts(site, ground)
    progress(Fact("step_tunnels"))
    found = tunnels.find(as_tunnels_see_it(site, layouts), ground, store, progress)
    places = _chosen(found.sets, site.settings.tunnel_choice)
    places, light, within, sun = _looked_into(site, ground, places, store)
    # Tunnels were placed on the light without them; beds lie in their shade.
    analysis = ground
    if places:
        standing, reach = tunnels.standing(site, places), tunnels.shaded_by(places)
        analysis = analyse.with_more_around(ground, standing, reach, store, progress)
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
    return _Placed(
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


def plans_of_what_ifs(plan: Plan) -> tuple[Plan, ...]:
    """The same beds with each change around made: their dates and order anew.

    Tunnels, what goes where, what is bought and the jobs by week stay those of the plan.
    """
    beds = [ranked.bed for ranked in plan.beds]
    plans = []
    for alternative, effect in zip(plan.site.alternatives, plan.what_ifs, strict=True):
        site = replace(
            plan.site, surroundings=alternative.surroundings, alternatives=()
        )
        dates = planting_dates.compute(site, effect.means, beds)
        there, turn_deg = effect.analysis, site.convergence_deg
        ranked = ranking.rank(effect.means, beds, site.season, turn_deg, dates)
        behind = barriers.find(site.surroundings, there, turn_deg)
        plans.append(
            replace(
                plan,
                site=site,
                analysis=there,
                means=effect.means,
                dates=dates,
                beds=tuple(ranked),
                cold_pockets=pockets.find(site.plots.geometry, there, behind),
                what_ifs=(),
            )
        )
    return tuple(plans)


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
            "site.toml: tunnel_choice is {wanted!r}; on this ground there is {letters}, "
            "and no other set of places is truly different",
            wanted=letter,
            letters=there if most else last,
        )
    )


def _check_margin(margin_m: float, cell_size_m: float, files: Files) -> None:
    """Slope and sun at the rim of a plot need ground beyond it."""
    needed_m = CELLS_BEYOND * cell_size_m
    if margin_m < needed_m:
        raise PlanError(
            problem(
                "{file}: the known ground ends {margin} m from the plots; it must reach "
                "{needed} m beyond them at least, and a kilometre is better",
                file=files.elevation,
                margin=f"{margin_m:.0f}",
                needed=f"{needed_m:.0f}",
            )
        )
