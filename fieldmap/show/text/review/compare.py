"""Places side by side, in words: the names of rows, their values and remarks."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence

from fieldmap.model.estimate import Estimate
from fieldmap.model.season_year import SeasonYear
from fieldmap.review.compare import ALIKE, BETTER, WORSE, Comparison, Row, Value
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, written
from fieldmap.show.text.map import answers
from fieldmap.show.text.names import listed, started
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all

EARLY, LATE = ("early_days", "early_day"), ("late_days",)
FIRST_DAYS = ("order_early_days", "hardy_early_day")
SYMBOLS = {BETTER: "▲ ", WORSE: "▼ ", ALIKE: ""}
NAMES = texts(__name__, "names")
VALUES = texts(__name__, "values")


def names(found: Comparison) -> list[str]:
    """Of the candidates."""
    return [_("As it is") if name is None else name for name in found.names]


def row_name(row: Row) -> str:
    """What a row is of."""
    return _(NAMES[row.kind]).format(crop=started(_(row.crop)))


def row_texts(row: Row, seasons: Sequence[SeasonYear], units: Units) -> list[str]:
    """The values of a row, without their marks.

    Parameters
    ----------
    row
        One number of all candidates, with its range.
    seasons
        Season-year of each candidate, in which its days are numbered.
    units
        "metric" or "us", for lengths and areas.
    """
    return [
        _text(row.kind, value, season, units)
        for value, season in zip(row.values, seasons, strict=True)
    ]


def marked_texts(row: Row, seasons: Sequence[SeasonYear], units: Units) -> list[str]:
    """The values of a row behind their marks.

    Parameters
    ----------
    row
        One number of all candidates, with its range and its mark.
    seasons
        Season-year of each candidate, in which its days are numbered.
    units
        "metric" or "us", for lengths and areas.
    """
    said = row_texts(row, seasons, units)
    return [
        SYMBOLS[each.mark] + text for each, text in zip(row.values, said, strict=True)
    ]


def title(found: Comparison) -> str:
    """Of the page."""
    return phrase("compare_title", names=listed(names(found)))


def asked(found: Comparison) -> str:
    """The question that the page answers."""
    return phrase("compare_asked_changes" if None in found.names else "compare_asked")


def answer(found: Comparison, units: Units) -> list[str]:
    """What comes first, when, and what has most ground; each where that is known."""
    first = next((row for row in found.rows if row.kind in FIRST_DAYS), None)
    said = [phrase("compare_undated")] if first is None else _which_first(found, first)
    said += [each for each in (_longest(found), _most_ground(found, units)) if each]
    return said


def _longest(found: Comparison) -> str:
    seasons = (row for row in found.rows if row.kind == "order_season_days")
    row = next(seasons, None)
    longest = _of_mark(row, BETTER) if row else []
    if row is None or len(longest) != 1:
        return ""
    days = row.values[longest[0]].estimate.central
    place = names(found)[longest[0]]
    return phrase("compare_longest", place=place, number=round(days))


def _most_ground(found: Comparison, units: Units) -> str:
    (ground,) = (row for row in found.rows if row.kind == "growing_area_m2")
    most = _of_mark(ground, BETTER)
    if len(most) != 1:
        return ""
    area_m2 = ground.values[most[0]].estimate.central
    place = names(found)[most[0]]
    return phrase("compare_most_ground", units, place=place, area_m2=area_m2)


def _which_first(found: Comparison, row: Row) -> list[str]:
    """Places that are known to be earlier, and those known to be later."""
    here = names(found)
    first, later = _of_mark(row, BETTER), _of_mark(row, WORSE)
    crop = row.crop
    if not first:
        return [
            phrase(
                "compare_none_first_change"
                if None in found.names
                else "compare_none_first"
            ),
            phrase("compare_none_first_why", crop=crop),
        ]

    def when(numbers: Sequence[int]) -> str:
        day = min(row.values[at].estimate.central for at in numbers)
        date = found.seasons[numbers[0]].early_date(day)
        return (
            phrase("compare_never") if date is None else phrase("from_day_on", day=date)
        )

    said = [
        phrase("compare_first", places=listed([here[at] for at in first])),
        phrase("compare_first_day", crop=crop, when=when(first)),
        phrase(
            "compare_later",
            places=listed([here[at] for at in later]),
            when=when(later),
        ),
    ]
    between = _of_mark(row, ALIKE)
    if between:
        places = listed([here[at] for at in between])
        said.append(phrase("compare_not_apart", places=places))
    return said


def _of_mark(row: Row, mark: str) -> list[int]:
    return [at for at, each in enumerate(row.values) if each.mark == mark]


def of_picture(place: str, beds: int, days: str) -> str:
    """What stands under the picture of a place.

    Parameters
    ----------
    place
        Its name.
    beds
        Number of its beds.
    days
        The first and the last of its planting dates, in words; "" where none are known.
    """
    counted = answers.beds(beds)
    if not days:
        return phrase("compare_picture", place=place, beds=counted)
    return phrase("compare_picture_dated", place=place, beds=counted, days=days)


def lines(found: Comparison, units: Units) -> Iterator[str]:
    """The table for a terminal, and its remarks."""
    table = [["", *names(found)]]
    for row in found.rows:
        table.append([row_name(row), *marked_texts(row, found.seasons, units)])
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    for cells in table:
        padded = (cell.ljust(wide) for cell, wide in zip(cells, widths, strict=True))
        yield "  ".join(padded).rstrip()
    yield from say_all(found.remarks, units)


# By the unit at the end of a kind.
_NUMBERS: Mapping[str, Callable[[float, Units], str]] = {
    "_percent": lambda number, _units: f"{written(number, '.0f')} %",
    "_mj_m2_day": lambda number, _units: quantities.full_sun(number),
    "_m2": quantities.area,
    "_m": quantities.whole_length,
    "cost": lambda number, _units: written(number, ",.0f"),
    "": lambda number, _units: written(number, ".0f"),
}


def is_of_days(kind: str) -> bool:
    """Whether a row is of days, which have a range."""
    return kind.endswith((*EARLY, *LATE, "season_days"))


def whole_day(kind: str, day: float) -> float:
    """A day as it is written: an early one rounded up, a late one the last before."""
    if not math.isfinite(day):
        return day
    if kind.endswith(EARLY):
        return math.ceil(day)
    return math.ceil(day) - 1 if kind.endswith(LATE) else round(day)


def on_scale(kind: str, day: int, season: SeasonYear) -> str:
    """A whole day as it stands on a scale.

    Parameters
    ----------
    kind
        Kind of the row. Only "order_season_days" counts days; the others are dates.
    day
        Number of days, or day of the season-year.
    season
        Season-year in which the day is numbered.
    """
    if kind == "order_season_days":
        return written(day, ".0f")
    return quantities.day(*season.month_day_of_any_year(day))


def _text(kind: str, value: Value, season: SeasonYear, units: Units) -> str:
    if kind.endswith((*EARLY, *LATE)):
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
    if low == likely == high:
        return likely
    return _("{likely} ({low} to {high})").format(likely=likely, low=low, high=high)
