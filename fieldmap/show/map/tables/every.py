"""All tables in the order of the page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.decide.tonight import evenings
from fieldmap.show.map.tables import (
    beds,
    cold_air,
    shopping,
    station,
    tonight,
    tunnels,
    what_if,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fieldmap.plan import Plan
    from fieldmap.show.map.tables.table import Table


def all_tables(plan: Plan) -> Iterator[Table]:
    """The tables of a plan; none of what it does not have."""
    units = plan.site.settings.units
    by_station = plan.site.station_cell is not None
    with_dates = plan.dates.are_told
    yield tunnels.places(plan.tunnels, units, by_station=by_station)
    yield cold_air.pockets(plan.cold_pockets, units, by_station=by_station)
    yield beds.table(plan)
    yield tunnels.layout(plan.layouts, units)
    for number, (place, curve) in enumerate(
        zip(plan.tunnels, plan.tunnel_light, strict=True)
    ):
        yield tunnels.light(place, curve, number)
    for number, outcome in enumerate(plan.what_ifs):
        yield what_if.table(outcome, number, plan.beds, units, with_dates=with_dates)
    yield tonight.table(evenings(plan.site, plan.beds, "clear", "calm"), units)
    yield shopping.to_buy(plan.materials, units)
    if plan.materials.low_tunnels:
        yield shopping.hoops(plan.materials, units)
    for number, line in enumerate(plan.stakes.baselines):
        yield shopping.pegs(plan.stakes.stakes, line, number, units)
    if with_dates:
        yield station.table(plan.dates, units)
