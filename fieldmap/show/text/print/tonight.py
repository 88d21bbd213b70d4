"""What stands on the sheet for the shed wall around the list of what to cover."""

from fieldmap.show.text.language import later

TITLE = later("What to cover tonight")
HOW_TO_READ = later(
    "Take the low that is forecast for the weather station, and the line that "
    "names it. The list holds for a clear and calm night: go plot by plot, in "
    "this order. A bed that is not planted needs nothing."
)
CLOUDY = later("On a cloudy night")
WINDY = later("On a windy night")
