"""What a grower does about each remark of a plan, so that like stands with like."""

from collections.abc import Iterable, Iterator, Mapping

from fieldmap.model.fact import Fact
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _

HEADINGS = texts(__name__, "headings")
REST = "worked_out"  # of all that is in no group: how far to trust days and degrees

# In the order in which they are read.
GROUPS: Mapping[str, frozenset[str]] = {
    "nobody_hurt": frozenset(
        (
            "bed_may_roll_over",
            "bed_near_overhead_line",
            "beds_near_overhead_line",
            "beds_roll_over",
            "buried_lines",
            "closed_tunnels_overheat",
            "loads_on_tunnels",
            "pipes_and_overhead_lines",
            "who_is_below",
        )
    ),
    "look_there": frozenset(
        (
            "bed_wet_in_march",
            "beds_too_steep",
            "drains_in_from_afar",
            "drains_in_over_the_edge",
            "mark",
            "no_water_point",
            "plots_wet_in_march",
            "shapes_outside",
            "steep_ground",
            "things_left_aside",
            "tunnel_on_wet_ground",
            "water_from_beyond",
        )
    ),
    "laid_out": frozenset(
        (
            "bed_lengths",
            "beds_in_tunnels",
            "beds_resting",
            "beds_untended",
            "cover_in_turn",
            "cover_in_turn_on_beds",
            "covers_of_a_roll",
            "covers_too_short",
            "hands_for_no_bed",
            "hoops_in_turn",
            "narrow_paths",
            "plot_keeps_beds",
            "plot_too_small",
            "plot_without_beds",
            "room_for_some_tunnels",
            "two_strips",
            "wider_paths",
        )
    ),
    REST: frozenset(),
}


def grouped(facts: Iterable[Fact]) -> Iterator[tuple[str, str, list[Fact]]]:
    """Key, heading and facts of each group that has some, in order."""
    of_kind = {kind: key for key, kinds in GROUPS.items() for kind in kinds}
    found: dict[str, list[Fact]] = {key: [] for key in GROUPS}
    for fact in facts:
        found[of_kind.get(fact.kind, REST)].append(fact)
    for key, own in found.items():
        if own:
            yield key, _(HEADINGS[key]), own
