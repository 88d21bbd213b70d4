"""The sentences of things on the ground: which blanks each kind has, and what may fill them.

From what the readers of a site ask of each kind, so that what the page lets stand is what
they take.
"""

from typing import Any

from fieldmap.model.site import GROUNDS, SEEN, SOILS
from fieldmap.model.surroundings import KINDS, LEAVES
from fieldmap.read.outlines.surroundings import (
    ASKED,
    HAS_HEIGHT,
    NOT_WIDENED,
    TALLEST_M,
    WIDEST_M,
)
from fieldmap.show.text.site import open_page as texts

# As what each is drawn anew; other shapes of a file stay as they are.
_AREAS = ("building", "water", "keep off", "plot", "bed", "mark")
# Kinds of other files than that of surroundings.
_LAYERS = {"plot": "plots", "bed": "beds", "mark": "marks"}
_ASKED = {"bed": ["name"], "mark": ["seen"]}
_POINTS = ("tree", "gate", "post", "water point")
# Words for the share of light seen through, 0-1 (a choice, no source; a share typed in the
# file stays as it is).
POROSITIES = {"dense": 0.2, "hand": 0.4, "open": 0.7}


def drawn_as(kind: str) -> str:
    """How a kind is drawn: "point", "line" or "area"."""
    if kind in _AREAS:
        return "area"
    return "point" if kind in _POINTS else "line"


def kinds() -> dict[str, dict[str, Any]]:
    """Of each kind its word and sentence, how it is drawn, and what must be given of it."""
    return {
        kind: {
            **text,
            "noun": texts.noun(kind),
            "drawn": drawn_as(kind),
            "layer": _LAYERS.get(kind, "surroundings"),
            "needs": needs(kind),
            "seldom": kind in ("bank", "post", "keep off"),
        }
        for kind, text in texts.kinds().items()
    }


def needs(kind: str) -> list[str]:
    """Keys without which a site cannot be read; the width only of lines and points."""
    found = [*_ASKED.get(kind, [])]
    found += ["height_m"] if kind in HAS_HEIGHT else []
    if kind in KINDS and kind not in NOT_WIDENED:
        found.append("width_m")
    return found + [key for key, asked in ASKED.items() if kind in asked]


def blanks() -> dict[str, dict[str, Any]]:
    """What may fill each blank."""
    lengths: dict[str, dict[str, Any]] = {
        "height_m": {"least": 0.01, "most": TALLEST_M},
        "width_m": {"least": 0.01, "most": WIDEST_M},
        "clear_stem_m": {"least": 0, "most": TALLEST_M},
    }
    found: dict[str, dict[str, Any]] = {
        "name": {"kind": "text"},
        **{key: {"kind": "length", **ends} for key, ends in lengths.items()},
        "porosity": {
            "kind": "choice",
            "percent": True,
            "options": [
                {"value": share, "word": texts.word(key)}
                for key, share in POROSITIES.items()
            ],
        },
        "leaf": _choice(LEAVES),
        "seen": {
            "kind": "choice",
            "options": [{"value": each, "word": texts.seen(each)} for each in SEEN],
        },
        "ground": {**_choice(GROUNDS), "optional": True},
        "soil": {**_choice(SOILS), "optional": True},
        "wet_in_march": {
            "kind": "choice",
            "optional": True,
            "options": [
                {"value": True, "word": texts.word("wet")},
                {"value": False, "word": texts.word("dry")},
            ],
        },
        "first_worked": {"kind": "day"},
    }
    return {
        key: {
            **blank,
            "empty": texts.word(key, "blanks"),
            "label": texts.word(key, "labels"),
        }
        for key, blank in found.items()
    }


def _choice(values: tuple[str, ...]) -> dict[str, Any]:
    return {
        "kind": "choice",
        "options": [{"value": each, "word": texts.word(each)} for each in values],
    }
