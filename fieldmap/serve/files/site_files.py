"""Outlines and choices of a site as the page edits them, and back to the same files."""

import contextlib
import json
import tempfile
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from fieldmap.errors import FieldmapError, Problem, SiteError, problem, site_error
from fieldmap.model.settings import Files, Settings
from fieldmap.read import door
from fieldmap.read.door import CHOICES_FILE, SiteFile
from fieldmap.read.outlines import geojson
from fieldmap.read.outlines.files import Outlines
from fieldmap.read.outlines.marks import read_marks
from fieldmap.read.outlines.own_beds import read_beds
from fieldmap.read.outlines.plots import read_plots
from fieldmap.read.outlines.surroundings import read_surroundings
from fieldmap.read.settings import draft_choices
from fieldmap.read.start import folder as site_folder
from fieldmap.read.wording import quoted
from fieldmap.serve.files.draft import LAYERS, Feature, file_of
from fieldmap.show.text.language import codes

GONE = b""  # of a file that would hold no shape, which no plan could be read from
EARLIER = "earlier"  # folder of what was saved over
_ENDINGS = (".geojson", ".json")
_DEGREES = (
    *("urn:ogc:def:crs:ogc:1.3:crs84", "urn:ogc:def:crs:ogc::crs84", "ogc:crs84"),
    *("epsg:4326", "urn:ogc:def:crs:epsg::4326"),
)


def settings_of(folder: Path) -> Settings:
    """The choices as far as they can be read; of a folder without any, the defaults."""
    found, _problems = draft_choices(folder, codes())
    return found or Settings(name=folder.resolve().name)


def settings_in(written: bytes) -> Settings:
    """The choices in a text of `site.toml` that has been found to be right."""
    return Settings.model_validate(tomllib.loads(written.decode()))


def features(folder: Path, name: str) -> list[Feature]:
    """The shapes of a GeoJSON file in degrees; none where it is not there.

    Raises
    ------
    SiteError
        When it is another kind of file, or in metres: those are not written back.
    """
    if not name.lower().endswith(_ENDINGS):
        raise site_error(
            "{file} is not GeoJSON, and the page writes nothing else; make one of it"
            " with fieldmap start NEW_FOLDER {file}.",
            file=name,
        )
    if not door.is_there(folder, name):
        return []
    file = door.open_file(folder, name, door.MOST_BYTES_OF_OUTLINES)
    with tempfile.TemporaryDirectory() as aside:
        path = geojson.rewritten(file.path, file, Path(aside))
        table = json.loads(path.read_text("ascii"))
    crs = table.get("crs", {}).get("properties", {}).get("name", _DEGREES[0])
    if crs.casefold() not in _DEGREES:
        raise file.site_error(
            "{file} is in {crs}, and the page draws in degrees; make it again with"
            " fieldmap start NEW_FOLDER {file}.",
            crs=crs,
        )
    found: list[Feature] = table["features"]
    return found


def as_bytes(shapes: Iterable[Feature]) -> bytes:
    """GeoJSON (RFC 7946), a shape a line."""
    lines = ",\n".join(
        json.dumps(
            {
                "type": "Feature",
                "properties": each["properties"],
                "geometry": each["geometry"],
            },
            ensure_ascii=False,
            allow_nan=False,
        )
        for each in shapes
    )
    whole = f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'
    return whole.encode()


def hashes(folder: Path, names: Iterable[str]) -> dict[str, str]:
    """sha256 of each file, "" where it is not there or may not be read."""
    return {name: door.input_hashes(folder, (name,)).get(name, "") for name in names}


def names(files: Files) -> tuple[str, ...]:
    """Those that the page writes: outlines, then choices."""
    return (*(file_of(layer, files) for layer in LAYERS), CHOICES_FILE)


def drawn(folder: Path, files: Files) -> dict[str, list[Feature]]:
    """The shapes of each layer that the page draws.

    Marks and beds that lie in metres, or in no GeoJSON, are left as they are. What
    `start` left aside is drawn too: once all of it is known, it stands around.

    Raises
    ------
    SiteError
        As `features`, of plots and surroundings.
    """
    found = {
        layer: features(folder, getattr(files, layer))
        for layer in ("plots", "surroundings")
    }
    for layer in ("marks", "beds", "aside"):
        with contextlib.suppress(SiteError):
            found[layer] = features(folder, file_of(layer, files))
    return found


def changed(
    folder: Path, drawn_now: Mapping[str, Sequence[Feature]], choices: str
) -> dict[str, bytes]:
    """What would be written, by file, or `GONE`: none that holds the same already.

    Parameters
    ----------
    folder
        Of the site.
    drawn_now
        Shapes by the name of their file.
    choices
        The whole text of `site.toml` as it shall be.

    Raises
    ------
    SiteError
        When a file would be written outside the folder.
    """
    new: dict[str, bytes] = {}
    for name, shapes in drawn_now.items():
        if _plain(shapes) != _plain(features(folder, name)):
            _check_inside(folder, name)
            new[name] = as_bytes(shapes) if shapes else GONE
    if choices != site_folder.choices_of(folder):
        new[CHOICES_FILE] = choices.encode()
    return new


def _check_inside(folder: Path, name: str) -> None:
    """Raise SiteError where a file lies elsewhere, be it by a link above it."""
    where = (folder / name).parent.resolve()
    if not (door.lies_inside(name) and where.is_relative_to(folder.resolve())):
        raise site_error(
            "{name} is not a file inside the site folder; name it by its path from"
            " there and without '..'.",
            name=quoted(name),
        )


def _plain(shapes: Sequence[Feature]) -> list[tuple[Any, Any]]:
    return [(each.get("properties") or {}, each.get("geometry")) for each in shapes]


def faults(new: Mapping[str, bytes], files: Files) -> list[Problem | str]:
    """What is wrong with files that would be written, in a sentence each."""
    found: list[Problem | str] = []
    # They are read as a plan would read them, in a folder of their own.
    with tempfile.TemporaryDirectory() as aside:
        folder = Path(aside)
        for name, content in new.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        if CHOICES_FILE in new:
            found += draft_choices(folder, codes())[1]
        for name, read in (
            (files.plots, read_plots),
            (files.surroundings, read_surroundings),
            (files.marks, read_marks),
            (files.beds, read_beds),
        ):
            if new.get(name):
                found += _refusal(read, SiteFile(folder / name, name))
    return found


def _refusal(
    read: Callable[[SiteFile], Outlines], file: SiteFile
) -> Sequence[Problem | str]:
    try:
        read(file)
    except FieldmapError as error:
        return error.problems
    return ()


def write(folder: Path, new: Mapping[str, bytes]) -> None:
    """Write files, each by rename, and keep what they held before beside them.

    Raises
    ------
    SiteError
        When a file is a link: what it leads to is not ours to change.
    """
    if not new:
        return
    for name in (*new, EARLIER):
        if (folder / name).is_symlink():
            raise SiteError(
                problem("{file} is a link; put the file itself here.", file=name)
            )
    # Copies first: a run that is stopped here has lost nothing.
    kept = folder / EARLIER
    for name in new:
        if (folder / name).is_file():
            kept.mkdir(exist_ok=True)
            with _free(kept, Path(name)).open("xb") as copy:
                copy.write((folder / name).read_bytes())
    site_folder.write(folder, {name: to for name, to in new.items() if to})
    for name, content in new.items():
        if content == GONE:
            (folder / name).unlink(missing_ok=True)


def _free(folder: Path, name: Path) -> Path:
    """A place for one more copy of a file: plots-1.geojson, plots-2.geojson ..."""
    taken = len(list(folder.glob(f"{name.stem}-*{name.suffix}")))
    while door.is_there(folder, there := f"{name.stem}-{taken + 1}{name.suffix}"):
        taken += 1
    return folder / there
