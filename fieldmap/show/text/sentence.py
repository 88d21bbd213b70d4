"""Facts in the words of the language that is read.

The sentence of a kind of fact stands under that kind in a table `sentences` of one of the
TOML files of this folder:

    kind = "Cold air comes to rest {hours} after sunset."
    kind = {one = "{number} bed is wet.", many = "{number} beds are wet."}
    kind = {none = "No bed is wet.", one = "{number} bed is wet.", many = ...}
    kind = {text = "Hollows under {depth} are left out.", depth = "short_length"}

A value `depth_m` fills the place `{depth_m}` and the place `{depth}`. It is written by the
unit in its name (`BY_UNIT`), or as the entry names a form for the place (`FORMS`). What
takes arithmetic or a choice is a function in a table `SENTENCES` of a module (`TOPICS`).
"""

import importlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from typing import Any

from fieldmap.model.fact import Fact
from fieldmap.show.text import catalogue, names, quantities
from fieldmap.show.text.language import _, month_name, plural, written
from fieldmap.show.text.quantities import Units

Text = str | Mapping[str, str]
Sentence = Text | Callable[[Fact, "Units"], str]

# Modules of `show.text` with a table SENTENCES of functions.
TOPICS: tuple[str, ...] = (
    "site.analysis",
    "decide.cautions",
    "decide.layout",
    "decide.ranking",
    "site.site_remarks",
    "decide.weekly_jobs",
    "decide.what_if",
)


@cache
def _texts() -> Mapping[str, Text]:
    """The text of every kind of fact that has one.

    Raises
    ------
    ValueError
        When a kind has two.
    """
    return _joined(catalogue.tables("sentences"))


@cache
def _sentences() -> Mapping[str, Sentence]:
    """The sentence of every kind of fact, functions too; loading these is slow.

    Raises
    ------
    ValueError
        When a kind has two.
    """
    functions = (
        importlib.import_module(f"fieldmap.show.text.{topic}").SENTENCES
        for topic in TOPICS
    )
    return _joined([_texts(), *functions])


def _joined(tables: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for table in tables:
        twice = found.keys() & table.keys()
        if twice:
            raise ValueError(f"a second sentence for {', '.join(sorted(twice))}")
        found |= table
    return found


def say(fact: Fact, units: Units) -> str:
    """The sentence of a fact, in the current language and the units of the site."""
    kind = fact.kind
    sentence = _texts()[kind] if kind in _texts() else _sentences()[kind]
    if callable(sentence):
        return sentence(fact, units)
    return fill(sentence, units, **fact.values)


def phrase(kind: str, units: Units = "metric", /, **values: Any) -> str:
    """The sentence of a kind of fact, filled in with these values.

    Parameters
    ----------
    kind
        Kind of fact, a key of a table `sentences`.
    units
        "metric" or "us".
    **values
        Values of the fact by name, with the unit at the end of the name.

    Examples
    --------
    >>> phrase("tunnel_size", "us", length_m=20.0, width_m=6.0, height_m=3.0)
    '66 ft long, 20 ft wide, 10 ft high'
    """
    return say(Fact(kind, **values), units)


def say_all(facts: Iterable[Fact], units: Units) -> list[str]:
    """The sentences of several facts."""
    return [say(fact, units) for fact in facts]


def fill(text: Text, units: Units, **values: Any) -> str:
    """A text of a TOML file with its places filled in, as for a fact of these values.

    Parameters
    ----------
    text
        A text with `{places}`, or a table as the head of this module shows.
    units
        "metric" or "us".
    **values
        Values by name, with the unit at the end of the name. A text that counts takes
        its form by `number`.
    """
    entry = {"text": text} if isinstance(text, str) else text
    places: dict[str, Any] = {}
    for name, value in values.items():
        bare = name.removesuffix(_unit(name))
        form = FORMS.get(entry.get(bare, ""))
        shown = form(value, units) if form else _shown(name, value, units)
        places |= {name: shown, bare: shown}
    if "none" in entry and not values["number"]:
        return _(entry["none"]).format(**places)
    if "one" in entry:
        return plural(entry["one"], entry["many"], values["number"], **places)
    return _(entry["text"]).format(**places)


Form = Callable[[Any, "Units"], str]


def _named(name: str | Fact | Sequence[str], units: Units) -> str:
    """A word of the data in the current language; of several a list."""
    if isinstance(name, list | tuple):
        return names.listed([_(each) for each in name])
    return say(name, units) if isinstance(name, Fact) else _(str(name))


def _crop(name: str | Sequence[str]) -> str:
    """A crop as growers say it; of several a list."""
    named = [name] if isinstance(name, str) else name
    return names.listed([*map(names.crop, named)])


# How a place may be written that its unit alone does not tell.
FORMS: Mapping[str, Form] = {
    "short_length": quantities.short_length,
    "whole_length": quantities.whole_length,
    "depth": quantities.depth,
    "way": quantities.way,
    "height": quantities.height,
    "pipe": quantities.pipe,
    "gust": quantities.careful_gust,
    "difference": quantities.difference,
    "temperature": quantities.temperature,
    "against": quantities.against,
    "signed": quantities.signed,
    "factor": lambda range_, _units: quantities.factor(range_),
    "height_range": quantities.height_range,
    "length_range": quantities.length_range,
    "fall": quantities.fall,
    "drop": quantities.drop,
    "sixteenth": lambda bearing_deg, _units: quantities.sixteenth(bearing_deg),
    "axis": lambda bearing_deg, _units: quantities.axis(bearing_deg),
    "ground": quantities.ground,
    "direction": lambda bearing_deg, _units: quantities.direction(bearing_deg),
    "compared_light": lambda more, _units: quantities.compared_light(more),
    "day": lambda month_day, _units: quantities.day(*month_day),
    "month": lambda month, _units: month_name(month),
    "odds": lambda share, _units: quantities.odds(share),
    "each_odds": lambda shares, _units: names.listed([*map(quantities.odds, shares)]),
    "number": lambda number, _units: written(number),
    "whole": lambda number, _units: written(number, ".0f"),
    "whole_percent": lambda share, _units: f"{share:.0%}",
    "plain": lambda value, _units: value,  # as the text itself formats it
    "commas": lambda names, _units: ", ".join(names),
    "apart": lambda facts, units: " ".join(say_all(facts, units)),
    "either": lambda words, _units: names.either(words),
    "name": _named,
    "crop": lambda name, _units: _crop(name),
    "started_name": lambda name, units: names.started(_named(name, units)),
    "started": lambda text, _units: names.started(text),
    "some": lambda beds, _units: names.some(beds),
    "runs": lambda beds, _units: names.runs_of_beds(beds, ()),
    "started_runs": lambda beds, _units: names.started(names.runs_of_beds(beds, ())),
    "cover": lambda kind, _units: names.cover_name(kind),
    "started_cover": lambda kind, _units: names.started(names.cover_name(kind)),
    "either_cover": lambda kinds, _units: names.either(
        list(dict.fromkeys(map(names.cover_name, kinds)))
    ),
    "rough_area": lambda square_metres, units: quantities.area(
        quantities.figures(square_metres, 2), units
    ),
    "thousands": lambda number, _units: written(number, ","),
}

BY_UNIT: Mapping[str, Form] = {
    "_m2": quantities.area,
    "_m3": quantities.volume,
    "_mm": quantities.rain,
    "_m_s": quantities.speed,
    "_kg": quantities.mass,
    "_m": quantities.length,
    "_km": quantities.distance,
    "_c": quantities.degrees,
    "_from_deg": FORMS["direction"],
    "_to_deg": FORMS["direction"],
    "_hours": lambda hours, _units: quantities.duration(hours),
    "_mol": lambda mol, _units: written(mol),
    "_share": lambda share, _units: f"{written(100 * share, '.0f')} %",
}


def _shown(name: str, value: Any, units: Units) -> Any:
    """One value as it stands in its sentence, by the unit in its name."""
    if isinstance(value, Fact):
        return say(value, units)
    if isinstance(value, list | tuple):
        if name.endswith("day"):
            return quantities.day(*value)
        return names.listed([_shown("", each, units) for each in value])
    if isinstance(value, float):
        unit = _unit(name)
        return BY_UNIT[unit](value, units) if unit else written(value)
    return value


def _unit(name: str) -> str:
    """The unit at the end of a value's name, "" where it has none.

    Examples
    --------
    >>> _unit("depth_m"), _unit("hours"), _unit("days")
    ('_m', '_hours', '')
    """
    return next((unit for unit in BY_UNIT if f"_{name}".endswith(unit)), "")
