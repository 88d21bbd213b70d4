"""One site on the page: who writes, what is drafted, and what is saved of it."""

import hashlib
import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from threading import Lock
from typing import Any

import geopandas as gpd
import shapely

from fieldmap.decide.layout.beds import LEVEL
from fieldmap.errors import FieldmapError, Problem, site_error
from fieldmap.model.coordinates import WGS84
from fieldmap.model.settings import Map, Settings, Units, WhatIf
from fieldmap.read import door, read_site
from fieldmap.read.crops import choose, packaged_crops, read_crops
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.settings import draft_choices
from fieldmap.read.start import choices
from fieldmap.read.start import folder as site_folder
from fieldmap.read.wording import typed
from fieldmap.serve import grammar, questions
from fieldmap.serve.files import draft, site_files
from fieldmap.serve.files.draft import Draft
from fieldmap.serve.ground import Ground, ground, tiles
from fieldmap.show.text.language import codes, problem_in_words
from fieldmap.show.text.quantities import fall
from fieldmap.show.text.sentence import phrase
from fieldmap.show.text.site import open_page as texts
from fieldmap.show.text.site import site_check

# Where on the page what is missing is reported: among the sentences, or of a plot.
_MENDED = {
    "no_wind_direction": "ask",
    "no_station": "ask",
    "dates_first_worked_unknown": "first_worked",
}
KEPT = ".fieldmap"  # folder of drafts, beside what is computed


class ReadsOnly(Exception):
    """Another tab writes."""


class ChangedOutside(Exception):
    """Files were changed since the draft was begun: each with a sentence."""

    def __init__(self, changed: Sequence[Mapping[str, str]]) -> None:
        super().__init__()
        self.changed = changed


class Desk:
    """What the requests of a run share.

    Attributes
    ----------
    folder
        Of the site.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._lock = Lock()
        self._writer: str | None = None

    # ------------------------------------------------------------ who writes
    def begin(self, tab: str) -> bool:
        """Whether a tab may write: the first, until it leaves."""
        with self._lock:
            self._writer = self._writer or tab
            return self._writer == tab

    def write_here(self, tab: str) -> None:
        """From now on this tab writes, and any other reads."""
        with self._lock:
            self._writer = tab

    def leave(self, tab: str) -> None:
        """A tab is closed or loaded anew."""
        with self._lock:
            if self._writer == tab:
                self._writer = None

    def _check_writer(self, tab: str) -> None:
        if self._writer is None:  # as after this program was started anew
            self._writer = tab
        if self._writer != tab:
            raise ReadsOnly

    # ------------------------------------------------------------ what there is
    @property
    def settings(self) -> Settings:
        """The choices as far as they can be read."""
        return site_files.settings_of(self.folder)

    def state(self) -> dict[str, Any]:
        """All that the page is drawn from."""
        settings = self.settings
        files = settings.files
        drawn = site_files.drawn(self.folder, files)
        kept = draft.read(self.folder / KEPT)
        known = ground(
            self.folder,
            settings,
            *map(_shapes, (drawn["plots"], drawn["surroundings"])),
        )
        return {
            **page_words(settings, known),
            "background": _background(settings.map, known),
            "id": hashlib.sha256(bytes(self.folder.resolve())).hexdigest()[:16],
            **drawn,
            "base": self.hashes(settings),
            "draft": None if kept is None else kept.model_dump(mode="json"),
            "changed": [] if kept is None else self.changed_outside(kept, settings),
        }

    def hashes(self, settings: Settings) -> dict[str, str]:
        """What the files that the page writes hold now."""
        return site_files.hashes(self.folder, site_files.names(settings.files))

    def changed_outside(
        self, kept: Draft, settings: Settings, over: Sequence[str] = ()
    ) -> list[dict[str, str]]:
        """Files that hold other than when the draft was begun, and would be written over.

        Parameters
        ----------
        kept
            The draft that would be written.
        settings
            Choices of the site, which name its files.
        over
            Names of files that may be written though they were changed.

        Returns
        -------
        changed
            Of each such file its name (`file`), and a sentence on what is in it and in
            the draft (`words`).
        """
        now = self.hashes(settings)
        shapes = kept.shapes(settings.files)
        changed = []
        for name, digest in now.items():
            if name in over or digest == kept.base.get(name, digest):
                continue
            if name in shapes:
                there = len(site_files.features(self.folder, name))
                said = texts.changed_outside(name, there, len(shapes[name]))
            elif name == CHOICES_FILE and kept.answers:
                said = texts.changed_outside(name, None, len(kept.answers))
            else:
                continue
            changed.append({"file": name, "words": said})
        return changed

    # ------------------------------------------------------------ what is kept
    def keep(self, tab: str, given: Draft) -> None:
        """A draft to disk.

        Raises
        ------
        ReadsOnly
            When another tab writes.
        """
        with self._lock:
            self._check_writer(tab)
            draft.write(self.folder / KEPT, given)

    def take_files(self, tab: str) -> None:
        """Forget the draft: the files are right as they are."""
        with self._lock:
            self._check_writer(tab)
            draft.drop(self.folder / KEPT)

    def save(self, tab: str, given: Draft, over: Sequence[str]) -> dict[str, Any]:
        """Write what changed to the files of the site.

        Parameters
        ----------
        tab
            Which of the open pages asks; one alone may write.
        given
            The draft to write.
        over
            Files that may be written though they were changed outside.

        Raises
        ------
        ReadsOnly, ChangedOutside
            When another tab writes, or another program wrote; the draft is kept.
        FieldmapError
            With a sentence for all that a plan could not be read from.
        """
        with self._lock:
            self._check_writer(tab)
            draft.write(self.folder / KEPT, given)
            settings = self.settings
            if changed := self.changed_outside(given, settings, over):
                raise ChangedOutside(changed)
            new = self._new_files(given, settings)
            if found := [*self._faults(new, settings)]:
                raise FieldmapError(found)
            site_files.write(self.folder, new)
            draft.drop(self.folder / KEPT)
        return {"saved": sorted(new), "base": self.hashes(self.settings)}

    def drafted(self) -> dict[str, bytes]:
        """What a save of the draft on disk would write, by file; nothing without one.

        Raises
        ------
        FieldmapError
            With a sentence for all that a plan could not be read from.
        """
        kept = draft.read(self.folder / KEPT)
        if kept is None:
            return {}
        settings = self.settings
        new = self._new_files(kept, settings)
        if found := [*self._faults(new, settings)]:
            raise FieldmapError(found)
        return new

    def keep_change(self, tab: str, change: WhatIf) -> dict[str, Any]:
        """Write a change that was tried as one more `[[what_if]]` of `site.toml`.

        Raises
        ------
        FieldmapError
            When there is one of that name, or more than a site may name.
        """
        with self._lock:
            self._check_writer(tab)
            self._check_choices()
            there = site_folder.choices_of(self.folder) or ""
            kept = draft.read(self.folder / KEPT)
            known = [each.name for each in self.settings.what_if]
            if change.name in known:
                raise site_error(
                    "{file}: a change is named {name} already; give this one another"
                    " name.",
                    file=CHOICES_FILE,
                    name=repr(change.name),
                )
            row = _without_nothing(change.model_dump(mode="json"))
            written = choices.with_more(there, "what_if", row)
            new = {CHOICES_FILE: written.encode()}
            if found := site_files.faults(new, self.settings.files):
                raise FieldmapError(found)
            before = self.hashes(self.settings)[CHOICES_FILE]
            site_files.write(self.folder, new)
            now = self.hashes(self.settings)
            if kept is not None and kept.base.get(CHOICES_FILE) == before:
                base = {**kept.base, CHOICES_FILE: now[CHOICES_FILE]}
                moved = kept.model_copy(update={"base": base})
                draft.write(self.folder / KEPT, moved)
        return {"saved": [CHOICES_FILE], "base": now, "name": change.name}

    def faults(self, given: Draft) -> list[str]:
        """What could not be saved of a draft, in words."""
        settings = self.settings
        try:
            new = self._new_files(given, settings)
        except FieldmapError as error:
            return list(map(problem_in_words, error.problems))
        return list(map(problem_in_words, self._faults(new, settings)))

    def still_open(self) -> list[dict[str, str]]:
        """What is missing of the place as it is saved, each with where the page mends it.

        What `fieldmap check` says in more words; of a place that cannot be planned, why not.
        """
        try:
            site = read_site(self.folder, codes())
        except FieldmapError as error:
            said = map(problem_in_words, error.problems)
            return [{"words": words, "mended": ""} for words in said]
        missing, _others = site_check.still_open(
            *(site.remarks, site.settings, site.plots["first_worked"]),
            has_weather=site.weather.is_there,
            has_typical_year=site.typical_year is not None,
        )
        return [
            {
                "words": texts.missing(fact.kind, typed(self.folder)),
                "mended": _MENDED.get(fact.kind, ""),
            }
            for fact in missing
        ]

    def _new_files(self, given: Draft, settings: Settings) -> dict[str, bytes]:
        self._check_choices()
        text = site_folder.choices_of(self.folder)
        if text is None:
            name = self.folder.resolve().name
            text = choices.with_answers("", [(("name",), name)])
        answers = [(each.place, each.value) for each in given.answers]
        text = choices.with_answers(text, questions.as_written(answers))
        return site_files.changed(self.folder, given.shapes(settings.files), text)

    def _check_choices(self) -> None:
        """Raise FieldmapError where `site.toml` cannot be read, and so not changed."""
        readable, problems = draft_choices(self.folder, codes())
        if readable is None:
            raise FieldmapError(problems)

    def _faults(
        self, new: Mapping[str, bytes], settings: Settings
    ) -> Sequence[Problem | str]:
        found = site_files.faults(new, settings.files)
        if CHOICES_FILE in new and not found:
            found += self._faults_of_crops(new[CHOICES_FILE], settings)
        return found

    def _faults_of_crops(
        self, written: bytes, settings: Settings
    ) -> Sequence[Problem | str]:
        """Crops that nobody knows, with the name that may be meant."""
        try:
            known = packaged_crops()
            if door.is_there(self.folder, settings.files.crops):
                most = door.MOST_BYTES_OF_TOML
                known = read_crops(
                    door.open_file(self.folder, settings.files.crops, most)
                )
            choose(site_files.settings_in(written).crops, known)
        except FieldmapError as error:
            return error.problems
        return ()


def page_words(settings: Settings, known: Ground) -> dict[str, Any]:
    """What the drawing part needs beside the shapes: texts, kinds, heights."""
    middle = known.middle
    return {
        "name": settings.name,
        "words": {
            "say": texts.say(),
            "units": settings.units,
            "kinds": grammar.kinds(),
            "blanks": grammar.blanks(),
            "directions": texts.directions(),
        },
        "middle": middle._asdict(),
        "heights": known.heights,
        "downhill": _downhill(known, settings.units),
        "questions": questions.questions(settings, (middle.longitude, middle.latitude)),
    }


def _downhill(known: Ground, units: Units) -> dict[str, Any] | None:
    """Which way the plots fall, east and north, and how much; None where level."""
    if known.rise is None or (rise := math.hypot(*known.rise)) < LEVEL:
        return None
    east, north = (round(-each / rise, 4) for each in known.rise)
    return {"east": east, "north": north, "said": fall(100 * rise, units)}


def _background(chosen: Map, known: Ground) -> dict[str, Any] | None:
    """What the box for pictures from the internet works with; None where it has none."""
    if chosen.background_tiles is None or known.heights is None:
        return None
    found = tiles(known.middle, known.heights, chosen.background_finest_zoom)
    return {
        "tiles": [
            {"address": each.address(chosen.background_tiles), "box": each.box}
            for each in found
        ],
        "credit": chosen.background_credit,
        "label": phrase("background_label"),
        "failed": phrase("background_failed"),
    }


def _without_nothing(table: Mapping[str, Any]) -> dict[str, Any]:
    """A table without its empty values, in the tables within too."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        if value is None or value == []:
            continue
        tables = isinstance(value, list) and isinstance(value[0], Mapping)
        found[key] = [_without_nothing(each) for each in value] if tables else value
    return found


def _shapes(features: Sequence[Mapping[str, Any]]) -> gpd.GeoSeries:
    shapes = [
        shapely.geometry.shape(each["geometry"])
        for each in features
        if each.get("geometry")
    ]
    return gpd.GeoSeries(shapes, crs=WGS84)
