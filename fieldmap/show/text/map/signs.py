"""What stands or is drawn on the map."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later

if TYPE_CHECKING:
    from fieldmap.show.text.quantities import Units


KINDS = {
    "plot": later("plot"),
    "bed": later("bed"),
    "tunnel": later("walk-in tunnel and its ridge"),
    "pocket": later("cold pocket"),
    "mark": later("what you saw there"),
    "drain": later("cold air runs this way"),
    "choice-a": later("choice A"),
    "choice-b": later("choice B"),
    "choice-c": later("choice C"),
    "building": later("building"),
    "hedge": later("hedge"),
    "tree": later("tree"),
    "trees": later("trees"),
    "wall": later("wall"),
    "fence": later("fence"),
    "bank": later("bank of earth"),
    "water": later("water"),
    "water point": later("water point"),
    "gate": later("gate"),
    "overhead line": later("overhead line"),
    "road": later("road or track"),
    "keep off": later("keep off"),
    "gone": later("goes in this change"),
    "new": later("comes in this change"),
}

# What must be minded where a thing stands.
NEAR = {
    "overhead line": later(
        "Keep the longest pipe plus the legal clearance away from it; carry "
        "pipes flat. The line's owner decides."
    ),
    "keep off": later("No post, stake or bed here."),
}

CHANGE_LABELS = {"gone": later("taken away"), "new": later("new")}


def kind(sign: str) -> str:
    """What a sign on the map means; one that is not known stands for itself."""
    return _(KINDS.get(sign, sign))


def standing(sign: str, height_m: float | None, units: Units) -> str:
    """What stands there and how high."""
    told = kind(sign)
    if height_m is not None:
        told = _("{thing}, {height} high").format(
            thing=told, height=quantities.length(height_m, units)
        )
    return f"{told}. {_(NEAR[sign])}" if sign in NEAR else told
