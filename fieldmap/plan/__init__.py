"""What fits together: what is decided of a place, its ground, and changes around it."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import date
from functools import cached_property, partial
from importlib import metadata
from typing import Any

import geopandas as gpd

from fieldmap import analyse
from fieldmap.analyse import ahead
from fieldmap.analyse.cold_air import barriers, pockets
from fieldmap.analyse.fields import Analysis
from fieldmap.cache import Store
from fieldmap.cache.digest import digest
from fieldmap.decide import (
    ranking,
    what_if,
)
from fieldmap.decide.calendar import (
    planting_dates,
)
from fieldmap.decide.layout.past_beds import History
from fieldmap.decide.materials import watering
from fieldmap.decide.materials.watering import Watering
from fieldmap.decide.tonight import dusk, evening_round, standing
from fieldmap.decide.tonight.evenings import Evenings
from fieldmap.decide.tonight.matrix import Matrix, coldest_by_month, matrix
from fieldmap.decide.weekly_jobs import venting
from fieldmap.model.fact import Progress
from fieldmap.model.field_log import Happened
from fieldmap.model.site import Alternative, Site
from fieldmap.plan.decided import (
    Decided,
    beside_tunnels,
    check_margin,
    decide,
    placed_on,
)

__all__ = [
    "Decided",
    "Plan",
    "make_plan",
    "make_present",
    "plan_as_it_is",
    "plans_of_what_ifs",
    "with_what_ifs",
]


@dataclass(frozen=True, kw_only=True)
class Plan(Decided):
    """Everything the hand-over is made from.

    Attributes
    ----------
    analysis
        The ground with the tunnels on it.
    made_of
        Digest of the site without its what-ifs, and of the day of planning: of all that
        the rest hangs on but what-ifs and field log.
    what_ifs
        What each change of the surroundings that `site.toml` asks about would do.
    happened
        The field log on its beds, for whoever asks what stands there tonight.
    """

    analysis: Analysis
    made_of: str
    what_ifs: tuple[what_if.Effect, ...] = ()
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
        grown = site.crops, site.weather.days, site.season
        return Evenings(
            evening_round.evening_round(site, self.beds, self.tunnels),
            *(self.crop_plan, site.crops, self.happened, soft),
            standing.up_days(*grown),
            standing.flower_days(*grown),
            dusk.dusk_line(site.typical_year, site.time_zone),
            *(site.latitude, site.longitude, site.time_zone),
            self.materials.weights,
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


def make_plan(
    site: Site, store: Store, progress: Progress, today: date | None = None
) -> Plan:
    """A plan for a site with its what-ifs; see `plan_as_it_is` and `with_what_ifs`."""
    return with_what_ifs(plan_as_it_is(site, store, progress, today), store, progress)


def plan_as_it_is(
    site: Site, store: Store, progress: Progress, today: date | None = None
) -> Plan:
    """A plan without its what-ifs: tunnels first, then beds around them, then their order.

    Of the what-ifs no more is computed than the air of their surroundings, which nothing
    that is decided can change.

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
    check_margin(site.margin_m, site.elevation.cell_size_m, site.settings.files)
    # Nothing that is decided sees the what-ifs: so an added one decides nothing anew.
    asked = site.without_what_ifs
    of_place = digest((asked, today))
    known = analyse.ground_of(site, store)
    with ahead.air(known, _around(site, of_place, store)):
        ground = analyse.fields_on(known, store, progress)

        def decided_anew() -> Decided:
            return decide(
                placed_on(asked, ground, store, progress), store, progress, today
            )

        decided = store.recall("decided", of_place, decided_anew)
        around = site.surroundings, site.season
        analysis = beside_tunnels(ground, decided.tunnels, *around, store, progress)
        known_so_far = {
            each.name: getattr(decided, each.name) for each in fields(decided)
        }
        # The site as it was read, but for what was found to have stood on today's beds.
        there = replace(site, last_year=decided.site.last_year)
    return Plan(
        **known_so_far | {"site": there, "analysis": analysis, "made_of": of_place}
    )


def with_what_ifs(plan: Plan, store: Store, progress: Progress) -> Plan:
    """A plan with what each change around would do, worked out where it is not known yet.

    Parameters
    ----------
    plan
        As `plan_as_it_is` made it.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.
    """
    present = what_if.Present(
        plan.site,
        plan.analysis,
        plan.means,
        [ranked.bed for ranked in plan.beds],
        plan.tunnels,
    )
    found = []
    for each in plan.site.alternatives:
        there, of_change = _of_change(each, plan.made_of, store)
        effect = partial(
            what_if.compute_effect, present, plan.dates, each, store, progress
        )
        found.append(there.recall("effect", of_change, effect))
    caution = [what_if.CAUTION] if found else []
    return replace(plan, what_ifs=tuple(found), warnings=(*plan.warnings, *caution))


def _of_change(
    alternative: Alternative, of_place: str, store: Store
) -> tuple[Store, str]:
    """Where what a change would do is kept, and under what."""
    there = store.within(what_if.folder(alternative))
    return there, digest((of_place, alternative))


def _around(
    site: Site, of_place: str, store: Store
) -> list[tuple[gpd.GeoDataFrame, Store]]:
    """Surroundings whose air will be asked for, those of the place as it is first."""
    around = [(site.surroundings, store)]
    for each in site.alternatives:
        there, of_change = _of_change(each, of_place, store)
        if not there.has("effect", of_change):
            around.append((each.surroundings, there))
    return around


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
    check_margin(site.margin_m, site.elevation.cell_size_m, site.settings.files)
    known = analyse.ground_of(site, store)
    with ahead.air(known, [(site.surroundings, store)]):
        ground = analyse.fields_on(known, store, progress)
        placed = placed_on(site, ground, store, progress)
    return placed.present, placed.dates


def plans_of_what_ifs(plan: Plan, store: Store, progress: Progress) -> tuple[Plan, ...]:
    """The same beds with each change around made: their dates and order anew.

    Tunnels, what goes where, what is bought and the jobs by week stay those of the plan.

    Parameters
    ----------
    plan
        As `make_plan` made it.
    store
        Where what was computed of each change is taken from.
    progress
        Is called with each step as it begins.
    """
    beds = [ranked.bed for ranked in plan.beds]
    plans = []
    for alternative, effect in zip(plan.site.alternatives, plan.what_ifs, strict=True):
        site = replace(
            plan.site, surroundings=alternative.surroundings, alternatives=()
        )
        dates = planting_dates.compute(site, effect.means, beds)
        there = what_if.analysis_there(
            *(plan.site, alternative, plan.analysis, plan.tunnels, store, progress)
        )
        turn_deg = site.convergence_deg
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
                cold_pockets=pockets.find(
                    site.plots.geometry, site.surroundings, there, behind
                ),
                what_ifs=(),
            )
        )
    return tuple(plans)
