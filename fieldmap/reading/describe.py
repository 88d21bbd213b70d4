"""What was found in a site folder, and what it is good for, in lines to print."""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from fieldmap import words
from fieldmap.analysis import flow
from fieldmap.site import NEAR_M

if TYPE_CHECKING:
    import pandas as pd

    from fieldmap.site import Site

# How far the ground must be known around the plots. A barn of 10 m still stands 6° high
# at 100 m. For a skyline, terrain work asks for 1-2 km beyond the farm, for cold air
# for the ground from ridge to ridge; 500 m is where a field's own
# slope usually ends (common practice, no source).
SLOPE_M = 500.0
SKYLINE_M = 1000.0
HILL_M = 50.0  # an everyday hill, to say what a margin may hide


def describe(site: Site) -> list[str]:
    """Lines for the terminal: place, plots, elevation, margin, weather, wind, remarks."""
    return [
        site.settings.name,
        *_place(site),
        *_plots(site),
        *_surroundings(site),
        *_elevation(site),
        *_margin(site),
        *_weather(site),
        _wind(site),
        *(f"Note: {remark}" for remark in site.remarks),
    ]


def _place(site: Site) -> list[str]:
    side = "east" if site.convergence_deg >= 0 else "west"
    return [
        f"Place: latitude {site.latitude:.4f}, longitude {site.longitude:.4f}, time zone"
        f" {site.time_zone}",
        f"Map grid: {site.crs.name}; its north lies"
        f" {abs(site.convergence_deg):.2f}° {side} of true north",
    ]


def _plots(site: Site) -> list[str]:
    total = words.area(round(site.plots.area.sum()), site.settings.units)
    count = len(site.plots)
    lines = [f"Plots: {count}, {total} together" if count > 1 else "Plots: 1"]
    for plot in site.plots.itertuples():
        area_m2 = round(plot.geometry.area)
        area = words.area(area_m2, "metric")
        if site.settings.units == "us":
            area += f" ({words.area(area_m2, 'us')})"
        wet = {True: "wet in March", False: "not wet in March"}.get(
            plot.wet_in_march, "wet in March: not told"
        )
        ground = plot.ground or "ground: not told"
        soil = plot.soil or "soil: not told"
        lines.append(f"  {plot.name}: {area}; {ground}, {soil}, {wet}")
    return lines


def _surroundings(site: Site) -> list[str]:
    counts = Counter(site.surroundings["kind"])
    if not counts:
        return ["Around: nothing told"]
    told = ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items()))
    return [f"Around: {told}"]


def _elevation(site: Site) -> list[str]:
    ground = site.elevation
    rows, cols = ground.shape
    size_m = ground.cell_size_m
    known = np.isfinite(ground.values)
    lowest_m, highest_m = np.nanmin(ground.values), np.nanmax(ground.values)
    cover = f"{known.mean():.1%} of them known" if not known.all() else "all known"
    return [
        f"Elevation: {cols} by {rows} cells of {size_m:g} m"
        f" ({cols * size_m / 1000:.2f} by {rows * size_m / 1000:.2f} km), {cover};"
        f" heights {lowest_m:.1f} to {highest_m:.1f} m"
    ]


def _margin(site: Site) -> list[str]:
    margin_m = site.margin_m
    west, south, east, north = site.elevation.bounds
    plots_west, plots_south, plots_east, plots_north = site.plots.total_bounds
    edge_m = min(
        plots_west - west, plots_south - south, east - plots_east, north - plots_north
    )
    ends = "where it ends"
    if margin_m + site.elevation.cell_size_m < edge_m:
        ends = "where a height is missing"
    return [
        f"Margin: the ground is known for {margin_m:.0f} m around the plots, up to"
        f" {ends}",
        f"  Skyline: {skyline_worth(margin_m)}",
        f"  Cold air: {cold_air_worth(margin_m, _beyond(site))}",
    ]


def skyline_worth(margin_m: float) -> str:
    """What the known ground is good for when the skyline is drawn."""
    hidden_deg = math.degrees(math.atan2(HILL_M, max(margin_m, 1.0)))
    unseen = (
        f"a hill {HILL_M:g} m higher just beyond would hide the lowest"
        f" {hidden_deg:.0f}° of the sky, and is not seen"
    )
    if margin_m < NEAR_M:
        return f"good for the near hedge and barn only; {unseen}"
    if margin_m < SKYLINE_M:
        return f"good for what stands near and the slope itself; {unseen}"
    return f"good for hills as well as for what stands near; {unseen}"


def _beyond(site: Site) -> str | None:
    """What drains onto the plots from beyond the elevation, in a sentence."""
    if site.margin_m < NEAR_M:
        return None
    cut = flow.beyond(site, flow.ground(site, site.elevation))
    return None if cut is None else cut.sentence(site.settings.units)


def cold_air_worth(margin_m: float, cut: str | None) -> str:
    """What the known ground is good for when cold air is followed.

    Parameters
    ----------
    cut
        What is not counted because the elevation ends too near.
    """
    if margin_m < NEAR_M:
        return (
            "too little ground to see where it comes from or what holds it back; only"
            " hollows within the plots are found"
        )
    if cut is not None:
        return cut
    if margin_m < SLOPE_M:
        return (
            "every slope above the plots is seen to its top; what holds the air back"
            " farther down the valley may not be"
        )
    return "every slope above the plots is seen to its top, and the ground below too"


def _weather(site: Site) -> list[str]:
    days = site.weather.days
    first, last = days.index[0], days.index[-1]
    columns = [column for column in days if column not in ("tmin_c", "tmax_c")]
    recorded = [
        "minimum and maximum",
        *(_column_words(str(column)) for column in columns),
    ]
    lines = [
        f"Weather: {first:%Y-%m-%d} to {last:%Y-%m-%d}"
        f" ({len(days) / 365.25:.1f} years) of {', '.join(recorded)}",
        f"  Missing: {_missing_days(days)}",
    ]
    left_out = site.weather.left_out
    if left_out:
        lines.append(f"  Left out: {len(left_out)} readings that cannot be")
        lines += [f"    {sentence}" for sentence in left_out]
    return lines


def _column_words(column: str) -> str:
    return {"wind_m_s": "wind", "precipitation_mm": "precipitation"}[column]


def _missing_days(days: pd.DataFrame) -> str:
    missing = days[["tmin_c", "tmax_c"]].isna()
    if not missing.any(axis=None):
        return "no day"
    return (
        f"{missing['tmin_c'].sum()} minima and {missing['tmax_c'].sum()} maxima of"
        f" {len(days)} days"
    )


def _wind(site: Site) -> str:
    told = {
        "mostly": site.settings.wind.prevailing_from_deg,
        "storms": site.settings.wind.storm_from_deg,
        "summer breeze": site.settings.wind.summer_breeze_from_deg,
    }
    known = [
        f"{what} from the {words.direction(from_deg)}"
        for what, from_deg in told.items()
        if from_deg is not None
    ]
    return f"Wind: {', '.join(known)}" if known else "Wind: not told, so it is left out"
