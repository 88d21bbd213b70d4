"""One still night: what the cold air meets, and three runs that carry the unknown."""

import math
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import NamedTuple

import geopandas as gpd
import numba
import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely
from rasterio import features

from fieldmap.analyse.cold_air.ground import FlowGround
from fieldmap.analyse.light import sun
from fieldmap.analyse.light.sky import SUN_YEAR
from fieldmap.cache import Arrays, Store
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster
from fieldmap.model.site import cells_in
from fieldmap.model.surroundings import HOLDING_COLD_AIR, MAKING_NO_COLD_AIR
from layers import coldair, horizon, sunlight

Floats = npt.NDArray[np.float64]

SECTORS = 16  # of the sky that the production of cold air sees
WHOLE = (slice(None), slice(None))
LOW_STEM_M = 0.5  # on higher clear stems nothing holds cold air back
SHORTEST_NIGHT_H = 1.0  # shorter ones make no layer worth a name (a choice)
# Day of the year of the last freeze where the record has none: 1 May, 1 November (a
# choice, no source; it sets the length of the night, nothing else).
USUAL_FREEZE_DAY = {False: 121, True: 305}
MIDSUMMER_DAY, MIDWINTER_DAY = 172, 355  # of the north: 21 June, 21 December
# The three runs that carry what is not known of the flow; the middle one is shown.
CENTRAL = coldair.CENTRAL
RUNS = (coldair.THIN, CENTRAL, coldair.DEEP)
SHOWN = RUNS.index(CENTRAL)
# Hours after sunset that are kept of the run that is shown: closer at first, as the
# air on a slope comes to rest within the hour.
FRAMES_H = (
    *(minutes / 60 for minutes in (2, 4, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50)),
    *(1, 1.25, 1.5, 1.75, 2, 2.5, 3, 3.5),
    *(float(hour) for hour in range(4, 15)),
)


@dataclass(frozen=True)
class Night:
    """Cold air of a clear calm night on the cells of the flow.

    Attributes
    ----------
    depths_m
        Raster of (runs, rows, cols): a thin, the central and a deep layer at the end.
    east_m2_s, north_m2_s
        Flux of the central run.
    frames_m
        (frames, rows, cols) depth of the central run at `frames_h` after sunset.
    length_h
        From sunset to sunrise.
    hours, steady
        When the run ended after sunset, and whether the air on the plots had then come
        to rest.
    ground
        What the air ran over.
    """

    depths_m: Raster
    east_m2_s: Floats
    north_m2_s: Floats
    frames_m: npt.NDArray[np.float32]
    frames_h: tuple[float, ...]
    length_h: float
    hours: float
    steady: bool
    ground: FlowGround

    @property
    def depth_m(self) -> Raster:
        """Depth in the central run."""
        return self.depths_m.with_values(self.depths_m.values[SHOWN])


def run(
    ground: FlowGround,
    plots: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    length_h: float,
    store: Store,
    progress: Progress,
) -> Night:
    """Let cold air form, run and lie through a clear calm night, three times.

    Parameters
    ----------
    ground
        Ground that the air runs over; surroundings do not change it.
    plots
        As `Site.plots`: the run ends when the air on them comes to rest; sealed ground
        makes no cold air.
    surroundings
        As `Site.surroundings`: some things hold cold air back, and buildings, water and
        roads make none.
    length_h
        From sunset to sunrise, see `night_h`.
    store
        Where a night of the same inputs is taken from.
    progress
        Is called with the step where the air must be let run.
    """
    heights = ground.heights_m
    met = met_by(ground, plots, surroundings)
    inputs = {"night": length_h, **met.inputs()}

    def begun() -> None:
        progress(Fact("step_cold_air"))

    def compute() -> Arrays:
        begun()
        return _three_runs(met, length_h)

    found = store.reuse("flow", inputs, compute, begun)
    hours, steady = found["ended"]
    return Night(
        depths_m=heights.with_values(found["depths_m"].astype(np.float64)),
        east_m2_s=found["flux"][0],
        north_m2_s=found["flux"][1],
        frames_m=found["frames_m"],
        frames_h=FRAMES_H[: len(found["frames_m"])],
        length_h=length_h,
        hours=float(hours),
        steady=bool(steady),
        ground=ground,
    )


class CentralRun(NamedTuple):
    """The end of the central run alone: depth, and flux as that of a `Night`."""

    depth_m: Raster
    east_m2_s: Floats
    north_m2_s: Floats


def central_run(
    ground: FlowGround,
    plots: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    length_h: float,
    store: Store,
) -> CentralRun:
    """The run of a night that is shown, without the two that carry what is not known.

    Parameters
    ----------
    ground
        Ground that the air runs over; surroundings do not change it.
    plots
        As `Site.plots`: the run ends when the air on them comes to rest; sealed ground
        makes no cold air.
    surroundings
        As `Site.surroundings`: some things hold cold air back, and buildings, water and
        roads make none.
    length_h
        From sunset to sunrise, see `night_h`.
    store
        Where a run of the same inputs is taken from.
    """
    met = met_by(ground, plots, surroundings)

    def compute() -> Arrays:
        night = coldair.Night(length_h, (), met.watched)
        found = _drained(met, met.production(), night, CENTRAL)
        flux = np.stack([found.east_m2_s, found.north_m2_s])
        return {"depth_m": found.depth_m, "flux": flux}

    found = store.reuse("central-flow", {"night": length_h, **met.inputs()}, compute)
    return CentralRun(ground.heights_m.with_values(found["depth_m"]), *found["flux"])


def runs(
    ground: FlowGround,
    plots: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    night: coldair.Night,
    drain: Callable[..., coldair.ColdAir] = coldair.drain,
) -> Iterator[coldair.ColdAir]:
    """The three runs of a night, one after the other.

    Parameters
    ----------
    ground
        Ground that the air runs over.
    plots
        With `ground`.
    surroundings
        As `Site.surroundings`: some things hold cold air back, and buildings, water and
        roads make none.
    night
        How long, and what is to be seen of it.
    drain
        `coldair.drain`, or the same on a graphics card.
    """
    met = met_by(ground, plots, surroundings)
    production = met.production()
    for flow in RUNS:
        yield _drained(met, production, night, flow, drain)


class Met(NamedTuple):
    """What the cold air meets.

    Attributes
    ----------
    ground_m
        (rows, cols); missing where air runs out, but for wide water.
    water
        Wide water.
    share
        Of the production of open ground under an open sky.
    watched
        The plots, where the air must come to rest.
    """

    ground_m: Floats
    cell_m: float
    water: npt.NDArray[np.bool_]
    share: Floats
    barriers: coldair.Barriers
    watched: npt.NDArray[np.bool_]

    def inputs(self) -> Arrays:
        """What a result hangs on."""
        east = np.stack([self.barriers.east_sill_m, self.barriers.east_covered])
        north = np.stack([self.barriers.north_sill_m, self.barriers.north_covered])
        return {
            "ground": self.ground_m,
            "cell": np.array(self.cell_m),
            "water": self.water,
            "share": self.share,
            "watched": self.watched,
            "east": east,
            "north": north,
        }

    @property
    def land_m(self) -> Floats:
        """Heights without those of wide water."""
        return np.where(self.water, np.nan, self.ground_m)

    def production(self) -> Floats:
        """Share of what open ground makes, by the sky that each cell sees."""
        return open_sky_share(self.ground_m, self.cell_m) * self.share


def met_by(
    ground: FlowGround, plots: gpd.GeoDataFrame, surroundings: gpd.GeoDataFrame
) -> Met:
    """What cold air meets: ground, sealed ground and barriers.

    Parameters
    ----------
    ground
        Ground that the air runs over.
    plots
        With `ground`.
    surroundings
        As `Site.surroundings`.
    """
    heights = ground.heights_m
    return Met(
        heights.values,
        heights.cell_size_m,
        ground.water,
        _production_share(plots, surroundings, heights),
        _barriers(surroundings, heights),
        cells_in(plots.geometry, heights),
    )


def open_sky_share(ground_m: Floats, cell_m: float) -> Floats:
    """Share of what open ground under an open sky makes, by the sky that each cell sees.

    Parameters
    ----------
    ground_m
        (rows, cols); 0 where it is missing.
    cell_m
        Side of a cell.
    """
    skyline_deg = horizon.angles_deg(ground_m, ground_m, cell_m, SECTORS, WHOLE)
    sky_view = horizon.sky_view(skyline_deg)
    return np.where(np.isnan(sky_view), 0.0, sky_view)


def _drained(
    met: Met,
    production: Floats,
    night: coldair.Night,
    run: coldair.Flow,
    drain: Callable[..., coldair.ColdAir] = coldair.drain,
) -> coldair.ColdAir:
    return drain(met.land_m, met.cell_m, production, night, run, met.barriers)


def _three_runs(met: Met, length_h: float) -> Arrays:
    """The runs of a night, as a store keeps them."""
    production = met.production()

    def one(run: coldair.Flow) -> coldair.ColdAir:
        kept = FRAMES_H if run is CENTRAL else ()
        kept = tuple(hour for hour in kept if hour < length_h)
        night = coldair.Night(length_h, kept, met.watched)
        return _drained(met, production, night, run)

    runs = list(_pool().map(one, RUNS))
    shown = runs[SHOWN]
    return {
        "depths_m": np.stack([each.depth_m for each in runs]).astype(np.float32),
        "flux": np.stack([shown.east_m2_s, shown.north_m2_s]),
        "frames_m": shown.frames_m,
        "ended": np.array([shown.hours, shown.ended_by == "steady"]),
    }


@cache
def _pool() -> ThreadPoolExecutor:
    """Where the runs of all nights take turns: one for each core at a time."""
    return ThreadPoolExecutor(numba.get_num_threads())


def begin_no_more() -> None:
    """Drop the runs that have not begun, as when the command is stopped."""
    _pool().shutdown(wait=False, cancel_futures=True)
    _pool.cache_clear()


class FrostNight(NamedTuple):
    """A night at the time of year when frost ends or begins.

    Attributes
    ----------
    hours
        From sunset to sunrise.
    of
        "spring" for one about the last freeze; where the sun hardly sets then, "autumn"
        for one about the first, and where it does not either, "winter" for the longest.
    """

    hours: float
    of: str


def frost_night(days: pd.DataFrame, latitude: float, longitude: float) -> FrostNight:
    """The night through which cold air is let run.

    Parameters
    ----------
    days
        Of a weather record, by date, with `tmin_c` [°C]; a night that is missing is no
        freeze, and without any freeze a usual day is taken.
    latitude, longitude
        Of the place [degrees], north and east positive.
    """
    southern = latitude < 0
    at = pd.DatetimeIndex(days.index)
    freezing = at[days["tmin_c"] <= 0]
    # In the second half of the year freezes begin the northern winter and end the southern.
    second = freezing.month >= 7
    last = freezing[second == southern]
    first = freezing[second != southern]
    for of, freezes, usual in (
        ("spring", last[~last.year.duplicated(keep="last")], southern),
        ("autumn", first[~first.year.duplicated(keep="first")], not southern),
    ):
        numbers = freezes.day_of_year.tolist() or [USUAL_FREEZE_DAY[usual]]
        hours = _night_h(round(float(np.mean(numbers))), latitude, longitude)
        if hours >= SHORTEST_NIGHT_H:
            return FrostNight(hours, of)
    longest = MIDSUMMER_DAY if southern else MIDWINTER_DAY
    return FrostNight(_night_h(longest, latitude, longitude), "winter")


def night_h(days: pd.DataFrame, latitude: float, longitude: float) -> float:
    """Hours of the night through which cold air is let run.

    Parameters
    ----------
    days
        Of a weather record, as in `frost_night`.
    latitude, longitude
        Of the place [degrees], north and east positive.
    """
    return frost_night(days, latitude, longitude).hours


def _night_h(day_of_year: int, latitude: float, longitude: float) -> float:
    """Hours of a day on which the sun is down."""
    day = date(SUN_YEAR, 1, 1) + timedelta(days=day_of_year - 1)
    path = sun.path([day], sunlight.Place(latitude, longitude, 0.0, 0.0))
    return float(np.count_nonzero(path.altitude_deg <= 0) * path.step_hours)


def _production_share(
    plots: gpd.GeoDataFrame, surroundings: gpd.GeoDataFrame, heights: Raster
) -> Floats:
    """1 on open ground, 0 over water and sealed ground (VDI 3787-5, from memory)."""
    warm = [
        *surroundings.geometry[surroundings["kind"].isin(MAKING_NO_COLD_AIR)],
        *plots.geometry[plots["ground"] == "sealed"],
    ]
    if not warm:
        return np.ones(heights.shape)
    sealed = features.rasterize(warm, heights.shape, transform=heights.transform)
    return 1.0 - np.asarray(sealed, float)


def in_the_way(surroundings: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """What holds cold air back: under a clear stem it runs through."""
    low_stem = surroundings["clear_stem_m"].fillna(0.0) < LOW_STEM_M
    return surroundings[surroundings["kind"].isin(HOLDING_COLD_AIR) & low_stem]


def _barriers(surroundings: gpd.GeoDataFrame, heights: Raster) -> coldair.Barriers:
    """Outlines of what cold air must rise over, and how high."""
    things = in_the_way(surroundings)
    pieces, sills_m = [np.empty((0, 4))], [np.empty(0)]
    origin = np.array([heights.transform.c, heights.transform.f])
    for outline, height_m, porosity in zip(
        things.geometry, things["height_m"], things["porosity"], strict=True
    ):
        gaps = 0.0 if math.isnan(porosity) else porosity
        for ring in shapely.get_rings(shapely.get_parts(outline)):
            # East and south of the corner, as rows are counted.
            corners = (shapely.get_coordinates(ring) - origin) * (1.0, -1.0)
            pieces.append(np.hstack([corners[:-1], corners[1:]]))
            sills_m.append(np.full(len(corners) - 1, height_m * (1.0 - gaps)))
    return coldair.barriers_along(
        np.concatenate(pieces),
        np.concatenate(sills_m),
        heights.shape,
        heights.cell_size_m,
    )
