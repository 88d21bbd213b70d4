"""How warm the air under a closed cover gets in sun: a balance of heat.

What light leaves under the cover and is not spent on water warms the air until the cover
loses as much to the outside:

    light x through x sensible = loss x cover over floor x lift

the steady balance by which greenhouses are vented (ASABE EP406, from memory). Heat that
goes into the ground, and wind, make it less; still air and dry ground more.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


class Assumed(NamedTuple):
    """What the lift hangs on beside the light.

    Attributes
    ----------
    through
        Share of the light that passes the cover.
    sensible
        Share of what passes that warms the air, the rest being spent on water and ground.
    loss_w_m2_k
        Heat lost through a square metre of cover for a degree.
    """

    through: float
    sensible: float
    loss_w_m2_k: float


# One clear film. Wet and full of leaves, half full, dry and bare (ASABE EP406 takes half,
# from memory); loss of one film near 6.5 W/m² a degree (from memory), more in wind.
COOL_END = Assumed(0.75, 0.3, 9.0)
MIDDLE = Assumed(0.80, 0.5, 6.5)
WARM_END = Assumed(0.85, 0.7, 5.5)


def lift_c(light_w_m2: npt.ArrayLike, cover_over_floor: float, by: Assumed) -> Array:
    """Air under a closed cover over that outside, any shape; NaN stays.

    Parameters
    ----------
    light_w_m2
        On the ground outside.
    cover_over_floor
        Area of the cover over that of the floor.
    by
        What the lift hangs on beside the light: `COOL_END`, `MIDDLE` or `WARM_END`.

    Raises
    ------
    ValueError
        When the cover is smaller than its floor.

    Examples
    --------
    800 W/m², of which 0.8 · 0.5 warm the air: 320 W over 1.6 m² that lose 6.5 W each.

    >>> lift_c(800.0, 1.6, MIDDLE).round(1).item()
    30.8
    """
    if not cover_over_floor >= 1:
        raise ValueError(f"cover_over_floor must be 1 or more, got {cover_over_floor}")
    warms = np.asarray(light_w_m2, float) * by.through * by.sensible
    return np.asarray(warms / (by.loss_w_m2_k * cover_over_floor))


def noon_w_m2(light_mj_m2_day: npt.ArrayLike, day_hours: npt.ArrayLike) -> Array:
    """Light at noon of a clear day whose light rises and falls as half a sine.

    0 where there is no day.

    Parameters
    ----------
    light_mj_m2_day
        Light of the day on level ground, any shape; NaN stays NaN.
    day_hours
        Length of the day [h].

    Examples
    --------
    12 hours with 20 MJ: 20e6 · π / (2 · 43200).

    >>> noon_w_m2(20.0, 12.0).round().item()
    727.0
    """
    seconds = np.asarray(day_hours, float) * 3600
    energy = np.asarray(light_mj_m2_day, float) * 1e6 * np.pi / 2
    return np.asarray(np.where(seconds > 0, energy / np.maximum(seconds, 1.0), 0.0))
