"""What goes where, as the list by week asks for it."""

from collections.abc import Mapping, Sequence

from fieldmap.decide.crop_plan.growing_windows import AUTUMN
from fieldmap.decide.crop_plan.model import CropPlan, Stay
from fieldmap.decide.weekly_jobs.of_crop import PlannedBeds, Shaded
from layers.cover import COVERS


def chosen(crop_plan: CropPlan) -> Mapping[str, Sequence[PlannedBeds]] | None:
    """Beds by crop, those with the same part of the year and the same covers together.

    None where what goes where is not known.
    """
    if not crop_plan.is_known:
        return None
    groups: dict[tuple[object, ...], list[Stay]] = {}
    for stay in crop_plan.stays:
        groups.setdefault(
            (stay.crop, stay.season, *_nights(stay), _shade(stay)), []
        ).append(stay)
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
            )
        )
    return found


def _shade(stay: Stay) -> Shaded | None:
    """Cloth over a stay, from its first day to its last."""
    cloth = [use for use in stay.covers if COVERS[use.kind].kind == "shade cloth"]
    return Shaded(cloth[0].kind, cloth[0].from_day, cloth[0].to_day) if cloth else None


def _nights(stay: Stay) -> tuple[str | None, str | None]:
    """Covers of its nights, in spring and in autumn."""
    nights = [use for use in stay.covers if COVERS[use.kind].kind != "shade cloth"]
    ahead = [use.kind for use in nights if _is_ahead(stay, use.from_day)]
    behind = [use.kind for use in nights if not _is_ahead(stay, use.from_day)]
    return next(iter(ahead), None), next(iter(behind), None)


def _is_ahead(stay: Stay, from_day: int) -> bool:
    return stay.season != AUTUMN and from_day <= stay.from_day
