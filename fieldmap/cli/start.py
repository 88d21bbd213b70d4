"""The commands that make a site folder: `start` and `demo`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from fieldmap.errors import seen
from fieldmap.model.fact import Fact

Given = Annotated[
    list[Path] | None,
    typer.Argument(
        help="Files that you have: a walk or a drawing, heights, a weather record."
    ),
]
At = Annotated[
    str | None,
    typer.Option(help="LATITUDE,LONGITUDE of the place, if you have no outline yet."),
]
GpsError = Annotated[
    float,
    typer.Option(
        min=0.5, max=30.0, help="How far off the phone's positions may be, in metres."
    ),
]


def start(
    command: typer.Context,
    site: Annotated[
        Path, typer.Argument(help="Folder of the site: a new one, or one to add to.")
    ],
    files: Given = None,
    at: At = None,
    elevation: Annotated[
        str | None,
        typer.Option(help="File with the heights of the ground, or its address."),
    ] = None,
    fetch: Annotated[
        bool,
        typer.Option("--fetch", help="Get what is missing from the internet."),
    ] = False,
    crs: Annotated[
        str | None,
        typer.Option(
            help="Coordinate system of files that name none, such as EPSG:25830."
        ),
    ] = None,
    gps_error: GpsError = 3.0,
    height_unit: Annotated[
        str | None,
        typer.Option(help="Unit of the heights, m or ft, if the file does not say it."),
    ] = None,
    name: Annotated[str | None, typer.Option(help="Name of the place.")] = None,
    language: Annotated[
        str, typer.Option(help="Language: en for English, or es for Spanish.")
    ] = "en",
) -> None:
    """Make the folder of a site from a walk, a drawing or corners."""
    from fieldmap.read.start import options, run
    from fieldmap.show.text.language import codes, of_site, spoken
    from fieldmap.show.text.sentence import say, say_all
    from fieldmap.show.text.site.start import comments

    command.find_root().with_resource(spoken(of_site(language, "metric")))
    words = options.Words(
        at, elevation, fetch, crs, gps_error, height_unit, name, language
    )
    people = options.People(
        ask=_ask,
        tell=asking,
        say=lambda fact: say(fact, "metric"),
        comments=comments(),
        languages=codes(),
    )
    found = run.start(options.given(site, files or (), words, people))
    for line in say_all(found, "metric"):
        typer.echo(seen(line))


def demo(
    site: Annotated[Path, typer.Argument(help="Folder to write the farm in.")],
) -> None:
    """Make a copy of the invented farm, so that you can try things."""
    from fieldmap.read.start import demo_site

    demo_site.write(site)
    from fieldmap.read.wording import typed
    from fieldmap.show.text.sentence import say

    typer.echo(seen(say(Fact("demo_is", folder=typed(site)), "metric")))


def _ask(question: Fact) -> str | None:
    """What the user answers; None where nobody is at a terminal."""
    if not sys.stdin.isatty():
        return None
    from fieldmap.show.text.sentence import say

    asked = say(question, "metric")
    answer: str = typer.prompt(seen(asked), default="", show_default=False, err=True)
    return answer.strip() or None


def asking(host: str) -> None:
    """Say that a server is about to be asked."""
    from fieldmap.show.text.sentence import say

    said = say(Fact("start_asking", host=host), "metric")
    typer.echo(f"fieldmap: {seen(said)}", err=True)
