"""The choices of a site as sentences: ten first, the rest folded, from the model itself.

What may fill a blank is read off the schema of `Settings`, so a choice that is added there
is asked for here once it has a sentence; a test says which lack one.
"""

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from fieldmap.model.settings import INCHES, Settings
from fieldmap.show.text.language import codes
from fieldmap.show.text.site import open_page as texts

# Choices that have no sentence, and why.
NOT_ASKED = {
    "files": "names of files, which those have who wrote them by hand",
    "other_stations": "written by start, with the record",
    "sun_global_mj_m2_day": "twelve numbers, better taken from a typical year",
    "sun_diffuse_mj_m2_day": "twelve numbers, better taken from a typical year",
    "pegging_taped": "measured on the ground between posts",
    "materials_roll_widths_m": "a list of numbers",
    "map": "pictures from the internet",
    "what_if": "made on the page itself",
    "region": "written by region",
}
GROUPS = {
    "beds": ("beds_",),
    "tunnels": ("tunnels", "tunnel_"),
    "crops": ("order_for", "risk_", "hands_"),
    "ground": ("ground_", "sun_", "calendar_"),
    "pegging": ("pegging_", "sheets_"),
    "materials": ("materials_",),
}
UNITS = {"_percent": "%", "_deg": "°", "_kg": "kg", "_mm_h": "mm", "_m": ""}
_BLANK = re.compile(r"\{(\w+)\}")
_OTHER_KEYS = {metres: inches for inches, metres in INCHES.items()}
_OTHER_KEYS["elevation_m"] = "elevation_ft"
Schema = Mapping[str, Any]


def places() -> dict[str, tuple[str, ...]]:
    """Every choice by the name of its blank; lists of tables are one choice."""
    whole = Settings.model_json_schema()
    found: dict[str, tuple[str, ...]] = {}

    def walk(node: Schema, place: tuple[str, ...]) -> None:
        for key, inner in _resolved(whole, node).get("properties", {}).items():
            here = (*place, key)
            if _resolved(whole, inner).get("type") == "object":
                walk(inner, here)
            else:
                found["_".join(here)] = here

    walk(whole, ())
    return found


def questions(settings: Settings, where: tuple[float, float]) -> dict[str, Any]:
    """The ten sentences and the folded ones, with their blanks and present values.

    Parameters
    ----------
    where
        Longitude and latitude of the middle.
    """
    whole, known = Settings.model_json_schema(), places()
    answers = settings.model_dump(mode="json")
    # Of a row only what was written: else an answer would write every default out.
    rows = settings.model_dump(mode="json", exclude_unset=True)
    longitude, latitude = where
    here = {"latitude": f"{latitude:.4f}", "longitude": f"{longitude:.4f}"}

    def line(text: str) -> dict[str, Any]:
        names = [name for name in _BLANK.findall(text) if name in known]
        blanks = {name: _blank(whole, name, known[name]) for name in names}
        said = _BLANK.sub(lambda found: here.get(found[1], found[0]), text)
        return {
            "text": said,
            "blanks": blanks,
            "places": {name: known[name] for name in names},
            "values": {
                name: _value(rows if blank["kind"] == "rows" else answers, known[name])
                for name, blank in blanks.items()
            },
        }

    folded = {key: line(texts.word(key, "folded")) for key in texts.FOLDED}
    return {
        "ten": [line(texts.word(key, "ten")) for key in texts.TEN],
        "groups": [
            {
                "title": texts.word(group, "groups"),
                "lines": [
                    each for key, each in folded.items() if key.startswith(begins)
                ],
            }
            for group, begins in GROUPS.items()
        ],
        "also": texts.word("also", "rows"),
        "which": texts.word("which", "rows"),
    }


def typed(place: Iterable[str], value: Any) -> Any:
    """An answer as TOML writes it: a day is a day there, and no text."""
    if tuple(place) in (("sun", "day"), ("calendar", "starts")):
        try:
            return date.fromisoformat(value)
        except (TypeError, ValueError):
            return value
    return value


def as_written(
    answers: Iterable[tuple[tuple[str, ...], Any]],
) -> list[tuple[tuple[str, ...], Any]]:
    """Answers with days as days; a length in metres takes the place of one in feet."""
    found: list[tuple[tuple[str, ...], Any]] = []
    for place, value in answers:
        if place[-1] in _OTHER_KEYS:
            found.append(((*place[:-1], _OTHER_KEYS[place[-1]]), None))
        found.append((place, typed(place, value)))
    return found


def _resolved(whole: Schema, node: Schema) -> Schema:
    """A node of the schema, by its reference, and without the choice to be nothing."""
    for way in node.get("anyOf", ()):
        if way.get("type") != "null":
            return _resolved(whole, way)
    if "$ref" in node:
        return _resolved(whole, whole["$defs"][node["$ref"].rsplit("/")[-1]])
    return node


def _at(whole: Schema, place: tuple[str, ...]) -> Schema:
    node: Schema = whole
    for key in place:
        node = _resolved(whole, node)["properties"][key]
    return _resolved(whole, node)


def _value(values: Mapping[str, Any], place: tuple[str, ...]) -> Any:
    node: Any = values
    for key in place:
        node = None if node is None else node.get(key)
    return node


def _blank(whole: Schema, name: str, place: tuple[str, ...]) -> dict[str, Any]:
    """What may fill a blank of the choices."""
    node = _at(whole, place)
    if node.get("type") == "array":
        return _rows(whole, name, node)
    found = _of_type(node, place[-1])
    return {**found, "empty": _empty(found["kind"], place[-1]), "optional": True}


def _rows(whole: Schema, name: str, node: Schema) -> dict[str, Any]:
    """A list of tables: a sentence for each row, with blanks of its own."""
    text = texts.word(name, "rows")
    columns = _resolved(whole, node["items"])["properties"]
    blanks = {}
    for key in _BLANK.findall(text):
        inner = _resolved(whole, columns[key])
        if inner.get("type") == "array":
            options = _options(inner["items"]["enum"])
            found: dict[str, Any] = {"kind": "several", "options": options}
        else:
            found = _of_type(inner, key)
        empty = _empty(found["kind"], key)
        blanks[key] = {**found, "empty": empty, "optional": "default" in columns[key]}
    return {"kind": "rows", "text": text, "blanks": blanks, "empty": ""}


def _of_type(node: Schema, key: str) -> dict[str, Any]:
    """Kind, options and ends of a value by its schema and the unit in its key."""
    if (options := _options_of(node, key)) is not None:
        turn = {"unit": "°"} if key.endswith("_from_deg") else {}
        return {"kind": "choice", "options": options, **turn}
    if node.get("type") == "string":
        return {"kind": "day" if node.get("format") == "date" else "text"}
    ends = {
        "least": node.get("minimum", node.get("exclusiveMinimum")),
        "most": node.get("maximum", node.get("exclusiveMaximum")),
    }
    if key.endswith("_m"):
        return {"kind": "length", **ends}
    unit = next((unit for end, unit in UNITS.items() if key.endswith(end)), "")
    if key == "beds":
        unit = texts.word("unit_of_beds", "rows")
    whole = node.get("type") == "integer"
    return {"kind": "number", "unit": unit, "whole": whole, **ends}


def _options_of(node: Schema, key: str) -> list[dict[str, Any]] | None:
    """The few values that a choice may have, None where there are many."""
    if key.endswith("_from_deg"):
        winds = enumerate(texts.directions())
        return [{"value": 22.5 * at, "word": word} for at, word in winds]
    if key == "language":
        return _options(codes())
    if "enum" in node:
        return _options(node["enum"])
    return _options((True, False)) if node.get("type") == "boolean" else None


def _options(values: Iterable[Any]) -> list[dict[str, Any]]:
    return [{"value": each, "word": texts.value(each)} for each in values]


def _empty(kind: str, key: str) -> str:
    """What an open blank says."""
    if key.endswith("_from_deg"):
        return texts.word("direction", "open")
    asked = "choice" if kind == "text" else kind
    return texts.word(key if key in texts.OPEN else asked, "open")
