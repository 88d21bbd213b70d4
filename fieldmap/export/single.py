"""One file where the user says: never over a stranger's, written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from fieldmap.errors import PlanError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


def check_place(
    file: Path, endings: Sequence[str], is_ours: Callable[[str], bool], ours: str
) -> None:
    """Raise PlanError unless such a file may be written there.

    Called before the work starts, so that nobody waits for a refusal.

    Parameters
    ----------
    endings
        Those that its name may have; the first is proposed.
    is_ours
        Whether the text of a file that is there is one of an earlier run.
    ours
        What such a file is, as in "is not a page of an earlier evening".
    """
    if file.suffix.lower() not in endings:
        raise PlanError(
            f"--out is {file}; give the name of a file that ends in {endings[0]}"
        )
    if not file.parent.is_dir():
        raise PlanError(f"there is no folder {file.parent}; make it, or give another")
    if file.is_symlink() or (file.exists() and not _holds(file, is_ours)):
        raise PlanError(
            f"{file} is not {ours}, so it is left alone; give another name with --out, "
            "or move it away"
        )


def _holds(file: Path, is_ours: Callable[[str], bool]) -> bool:
    try:
        return is_ours(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False


def write(text: str, file: Path) -> None:
    """Write a text whole or not at all.

    Raises
    ------
    PlanError
        When the place cannot be written.
    """
    beside: Path | None = None
    try:
        handle, name = tempfile.mkstemp(prefix=f".{file.name}-", dir=file.parent)
        beside = Path(name)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write(text)
        beside.chmod(0o644)
        beside.replace(file)
    except OSError as error:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise PlanError(
            f"{file} could not be written ({error.strerror}); free some space or give "
            "another file with --out; nothing was left behind"
        ) from error
