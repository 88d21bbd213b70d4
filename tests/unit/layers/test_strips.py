"""Clear lengths of strips equal what a geometry library finds by cutting them out."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box

from layers import strips

FAR = 1000.0


def edges_of(ground):
    """Both ends of all edges of all rings."""
    rings = [
        shapely.get_coordinates(ring)
        for ring in shapely.get_rings(shapely.get_parts(ground))
    ]
    return np.concatenate([np.stack([ring[:-1], ring[1:]], 1) for ring in rings])


def by_cutting(ground, low, high):
    """What of a strip no part of it outside the ground lies above or below."""
    outside = box(-FAR, low, FAR, high).difference(ground)
    shadows = shapely.union_all(
        [
            box(part.bounds[0], 0, part.bounds[2], 1)
            for part in shapely.get_parts(outside)
        ]
    )
    free = box(-FAR, 0, FAR, 1).difference(shadows)
    parts = [part.bounds for part in shapely.get_parts(free) if part.area > 1e-6]
    return sorted((west, east) for west, _, east, _ in parts)


def star(radii):
    """A closed outline about the origin, one corner in each direction."""
    turn = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
    return Polygon(np.stack([radii * np.cos(turn), radii * np.sin(turn)], 1))


@settings(max_examples=60, deadline=None)
@given(
    outer=st.lists(st.floats(10, 40), min_size=5, max_size=12),
    inner=st.lists(st.floats(1, 8), min_size=3, max_size=6),
    width_m=st.floats(0.3, 4),
)
def test_clear_lengths_are_those_that_cutting_leaves(outer, inner, width_m):
    ground = star(np.array(outer)).difference(star(np.array(inner)))
    low = np.arange(-45.0, 45.0, 1.7)
    found = strips.clear(edges_of(ground), low, low + width_m)
    for number, bottom in enumerate(low):
        mine = found.strip == number
        long = found.end[mine] - found.start[mine] > 1e-6
        spans = np.stack([found.start[mine][long], found.end[mine][long]], 1)
        expected = np.array(by_cutting(ground, bottom, bottom + width_m)).reshape(-1, 2)
        np.testing.assert_allclose(spans, expected, atol=1e-6)


def test_a_strip_that_only_touches_an_edge_is_whole():
    found = strips.clear(edges_of(box(0, 0, 30, 1)), np.array([0.0]), np.array([1.0]))
    assert (found.start.tolist(), found.end.tolist()) == ([0.0], [30.0])


@pytest.mark.parametrize(
    ("low", "high"),
    [((1.0, 0.0), (2.0, 1.0)), ((0.0, 1.0), (2.0, 1.5)), ((1.0, 0.0), (2.0, 3.0))],
)
def test_strips_that_do_not_rise_are_refused(low, high):
    with pytest.raises(ValueError, match="rising"):
        strips.clear(edges_of(box(0, 0, 1, 1)), np.array(low), np.array(high))
