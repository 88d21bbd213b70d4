"""What stands around, with all that must be known of it; what is not known is asked."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from shapely.geometry.base import BaseGeometry

from fieldmap.model.fact import Fact
from fieldmap.model.surroundings import KINDS, LEAVES
from fieldmap.read.outlines.surroundings import ASKED, HAS_HEIGHT, NOT_WIDENED
from fieldmap.read.start.outline.things import Thing, facts_in, kind_of, plain
from fieldmap.read.wording import METRES_PER_FOOT

# Puts a question to the user; None where nobody is there to answer.
Ask = Callable[[Fact], str | None]
_LENGTH = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?) *(m|ft|pies)?")
_SHARE = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?) *(%)?")
_LEAVES = {"deciduous": ("d", "caduca", "caduco"), "evergreen": ("e", "perenne", "p")}


@dataclass(frozen=True)
class Around:
    """One thing that stands or lies there.

    Attributes
    ----------
    kind
        Of `KINDS`; None where that is not known.
    attributes
        Columns of surroundings.
    missing
        Those of them that its kind needs and nobody gave.
    """

    name: str | None
    kind: str | None
    shape: BaseGeometry
    attributes: dict[str, Any]
    missing: tuple[str, ...] = ()


def complete(
    stands: Iterable[tuple[Thing, str]], unknown: Sequence[Thing], ask: Ask
) -> tuple[tuple[Around, ...], tuple[Around, ...]]:
    """Things of which all is known, and those that are left aside.

    Parameters
    ----------
    stands
        Things with their kind, one of `KINDS`.
    unknown
        Things whose kind the user is asked for.
    ask
        Puts a question to the user; its answer is None where nobody is there.
    """
    known: list[Around] = []
    aside: list[Around] = []
    for thing, kind in (*stands, *_named(unknown, ask, aside)):
        made = _completed(thing, kind, ask)
        (aside if made.missing else known).append(made)
    return tuple(known), tuple(aside)


def _named(
    unknown: Sequence[Thing], ask: Ask, aside: list[Around]
) -> Iterator[tuple[Thing, str]]:
    """Things whose kind the user says; the others go aside."""
    for thing in unknown:
        kind = None
        for _again in range(3):
            answer = ask(
                Fact("start_ask_what", name=thing.name or thing.file, kinds=list(KINDS))
            )
            if not answer:
                break
            kind = kind_of(Thing(thing.file, None, answer, thing.shape))
            if kind in KINDS:
                break
        if kind in KINDS:
            yield thing, str(kind)
        else:
            aside.append(Around(thing.name, None, thing.shape, {}, ("kind",)))


def _completed(thing: Thing, kind: str, ask: Ask) -> Around:
    known = {
        **facts_in(thing),
        **{k: v for k, v in thing.attributes.items() if v is not None},
    }
    missing = []
    for column in _needed(kind, thing.shape.geom_type):
        if known.get(column) is None:
            known[column] = _asked(column, kind, thing, ask)
        if known[column] is None:
            missing.append(column)
    wanted = {"height_m", "porosity", "clear_stem_m", "leaf", "width_m"}
    kept = {key: value for key, value in known.items() if key in wanted}
    return Around(thing.name, kind, thing.shape, kept, tuple(missing))


def _needed(kind: str, drawn_as: str) -> list[str]:
    """Columns that must be known of a kind."""
    needed = ["height_m"] if kind in HAS_HEIGHT else []
    if drawn_as != "Polygon" and kind not in NOT_WIDENED:
        needed.append("width_m")
    return needed + [column for column, kinds in ASKED.items() if kind in kinds]


def _asked(column: str, kind: str, thing: Thing, ask: Ask) -> Any:
    """What the user says of one column, None where nothing usable is said."""
    question = Fact(f"start_ask_{column}", name=thing.name or kind)
    for _again in range(3):
        answer = ask(question)
        if not answer:
            return None
        value = understood(column, answer)
        if value is not None:
            return value
    return None


def understood(column: str, answer: str) -> Any:
    """An answer as the column has it; None where it cannot be.

    >>> understood("height_m", "10 ft"), understood("porosity", "40 %")
    (3.05, 0.4)
    >>> understood("porosity", "30"), understood("porosity", "0.3")
    (0.3, 0.3)
    >>> understood("leaf", "evergreen"), understood("height_m", "tall")
    ('evergreen', None)
    """
    text = plain(answer) if column == "leaf" else answer.strip().casefold()
    if column == "leaf":
        if text in LEAVES:
            return text
        return next((leaf for leaf, words in _LEAVES.items() if text in words), None)
    found = (_SHARE if column == "porosity" else _LENGTH).fullmatch(text)
    if found is None:
        return None
    number = float(found[1].replace(",", "."))
    if column == "porosity":
        share = number / 100 if found[2] or number > 1 else number
        return share if share <= 1 else None
    return round(number * (METRES_PER_FOOT if found[2] in {"ft", "pies"} else 1.0), 2)
