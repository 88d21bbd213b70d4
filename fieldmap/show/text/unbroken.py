"""Values that stay on one line with their unit."""

import re

# Signs of units, and short words for them; what is longer may begin a line.
UNITS = (
    *("°C", "°F", "%", "km/h", "km", "cm", "mm", "m²", "m³", "m", "kg", "t", "h"),
    *("sq ft", "ft", "in", "mph", "lb"),
)
# After a number, or the place where one will stand.
_BEFORE_UNIT = re.compile(
    rf"(?<=[\d}}]) (?=(?:{'|'.join(map(re.escape, UNITS))})(?![\w²³/]))"
)


def unbroken(text: str) -> str:
    r"""A text whose numbers keep to their units: the space between never breaks a line.

    Examples
    --------
    >>> unbroken("at worst −1 °C in 10 m").split(" ")
    ['at', 'worst', '−1\xa0°C', 'in', '10\xa0m']
    >>> unbroken("2 more beds, 5 metres")
    '2 more beds, 5 metres'
    """
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)
