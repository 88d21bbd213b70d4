"""The list by week against years worked by hand.

Weeks in trays, and all other spans between jobs, are common practice without a source;
tests count them on a wall calendar. 1 January 2027 is a Friday.
"""

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import vobject
from hypothesis import given, settings
from hypothesis import strategies as st
from made_up import plane, plot_box, site

from fieldmap.decide import weekly_jobs
from fieldmap.decide.calendar import shade_need
from fieldmap.decide.calendar.in_tunnels import door_months
from fieldmap.decide.ranking.groups import FIRST, LAST, SAME
from fieldmap.decide.weekly_jobs import CropTask, Schedule, Task, Week, last_day, over
from fieldmap.decide.weekly_jobs.job import BedSet
from fieldmap.decide.weekly_jobs.of_crop import PlannedBeds
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import packaged_crops
from fieldmap.show.files.calendar import ics
from fieldmap.show.text.decide import door_card
from fieldmap.show.text.decide import weekly_jobs as words
from fieldmap.show.text.language import of_site, spoken
from fieldmap.show.text.sentence import say

CROPS = packaged_crops()
NEW_YEAR = date(2027, 1, 1)
MILD = 12.0  # MJ/m² a day: 26 mol/m² a day by 2.18 mol per MJ


def day(month, number):
    """Number of a day in a year without 29 February."""
    return (date(2027, month, number) - date(2026, 12, 31)).days


def weather(tmin_c=5.0, tmax_c=15.0):
    """Two years with the same minimum and maximum, or twelve of each, every month."""
    days = pd.date_range("2025-01-01", "2026-12-31", name="date")
    columns = {
        name: np.broadcast_to(value, 12)[days.month - 1].astype(float)
        for name, value in (("tmin_c", tmin_c), ("tmax_c", tmax_c))
    }
    return WeatherRecord(pd.DataFrame(columns, index=days))


def farm(crops, kinds=(), latitude=45.0, record=None, **choices):
    covers = [{"kind": k, "width_m": 2.0, "length_m": 100.0} for k in kinds]
    wanted = [{"name": name} if isinstance(name, str) else name for name in crops]
    made = site(
        plane(),
        {"Home": plot_box(40, 40, 80, 60)},
        latitude=latitude,
        crops=wanted,
        covers=covers,
        **choices,
    )
    found = tuple(CROPS[each["name"]] for each in wanted)
    return replace(made, crops=found, weather=record or weather())


def rows(*groups, sun=MILD):
    """One bed for each group given, A1 and on."""
    return [
        SimpleNamespace(
            bed=SimpleNamespace(
                name=f"A{number}", plot="Home", tunnel="", length_m=20.0
            ),
            earliness=SimpleNamespace(group=group),
            light=SimpleNamespace(sun_mj_m2_day=(sun,) * 12),
        )
        for number, group in enumerate(groups, start=1)
    ]


def dates_for(made, beds, covers=("none",), early=None, late=None, sown=None):
    """Dates of which the list reads the days.

    `early` and `late` map (crop, cover) to the first and the last day, or to low, central
    and high; what is not given never comes. A late date is the morning after the last day.
    """
    names = [crop.name for crop in made.crops]

    def filled(days):
        grid = np.full((3, len(names), len(covers), len(beds)), np.inf)
        for (crop, cover), value in (days or {}).items():
            spread = np.reshape(value, (3, -1)) if np.ndim(value) else value
            grid[:, names.index(crop), covers.index(cover)] = spread
        return grid

    return SimpleNamespace(
        crops=made.crops,
        covers=covers,
        early=filled(early),
        late=filled(late) + 1,
        last_sowing=filled(sown) if sown else np.full(filled(None).shape, np.nan),
        slackens=np.full(filled(None).shape[1:], np.nan),
        known=True,
        remarks=(),
    )


def listed(made, beds, dates, today=NEW_YEAR):
    """Jobs by the Monday of their week."""
    return {
        week.start: list(week.jobs)
        for week in words.weeks(weekly_jobs.make(made, beds, dates, today), "metric")
    }


def weeks_of(jobs, part):
    return [start for start, said in jobs.items() if any(part in job for job in said)]


# ------------------------------------------------------------------ one crop
def test_a_tomato_without_a_cover_from_seed_to_the_last_day():
    made, beds = farm(["tomato"]), rows(SAME)
    dates = dates_for(
        made,
        beds,
        early={("tomato", "none"): (day(5, 10), day(5, 17), day(5, 23))},
        late={("tomato", "none"): (day(9, 12), day(9, 20), day(9, 30))},
    )
    assert listed(made, beds, dates) == {
        date(2027, 3, 1): ["Order tomato seed this week at the latest."],
        date(2027, 3, 29): ["Sow tomatoes in trays. The plants are for all beds."],
        date(2027, 5, 10): [
            "Harden off tomatoes (get the plants used to sun, wind and cold): put the trays outside by day for a week. The plants are for all beds."
        ],
        date(2027, 5, 17): [
            "Plant out tomatoes in all beds. The likely date is between 10 May and 23 May."
        ],
        date(2027, 9, 20): [
            "Pick the last tomatoes in all beds. This is likely the last week of that harvest. The likely date is between 12 September and 30 September."
        ],
    }


def test_a_sown_crop_has_no_trays():
    made, beds = farm(["carrot"]), rows(SAME)
    dates = dates_for(made, beds, early={("carrot", "none"): day(4, 5)})
    assert listed(made, beds, dates) == {
        date(2027, 3, 8): ["Order carrot seed this week at the latest."],
        date(2027, 4, 5): ["Sow carrots in all beds. The likely date is 5 April."],
    }


def under_film(made, beds, film, bare, crop="tomato", late=None):
    covers = ("none", "clear_film")
    early = {(crop, "none"): bare, (crop, "clear_film"): film}
    return dates_for(made, beds, covers, early=early, late=late)


def test_film_goes_up_before_planting_and_off_when_bare_beds_would_do():
    made, beds = farm(["tomato"], ["clear_film"]), rows(SAME)
    jobs = listed(made, beds, under_film(made, beds, day(5, 3), day(5, 17)))
    film = "Pull the clear film over all beds for tomatoes. Do it on a warm morning without wind."
    off = "Take the clear film off tomatoes in all beds when nights are warm enough for this crop."
    assert jobs[date(2027, 4, 19)] == [
        "Put up hoops and lay drip lines on all beds for tomatoes."
    ]
    assert jobs[date(2027, 4, 26)] == [
        film,
        "Harden off tomatoes (get the plants used to sun, wind and cold): put the trays outside by day for a week. The plants are for all beds.",
    ]
    assert jobs[date(2027, 5, 3)] == [
        "Plant out tomatoes in all beds, under clear film. The likely date is 3 May."
    ]
    assert jobs[date(2027, 5, 17)] == [off]
    assert jobs[date(2027, 5, 24)] == [
        "Dry the clear film and roll it up. Write the size on it. Then store it."
    ]


def test_film_over_sown_peas_stays_until_peas_sown_bare_would_be_up():
    """In soil of 10 + 1.5 °C peas take 12 days: 1 / (1/14 + 0.3 (1/9 - 1/14)).

    Sown bare on 5 April, their first day, they are seen on the 16th.
    """
    made, beds = farm(["pea"], ["clear_film"]), rows(SAME)
    jobs = listed(made, beds, under_film(made, beds, day(3, 15), day(4, 5), "pea"))
    assert weeks_of(jobs, "Sow peas in all beds, under clear film") == [
        date(2027, 3, 15)
    ]
    assert weeks_of(jobs, "Take the clear film off peas") == [date(2027, 4, 12)]


@pytest.mark.parametrize(
    ("kinds", "choice", "gain_days"),
    [
        (["clear_film"], {}, 6),  # not worth hoops
        ([], {}, 14),  # not owned
        (["clear_film"], {"covers": []}, 14),  # not wanted
    ],
)
def test_a_cover_is_left_out_that_gains_little_or_is_not_there(
    kinds, choice, gain_days
):
    made, beds = farm([{"name": "tomato"} | choice], kinds), rows(SAME)
    bare = day(5, 17)
    jobs = listed(made, beds, under_film(made, beds, bare - gain_days, bare))
    assert weeks_of(jobs, "Plant out tomatoes") == [date(2027, 5, 17)]
    assert not weeks_of(jobs, "film")


def test_at_first_flower_squash_is_opened_for_the_bees():
    made, beds = farm(["squash"], ["clear_film"]), rows(SAME)
    jobs = listed(made, beds, under_film(made, beds, day(5, 17), np.inf, "squash"))
    # Six weeks after 17 May; bare beds never do, so it is not taken off for good.
    assert weeks_of(jobs, "When squash in all beds start to flower") == [
        date(2027, 6, 28)
    ]
    assert not weeks_of(jobs, "Take the")
    soon = under_film(made, beds, day(5, 17), day(6, 1), "squash")
    early = listed(made, beds, soon)
    assert not weeks_of(early, "start to flower")
    # In a cold year it goes all the same when flowers open: bees must reach them (common
    # practice, no source).
    assert weeks_of(early, "If flowers open earlier, take it off then") == [
        date(2027, 5, 31)
    ]


def test_in_autumn_the_cover_is_ready_a_week_before_and_stored_a_week_after():
    made, beds = farm(["tomato"], ["clear_film"]), rows(SAME)
    late = {("tomato", "none"): day(9, 20), ("tomato", "clear_film"): day(10, 4)}
    dates = under_film(made, beds, day(5, 17), day(5, 17), late=late)
    jobs = listed(made, beds, dates)
    assert weeks_of(jobs, "ready to cover tomatoes") == [date(2027, 9, 13)]
    assert weeks_of(jobs, "tomatoes under the clear film in all beds. This is") == [
        date(2027, 10, 4)
    ]
    assert weeks_of(jobs, "Dry the clear film") == [date(2027, 10, 11)]


def test_a_crop_is_left_out_that_cannot_ripen_and_the_days_are_reported():
    # Days to maturity of a tomato stand in crops.toml: 60 to 85 from setting out.
    made, beds = farm(["tomato"]), rows(SAME)
    for days, is_in in ((59, False), (60, True)):
        dates = dates_for(
            made,
            beds,
            early={("tomato", "none"): day(6, 1)},
            late={("tomato", "none"): day(6, 1) + days},
        )
        made_list = weekly_jobs.make(made, beds, dates, NEW_YEAR)
        assert bool(made_list.weeks) is is_in
        assert (
            any(
                "There are only 59 days between" in said
                for said in words.remarks(made_list, "metric")
            )
            is not is_in
        )


def test_a_crop_that_is_never_warm_enough_has_no_jobs_but_a_reason():
    made, beds = farm(["melon"]), rows(SAME)
    made_list = weekly_jobs.make(made, beds, dates_for(made, beds), NEW_YEAR)
    assert made_list.weeks == ()
    assert any(
        "Melons in all beds: no usual year is warm" in said
        for said in words.remarks(made_list, "metric")
    )


# ------------------------------------------------------------------ groups of beds
def test_groups_have_their_own_weeks_and_share_a_sentence_where_they_can():
    made, beds = farm(["carrot", "beet"]), rows(FIRST, FIRST, FIRST, LAST)
    early = {
        # The middle of the first three beds is 5 April.
        ("carrot", "none"): [[day(4, n) for n in (3, 5, 9, 19)]] * 3,
        ("beet", "none"): [[day(6, n) for n in (7, 7, 7, 9)]] * 3,
    }
    made_list = weekly_jobs.make(
        made, beds, dates_for(made, beds, early=early), NEW_YEAR
    )
    jobs = {week.start: week.jobs for week in words.weeks(made_list, "metric")}
    assert (
        "Sow carrots in the first beds. The likely date is 5 April."
        in jobs[date(2027, 4, 5)]
    )
    assert (
        "Sow carrots in the last beds. The likely date is 19 April."
        in jobs[date(2027, 4, 19)]
    )
    assert (
        "Plant out beets in all beds. The likely date is between 7 June and 9 June."
        in jobs[date(2027, 6, 7)]
    )
    assert words.groups(made_list) == (
        "The first beds: A1 to A3.",
        "The last beds: A4.",
    )


def test_groups_that_no_job_names_are_not_explained():
    made, beds = farm(["carrot"]), rows(FIRST, FIRST, LAST)
    dates = dates_for(made, beds, early={("carrot", "none"): day(4, 5)})
    days = day(4, 5), day(7, 5), day(8, 5)
    stay = PlannedBeds("spring", frozenset({"A1"}), None, None, *days)
    made_list = weekly_jobs.make(
        made, beds, dates, NEW_YEAR, planned={"carrot": [stay]}
    )
    assert any(
        "in A1" in job for week in words.weeks(made_list, "metric") for job in week.jobs
    )
    assert words.groups(made_list) == ()
    on_all = weekly_jobs.make(made, beds, dates, NEW_YEAR)
    assert words.groups(on_all) == ()


def test_a_group_that_a_remark_names_is_explained():
    made, beds = farm(["carrot"]), rows(FIRST, LAST)
    early = {("carrot", "none"): [[day(4, 5), np.inf]] * 3}
    made_list = weekly_jobs.make(
        made, beds, dates_for(made, beds, early=early), NEW_YEAR
    )
    assert any(
        "Carrots in the last beds" in said
        for said in words.remarks(made_list, "metric")
    )
    assert words.groups(made_list) == ("The first beds: A1.", "The last beds: A2.")


def test_crops_of_one_week_share_a_sentence():
    made, beds = farm(["carrot", "radish"]), rows(SAME)
    early = {("carrot", "none"): day(4, 5), ("radish", "none"): day(4, 6)}
    jobs = listed(made, beds, dates_for(made, beds, early=early))
    assert jobs[date(2027, 4, 5)] == [
        "Sow carrots and radishes in all beds. For carrots, the likely date is 5 April. For radishes, the likely date is 6 April."
    ]


# ------------------------------------------------------------------ heat and shade
HOT_SUMMER = [15.0] * 6 + [36.0] * 2 + [15.0] * 4
OF_45_MOL = 45 / 2.18


@pytest.mark.parametrize(
    ("crop", "mol", "percent"),
    [
        ("lettuce", 45.0, 50),  # 22.5 is still over 17, and no darker cloth is on sale
        ("lettuce", 16.0, None),  # 12 to 17 is best
        ("lettuce", 24.0, 30),  # 16.8
        ("lettuce", 28.0, 40),  # 30 % leaves 19.6, 40 % leaves 16.8
        ("tomato", 45.0, 30),  # 31.5, over 20 to 30; it is not given more than 30 %
        ("squash", 60.0, None),  # takes all the light it gets
    ],
)
def test_the_least_cloth_on_sale_that_brings_light_to_the_best(crop, mol, percent):
    wanted = shade_need.need(
        CROPS[crop],
        weather(tmax_c=HOT_SUMMER).days["tmax_c"],
        [mol / 2.18] * 12,
        season=NORTH,
    )
    assert wanted.kind == (percent and f"shade_{percent}")
    assert (wanted.months == (7, 8)) is (percent is not None)
    assert say(wanted.why, "metric")


def test_hot_days_are_the_share_of_known_days_over_the_limit():
    tmax = pd.Series([30.0, 31.0, np.nan, 20.0], pd.date_range("2025-07-01", periods=4))
    # One of three known days is over 30 °C: 31/3 in a July.
    found = shade_need.hot_days(tmax, 30.0)
    assert found[6] == pytest.approx(31 / 3)
    assert np.isnan(found[0])


def test_shade_goes_on_and_off_with_the_hot_months():
    record = weather(tmax_c=HOT_SUMMER)
    made, beds = farm(["lettuce"], record=record), rows(SAME, sun=OF_45_MOL)
    jobs = listed(made, beds, dates_for(made, beds))
    # 1 July 2027 is a Thursday, 1 September a Wednesday.
    assert weeks_of(jobs, "Put 50 % shade cloth on hoops") == [date(2027, 6, 28)]
    assert weeks_of(jobs, "Take the shade cloth off lettuce") == [date(2027, 8, 30)]
    assert weeks_of(jobs, "Order 50 % shade cloth") == [date(2027, 5, 31)]
    owner = farm(["lettuce"], ["shade_50"], record=record)
    assert not weeks_of(listed(owner, beds, dates_for(owner, beds)), "Order 50 %")


def test_needs_none_is_an_answer():
    made, beds = farm(["lettuce"]), rows(SAME, sun=OF_45_MOL)
    made_list = weekly_jobs.make(made, beds, dates_for(made, beds), NEW_YEAR)
    said = words.remarks(made_list, "metric")
    assert "Lettuce: no month is too hot, so no shade is needed." in said


# ------------------------------------------------------------------ the year around
def test_in_the_south_days_count_from_july_and_summer_runs_over_new_year():
    hot = [36.0] * 2 + [15.0] * 9 + [36.0]
    made = farm(["lettuce"], latitude=-40.0, record=weather(tmax_c=hot))
    beds = rows(SAME, sun=OF_45_MOL)
    # Day 105 of a year from 1 July is 13 October, a Wednesday in 2027.
    dates = dates_for(made, beds, early={("lettuce", "none"): 105})
    jobs = listed(made, beds, dates, date(2027, 7, 1))
    assert weeks_of(jobs, "The likely date is 13 October.") == [date(2027, 10, 11)]
    assert weeks_of(jobs, "shade cloth on hoops") == [date(2027, 11, 29)]
    assert weeks_of(jobs, "Take the shade cloth off") == [date(2028, 2, 28)]


def test_frames_are_bared_two_weeks_before_the_first_month_under_two_degrees():
    cold = [-5.0] * 2 + [5.0] * 9 + [-5.0]
    record = weather(tmin_c=cold, tmax_c=np.add(cold, 6))
    tunnels = [{"length_m": 10.0, "width_m": 4.0, "height_m": 2.4}]
    made, beds = farm(["carrot"], record=record, tunnels=tunnels), rows(SAME)
    # Two weeks before 1 December 2027 is Wednesday 17 November.
    jobs = listed(made, beds, dates_for(made, beds))
    assert weeks_of(jobs, "Before snow") == [date(2027, 11, 15)]
    for other in (farm(["carrot"], record=record), farm(["carrot"], tunnels=tunnels)):
        assert not listed(other, beds, dates_for(other, beds))


@given(today=st.dates(date(2024, 1, 1), date(2032, 12, 31)))
@settings(max_examples=60, deadline=None)
def test_every_job_comes_once_in_the_twelve_months_from_this_monday(today):
    made, beds = farm(["tomato"]), rows(SAME)
    dates = dates_for(
        made,
        beds,
        early={("tomato", "none"): day(5, 17)},
        late={("tomato", "none"): day(9, 20)},
    )
    jobs = listed(made, beds, dates, today)
    monday = today - timedelta(today.weekday())
    assert all(start.weekday() == 0 for start in jobs)
    assert all(monday <= start <= monday + timedelta(weeks=53) for start in jobs)
    assert sum(map(len, jobs.values())) == 5


def first_day(made):
    return weekly_jobs.make(made, [], dates_for(made, [])).starts


def test_the_first_day_follows_the_weather_record():
    assert first_day(farm(["carrot"])) == date(2027, 1, 1)
    assert first_day(farm(["carrot"], latitude=-40.0)) == date(2027, 7, 1)


def test_a_day_that_the_grower_gave_comes_before_the_record():
    given_day = date(2028, 3, 9)
    made = farm(["carrot"], calendar={"starts": given_day})
    assert first_day(made) == given_day
    with pytest.raises(ValueError, match="2000 to 2100"):
        farm(["carrot"], calendar={"starts": date(9999, 1, 1)})


def test_without_dates_the_reason_stands_in_their_place():
    made, beds = farm(["tomato"]), rows(SAME)
    unknown = dates_for(replace(made, crops=()), beds)
    unknown.known = False
    unknown.remarks = (Fact("no_dates_typical_year"),)
    made_list = weekly_jobs.make(made, beds, unknown, NEW_YEAR)
    assert made_list.weeks == ()
    assert any("typical year" in said for said in words.remarks(made_list, "metric"))


def test_without_beds_there_is_an_empty_list():
    made = farm(["tomato"])
    made_list = weekly_jobs.make(made, [], dates_for(made, []), NEW_YEAR)
    assert made_list.weeks == ()
    assert words.groups(made_list) == ()


def test_the_last_sowing_for_autumn_has_its_week_where_there_is_time_for_a_second():
    made, beds = farm(["carrot"]), rows(SAME)
    early = {("carrot", "none"): day(4, 5)}
    late = {("carrot", "none"): day(10, 20)}
    for sown, weeks in ((day(7, 28), [date(2027, 7, 26)]), (day(4, 20), [])):
        jobs = listed(
            made,
            beds,
            dates_for(
                made, beds, early=early, late=late, sown={("carrot", "none"): sown}
            ),
        )
        assert weeks_of(jobs, "in all beds for the last time this year") == weeks


def test_in_us_units_the_month_comes_first():
    made, beds = farm(["carrot"], units="us"), rows(SAME)
    with spoken(of_site(made.settings.language, made.settings.units)):
        jobs = listed(
            made, beds, dates_for(made, beds, early={("carrot", "none"): day(4, 5)})
        )
    assert weeks_of(jobs, "The likely date is April 5.") == [date(2027, 4, 5)]


# 8.9 MJ are 19.4 mol (2.18 mol per MJ). Light fabric lets 85 % through (figures of the
# trade): 16.5, within a lettuce's 12 to 17; without it the lightest cloth takes 30 %.
@pytest.mark.parametrize(
    ("owned", "kind"),
    [
        (("light_fabric",), "light_fabric"),
        (("clear_film",), "shade_30"),
        ((), "shade_30"),
    ],
    ids=["fabric", "film", "nothing"],
)
def test_fabric_that_is_owned_serves_as_light_shade(owned, kind):
    hot = weather(tmax_c=HOT_SUMMER).days["tmax_c"]
    wanted = shade_need.need(CROPS["lettuce"], hot, [8.9] * 12, owned, season=NORTH)
    assert wanted.kind == kind
    assert ("sides open" in say(wanted.why, "metric")) is (kind == "light_fabric")


# ------------------------------------------------------------------ the calendar
HOSTILE = 'Hof; "Söhne", \\n <b>😀</b>' + "é" * 90 + "\r\nEND:VEVENT\r\nX: y"


def a_schedule(crop=CROPS["carrot"]):
    made, beds = replace(farm(["carrot"]), crops=(crop,)), rows(SAME)
    dates = dates_for(made, beds, early={(crop.name, "none"): day(4, 5)})
    return weekly_jobs.make(made, beds, dates, NEW_YEAR)


@pytest.mark.parametrize("name", ["Hill Farm", HOSTILE], ids=["plain", "hostile"])
def test_another_library_reads_back_every_week_and_job(name):
    crop = CROPS["carrot"].model_copy(update={"name": f"{{beds}} {{crops}} {name}"})
    made_list = a_schedule(crop)
    written = ics(made_list, name, {}, "metric")
    events = vobject.readOne(written.decode()).vevent_list
    assert len(events) == len(made_list.weeks) == 2
    for event, week in zip(events, words.weeks(made_list, "metric"), strict=True):
        assert event.dtstart.value == week.start
        assert event.dtend.value == week.start + timedelta(days=7)
        (job,) = week.jobs
        title = event.summary.value
        assert event.location.value == name.replace("\r\n", "\n")
        assert title.startswith(("Order {beds}", "Sow {beds}"))
        assert title.split()[0] == job.split()[0]
        # Jobs on all beds name no group.
        jobs = "\n".join(week.jobs)
        assert event.description.value == jobs.replace("\r\n", "\n")
    # RFC 5545, 3.1: lines end in CRLF and hold at most 75 octets.
    assert all(len(line) <= 75 for line in written.split(b"\r\n"))
    assert b"\n" not in written.replace(b"\r\n", b"")


def test_the_same_list_gives_the_same_bytes_and_a_later_one_the_same_entries():
    made_list = a_schedule()
    assert ics(made_list, "x", {}, "metric") == ics(made_list, "x", {}, "metric")

    def names(written):
        return [e.uid.value for e in vobject.readOne(written.decode()).vevent_list]

    later = names(ics(replace(made_list, starts=date(2027, 2, 1)), "x", {}, "metric"))
    assert names(ics(made_list, "x", {}, "metric")) == later
    assert len(set(later)) == 2
    assert set(later).isdisjoint(names(ics(made_list, "y", {}, "metric")))


def task(kind, *crops, cover="", runs=(), parts=(), group=""):
    beds = (BedSet(group, runs, parts),) if runs or parts or group else ()
    return Task(kind, cover, tuple(CropTask(each, "", ()) for each in crops), beds)


def titles(*tasks, code="en"):
    plots = dict.fromkeys(("B1", "B2", "B3", "B5", "B9"), "Shelf") | {"C1": "Brook"}
    with spoken(of_site(code, "metric")):
        made = Schedule(NEW_YEAR, (Week(NEW_YEAR, tasks),), (), ())
        return words.titles(made, plots)[0]


def test_a_title_says_the_first_job_with_its_place_and_how_many_more():
    sow = task("sow", "carrot", "beet", runs=(("B1", "B2", "B3"), ("B5",)))
    assert titles(sow) == "Sow carrots, beets: Shelf B1 to B3, B5"
    hoops = task("set_hoops", "kale", "pea", "chard", "leek", "kale", group="all beds")
    assert titles(hoops, sow) == (
        "Put up hoops for kale, peas, chard +1: all beds, and 1 more job"
    )
    store = task("store_cover", cover="shade_30")
    assert titles(store, sow, sow, hoops) == (
        "Store the 30 % shade cloth, and 3 more jobs"
    )


def test_a_title_counts_beds_that_are_many_or_in_several_plots():
    runs = (("B1", "B2"), ("B5",), ("B9",))
    assert titles(task("sow", "pea", runs=runs)) == "Sow peas: Shelf, 4 beds"
    runs = (("B1", "B2"), ("C1",))
    assert titles(task("sow", "pea", runs=runs)) == "Sow peas: 3 beds"
    parts = (("B5", 0.0, 6.0), ("B5", 6.0, 12.0))
    assert titles(task("start_trays", "pea", parts=parts)) == (
        "Sow peas in trays: Shelf B5"
    )


def test_a_spanish_title_holds_no_english():
    sow = task("sow", "pea", runs=(("B1", "B2"),))
    said = titles(sow, sow, code="es")
    assert said.endswith(": Shelf B1 a B2, y 1 tarea más")


def test_twelve_months_that_are_over_are_said():
    starts = date(2025, 3, 10)
    assert last_day(starts) == date(2026, 3, 9)
    assert last_day(date(2024, 2, 29)) == date(2025, 2, 27)
    assert over(starts, date(2026, 3, 9)) == ()
    (fact,) = over(starts, date(2026, 3, 10))
    assert "2025-03-10" in say(fact, "metric")
    assert "2026-03-10" in say(fact, "metric")
    assert over(None, date(2026, 3, 10)) == over(starts, None) == ()


# ------------------------------------------------------------------ the tunnel door
def card(made):
    months = door_months(made.weather.days["tmax_c"])
    return door_card.sentences(months, made.settings.units)


def test_the_card_opens_at_eight_degrees_in_the_units_of_the_site():
    metric = " ".join(card(farm(["carrot"])))
    us = " ".join(card(farm(["carrot"], units="us")))
    for text, limits in (
        (metric, ("8 °C", "18 °C to 21 °C", "27 °C to 30 °C")),
        (us, ("46 °F", "64 °F to 70 °F", "81 °F to 86 °F")),
    ):
        assert all(limit in text for limit in limits)
        assert "Heat kills more crops in tunnels than frost does" in text
        assert "a heater there without a flue (a pipe to the outside)" in text
    assert "°C" not in us


@pytest.mark.parametrize(
    ("tmax_c", "part"),
    [
        ([0.0] * 3 + [12.0] * 7 + [0.0] * 2, "From April to October, check every day"),
        (
            [12.0] * 3 + [0.0] * 7 + [12.0] * 2,
            "From November to March, check every day",
        ),
        ([12.0] * 12, "All year, check every day"),
        ([0.0] * 12, "on every sunny day"),
    ],
)
def test_the_card_names_the_season_in_which_to_watch(tmax_c, part):
    record = weather(tmin_c=-5.0, tmax_c=tmax_c)
    assert part in " ".join(card(farm(["carrot"], record=record)))
