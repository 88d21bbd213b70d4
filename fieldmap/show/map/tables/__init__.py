"""Tables under the map: what is shown of each thing, once; popups read their rows."""

from collections.abc import Iterator

from fieldmap.plan import Plan
from fieldmap.show.map.tables import beds, care, places, what_if, work
from fieldmap.show.map.tables.table import Table
from fieldmap.show.text.site.analysis import named_pockets


def all_tables(plan: Plan) -> Iterator[Table]:
    """The tables of a plan in the order of the page; none of what it does not have."""
    units = plan.site.settings.units
    by_station = plan.site.station_cell is not None
    with_dates = plan.dates.known
    yield places.tunnels(plan.tunnels, units, by_station=by_station)
    if len(plan.tunnel_choices) > 1:
        yield places.tunnel_choices(plan.tunnel_choices, units, by_station=by_station)
    yield places.pockets(named_pockets(plan.cold_pockets), units, by_station=by_station)
    yield beds.beds(plan)
    yield places.layout(plan.layouts, units)
    for number, curve in enumerate(plan.tunnel_light):
        yield places.tunnel_light(plan.tunnels[number], curve, number)
        if plan.tunnel_dates.known:
            yield beds.within_tunnel(
                plan.tunnel_dates, number, plan.tunnels[number].name, units
            )
    for number, effect in enumerate(plan.what_ifs):
        yield what_if.changed_beds(
            effect, number, plan.beds, units, with_dates=with_dates
        )
    yield work.to_cover(plan.tonight, units)
    yield work.to_buy(plan.materials, units)
    if plan.materials.low_tunnels:
        yield work.hoops(plan.materials.low_tunnels, units)
    if plan.watering.months:
        yield care.water(plan.watering, units)
    if plan.venting:
        yield care.vents(plan.venting, plan.site.season, units)
    for number, field in enumerate(plan.stakes.fields):
        yield work.pegs(field, number, units)
    if with_dates:
        yield beds.station(plan.dates, units)
