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


@pytest.mark.parametrize(
    ("where", "table", "key"),
    [
        ("print.crew", "cautions", "buried"),
        ("print.pegs", "sheet", "first"),
        ("print.build", "cautions", "buried"),
    ],
)
def test_whoever_hits_a_line_knows_what_to_do(where, table, key):
    """Stop, keep people away, call for help (common practice, no source)."""
    said = texts(f"fieldmap.show.text.{where}", table)[key]
    assert re.search(
        r"If you hit one, stop, keep (everyone )?away and call for help", said
    )


def test_the_crew_is_not_sent_to_files_that_it_does_not_have():
    """Remarks on materials that name a file have words of their own on its sheet."""
    for_planners = texts("fieldmap.show.text.decide.materials", "sentences")
    for_crews = texts("fieldmap.show.text.print.crew", "remarks")
    sent = {
        kind
        for kind, text in for_planners.items()
        if "site.toml" in str(text) or "[[" in str(text)
    }
    assert sent
    assert sent <= set(for_crews)
    assert not re.search(r"site\.toml|\[\[|may_cut|anchor =", str(for_crews))
