"""What was found in a site folder, and what it is good for, in lines to print."""

import math
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from functools import partial

import geopandas as gpd
import numpy as np
import pandas as pd

from fieldmap.analyse.cold_air.ground import flow_ground
from fieldmap.decide.crop_plan.sowings import meant
from fieldmap.decide.layout.choose import plots_without_room
from fieldmap.decide.layout.hints import too_small
from fieldmap.decide.pegging import landmarks
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Bounds, Raster
from fieldmap.model.settings import Settings, Units, Wind
from fieldmap.model.site import NEAR_M, Site, WeatherRecord
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.sentence import say, say_all
from fieldmap.show.text.site import open_questions

TEXTS = texts(__name__, "texts")
COLUMNS = texts(__name__, "columns")
WINDS = texts(__name__, "winds")
SKYLINE = texts(__name__, "skyline")
COLD_AIR = texts(__name__, "cold_air")
# How far the ground must be known around the plots. A barn of 10 m still stands 6° high
# at 100 m. For a skyline, terrain work asks for 1-2 km beyond the farm, for cold air
# for the ground from ridge to ridge; 500 m is where a field's own
# slope usually ends (common practice, no source).
SLOPE_M = 500.0
SKYLINE_M = 1000.0
HILL_M = 50.0  # an everyday hill, to say what a margin may hide


def describe(site: Site, typed: str = "SITE") -> list[str]:
    """Lines for the terminal: place, plots, elevation, margin, weather, wind, remarks.

    Parameters
    ----------
    typed
        The folder as it is typed after a command.
    """
    units, elevation, margin_m = site.settings.units, site.elevation, site.margin_m
    cut, edge_m = None, site.edge_m
    if edge_m >= NEAR_M:
        cut = flow_ground(site, elevation).cut
    how_cut = None if cut is None else say(cut, units)
    missing, others = still_open(
        *(site.remarks, site.settings, site.plots["first_worked"]),
        has_weather=site.weather.is_there,
        has_typical_year=site.typical_year is not None,
    )
    beds = site.settings.beds
    tiny = plots_without_room(
        site.plots_to_lay, site.surroundings, beds, site.convergence_deg
    )
    no_room = [too_small(plot, beds) for plot in tiny]
    points = landmarks.gates_without_posts(site.surroundings)
    no_posts = [Fact("gates_without_posts", number=points)] if points else []
    remedied = partial(re.sub, r"\bSITE\b", lambda _found: typed)
    # Where no crop is named those of the classes stand in for it, and none is asked for.
    asked = site.crops if site.settings.crops else ()
    grid = "north_lies_east" if site.convergence_deg >= 0 else "north_lies_west"
    return [
        site.settings.name,
        _text(
            "place",
            site_latitude=site.latitude,
            site_longitude=site.longitude,
            time_zone=site.time_zone,
        ),
        _text(grid, grid=site.crs.name, angle=abs(site.convergence_deg)),
        *_plots(site.plots, units),
        _around(site.surroundings["kind"]),
        _elevation(elevation),
        _margin(elevation, margin_m, site.plots.total_bounds),
        _text("skyline", worth=skyline_worth(margin_m)),
        _text("cold_air", worth=cold_air_worth(edge_m, how_cut)),
        *_weather(site.weather, units),
        _wind(site.settings.wind),
        *say_all(meant(site.settings.crops, asked, site.season, beds), units),
        *(_text("open", remark=remedied(each)) for each in say_all(missing, units)),
        *(_text("note", remark=remedied(each)) for each in say_all(others, units)),
        *(
            _text("note", remark=remedied(each))
            for each in say_all([*no_room, *no_posts], units)
        ),
    ]


def still_open(
    remarks: Iterable[Fact],
    settings: Settings,
    first_worked: pd.Series,
    *,
    has_weather: bool,
    has_typical_year: bool,
) -> tuple[list[Fact], list[Fact]]:
    """What is missing of a site that is only read, and what else is remarked of it.

    Parameters
    ----------
    remarks
        What was remarked while the site was read.
    settings
        Choices of the site: the name of its weather file, and light by month where the
        grower has it.
    first_worked
        Day from which each plot can be worked; missing where the grower did not say.
    has_weather
        Whether the weather file is there.
    has_typical_year
        Whether hourly weather of a typical year is there.

    Returns
    -------
    missing
        What the grower could add, and what it would answer.
    others
        All other remarks.
    """
    return open_questions.of_check(
        remarks,
        [] if has_weather else [settings.files.weather],
        is_clear_sky=not has_typical_year and settings.sun.global_mj_m2_day is None,
        is_work_known=bool(first_worked.notna().all()),
    )


def _text(key: str, **values: object) -> str:
    """A text of this module, with numbers as the text itself formats them."""
    return _(TEXTS[key]).format(**values)


def _plots(plots: gpd.GeoDataFrame, units: Units) -> Iterator[str]:
    total = quantities.area(round(plots.area.sum()), units)
    yield _text(
        "plots" if len(plots) > 1 else "one_plot", count=len(plots), total=total
    )
    for plot in plots.itertuples():
        area_m2 = round(plot.geometry.area)
        area = quantities.area(area_m2, "metric")
        if units == "us":
            area += f" ({quantities.area(area_m2, 'us')})"
        wet = {True: "wet", False: "not_wet"}.get(plot.wet_in_march, "wet_not_given")
        ground = _(plot.ground or TEXTS["ground_not_given"])
        soil = _(plot.soil or TEXTS["soil_not_given"])
        yield f"  {plot.name}: {area}; {ground}, {soil}, {_text(wet)}"


def _around(kinds: Iterable[str]) -> str:
    counts = sorted(Counter(kinds).items())
    things = ", ".join(f"{count} {_(kind)}" for kind, count in counts)
    return _text("around" if counts else "nothing_around", things=things)


def _elevation(ground: Raster) -> str:
    rows, cols = ground.shape
    size_m = ground.cell_size_m
    known = np.isfinite(ground.values)
    cover = "all_known" if known.all() else "partly_known"
    return _text(
        "elevation",
        cols=cols,
        rows=rows,
        size_m=size_m,
        width_km=cols * size_m / 1000,
        height_km=rows * size_m / 1000,
        cover=_text(cover, percent=f"{known.mean():.1%}"),
        lowest_m=np.nanmin(ground.values),
        highest_m=np.nanmax(ground.values),
    )


def _margin(elevation: Raster, margin_m: float, plots: Bounds) -> str:
    """How far the ground is known around the bounds of the plots."""
    west, south, east, north = elevation.bounds
    plots_west, plots_south, plots_east, plots_north = plots
    edge_m = min(
        plots_west - west, plots_south - south, east - plots_east, north - plots_north
    )
    is_cut = margin_m + elevation.cell_size_m < edge_m
    ends = _text("to_a_gap" if is_cut else "to_the_edge")
    return _text("margin", margin_m=margin_m, ends=ends)


def skyline_worth(margin_m: float) -> str:
    """What the known ground is good for when the skyline is drawn."""
    hidden_deg = math.degrees(math.atan2(HILL_M, max(margin_m, 1.0)))
    hidden = _(SKYLINE["hidden"]).format(hill_m=HILL_M, hidden_deg=hidden_deg)
    seen = "slope" if margin_m < SKYLINE_M else "hills"
    worth = SKYLINE["near" if margin_m < NEAR_M else seen]
    return _(worth).format(unseen=hidden)


def cold_air_worth(edge_m: float, cut: str | None) -> str:
    """What the known ground is good for when cold air is followed.

    Parameters
    ----------
    cut
        What is not counted because the elevation ends too near.
    """
    if edge_m < NEAR_M:
        return _(COLD_AIR["too_little"])
    if cut is not None:
        return cut
    return _(COLD_AIR["slopes" if edge_m < SLOPE_M else "valley"])


def _weather(record: WeatherRecord, units: Units) -> Iterator[str]:
    days = record.days
    if not record.is_there:
        yield _text("no_weather")
        return
    recorded = [_(text) for column, text in COLUMNS.items() if column in days]
    yield _text(
        "weather",
        first=days.index[0],
        last=days.index[-1],
        years=len(days) / 365.25,
        recorded=", ".join(recorded),
    )
    absent = days[["tmin_c", "tmax_c"]].isna().sum()
    missing = _text(
        "some_missing" if absent.any() else "none_missing",
        minima=absent["tmin_c"],
        maxima=absent["tmax_c"],
        count=len(days),
    )
    yield _text("missing", missing=missing)
    if record.left_out:
        count = sum(fact.values.get("number", 1) for fact in record.left_out)
        yield _text("left_out", count=count)
        yield from (f"    {each}" for each in say_all(record.left_out, units))


def _wind(wind: Wind) -> str:
    known = [
        _(WINDS[name]).format(direction=quantities.direction(from_deg))
        for name, from_deg in wind
        if from_deg is not None
    ]
    return _text("wind" if known else "no_wind", known=", ".join(known))
