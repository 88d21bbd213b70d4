"""Sheets and still pictures are drawn again for all that is on them, and for no more."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from fieldmap.cache import Store
from fieldmap.show import print as sheets
from fieldmap.show.kept import kept as kept_in
from fieldmap.show.map import still
from fieldmap.show.map.questions import Asked
from fieldmap.show.map.questions.view import BedRamp
from fieldmap.show.text.language import of_site, spoken

ALL = {
    *("landowner", "before_you_sign", "crew", "tunnel_door"),
    *("tonight", "dawn_walk", "walk", "build"),
}


@pytest.fixture
def drawn(monkeypatch):
    """What was drawn: sheets by name, and stills."""
    drawn = []

    def set_(_sheets, name, _blocks):
        drawn.append(name)
        return name.encode()

    monkeypatch.setattr(sheets._Sheets, "set", set_)
    finish = still._finished

    def finished(*words):
        drawn.append("still")
        return finish(*words)

    monkeypatch.setattr(still, "_finished", finished)
    return drawn


def moved(plan):
    place = plan.analysis.cold_air.depth_m
    air = replace(
        plan.analysis.cold_air, depth_m=replace(place, values=place.values[1:])
    )
    return replace(plan, analysis=replace(plan.analysis, cold_air=air))


def named(plan):
    settings = plan.site.settings.model_copy(update={"name": "Another"})
    return replace(plan, site=replace(plan.site, settings=settings))


CHANGES = {
    "nothing": (lambda plan: plan, set()),
    "what is asked of changes": (
        lambda plan: replace(plan, what_ifs=()),
        {"landowner"},
    ),
    "a caution": (lambda plan: replace(plan, warnings=()), set()),
    "a bed less": (lambda plan: replace(plan, beds=plan.beds[:-1]), ALL),
    "the day": (lambda plan: replace(plan, today=date(2026, 3, 1)), ALL),
    "the name": (named, ALL),
    "the ground that is shown": (moved, ALL),
}


@pytest.mark.parametrize(("change", "again"), CHANGES.values(), ids=CHANGES)
def test_a_sheet_is_set_again_for_what_is_on_it(
    hedged_plan, tmp_path, drawn, change, again
):
    with kept_in(Store(tmp_path)):
        first = sheets.pdfs(hedged_plan)
    assert set(drawn) == ALL
    drawn.clear()
    with kept_in(Store(tmp_path)):
        assert sheets.pdfs(change(hedged_plan)) == first
    assert set(drawn) == again


def test_sheets_and_stills_are_drawn_again_in_another_language(
    hedged_plan, tmp_path, drawn
):
    asked = Asked(hedged_plan).questions[:1]
    for language in (of_site("en", "metric"), of_site("es", "metric")):
        with kept_in(Store(tmp_path)), spoken(language):
            drawn.clear()
            sheets.pdfs(hedged_plan)
            still.of_questions(still.scenery(hedged_plan), asked, "metric")
            assert set(drawn) == {*ALL, "still"}


def test_a_still_picture_is_drawn_again_for_what_is_on_it(hedged_plan, tmp_path, drawn):
    place, asked = still.scenery(hedged_plan), Asked(hedged_plan).questions
    with kept_in(Store(tmp_path)):
        first = still.of_questions(place, asked, "metric")
    assert len(drawn) == len(asked) > 5
    drawn.clear()
    with kept_in(Store(tmp_path)):
        assert still.of_questions(place, asked, "metric") == first
        assert drawn == []
        still.of_questions(place, asked, "us")
        still.of_questions(place._replace(beds=place.beds[::-1]), asked[:1], "metric")
        assert len(drawn) == len(asked) + 1
        question = asked[0]
        view = question.views[question.first]
        other = replace(
            view.picture, beds=BedRamp("cold", np.linspace(0, 1, len(place.beds)))
        )
        views = [*question.views]
        views[question.first] = replace(view, picture=other)
        still.of_questions(place, [replace(question, views=tuple(views))], "metric")
    assert len(drawn) == len(asked) + 2
