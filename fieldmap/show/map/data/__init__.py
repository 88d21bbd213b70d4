"""What the page's script works with, as data."""

import itertools
from typing import Any

import pyproj
from shapely.geometry import box

from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.raster import Bounds
from fieldmap.plan import Plan
from fieldmap.show.map.data import film, grids, shapes, tonight_lists
from fieldmap.show.map.data.readings import readings
from fieldmap.show.map.overlay import LatLonBounds
from fieldmap.show.map.questions import percent
from fieldmap.show.text.language import _
from fieldmap.show.text.map import labels
from fieldmap.show.text.quantities import FEET_PER_METRE, Units
from fieldmap.show.text.site.analysis import named_pockets


def script_data(plan: Plan) -> dict[str, Any]:
    """Shapes, films, lists and readings of a plan, and the words that the script says."""
    site, units = plan.site, plan.site.settings.units
    analysis, ground = plan.analysis, plan.analysis.terrain.elevation_m
    to_geojson = shapes.Degrees(site.crs)
    return {
        "features": shapes.features(
            itertools.chain(
                shapes.surroundings(site.surroundings, units, standing=False),
                shapes.plots(site.plots),
                shapes.beds(plan.beds),
                shapes.surroundings(site.surroundings, units, standing=True),
                shapes.marks(plan.marks, units),
                shapes.pockets(named_pockets(plan.cold_pockets)),
                shapes.tunnels(plan.tunnels),
            ),
            box(*site.plots.total_bounds),
            to_geojson,
        ),
        "drains": shapes.flow_lines(plan.flow_lines, to_geojson),
        "changes": [shapes.change(each.ground, to_geojson) for each in plan.what_ifs],
        "choices": shapes.other_choices(
            plan.tunnel_choices, site.settings.tunnel_choice, to_geojson
        ),
        "films": film.films(
            analysis.cold_air,
            [(each.name, each.analysis.cold_air) for each in plan.what_ifs],
        ),
        "tonight": tonight_lists.lists(
            plan.evenings, plan.beds, plan.weekly_jobs.starts, units
        ),
        "view": _corners(
            shapes.planned_bounds(site.plots.geometry, plan.tunnels), site.crs
        ),
        "edge": _corners(ground.bounds, ground.crs),
        "place": grids.place(grids.thinned(ground)),
        "readings": list(
            readings(
                analysis,
                [each.analysis for each in plan.what_ifs],
                percent(analysis.terrain),
                units,
            )
        ),
        "spring": site.spring_month,
        "summer": site.summer_month,
        "say": labels.labels(),
        "units": _units(units),
    }


def _corners(bounds: Bounds, crs: pyproj.CRS) -> LatLonBounds:
    """South-west and north-east corners, as latitude and longitude."""
    to_degrees = transformer(crs, WGS84)
    west, south, east, north = to_degrees.transform_bounds(*bounds)
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
