"""Every place and bearing for three sizes of tunnel on 10 ha, beside a plain overlay.

The plain search lays one outline after another over the free ground with shapely and
reads the grids at points inside; it is timed on 10,000 seeded candidates and scaled to
all of them. Both must agree on each of these. Run: python benchmarks/bench_tunnels.py
"""

import sys
import time
from pathlib import Path

import numpy as np
import shapely
from shapely import affinity

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))
from made_up import NOTHING_KEPT, analysis, plot_box, raster, site, surroundings

from fieldmap.decide.tunnels import room, search, under_tunnels
from layers import footprint

SIZES = (
    {"length_m": 20.0, "width_m": 6.0, "height_m": 3.0},
    {"length_m": 30.0, "width_m": 9.0, "height_m": 4.0},
    {"length_m": 12.0, "width_m": 4.5, "height_m": 2.4},
)
CANDIDATES = 10_000
SIDE_M = 316  # 10 ha
SUN = under_tunnels.Under._fields.index("sun")


def ten_hectares():
    """Rolling ground of 1 m cells with a pond and a barn on the plot."""
    count = SIDE_M + 84
    y, x = np.mgrid[0:count, 0:count]
    ground = raster(100 + 3 * np.sin(x / 60) + 2 * np.cos(y / 45) + 0.01 * x)
    around = surroundings(
        ("water", plot_box(150, 20, 180, 60), {}),
        ("building", plot_box(60, -80, 90, -60), {"height_m": 6.0}),
    )
    top = 160.0
    plot = plot_box(42, top - SIDE_M, 42 + SIDE_M, top)
    made = site(ground, {"Home": plot}, around, tunnels=SIZES)
    light = 5 + np.sin(x / 35) * np.cos(y / 50)
    return made, analysis(ground, sun=light, offset_c=-0.3 * np.cos(y / 45))


def plain(free, size, bearing_deg, centres, known):
    """Room by overlay, and means at points, one candidate after another."""
    # Touching the edge is room; rounding must not say otherwise.
    upright = room.footprint(size, bearing_deg, room.WORKING_SPACE_M - room.TOUCH_M)
    bare = room.footprint(size, bearing_deg, 0.0)
    shapely.prepare(free)
    fits, sun = [], []
    for centre in centres:
        fits.append(free.contains(affinity.translate(upright, *centre)))
        outline = affinity.translate(bare, *centre)
        west, south, east, north = outline.bounds
        x, y = np.meshgrid(np.arange(west, east, 0.5), np.arange(south, north, 0.5))
        inside = shapely.contains_xy(outline, x, y)
        read = known.light.level_sun_mj_m2_day.interpolate(x[inside], y[inside])
        sun.append(read[[10, 11, 0]].mean())
    return np.array(fits), np.array(sun)


def main():
    made, known = ten_hectares()
    sizes = list(made.settings.tunnels)
    search.search(made, known, sizes[:1], NOTHING_KEPT, print)  # compiles
    started = time.perf_counter()
    found = search.search(made, known, sizes, NOTHING_KEPT, print)
    ours_s = time.perf_counter() - started
    (free,) = room.free_ground(
        made.plots.geometry, made.surroundings, made.settings.beds.setback_m
    )
    grids = under_tunnels.grids(known, made.season, known.water_gathers, None)
    rng = np.random.default_rng(1)
    hull = shapely.get_coordinates(free.convex_hull)
    tried = agreed = light_off = 0
    all_places = 0
    plain_s = 0.0
    bearings = np.arange(0.0, 180.0, search.BEARING_STEP_DEG)
    for bearing_deg in bearings:
        lattice = footprint.lattice(hull, float(bearing_deg), search.STEP_M)
        east, north = lattice.points()
        for size in sizes:
            has_room = room.has_room(free, size, lattice)
            all_places += has_room.size
            count = CANDIDATES // (len(bearings) * len(sizes))
            rows = rng.integers(0, has_room.size, count)
            centres = np.stack([east.flat[rows], north.flat[rows]], axis=1)
            started = time.perf_counter()
            fits, sun = plain(free, size, float(bearing_deg), centres, known)
            plain_s += time.perf_counter() - started
            tried += count
            agreed += int((fits == has_room.flat[rows]).sum())
            sums = footprint.summed(
                search.on_lattice(grids, lattice), lattice.spacing_m
            )
            at = np.stack(np.unravel_index(rows, has_room.shape), axis=1)
            there = footprint.under(sums, at, (size.length_m, size.width_m))
            ok = fits & np.isfinite(there.means[SUN])
            off = np.abs(there.means[SUN][ok] / sun[ok] - 1)
            light_off = max(light_off, float(off.max(initial=0.0)))
    scaled_s = plain_s / tried * all_places
    compared = sum(each.compared for each in found)
    print(f"10 ha, 1 m cells, {len(sizes)} sizes, 0.5 m and 5 degrees:")
    print(f"  places and bearings tried {all_places:,}, with room {compared:,}")
    print(f"  this search {ours_s:.1f} s")
    print(f"  plain overlay {plain_s:.1f} s for {tried:,}, {scaled_s:,.0f} s for all")
    print(f"  ratio {scaled_s / ours_s:,.0f}")
    print(f"  room agrees on {agreed:,} of {tried:,}; light differs by {light_off:.2%}")


if __name__ == "__main__":
    main()
