"""HTML pages: one shell for all, and templates that are files beside their modules."""

import json
from collections.abc import Callable, Mapping
from functools import cache
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup

from fieldmap.show.text import language
from fieldmap.show.text.language import unbroken

# For pages without scripts: they may hold styles and pictures, and fetch nothing.
STILL_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


def page(template: str, policy: str = STILL_POLICY, **places: Any) -> str:
    """A page from its template, in the language that is read.

    Everything is escaped but what is marked as safe.

    Parameters
    ----------
    template
        Path of its file, relative to this package.
    policy
        Content security policy of the page.
    **places
        What fills the places of the template, by name. Each place needs one.
    """
    return filled(template, policy=policy, language=language.current(), **places)


def filled(template: str, **places: Any) -> str:
    """A template with its places filled in, escaped as in `page`."""
    return environment(text_of).get_template(template).render(**places)


def text_of(name: str) -> str:
    """The text of a file, by its path relative to this package."""
    return (resources.files("fieldmap.show") / name).read_text("utf-8")


def safe_json(data: Mapping[str, Any]) -> Markup:
    r"""JSON that can neither end nor open a script, whatever names it holds.

    Examples
    --------
    >>> print(safe_json({"name": "</script>"}))
    {"name":"\u003c/script\u003e"}
    """
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for letter in "<>&\u2028\u2029":
        text = text.replace(letter, f"\\u{ord(letter):04x}")
    return Markup(text)


def _finished(value: Any) -> Any:
    """What a place of a template is filled with; what is marked as safe stays as it is."""
    plain = isinstance(value, str) and not isinstance(value, Markup)
    return unbroken(value) if plain else value


@cache
def environment(read: Callable[[str], str]) -> jinja2.Environment:
    """Templates that a function gives by name; everything is escaped but what is safe."""
    made = jinja2.Environment(
        autoescape=True,
        loader=jinja2.FunctionLoader(read),
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
        finalize=_finished,
    )
    made.globals["text_of"] = lambda name: Markup(read(name))
    return made
