"""The order of beds without dates: warmest on a clear calm night, then most light."""

import numpy as np
import numpy.typing as npt

from fieldmap.decide.ranking.groups import name_groups
from fieldmap.model.estimate import rounded_c

Floats = npt.NDArray[np.float64]

# Beds and plots whose light differs by a smaller share tie.
SAME_LIGHT = 0.05


def steps_c(offset_c: Floats) -> Floats:
    """Offsets in the steps that people are shown."""
    return np.array([rounded_c(each) for each in offset_c.tolist()])


def has_less_light(light: float, than: float) -> bool:
    """Whether light is less by more than a tie; negative light puts the least first.

    Examples
    --------
    >>> has_less_light(9.5, 10.0), has_less_light(9.4, 10.0)
    (False, True)
    """
    return light < than - SAME_LIGHT * abs(than)


def ranks(steps: Floats, sun: Floats) -> npt.NDArray[np.intp]:
    """Places from 1; beds of one step whose light hardly differs share one.

    Negative light puts the beds with the least first.
    """
    # The last key counts first: the warmest, and of these the brightest.
    order = np.lexsort((-sun, -steps))
    found = np.empty(len(order), np.intp)
    leader = order[0]
    for place, index in enumerate(order, start=1):
        is_colder = steps[index] < steps[leader]
        if is_colder or has_less_light(float(sun[index]), float(sun[leader])):
            leader = index
        found[index] = place if index == leader else found[leader]
    return found


def groups(steps: Floats, sun: Floats) -> list[str]:
    """Who ties with the best bed, and who with the worst."""
    first = ranks(steps, sun) == 1
    worst = np.lexsort((sun, steps))[0]
    last = (steps == steps[worst]) & (sun * (1 - SAME_LIGHT) <= sun[worst])
    return name_groups(first, last)
