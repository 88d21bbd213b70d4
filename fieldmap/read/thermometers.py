"""Night minima of thermometers on the spot: one line for each place and night."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
import pyproj
from shapely.geometry.base import BaseGeometry

from fieldmap.errors import Problem, SiteError, joined, problem, site_error
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.thermometer_readings import Thermometers
from fieldmap.read import door, place
from fieldmap.read.csv_table import (
    AS_IT_IS,
    FROM_FAHRENHEIT,
    CsvTable,
    day_of,
    number_of,
    read_csv,
)
from fieldmap.read.wording import fault_of_name, perhaps, quoted, refuse_any

# Column of the file -> fact of the record, and how to come to its unit.
NUMBERS = {
    "longitude": ("longitude", AS_IT_IS),
    "latitude": ("latitude", AS_IT_IS),
    "height_m": ("height_m", AS_IT_IS),
    "height_ft": ("height_m", (0.3048, 0.0)),
    "tmin_c": ("tmin_c", AS_IT_IS),
    "tmin_f": ("tmin_c", FROM_FAHRENHEIT),
}
MEANING = {column: fact for column, (fact, _conversion) in NUMBERS.items()}
RIGHT = ("place", *NUMBERS, "shield", "date")
NEEDED = {
    "place": "place",
    "height_m": problem("height_m or height_ft"),
    "shield": "shield",
    "date": "date",
    "tmin_c": problem("tmin_c or tmin_f"),
}
EXAMPLE = "place,longitude,latitude,height_m,shield,date,tmin_c"
# What is believed, and its unit. No night is warmer than about 45 °C (from memory).
BELIEVED: Mapping[str, tuple[float, float, Problem | str]] = {
    "longitude": (-180.0, 180.0, problem("degrees")),
    "latitude": (-90.0, 90.0, problem("degrees")),
    "height_m": (0.0, 20.0, problem("m above the ground")),
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

    @property
    def position(self) -> tuple[float, float] | None:
        """Longitude and latitude, None where its lines say none."""
        if "longitude" not in self.facts:
            return None
        return self.facts["longitude"], self.facts["latitude"]

    def note(
        self, day: date, line: int, facts: Mapping[str, float], begin: Problem
    ) -> Iterator[Problem]:
        """Keep what a line says; what disagrees with an earlier line, in sentences."""
        for name, value in facts.items():
            if name == "tmin_c":
                continue
            if self.facts.setdefault(name, value) != value:
                yield problem(
                    "{begin} and line {first_line} say different things of {place} ({name});"
                    " correct one line, or give the place a new name if the thermometer was"
                    " moved.",
                    begin=begin,
                    name=name,
                    place=quoted(self.name),
                    first_line=self.said_on[name],
                )
            self.said_on.setdefault(name, line)
        if day in self.read_on:
            yield problem(
                "{begin} is a second line for {place} on {day} (the first is line"
                " {first_line}); keep one.",
                begin=begin,
                place=quoted(self.name),
                day=day,
                first_line=self.read_on[day],
            )
        self.read_on[day] = line
        if "tmin_c" in facts:
            self.lows[day] = facts["tmin_c"]


class Readings(NamedTuple):
    """A file of readings as written, places by their folded names."""

    file: str
    places: Mapping[str, _Place]

    @property
    def on_beds(self) -> list[tuple[str, date]]:
        """Places that are called as beds, and the last day of each."""
        return [
            (found.name, max(found.read_on))
            for found in self.places.values()
            if found.position is None
        ]


def read_thermometers(folder: Path, file: str) -> Readings | None:
    """Readings by place, in metric units; None where there is no such file yet.

    What is known of a place (longitude and latitude, height, shield) may stand on its
    first line only; a line without a minimum is a night that was not read.

    Raises
    ------
    SiteError
        With a sentence for every line that cannot be used.
    """
    if not door.is_there(folder, file):
        return None
    table = read_csv(door.open_file(folder, file, door.MOST_BYTES_OF_TABLE))
    _check_header(table)
    table.check_lengths()
    problems: list[Problem] = []
    places: dict[str, _Place] = {}
    for line, row in table:
        problems += _take(line, row, places, file)
    if not problems:
        for found in places.values():
            problems += _lacking(found, file)
    refuse_any(problems, file)
    return Readings(file, places)


def hang(
    readings: Readings,
    beds: Mapping[str, BaseGeometry],
    planned: Collection[str],
    crs: pyproj.CRS,
    longitude: float,
    latitude: float,
) -> Thermometers:
    """Where the thermometers hang in the site's CRS.

    Parameters
    ----------
    readings
        What the file of readings holds.
    beds
        Ground by name: a place without longitude and latitude is a bed that stays.
    planned
        Names of beds that may lie elsewhere in the next plan.
    crs
        CRS of the site, to which positions are brought.
    longitude, latitude
        Of the plots' middle.

    Raises
    ------
    SiteError
        When a place is no bed and has no position, or is far from the plots.
    """
    outlines = {name.casefold(): outline for name, outline in beds.items()}
    at = []
    problems: list[Problem] = []
    for key, found in readings.places.items():
        where = found.position
        if where is not None:
            problems += _far_off(found, where, (longitude, latitude), readings.file)
            at.append(transformer(WGS84, crs).transform(*where))
        elif key in outlines:
            centre = outlines[key].centroid
            at.append((centre.x, centre.y))
        else:
            problems.append(_no_ground(found, readings.file, planned))
    refuse_any(problems, readings.file)
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


def _no_ground(found: _Place, file: str, planned: Collection[str]) -> Problem:
    """Why a place that is called as a bed has no ground."""
    values = {"file": file, "line": found.line, "place": quoted(found.name)}
    if found.name.casefold() in {name.casefold() for name in planned}:
        return problem(
            "{file}: line {line} has place {place}, and that bed may lie elsewhere in the"
            " next plan; run fieldmap keep while the plan has it where the thermometer"
            " hangs, or give its longitude and latitude.",
            **values,
        )
    return problem(
        "{file}: line {line} has place {place}, which is not a bed of the"
        " plan{perhaps}; name a bed, or give its longitude and latitude.",
        **values,
        perhaps=perhaps(found.name, planned),
    )


def _far_off(
    found: _Place, where: tuple[float, float], middle: tuple[float, float], file: str
) -> Iterator[Problem]:
    far_km = place.distance_km(*where, *middle)
    if far_km > FARTHEST_KM:
        yield problem(
            "{file}: line {line} puts {place} at longitude {longitude:g}, latitude"
            " {latitude:g}, {far_km:.0f} km from the plots (longitude"
            " {site_longitude:.3f}, latitude {site_latitude:.3f}); give its place in"
            " degrees, east and north positive.",
            file=file,
            line=found.line,
            place=quoted(found.name),
            longitude=where[0],
            latitude=where[1],
            far_km=far_km,
            site_longitude=middle[0],
            site_latitude=middle[1],
        )


def _check_header(table: CsvTable) -> None:
    """Raise SiteError unless each fact that is needed has one column."""
    file, header = table.file, ",".join(table.given)
    if not table.rows:
        raise site_error(
            "{file} has no reading; its first line is {example}, and each place and"
            " night has a line after it.",
            file=file,
            example=EXAMPLE,
        )
    problems = table.unknown_columns(RIGHT)
    problems += [
        problem(
            "{file} has {target} in more than one column; keep one.",
            file=file,
            target=target,
        )
        for target in table.said_twice(MEANING)
    ]
    if not problems:
        problems += [
            problem(
                "{file} has no column {names} (its header is {header});"
                " add it, as in {example}.",
                file=file,
                names=NEEDED[target],
                header=quoted(header),
                example=EXAMPLE,
            )
            for target in table.lacking(NEEDED, MEANING)
        ]
    if ("longitude" in table.header) != ("latitude" in table.header):
        problems += [
            problem(
                "{file} needs longitude and latitude together; add the other.",
                file=file,
            )
        ]
    if problems:
        raise SiteError(problems)


def _take(
    line: int, row: dict[str, str], places: dict[str, _Place], file: str
) -> list[Problem]:
    """Add a line to its place; what is wrong with it, in sentences."""
    begin = problem("{file}: line {line}", file=file, line=line)
    fault = fault_of_name(row["place"])
    if fault:
        return [problem("{begin}: its place {fault}.", begin=begin, fault=fault)]
    facts, problems = _facts(row, begin)
    day = day_of(row["date"])
    if day is None:
        wrong_day = problem(
            "{begin} has date {text}; write the morning of the minimum as year,"
            " month, day, such as 2025-04-30.",
            begin=begin,
            text=quoted(row["date"]),
        )
        problems.append(wrong_day)
    if problems or day is None:
        return problems
    name = row["place"]
    found = places.setdefault(name.casefold(), _Place(name, line))
    return list(found.note(day, line, facts, begin))


def _facts(
    row: dict[str, str], begin: Problem
) -> tuple[dict[str, float], list[Problem]]:
    """What a line says in metric units, and what of it cannot be."""
    facts: dict[str, float] = {}
    problems = []
    for name, (target, conversion) in NUMBERS.items():
        text = row.get(name, "")
        if not text:
            continue
        facts[target] = number_of(text, conversion)
        lowest, highest, unit = BELIEVED[target]
        if not lowest <= facts[target] <= highest:
            factor, offset = conversion
            wrong = problem(
                "{begin} has {name} {text}; write a number with a decimal point, from "
                "{lowest:g} to {highest:g}{unit}.",
                begin=begin,
                name=name,
                text=quoted(text),
                lowest=(lowest - offset) / factor,
                highest=(highest - offset) / factor,
                unit=joined(" ", unit) if conversion == AS_IT_IS else "",
            )
            problems.append(wrong)
    shield = row["shield"].casefold()
    if shield in SHIELD:
        facts["shield"] = SHIELD[shield]
    elif shield:
        wrong = problem(
            "{begin} has shield {shield}; write yes if the thermometer hangs under a"
            " radiation shield or in a screen, or else no.",
            begin=begin,
            shield=quoted(row["shield"]),
        )
        problems.append(wrong)
    return facts, problems


def _lacking(found: _Place, file: str) -> Iterator[Problem]:
    """Facts that no line of a place tells."""
    begin = problem(
        "{file}: no line of {place} (first on line {line}) says",
        file=file,
        place=quoted(found.name),
        line=found.line,
    )
    wants = {
        "height_m": problem("how high above the ground it hangs; fill in height_m"),
        "shield": problem(
            "whether it hangs under a shield; fill in shield with yes or no"
        ),
    }
    for name, what in wants.items():
        if name not in found.facts:
            yield joined(begin, " ", what, ".")
    if ("longitude" in found.facts) != ("latitude" in found.facts):
        yield problem(
            "{begin} both longitude and latitude; give both or none.", begin=begin
        )
