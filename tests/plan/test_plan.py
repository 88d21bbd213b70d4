"""A plan is facts: it is made in no language and said in any."""

from dataclasses import replace

import pytest
from made_up import plane, plot_box, say_all, site, surroundings

from fieldmap.cache import Store
from fieldmap.errors import PlanError
from fieldmap.model.settings import WhatIf
from fieldmap.plan import make_plan
from fieldmap.read.outlines.what_if import imagine
from fieldmap.show.text import language
from fieldmap.show.text.decide import layout as layout_text
from fieldmap.show.text.language import problem_in_words, spoken

GROUND = plane(rows=60, cols=60, east=-0.06, north=0.06, cell_size_m=4.0)
PLOT = {"Home": plot_box(80, 60, 120, 90)}
SPANISH = language.language("es", "ES")


def refuse():
    raise AssertionError("a sentence was made while the plan was")


@pytest.fixture(scope="module")
def plan(kept):
    """A plot under an overhead line, wet in March, with a hedge that might go."""
    facts = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}
    around = surroundings(
        ("hedge", plot_box(70, 50, 130, 52), facts | {"name": "South Hedge"}),
        ("overhead line", plot_box(70, 100, 130, 100.1).exterior, {}),
    )
    change = WhatIf(name="No hedge", take_away=("South Hedge",))
    tunnel = {"length_m": 12.0, "width_m": 5.0, "height_m": 2.5}
    made_up = site(GROUND, PLOT, around, tunnels=[tunnel])
    made_up = replace(
        made_up,
        plots=made_up.plots.assign(wet_in_march=True),
        alternatives=imagine((change,), around, "metric"),
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(language, "current", refuse)
        return make_plan(made_up, kept, lambda step: None)


def sentences(plan):
    """All that a plan says of beds, of what to mind, and of changes."""
    return [
        *say_all(plan.warnings),
        *(said for bed in plan.beds for said in say_all(bed.reasons)),
        *(
            said
            for each in plan.layouts
            for said in layout_text.reasons(each, "metric")
        ),
        *(layout_text.runner_up(each, "metric") for each in plan.layouts),
        *(said for each in plan.tunnels for said in say_all(each.reasons)),
        *(said for effect in plan.what_ifs for said in say_all(effect.facts)),
    ]


def test_one_plan_is_said_in_english_and_in_spanish(plan):
    assert plan.tunnels
    english = sentences(plan)
    with spoken(SPANISH):
        spanish = sentences(plan)
    assert len(english) == len(spanish) > 20
    same = [one for one, other in zip(english, spanish, strict=True) if one == other]
    assert same == []
    assert "Frost advice can be wrong" in " ".join(english)
    assert any(said.startswith("Beds run") for said in english)
    assert any(said.startswith("Las camas ") for said in spanish)


def test_known_ground_that_ends_at_the_plots_is_refused_in_the_language_of_the_reader(
    tmp_path,
):
    narrow = plane(rows=10, cols=10, cell_size_m=4.0)
    at_the_rim = site(narrow, {"Home": plot_box(1, 165, 39, 199)})
    with pytest.raises(PlanError, match="the heights end") as refused:
        make_plan(at_the_rim, Store(tmp_path), lambda step: None)
    (problem,) = refused.value.problems
    with spoken(SPANISH):
        assert "el terreno conocido" in problem_in_words(problem)
