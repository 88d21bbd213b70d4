"""A plan made and written: what can be drawn beside other work is begun early."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldmap.cli.refusals import refused
from fieldmap.errors import SiteError
from fieldmap.model.fact import Fact, Progress

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from pyproj import CRS

    from fieldmap.cache import Arrays
    from fieldmap.decide.layout.past_beds import History
    from fieldmap.decide.ranking import RankedBed
    from fieldmap.model.crops import Crop
    from fieldmap.model.field_log import Happened
    from fieldmap.model.site import Site
    from fieldmap.output_folder import HandOver


def handed_over(
    read: Site, site: Path, folder: Path, day: date, progress: Progress
) -> HandOver:
    """Make a plan and write its folder; what is said of it.

    Parameters
    ----------
    read
        The site as it was read.
    site, folder
        Where it lies, and where the plan is to lie.
    day
        Of planning.
    progress
        Is called with each step as it begins.
    """
    # Bad input is refused before anything slow is even loaded.
    from concurrent.futures import ThreadPoolExecutor
    from importlib import import_module

    from fieldmap.cache import Store
    from fieldmap.output_folder import HandOver

    if not _is_compiled():
        progress(Fact("step_compiling"))
    # What draws is loaded while the plan is made; what makes it, before, as two threads
    # are not to load the same. No thread is at work any more when a copy is made.
    from fieldmap.plan import plan_as_it_is, with_what_ifs

    store = Store(site / ".fieldmap")
    with ThreadPoolExecutor(1) as beside:
        loading = beside.submit(import_module, "fieldmap.show.all")
        as_it_is = plan_as_it_is(read, store, progress, day)
        show = loading.result()
    log = site, read.settings.files.happened
    happened = _happened(*log, as_it_is.history, read.crops, progress)
    as_it_is = dataclasses.replace(as_it_is, happened=happened)

    with show.kept(store) as pieces:

        def draw_lists() -> tuple[Mapping[str, Any], Arrays]:
            return show.tonight(as_it_is), pieces.used

        # They hang on no what-if.
        with show.apart(draw_lists) as asked_lists:
            made = with_what_ifs(as_it_is, store, progress)
            _say_what_moved(folder, read.crs, made.beds, progress)

            def draw_map() -> tuple[str, Arrays]:
                # Made in one copy, and asked for in the other.
                def evenings() -> Mapping[str, Any]:
                    lists: Mapping[str, Any]
                    lists, used = asked_lists()
                    pieces.add(used)
                    return lists

                return show.map_html(made, evenings), pieces.used

            with show.apart(draw_map) as asked:

                def map_file() -> dict[str, str]:
                    page, used = asked()
                    pieces.add(used)
                    return {"map.html": page}

                pages = show.pdfs(made).items()
                sheets = {f"sheets/{name}": page for name, page in pages}
                show.files.write(made, folder, sheets, map_file)
    plots, units = list(read.plots["name"]), read.settings.units
    return HandOver(
        show.terminal.lines(made.beds, made.tunnels, plots, read.spring_month, units),
        (read.settings.language, units),
        read.input_hashes,
    )


def _happened(
    site: Path, file: str, history: History, crops: Iterable[Crop], progress: Progress
) -> tuple[Happened, ...]:
    """The field log on the beds of a plan, which does without one that is wrong."""
    from fieldmap.read.field_log import read_on_beds

    try:
        log = read_on_beds(site, file, history, crops)
    except SiteError as error:  # `review` wants it mended
        progress(Fact("log_left_out", file=file))
        refused(error.problems)
        return ()
    return log[0] if log else ()


def _say_what_moved(
    folder: Path, crs: CRS, beds: Iterable[RankedBed], progress: Progress
) -> None:
    """Name the beds that lie elsewhere than in the plan that is there, before drawing."""
    from fieldmap.decide.layout.past_beds import moved
    from fieldmap.read.history.lines import beds_of_plan

    names = moved(beds_of_plan(folder, crs), [ranked.bed for ranked in beds])
    if names:
        progress(Fact("beds_moved", beds=names))
    progress(Fact("step_drawing"))


def _is_compiled() -> bool:
    """Whether numba has left compiled code beside the layers."""
    import layers

    return any(Path(layers.__path__[0], "__pycache__").glob("*.nbi"))
