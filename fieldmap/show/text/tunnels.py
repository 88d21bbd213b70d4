"""Why tunnels stand where they stand, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later, month_name, plural
from fieldmap.show.text.sentence import say_all

if TYPE_CHECKING:
    from collections.abc import Callable

    from fieldmap.model.fact import Fact
    from fieldmap.show.text.quantities import Units
    from fieldmap.show.text.sentence import Sentence


def _falls(percent: float, units: Units) -> str:
    """A grade as part of a sentence."""
    fall = quantities.fall(percent, units)
    return _("is level") if fall == _("level") else fall


def _size(text: str) -> Sentence:
    return lambda fact, units: _(text).format(
        placed=fact["placed"],
        wanted=fact["wanted"],
        length=quantities.length(fact["length_m"], units),
        width=quantities.length(fact["width_m"], units),
    )


# ------------------------------------------------------------------ sets of places
def _by_sign(
    gain: str, loss: str, key: str, shown: Callable[[float, Units], dict[str, str]]
) -> Sentence:
    """One text for what a set gives and one for what it gives up."""
    return lambda fact, units: _(gain if fact[key] > 0 else loss).format(
        **shown(abs(fact[key]), units)
    )


def _tunnel_set(fact: Fact, units: Units) -> str:
    gives, gives_up = (
        names.listed(say_all(fact[key], units)) for key in ("gives", "gives_up")
    )
    if not gives_up:
        return _(
            "Beside A it gives {gives}; it gives up nothing in light, warmth, earth, way "
            "and water."
        ).format(gives=gives)
    return _("Beside A it gives {gives}; it gives up {gives_up}.").format(
        gives=gives, gives_up=gives_up
    )


# ------------------------------------------------------------------ light by bearing
def _floor_light(fact: Fact) -> str:
    first, last = fact["months"]
    return _(
        "Under one clear film the floor gets about {percent} % of the open light from "
        "{first} to {last} ({light} mol/m² a day)"
    ).format(
        percent=f"{fact['percent']:.0f}",
        first=month_name(first),
        last=month_name(last),
        light=f"{fact['mol_m2_day']:.0f}",
    )


def _does_not_decide(fact: Fact, _units: Units) -> str:
    return plural(
        "{light}; the best and the worst bearing differ by {number} point only, so "
        "light does not decide which way it points: slope, wind, room and beds do.",
        "{light}; the best and the worst bearing differ by {number} points only, so "
        "light does not decide which way it points: slope, wind, room and beds do.",
        round(fact["difference_points"]),
        light=_floor_light(fact),
    )


def _better_bearing(fact: Fact, _units: Units) -> str:
    return plural(
        "{light}; pointing {bearing} it would get {number} point more.",
        "{light}; pointing {bearing} it would get {number} points more.",
        round(fact["lost_points"]),
        light=_floor_light(fact),
        bearing=quantities.axis(fact["best_deg"]),
    )


SENTENCES: dict[str, Sentence] = {
    "step_tunnel_room": later("room for tunnels on plot {plot}"),
    "room_for_some_tunnels": _size(
        later(
            "Only {placed} of {wanted} walk-in tunnels of {length} by {width} have "
            "room with working space and clearances."
        )
    ),
    "no_room_for_tunnel": _size(
        later(
            "No plot has room for a walk-in tunnel of {length} by {width} with "
            "working space and clearances."
        )
    ),
    "usual_tunnel_set": later(
        "What fits best all in all: ground that falls little first, then winter "
        "light, then warmth on still nights."
    ),
    "tunnel_set": _tunnel_set,
    "set_light": _by_sign(
        later("{percent} % more winter light"),
        later("{percent} % less winter light"),
        "more",
        lambda share, _units: {"percent": f"{100 * share:.0f}"},
    ),
    "set_nights": lambda fact, units: _("still nights {difference}").format(
        difference=quantities.difference(fact["c"], units)
    ),
    "set_earth": _by_sign(
        later("{amount} less earth to cut for level pads"),
        later("{amount} more earth to cut for level pads"),
        "less",
        lambda earth_m3, units: {"amount": quantities.volume(earth_m3, units)},
    ),
    "set_way": _by_sign(
        later("{length} less way to gate and water, all ways together"),
        later("{length} more way to gate and water, all ways together"),
        "less",
        lambda way_m, units: {"length": quantities.length(round(way_m), units)},
    ),
    "set_rain": _by_sign(
        later("rain of {area} less to lead round it"),
        later("rain of {area} more to lead round it"),
        "less",
        lambda ground_m2, units: {"area": quantities.area(round(ground_m2, -1), units)},
    ),
    "tunnel_slope": lambda fact, units: _(
        "The ground under it {along} along its length and {across} across."
    ).format(along=_falls(fact["along"], units), across=_falls(fact["across"], units)),
    "tunnel_winter_light": lambda fact, _units: _(
        "In the dark months it gets {percent} % of the light of the best place with "
        "room for it."
    ).format(percent=f"{100 * fact['share']:.0f}"),
    "tunnel_still_night": lambda fact, units: _(
        "On a still night the air here is likely {difference}, beside the other "
        "places with room."
    ).format(difference=quantities.difference(fact["difference_c"], units)),
    "tunnel_earth": lambda fact, units: _(
        "A level pad cuts {level} of earth and fills as much with it; one that keeps "
        "the fall along the ridge {sloping}."
    ).format(
        level=quantities.volume(fact["level_m3"], units),
        sloping=quantities.volume(fact["sloping_m3"], units),
    ),
    "tunnel_room": lambda fact, _units: _(
        "Room: chosen from {number} places and bearings that keep clear of "
        "everything around."
    ).format(number=f"{fact['compared']:,}"),
    "tunnel_ground_steep": later(
        "The ground falls more than a frame takes as it is: it needs grading, or "
        "a maker who builds for slopes."
    ),
    "tunnel_rain": lambda fact, units: _(
        "Rain of {ground} above runs onto it: lead it round, and off to the {way}, "
        "not onto a neighbour."
    ).format(
        ground=quantities.area(round(fact["from_m2"], -1), units),
        way=quantities.direction(fact["to_deg"]),
    ),
    "no_storm_wind_given": later("Wind was left out: site.toml names no storm wind."),
    "tunnel_end_to_storm": lambda fact, _units: _(
        "Its end is turned towards the storm wind from the {storm}."
    ).format(storm=quantities.direction(fact["storm_from_deg"])),
    "tunnel_side_to_storm": lambda fact, _units: _(
        "The storm wind from the {storm} strikes its side, {angle}° off the "
        "ridge: slope, light and beds decided, so brace it for that."
    ).format(
        storm=quantities.direction(fact["storm_from_deg"]),
        angle=f"{fact['off_deg']:.0f}",
    ),
    "tunnel_sheltered": lambda fact, _units: _(
        "What stands around leaves {percent} % of that wind in the open."
    ).format(percent=f"{100 * fact['share']:.0f}"),
    "tunnel_faces_breeze": later(
        "Its sides face the summer breeze, so side vents catch it."
    ),
    "tunnel_along_breeze": later(
        "The summer breeze comes along it rather than across: open both ends too."
    ),
    "tunnel_light_does_not_decide": _does_not_decide,
    "tunnel_light_best": lambda fact, _units: _(
        "{light}; no bearing gets more."
    ).format(light=_floor_light(fact)),
    "tunnel_light_better": _better_bearing,
}
