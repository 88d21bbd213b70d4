"""One file where the user says: never over a stranger's, written whole or not at all."""

import os
from collections.abc import Callable, Sequence
from pathlib import Path

from fieldmap.errors import PlanError, Problem, problem


def check_place(
    file: Path, endings: Sequence[str], is_ours: Callable[[str], bool], refusal: Problem
) -> None:
    """Raise PlanError unless such a file may be written there.

    Called before the work starts, so that nobody waits for a refusal.

    Parameters
    ----------
    endings
        Those that its name may have; the first is proposed.
    is_ours
        Whether the text of a file that is there is one of an earlier run.
    refusal
        Said of any other file that is there.
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
    try:
        replace(text, file)
    except OSError as error:
        raise PlanError(
            problem(
                "{file} could not be written ({why}); free some space or give another file "
                "with --out; nothing was left behind",
                file=file,
                why=error.strerror,
            )
        ) from error


def replace(text: str, file: Path) -> None:
    """Write a text beside its place, then move it there; OSError where it cannot be."""
    beside = file.with_name(f".{file.name}.{os.getpid()}.part")
    beside.touch(exist_ok=False)
    try:
        beside.write_text(text, encoding="utf-8")
        beside.replace(file)
    finally:
        beside.unlink(missing_ok=True)
