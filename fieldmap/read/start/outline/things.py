"""What was drawn or walked: each thing with its name, and what it is by its words."""

import re
import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from fieldmap.model.surroundings import KINDS
from fieldmap.read.wording import METRES_PER_FOOT, fault_of_name

PLOT, HOLE = "plot", "hole"
LONGEST_TEXT = 2000
LEAVES = ("deciduous", "evergreen")
OF_PLOTS_ALONE = {"ground", "soil", "wet_in_march", "bearing_deg"}
_HEIGHT = re.compile(
    r"(\d{1,3}(?:[.,]\d{1,2})?)\s*(m|metres?|meters?|metros?|ft|feet|foot|pies)\b"
)
_FEET = {"ft", "feet", "foot", "pies"}


@dataclass(frozen=True)
class Thing:
    """One shape of a file.

    Attributes
    ----------
    file
        The name of the file it came from.
    name
        As the file has it; None where it has none.
    text
        All that the file says of it, for its words.
    shape
        In longitude and latitude.
    is_walk
        Whether it is a walk as a phone records it, and no drawn line.
    seconds
        When each place of a walk was recorded, from its first; None where unknown.
    pieces
        Of a walk that was paused, or had lost the signal: it is joined from them.
    height_m
        Of a walk, as the phone measured it; None where it did not.
    attributes
        What the file says in columns of plots and surroundings.
    """

    file: str
    name: str | None
    text: str
    shape: BaseGeometry
    is_walk: bool = False
    seconds: npt.NDArray[np.float64] | None = None
    pieces: int = 1
    height_m: float | None = None
    attributes: Mapping[str, Any] = field(default_factory=dict)

    @property
    def is_point(self) -> bool:
        """Whether it is a place, and neither line nor area."""
        return self.shape.geom_type in {"Point", "MultiPoint"}


@cache
def _words() -> Mapping[str, tuple[str, ...]]:
    text = resources.files(__package__).joinpath("words.toml").read_text("utf-8")
    return {kind: tuple(entry["words"]) for kind, entry in tomllib.loads(text).items()}


def plain(text: str) -> str:
    """Small letters without accents, and words apart by single spaces.

    >>> plain("Portón_de  ABAJO")
    'porton de abajo'
    """
    split = unicodedata.normalize("NFKD", text.casefold())
    letters = "".join(each for each in split if not unicodedata.combining(each))
    return " ".join(re.sub(r"[^\w.,]|_", " ", letters).split())


def name_of(value: object) -> str | None:
    """What a thing of a file may be called; None where that cannot be a name.

    >>> name_of(" Top   Field "), name_of(None), name_of("x" * 10_000)
    ('Top Field', None, None)
    """
    text = "" if value is None else " ".join(str(value).split())
    return None if not text or fault_of_name(text) else text


def kinds_in(text: str) -> list[str]:
    """Kinds that the words of a text name, in the order of the list of words.

    >>> kinds_in("Field gate"), kinds_in("Seto del norte, 3 m"), kinds_in("Hedgehog")
    (['gate', 'plot'], ['hedge'], [])
    """
    padded = f" {plain(text).replace(',', ' ').replace('.', ' ')} "
    return [
        kind
        for kind, words in _words().items()
        if any(f" {word} " in padded for word in words)
    ]


def kind_of(thing: Thing) -> str | None:
    """What a thing is: a kind of surroundings, `PLOT` or `HOLE`; None where unknown.

    What a column `kind` says comes first, then that the file has columns which only plots
    have. Of an area, a walk or a closed line a word for
    planted ground comes before others; a place is never planted ground.
    """
    stated = str(thing.attributes.get("kind") or "").strip().casefold()
    if stated in KINDS:
        return stated
    if not thing.is_point and OF_PLOTS_ALONE & thing.attributes.keys() and not stated:
        return PLOT
    found = [kind for kind in kinds_in(f"{stated} {thing.text}") if kind not in LEAVES]
    for first in (HOLE, PLOT):
        if first in found and not thing.is_point:
            return first
    return next((kind for kind in found if kind in KINDS), None)


def facts_in(thing: Thing) -> dict[str, Any]:
    """What the words of a thing say beside its kind: `height_m` and `leaf`."""
    said: dict[str, Any] = {}
    height = _HEIGHT.search(plain(thing.text))
    if height:
        number = float(height[1].replace(",", "."))
        said["height_m"] = round(
            number * (METRES_PER_FOOT if height[2] in _FEET else 1.0), 2
        )
    leaf = [kind for kind in kinds_in(thing.text) if kind in LEAVES]
    if len(leaf) == 1:
        said["leaf"] = leaf[0]
    return said
