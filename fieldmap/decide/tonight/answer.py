"""How likely a crop comes through a night, bare and under each cover that may be used."""

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Literal, NamedTuple, get_args

from fieldmap.model.estimate import Estimate
from layers.cover import COVERS, Range

# sure: unharmed at worst; likely: unharmed as things are likely; unsure: rather harmed,
# though it may come through; harmed: hardly any comes through.
Odds = Literal["sure", "likely", "unsure", "harmed"]
ODDS: tuple[Odds, ...] = get_args(Odds)
# Under this chance nothing is tried, and a cover that betters it by less is not worth
# the walk. Chances count in tenths: finer would be false (choices, no source).
LEAST_CHANCE, LEAST_BETTER = 0.3, 0.1
# Of the standard normal law: worst air is the coldest of ten.
TENTH_OF_NORMAL = 1.2816

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


class Option(NamedTuple):
    """A cover that betters the odds of a crop.

    Attributes
    ----------
    kind
        In the names of `layers.cover`.
    saved_share
        Of the crop against no cover, in tenths.
    """

    kind: str
    odds: Odds
    saved_share: float


class Outlook(NamedTuple):
    """A crop on one night.

    Attributes
    ----------
    bare
        Its odds without a cover.
    options
        Covers that better them, the least warm first.
    """

    bare: Odds
    options: tuple[Option, ...]


def usable(owned: Iterable[str], chosen: Iterable[str] | None) -> tuple[str, ...]:
    """Covers owned that warm, and of them those chosen for a crop."""
    kinds = set(owned) if chosen is None else set(owned) & set(chosen)
    single = tuple(kind for kind in WARMING if kind in kinds)
    return (*single, PAIR) if set(PAIR_OF) <= kinds else single


def parts_of(kind: str) -> tuple[str, ...]:
    """What is laid for a cover: two of them for the pair."""
    return PAIR_OF if kind == PAIR else (kind,)


@lru_cache(maxsize=20_000)  # beds with one air and crop share an answer
def outlook(
    limit_c: Estimate,
    bare: Bare,
    covers: tuple[str, ...],
    lies: str = "",
    *,
    is_still: bool,
) -> Outlook:
    """How a crop comes through a night bare, and the covers that better its odds.

    Parameters
    ----------
    limit_c
        Temperature at the screen, at which the crop is harmed [°C]; high is the safest.
    bare
        Air on the bed without a cover.
    covers
        Kinds of cover that may be used for it, in the names of `layers.cover`.
    lies
        The kind that lies there already: it is closed though it betters the odds by
        less than is worth a walk with another; "" for none.
    is_still
        Whether the night is clear and calm.
    """
    nothing = Range.only(0.0)
    now = odds(limit_c, bare, nothing, is_still=is_still)
    if now == "sure":
        return Outlook(now, ())
    without = chance(limit_c, bare, nothing)
    options = []
    for kind in sorted(covers, key=by_worth):
        cover = COVERS[kind]
        gain_c = cover.gain_c if is_still else cover.windy_gain_c
        under = odds(limit_c, bare, gain_c, is_still=is_still)
        better = round(chance(limit_c, bare, gain_c) - without, 1)
        is_worth_it = better >= LEAST_BETTER or (kind == lies and better >= 0)
        if under != "harmed" and is_worth_it:
            options.append(Option(kind, under, better))
    return Outlook(now, tuple(options))


def odds(limit_c: Estimate, bare: Bare, gain_c: Range, *, is_still: bool) -> Odds:
    """Odds of a crop in words, under a cover of some worth.

    Parameters
    ----------
    limit_c
        Temperature at the screen, at which the crop is harmed [°C]; high is the safest.
    bare
        Air on the bed without a cover.
    gain_c
        What the cover is worth [°C]: least, likely and most; 0 for none.
    is_still
        Whether the night is clear and calm: then the safest limit counts, else the
        middle one.
    """
    # Leaves are colder than the screen on clear calm nights only; on others the middle
    # value stays as what a forecast may be out by (a choice, no source).
    surely_c = limit_c.high if is_still else limit_c.central
    if bare.worst_c + gain_c.low > surely_c:
        return "sure"
    if bare.likely_c + gain_c.central > limit_c.central:
        return "likely"
    is_tried = chance(limit_c, bare, gain_c) >= LEAST_CHANCE
    return "unsure" if is_tried else "harmed"


def chance(limit_c: Estimate, bare: Bare, gain_c: Range) -> float:
    """Chance that leaves stay over their limit, 0 to 1.

    Likely air, gain and limit are middles of a normal law; ranges of limits and gains are
    triangular, as dates draw them, and worst air is the coldest of ten.

    Parameters
    ----------
    limit_c
        Temperature at the screen, at which the crop is harmed [°C].
    bare
        Air on the bed without a cover.
    gain_c
        What the cover is worth [°C]: least, likely and most; 0 for none.

    Examples
    --------
    Air 1 °C under the limit with nothing else unknown but a coldest of ten 1.2816 °C
    lower: one standard deviation, by any table of the normal law.

    >>> bare = Bare(-2.2816, -1.0)
    >>> round(chance(Estimate(0.0, 0.0, 0.0), bare, Range.only(0.0)), 4)
    0.1587
    """
    over_c = bare.likely_c + gain_c.central - limit_c.central
    parts_c2 = (
        ((bare.likely_c - bare.worst_c) / TENTH_OF_NORMAL) ** 2,
        _variance(*limit_c),
        _variance(*gain_c),
    )
    spread_c = math.sqrt(sum(parts_c2))
    if not spread_c:
        return float(over_c > 0)
    return (1 + math.erf(over_c / spread_c / math.sqrt(2))) / 2


def _variance(low: float, middle: float, high: float) -> float:
    """Of a triangular law.

    Examples
    --------
    >>> _variance(0.0, 3.0, 6.0)
    1.5
    """
    squares = low**2 + middle**2 + high**2
    return (squares - low * middle - low * high - middle * high) / 18


def by_worth(kind: str) -> float:
    """Likely worth of a cover on a still night."""
    return COVERS[kind].gain_c.central
