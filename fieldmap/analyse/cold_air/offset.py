"""Where cold air lies around the plots, and how much colder that makes a place."""

from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from fieldmap.analyse.cold_air import flow
from fieldmap.analyse.cold_air.flow import Night
from fieldmap.analyse.cold_air.ground import FlowGround
from fieldmap.analyse.fields import ColdAirFields
from fieldmap.cache import Arrays, Store
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact, Progress
from fieldmap.model.raster import Raster, Window
from fieldmap.model.site import (
    NEAR_M,
    SEEN_IS_RIGHT,
    WHITE_AT_DAWN,
    Mark,
    Site,
    cells_in,
    marked_cells,
)
from layers import coldair, drainage, evidence, terrain

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

WEIGHTS, CENTRAL = len(coldair.ROOT_DEPTH_C), 1  # pairs of weights, and the likeliest
LIKELIEST = WEIGHTS * flow.SHOWN + CENTRAL  # answer, after a night that was run
# A place is compared with the ground within this radius, if there is so much of it.
WIDEST_RADIUS_M = 300.0
# Shallower hollows are noise, where the site does not say how far heights may be out.
HOLLOW_FROM_M = 0.3
# Where air from beyond the known ground is not counted, the range is so much wider (a
# choice, no source).
WIDER_IF_CUT = 1.5
# What is not known of an offset at least, however narrow its range (a choice: the step
# that people are shown), and how many of that lie between the ends of a range that
# holds eight parts of ten of a normal law.
LEAST_SPREAD_C = 0.5
SPREADS_IN_RANGE = 2.563


class Told(NamedTuple):
    """What a night that was run, or the shape of the ground, tells of the shown cells.

    Attributes
    ----------
    depth_m
        Of cold air, else under the spill of a hollow.
    coldness_c
        (answers, rows, cols), as `coldair` gives it.
    reference_c
        (answers,): that of the reference.
    central_answer
        Number of the likeliest answer.
    """

    depth_m: Floats
    coldness_c: Floats
    reference_c: Floats
    central_answer: int


class Offsets(NamedTuple):
    """Depth of cold air and what it is worth, as `ColdAirFields` has them."""

    depth_m: Raster
    answers_c: Raster
    central_answer: int
    offset_c: Raster


class Shape(NamedTuple):
    """What the shape of the ground alone says of cold air, (rows, cols) of all of it.

    Attributes
    ----------
    hollow_m
        Depth under the spill.
    has_signal
        Cells on which the ground says anything at all.
    pool_class
        Of Lundquist et al. 2008: 1 collects cold air, 0 no signal, -1 does not.
    """

    hollow_m: Floats
    has_signal: Flags
    pool_class: Floats


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
    """
    margin_m, plots = site.edge_m, site.plots.geometry
    radius_m = min(WIDEST_RADIUS_M, max(margin_m, smooth.cell_size_m))
    shape = _shape(smooth, radius_m, site.settings.ground.elevation_error_m, store)
    shown, on_plots = smooth.clip(window), cells_in(plots, smooth)
    reference = _reference(on_plots, site.station_cell)
    night: Night | None = None
    length_h = flow.night_h(site.weather.days, site.latitude, site.longitude)
    if is_run(site):
        night = flow.run(
            ground, site.plots, site.surroundings, length_h, store, progress
        )
        places = smooth.middle_of(*np.nonzero(reference))
        told = _after_night(night, shown, _middle(coldness_at(night, *places)))
    else:
        told = _by_height(smooth, shape.hollow_m, radius_m, ground.wetness, reference)
        told = told._replace(
            depth_m=told.depth_m[window], coldness_c=told.coldness_c[:, *window]
        )
    offsets = _offsets(
        told, shown, shape.has_signal[window], site.offset_factor, ground.cut
    )
    seen_c = _seen_c(site.marks, plots, offsets.offset_c)
    colder = _taken_colder(offsets, seen_c, limited=site.offset_factor is None)
    moved_c = colder.offset_c.values[1] - offsets.offset_c.values[1]
    fields = ColdAirFields(
        **colder._asdict(),
        reference_c=tuple(told.reference_c.tolist()),
        night=night,
        seen_c=shown.with_values(moved_c),  # within what offsets may be
        has_signal=shown.with_values(shape.has_signal[window]),
        hollow_depth_m=shown.with_values(shape.hollow_m[window]),
        cold_pool_class=shown.with_values(shape.pool_class[window]),
    )
    tells_share = float(shape.has_signal[on_plots].mean())
    return fields, [*_how_it_ran(night, radius_m), *_unknown(site, tells_share)]


def is_run(site: Site) -> bool:
    """Whether air is let run: on enough ground, through a night worth the name."""
    length_h = flow.night_h(site.weather.days, site.latitude, site.longitude)
    return site.margin_m >= NEAR_M and length_h >= flow.SHORTEST_NIGHT_H


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
    night
        Of the place as it is.
    site
        With the other surroundings.
    """
    there = flow.run(
        night.ground, site.plots, site.surroundings, night.length_h, store, progress
    )
    told = _after_night(there, shown, np.array(now.reference_c))
    offsets = _offsets(
        told, shown, now.has_signal.values, site.offset_factor, night.ground.cut
    )
    colder = _taken_colder(
        offsets, now.seen_c.values, limited=site.offset_factor is None
    )
    return replace(now, **colder._asdict(), night=there)


def _seen_c(
    marks: Iterable[Mark], plots: Iterable[BaseGeometry], offset_c: Raster
) -> Floats:
    """By how much ground that was seen white at dawn is taken colder, (rows, cols).

    0 or less, and 0 wherever nothing was seen: that says nothing, as who draws marks
    need not have been everywhere. The middle that it was seen to be colder than is that
    of the plots off such marks; where none is left, nothing moves. It moves most where
    the computed offsets leave it open which of the two is colder (see
    `evidence.moved_below`).

    Parameters
    ----------
    offset_c
        Low, central and high, as computed.
    """
    inside = marked_cells(marks, offset_c, WHITE_AT_DAWN)
    low, central, high = offset_c.values
    others = central[cells_in(plots, offset_c) & ~inside & ~np.isnan(central)]
    if not inside.any() or not others.size:
        return np.zeros(offset_c.shape)
    spread = np.maximum((high - low) / SPREADS_IN_RANGE, LEAST_SPREAD_C)
    moved = evidence.moved_below(
        central, spread, float(np.median(others)), SEEN_IS_RIGHT
    )
    # Missing ground has no offset that could move.
    return np.where(inside & ~np.isnan(central), moved, 0.0)


def _taken_colder(offsets: Offsets, by_c: Floats, *, limited: bool) -> Offsets:
    """The same with every answer that much colder.

    Parameters
    ----------
    limited
        Within what offsets may be: limits are for what nobody measured here.
    """
    if not np.nansum(by_c):
        return offsets

    def colder(raster: Raster) -> Raster:
        moved = raster.values + by_c
        if limited:
            moved = np.maximum(moved, np.minimum(raster.values, coldair.COLDEST_C))
        return raster.with_values(moved)

    return offsets._replace(
        answers_c=colder(offsets.answers_c), offset_c=colder(offsets.offset_c)
    )


def _shape(
    smooth: Raster, radius_m: float, error_m: float | None, store: Store
) -> Shape:
    """What hollows, heights and bends say, each cell beside those within a radius."""
    ground_m, cell_m = smooth.values, smooth.cell_size_m
    shallow_m = HOLLOW_FROM_M if error_m is None else error_m

    def compute() -> Arrays:
        hollow_m = drainage.hollow_depth_m(ground_m)
        hollow_m[hollow_m < shallow_m] = 0.0
        has_signal = coldair.tells_something(
            ground_m, hollow_m, cell_m, radius_m, shallow_m
        )
        slope_deg, _ = terrain.slope_and_aspect_deg(ground_m, cell_m)
        rank = coldair.lowness_rank(ground_m, cell_m, radius_m)
        curvature = coldair.curvature_over(ground_m, cell_m, radius_m)
        pool_class = coldair.cold_pool_class(slope_deg, rank, curvature)
        pool_class[~has_signal & ~np.isnan(pool_class)] = coldair.NO_SIGNAL
        return Shape(hollow_m, has_signal, pool_class)._asdict()

    lengths = {"cell": cell_m, "radius": radius_m, "shallow": shallow_m}
    inputs = {"ground": ground_m, **lengths}
    return Shape(**store.reuse("hollows", inputs, compute))


def coldness_at(
    night: Night, easting: npt.ArrayLike, northing: npt.ArrayLike
) -> Floats:
    """How cold a night makes places, (answers, places): run by run, weights within."""
    depths_m = night.depths_m.carried_on().interpolate(easting, northing)
    wetness = night.ground.wetness.carried_on().interpolate(easting, northing)
    return np.concatenate([coldair.coldness_c(each, wetness) for each in depths_m])


def _middle(coldness_c: Floats) -> Floats:
    """Median over places, by answer."""
    everywhere = np.ones((1, coldness_c.shape[1]), bool)
    return np.array(
        [coldair.reference_median(each[np.newaxis], everywhere) for each in coldness_c]
    )


def _after_night(night: Night, shown: Raster, reference_c: Floats) -> Told:
    """What a night that was run tells of the shown cells."""
    depths_m = night.depths_m.carried_on().read_on(shown)
    wetness = night.ground.wetness.carried_on().read_on(shown)
    return Told(
        depths_m[flow.SHOWN],
        np.concatenate([coldair.coldness_c(each, wetness) for each in depths_m]),
        reference_c,
        LIKELIEST,
    )


def _by_height(
    smooth: Raster, hollow_m: Floats, radius_m: float, wetness: Raster, reference: Flags
) -> Told:
    """What height and wetness tell of all cells, without letting the air run."""
    above_m = terrain.height_above_median_m(smooth.values, smooth.cell_size_m, radius_m)
    coldness_c = coldair.stopgap_coldness_c(above_m, wetness.read_on(smooth))
    return Told(hollow_m, coldness_c, _middle(coldness_c[:, reference]), CENTRAL)


def _offsets(
    told: Told,
    shown: Raster,
    has_signal: Flags,
    factor: Estimate | None,
    cut: Fact | None,
) -> Offsets:
    """Answers on the shown cells, none where the ground says nothing, as rasters.

    Parameters
    ----------
    factor
        By which thermometers on the spot multiply the likeliest answer.
    cut
        What drains onto the plots from beyond the known ground.
    """
    answers_c = coldair.offsets_c(told.coldness_c, told.reference_c)
    answers_c[:, ~has_signal & ~np.isnan(shown.values)] = 0.0
    central = told.central_answer
    if factor is not None:
        # The one of the middle stands in the middle also where offsets are above 0.
        answers_c = np.stack([each * answers_c[central] for each in factor])
        central = CENTRAL
    limits_c = (-np.inf, np.inf)  # they are for what nobody measured here
    if factor is None:
        limits_c = coldair.COLDEST_C, coldair.WARMEST_C
    answers_c = np.clip(answers_c, *limits_c)
    range_c = coldair.offset_range_c(answers_c, central)
    if cut is not None:
        range_c = range_c[1] + WIDER_IF_CUT * (range_c - range_c[1])
    return Offsets(
        shown.with_values(told.depth_m),
        shown.with_values(answers_c),
        central,
        shown.with_values(np.clip(range_c, *limits_c)),
    )


def _how_it_ran(night: Night | None, radius_m: float) -> list[Fact]:
    if night is None:
        return [Fact("air_not_run", distance_m=radius_m)]
    how = "air_at_rest" if night.steady else "air_still_rising"
    cut = night.ground.cut
    return [Fact(how, hours=night.hours), *([] if cut is None else [cut])]


def _unknown(site: Site, tells_share: float) -> list[Fact]:
    """What thermometers, the elevation or the site could say or not about cold air."""
    remarks = []
    factor = site.offset_factor
    if site.observed is not None and factor is not None:
        learnt = {"number": site.observed.clear_calm_nights, "factor": factor}
        remarks.append(Fact("factor_from_thermometers", **learnt))
    if site.settings.ground.elevation_error_m is None:
        remarks.append(Fact("hollows_left_out", depth_m=HOLLOW_FROM_M))
    if tells_share < 1:
        remarks.append(Fact("too_level_to_tell", percent_share=1 - tells_share))
    off_it = site.settings.station is not None and site.station_cell is None
    if off_it and site.bias_c is None:
        remarks.append(Fact("station_off_the_elevation"))
    return remarks
