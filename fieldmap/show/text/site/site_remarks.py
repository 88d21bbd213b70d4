"""What was noticed when the files of a site were read, in sentences."""

from fieldmap.model.fact import Fact
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill, say

TEXTS = texts(__name__, "texts")
_UNITS = {"tmin_c": "°C", "tmax_c": "°C", "wind_m_s": "m/s", "precipitation_mm": "mm"}


def _reading_left_out(fact: Fact, units: Units) -> str:
    values = [
        f"{column.split('_')[0]} {value:.1f} {_UNITS[column]}"
        for column, value in fact["readings"].items()
    ]
    text = TEXTS["readings_left_out" if len(values) > 1 else "reading_left_out"]
    return fill(text, units, values=values, **fact.values)


def _beyond_belief(fact: Fact, units: Units) -> str:
    unit = _UNITS[fact["column"]]
    return fill(TEXTS["beyond_belief"], units, unit=unit, **fact.values)


def _first_of_many(fact: Fact, units: Units) -> str:
    """What was found in a file: the first few, and how many more."""
    shown = ", ".join(
        say(each, units) if isinstance(each, Fact) else each for each in fact["shown"]
    )
    more = fact["count"] - len(fact["shown"])
    if more:
        shown += _(" and {count} more").format(count=more)
    values = {**fact.values, "shown": shown}
    return fill(TEXTS[fact.kind], units, **values)


SENTENCES: dict[str, Sentence] = {
    "library_warned": lambda fact, _units: f"{fact['file']}: {fact['message']}",
    "reading_left_out": _reading_left_out,
    "beyond_belief": _beyond_belief,
    "readings_flagged": _first_of_many,
    "days_absent": _first_of_many,
}
