"""What was drawn and answered and is not saved yet, kept on disk at each touch."""

import contextlib
import json
import os
from pathlib import Path
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    JsonValue,
    ValidationError,
)

from fieldmap.cache import open_regular
from fieldmap.errors import site_error
from fieldmap.model.settings import Files
from fieldmap.read.door import ASIDE_FILE

_FILE = "draft.json"
_MOST_BYTES = 40_000_000  # twice what a page may send
LAYERS = ("plots", "surroundings", "marks", "beds", "aside")


def file_of(layer: str, files: Files) -> str:
    """The name of the file that holds a layer."""
    return ASIDE_FILE if layer == "aside" else str(getattr(files, layer))


def _finite(value: Any) -> Any:
    """Raise ValueError where a number is none that a file could hold."""
    json.dumps(value, allow_nan=False)
    return value


def _shape_with_facts(value: Any) -> Any:
    """Raise ValueError where a table is no feature of GeoJSON (RFC 7946, 3.2)."""
    kind, facts, geometry = map(value.get, ("type", "properties", "geometry"))
    parts = {"type", "properties", "geometry"} == set(value)
    shaped = geometry is None or isinstance(geometry, dict)
    if not (parts and kind == "Feature" and isinstance(facts, dict) and shaped):
        raise ValueError
    return _finite(value)


# Of TOML: text, number, yes or no, a list of these or of tables.
Value = Annotated[JsonValue, AfterValidator(_finite)]
Feature = Annotated[dict[str, Any], AfterValidator(_shape_with_facts)]


class Answer(BaseModel):
    """A choice of `site.toml` as it was answered; None takes its line out."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    place: tuple[str, ...] = Field(min_length=1, max_length=4)
    value: Value = None


class Draft(BaseModel):
    """What the page holds.

    Attributes
    ----------
    marks, beds, aside
        None where the page does not draw them, as where they lie in metres.
    number
        Counts the touches: of a draft here and one in the browser, the page takes the later.
    base
        File -> sha256 of what it held when the draft was begun, "" where it was not there.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    number: int = Field(ge=0)
    plots: tuple[Feature, ...] = Field(max_length=5000)
    surroundings: tuple[Feature, ...] = Field(max_length=20_000)
    marks: tuple[Feature, ...] | None = Field(default=None, max_length=5000)
    beds: tuple[Feature, ...] | None = Field(default=None, max_length=20_000)
    aside: tuple[Feature, ...] | None = Field(default=None, max_length=20_000)
    answers: tuple[Answer, ...] = Field(default=(), max_length=2000)
    base: dict[str, str]

    def shapes(self, files: Files) -> dict[str, tuple[Feature, ...]]:
        """What the page draws, by the name of its file."""
        by_layer = {layer: getattr(self, layer) for layer in LAYERS}
        return {
            file_of(layer, files): shapes
            for layer, shapes in by_layer.items()
            if shapes is not None
        }


def read(folder: Path) -> Draft | None:
    """The draft in a folder; None where there is none, or none that can be read."""
    if folder.is_symlink():
        return None
    try:
        with open_regular(folder / _FILE, _MOST_BYTES) as file:
            return Draft.model_validate_json(file.read())
    except (OSError, ValidationError):
        return None


def write(folder: Path, draft: Draft) -> None:
    """Keep a draft, on disk before this returns.

    Raises
    ------
    SiteError
        When the folder is a link: what it leads to is not ours to change.
    """
    if folder.is_symlink():
        raise site_error(
            "{file} is a link; put the file itself here.", file=folder.name
        )
    folder.mkdir(parents=True, exist_ok=True)
    beside = folder / f"{_FILE}.{os.getpid()}.part"
    # A site may come from a stranger: what lies there may be a link to anywhere.
    beside.unlink(missing_ok=True)
    try:
        with beside.open("xb") as opened:
            opened.write(draft.model_dump_json().encode())
            opened.flush()
            os.fsync(opened.fileno())
        beside.replace(folder / _FILE)
    finally:
        beside.unlink(missing_ok=True)


def drop(folder: Path) -> None:
    """Forget the draft, as once it was saved."""
    with contextlib.suppress(FileNotFoundError):
        (folder / _FILE).unlink()
