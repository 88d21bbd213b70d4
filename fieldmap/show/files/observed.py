"""What was learnt on the spot to `observed.toml`; written whole or not at all."""

from pathlib import Path

from fieldmap.errors import PlanError, problem
from fieldmap.model.estimate import Estimate
from fieldmap.model.observed import FILE, Observed
from fieldmap.show.files import one_file
from fieldmap.show.text.language import _
from fieldmap.show.text.review import thermometers as words


def write_observed(learnt: Observed | None, folder: Path, readings: str) -> None:
    """Write what was learnt beside its place, then move it there.

    Where nothing was learnt an earlier file is taken away: it no longer says what the
    readings say.

    Parameters
    ----------
    learnt
        What the thermometers showed of this place; None where nothing was learnt.
    folder
        Folder of the site, in which `observed.toml` lies.
    readings
        Name of the file of readings, for the remark at the top.

    Raises
    ------
    PlanError
        When the file cannot be written.
    """
    path = folder / FILE
    try:
        if learnt is None:
            path.unlink(missing_ok=True)
        else:
            one_file.replace(_text(learnt, readings), path)
    except OSError as error:
        raise PlanError(
            problem(
                "{file} could not be written ({why}); free some space, or allow writing in "
                "{folder}; nothing was left behind.",
                file=path,
                why=error.strerror or str(error),
                folder=folder,
            )
        ) from error


def _text(learnt: Observed, readings: str) -> str:
    lines = [
        f"# {_(words.WRITTEN['first']).format(readings=readings)}",
        f'readings_sha256 = "{learnt.readings_sha256}"',
        f"clear_calm_nights = {learnt.clear_calm_nights}",
    ]
    for name in ("offset_factor", "bias_c"):
        values = getattr(learnt, name)
        if values is not None:
            lines += ["", f"# {_(words.WRITTEN[name])}", f"[{name}]"]
            lines += [f"{end} = {getattr(values, end)!r}" for end in Estimate._fields]
    return "\n".join(lines) + "\n"
