"""What someone saw, combined with what was computed."""

import numpy as np
import numpy.typing as npt
from scipy import special

Floats = npt.NDArray[np.float64]

# With less than this far out on a normal curve no number is left to divide by.
_FARTHEST = 8.0


def moved_below(
    mean: npt.ArrayLike, spread: npt.ArrayLike, middle: float, right: float
) -> Floats:
    """By how much a value moves when someone saw that it lies below a middle.

    The value is taken as normal before; what was seen is right with a chance of
    `right`, else it lies above. What moves most is a value of which it was open on which
    side it lies, by half its spread or so; one that was thought to lie far below hardly
    moves, and neither, unless `right` is 1, does one far above: what was seen is then
    taken for a mistake.

    Parameters
    ----------
    mean, spread
        What was computed and one standard deviation of it, any shape and unit; NaN
        stays NaN.
    middle
        In the same unit.
    right
        Chance that what was seen is right, from 0.5 (it tells nothing) to 1.

    Returns
    -------
    moved
        Mean after less mean before, 0 or less.

    Raises
    ------
    ValueError
        When a spread is not positive or `right` lies outside 0.5 to 1.

    Notes
    -----
    Bayes' rule; the mean of a normal law cut at the middle is that of Johnson, Kotz &
    Balakrishnan 1994, Continuous Univariate Distributions 1, section 10.1.

    Examples
    --------
    >>> print(f"{moved_below(0.0, 1.0, 0.0, 1.0):.3f}")  # -sqrt(2 / pi)
    -0.798
    >>> float(moved_below(0.0, 1.0, 0.0, 0.5))
    0.0
    """
    mean, spread = np.asarray(mean, float), np.asarray(spread, float)
    if np.any(spread <= 0):
        raise ValueError("spread must be more than 0")
    if not 0.5 <= right <= 1:
        raise ValueError(f"right must be a chance of 0.5 to 1, got {right}")
    at = np.clip((middle - mean) / spread, -_FARTHEST, _FARTHEST)
    density = np.exp(-(at**2) / 2) / np.sqrt(2 * np.pi)
    below, above = special.ndtr(at), special.ndtr(-at)
    weight = right * below / (right * below + (1 - right) * above)
    moved: Floats = spread * density * ((1 - weight) / above - weight / below)
    return moved + 0.0
