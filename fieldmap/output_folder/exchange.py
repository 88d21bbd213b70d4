"""A finished folder to its place in one step, so that the old or the new is whole there.

Where the system can exchange two folders at once it does. Elsewhere three renames do it,
whose names are a journal: what was finished is called `ready`, what it replaces `old`. A
run that starts after one was stopped between them completes the exchange.
"""

import contextlib
import ctypes
import errno
import os
import shutil
from functools import cache
from pathlib import Path
from typing import Any

from fieldmap.output_folder.lock import FILE

_READY, _OLD = "ready", "old"
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2
# What systems and file systems without an exchange answer.
_NO_EXCHANGE = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EOPNOTSUPP}


def publish(new: Path, place: Path) -> None:
    """Move a finished folder, on disk with all that is in it, to its place.

    Raises
    ------
    OSError
        When it cannot be; what lay there lies there still.
    """
    sync(new)
    if not (place.exists() and _exchanged(new, place)):
        _in_steps(new, place)
    _sync_folder(place.parent)


def recover(place: Path, work: Path) -> None:
    """Complete what a stopped run began in the hidden folder beside a place, and sweep."""
    ready, old = work / _READY, work / _OLD
    if ready.is_dir() and not ready.is_symlink():
        _swap_in(ready, place, old)
    elif old.is_dir() and not old.is_symlink() and not place.exists():
        old.rename(place)
    for left in work.iterdir():
        if left.name == FILE:  # of this run's own lock
            continue
        if left.is_dir() and not left.is_symlink():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink()


def _in_steps(new: Path, place: Path) -> None:
    if not place.exists():
        new.rename(place)
        return
    ready = new.with_name(_READY)
    new.rename(ready)
    _sync_folder(ready.parent)
    _swap_in(ready, place, new.with_name(_OLD))


def _swap_in(ready: Path, place: Path, old: Path) -> None:
    if place.exists():
        shutil.rmtree(old, ignore_errors=True)
        place.rename(old)
    try:
        ready.rename(place)
    except OSError:
        if old.exists():
            old.rename(place)
        raise


@cache
def _renameat2() -> Any:
    """Linux's call that can exchange two names, None where there is none."""
    try:
        return ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, TypeError, AttributeError):
        return None


def _exchanged(new: Path, place: Path) -> bool:
    """Whether two folders have changed names, at once; False where that is not known."""
    call = _renameat2()
    if call is None:
        return False
    names = os.fsencode(new), os.fsencode(place)
    if call(_AT_FDCWD, names[0], _AT_FDCWD, names[1], _RENAME_EXCHANGE) == 0:
        return True
    number = ctypes.get_errno()
    if number in _NO_EXCHANGE:
        return False
    raise OSError(number, os.strerror(number), str(place))


def sync(folder: Path) -> None:
    """See that a folder and all that is in it are on disk."""
    for inside, _folders, files in os.walk(folder, topdown=False):
        for name in files:
            with (Path(inside) / name).open("rb+") as file:
                os.fsync(file.fileno())
        _sync_folder(Path(inside))


def _sync_folder(folder: Path) -> None:
    """See that the names in a folder are on disk, where the system can tell."""
    with contextlib.suppress(PermissionError):  # Windows opens no folders
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        except OSError as error:
            if error.errno not in (errno.EINVAL, errno.EBADF, errno.ENOTSUP):
                raise
        finally:
            os.close(opened)
