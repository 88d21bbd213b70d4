"""When covers overheat, in words."""

from collections.abc import Iterator, Sequence

from fieldmap.decide.weekly_jobs.venting import TOO_HOT_C, Venting
from fieldmap.model.season_year import DAYS, WEEKS, SeasonYear
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill
from layers.cover import FILM_OPEN_C

VENTING = texts(__name__, "venting")


def name(venting: Venting, units: Units) -> str:
    """Which cover."""
    key = "tunnel" if venting.kind == "tunnel" else "low_cover"
    return fill(VENTING[key], units, name=venting.name, cover=venting.kind)


def weeks(found: Sequence[int], season: SeasonYear) -> str:
    """Weeks as spans of days."""
    if not found:
        return _(VENTING["never"])
    if len(found) == WEEKS:
        return _(VENTING["all_year"])
    spans: list[tuple[int, int]] = []
    for week in found:
        if spans and spans[-1][1] == week - 1:
            spans[-1] = spans[-1][0], week
        else:
            spans.append((week, week))
    # Across the turn of the season-year it is one span.
    if len(spans) > 1 and spans[0][0] == 0 and spans[-1][1] == WEEKS - 1:
        spans = [(spans[-1][0], spans[0][1]), *spans[1:-1]]
    return names.listed([_span(*span, season) for span in spans])


def _span(first: int, last: int, season: SeasonYear) -> str:
    days = 7 * first + 1, min(7 * last + 7, DAYS)
    said = [quantities.day(*season.month_day(day)) for day in days]
    return fill(VENTING["span"], "metric", first=said[0], last=said[1])


def lift(venting: Venting, units: Units) -> str:
    """Air inside over that outside, in the week of most of it."""
    keys = ("low", "likely", "high")
    values = {
        key: quantities.degrees(round(each), units)
        for key, each in zip(keys, venting.lift_c, strict=True)
    }
    return fill(VENTING["lift"], units, **values)


def notes(found: Sequence[Venting], units: Units) -> Iterator[str]:
    """What the weeks mean, and what can hurt someone."""
    yield fill(VENTING["what"], units, limit_c=TOO_HOT_C)
    if any(each.kind == "slitted_film" for each in found):
        yield _(VENTING["slits"])
    yield fill(VENTING["warmer_days"], units, outside_c=FILM_OPEN_C)
    yield _(VENTING["people"])
