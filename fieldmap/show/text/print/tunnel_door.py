"""What stands on the card for the tunnel door, beside the sentences of `door_card`."""

from __future__ import annotations

from fieldmap.show.text.language import later

TITLE = later("When to open and close this tunnel")
# By the sign beside them.
CAUTIONS = {
    "heat": later("A closed tunnel in sun overheats."),
    "fumes": later("No unvented heater, no engine inside."),
    "wind": later("Lash all doors and sides before wind."),
    "snow": later("Never inside under snow."),
}
