"""What things that stand take from the light of cells, beds and single points.

Light of open ground comes in straight lines from `light`; what hedges, walls, barns and
trees take from it is worked out for points, from the outlines of the things themselves:
for points of each bed, and for points within each shown cell, closer together where a
thing is near. So the cells of the elevation decide nothing.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numba
import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.light.sky import Sky
from fieldmap.analyse.light.standing_things import StandingThings
from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster
from layers import obstacles, sunlight

Floats = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]

# Rays around each point of a bed, where the sun crosses two degrees in eight minutes,
# and around those of the shown cells.
SECTORS_OF_BEDS, SECTORS_OF_CELLS = 180, 90
# Points in cells stand half as far apart as the nearest thing is away, but no closer
# than this, and no farther than a cell: light changes over lengths of that kind
# (choices).
FINEST_M, OF_DISTANCE = 0.5, 0.5
# Points on a bed, across and along it (choices): light close to a hedge changes within
# half a metre.
ACROSS_M, ALONG_M = 0.25, 1.0
BLOCK_POINTS = 1000  # worked on by one thread at a time
PARTS = ("morning", "afternoon", "hours", "sky_share", "sky", "sent", "level")


@dataclass(frozen=True)
class Shade:
    """What stands around the plots, on what ground, under what sky.

    Attributes
    ----------
    ground
        Smoothed heights on all that is known, without things.
    east, north
        Rise of the smoothed ground on the shown cells [m/m].
    skyline_deg
        (sectors, rows, cols): what the ground hides, on the shown cells.
    """

    things: StandingThings
    ground: Raster
    east: Raster
    north: Raster
    skyline_deg: Raster
    sky: Sky

    @property
    def exists(self) -> bool:
        """Whether anything stands there at all."""
        return len(self.things.prisms) > 0

    def inputs(self) -> dict[str, Any]:
        """All of it, for a store."""
        things = self.things
        prisms = {f"thing {name}": each for name, each in vars(things.prisms).items()}
        return {
            **prisms,
            **self.sky.inputs(),
            "transmission": things.transmission,
            "reflectance": things.reflectance,
            "ground": self.ground.values,
            "place": list(self.ground.transform),
            "slopes": np.stack([self.east.values, self.north.values]),
            "skyline": self.skyline_deg.values,
            "shown": list(self.skyline_deg.transform),
        }

    def passing(self, points: Floats, path: sunlight.SunPath) -> Floats:
        """Part of the beam that passes all things, (points, times of the path)."""
        azimuth_deg = path.azimuth_deg - self.sky.place.convergence_deg
        return obstacles.passing(
            self.things.prisms,
            self.things.transmission[:, path.month],
            self._heights,
            points,
            (path.altitude_deg, azimuth_deg),
        )

    def kept_at(self, points: Floats, sectors: int) -> Floats:
        """What things take from the light of points: (parts, 12, points), see `PARTS`.

        Beam before and after noon, sky light (`sky`) and light on a level surface are
        what is taken away [MJ/m²/day]; `sent` is what things send in its place.
        """
        table = self.sky.table(sectors)
        on_sides = sunlight.on_sides_mj_m2_day(table, obstacles.FACINGS)
        sent_back = self.things.reflectance[:, None, :] * on_sides
        tables = sunlight.Tables.of(table)
        light = sunlight.Things(
            self.things.transmission.astype(np.float32), sent_back.astype(np.float32)
        )
        kept = np.zeros((len(PARTS), 12, len(points)))

        def fill(first: int) -> None:
            part = slice(first, first + BLOCK_POINTS)
            here = points[part]
            east, north, skyline_deg = self._ground_under(here)
            rays = obstacles.bands(self.things.prisms, self._heights, here, sectors)
            hidden = sunlight.Hidden(*rays)
            found = sunlight.kept_back(tables, hidden, light, east, north, skyline_deg)
            for number, name in enumerate(PARTS):
                kept[number, :, part] = getattr(found, name).T

        with ThreadPoolExecutor(numba.get_num_threads()) as pool:
            list(pool.map(fill, range(0, len(points), BLOCK_POINTS)))
        return kept

    @property
    def _heights(self) -> obstacles.Ground:
        west, _, _, north = self.ground.bounds
        return obstacles.Ground(
            np.ascontiguousarray(self.ground.values, np.float64),
            west,
            north,
            self.ground.cell_size_m,
        )

    def _ground_under(self, points: Floats) -> tuple[Floats, Floats, Single]:
        """Rise and skyline of the cells that hold the points."""
        row, col = self.east.cell_of(*points.T)
        rows, cols = self.east.shape
        at = np.clip(row, 0, rows - 1), np.clip(col, 0, cols - 1)
        skyline_deg = self.skyline_deg.values[:, *at]
        return self.east.values[at], self.north.values[at], skyline_deg


def on_cells(shade: Shade, cells: Raster, store: Store, progress: Progress) -> Floats:
    """Means over cells of what things take, (parts, 12, rows, cols), see `PARTS`."""
    rows, cols = cells.shape
    if not shade.exists:
        return np.zeros((len(PARTS), 12, 1, 1))
    inputs = {**shade.inputs(), "cells": list(cells.transform), "shape": [rows, cols]}

    def compute() -> Arrays:
        progress(Fact("step_shade"))
        kept = np.zeros((len(PARTS), 12, rows * cols))
        for points, cell in _points_in_cells(shade, cells):
            found, first = np.unique(cell, return_index=True)
            share = len(found) / len(cell)
            of_points = shade.kept_at(points, SECTORS_OF_CELLS)
            kept[:, :, found] = share * np.add.reduceat(of_points, first, axis=2)
        return {"kept": kept.reshape(len(PARTS), 12, rows, cols).astype(np.float32)}

    return store.reuse("shade", inputs, compute)["kept"]


def on_beds(shade: Shade, outlines: Sequence[BaseGeometry], store: Store) -> Floats:
    """Means over outlines of what things take, (parts, 12, outlines), see `PARTS`."""
    points = [points_on(outline) for outline in outlines]
    places = np.concatenate([np.empty((0, 2)), *points])
    counts = np.array([len(each) for each in points], int)

    def compute() -> Arrays:
        kept = shade.kept_at(places, SECTORS_OF_BEDS)
        first = np.cumsum([0, *counts[:-1]])
        return {"kept": np.add.reduceat(kept, first, axis=2) / counts}

    if not len(outlines):
        return np.zeros((len(PARTS), 12, 0))
    inputs = {**shade.inputs(), "points": places, "counts": counts}
    return store.reuse("shade-of-beds", inputs, compute)["kept"]


def dimmed(open_light: Arrays, kept: Floats) -> Arrays:
    """Light of open ground less what things take, under the names of `LightFields`.

    Parameters
    ----------
    open_light
        As `light.by_month` gives it, on cells or beds.
    kept
        (parts, 12, ...) on the same.
    """
    taken = dict(zip(PARTS, kept, strict=True))
    morning, afternoon = (
        np.maximum(open_light[f"{half}_mj_m2_day"] - taken[half], 0.0)
        for half in ("morning", "afternoon")
    )
    beam = morning + afternoon
    sky_view = open_light["sky_view"] - taken["sky_share"].mean(axis=0)
    with np.errstate(invalid="ignore", divide="ignore"):
        morning_share = np.where(beam > 0, morning / beam, np.nan)
    return {
        "sky_view": np.maximum(sky_view, 0.0),
        "beam_mj_m2_day": beam,
        "sky_mj_m2_day": np.maximum(open_light["sky_mj_m2_day"] - taken["sky"], 0.0),
        "reflected_mj_m2_day": open_light["reflected_mj_m2_day"] + taken["sent"],
        "direct_hours": np.maximum(open_light["direct_hours"] - taken["hours"], 0.0),
        "morning_share": morning_share,
        "level_sun_mj_m2_day": np.maximum(
            open_light["level_sun_mj_m2_day"] - taken["level"], 0.0
        ),
    }


def points_on(outline: BaseGeometry) -> Floats:
    """Points spread evenly over an outline, along and across its longest way."""
    frame = outline.minimum_rotated_rectangle
    if frame.geom_type != "Polygon":
        return shapely.get_coordinates(outline.representative_point())
    corner, end, _, other, _ = shapely.get_coordinates(frame)
    if np.hypot(*(end - corner)) < np.hypot(*(other - corner)):
        end, other = other, end
    along, across = end - corner, other - corner
    steps = [
        max(1, int(np.ceil(np.hypot(*side) / spacing - 1e-9)))
        for side, spacing in ((along, ALONG_M), (across, ACROSS_M))
    ]
    u, v = ((np.arange(n) + 0.5) / n for n in steps)
    points = corner + u[:, None, None] * along + v[None, :, None] * across
    points = points.reshape(-1, 2)
    inside = shapely.intersects_xy(outline, *points.T)
    if inside.any():
        return np.asarray(points[inside])
    return shapely.get_coordinates(outline.representative_point())


def _points_in_cells(
    shade: Shade, cells: Raster
) -> list[tuple[Floats, npt.NDArray[np.intp]]]:
    """Points within cells with the flat numbers of these, by how close they stand."""
    size_m = cells.cell_size_m
    wanted_m = OF_DISTANCE * _away_m(shade, cells)
    spacing_m = np.clip(wanted_m, min(FINEST_M, size_m), size_m)
    counts = np.ceil(size_m / spacing_m - 1e-9).astype(int)
    easting, northing = cells.middles
    found = []
    for count in np.unique(counts):
        at = np.flatnonzero(counts == count)
        step = ((np.arange(count) + 0.5) / count - 0.5) * size_m
        east = easting.flat[at][:, None] + np.repeat(step, count)
        north = northing.flat[at][:, None] + np.tile(step, count)
        cell = np.repeat(at, count * count)
        found.append((np.stack([east.ravel(), north.ravel()], axis=1), cell))
    return found


def _away_m(shade: Shade, cells: Raster) -> Floats:
    """How far the outline of the nearest thing is from the rim of each cell, about."""
    ends = shade.things.prisms.sides.reshape(-1, 2, 2)
    tree = shapely.STRtree([shapely.LineString(each) for each in ends])
    points = np.asarray(shapely.points(*cells.middles))
    _, away_m = tree.query_nearest(
        points.ravel(), return_distance=True, all_matches=False
    )
    return np.maximum(away_m.reshape(cells.shape) - cells.cell_size_m / 2, 0.0)
