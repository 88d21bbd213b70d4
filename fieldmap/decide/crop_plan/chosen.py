"""What goes where, as the list by week asks for it."""

from collections.abc import Iterator, Mapping, Sequence

from fieldmap.decide.crop_plan.bed_classes import FloorBed, LitBed
from fieldmap.decide.crop_plan.growing_windows import AUTUMN, WINTER
from fieldmap.decide.crop_plan.model import CoverUse, CropPlan, GreenManure, Stay
from fieldmap.decide.crop_plan.sowings.asked import SUCCESSION
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.weekly_jobs.job import BedSet, Job
from fieldmap.decide.weekly_jobs.lead_times import HOOP_WEEKS
from fieldmap.decide.weekly_jobs.of_crop import (
    Covering,
    CropOnBeds,
    PlannedBeds,
    Shaded,
    dated,
)
from fieldmap.model.crops import Crop
from fieldmap.model.season_year import DAYS
from layers.cover import COVERS

Kind = str | None  # of a cover


def chosen(
    crop_plan: CropPlan, ranked: Sequence[RankedBed]
) -> Mapping[str, Sequence[PlannedBeds]] | None:
    """Beds by crop, those with the same part of the year and the same covers together.

    Beds of two groups of the early order stay apart: each has its own days. None where
    what goes where is not known.

    Parameters
    ----------
    crop_plan
        What goes where.
    ranked
        Beds outdoors, with their groups of the early order.
    """
    if not crop_plan.is_known:
        return None
    group_of = {each.bed.name: each.earliness.group for each in ranked}
    groups: dict[tuple[object, ...], list[Stay]] = {}
    for stay in crop_plan.stays:
        # Whole beds begin as soon as each of them lets it, so their days do not part them.
        days = (stay.from_day, stay.harvest_day) if _is_dated(stay) else None
        covered = _covered(stay) if days is not None else ()
        group = group_of.get(stay.bed)
        nights = *_nights(stay), _lies_throughout(stay)
        key = stay.crop, stay.season, days, *nights, _shade(stay), covered, group
        groups.setdefault(key, []).append(stay)
    found: dict[str, list[PlannedBeds]] = {}
    for same in groups.values():
        ahead, behind = _nights(same[0])
        found.setdefault(same[0].crop, []).append(
            PlannedBeds(
                season=same[0].season,
                beds=frozenset(stay.bed for stay in same),
                ahead=ahead,
                behind=behind,
                from_day=min(stay.from_day for stay in same),
                harvest_day=_first_pick(same),
                to_day=max(stay.to_day for stay in same),
                shade=_shade(same[0]),
                is_dated=_is_dated(same[0]),
                parts=_parts(same),
                covered=_covered(same[0]) if _is_dated(same[0]) else (),
                ahead_until=_ahead_until(same),
            )
        )
    return found


def _shade(stay: Stay) -> Shaded | None:
    """Cloth over a stay, from its first day to its last."""
    cloth = [use for use in stay.covers if COVERS[use.kind].kind == "shade cloth"]
    return Shaded(cloth[0].kind, cloth[0].from_day, cloth[0].to_day) if cloth else None


def more_jobs(
    crop_plan: CropPlan, beds: Sequence[LitBed], crops: Sequence[Crop]
) -> list[Job]:
    """Jobs of what is sown for the soil, and on beds inside walk-in tunnels.

    Parameters
    ----------
    crop_plan
        What goes where, with what is sown for the soil.
    beds
        All beds of the crop plan, those inside tunnels last.
    crops
        Crops of all stays inside tunnels.
    """
    places = {each.bed.name: at for at, each in enumerate(beds)}
    return [
        *_green_jobs(crop_plan, beds, places),
        *_tunnel_jobs(crop_plan, beds, crops),
    ]


def _tunnel_jobs(
    crop_plan: CropPlan, beds: Sequence[LitBed], crops: Sequence[Crop]
) -> Iterator[Job]:
    inside = [at for at, each in enumerate(beds) if isinstance(each, FloorBed)]
    names = {beds[at].bed.name for at in inside}
    by_name = {crop.name: crop for crop in crops}
    alike: dict[tuple[str, int, int, int, tuple[Covering, ...]], list[Stay]] = {}
    for stay in crop_plan.stays:
        if stay.bed in names:
            days = stay.from_day, stay.harvest_day, stay.to_day
            key = stay.crop, *days, _covered(stay)
            alike.setdefault(key, []).append(stay)
    for (crop, *_), same in alike.items():
        there = {stay.bed for stay in same}
        places = tuple(at for at in inside if beds[at].bed.name in there)
        planned = PlannedBeds(
            season=same[0].season,
            beds=frozenset(there),
            ahead=None,
            behind=None,
            from_day=same[0].from_day,
            harvest_day=_first_pick(same),
            to_day=same[0].to_day,
            is_dated=True,
            parts=_parts(same),
        )
        on = BedSet.of("", beds, places)._replace(parts=planned.parts)
        row = CropOnBeds(by_name[crop], on, places, planned)
        yield from dated(row, planned)
        for over in _covered(same[0]):
            # Fabric is all that goes over a bed inside, see `BedClass.night_covers`.
            yield row.job("set_hoops", over.from_day - 7 * HOOP_WEEKS["fabric"])
            yield row.job("inner_fabric_on", over.from_day, over.kind)
            yield row.job("inner_fabric_off", over.to_day, over.kind)


def _parts(
    same: Sequence[Stay | GreenManure],
) -> tuple[tuple[str, float, float], ...]:
    """Beds of which a part is taken, and the metres from their gate ends."""
    return tuple(
        (each.bed, each.part.start_m, each.part.end_m)
        for each in same
        if each.part is not None
    )


def _green_jobs(
    crop_plan: CropPlan, beds: Sequence[LitBed], places: Mapping[str, int]
) -> list[Job]:
    """When what is sown for the soil goes in and is turned in, those of a day together.

    What ends with the year is left to the winter.
    """
    groups: dict[tuple[str, str, int, bool], list[GreenManure]] = {}
    for each in crop_plan.green:
        # Parts are named with their metres, so whole beds have a job of their own.
        is_whole = each.part is None
        sown = "sow_green", each.kind, each.from_day, is_whole
        groups.setdefault(sown, []).append(each)
        if each.to_day != DAYS:
            turned = "turn_in_green", each.kind, each.to_day, is_whole
            groups.setdefault(turned, []).append(each)
    return [
        Job(
            job,
            day,
            kind,
            BedSet.of("", beds, sorted({places[each.bed] for each in same}))._replace(
                parts=_parts(same)
            ),
            begun=max(each.from_day for each in same) if day > DAYS else None,
        )
        for (job, kind, day, _), same in groups.items()
    ]


def _is_dated(stay: Stay) -> bool:
    """Whether it begins on a day of its own, and not as soon as its bed lets it."""
    return stay.part is not None or stay.season in (WINTER, SUCCESSION)


def _first_pick(same: Sequence[Stay]) -> int:
    """First day on which any of them is meant to be picked."""
    return min(
        stay.harvest_day
        if stay.picked is None
        else max(stay.harvest_day, stay.picked[0])
        for stay in same
    )


def _covered(stay: Stay) -> tuple[Covering, ...]:
    """Its covers for nights."""
    return tuple(
        Covering(use.kind, use.from_day, use.to_day)
        for use in stay.covers
        if COVERS[use.kind].kind != "shade cloth"
    )


def _nights(stay: Stay) -> tuple[Kind, Kind]:
    """Covers of its nights, in spring and in autumn: one that never comes off is both."""
    nights = _of_nights(stay)
    ahead = [use.kind for use in nights if _is_ahead(stay, use.from_day)]
    behind = [
        use.kind
        for use in nights
        if not _is_ahead(stay, use.from_day) or use.to_day >= stay.to_day
    ]
    return next(iter(ahead), None), next(iter(behind), None)


def _lies_throughout(stay: Stay) -> bool:
    return any(
        _is_ahead(stay, use.from_day) and use.to_day >= stay.to_day
        for use in _of_nights(stay)
    )


def _ahead_until(same: Sequence[Stay]) -> int | None:
    """Last day of the covers of spring, of all beds together; None without any."""
    last = [
        use.to_day
        for stay in same
        for use in _of_nights(stay)
        if _is_ahead(stay, use.from_day)
    ]
    return max(last, default=None)


def _of_nights(stay: Stay) -> list[CoverUse]:
    return [use for use in stay.covers if COVERS[use.kind].kind != "shade cloth"]


def _is_ahead(stay: Stay, from_day: int) -> bool:
    # A crop for autumn may be sown under its cover, which is still for the end of its time.
    return stay.season != AUTUMN and from_day <= stay.from_day
