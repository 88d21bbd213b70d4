"""How much colder or warmer than the reference, as a range."""

from typing import NamedTuple


class OffsetRange(NamedTuple):
    """Offset on a clear calm night [°C]; low is the coldest plausible."""

    low: float
    central: float
    high: float
