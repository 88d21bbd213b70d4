"""A site folder made or added to: written beside, then renamed."""

import os
import shutil
import tempfile
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fieldmap.errors import SiteError, problem
from fieldmap.model.settings import Station
from fieldmap.read import door
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.start.choices import with_answers


def existing(folder: Path, names: Mapping[str, bytes]) -> list[str]:
    """Names of files that would be written over."""
    return sorted(name for name in names if os.path.lexists(folder / name))


def check(folder: Path) -> None:
    """Raise SiteError where no site folder can be made."""
    door.check_folder(folder)
    if os.path.lexists(folder) and not folder.is_dir():
        raise SiteError(
            problem("{folder} is a file; name a folder for the site.", folder=folder)
        )


def write(folder: Path, files: Mapping[str, bytes]) -> None:
    """All files into a folder, each whole or not at all.

    A new folder appears with all of them in one step. In one that is there each file is
    written beside its place first, and only when all are on disk are they renamed.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    # Within a folder that is there: it may be a disk of its own.
    beside = folder if folder.is_dir() else folder.parent
    aside = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", dir=beside))
    try:
        for name, content in files.items():
            (aside / name).parent.mkdir(parents=True, exist_ok=True)
            with (aside / name).open("wb") as opened:
                opened.write(content)
                opened.flush()
                os.fsync(opened.fileno())
        if beside != folder:
            aside.chmod(0o755)
            aside.rename(folder)
            return
        for name in files:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (aside / name).replace(folder / name)
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def with_file_named(choices: str, key: str, name: str) -> str:
    """The text of `site.toml` with a file named under `[files]`, all else as it was.

    Parameters
    ----------
    choices
        The text of `site.toml` as it is.
    key
        Key of the file under `[files]`; where the text holds it already, nothing
        changes.
    name
        Name of the file in the site folder.

    Examples
    --------
    >>> print(with_file_named('name = "a"', "typical_year", "b.epw"))
    name = "a"
    <BLANKLINE>
    [files]
    typical_year = "b.epw"
    """
    return _with(choices, ("files", key), name)


def _with(choices: str, place: tuple[str, str], value: str | float) -> str:
    """The text with a value under a key of a table, where it has none yet.

    A text that cannot be read stays as it is: whoever reads it says what is wrong.
    """
    table, key = place
    there = None if (known := _known(choices)) is None else known.get(table, {})
    is_free = isinstance(there, dict) and key not in there
    return with_answers(choices, [(place, value)]) if is_free else choices


def _known(choices: str) -> dict[str, Any] | None:
    """What a text says, None where it cannot be read."""
    try:
        return tomllib.loads(choices)
    except tomllib.TOMLDecodeError:
        return None


def other_station(choices: str, weather: str, where: tuple[float, float, float]) -> str:
    """The text of `site.toml` with one more weather station at its end.

    Parameters
    ----------
    choices
        The text of `site.toml` as it is.
    weather
        Name of the station's weather file; where the text holds it already, nothing
        changes.
    where
        Latitude and longitude [degrees], and height of the station [m].
    """
    if f'"{weather}"' in choices:
        return choices
    latitude, longitude, elevation_m = where
    row = {
        "weather": weather,
        "latitude": latitude,
        "longitude": longitude,
        "elevation_m": elevation_m,
    }
    if (known := _known(choices)) is None:
        return choices
    # All of them: those that stand in one line can have no table after them.
    rows = [*known.get("other_stations", []), row]
    return with_answers(choices, [(("other_stations",), rows)])


def with_station(choices: str, station: Station) -> str:
    """The text of `site.toml` with the place of the weather record, where it has none."""
    if not has_no_station(choices):
        return choices
    place = station.model_dump().items()
    return with_answers(choices, [(("station", key), value) for key, value in place])


def has_no_station(choices: str) -> bool:
    """Whether a text that can be read says nothing of where the weather was kept."""
    known = _known(choices)
    return known is not None and "station" not in known


def with_walked_outline(choices: str) -> str:
    """The text of `site.toml` saying that the outline was walked, unless it says how it was got.

    Examples
    --------
    >>> print(with_walked_outline('name = "a"'))
    name = "a"
    <BLANKLINE>
    [pegging]
    outline = "walked"
    """
    return _with(choices, ("pegging", "outline"), "walked")


def choices_of(folder: Path) -> str | None:
    """The text of `site.toml` of a folder; None where there is none."""
    return text_of(folder, CHOICES_FILE)


def text_of(folder: Path, name: str) -> str | None:
    """The text of a small file of a folder; None where there is none.

    Raises
    ------
    SiteError
        When it may not be opened, or is no text.
    """
    if not door.is_there(folder, name):
        return None
    try:
        return door.open_file(folder, name, door.MOST_BYTES_OF_TOML).text("utf-8")
    except UnicodeDecodeError as error:
        raise SiteError(
            problem(
                "{file} in {folder} cannot be read; correct it first.",
                file=name,
                folder=folder,
            )
        ) from error
