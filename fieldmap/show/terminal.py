"""A plan as two short tables for the terminal."""

import itertools
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.ranking.groups import GROUPS
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, month_name
from fieldmap.show.text.quantities import Units

MOST_RUNS = 3


def lines(
    beds: Sequence[RankedBed],
    tunnels: Sequence[TunnelPlace],
    plots: Sequence[str],
    spring_month: int,
    units: Units,
) -> list[str]:
    """Beds by plot from the first to plant to the last, then tunnels.

    Parameters
    ----------
    beds
        The beds in the order of the plan.
    tunnels
        The walk-in tunnels; where there are none, their table is left out.
    plots
        Their names, in order.
    spring_month
        From 0, in which light is compared.
    units
        "metric" or "us", for numbers in the tables.
    """
    tables = [_columns(_bed_rows(beds, plots, spring_month, units))]
    if tunnels:
        tables.append(_columns(_tunnel_rows(tunnels, units)))
    return [line for table in tables for line in ("", *table)][1:]


def _bed_rows(
    beds: Sequence[RankedBed], plots: Sequence[str], spring: int, units: Units
) -> Iterator[tuple[str, ...]]:
    month = month_name(spring + 1)
    yield (
        *(_("plot"), _("to plant"), _("beds"), _("bed length")),
        *(_("on a still night"), _("in {month}").format(month=month)),
    )
    lights = [ranked.light.sun_mj_m2_day[spring] for ranked in beds]
    middle = float(np.median(lights)) if lights else 1.0
    for plot, group in itertools.product(plots, GROUPS):
        here = [it for it in beds if (it.bed.plot, it.earliness.group) == (plot, group)]
        if not here:
            continue
        length_m = sum(ranked.bed.length_m for ranked in here)
        offset_c = float(np.median([ranked.offset_c.central for ranked in here]))
        light = np.median([ranked.light.sun_mj_m2_day[spring] for ranked in here])
        yield (
            plot,
            _(group),
            _runs(beds, here),
            quantities.length(length_m, units),
            quantities.difference(offset_c, units),
            quantities.compared_light(light / middle - 1),
        )


def _tunnel_rows(
    tunnels: Sequence[TunnelPlace], units: Units
) -> Iterator[tuple[str, ...]]:
    yield (
        *(_("tunnel"), _("plot"), _("size"), _("points at")),
        *(_("along it"), _("across it")),
    )
    for place in tunnels:
        yield (
            place.name,
            place.plot,
            _("{length} by {width}").format(
                length=quantities.length(place.size.length_m, units),
                width=quantities.length(place.size.width_m, units),
            ),
            f"{place.bearing_deg:.0f}°, {quantities.axis(place.bearing_deg)}",
            quantities.fall(place.ground.along_percent, units),
            quantities.fall(place.ground.across_percent, units),
        )


def _runs(every: Sequence[RankedBed], beds: Sequence[RankedBed]) -> str:
    """Names of beds in order, runs of one block as first-last, with their count."""
    named = {ranked.bed.name for ranked in beds}
    runs = []
    for (_block, among), run in itertools.groupby(
        every, key=lambda ranked: (ranked.bed.block_name, ranked.bed.name in named)
    ):
        names = [ranked.bed.name for ranked in run]
        if among:
            runs.append(names[0] if len(names) == 1 else f"{names[0]}-{names[-1]}")
    if len(runs) > MOST_RUNS:
        runs = [*runs[:MOST_RUNS], "..."]  # all of them stand in beds.csv
    return f"{', '.join(runs)} ({len(beds)})"


def _columns(rows: Iterable[tuple[str, ...]]) -> list[str]:
    table = list(rows)
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    return [
        "  ".join(
            cell.ljust(width) for cell, width in zip(row, widths, strict=True)
        ).rstrip()
        for row in table
    ]
