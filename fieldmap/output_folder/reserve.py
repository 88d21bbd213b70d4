"""A place for a new plan beside the old one, for one run at a time.

The place is a hidden folder beside the plan's, locked while the run lasts. Whatever a
run that was stopped left there is completed or swept by the next, before anything else.
"""

import contextlib
import errno
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fieldmap.errors import PlanError, problem
from fieldmap.output_folder import exchange, lock

_NEW = "new"
_TRIES = 100
# Places that this run holds.
_held: dict[Path, Path] = {}


@contextmanager
def reserved(folder: Path) -> Iterator[Path]:
    """An empty folder beside a plan's place, kept for this run; gone in the end.

    A run that holds the place already is given it again.

    Raises
    ------
    PlanError
        When another run holds the place, or nothing can be written there.
    """
    place = folder.parent.resolve() / folder.name if folder.name else folder.resolve()
    if place in _held:
        yield _emptied(_held[place])
        return
    work = place.with_name(f".{place.name}.fieldmap")
    try:
        made = _make_parents(place.parent)
        held = _lock(work, folder)
    except OSError as error:
        raise cannot_be_written(folder, error) from error
    try:
        exchange.recover(place, work)
        new = _emptied(work / _NEW)
    except OSError as error:
        _release(held, work, made)
        raise cannot_be_written(folder, error) from error
    _held[place] = new
    try:
        yield new
    finally:
        del _held[place]
        _release(held, work, made)


def cannot_be_written(folder: Path, error: Exception) -> PlanError:
    """What to say where a plan cannot be written."""
    number = getattr(error, "errno", None)
    return PlanError(
        problem(
            "{folder} could not be written ({why}); free some space or give another "
            "folder with --out; nothing was left behind",
            folder=folder,
            why=os.strerror(number) if number else str(error),
        )
    )


def _make_parents(folder: Path) -> list[Path]:
    """Make a folder with all above it; those that were not there, deepest first."""
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    folder.mkdir(parents=True, exist_ok=True)
    return missing


def _lock(work: Path, folder: Path) -> int | None:
    """Make the hidden folder and lock it; what the lock is let go by."""
    for _try in range(_TRIES):
        with contextlib.suppress(FileExistsError):
            work.mkdir(mode=0o700)
        if work.is_symlink() or not work.is_dir():
            if work.exists() or work.is_symlink():
                raise PlanError(
                    problem(
                        "{work} is in the place where the plan is made; move it away",
                        work=work,
                    )
                )
            continue  # another run has just ended
        try:
            return lock.take(work)
        except FileNotFoundError:
            continue
        except BlockingIOError:
            raise PlanError(
                problem(
                    "another run is writing {folder}; wait until it has ended",
                    folder=folder,
                )
            ) from None
    raise OSError(errno.EBUSY, os.strerror(errno.EBUSY))


def _emptied(new: Path) -> Path:
    shutil.rmtree(new, ignore_errors=True)
    new.mkdir(exist_ok=True)
    return new


def _release(held: int | None, work: Path, made: list[Path]) -> None:
    lock.let_go(held, work)
    with contextlib.suppress(OSError):
        for folder in made:  # those that hold nothing after all
            folder.rmdir()
