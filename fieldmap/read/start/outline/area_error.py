"""How far the area of a walked outline may be out, from the error of its places."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

# How long a phone's error lasts is not known: seconds by noise, minutes by reflections.
# Of these the one that moves the area most is taken; an error that lasts for the whole
# walk shifts the outline and leaves its area as it is.
LASTING_S = (5.0, 10.0, 20.0, 40.0, 80.0, 160.0, 320.0, 640.0)


def area_sd_m2(ring_m: Floats, seconds: Floats, error_m: float) -> float:
    """Standard deviation of a closed ring's area [m²].

    First order in the error: the area is a sum of products of neighbours, so it moves by
    ½ Σ (a_i δx_i + b_i δy_i) with a_i = y_{i+1} - y_{i-1} and b_i = x_{i-1} - x_{i+1}. Errors
    along the two axes are independent, and two of one axis, some seconds apart, have a
    correlation of exp(-seconds/lasting).

    Parameters
    ----------
    ring_m
        (places, 2), not closed by a repeated place.
    seconds
        Of each place.
    error_m
        Standard deviation of a place along each axis.

    Examples
    --------
    Four corners of a square of 10 m with errors of 1 m that have nothing in common:
    ½ √(8 · 10²) = 14.14 m².

    >>> square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    >>> round(area_sd_m2(square, np.arange(4) * 1e6, 1.0), 2)
    14.14
    """
    after, before = np.roll(ring_m, -1, axis=0), np.roll(ring_m, 1, axis=0)
    pull = np.column_stack([after[:, 1] - before[:, 1], before[:, 0] - after[:, 0]])
    order = np.argsort(seconds, kind="stable")
    pull, at = pull[order], seconds[order]
    apart_s = np.abs(at[:, None] - at[None, :])
    most = 0.0
    for lasting_s in LASTING_S:
        shared = np.exp(-apart_s / lasting_s)
        most = max(most, float(np.einsum("ik,ij,jk->", pull, shared, pull)))
    return 0.5 * error_m * float(np.sqrt(most))
