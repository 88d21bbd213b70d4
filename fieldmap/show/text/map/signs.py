"""What stands or is drawn on the map."""

from fieldmap.show.text import names
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

KINDS = texts(__name__, "kinds")
CHANGE_LABELS = texts(__name__, "change_labels")

# What to take care of where a thing stands.
NEAR = texts(__name__, "near")
LEAVES, OF_TREES = texts(__name__, "leaves"), texts(__name__, "leaves_of_trees")


def words() -> dict[str, str]:
    """What all signs mean in the current language, for the page's script."""
    return {sign: kind(sign) for sign in KINDS}


def kind(sign: str) -> str:
    """What a sign on the map means; one that is not known stands for itself."""
    return _(KINDS.get(sign, sign))


def card(
    sign: str,
    units: Units,
    *,
    height_m: float | None,
    leaf: str | None,
    holds_cold_air: bool,
) -> list[str]:
    """Sentences on what stands or lies there, and what it does to beds.

    Parameters
    ----------
    sign
        Kind of thing; one that is not known stands for itself.
    units
        "metric" or "us", for the height.
    height_m
        Height above the ground [m]; None where it has none.
    leaf
        "deciduous", "evergreen" or "none"; None where it bears none.
    holds_cold_air
        Whether it stands in the way of cold air.
    """
    said = names.started(kind(sign))
    if height_m is None:
        found = [f"{said}."]
    else:
        found = [phrase("thing_and_height", units, thing=said, height_m=height_m)]
    if leaf in LEAVES:
        found.append(_((OF_TREES if sign == "trees" else LEAVES)[leaf]))
    if holds_cold_air:
        found.append(phrase("thing_holds_cold_air"))
    if sign in NEAR:
        found.append(_(NEAR[sign]))
    return found
