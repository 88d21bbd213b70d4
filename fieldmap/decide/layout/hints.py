"""What was done with beds that the grower did not ask for, or could ask for."""

from collections.abc import Collection, Iterator, Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.choose import Layout
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Beds, Settings

# Of path, taken by the edges and bags of a cover (common practice, no source).
EDGE_M = 0.3


def hints(
    settings: Settings,
    plots: Sequence[str],
    beds: Sequence[Bed],
    layouts: Sequence[Layout],
) -> list[Fact]:
    """Facts on plots without beds, beds that exist, widths, and ground too steep."""
    filled = {bed.plot for bed in beds}
    shortest_m = settings.beds.shortest_m
    return [
        *(
            Fact("plot_without_beds", plot=name, shortest_m=shortest_m)
            for name in plots
            if name not in filled
        ),
        *(
            Fact("plot_keeps_beds", plot=name, file=settings.files.beds)
            for name in sorted({bed.plot for bed in beds if bed.exists})
        ),
        *_two_strips(settings.beds, layouts),
        *_path_widths(settings.beds, settings.covers),
        *(
            Fact("beds_too_steep", plot=each.plot, beds=each.too_steep)
            for each in layouts
            if each.too_steep
        ),
    ]


def _two_strips(choices: Beds, layouts: Sequence[Layout]) -> Iterator[Fact]:
    if choices.under_one_hoop == 2 and layouts:
        yield Fact(
            "two_strips",
            strip_m=choices.bed_width_m,
            within_m=choices.path_within_m,
            whole_m=choices.width_m,
        )


def _path_widths(choices: Beds, covers: Collection[object]) -> Iterator[Fact]:
    if choices.path_m > choices.path_width_m:
        yield Fact(
            "wider_paths",
            path_m=choices.path_m,
            narrow_m=choices.path_width_m,
            edge_m=EDGE_M,
        )
    elif covers and choices.path_m < choices.covered_path_m:
        yield Fact(
            "narrow_paths",
            path_m=choices.path_m,
            wide_m=choices.covered_path_m,
            edge_m=EDGE_M,
        )
