"""English texts by key: the TOML file beside each module that has some.

A text is a string with `{places}`, or a table with `text`, or with `one` and `many` (and
`none`) where things are counted; the other keys of such a table say how places are written.
`language` translates it where it is used.
"""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import IO, Any


@cache
def _of_module(module: str) -> Mapping[str, Any]:
    package, name = module.rsplit(".", maxsplit=1)
    file = resources.files(package).joinpath(f"{name}.toml")
    return tomllib.loads(file.read_text(encoding="utf-8"))


def texts(module: str, table: str) -> dict[str, Any]:
    """One table of the texts of a module, by key.

    Parameters
    ----------
    module
        Its `__name__`; the texts stand in the file of that name beside it, or alone.

    Examples
    --------
    >>> texts("fieldmap.show.text.names", "vocabulary")["soils"]
    ['sand', 'loam', 'clay']
    """
    return dict(_of_module(module)[table])


def tables(table: str) -> list[Mapping[str, Any]]:
    """All tables of this name, from every file of `show.text`."""
    return [found[table] for found in _files() if table in found]


@cache
def _files() -> tuple[Mapping[str, Any], ...]:
    folder = Path(str(resources.files("fieldmap.show.text")))
    return tuple(
        tomllib.loads(path.read_text(encoding="utf-8"))
        for path in sorted(folder.rglob("*.toml"))
    )


def extract(
    file: IO[bytes], *_given: object, **_options: object
) -> Iterator[tuple[int, str, str | tuple[str, str], list[str]]]:
    """Every text of a file, for the tool that gathers them for translation.

    Parameters
    ----------
    file
        A TOML file of texts, opened as bytes.
    *_given
        What the tool passes to every extractor by place. Not used.
    **_options
        What the tool passes to every extractor by name. Not used.

    Yields
    ------
    text
        Line number (always 0), the function that marks such a text, the text (or its
        singular and plural), and comments (none).
    """
    for text in _every(tomllib.load(file)):
        kind = "later" if isinstance(text, str) else "plural"
        yield 0, kind, text, []


def _every(value: Any) -> Iterator[str | tuple[str, str]]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for each in value:
            yield from _every(each)
    elif "one" in value:
        yield value["one"], value["many"]
        if "none" in value:
            yield value["none"]
    elif "text" in value:
        yield value["text"]
    else:
        for each in value.values():
            yield from _every(each)
