"""Made-up fields on rough ground, and what pegs each of them."""

import numpy as np
from blindfold import TrueGround
from made_up import CRS, NORTH, WEST, plot_box, surroundings
from shapely.geometry import Point, box

from fieldmap.decide.layout.bays import walk
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.pegging import landmarks
from fieldmap.decide.pegging.field_pegs import Place, peg_field
from fieldmap.decide.pegging.tape import Ground

SOUTH = NORTH - 200


def at(east_m, north_m):
    """A place in metres from the south-west corner of the made-up square."""
    return WEST + east_m, SOUTH + north_m


def rough(seed, east=0.0, north=0.0, swell_m=0.18):
    """Ground that falls by `east` and `north` metres per metre, with waves of 8 to 30 m on it."""
    rng = np.random.default_rng(seed)
    waves = [
        (*rng.uniform(0, 2 * np.pi, 2), 2 * np.pi / rng.uniform(8, 30))
        for _ in range(8)
    ]
    way, begin, k = np.array(waves).T
    to_east, to_north = k * np.cos(way), k * np.sin(way)

    def height(easting, northing):
        e, n = np.asarray(easting) - WEST, np.asarray(northing) - SOUTH
        turns = np.multiply.outer(e, to_east) + np.multiply.outer(n, to_north) + begin
        return east * e + north * n + swell_m / 2 * np.sin(turns).sum(axis=-1)

    return height


def row_of_beds(height, count, west, south, letter="A", length_m=25.0):
    """Beds of 0.75 m with paths of 0.45 m to the north, of one length by tape."""
    ground, beds = TrueGround(height), []
    for number in range(count):
        x, y = at(west + 1.2 * number, south)
        on_map_m = length_m**2 / ground.tape((x, y), (x, y + length_m))
        outline = box(x, y, x + 0.75, y + on_map_m)
        name = f"{letter}{number + 1}"
        beds.append(Bed(name, "Home", outline, length_m, 0.75, 0.0))
    return beds


def pegged(plot, beds, height, around=(), tape_m=30.0, tunnels=(), gate=(60, 50)):
    """The pegging of one field, and the ground that it was made for."""
    things = surroundings(("gate", Point(at(*gate)), {}), *around)
    marks = landmarks.find("Home", plot, things, tape_m)
    ground = Ground(height, plot, landmarks.barriers(things), tape_m)
    start = walk.entry(things, plot)
    place = Place("A", "Home", (start.x, start.y))
    return peg_field(place, beds, tunnels, ground, marks, 0.0)


def narrow(height):
    """Twelve beds in one bay."""
    return plot_box(50, 50, 72, 82), row_of_beds(height, 12, 53, 54)


def wide(height):
    """Sixty beds in one bay, over 70 m."""
    return plot_box(50, 50, 130, 82), row_of_beds(height, 60, 53, 54)


def deep(height):
    """Three bays of twenty beds, one behind the other."""
    beds = [
        bed
        for number, letter in enumerate("ABC")
        for bed in row_of_beds(height, 20, 53, 54 + 28 * number, letter)
    ]
    return plot_box(50, 50, 80, 150), beds


__all__ = ["CRS", "at", "deep", "narrow", "pegged", "rough", "row_of_beds", "wide"]
