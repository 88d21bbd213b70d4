"""What stands or is drawn on the map."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

KINDS = texts(__name__, "kinds")
CHANGE_LABELS = texts(__name__, "change_labels")

# What to take care of where a thing stands.
NEAR = texts(__name__, "near")


def kind(sign: str) -> str:
    """What a sign on the map means; one that is not known stands for itself."""
    return _(KINDS.get(sign, sign))


def standing(sign: str, height_m: float | None, units: Units) -> str:
    """What stands there and how high.

    Parameters
    ----------
    sign
        Kind of thing; one that is not known stands for itself.
    height_m
        Height above the ground [m]; None where it has none.
    units
        "metric" or "us", for the height.
    """
    said = kind(sign)
    if height_m is not None:
        said = phrase("thing_and_height", units, thing=said, height_m=height_m)
    return f"{said}. {_(NEAR[sign])}" if sign in NEAR else said
