"""Why tunnels stand where they stand, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, later, month_name, plural
from fieldmap.show.text.sentence import say, say_all

if TYPE_CHECKING:
    from fieldmap.model.fact import Fact
    from fieldmap.show.text.quantities import Units
    from fieldmap.show.text.sentence import Sentence


def _falls(percent: float, units: Units) -> str:
    """A grade as part of a sentence."""
    fall = quantities.fall(percent, units)
    return _("is level") if fall == _("level") else fall


# ------------------------------------------------------------------ sets of places
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
def _floor_light(fact: Fact, _units: Units) -> str:
    first, last = fact["months"]
    return _(
        "Under one clear film the floor gets about {percent} % of the open light from "
        "{first} to {last} ({light} mol/m² a day)"
    ).format(
        percent=fact["percent"],
        first=month_name(first),
        last=month_name(last),
        light=fact["mol_m2_day"],
    )


def _does_not_decide(fact: Fact, units: Units) -> str:
    return plural(
        "{light}; the best and the worst bearing differ by {number} point only, so "
        "light does not decide which way it points: slope, wind, room and beds do.",
        "{light}; the best and the worst bearing differ by {number} points only, so "
        "light does not decide which way it points: slope, wind, room and beds do.",
        fact["points"],
        light=say(fact["light"], units),
    )


def _better_bearing(fact: Fact, units: Units) -> str:
    return plural(
        "{light}; pointing {bearing} it would get {number} point more.",
        "{light}; pointing {bearing} it would get {number} points more.",
        fact["points"],
        light=say(fact["light"], units),
        bearing=quantities.axis(fact["bearing_deg"]),
    )


SENTENCES: dict[str, Sentence] = {
    "step_tunnel_room": later("room for tunnels on plot {plot}"),
    "room_for_some_tunnels": later(
        "Only {placed} of {wanted} walk-in tunnels of {length} by {width} have "
        "room with working space and clearances."
    ),
    "no_room_for_tunnel": later(
        "No plot has room for a walk-in tunnel of {length} by {width} with "
        "working space and clearances."
    ),
    "usual_tunnel_set": later(
        "What fits best all in all: ground that falls little first, then winter "
        "light, then warmth on still nights."
    ),
    "tunnel_set": _tunnel_set,
    "more_light": later("{percent} % more winter light"),
    "less_light": later("{percent} % less winter light"),
    "nights": lambda fact, units: _("still nights {difference}").format(
        difference=quantities.difference(fact["difference_c"], units)
    ),
    "less_earth": later("{amount} less earth to cut for level pads"),
    "more_earth": later("{amount} more earth to cut for level pads"),
    "less_way": later("{length} less way to gate and water, all ways together"),
    "more_way": later("{length} more way to gate and water, all ways together"),
    "less_rain": later("rain of {area} less to lead round it"),
    "more_rain": later("rain of {area} more to lead round it"),
    "tunnel_slope": lambda fact, units: _(
        "The ground under it {along} along its length and {across} across."
    ).format(
        along=_falls(fact["along_percent"], units),
        across=_falls(fact["across_percent"], units),
    ),
    "tunnel_winter_light": later(
        "In the dark months it gets {percent} % of the light of the best place with "
        "room for it."
    ),
    "tunnel_still_night": lambda fact, units: _(
        "On a still night the air here is likely {difference}, beside the other "
        "places with room."
    ).format(difference=quantities.difference(fact["difference_c"], units)),
    "tunnel_earth": later(
        "A level pad cuts {level} of earth and fills as much with it; one that keeps "
        "the fall along the ridge {sloping}."
    ),
    "tunnel_room": lambda fact, _units: _(
        "Room: chosen from {number} places and bearings that keep clear of "
        "everything around."
    ).format(number=f"{fact['compared']:,}"),
    "tunnel_ground_steep": later(
        "The ground falls more than a frame takes as it is: it needs grading, or "
        "a maker who builds for slopes."
    ),
    "tunnel_rain": later(
        "Rain of {ground} above runs onto it: lead it round, and off to the {way}, "
        "not onto a neighbour."
    ),
    "no_storm_wind_given": later("Wind was left out: site.toml names no storm wind."),
    "tunnel_end_to_storm": later(
        "Its end is turned towards the storm wind from the {storm}."
    ),
    "tunnel_side_to_storm": later(
        "The storm wind from the {storm} strikes its side, {angle}° off the "
        "ridge: slope, light and beds decided, so brace it for that."
    ),
    "tunnel_sheltered": later(
        "What stands around leaves {percent} % of that wind in the open."
    ),
    "tunnel_faces_breeze": later(
        "Its sides face the summer breeze, so side vents catch it."
    ),
    "tunnel_along_breeze": later(
        "The summer breeze comes along it rather than across: open both ends too."
    ),
    "tunnel_floor_light": _floor_light,
    "tunnel_light_does_not_decide": _does_not_decide,
    "tunnel_light_best": later("{light}; no bearing gets more."),
    "tunnel_light_better": _better_bearing,
}
