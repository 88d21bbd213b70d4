"""Changes tried on the page: the night run again, beside the night as it is.

The place is read and its beds laid once, with what is drawn and not saved yet, and stays in
memory. Of each change first the likeliest answer is given, from the central run alone; its
range follows when it is asked for. Both are those of a plan that names the change in
`site.toml`.
"""

import contextlib
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from threading import Lock, Thread
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import shapely

from fieldmap.analyse.cold_air import flow_lines
from fieldmap.analyse.cold_air.flow import CentralRun, Night, central_run
from fieldmap.cache import Store
from fieldmap.decide import what_if
from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.what_if import BedEffect
from fieldmap.errors import FieldmapError, Problem, problem
from fieldmap.model.coordinates import WGS84, transformer
from fieldmap.model.fact import Fact
from fieldmap.model.raster import Raster
from fieldmap.model.settings import WhatIf
from fieldmap.model.site import Alternative
from fieldmap.model.surroundings import STANDING
from fieldmap.plan import make_present
from fieldmap.read import read_site
from fieldmap.read.outlines.what_if import imagine
from fieldmap.serve.asked import Called
from fieldmap.serve.files import as_drafted
from fieldmap.serve.ground import Frame, frame_around, middle_at
from fieldmap.show.text.decide import tried
from fieldmap.show.text.language import (
    Language,
    codes,
    current,
    problem_in_words,
    spoken,
)
from fieldmap.show.text.sentence import say

STEP_C = 0.01  # of the picture
STEP_M2_S = 0.01  # of the flux of cold air
SAME_PLACE_M = 1.0  # of a shape on the page and of the same one as it was read
BROKEN = problem(
    "Something went wrong in fieldmap itself. Nothing is lost: your draft is kept. The"
    " window in which fieldmap open runs shows where."
)


class Ready(NamedTuple):
    """A place as it is, in memory.

    Attributes
    ----------
    frame
        Of the pictures.
    """

    present: what_if.Present
    dates: Dates
    frame: Frame
    store: Store

    def alternative(self, change: WhatIf, called: Sequence[Called] = ()) -> Alternative:
        """The surroundings after a change, as `site.toml` would have it.

        Parameters
        ----------
        called
            What has no name, with that which it would have been given by then.
        """
        site = self.present.site
        there = _named(site.surroundings, called)
        (found,) = imagine((change,), there, site.settings.units)
        return found


class NotReady(Exception):
    """The place is being made ready, as its files or the draft have changed: how far it is."""

    def __init__(self, state: Mapping[str, Any]) -> None:
        super().__init__()
        self.state = state


class Trying:
    """The place that changes are tried on, made ready when first asked for.

    Parameters
    ----------
    drafted
        Gives what a save of the draft would write: changes are tried on what is drawn,
        saved or not.
    """

    def __init__(
        self, folder: Path, drafted: Callable[[], Mapping[str, bytes]]
    ) -> None:
        self.folder = folder
        self.drafted = drafted
        self._lock = Lock()
        self._running = Lock()
        self._ready: Ready | None = None
        self._thread: Thread | None = None
        self._step: Fact | None = None
        self._problems: Sequence[Problem | str] = ()
        self._hashes: Mapping[str, str] = {}  # of the files, when they were read

    def begin(self) -> None:
        """Make the place ready, unless it is as the files and the draft are."""
        with self._lock:
            if self._thread is not None and self._thread.is_alive():
                return
            if self._ready is not None and self._is_as_drawn():
                return
            self._ready, self._problems, self._step = None, (), None
            self._thread = Thread(target=self._prepare, args=(current(),), daemon=True)
            self._thread.start()

    def _is_as_drawn(self) -> bool:
        try:
            return as_drafted.hashes(self.folder, self.drafted()) == self._hashes
        except FieldmapError:  # a draft that cannot be saved
            return False

    @contextlib.contextmanager
    def as_it_is(self) -> Iterator[None]:
        """While files are written that say nothing new of the place: it stays ready."""
        is_ready = self._ready is not None and self._is_as_drawn()
        yield
        if is_ready:
            self._hashes = as_drafted.hashes(self.folder, self.drafted())

    def _prepare(self, language: Language) -> None:
        with spoken(language):
            try:
                new = self.drafted()
                self._hashes = as_drafted.hashes(self.folder, new)
                self._ready = prepared(self.folder, new, self._tell)
            except FieldmapError as error:
                self._problems = error.problems
            except BaseException:
                self._problems = (BROKEN,)
                raise

    def _tell(self, step: Fact) -> None:
        self._step = step

    def state(self) -> dict[str, Any]:
        """How far it is; once ready, the beds, what may be changed, and the night as it is."""
        running = self._thread is not None and self._thread.is_alive()
        ready = self._ready
        if running or ready is None:
            step = "" if self._step is None else say(self._step, "metric")
            words = list(map(problem_in_words, self._problems))
            return {"ready": False, "running": running, "step": step, "problems": words}
        site, analysis, *_rest = ready.present
        cold_air = analysis.cold_air
        return {
            "ready": True,
            "running": False,
            "unsaved": as_drafted.hashes(self.folder, {}) != self._hashes,
            "problems": [] if cold_air.night else [tried.not_run()],
            "beds": _outlines(ready),
            "things": _changeable(site.surroundings),
            "before": picture(ready, cold_air.offset_c.values[1]),
            "air": air(ready, cold_air.night),
        }

    def _checked(self) -> Ready:
        ready = self._ready
        if ready is None or not self._is_as_drawn():
            self.begin()
            raise NotReady(self.state())
        return ready

    def first(self, change: WhatIf, called: Sequence[Called] = ()) -> dict[str, Any]:
        """The likeliest answer to a change, with its picture.

        Parameters
        ----------
        called
            What has no name, by the name that the change speaks of it.

        Raises
        ------
        NotReady
            When the place is not ready, or no longer as it is drawn.
        FieldmapError
            When the change is none that can be made.
        """
        ready, began = self._checked(), time.monotonic()
        alternative = ready.alternative(change, called)
        site, beds = ready.present.site, ready.present.beds
        with self._running:
            found = what_if.likeliest_effect(ready.present, alternative, ready.store)
        answers = found.analysis.cold_air
        return {
            "after": picture(ready, answers.answers_c.values[answers.central_answer]),
            "air": air(ready, _run_again(ready, alternative)),
            "change_c": np.round(found.change_c, 3).tolist(),
            "least_c": what_if.LEAST_C,
            "light_percent": np.round(found.light_percent, 1).tolist(),
            "sentences": tried.likeliest(
                [bed.name for bed in beds],
                [bed.plot for bed in beds],
                (found.change_c.tolist(), found.light_percent.tolist()),
                site.settings.units,
            ),
            "took_s": round(time.monotonic() - began, 2),
        }

    def whole(self, change: WhatIf, called: Sequence[Called] = ()) -> dict[str, Any]:
        """All that a plan says of a change: ranges, days, and who is below."""
        ready = self._checked()
        effect = whole_effect(ready, ready.alternative(change, called))
        units = ready.present.site.settings.units
        return {
            "sentences": tried.ranges(effect.beds, units)
            + [say(fact, units) for fact in effect.facts if not _of_a_bed(fact)]
            + [say(what_if.CAUTION, units)],
            "beds": [_effect_on_bed(bed) for bed in effect.beds],
        }


def prepared(
    folder: Path, new: Mapping[str, bytes], tell: Callable[[Fact], None]
) -> Ready:
    """A site read and planned as it is drawn, without its changes.

    Parameters
    ----------
    folder
        Of the site.
    new
        What of its files a draft would write, by file.
    tell
        Is called with each step as it begins.
    """
    tell(Fact("step_reading_site"))
    kept = folder / ".fieldmap"
    # Read from a copy with the draft in it; all that is kept lies with the site itself.
    with as_drafted.laid_out(folder, new, kept) as place:
        site = replace(read_site(place, codes()), folder=folder, alternatives=())
    store = Store(kept)
    present, dates = make_present(site, store, tell)
    shown = present.analysis.terrain.smooth_m
    middle = middle_at(site.longitude, site.latitude)
    west, south, east, north = shown.bounds
    to_degrees = transformer(site.crs, WGS84)
    corners = np.array([(west, south), (east, south), (east, north), (west, north)])
    corners_m = middle.metres(np.stack(to_degrees.transform(*corners.T), axis=1))
    bounds_m = [*corners_m.min(0), *corners_m.max(0)]
    frame = frame_around(middle, bounds_m, shown.cell_size_m)
    return Ready(present, dates, frame, store.within("tried"))


def whole_effect(ready: Ready, alternative: Alternative) -> what_if.Effect:
    """What a plan would find of one change."""
    return what_if.compute_effect(
        ready.present, ready.dates, alternative, ready.store, lambda _step: None
    )


def picture(ready: Ready, offset_c: Any) -> dict[str, Any]:
    """Offsets of the shown cells for the page."""
    shown: Raster = ready.present.analysis.terrain.smooth_m
    packed = ready.frame.packed(
        ready.frame.read(shown.with_values(offset_c).carried_on()), STEP_C
    )
    middle = ready.frame.middle
    return {**packed, "longitude": middle.longitude, "latitude": middle.latitude}


def air(ready: Ready, run: Night | CentralRun | None) -> dict[str, Any] | None:
    """Where cold air runs at the end of the night, and how much of it, for the page.

    Towards true east and north, 0 where it does not run; None where none was let run.
    """
    if run is None:
        return None
    stream = flow_lines.running(run)
    turn = np.radians(ready.present.site.convergence_deg)
    east, north = stream.east_m2_s, stream.north_m2_s
    frame = ready.frame.of_cells(run.depth_m.cell_size_m)
    return {
        name: frame.packed(frame.read(run.depth_m.with_values(flux)), STEP_M2_S)
        for name, flux in (
            ("east", east * np.cos(turn) + north * np.sin(turn)),
            ("north", north * np.cos(turn) - east * np.sin(turn)),
        )
    }


def _run_again(ready: Ready, alternative: Alternative) -> CentralRun | None:
    """The night with other things around, as it was run for the beds."""
    night = ready.present.analysis.cold_air.night
    if night is None:
        return None
    around = ready.present.site.plots, alternative.surroundings
    return central_run(night.ground, *around, night.length_h, ready.store)


def _outlines(ready: Ready) -> list[dict[str, Any]]:
    """Beds in degrees."""
    to_degrees = transformer(ready.present.site.crs, WGS84)
    return [
        {
            "name": bed.name,
            "plot": bed.plot,
            "ring": np.stack(
                to_degrees.transform(*shapely.get_coordinates(bed.outline)[:-1].T),
                axis=1,
            ).tolist(),
        }
        for bed in ready.present.beds
    ]


def _named(there: gpd.GeoDataFrame, called: Sequence[Called]) -> gpd.GeoDataFrame:
    """Surroundings in which what goes by its kind alone is called as a change has it."""
    if not called:
        return there
    named = there.copy()
    nameless = there.geometry[(there["name"] == there["kind"])]
    for one in called:
        places = gpd.points_from_xy(*np.array(one.places).T, crs=WGS84)
        for place in places.to_crs(there.crs):
            away_m = nameless.distance(place)
            if len(away_m) and away_m.min() <= SAME_PLACE_M:
                named.loc[away_m.idxmin(), "name"] = one.name
    return named


def _changeable(there: gpd.GeoDataFrame) -> list[dict[str, str]]:
    """Names of what stands, each once, with its kind."""
    named = there[there["kind"].isin(STANDING)].drop_duplicates("name")
    return [
        {"name": str(name), "kind": str(kind)}
        for name, kind in zip(named["name"], named["kind"], strict=True)
    ]


def _of_a_bed(fact: Fact) -> bool:
    """Whether a fact is said of beds already."""
    return fact.kind in ("what_if_cold", "what_if_light", "what_if_cold_as_now")


def _effect_on_bed(bed: BedEffect) -> dict[str, Any]:
    return {"name": bed.bed, "offset_c": [round(each, 3) for each in bed.offset_c]}
