"""Light of beds beside things, through whole analyses, against exact boxes and rays.

    python benchmarks/validation/light_near_things.py [cells in metres ...]

For a hedge, a wall, a barn and a row on clear stems, on level ground and on a plane of
10 %, on heights every 1 to 30 m: the worst bed 1 to 10 m from the thing, in five months,
in shares of the bar (5 % of the light or 0.1 MJ/m² a day; 0.2 hours). Under 1 is within.
"""

import sys
from pathlib import Path

import numpy as np
from rasterio.transform import from_origin
from shapely.geometry import box

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests/support"))

import exact_light  # noqa: E402
from exact_light import Box, Plane  # noqa: E402
from made_up import CRS, NOTHING_KEPT, quietly, site, surroundings  # noqa: E402

from fieldmap.analyse import analyse, zonal_means  # noqa: E402
from fieldmap.analyse.light import shade  # noqa: E402
from fieldmap.model.raster import Raster  # noqa: E402

EAST, NORTH = 500123.4, 5000056.7  # of the middle of the thing, on no cell's corner
AWAY_M = (1.0, 2.0, 3.0, 6.0, 10.0)
MONTHS = (3, 4, 6, 9, 12)
THINGS = {
    "hedge": Box(-40, -0.75, 40, 0.75, 3.0, 0.0, 0.1),
    "wall": Box(-40, -0.15, 40, 0.15, 2.0),
    "barn": Box(-10, -4, 10, 4, 6.0),
    "row": Box(-40, -2.5, 40, 2.5, 12.0, 4.0, 0.1),
}


def analysed(thing, plane, cell_m):
    """Light fields of a whole analysis, and outlines of beds."""
    count = round((200 if cell_m < 5 else 900) / cell_m)
    half = count * cell_m / 2
    corner = EAST - half + 0.3 * cell_m, NORTH + half - 0.4 * cell_m
    ground = Raster(np.zeros((count, count)), from_origin(*corner, cell_m, cell_m), CRS)
    easting, northing = ground.middles
    rise = plane.east * (easting - EAST) + plane.north * (northing - NORTH)
    leaf = "none" if thing.passing == 0 else "evergreen"
    more = {"height_m": thing.top, "clear_stem_m": thing.bottom, "leaf": leaf}
    outline = box(
        EAST + thing.west, NORTH + thing.south, EAST + thing.east, NORTH + thing.north
    )
    kind = "wall" if leaf == "none" else "trees"
    around = surroundings((kind, outline, more | {"porosity": thing.passing}))
    edge = NORTH + thing.north
    plots = {"Home": box(EAST - 15, edge + 1, EAST + 15, edge + 25)}
    made = site(ground.with_values(100 + rise), plots, around)
    beds = [box(EAST - 5, edge + d, EAST + 5, edge + d + 0.75) for d in AWAY_M]
    return analyse(made, NOTHING_KEPT, quietly).light, beds


def worst(thing, plane, cell_m):
    """Largest difference of light and of hours, in shares of their bars."""
    light, beds = analysed(thing, plane, cell_m)
    kept = shade.on_beds(light.shade, beds, NOTHING_KEPT)
    open_light = {
        name: zonal_means.means(light.sky_view.with_values(values), beds)
        for name, values in light.open_light.items()
    }
    found = shade.dimmed(open_light, kept)
    whole = found["beam_mj_m2_day"] + found["sky_mj_m2_day"]
    out = []
    for number, away_m in enumerate(AWAY_M):
        along, across = (np.arange(20) + 0.5) / 2 - 5, (np.arange(5) + 0.5) * 0.15
        south = thing.north + away_m
        points = np.array([(e, south + n) for e in along for n in across])
        for month in MONTHS:
            beam, hours = exact_light.beam_and_hours([thing], points, plane, month)
            exact = beam + exact_light.sky_light([thing], points, plane, month)
            apart = abs(whole[month - 1, number] - exact) / max(0.05 * exact, 0.1)
            apart_h = abs(found["direct_hours"][month - 1, number] - hours) / 0.2
            out.append((apart, apart_h))
    return np.max(out, axis=0)


def main():
    cells = [float(each) for each in sys.argv[1:]] or [1.0, 2.0, 5.0, 10.0, 30.0]
    print("cells  ground  thing  light  hours  (worst, in shares of the bar)")
    for cell_m in cells:
        for plane in (Plane(), Plane(north=0.1)):
            for name, thing in THINGS.items():
                light, hours = worst(thing, plane, cell_m)
                ground = "10 %" if plane.north else "level"
                print(
                    f"{cell_m:4g} m  {ground:6}  {name:5}  {light:5.2f}  {hours:5.2f}"
                )


if __name__ == "__main__":
    main()
