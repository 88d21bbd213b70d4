"""Water in words."""

from collections.abc import Iterator

from fieldmap.decide.materials.watering import MonthOfWater, Watering
from fieldmap.decide.materials.watering.model import UNSURE
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, phrase, say_all

WATER = texts(__name__, "water")


def about(found: Watering, units: Units) -> Iterator[str]:
    """Pipes, tunnels, and what the figures are worth."""
    pipes = found.pipes
    if pipes is not None:
        counts = {
            "lines": phrase("drip_lines", number=pipes.lines),
            "beds": phrase("drip_beds", number=pipes.beds),
        }
        yield fill(WATER["drip"], units, **pipes._asdict() | counts)
        if pipes.main_m is not None:
            yield fill(WATER["main"], units, **pipes._asdict())
    for tunnel in found.tunnels:
        litres = quantities.water(tunnel.litres_day, units)
        yield fill(WATER["tunnel"], units, **tunnel._asdict(), water=litres)
    yield from say_all(found.remarks, units)


def reference(month: MonthOfWater, units: Units) -> str:
    """What grass gives off in a day, as a range."""
    low, high = (
        quantities.rain(round(month.reference_mm_day * (1 + sign * UNSURE), 1), units)
        for sign in (-1, 1)
    )
    return fill(WATER["reference"], units, low=low, high=high)


def litres(litres_day: float, units: Units) -> str:
    """An amount of a day; "none" for nothing."""
    return quantities.water(litres_day, units) if litres_day else _(WATER["nothing"])
