"""What the light of a day is good for, and when it comes."""

from typing import Literal

Enough = Literal["yes", "just", "no"]

# Light that a tomato in fruit wants, 20 to 30 mol/m²/day (Torres & Lopez, Purdue
# extension HO-238-W).
TOMATO_MOL_M2_DAY = 20.0
# Sun counts as even up to this part of it in one half of the day: a choice, no source.
EVEN_SUN = 0.6


def enough_for_tomatoes(light_mol_m2_day: float, band: float) -> Enough:
    """Whether there is light enough for tomatoes.

    Parameters
    ----------
    band
        Part of the light by which it may be out.

    Examples
    --------
    >>> [enough_for_tomatoes(mol, 0.1) for mol in (25.0, 20.5, 15.0)]
    ['yes', 'just', 'no']
    """
    if light_mol_m2_day * (1 - band) >= TOMATO_MOL_M2_DAY:
        return "yes"
    return "just" if light_mol_m2_day * (1 + band) >= TOMATO_MOL_M2_DAY else "no"


def sunnier_half(morning_share: float) -> int:
    """Half of the day that most sun comes in: 1 morning, -1 afternoon, 0 neither.

    Examples
    --------
    >>> [sunnier_half(share) for share in (0.7, 0.6, 0.5, 0.3, float("nan"))]
    [1, 0, 0, -1, 0]
    """
    return int(morning_share > EVEN_SUN) - int(morning_share < 1 - EVEN_SUN)


def half_hours(direct_hours: float) -> float:
    """Hours of sun to the half hour, as fine as they are shown."""
    return round(direct_hours * 2) / 2
