"""What the analysis of the ground could not know, what was seen there, and its steps."""

from collections.abc import Mapping

import geopandas as gpd

from fieldmap.model.fact import Fact
from fieldmap.model.offset import rounded_c
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence

SKIES = (later("clear sky"), later("typical sky"))
AGREES: Mapping[str, str] = texts(__name__, "agrees")
DISAGREES: Mapping[str, str] = texts(__name__, "disagrees")
UNCLEAR = later(
    "What was reckoned sees no real difference there to the rest of the plots."
)
COVERS_ALL = later(
    "Such marks cover all of the plots: there is nothing to compare with."
)


def _mark(fact: Fact, units: Units) -> str:
    """What was seen on a piece of ground, and whether the computed fields agree."""
    by_answer = {
        "agrees": AGREES.get(fact["seen"], UNCLEAR),
        "disagrees": DISAGREES.get(fact["seen"], UNCLEAR),
        "unclear": UNCLEAR,
        "covers all": COVERS_ALL,
    }
    said = _("{name}: you saw “{seen}”. {compared}").format(
        name=fact["name"],
        seen=_(fact["seen"]),
        compared=_(by_answer[fact["compared"]]),
    )
    if rounded_c(fact["offset_c"]) == 0:
        return said
    follows = _("By what you saw, its still nights are taken {difference}.").format(
        difference=quantities.difference(fact["offset_c"], units)
    )
    return f"{said} {follows}"


def _rate_from_thermometers(fact: Fact, units: Units) -> str:
    low, central, high = fact["rate_c_per_m"]
    return plural(
        "The degrees rest on thermometers that hung here on {number} still night: "
        "{rate} of cold air.",
        "The degrees rest on thermometers that hung here on {number} still nights: "
        "{rate} of cold air.",
        fact["nights"],
        rate=quantities.rate(low, central, high, units),
    )


def _drains_in(text: str, fact: Fact, units: Units) -> str:
    directions = [quantities.direction(each) for each in fact["bearings_deg"]]
    return _(text).format(
        distance=quantities.length(fact["distance_m"], units),
        directions=", ".join(directions),
    )


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
    "drains_in_from_afar": lambda fact, units: _drains_in(
        later(
            "Ground more than {distance} off drains onto the plots too "
            "({directions}): cold air from there is not counted, so the range is "
            "told wider."
        ),
        fact,
        units,
    ),
    "drains_in_over_the_edge": lambda fact, units: _drains_in(
        later(
            "Ground that drains onto the plots runs off the elevation ({directions}): "
            "cold air from there is not counted, so the range is told wider. An "
            "elevation that reaches at least {distance} farther there would show more."
        ),
        fact,
        units,
    ),
    "rate_from_thermometers": _rate_from_thermometers,
    "hollows_left_out": lambda fact, units: _(
        "site.toml does not say how far the heights may be out "
        "(elevation_error_m in [ground]); hollows under {depth} are left out."
    ).format(depth=quantities.short_length(fact["depth_m"], units)),
    "too_level_to_tell": lambda fact, _units: _(
        "On {percent} of the plots the ground is too level to say which place is "
        "colder; it is shown as no difference."
    ).format(percent=f"{fact['share']:.0%}"),
    "mark": _mark,
}
