"""A plot above a hedge that might go, whose plan many tests look at."""

from dataclasses import replace

from made_up import plane, plot_box, site, surroundings

from fieldmap.model.settings import WhatIf
from fieldmap.plan import make_plan
from fieldmap.read.outlines.what_if import imagine

# 5 % to the south, a plot, and a hedge across the slope below it.
GROUND = plane(rows=200, cols=200, north=0.05, cell_size_m=2.0)
PLOT = {"Home": plot_box(180, -40, 220, 40)}
STRIP = plot_box(100, -44, 300, -42)
FACTS = {"height_m": 3.0, "porosity": 0.2, "clear_stem_m": 0.0, "leaf": "evergreen"}


def make_hedged_plan(store):
    """The plan, with "No hedge" as what might change."""
    around = surroundings(("hedge", STRIP, FACTS | {"name": "Long Hedge"}))
    what_if = (WhatIf(name="No hedge", take_away=("Long Hedge",)),)
    made_up = site(GROUND, PLOT, around)
    made_up = replace(made_up, alternatives=imagine(what_if, around, "metric"))
    return make_plan(made_up, store, lambda step: None)
