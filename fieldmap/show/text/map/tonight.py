"""What to cover tonight, by the low that is forecast."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase

# What a bed is drawn as on the map of tonight.
SIGN_LABELS = texts(__name__, "sign_labels")


def low(degrees: int, units: Units) -> str:
    """A forecast low as a whole number.

    Examples
    --------
    >>> low(-2, "metric"), low(28, "us")
    ('−2 °C', '28 °F')
    """
    unit = "°F" if units == "us" else "°C"
    return f"{degrees} {unit}".replace("-", "−")


def lows(first: int, last: int, units: Units) -> str:
    """A run of forecast lows, the warmest first."""
    warmest, coldest = low(first, units), low(last, units)
    return (
        warmest if first == last else phrase("run_of_lows", low=warmest, high=coldest)
    )
