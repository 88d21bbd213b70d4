"""What was noticed when the files of a site were read, in sentences."""

from collections.abc import Mapping, Sequence
from datetime import date

from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say

_UNITS = {"tmin_c": "°C", "tmax_c": "°C", "wind_m_s": "m/s", "precipitation_mm": "mm"}


def _plainly(text: str) -> Sentence:
    """A sentence whose numbers are written as its text says, in no other unit."""

    def said(fact: Fact, units: Units) -> str:
        parts = {name: _part(value, units) for name, value in fact.values.items()}
        return _(text).format(**parts)

    return said


def _part(value: object, units: Units) -> object:
    return say(value, units) if isinstance(value, Fact) else value


def _wind_not_told(fact: Fact, _units: Units) -> str:
    return _("{choices} tells no {right} under [wind]: that wind is left out.").format(
        choices=fact["choices"], right=_either(fact["right"])
    )


def _either(words: Sequence[str]) -> str:
    if len(words) < 2:
        return "".join(words)
    return _("{most} or {last}").format(most=", ".join(words[:-1]), last=words[-1])


def _station_kept(fact: Fact, units: Units) -> str:
    text = (
        _(
            "{said}; the [station] of {choices} is {away_km:.1f} km from there and"
            " {height:.0f} m higher, and is kept."
        )
        if fact["higher_m"] > 0
        else _(
            "{said}; the [station] of {choices} is {away_km:.1f} km from there and"
            " {height:.0f} m lower, and is kept."
        )
    )
    return text.format(
        said=say(fact["said"], units),
        choices=fact["choices"],
        away_km=fact["away_km"],
        height=abs(fact["higher_m"]),
    )


def _station_far_off(fact: Fact, _units: Units) -> str:
    said = _(
        "{choices}: the [station] at latitude {station_latitude:g}, longitude"
        " {station_longitude:g} is {away_km:.0f} km from the plots (latitude"
        " {latitude:.3f}, longitude {longitude:.3f})"
    ).format(**fact.values)
    return _("{said}; its weather may be that of another region.").format(said=said)


def _station_away(fact: Fact, units: Units) -> str:
    text = (
        _("{file} ({distance} off, {height} higher)")
        if fact["higher_m"] > 0
        else _("{file} ({distance} off, {height} lower)")
    )
    return text.format(
        file=fact["file"],
        distance=quantities.distance(fact["away_km"], units),
        height=quantities.length(round(abs(fact["higher_m"])), units),
    )


def _nearest_station(fact: Fact, units: Units) -> str:
    return _(
        "Of {count} weather stations {nearest} is taken, as the "
        "nearest: {distance} off count like "
        "{height} of height. The next is "
        "{next}. To have it otherwise, leave the other out of "
        "{choices}."
    ).format(
        count=fact["count"],
        nearest=say(fact["nearest"], units),
        distance=quantities.distance(fact["distance_km"], units),
        height=quantities.length(fact["height_m"], units),
        next=say(fact["following"], units),
        choices=fact["choices"],
    )


def _reading_left_out(fact: Fact, units: Units) -> str:
    readings: Mapping[str, float] = fact["readings"]
    when: date = fact["date"]
    text = (
        _("{file}, {date:%Y-%m-%d}: {values} are left out, {why}.")
        if len(readings) > 1
        else _("{file}, {date:%Y-%m-%d}: {values} is left out, {why}.")
    )
    values = [
        f"{column.split('_')[0]} {value:.1f} {_UNITS[column]}"
        for column, value in readings.items()
    ]
    return text.format(
        file=fact["file"],
        date=when,
        values=names.listed(values),
        why=say(fact["why"], units),
    )


def _beyond_belief(fact: Fact, _units: Units) -> str:
    return _("beyond {lowest:g} to {highest:g} {unit}").format(
        lowest=fact["lowest"], highest=fact["highest"], unit=_UNITS[fact["column"]]
    )


def _readings_flagged(fact: Fact, units: Units) -> str:
    shown = [say(each, units) for each in fact["shown"]]
    return _(
        "{file}: readings that failed a check of the archive are left out,"
        " {count} in all: {shown}."
    ).format(file=fact["file"], count=fact["count"], shown=_first(shown, fact["count"]))


def _days_absent(fact: Fact, _units: Units) -> str:
    return _(
        "{file}: days without a temperature stay missing, {count} of {days}: {shown}."
    ).format(
        file=fact["file"],
        count=fact["count"],
        days=fact["days"],
        shown=_first(fact["shown"], fact["count"]),
    )


def _first(shown: Sequence[str], count: int) -> str:
    """The first of many, and how many more."""
    more = ""
    if count > len(shown):
        more = _(" and {count} more").format(count=count - len(shown))
    return f"{', '.join(shown)}{more}"


def _thing_taken_away(fact: Fact, _units: Units) -> str:
    return _("the {name} is taken away").format(name=_(fact["name"]))


def _gap_made(fact: Fact, units: Units) -> str:
    return _("a gap of {width} in the {thing}").format(
        width=quantities.length(fact["width_m"], units), thing=_(fact["thing"])
    )


SENTENCES: dict[str, Sentence] = {
    "library_warned": lambda fact, _units: f"{fact['file']}: {fact['message']}",
    "elevation_too_large": _plainly(
        later(
            "{elevation} is larger than can be worked through: {margin_m:.0f} m"
            " around the plots are used; coarser cells would reach farther."
        )
    ),
    "typical_year_far_off": _plainly(
        later("{file} was kept {away_km:.0f} km from the plots: its cloud may differ.")
    ),
    "record_tells_place": _plainly(
        later(
            "{file} was kept at latitude {latitude:g}, longitude {longitude:g},"
            " {height_m:g} m high, as it says itself"
        )
    ),
    "station_taken": _plainly(
        later("{said}; that is taken, since {choices} has no [station].")
    ),
    "station_kept": _station_kept,
    "station_far_off": _station_far_off,
    "station_away": _station_away,
    "nearest_station": _nearest_station,
    "wind_not_told": _wind_not_told,
    "few_years": _plainly(
        later(
            "{file} spans {years:.1f} years: under {few_years} years"
            " say little about rare frosts."
        )
    ),
    "reading_left_out": _reading_left_out,
    "beyond_belief": _beyond_belief,
    "day_too_wide": _plainly(later("since no day is {most:g} °C wide")),
    "readings_flagged": _readings_flagged,
    "flagged_reading": _plainly(later("{element} of {date:%Y-%m-%d} (flag {quality})")),
    "days_absent": _days_absent,
    "thing_taken_away": _thing_taken_away,
    "gap_made": _gap_made,
}
