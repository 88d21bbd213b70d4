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
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))
import made_up_farm
from bare_map import page
from browser import PHONE, chromium

SLOWER = 4
TIMES = 5
# When the page's own script has drawn, and after the browser has shown it.
SHOWN = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def pictures(beds):
    """Two questions: days along a ramp, and what stands where."""
    return made_up_farm.dates(beds), made_up_farm.grows(beds)


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
    # Its policy forbids the page to wait for a condition by itself.
    while page.evaluate("window.fieldmap === undefined"):
        time.sleep(0.02)
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
            path.write_text(page(made_up_farm.scene_of(beds, hectares)), "utf-8")
            measure(browser, path, f"{beds:,} beds, {hectares} ha", beds)


if __name__ == "__main__":
    main()
