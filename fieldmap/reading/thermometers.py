"""Night minima of thermometers on the spot: one line for each place and night."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd
import pyproj

from fieldmap.errors import SiteError
from fieldmap.reading import place
from fieldmap.reading.csv_rows import check_lengths, read_rows
from fieldmap.reading.sentences import either, fault_of_name, nearest, quoted, some
from fieldmap.thermometers import Thermometers

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from shapely.geometry.base import BaseGeometry

    from fieldmap.site import Site

# Column of the file -> fact of the record, factor and offset to its unit.
NUMBERS = {
    "longitude": ("longitude", 1.0, 0.0),
    "latitude": ("latitude", 1.0, 0.0),
    "height_m": ("height_m", 1.0, 0.0),
    "height_ft": ("height_m", 0.3048, 0.0),
    "tmin_c": ("tmin_c", 1.0, 0.0),
    "tmin_f": ("tmin_c", 5 / 9, -160 / 9),
}
RIGHT = ("place", *NUMBERS, "shield", "date")
NEEDED = {
    "place": "place",
    "height_m": "height_m or height_ft",
    "shield": "shield",
    "date": "date",
    "tmin_c": "tmin_c or tmin_f",
}
EXAMPLE = "place,longitude,latitude,height_m,shield,date,tmin_c"
# What is believed, and its unit. No night is warmer than about 45 °C (from memory).
BELIEVED = {
    "longitude": (-180.0, 180.0, "degrees"),
    "latitude": (-90.0, 90.0, "degrees"),
    "height_m": (0.0, 20.0, "m above the ground"),
    "tmin_c": (-90.0, 45.0, "°C"),
}
SHIELD = {"yes": True, "no": False}
FARTHEST_KM = 20.0  # farther off it says nothing about this place (a choice)


@dataclass
class _Place:
    """What the lines of one place say of it, and where each was said first."""

    name: str
    line: int
    facts: dict[str, float] = field(default_factory=dict)
    said_on: dict[str, int] = field(default_factory=dict)
    lows: dict[date, float] = field(default_factory=dict)
    read_on: dict[date, int] = field(default_factory=dict)


class Readings(NamedTuple):
    """A file of readings as written, places by their folded names."""

    file: str
    places: Mapping[str, _Place]


def read_thermometers(folder: Path, file: str) -> Readings | None:
    """Readings by place, in metric units; None where there is no such file yet.

    What is known of a place (longitude and latitude, height, shield) may stand on its
    first line only; a line without a minimum is a night that was not read.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    path = folder / file
    if not path.exists():
        return None
    rows = _rows(path, file)
    problems: list[str] = []
    places: dict[str, _Place] = {}
    for line, row in rows:
        problems += _take(line, row, places, file)
    if not problems:
        for found in places.values():
            problems += _lacking(found, file)
    if problems:
        raise SiteError(some(problems))
    return Readings(file, places)


def hang(
    readings: Readings, site: Site, beds: Mapping[str, BaseGeometry]
) -> Thermometers:
    """Where the thermometers hang in the site's CRS.

    Parameters
    ----------
    beds
        Outline by name: a place without longitude and latitude is a bed.

    Raises
    ------
    SiteError
        When a place is no bed and has no position, or is far from the plots.
    """
    to_site = pyproj.Transformer.from_crs(place.WGS84, site.crs, always_xy=True)
    outlines = {name.casefold(): outline for name, outline in beds.items()}
    at, problems = [], []
    for key, found in readings.places.items():
        if "longitude" not in found.facts:
            if key in outlines:
                middle = outlines[key].centroid
                at.append((middle.x, middle.y))
            else:
                problems.append(_no_bed(found, beds, readings.file))
            continue
        longitude, latitude = found.facts["longitude"], found.facts["latitude"]
        far_km = place.distance_km(longitude, latitude, site.longitude, site.latitude)
        if far_km > FARTHEST_KM:
            problems.append(
                f"{readings.file}: line {found.line} puts {quoted(found.name)} at"
                f" longitude {longitude:g}, latitude {latitude:g}, {far_km:.0f} km from"
                f" the plots (longitude {site.longitude:.3f}, latitude"
                f" {site.latitude:.3f}); give its place in degrees, east and north"
                " positive."
            )
        at.append(to_site.transform(longitude, latitude))
    if problems:
        raise SiteError(some(problems))
    every = list(readings.places.values())
    lows = pd.DataFrame({found.name: pd.Series(found.lows) for found in every})
    lows.index = pd.DatetimeIndex(lows.index, name="date")
    return Thermometers(
        file=readings.file,
        names=tuple(found.name for found in every),
        at_m=np.array(at, dtype=float).reshape(-1, 2),
        height_m=np.array([found.facts["height_m"] for found in every]),
        is_shielded=np.array([bool(found.facts["shield"]) for found in every]),
        minima_c=lows.sort_index().astype(float),
    )


def _rows(path: Path, file: str) -> list[tuple[int, dict[str, str]]]:
    """Fields by column, and the line each row ends on; blank lines are left out."""
    found = read_rows(path, file)
    if len(found) < 2:
        raise SiteError(
            f"{file} has no reading; its first line is {EXAMPLE}, and each place and"
            " night has a line after it."
        )
    given = found[0][1]
    header = [name.strip().casefold() for name in given]
    _check_header(header, given, file)
    check_lengths(found[1:], header, file)
    return [
        (line, dict(zip(header, (text.strip() for text in row), strict=True)))
        for line, row in found[1:]
    ]


def _check_header(header: list[str], given: list[str], file: str) -> None:
    problems = []
    for name, shown in zip(header, given, strict=True):
        if name not in RIGHT:
            problems.append(
                f"{file}: column {quoted(shown)} is not known; {_meant(name)}"
            )
    targets = [NUMBERS[name][0] if name in NUMBERS else name for name in header]
    for target in dict.fromkeys(targets):
        if targets.count(target) > 1:
            problems.append(f"{file} has {target} in more than one column; keep one.")
    if not problems:
        problems = [
            f"{file} has no column {names} (its header is {quoted(','.join(given))});"
            f" add it, as in {EXAMPLE}."
            for target, names in NEEDED.items()
            if target not in targets
        ]
    if ("longitude" in targets) != ("latitude" in targets):
        problems.append(f"{file} needs longitude and latitude together; add the other.")
    if problems:
        raise SiteError(problems)


def _meant(name: str) -> str:
    """What an unknown column should have been, as the end of a sentence."""
    with_unit = [column for column in NUMBERS if column.startswith(f"{name}_")]
    if name and with_unit:
        return f"say its unit: {either(with_unit)}."
    near = nearest(name, RIGHT)
    return f"did you mean {quoted(near)}?" if near else f"right are {either(RIGHT)}."


def _take(
    line: int, row: dict[str, str], places: dict[str, _Place], file: str
) -> list[str]:
    """Add a line to its place; what is wrong with it, in sentences."""
    begin = f"{file}: line {line}"
    fault = fault_of_name(row["place"])
    if fault:
        return [f"{begin}: its place {fault}."]
    facts, problems = _facts(row, begin)
    day, wrong_day = _day(row["date"], begin)
    problems += wrong_day
    if problems or day is None:
        return problems
    key = row["place"].casefold()
    found = places.setdefault(key, _Place(row["place"], line))
    low_c = facts.pop("tmin_c", None)
    for name, value in facts.items():
        if found.facts.setdefault(name, value) != value:
            problems.append(
                f"{begin} says another {name} for {quoted(found.name)} than line"
                f" {found.said_on[name]}; correct it, or give the place a new name"
                " where the thermometer was moved."
            )
        found.said_on.setdefault(name, line)
    if day in found.read_on:
        problems.append(
            f"{begin} is a second line for {quoted(found.name)} on {day} (the first is"
            f" line {found.read_on[day]}); keep one."
        )
    found.read_on[day] = line
    if low_c is not None:
        found.lows[day] = low_c
    return problems


def _facts(row: dict[str, str], begin: str) -> tuple[dict[str, float], list[str]]:
    facts: dict[str, float] = {}
    problems = []
    for name, (target, factor, offset) in NUMBERS.items():
        text = row.get(name, "")
        if not text:
            continue
        try:
            value = float(text) * factor + offset
        except ValueError:
            value = float("nan")
        lowest, highest, unit = BELIEVED[target]
        if not lowest <= value <= highest:
            problems.append(
                f"{begin} has {name} {quoted(text)}; write a number with a decimal"
                f" point, from {(lowest - offset) / factor:g} to"
                f" {(highest - offset) / factor:g}"
                f"{'' if factor != 1.0 else ' ' + unit}."
            )
        facts[target] = value
    shield = row["shield"].casefold()
    if shield in SHIELD:
        facts["shield"] = SHIELD[shield]
    elif shield:
        problems.append(
            f"{begin} has shield {quoted(row['shield'])}; write yes where the"
            " thermometer hangs under a radiation shield or in a screen, else no."
        )
    return facts, problems


def _day(text: str, begin: str) -> tuple[date | None, list[str]]:
    try:
        return date.fromisoformat(text), []
    except ValueError:
        return None, [
            f"{begin} has date {quoted(text)}; write the morning of the minimum as year,"
            " month, day, such as 2025-04-30."
        ]


def _lacking(found: _Place, file: str) -> list[str]:
    """Facts that no line of a place tells."""
    begin = f"{file}: no line of {quoted(found.name)} (first on line {found.line}) says"
    wants = {
        "height_m": "how high above the ground it hangs; fill in height_m",
        "shield": "whether it hangs under a shield; fill in shield with yes or no",
    }
    problems = [
        f"{begin} {what}." for name, what in wants.items() if name not in found.facts
    ]
    if ("longitude" in found.facts) != ("latitude" in found.facts):
        problems.append(f"{begin} both longitude and latitude; give both or none.")
    return problems


def _no_bed(found: _Place, beds: Mapping[str, BaseGeometry], file: str) -> str:
    near = nearest(found.name, beds)
    perhaps = f" (did you mean {quoted(near)}?)" if near else ""
    return (
        f"{file}: line {found.line} has place {quoted(found.name)}, which is no bed of"
        f" the plan{perhaps}; name a bed, or give its longitude and latitude."
    )
