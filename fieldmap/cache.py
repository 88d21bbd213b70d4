"""What did not change is not computed again: arrays kept in `SITE/.fieldmap/`."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import metadata, resources
from pathlib import Path
from typing import Any

import numpy as np

Arrays = dict[str, np.ndarray[Any, Any]]

# Results kept per stage: the present choice and a few that one goes back to.
KEPT = 4


@dataclass(frozen=True)
class Store:
    """Results of slow stages by the hash of everything that went into them.

    Attributes
    ----------
    folder
        Where results lie; made when first needed. A folder that cannot be written
        only costs time: results are then computed anew.
    """

    folder: Path

    def within(self, name: str) -> Store:
        """A store of its own for results that must not push out these."""
        return Store(self.folder / name)

    def reuse(
        self, stage: str, inputs: dict[str, Any], compute: Callable[[], Arrays]
    ) -> Arrays:
        """The stored arrays of a stage with these inputs, or else computed and stored.

        Parameters
        ----------
        stage
            A word for the file's name.
        inputs
            Arrays and plain values; any change of one asks for a new result, and so
            does a change of the code.
        """
        path = self.folder / f"{stage}-{_key(inputs)}.npz"
        stored = _read(path)
        if stored is not None:
            with contextlib.suppress(OSError):
                os.utime(path)
            return stored
        arrays = compute()
        with contextlib.suppress(OSError):
            self._write(path, arrays)
            self._drop_old(stage)
        return arrays

    def _write(self, path: Path, arrays: Arrays) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        beside = path.with_suffix(f".{os.getpid()}.part")
        try:
            with beside.open("wb") as file:
                np.savez(file, **arrays)  # type: ignore[arg-type]
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)

    def _drop_old(self, stage: str) -> None:
        entries = sorted(
            self.folder.glob(f"{stage}-*.npz"), key=lambda entry: entry.stat().st_mtime
        )
        for entry in entries[:-KEPT]:
            entry.unlink(missing_ok=True)


def _read(path: Path) -> Arrays | None:
    """Stored arrays, or None where there are none that can be read whole."""
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as arrays:
            return {name: arrays[name] for name in arrays.files}
    except (OSError, ValueError, zipfile.BadZipFile, EOFError):
        return None


def _key(inputs: dict[str, Any]) -> str:
    digest = hashlib.sha256(_code_hash().encode())
    for name in sorted(inputs):
        value = inputs[name]
        digest.update(f"\n{name}=".encode())
        if isinstance(value, np.ndarray):
            digest.update(f"{value.dtype}{value.shape}".encode())
            digest.update(np.ascontiguousarray(value).data)
        else:
            digest.update(json.dumps(value, sort_keys=True).encode())
    return digest.hexdigest()[:24]


@cache
def _code_hash() -> str:
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
