"""Places for walk-in tunnels, the light under them, and which way beds run."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fieldmap.show.map.tables.table import Column, Table, headings, rows
from fieldmap.show.text import layout as layout_words
from fieldmap.show.text import quantities
from fieldmap.show.text.language import translated
from fieldmap.show.text.map import tunnels as words
from fieldmap.show.text.map.cold_air import night
from fieldmap.show.text.map.headings import heading
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.sentence import say_all

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fieldmap.decide.layout.choose import Layout
    from fieldmap.decide.tunnels import TunnelPlace
    from fieldmap.decide.tunnels.light import Curve
    from fieldmap.show.text.quantities import Units


def places(tunnels: Sequence[TunnelPlace], units: Units, *, by_station: bool) -> Table:
    """Places for tunnels, with cautions to read before building one."""
    columns: list[Column[TunnelPlace]] = [
        Column(heading("tunnel"), lambda tunnel: tunnel.name),
        Column(heading("size"), lambda tunnel: words.size(tunnel, units)),
        Column(heading("points"), lambda tunnel: words.points(tunnel.bearing_deg)),
        Column(heading("ground"), lambda tunnel: words.slope(tunnel, units)),
        Column(heading("earth"), lambda tunnel: words.earth(tunnel, units)),
        Column(
            heading("gate_and_water"),
            lambda tunnel: words.to_gate_and_water(tunnel, units),
        ),
        Column(
            heading("takes"),
            lambda tunnel: quantities.area(round(tunnel.taken_m2), units),
        ),
        Column(
            heading("still_night"),
            lambda tunnel: night(tunnel.offset_c, units, by_station=by_station),
        ),
        Column(heading("why"), lambda tunnel: " ".join(say_all(tunnel.reasons, units))),
    ]
    return Table(
        "tunnels",
        label("tunnels"),
        headings(columns),
        rows(columns, tunnels, "tunnel"),
        label("no_tunnels"),
        translated(words.CAUTIONS),
    )


def light(tunnel: TunnelPlace, curve: Curve, number: int) -> Table:
    """Light on the floor of a tunnel for eight bearings it could have, and its own."""

    def percent(bearing_deg: float, values: Sequence[float]) -> float:
        return float(np.interp(bearing_deg, curve.bearing_deg, values, period=180.0))

    def mol(bearing_deg: float) -> float:
        return percent(bearing_deg, curve.central_percent) / 100 * curve.open_mol_m2_day

    planned_deg = tunnel.bearing_deg
    columns: list[Column[float]] = [
        Column(
            heading("ridge_points"),
            lambda deg: words.bearing(deg, is_planned=deg == planned_deg),
        ),
        Column(
            heading("floor_light"),
            lambda deg: words.light_share(
                percent(deg, curve.low_percent),
                percent(deg, curve.central_percent),
                percent(deg, curve.high_percent),
            ),
        ),
        Column(heading("season_light"), lambda deg: words.light_of_day(mol(deg))),
    ]
    bearings_deg = sorted({*(22.5 * step for step in range(8)), planned_deg})
    key = f"tunnel-light-{number}"
    return Table(
        key,
        words.light_heading(tunnel.name),
        headings(columns),
        rows(columns, bearings_deg, key),
        notes=(label("tunnel_light_note"),),
    )


def layout(layouts: Sequence[Layout], units: Units) -> Table:
    """Which way beds run on each plot, why, and what else would do."""
    columns: list[Column[Layout]] = [
        Column(
            heading("plot"),
            lambda here: words.layout_part(here.plot, here.part, here.parts),
        ),
        Column(
            heading("beds"),
            lambda here: words.layout_beds(
                here.blocks,
                len(here.beds),
                quantities.area(round(here.area_m2), units),
            ),
        ),
        Column(
            heading("why_this_way"),
            lambda here: " ".join(layout_words.reasons(here, units)),
        ),
        Column(heading("runner_up"), lambda here: layout_words.runner_up(here, units)),
    ]
    return Table(
        "layout",
        label("layout"),
        headings(columns),
        rows(columns, layouts, "layout"),
        label("no_layout"),
        translated(layout_words.NOTES),
    )
