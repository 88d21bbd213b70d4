"""Sentences name how their places are written, by forms that are there."""

from fieldmap.model.fact import Fact
from fieldmap.show.text import catalogue
from fieldmap.show.text.sentence import FORMS, say

TEXTS = {"text", "none", "one", "many"}


def test_every_form_that_a_sentence_names_is_known():
    """A form that is not known would leave the place as its bare value."""
    named = {
        (kind, form)
        for table in catalogue.tables("sentences")
        for kind, entry in table.items()
        if isinstance(entry, dict)
        for place, form in entry.items()
        if place not in TEXTS
    }
    assert ("tunnel_beds_free", "started_runs") in named
    assert [(kind, form) for kind, form in named if form not in FORMS] == []


def test_beds_of_a_tunnel_begin_a_sentence_by_their_tunnel():
    free = Fact("tunnel_beds_free", beds=["T2/1", "T2/2"], first=(6, 29), last=(3, 21))
    assert say(free, "metric").startswith(
        "Beds 1 and 2 in tunnel T2: no crop stands there from 29 June to 21 March."
    )
