"""What did not change is not computed again: arrays and records kept in `SITE/.fieldmap/`.

A kept result is believed only where it was written by the same user of this machine:
each is sealed with a secret that lies outside the site, so that a folder from elsewhere
is computed anew. Any damage breaks the seal, and a broken seal means "compute again".

One result is computed once at a time: who asks for what another thread is computing waits
for it. `Store.ahead` computes what will be asked for later, and holds it until then.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
import pickle
import secrets
import stat
import sys
import zipfile
from collections.abc import Callable, Iterator
from concurrent.futures import Future
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import metadata, resources
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

import numpy as np

Arrays = dict[str, np.ndarray[Any, Any]]
T = TypeVar("T")

# Results kept per stage: the present choice and a few that one goes back to; of a user
# those of a few sites, of which one needs three or four tables of the sun.
KEPT, KEPT_OF_USER = 4, 9
# Pieces kept: the present ones and about as many that one goes back to, since all are
# read and written with every plan.
KEPT_OF_USED, MOST_BYTES_OF_PIECES = 2.0, 60_000_000
# A result begins with its seal: a mark of the form, and a keyed hash of all that follows.
_MARK, _SEAL_BYTES, _SECRET_BYTES = b"fieldmap kept 1\n", 32, 32
_KEY_DIGITS = 24  # of the hash in a result's name: enough that no two are the same
# A skyline of the largest grid has under 3 GB.
_MOST_BYTES = 4_000_000_000
MOST_BYTES_HASHED = 1_000_000_000
_BINARY = getattr(os, "O_BINARY", 0)
_NO_WAY_OUT = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOFOLLOW", 0)


@dataclass(frozen=True)
class Store:
    """Results of slow stages by the hash of everything that went into them.

    Attributes
    ----------
    folder
        Where results lie; made when first needed. A folder that cannot be written
        only costs time: results are then computed anew.
    keeps
        How many results of a stage, the latest.
    """

    folder: Path
    keeps: int = KEPT
    _running: dict[Path, Future[Arrays]] = field(
        default_factory=dict, repr=False, compare=False
    )
    _holds: bool = False

    def within(self, name: str) -> Store:
        """A store of its own for results that must not push out these."""
        return replace(self, folder=self.folder / name)

    def ahead(self) -> Store:
        """The same store for other threads, which ask before a result is needed.

        What they got is held until it is asked for in earnest, once.
        """
        return replace(self, _holds=True)

    def reuse(
        self,
        stage: str,
        inputs: dict[str, Any],
        compute: Callable[[], Arrays],
        awaited: Callable[[], None] = lambda: None,
    ) -> Arrays:
        """The stored arrays of a stage with these inputs, or else computed and stored.

        Parameters
        ----------
        stage
            A word for the file's name.
        inputs
            Arrays and plain values; any change of one asks for a new result, and so
            does a change of the code.
        compute
            Computes the arrays, by name, where none are stored.
        awaited
            Is called before another thread is waited for, which computes it already.
        """
        path = self._path(stage, inputs)
        mine: Future[Arrays] = Future()
        running = self._running.setdefault(path, mine)
        if running is not mine:
            if not running.done():
                awaited()
            arrays = {name: values.copy() for name, values in running.result().items()}
            self._running.pop(path, None)
            return arrays
        try:
            mine.set_result(self._stored_or_computed(path, stage, compute))
        except BaseException as error:
            mine.set_exception(error)
            self._running.pop(path, None)
            raise
        if not self._holds:
            self._running.pop(path, None)
        return mine.result()

    def recall(self, stage: str, made_of: str, compute: Callable[[], T]) -> T:
        """The record that a stage once made of the same, or else made now and kept.

        What is kept is unpickled only once its seal has been found whole: nothing that
        anybody else wrote is ever unpickled.

        Parameters
        ----------
        stage
            A word for the file's name.
        made_of
            The digest of all that the record hangs on, but code and libraries.
        compute
            Makes the record. Called only where none is kept.
        """
        made: list[T] = []

        def pickled() -> Arrays:
            made.append(compute())
            return {"record": np.frombuffer(pickle.dumps(made[0]), np.uint8)}

        kept = self.reuse(stage, _of_record(made_of), pickled)["record"]
        record: T = made[0] if made else pickle.loads(kept.data)
        return record

    def has(self, stage: str, made_of: str) -> bool:
        """Whether a record is kept, as far as one can see without reading it."""
        return self._path(stage, _of_record(made_of)).is_file()

    def _path(self, stage: str, inputs: dict[str, Any]) -> Path:
        return self.folder / f"{stage}-{key(inputs)}.npz"

    def _stored_or_computed(
        self, path: Path, stage: str, compute: Callable[[], Arrays]
    ) -> Arrays:
        stored = None if self.leads_away() else _read(path)
        if stored is not None:
            with contextlib.suppress(OSError):
                os.utime(path)
            return stored
        arrays = compute()
        if not self.leads_away():
            with contextlib.suppress(OSError):
                self.write(path, arrays)
                self._drop_old(stage)
        return arrays

    def leads_away(self) -> bool:
        """Whether the folder is a link: what lies there is not ours to change."""
        return self.folder.is_symlink() or self.folder.parent.is_symlink()

    def write(self, path: Path, arrays: Arrays) -> None:
        """Seal arrays into a file, whole or not at all."""
        self.folder.mkdir(parents=True, exist_ok=True)
        beside = path.with_suffix(f".{os.getpid()}.part")
        try:
            with beside.open("xb+") as file:
                file.write(_MARK + bytes(_SEAL_BYTES))
                np.savez(file, **arrays)  # type: ignore[arg-type]
                file.seek(len(_MARK))
                file.write(_seal(file, path.name))
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)

    def _drop_old(self, stage: str) -> None:
        """Leave the latest results of a stage, and no part that a stopped run left."""
        # By the whole form of a name: other stages may begin with the same word.
        of_stage = f"{stage}-{'[0-9a-f]' * _KEY_DIGITS}.npz"
        entries = sorted(
            self.folder.glob(of_stage), key=lambda entry: entry.stat().st_mtime
        )
        # A part of this process is one that another of its threads is writing.
        mine = f".{os.getpid()}.part"
        parts = [
            each
            for each in self.folder.glob(f"{stage}-*.part")
            if not each.name.endswith(mine)
        ]
        for entry in (*entries[: -self.keeps], *parts):
            entry.unlink(missing_ok=True)


def of_user() -> Store:
    """A store for what hangs on no site, beside the secret of the user.

    Without a home it lies nowhere, and each run computes anew.
    """
    return Store((_state_folder() or Path(os.devnull)) / "kept", KEPT_OF_USER)


class Pieces:
    """Many small results in one file of a store: pictures, pages, grids as bytes.

    They are read at once and written at once; the longest unused go when there are too
    many bytes.
    """

    def __init__(self, store: Store, name: str) -> None:
        self._store = store
        self._path = store.folder / f"{name}.npz"
        found = None if store.leads_away() else _read(self._path)
        self._pieces = dict(found or {})
        self._has_new = False
        self._used: dict[str, None] = {}
        self._installed = installed()

    def reuse(self, inputs: dict[str, Any], compute: Callable[[], bytes]) -> bytes:
        """The bytes that these inputs once gave, or else computed; see `Store.reuse`."""
        under = key({**inputs, "installed": self._installed})
        piece = self._pieces.pop(under, None)
        if piece is None:
            piece = np.frombuffer(compute(), np.uint8)
            self._has_new = True
        self._pieces[under] = piece
        self._used[under] = None
        return piece.tobytes()

    @property
    def used(self) -> Arrays:
        """Those that were asked for, the last one last."""
        return {each: self._pieces[each] for each in self._used}

    def add(self, used: Arrays) -> None:
        """Take over what was asked for in a copy of this process."""
        self._has_new |= not used.keys() <= self._pieces.keys()
        for key, piece in used.items():
            self._pieces.pop(key, None)
            self._pieces[key] = piece
            self._used[key] = None

    def keep(self) -> None:
        """Write them, where there is a new one."""
        if not self._has_new or self._store.leads_away():
            return
        total = sum(piece.nbytes for piece in self._pieces.values())
        used = sum(piece.nbytes for piece in self.used.values())
        most = min(KEPT_OF_USED * used, MOST_BYTES_OF_PIECES)
        kept = dict(self._pieces)
        for key, piece in self._pieces.items():
            if total <= most:
                break
            total -= piece.nbytes
            del kept[key]
        with contextlib.suppress(OSError):
            self._store.write(self._path, kept)


def installed() -> list[str]:
    """Python and every library with its version, as their folders are named."""
    found = {
        entry.name for place in sys.path for entry in Path(place).glob("*.dist-info")
    }
    return [sys.version, *sorted(found)]


def _read(path: Path) -> Arrays | None:
    """Stored arrays, or None where there are none with a whole seal of ours."""
    try:
        with open_regular(path, _MOST_BYTES) as file:
            mark, seal = file.read(len(_MARK)), file.read(_SEAL_BYTES)
            if mark != _MARK or not secrets.compare_digest(
                seal, _seal(file, path.name)
            ):
                return None
            file.seek(len(_MARK) + _SEAL_BYTES)
            with np.load(file, allow_pickle=False) as arrays:
                return {name: arrays[name] for name in arrays.files}
    except (OSError, ValueError, zipfile.BadZipFile, EOFError, KeyError):
        return None


def open_regular(path: Path, most_bytes: int) -> BinaryIO:
    """A regular file of no more bytes, open for reading; OSError where it is none.

    A link is none, and a pipe that nobody writes to is not waited for.
    """
    opened = os.open(path, os.O_RDONLY | _NO_WAY_OUT | _BINARY)
    found = os.fstat(opened)
    if not stat.S_ISREG(found.st_mode) or found.st_size > most_bytes:
        os.close(opened)
        raise OSError(errno.EFBIG, os.strerror(errno.EFBIG), str(path))
    return os.fdopen(opened, "rb")


def digest_of(file: Path) -> str:
    """The sha256 of a file's bytes; of a very large one, of its size and time.

    An elevation of a whole county is not read for each plan of one field in it.
    """
    found = file.stat()
    if found.st_size > MOST_BYTES_HASHED:
        return hashlib.sha256(
            f"{found.st_size} {found.st_mtime_ns}".encode()
        ).hexdigest()
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def _seal(file: BinaryIO, name: str) -> bytes:
    """The keyed hash of all that follows the seal, and of the name it is kept under."""
    digest = hashlib.blake2b(
        name.encode(), key=_secret(_state_folder()), digest_size=_SEAL_BYTES
    )
    file.seek(len(_MARK) + _SEAL_BYTES)
    for block in _blocks(file):
        digest.update(block)
    file.seek(len(_MARK))
    return digest.digest()


def _blocks(file: BinaryIO) -> Iterator[bytes]:
    while block := file.read(1 << 20):
        yield block


def _state_folder() -> Path | None:
    """Where programs of this user keep their state; None for one without a home."""
    state_home = os.environ.get("XDG_STATE_HOME") or os.environ.get("LOCALAPPDATA")
    if state_home and Path(state_home).is_absolute():
        return Path(state_home) / "fieldmap"
    try:
        return Path.home() / ".local" / "state" / "fieldmap"
    except RuntimeError:
        return None


@cache
def _secret(folder: Path | None) -> bytes:
    """The secret of this user, made when first asked for.

    Where it can be kept nowhere it lasts as long as the run, and each run computes anew.
    """
    made = secrets.token_bytes(_SECRET_BYTES)
    if folder is None:
        return made
    path = folder / "secret"
    with contextlib.suppress(OSError):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not path.is_file() or path.stat().st_size != _SECRET_BYTES:
            beside = folder / f"secret.{os.getpid()}.part"
            written = os.open(beside, os.O_CREAT | os.O_TRUNC | os.O_WRONLY, 0o600)
            with os.fdopen(written, "wb") as file:
                file.write(made)
            beside.replace(path)
        kept = path.read_bytes()
        if len(kept) == _SECRET_BYTES:
            return kept
    return made


def _of_record(made_of: str) -> dict[str, Any]:
    """What a record goes by: it is read by the libraries that wrote it alone."""
    return {"made of": made_of, "installed": installed()}


def key(inputs: dict[str, Any]) -> str:
    """What a result goes by: a hash of its inputs and of the code of both packages.

    Parameters
    ----------
    inputs
        Arrays, and values that JSON has.
    """
    digest = hashlib.sha256(code_hash().encode())
    for name in sorted(inputs):
        value = inputs[name]
        digest.update(f"\n{name}=".encode())
        if isinstance(value, np.ndarray):
            digest.update(f"{value.dtype}{value.shape}".encode())
            digest.update(np.ascontiguousarray(value).data)
        else:
            digest.update(json.dumps(value, sort_keys=True).encode())
    return digest.hexdigest()[:_KEY_DIGITS]


@cache
def code_hash() -> str:
    """Hash of the code that computes and of the data and texts beside it.

    An upgrade never reuses an older result.
    """
    digest = hashlib.sha256()
    for package in ("layers", "fieldmap"):
        folder = Path(str(resources.files(package)))
        for path in sorted(folder.rglob("*")):
            if path.is_file() and path.parent.name != "__pycache__":
                digest.update(path.read_bytes())
    for library in ("numpy", "numba", "scipy", "pvlib", "rasterio"):
        digest.update(f"{library} {metadata.version(library)}".encode())
    return digest.hexdigest()
