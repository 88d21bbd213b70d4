"""A site folder made or added to: written beside, then renamed."""

import os
import re
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from fieldmap.errors import SiteError, problem
from fieldmap.model.settings import Station
from fieldmap.read import door
from fieldmap.read.door import CHOICES_FILE


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
    <BLANKLINE>
    """
    line = f'{key} = "{name}"\n'
    if re.search(rf"^[ \t]*{key}[ \t]*=", choices, re.M):
        return choices
    table = re.search(r"^\[files\][^\n]*\n", choices, re.M)
    if table:
        return choices[: table.end()] + line + choices[table.end() :]
    return f"{choices.rstrip()}\n\n[files]\n{line}"


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
    return (
        f'{choices.rstrip()}\n\n[[other_stations]]\nweather = "{weather}"\n'
        f"latitude = {latitude}\nlongitude = {longitude}\nelevation_m = {elevation_m}\n"
    )


def with_station(choices: str, station: Station) -> str:
    """The text of `site.toml` with the place of the weather record at its end."""
    return (
        f"{choices.rstrip()}\n\n[station]\nlatitude = {station.latitude}\n"
        f"longitude = {station.longitude}\nelevation_m = {station.elevation_m}\n"
    )


def with_walked_outline(choices: str) -> str:
    """The text of `site.toml` saying that the outline was walked, unless it says how it was got.

    Examples
    --------
    >>> print(with_walked_outline('name = "a"'))
    name = "a"
    <BLANKLINE>
    [pegging]
    outline = "walked"
    <BLANKLINE>
    """
    if re.search(r"^[ \t]*outline[ \t]*=", choices, re.M):
        return choices
    line = 'outline = "walked"\n'
    table = re.search(r"^[ \t]*\[pegging\][^\n]*\n", choices, re.M)
    if table:
        return choices[: table.end()] + line + choices[table.end() :]
    return f"{choices.rstrip()}\n\n[pegging]\n{line}"


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
