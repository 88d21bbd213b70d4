"""The night's flow on a graphics card beside one core: cell updates a second.

    python benchmarks/bench_coldair_card.py [--side 4096] [--core-minutes 1]

Both run the same ground from sunset: seeded hills on 5 m cells with a few hedges. The
card's share of its own copy bandwidth is that of the bytes that the two large kernels
must move. Depths are compared on a smaller ground over two hours.
"""

import argparse
import time

import numpy as np

from layers import _coldflow, _coldflow_card, coldair

CELL_M = 5.0
BYTES_A_CELL = 64  # read and written by plain_faces (32) and settle (32)


def ground_m(side: int, seed: int = 1) -> np.ndarray:
    """Hills of many sizes on a gentle slope: the sum of waves, metres high."""
    rng = np.random.default_rng(seed)
    south, east = np.mgrid[:side, :side].astype(np.float32) * np.float32(CELL_M)
    ground = 0.02 * south.astype(np.float64)
    for length_m in (4000, 2000, 1000, 500, 250, 120):
        for _ in range(4):
            way, phase = rng.uniform(0, 2 * np.pi, 2)
            along = east * np.float32(np.cos(way)) + south * np.float32(np.sin(way))
            wave = np.sin(along * np.float32(2 * np.pi / length_m) + np.float32(phase))
            ground += length_m / 150 * wave
    return ground


def hedges(side: int, seed: int = 1) -> coldair.Barriers:
    """Forty straight hedges of 1.5 m."""
    ends = np.random.default_rng(seed).uniform(0, side * CELL_M, (40, 4))
    return coldair.barriers_along(ends, 1.5, (side, side), CELL_M)


def rate(run: object, cells: int, seconds: float, share: float) -> tuple[float, int]:
    """Cell updates a second over a stretch of the night, after a first part of it."""
    run.advance(seconds * share)  # type: ignore[attr-defined]
    begun = time.perf_counter()
    steps = run.advance(seconds)  # type: ignore[attr-defined]
    run.depth_m()  # type: ignore[attr-defined]
    return cells * steps / (time.perf_counter() - begun), steps


def copy_gb_s() -> float:
    """Bytes read and written a second by a plain copy on the card."""
    import cupy  # noqa: PLC0415  (an extra)

    source = cupy.random.random(1 << 29, dtype=np.float32)
    target = cupy.empty_like(source)
    times = []
    for _ in range(12):
        begin, end = cupy.cuda.Event(), cupy.cuda.Event()
        begin.record()
        cupy.copyto(target, source)
        end.record()
        end.synchronize()
        times.append(cupy.cuda.get_elapsed_time(begin, end) / 1e3)
    return float(2 * source.nbytes / np.median(times[2:]) / 1e9)


def main() -> None:
    """Print the rates, their ratio, and how far the depths differ."""
    parse = argparse.ArgumentParser()
    parse.add_argument("--side", type=int, default=4096)
    parse.add_argument("--core-minutes", type=float, default=2.0, help="of the night")
    asked = parse.parse_args()
    if lacks := _coldflow_card.what_lacks():
        raise SystemExit(f"no {lacks} here: nothing to measure")
    import cupy  # noqa: PLC0415  (an extra)

    print(cupy.cuda.runtime.getDeviceProperties(0)["name"].decode())
    ground = ground_m(asked.side)
    walls = hedges(asked.side)
    start = coldair._start(ground, CELL_M, 1.0, coldair.CENTRAL, walls, None)
    cells = ground.size
    card = _coldflow_card.Run(*start.fields)
    card_rate, steps = rate(card, cells, 3600.0, 0.5)
    copy = copy_gb_s()
    moved = card_rate * BYTES_A_CELL / 1e9
    print(f"card: {card_rate / 1e9:.1f} billion cell updates a second, {steps} steps;")
    print(f"  moves {moved:.0f} of {copy:.0f} GB/s that a copy moves")
    core = _coldflow.Run(*start.fields)
    core_rate, steps = rate(core, cells, asked.core_minutes * 60, 0.1)
    print(f"core: {core_rate / 1e9:.3f} billion a second, {steps} steps")
    print(f"ratio: {card_rate / core_rate:.0f}")
    small, night = ground_m(400), coldair.Night(2.0, (), np.zeros((400, 400), bool))
    walls = hedges(400)
    for flow in (coldair.THIN, coldair.CENTRAL, coldair.DEEP):
        one = coldair.drain(small, CELL_M, 1.0, night, flow, walls)
        two = coldair.drain_on_card(small, CELL_M, 1.0, night, flow, walls)
        apart = np.abs(one.depth_m - two.depth_m)
        lost = two.depth_m.sum() * CELL_M**2 + two.left_m3 - two.produced_m3
        print(
            f"depths to {np.nanmax(one.depth_m):.1f} m: apart by {apart.max():.1e} m at"
            f" most, {apart.mean():.1e} on average; lost on the card"
            f" {lost / two.produced_m3:.1e}; steps {one.steps}, {two.steps}"
        )


if __name__ == "__main__":
    main()
