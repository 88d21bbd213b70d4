"""The folder of a plan: whose it is, written whole or not at all, kept where it can stay.

It knows no plan: a callback writes the files into a folder beside its place.
"""

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NamedTuple

import numpy as np

from fieldmap.cache import Arrays, Store, digest_of, installed, open_regular
from fieldmap.errors import PlanError, problem
from fieldmap.output_folder import exchange
from fieldmap.output_folder.reserve import cannot_be_written, reserved

__all__ = ["LIST_KEY", "check_place", "keep_or_make", "names", "reserved", "write"]
LIST_KEY = "files"  # in plan.json: the names of all files that belong to the folder
_MOST_BYTES_OF_LIST = 50_000_000  # the largest plan.json has a few
# Left on the disk after a plan: what a library writes at once is less.
_SPACE_LEFT = 1_000_000


# ------------------------------------------------------------- whose it is
def check_place(folder: Path) -> None:
    """Raise PlanError unless a plan may be written to this folder.

    Called before the work starts, so that nobody waits for a refusal.
    """
    try:
        str(folder.absolute()).encode("utf-8")
    except UnicodeEncodeError:  # libraries cannot write there
        raise PlanError(
            problem(
                "the path {folder} holds letters that are not UTF-8; give another folder",
                folder=folder,
            )
        ) from None
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise PlanError(
            problem(
                "{folder} is a file; give a folder for the plan, or move the file away",
                folder=folder,
            )
        )
    if not folder.exists():
        return
    if os.path.ismount(folder):  # that of pathlib knows no Windows
        raise PlanError(
            problem(
                "{folder} is a whole disk, and a plan replaces its whole folder; give a"
                " folder on this disk, such as {inside}",
                folder=folder,
                inside=folder / "plan",
            )
        )
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
        with open_regular(folder / "plan.json", _MOST_BYTES_OF_LIST) as file:
            document = json.loads(file.read())
        return set(document[LIST_KEY])
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return set()


# ------------------------------------------------------------- whole or not at all
def write(
    folder: Path,
    fill: Callable[[Path], None],
    write_errors: tuple[type[Exception], ...] = (OSError,),
) -> None:
    """Write a folder beside its place, then move it there in one step.

    A folder that holds only files of an earlier plan is replaced.

    Parameters
    ----------
    folder
        Where it shall lie; its parent is made where it is missing.
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
    with reserved(folder) as beside:
        try:
            fill(beside)
            _check_space(beside)
            exchange.publish(beside, folder)
        except write_errors as error:
            raise cannot_be_written(folder, error) from error


def _check_space(folder: Path) -> None:
    """Raise OSError where the disk is full: not every library says so when it writes."""
    probe = folder / "probe"
    try:
        with probe.open("xb") as file:
            file.write(bytes(_SPACE_LEFT))
            file.flush()
            os.fsync(file.fileno())
    finally:
        probe.unlink(missing_ok=True)


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
    folder: Path,
    site_folder: Path,
    store: Store,
    make: Callable[[], HandOver],
    day: str = "",
) -> tuple[HandOver, bool]:
    """Make a plan's folder, unless what lies there was made from all the same.

    The same is: every file of the site, the day of planning, the code with its texts, and
    every installed library. Then each file of the folder must still hold what was written. Nothing is
    read but the bytes of these files, so a plan that stays is known at once.

    Parameters
    ----------
    folder
        Of the plan.
    site_folder
        Of the site that the plan is made from.
    store
        Where it is written down what the folder was made from.
    make
        Reads the site, makes the plan and writes the folder.
    day
        Of planning.

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
        "installed": installed(),
        "day": day,
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
    now = ((name, _sha256(folder / name, folder)) for name, _was in map(_parted, read))
    return [f"{name} {digest}" for name, digest in now] == read


def _parted(line: str) -> tuple[str, str]:
    name, digest = line.rsplit(" ", maxsplit=1)
    return name, digest


def _hashes(folder: Path, left_out: tuple[Path, ...] = ()) -> list[str]:
    """Name and sha256 of every file in a folder, but those of folders left out."""
    out = [path.resolve() for path in left_out]
    return [
        f"{name} {_sha256(folder / name, folder)}"
        for name in sorted(names(folder))
        if not any((folder / name).resolve().is_relative_to(path) for path in out)
    ]


def _sha256(file: Path, folder: Path) -> str:
    """Of a file's bytes; of a link that leads out of the folder, of its words alone.

    Empty for what is no file or cannot be read: whoever reads it will say so.
    """
    try:
        where = file.resolve()
        if not where.is_relative_to(folder.resolve()):
            return hashlib.sha256(os.fsencode(file.readlink())).hexdigest()
        if not where.is_file():
            return ""
        return digest_of(where)
    except (OSError, RuntimeError):  # unreadable, or a link to itself
        return ""
