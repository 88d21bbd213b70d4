"""The loops behind the light part of `layers.cover`: sun through a half ellipse.

Lengths are in half widths: the floor reaches from -1 to 1 and the crown stands at
`rise`. A direction towards the light is a unit vector; `across` is its part square to
the ridge, `up` its upward part, and the rest lies along the ridge, where the tunnel
has no end. A film is a table of what passes, by cosine of incidence from 0 to 1.
"""

import math

import numpy as np
import numpy.typing as npt
from numba import njit

Array = npt.NDArray[np.float64]

PLACES = 32  # across the floor; twice as many change the mean by less than 0.0005


def floor_places() -> tuple[Array, Array]:
    """Places across the floor, and what part of its width each stands for.

    Closer together at the edges, where the light falls off steeply.
    """
    angle = (np.arange(PLACES) + 0.5) * np.pi / PLACES
    part = np.sin(angle)
    return -np.cos(angle), part / part.sum()


@njit(cache=True, nogil=True)
def incidence_cosine(place: float, across: float, up: float, rise: float) -> float:
    """Cosine of incidence where the way from a floor place to the light meets the film.

    The way place + t·across, t·up meets x² + (z/rise)² = 1 at the positive root t; the
    normal there points along (x, z/rise²).
    """
    square = across * across + up * up / (rise * rise)
    half = place * across
    root = math.sqrt(half * half + square * (1 - place * place))
    t = (root - half) / square
    x, z = place + t * across, t * up
    # Towards the light the product of direction and normal is just the root.
    return min(root / math.sqrt(x * x + (z / (rise * rise)) ** 2), 1.0)


@njit(cache=True, nogil=True)
def mean_shares(
    across: Array, up: Array, rise: float, table: Array, part: tuple[Array, Array]
) -> Array:
    """Share of the light of each direction that reaches the mean of the floor.

    `part` are the places of the floor and the part of its width each stands for.
    """
    places, width = part
    share = np.zeros(across.size)
    for i in range(across.size):
        for k in range(places.size):
            cosine = incidence_cosine(places[k], across[i], up[i], rise)
            below, rest = _position(cosine, table.size)
            step = table[below + 1] - table[below]
            share[i] += width[k] * (table[below] + rest * step)
    return share


@njit(cache=True, nogil=True)
def on_floor(
    towards: Array, weight: Array, rise: float, tables: Array, places: Array
) -> Array:
    """Light of all directions on each place, for several films, (films, places).

    `towards` (2, directions) holds the parts square to the ridge and up, `tables`
    (cosines, films) what passes.
    """
    films = tables.shape[1]
    light = np.zeros((films, places.size))
    for i in range(weight.size):
        for k in range(places.size):
            cosine = incidence_cosine(places[k], towards[0, i], towards[1, i], rise)
            below, rest = _position(cosine, tables.shape[0])
            for film in range(films):
                step = tables[below + 1, film] - tables[below, film]
                light[film, k] += weight[i] * (tables[below, film] + rest * step)
    return light


@njit(cache=True, nogil=True)
def _position(cosine: float, entries: int) -> tuple[int, float]:
    """Table entry under a cosine, and how far the cosine lies beyond it, 0-1."""
    position = cosine * (entries - 1)
    below = min(int(position), entries - 2)
    return below, position - below
