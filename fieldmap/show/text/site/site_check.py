"""What was found in a site folder, and what it is good for, in lines to print."""

import math
from collections import Counter
from collections.abc import Iterable

import geopandas as gpd
import numpy as np
import pandas as pd

from fieldmap.analyse.cold_air.ground import flow_ground
from fieldmap.model.raster import Bounds, Raster
from fieldmap.model.settings import Units, Wind
from fieldmap.model.site import NEAR_M, Site, WeatherRecord
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _
from fieldmap.show.text.sentence import say, say_all

# How far the ground must be known around the plots. A barn of 10 m still stands 6° high
# at 100 m. For a skyline, terrain work asks for 1-2 km beyond the farm, for cold air
# for the ground from ridge to ridge; 500 m is where a field's own
# slope usually ends (common practice, no source).
SLOPE_M = 500.0
SKYLINE_M = 1000.0
HILL_M = 50.0  # an everyday hill, to say what a margin may hide


def describe(site: Site) -> list[str]:
    """Lines for the terminal: place, plots, elevation, margin, weather, wind, remarks."""
    units, elevation, margin_m = site.settings.units, site.elevation, site.margin_m
    cut = None
    if margin_m >= NEAR_M:
        cut = flow_ground(site, elevation).cut
    return [
        site.settings.name,
        _(
            "Place: latitude {site_latitude:.4f}, longitude {site_longitude:.4f}, time zone"
            " {time_zone}"
        ).format(
            site_latitude=site.latitude,
            site_longitude=site.longitude,
            time_zone=site.time_zone,
        ),
        _map_grid(site.crs.name, site.convergence_deg),
        *_plots(site.plots, units),
        _around(site.surroundings["kind"]),
        _elevation(elevation),
        _margin(elevation, margin_m, site.plots.total_bounds),
        _("  Skyline: {worth}").format(worth=skyline_worth(margin_m)),
        _("  Cold air: {worth}").format(
            worth=cold_air_worth(margin_m, None if cut is None else say(cut, units))
        ),
        *_weather(site.weather, units),
        _wind(site.settings.wind),
        *(
            _("Note: {remark}").format(remark=remark)
            for remark in say_all(site.remarks, units)
        ),
    ]


def _map_grid(grid: str, convergence_deg: float) -> str:
    text = (
        _("Map grid: {grid}; its north lies {angle:.2f}° east of true north")
        if convergence_deg >= 0
        else _("Map grid: {grid}; its north lies {angle:.2f}° west of true north")
    )
    return text.format(grid=grid, angle=abs(convergence_deg))


def _plots(plots: gpd.GeoDataFrame, units: Units) -> list[str]:
    total = quantities.area(round(plots.area.sum()), units)
    count = len(plots)
    lines = [
        _("Plots: {count}, {total} together").format(count=count, total=total)
        if count > 1
        else _("Plots: 1")
    ]
    for plot in plots.itertuples():
        area_m2 = round(plot.geometry.area)
        area = quantities.area(area_m2, "metric")
        if units == "us":
            area += f" ({quantities.area(area_m2, 'us')})"
        wet = {True: _("wet in March"), False: _("not wet in March")}.get(
            plot.wet_in_march, _("wet in March: not told")
        )
        ground = _(plot.ground) if plot.ground else _("ground: not told")
        soil = _(plot.soil) if plot.soil else _("soil: not told")
        lines.append(f"  {plot.name}: {area}; {ground}, {soil}, {wet}")
    return lines


def _around(kinds: Iterable[str]) -> str:
    counts = Counter(kinds)
    if not counts:
        return _("Around: nothing told")
    told = ", ".join(f"{count} {_(kind)}" for kind, count in sorted(counts.items()))
    return _("Around: {told}").format(told=told)


def _elevation(ground: Raster) -> str:
    rows, cols = ground.shape
    size_m = ground.cell_size_m
    known = np.isfinite(ground.values)
    lowest_m, highest_m = np.nanmin(ground.values), np.nanmax(ground.values)
    cover = (
        _("{percent} of them known").format(percent=f"{known.mean():.1%}")
        if not known.all()
        else _("all known")
    )
    return _(
        "Elevation: {cols} by {rows} cells of {size_m:g} m"
        " ({width_km:.2f} by {height_km:.2f} km), {cover};"
        " heights {lowest_m:.1f} to {highest_m:.1f} m"
    ).format(
        cols=cols,
        rows=rows,
        size_m=size_m,
        width_km=cols * size_m / 1000,
        height_km=rows * size_m / 1000,
        cover=cover,
        lowest_m=lowest_m,
        highest_m=highest_m,
    )


def _margin(elevation: Raster, margin_m: float, plots: Bounds) -> str:
    """How far the ground is known around the bounds of the plots."""
    west, south, east, north = elevation.bounds
    plots_west, plots_south, plots_east, plots_north = plots
    edge_m = min(
        plots_west - west, plots_south - south, east - plots_east, north - plots_north
    )
    ends = _("where it ends")
    if margin_m + elevation.cell_size_m < edge_m:
        ends = _("where a height is missing")
    return _(
        "Margin: the ground is known for {margin_m:.0f} m around the plots, up to"
        " {ends}"
    ).format(margin_m=margin_m, ends=ends)


def skyline_worth(margin_m: float) -> str:
    """What the known ground is good for when the skyline is drawn."""
    hidden_deg = math.degrees(math.atan2(HILL_M, max(margin_m, 1.0)))
    unseen = _(
        "a hill {hill_m:g} m higher just beyond would hide the lowest"
        " {hidden_deg:.0f}° of the sky, and is not seen"
    ).format(hill_m=HILL_M, hidden_deg=hidden_deg)
    if margin_m < NEAR_M:
        return _("good for the near hedge and barn only; {unseen}").format(
            unseen=unseen
        )
    if margin_m < SKYLINE_M:
        return _("good for what stands near and the slope itself; {unseen}").format(
            unseen=unseen
        )
    return _("good for hills as well as for what stands near; {unseen}").format(
        unseen=unseen
    )


def cold_air_worth(margin_m: float, cut: str | None) -> str:
    """What the known ground is good for when cold air is followed.

    Parameters
    ----------
    cut
        What is not counted because the elevation ends too near.
    """
    if margin_m < NEAR_M:
        return _(
            "too little ground to see where it comes from or what holds it back; only"
            " hollows within the plots are found"
        )
    if cut is not None:
        return cut
    if margin_m < SLOPE_M:
        return _(
            "every slope above the plots is seen to its top; what holds the air back"
            " farther down the valley may not be"
        )
    return _("every slope above the plots is seen to its top, and the ground below too")


def _weather(record: WeatherRecord, units: Units) -> list[str]:
    days = record.days
    first, last = days.index[0], days.index[-1]
    columns = [column for column in days if column not in ("tmin_c", "tmax_c")]
    recorded = [
        _("minimum and maximum"),
        *(_column_words(str(column)) for column in columns),
    ]
    lines = [
        _(
            "Weather: {first:%Y-%m-%d} to {last:%Y-%m-%d}"
            " ({years:.1f} years) of {recorded}"
        ).format(
            first=first,
            last=last,
            years=len(days) / 365.25,
            recorded=", ".join(recorded),
        ),
        _("  Missing: {missing}").format(missing=_missing_days(days)),
    ]
    left_out = record.left_out
    if left_out:
        lines.append(
            _("  Left out: {count} readings that cannot be").format(count=len(left_out))
        )
        lines += [f"    {each}" for each in say_all(left_out, units)]
    return lines


def _column_words(column: str) -> str:
    return {"wind_m_s": _("wind"), "precipitation_mm": _("precipitation")}[column]


def _missing_days(days: pd.DataFrame) -> str:
    missing = days[["tmin_c", "tmax_c"]].isna()
    if not missing.any(axis=None):
        return _("no day")
    return _("{minima} minima and {maxima} maxima of {count} days").format(
        minima=missing["tmin_c"].sum(), maxima=missing["tmax_c"].sum(), count=len(days)
    )


def _wind(wind: Wind) -> str:
    told = (
        (_("mostly from the {direction}"), wind.prevailing_from_deg),
        (_("storms from the {direction}"), wind.storm_from_deg),
        (_("summer breeze from the {direction}"), wind.summer_breeze_from_deg),
    )
    known = [
        what.format(direction=quantities.direction(from_deg))
        for what, from_deg in told
        if from_deg is not None
    ]
    return (
        _("Wind: {known}").format(known=", ".join(known))
        if known
        else _("Wind: not told, so it is left out")
    )
