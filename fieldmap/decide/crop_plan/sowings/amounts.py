"""Rows, plants, seed and harvest of a length of bed, and the other way round."""

import math

from fieldmap.decide.crop_plan.model import Amounts
from fieldmap.model.crops import Crop

# Between the outer row and the edge of the bed (common practice, no source).
EDGE_M = 0.075
# In trays one seed in five does not come to a plant worth setting out (common practice,
# no source).
TRAY_SHARE = 0.8
STEP_M = 0.5  # a sowing is pegged in steps of this (a choice)
ROUNDING = 1e-6


def rows_on(width_m: float, path_within_m: float, rows_m: float) -> int:
    """Rows side by side on a bed, one at the least on each of its strips.

    Parameters
    ----------
    width_m
        Width of the bed, with the path within it.
    path_within_m
        Width of the path between the two strips under one hoop; 0 for one strip.
    rows_m
        Distance between two rows.

    Examples
    --------
    >>> rows_on(0.75, 0.0, 0.3), rows_on(0.75, 0.0, 1.0), rows_on(1.95, 0.45, 0.3)
    (3, 1, 6)
    """
    # Each strip has edges of its own, also along the path between them.
    strips = 2 if path_within_m else 1
    strip_m = (width_m - path_within_m) / strips
    between = max(strip_m - 2 * EDGE_M, 0.0)
    return strips * (1 + math.floor(between / rows_m + ROUNDING))


def row_m_for_plants(crop: Crop, plants: float) -> float:
    """Metres of row on which a number of plants stands."""
    assert crop.spacing is not None
    return plants * crop.spacing.in_row_m


def row_m_for_harvest(crop: Crop, amount: float, losses: float) -> float:
    """Metres of row that bear an amount of the crop's unit, as is usual, after losses.

    Parameters
    ----------
    crop
        The crop, whose spacing is known where it is counted by heads, else its yield.
    amount
        Wanted, in heads or kg as the crop is counted.
    losses
        Share that is sown or set out and never picked, 0 to under 1.
    """
    kept = amount / (1 - losses)
    if crop.harvest_unit == "head":
        return row_m_for_plants(crop, kept)
    assert crop.yield_kg_m is not None
    # The middle of poor and good, as the range is said beside it (`Amounts`).
    return kept / ((crop.yield_kg_m.low + crop.yield_kg_m.high) / 2)


def in_steps(length_m: float) -> float:
    """A length rounded up to what is pegged.

    Examples
    --------
    >>> in_steps(3.92), in_steps(4.0)
    (4.0, 4.0)
    """
    return max(math.ceil(length_m / STEP_M - ROUNDING), 1) * STEP_M


def of_length(crop: Crop, rows: int, length_m: float, losses: float) -> Amounts | None:
    """What a length of bed takes and bears; None where its crop's spacing is not known.

    Parameters
    ----------
    crop
        The crop: its spacing, seed and yield.
    rows
        Rows side by side on the bed.
    length_m
        Length of the bed, or of the part of it.
    losses
        Share that is sown or set out and never picked, 0 to under 1.
    """
    if crop.spacing is None:
        return None
    row_m = rows * length_m
    plants = math.floor(row_m * crop.spacing.plants_per_m + ROUNDING)
    seeds: int | None = None
    if crop.is_set_out:
        seeds = math.ceil(plants / TRAY_SHARE - ROUNDING)
    elif crop.seeds_per_m is not None:
        seeds = math.ceil(row_m * crop.seeds_per_m.value - ROUNDING)
    low = high = None
    if crop.harvest_unit == "head":
        low = high = plants * (1 - losses)
    elif crop.yield_kg_m is not None:
        low = row_m * crop.yield_kg_m.low * (1 - losses)
        high = row_m * crop.yield_kg_m.high * (1 - losses)
    return Amounts(rows, plants, seeds, crop.harvest_unit, low, high)
