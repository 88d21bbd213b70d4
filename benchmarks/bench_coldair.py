"""Speed of the flow of cold air, against what the memory could carry at best.

Run from the root of the repository:

    python benchmarks/bench_coldair.py

No public library computes this flow, so there is no peer. The floor is the time that
the memory takes to move the fields of one step once, at the rate of a plain copy that
is measured in the same run. The flow runs on one thread; the three runs that carry its
uncertainty run side by side on two.
"""

import argparse
import math
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from layers import coldair

SIDE_M = 1000.0
# Per cell and step: read ground, top, depth, production and two beds, write top and
# depth (8 bytes each), read and write two fluxes (4 bytes each).
BYTES_PER_UPDATE = 6 * 8 + 2 * 8 + 4 * 4
UPDATES_BAR, SECONDS_BAR, GROWTH_BAR = 100e6, 5.0, 1.5


def main() -> None:
    """Time a night to its steady state, single steps, and finer cells."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=5)
    repeats = parser.parse_args().repeats
    coldair.drain(valley_m(16), SIDE_M / 16, 0.95, coldair.Night(0.1))  # compiles
    copy_b_s = copy_rate()
    print(f"plain copy {copy_b_s / 1e9:.1f} GB/s, read and write counted")

    taken, night = best(lambda: run(200, coldair.Night(10.0)), repeats)
    rate = night.steps * 200**2 / taken
    floor = BYTES_PER_UPDATE / copy_b_s * rate
    print(
        f"200 x 200 cells of 5 m, {night.ended_by} after {night.hours:.2f} h of night:"
        f" {taken:.2f} s (bar: {SECONDS_BAR:g}), {night.steps} steps"
    )
    print(
        f"{rate / 1e6:.0f} million cell updates/s on one thread"
        f" (bar: {UPDATES_BAR / 1e6:.0f} on two), {1 / floor:.2f} times the time that"
        " the memory would take"
    )
    together, nights = best(three_runs, max(1, repeats // 2))
    rate = sum(one.steps for one in nights) * 200**2 / together
    print(
        f"thin, central and deep run on two threads: {together:.2f} s,"
        f" {rate / 1e6:.0f} million cell updates/s"
    )
    grow(repeats)


def grow(repeats: int) -> None:
    """Show how time grows when the same square kilometre gets finer cells."""
    seconds = []
    for side in (50, 100, 200, 400):
        night = coldair.Night(1.0, watched=np.zeros((side, side), dtype=bool))
        taken, after = best(lambda s=side, n=night: run(s, n), max(1, repeats // 2))
        seconds.append(taken)
        rate = after.steps * side**2 / taken / 1e6
        print(f"{side:4} x {side:<4} {taken:8.3f} s an hour, {rate:4.0f} million/s")
    growth = math.log(seconds[-1] / seconds[0]) / math.log((400 / 50) ** 2)
    print(f"time grows with cells^{growth:.2f} (bar: {GROWTH_BAR:g})")


def valley_m(side: int) -> np.ndarray:
    """A square kilometre of hills and hollows that falls to the south by 40 m."""
    place = (np.arange(side) + 0.5) * SIDE_M / side
    hills = np.add.outer(np.cos(place / 70), np.cos(place / 90))
    hills += np.cos(np.add.outer(place / 110, place / 60))
    return 6 * hills + 0.04 * (SIDE_M - place)[:, None]


def run(side, night, flow=coldair.CENTRAL):
    return coldair.drain(valley_m(side), SIDE_M / side, 0.95, night, flow)


def three_runs():
    flows = (coldair.THIN, coldair.CENTRAL, coldair.DEEP)
    with ThreadPoolExecutor(2) as pool:
        return list(pool.map(lambda flow: run(200, coldair.Night(10.0), flow), flows))


def best(work, repeats):
    """Least wall time of some runs [s], and what the last one made."""
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        made = work()
        taken.append(time.perf_counter() - start)
    return min(taken), made


def copy_rate() -> float:
    """Bytes per second of a large copy, read and write counted."""
    source = np.ones(32 * 1024**2)
    target = np.empty_like(source)
    taken, _ = best(lambda: np.copyto(target, source), 5)
    return 2 * source.nbytes / taken


if __name__ == "__main__":
    main()
