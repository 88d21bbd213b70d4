"""Night minima of thermometers on the spot: one line for each place and night."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd
import pyproj

from fieldmap.errors import SiteError
from fieldmap.model.thermometer_readings import Thermometers
from fieldmap.read import place
from fieldmap.read.csv_table import check_lengths, read_rows
from fieldmap.read.wording import either, fault_of_name, nearest, quoted, some
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from shapely.geometry.base import BaseGeometry

    from fieldmap.model.site import Site

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
    "height_m": later("height_m or height_ft"),
    "shield": "shield",
    "date": "date",
    "tmin_c": later("tmin_c or tmin_f"),
}
EXAMPLE = "place,longitude,latitude,height_m,shield,date,tmin_c"
# What is believed, and its unit. No night is warmer than about 45 °C (from memory).
BELIEVED = {
    "longitude": (-180.0, 180.0, later("degrees")),
    "latitude": (-90.0, 90.0, later("degrees")),
    "height_m": (0.0, 20.0, later("m above the ground")),
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
                _(
                    "{file}: line {line} puts {place} at"
                    " longitude {longitude:g}, latitude {latitude:g}, {far_km:.0f} km from"
                    " the plots (longitude {site_longitude:.3f}, latitude"
                    " {site_latitude:.3f}); give its place in degrees, east and north"
                    " positive."
                ).format(
                    file=readings.file,
                    line=found.line,
                    place=quoted(found.name),
                    longitude=longitude,
                    latitude=latitude,
                    far_km=far_km,
                    site_longitude=site.longitude,
                    site_latitude=site.latitude,
                )
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
            _(
                "{file} has no reading; its first line is {example}, and each place and"
                " night has a line after it."
            ).format(file=file, example=EXAMPLE)
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
                _("{file}: column {shown} is not known; {meant}").format(
                    file=file, shown=quoted(shown), meant=_meant(name)
                )
            )
    targets = [NUMBERS[name][0] if name in NUMBERS else name for name in header]
    for target in dict.fromkeys(targets):
        if targets.count(target) > 1:
            problems.append(
                _("{file} has {target} in more than one column; keep one.").format(
                    file=file, target=target
                )
            )
    if not problems:
        problems = [
            _(
                "{file} has no column {names} (its header is {header});"
                " add it, as in {example}."
            ).format(
                file=file,
                names=_(names),
                header=quoted(",".join(given)),
                example=EXAMPLE,
            )
            for target, names in NEEDED.items()
            if target not in targets
        ]
    if ("longitude" in targets) != ("latitude" in targets):
        problems.append(
            _("{file} needs longitude and latitude together; add the other.").format(
                file=file
            )
        )
    if problems:
        raise SiteError(problems)


def _meant(name: str) -> str:
    """What an unknown column should have been, as the end of a sentence."""
    with_unit = [column for column in NUMBERS if column.startswith(f"{name}_")]
    if name and with_unit:
        return _("say its unit: {right}.").format(right=either(with_unit))
    near = nearest(name, RIGHT)
    return (
        _("did you mean {near}?").format(near=quoted(near))
        if near
        else _("right are {right}.").format(right=either(RIGHT))
    )


def _take(
    line: int, row: dict[str, str], places: dict[str, _Place], file: str
) -> list[str]:
    """Add a line to its place; what is wrong with it, in sentences."""
    begin = _("{file}: line {line}").format(file=file, line=line)
    fault = fault_of_name(row["place"])
    if fault:
        return [_("{begin}: its place {fault}.").format(begin=begin, fault=fault)]
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
                _(
                    "{begin} says another {name} for {place} than line"
                    " {first_line}; correct it, or give the place a new name"
                    " where the thermometer was moved."
                ).format(
                    begin=begin,
                    name=name,
                    place=quoted(found.name),
                    first_line=found.said_on[name],
                )
            )
        found.said_on.setdefault(name, line)
    if day in found.read_on:
        problems.append(
            _(
                "{begin} is a second line for {place} on {day} (the first is"
                " line {first_line}); keep one."
            ).format(
                begin=begin,
                place=quoted(found.name),
                day=day,
                first_line=found.read_on[day],
            )
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
            told_unit = "" if factor != 1.0 else f" {_(unit)}"
            problems.append(
                _(
                    "{begin} has {name} {text}; write a number with a decimal"
                    " point, from {lowest:g} to"
                    " {highest:g}{told_unit}."
                ).format(
                    begin=begin,
                    name=name,
                    text=quoted(text),
                    lowest=(lowest - offset) / factor,
                    highest=(highest - offset) / factor,
                    told_unit=told_unit,
                )
            )
        facts[target] = value
    shield = row["shield"].casefold()
    if shield in SHIELD:
        facts["shield"] = SHIELD[shield]
    elif shield:
        problems.append(
            _(
                "{begin} has shield {shield}; write yes where the"
                " thermometer hangs under a radiation shield or in a screen, else no."
            ).format(begin=begin, shield=quoted(row["shield"]))
        )
    return facts, problems


def _day(text: str, begin: str) -> tuple[date | None, list[str]]:
    try:
        return date.fromisoformat(text), []
    except ValueError:
        return None, [
            _(
                "{begin} has date {text}; write the morning of the minimum as year,"
                " month, day, such as 2025-04-30."
            ).format(begin=begin, text=quoted(text))
        ]


def _lacking(found: _Place, file: str) -> list[str]:
    """Facts that no line of a place tells."""
    begin = _("{file}: no line of {place} (first on line {line}) says").format(
        file=file, place=quoted(found.name), line=found.line
    )
    wants = {
        "height_m": _("how high above the ground it hangs; fill in height_m"),
        "shield": _("whether it hangs under a shield; fill in shield with yes or no"),
    }
    problems = [
        f"{begin} {what}." for name, what in wants.items() if name not in found.facts
    ]
    if ("longitude" in found.facts) != ("latitude" in found.facts):
        problems.append(
            _("{begin} both longitude and latitude; give both or none.").format(
                begin=begin
            )
        )
    return problems


def _no_bed(found: _Place, beds: Mapping[str, BaseGeometry], file: str) -> str:
    near = nearest(found.name, beds)
    perhaps = _(" (did you mean {near}?)").format(near=quoted(near)) if near else ""
    return _(
        "{file}: line {line} has place {place}, which is no bed of"
        " the plan{perhaps}; name a bed, or give its longitude and latitude."
    ).format(file=file, line=found.line, place=quoted(found.name), perhaps=perhaps)
