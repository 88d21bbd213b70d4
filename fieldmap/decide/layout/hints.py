"""What was done with beds that the grower did not ask for, or could ask for."""

from collections import Counter
from collections.abc import Iterator, Sequence

from fieldmap.decide.layout.bays.lengths import Standard, roll_left_m
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.choose import Layout
from fieldmap.decide.layout.fill import Filled
from fieldmap.decide.layout.free_ground import LEAST_STEEP_M2
from fieldmap.decide.materials.cover_size import GATHERED_M
from fieldmap.model.fact import Fact
from fieldmap.model.settings import ROLL_OVER_PERCENT, Beds, Settings

# Of path, taken by the edges and bags of a cover (common practice, no source).
EDGE_M = 0.3


def hints(settings: Settings, plots: Sequence[str], filled: Filled) -> Iterator[Fact]:
    """Facts on lengths, plots without beds, beds that exist, widths, and steep ground.

    Parameters
    ----------
    settings
        What the grower chose: beds, covers, and the name of the file of beds.
    plots
        Names of the plots, in their order.
    filled
        Beds of the site and their layouts.
    """
    choices, beds, layouts = settings.beds, filled.beds, filled.layouts
    yield from _lengths(choices, beds, filled.standard)
    yield from _without_beds(choices, plots, filled)
    for name in sorted({bed.plot for bed in beds if bed.exists}):
        yield Fact("plot_keeps_beds", plot=name, file=settings.files.beds)
    if choices.under_one_hoop == 2 and layouts:
        yield Fact(
            "two_strips",
            strip_m=choices.bed_width_m,
            within_m=choices.path_within_m,
            whole_m=choices.width_m,
        )
    path_m, wide_m = choices.path_m, choices.covered_path_m
    narrow_m = choices.path_width_m
    if path_m > narrow_m:
        yield Fact("wider_paths", path_m=path_m, narrow_m=narrow_m, edge_m=EDGE_M)
    elif settings.covers and path_m < wide_m:
        yield Fact("narrow_paths", path_m=path_m, wide_m=wide_m, edge_m=EDGE_M)
    for each in layouts:
        yield from _steep(each, choices)
    yield from _roll_over(choices, filled)


def _without_beds(
    choices: Beds, plots: Sequence[str], filled: Filled
) -> Iterator[Fact]:
    """Plots too small for one bed, and those where something took all room."""
    with_beds = {bed.plot for bed in filled.beds}
    with_room = {each.plot for each in filled.layouts}
    for name in plots:
        if name not in with_beds | with_room:
            yield too_small(name, choices)
        elif name not in with_beds:
            least_m = choices.second_length_m or choices.shortest_m
            yield Fact("plot_without_beds", plot=name, shortest_m=least_m)


def too_small(plot: str, choices: Beds) -> Fact:
    """That a plot has no room for a bed, with what one needs."""
    length_m = choices.shortest_m + 2 * (choices.headland_m + choices.setback_m)
    width_m = choices.width_m + 2 * choices.setback_m
    return Fact("plot_too_small", plot=plot, length_m=length_m, width_m=width_m)


def _steep(layout: Layout, choices: Beds) -> Iterator[Fact]:
    """Ground left out, and rows too steep."""
    if layout.steep_m2 >= LEAST_STEEP_M2:
        yield Fact(
            "steep_ground",
            plot=layout.plot,
            area_m2=round(layout.steep_m2),
            percent=choices.steepest_percent,
        )
    if layout.too_steep:
        yield Fact("beds_too_steep", plot=layout.plot, beds=layout.too_steep)


def _roll_over(choices: Beds, filled: Filled) -> Iterator[Fact]:
    here = [bed for bed in filled.beds if bed.name in filled.roll_over]
    for plot in dict.fromkeys(bed.plot for bed in here):
        yield Fact(
            "beds_roll_over",
            plot=plot,
            beds=[bed.name for bed in here if bed.plot == plot],
            percent=ROLL_OVER_PERCENT[choices.work],
            tractor=choices.work == "tractor",
        )


def _lengths(choices: Beds, beds: Sequence[Bed], standard: Standard) -> Iterator[Fact]:
    """What lengths new beds have, and what that costs in ground and in cover."""
    lengths_m = Counter(round(bed.length_m, 3) for bed in beds if not bed.exists)
    if not lengths_m or choices.any_length:
        return
    yield Fact(
        "bed_lengths",
        lengths=sorted(lengths_m.items(), reverse=True),
        lost_percent=100 * standard.lost_share,
    )
    usual_m = max(lengths_m, key=lambda each: (each * lengths_m[each], each))
    left_m = roll_left_m(usual_m, choices.roll_m)
    covers = round((choices.roll_m - left_m) / (usual_m + GATHERED_M))
    if covers:
        yield Fact(
            "covers_of_a_roll",
            roll_m=choices.roll_m,
            number=covers,
            bed_m=usual_m,
            left_m=left_m,
            ends_m=GATHERED_M,
        )
