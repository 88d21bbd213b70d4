"""The commands of the page: `open` and `draw`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from fieldmap.errors import seen
from fieldmap.model.fact import Fact


def open_page(
    command: typer.Context,
    site: Annotated[Path, typer.Argument(help="Folder of the site.")],
    browser: Annotated[
        bool,
        typer.Option("--browser/--no-browser", help="Open the page in your browser."),
    ] = True,
) -> None:
    """Draw the place, answer questions and plan, on a page in your browser."""
    _speak(command, site)
    from fieldmap.serve import run

    def tell(address: str) -> None:
        _say("page_open", address=address)

    run.serve(site, tell, opens_browser=browser)


def draw(
    command: typer.Context,
    site: Annotated[Path, typer.Argument(help="Folder of the site.")],
    out: Annotated[
        Path | None,
        typer.Option(
            help="FILE.html: where to write the page.", show_default="SITE/draw.html"
        ),
    ] = None,
) -> None:
    """Write a page for drawing on a phone that has no network."""
    _speak(command, site)
    from fieldmap.serve import offline

    file = site / "draw.html" if out is None else out
    offline.write(site, file)
    _say("draw_is", file=file)


def _speak(command: typer.Context, site: Path) -> None:
    from fieldmap.read import door, language_and_units
    from fieldmap.show.text.language import of_site, spoken

    door.check_folder(site)
    asked = of_site(*language_and_units(site))
    command.find_root().with_resource(spoken(asked))


def _say(kind: str, **values: object) -> None:
    from fieldmap.show.text.sentence import say

    typer.echo(seen(say(Fact(kind, **values), "metric")))
