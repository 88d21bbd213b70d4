"""Tonight on the plan of the demo: five lows, clear and windy, in spring and in autumn."""

import shutil
from datetime import date

import numpy as np
import pytest

import fieldmap
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.show.text.decide.tonight import in_words, lines

LOWS_C = (-6.0, -2.0, 0.0, 3.0, 5.0)
EVENINGS = (date(2026, 4, 16), date(2026, 5, 25), date(2026, 10, 4))


@pytest.fixture(scope="module")
def evenings(planned_demo, tmp_path_factory):
    """Of the demo's plan, from what was kept for the next."""
    folder = tmp_path_factory.mktemp("tonight") / "demo_site"
    shutil.copytree(planned_demo, folder)
    site = fieldmap.read_site(folder)
    plan = fieldmap.make_plan(site, store=folder / ".fieldmap", today=date(2026, 1, 1))
    return plan.evenings


@pytest.fixture(scope="module")
def nights(evenings):
    """By evening, low and wind: the advice, and its lines."""
    found = {}
    for day in EVENINGS:
        for low_c in LOWS_C:
            for wind in ("calm", "windy"):
                advice = evenings.advise(day, Forecast(low_c, "clear", wind))
                said = lines(in_words(advice, "Farm", "metric"))
                found[day, low_c, wind] = advice, said
    return found


def still(nights):
    return {key: found for key, found in nights.items() if key[2] == "calm"}


def test_lists_of_two_lows_differ(nights):
    for day in EVENINGS:
        for wind in ("calm", "windy"):
            # Without the heading, which has the low in it.
            lists = {"\n".join(nights[day, low_c, wind][1][1:]) for low_c in LOWS_C}
            assert len(lists) == len(LOWS_C)


def test_no_more_is_laid_than_is_owned_and_colder_nights_leave_no_metre_idle(nights):
    laid = 0.0
    for advice, _said in still(nights).values():
        for cover in advice.covers:
            assert cover.used_m <= cover.owned_m + 1e-6
            laid += cover.used_m
        of_tasks = sum(task.cover_m for task in advice.tasks)
        assert of_tasks == pytest.approx(sum(each.used_m for each in advice.covers))
    assert laid > 0


def test_the_walk_goes_away_from_the_gate_on_each_plot(nights):
    for advice, _said in still(nights).values():
        for plot in advice.plots:
            ways_m = [row.stop.gate_m for row in plot.rows]
            assert np.all(np.diff(ways_m) >= 0)
        nearest_m = [plot.rows[0].stop.gate_m for plot in advice.plots]
        assert nearest_m == sorted(nearest_m)
        numbers = [task.number for task in advice.tasks]
        assert numbers == list(range(1, len(numbers) + 1))


def test_a_windy_evening_has_advice_on_wind_and_no_bed(nights):
    for (_day, _low_c, wind), (advice, said) in nights.items():
        if wind == "windy":
            assert (advice.plots, advice.tasks) == ((), ())
            text = "\n".join(said)
            assert "Cover nothing tonight" in text
            assert "Take along" not in text
            assert "before dark." not in text.replace("pick before dark", "")


def test_roots_and_hardened_leaves_get_no_cover(nights):
    kept = {
        row.standing.crop: row.verdict
        for advice, _said in still(nights).values()
        for row in advice.rows
        if row.standing.keeps
    }
    assert kept
    assert set(kept.values()) <= {"leave", "lost"}


def test_nothing_is_picked_before_its_first_harvest(nights, evenings):
    """Of the stays of the plan: seven days at the most before it."""
    ripe = 0
    season = evenings.crop_plan.season
    for (day, *_), (advice, said) in still(nights).items():
        number = season.day_of(day.month, day.day)
        for row in advice.rows:
            if row.standing.is_ripe:
                ripe += 1
                assert any(
                    number + later + 7 > each.harvest_day
                    for each in evenings.crop_plan.by_bed[row.standing.bed]
                    for later in (0, 365)
                    if each.crop == row.standing.crop
                    if each.from_day <= number + later <= each.to_day
                )
        if any("pick before dark" in line for line in said):
            assert any(row.standing.is_ripe for row in advice.rows)
    assert ripe
    for low_c in LOWS_C:
        text = "\n".join(nights[date(2026, 5, 25), low_c, "calm"][1])
        for line in text.splitlines():
            if "pick before dark" in line:
                assert "squash" not in line
                assert "potato" not in line


def test_tomorrow_is_the_last_line(nights):
    for _advice, said in nights.values():
        assert said[-1].startswith("Tomorrow:")
        assert sum(line.startswith("Tomorrow:") for line in said) == 1
