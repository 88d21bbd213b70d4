"""What fits together: tunnels, beds around them, their order, and how it was made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib import metadata
from typing import TYPE_CHECKING, Any

from fieldmap import (
    alternatives,
    dams,
    daylight,
    drainlines,
    materials,
    ranking,
    schedule,
    stakes,
    tunnels,
    words,
)
from fieldmap import analysis as analysis_
from fieldmap import beds as beds_
from fieldmap import dates as dates_
from fieldmap import pockets as pockets_
from fieldmap import turns as turns_
from fieldmap.errors import PlanError
from fieldmap.tunnels import light as tunnel_light

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import geopandas as gpd

    from fieldmap.alternatives import Outcome
    from fieldmap.analysis import Analysis, Progress
    from fieldmap.beds import Bed
    from fieldmap.cache import Store
    from fieldmap.dams import Dam
    from fieldmap.dates import Dates
    from fieldmap.daylight import Spells
    from fieldmap.drainlines import DrainLine
    from fieldmap.materials import Materials
    from fieldmap.ranking import RankedBed
    from fieldmap.schedule import Schedule
    from fieldmap.site import Site
    from fieldmap.stakes import Pegs
    from fieldmap.tunnels import Choice, Found, TunnelPlace, Unbeaten
    from fieldmap.tunnels.light import Curve
    from fieldmap.turns import Turns

NEAR_WIRES = (
    "Under or near an overhead line: no long pipes or tall tools here; the line's owner "
    "decides."
)
WET = "Wet in March: wait until the ground carries you, whatever the dates say."
CELLS_BEYOND = 2  # a gradient, and reading between cells
CAUTIONS = (
    "Frost advice is odds, not a promise. The order of places is better known than the "
    "degrees, and the degrees are untested here until thermometers hang on the spot.",
    "On a windy frost night this order does not hold: exposed ground is then the "
    "coldest, and covers help little.",
    "Before any post or stake goes in, have buried lines located, and ask the owner "
    "about private water, power, septic and drains, which locators do not mark.",
    "Keep the longest pipe plus the legal clearance away from overhead lines; the "
    "line's owner decides.",
    "Wind and snow on a walk-in tunnel are for the maker's engineer and the local "
    "code; nothing here is a structural design. Permits and setbacks are local too.",
    "A closed tunnel in sun overheats people and plants: open it in time. Never run an "
    "unvented heater or an engine in a closed tunnel.",
)


@dataclass(frozen=True)
class Plan:
    """Everything the hand-over is made from.

    Attributes
    ----------
    dates
        When crops can go out on each bed, in the order of `beds`.
    turns
        What goes where, through the year.
    tunnel_choices
        Sets of places for tunnels that differ; `tunnels` is one of them.
    unbeaten_tunnels
        Places for each size that no other beats.
    tunnel_light
        Light on the floor of each of `tunnels` by the bearing it could have.
    materials
        What to buy and cut.
    pegs
        Where to drive them.
    work
        The year's jobs by week.
    alternatives
        What each change of the surroundings that `site.toml` asks about would do.
    pockets
        Cold pockets: polygons in the site's CRS with `name`, `depth_m`, `area_m2`,
        `offset_low_c`, `offset_central_c`, `offset_high_c`, `behind`.
    sun_spells
        From when to when each bed, by name, is in direct sun on the day that
        `site.toml` names; empty where it names none.
    warnings
        Plain sentences: what could not be known or done, then cautions.
    made_with
        Version, settings and hashes of the inputs.
    drain_lines
        Ways that cold air runs on the shown ground; none where none was let run.
    dams
        Things on the shown ground that cold air stands behind.
    """

    site: Site
    analysis: Analysis
    beds: tuple[RankedBed, ...]
    dates: Dates
    turns: Turns
    work: Schedule
    tunnels: tuple[TunnelPlace, ...]
    tunnel_choices: tuple[Choice, ...]
    unbeaten_tunnels: tuple[Unbeaten, ...]
    tunnel_light: tuple[Curve, ...]
    materials: Materials
    pegs: Pegs
    alternatives: tuple[Outcome, ...]
    pockets: gpd.GeoDataFrame
    sun_spells: Mapping[str, Spells]
    warnings: tuple[str, ...]
    made_with: Mapping[str, Any]
    drain_lines: tuple[DrainLine, ...] = ()
    dams: tuple[Dam, ...] = ()


def make(site: Site, store: Store, progress: Progress) -> Plan:
    """A plan for a site: tunnels first, then beds around them, then their order.

    Raises
    ------
    PlanError
        When the elevation ends at the plots, or a setback leaves no ground of one.
    """
    _check_margin(site)
    analysis = analysis_.analyse(site, store, progress)
    progress("places for walk-in tunnels")
    found = tunnels.find(site, analysis, store, progress)
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
    progress("beds and their order")
    beds, no_beds = _beds(site, places)
    dates = dates_.reckon(site, analysis, beds)
    outcomes = alternatives.weigh(site, analysis, beds, places, dates, store, progress)
    day = site.settings.sun.day
    spells = [] if day is None else daylight.spells(site, analysis, beds, day)
    near_wires = _near_wires(site, beds)
    ranked = _minded(site, ranking.rank(site, analysis, beds, dates), near_wires)
    progress("what goes where")
    turns = turns_.make(site, ranked, dates)
    bought = materials.make(site, ranked, places, turns)
    hoops = {each.bed: each.hoops for each in bought.low_tunnels}
    return Plan(
        site=site,
        analysis=analysis,
        beds=ranked,
        materials=bought,
        pegs=stakes.place(site, beds, places, hoops),
        turns=turns,
        work=schedule.make(
            site, ranked, dates, schedule.first_day(site), turns_.chosen(turns)
        ),
        dates=dates,
        tunnels=tuple(places),
        tunnel_choices=found.choices,
        unbeaten_tunnels=found.unbeaten,
        tunnel_light=curves,
        alternatives=outcomes,
        pockets=pockets_.find(site, analysis),
        sun_spells={
            bed.name: here for bed, here in zip(beds, spells, strict=day is not None)
        },
        warnings=(
            *site.remarks,
            *(site.weather.left_out),
            *analysis.remarks,
            *dates.remarks,
            *found.warnings,
            *no_beds,
            *_hints(site, beds, near_wires),
            *CAUTIONS,
            *([alternatives.CAUTION] if outcomes else []),
        ),
        made_with={
            "version": metadata.version("fieldmap"),
            "settings": site.settings.model_dump(mode="json"),
            "input_sha256": dict(sorted(site.input_hashes.items())),
        },
        drain_lines=drainlines.find(analysis, store),
        dams=dams.find(site, analysis),
    )


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
    letters = words.listed([choice.letter for choice in found.choices])
    raise PlanError(
        f"site.toml: tunnel_choice is {wanted!r}; on this ground there is {letters}, and "
        "no other set of places is truly different"
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
            f"{site.settings.files.elevation}: the known ground ends {site.margin_m:.0f}"
            f" m from the plots; it must reach {needed_m:.0f} m beyond them at least, and"
            " a kilometre is better"
        )


def _near_wires(site: Site, beds: Sequence[Bed]) -> list[bool]:
    """Which beds lie under an overhead line or so near that a pipe could reach it."""
    wires = site.surroundings.geometry[site.surroundings["kind"] == "overhead line"]
    return [
        bool((wires.distance(bed.outline) < tunnels.PIPE_AND_CLEARANCE_M).any())
        for bed in beds
    ]


def _minded(
    site: Site, ranked: list[RankedBed], near_wires: list[bool]
) -> tuple[RankedBed, ...]:
    """Beds with what must be minded on them before all other reasons."""
    wet = dict(zip(site.plots["name"], site.plots["wet_in_march"], strict=True))
    minded = []
    for one, is_near in zip(ranked, near_wires, strict=True):
        first = [NEAR_WIRES] if is_near else []
        first += [WET] if wet.get(one.bed.plot) is True else []
        minded.append(replace(one, reasons=(*first, *one.reasons)))
    return tuple(minded)


def _hints(site: Site, beds: list[Bed], near_wires: list[bool]) -> list[str]:
    """What the order does not know and the grower must."""
    hints = []
    near = [bed.name for bed, is_near in zip(beds, near_wires, strict=True) if is_near]
    if near:
        hints.append(
            f"Beds {near[0]} to {near[-1]} lie in part under an overhead line or within "
            f"{tunnels.PIPE_AND_CLEARANCE_M:g} m of one: no long pipes or tall tools "
            "there; the line's owner decides."
        )
    wet = [
        name
        for name, is_wet in zip(
            site.plots["name"], site.plots["wet_in_march"], strict=True
        )
        if is_wet is True
    ]
    if wet:
        hints.append(
            f"Wet in March: {', '.join(wet)}. Wait there until the ground carries you, "
            "whatever the dates say."
        )
    return hints


def _beds(site: Site, places: list[TunnelPlace]) -> tuple[list[Bed], list[str]]:
    """Beds of all plots, and a sentence for each plot that got none."""
    choices = site.settings.beds
    obstacles = [
        *beds_.kept_off(site.surroundings, choices.setback_m),
        *(tunnels.working_space(place) for place in places),
    ]
    found: list[Bed] = []
    without = []
    for number, (name, outline) in enumerate(
        zip(site.plots["name"], site.plots.geometry, strict=True)
    ):
        letter = beds_.letter(number)
        here = beds_.fill(
            name, letter, outline, obstacles, choices, site.convergence_deg
        )
        found += here
        if not here:
            without.append(
                f"Plot {name} got no bed: no strip of {choices.shortest_m:g} m is free "
                "there after turning strips, keep-clear strips and tunnels."
            )
    return found, without
