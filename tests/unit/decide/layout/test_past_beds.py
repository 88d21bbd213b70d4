"""History stays on its ground: outlines in metres, shares worked by hand."""

from datetime import date

import pytest
from made_up import say_all
from shapely.geometry import box

from fieldmap.decide.layout import past_beds
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.layout.past_beds import History, layout, moved, written_down
from fieldmap.model.fact import Fact
from fieldmap.model.field_log import Happened, PastBed
from fieldmap.model.site import OwnBed, Stood

LAST, LOG = "last_year.csv", "happened.csv"
MAY_1, MAY_9 = date(2025, 5, 1), date(2025, 5, 9)


def bed(name, west, width_m=1.0):
    """A bed of 10 m to the north."""
    outline = box(west, 0, west + width_m, 10)
    return Bed(name, "Home", outline, 10.0, width_m, 0.0)


def own(name, west, width_m=1.0):
    return OwnBed(name, "Home", bed(name, west, width_m).outline)


def past(name, west, *crops, until=None, file=LAST):
    return PastBed(file, name, until, crops, bed(name, west).outline)


def planted(name, day=MAY_1):
    return Happened(2, day, name, "planted", "kale", "", None)


def test_a_line_whose_ground_nobody_wrote_down_is_left_out_and_said():
    """Bed A1 of today may lie elsewhere than the A1 that the grower meant."""
    history = History((), (), [bed("A1", 0)])
    stood, facts = history.stood(LAST, [Stood("A1", "kale", "Brassicaceae")])
    assert stood == ()
    assert facts == [Fact("history_without_ground", file=LAST, beds=["A1"])]
    assert "fieldmap keep" in say_all(facts)[0]


def test_a_bed_that_stays_has_its_history_by_name():
    history = History((), [own("A1", 0)], [bed("A1", 0), bed("A2", 2)])
    stood, facts = history.stood(LAST, [Stood("a1", "kale", None)])
    assert stood == (Stood("A1", "kale", None),)
    assert facts == []


def test_after_a_new_width_history_is_on_its_ground_and_nowhere_else():
    """Beds were 1 m wide every 2 m; now they are 2 m wide every 3 m.

    Past A1 (0 to 1) lies wholly in B1 (0 to 2). A2 (2 to 3) lies on the path beyond B1.
    A3 (4 to 5) lies wholly in B2 (3 to 5), A4 (6 to 7) in B3 (6 to 8).
    """
    before = [past(f"A{n}", 2 * n - 2, "kale") for n in (1, 2, 3, 4)]
    today = [bed("A1", 3, 2), bed("A2", 6, 2), bed("A3", 0, 2)]
    lines = [Stood(f"A{n}", "kale", None) for n in (1, 2, 3, 4)]
    stood, facts = History(before, (), today).stood(LAST, lines)
    assert [each.bed for each in stood] == ["A3", "A1", "A2"]
    assert facts == [
        Fact("history_under_no_bed", file=LAST, beds=["A2"]),
        Fact("history_elsewhere", file=LAST, beds=["A1 → A3", "A3 → A1", "A4 → A2"]),
    ]


@pytest.mark.parametrize(
    ("west", "lies"), [(0.5, True), (0.51, False), (-0.5, True), (-0.51, False)]
)
def test_half_of_the_smaller_bed_must_be_shared(west, lies):
    found = History((), (), [bed("B1", west)]).beds_on(bed("A1", 0).outline)
    assert found == (["B1"] if lies else [])


def test_a_wide_past_bed_lies_under_several_and_what_happened_goes_to_the_largest():
    """A past bed of 4 m: B1 shares 1 m of its 1, B2 2 m of its 2, B3 0.4 m of its 1."""
    wide = PastBed(LOG, "Old", MAY_1, (), box(0, 0, 4, 10))
    today = [bed("B1", 0), bed("B2", 1.5, 2), bed("B3", 3.6)]
    history = History([wide], (), today)
    assert history.beds_on(wide.outline) == ["B2", "B1"]
    lines, _facts = history.happened(LOG, [planted("Old")])
    assert [line.bed for line in lines] == ["B2"]


def test_lines_after_a_layout_changed_belong_to_the_later_one():
    """Up to 1 May A1 lay at 0, up to 9 May at 10; since then it stays at 20."""
    history = History(
        [
            past("A1", 10, until=MAY_9, file=LOG),
            past("A1", 0, until=MAY_1, file=LOG),
            past("A1", 30, "kale", file=LAST),
        ],
        [own("A1", 20)],
        [],
    )
    at = [
        history.ground(LOG, "A1", date(2025, 5, day)).bounds[0] for day in (1, 2, 9, 10)
    ]
    assert at == [0, 10, 10, 20]
    assert history.ground(LAST, "A1", crop="Kale").bounds[0] == 30
    assert history.ground(LAST, "A1", crop="pea").bounds[0] == 20


def test_the_layout_that_was_kept_last_counts_where_no_bed_stays():
    kept = layout([bed("A1", 5)])
    history = History(kept, (), [bed("A1", 0)])
    assert history.ground(LOG, "A1", MAY_1).bounds[0] == 5
    assert history.names(LOG) == ["A1"]


def test_what_keep_writes_down_is_the_ground_of_the_time():
    """A1 stays at 0 and is taken before A1 of the plan; A2 is planned; Z9 is nowhere."""
    history = History((), [own("A1", 0)], [bed("A1", 7), bed("A2", 2)])
    lines = [("A1", MAY_1, ""), ("A1", MAY_9, ""), ("A2", MAY_1, ""), ("Z9", MAY_1, "")]
    found, unknown = written_down(history, LOG, lines)
    assert [(each.bed, each.until, each.outline.bounds[0]) for each in found] == [
        ("A1", MAY_9, 0),
        ("A2", MAY_1, 2),
    ]
    assert unknown == ["Z9"]
    # Once written down it stays, whatever is planned later; what is new is added.
    later = History(found, (), [bed("A1", 50), bed("A2", 60)])
    again, _unknown = written_down(
        later, LOG, [*lines[:3], ("A1", date(2026, 5, 1), "")]
    )
    assert [(each.bed, each.outline.bounds[0]) for each in again] == [
        ("A1", 0),
        ("A2", 2),
        ("A1", 50),
    ]


def test_crops_of_last_year_tell_its_lines_apart():
    history = History((), [own("A1", 0)], [])
    (found,), _ = written_down(
        history, LAST, [("A1", None, "kale"), ("A1", None, "pea"), ("A1", None, "kale")]
    )
    assert found.crops == ("kale", "pea")
    assert found.until is None


def test_names_that_stand_for_other_ground_are_said():
    """A1 moved by 0.6 m of its 1 m; A2 by 0.5; A3 is new.

    A4 is a strip of 0.4 m within what was 1 m wide: less, and on the same ground.
    """
    before = [
        ("a1", bed("A1", 0).outline),
        ("A2", bed("A2", 10).outline),
        ("A4", bed("A4", 30).outline),
    ]
    today = [bed("A1", 0.6), bed("A2", 10.5), bed("A3", 20), bed("A4", 30.3, 0.4)]
    assert moved(before, today) == ["A1"]
    assert past_beds.SHARE == 0.5
