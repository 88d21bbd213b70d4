"""Remarks of a plan stand in groups, by what a grower does about them."""

import pytest

from fieldmap.model.fact import Fact
from fieldmap.plan.decided import CAUTIONS
from fieldmap.show.text import sentence
from fieldmap.show.text.site import before_you_rely

NAMED = [(key, kind) for key, kinds in before_you_rely.GROUPS.items() for kind in kinds]


def test_each_kind_that_is_named_is_said_somewhere_and_stands_in_one_group():
    kinds = [kind for _key, kind in NAMED]
    assert set(kinds) - set(sentence._sentences()) == set()
    assert len(set(kinds)) == len(kinds)


def test_what_can_hurt_comes_first_and_what_is_in_no_group_last():
    facts = [Fact("coarse_heights", every_m=5.0), Fact("mark"), Fact("buried_lines")]
    found = [
        (key, [fact.kind for fact in own])
        for key, _heading, own in before_you_rely.grouped(facts)
    ]
    assert found == [
        ("nobody_hurt", ["buried_lines"]),
        ("look_there", ["mark"]),
        ("worked_out", ["coarse_heights"]),
    ]


@pytest.mark.parametrize(
    "kind", ["buried_lines", "pipes_and_overhead_lines", "closed_tunnels_overheat"]
)
def test_what_every_plan_warns_of_stands_where_nobody_is_hurt(kind):
    assert kind in {fact.kind for fact in CAUTIONS}
    assert ("nobody_hurt", kind) in NAMED
