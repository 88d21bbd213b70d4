"""Hollows over tiles are those of the whole ground, bit for bit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layers import drainage, tiled_fill


def in_tiles(ground, rows, cols):
    """Ground filled tile by tile, put together again."""
    parts, places = [], []
    for top in range(0, ground.shape[0], rows):
        for left in range(0, ground.shape[1], cols):
            part = ground[top : top + rows, left : left + cols]
            rim = tiled_fill.rim_of(part)
            parts.append((part, rim))
            places.append(tiled_fill.Placed(rim, (top, left), part.shape))
    spills = tiled_fill.spill_of_rims_m(places)
    filled = np.full(ground.shape, np.nan)
    for (part, rim), spill, place in zip(parts, spills, places, strict=True):
        (top, left), (tall, wide) = place.first, place.shape
        filled[top : top + tall, left : left + wide] = tiled_fill.filled_m(
            part, rim, spill
        )
    return filled


@settings(deadline=None, max_examples=60)
@given(
    seed=st.integers(0, 10_000),
    shape=st.tuples(st.integers(4, 30), st.integers(4, 30)),
    tile=st.tuples(st.integers(2, 13), st.integers(2, 13)),
    missing=st.sampled_from([0.0, 0.02, 0.2]),
    steps=st.sampled_from([3, 1000]),
)
def test_tiles_are_filled_as_the_ground_in_one_piece(seed, shape, tile, missing, steps):
    # `drainage.filled_m` is held to public libraries bit for bit (bench_drainage).
    rng = np.random.default_rng(seed)
    ground = rng.integers(0, steps, shape).astype(float)
    ground[rng.random(shape) < missing] = np.nan
    np.testing.assert_array_equal(in_tiles(ground, *tile), drainage.filled_m(ground))


def test_a_hollow_over_four_tiles_runs_over_at_its_lip():
    ground = np.full((8, 8), 9.0)
    ground[1:7, 1:7] = 1.0
    ground[0, 6] = 4.0  # the lip
    filled = in_tiles(ground, 4, 4)
    assert (filled[1:7, 1:7] == 4.0).all()


def test_a_tile_without_ground_is_no_ground():
    ground = np.full((4, 8), np.nan)
    ground[:, 4:] = np.arange(4.0)
    np.testing.assert_array_equal(in_tiles(ground, 4, 4), drainage.filled_m(ground))


def test_ground_that_ends_within_its_only_tile_is_filled_too():
    ground = np.full((6, 6), np.nan)
    ground[1:5, 1:5] = 3.0
    ground[2:4, 2:4] = 1.0
    np.testing.assert_array_equal(in_tiles(ground, 6, 6), drainage.filled_m(ground))


def test_a_line_is_no_grid():
    with pytest.raises(ValueError, match="grid of rows and columns"):
        tiled_fill.rim_of(np.zeros(3))
