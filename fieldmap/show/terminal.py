"""A plan as two short tables for the terminal."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.decide.ranking.groups import GROUPS
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _, month_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fieldmap.decide.ranking import RankedBed
    from fieldmap.plan import Plan


MOST_RUNS = 3


def lines(plan: Plan) -> list[str]:
    """Beds by plot from the first to plant to the last, then tunnels."""
    units = plan.site.settings.units
    spring = plan.site.spring_month
    lights = [ranked.light.sun_mj_m2_day[spring] for ranked in plan.beds]
    middle = float(np.median(lights)) if lights else 1.0
    groups = [
        (plot, group, [ranked for ranked in plan.beds if _is_of(ranked, plot, group)])
        for plot in plan.site.plots["name"]
        for group in GROUPS
    ]
    beds = [
        (
            plot,
            _(group),
            _runs(plan.beds, here),
            quantities.length(sum(ranked.bed.length_m for ranked in here), units),
            quantities.difference(
                float(np.median([ranked.offset_c.central for ranked in here])), units
            ),
            quantities.compared_light(
                np.median([ranked.light.sun_mj_m2_day[spring] for ranked in here])
                / middle
                - 1
            ),
        )
        for plot, group, here in groups
        if here
    ]
    places = [
        (
            place.name,
            place.plot,
            _("{length} by {width}").format(
                length=quantities.length(place.length_m, units),
                width=quantities.length(place.width_m, units),
            ),
            f"{place.bearing_deg:.0f}°, {quantities.axis(place.bearing_deg)}",
            quantities.fall(place.slope_along_percent, units),
            quantities.fall(place.slope_across_percent, units),
        )
        for place in plan.tunnels
    ]
    bed_heads = (
        _("plot"),
        _("to plant"),
        _("beds"),
        _("bed length"),
        _("on a still night"),
        _("in {month}").format(month=month_name(spring + 1)),
    )
    tunnel_heads = (
        _("tunnel"),
        _("plot"),
        _("size"),
        _("points at"),
        _("along it"),
        _("across it"),
    )
    return [
        *_columns([bed_heads, *beds]),
        *(["", *_columns([tunnel_heads, *places])] if places else []),
    ]


def _is_of(ranked: RankedBed, plot: str, group: str) -> bool:
    return ranked.bed.plot == plot and ranked.earliness.group == group


def _runs(every: Sequence[RankedBed], beds: Sequence[RankedBed]) -> str:
    """Names of beds in order, runs of one block as first-last, with their count."""
    told = {ranked.bed.name for ranked in beds}
    runs = []
    for (_block, among), run in itertools.groupby(
        every, key=lambda ranked: (ranked.bed.block, ranked.bed.name in told)
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
