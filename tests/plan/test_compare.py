"""What is better is marked only where it is known to be."""

import csv
import dataclasses
import re

import numpy as np
import pytest
from made_up import plane, plot_box, quietly, site
from typer.testing import CliRunner

from fieldmap.cli import app
from fieldmap.errors import PlanError
from fieldmap.model.site import PUDDLES, Mark
from fieldmap.plan import make_plan, plans_of_what_ifs
from fieldmap.review import compare
from fieldmap.show.files import compare as pages
from fieldmap.show.files.compare import pictures
from fieldmap.show.map import still
from fieldmap.show.text.review import compare as words

HOSTILE = '=1+1<img src=x onerror="x">'


@pytest.fixture(scope="module")
def plan(kept):
    """Two plots on a plane that falls to the south, the second half as large."""
    plots = {"High": plot_box(40, 110, 160, 160), "Low": plot_box(40, 60, 100, 110)}
    return make_plan(site(plane(north=0.05), plots), kept, lambda step: None)


def called(plan, name, second="Low"):
    """The same plan of a site with another name, and of its second plot."""
    settings = plan.site.settings.model_copy(update={"name": name})
    plots = plan.site.plots.assign(name=["High", second])
    beds = tuple(
        each
        if each.bed.plot == "High"
        else dataclasses.replace(each, bed=dataclasses.replace(each.bed, plot=second))
        for each in plan.beds
    )
    there = dataclasses.replace(plan.site, settings=settings, plots=plots)
    return dataclasses.replace(plan, site=there, beds=beds)


def test_ranges_that_overlap_are_not_distinguished():
    low, high = np.array([10.0, 15.0, 30.0]), np.array([20.0, 25.0, 40.0])
    beats = compare.beats_apart(low, high)
    assert beats.tolist() == [[False] * 3, [False] * 3, [True, True, False]]


def test_shared_draws_tell_apart_what_ranges_would_not():
    years = np.linspace(100.0, 140.0, 200)
    days = np.array([years, years + 3.0])
    assert compare.beats_paired(days).tolist() == [[False, False], [True, False]]


def test_a_day_of_difference_is_none():
    years = np.linspace(100.0, 140.0, 200)
    assert not compare.beats_paired(np.array([years, years + 1.0])).any()


def test_light_is_distinguished_by_a_twentieth():
    beats = compare.beats_by_share(np.array([100.0, 96.0, 90.0]))
    assert beats.tolist() == [[False, False, True], [False, False, True], [False] * 3]


def test_plots_of_a_site_stand_side_by_side(plan):
    found = compare.compare([plan])
    assert found.names == tuple(plan.site.plots["name"])
    area = next(row for row in found.rows if row.kind == "growing_area_m2")
    total = sum(ranked.bed.length_m * ranked.bed.width_m for ranked in plan.beds)
    assert np.isclose(sum(value.estimate.central for value in area.values), total)
    assert [value.mark for value in area.values] == ["better", "worse"]


def test_sites_stand_side_by_side_and_alike_ones_get_no_marks(plan):
    found = compare.compare([plan, called(plan, "other")])
    assert found.names == ("made up", "other")
    assert not any(value.mark for row in found.rows for value in row.values)


def test_one_plot_of_one_site_is_nothing_to_compare(plan):
    one = dataclasses.replace(plan.site, plots=plan.site.plots.iloc[:1])
    with pytest.raises(PlanError, match="there is nothing to compare"):
        compare.check(one.folder, list(one.plots["name"]))


def test_the_page_asks_no_network_and_shows_hostile_names_as_text(tmp_path, plan):
    plan = called(plan, HOSTILE, second=HOSTILE)
    found = compare.compare([plan])
    ground = pictures.ground(
        plan.site.settings.name, still.scenery(plan), plan.beds, plan.dates
    )
    pages.write(found, [ground], tmp_path / "compare.html", "metric")
    page = (tmp_path / "compare.html").read_text()
    assert page.count("<img") == 1
    assert "<img src=x" not in page
    assert not re.search(r"https?://(?!www\.w3\.org)", page)
    with (tmp_path / "compare.csv").open() as file:
        header = next(csv.reader(file))
    assert not any(field.startswith("=") for field in header)


def test_changes_of_a_place_stand_beside_it_as_it_is(hedged_plan, kept):
    """Without the hedge below it, cold air lies less deep on the lowest bed."""
    plan = hedged_plan
    compare.check_changes(plan.site.folder, plan.site.alternatives)
    found = compare.compare_changes([plan, *plans_of_what_ifs(plan, kept, quietly)])
    assert words.names(found) == ["As it is", "No hedge"]
    rows = {row.kind: row.values for row in found.rows}
    with_hedge, without = rows["cold_air_m"]
    assert without.estimate.central < with_hedge.estimate.central - 0.5
    # The hedge took light from the ground north of it.
    with_hedge, without = rows["winter_light_mj_m2_day"]
    assert without.estimate.central > with_hedge.estimate.central
    # Tunnels and materials have no row: no change of them is computed.
    assert not rows.keys() & {"tunnel_places", "hoops", "cover_m", "cost"}


def test_a_place_without_changes_has_nothing_to_set_beside_it(plan):
    with pytest.raises(PlanError, match=re.escape("[[what_if]]")):
        compare.check_changes(plan.site.folder, plan.site.alternatives)


def test_changes_are_those_of_one_site(tmp_path):
    sites = [str(tmp_path / "a"), str(tmp_path / "b")]
    result = CliRunner().invoke(app, ["compare", "--changes", *sites])
    assert result.exit_code == 1
    assert "you named 2 sites" in result.stderr


def test_wet_beds_are_those_that_were_given_or_seen(plan):
    row = {"wet_percent": None}

    def wet(site_):
        there = dataclasses.replace(plan, site=site_)
        found = compare.compare([there])
        (wet_row,) = (each for each in found.rows if each.kind in row)
        return [value.estimate.central for value in wet_row.values]

    assert np.isnan(wet(plan.site)).all()
    high = plan.site.plots.geometry.iloc[0]
    puddles = dataclasses.replace(plan.site, marks=(Mark("x", PUDDLES, high),))
    assert wet(puddles) == [100.0, 0.0]


def test_a_cost_that_lacks_a_price_is_not_known_and_stands_for_sites_alone(plan):
    by_plot = {row.kind for row in compare.compare([plan]).rows}
    assert "hoops" in by_plot
    assert "cost" not in by_plot
    found = compare.compare([plan, called(plan, "other")])
    cost = next(row for row in found.rows if row.kind == "cost")
    texts = words.row_texts(cost, found.seasons, "metric")
    assert all("not known" in text for text in texts)


def test_a_site_named_twice_is_refused(tmp_path):
    result = CliRunner().invoke(app, ["compare", str(tmp_path), str(tmp_path)])
    assert result.exit_code == 1
    assert "twice" in result.stderr
