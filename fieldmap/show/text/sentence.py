"""Facts in the words of the language that is read.

Each module beside this one that has a table `SENTENCES` says the facts of one part of the
work: by kind, either a text with `{places}` or a function of the fact and the units. A
value `depth_m` fills the place `{depth_m}` and the place `{depth}`.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import TYPE_CHECKING, Any

from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from fieldmap.show.text.quantities import Units

Sentence = str | Callable[[Fact, "Units"], str]

# Modules of `show.text` with a table SENTENCES.
TOPICS: tuple[str, ...] = (
    "analysis",
    "calendar",
    "cautions",
    "compare",
    "field_log",
    "layout",
    "materials",
    "ranking",
    "shortfall",
    "site_remarks",
    "steps",
    "thermometers",
    "tunnels",
    "weekly_jobs",
    "what_if",
)


@cache
def sentences() -> Mapping[str, Sentence]:
    """The sentence of every kind of fact.

    Raises
    ------
    ValueError
        When two topics have one for the same kind.
    """
    found: dict[str, Sentence] = {}
    for topic in TOPICS:
        table = importlib.import_module(f"fieldmap.show.text.{topic}").SENTENCES
        twice = found.keys() & table.keys()
        if twice:
            raise ValueError(f"{topic} has a second sentence for {', '.join(twice)}")
        found |= table
    return found


def say(fact: Fact | str, units: Units) -> str:
    """The sentence of a fact, in the current language and the units of the site."""
    if isinstance(fact, str):
        return fact
    sentence = sentences()[fact.kind]
    if callable(sentence):
        return sentence(fact, units)
    places: dict[str, Any] = {}
    for name, value in fact.values.items():
        shown = _shown(name, value, units)
        places |= {name: shown, name.removesuffix(_unit(name)): shown}
    return _(sentence).format(**places)


def say_all(facts: Iterable[Fact | str], units: Units) -> list[str]:
    """The sentences of several facts."""
    return [say(fact, units) for fact in facts]


_BY_UNIT: Mapping[str, Callable[[float, Units], str]] = {
    "_m2": quantities.area,
    "_m3": quantities.volume,
    "_mm": quantities.rain,
    "_m_s": quantities.speed,
    "_m": quantities.length,
    "_c": quantities.degrees,
    "_from_deg": lambda bearing_deg, _units: quantities.direction(bearing_deg),
    "_to_deg": lambda bearing_deg, _units: quantities.direction(bearing_deg),
    "_hours": lambda hours, _units: quantities.duration(hours),
    "_share": lambda share, _units: f"{100 * share:.0f} %",
}


def _shown(name: str, value: Any, units: Units) -> Any:
    """One value of a fact as it stands in its sentence, by the unit in its name."""
    if isinstance(value, Fact):
        return say(value, units)
    if isinstance(value, list | tuple):
        if name.endswith("day"):
            return quantities.day(*value)
        return names.listed([_shown("", each, units) for each in value])
    return _number(name, value, units) if isinstance(value, float) else value


def _number(name: str, value: float, units: Units) -> str:
    unit = _unit(name)
    return _BY_UNIT[unit](value, units) if unit else f"{value:g}"


def _unit(name: str) -> str:
    """The unit at the end of a value's name, "" where it has none.

    Examples
    --------
    >>> _unit("depth_m"), _unit("hours"), _unit("days")
    ('_m', '_hours', '')
    """
    return next((unit for unit in _BY_UNIT if f"_{name}".endswith(unit)), "")
