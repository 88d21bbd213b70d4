"""Tonight on the demo: ten forecasts of one evening, asked of one plan.

20 May lies before the last frost of some years of the invented record, with squash set out
and lettuce half grown. What is owned is read from site.toml and the gate from
surroundings.geojson, so the answers are held to the grower's files. Lows and nights are
those that a grower may hear forecast (a choice, no source).
"""

import itertools
import shutil
import tomllib
from datetime import date

import geopandas as gpd
import pytest
import rasterio

from fieldmap import make_plan, read_site
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.show.text.decide import tonight as words

EVENING = date(2026, 5, 20)
LOWS_C = (-6.0, -2.0, 0.0, 3.0, 5.0)
TENTH_M = 0.05  # lengths are shown to tenths


@pytest.fixture(scope="module")
def folder(planned_demo, tmp_path_factory):
    """A copy of the demo with all that its plan has kept."""
    path = tmp_path_factory.mktemp("evening") / "demo_site"
    shutil.copytree(planned_demo, path, ignore=shutil.ignore_patterns("plan"))
    return path


@pytest.fixture(scope="module")
def evenings(folder):
    """What any evening's list is made from."""
    site = read_site(folder)
    return make_plan(site, store=folder / ".fieldmap", today=date(2026, 1, 1)).evenings


def asked(evenings, wind):
    return {
        low_c: evenings.advise(EVENING, Forecast(low_c, "clear", wind))
        for low_c in LOWS_C
    }


@pytest.fixture(scope="module")
def clear(evenings):
    """The list of each low on a clear and calm night."""
    return asked(evenings, "calm")


@pytest.fixture(scope="module")
def windy(evenings):
    """The list of each low on a windy night."""
    return asked(evenings, "windy")


def verdicts(advice):
    return [
        (row.standing.bed, row.standing.part_m, row.verdict, row.piece)
        for row in advice.rows
    ]


def test_tender_and_hardy_crops_stand_there_that_evening(clear):
    """Without them the tests below would say nothing."""
    there = {row.standing.crop for row in clear[0.0].rows}
    assert there >= {"lettuce", "squash"}


def test_lists_of_different_lows_differ(clear):
    for one, other in itertools.combinations(LOWS_C, 2):
        assert verdicts(clear[one]) != verdicts(clear[other]), (one, other)
    said = {words.answer(each) for each in clear.values()}
    assert len(said) > 1


def test_the_colder_the_night_the_more_is_lost(clear):
    """What is left as unharmed on a night is so on every warmer one."""
    for colder, warmer in itertools.pairwise(LOWS_C):
        at_risk = [
            {
                (row.standing.bed, row.standing.part_m)
                for row in clear[low_c].rows
                if row.odds != "sure" and not row.standing.keeps
            }
            for low_c in (colder, warmer)
        ]
        assert at_risk[1] <= at_risk[0], (colder, warmer)


def test_no_list_takes_more_metres_than_are_owned(clear, folder):
    site = tomllib.loads((folder / "site.toml").read_text("utf-8"))
    owned_m = {each["kind"]: 0.0 for each in site["covers"]}
    for each in site["covers"]:
        owned_m[each["kind"]] += each["length_m"]
    laid = 0
    for advice in clear.values():
        used_m = dict.fromkeys(owned_m, 0.0)
        for task in advice.tasks:
            used_m[task.kind] += task.cover_m  # of a kind that is not owned: KeyError
            laid += 1
        assert all(used_m[kind] <= owned_m[kind] + TENTH_M for kind in owned_m)
    assert laid


def test_no_bed_is_covered_over_more_metres_than_stand_there(clear):
    pieces = [row for each in clear.values() for row in each.rows if row.piece]
    assert pieces
    for row in pieces:
        assert row.piece.bed_m <= row.length_m + TENTH_M


def test_one_walks_from_the_gate_on(clear, folder):
    """Plots by their nearest planted bed, beds within a plot by their own distance."""
    with rasterio.open(folder / "elevation.tif") as dataset:
        crs = dataset.crs
    around = gpd.read_file(folder / "surroundings.geojson").to_crs(crs)
    to_gate = around[around["kind"] == "gate"].geometry.union_all()
    assert not to_gate.is_empty
    for advice in clear.values():
        beds = {row.standing.bed: row.stop.ranked.bed for row in advice.rows}
        outlines = gpd.GeoSeries([each.outline for each in beds.values()])
        ways_m = dict(zip(beds, outlines.distance(to_gate), strict=True))
        plots = [
            list(group)
            for _, group in itertools.groupby(beds.values(), lambda b: b.plot)
        ]
        assert len({here[0].plot for here in plots}) == len(plots) > 1
        for here in plots:
            walk_m = [ways_m[bed.name] for bed in here]
            # Ways that are alike to a tenth keep the order of the plan.
            for nearer_m, farther_m in itertools.pairwise(walk_m):
                assert nearer_m <= farther_m + 0.1
        numbers = [task.number for task in advice.tasks]
        assert numbers == list(range(1, len(numbers) + 1))


def test_a_windy_night_gets_advice_for_wind_alone(windy):
    for low_c, advice in windy.items():
        assert (advice.plots, advice.tasks, advice.minutes) == ((), (), 0)
        assert not any(cover.used_m for cover in advice.covers)
        said = words.lines(words.in_words(advice, "Hill", "metric"))
        text = " ".join(said)
        assert "Cover nothing. Tie everything down." in text
        assert "close every door and side and tie them down" in text
        for of_still_nights in (
            "Take with you",
            "Cover 1",
            "Two people need",
            "take fabric off",
        ):
            assert of_still_nights not in text, low_c


def test_windy_nights_of_different_lows_tell_what_they_harm(windy):
    said = {low_c: words.first(advice, "metric") for low_c, advice in windy.items()}
    assert len(set(said.values())) == len(LOWS_C)
    assert any("squash" in each for each in said[-2.0])
    assert not any("Harmed" in each for each in said[5.0])
