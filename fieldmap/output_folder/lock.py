"""A folder that one run holds at a time, until it lets go or ends in any way.

Where the system can lock a folder it does (`flock`). Windows opens no folders: there a
file in it is locked. Both are calls of the standard library; a library for them would
lock a file on every system, which whoever lets go could not take away unseen.
"""

import contextlib
import errno
import importlib
import os
import shutil
import sys
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

FILE = "lock"  # in a folder on Windows
# File systems that know no locks.
_NO_LOCKS = {errno.ENOLCK, errno.EOPNOTSUPP, errno.ENOSYS, errno.EINVAL}
_HELD = {errno.EACCES, errno.EAGAIN, errno.EDEADLK}


def take(folder: Path) -> int | None:
    """Lock a folder that is there; what it is let go by, None where there are no locks.

    Raises
    ------
    BlockingIOError
        When another run holds it.
    FileNotFoundError
        When another run that has ended took it away meanwhile.
    OSError
        When it cannot be locked.
    """
    by_file = sys.platform == "win32"
    lock = _opened(folder / FILE) if by_file else os.open(folder, os.O_RDONLY)
    try:
        return _locked(lock, folder, by_file=by_file)
    except OSError as error:
        os.close(lock)
        if error.errno in _NO_LOCKS:
            return None
        raise


def let_go(lock: int | None, folder: Path) -> None:
    """Take away all that is in a folder, and the folder, and let others have its name."""
    shutil.rmtree(folder, ignore_errors=True)  # on Windows, all but what is locked
    if lock is None:
        return
    os.close(lock)
    with contextlib.suppress(OSError):  # another run may hold it already
        (folder / FILE).unlink()
        folder.rmdir()


def _opened(file: Path) -> int:
    return os.open(file, os.O_RDWR | os.O_CREAT, 0o600)


def _locked(lock: int, folder: Path, *, by_file: bool) -> int:
    if by_file:
        lock_first_byte(lock)
        return lock
    fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    # What is locked may have lost its name to a run that has just ended.
    if not os.path.samestat(os.fstat(lock), folder.stat()):
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(folder))
    return lock


def lock_first_byte(lock: int) -> None:
    """Lock a file as Windows does; BlockingIOError where it is locked."""
    windows = importlib.import_module("msvcrt")
    try:
        windows.locking(lock, windows.LK_NBLCK, 1)
    except OSError as error:
        if error.errno in _HELD:
            raise BlockingIOError(error.errno, os.strerror(error.errno)) from error
        raise
