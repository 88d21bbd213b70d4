"""Places side by side, in words: the names of rows, their values and remarks."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from fieldmap.model.estimate import Estimate
from fieldmap.model.season_year import SeasonYear
from fieldmap.review.compare import ALIKE, BETTER, WORSE, Comparison, Row, Value
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, written
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import say_all

SYMBOLS = {BETTER: "▲ ", WORSE: "▼ ", ALIKE: ""}
NAMES = texts(__name__, "names")
VALUES = texts(__name__, "values")


def names(found: Comparison) -> list[str]:
    """Of the candidates."""
    return [_("As it is") if name is None else name for name in found.names]


def row_name(row: Row) -> str:
    """What a row is of."""
    return _(NAMES[row.kind]).format(crop=_(row.crop))


def row_texts(row: Row, seasons: Sequence[SeasonYear], units: Units) -> list[str]:
    """The values of a row, without their marks."""
    return [
        _text(row.kind, value, season, units)
        for value, season in zip(row.values, seasons, strict=True)
    ]


def lines(found: Comparison, units: Units) -> Iterator[str]:
    """The table for a terminal, and its remarks."""
    table = [["", *names(found)]]
    for row in found.rows:
        texts = row_texts(row, found.seasons, units)
        marked = map(str.__add__, (SYMBOLS[each.mark] for each in row.values), texts)
        table.append([row_name(row), *marked])
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    for cells in table:
        padded = (cell.ljust(wide) for cell, wide in zip(cells, widths, strict=True))
        yield "  ".join(padded).rstrip()
    yield from say_all(found.remarks, units)


# By the unit at the end of a kind.
_NUMBERS: Mapping[str, Callable[[float, Units], str]] = {
    "_percent": lambda number, _units: f"{written(number, '.0f')} %",
    "_mj_m2_day": lambda number, _units: written(number, ".1f"),
    "_m2": quantities.area,
    "_m": quantities.whole_length,
    "cost": lambda number, _units: written(number, ",.0f"),
    "": lambda number, _units: written(number, ".0f"),
}


def _text(kind: str, value: Value, season: SeasonYear, units: Units) -> str:
    if kind.endswith(("early_days", "late_days", "early_day")):
        return _days(kind, value.estimate, season)
    if not all(map(math.isfinite, value.estimate)):
        return _(VALUES["no_cost" if kind == "cost" else "not_known"])
    if kind == "order_season_days":
        return _spread(*(f"{days:.0f}" for days in value.estimate))
    if kind == "cold_air_m":
        return value.bed
    number = value.estimate.central
    unit = next(unit for unit in _NUMBERS if kind.endswith(unit))
    return _NUMBERS[unit](number, units)


def _days(kind: str, days: Estimate, season: SeasonYear) -> str:
    on = season.late_date if "late" in kind else season.early_date
    dates = [on(day) for day in days]
    return _spread(
        *(_("none") if date is None else quantities.day(*date) for date in dates)
    )


def _spread(low: str, likely: str, high: str) -> str:
    return _("{likely} ({low} to {high})").format(likely=likely, low=low, high=high)
