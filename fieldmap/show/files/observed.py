"""What was learnt on the spot to `observed.toml`; written whole or not at all."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from fieldmap.errors import PlanError
from fieldmap.model.observed import FILE
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from pathlib import Path

    from fieldmap.model.observed import Observed, Range


def write_observed(learnt: Observed | None, folder: Path, readings: str) -> None:
    """Write what was learnt beside its place, then move it there.

    Where nothing was learnt an earlier file is taken away: it no longer says what the
    readings say.

    Raises
    ------
    PlanError
        When the file cannot be written.
    """
    path = folder / FILE
    beside = folder / f".{FILE}.{os.getpid()}.part"
    try:
        if learnt is None:
            path.unlink(missing_ok=True)
            return
        try:
            beside.write_text(_text(learnt, readings), encoding="utf-8")
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        why = error.strerror or str(error)
        raise PlanError(
            _(
                "{file} could not be written ({why}); free some space, or allow writing in "
                "{folder}; nothing was left behind."
            ).format(file=path, why=why, folder=folder)
        ) from error


def _text(learnt: Observed, readings: str) -> str:
    lines = [
        "# "
        + _(
            "Written by `fieldmap observe` from {readings}; delete this file to forget it."
        ).format(readings=readings),
        f'readings_sha256 = "{learnt.readings_sha256}"',
        f"clear_calm_nights = {learnt.clear_calm_nights}",
    ]
    if learnt.rate_c_per_m is not None:
        lines += [
            "",
            "# " + _("How much colder each metre deeper in the cold air is."),
            "[rate_c_per_m]",
            *_range(learnt.rate_c_per_m),
        ]
    if learnt.bias_c is not None:
        lines += [
            "",
            "# " + _("How the place runs against the station on clear calm nights."),
            "[bias_c]",
            *_range(learnt.bias_c),
        ]
    return "\n".join(lines) + "\n"


def _range(values: Range) -> list[str]:
    return [
        f"{name} = {getattr(values, name)!r}" for name in ("low", "central", "high")
    ]
