"""Speed of depression filling and of downhill flow, side by side with public peers.

Run from the root of the repository:

    python benchmarks/bench_drainage.py --peer-python PEERS/bin/python

Peers, from PyPI, in an environment of their own: `topotoolbox` (its C core works in
single precision), `richdem2` and `pyflwdir`. One that is not installed is skipped with
a word. Every peer runs in a process of its own, on the same ground, and its fill is
compared with ours cell by cell.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from layers import drainage

CELL_SIZE_M = 2.0
FILL_BAR, CHAIN_BAR, GROWTH_BAR = 2.0, 3.0, 5.0

TIMED = """
import json, sys, time
import numpy as np

def seconds(work, repeats):
    taken = []
    for _ in range(repeats):
        start = time.perf_counter(), time.process_time()
        made = work()
        taken.append((time.perf_counter() - start[0], time.process_time() - start[1]))
    return min(wall for wall, _ in taken), min(cpu for _, cpu in taken), made

ground, repeats = np.load(sys.argv[1]), int(sys.argv[3])
"""

PEERS = {
    "topotoolbox": """
import topotoolbox
grid = topotoolbox.GridObject()
grid.z, grid.cellsize = np.asfortranarray(ground.astype(np.float32)), 2.0
*fill, filled = seconds(lambda: grid.fillsinks(), repeats)
filled = np.asarray(filled.z)
*flow, way = seconds(lambda: topotoolbox.FlowObject(grid), repeats)
*gather, _ = seconds(lambda: way.flow_accumulation(), repeats)
chain = [flow[0] + gather[0], flow[1] + gather[1]]
""",
    "richdem2": """
import richdem
grid = richdem.rdarray(ground, no_data=-9999.0, geotransform=[0, 2, 0, 0, 0, -2])
*fill, filled = seconds(
    lambda: richdem.FillDepressions(grid, epsilon=False, in_place=False), repeats
)
*route, routed = seconds(
    lambda: richdem.FillDepressions(grid, epsilon=True, in_place=False), repeats
)
*gather, _ = seconds(lambda: richdem.FlowAccumulation(routed, method="D8"), repeats)
chain = [route[0] + gather[0], route[1] + gather[1]]
filled = np.asarray(filled)
""",
    "pyflwdir": """
import pyflwdir
from pyflwdir import dem
dem.fill_depressions(ground[:64, :64])
*fill, (filled, ways) = seconds(lambda: dem.fill_depressions(ground), repeats)
def gather():
    raster = pyflwdir.from_array(ways, ftype="d8", latlon=False)
    return raster.upstream_area()
gather()
*more, _ = seconds(gather, repeats)
chain = [fill[0] + more[0], fill[1] + more[1]]
""",
}

REPORT = """
np.save(sys.argv[2], np.asarray(filled, dtype=float))
print("RESULT " + json.dumps([*fill, *chain]))
"""


def main() -> None:
    """Time ours, then every peer, and say how the bars are met."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=int, default=2048)
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--peer-python", default=sys.executable)
    parser.add_argument("--growth", action="store_true", help="also twice the size")
    choice = parser.parse_args()
    larger = landscape_m(2 * choice.size)
    quarter = slice(choice.size // 2, choice.size // 2 + choice.size)
    ground = np.ascontiguousarray(larger[quarter, quarter])
    drainage.catchment_m2(ground[:64, :64], CELL_SIZE_M)  # compiles
    drainage.filled_m(ground[:64, :64])
    fill = timed(lambda: drainage.filled_m(ground), choice.repeats)
    chain = timed(lambda: drainage.catchment_m2(ground, CELL_SIZE_M), choice.repeats)
    filled = drainage.filled_m(ground)
    held = (filled > ground).mean()
    print(f"{choice.size} x {choice.size} cells, {held:.0%} of them in hollows")
    print(f"{'':14}{'fill':>20}{'fill + flow':>20}   wall (CPU) s")
    show("this", [*fill, *chain])
    found = {}
    with tempfile.TemporaryDirectory() as room:
        place = Path(room) / "ground.npy"
        np.save(place, ground)
        for name, script in PEERS.items():
            peer = run_peer(choice.peer_python, script, place, choice.repeats)
            if peer is None:
                print(f"{name:14}not installed there, or it failed: skipped")
                continue
            found[name] = peer
            theirs = np.load(place.with_name("filled.npy"))
            ours = filled.astype(np.float32) if name == "topotoolbox" else filled
            apart = np.abs(theirs - ours)
            show(
                name, peer, f"{(apart > 0).sum()} cells differ, by {apart.max():.0e} m"
            )
    judge([*fill, *chain], found)
    if choice.growth:
        more = timed(lambda: drainage.catchment_m2(larger, CELL_SIZE_M), 3)
        print(f"four times the cells: {more[0] / chain[0]:.2f} times the time", end="")
        print(f" (bar: {GROWTH_BAR:g})")


def landscape_m(size: int) -> np.ndarray:
    """Hills and flood plains with 2 cm of noise, from a seed."""
    rng = np.random.default_rng(7)
    wave = np.hypot(
        *np.meshgrid(np.fft.fftfreq(size), np.fft.rfftfreq(size), indexing="ij")
    )
    wave[0, 0] = 1.0
    height = wave**-2.2 / (1 + (wave / 0.08) ** 2)
    turn = np.exp(2j * np.pi * rng.random(wave.shape))
    ground = np.fft.irfft2(height * turn, s=(size, size))
    ground = (ground - ground.min()) / np.ptp(ground) * 180.0
    plain_m = 45.0
    ground = np.where(ground < plain_m, plain_m + 0.05 * (ground - plain_m), ground)
    return ground + rng.normal(0.0, 0.02, ground.shape)


def timed(work, repeats):
    """Least wall and CPU time of some runs [s]."""
    taken = []
    for _ in range(repeats):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        taken.append((time.perf_counter() - wall, time.process_time() - cpu))
    return [min(wall for wall, _ in taken), min(cpu for _, cpu in taken)]


def run_peer(python, script, place, repeats):
    """Wall and CPU time of fill and of fill with flow [s], or None."""
    arguments = [str(place), str(place.with_name("filled.npy")), str(repeats)]
    done = subprocess.run(
        [python, "-c", TIMED + script + REPORT, *arguments],
        capture_output=True,
        text=True,
        check=False,
    )
    for line in done.stdout.splitlines():
        if "RESULT " in line:
            return json.loads(line.split("RESULT ")[1])
    return None


def show(name, taken, remark=""):
    fill, fill_cpu, chain, chain_cpu = taken
    print(
        f"{name:14}{fill:12.3f} ({fill_cpu:.3f}){chain:12.3f} ({chain_cpu:.3f})"
        f"   {remark}"
    )


def judge(ours, found):
    """Compare CPU seconds, which other work on the machine disturbs least."""
    if not found:
        print("no peer to compare with")
        return
    fill = min(peer[1] for peer in found.values()) / ours[1]
    chain = min(peer[3] for peer in found.values()) / ours[3]
    print(f"fill {fill:.1f} times as fast as the fastest peer (bar: {FILL_BAR:g})")
    print(f"fill + flow {chain:.1f} times as fast (bar: {CHAIN_BAR:g})")


if __name__ == "__main__":
    main()
