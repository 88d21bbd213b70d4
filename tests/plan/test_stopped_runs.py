"""A short campaign, the same each time: killed runs, full disks, spoiled results."""

import sys

import pytest
from campaign import faults

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="asks the system")


def test_a_killed_run_leaves_the_old_plan_or_the_new_one():
    faults.kills(6, seed=1)


def test_a_full_disk_is_one_sentence_and_the_old_plan_stays():
    said = faults.full_disks([0, 100, 5_000, 19_999, 20_000, 999_999, 1_000_000])
    assert said[-1] == "written"
    assert "written" not in said[:-1]


def test_no_spoiled_result_is_believed():
    assert faults.spoiled_cache(seed=1, cuts=200) == 200
