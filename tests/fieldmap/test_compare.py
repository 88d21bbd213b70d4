"""What is better is marked only where it is known to be."""

import numpy as np
from typer.testing import CliRunner

from fieldmap import compare
from fieldmap.cli import app
from fieldmap.errors import PlanError


def test_ranges_that_overlap_are_not_told_apart():
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


def test_light_is_told_apart_by_a_twentieth():
    beats = compare.beats_by_share(np.array([100.0, 96.0, 90.0]))
    assert beats.tolist() == [[False, False, True], [False, False, True], [False] * 3]


def test_plots_of_a_site_stand_side_by_side(plan):
    found = compare.compare([plan])
    assert found.names == tuple(plan.site.plots["name"])
    area = next(row for row in found.rows if row.key == "growing_area_m2")
    total = sum(ranked.bed.length_m * ranked.bed.width_m for ranked in plan.beds)
    assert np.isclose(sum(value.central for value in area.values), total)


def test_a_site_named_twice_is_refused(tmp_path):
    result = CliRunner().invoke(app, ["compare", str(tmp_path), str(tmp_path)])
    assert isinstance(result.exception, PlanError)
    assert "twice" in str(result.exception)
