"""Tables inside hand-written pages: covers, and open elevations by country."""

import re
import tomllib
from pathlib import Path

from babel import Locale

from fieldmap.show.text.names import glossary as words
from layers.cover import COVERS, Range

SOURCES = Path(__file__).parents[2] / "fieldmap" / "sources.toml"
NAMES = Locale("en").territories


def _range(value: Range) -> str:
    if value.low == value.high:
        return f"{value.central:g}"
    return f"{value.central:g} ({value.low:g} to {value.high:g})"


def covers() -> str:
    """What each cover is worth on a still night, and the light that it passes."""
    rows = [
        f"| `{kind}` | {it.name} | {_range(it.gain_c)} | {_range(it.light_share)} "
        f"| {it.measured_height or 'none'} | {it.source} ({it.tag}) |"
        for kind, it in COVERS.items()
        if kind != "none"
    ]
    head = (
        "| kind | cover | gain, °C | light, 0 to 1 | height of measurement | source |"
    )
    return "\n".join([head, "|---|---|---|---|---|---|", *rows])


def elevation() -> str:
    """Open elevations that `fieldmap start` knows, by country."""
    found = tomllib.loads(SOURCES.read_text("utf-8"))["elevation"]
    rows = []
    for each in found:
        where = (
            ", ".join(NAMES[code] for code in each["countries"]) or "everywhere else"
        )
        how = (
            f"download from <{each['address']}>"
            if each["kind"] == "hand"
            else "with `--fetch`"
        )
        rows.append(
            f"| {where} | {each['name']} | {each['every_m']:g} m | {how} "
            f"| {each['licence']} | {each['cannot']} |"
        )
    head = "| country | heights | every | how | licence | note |"
    return "\n".join([head, "|---|---|---|---|---|---|", *rows])


def glossary() -> str:
    """The words of map, sheets and docs, by the alphabet."""
    lines = "\n".join(f"| {word} | {what} |" for word, what in sorted(words()))
    return (
        "# Glossary\n\nThe words on the map, on the sheets and in these pages. The "
        f"same word always means the same thing.\n\n| word | meaning |\n|---|---|\n{lines}\n"
    )


def filled(page: str, name: str, table: str) -> str:
    """A page with a table between the two marks of its name."""
    marks = f"<!-- {name}: begin -->", f"<!-- {name}: end -->"
    found = re.compile(f"(?s){marks[0]}.*{marks[1]}")
    if len(found.findall(page)) != 1:
        raise ValueError(f"the page needs {marks[0]} and {marks[1]} once")
    return found.sub(lambda _: f"{marks[0]}\n{table}\n{marks[1]}", page)
