"""The command: parse, call, print. Results to stdout, progress and remarks to stderr."""

from __future__ import annotations

import dataclasses
import gc
import io
import sys
import warnings
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fieldmap.cli.hand_over import handed_over
from fieldmap.cli.page import draw, open_page
from fieldmap.cli.refusals import Commands, refused_by_system
from fieldmap.cli.region import region
from fieldmap.cli.start import demo, start
from fieldmap.errors import PlanError, problem, seen
from fieldmap.model.fact import Fact

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fieldmap.model.site import Site
    from fieldmap.plan import Plan


app = typer.Typer(
    cls=Commands,
    help="Make a plan of your plots from their outlines, the heights of the ground and a "
    "weather record. The plan shows which ground is warm, cold, sunny or shaded, where "
    "beds and tunnels can go, and why.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    add_completion=False,
)

app.command()(start)  # in the order in which a newcomer needs them
app.command()(demo)
app.command("open")(open_page)
app.command()(draw)

SiteFolder = Annotated[
    Path, typer.Argument(help="Folder of the site: site.toml and the files beside it.")
]
SiteFolders = Annotated[
    list[Path], typer.Argument(help="Folders of sites, or one folder: then its plots.")
]


def main() -> None:
    """Run the command; a mistake of the user ends it with its sentences and code 1."""
    # rasterio hides its warning of grids in memory, which two threads at once undo.
    warnings.filterwarnings("ignore", "Dataset has no geotransform")
    # Most of what is loaded and made lives to the end: to look for garbage seldom saves
    # a tenth of the time.
    gc.set_threshold(100_000, 20, 50)
    if isinstance(sys.stdout, io.TextIOWrapper):  # a terminal may lack a letter
        sys.stdout.reconfigure(errors="replace")
    try:
        app()
    except OSError as error:  # of help that a full disk does not take
        raise SystemExit(refused_by_system(error)) from error
    finally:
        # The interpreter looks for garbage once more as it ends, in half a second.
        gc.freeze()


@app.command()
def plan(
    command: typer.Context,
    site: SiteFolder,
    out: Annotated[
        Path | None,
        typer.Option(help="Folder to write the plan in.", show_default="SITE/plan"),
    ] = None,
    json: Annotated[
        bool, typer.Option("--json", help="Print plan.json instead of the tables.")
    ] = False,
    today: Annotated[
        str,
        typer.Option(
            help="Day of planning, as YYYY-MM-DD. The list by week begins on it.",
            show_default="today",
        ),
    ] = "",
) -> None:
    """Make the plan: a folder with the map, the sheets and the tables."""
    from fieldmap import output_folder
    from fieldmap.cache import Store

    day = _day(today)
    folder = site / "plan" if out is None else out
    if not site.is_dir():
        _read(command, site)  # says so, before a place for the plan is made in it
    output_folder.check_place(folder)
    command.with_resource(output_folder.reserved(folder))
    _say("step_reading_site")

    def make() -> output_folder.HandOver:
        read = _read(command, site)
        return handed_over(read, site, folder, day, _progress)

    known, stays = output_folder.keep_or_make(
        folder, site, Store(site / ".fieldmap"), make, day.isoformat()
    )
    if stays:
        from fieldmap.show.text.language import of_site, spoken

        command.find_root().with_resource(spoken(of_site(*known.spoken)))
        _say("plan_unchanged")
    if json:
        typer.echo((folder / "plan.json").read_bytes(), nl=False)  # UTF-8 anywhere
        return
    _echo(known.lines)
    _say("plan_is_in", folder=folder, map=folder / "map.html")


@app.command()
def check(command: typer.Context, site: SiteFolder) -> None:
    """Check the files of a site, and list what is missing."""
    read = _read(command, site)
    # Bad input is refused before anything slow is even loaded.
    from fieldmap.read.wording import typed
    from fieldmap.show.text.site.site_check import describe

    _echo(describe(read, typed(site)))


@app.command()
def keep(command: typer.Context, site: SiteFolder) -> None:
    """Keep the beds where this plan puts them.

    The next plan does not move them. What you wrote of earlier beds keeps its ground.
    """
    from fieldmap.show.files import kept_beds

    read = _read(command, site, "step_reading_site")
    files = read.settings.files
    kept_beds.check_names(files.beds, files.past_beds)
    from fieldmap.decide.layout import past_beds
    from fieldmap.read.history.lines import lines_of_history
    from fieldmap.show.text.sentence import say_all

    made = _make(read, site)
    beds, history = [ranked.bed for ranked in made.beds], made.history
    past = past_beds.layout(beds)
    crops = [crop.name for crop in read.crops]
    for file, lines in lines_of_history(
        site, files, read.last_year, crops, history.names
    ):
        found, unknown = past_beds.written_down(history, file, lines)
        past += found
        if unknown:
            _say("kept_unknown", file=file, beds=unknown)
    drawn = [bed.name for bed in read.own_beds]
    kept_beds.write_past(past, read.crs, site / files.past_beds)
    kept_beds.write_beds(beds, drawn, read.crs, site / files.beds)
    facts = (
        Fact("beds_kept", number=len(beds), file=files.beds),
        Fact("history_kept", file=files.past_beds),
    )
    _echo(say_all(facts, read.settings.units))


@app.command()
def observe(command: typer.Context, site: SiteFolder) -> None:
    """Correct the next plan by what your thermometers read."""
    from fieldmap.read import thermometers

    read = _read(command, site, "step_reading_site")
    file = read.settings.files.thermometers
    # Bad input is refused before anything slow is even loaded.
    readings = thermometers.read_thermometers(site, file)
    from fieldmap.read.door import input_hashes
    from fieldmap.review import next_thermometers
    from fieldmap.review.thermometers import learn, still_nights, unit_slip_c
    from fieldmap.show.files.observed import write_observed
    from fieldmap.show.text.review import thermometers as words

    # As nothing was learnt yet, or an old lesson would colour the new one.
    made = _make(dataclasses.replace(read, observed=None), site)
    cold_air, units = made.analysis.cold_air, read.settings.units
    beds = [ranked.bed for ranked in made.beds]
    from_station = read.station_cell is not None
    if readings is None:
        _none_yet(file, thermometers.EXAMPLE)
        first = next_thermometers.places(cold_air.offset_c, read.plots, beds)
        _echo(words.places(first, "first", units, from_station=from_station))
        return
    history = made.history
    ground = {name: history.ground(file, name, day) for name, day in readings.on_beds}
    hung = thermometers.hang(
        readings,
        {name: outline for name, outline in ground.items() if outline is not None},
        history.names(file),
        read.crs,
        *(read.longitude, read.latitude),
    )
    nights = still_nights(hung, read.weather.days)
    slip_c = unit_slip_c(nights)
    if slip_c is not None:
        raise words.unit_slip(file, slip_c, units)
    lesson = learn(hung, nights, cold_air, from_station=from_station)
    hashes = input_hashes(site, (file,))
    write_observed(lesson.observed(hashes[file]), site, file)
    _echo(words.lines(file, lesson, units))
    after = next_thermometers.places(cold_air.offset_c, read.plots, beds, hung.at_m)
    _echo(words.places(after, "next", units, from_station=from_station))


@app.command()
def tonight(
    command: typer.Context,
    site: SiteFolder,
    low: Annotated[
        str,
        typer.Option(
            help="Lowest temperature in the forecast, in the units of the site."
        ),
    ],
    sky: Annotated[
        str, typer.Option(help="Sky in the forecast: clear or cloudy.")
    ] = "clear",
    wind: Annotated[
        str, typer.Option(help="Wind in the forecast: calm or windy.")
    ] = "calm",
    day: Annotated[
        str,
        typer.Option(
            "--date", help="Day of the evening, as YYYY-MM-DD.", show_default="today"
        ),
    ] = "",
    dusk: Annotated[
        str,
        typer.Option(
            help="Temperature two hours after sunset. With it, the list says from which "
            "hour frost harms uncovered beds."
        ),
    ] = "",
    out: Annotated[
        Path | None, typer.Option(help="FILE.html: also write the list as a page.")
    ] = None,
) -> None:
    """List which beds to cover tonight, and with what."""
    from fieldmap.decide.tonight.forecast import dusk_c, forecast
    from fieldmap.read.field_log import read_on_beds
    from fieldmap.show.files.tonight import check_place, write
    from fieldmap.show.text.decide.tonight import in_words, lines

    evening = _day(day, "--date")
    if out is not None:
        check_place(out)
    read = _read(command, site, "step_reading_site")
    units = read.settings.units
    night = forecast(low, sky, wind, units)
    at_dusk_c = dusk_c(dusk, night, units)
    made = _make(read, site)
    log = read_on_beds(site, read.settings.files.happened, made.history, read.crops)
    made = made if log is None else dataclasses.replace(made, happened=log[0])
    advice = made.evenings.advise(evening, night, at_dusk_c)
    words = in_words(advice, read.settings.name, units)
    _echo(lines(words))
    if out is not None:
        write(words, out)
        _say("page_is", file=out)


@app.command()
def review(
    command: typer.Context,
    site: SiteFolder,
    out: Annotated[
        Path | None, typer.Option(help="FILE.csv: also write the list as a table.")
    ] = None,
) -> None:
    """Compare the plan with what really happened.

    It compares days of planting, losses, last days and lows.
    """
    from fieldmap.show.files.review import check_place, write

    if out is not None:
        check_place(out)
    read = _read(command, site, "step_reading_site")
    file = read.settings.files.happened
    from fieldmap.read.field_log import EXAMPLE, read_on_beds
    from fieldmap.review.field_log import review as reviewed
    from fieldmap.show.text.sentence import say_all

    made = _make(read, site)
    log = read_on_beds(site, file, made.history, read.crops)
    if log is None:
        _none_yet(file, EXAMPLE)
        return
    book, of_ground = log
    found = reviewed(made, book)
    _echo(say_all((*of_ground, *found.facts), read.settings.units))
    if out is not None:
        write(found, out)
        _say("review_is_in", file=out)


@app.command()
def compare(
    command: typer.Context,
    sites: SiteFolders,
    changes: Annotated[
        bool,
        typer.Option(
            "--changes",
            help="Compare the site as it is with each change in its [[what_if]] blocks.",
        ),
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option(help="FILE.html: also write a page, and its numbers as FILE.csv."),
    ] = None,
) -> None:
    """Compare sites, the plots of one site, or changes around it."""
    from fieldmap.show.files.compare import check_place, pictures, write

    if out is not None:
        check_place(out)
    if len({site.resolve() for site in sites}) < len(sites):
        raise PlanError(problem("you named a site twice; name each site once"))
    if changes and len(sites) > 1:
        raise PlanError(
            problem(
                "--changes compares one site with its own changes, but you named {count}"
                " sites; name one",
                count=len(sites),
            )
        )
    _say("step_reading_sites")
    read = [_read(command, site) for site in sites]
    # Bad input is refused before anything slow is even loaded.
    from fieldmap.cache import Store
    from fieldmap.plan import plans_of_what_ifs
    from fieldmap.review import compare as comparison
    from fieldmap.show.map import still
    from fieldmap.show.text.review.compare import lines

    if changes:
        comparison.check_changes(sites[0], read[0].alternatives)
        plans = [_make(read[0], sites[0], what_ifs=True)]
        store = Store(sites[0] / ".fieldmap")
        plans += plans_of_what_ifs(plans[0], store, _progress)
        found = comparison.compare_changes(plans)
    else:
        if len(read) == 1:
            comparison.check(sites[0], list(read[0].plots["name"]))
        plans = [_make(one, site) for one, site in zip(read, sites, strict=True)]
        found = comparison.compare(plans)
    units = read[0].settings.units
    _echo(lines(found, units))
    if out is not None:
        grounds = [
            pictures.ground(
                made.site.settings.name, still.scenery(made), made.beds, made.dates
            )
            for made in plans
        ]
        write(found, grounds, out, units)
        _say("page_and_numbers_are", file=out, numbers=out.with_suffix(".csv"))


app.command()(region)


def _read(command: typer.Context, folder: Path, step: str = "") -> Site:
    """The site; from before it is read until the command ends, its language is spoken."""
    if step:
        _say(step)
    from fieldmap.read import language_and_units, read_site
    from fieldmap.show.text.language import codes, of_site, spoken

    asked = of_site(*language_and_units(folder))
    command.find_root().with_resource(spoken(asked))
    return read_site(folder, codes())


def _day(text: str, option: str = "--today") -> date:
    """The day of an option; the clock is asked here alone.

    Raises
    ------
    PlanError
        When it is no day.
    """
    if not text:
        return datetime.now().astimezone().date()
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = date.min
    if not 2000 <= day.year <= 2100:
        wrong = problem(
            "{option} is {text}; write a day from 2000 to 2100 as year, month, day,"
            " such as 2027-03-15",
            option=option,
            text=repr(text),
        )
        raise PlanError(wrong)
    return day


def _make(read: Site, folder: Path, *, what_ifs: bool = False) -> Plan:
    """A plan, seldom with the changes around it that the site asks about."""
    from fieldmap.cache import Store
    from fieldmap.plan import make_plan

    asked = read if what_ifs else dataclasses.replace(read, alternatives=())
    return make_plan(asked, Store(folder / ".fieldmap"), _progress)


def _echo(lines: Iterable[str]) -> None:
    for line in lines:
        typer.echo(seen(line))


def _say(kind: str, **values: Any) -> None:
    _progress(Fact(kind, **values))


def _progress(step: Fact) -> None:
    from fieldmap.show.text.sentence import say

    typer.echo(f"fieldmap: {seen(say(step, 'metric'))}", err=True)


def _none_yet(file: str, example: str) -> None:
    from fieldmap.show.text.sentence import say

    typer.echo(say(Fact("no_file_yet", file=file, example=example), "metric"))
