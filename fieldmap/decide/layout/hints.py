"""What was done with beds that the grower did not ask for, or could ask for."""

from collections.abc import Iterator, Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.choose import Layout
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Settings

# Of path, taken by the edges and bags of a cover (common practice, no source).
EDGE_M = 0.3


def hints(
    settings: Settings,
    plots: Sequence[str],
    beds: Sequence[Bed],
    layouts: Sequence[Layout],
) -> Iterator[Fact]:
    """Facts on plots without beds, beds that exist, widths, and ground too steep."""
    choices, filled = settings.beds, {bed.plot for bed in beds}
    for name in plots:
        if name not in filled:
            yield Fact("plot_without_beds", plot=name, shortest_m=choices.shortest_m)
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
        if each.too_steep:
            yield Fact("beds_too_steep", plot=each.plot, beds=each.too_steep)
