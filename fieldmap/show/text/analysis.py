"""What the analysis of the ground could not know, what was seen there, and its steps."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from fieldmap.model.offset import rounded_c
from fieldmap.model.site import DRIES_FIRST, PUDDLES, SNOW_LEAVES_FIRST, WHITE_AT_DAWN
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, later, plural

if TYPE_CHECKING:
    import geopandas as gpd

    from fieldmap.model.fact import Fact
    from fieldmap.show.text.quantities import Units
    from fieldmap.show.text.sentence import Sentence

SKIES = (later("clear sky"), later("typical sky"))
AGREES: Mapping[str, str] = {
    WHITE_AT_DAWN: later(
        "What was reckoned agrees: on still nights it is colder there than on most of "
        "the rest of the plots."
    ),
    SNOW_LEAVES_FIRST: later(
        "What was reckoned agrees: it gets more sun there in early spring than most of "
        "the rest of the plots."
    ),
    PUDDLES: later(
        "What was reckoned agrees: by the shape of the ground more water gathers there "
        "than on most of the rest of the plots."
    ),
    DRIES_FIRST: later(
        "What was reckoned agrees: by the shape of the ground less water gathers there "
        "than on most of the rest of the plots."
    ),
}
DISAGREES: Mapping[str, str] = {
    WHITE_AT_DAWN: later(
        "What was reckoned says otherwise: on still nights it is warmer there than on "
        "most of the rest of the plots. Hang a thermometer there."
    ),
    SNOW_LEAVES_FIRST: later(
        "What was reckoned says otherwise: it gets less sun there in early spring than "
        "most of the rest of the plots. Look again next spring, and feel the soil."
    ),
    PUDDLES: later(
        "The shape of the ground says otherwise: less water gathers there than on most "
        "of the rest of the plots. Look for a broken drain, a spring or packed soil."
    ),
    DRIES_FIRST: later(
        "The shape of the ground says otherwise: more water gathers there than on most "
        "of the rest of the plots. Light soil or a drain may carry it off."
    ),
}
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
    "step_skyline": later("skyline of every cell"),
    "step_sun": later("sun of twelve months"),
    "step_wind": later("shelter from the wind"),
    "step_cold_air": later("cold air of a still night"),
    "light_of_clear_sky": later(
        "Light is that of clear sky: site.toml names neither a typical_year in [files] "
        "nor monthly means in [sun], so cloud is left out."
    ),
    "water_from_beyond": later(
        "Rain water that runs onto the plots from beyond the known ground is not "
        "counted: it may gather on more ground than is shown."
    ),
    "air_at_rest": later(
        "Cold air of a clear, calm night was let run over the ground as far as it is "
        "known; on the plots it came to rest {hours} after sunset."
    ),
    "air_still_rising": later(
        "Cold air of a clear, calm night was let run over the ground as far as it is "
        "known; on the plots it was still rising at sunrise, after {hours}."
    ),
    "air_not_run": later(
        "The elevation reaches too little beyond the plots, or the night is too short "
        "there, to let cold air run. Cold air was judged from hollows and from the "
        "height of each place within {distance}; what comes from farther up is not seen."
    ),
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
    "station_off_the_elevation": later(
        "The weather station stands off the elevation: places are compared with "
        "the middle of the plots, and how the plots as a whole compare with the "
        "station is not known."
    ),
    "mark": _mark,
}
