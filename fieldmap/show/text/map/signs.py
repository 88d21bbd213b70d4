"""What stands or is drawn on the map."""

from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units

KINDS = texts(__name__, "kinds")

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
