"""`observed.toml` to what it says was learnt."""

from pathlib import Path

from pydantic import ValidationError

from fieldmap.errors import Problem, joined, problem, site_error
from fieldmap.model.observed import FILE, Observed
from fieldmap.read import door
from fieldmap.read.toml import read_table
from fieldmap.read.wording import said_by


def read_observed(folder: Path) -> Observed | None:
    """What was learnt on the spot, None where nothing has been.

    Raises
    ------
    SiteError
        When the file is not as `fieldmap observe` wrote it.
    """
    if not door.is_there(folder, FILE):
        return None
    file = door.open_file(folder, FILE, door.MOST_BYTES_OF_TOML)
    try:
        return Observed.model_validate(read_table(file))
    except ValidationError as error:
        detail = error.errors()[0]
        said: Problem | str = detail["msg"]
        if detail["type"] == "value_error":
            said = joined("Value error, ", said_by(detail))
        raise site_error(
            "{file}: {where} cannot be used ({problem}); it is written by"
            " `fieldmap observe`: run that again, or delete the file.",
            file=FILE,
            where=".".join(map(str, detail["loc"])) or problem("the file"),
            problem=said,
        ) from error
