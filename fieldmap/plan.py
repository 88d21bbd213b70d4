"""What fits together: tunnels, beds around them, their order, and how it was made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib import metadata
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import pandas as pd

from fieldmap import analyse as analysis_
from fieldmap.analyse.bed_means import bed_means
from fieldmap.analyse.cold_air import barriers, flow_lines, pockets
from fieldmap.decide import (
    crop_plan,
    marks,
    materials,
    ranking,
    stakes,
    tunnels,
    weekly_jobs,
    what_if,
)
from fieldmap.decide.calendar import direct_sun, planting_dates, soil_warming
from fieldmap.decide.layout import cautions
from fieldmap.decide.layout.choose import choose_layouts
from fieldmap.decide.layout.fill import fill_plots
from fieldmap.decide.layout.hints import hints
from fieldmap.decide.tunnels import light as tunnel_light
from fieldmap.errors import PlanError
from fieldmap.model.fact import Fact
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldmap.analyse.bed_means import BedMeans
    from fieldmap.analyse.cold_air.barriers import Barrier
    from fieldmap.analyse.cold_air.flow_lines import FlowLine
    from fieldmap.analyse.fields import Analysis
    from fieldmap.cache import Store
    from fieldmap.decide.calendar.direct_sun import Spells
    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.decide.crop_plan import CropPlan
    from fieldmap.decide.layout.choose import Layout
    from fieldmap.decide.marks import MarkComparison
    from fieldmap.decide.materials import Materials
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.decide.stakes import Staking
    from fieldmap.decide.tunnels import Choice, Found, TunnelPlace, Unbeaten
    from fieldmap.decide.tunnels.light import Curve
    from fieldmap.decide.weekly_jobs import Schedule
    from fieldmap.decide.what_if import Effect
    from fieldmap.model.fact import Progress
    from fieldmap.model.site import Site

# True of every plan.
CAUTIONS = tuple(
    Fact(kind)
    for kind in (
        "frost_advice_is_odds",
        "windy_frost_reverses_order",
        "buried_lines",
        "pipes_and_overhead_lines",
        "loads_on_tunnels",
        "closed_tunnels_overheat",
    )
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
    unbeaten_tunnels
        Places for each size that no other beats.
    tunnel_light
        Light on the floor of each of `tunnels` by the bearing it could have.
    materials
        What to buy and cut.
    stakes
        Where to drive them.
    weekly_jobs
        The year's jobs by week.
    what_ifs
        What each change of the surroundings that `site.toml` asks about would do.
    cold_pockets
        Cold pockets: polygons in the site's CRS with `name`, `depth_m`, `area_m2`,
        `offset_low_c`, `offset_central_c`, `offset_high_c`, `behind`.
    sun_spells
        From when to when each bed, by name, is in direct sun on the day that
        `site.toml` names; empty where it names none.
    warnings
        What could not be known or done, then cautions.
    made_with
        Version, settings and hashes of the inputs.
    flow_lines
        Ways that cold air runs on the shown ground; none where none was let run.
    cold_air_barriers
        Things on the shown ground that cold air stands behind.
    marks
        What the grower saw on the ground, beside what was reckoned.
    """

    site: Site
    analysis: Analysis
    means: BedMeans
    beds: tuple[RankedBed, ...]
    dates: Dates
    crop_plan: CropPlan
    weekly_jobs: Schedule
    layouts: tuple[Layout, ...]
    tunnels: tuple[TunnelPlace, ...]
    tunnel_choices: tuple[Choice, ...]
    unbeaten_tunnels: tuple[Unbeaten, ...]
    tunnel_light: tuple[Curve, ...]
    materials: Materials
    stakes: Staking
    what_ifs: tuple[Effect, ...]
    cold_pockets: gpd.GeoDataFrame
    sun_spells: Mapping[str, Spells]
    warnings: tuple[Fact | str, ...]
    made_with: Mapping[str, Any]
    flow_lines: tuple[FlowLine, ...] = ()
    cold_air_barriers: tuple[Barrier, ...] = ()
    marks: tuple[MarkComparison, ...] = ()


def make_plan(site: Site, store: Store, progress: Progress) -> Plan:
    """A plan for a site: tunnels first, then beds around them, then their order.

    Raises
    ------
    PlanError
        When the elevation ends at the plots, or a setback leaves no ground of one.
    """
    _check_margin(site)
    analysis = analysis_.analyse(site, store, progress)
    progress(Fact("step_bearings"))
    layouts = choose_layouts(site, analysis)
    progress(Fact("step_tunnels"))
    found = tunnels.find(_with_own_beds_kept(site, layouts), analysis, store, progress)
    places = list(_chosen(site, found))
    curves = _curves(site, analysis, places, store)
    places = [
        place.because((*place.reasons, tunnel_light.sentence(curve, place)))
        for place, curve in zip(places, curves, strict=True)
    ]
    # Tunnels were placed on the light without them; beds lie in their shade.
    analysis = analysis_.with_more_around(
        analysis, tunnels.standing(site, places), store, progress
    )
    progress(Fact("step_beds"))
    beds, layouts = fill_plots(
        site, analysis, layouts, [tunnels.working_space(place) for place in places]
    )
    means = bed_means(analysis, [bed.outline for bed in beds], site.plots.geometry)
    dates = planting_dates.compute(site, means, beds)
    seen = marks.compare(
        site.marks, analysis, list(site.plots.geometry), site.spring_month
    )
    effects = what_if.compute_effects(
        site, (analysis, means), beds, places, dates, store, progress
    )
    day = site.settings.sun.day
    spells = [] if day is None else direct_sun.spells(site, analysis, beds, day)
    near_line = cautions.near_overhead_lines(site.surroundings, beds)
    wet = soil_warming.wet_in_march(site.plots, site.seen, beds).tolist()
    ranked = tuple(
        replace(
            one, reasons=(*cautions.of_bed(near_line=near, wet=is_wet), *one.reasons)
        )
        for one, near, is_wet in zip(
            ranking.rank(means, beds, site.season, site.convergence_deg, dates),
            near_line,
            wet,
            strict=True,
        )
    )
    progress(Fact("step_crop_plan"))
    stays = crop_plan.make(site, ranked, dates)
    bought = materials.make(
        site.settings.materials,
        site.settings.covers,
        beds,
        places,
        stays.hoop_covers,
        {each.kind: each.most_used_m for each in stays.covers},
    )
    hoops = {each.bed: each.hoops for each in bought.low_tunnels}
    behind = barriers.find(site.surroundings, analysis, site.convergence_deg)
    return Plan(
        site=site,
        analysis=analysis,
        means=means,
        beds=ranked,
        materials=bought,
        stakes=stakes.place_stakes(site.crs, site.convergence_deg, beds, places, hoops),
        crop_plan=stays,
        weekly_jobs=weekly_jobs.make(
            site, ranked, dates, planned=crop_plan.chosen(stays)
        ),
        dates=dates,
        layouts=layouts,
        tunnels=tuple(places),
        tunnel_choices=found.choices,
        unbeaten_tunnels=found.unbeaten,
        tunnel_light=curves,
        what_ifs=effects,
        cold_pockets=pockets.find(site.plots.geometry, analysis, behind),
        sun_spells={
            bed.name: here for bed, here in zip(beds, spells, strict=day is not None)
        },
        warnings=(
            *site.remarks,
            *(site.weather.left_out),
            *analysis.remarks,
            *dates.remarks,
            *found.warnings,
            *hints(site.settings, list(site.plots["name"]), beds, layouts),
            *cautions.of_beds(beds, near_line, wet),
            *(each.fact for each in seen),
            *CAUTIONS,
            *([what_if.CAUTION] if effects else []),
        ),
        made_with={
            "version": metadata.version("fieldmap"),
            "settings": site.settings.model_dump(mode="json"),
            "input_sha256": dict(sorted(site.input_hashes.items())),
        },
        flow_lines=flow_lines.find(analysis, store),
        cold_air_barriers=behind,
        marks=seen,
    )


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
                analysis=effect.analysis,
                means=effect.means,
                dates=dates,
                beds=tuple(ranked),
                cold_pockets=pockets.find(site.plots.geometry, there, behind),
                what_ifs=(),
            )
        )
    return tuple(plans)


def _chosen(site: Site, found: Found) -> tuple[TunnelPlace, ...]:
    """The tunnels of the choice that the grower made.

    Raises
    ------
    PlanError
        When there is no such choice here.
    """
    if not found.choices:
        return ()
    wanted = site.settings.tunnel_choice
    for choice in found.choices:
        if choice.letter == wanted:
            return choice.places
    letters = quantities.listed([choice.letter for choice in found.choices])
    raise PlanError(
        _(
            "site.toml: tunnel_choice is {wanted!r}; on this ground there is {letters}, "
            "and no other set of places is truly different"
        ).format(wanted=wanted, letters=letters)
    )


def _curves(
    site: Site, analysis: Analysis, places: Sequence[TunnelPlace], store: Store
) -> tuple[Curve, ...]:
    """Light under each tunnel by bearing."""
    sizes = {
        (size.length_m, size.width_m, size.height_m): size
        for size in site.settings.tunnels
    }
    return tuple(
        tunnel_light.curve(
            site,
            analysis,
            sizes[place.length_m, place.width_m, place.height_m],
            place,
            store,
        )
        for place in places
    )


def _check_margin(site: Site) -> None:
    """Slope and sun at the rim of a plot need ground beyond it."""
    needed_m = CELLS_BEYOND * site.elevation.cell_size_m
    if site.margin_m < needed_m:
        raise PlanError(
            _(
                "{file}: the known ground ends {margin} m from the plots; it must reach "
                "{needed} m beyond them at least, and a kilometre is better"
            ).format(
                file=site.settings.files.elevation,
                margin=f"{site.margin_m:.0f}",
                needed=f"{needed_m:.0f}",
            )
        )


def _with_own_beds_kept(site: Site, layouts: Sequence[Layout]) -> Site:
    """The site as tunnels see it: bearings of beds, and beds that exist left alone."""
    known = _with_bearings(site, layouts)
    if not site.own_beds:
        return known
    lying = gpd.GeoDataFrame(
        {
            "name": [bed.name for bed in site.own_beds],
            "kind": "keep off",
            "height_m": float("nan"),
            "porosity": float("nan"),
            "clear_stem_m": float("nan"),
            "leaf": None,
        },
        geometry=[bed.outline for bed in site.own_beds],
        crs=site.crs,
    )
    around = pd.concat([site.surroundings, lying], ignore_index=True)
    return replace(known, surroundings=around)


def _with_bearings(site: Site, layouts: Sequence[Layout]) -> Site:
    """The site with the bearing of the largest part of each plot as its own."""
    first = {each.plot: each.bearing_deg for each in layouts if each.part == 1}
    column = [
        first.get(name, site.bed_bearing_deg(number))
        for number, name in enumerate(site.plots["name"])
    ]
    return replace(site, plots=site.plots.assign(bearing_deg=column))
