"""The command: parse, call, print. Results to stdout, progress and remarks to stderr."""

from __future__ import annotations

import dataclasses
import errno
import io
import os
import sys
import warnings
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

from fieldmap.cli.start import demo, start
from fieldmap.errors import (
    FieldmapError,
    PlanError,
    Problem,
    SiteError,
    problem,
    seen,
)
from fieldmap.model.fact import Fact

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pyproj import CRS

    from fieldmap.cache import Arrays
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.model.site import Site
    from fieldmap.output_folder import HandOver
    from fieldmap.plan import Plan


OUR_FAULT = problem(
    "this is a mistake in fieldmap and not in your files; docs/security.md says how to"
    " report it, with the lines above"
)
# What the system may refuse at any place, through no fault of the program.
_OF_SYSTEM = {
    *(errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EACCES, errno.EPERM),
    *(errno.EIO, errno.EMFILE, errno.ENFILE, errno.ENOMEM),
}


def _refused(problems: Iterable[Problem | str]) -> int:
    """Say what is wrong; the exit code of it."""
    for each in problems:
        said = seen(" ".join(_in_words(each).split("\n")))  # one line each
        typer.echo(f"fieldmap: {said}", err=True)
    return 1


def _refusal_of_system(error: OSError | MemoryError) -> Problem | None:
    """What to say where the system refuses; None where it is asked for nonsense."""
    if isinstance(error, MemoryError):
        return problem(
            "there is not enough memory; close other programs, or give an elevation of"
            " the ground around the plots alone"
        )
    if error.errno not in _OF_SYSTEM:
        return None
    why = os.strerror(error.errno or 0)
    if error.filename is None:
        return problem(
            "the system refused ({why}); free some space, or allow it", why=why
        )
    return problem(
        "{file} could not be read or written ({why}); free some space, or allow it",
        file=error.filename,
        why=why,
    )


class _Commands(TyperGroup):
    """Says what is wrong while the language of the site is still spoken."""

    def invoke(self, ctx: Any) -> Any:
        """Run one of the commands."""
        try:
            return super().invoke(ctx)
        except FieldmapError as error:
            raise typer.Exit(_refused(error.problems)) from error
        except (OSError, MemoryError) as error:
            refusal = _refusal_of_system(error)
            if refusal is None:
                error.add_note(f"fieldmap: {_in_words(OUR_FAULT)}")
                raise
            raise typer.Exit(_refused((refusal,))) from error
        except Exception as error:
            error.add_note(f"fieldmap: {_in_words(OUR_FAULT)}")
            raise


app = typer.Typer(
    cls=_Commands,
    help="From plot outlines, an elevation model and a weather record to a plan: which "
    "ground is warm, cold, sunny or shaded, where beds and tunnels go, and why.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    add_completion=False,
)

app.command()(start)  # in the order in which a newcomer needs them
app.command()(demo)

SiteFolder = Annotated[
    Path, typer.Argument(help="Folder with site.toml, outlines, elevation and weather.")
]
SiteFolders = Annotated[
    list[Path], typer.Argument(help="Site folders; with one, its plots.")
]


def main() -> None:
    """Run the command; a mistake of the user ends it with its sentences and code 1."""
    # rasterio hides its warning of grids in memory, which two threads at once undo.
    warnings.filterwarnings("ignore", "Dataset has no geotransform")
    if isinstance(sys.stdout, io.TextIOWrapper):  # a terminal may lack a letter
        sys.stdout.reconfigure(errors="replace")
    app()


@app.command()
def plan(
    command: typer.Context,
    site: SiteFolder,
    out: Annotated[
        Path | None,
        typer.Option(help="Folder for the plan.", show_default="SITE/plan"),
    ] = None,
    json: Annotated[
        bool, typer.Option("--json", help="Print plan.json instead of tables.")
    ] = False,
    today: Annotated[
        str,
        typer.Option(
            help="The day of planning, YYYY-MM-DD; the list by week runs from it.",
            show_default="the day of today",
        ),
    ] = "",
) -> None:
    """Make a plan: map, layers and tables in one folder."""
    from fieldmap import output_folder
    from fieldmap.cache import Store

    day = _day(today, "--today")
    folder = site / "plan" if out is None else out
    if not site.is_dir():
        _read(command, site)  # says so, before a place for the plan is made in it
    output_folder.check_place(folder)
    command.with_resource(output_folder.reserved(folder))
    _say("step_reading_site")

    def make() -> output_folder.HandOver:
        read = _read(command, site)
        return _handed_over(read, site, folder, day)

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
    """Read and check a site, and say what was found."""
    read = _read(command, site)
    # Bad input is told before anything slow is even loaded.
    from fieldmap.show.text.site.site_check import describe

    _echo(describe(read))


@app.command()
def keep(command: typer.Context, site: SiteFolder) -> None:
    """Keep the beds of the plan where they are, and history on its ground."""
    from fieldmap.show.files import kept_beds

    read = _read(command, site, "step_reading_site")
    files = read.settings.files
    kept_beds.check_names(files.beds, files.past_beds)
    from fieldmap.decide.layout import past_beds
    from fieldmap.read.history.lines import lines_of_history
    from fieldmap.show.text.sentence import say_all

    made = _make(read, site)
    beds = [ranked.bed for ranked in made.beds]
    history = past_beds.History(read.past_beds, read.own_beds, beds)
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
    """Learn from night minima of thermometers on the spot; the next plan uses it."""
    from fieldmap.read import thermometers

    read = _read(command, site, "step_reading_site")
    file = read.settings.files.thermometers
    # Bad input is told before anything slow is even loaded.
    readings = thermometers.read_thermometers(site, file)
    from fieldmap.decide.layout.past_beds import History
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
    history = History(read.past_beds, read.own_beds, beds)
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
        str, typer.Option(help="Forecast low at the station, in the site's units.")
    ],
    sky: Annotated[str, typer.Option(help="clear or cloudy.")] = "clear",
    wind: Annotated[str, typer.Option(help="calm or windy.")] = "calm",
    day: Annotated[
        str,
        typer.Option(
            "--date", help="The evening, YYYY-MM-DD.", show_default="the day of today"
        ),
    ] = "",
    dusk: Annotated[
        str,
        typer.Option(
            help="Temperature two hours after sunset: says when bare beds come to harm."
        ),
    ] = "",
    out: Annotated[
        Path | None, typer.Option(help="Also write the list as one page, FILE.html.")
    ] = None,
) -> None:
    """Say what to cover tonight of what stands there, with what, and what to leave."""
    from fieldmap.decide.tonight.forecast import dusk_c, forecast
    from fieldmap.show.files.tonight import check_place, write
    from fieldmap.show.text.decide.tonight import in_words, lines

    evening = _day(day, "--date")
    if out is not None:
        check_place(out)
    read = _read(command, site, "step_reading_site")
    units = read.settings.units
    night = forecast(low, sky, wind, units)
    at_dusk_c = dusk_c(dusk, night, units)
    made = _with_log(_make(read, site), site)
    advice = made.evenings.advise(evening, night, at_dusk_c)
    words = in_words(advice, read.settings.name, units, at_dusk_c)
    _echo(lines(words))
    if out is not None:
        write(words, out)
        _say("page_is", file=out)


@app.command()
def review(
    command: typer.Context,
    site: SiteFolder,
    out: Annotated[
        Path | None, typer.Option(help="Also write what was said and read, FILE.csv.")
    ] = None,
) -> None:
    """Set what happened beside what was said: plantings, losses, last days, lows."""
    from fieldmap.read import field_log
    from fieldmap.show.files.review import check_place, write

    if out is not None:
        check_place(out)
    read = _read(command, site, "step_reading_site")
    file = read.settings.files.happened
    from fieldmap.decide.layout.past_beds import History
    from fieldmap.review.field_log import review as reviewed
    from fieldmap.show.text.sentence import say_all

    made = _make(read, site)
    beds = [ranked.bed for ranked in made.beds]
    crops = [crop.name for crop in read.crops]
    history = History(read.past_beds, read.own_beds, beds)
    book = field_log.read_happened(site, file, history.names(file), crops)
    if book is None:
        _none_yet(file, field_log.EXAMPLE)
        return
    book, of_ground = history.happened(file, book)
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
        typer.Option("--changes", help="The place beside each [[what_if]] of its own."),
    ] = False,
    out: Annotated[
        Path | None, typer.Option(help="Also write a page, FILE.html, and FILE.csv.")
    ] = None,
) -> None:
    """Set sites, the plots of one, or changes around it, side by side."""
    from fieldmap.show.files.compare import check_place, write

    if out is not None:
        check_place(out)
    if len({site.resolve() for site in sites}) < len(sites):
        raise PlanError(problem("a site is named twice; name each once"))
    if changes and len(sites) > 1:
        raise PlanError(
            problem(
                "--changes compares one site with itself; {count} are named",
                count=len(sites),
            )
        )
    _say("step_reading_sites")
    read = [_read(command, site) for site in sites]
    # Bad input is told before anything slow is even loaded.
    from fieldmap.plan import plans_of_what_ifs
    from fieldmap.review import compare as comparison
    from fieldmap.show.map.still import pictures
    from fieldmap.show.text.review.compare import lines

    if changes:
        comparison.check_changes(sites[0], read[0].alternatives)
        plans = [_make(read[0], sites[0], what_ifs=True)]
        plans += plans_of_what_ifs(plans[0])
        found = comparison.compare_changes(plans)
    else:
        if len(read) == 1:
            comparison.check(sites[0], list(read[0].plots["name"]))
        plans = [_make(one, site) for one, site in zip(read, sites, strict=True)]
        found = comparison.compare(plans)
    units = read[0].settings.units
    _echo(lines(found, units))
    if out is not None:
        write(found, [next(pictures(made)).uri for made in plans], out, units)
        _say("page_and_numbers_are", file=out, numbers=out.with_suffix(".csv"))


def _read(command: typer.Context, folder: Path, step: str = "") -> Site:
    """The site; from before it is read until the command ends, its language is spoken."""
    if step:
        _say(step)
    from fieldmap.read import language_and_units, read_site
    from fieldmap.show.text.language import codes, of_site, spoken

    asked = of_site(*language_and_units(folder))
    command.find_root().with_resource(spoken(asked))
    return read_site(folder, codes())


def _day(text: str, option: str) -> date:
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
            "{option} is {text}; write a day of 2000 to 2100 as year, month, day, such as"
            " 2027-03-15",
            option=option,
            text=repr(text),
        )
        raise PlanError(wrong)
    return day


def _with_log(made: Plan, folder: Path) -> Plan:
    """A plan with what the field log says of its beds, where there is a log."""
    from fieldmap.decide.layout.past_beds import History
    from fieldmap.read import field_log

    read, beds = made.site, [ranked.bed for ranked in made.beds]
    file = read.settings.files.happened
    history = History(read.past_beds, read.own_beds, beds)
    crops = [crop.name for crop in read.crops]
    log = field_log.read_happened(folder, file, history.names(file), crops)
    if log is None:
        return made
    on_beds, _of_ground = history.happened(file, log)
    return dataclasses.replace(made, happened=on_beds)


def _make(
    read: Site, folder: Path, *, what_ifs: bool = False, today: date | None = None
) -> Plan:
    """A plan, seldom with the changes around it that the site asks about."""
    from fieldmap.cache import Store
    from fieldmap.plan import make_plan

    asked = read if what_ifs else dataclasses.replace(read, alternatives=())
    return make_plan(asked, Store(folder / ".fieldmap"), _progress, today)


def _handed_over(read: Site, site: Path, folder: Path, day: date) -> HandOver:
    """Make a plan and write its folder; what is said of it."""
    # Bad input is told before anything slow is even loaded.
    from concurrent.futures import ThreadPoolExecutor
    from importlib import import_module

    from fieldmap.cache import Store
    from fieldmap.output_folder import HandOver

    if not _is_compiled():
        _say("step_compiling")
    # What draws is loaded while the plan is made; what makes it, before, as two threads
    # are not to load the same.
    import_module("fieldmap.plan")
    with ThreadPoolExecutor(1) as beside:
        loading = beside.submit(import_module, "fieldmap.show.all")
        made = _make(read, site, what_ifs=True, today=day)
        try:
            made = _with_log(made, site)
        except SiteError as error:  # a plan does without; `review` wants it mended
            _say("log_left_out", file=read.settings.files.happened)
            _refused(error.problems)
        show = loading.result()
    _say_what_moved(folder, read.crs, made.beds)
    _say("step_drawing")
    with show.kept(Store(site / ".fieldmap")) as pieces:

        def draw_map() -> tuple[str, Arrays]:
            return show.map_html(made), pieces.used

        with show.apart(draw_map) as asked:

            def map_file() -> dict[str, str]:
                page, used = asked()
                pieces.add(used)
                return {"map.html": page}

            sheets = {f"sheets/{name}": page for name, page in show.pdfs(made).items()}
            show.files.write(made, folder, sheets, map_file)
    plots, units = list(read.plots["name"]), read.settings.units
    lines = show.terminal.lines(
        made.beds, made.tunnels, plots, read.spring_month, units
    )
    return HandOver(lines, (read.settings.language, units), read.input_hashes)


def _say_what_moved(folder: Path, crs: CRS, beds: Iterable[RankedBed]) -> None:
    """Name the beds that lie elsewhere than in the plan that is there."""
    from fieldmap.decide.layout.past_beds import moved
    from fieldmap.read.history.lines import beds_of_plan

    names = moved(beds_of_plan(folder, crs), [ranked.bed for ranked in beds])
    if names:
        _say("beds_moved", beds=names)


def _is_compiled() -> bool:
    """Whether numba has left compiled code beside the layers."""
    import layers

    return any(Path(layers.__path__[0], "__pycache__").glob("*.nbi"))


def _echo(lines: Iterable[str]) -> None:
    for line in lines:
        typer.echo(seen(line))


def _in_words(mistake: Problem | str) -> str:
    from fieldmap.show.text.language import problem_in_words

    return problem_in_words(mistake)


def _say(kind: str, **values: Any) -> None:
    _progress(Fact(kind, **values))


def _progress(step: Fact) -> None:
    from fieldmap.show.text.sentence import say

    typer.echo(f"fieldmap: {seen(say(step, 'metric'))}", err=True)


def _none_yet(file: str, example: str) -> None:
    from fieldmap.show.text.sentence import say

    typer.echo(say(Fact("no_file_yet", file=file, example=example), "metric"))
