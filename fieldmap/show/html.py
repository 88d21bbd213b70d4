"""HTML pages: one shell for all, and templates that are files beside their modules."""

from functools import cache
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup

from fieldmap.show.text import language

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
    """
    return filled(template, policy=policy, language=language.current(), **places)


def filled(template: str, **places: Any) -> str:
    """A template with its places filled in, escaped as in `page`."""
    return _environment().get_template(template).render(**places)


def text_of(name: str) -> str:
    """The text of a file, by its path relative to this package."""
    return (resources.files("fieldmap.show") / name).read_text("utf-8")


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        autoescape=True,
        loader=jinja2.FunctionLoader(text_of),
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
        keep_trailing_newline=True,
    )
    environment.globals["text_of"] = lambda name: Markup(text_of(name))
    return environment
