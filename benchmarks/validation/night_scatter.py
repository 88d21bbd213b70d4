"""How far one still night strays from another, by loggers in the open.

Run from the root of the repository, with the folder of data (see README.md here):

    python benchmarks/validation/night_scatter.py DATA

On each night the loggers' deviations from their mean are set against their own mean
deviation over all other nights of the kind. The slope is the night's factor, and what is
left is the night's rest. The standard deviation of the factor, with the noise of each
slope taken off, is that of the gamma law in `layers.scatter`.
"""

import argparse
from pathlib import Path

import numpy as np
import pandas as pd
from scipy import optimize, stats

from layers.scatter import Scatter

# 10th and 90th percentile of the factor among three boreal areas of loggers in Finland,
# from memory of a count on an open record.
FINLAND = {"one area": (0.0, 1.9), "another": (0.3, 1.55)}
FEWEST = 8  # loggers that read in a night


def factors(nights_c):
    """Factor, the variance of its error, and the variance of the rest, of each night."""
    from_mean = nights_c.sub(nights_c.mean(axis=1), axis=0)
    found = []
    for night in nights_c.index:
        own = from_mean.drop(night).mean()
        here = from_mean.loc[night].dropna()
        own = own[here.index] - own[here.index].mean()
        slope = (own * here).sum() / (own**2).sum()
        rest = ((here - slope * own) ** 2).sum() / (len(here) - 2)
        found.append((slope, rest / (own**2).sum(), rest))
    return np.array(found)


def spread_of_gamma(low, high):
    """Standard deviation of the gamma law of mean 1 with this 10th to 90th percentile."""

    def width(spread):
        law = stats.gamma(spread**-2, scale=spread**2)
        return law.ppf(0.9) - law.ppf(0.1) - (high - low)

    return optimize.brentq(width, 0.1, 1.2)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("data", type=Path)
    file = parser.parse_args().data / "pumice_plain" / "night_minima.csv"
    if not file.exists():
        print(f"{file} is not here: nothing is fitted")
        return
    table = pd.read_csv(file, index_col="date")
    spreads = []
    for kind in ("still", "mixed"):
        nights_c = table[table["kind"] == kind].drop(columns="kind")
        nights_c = nights_c[nights_c.notna().sum(axis=1) >= FEWEST]
        if kind == "still":
            found = factors(nights_c)
            slope, error, rest = found.T
            spreads.append(float(np.sqrt(slope.var(ddof=1) - error.mean())))
            print(
                f"Pumice Plain: {len(slope)} still nights, factor {slope.mean():.2f} "
                f"± {spreads[-1]:.2f}, rest ± {np.sqrt(rest.mean()):.2f} °C a logger"
            )
            own = nights_c.sub(nights_c.mean(axis=1), axis=0).mean()
        else:
            mean = nights_c.sub(nights_c.mean(axis=1), axis=0).mean()
            share = (own * mean).sum() / (own**2).sum()
            print(
                f"Pumice Plain: share left on {len(nights_c)} mixed nights {share:.2f}"
            )
    for area, ends in FINLAND.items():
        spreads.append(spread_of_gamma(*ends))
        print(f"Finland, {area}: factor ± {spreads[-1]:.2f}")
    print(f"mean {np.mean(spreads):.2f}, in use {Scatter().factor}")


if __name__ == "__main__":
    main()
