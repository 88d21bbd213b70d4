"""Which kind of weather file it is, by what stands in it and never by its name."""

import re
from typing import Literal, NamedTuple

import pandas as pd

from fieldmap.model.fact import Fact
from fieldmap.model.settings import Station
from fieldmap.read.door import SiteFile

Form = Literal["own", "fixed", "lines", "days", "typical year"]

BEGINNING = 8192  # bytes; the first two lines of every form are shorter
_STATION = r"[A-Z]{2}[A-Z0-9_-]{9}"
_FIXED = re.compile(rf"{_STATION}\d{{6}}[A-Z][A-Z0-9]{{3}}[ -]*\d")
_LINES = re.compile(rf'"?{_STATION}"?,"?\d{{8}}"?,"?[A-Z][A-Z0-9]{{3}}"?,')
_LINES_HEADER = re.compile(r'"?ID"?,"?DATE"?,"?ELEMENT"?,')
_TM2 = re.compile(r" ?\d{5} .{22} [A-Z]{2} +-?\d+ [NS] ")


class Found(NamedTuple):
    """What a weather file of a published form says.

    Attributes
    ----------
    readings
        One row a day without gaps, columns as in `WeatherRecord.days`.
    remarks
        What the reader should know.
    station
        Where it was kept, None where the file does not say.
    """

    readings: pd.DataFrame
    remarks: tuple[Fact, ...]
    station: Station | None


def form_of(path: SiteFile) -> Form:
    """The form that the first lines have; "own" where they have no other."""
    beginning = path.beginning(BEGINNING).decode("latin-1")
    lines = beginning.lstrip("ï»¿").splitlines()
    first, second = (*lines, "", "")[:2]
    names = [name.strip(' "') for name in first.split(",")]
    if _FIXED.match(first):
        return "fixed"
    if _LINES.match(first) or _LINES_HEADER.match(first):
        return "lines"
    if {"STATION", "DATE"} <= set(names):
        return "days"
    if (
        first.startswith("LOCATION,")
        or second.startswith("Date (MM/DD/YYYY)")
        or _TM2.match(first)
    ):
        return "typical year"
    return "own"


def station_of(latitude: float, longitude: float, elevation_m: float) -> Station | None:
    """A place as a file gives it, None where that is no place (such as -999.9 m).

    Parameters
    ----------
    latitude, longitude
        As the file has them [degrees], north and east positive.
    elevation_m
        Height above sea level.
    """
    try:
        return Station(latitude=latitude, longitude=longitude, elevation_m=elevation_m)
    except ValueError:
        return None
