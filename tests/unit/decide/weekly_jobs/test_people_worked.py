"""Who does a job and how long, added up by hand from usual minutes (common practice, no
source) or from the lines of a log.
"""

import pytest

from fieldmap.decide.weekly_jobs import Task, Week, _with_people
from fieldmap.decide.weekly_jobs.job import ORDER, BedSet
from fieldmap.decide.weekly_jobs.people import (
    USUAL,
    WORK_OF,
    PeopleNeeded,
    length_m,
    people_needed,
)
from fieldmap.errors import SiteError
from fieldmap.model.field_log import WORKS, Worked
from fieldmap.read import door
from fieldmap.read.field_log import read_happened, read_worked
from fieldmap.show.text.decide import weekly_jobs as words

BEDS_M = {"A1": 20.0, "A2": 30.0, "A3": 10.0}


def test_every_work_has_a_usual_time_and_every_kind_is_a_job():
    assert set(USUAL) == set(WORKS)
    assert set(WORK_OF) <= {kind for kinds in ORDER for kind in kinds}


@pytest.mark.parametrize(
    ("kind", "people", "minutes"),
    [
        # 50 m: sown at 0.4 minutes a metre by one, 20; set out at 1.0, 50.
        ("sow_for_autumn", 1, 20.0),
        ("set_out", 1, 50.0),
        # Hoops take 1.0 of two people together: 25 on the clock.
        ("set_hoops", 2, 25.0),
        # Film 1.2: 30 for two.
        ("pull_film", 2, 30.0),
    ],
)
def test_usual_minutes_are_shared_by_the_people(kind, people, minutes):
    assert people_needed(kind, ["kale"], 50.0, ()) == PeopleNeeded(
        people, minutes, False
    )


def test_the_middle_of_the_log_stands_in_place_of_the_usual():
    """0.5, 0.9 and 3.0 minutes a metre: 0.9, so 45 for 50 m."""
    log = [Worked("sow", per_m) for per_m in (3.0, 0.5, 0.9)]
    assert people_needed("sow", ["carrot"], 50.0, log) == PeopleNeeded(1, 45.0, True)
    assert people_needed("set_out", ["kale"], 50.0, log).is_own is False


def test_what_nobody_knows_has_no_time():
    assert people_needed("order_seed", [], 50.0, ()) is None
    assert people_needed("sow", ["carrot"], 0.0, ()) is None


def test_length_is_that_of_beds_or_of_their_parts_and_of_no_group():
    runs = BedSet("", (("A1", "A2"), ("A3",)))
    assert length_m([runs], BEDS_M) == 60.0
    part = BedSet("", (("A1",),), (("A1", 4.0, 9.5), ("A2", 0.0, 2.0)))
    assert length_m([part], BEDS_M) == 7.5
    assert length_m([runs, part], BEDS_M) == 67.5
    assert length_m([BedSet("first", (("A1",),))], BEDS_M) == 0.0
    # A1 whole and 2 m of A2; a bed of unknown length leaves the sum unknown.
    mixed = BedSet("", (("A1", "A2"),), (("A2", 0.0, 2.0),))
    assert length_m([mixed], BEDS_M) == 22.0
    assert length_m([runs, BedSet("", (("T1",),))], BEDS_M) == 0.0
    assert length_m([], BEDS_M) == 0.0


def test_tasks_of_a_week_say_it():
    from types import SimpleNamespace

    beds = [
        SimpleNamespace(name=name, plot="Home", tunnel="", length_m=length)
        for name, length in BEDS_M.items()
    ]
    here = (BedSet("", (("A1", "A2"),)),)
    tasks = (Task("set_hoops", "", (), here), Task("bare_frames", "", (), ()))
    (week,) = _with_people([Week(None, tasks)], beds, [Worked("hoops", 3.0)])
    # 50 m at 3.0 minutes are 150, 75 for each of two.
    assert week.tasks[0].people == PeopleNeeded(2, 75.0, True)
    assert week.tasks[1].people is None
    said = words._people(week.tasks[0].people)
    assert said == "By your own notes, it takes 2 people about 1 hour 15 minutes."
    assert (
        words._people(PeopleNeeded(1, 0.4, False))
        == "It takes 1 person about 5 minutes."
    )


# ------------------------------------------------------------------ the log
HEAD = "date,bed,what,crop,cover,work,minutes,metres"


def log(tmp_path, *lines, head=HEAD):
    (tmp_path / "happened.csv").write_text("\n".join([head, *lines]) + "\n")
    return door.open_file(tmp_path, "happened.csv", door.MOST_BYTES_OF_TABLE)


def test_lines_of_work_give_minutes_a_metre(tmp_path):
    file = log(
        tmp_path,
        "2026-04-02,A1,planted,kale,,,,",
        "2026-04-02,A1,worked,kale,,sow,9,18",
        "2026-04-03,,Worked,,,Hoops,45,30",
    )
    assert read_worked(file) == (Worked("sow", 0.5), Worked("hoops", 1.5))
    # The book of plantings does not see them.
    (planted,) = read_happened(tmp_path, "happened.csv", ["A1"], ["kale"])
    assert planted.what == "planted"


def test_feet_are_metres(tmp_path):
    file = log(
        tmp_path,
        "2026-04-02,A1,worked,kale,,sow,30.48,100",
        head=HEAD.replace("metres", "feet"),
    )
    assert read_worked(file)[0].minutes_per_m == pytest.approx(1.0)


def test_a_log_without_minutes_has_no_work(tmp_path):
    file = log(tmp_path, "2026-04-02,A1,planted,kale,", head="date,bed,what,crop,cover")
    assert read_worked(file) == ()


@pytest.mark.parametrize(
    ("line", "parts"),
    [
        ("2026-04-02,A1,worked,kale,,dig,9,18", ("line 2", "'dig'", "sow")),
        ("2026-04-02,A1,worked,kale,,sow,,18", ("line 2", "minutes", "1 to 6000")),
        ("2026-04-02,A1,worked,kale,,sow,9,0", ("line 2", "metres", "1 to 10000")),
        ("2026-04-02,A1,worked,kale,,sow,quick,18", ("line 2", "minutes")),
    ],
)
def test_work_that_cannot_be_is_refused_in_a_sentence(tmp_path, line, parts):
    file = log(tmp_path, line)
    with pytest.raises(SiteError) as refused:
        read_worked(file)
    for each in parts:
        assert each in str(refused.value)
    with pytest.raises(SiteError):
        read_happened(tmp_path, "happened.csv", ["A1"], ["kale"])


@pytest.mark.parametrize(
    ("crops", "minutes"),
    [
        (["potato"], 50.0),
        (["garlic", "winter onion"], 50.0),
        # As a grower may call them.
        (["Potatoes"], 50.0),
        (["Onions", "hardneck garlic"], 50.0),
        (["potato", "carrot"], 20.0),
        (["carrot"], 20.0),
        ([], 20.0),
    ],
)
def test_what_is_planted_piece_by_piece_takes_as_long_as_what_is_set_out(
    crops, minutes
):
    """50 m at 1.0 minute a metre, against 0.4 for seed."""
    assert people_needed("sow", crops, 50.0, ()) == PeopleNeeded(1, minutes, False)
