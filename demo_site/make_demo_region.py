"""A small region on the demo's own valley: its ground, cut into invented parcels.

    python demo_site/make_demo_region.py demo_region
    fieldmap region demo_region

Heights, weather and what stands around are those of the demo site; the parcels are
squares of about a hectare, drawn anew by the same numbers each time.
"""

import shutil
import sys
import tomllib
from pathlib import Path

import geopandas as gpd
import numpy as np
import rasterio
import shapely

HERE = Path(__file__).parent
COPIED = ("elevation.tif", "weather.csv", "surroundings.geojson")
SIDE_M, GAP_M, RIM_M = 100.0, 18.0, 30.0
SEED = 11
ROWS = ("Brook", "Foot", "Middle", "Shelf", "Upper", "Ridge")  # from the south on
SETTINGS = """\
# A region on the demo's valley; its heights, weather and surroundings are the demo's.
name = "Pennywhin valley"
elevation = ["elevation.tif"]

# Where the weather record was kept.
[station]
latitude = {latitude}
longitude = {longitude}
elevation_m = {elevation_m}

# What a season is the time between, and in how many years it may be shorter.
[frost]
limit_c = 0.0
risk = 0.2
"""


def parcels(elevation: Path) -> gpd.GeoDataFrame:
    """Squares with crooked corners, in rows up the hill."""
    with rasterio.open(elevation) as source:
        west, south, east, _north = source.bounds
        crs = source.crs
    rng = np.random.default_rng(SEED)
    shapes, names = [], []
    for row, called in enumerate(ROWS):
        for col in range(int((east - west - 2 * RIM_M) / (SIDE_M + GAP_M))):
            corner = np.array([west + RIM_M, south + RIM_M])
            corner += (SIDE_M + GAP_M) * np.array([col, row])
            square = SIDE_M * np.array([[0, 0], [1, 0], [1, 1], [0, 1]])
            crooked = square + rng.uniform(-7, 7, (4, 2))
            shapes.append(shapely.Polygon(np.round(corner + crooked, 1)))
            names.append(f"{called} {col + 1}")
    return gpd.GeoDataFrame({"name": names}, geometry=shapes, crs=crs)


def write(folder: Path) -> None:
    """The folder of the region."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in COPIED:
        shutil.copyfile(HERE / name, folder / name)
    parcels(folder / "elevation.tif").to_file(
        folder / "parcels.geojson", driver="GeoJSON"
    )
    station = tomllib.loads((HERE / "site.toml").read_text("utf-8"))["station"]
    (folder / "region.toml").write_text(SETTINGS.format(**station), "utf-8")


if __name__ == "__main__":
    write(Path(sys.argv[1]))
