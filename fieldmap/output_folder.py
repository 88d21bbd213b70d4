"""The folder of a plan: whose it is, written whole or not at all, kept where it can stay.

It knows no plan: a callback writes the files into a folder beside its place.
"""

import hashlib
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import numpy as np

from fieldmap.cache import Arrays, Store
from fieldmap.errors import PlanError, problem

LIST_KEY = "files"  # in plan.json: the names of all files that belong to the folder


# ------------------------------------------------------------- whose it is
def check_place(folder: Path) -> None:
    """Raise PlanError unless a plan may be written to this folder.

    Called before the work starts, so that nobody waits for a refusal.
    """
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise PlanError(
            problem(
                "{folder} is a file; give a folder for the plan, or move the file away",
                folder=folder,
            )
        )
    if not folder.exists():
        return
    strangers = sorted(names(folder) - _ours(folder))
    if strangers:
        raise PlanError(
            problem(
                "{folder} holds files that are not part of a plan, such as {file}; give "
                "another folder with --out, or move them away",
                folder=folder,
                file=repr(strangers[0]),
            )
        )


def names(folder: Path) -> set[str]:
    """Names of all files in a folder and below it."""
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if not path.is_dir() or path.is_symlink()
    }


def _ours(folder: Path) -> set[str]:
    """Names that the plan in a folder says it wrote; none where there is no plan."""
    try:
        document = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
        return set(document[LIST_KEY])
    except (OSError, ValueError, KeyError, TypeError):
        return set()


# ------------------------------------------------------------- whole or not at all
def write(
    folder: Path,
    fill: Callable[[Path], None],
    write_errors: tuple[type[Exception], ...] = (OSError,),
) -> None:
    """Write a folder beside its place, then move it there.

    A folder that holds only files of an earlier plan is replaced.

    Parameters
    ----------
    fill
        Writes the files into an empty folder.
    write_errors
        What it may raise when there is no space.

    Raises
    ------
    PlanError
        When the place is a file, or holds files we did not write, or cannot be written.
    """
    check_place(folder)
    try:
        with _beside(folder) as beside:
            fill(beside)
            beside.chmod(0o755)
            _replace(folder, beside)
    except write_errors as error:
        number = getattr(error, "errno", None)
        raise PlanError(
            problem(
                "{folder} could not be written ({why}); free some space or give another "
                "folder with --out; nothing was left behind",
                folder=folder,
                why=os.strerror(number) if number else str(error),
            )
        ) from error


@contextmanager
def _beside(folder: Path) -> Iterator[Path]:
    """A new folder with the same parent that is gone in the end, unless it was moved."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    beside = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        yield beside
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _replace(folder: Path, beside: Path) -> None:
    if not folder.exists():
        beside.rename(folder)
        return
    aside = beside.with_name(f"{beside.name}-old")
    folder.rename(aside)
    try:
        beside.rename(folder)
    except OSError:
        aside.rename(folder)
        raise
    shutil.rmtree(aside, ignore_errors=True)


# ------------------------------------------------------------- whether it can stay
class HandOver(NamedTuple):
    """What is said of a plan that lies in its folder.

    Attributes
    ----------
    lines
        What is printed of it, in the language of the site.
    spoken
        Language and units that the site asks for.
    input_hashes
        Of what was read of the site, by file.
    """

    lines: list[str]
    spoken: tuple[str, str]
    input_hashes: Mapping[str, str]


def keep_or_make(
    folder: Path, site_folder: Path, store: Store, make: Callable[[], HandOver]
) -> tuple[HandOver, bool]:
    """Make a plan's folder, unless what lies there was made from all the same.

    The same is: every file of the site, the code with its texts, and every installed
    library. Then each file of the folder must still hold what was written. Nothing is
    read but the bytes of these files, so a plan that stays is known at once.

    Parameters
    ----------
    make
        Reads the site, makes the plan and writes the folder.

    Returns
    -------
    hand_over
        What is said of the plan.
    stays
        Whether nothing was written.
    """
    stays = True

    def compute() -> Arrays:
        nonlocal stays
        stays = False
        made = make()
        read = [f"{name} {digest}" for name, digest in made.input_hashes.items()]
        return {
            "lines": np.array(made.lines, np.str_),
            "spoken": np.array(made.spoken),
            "read": np.array(read, np.str_),
            "files": np.array(_hashes(folder)),
        }

    inputs = {
        # Files that are read, and others: some kinds are read with others beside them.
        "there": _hashes(site_folder, (folder, store.folder)),
        "installed": _installed(),
    }
    known = store.reuse("hand-over", inputs, compute)
    if known["files"].tolist() != _hashes(folder) or not _still_there(
        site_folder, known["read"].tolist()
    ):
        known = compute()
    language, units = known["spoken"].tolist()
    read = dict(map(_parted, known["read"].tolist()))
    return HandOver(known["lines"].tolist(), (language, units), read), stays


def _still_there(folder: Path, read: list[str]) -> bool:
    """Whether all that was read is as it was, in the plan's own folder too."""
    now = ((name, _sha256(folder / name)) for name, _was in map(_parted, read))
    return [f"{name} {digest}" for name, digest in now] == read


def _parted(line: str) -> tuple[str, str]:
    name, digest = line.rsplit(" ", maxsplit=1)
    return name, digest


def _hashes(folder: Path, left_out: tuple[Path, ...] = ()) -> list[str]:
    """Name and sha256 of every file in a folder, but those of folders left out."""
    out = [path.resolve() for path in left_out]
    return [
        f"{name} {_sha256(folder / name)}"
        for name in sorted(names(folder))
        if not any((folder / name).resolve().is_relative_to(path) for path in out)
    ]


def _sha256(file: Path) -> str:
    """Of a file's bytes; empty for what is no file, as a broken link."""
    if not file.is_file():
        return ""
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def _installed() -> list[str]:
    """Python and every library with its version, as their folders are named."""
    found = {
        entry.name for place in sys.path for entry in Path(place).glob("*.dist-info")
    }
    return [sys.version, *sorted(found)]
