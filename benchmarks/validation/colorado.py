"""Does low-lying ground have colder nights? Colorado stations, monthly means 1961-90.

Run from the root of the repository:

    python benchmarks/validation/colorado.py FOLDER

FOLDER (or the environment variable COLORADO_DATA) holds `stations_1961_1990.csv` and
`elevation_4km.tif`, made from the data of the R package `fields` (GPL >= 2; the
observations are US government data). Without it the script says so and ends.

Monthly minima and maxima west of 105.2° W are regressed on elevation, longitude and
latitude; what is left is compared with the share of ground within 20 km that lies lower
than the station. Cold air that lies in low places must show in the minima (r > 0.3) and
not in the maxima (|r| < 0.2). This checks the idea of relative height only; degrees are
unvalidated until loggers hang there.
"""

import argparse
import os
import sys
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pandas as pd
import rasterio

Floats = npt.NDArray[np.float64]

EAST_LIMIT_DEG = -105.2
WINDOW_KM = 20.0
KM_PER_DEGREE = 111.2
FEWEST_YEARS = 15
LEAST_R_TMIN, MOST_R_TMAX, LEAST_GAP_C = 0.3, 0.2, 10.0
MONTHS = {"January": (1,), "April": (4,), "March-May": (3, 4, 5), "July": (7,)}


def main() -> int:
    """Print the table; 1 where it is not as expected."""
    parser = argparse.ArgumentParser(description=__doc__)
    given = os.environ.get("COLORADO_DATA")
    parser.add_argument("folder", nargs="?", type=Path, default=given and Path(given))
    folder = parser.parse_args().folder
    if folder is None or not (folder / "stations_1961_1990.csv").is_file():
        print("skipped: the Colorado stations are not there; name their folder.")
        return 0
    stations = pd.read_csv(folder / "stations_1961_1990.csv")
    stations = stations[
        (stations["lon_deg"] < EAST_LIMIT_DEG) & (stations["years"] >= FEWEST_YEARS)
    ]
    rank = share_lower(folder / "elevation_4km.tif", stations)
    stations = stations.assign(rank=rank).dropna(subset=["rank"])
    is_right = correlations(stations)
    return 0 if named(stations) and is_right else 1


def share_lower(path: Path, stations: pd.DataFrame) -> Floats:
    """Share of the cells within 20 km of each station that lie lower than it."""
    with rasterio.open(path) as dataset:
        heights = dataset.read(1, masked=True).filled(np.nan).astype(float)
        rows, cols = np.indices(heights.shape)
        lon, lat = dataset.transform * np.array([cols + 0.5, rows + 0.5])
    shares = []
    for at_lon, at_lat, height_m in zip(
        stations["lon_deg"], stations["lat_deg"], stations["elevation_m"], strict=True
    ):
        east_km = (lon - at_lon) * KM_PER_DEGREE * np.cos(np.radians(at_lat))
        north_km = (lat - at_lat) * KM_PER_DEGREE
        around = heights[np.hypot(east_km, north_km) <= WINDOW_KM]
        around = around[~np.isnan(around)]
        shares.append(np.mean(around < height_m) if len(around) else np.nan)
    return np.array(shares)


def left_over(stations: pd.DataFrame, column: str, terms: list[str]) -> pd.Series:
    """What a regression on the terms leaves."""
    design = np.column_stack([np.ones(len(stations)), stations[terms]])
    values = stations[column].to_numpy()
    fitted = design @ np.linalg.lstsq(design, values, rcond=None)[0]
    return pd.Series(values - fitted, index=stations.index)


def correlations(stations: pd.DataFrame) -> bool:
    """Print r of what is left with the rank, and tell whether it is as expected."""
    print("| months | stations | °C per km | r, minimum | r, maximum |")
    print("|---|---|---|---|---|")
    is_right = True
    terms = ["elevation_m", "lon_deg", "lat_deg"]
    for name, numbers in MONTHS.items():
        months = stations[stations["month"].isin(numbers)]
        whole = months.groupby("station_id")["month"].transform("size") == len(numbers)
        means = (
            months[whole]
            .groupby("station_id")[[*terms, "tmin_c", "tmax_c", "rank"]]
            .mean()
        )
        design = np.column_stack([np.ones(len(means)), means[terms]])
        lapse = np.linalg.lstsq(design, means["tmin_c"], rcond=None)[0][1] * 1000
        low, high = (
            float(np.corrcoef(left_over(means, column, terms), means["rank"])[0, 1])
            for column in ("tmin_c", "tmax_c")
        )
        is_right &= low > LEAST_R_TMIN and abs(high) < MOST_R_TMAX
        print(f"| {name} | {len(means)} | {lapse:.1f} | {low:.2f} | {high:.2f} |")
    return is_right


def named(stations: pd.DataFrame) -> bool:
    """Print known cold and warm places in January, and tell whether they are so."""
    january = stations[stations["month"] == 1].set_index("name")
    left_c = left_over(january, "tmin_c", ["elevation_m"])
    print()
    print(
        "| January | height, m | minimum, °C | against its height, °C | share lower |"
    )
    print("|---|---|---|---|---|")
    for word in ("TAYLOR PARK", "GUNNISON", "ALAMOSA", "MESA VERDE", "ESTES PARK"):
        for name in january.index[january.index.str.startswith(word)]:
            row = january.loc[name]
            print(
                f"| {name.title()} | {row['elevation_m']:.0f} | {row['tmin_c']:.1f} |"
                f" {left_c[name]:+.1f} | {row['rank']:.2f} |"
            )
    cold, warm = (
        float(january["tmin_c"][january.index.str.startswith(word)].max())
        for word in ("GUNNISON", "MESA VERDE")
    )
    print(f"\nGunnison is {warm - cold:.1f} °C colder than Mesa Verde.")
    return warm - cold > LEAST_GAP_C


if __name__ == "__main__":
    sys.exit(main())
