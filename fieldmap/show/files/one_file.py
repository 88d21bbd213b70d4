"""One file where the user says: never over a stranger's, written whole or not at all."""

import glob
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from fieldmap.cache import open_regular
from fieldmap.errors import PlanError, Problem, problem

_MOST_BYTES = 100_000_000  # of a file that may be one of ours


def check_place(
    file: Path, endings: Sequence[str], is_ours: Callable[[str], bool], refusal: Problem
) -> None:
    """Raise PlanError unless such a file may be written there.

    Called before the work starts, so that nobody waits for a refusal.

    Parameters
    ----------
    file
        Where the user wants it. Its folder must be there already.
    endings
        Those that its name may have; the first is proposed.
    is_ours
        Whether the text of a file that is there is one of an earlier run.
    refusal
        Said of any other file that is there.

    Raises
    ------
    PlanError
        When the ending is another, the folder is missing or does not let us write, or a
        file is there that is not ours.
    """
    if file.suffix.lower() not in endings:
        raise PlanError(
            problem(
                "--out is {file}; give the name of a file that ends in {ending}",
                file=file,
                ending=endings[0],
            )
        )
    if not file.parent.is_dir():
        raise PlanError(
            problem(
                "there is no folder {folder}; make it, or give another",
                folder=file.parent,
            )
        )
    if file.is_symlink() or (file.exists() and not _holds(file, is_ours)):
        raise PlanError(refusal)
    try:
        _sweep(file)
        beside = _beside(file)
        beside.touch(exist_ok=False)
        beside.unlink()
    except OSError as error:
        raise _cannot_be_written(file, error) from error


def _holds(file: Path, is_ours: Callable[[str], bool]) -> bool:
    try:
        with open_regular(file, _MOST_BYTES) as opened:
            return is_ours(opened.read().decode("utf-8"))
    except (OSError, ValueError):
        return False


def write(text: str, file: Path) -> None:
    """Write a text whole or not at all.

    Raises
    ------
    PlanError
        When the place cannot be written.
    """
    try:
        replace(text, file)
    except OSError as error:
        raise _cannot_be_written(file, error) from error


def _cannot_be_written(file: Path, error: OSError) -> PlanError:
    return PlanError(
        problem(
            "{file} could not be written ({why}); free some space or give another file "
            "with --out; nothing was left behind",
            file=file,
            why=error.strerror,
        )
    )


def replace(text: str, file: Path) -> None:
    """Write a text beside its place and to disk, then move it there.

    OSError where it cannot be; what runs that were stopped left is swept.
    """
    _sweep(file)
    beside = _beside(file)
    try:
        with beside.open("x", encoding="utf-8", newline="") as opened:
            opened.write(text)
            opened.flush()
            os.fsync(opened.fileno())
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)


def _beside(file: Path) -> Path:
    return file.with_name(f".{file.name}.{os.getpid()}.part")


def _sweep(file: Path) -> None:
    """Take away the parts of runs that are no longer there.

    One of this run's own number is of an earlier run that had it, as in a container.
    """
    for part in file.parent.glob(f".{glob.escape(file.name)}.*.part"):
        number = part.name.split(".")[-2]
        is_ours = number == str(os.getpid())
        if is_ours or (number.isdecimal() and not _runs(int(number))):
            part.unlink(missing_ok=True)


def _runs(process: int) -> bool:
    """Whether there is such a process, where the system can be asked."""
    if sys.platform == "win32":
        return True
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        return True
    return True
