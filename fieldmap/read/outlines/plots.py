"""Plot outlines: which ground may be planted, and what the grower knows of it."""

import itertools
import math
import string
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

import geopandas as gpd
import pandas as pd
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, SiteError, joined, problem
from fieldmap.model.coordinates import WGS84, in_crs
from fieldmap.model.fact import Fact
from fieldmap.model.site import GROUNDS, SOILS
from fieldmap.read.door import SiteFile
from fieldmap.read.outlines.files import (
    MOST_OVERLAPS,
    Outlines,
    check_number,
    fault_of_area,
    names_of_several,
    overlaps,
    read_outlines,
)
from fieldmap.read.place import utm
from fieldmap.read.wording import either, faults, likely, quoted, refuse_any, some

COLUMNS = (
    "name",
    "ground",
    "soil",
    "wet_in_march",
    "first_worked",
    "bearing_deg",
)
MOST_SAID = 50  # sentences on single plots
MOST_PLOTS = 500  # one by one they are planned; a market garden has some dozen
WIDEST_PLOT_M = 10_000.0  # more than a day's walk of beds: a misplaced corner
SMALLEST_PLOT_M2 = 1.0  # less than a metre of one bed: a slip of the pen
# Hand-drawn neighbours overlap in slivers. One of this width lies within the strip
# that beds keep clear of the edge (common practice, no source).
WIDEST_SLIVER_M = 0.5
_WET = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}


def read_plots(path: SiteFile) -> Outlines:
    """Plots with what is given of them (`COLUMNS`), in the file's CRS.

    A plot in several pieces becomes several plots with a number after the name: beds
    fill each piece for itself, and drawing programs keep pieces together where a path
    cuts a field, so to refuse them would only send the user back to draw again. Plots
    without a name are called A, B, C and so on.

    Raises
    ------
    SiteError
        With a sentence for every plot that cannot be used.
    """
    found = read_outlines(path, "plots", COLUMNS)
    count = int(shapely.get_num_geometries(found.frame.geometry.to_numpy()).sum())
    check_number(found, count, MOST_PLOTS, problem("plots"))
    problems = found.faults_of_names()
    labels = found.labels(problem("plot {name}"), problem("plot {number} of {count}"))
    begins = [joined(path.name, ": ", label) for label in labels]
    rows = found.frame.to_dict("records")
    for row, begin in zip(rows, begins, strict=True):
        problems += faults_of_words(row, begin)
        row["wet_in_march"] = wet_or_dry(row["wet_in_march"])
        row["first_worked"], wrong = _month_day(row["first_worked"])
        problems += faults(begin, wrong)
        row["bearing_deg"], wrong = _bearing(row["bearing_deg"])
        problems += faults(begin, wrong)
    for row, metric, begin in zip(
        rows, in_metres(found.frame).geometry, begins, strict=True
    ):
        fault = _fault_of_plot(row["geometry"], metric)
        problems += faults(begin, [fault] if fault else [])
    refuse_any(problems, path.name, most=MOST_SAID)
    return _finished(found, rows)


def in_metres(frame: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The shapes in a UTM zone, where areas and widths can be measured."""
    west, south, east, north = in_crs(frame, WGS84).total_bounds
    return in_crs(frame, utm((west + east) / 2, (south + north) / 2))


def faults_of_words(row: dict[str, object], begin: Problem) -> Iterator[Problem]:
    """What is wrong with the words of a plot, which are folded on the way."""
    for column, right in (("ground", GROUNDS), ("soil", SOILS)):
        value = row[column]
        if value is None:
            continue
        row[column] = str(value).strip().casefold()
        if row[column] not in right:
            yield problem(
                "{begin} has {column} {value}; use one of: {right}{meant}, or leave it"
                " empty if you do not know it.",
                begin=begin,
                column=column,
                value=quoted(value),
                right=either(right),
                meant=likely(str(value), right),
            )
    wet = row["wet_in_march"]
    if wet is not None and wet_or_dry(wet) is None:
        yield problem(
            "{begin} has wet_in_march {wet}; write true or false (yes or no), or leave"
            " it empty if you do not know it.",
            begin=begin,
            wet=quoted(wet),
        )


def wet_or_dry(value: object) -> bool | None:
    """Yes or no from what the format made of it, None where it is neither."""
    number = value if isinstance(value, int | float) else None
    text = f"{float(number):g}" if number is not None else str(value).strip()
    return _WET.get(text.casefold())


def _month_day(value: object) -> tuple[tuple[int, int] | None, list[Problem]]:
    """Month and day, None where it is not given, and what is wrong with it."""
    if value is None:
        return None, []
    text = str(value).strip()
    try:
        # A leap year, so that 29 February is a day of some year.
        when = datetime.strptime(f"2000-{text}", "%Y-%m-%d")  # noqa: DTZ007 - no clock
    except ValueError:
        wrong = problem(
            "has first_worked {value}; write month and day of the first day on which"
            ' you can work this ground in a usual year, such as "04-10", or leave it'
            " empty",
            value=quoted(value),
        )
        return None, [wrong]
    return (when.month, when.day), []


def _bearing(value: object) -> tuple[float | None, list[Problem]]:
    """Bearing of a plot's beds, None where it is not given, and what is wrong with it."""
    if value is None:
        return None, []
    try:
        bearing_deg = float(str(value).strip())
    except ValueError:
        bearing_deg = math.nan
    if 0 <= bearing_deg < 180:
        return bearing_deg, []
    wrong = problem(
        "has bearing_deg {value}; write a number from 0 to under 180, clockwise"
        " from true north, or leave it empty",
        value=quoted(value),
    )
    return None, [wrong]


def _fault_of_plot(shape: BaseGeometry | None, metric: BaseGeometry) -> Problem | None:
    if shape is None or shape.is_empty:
        return problem("has no outline; draw it, or delete its row")
    if not isinstance(shape, Polygon | MultiPolygon):
        return problem(
            "is drawn as a {drawn}; draw it as a closed area (Polygon)",
            drawn=shape.geom_type,
        )
    west, south, east, north = metric.bounds
    across_m = max(east - west, north - south)
    crossed = fault_of_area(shape)
    too_wide = across_m > WIDEST_PLOT_M
    # A bow-tie has no net area, and a flat ring crosses itself too: ask its hull.
    area_m2 = metric.convex_hull.area if too_wide or crossed else metric.area
    if area_m2 < SMALLEST_PLOT_M2:
        return problem(
            "covers {area_m2:.2g} m²; a plot needs at least {least:g} m², so"
            " draw it with three or more corners that are not in one line",
            area_m2=area_m2,
            least=SMALLEST_PLOT_M2,
        )
    if too_wide:
        fault = problem(
            "is {across_km:.0f} km across; a plot can be up to {most:g} km across, so"
            " look for a corner in the wrong place",
            across_km=across_m / 1000,
            most=WIDEST_PLOT_M / 1000,
        )
        return problem("has an outline that {fault}", fault=fault)
    return crossed


def _given_names(names: Sequence[str | None]) -> list[str]:
    """Every plot named: A, B, C... where the file does not name it."""
    taken = {name.casefold() for name in names if name is not None}
    letters = (letter for letter in _letters() if letter.casefold() not in taken)
    return [name if name is not None else next(letters) for name in names]


def _letters() -> Iterator[str]:
    for length in itertools.count(1):
        for letters in itertools.product(string.ascii_uppercase, repeat=length):
            yield "".join(letters)


def _finished(found: Outlines, rows: Sequence[dict[str, Any]]) -> Outlines:
    """One row for each piece of ground, named, and checked against the others."""
    pieces = []
    remarks = list(found.remarks)
    for row, name in zip(rows, _given_names(found.frame["name"]), strict=True):
        parts = shapely.get_parts(row["geometry"])
        if len(parts) > 1:
            said = {"name": quoted(name), "count": len(parts), "bare": name}
            remarks.append(Fact("plot_in_pieces", file=found.file.name, **said))
        for number, part in enumerate(parts, start=1):
            piece_name = name if len(parts) == 1 else f"{name} {number}"
            pieces.append({**row, "name": piece_name, "geometry": part})
    table = pd.DataFrame(pieces, columns=[*COLUMNS, "geometry"], dtype=object)
    frame = gpd.GeoDataFrame(table, geometry="geometry", crs=found.frame.crs)
    problems = [*_same_names(frame, found.file), *_overlaps(frame, found.file)]
    if problems:
        raise SiteError(problems)
    return Outlines(found.file, frame, tuple(remarks))


def _same_names(frame: gpd.GeoDataFrame, file: SiteFile) -> list[Problem]:
    problems = [
        file.problem(
            "{file}: {count} plots are called {name}; give each its own name.",
            count=count,
            name=quoted(name),
        )
        for name, count in names_of_several(sorted(frame["name"], key=str.casefold))
    ]
    return some(problems, file.name)


def _overlaps(frame: gpd.GeoDataFrame, file: SiteFile) -> list[Problem]:
    names = frame["name"].tolist()
    shapes = list(in_metres(frame).geometry)
    problems = [
        file.problem(
            "{file}: plots {one} and {other} overlap by"
            " {area:.0f} m²; draw their common edge once.",
            one=quoted(names[one]),
            other=quoted(names[other]),
            area=area_m2,
        )
        for one, other, area_m2 in itertools.islice(
            overlaps(shapes, WIDEST_SLIVER_M), MOST_OVERLAPS
        )
    ]
    return some(problems, file.name)
