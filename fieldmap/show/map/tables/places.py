"""Places for walk-in tunnels, the light under them, which way beds run, cold pockets."""

from collections.abc import Sequence
from typing import Any

import geopandas as gpd
import numpy as np

from fieldmap.decide.layout.choose import Layout
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.decide.tunnels.light import Curve
from fieldmap.model.estimate import Estimate
from fieldmap.show.map.tables.table import Columns, Table, table
from fieldmap.show.text import quantities
from fieldmap.show.text.decide import layout as layout_words
from fieldmap.show.text.language import translated
from fieldmap.show.text.map import cold_air
from fieldmap.show.text.map import tunnels as words
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all


def tunnels(places: Sequence[TunnelPlace], units: Units, *, by_station: bool) -> Table:
    """Places for tunnels, with cautions to read before building one."""
    columns: Columns[TunnelPlace] = {
        "tunnel": lambda place: place.name,
        "size": lambda place: words.size(place, units),
        "points": lambda place: words.points(place.bearing_deg),
        "ground": lambda place: words.slope(place, units),
        "earth": lambda place: words.earth(place, units),
        "gate_and_water": lambda place: words.to_gate_and_water(place, units),
        "takes": lambda place: quantities.area(round(place.taken_m2), units),
        "still_night": lambda place: cold_air.night(
            place.offset_c, units, by_station=by_station
        ),
        "why": lambda place: " ".join(say_all(place.reasons, units)),
    }
    notes = translated(words.CAUTIONS)
    return table("tunnels", columns, places, notes, kind="tunnel")


def tunnel_light(place: TunnelPlace, curve: Curve, number: int) -> Table:
    """Light on the floor of a tunnel for eight bearings it could have, and its own."""

    def percent(bearing_deg: float) -> Estimate:
        low, central, high = (
            float(np.interp(bearing_deg, curve.bearing_deg, values, period=180.0))
            for values in (
                curve.low_percent,
                curve.central_percent,
                curve.high_percent,
            )
        )
        return Estimate(low, central, high)

    planned_deg, open_mol = place.bearing_deg, curve.open_mol_m2_day
    columns: Columns[float] = {
        "ridge_points": lambda deg: words.bearing(deg, is_planned=deg == planned_deg),
        "floor_light": lambda deg: words.light_share(*percent(deg)),
        "season_light": lambda deg: words.light_of_day(
            percent(deg).central / 100 * open_mol
        ),
    }
    return table(
        f"tunnel-light-{number}",
        columns,
        sorted({*(22.5 * step for step in range(8)), planned_deg}),
        [label("tunnel_light_note")],
        title=words.light_heading(place.name),
    )


def layout(layouts: Sequence[Layout], units: Units) -> Table:
    """Which way beds run on each plot, why, and what else would do."""
    columns: Columns[Layout] = {
        "plot": lambda here: words.layout_part(here.plot, here.part, here.parts),
        "beds": lambda here: words.layout_beds(
            here.blocks,
            len(here.beds),
            quantities.area(round(here.area_m2), units),
        ),
        "why_this_way": lambda here: " ".join(layout_words.reasons(here, units)),
        "runner_up": lambda here: layout_words.runner_up(here, units),
    }
    return table("layout", columns, layouts, translated(layout_words.NOTES))


def pockets(frame: gpd.GeoDataFrame, units: Units, *, by_station: bool) -> Table:
    """Cold pockets, the coldest of each at its deepest."""

    def coldest(pocket: Any) -> str:
        offset_c = Estimate(
            pocket.offset_low_c, pocket.offset_central_c, pocket.offset_high_c
        )
        night = cold_air.night(offset_c, units, by_station=by_station)
        return cold_air.at_deepest(night)

    columns: Columns[Any] = {
        "cold_pocket": lambda pocket: str(pocket.name),
        "cold_air": lambda pocket: cold_air.pocket(
            pocket.depth_m, pocket.behind, units
        ),
        "area": lambda pocket: cold_air.pocket_area(
            quantities.area(round(pocket.area_m2), units),
            cut_off=bool(pocket.cut_off),
        ),
        "still_night": coldest,
    }
    return table("pockets", columns, frame.itertuples(), kind="pocket")
