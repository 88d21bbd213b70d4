"""The folder that a plan is handed over in: whose it is, and when it can stay as it is."""

from __future__ import annotations

import hashlib
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.errors import PlanError
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldmap.cache import Arrays, Store
    from fieldmap.model.site import Site

LIST_KEY = "files"  # in plan.json: the names of all files that belong to the folder


def check_place(folder: Path) -> None:
    """Raise PlanError unless a plan may be written to this folder.

    Called before the work starts, so that nobody waits for a refusal.
    """
    if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
        raise PlanError(
            _(
                "{folder} is a file; give a folder for the plan, or move the file away"
            ).format(folder=folder)
        )
    if not folder.exists():
        return
    strangers = sorted(names(folder) - _ours(folder))
    if strangers:
        raise PlanError(
            _(
                "{folder} holds files that are not part of a plan, such as {file}; give "
                "another folder with --out, or move them away"
            ).format(folder=folder, file=repr(strangers[0]))
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


def hand_over(
    site: Site, folder: Path, store: Store, write: Callable[[], list[str]]
) -> tuple[list[str], bool]:
    """Write a plan's folder, unless what lies there was made from all the same.

    The same is: every file of the site, the code with its texts, and every installed
    library. Then each file of the folder must still hold what was written.

    Parameters
    ----------
    write
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
        lines = write()
        return {"lines": np.array(lines), "files": np.array(_hashes(folder))}

    inputs = {
        "read": dict(site.input_hashes),
        # Some kinds of file are read with others beside them.
        "beside": _hashes(site.folder, (folder, store.folder)),
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
