"""What happened on the beds: plantings, losses to frost, last days, and lows."""

from datetime import date
from typing import Literal, NamedTuple

from shapely.geometry import Polygon

What = Literal["planted", "lost", "held", "low"]
WHATS: tuple[What, ...] = ("planted", "lost", "held", "low")
# Jobs whose minutes may be written down, in lines whose `what` is WORKED.
WORKED = "worked"
WorkDone = Literal[
    "sow", "set_out", "hoops", "film", "cover_off", "shade_on", "shade_off"
]
WORKS: tuple[WorkDone, ...] = (
    *("sow", "set_out", "hoops", "film", "cover_off", "shade_on", "shade_off"),
)


class PastBed(NamedTuple):
    """A bed as it lay when lines of a history file were written.

    Attributes
    ----------
    file
        The history file whose lines name it; None for the beds of the layout that
        was kept last.
    until
        Day of the last such line that was written then; None in files without days.
    crops
        Of those lines, in files without days.
    outline
        In the site's CRS.
    """

    file: str | None
    bed: str
    until: date | None
    crops: tuple[str, ...]
    outline: Polygon


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


class Worked(NamedTuple):
    """How long a job took, all hands together."""

    work: WorkDone
    minutes_per_m: float
