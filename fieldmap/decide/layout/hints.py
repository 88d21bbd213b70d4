"""What was done with beds that the grower did not ask for, or could ask for."""

from collections import Counter
from collections.abc import Iterator, Sequence

from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.choose import Layout
from fieldmap.decide.layout.lengths import Standard, roll_left_m
from fieldmap.decide.materials.cover_size import GATHERED_M
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Beds, Settings

# Of path, taken by the edges and bags of a cover (common practice, no source).
EDGE_M = 0.3


def hints(
    settings: Settings,
    plots: Sequence[str],
    beds: Sequence[Bed],
    layouts: Sequence[Layout],
    standard: Standard,
) -> Iterator[Fact]:
    """Facts on plots without beds, beds that exist, widths, and ground too steep."""
    choices, filled = settings.beds, {bed.plot for bed in beds}
    yield from _lengths(choices, beds, standard)
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


def _lengths(choices: Beds, beds: Sequence[Bed], standard: Standard) -> Iterator[Fact]:
    """What lengths new beds have, and what that costs in ground and in cover."""
    lengths_m = Counter(round(bed.length_m, 3) for bed in beds if not bed.exists)
    if not lengths_m or choices.length_m == "any":
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
