"""What things that stand take from the light of cells, beds and single points.

Light of open ground comes in straight lines from `light`; what hedges, walls, barns and
trees take from it is worked out for points, from the outlines of the things themselves:
for points of each bed, and for points within each shown cell, see `spread`. So the cells of the elevation decide nothing.
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numba
import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.light import spread
from fieldmap.analyse.light.sky import Sky
from fieldmap.analyse.light.standing_things import StandingThings
from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Bounds, Raster
from layers import obstacles, sunlight

Floats = npt.NDArray[np.float64]
Single = npt.NDArray[np.float32]

# Rays around each point of a bed, where the sun crosses two degrees in eight minutes,
# and around those of the shown cells.
SECTORS_OF_BEDS, SECTORS_OF_CELLS = 180, 90
# Shade reaches this many heights: a sun of 3° throws it that far. Farther light is kept
# when something comes or goes (a choice).
REACH_HEIGHTS = 20.0
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

    def kept_at(self, points: Floats, sectors: int) -> Single:
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
        kept = np.zeros((len(PARTS), 12, len(points)), np.float32)

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
    """Means over cells of what things take, (parts, 12, rows, cols), see `PARTS`.

    Parameters
    ----------
    shade
        What stands there, on what ground, under what sky.
    cells
        Grid of the cells; its values are not read.
    store
        Where unchanged results are taken from.
    progress
        Is called with the step where shade must be computed.

    Returns
    -------
    kept
        In [MJ/m²/day], hours a day and shares; (parts, 12, 1, 1) of 0 where nothing
        stands.
    """
    rows, cols = cells.shape
    if not shade.exists:
        return np.zeros((len(PARTS), 12, 1, 1))
    inputs = {**shade.inputs(), "cells": list(cells.transform), "shape": [rows, cols]}

    def compute() -> Arrays:
        progress(Fact("step_shade"))
        points = spread.in_cells(cells, shade.things.prisms.sides)
        kept = points.means(shade.kept_at(points.places, SECTORS_OF_CELLS))
        return {"kept": kept.reshape(len(PARTS), 12, rows, cols).astype(np.float32)}

    return store.reuse("shade", inputs, compute)["kept"]


def on_beds(shade: Shade, outlines: Sequence[BaseGeometry], store: Store) -> Floats:
    """Means over outlines of what things take, (parts, 12, outlines), see `PARTS`.

    Parameters
    ----------
    shade
        What stands there, on what ground, under what sky.
    outlines
        Of beds, in the site's CRS.
    store
        Where unchanged results are taken from.
    """
    if not len(outlines) or not shade.exists:
        return np.zeros((len(PARTS), 12, len(outlines)))
    points = spread.on_outlines(outlines, shade.things.prisms.sides)

    def compute() -> Arrays:
        return {"kept": points.means(shade.kept_at(points.places, SECTORS_OF_BEDS))}

    inputs = {**shade.inputs(), **vars(points)}
    return store.reuse("shade-of-beds", inputs, compute)["kept"]


def reach(outline: BaseGeometry, height_m: float) -> Bounds:
    """Where light is worked out anew when something of this height comes or goes."""
    west, south, east, north = outline.buffer(REACH_HEIGHTS * height_m).bounds
    return west, south, east, north


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
