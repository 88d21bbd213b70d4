"""Places for tunnels: those of GIS files and `plan.json`, and `tunnel_choices.csv`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pyproj import CRS, Transformer

from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column, low_central_high

if TYPE_CHECKING:
    from fieldmap.decide.tunnels import SiteOption, TunnelSet
    from fieldmap.model.settings import TunnelSize

COLUMNS: tuple[Column[TunnelPlace], ...] = (
    Column("name", lambda it: it.name),
    Column("plot", lambda it: it.plot),
    Column("length_m", lambda it: it.size.length_m),
    Column("width_m", lambda it: it.size.width_m),
    Column("height_m", lambda it: it.size.height_m),
    Column("bearing_deg", lambda it: it.bearing_deg, 2),
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
    Column("taken_m2", lambda it: it.taken_m2, 1),
    Column("storm_share", lambda it: it.wind.storm_share, 2),
    Column("reasons", lambda it: it.reasons, said=True),
)


class Candidate(NamedTuple):
    """A place that was compared: of a set by its letter, or one that no other beats."""

    choice: str
    name: str
    size_m: tuple[float, float]
    plot: str
    at_deg: tuple[float, float]
    bearing_deg: float
    slope_along_percent: float
    slope_across_percent: float
    earth_m3: float
    winter_sun_mj_m2_day: float
    offset_c: float
    to_gate_m: float | None
    to_water_m: float | None


CHOICE_COLUMNS: tuple[Column[Candidate], ...] = (
    Column("choice", lambda it: it.choice),
    Column("name", lambda it: it.name),
    Column("size_m", lambda it: it.size_m, parts=("size_length_m", "size_width_m")),
    Column("plot", lambda it: it.plot),
    Column("at_deg", lambda it: it.at_deg, 7, ("longitude", "latitude")),
    Column("bearing_deg", lambda it: it.bearing_deg, 1),
    Column("slope_along_percent", lambda it: it.slope_along_percent, 1),
    Column("slope_across_percent", lambda it: it.slope_across_percent, 1),
    Column("earth_m3", lambda it: it.earth_m3, 1),
    Column("winter_sun_mj_m2_day", lambda it: it.winter_sun_mj_m2_day, 2),
    Column("offset_c", lambda it: it.offset_c, 1),
    Column("to_gate_m", lambda it: it.to_gate_m, 0),
    Column("to_water_m", lambda it: it.to_water_m, 0),
)


def choices_csv(
    choices: Sequence[TunnelSet],
    nondominated: Sequence[SiteOption],
    sizes: Sequence[TunnelSize],
    crs: CRS,
) -> str:
    """Places for tunnels that were compared: by choice, then all that none beats."""
    to_degrees = transformer(crs, WGS84)
    found = (
        *_chosen(choices, to_degrees),
        *_nondominated(nondominated, sizes, to_degrees),
    )
    return tables.csv_of(CHOICE_COLUMNS, found, "metric")


def _chosen(
    choices: Sequence[TunnelSet], to_degrees: Transformer
) -> Iterator[Candidate]:
    for choice in choices:
        for place in choice.places:
            middle = place.outline.centroid
            yield Candidate(
                choice.letter,
                place.name,
                (place.size.length_m, place.size.width_m),
                place.plot,
                to_degrees.transform(middle.x, middle.y),
                place.bearing_deg,
                place.ground.along_percent,
                place.ground.across_percent,
                place.ground.level_pad_m3,
                place.light.winter_mj_m2_day,
                place.offset_c.central,
                *place.access,
            )


def _nondominated(
    nondominated: Sequence[SiteOption],
    sizes: Sequence[TunnelSize],
    to_degrees: Transformer,
) -> Iterator[Candidate]:
    for each in nondominated:
        size = sizes[each.size]
        yield Candidate(
            "",
            "",
            (size.length_m, size.width_m),
            each.plot,
            to_degrees.transform(each.easting, each.northing),
            each.bearing_deg,
            each.along_percent,
            each.across_percent,
            each.earth_m3,
            each.winter_sun_mj_m2_day,
            each.offset_c,
            *each.access,
        )
