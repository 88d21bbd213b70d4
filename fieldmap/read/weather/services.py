"""Daily tables of national weather services, known by the names of their columns.

Their units stand in the services' own descriptions, so the header is clear.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from fieldmap.errors import site_error
from fieldmap.read.csv_table import CsvTable
from fieldmap.read.wording import quoted


class Service(NamedTuple):
    """How a service writes its days.

    Attributes
    ----------
    columns
        Name of a column, folded, -> the column of `weather.csv` that it is.
    station
        Column that names the station.
    missing
        What is written where there is no reading.
    """

    columns: Mapping[str, str]
    station: str
    missing: str


SERVICES = (
    # Germany, daily climate observations: °C, m/s, mm; -999 is missing (a published
    # description of its columns; seen).
    Service(
        {
            "mess_datum": "date",
            "tnk": "tmin_c",
            "txk": "tmax_c",
            "fm": "wind_m_s",
            "rsk": "precipitation_mm",
        },
        station="stations_id",
        missing="-999",
    ),
    # France, daily climatological data: °C, mm (its description of fields; seen), mean
    # wind in m/s (from memory).
    Service(
        {
            "aaaammjj": "date",
            "tn": "tmin_c",
            "tx": "tmax_c",
            "ffm": "wind_m_s",
            "rr": "precipitation_mm",
        },
        station="num_poste",
        missing="",
    ),
)
_NEEDED = {"date", "tmin_c", "tmax_c"}


def in_own_columns(table: CsvTable) -> CsvTable:
    """A service's table with the columns of `weather.csv`; any other as it is.

    Raises
    ------
    SiteError
        When it holds several stations, or a row has too few fields or too many.
    """
    for service in SERVICES:
        found = {service.columns.get(name) for name in table.header}
        if found >= _NEEDED and service.station in table.header:
            table.check_lengths()
            _check_one_station(table, service.station)
            return _taken(table, service)
    return table


def _check_one_station(table: CsvTable, column: str) -> None:
    names = sorted(set(table.column(column)))
    if len(names) > 1:
        raise site_error(
            "{file} holds {count} stations, such as {one} and"
            " {other}; keep the lines of one.",
            file=table.file,
            count=len(names),
            one=quoted(names[0]),
            other=quoted(names[1]),
        )


def _taken(table: CsvTable, service: Service) -> CsvTable:
    """The columns that are read; what stands for no reading as nothing."""
    at = [n for n, name in enumerate(table.header) if name in service.columns]
    none = {service.missing, f"{service.missing}.0"}
    return replace(
        table,
        given=tuple(table.given[n] for n in at),
        header=tuple(service.columns[table.header[n]] for n in at),
        rows=tuple(
            tuple("" if row[n] in none else row[n] for n in at) for row in table.rows
        ),
    )
