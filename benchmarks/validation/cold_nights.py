"""The law of cold places on open loggers, beside its rivals.

Run from the root of the repository:

    python benchmarks/validation/cold_nights.py FOLDER [--write TABLE]

FOLDER (or the environment variable COLD_NIGHTS_DATA) holds `pumice_plain`,
`valle_grande` and `colorado`; what is not there is skipped with a word. The first two are
night minima of loggers and 30 m heights:

- Pumice Plain of Mount St Helens: the logger archive MSHMicroMet (Che-Castaldo and
  others, CC BY 4.0), heights of 1980 by the US Geological Survey;
- Valle Grande, Valles Caldera: the archive `microclimate-veg` (Mahood and others, DOI
  10.5281/zenodo.14768076, MIT licence), heights of open terrain tiles.

A clear calm night is run over each ground, three times; the depth of the layer, its
speed and the wetness of the ground are read at the loggers. Each law then predicts how
all pairs of loggers differ on a mean still night: once with its own fixed numbers, and
once with a size that was fitted on the other ground (a number for each part, 0 or more).
`--write` keeps what was read at the loggers; `loggers.csv` beside this file is that table,
so that the law can be tried, and is tested, without running the flow.
"""

import argparse
import itertools
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import colorado
import numpy as np
import numpy.typing as npt
import pandas as pd
import pyproj
import rasterio
from scipy import ndimage, optimize

from layers import coldair, coldness, drainage, scatter

Floats = npt.NDArray[np.float64]

NIGHT_H = 11.0
FLOWS = {"thin": coldair.THIN, "central": coldair.CENTRAL, "deep": coldair.DEEP}
AROUND_M = 500.0
OVER_C = 0.5  # smaller differences say nothing of an order
# Loggers, offsets and heights of each ground: in its folder.
FILES = {
    "pumice_plain": ("loggers.csv", "elevation_30m_1980.tif"),
    "valle_grande": ("valle_grande_offsets.csv", "elevation_30m.tif"),
}


@dataclass(frozen=True)
class Pairs:
    """All pairs of loggers of one ground: first less second.

    Attributes
    ----------
    observed_c
        Difference on a mean still night.
    parts
        Difference of each thing that a law is made of.
    answers_c, stopgap_c
        (answers, pairs) by the law of `layers.coldness`, and by its stopgap without a
        flow.
    astray_c
        Standard deviation of what terrain does not tell.
    """

    observed_c: Floats
    parts: Mapping[str, Floats]
    answers_c: Floats
    stopgap_c: Floats
    astray_c: Floats


def main() -> None:
    """Print one table for each ground, then Colorado."""
    parser = argparse.ArgumentParser(description=__doc__)
    given = os.environ.get("COLD_NIGHTS_DATA")
    parser.add_argument("folder", nargs="?", type=Path, default=given and Path(given))
    parser.add_argument("--write", type=Path)
    asked = parser.parse_args()
    if asked.folder is None or not asked.folder.is_dir():
        print("skipped: the loggers are not there; name their folder.")
        return
    tables = []
    for name, files in FILES.items():
        if all((asked.folder / name / file).is_file() for file in files):
            tables.append(measured(name, *(asked.folder / name / f for f in files)))
        else:
            print(f"skipped: {name} is not in {asked.folder}.")
    if tables:
        table = pd.concat(tables, ignore_index=True)
        if asked.write:
            table.round(2).to_csv(asked.write, index=False)
        report(table)
    if (asked.folder / "colorado").is_dir():
        print("\nColorado: relative height alone")
        sys.argv = ["colorado.py", str(asked.folder / "colorado")]
        colorado.main()


def measured(name: str, loggers: Path, elevation: Path) -> pd.DataFrame:
    """What a law may rest on, at each logger of a ground."""
    with rasterio.open(elevation) as dataset:
        ground = dataset.read(1, masked=True).astype(float).filled(np.nan)
        transform, crs = dataset.transform, pyproj.CRS.from_wkt(dataset.crs.to_wkt())
    cell_m = float(transform.a)
    table = pd.read_csv(loggers).rename(columns={"id": "place", "still": "still_c"})
    if "in_elevation" in table:
        table = table[table["in_elevation"]]
    to_ground = pyproj.Transformer.from_crs(4326, crs, always_xy=True)
    east, north = to_ground.transform(table["longitude"], table["latitude"])
    col, row = ~transform * (np.asarray(east), np.asarray(north))

    def here(field: Floats) -> Floats:
        return ndimage.map_coordinates(field, (row - 0.5, col - 0.5), order=1)

    found = {
        "ground": name,
        "place": table["place"].to_numpy(),
        "east_m": east,
        "north_m": north,
        "still_c": table["still_c"].to_numpy(),
        "wetness": here(drainage.cold_air_wetness(ground, cell_m)),
        "above_m": here(ground - mean_around_m(ground, cell_m)),
    }
    for flow_name, flow in FLOWS.items():
        night = coldair.drain(ground, cell_m, 1.0, coldair.Night(NIGHT_H), flow)
        found[f"{flow_name}_m"] = here(night.depth_m)
        if flow is coldair.CENTRAL:
            speed = np.hypot(night.east_m2_s, night.north_m2_s) / night.depth_m
            found["speed_m_s"] = here(speed)
        print(
            f"{name}: {flow_name} run ended {night.ended_by} after {night.hours:.1f} h"
        )
    return pd.DataFrame(found)


def mean_around_m(ground: Floats, cell_m: float) -> Floats:
    """Mean height of the known ground within 500 m, as a square."""
    known = (~np.isnan(ground)).astype(float)
    side = 2 * round(AROUND_M / cell_m) + 1
    total, count = (
        ndimage.uniform_filter(part, side, mode="constant")
        for part in (np.nan_to_num(ground), known)
    )
    return total / count


def pairs_of(table: pd.DataFrame) -> Pairs:
    """All pairs of the loggers of one ground."""
    first, second = np.array(list(itertools.combinations(range(len(table)), 2))).T

    def apart(values: npt.ArrayLike) -> Floats:
        return np.asarray(values)[..., first] - np.asarray(values)[..., second]

    depth_m, speed = table["central_m"].to_numpy(), table["speed_m_s"].to_numpy()
    wetness, above_m = table["wetness"].to_numpy(), table["above_m"].to_numpy()
    calm = speed + 2 * np.exp(-depth_m / 10)
    parts = {
        "h": depth_m,
        "saturating": 1 - np.exp(-depth_m / 5),
        "root of h": np.sqrt(depth_m),
        "W": wetness,
        "stillness": 1 / (1 + (calm / 2) ** 2),
        "lowness": -np.tanh(above_m / coldness.ABOVE_FROM_M),
    }
    answers = np.concatenate(
        [coldness.coldness_c(table[f"{flow}_m"], wetness) for flow in FLOWS]
    )
    away_m = np.hypot(apart(table["east_m"]), apart(table["north_m"]))
    return Pairs(
        apart(table["still_c"]),
        {name: apart(values) for name, values in parts.items()},
        -apart(answers),
        -apart(coldness.stopgap_coldness_c(above_m, wetness)),
        scatter.difference_sd_c(away_m, scatter.Scatter().place_c),
    )


# Each law by its parts, and what each part is worth where the law has a number [°C].
RIVALS: dict[str, dict[str, float | None]] = {
    "nothing": {},
    "h": {"h": 0.06},
    "saturating h": {"saturating": 1.2},
    "root of h": {"root of h": 0.6},
    "W": {"W": 0.15},
    "stillness": {"stillness": 6.0},
    "h + W": {"h": None, "W": None},
    "root of h + W (the law)": {"root of h": 0.6, "W": 0.15},
    "height above 500 m + W": {"lowness": 0.6, "W": 0.15},
}


def report(table: pd.DataFrame) -> None:
    """Print how every law does on every ground."""
    grounds = {name: pairs_of(each) for name, each in table.groupby("ground")}
    for name, here in grounds.items():
        others = [each for other, each in grounds.items() if other != name]
        print(f"\n{name}: {len(here.observed_c)} pairs")
        print(f"{'':42}{'r':>6}{'order':>7}{'obs/pred':>9}{'error °C':>9}")
        for law, numbers in RIVALS.items():
            if None not in numbers.values():
                line(f"{law}, fixed", here, predicted_c(here, numbers))
            if others and numbers:
                fitted = fitted_on(others, list(numbers))
                line(f"{law}, fitted elsewhere", here, predicted_c(here, fitted))
        ranges(here)


def predicted_c(pairs: Pairs, numbers: Mapping[str, float | None]) -> Floats:
    """Differences by a law: what is more is colder."""
    found = np.zeros(len(pairs.observed_c))
    for part, worth_c in numbers.items():
        found = found - (worth_c or 0.0) * pairs.parts[part]
    return found


def fitted_on(grounds: list[Pairs], parts: list[str]) -> dict[str, float | None]:
    """What each part is worth, by least squares on the pairs of other grounds."""
    rows = np.concatenate([np.stack([-p.parts[n] for n in parts], 1) for p in grounds])
    worth, _ = optimize.nnls(rows, np.concatenate([p.observed_c for p in grounds]))
    return dict(zip(parts, worth.tolist(), strict=True))


def line(name: str, pairs: Pairs, law_c: Floats) -> None:
    """Correlation, right order of what differs, observed per predicted, error."""
    observed = pairs.observed_c
    error = np.sqrt(np.mean((observed - law_c) ** 2))
    if not law_c.any():
        print(f"{name:42}{'-':>6}{'-':>7}{'-':>9}{error:9.2f}")
        return
    slope = (law_c @ observed) / (law_c @ law_c)
    r = (law_c @ observed) / np.sqrt((law_c @ law_c) * (observed @ observed))
    print(f"{name:42}{r:6.2f}{order(pairs, law_c):7.2f}{slope:9.2f}{error:9.2f}")


def order(pairs: Pairs, law_c: Floats, among: npt.NDArray[np.bool_] | None = None):
    """Share of the pairs of which the right one is the colder."""
    if among is None:
        among = np.abs(pairs.observed_c) > OVER_C
    right = np.sign(law_c) == np.sign(pairs.observed_c)
    return right[among].mean() if among.any() else np.nan


def ranges(pairs: Pairs) -> None:
    """Print how many pairs each range holds, and what those that exclude 0 are worth."""
    likely = 3 * list(FLOWS).index("central") + 1
    law_c, stopgap_c = pairs.answers_c, pairs.stopgap_c
    both = coldness.range_c(law_c, likely, coldness.cases(), pairs.astray_c)
    without_flow = coldness.range_c(
        stopgap_c, 1, coldness.cases(), coldness.STOPGAP_ASTRAY * pairs.astray_c
    )
    differs = np.abs(pairs.observed_c) > OVER_C
    for name, (low, central, high) in {
        "answers alone": (law_c.min(0), law_c[likely], law_c.max(0)),
        "range": both,
        "range without a flow": without_flow,
    }.items():
        holds = (low <= pairs.observed_c) & (pairs.observed_c <= high)
        is_sure = (low > 0) | (high < 0)
        print(
            f"{name}: holds {holds.mean():.2f} of pairs; excludes 0 for"
            f" {(is_sure & differs).sum() / differs.sum():.2f} of those that differ;"
            f" where it does, order is right in {order(pairs, central, is_sure):.2f}"
        )


if __name__ == "__main__":
    main()
