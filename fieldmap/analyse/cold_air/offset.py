"""Where cold air lies around the plots, and how much colder that makes a place."""

from dataclasses import replace
from typing import NamedTuple

import geopandas as gpd
import numpy as np
import numpy.typing as npt
from scipy import ndimage

from fieldmap.analyse.cold_air import flow, reach
from fieldmap.analyse.cold_air.flow import Night
from fieldmap.analyse.cold_air.ground import (
    CELL_M,
    FlowGround,
    Heights,
    ground_around,
)
from fieldmap.analyse.cold_air.seen import Offsets, seen_c, taken_colder
from fieldmap.analyse.cold_air.shape import HOLLOW_FROM_M, shape_of
from fieldmap.analyse.fields import ColdAirFields
from fieldmap.cache import Arrays, Store
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster, Window
from fieldmap.model.site import (
    NEAR_M,
    Site,
    cells_in,
)
from layers import coldness, scatter, terrain

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

WEIGHTS, CENTRAL = len(coldness.ROOT_DEPTH_C), 1  # pairs of weights, and the likeliest
LIKELIEST = WEIGHTS * flow.SHOWN + CENTRAL  # answer, after a night that was run
# A place is compared with the ground within this radius, if there is so much of it.
WIDEST_RADIUS_M = 300.0
# This number of cells of the reference stands for all of them.
REFERENCE_PLACES = 40


class Coldness(NamedTuple):
    """Cold air on the shown cells, by a night that was run or by the shape of the ground.

    Attributes
    ----------
    depth_m
        Of cold air, else under the spill of a hollow.
    coldness_c
        (answers, rows, cols), as `coldness` gives it.
    reference_c
        (answers,): that of the reference.
    central_answer
        Number of the likeliest answer.
    """

    depth_m: Floats
    coldness_c: Floats
    reference_c: Floats
    central_answer: int


def cold_air(
    site: Site,
    smooth: Raster,
    window: Window,
    ground: FlowGround,
    store: Store,
    progress: Progress,
) -> tuple[ColdAirFields, list[Fact]]:
    """Cold air of a clear calm night on the shown cells, and remarks.

    Where the elevation reaches far enough the air is let run through a night; else the
    hollows and the relative height must do.

    Parameters
    ----------
    site
        Its plots, surroundings, weather, marks and thermometers.
    smooth
        Smoothed heights of all known ground [m]; NaN where missing.
    window
        Rows and columns of the shown cells in it.
    ground
        Ground that the air runs over.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.

    Returns
    -------
    fields
        Depths and offsets on the shown cells.
    remarks
        How the night ran, or why it did not, and what stays unknown.
    """
    margin_m, plots = site.edge_m, site.plots.geometry
    radius_m = min(WIDEST_RADIUS_M, max(margin_m, smooth.cell_size_m))
    error_m = site.settings.ground.elevation_error_m
    shape = shape_of(smooth, window, radius_m, error_m, store)
    if not site.cold_air_of_beds_known:
        shape = shape._replace(has_signal=np.zeros_like(shape.has_signal))
    shown, on_plots = smooth.clip(window), cells_in(plots, smooth)
    reference = _reference(on_plots, site.station_cell)
    places = np.stack(smooth.middle_of(*np.nonzero(reference)), axis=-1)
    night, moved = None, None
    if is_run(site.edge_m):
        length_h = flow.night_h(site.weather.days, site.latitude, site.longitude)
        around = site.plots, site.surroundings
        night = flow.run(ground, *around, length_h, store, progress)
        cold = _after_night(night, shown, _middle(coldness_at(night, *places.T)))
        moved = reach.moved(night, *around, store)
    else:
        cold = _by_height(smooth, shape.hollow_m, radius_m, ground.wetness, reference)
        # Medians within a radius need all of the ground; the shown cells are kept.
        cold = cold._replace(
            depth_m=cold.depth_m[window], coldness_c=cold.coldness_c[:, *window]
        )
    astray_c = _astray_c(shown, places)
    if night is None:
        astray_c = coldness.STOPGAP_ASTRAY * astray_c
    # What more ground could change is one more unknown, independent of the others.
    if moved is not None:
        astray_c = np.hypot(astray_c, moved["degrees_c"])
    offsets = _offsets(
        cold, shown, shape.has_signal[window], site.offset_factor, astray_c, store
    )
    by_c = seen_c(site.marks, plots, offsets.offset_c)
    colder = taken_colder(offsets, by_c, limited=site.offset_factor is None)
    moved_c = colder.offset_c.values[1] - offsets.offset_c.values[1]
    fields = ColdAirFields(
        **colder._asdict(),
        reference_c=tuple(cold.reference_c.tolist()),
        night=night,
        astray_c=shown.with_values(astray_c),
        seen_c=shown.with_values(moved_c),  # within what offsets may be
        has_signal=shown.with_values(shape.has_signal[window]),
        hollow_depth_m=shown.with_values(shape.hollow_m[window]),
        cold_pool_class=shown.with_values(shape.pool_class),
    )
    tells_share = float(shape.has_signal[on_plots].mean())
    if night is None:
        how = [_why_not_run(site.edge_m, radius_m)]
    else:
        frost = flow.frost_night(site.weather.days, site.latitude, site.longitude)
        how = _how_it_ran(night, frost)
    how += [] if moved is None else [moved]
    return fields, [*how, *_unknown(site, tells_share)]


def is_run(edge_m: float) -> bool:
    """Whether air is let run: where enough ground is known; some night is long enough."""
    return edge_m >= NEAR_M


def _reference(on_plots: Flags, station_cell: tuple[int, int] | None) -> Flags:
    """Cells that others are compared with: the station's, else those of the plots."""
    if station_cell is None:
        return on_plots
    reference = np.zeros(on_plots.shape, bool)
    reference[station_cell] = True
    return reference


def with_other_surroundings(
    now: ColdAirFields,
    night: Night,
    site: Site,
    shown: Raster,
    store: Store,
    progress: Progress,
) -> ColdAirFields:
    """Cold air with other things around, against the reference of the place as it is.

    Parameters
    ----------
    now
        Cold air of the place as it is; its reference and its range of what terrain does
        not say are kept.
    night
        Of the place as it is.
    site
        With the other surroundings.
    shown
        Raster of the shown cells.
    store
        Where unchanged results are taken from.
    progress
        Is called with each step as it begins.
    """
    there = flow.run(
        night.ground, site.plots, site.surroundings, night.length_h, store, progress
    )
    cold = _after_night(there, shown, np.array(now.reference_c))
    offsets = _offsets(
        cold,
        shown,
        now.has_signal.values,
        site.offset_factor,
        now.astray_c.values,
        store,
    )
    colder = taken_colder(
        offsets, now.seen_c.values, limited=site.offset_factor is None
    )
    return replace(now, **colder._asdict(), night=there)


def likeliest_with_other_surroundings(
    now: ColdAirFields,
    night: Night,
    around: tuple[gpd.GeoDataFrame, gpd.GeoDataFrame],
    shown: Raster,
    factor: Estimate | None,
    store: Store,
) -> ColdAirFields:
    """The likeliest answer alone with other things around, from the central run alone.

    The same as that of `with_other_surroundings`, in a third of the work; the night and
    the range of what it gives are those of no place.

    Parameters
    ----------
    now
        Cold air of the place as it is; its reference and its range of what terrain does
        not say are kept.
    night
        Of the place as it is.
    around
        The plots, and the other surroundings.
    shown
        Raster of the shown cells.
    factor
        By which thermometers on the spot multiply it; None without such a measurement.
    store
        Where unchanged results are taken from.
    """
    plots, surroundings = around
    run = flow.central_run(night.ground, plots, surroundings, night.length_h, store)
    wetness = night.ground.wetness.carried_on().read_on(shown)
    read_m = run.depth_m.carried_on().read_on(shown)
    cold = Coldness(
        read_m,
        coldness.coldness_c(read_m, wetness),
        np.array(now.reference_c).reshape(-1, WEIGHTS)[flow.SHOWN],
        CENTRAL,
    )
    offsets = _offsets(
        cold, shown, now.has_signal.values, factor, now.astray_c.values, store
    )
    colder = taken_colder(offsets, now.seen_c.values, limited=factor is None)
    return replace(now, **colder._asdict(), night=None)


def coldness_at(
    night: Night, easting: npt.ArrayLike, northing: npt.ArrayLike
) -> Floats:
    """How cold a night makes places, (answers, places): run by run, weights within.

    Parameters
    ----------
    night
        A night that was run.
    easting, northing
        (places,) in the site's CRS [m].
    """
    depths_m = night.depths_m.carried_on().interpolate(easting, northing)
    wetness = night.ground.wetness.carried_on().interpolate(easting, northing)
    return np.concatenate([coldness.coldness_c(each, wetness) for each in depths_m])


def coldness_over(
    heights: Heights,
    plots: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    length_h: float,
    store: Store,
) -> Raster:
    """How cold a still night makes the ground around plots: (answers, rows, cols).

    For plots of one region, each on a tile of its own: differences between places of
    two tiles are differences of these. No place is the reference.

    Parameters
    ----------
    heights
        The tile, 100 m or more around the plots, and coarser heights around it.
    plots
        With `ground`, as `Site.plots`.
    surroundings
        As `Site.surroundings`.
    length_h
        From sunset to sunrise.
    store
        Where unchanged results are taken from.
    """
    ground = ground_around(heights, plots.geometry, surroundings)
    night = flow.run(ground, plots, surroundings, length_h, store, _silent)
    around = ground.heights_m
    return around.with_values(
        coldness_at(night, *around.middles).reshape(-1, *around.shape)
    )


def _silent(_step: Fact) -> None:
    """Who computes many plots says its own steps."""


def _middle(coldness_c: Floats) -> Floats:
    """Median over places, by answer."""
    everywhere = np.ones((1, coldness_c.shape[1]), bool)
    return np.array(
        [coldness.reference_median(each[np.newaxis], everywhere) for each in coldness_c]
    )


def _after_night(night: Night, shown: Raster, reference_c: Floats) -> Coldness:
    """Cold air on the shown cells, by a night that was run."""
    depths_m = night.depths_m.carried_on().read_on(shown)
    wetness = night.ground.wetness.carried_on().read_on(shown)
    return Coldness(
        depths_m[flow.SHOWN],
        np.concatenate([coldness.coldness_c(each, wetness) for each in depths_m]),
        reference_c,
        LIKELIEST,
    )


def _by_height(
    smooth: Raster, hollow_m: Floats, radius_m: float, wetness: Raster, reference: Flags
) -> Coldness:
    """Coldness of all cells by height and wetness, without letting the air run."""
    above_m = terrain.height_above_median_m(smooth.values, smooth.cell_size_m, radius_m)
    coldness_c = coldness.stopgap_coldness_c(above_m, wetness.read_on(smooth))
    return Coldness(hollow_m, coldness_c, _middle(coldness_c[:, reference]), CENTRAL)


def _offsets(
    cold: Coldness,
    shown: Raster,
    has_signal: Flags,
    factor: Estimate | None,
    astray_c: Floats,
    store: Store,
) -> Offsets:
    """Answers on the shown cells, none where the ground says nothing, as rasters.

    Parameters
    ----------
    factor
        By which thermometers on the spot multiply the likeliest answer.
    astray_c
        (rows, cols) standard deviation of what terrain does not explain.
    """
    answers_c = coldness.offsets_c(cold.coldness_c, cold.reference_c)
    answers_c[:, ~has_signal & ~np.isnan(shown.values)] = 0.0
    central = cold.central_answer
    if factor is not None:
        # The one of the middle stands in the middle also where offsets are above 0.
        answers_c = np.stack([each * answers_c[central] for each in factor])
        central = CENTRAL
    limits_c = (-np.inf, np.inf)  # they are for what nobody measured here
    if factor is None:
        limits_c = coldness.COLDEST_C, coldness.WARMEST_C
    answers_c = np.clip(answers_c, *limits_c)
    range_c = _ranges_c(shown, answers_c, central, drawn(factor), astray_c, store)
    return Offsets(
        shown.with_values(cold.depth_m),
        shown.with_values(answers_c),
        central,
        shown.with_values(np.clip(range_c, *limits_c)),
    )


def _ranges_c(
    shown: Raster,
    answers_c: Floats,
    central: int,
    cases: coldness.Cases,
    astray_c: Floats,
    store: Store,
) -> Floats:
    """Low, central and high of all cells: ends as far off as on cells of `CELL_M`."""
    step = max(1, round(CELL_M / shown.cell_size_m))
    rows, cols = (np.arange(step // 2, size, step) for size in shown.shape)
    known_c = (
        shown.with_values(answers_c).carried_on().values[:, rows[:, np.newaxis], cols]
    )
    sd_c = astray_c[rows[:, np.newaxis], cols]

    def compute() -> Arrays:
        return {"range_c": coldness.range_c(known_c, central, cases, sd_c)}

    inputs = {"answers": known_c, "central": central, "sd": sd_c, **cases._asdict()}
    low, likely, high = store.reuse("ranges", inputs, compute)["range_c"]
    ends = np.pad(
        np.stack([low - likely, high - likely]), ((0, 0), (1, 1), (1, 1)), "edge"
    )
    every = [
        (np.arange(size) - step // 2) / step + 1 for size in shown.shape
    ]  # in cells of what is padded
    at = np.meshgrid(*every, indexing="ij")
    off_c = [ndimage.map_coordinates(end, at, order=1, mode="nearest") for end in ends]
    likely_c = answers_c[central]
    return np.stack([likely_c + off_c[0], likely_c, likely_c + off_c[1]])


def drawn(factor: Estimate | None) -> coldness.Cases:
    """Cases of what is not known: thermometers tell how large differences are here."""
    return coldness.cases() if factor is None else coldness.cases(factor_sd=0.0)


def _astray_c(shown: Raster, reference_m: Floats) -> Floats:
    """Standard deviation of what terrain does not tell between cells and the reference.

    Of a field whose correlation falls as exp(-distance / 100 m), against its mean over
    the reference: next to nothing within one small plot.
    """
    count = len(reference_m)
    some = np.linspace(0, count - 1, min(count, REFERENCE_PLACES)).astype(np.intp)
    reference_m = reference_m[some]
    east, north = shown.middles

    def alike(place_m: Floats) -> Floats:
        away_m = np.hypot(east - place_m[0], north - place_m[1])
        return np.asarray(np.exp(-away_m / scatter.REACH_M))

    with_it = np.mean([alike(place_m) for place_m in reference_m], axis=0)
    apart_m = np.hypot(*(reference_m[:, np.newaxis] - reference_m).T)
    within = np.exp(-apart_m / scatter.REACH_M).mean()
    return np.asarray(
        scatter.Scatter().place_c * np.sqrt(np.maximum(0.0, 1 - 2 * with_it + within))
    )


def _why_not_run(edge_m: float, radius_m: float) -> Fact:
    """What stops the air: the edge of the elevation."""
    return Fact(
        "air_not_run_edge",
        margin_m=float(round(max(0.0, edge_m))),
        near_m=NEAR_M,
        distance_m=float(round(radius_m)),
    )


def _how_it_ran(night: Night, frost: flow.FrostNight) -> list[Fact]:
    how = "air_at_rest" if night.steady else "air_still_rising"
    cut = night.ground.cut
    return [
        Fact(how, hours=night.hours),
        *(
            []
            if frost.of == "spring"
            else [Fact(f"night_of_{frost.of}", hours=frost.hours)]
        ),
        *([] if cut is None else [cut]),
    ]


def _unknown(site: Site, tells_share: float) -> list[Fact]:
    """What thermometers, the elevation or the site could say or not about cold air."""
    remarks = []
    factor = site.offset_factor
    if site.observed is not None and factor is not None:
        learnt = {"number": site.observed.clear_calm_nights, "factor": factor}
        remarks.append(Fact("factor_from_thermometers", **learnt))
    if site.settings.ground.elevation_error_m is None:
        remarks.append(Fact("hollows_left_out", depth_m=HOLLOW_FROM_M))
    if tells_share < 1 and site.cold_air_of_beds_known:
        remarks.append(Fact("too_level_to_tell", percent_share=1 - tells_share))
    off_it = site.settings.station is not None and site.station_cell is None
    if off_it and site.bias_c is None:
        remarks.append(Fact("station_off_the_elevation"))
    return remarks
