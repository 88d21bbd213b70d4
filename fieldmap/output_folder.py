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
def keep_or_make(
    folder: Path,
    site_folder: Path,
    input_hashes: Mapping[str, str],
    store: Store,
    make: Callable[[], list[str]],
) -> tuple[list[str], bool]:
    """Make a plan's folder, unless what lies there was made from all the same.

    The same is: every file of the site, the code with its texts, and every installed
    library. Then each file of the folder must still hold what was written.

    Parameters
    ----------
    input_hashes
        Of what was read of the site, by file.
    make
        Makes the plan, writes the folder and returns what is printed of it.

    Returns
    -------
    lines
        What is printed of the plan, in the language of the site.
    stays
        Whether nothing was written.
    """
    stays = True

    def compute() -> Arrays:
        nonlocal stays
        stays = False
        lines = make()
        return {"lines": np.array(lines), "files": np.array(_hashes(folder))}

    inputs = {
        "read": dict(input_hashes),
        # Some kinds of file are read with others beside them.
        "beside": _hashes(site_folder, (folder, store.folder)),
        "installed": _installed(),
    }
    known = store.reuse("hand-over", inputs, compute)
    if known["files"].tolist() != _hashes(folder):
        known = compute()
    return known["lines"].tolist(), stays


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
