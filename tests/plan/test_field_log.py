"""What happened beside what was said, on plans whose dates and lows are known."""

import csv
import dataclasses
from datetime import date

import numpy as np
import pandas as pd
import pytest
from made_up import plane, plot_box, say_all, site

from fieldmap.errors import PlanError, SiteError
from fieldmap.model.estimate import Estimate
from fieldmap.model.field_log import Happened
from fieldmap.model.site import WeatherRecord
from fieldmap.plan import make_plan
from fieldmap.read.crops import packaged_crops
from fieldmap.read.field_log import EXAMPLE, read_happened
from fieldmap.review import field_log as reviewing
from fieldmap.show.files import review as pages

# Days of a year without 29 February: 10 May is the 130th, 20 May the 140th.
MAY_10, MAY_20, MAY_30 = 130.0, 140.0, 150.0
OCT_1, OCT_8, OCT_15 = 274.0, 281.0, 288.0


@pytest.fixture(scope="module")
def plan(kept):
    """One bed named A1, early dates 10 to 30 May, late ones 1 to 15 October."""
    days = pd.DataFrame(
        {"tmin_c": 5.0, "tmax_c": 15.0},
        index=pd.date_range("2024-01-01", "2025-12-31", name="date"),
    )
    # Nights after even days fall by 13 °C, the others by 10.
    days.loc[days.index.day % 2 == 0, "tmax_c"] = 18.0
    # The third of May follows a warm day; its night falls by 20 °C.
    days.loc["2025-05-02", "tmax_c"] = 20.0
    days.loc["2025-05-03", "tmin_c"] = 0.0
    made_up = dataclasses.replace(
        site(
            plane(), {"Home": plot_box(60, 60, 140, 140)}, crops=({"name": "tomato"},)
        ),
        weather=WeatherRecord(days),
    )
    made = make_plan(made_up, kept, lambda step: None)
    bed = dataclasses.replace(made.beds[0], offset_c=Estimate(-2.0, -1.0, 0.0))
    crop = packaged_crops()["tomato"]
    spans = np.array([[MAY_10, MAY_20, MAY_30], [OCT_1, OCT_8, OCT_15]])
    dates = dataclasses.replace(
        made.dates,
        crops=(crop,),
        covers=("none",),
        risks=(0.1,),
        early=spans[0].reshape(3, 1, 1, 1),
        late=spans[1].reshape(3, 1, 1, 1),
    )
    return dataclasses.replace(made, beds=(bed,), dates=dates)


def happened(day, what, crop="tomato", low_c=None):
    return Happened(2, date.fromisoformat(day), "A1", what, crop, "", low_c)


def sentences(found):
    return say_all(found.facts)


def test_plantings_are_set_against_the_early_date_and_counted_by_fate(plan):
    book = (
        happened("2025-05-25", "planted"),
        happened("2025-05-12", "planted"),
        happened("2025-05-14", "lost"),
    )
    found = reviewing.review(plan, book)
    after, before, lost = found.entries
    assert (after.difference, after.is_within) == (5.0, True)
    assert (before.difference, before.is_within) == (-8.0, True)
    assert after.predicted == tuple(
        date.fromisoformat(day) for day in ("2025-05-10", "2025-05-20", "2025-05-30")
    )
    assert lost.difference is None
    assert "Planted on the day in the plan, or later: 1. Killed by frost: 0." in (
        sentences(found)
    )
    assert "Planted before the day in the plan: 1. Killed by frost: 1." in (
        sentences(found)
    )


def test_a_loss_in_autumn_is_not_one_of_the_planting(plan):
    book = (happened("2025-05-25", "planted"), happened("2025-10-03", "lost"))
    assert any(
        said.endswith("1. Killed by frost: 0.")
        for said in sentences(reviewing.review(plan, book))
    )


def test_last_days_are_set_against_the_late_date(plan):
    # The day before the freeze that ends it: 7 October.
    row = reviewing.review(plan, (happened("2025-10-10", "held"),)).entries[0]
    assert row.predicted.central == date(2025, 10, 7)
    assert row.difference == 3.0
    assert row.is_within


def test_a_low_of_a_still_night_is_the_stations_and_the_offset(plan):
    book = (happened("2025-05-03", "low", "", -1.4),)
    row = reviewing.review(plan, book).entries[0]
    # Station 0 °C, level ground of its own height; offset -2, -1, 0 °C; ±1 °C for a
    # station whose place is not given (SCIENCE 13.3 of the papers: an unknown site bias).
    assert list(row.predicted) == [-3.0, -1.0, 1.0]
    assert row.difference == pytest.approx(-0.4)
    assert row.is_within


def test_a_low_of_a_mixed_night_takes_a_part_of_the_offset(plan):
    # 5 °C and .6 of -2, .17 of -1, any part of 0: a valley may lie around.
    row = reviewing.review(plan, (happened("2025-06-10", "low", "", 3.0),)).entries[0]
    assert list(row.predicted) == pytest.approx([3.8, 4.83, 5.0])
    assert row.difference == pytest.approx(-1.8)


def test_lows_that_were_as_predicted_count_in_the_mean(plan):
    # 4.83 °C is likely. Four are .17 over it, one is 3.33 under: 0.5 under in the mean.
    book = [happened(f"2025-06-{day}", "low", "", 5.0) for day in (10, 12, 14, 16)]
    book.append(happened("2025-06-18", "low", "", 1.5))
    said = sentences(reviewing.review(plan, book))
    assert (
        "On a typical one of these nights, it was 0.5 °C colder than the plan expected."
        in said
    )


def test_a_morning_beyond_the_record_is_counted_and_not_guessed(plan):
    found = reviewing.review(plan, (happened("2026-05-03", "low", "", -1.0),))
    assert found.entries[0].difference is None
    assert "For 1 of 1 lows, the weather record does not" in sentences(found)[0]


def write(folder, *lines):
    (folder / "happened.csv").write_text("\n".join([EXAMPLE, *lines]) + "\n")
    return read_happened(folder, "happened.csv", ["A1"], ["tomato"])


def test_lines_are_read_as_they_stand(tmp_path):
    assert read_happened(tmp_path, "happened.csv", [], []) is None
    book = write(
        tmp_path, "2025-05-20,a1,planted,Tomato,none,", "2025-05-21,A1,low,,,-1"
    )
    assert book[0] == Happened(
        2, date(2025, 5, 20), "A1", "planted", "tomato", "", None
    )
    assert book[1].low_c == -1.0


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("20.5.2025,A1,planted,tomato,,", r"line 2 has date '20.5.2025'; write year"),
        ("2025-05-20,A2,planted,tomato,,", r"bed 'A2', which is not a bed of the plan"),
        ("2025-05-20,A1,sowed,tomato,,", r"has what 'sowed'; use one of: planted"),
        ("2025-05-20,A1,planted,tomatoe,,", r"crop 'tomatoe'.*did you mean 'tomato'"),
        ("2025-05-20,A1,low,,,", r"is a low without a reading"),
        ("2025-05-20,A1,low,,,99", r"has low_c '99'; write a number.*-60 to 45"),
        ("2025-05-20,A1,planted,tomato,tarp,", r"cover 'tarp', which is not a cover"),
    ],
    ids=["date", "bed", "what", "crop", "no low", "a hot low", "cover"],
)
def test_a_line_that_cannot_be_used_is_refused_with_what_would_be_right(
    tmp_path, line, sentence
):
    with pytest.raises(SiteError, match=sentence):
        write(tmp_path, line)


def test_rows_are_written_for_a_spreadsheet_and_never_over_a_strangers_file(
    plan, tmp_path
):
    found = reviewing.review(plan, (happened("2025-05-25", "planted"),))
    pages.write(found, tmp_path / "review.csv")
    pages.write(found, tmp_path / "review.csv")
    with (tmp_path / "review.csv").open() as file:
        row = next(csv.DictReader(file))
    assert row["said_likely"] == "2025-05-20"
    assert row["difference"] == "5.0"
    (tmp_path / "mine.csv").write_text("mine")
    with pytest.raises(PlanError, match="does not replace it"):
        pages.check_place(tmp_path / "mine.csv")
    with pytest.raises(PlanError, match=r"ends in \.csv"):
        pages.check_place(tmp_path / "review.txt")
