"""What goes where, as the list by week asks for it."""

from collections.abc import Mapping, Sequence

from fieldmap.decide.crop_plan.growing_windows import AUTUMN, WINTER
from fieldmap.decide.crop_plan.model import CropPlan, Stay
from fieldmap.decide.weekly_jobs.of_crop import PlannedBeds, Shaded
from layers.cover import COVERS

Kind = str | None  # of a cover


def chosen(crop_plan: CropPlan) -> Mapping[str, Sequence[PlannedBeds]] | None:
    """Beds by crop, those with the same part of the year and the same covers together.

    None where what goes where is not known.
    """
    if not crop_plan.is_known:
        return None
    groups: dict[tuple[object, ...], list[Stay]] = {}
    for stay in crop_plan.stays:
        days = (stay.from_day, stay.harvest_day) if _is_dated(stay) else None
        key = stay.crop, stay.season, days, *_nights(stay), _shade(stay)
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
                to_day=max(stay.to_day for stay in same),
                shade=_shade(same[0]),
                harvest_day=_first_pick(same) if _is_dated(same[0]) else None,
                parts=tuple(
                    (stay.bed, stay.part.start_m, stay.part.end_m)
                    for stay in same
                    if stay.part is not None
                ),
            )
        )
    return found


def _shade(stay: Stay) -> Shaded | None:
    """Cloth over a stay, from its first day to its last."""
    cloth = [use for use in stay.covers if COVERS[use.kind].kind == "shade cloth"]
    return Shaded(cloth[0].kind, cloth[0].from_day, cloth[0].to_day) if cloth else None


def _is_dated(stay: Stay) -> bool:
    """Whether it begins on a day of its own, and not as soon as its bed lets it."""
    return stay.part is not None or stay.season == WINTER


def _first_pick(same: Sequence[Stay]) -> int:
    """First day on which any of them is meant to be picked."""
    return min(
        stay.harvest_day
        if stay.picked is None
        else max(stay.harvest_day, stay.picked[0])
        for stay in same
    )


def _nights(stay: Stay) -> tuple[Kind, Kind]:
    """Covers of its nights, in spring and in autumn."""
    nights = [use for use in stay.covers if COVERS[use.kind].kind != "shade cloth"]
    ahead = [use.kind for use in nights if _is_ahead(stay, use.from_day)]
    behind = [use.kind for use in nights if not _is_ahead(stay, use.from_day)]
    return next(iter(ahead), None), next(iter(behind), None)


def _is_ahead(stay: Stay, from_day: int) -> bool:
    return stay.season != AUTUMN and from_day <= stay.from_day
