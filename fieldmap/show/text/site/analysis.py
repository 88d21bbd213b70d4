"""What the analysis of the ground could not know, what was seen there, and its steps."""

import geopandas as gpd

from fieldmap.model.estimate import rounded_c
from fieldmap.model.fact import Fact
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill

SKIES = (later("clear sky"), later("typical sky"))
TEXTS = texts(__name__, "texts")
COMPARED = texts(__name__, "compared")


def _mark(fact: Fact, units: Units) -> str:
    """What was seen on a piece of ground, and whether the computed fields agree."""
    compared = COMPARED[fact["compared"]]
    if not isinstance(compared, str):
        compared = compared[fact["seen"]]
    values = {**fact.values, "compared": _(compared)}
    said = fill(TEXTS["seen"], units, **values)
    if rounded_c(fact["offset_c"]) == 0:
        return said
    return f"{said} {fill(TEXTS['taken'], units, difference=fact['offset_c'])}"


def _drains_in(fact: Fact, units: Units) -> str:
    directions = ", ".join(map(quantities.direction, fact["bearings_deg"]))
    return fill(TEXTS[fact.kind], units, directions=directions, **fact.values)


def named_pockets(pockets: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Cold pockets with a `name`, and with what each lies `behind` in words."""
    names = [
        _("cold pocket {number}").format(number=number)
        for number in range(1, len(pockets) + 1)
    ]
    behind = [
        name or (kind and _(kind))
        for name, kind in zip(pockets["behind"], pockets["behind_kind"], strict=True)
    ]
    found = pockets.drop(columns="behind_kind").assign(behind=behind)
    found.insert(0, "name", names)
    return found


SENTENCES: dict[str, Sentence] = {
    "drains_in_from_afar": _drains_in,
    "drains_in_over_the_edge": _drains_in,
    "mark": _mark,
}
