"""Why tunnels stand where they stand, in sentences."""

from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.language import _, month_name, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, say, say_all


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
    "tunnel_set": _tunnel_set,
    "nights": lambda fact, units: _("still nights {difference}").format(
        difference=quantities.difference(fact["difference_c"], units)
    ),
    "tunnel_slope": lambda fact, units: _(
        "The ground under it {along} along its length and {across} across."
    ).format(
        along=_falls(fact["along_percent"], units),
        across=_falls(fact["across_percent"], units),
    ),
    "tunnel_still_night": lambda fact, units: _(
        "On a still night the air here is likely {difference}, beside the other "
        "places with room."
    ).format(difference=quantities.difference(fact["difference_c"], units)),
    "tunnel_room": lambda fact, _units: _(
        "Room: chosen from {number} places and bearings that keep clear of "
        "everything around."
    ).format(number=f"{fact['compared']:,}"),
    "tunnel_floor_light": _floor_light,
    "tunnel_light_does_not_decide": _does_not_decide,
    "tunnel_light_better": _better_bearing,
}
