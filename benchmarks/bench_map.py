"""The map in a browser: how soon it opens and paints again, how large it is.

Run from the root of the repository:

    python benchmarks/bench_map.py                    # drawings of made-up farms
    python benchmarks/bench_map.py plan/map.html ...  # pages that plans have written

The farms are squares of 100 beds of 30 m on a slope with waves: 40 ha with 4,800 beds, 200 ha
with 24,000. Chromium is asked through the DevTools protocol, in the window of a phone.
Times are those for which the page's own thread is busy, times four, as a phone at a quarter
of the speed would be; in brackets by the clock while Chromium slows the page that much,
which other programs on the machine lengthen. There is no peer: the aims are 3 s to open,
0.3 s to paint another question, and 8 MB for 40 ha.
"""

import argparse
import math
import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
from shapely.geometry import box

from fieldmap.decide.layout.beds import Bed
from fieldmap.show.map.scene import codes, kinds, scene

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))
from bare_map import page
from browser import PHONE, chromium
from made_up import CRS, NORTH, WEST, raster, site, surroundings

SLOWER = 4
BEDS_IN_PLOT, BEDS_IN_ROW = 100, 2
LONG_M, WIDE_M, PATH_M, BAY_M, CELL_M = 30.0, 0.75, 0.45, 3.0, 2.0
AROUND_M = 120.0
TIMES = 5
PATTERNS = ("empty", "growing", "covered", "ready")
# When the page's own script has drawn, and after the browser has shown it.
SHOWN = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def farm(beds, hectares):
    """A site of plots in a square, and their beds."""
    plots = math.ceil(beds / BEDS_IN_PLOT)
    side = math.ceil(math.sqrt(plots))
    apart = math.sqrt(hectares * 1e4) / side
    cells = int((side * apart + 2 * AROUND_M) / CELL_M)
    y, x = np.mgrid[0:cells, 0:cells] * CELL_M
    rough = np.random.default_rng(1).normal(0, 0.03, x.shape)
    heights = 200 - 0.06 * y + 6 * np.sin(x / 130) * np.cos(y / 170) + rough
    outlines, laid = {}, []
    for plot in range(plots):
        west = WEST + AROUND_M + apart * (plot % side)
        north = NORTH - AROUND_M - apart * (plot // side)
        deep = BEDS_IN_PLOT / BEDS_IN_ROW * (WIDE_M + PATH_M) + 2
        wide = BEDS_IN_ROW * (LONG_M + BAY_M) + 2
        outlines[f"Plot {plot + 1}"] = box(west, north - deep, west + wide, north)
        for number in range(min(BEDS_IN_PLOT, beds - plot * BEDS_IN_PLOT)):
            left = west + 1 + (number % BEDS_IN_ROW) * (LONG_M + BAY_M)
            top = north - 1 - (number // BEDS_IN_ROW) * (WIDE_M + PATH_M)
            strip = box(left, top - WIDE_M, left + LONG_M, top)
            named = f"{plot + 1}-{number + 1}", f"Plot {plot + 1}"
            laid.append(Bed(*named, strip, LONG_M, WIDE_M, 90.0))
    hedge = box(WEST + 60, NORTH - 60, WEST + 60 + side * apart, NORTH - 57)
    facts = {"height_m": 3.0, "leaf": "deciduous", "name": "Long Hedge"}
    return site(
        raster(heights, CELL_M), outlines, surroundings(("hedge", hedge, facts))
    ), laid


def drawing(beds, hectares):
    """The page of a farm, without a plan: nothing but what is drawn of it."""
    made, laid = farm(beds, hectares)
    north, east = np.gradient(made.elevation.values, -CELL_M, CELL_M)
    terrain = SimpleNamespace(
        east=made.elevation.with_values(east), north=made.elevation.with_values(north)
    )
    nothing = gpd.GeoDataFrame({"behind": [], "behind_kind": []}, geometry=[], crs=CRS)
    plan = SimpleNamespace(
        site=made,
        analysis=SimpleNamespace(terrain=terrain),
        beds=[SimpleNamespace(bed=bed) for bed in laid],
        materials=SimpleNamespace(low_tunnels=()),
        stakes=SimpleNamespace(fields=()),
        cold_pockets=nothing,
        **dict.fromkeys(
            ("tunnels", "flow_lines", "marks", "what_ifs", "tunnel_choices"), ()
        ),
    )
    return page(scene(plan))


def pictures(beds):
    """Two questions: days along a ramp, and what stands where."""
    place = np.arange(beds) / beds
    dates = {"kind": "ramp", "ramp": "dates", "codes": codes(np.round(40 * place) / 40)}
    names = [PATTERNS[bed // 7 % len(PATTERNS)] for bed in range(beds)]
    grows = {"kind": "pattern", "names": PATTERNS, "codes": kinds(PATTERNS, names)}
    outlined = list(range(11))
    return (
        {"key": "early", "beds": dates, "outlined": outlined},
        {"key": "grows", "beds": grows},
    )


def busy_s(protocol):
    """Seconds that the page's own thread was busy so far."""
    return metrics(protocol)["TaskDuration"]


def clock_s(_protocol):
    """Seconds by the clock."""
    return time.perf_counter()


def metrics(protocol):
    """What Chromium counts of a page, by name."""
    found = protocol.send("Performance.getMetrics")["metrics"]
    return {each["name"]: each["value"] for each in found}


def timed(page, now, script, given=None):
    """Median from a call until the browser has shown what it drew [s]."""
    took = []
    for turn in range(TIMES):
        page.evaluate(SHOWN)
        began = now()
        page.evaluate(
            f"async ([given, turn]) => {{ await ({script})(given, turn); await {SHOWN}; }}",
            [given, turn],
        )
        took.append(now() - began)
    return float(np.median(took))


def watched(browser, path, seconds, slower, beds):
    """What opening and drawing takes, by one way to count seconds."""
    context = browser.new_context(**PHONE)
    context.set_offline(True)
    page = context.new_page()
    protocol = context.new_cdp_session(page)
    protocol.send("Performance.enable", {"timeDomain": "threadTicks"})
    protocol.send("Emulation.setCPUThrottlingRate", {"rate": slower})
    began = seconds(protocol)
    page.goto(path.as_uri(), wait_until="commit")
    page.wait_for_function("window.fieldmap !== undefined", timeout=120_000)
    page.evaluate(SHOWN)
    row = {"opens": seconds(protocol) - began}
    now = partial(seconds, protocol)
    if beds:
        show = "(given, turn) => window.fieldmap.field.show(given[turn % 2])"
        row["another question"] = timed(page, now, show, pictures(beds))
        zoom = "map.setZoom(map.getZoom() + (turn % 2 ? -3 : 3), { animate: false })"
        step = f"(given, turn) => {{ const {{ map }} = window.fieldmap; {zoom}; }}"
        row["nearer or farther"] = timed(page, now, step)
    else:
        row["paints again"] = timed(page, now, "() => window.fieldmap.field.repaint()")
    counted = metrics(protocol)
    context.close()
    return row, counted["Nodes"]


def measure(browser, path, name, beds=None):
    """Print one row: size, nodes, and times as busy time at a quarter of the speed."""
    busy, nodes = watched(browser, path, busy_s, 1, beds)
    slowed, _nodes = watched(browser, path, clock_s, SLOWER, beds)
    times = ", ".join(
        f"{what} {SLOWER * busy[what]:.2f} s ({slowed[what]:.2f} s by the clock)"
        for what in busy
    )
    size_mb = path.stat().st_size / 1e6
    print(f"{name}: {size_mb:.2f} MB, {nodes:.0f} nodes, {times}", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("pages", nargs="*", type=Path)
    asked = parser.parse_args()
    with chromium() as browser, tempfile.TemporaryDirectory() as folder:
        for path in asked.pages:
            measure(browser, path.resolve(), path.name)
        if asked.pages:
            return
        for beds, hectares in ((210, 3), (4_800, 40), (24_000, 200)):
            path = Path(folder) / f"{beds}.html"
            path.write_text(drawing(beds, hectares), "utf-8")
            measure(browser, path, f"{beds:,} beds, {hectares} ha", beds)


if __name__ == "__main__":
    main()
