"""Hoops over a bed: how long, how high, how many, and what wind does to their cover.

Only geometry and orders of magnitude: nothing here is a structural design.
"""

from collections.abc import Callable
from math import atan, ceil, inf, isfinite, log1p, sinh, sqrt
from typing import Literal

from scipy import optimize, special

Curve = Literal["half ellipse", "circular arc", "catenary"]

HALF_AIR_DENSITY = 0.613  # [kg/m³] of air at 15 °C and sea level, halved
# From memory, 0.7 to 1.0 for arched roofs.
UPLIFT_COEFFICIENT = 0.8
BAG_FRICTION = 0.6  # of a bag on soil and cover; common figure, no source
GRAVITY_M_S2 = 9.81


def _check_positive(**values: float) -> None:
    for name, value in values.items():
        if not (isfinite(value) and value > 0):
            raise ValueError(f"{name} must be a positive number, got {value}")


# ------------------------------------------------------------------ the curve
def arc_m(curve: Curve, width_m: float, height_m: float) -> float:
    """Length of a hoop above ground.

    Parameters
    ----------
    curve
        "half ellipse": legs upright at the ground, as of pipe pushed over stakes.
        "circular arc": bent on a jig; higher than half its width it is more than half
        a circle. "catenary": the flattest at the crown, the shortest of the three.
    width_m
        Between the legs at the ground.
    height_m
        Of the crown above the ground.

    Raises
    ------
    ValueError
        When the curve is unknown, or width or height is not positive.

    Examples
    --------
    >>> arc_m("half ellipse", 1.2, 0.5), arc_m("circular arc", 1.2, 0.5)
    (1.73145, 1.69516)
    """
    _check_positive(width_m=width_m, height_m=height_m)
    if curve not in _LENGTHS:
        raise ValueError(f"curve must be one of {', '.join(_LENGTHS)}; got {curve!r}")
    return _LENGTHS[curve](width_m, height_m)


def _half_ellipse_m(width_m: float, height_m: float) -> float:
    short, long = sorted((width_m / 2, height_m))
    return float(2 * long * special.ellipe(1 - (short / long) ** 2))


def _circular_arc_m(width_m: float, height_m: float) -> float:
    radius = ((width_m / 2) ** 2 + height_m**2) / (2 * height_m)
    return 4 * radius * atan(2 * height_m / width_m)


def _catenary_m(width_m: float, height_m: float) -> float:
    # With u = half the width over the curve's parameter, height over half width is
    # (cosh u - 1) / u and length over width sinh u / u.
    slender = 2 * height_m / width_m
    # That height is at least u / 2, and under what is sought at log(1 + it).
    low, high = log1p(slender), 2 * slender
    u = optimize.brentq(lambda u: 2 * sinh(u / 2) ** 2 / u - slender, low, high)
    return float(width_m * sinh(u) / u)


_LENGTHS: dict[str, Callable[[float, float], float]] = {
    "half ellipse": _half_ellipse_m,
    "circular arc": _circular_arc_m,
    "catenary": _catenary_m,
}


def height_m(curve: Curve, length_m: float, width_m: float) -> float:
    """Height of the crown that a pipe reaches when its feet stand `width_m` apart.

    Parameters
    ----------
    curve
        Shape of the bent pipe.
    length_m
        Of the part above ground: the pipe less both buried ends.
    width_m
        Between the feet.

    Raises
    ------
    ValueError
        When the pipe is not longer than the width, or a number is not positive.

    Examples
    --------
    >>> height_m("circular arc", 1.6951630, 1.2)
    0.50000
    """
    _check_positive(length_m=length_m, width_m=width_m)
    if length_m <= width_m:
        raise ValueError(
            f"a hoop over {width_m} m must be longer than that, got {length_m} m"
        )
    # No hoop is shorter than two straight lines to its crown, nor longer than a box.
    tallest = sqrt(length_m**2 - width_m**2) / 2
    lowest = min((length_m - width_m) / 2, tallest) * 1e-3

    def excess(height: float) -> float:
        return arc_m(curve, width_m, height) - length_m

    return float(optimize.brentq(excess, lowest, tallest, xtol=1e-9))


# ------------------------------------------------------------------ counts and sizes
def hoop_count(length_m: float, spacing_m: float) -> int:
    """Hoops along a bed, one at each end, no farther apart than `spacing_m`.

    Parameters
    ----------
    length_m
        Of the bed.
    spacing_m
        Greatest distance from hoop to hoop.

    Examples
    --------
    >>> hoop_count(30.0, 1.5), hoop_count(31.0, 1.5)
    (21, 22)
    """
    _check_positive(length_m=length_m, spacing_m=spacing_m)
    # A length that is a whole number of spacings but for rounding needs no more.
    return ceil(length_m / spacing_m - 1e-9) + 1


# ------------------------------------------------------------------ wind
def uplift_n_m(wind_m_s: float, width_m: float) -> float:
    """Uplift on a closed cover per metre of tunnel, both sides together [N/m].

    Stagnation pressure times width times `UPLIFT_COEFFICIENT`; gusts count, and one
    open end makes it more. Give or take a quarter.

    Parameters
    ----------
    wind_m_s
        Gust; 0 or more.
    width_m
        Between the feet of the hoops.

    Raises
    ------
    ValueError
        When the wind is negative or missing, or the width not positive.

    Examples
    --------
    >>> round(uplift_n_m(15.0, 1.2))
    132
    """
    _check_positive(width_m=width_m)
    if not 0 <= wind_m_s < inf:
        raise ValueError(f"wind_m_s must be 0 or more, got {wind_m_s}")
    return HALF_AIR_DENSITY * wind_m_s**2 * UPLIFT_COEFFICIENT * width_m


def bag_spacing_m(wind_m_s: float, width_m: float, bag_kg: float) -> float:
    """Greatest distance between bags on each edge at which they still hold the cover.

    A bag holds by friction; each edge takes half the uplift. Infinite without wind.

    Parameters
    ----------
    wind_m_s
        Gust that the cover must stand.
    width_m
        Between the feet of the hoops.
    bag_kg
        Mass of one bag.

    Raises
    ------
    ValueError
        When the wind is negative or missing, or width or mass not positive.

    Examples
    --------
    >>> round(bag_spacing_m(15.0, 1.2, 10.0), 1)
    0.9
    """
    _check_positive(bag_kg=bag_kg)
    edge_n_m = uplift_n_m(wind_m_s, width_m) / 2
    return BAG_FRICTION * bag_kg * GRAVITY_M_S2 / edge_n_m if edge_n_m > 0 else inf


def letting_go_m_s(spacing_m: float, width_m: float, bag_kg: float) -> float:
    """Wind at which bags `spacing_m` apart on each edge let the cover go [m/s].

    Parameters
    ----------
    spacing_m
        Between bags on each edge.
    width_m
        Between the feet of the hoops.
    bag_kg
        Mass of one bag.

    Raises
    ------
    ValueError
        When a number is not positive.

    Examples
    --------
    The wind for which the bags were laid:

    >>> round(letting_go_m_s(bag_spacing_m(20.0, 2.0, 10.0), 2.0, 10.0), 6)
    20.0
    """
    _check_positive(spacing_m=spacing_m)
    return sqrt(bag_spacing_m(1.0, width_m, bag_kg) / spacing_m)
