"""Speed and error of the skyline, side by side with public peers.

Run from the root of the repository:

    python benchmarks/bench_horizon.py --peer-python PEERS/bin/python

Peers: `r.horizon` of GRASS (Debian's grass-core), and from PyPI, in an environment of
their own, `topocalc` and `horayzon-extpar` (Embree ray tracing). topocalc's source
package says version 0.0.0; it installs with

    SETUPTOOLS_SCM_PRETEND_VERSION=0.5.0 pip install --no-build-isolation topocalc

A peer that is not installed is skipped with a word. Peers take minutes at
`--peer-size 2048`, the size of the bar. `r.horizon` and topocalc work direction by
direction; with `--peer-directions 9` they do every fourth of the 36, and their seconds
count four times.
"""

import argparse
import json
import math
import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from exact_skyline import exact_deg
from matplotlib import cbook

from layers import horizon

CELL_SIZE_M = 2.0
SECTORS = 36
WHOLE = (slice(None), slice(None))
BARS = {"r.horizon": 150, "topocalc": 40, "horayzon-extpar": 60}
BAR_SIZE = 2048
BAR_GROWTH = 5.0

GRASS_SCRIPT = """
set -e
r.in.bin -f input={heights} output=z bytes=4 north={side} south=0 east={side} west=0 \
    rows={size} cols={size} --quiet
g.region raster=z
TIMEFORMAT='%R %U %S'
time r.horizon elevation=z start=0 end=360 step={step} output=h --quiet
"""

TOPOCALC_SCRIPT = """
import json, sys, time
import numpy as np
from topocalc.horizon import horizon
z = np.load(sys.argv[1]).astype(float)
cell, sectors = float(sys.argv[2]), int(sys.argv[3])
wall, cpu = time.perf_counter(), time.process_time()
for sector in range(sectors):
    horizon(-180 + 360 / sectors * sector, z, cell)
print(json.dumps([time.perf_counter() - wall, time.process_time() - cpu]))
"""

EMBREE_SCRIPT = """
import json, sys, time
import numpy as np
from horayzon_extpar import Terrain
z = np.load(sys.argv[1])
cell, sectors = float(sys.argv[2]), int(sys.argv[3])
n = len(z)
row, col = np.mgrid[0:n, 0:n]
points = np.stack([col * cell, -row * cell, z], -1).reshape(-1, 3).astype(np.float32)
a = (row * n + col)[:-1, :-1].ravel()
faces = np.concatenate([np.c_[a, a + n, a + 1], np.c_[a + 1, a + n, a + n + 1]])
wall, cpu = time.perf_counter(), time.process_time()
terrain = Terrain()
far = 6.371e9  # a flat earth, as topocalc's
terrain.initialise(
    points, faces.astype(np.uint32), np.array([0, 0, -far], np.float32),
    np.array([0, far, 0], np.float32),
)
terrain.horizon_vertex(
    sectors, 0.0, np.array([0, n * n], np.uint32), 1.5 * n * cell, 3.0, 0.1, 0.0
)
print(json.dumps([time.perf_counter() - wall, time.process_time() - cpu]))
"""


def landscape(size, seed=7):
    """Seeded hills of all sizes with flood plains, mean slope near 10°, 2 cm noise."""
    rng = np.random.default_rng(seed)
    wave = np.hypot(
        np.fft.fftfreq(size, CELL_SIZE_M)[:, None],
        np.fft.rfftfreq(size, CELL_SIZE_M)[None, :],
    )
    spectrum = np.maximum(wave, 1 / 3000) ** -2.2 * np.exp(-((wave * 12) ** 2))
    z = np.fft.irfft2(
        np.fft.rfft2(rng.normal(size=(size, size))) * spectrum, s=(size, size)
    )
    z *= math.tan(math.radians(12)) / np.hypot(*np.gradient(z, CELL_SIZE_M)).mean()
    return np.maximum(z, np.quantile(z, 0.15)) + rng.normal(0, 0.02, z.shape)


def ours(z, repeats):
    """Median wall and CPU seconds."""
    runs = []
    for _ in range(repeats):
        wall, cpu = time.perf_counter(), time.process_time()
        horizon.angles_deg(z, z, CELL_SIZE_M, SECTORS, WHOLE)
        runs.append((time.perf_counter() - wall, time.process_time() - cpu))
    return tuple(statistics.median(column) for column in zip(*runs, strict=True))


def grass(z, _python, directions):
    if shutil.which("grass") is None:
        return "GRASS is not installed"
    with tempfile.TemporaryDirectory() as folder:
        heights, script = Path(folder, "z.bin"), Path(folder, "run.sh")
        z.astype(np.float32).tofile(heights)
        words = {"heights": heights, "size": len(z), "side": len(z) * CELL_SIZE_M}
        script.write_text(GRASS_SCRIPT.format(step=360 / directions, **words))
        command = [
            "grass",
            "--tmp-location",
            "EPSG:32633",
            "--exec",
            "bash",
            str(script),
        ]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:  # the shell times a command that failed, too
        return f"r.horizon failed: {done.stderr.strip()[-200:]}"
    for line in done.stderr.splitlines():
        words = line.split()
        if len(words) == 3 and all(word.replace(".", "").isdigit() for word in words):
            wall, user, system = map(float, words)
            return wall, user + system
    return f"r.horizon printed no time: {done.stderr.strip()[-200:]}"


def in_python(script):
    def run(z, python, directions):
        if python is None:
            return "no --peer-python given"
        with tempfile.TemporaryDirectory() as folder:
            heights = Path(folder, "z.npy")
            np.save(heights, z.astype(np.float32))
            dials = (str(CELL_SIZE_M), str(directions))
            command = [python, "-c", script, heights, *dials]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
        if done.returncode:
            return (done.stderr.strip().splitlines() or ["failed"])[-1]
        return tuple(json.loads(done.stdout.splitlines()[-1]))

    return run


PEERS = {
    "r.horizon": grass,
    "topocalc": in_python(TOPOCALC_SCRIPT),
    "horayzon-extpar": in_python(EMBREE_SCRIPT),
}


def show_growth(sizes):
    print(f"{SECTORS} azimuths, {CELL_SIZE_M:g} m cells\n")
    print(
        f"{'cells':>8} {'wall s':>8} {'CPU s':>8} {'ns/ray':>8}  growth (bar {BAR_GROWTH})"
    )
    before = None
    for size in sizes:
        wall, cpu = ours(landscape(size), 5 if size < 2048 else 3)
        growth = "" if before is None else f"{wall / before:.1f}"
        per_ray = wall / (size**2 * SECTORS) * 1e9
        print(f"{size:>7}² {wall:>8.3f} {cpu:>8.3f} {per_ray:>8.1f}  {growth}")
        before = wall
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB\n")


def show_error():
    with np.load(
        cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)
    ) as dem:
        jacksboro = dem["elevation"].astype(float)
    grounds = {
        "landscape 256²": (landscape(1024)[300:556, 500:756], CELL_SIZE_M, 0.04, 0.5),
        "jacksboro": (jacksboro, 90.0, 0.045, 0.55),
    }
    curvature, horizon.EARTH_RADIUS_M = horizon.EARTH_RADIUS_M, math.inf
    print(f"{'error, degrees':>16} {'mean':>7} {'p99':>7} {'max':>7}  bars, mean / p99")
    for name, (z, cell, mean_bar, p99_bar) in grounds.items():
        found = horizon.angles_deg(z, z, cell, SECTORS, WHOLE)
        error = np.abs(found - exact_deg(np.ascontiguousarray(z), cell, SECTORS))
        parts = (error.mean(), np.percentile(error, 99), error.max())
        figures = " ".join(f"{part:>7.3f}" for part in parts)
        met = verdict(error.mean() <= mean_bar and parts[1] <= p99_bar)
        print(f"{name:>16} {figures}  {mean_bar} / {p99_bar}: {met}")
    horizon.EARTH_RADIUS_M = curvature
    print()


def verdict(met):
    return "met" if met else "missed"


def show_peers(size, python, names, directions, repeats):
    """Ours is timed anew before and after each peer: machines drift within minutes."""
    z = landscape(size)
    print(
        f"{size}², {SECTORS} azimuths, two runs of ours on either side of each peer's"
    )
    print(
        "load: processes that ask for a core, mean of a minute, at the end of the peer"
    )
    print(
        f"{'peer':>16} {'wall s':>8} {'CPU s':>8} {'our wall':>9} {'our CPU':>8}"
        f" {'× wall':>7} {'× CPU':>7} {'load':>5}  bar, at {BAR_SIZE}²"
    )
    for name in names:
        # The ray tracer walks from one direction to the next, so it does them all.
        done = SECTORS if name == "horayzon-extpar" else directions
        ratios = []
        for _ in range(repeats):
            before = ours(z, 2)
            outcome = PEERS[name](z, python, done)
            load = os.getloadavg()[0]
            if isinstance(outcome, str):
                print(f"{name:>16} skipped: {outcome}", flush=True)
                break
            around = zip(before, ours(z, 2), strict=True)
            wall, cpu = (statistics.mean(pair) for pair in around)
            peer_wall, peer_cpu = (part * SECTORS / done for part in outcome)
            ratios.append((peer_wall / wall, peer_cpu / cpu))
            figures = f"{peer_wall:>8.1f} {peer_cpu:>8.1f} {wall:>9.2f} {cpu:>8.2f}"
            times = f"{ratios[-1][0]:>7.0f} {ratios[-1][1]:>7.0f} {load:>5.1f}"
            print(f"{name:>16} {figures} {times}", flush=True)
        if ratios:
            kind = "wall" if name == "horayzon-extpar" else "CPU"
            part = 0 if kind == "wall" else 1
            times = statistics.median(pair[part] for pair in ratios)
            met = verdict(times >= BARS[name])
            where = "" if size == BAR_SIZE else f" (but the bar is at {BAR_SIZE}²)"
            print(f"{'':>16} {times:.0f}× {kind}, bar {BARS[name]}×: {met}{where}")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--large", action="store_true", help="go on to 4096²")
    parser.add_argument("--peer-size", type=int, default=512)
    parser.add_argument("--peer-repeats", type=int, default=1)
    parser.add_argument("--peer-directions", type=int, default=SECTORS)
    parser.add_argument("--peers", nargs="+", choices=PEERS, default=list(PEERS))
    parser.add_argument("--peer-python", help="python with topocalc, horayzon-extpar")
    parser.add_argument(
        "--only", choices=["growth", "error", "peers"], help="one of the three tables"
    )
    options = parser.parse_args()
    print(f"python {sys.version.split()[0]}, numpy {np.__version__}\n")
    ours(landscape(400), 1)  # compiles, or loads what was compiled
    if options.only in (None, "growth"):
        show_growth([512, 1024, 2048] + [4096] * options.large)
    if options.only in (None, "error"):
        show_error()
    if options.only in (None, "peers"):
        peers = (options.peers, options.peer_directions, options.peer_repeats)
        show_peers(options.peer_size, options.peer_python, *peers)


if __name__ == "__main__":
    main()
