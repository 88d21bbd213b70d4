"""What the page's script works with, as data."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from fieldmap.cache.digest import digest
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Raster
from fieldmap.plan import Plan
from fieldmap.show.kept import written
from fieldmap.show.map import scene
from fieldmap.show.map.data import cards, film, grids, packed_tables, tonight_lists
from fieldmap.show.map.data.readings import readings
from fieldmap.show.map.overlay import LatLonBounds
from fieldmap.show.map.questions import Asked, percent
from fieldmap.show.map.questions.grows import script
from fieldmap.show.map.questions.view import BedPatterns, BedRamp, Picture
from fieldmap.show.map.scene.frame import Frame
from fieldmap.show.map.tables.table import Table
from fieldmap.show.text.language import _
from fieldmap.show.text.map import labels, signs
from fieldmap.show.text.quantities import FEET_PER_METRE, Units


class Parts(NamedTuple):
    """What the page shows, which its script needs as data too.

    Attributes
    ----------
    tonight
        Gives what `tonight` gives; asked when all else is known, as it takes longest.
    """

    asked: Asked
    tables: Sequence[Table]
    tonight: Callable[[], Mapping[str, Any]]


def tonight(plan: Plan) -> Mapping[str, Any]:
    """The lists of every evening, which take as long as much else of the page."""
    units, starts = plan.site.settings.units, plan.weekly_jobs.starts
    names = [ranked.bed.name for ranked in plan.beds]
    return written(
        "evenings",
        {"made of": digest((plan.evenings, names, starts, units))},
        lambda: tonight_lists.lists(plan.evenings, plan.beds, starts, units),
    )


def script_data(plan: Plan, parts: Parts) -> dict[str, Any]:
    """Pictures, lists, tables and readings, and the words that the script says."""
    site, units = plan.site, plan.site.settings.units
    analysis, ground = plan.analysis, plan.analysis.terrain.elevation_m
    frame = scene.frame_of(site.plots, plan.tunnels)
    beds = [(bed.bed.name, bed.bed.plot) for bed in plan.beds]
    plots = [str(name) for name in site.plots["name"]]
    known = {
        "questions": [
            {
                "key": question.key,
                "text": question.text,
                "first": question.first,
                "names": [view.name for view in question.views],
                "pictures": [drawn(view.picture, frame) for view in question.views],
            }
            for question in parts.asked.questions
        ],
        "beds": [name for name, _plot in beds],
        "plots": plots,
        "plotOf": [plots.index(plot) for _name, plot in beds],
        "cards": cards.cards(
            plan.beds,
            plan.dates,
            plan.tunnels,
            plots,
            units,
            by_station=site.station_cell is not None,
        ),
        "grows": script(
            plan.crop_plan,
            parts.asked.places,
            parts.asked.steps,
            parts.asked.standing,
            plan.weekly_jobs.starts,
        ),
        "tonight": {},
        "film": film.film(analysis.cold_air, frame),
        "tables": packed_tables.packed(parts.tables),
        "edge": _corners(ground),
        "place": grids.place(grids.thinned(ground)),
        "readings": list(
            readings(
                analysis,
                [each.offset_c for each in plan.what_ifs],
                percent(analysis.terrain),
                units,
                by_station=site.station_cell is not None,
            )
        ),
        "spring": site.spring_month,
        "summer": site.summer_month,
        "say": labels.labels(),
        "signs": signs.words(),
        "units": _units(units),
    }
    return known | {"tonight": parts.tonight()}


def drawn(picture: Picture, frame: Frame) -> Mapping[str, Any]:
    """A picture as the map's script draws it."""
    beds: dict[str, Any] = {"kind": "plain"}
    if isinstance(picture.beds, BedRamp):
        codes = scene.codes(picture.beds.at)
        beds = {"kind": "ramp", "ramp": picture.beds.ramp, "codes": codes}
    elif isinstance(picture.beds, BedPatterns):
        names = sorted({name for name in picture.beds.names if name})
        codes = scene.kinds(names, [name or None for name in picture.beds.names])
        beds = {"kind": "pattern", "names": names, "codes": codes}
    return {
        "beds": beds,
        "ground": None
        if picture.ground is None
        else scene.field(
            picture.ground.at, picture.ground.ramp, frame, picture.ground.lines
        ),
        "extras": list(picture.extras),
        "outlined": list(picture.outlined),
        "named": list(picture.named),
        "plots": [{"name": name, "sub": sub} for name, sub in picture.plots],
    }


def _corners(ground: Raster) -> LatLonBounds:
    """South-west and north-east corners, as latitude and longitude."""
    to_degrees = transformer(ground.crs, WGS84)
    west, south, east, north = to_degrees.transform_bounds(*ground.bounds)
    return (south, west), (north, east)


def _units(units: Units) -> dict[str, Any]:
    """Name and size of the units that the script measures in, and their decimals."""
    if units == "us":
        return {
            "us": True,
            "length": [_("ft"), FEET_PER_METRE, 0],
            "area": [_("sq ft"), FEET_PER_METRE**2],
        }
    return {"us": False, "length": ["m", 1.0, 1], "area": ["m²", 1.0]}
