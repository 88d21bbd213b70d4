"""Whoever is to dig is warned of buried lines: a post and a drain reach them alike.

Locating services ask to be called before any digging (common practice, no source).
"""

import re

import pytest

from fieldmap.show.text.catalogue import texts

# A drain above a tunnel, trenches along covers, and holes are what the plan asks to dig.
CAUTIONS = {
    "decide.cautions": ("sentences", "buried_lines"),
    "map.answers": ("sentences", "tunnel_note"),
    "print.crew": ("cautions", "buried"),
    "print.landowner": ("cautions", "buried"),
    "print.before_you_sign": ("sheet", "hole_where"),
    "print.build": ("cautions", "lift_trench"),
}


@pytest.mark.parametrize(
    ("where", "table", "key"), [(k, *v) for k, v in CAUTIONS.items()]
)
def test_lines_are_looked_for_before_anything_is_dug(where, table, key):
    said = texts(f"fieldmap.show.text.{where}", table)[key].casefold()
    assert re.search(r"\bpipes and cables\b", said)
    assert re.search(r"\b(dig|dug|digging)\b", said)


def test_the_tables_of_tunnels_say_it_first():
    first = texts("fieldmap.show.text.map.tunnels", "read_first")["cautions"][
        0
    ].casefold()
    assert "before you dig a drain" in first
    assert "call the utility locating service" in first
    assert "marks buried pipes and cables" in first
