"""What the ground drinks, and what brings it there."""

from dataclasses import dataclass
from typing import NamedTuple

from fieldmap.model.fact import Fact

# Error of the equations without measured light, humidity and wind: Fisher & Pringle 2013
# (Agricultural Sciences 4:51) found 22.5 % against the whole of them in Mississippi.
UNSURE = 0.225


class MonthOfWater(NamedTuple):
    """A month, on days without rain.

    Attributes
    ----------
    reference_mm_day
        What well-watered grass gives off.
    litres_day, film_litres_day
        Of all beds in the week that wants most, and of those under film alone.
    """

    month: int
    reference_mm_day: float
    litres_day: float
    film_litres_day: float


class Pipes(NamedTuple):
    """Lines of drip, and what leads to them.

    Attributes
    ----------
    beds, lines
        That are planted in the year, and lines on all of them.
    drip_m
        Of all lines.
    header_m
        Along the ends of the beds of each block.
    main_m
        From the tap to the headers, straight; None where no water point is on the map.
    tap
        Its name; empty where there is none.
    """

    beds: int
    lines: int
    drip_m: float
    header_m: float
    main_m: float | None
    tap: str


class TunnelWater(NamedTuple):
    """A walk-in tunnel whose floor is full, in the month that wants most."""

    tunnel: str
    area_m2: float
    month: int
    litres_day: float


@dataclass(frozen=True)
class Watering:
    """All of it; no months without a weather record, no pipes without planted beds."""

    months: tuple[MonthOfWater, ...] = ()
    pipes: Pipes | None = None
    tunnels: tuple[TunnelWater, ...] = ()
    remarks: tuple[Fact, ...] = ()
