"""What to cover tonight, by the low that is forecast."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.quantities import Units

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


def plain_low(degrees: int) -> str:
    """A forecast low with its sign and no unit, as it heads a column.

    Examples
    --------
    >>> plain_low(4), plain_low(0), plain_low(-2)
    ('+4', '0', '−2')
    """
    return f"{degrees:+d}".replace("-", "−") if degrees else "0"
