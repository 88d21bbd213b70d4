"""Speed and error of a year of sunlight under a given skyline, beside GRASS r.sun.

Run from the root of the repository:

    python benchmarks/bench_sunlight.py

Peer: `r.sun` of GRASS (Debian's grass-core), with the shadows it looks for itself. In
release 8.2 its other mode, with given horizon maps, is faster and gives too little
energy; `--only anchor` times it on one day, for speed alone. A peer that is not
installed is skipped with a word.
"""

import argparse
import math
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
from bench_horizon import CELL_SIZE_M, WHOLE, landscape
from exact_skyline import exact_at_deg

from layers import horizon, sunlight, terrain

PLACE = sunlight.Place(45.15, 15.0, 300.0, 0.0)
YEAR = 2025
LINKE = 3.0
PEER_STEP_HOURS = 0.25
# Klein 1977, Solar Energy 19:325-329: the day that stands for each month.
DAYS = (17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344)
NORTH_M, EAST_M = 5_000_000.0, 500_000.0  # 45.15° N on the middle of its zone
SAMPLE = 300
RAYS = 720
DARK = 0.02  # of the light of open level ground: below it a relative error says little
ERROR_BAR_PERCENT, SPEED_BAR = 0.1, 300

GRASS_SCRIPT = """
set -e
g.region n={north} s={south} e={east} w={west} rows={size} cols={size}
r.in.bin -f input={folder}/z.bin output=z bytes=4 north={north} south={south} \
    east={east} west={west} rows={size} cols={size} --quiet
r.slope.aspect elevation=z slope=slope aspect=aspect precision=FCELL --quiet
TIMEFORMAT='%R %U %S'
{prepare}
for day in {days}; do
    time r.sun elevation=z slope=slope aspect=aspect day=$day step={step} \
        linke_value={linke} nprocs=2 {mode} \
        beam_rad=beam glob_rad=all insol_time=hours --quiet --overwrite
    for part in beam all hours; do
        r.out.bin -f input=$part output={folder}/$part.$day.bin bytes=4 null=nan --quiet
    done
done
"""

HORIZON_MAPS = """
for step in $(seq -f %03g 0 10 350); do
    r.in.bin -f input={folder}/h_$step.bin output=h_$step bytes=4 north={north} \
        south={south} east={east} west={west} rows={size} cols={size} --quiet
done
"""


# ----------------------------------------------------------------------------- ours
def ground(size):
    """Heights, gradient and skyline cube of a landscape."""
    z = landscape(size)
    east, north = terrain.gradient(z, CELL_SIZE_M)
    return z, east, north, horizon.angles_deg(z, z, CELL_SIZE_M, 36, WHOLE)


def timed(table, east, north, skyline_deg, repeats):
    """Light of the year, and median wall and CPU seconds after a first run.

    Memory that a machine hands out for the first time can cost more than the light that
    is written into it: the first run is left out, and each hands back what it took.
    """
    sky_view = np.ones_like(east)
    runs = []
    for _ in range(repeats + 1):
        light = None
        wall, cpu = time.perf_counter(), time.process_time()
        light = sunlight.by_month(table, east, north, skyline_deg, sky_view)
        runs.append((time.perf_counter() - wall, time.process_time() - cpu))
    medians = (statistics.median(column) for column in zip(*runs[1:], strict=True))
    return light, *medians


def show_growth(sizes):
    began = time.perf_counter()
    table = sunlight.sun_table(PLACE, 36, YEAR)
    print(f"table of a place, every day at 10 min: {time.perf_counter() - began:.2f} s")
    print(f"{'cells':>8} {'wall s':>8} {'CPU s':>8} {'ns/cell':>8}  growth")
    before = None
    for size in sizes:
        _, east, north, skyline_deg = ground(size)
        repeats = 5 if size < 2048 else 3
        _, wall, cpu = timed(table, east, north, skyline_deg, repeats)
        growth = "" if before is None else f"{wall / before:.1f}"
        per_cell = wall / size**2 * 1e9
        print(f"{size:>7}² {wall:>8.3f} {cpu:>8.3f} {per_cell:>8.0f}  {growth}")
        before = wall
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MiB, skyline and heights included\n")


# ---------------------------------------------------------------------------- error
def stepped_mj_m2_day(east, north, skyline_deg, step_minutes):
    """Beam by month, step by step in double precision, (12, cells)."""
    days = [day.date() for day in pd.date_range(f"{YEAR}-01-01", f"{YEAR}-12-31")]
    path = sunlight.sun_path(days, PLACE, step_minutes)
    beam = sunlight.clear_sky(path, PLACE, "isotropic").dni_w_m2
    up = path.altitude_deg > 0
    altitude_deg, azimuth_deg, month = (
        part[up] for part in (path.altitude_deg, path.azimuth_deg, path.month)
    )
    altitude, azimuth = np.radians(altitude_deg), np.radians(azimuth_deg)
    level = np.cos(altitude)
    sun = (level * np.sin(azimuth), level * np.cos(azimuth), np.sin(altitude))
    sectors_deg = np.arange(len(skyline_deg) + 1) * 360 / len(skyline_deg)
    sums = []
    for e, n, around in zip(east, north, skyline_deg.T, strict=True):
        around_deg = np.append(around, around[0]).astype(float)
        lit = altitude_deg > np.interp(azimuth_deg, sectors_deg, around_deg)
        facing = np.maximum(-e * sun[0] - n * sun[1] + sun[2], 0) / math.hypot(e, n, 1)
        sums.append(np.bincount(month, lit * facing * beam[up], 12))
    return np.array(sums).T * step_minutes * 60e-6 / path.days[:, np.newaxis]


def show_error():
    z = np.ascontiguousarray(landscape(512))
    east, north = terrain.gradient(z, CELL_SIZE_M)
    known = np.flatnonzero(np.isfinite(east + north))
    cells = np.random.default_rng(1).choice(known, SAMPLE, replace=False)
    at = np.array(np.unravel_index(cells, z.shape))
    e, n = east[tuple(at)], north[tuple(at)]
    rays = stepped_mj_m2_day(e, n, exact_at_deg(z, CELL_SIZE_M, RAYS, at), 2)
    open_level = stepped_mj_m2_day(np.zeros(1), np.zeros(1), np.zeros((36, 1)), 2)
    counted = rays > DARK * open_level
    print(f"beam of a month, {SAMPLE} cells of 512², percent of the exact month")
    print(f"left out as nearly dark: {(~counted).mean():.1%} of cells and months")
    print(f"{'':>36} {'mean':>7} {'p99':>7} {'max':>7} {'Dec':>7} {'Jun':>7}")

    def row(name, found, exact):
        error = np.full(exact.shape, np.nan)
        np.divide(100 * np.abs(found - exact), exact, out=error, where=counted)
        parts = (
            np.nanmean(error),
            np.nanpercentile(error, 99),
            np.nanmax(error),
            np.nanmean(error[11]),
            np.nanmean(error[5]),
        )
        print(f"{name:>36} " + " ".join(f"{part:>7.3f}" for part in parts))

    for sectors in (36, 72):
        skyline_deg = horizon.angles_deg(z, z, CELL_SIZE_M, sectors, WHOLE)
        mine_deg = skyline_deg[:, at[0], at[1]]
        table = sunlight.sun_table(PLACE, sectors, YEAR)
        shape = np.ones((1, SAMPLE))
        found = sunlight.by_month(
            table, e[None], n[None], np.ascontiguousarray(mine_deg[:, None]), shape
        ).beam_mj_m2_day[:, 0]
        same = stepped_mj_m2_day(e, n, mine_deg, 2)
        row(f"{sectors} sectors: 2 min, same skyline", found, same)
        row(f"{sectors} sectors: 2 min, exact rays", found, rays)
    exact_deg = exact_at_deg(z, CELL_SIZE_M, RAYS, at)
    row("15-minute steps: exact rays", stepped_mj_m2_day(e, n, exact_deg, 15), rays)
    print(f"bar: mean {ERROR_BAR_PERCENT} against exact rays\n")


# ----------------------------------------------------------------------------- peer
def days_as_r_sun_has_them(step_minutes=2):
    """Path and light of twelve single days, with r.sun's own sun and air.

    Declination, altitude without refraction, and the clear sky of the European Solar
    Radiation Atlas: Hofierka & Šúri 2002 (the paper of r.sun) after Rigollier, Bauer &
    Wald 2000, Solar Energy 68:33-48; coefficients from memory, and held by the level
    plane that r.sun is compared on first.
    """
    count = round(24 * 60 / step_minutes)
    hour = np.tile((np.arange(count) + 0.5) / count * 2 * np.pi - np.pi, 12)
    day = np.repeat(np.array(DAYS), count) * 2 * np.pi / 365.25
    declination = np.arcsin(0.3978 * np.sin(day - 1.4 + 0.0355 * np.sin(day - 0.0489)))
    phi = math.radians(PLACE.latitude_deg)
    up = math.sin(phi) * np.sin(declination)
    up = up + math.cos(phi) * np.cos(declination) * np.cos(hour)
    to_east = -np.cos(declination) * np.sin(hour)
    to_north = math.cos(phi) * np.sin(declination)
    to_north = to_north - math.sin(phi) * np.cos(declination) * np.cos(hour)
    path = sunlight.SunPath(
        times_utc=pd.date_range("2025-01-01", periods=hour.size, freq="1min", tz="UTC"),
        altitude_deg=np.degrees(np.arcsin(up)),
        azimuth_deg=np.degrees(np.arctan2(to_east, to_north)) % 360,
        before_noon=(hour < 0).astype(float),
        month=np.repeat(np.arange(12), count),
        step_hours=24 / count,
        days=np.ones(12),
    )
    extra = 1367 * (1 + 0.03344 * np.cos(day - 0.048869))
    return path, extra


def atlas_sky(path, extra, height_m):
    """Beam and sky light of the European Solar Radiation Atlas [W/m²]."""
    h = np.maximum(np.radians(path.altitude_deg), 0)
    lift = 0.061359 * (0.1594 + 1.123 * h + 0.065656 * h**2)
    h_lifted = h + lift / (1 + 28.9344 * h + 277.3971 * h**2)
    air = math.exp(-height_m / 8434.5)
    m = air / (np.sin(h_lifted) + 0.50572 * (np.degrees(h_lifted) + 6.07995) ** -1.6364)
    thick = 1 / (10.4 + 0.718 * m)
    thin = 1 / (6.6296 + 1.7513 * m - 0.1202 * m**2 + 0.0065 * m**3 - 0.00013 * m**4)
    optical = np.where(m <= 20, thin, thick)
    up = path.altitude_deg > 0
    dni = np.where(up, extra * np.exp(-0.8662 * LINKE * m * optical), 0)
    through = -0.015843 + 0.030543 * LINKE + 0.0003797 * LINKE**2
    a1 = 0.26463 - 0.061581 * LINKE + 0.0031408 * LINKE**2
    a1 = max(a1, 0.0022 / through)
    a2 = 2.0402 + 0.018945 * LINKE - 0.011161 * LINKE**2
    a3 = -1.3025 + 0.039231 * LINKE + 0.0085079 * LINKE**2
    angle = a1 + a2 * np.sin(h) + a3 * np.sin(h) ** 2
    dhi = np.where(up, extra * through * angle, 0)
    return sunlight.SkyLight(dni, dhi, np.zeros_like(dni))


def r_sun(z, folder, days, mode="", prepare=""):
    """CPU and wall seconds of every day, or a word why there are none."""
    if shutil.which("grass") is None:
        return "GRASS is not installed"
    size = len(z)
    half = size * CELL_SIZE_M / 2
    z.astype(np.float32).tofile(Path(folder, "z.bin"))
    words = {
        "folder": folder,
        "size": size,
        "north": NORTH_M + half,
        "south": NORTH_M - half,
        "east": EAST_M + half,
        "west": EAST_M - half,
    }
    script = Path(folder, "run.sh")
    script.write_text(
        GRASS_SCRIPT.format(
            days=" ".join(map(str, days)),
            step=PEER_STEP_HOURS,
            linke=LINKE,
            mode=mode,
            prepare=prepare.format(**words),
            **words,
        )
    )
    command = ["grass", "--tmp-location", "EPSG:32633", "--exec", "bash", str(script)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    seconds = []
    for line in done.stderr.splitlines():
        parts = line.split()
        if len(parts) == 3 and all(part.replace(".", "").isdigit() for part in parts):
            wall, user, system = map(float, parts)
            seconds.append((wall, user + system))
    if done.returncode or len(seconds) != len(days):
        return f"r.sun failed: {done.stderr[-300:]}"
    return np.array(seconds)


def grids(folder, part, size):
    """What r.sun wrote for every day, (12, rows, cols)."""
    files = [Path(folder, f"{part}.{day}.bin") for day in DAYS]
    return np.array(
        [np.fromfile(file, np.float32).reshape(size, size) for file in files]
    )


def show_peer(size):
    path, extra = days_as_r_sun_has_them()
    # Level ground first: no shadow, no slope, so that only sun and air are compared.
    flat = np.full((16, 16), 300.0)
    with tempfile.TemporaryDirectory() as folder:
        outcome = r_sun(flat, folder, DAYS)
        if isinstance(outcome, str):
            print(f"r.sun skipped: {outcome}\n")
            return
        theirs = np.nanmean(grids(folder, "beam", 16), axis=(1, 2)) * 0.0036
    level = sunlight.tabulate(path, atlas_sky(path, extra, 300.0), 36, 0.0)
    mine = level.global_mj_m2_day - level.sky_mj_m2_day
    print("open level ground at 300 m, beam of a day of each month, ours / r.sun - 1:")
    print("  " + " ".join(f"{100 * part:.2f}" for part in mine / theirs - 1) + " %")

    z, east, north, skyline_deg = ground(size)
    sky_view = horizon.sky_view_tilted(skyline_deg, east, north)
    table = sunlight.tabulate(path, atlas_sky(path, extra, float(z.mean())), 36, 0.0)
    light, wall, cpu = timed(table, east, north, skyline_deg, 5)
    light = sunlight.by_month(table, east, north, skyline_deg, sky_view)
    with tempfile.TemporaryDirectory() as folder:
        seconds = r_sun(z, folder, DAYS)
        if isinstance(seconds, str):
            print(f"r.sun skipped: {seconds}\n")
            return
        theirs = {part: grids(folder, part, size) for part in ("beam", "all", "hours")}
    their_wall, their_cpu = seconds.sum(axis=0)
    print(f"{size}², twelve days, r.sun's own shadows at {60 * PEER_STEP_HOURS:g} min")
    print(f"  ours  {wall:8.3f} s wall {cpu:8.3f} s CPU (skyline given)")
    print(f"  r.sun {their_wall:8.1f} s wall {their_cpu:8.1f} s CPU")
    print(f"  times {their_wall / wall:8.0f}   wall {their_cpu / cpu:8.0f}   CPU")
    pairs = {
        "beam": (light.beam_mj_m2_day, theirs["beam"] * 0.0036),
        "beam, sky and reflected": (light.total_mj_m2_day, theirs["all"] * 0.0036),
        "hours of sun": (light.direct_hours, theirs["hours"]),
    }
    for name, (ours, other) in pairs.items():
        seen = np.isfinite(ours) & np.isfinite(other)
        means = [
            (ours[month][seen[month]].mean(), other[month][seen[month]].mean())
            for month in range(12)
        ]
        parts = " ".join(f"{100 * (one / two - 1):.2f}" for one, two in means)
        year = sum(one for one, _ in means) / sum(two for _, two in means) - 1
        apart = np.abs(ours - other)[seen].mean() / other[seen].mean()
        print(f"  {name}: grid mean, ours / r.sun - 1, by month: {parts} %")
        print(f"    year {100 * year:.2f} %; cell by cell {100 * apart:.2f} % apart")
    print()


def show_anchor(size):
    """One day of r.sun with horizon maps: an anchor of speed, not of energy."""
    _, east, north, skyline_deg = ground(size)
    table = sunlight.sun_table(PLACE, 36, YEAR)
    _, wall, cpu = timed(table, east, north, skyline_deg, 5)
    mode = "horizon_basename=h horizon_step=10"
    with tempfile.TemporaryDirectory() as folder:
        for sector in range(36):  # theirs turn to the left from east, in radians
            name = f"h_{(90 - 10 * sector) % 360:03d}.bin"
            np.radians(skyline_deg[sector]).tofile(Path(folder, name))
        seconds = r_sun(landscape(size), folder, (75,), mode, HORIZON_MAPS)
    if isinstance(seconds, str):
        print(f"r.sun skipped: {seconds}\n")
        return
    (their_wall, their_cpu) = seconds[0]
    print(f"{size}², one day (16 March) of r.sun with 36 horizon maps, 15 min steps")
    print(f"  ours, twelve months {wall:.3f} s wall, {cpu:.3f} s CPU")
    print(f"  r.sun, one day {their_wall:.1f} s wall, {their_cpu:.1f} s CPU")
    times = (12 * their_wall / wall, 12 * their_cpu / cpu)
    print(f"  times 12: {times[0]:.0f} wall, {times[1]:.0f} CPU (bar {SPEED_BAR})\n")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--peer-size", type=int, default=512)
    parser.add_argument("--anchor-size", type=int, default=2048)
    parser.add_argument("--only", choices=["growth", "error", "peer", "anchor"])
    options = parser.parse_args()
    print(f"python {sys.version.split()[0]}, numpy {np.__version__}\n")
    _, east, north, skyline_deg = ground(256)  # compiles, or loads what was compiled
    timed(sunlight.sun_table(PLACE, 36, YEAR), east, north, skyline_deg, 1)
    parts = {
        "growth": lambda: show_growth([512, 1024, 2048, 4096]),
        "error": show_error,
        "peer": lambda: show_peer(options.peer_size),
        "anchor": lambda: show_anchor(options.anchor_size),
    }
    for name, show in parts.items():
        if options.only in (None, name):
            show()


if __name__ == "__main__":
    main()
