"""`observed.toml` to what it says was learnt."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import ValidationError

from fieldmap.errors import SiteError
from fieldmap.model.observed import FILE, Observed
from fieldmap.read.toml import read_table
from fieldmap.show.text.language import _

if TYPE_CHECKING:
    from pathlib import Path


def read_observed(folder: Path) -> Observed | None:
    """What was learnt on the spot, None where nothing has been.

    Raises
    ------
    SiteError
        When the file is not as `fieldmap observe` wrote it.
    """
    path = folder / FILE
    if not path.exists():
        return None
    try:
        return Observed.model_validate(read_table(path, FILE))
    except ValidationError as error:
        detail = error.errors()[0]
        where = ".".join(map(str, detail["loc"])) or _("the file")
        raise SiteError(
            _(
                "{file}: {where} cannot be used ({problem}); it is written by"
                " `fieldmap observe`: run that again, or delete the file."
            ).format(file=FILE, where=where, problem=detail["msg"])
        ) from error
