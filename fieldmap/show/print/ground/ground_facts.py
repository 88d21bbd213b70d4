"""What the sheets say of the ground, each fact once, from the plan itself.

The sheet for the landowner and the walk say the same because both ask here.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import geopandas as gpd

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.ranking import RankedBed

WARM = ("tender", "warm_loving")
LEAST_COLD_M2 = 10.0  # of a plot in a pocket, for it to be named
MOST_OF_A_PLOT = 0.5  # of its beds, from which a plot is one that comes first
IN_IT = 0.5  # of a bed that lies in a pocket


class ColdPlace(NamedTuple):
    """Where cold air lies on still nights, and what the plan does there.

    Attributes
    ----------
    behind
        What holds the air back, in words; "" where nothing does.
    plots
        Those of which it covers something.
    beds
        That lie in it.
    tender, hardy
        Crops that the plan sets on these beds: such as frost kills, and others.
    tender_from_day
        First day of the season-year on which one of the tender ones is out; None where
        there is none.
    """

    behind: str
    plots: tuple[str, ...]
    beds: tuple[str, ...]
    tender: tuple[str, ...]
    hardy: tuple[str, ...]
    tender_from_day: int | None


def cold_places(
    pockets: gpd.GeoDataFrame,
    plots: gpd.GeoDataFrame,
    beds: Sequence[Bed],
    crop_plan: CropPlan,
    classes: Mapping[str, str],
) -> Iterator[ColdPlace]:
    """Each cold pocket, the coldest first.

    Parameters
    ----------
    pockets
        With `behind` in words, see `named_pockets`.
    plots
        The plots, with their names.
    beds
        The beds in the order of the plan.
    crop_plan
        Which crop stands on which bed from when to when.
    classes
        Crop -> its class.
    """
    for pocket, behind in zip(pockets.geometry, pockets["behind"], strict=True):
        shared_m2 = plots.geometry.intersection(pocket).area
        inside = [
            bed.name
            for bed in beds
            if bed.outline.intersection(pocket).area > IN_IT * bed.outline.area
        ]
        stays = [stay for bed in inside for stay in crop_plan.by_bed.get(bed, ())]
        tender = [stay for stay in stays if classes.get(stay.crop) in WARM]
        yield ColdPlace(
            behind or "",
            tuple(str(name) for name in plots["name"][shared_m2 >= LEAST_COLD_M2]),
            tuple(inside),
            tuple(dict.fromkeys(stay.crop for stay in tender)),
            tuple(dict.fromkeys(stay.crop for stay in stays if stay not in tender)),
            min((stay.from_day for stay in tender), default=None),
        )


def surest_first(beds: Sequence[RankedBed]) -> RankedBed:
    """Of the beds that come first, the one that is most surely among them."""
    return min(beds, key=lambda it: (it.ranks.early, -it.earliness.among_first_share))


class First(NamedTuple):
    """Which ground can be planted first and last.

    Attributes
    ----------
    plots
        Of which half of the beds or more come first, else of which any does, in the order
        of the beds; none where all tie.
    last_plot
        Of which the beds come last of all; "" where that is one of the first.
    days_later
        Of its middle bed against the first beds; None where no dates are known.
    """

    plots: tuple[str, ...]
    last_plot: str
    days_later: float | None


def first_and_last(beds: Sequence[RankedBed]) -> First:
    """The plots whose beds come first, and that which waits longest."""
    if not beds or all(each.ranks.early == 1 for each in beds):
        return First((), "", None)
    by_plot: dict[str, list[RankedBed]] = {}
    for each in beds:
        by_plot.setdefault(each.bed.plot, []).append(each)
    shares = {
        plot: sum(each.ranks.early == 1 for each in here) / len(here)
        for plot, here in by_plot.items()
    }
    first = [plot for plot, share in shares.items() if share >= MOST_OF_A_PLOT]
    first = first or [plot for plot, share in shares.items() if share > 0]

    def middle(plot: str) -> RankedBed:
        ordered = sorted(by_plot[plot], key=lambda each: each.ranks.early)
        return ordered[len(ordered) // 2]

    last = max(by_plot, key=lambda plot: middle(plot).ranks.early)
    if last in first:
        return First(tuple(first), "", None)
    later = middle(last).earliness.days_after_first
    return First(tuple(first), last, None if later is None else later.central)
