"""What cannot be used, or what the system refuses, in one sentence and exit code 1."""

from __future__ import annotations

import errno
import os
from typing import TYPE_CHECKING, Any

import typer
from typer.core import TyperGroup

from fieldmap.cli.here import check_here
from fieldmap.errors import FieldmapError, Problem, problem, seen

if TYPE_CHECKING:
    from collections.abc import Iterable

OUR_FAULT = problem(
    "this is a mistake in fieldmap and not in your files; send the lines above to the"
    " people who gave you fieldmap"
)
# What the system may refuse at any place, through no fault of the program.
_OF_SYSTEM = {
    *(errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS, errno.EACCES, errno.EPERM),
    *(errno.EIO, errno.EMFILE, errno.ENFILE, errno.ENOMEM),
    *(errno.ENAMETOOLONG, errno.ELOOP),
}


def refused(problems: Iterable[Problem | str]) -> int:
    """Say what is wrong; the exit code of it."""
    for each in problems:
        said = seen(" ".join(in_words(each).split("\n")))  # one line each
        typer.echo(f"fieldmap: {said}", err=True)
    return 1


def _refusal_of_system(error: OSError | MemoryError) -> Problem | None:
    """What to say where the system refuses; None where it is asked for nonsense."""
    if isinstance(error, MemoryError):
        return problem(
            "there is not enough memory; close other programs, or give heights only of"
            " the ground around the plots"
        )
    if error.errno not in _OF_SYSTEM:
        return None
    why = os.strerror(error.errno or 0)
    if error.filename is None:
        return problem(
            "the computer refused ({why}); free some space, or allow fieldmap to write",
            why=why,
        )
    return problem(
        "{file} could not be read or written ({why}); free some space, or allow"
        " fieldmap to use it",
        file=error.filename,
        why=why,
    )


def refused_by_system(error: OSError | MemoryError) -> int:
    """Say what the system refuses; the exit code of it. A mistake of ours is raised again."""
    refusal = _refusal_of_system(error)
    if refusal is None:
        error.add_note(f"fieldmap: {in_words(OUR_FAULT)}")
        raise error
    return refused((refusal,))


class Commands(TyperGroup):
    """Says what is wrong while the language of the site is still spoken."""

    def invoke(self, ctx: Any) -> Any:
        """Run one of the commands."""
        try:
            check_here()
            return super().invoke(ctx)
        except FieldmapError as error:
            raise typer.Exit(refused(error.problems)) from error
        except (OSError, MemoryError) as error:
            raise typer.Exit(refused_by_system(error)) from error
        except Exception as error:
            error.add_note(f"fieldmap: {in_words(OUR_FAULT)}")
            raise


def in_words(mistake: Problem | str) -> str:
    """A mistake in the language that is read."""
    from fieldmap.show.text.language import problem_in_words

    return problem_in_words(mistake)
