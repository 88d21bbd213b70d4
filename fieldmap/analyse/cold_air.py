"""Where cold air lies around the plots, and what it is worth."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.analyse import cold_air_flow
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.site import SEEN_IS_RIGHT, WHITE_AT_DAWN, marked_cells, plot_cells
from layers import coldair, drainage, evidence, terrain

if TYPE_CHECKING:
    import numpy.typing as npt

    from fieldmap.analyse.cold_air_flow import Night
    from fieldmap.cache import Store
    from fieldmap.model.fact import Progress
    from fieldmap.model.raster import Raster, Window
    from fieldmap.model.site import Site

    Floats = npt.NDArray[np.float64]

RATES, CENTRAL_RATE = len(coldair.DEPTH_RATES_C_M), 1
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


@dataclass(frozen=True)
class ColdAir:
    """Cold air of a clear calm night on the shown cells.

    Attributes
    ----------
    depth_m
        (rows, cols), of the central run.
    answers_c
        (runs x rates, rows, cols): offset by each run of the flow and each rate of °C
        per metre, rate after rate within a run. One run where no air was let run.
    central_answer
        Number of the likeliest one.
    offset_c
        (3, rows, cols): low, central, high of the answers.
    reference_m
        Depth at the reference, by run; empty where no air was let run.
    night
        The flow itself, None where no air was let run.
    """

    depth_m: Floats
    answers_c: Floats
    central_answer: int
    offset_c: Floats
    reference_m: tuple[float, ...]
    night: Night | None
    remarks: tuple[Fact, ...]


def air(
    site: Site, smooth: Raster, window: Window, store: Store, progress: Progress
) -> ColdAir:
    """Depth of cold air and offset on the shown cells, with remarks.

    Where the elevation reaches far enough the air is let run through a night; else the
    hollows and the relative height must do.
    """
    hollow_m, tells = _hollows(site, smooth, store)
    if not cold_air_flow.is_possible(site):
        return _stood(site, smooth, window, hollow_m, tells)
    coarse = cold_air_flow.ground(site, smooth)
    cut = cold_air_flow.beyond(site, coarse)
    night = cold_air_flow.run(site, coarse, cut, store, progress)
    reference_m = _reference_m(site, smooth, night)
    ran = _run_over(site, night, smooth.clip(window), tells[window], reference_m)
    remarks = (
        Fact("air_at_rest" if night.steady else "air_still_rising", hours=night.hours),
        *([] if cut is None else [cut]),
        *_what_was_learnt(site),
        *_remarks(site, tells[plot_cells(site, smooth)]),
    )
    return replace(ran, remarks=remarks)


def air_beside(
    site: Site,
    smooth: Raster,
    window: Window,
    now: Night,
    reference_m: tuple[float, ...],
    store: Store,
    progress: Progress,
) -> ColdAir:
    """Cold air with other things around, against the reference of the place as it is.

    Parameters
    ----------
    now
        The night of the place as it is.
    reference_m
        Depth at its reference, by run.
    """
    _, tells = _hollows(site, smooth, store)
    night = cold_air_flow.run(site, now.ground, now.cut, store, progress)
    return _run_over(site, night, smooth.clip(window), tells[window], reference_m)


def seen_c(site: Site, offset_c: Raster) -> Floats:
    """By how much ground that was seen white at dawn is taken colder, (rows, cols).

    0 or less, and 0 wherever nothing was seen: that says nothing, as who draws marks
    need not have been everywhere. The middle that it was seen to be colder than is that
    of the plots off such marks; where none is left, nothing moves. It moves most where
    what was reckoned leaves it open which of the two is colder (see
    `evidence.moved_below`).

    Parameters
    ----------
    offset_c
        Low, central and high, as reckoned.
    """
    inside = marked_cells(site, offset_c, WHITE_AT_DAWN)
    low, central, high = offset_c.values
    others = central[plot_cells(site, offset_c) & ~inside & ~np.isnan(central)]
    if not inside.any() or not others.size:
        return np.zeros(offset_c.shape)
    spread = np.maximum((high - low) / SPREADS_IN_RANGE, LEAST_SPREAD_C)
    moved = evidence.moved_below(
        central, spread, float(np.median(others)), SEEN_IS_RIGHT
    )
    # Missing ground has no offset that could move.
    return np.where(inside & ~np.isnan(central), moved, 0.0)


def moved(site: Site, air_: ColdAir, by_c: Floats) -> ColdAir:
    """The same air with every answer that much colder, within what offsets may be."""
    if not np.nansum(by_c):
        return air_

    def colder(offset_c: Floats) -> Floats:
        if site.rate_c_per_m is not None:  # limits are for what nobody measured here
            return np.asarray(offset_c + by_c)
        least = np.minimum(offset_c, coldair.COLDEST_C)
        return np.asarray(np.maximum(offset_c + by_c, least))

    return replace(
        air_, answers_c=colder(air_.answers_c), offset_c=colder(air_.offset_c)
    )


def by_shape(
    site: Site, smooth: Raster, window: Window, store: Store
) -> dict[str, Floats]:
    """What the ground's shape alone says of cold air: two checks that know no flow.

    `hollow_depth_m` under the spill, and `cold_pool_class` of Lundquist et al. 2008 (1
    collects cold air, 0 no signal, -1 does not), on the shown cells.
    """
    hollow_m, tells = _hollows(site, smooth, store)
    radius_m = _radius_m(site)
    cell_m = smooth.cell_size_m

    def compute() -> dict[str, npt.NDArray[np.generic]]:
        slope_deg, _ = terrain.slope_and_aspect_deg(smooth.values, cell_m)
        rank = coldair.lowness_rank(smooth.values, cell_m, radius_m)
        curvature = coldair.curvature_over(smooth.values, cell_m, radius_m)
        kind = coldair.cold_pool_class(slope_deg, rank, curvature)
        kind[~tells & ~np.isnan(kind)] = coldair.NO_SIGNAL
        return {"kind": kind}

    inputs = {
        "ground": smooth.values,
        "cell": cell_m,
        "radius": radius_m,
        "tells": tells,
    }
    kind = store.reuse("shape", inputs, compute)["kind"]
    return {"hollow_depth_m": hollow_m[window], "cold_pool_class": kind[window]}


def _widened(site: Site, offset_c: Floats) -> Floats:
    """The range as it is told where air from beyond is not counted."""
    wider_c = offset_c[1] + WIDER_IF_CUT * (offset_c - offset_c[1])
    if site.rate_c_per_m is None:  # limits are for what nobody measured here
        wider_c = np.clip(wider_c, coldair.COLDEST_C, coldair.WARMEST_C)
    return np.asarray(wider_c)


def _run_over(
    site: Site,
    night: Night,
    shown: Raster,
    tells: npt.NDArray[np.bool_],
    reference_m: tuple[float, ...],
) -> ColdAir:
    """Offset on the shown cells from a night that was run.

    Parameters
    ----------
    shown
        Fine ground of the shown cells.
    tells
        (rows, cols) cells on which the ground says anything about cold air.
    reference_m
        Depth at the reference, by run.
    """
    depths_m = [
        cold_air_flow.read_at(night.depths_m.with_values(depth_m), shown)
        for depth_m in night.depths_m.values
    ]
    rates = site.rate_c_per_m
    if rates is None:
        likeliest = RATES * cold_air_flow.SHOWN + CENTRAL_RATE
        answers_c = np.concatenate(
            [
                coldair.depth_offsets_c(depth_m, at_m)
                for depth_m, at_m in zip(depths_m, reference_m, strict=True)
            ]
        )
    else:  # fitted to the depths of the central run, so it holds for these alone
        likeliest = CENTRAL_RATE
        answers_c = coldair.observed_offsets_c(
            depths_m[cold_air_flow.SHOWN],
            reference_m[cold_air_flow.SHOWN],
            (rates.low, rates.central, rates.high),
        )
    answers_c[:, ~tells & ~np.isnan(shown.values)] = 0.0
    offset_c = coldair.offset_range_c(answers_c, likeliest)
    if night.cut is not None:
        offset_c = _widened(site, offset_c)
    return ColdAir(
        depths_m[cold_air_flow.SHOWN],
        answers_c,
        likeliest,
        offset_c,
        reference_m,
        night,
        (),
    )


def _hollows(
    site: Site, smooth: Raster, store: Store
) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Depth of hollows, and the cells on which the ground says anything at all."""
    error_m = site.settings.ground.elevation_error_m
    shallow_m = HOLLOW_FROM_M if error_m is None else error_m
    radius_m = _radius_m(site)

    def compute() -> dict[str, npt.NDArray[np.generic]]:
        hollow_m = drainage.hollow_depth_m(smooth.values)
        hollow_m[hollow_m < shallow_m] = 0.0
        tells = coldair.tells_something(
            smooth.values, hollow_m, smooth.cell_size_m, radius_m, shallow_m
        )
        return {"hollow_m": hollow_m, "tells": tells}

    inputs = {
        "ground": smooth.values,
        "cell": smooth.cell_size_m,
        "radius": radius_m,
        "shallow": shallow_m,
    }
    found = store.reuse("hollows", inputs, compute)
    return found["hollow_m"], found["tells"]


def _radius_m(site: Site) -> float:
    return min(WIDEST_RADIUS_M, max(site.margin_m, site.elevation.cell_size_m))


def _stood(
    site: Site,
    smooth: Raster,
    window: Window,
    hollow_m: Floats,
    tells: npt.NDArray[np.bool_],
) -> ColdAir:
    """Offset from hollows and relative height, without letting the air run."""
    radius_m = _radius_m(site)
    zeta_m = terrain.height_above_median_m(smooth.values, smooth.cell_size_m, radius_m)
    answers_c = coldair.stopgap_offsets_c(zeta_m, hollow_m, _reference(site, smooth))
    answers_c[:, ~tells & ~np.isnan(hollow_m)] = 0.0
    shown_c = answers_c[(slice(None), *window)]
    return ColdAir(
        hollow_m[window],
        shown_c,
        CENTRAL_RATE,
        coldair.offset_range_c(shown_c, CENTRAL_RATE),
        (),
        None,
        (
            Fact("air_not_run", distance_m=radius_m),
            *_remarks(site, tells[plot_cells(site, smooth)]),
        ),
    )


def _reference_m(site: Site, smooth: Raster, night: Night) -> tuple[float, ...]:
    """Depth at the station's cell if it is on the elevation, else median of the plots."""
    if site.station_cell is None:
        at = np.nonzero(plot_cells(site, smooth))
    else:
        at = tuple(np.array([index]) for index in site.station_cell)
    easting = smooth.transform.c + (at[1] + 0.5) * smooth.cell_size_m
    northing = smooth.transform.f - (at[0] + 0.5) * smooth.cell_size_m
    there_m = night.depths_m.interpolate(easting, northing)
    return tuple(
        coldair.reference_median(depth_m[np.newaxis], np.ones((1, len(depth_m)), bool))
        for depth_m in there_m
    )


def _reference(site: Site, raster: Raster) -> npt.NDArray[np.bool_]:
    """Cells that the others are compared with: the station's, else those of the plots."""
    if site.station_cell is None:
        return plot_cells(site, raster)
    reference = np.zeros(raster.shape, bool)
    reference[site.station_cell] = True
    return reference


def _what_was_learnt(site: Site) -> list[Fact]:
    """What thermometers on the spot have changed."""
    rate = site.rate_c_per_m
    if site.observed is None or rate is None:
        return []
    nights = site.observed.clear_calm_nights
    known = Estimate(rate.low, rate.central, rate.high)
    return [Fact("rate_from_thermometers", nights=nights, rate_c_per_m=known)]


def _remarks(site: Site, tells: npt.NDArray[np.bool_]) -> list[Fact]:
    """What the elevation or the site could not say about cold air."""
    remarks = []
    if site.settings.ground.elevation_error_m is None:
        remarks.append(Fact("hollows_left_out", depth_m=HOLLOW_FROM_M))
    if not tells.all():
        remarks.append(Fact("too_level_to_tell", share=1 - float(tells.mean())))
    off_it = site.settings.station is not None and site.station_cell is None
    if off_it and site.bias_c is None:
        remarks.append(Fact("station_off_the_elevation"))
    return remarks
