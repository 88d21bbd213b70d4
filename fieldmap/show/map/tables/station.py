"""The weather station's own dates."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.map.tables.table import Column, Table, headings, rows
from fieldmap.show.text import quantities
from fieldmap.show.text.map import beds as words
from fieldmap.show.text.map.headings import heading
from fieldmap.show.text.map.labels import label
from layers.odds import risk_over_years

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldmap.decide.calendar.planting_dates import Dates
    from fieldmap.show.text.quantities import Units

YEARS_SHOWN = 5  # over which a risk is shown


def table(dates: Dates, units: Units) -> Table:
    """The last and first frost of each crop, counted and by theory."""

    def on(season: int, *, theory: bool) -> Callable[[int], str]:
        def cell(number: int) -> str:
            odds = dates.station[number]
            days = odds.by_theory if theory else odds.counted
            return words.frost_day(dates.season.date(days[season]))

        return cell

    columns: list[Column[int]] = [
        Column(heading("crop"), lambda number: dates.crops[number].name),
        Column(
            heading("harmed_at"),
            lambda number: quantities.temperature(dates.station[number].limit_c, units),
        ),
        Column(heading("spring_counted"), on(0, theory=False)),
        Column(heading("spring_theory"), on(0, theory=True)),
        Column(heading("autumn_counted"), on(1, theory=False)),
        Column(heading("autumn_theory"), on(1, theory=True)),
    ]
    over_years = [
        words.over_years(risk, YEARS_SHOWN, risk_over_years(risk, YEARS_SHOWN))
        for risk in sorted(set(dates.risks))
    ]
    return Table(
        "station",
        label("station"),
        headings(columns),
        rows(columns, range(len(dates.crops)), "station"),
        notes=(label("station_note"), *over_years),
    )
