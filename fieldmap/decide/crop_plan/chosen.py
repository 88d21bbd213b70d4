"""What goes where, as the list by week asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fieldmap.decide.crop_plan.growing_windows import AUTUMN
from fieldmap.decide.weekly_jobs import Chosen
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fieldmap.decide.crop_plan.model import Turn, Turns


def chosen(turns: Turns) -> Mapping[str, Sequence[Chosen]] | None:
    """Beds by crop, those with the same part of the year and the same covers together.

    None where what goes where is not told.
    """
    if not turns.are_told:
        return None
    groups: dict[tuple[str, str, str | None, str | None], list[Turn]] = {}
    for turn in turns.turns:
        groups.setdefault((turn.crop, turn.season, *_nights(turn)), []).append(turn)
    found: dict[str, list[Chosen]] = {}
    for (crop, season, ahead, behind), same in groups.items():
        found.setdefault(crop, []).append(
            Chosen(
                season=season,
                beds=frozenset(turn.bed for turn in same),
                ahead=ahead,
                behind=behind,
                from_day=min(turn.from_day for turn in same),
                to_day=max(turn.to_day for turn in same),
            )
        )
    return found


def _nights(turn: Turn) -> tuple[str | None, str | None]:
    """Covers of its nights, in spring and in autumn."""
    nights = [use for use in turn.covers if COVERS[use.kind].kind != "shade cloth"]
    ahead = [use.kind for use in nights if _is_ahead(turn, use.from_day)]
    behind = [use.kind for use in nights if not _is_ahead(turn, use.from_day)]
    return next(iter(ahead), None), next(iter(behind), None)


def _is_ahead(turn: Turn, from_day: int) -> bool:
    return turn.season != AUTUMN and from_day <= turn.from_day
