"""The command of many parcels: `region`."""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Annotated

import typer
from typer.core import TyperGroup

from fieldmap.cli.start import asking
from fieldmap.errors import PlanError, problem, seen
from fieldmap.model.fact import Fact

NEEDED = ("dask", "distributed", "pystac")


def region(
    command: typer.Context,
    folder: Annotated[
        Path, typer.Argument(help="Folder with region.toml, parcels and heights.")
    ],
    workers: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=512,
            help="Number of processes on this computer.",
            show_default="one for each core",
        ),
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option(help="Address of a Dask scheduler that you started.")
    ] = None,
    fetch: Annotated[
        bool,
        typer.Option("--fetch", help="Get heights from the addresses in region.toml."),
    ] = False,
    plan: Annotated[
        str, typer.Option(help="PARCEL, an id or a name: also make its plan.")
    ] = "",
) -> None:
    """Map many parcels, and write a page to choose one from."""
    if lacks := [name for name in NEEDED if find_spec(name) is None]:
        raise PlanError(
            problem(
                "a region needs {lacks}, which is not installed; type pip install"
                " 'fieldmap[region]'.",
                lacks=lacks[0],
            )
        )
    from fieldmap.read.region import read_region, read_settings
    from fieldmap.show.text.language import of_site, spoken

    settings = read_settings(folder)
    asked = of_site(settings.language, settings.units)
    command.find_root().with_resource(spoken(asked))
    _say(Fact("region_reading"))
    web = None
    if fetch:
        from fieldmap.read.start.given import cache_folder
        from fieldmap.read.start.net.web import Web

        web = Web(cache_folder(), tell=asking)
    found, heights = read_region(folder, web)
    from fieldmap.region import catalogue, cluster, run
    from fieldmap.region.parcels import as_site, describe, files

    # A name that no parcel has is said before the work.
    parcel = as_site.find(found.parcels, plan) if plan else None

    with cluster.workers(workers, scheduler, _say) as do:
        place = run.make_layers(found, heights, do)
    catalogue.write(place, settings.name)
    _say(Fact("region_parcels", number=len(found.parcels)))
    described = describe.describe(found, place)
    page = files.write(described, found, place)
    _echo(Fact("region_is", folder=place.out))
    _echo(Fact("parcels_are", table=files.TABLE, page=page))
    if parcel is not None:
        offset_c = described.chosen.facts.offset_c[:, parcel.at]
        _plan(command, *as_site.made(found, place, parcel, offset_c))


def _plan(command: typer.Context, site: Path, said: Fact) -> None:
    """The plan of a parcel's site, as the command of plans makes it."""
    _say(said)
    root = command.find_root()
    commands = root.command
    assert isinstance(commands, TyperGroup)
    plan = commands.get_command(root, "plan")
    assert plan is not None
    with plan.make_context("plan", ["--", str(site)], parent=command) as context:
        plan.invoke(context)


def _echo(result: Fact) -> None:
    from fieldmap.show.text.sentence import say

    typer.echo(seen(say(result, "metric")))


def _say(fact: Fact) -> None:
    """To stderr; at a terminal the next line is written over how far it is."""
    from fieldmap.show.text.sentence import say

    text = f"fieldmap: {seen(say(fact, 'metric'))}"
    if sys.stderr.isatty():
        is_kept = fact.kind not in ("region_done", "region_soon_done")
        typer.echo(f"\r\x1b[K{text}", err=True, nl=is_kept)
    else:
        typer.echo(text, err=True)
