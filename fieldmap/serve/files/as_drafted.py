"""The files of a site as they would be once a draft is saved, for whoever reads them."""

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from hashlib import sha256
from pathlib import Path

from fieldmap.model.settings import Settings
from fieldmap.read import door
from fieldmap.read.door import CHOICES_FILE
from fieldmap.read.folder import names_of_inputs
from fieldmap.serve.files import site_files
from fieldmap.serve.files.site_files import GONE


def hashes(folder: Path, new: Mapping[str, bytes]) -> dict[str, str]:
    """The sha256 of all that a plan would read, by file.

    Parameters
    ----------
    new
        What a save of the draft would write, by file, or `GONE`.
    """
    there = door.input_hashes(folder, names_of_inputs(_settings(folder, new)))
    drafted = {name: sha256(content).hexdigest() for name, content in new.items()}
    both = there | drafted
    return {name: both[name] for name in sorted(both) if new.get(name) != GONE}


@contextlib.contextmanager
def laid_out(folder: Path, new: Mapping[str, bytes], beside: Path) -> Iterator[Path]:
    """A folder that holds them for as long as it is read.

    Files that stay as they are cost no space where the disk has links.

    Parameters
    ----------
    folder
        Of the site.
    new
        Content of the files that a draft would write, by name; `GONE` for one that it
        takes away.
    beside
        Where the folder is made.
    """
    settings = _settings(folder, new)
    read = (*names_of_inputs(settings), settings.files.thermometers)
    beside.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="drafted-", dir=beside) as made:
        place = Path(made)
        for name in door.input_hashes(folder, read):
            if door.lies_inside(name) and name not in new:
                _same(folder / name, place / name)
        for name, content in new.items():
            if content != GONE:
                (place / name).parent.mkdir(parents=True, exist_ok=True)
                (place / name).write_bytes(content)
        yield place


def _settings(folder: Path, new: Mapping[str, bytes]) -> Settings:
    if CHOICES_FILE in new:
        return site_files.settings_in(new[CHOICES_FILE])
    return site_files.settings_of(folder)


def _same(file: Path, there: Path) -> None:
    """The same file at another place, or a copy of it."""
    there.parent.mkdir(parents=True, exist_ok=True)
    try:
        os.link(file.resolve(), there)
    except OSError:  # no links on this disk
        shutil.copyfile(file, there)
