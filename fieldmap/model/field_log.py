"""What happened on the beds: plantings, losses to frost, last days, and lows."""

from datetime import date
from typing import Literal, NamedTuple

What = Literal["planted", "lost", "held", "low"]
WHATS: tuple[What, ...] = ("planted", "lost", "held", "low")


class Happened(NamedTuple):
    """One line of a grower's book.

    Attributes
    ----------
    what
        "planted": sown or set out; "lost": taken by frost; "held": still standing, for
        the last time; "low": a minimum read on the bed that morning.
    crop, cover
        Empty where a line needs none.
    low_c
        Of a "low" only.
    """

    line: int
    day: date
    bed: str
    what: What
    crop: str
    cover: str
    low_c: float | None
