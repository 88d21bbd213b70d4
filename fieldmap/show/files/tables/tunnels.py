"""Places for tunnels: those of GIS files and `plan.json`, and `tunnel_choices.csv`."""

from collections.abc import Sequence
from typing import NamedTuple

from pyproj import CRS

from fieldmap.decide.tunnels import SiteOption, TunnelPlace, TunnelSet
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.settings import TunnelSize
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column, attributes, low_central_high

COLUMNS: tuple[Column[TunnelPlace], ...] = (
    *attributes("name", "plot", "size.length_m", "size.width_m", "size.height_m"),
    *attributes("bearing_deg", digits=2),
    Column("slope_along_percent", lambda it: it.ground.along_percent, 2),
    Column("slope_across_percent", lambda it: it.ground.across_percent, 2),
    Column("offset_c", lambda it: it.offset_c, 1, low_central_high("offset_{}_c")),
    Column("winter_sun_mj_m2_day", lambda it: it.light.winter_mj_m2_day, 2),
    Column("spring_sun_mj_m2_day", lambda it: it.light.spring_mj_m2_day, 2),
    Column("earth_level_m3", lambda it: it.ground.level_pad_m3, 1),
    Column("earth_sloping_m3", lambda it: it.ground.sloping_pad_m3, 1),
    Column("water_from_m2", lambda it: it.rain.from_m2, 0),
    Column("to_gate_m", lambda it: it.access.gate_m, 1),
    Column("to_water_m", lambda it: it.access.water_m, 1),
    *attributes("taken_m2", digits=1),
    *attributes("wind.storm_share", digits=2),
    Column("wet_percent", lambda it: it.criteria.wet_percent, 0),
    Column("drain_m", lambda it: it.rain.drain_m, 1),
    Column("to_line_m", lambda it: it.line_m, 1),
    *attributes("size.positions"),
    Column("reasons", lambda it: it.reasons, said=True),
)


class Compared(NamedTuple):
    """A place that was compared, with its set and name; "" where no set took it."""

    choice: str
    name: str
    size: TunnelSize
    at_deg: tuple[float, float]
    place: SiteOption


CHOICE_COLUMNS: tuple[Column[Compared], ...] = (
    *attributes("choice", "name"),
    Column("size_length_m", lambda it: it.size.length_m),
    Column("size_width_m", lambda it: it.size.width_m),
    *attributes("place.plot"),
    Column("at_deg", lambda it: it.at_deg, 7, ("longitude", "latitude")),
    Column("bearing_deg", lambda it: it.place.bearing_deg, 1),
    Column("slope_along_percent", lambda it: it.place.along_percent, 1),
    Column("slope_across_percent", lambda it: it.place.across_percent, 1),
    Column("earth_m3", lambda it: it.place.criteria.earth_m3, 1),
    *attributes("place.winter_sun_mj_m2_day", digits=2),
    *attributes("place.offset_c", digits=1),
    Column("to_gate_m", lambda it: it.place.access.gate_m, 0),
    Column("to_water_m", lambda it: it.place.access.water_m, 0),
    Column("wet_percent", lambda it: it.place.criteria.wet_percent, 0),
    Column("rain_from_m2", lambda it: it.place.criteria.rain_m2, 0),
    Column("darker_by_points", lambda it: it.place.criteria.dark_points, 1),
    Column("colder_at_worst_by_c", lambda it: it.place.criteria.cold_c, 1),
    Column("storm_off_end_deg", lambda it: it.place.criteria.storm_deg, 0),
    Column("storm_percent", lambda it: it.place.criteria.storm_percent, 0),
    Column("breeze_off_side_deg", lambda it: it.place.criteria.breeze_deg, 0),
    Column("askew_deg", lambda it: it.place.criteria.askew_deg, 0),
    Column("too_near_line_m", lambda it: it.place.criteria.line_m, 1),
)


def choices_csv(
    choices: Sequence[TunnelSet],
    nondominated: Sequence[SiteOption],
    sizes: Sequence[TunnelSize],
    crs: CRS,
) -> str:
    """Places for tunnels that were compared: by choice, then all that none beats.

    Parameters
    ----------
    choices
        Sets of places, one place in each for every wanted tunnel.
    nondominated
        Places that no other beats, whether a set took them or not.
    sizes
        The wanted tunnels as `site.toml` lists them; a place of `nondominated` names
        its size by its number in this list.
    crs
        Metric CRS of the places. The table has longitude and latitude (WGS 84).
    """
    to_degrees = transformer(crs, WGS84)

    def compared(
        choice: str, name: str, size: TunnelSize, place: SiteOption
    ) -> Compared:
        at_deg = to_degrees.transform(place.easting, place.northing)
        return Compared(choice, name, size, at_deg, place)

    found = [
        compared(choice.letter, place.name, place.size, _as_option(place))
        for choice in choices
        for place in choice.places
    ]
    found += [compared("", "", sizes[each.size], each) for each in nondominated]
    return tables.csv_of(CHOICE_COLUMNS, found)


def _as_option(place: TunnelPlace) -> SiteOption:
    """A place that was taken, with the facts that all places have."""
    middle, ground = place.outline.centroid, place.ground
    return SiteOption(
        0,
        place.plot,
        middle.x,
        middle.y,
        place.bearing_deg,
        ground.along_percent,
        ground.across_percent,
        place.light.winter_mj_m2_day,
        place.offset_c.central,
        place.access,
        place.criteria,
    )
