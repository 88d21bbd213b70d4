"""What comes onto the landowner's ground: a line each of what is agreed."""

from collections.abc import Iterator, Sequence

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.decide.materials import fence
from fieldmap.decide.materials.watering.model import Pipes
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.show.print.ground.site_plan import SitePlan
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill

THINGS = texts("fieldmap.show.text.print.landowner", "things")
LEAST_EARTH_M3 = 0.5  # that is written: less rounds to none


def planted_m2(drawn: SitePlan) -> float:
    """Ground of all beds, without the paths, as it is written in both places."""
    return round(sum((bed.area_m2 for bed in drawn.beds), 0.0), 0)


def things(
    drawn: SitePlan,
    crop_plan: CropPlan,
    around: Sequence[fence.Fence] = (),
    pipes: Pipes | None = None,
    later: Sequence[str] = (),
) -> tuple[tuple[str, ...], ...]:
    """What comes onto the ground, and what the plan has of it.

    Parameters
    ----------
    drawn
        What drawings of the ground show.
    crop_plan
        Which beds stay in grass.
    around
        The fence of each plot that gets one this year.
    pipes
        What waters the beds; None where no bed is watered.
    later
        Plots whose fence waits, as nothing is made there this year.
    """
    units = drawn.units
    return (
        _beds(drawn, crop_plan),
        *(
            _thing("tunnel", units, tunnel=each.name, **dict(each.size))
            for each in drawn.tunnels
        ),
        *_dug(drawn.tunnels, units),
        _thing("hoops", units),
        *_fence(around, later, units),
        _pipe(pipes, units),
        _thing("old", units),
    )


def _beds(drawn: SitePlan, crop_plan: CropPlan) -> tuple[str, ...]:
    """How many beds on how much ground, and how many of them are not cropped."""
    area_m2 = planted_m2(drawn)
    what, beds = _thing("beds", drawn.units, number=len(drawn.beds), area_m2=area_m2)
    in_grass = {bed.name for bed in drawn.beds} & set(crop_plan.untended)
    if in_grass:
        beds = _(THINGS["in_grass"]).format(beds=beds, number=len(in_grass))
    return what, beds


def _fence(
    around: Sequence[fence.Fence], later: Sequence[str], units: Units
) -> Iterator[tuple[str, ...]]:
    """How much wire there is to be, and which plots have no fence yet."""
    length_m = float(sum(round(each.length_m) for each in around))
    what, said = _thing("fence", units, length_m=length_m, height_m=fence.HEIGHT_M)
    if later:
        plots = names.listed(later)
        kind = "fence_and_later" if around else "fence_later"
        yield what, _(THINGS[kind]).format(fence=said, plots=plots)
    elif around:
        yield what, said


def _pipe(pipes: Pipes | None, units: Units) -> tuple[str, ...]:
    """How much pipe brings the water, where a tap is known."""
    if pipes is None or pipes.main_m is None:
        return _thing("water_unknown", units)
    pipe = quantities.whole_length(pipes.main_m, units)
    return _thing("water", units, pipe=pipe, tap=pipes.tap)


def _dug(tunnels: Sequence[TunnelPlace], units: Units) -> Iterator[tuple[str, ...]]:
    """What the places of the tunnels need of the ground: drains, and earth to move."""
    drains = [
        fill(THINGS["drain"], units, tunnel=each.name, drain_m=each.rain.drain_m)
        for each in tunnels
        if each.rain.drain_m
    ]
    if drains:
        yield _(THINGS["drains"]), ", ".join(drains)
    earth_m3 = sum(each.ground.level_pad_m3 for each in tunnels)
    if earth_m3 >= LEAST_EARTH_M3:
        yield _thing("earth", units, earth_m3=earth_m3)


def _thing(kind: str, units: Units, **values: object) -> tuple[str, ...]:
    """What comes onto the ground, and how much of it."""
    return tuple(fill(text, units, **values) for text in THINGS[kind])
