"""Places for walk-in tunnels, the light under them, which way beds run, cold pockets."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np

from fieldmap.decide.layout.choose import Layout
from fieldmap.decide.tunnels import TunnelPlace, TunnelSet
from fieldmap.decide.tunnels.criteria import END_ON_DEG
from fieldmap.decide.tunnels.light import Curve
from fieldmap.model.estimate import Estimate
from fieldmap.show.map.tables.table import Columns, Table, table
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import layout as layout_words
from fieldmap.show.text.language import translated
from fieldmap.show.text.map import cold_air
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all


def tunnels(places: Sequence[TunnelPlace], units: Units, *, by_station: bool) -> Table:
    """Places for tunnels, with cautions to read before building one.

    Parameters
    ----------
    places
        The walk-in tunnels in the order of the plan.
    units
        "metric" or "us", for all quantities.
    by_station
        Whether offsets are against the weather station; else against the median of the
        plots.
    """
    columns: Columns[TunnelPlace] = {
        "tunnel": lambda place: place.name,
        "size": lambda place: phrase("tunnel_size", units, **dict(place.size)),
        "points": lambda place: _points(place.bearing_deg),
        "ground": lambda place: phrase(
            "tunnel_slopes",
            units,
            along=place.ground.along_percent,
            across=place.ground.across_percent,
        ),
        "earth": lambda place: phrase(
            "level_pad", units, volume_m3=place.ground.level_pad_m3
        ),
        "gate_and_water": lambda place: phrase(
            "gate_and_water", units, **place.access._asdict()
        ),
        "takes": lambda place: quantities.area(round(place.taken_m2), units),
        "still_night": lambda place: cold_air.night(
            place.offset_c, units, by_station=by_station
        ),
        "why": lambda place: " ".join(say_all(place.reasons, units)),
    }
    read_first = texts("fieldmap.show.text.map.tunnels", "read_first")["cautions"]
    return table("tunnels", columns, places, translated(read_first), kind="tunnel")


def tunnel_choices(
    choices: Sequence[TunnelSet], units: Units, *, by_station: bool
) -> Table:
    """Every place of every choice, with what it was compared by.

    Parameters
    ----------
    choices
        The sets of places that were compared.
    units
        "metric" or "us", for all quantities.
    by_station
        Whether offsets are against the weather station; else against the median of the
        plots.
    """
    places = [(choice.letter, place) for choice in choices for place in choice.places]
    columns: Columns[tuple[str, TunnelPlace]] = {
        "choice": lambda it: phrase(
            "choice_place",
            place=phrase(f"tunnel_place_{it[0].lower()}"),
            tunnel=it[1].name,
            plot=it[1].plot,
        ),
        "points": lambda it: _points(it[1].bearing_deg),
        "floor_light": lambda it: phrase(
            "choice_light", number=round(it[1].criteria.dark_points)
        ),
        "still_night": lambda it: cold_air.night(
            it[1].offset_c, units, by_station=by_station
        ),
        "rain_water": lambda it: _water(it[1], units),
        "earth": lambda it: phrase(
            "level_pad", units, volume_m3=it[1].ground.level_pad_m3
        ),
        "gate_and_water": lambda it: phrase(
            "gate_and_water", units, **it[1].access._asdict()
        ),
        "storm": lambda it: _storm(it[1]),
        "breeze": lambda it: _breeze(it[1]),
        "line": lambda it: quantities.way(it[1].line_m, units),
    }
    return table("tunnel-choices", columns, places, title=label("tunnel_choices"))


def _water(place: TunnelPlace, units: Units) -> str:
    water = phrase("choice_water", number=round(place.criteria.wet_percent))
    if not place.rain.drain_m:
        return water
    return phrase(
        "choice_water_with_drain",
        units,
        water=water,
        ground_m2=round(place.rain.from_m2, -1),
        drain_m=place.rain.drain_m,
    )


def _storm(place: TunnelPlace) -> str:
    if place.wind.storm_share is None:
        return phrase("wind_not_given")
    return phrase(
        "choice_storm" if place.criteria.storm_deg else "choice_storm_on_end",
        angle=round(place.criteria.storm_deg + END_ON_DEG),
        percent=round(place.criteria.storm_percent),
    )


def _breeze(place: TunnelPlace) -> str:
    if place.wind.off_breeze_deg is None:
        return phrase("wind_not_given")
    return phrase(
        "choice_breeze" if place.criteria.breeze_deg else "choice_breeze_on_sides",
        angle=round(90.0 - place.wind.off_breeze_deg),
    )


def tunnel_light(place: TunnelPlace, curve: Curve, number: int) -> Table:
    """Light on the floor of a tunnel for eight bearings it could have, and its own.

    Parameters
    ----------
    place
        The tunnel as planned.
    curve
        Light on its floor by bearing of the ridge.
    number
        Number of the tunnel in the plan, from 0.
    """
    values = {
        "low": curve.low_percent,
        "likely": curve.central_percent,
        "high": curve.high_percent,
    }

    def percent(bearing_deg: float) -> dict[str, float]:
        return {
            name: float(np.interp(bearing_deg, curve.bearing_deg, known, period=180.0))
            for name, known in values.items()
        }

    planned_deg = place.bearing_deg
    columns: Columns[float] = {
        "points": lambda deg: (
            phrase("tunnel_points_as_planned", way=_points(deg))
            if deg == planned_deg
            else _points(deg)
        ),
        "floor_light": lambda deg: phrase("tunnel_light_share", **percent(deg)),
    }
    return table(
        f"tunnel-light-{number}",
        columns,
        sorted({*(22.5 * step for step in range(8)), planned_deg}),
        [label("tunnel_light_note")],
        title=phrase("tunnel_light", tunnel=place.name),
    )


def layout(layouts: Sequence[Layout], units: Units) -> Table:
    """Which way beds run on each plot, why, and what else would do."""
    columns: Columns[Layout] = {
        "plot": lambda here: (
            here.plot
            if here.parts == 1
            else phrase(
                "part_of_plot", plot=here.plot, part=here.part, parts=here.parts
            )
        ),
        "beds": lambda here: _beds_in_blocks(here, units),
        "why_this_way": lambda here: " ".join(layout_words.reasons(here, units)),
        "runner_up": lambda here: layout_words.runner_up(here, units),
    }
    return table("layout", columns, layouts, translated(layout_words.NOTES))


def _points(bearing_deg: float) -> str:
    return phrase("way_and_degrees", way=bearing_deg, degrees=bearing_deg)


def _beds_in_blocks(here: Layout, units: Units) -> str:
    said = [phrase("bed_count", number=len(here.beds))]
    if here.blocks:
        said.append(
            phrase("beds_in_blocks", number=len(here.blocks), names=here.blocks)
        )
    return ", ".join((*said, quantities.area(round(here.area_m2), units)))


def pockets(frame: gpd.GeoDataFrame, units: Units, *, by_station: bool) -> Table:
    """Cold pockets, and how cold each is in its middle.

    Parameters
    ----------
    frame
        Cold pockets with name, `behind` (empty where nothing holds the air), area [m²],
        `cut_off`, and the low, central and high offset [°C].
    units
        "metric" or "us", for areas and degrees.
    by_station
        Whether offsets are against the weather station; else against the median of the
        plots.
    """

    def coldest(pocket: Any) -> str:
        offset_c = Estimate(
            pocket.offset_low_c, pocket.offset_central_c, pocket.offset_high_c
        )
        return cold_air.night(offset_c, units, by_station=by_station)

    def area(pocket: Any) -> str:
        shown = quantities.area(round(pocket.area_m2), units)
        return phrase("pocket_cut_off", area=shown) if pocket.cut_off else shown

    columns: Columns[Any] = {
        "cold_pocket": lambda pocket: str(pocket.name),
        "cold_air": lambda pocket: phrase(
            "pocket_behind" if pocket.behind else "pocket_in_low_ground",
            thing=pocket.behind,
        ),
        "area": area,
        "still_night": coldest,
    }
    return table("pockets", columns, frame.itertuples(), kind="pocket")
