"""What to do with one crop on one bed, and what a bed is drawn as."""

from collections.abc import Iterable, Sequence
from typing import Literal, NamedTuple

from fieldmap.model.crops import Crop
from layers.cover import COVERS, Range

# What a bed is drawn as, over all its crops: nothing wants a hand; a crop is likely
# unharmed as it is; a cover of yours serves; it serves some crops and others are not
# saved; no cover of yours serves any crop that is at risk.
Sign = Literal["leave", "odds", "cover", "part", "lost"]

# Kinds that can warm a bed, in the names of `layers.cover`; shade cloth and insect net
# are worth nothing at night.
WARMING = (
    "light_fabric",
    "medium_fabric",
    "heavy_fabric",
    "slitted_film",
    "clear_film",
)
PAIR, PAIR_OF = "fabric_under_film", ("light_fabric", "clear_film")


class Bare(NamedTuple):
    """Air on a bed without a cover, at screen height [°C]."""

    worst_c: float
    likely_c: float


class Answer(NamedTuple):
    """What to do with one crop on one bed.

    Attributes
    ----------
    verdict
        leave: unharmed at worst; sure: unharmed at worst under `cover`; likely:
        unharmed as things are likely under `cover`, or without one where it is None;
        wanting: as likely, under a cover that is not owned or not chosen for the crop;
        lost: no cover is likely to save it.
    cover
        In the names of `layers.cover`.
    """

    verdict: Literal["leave", "sure", "likely", "wanting", "lost"]
    cover: str | None = None


def usable(owned: Iterable[str], chosen: Iterable[str] | None) -> tuple[str, ...]:
    """Covers owned that warm, and of them those chosen for a crop."""
    kinds = set(owned) if chosen is None else set(owned) & set(chosen)
    single = tuple(kind for kind in WARMING if kind in kinds)
    return (*single, PAIR) if set(PAIR_OF) <= kinds else single


def answer(crop: Crop, bare: Bare, covers: Sequence[str], *, is_still: bool) -> Answer:
    """What to do with a crop on a bed.

    Parameters
    ----------
    covers
        Those that may be used for it, in the names of `layers.cover`.
    is_still
        The night is clear and calm.
    """
    limit = crop.standing_damage_c.screen_c
    # Leaves are colder than the screen on clear calm nights only; on others the middle
    # value stays as what a forecast may be out by (a choice, no source).
    surely_c = limit.high if is_still else limit.central
    if bare.worst_c > surely_c:
        return Answer("leave")

    def worth_c(name: str) -> Range:
        cover = COVERS[name]
        return cover.gain_c if is_still else cover.windy_gain_c

    def is_sure(name: str) -> bool:
        return bare.worst_c + worth_c(name).low > surely_c

    def is_likely(name: str) -> bool:
        return bare.likely_c + worth_c(name).central > limit.central

    by_worth = sorted(covers, key=_by_worth)

    sure = [name for name in by_worth if is_sure(name)]
    if sure:
        return Answer("sure", sure[0])
    if by_worth and is_likely(by_worth[-1]):
        return Answer("likely", by_worth[-1])
    if is_likely("none"):
        return Answer("likely")
    every = sorted((*WARMING, PAIR), key=_by_worth)
    would = [n for n in every if is_sure(n)] or [n for n in every if is_likely(n)]
    return Answer("wanting", would[0]) if would else Answer("lost")


def _by_worth(name: str) -> float:
    """Likely worth of a cover on a still night."""
    return COVERS[name].gain_c.central


def sign(answers: Iterable[Answer]) -> Sign:
    """What a bed is drawn as, from the answers for all its crops."""
    here = list(answers)
    beyond = any(each.verdict in ("wanting", "lost") for each in here)
    if any(each.verdict in ("sure", "likely") and each.cover for each in here):
        return "part" if beyond else "cover"
    if beyond:
        return "lost"
    return "leave" if all(each.verdict == "leave" for each in here) else "odds"
