"""Headings of the columns of tables, by key."""

from __future__ import annotations

from fieldmap.show.text.language import _, later
from fieldmap.show.text.map.labels import LABELS

HEADINGS = {
    "bed": later("Bed"),
    "planting": later("Planting"),
    "still_night": later("Still night"),
    "sun": later("Sun"),
    "tomatoes": later("Enough for tomatoes"),
    "ground": later("Ground"),
    "rain_water": later("Rain water"),
    "holds_longest": later("Holds longest"),
    "needs_shade": later("Needs shade"),
    "cool": later("Cool in summer"),
    "why": later("Why"),
    "tunnel": later("Tunnel"),
    "size": later("Size"),
    "points": later("Points"),
    "earth": later("Earth"),
    "gate_and_water": later("Gate and water"),
    "takes": later("Takes"),
    "plot": later("Plot"),
    "beds": later("Beds"),
    "why_this_way": later("Why this way"),
    "runner_up": later("What else would do"),
    "ridge_points": later("Ridge points"),
    "floor_light": later("Light on the floor"),
    "season_light": later("In the season of use"),
    "cold_pocket": later("Cold pocket"),
    "cold_air": later("Cold air"),
    "area": later("Area"),
    "early_spring": later("Early spring"),
    "wind_share": later("Of the open wind"),
    "what": later("What"),
    "needed": later("Needed"),
    "on_hand": later("There already"),
    "to_buy": later("To buy"),
    "cost": later("Cost"),
    "cover": later("Cover"),
    "hoops": later("Hoops"),
    "cut_each": later("Cut each"),
    "leg": later("Into the ground"),
    "cover_size": later("Cover to cut"),
    "weights": later("Weights"),
    "tape": later("Tape at its edges"),
    "out": later("Begins out from the tape"),
    "length": later("Length"),
    "crop": later("Crop"),
    "harmed_at": later("Harmed at"),
    "spring_counted": later("Last frost of spring, counted"),
    "spring_theory": later("by the bell curve"),
    "autumn_counted": later("First frost of autumn, counted"),
    "autumn_theory": later("by the bell curve in autumn"),
    "low": later("Forecast low"),
    "to_do": later("What to do"),
}


def heading(key: str) -> str:
    """One of HEADINGS, or of LABELS, in the current language; else the text itself."""
    return _(HEADINGS.get(key) or LABELS.get(key, key))
