"""What is decided of a place is kept, and made anew for all that it hangs on and no more."""

import threading
from dataclasses import fields, replace
from datetime import date

import pytest
from campaign.inputs import kinds, lay_out
from hedged import FACTS, GROUND, PLOT, STRIP
from made_up import quietly, site, surroundings

from fieldmap import plan as module
from fieldmap.analyse.cold_air import flow
from fieldmap.cache import Store
from fieldmap.cache.digest import digest
from fieldmap.decide import what_if
from fieldmap.model.settings import Settings, WhatIf
from fieldmap.model.site import Site
from fieldmap.plan import (
    Decided,
    Plan,
    decided,
    make_plan,
    plan_as_it_is,
    with_what_ifs,
)
from fieldmap.read import read_site
from fieldmap.read.outlines.what_if import imagine

HEDGE = surroundings(("hedge", STRIP, FACTS | {"name": "Long Hedge"}))
GONE = WhatIf(name="No hedge", take_away=("Long Hedge",))
TODAY = date(2026, 1, 1)


def asking(*changes, **choices):
    """The hedged plot, with changes that are asked about."""
    made = site(GROUND, PLOT, HEDGE, what_if=[each.model_dump() for each in changes])
    settings = made.settings.model_copy(update=choices)
    there = imagine(changes, HEDGE, "metric")
    return replace(made, settings=settings, alternatives=there)


@pytest.fixture
def done(monkeypatch):
    """What was decided and worked out, in order."""
    done = []

    def noting(name, call):
        def noted(*words, **named):
            done.append(name)
            return call(*words, **named)

        return noted

    look = noting("looked into tunnels", decided._looked_into)
    monkeypatch.setattr(decided, "_looked_into", look)
    monkeypatch.setattr(module, "decide", noting("decided", module.decide))
    effect = what_if.compute_effect

    def noted_effect(present, dates, alternative, *more):
        done.append(alternative.name)
        return effect(present, dates, alternative, *more)

    monkeypatch.setattr(what_if, "compute_effect", noted_effect)
    return done


def all_of(made):
    """Digest of all that a plan holds, but of its slow-to-compare light."""
    there = replace(made.analysis, light=None)
    known = {each.name: getattr(made, each.name) for each in fields(Plan)}
    return digest(known | {"analysis": there})


def test_what_is_kept_is_the_same_plan_and_an_added_change_is_all_that_is_made(
    tmp_path, kept, done
):
    fresh = make_plan(asking(GONE), kept, quietly, TODAY)
    first = make_plan(asking(GONE), Store(tmp_path), quietly, TODAY)
    done.clear()
    again = make_plan(asking(GONE), Store(tmp_path), quietly, TODAY)
    assert done == []
    assert all_of(again) == all_of(first) == all_of(fresh)
    thin = WhatIf(name="Half a hedge", take_away=("Long Hedge",))
    more = make_plan(asking(thin, GONE), Store(tmp_path), quietly, TODAY)
    assert done == ["Half a hedge"]
    assert [each.name for each in more.what_ifs] == ["Half a hedge", "No hedge"]
    assert more.warnings == first.warnings
    less = make_plan(asking(), Store(tmp_path), quietly, TODAY)
    assert done == ["Half a hedge"]
    assert less.what_ifs == ()
    assert what_if.CAUTION in more.warnings
    assert what_if.CAUTION not in less.warnings
    assert less.site.settings.what_if == ()


def test_another_bed_width_or_day_decides_all_anew(tmp_path, done):
    make_plan(asking(GONE), Store(tmp_path), quietly, TODAY)
    assert done == ["looked into tunnels", "decided", "No hedge"]
    wider = asking().settings.beds.model_copy(update={"bed_width_m": 0.9})
    for made, day in ((asking(GONE, beds=wider), TODAY), (asking(GONE), None)):
        done.clear()
        make_plan(made, Store(tmp_path), quietly, day)
        assert done == ["decided", "No hedge"]
    done.clear()
    careful = asking().settings.risk.model_copy(update={"tender": 0.05})
    make_plan(asking(risk=careful), Store(tmp_path), quietly, TODAY)
    assert done == ["looked into tunnels", "decided"]


def of(place):
    """What is decided of it goes by this."""
    return digest((place.without_what_ifs, TODAY))


@pytest.mark.parametrize("name", list(Settings.model_fields))
def test_each_choice_but_what_is_asked_about_changes_decides_anew(name):
    plain = asking()
    other = asking(**{name: "another"})
    is_same = of(plain) == of(other)
    assert is_same == (name == "what_if")


@pytest.mark.parametrize("name", [each.name for each in fields(Site)])
def test_each_thing_that_was_read_decides_anew_but_what_no_decision_sees(name):
    plain = asking()
    if name == "settings":  # each of them above
        return
    other = replace(plain, **{name: "another"})
    is_same = of(plain) == of(other)
    assert is_same == (name in ("folder", "alternatives", "input_hashes"))


@pytest.mark.parametrize(
    "kind",
    ["words", "observed", "wide elevation", "skyline", "typical year csv"],
)
def test_whatever_a_site_is_read_from_it_has_one_digest(tmp_path, kind):
    """With every choice, every file beside, and records of each type."""
    lay_out(kinds()[kind].files, tmp_path)
    once, again = (of(read_site(tmp_path, ("en",))) for _ in range(2))
    assert once == again


def test_whoever_decides_sees_nothing_that_is_not_in_the_digest():
    seen = asking(GONE).without_what_ifs
    assert seen.alternatives == ()
    assert seen.settings.what_if == ()
    assert seen.input_hashes == {}
    assert {each.name for each in fields(Plan)} - {
        each.name for each in fields(Decided)
    } == {
        "analysis",
        "made_of",
        "what_ifs",
        "happened",
    }


def test_a_plan_as_it_is_asks_about_no_change_and_no_thread_is_left_at_work(
    tmp_path, done
):
    """A copy of the process is made with it."""
    store, before = Store(tmp_path), set(threading.enumerate())
    as_it_is = plan_as_it_is(asking(GONE), store, quietly, TODAY)
    assert done == ["looked into tunnels", "decided"]
    assert as_it_is.what_ifs == ()
    left = set(threading.enumerate()) - before
    assert left <= set(flow._pool()._threads)
    assert flow._pool()._work_queue.empty()
    made = with_what_ifs(as_it_is, store, quietly)
    assert done == ["looked into tunnels", "decided", "No hedge"]
    assert [each.name for each in made.what_ifs] == ["No hedge"]
    assert made.warnings == (*as_it_is.warnings, what_if.CAUTION)
    plain = replace(made, what_ifs=(), warnings=as_it_is.warnings)
    assert all_of(plain) == all_of(as_it_is)
