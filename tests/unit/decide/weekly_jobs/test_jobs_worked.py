"""Jobs of a crop by day numbers that are added up beside them, and weeks on a calendar.

A crop that no table knows by name, of the tender class, spends 6 weeks = 42 days in trays
(common practice, no source, as are all spans here): planted on day 140,

    seed is ordered  140 - 42 - 28 = 70      it is hardened off   140 - 7 = 133
    trays begin      140 - 42 = 98           hoops for fabric     140 - 7 = 133
    hoops for film   140 - 14 = 126          film is pulled       140 - 7 = 133

A late date of 281 is the morning of a frost, so day 280 is the last.
"""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up_crops import crop, growth, limit, span

from fieldmap.decide.calendar.shade_need import Need
from fieldmap.decide.weekly_jobs import (
    CropTask,
    _covers_too_short,
    _likely_days,
    _tasks,
    _weeks,
    first_day,
    lead_times,
)
from fieldmap.decide.weekly_jobs.job import (
    ALL_BEDS,
    ORDER,
    BedSet,
    Job,
    groups_of,
    once_for_all_beds,
    with_parts_joined,
    with_runs_joined,
)
from fieldmap.decide.weekly_jobs.of_crop import (
    Covering,
    CropOnBeds,
    PlannedBeds,
    Shaded,
    dated,
    jobs_of_crop,
    of_planned,
)
from fieldmap.decide.weekly_jobs.shade_and_snow import frame_jobs, shade_jobs
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH, SOUTH, next_date
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text.decide import weekly_jobs as words

PLANTED = {"name": "plum", "set_out_soil_c": limit(12.0)}
SOWN = {"name": "seed"}


def on_beds(grown, places=(0,), planned=None):
    return CropOnBeds(grown, BedSet("first", (("A1",),)), places, planned)


def dates(early, late, sown=np.nan, covers=("none",), slackens=np.nan):
    """Dates of one crop: a number, or one for each cover, or low, central and high of it."""

    def grid(days):
        if np.ndim(days) < 2:
            days = np.broadcast_to(np.reshape(days, (1, -1)), (3, len(covers)))
        return np.array(days, float).reshape(3, 1, len(covers), 1)

    return SimpleNamespace(
        covers=covers,
        early=grid(early),
        late=grid(late),
        last_sowing=grid(sown),
        slackens=grid(slackens)[1],
    )


def jobs(grown, dated, usable=(), planned=None):
    found = jobs_of_crop(on_beds(grown, planned=planned), dated, 0, usable)
    assert not isinstance(found, Fact)
    return [(job.kind, job.day) for job in found]


# ------------------------------------------------------------------ without a cover
def test_a_planted_crop_from_seed_to_its_last_day():
    assert jobs(crop(**PLANTED), dates(140, 281)) == [
        ("order_seed", 70),
        ("start_trays", 98),
        ("harden_off", 133),
        ("set_out", 140),
        ("last_days", 280),
    ]


def test_a_sown_crop_has_no_trays_and_is_not_hardened_off():
    # 140 - 28 = 112.
    assert jobs(crop(**SOWN), dates(140, 281)) == [
        ("order_seed", 112),
        ("sow", 140),
        ("last_days", 280),
    ]


def test_parts_of_days_are_rounded_to_the_safe_side_of_each():
    # Out after day 139.2 is day 140; before 280.5 the last whole day is 280.
    dated = dates([[138.1], [139.2], [141.0]], [[271.0], [280.5], [289.9]])
    found = jobs_of_crop(on_beds(crop(**SOWN)), dated, 0, ())
    sow, last = found[1], found[2]
    assert (sow.day, sow.likely_days) == (140, (139.0, 141.0))
    assert (last.day, last.likely_days) == (280, (270.0, 289.0))


def test_a_crop_that_no_frost_ends_has_no_last_days():
    for late in (np.inf, np.nan):
        assert [kind for kind, _ in jobs(crop(**SOWN), dates(140, late))] == [
            "order_seed",
            "sow",
        ]


@pytest.mark.parametrize(
    ("early", "kind"), [(np.inf, "crop_never_warm"), (np.nan, "crop_dates_unknown")]
)
def test_a_crop_that_cannot_go_out_has_a_reason_instead(early, kind):
    found = jobs_of_crop(on_beds(crop(**SOWN)), dates(early, 281), 0, ())
    assert (found.kind, found["crop"], found["beds"].group) == (kind, "seed", "first")


@pytest.mark.parametrize(
    ("grown", "needs"),
    [
        (crop(**SOWN), 60),
        # Counted from sowing, 42 days in trays save 21 of its 60.
        (crop(**PLANTED), 39),
        (crop(**PLANTED, days_to_maturity=growth(60, 80, "setting_out")), 60),
        # Degree days tell no days.
        (crop(**SOWN, days_to_maturity=None, degree_days=growth(600, 800)), 0),
    ],
)
def test_a_crop_is_left_out_where_its_days_in_the_ground_are_too_few(grown, needs):
    # From day 140 to day 140 + needs lie just as many days.
    assert jobs(grown, dates(140, 141 + needs))
    found = jobs_of_crop(on_beds(grown), dates(140, 140 + needs), 0, ())
    if needs:
        assert found == Fact(
            "crop_left_out",
            crop=grown.name,
            beds=BedSet("first", (("A1",),)),
            number=needs - 1,
            wanted=needs,
        )


def test_days_in_the_ground_are_counted_in_whole_days():
    # After day 139.2 and before day 200.5 lie days 140 to 200.
    assert jobs(crop(**SOWN), dates(139.2, 200.5))
    found = jobs_of_crop(on_beds(crop(**SOWN)), dates(139.2, 200.0), 0, ())
    assert found["number"] == 59


def test_days_before_the_first_are_no_days_in_the_ground():
    found = jobs_of_crop(on_beds(crop(**SOWN)), dates(140, 100), 0, ())
    assert (found.kind, found["number"]) == ("crop_left_out", 0)


# ------------------------------------------------------------------ under a cover
FILM = ("none", "clear_film")
FABRIC = ("none", "light_fabric")


def test_film_goes_up_a_week_before_planting_over_hoops_of_the_week_before_that():
    assert jobs(crop(**PLANTED), dates([154, 140], [281, 281], covers=FILM), FILM) == [
        ("order_seed", 70),
        ("start_trays", 98),
        ("harden_off", 133),
        ("set_out_under", 140),
        ("set_hoops_and_drip", 126),
        ("pull_film", 133),
        ("take_cover_off", 154),
        ("store_cover", 161),
        ("last_days", 280),
    ]


def test_fabric_needs_hoops_a_week_before_and_no_pulling():
    dated = dates([154, 140], [281, 281], covers=FABRIC)
    assert jobs(crop(**SOWN), dated, FABRIC) == [
        ("order_seed", 112),
        ("sow_under", 140),
        ("set_hoops", 133),
        ("take_cover_off", 154),
        ("store_cover", 161),
        ("last_days", 280),
    ]


def test_a_cover_comes_off_on_the_day_on_which_bare_beds_could_be_planted():
    dated = dates([153.2, 140], [281, 281], covers=FABRIC)
    assert jobs(crop(**SOWN), dated, FABRIC)[3:5] == [
        ("take_cover_off", 154),
        ("store_cover", 161),
    ]


def test_a_cover_counts_from_seven_days_on_and_only_if_it_may_be_used():
    for film, kind in ((147.0, "sow_under"), (147.1, "sow")):
        dated = dates([154, film], [281, 281], covers=FILM)
        kinds = [each for each, _ in jobs(crop(**SOWN), dated, FILM)]
        assert kinds[1] == kind
    dated = dates([154, 140], [281, 281], covers=FILM)
    assert jobs(crop(**SOWN), dated, ("light_fabric",))[1] == ("sow", 154)


def test_of_several_covers_the_one_that_moves_the_day_furthest_is_taken():
    covers = ("none", "light_fabric", "clear_film", "medium_fabric")
    dated = dates([154, 145, 140, 143], [281, 291, 288, 295], covers=covers)
    found = jobs_of_crop(on_beds(crop(**SOWN)), dated, 0, covers)
    by_kind = {job.kind: job for job in found}
    assert (by_kind["sow_under"].cover, by_kind["sow_under"].day) == ("clear_film", 140)
    assert (by_kind["last_days_under"].cover, by_kind["last_days_under"].day) == (
        "medium_fabric",
        294,
    )
    assert by_kind["take_cover_off"].cover == "clear_film"
    assert by_kind["have_cover_ready"].cover == "medium_fabric"
    stored = {job.cover: job.day for job in found if job.kind == "store_cover"}
    assert stored == {"clear_film": 161, "medium_fabric": 301}


def test_the_central_day_counts_and_the_others_are_what_is_likely():
    # Low, central and high without and under film; in spring film gains 14 days in the
    # middle and 1 at the low end, in autumn 14 and 0.
    dated = dates(
        [[140, 139], [154, 140], [160, 145]],
        [[275, 275], [281, 295], [290, 310]],
        [[188, 188], [188, 200], [188, 215]],
        covers=FILM,
    )
    found = jobs_of_crop(on_beds(crop(**PLANTED)), dated, 0, FILM)
    assert [(job.kind, job.day) for job in found] == [
        ("order_seed", 70),
        ("start_trays", 98),
        ("harden_off", 133),
        ("set_out_under", 140),
        ("set_hoops_and_drip", 126),
        ("pull_film", 133),
        ("take_cover_off", 154),
        ("store_cover", 161),
        ("last_setting_out", 200),
        ("have_cover_ready", 273),
        ("last_days_under", 294),
        ("store_cover", 301),
    ]
    likely = {job.kind: job.likely_days for job in found if job.likely_days}
    assert likely == {
        "set_out_under": (139.0, 145.0),
        "last_setting_out": (188.0, 215.0),
        "last_days_under": (274.0, 309.0),
    }
    assert all(isinstance(job.day, int) for job in found)


@pytest.mark.parametrize(("slackens", "said"), [(260.0, True), (281.0, False)])
def test_a_bearing_crop_is_said_to_slacken_before_its_last_day(slackens, said):
    found = jobs(crop(**SOWN), dates(140, 281, slackens=slackens))
    assert (("slackens", 260) in found) == said
    assert [kind for kind, _ in found].count("slackens") == int(said)


def test_a_cover_that_is_better_at_the_low_end_alone_is_not_worth_it():
    dated = dates(
        [[140, 120], [154, 150], [160, 155]],
        [[275, 300]] * 1 + [[281, 285]] * 2,
        covers=FILM,
    )
    assert [kind for kind, _ in jobs(crop(**SOWN), dated, FILM)] == [
        "order_seed",
        "sow",
        "last_days",
    ]


def test_of_two_covers_that_with_the_better_central_day_is_taken():
    covers = ("none", "light_fabric", "clear_film")
    dated = dates(
        [[150, 100, 139], [154, 145, 140], [160] * 3], [[281] * 3] * 3, covers=covers
    )
    by_kind = {
        job.kind: job for job in jobs_of_crop(on_beds(crop(**SOWN)), dated, 0, covers)
    }
    assert by_kind["sow_under"].cover == "clear_film"


def test_a_crop_that_ripens_under_its_cover_of_autumn_is_not_left_out():
    # 50 days from day 140 to the last without a cover, 64 under one, and it wants 60.
    dated = dates([140, 140], [191, 205], covers=FILM)
    assert ("last_days_under", 204) in jobs(crop(**SOWN), dated, FILM)
    assert jobs_of_crop(on_beds(crop(**SOWN)), dated, 0, ()).kind == "crop_left_out"
    # The likely days count: 60, though at the low end there are fewer.
    low = dates([[130], [140], [150]], [[150], [201], [210]])
    assert ("last_days", 200) in jobs(crop(**SOWN), low)
    high = dates([[100], [140], [150]], [[260], [200], [280]])
    assert jobs_of_crop(on_beds(crop(**SOWN)), high, 0, ())["number"] == 59


def test_in_autumn_a_cover_is_ready_a_week_before_the_last_day_without_it():
    dated = dates([140, 140], [281, 295], covers=FILM)
    # 280 - 7 = 273; under film 294; stored 294 + 7. No hoops stand from spring: 273 - 14.
    assert jobs(crop(**SOWN), dated, FILM)[2:] == [
        ("set_hoops", 259),
        ("have_cover_ready", 273),
        ("last_days_under", 294),
        ("store_cover", 301),
    ]
    # Six days more are not worth it.
    few = dates([140, 140], [281, 287], covers=FILM)
    assert jobs(crop(**SOWN), few, FILM)[2:] == [("last_days", 280)]
    # A cover under which no frost comes is made ready and has no last day.
    never = dates([140, 140], [281, np.inf], covers=FILM)
    assert jobs(crop(**SOWN), never, FILM)[2:] == [
        ("set_hoops", 259),
        ("have_cover_ready", 273),
    ]


def test_a_cover_that_is_never_without_need_stays_on():
    dated = dates([np.inf, 140], [281, 281], covers=FILM)
    kinds = [kind for kind, _ in jobs(crop(**SOWN), dated, FILM)]
    assert "take_cover_off" not in kinds
    assert "store_cover" not in kinds


@pytest.mark.parametrize(
    ("bare", "opened"),
    # Squash flowers six weeks after planting, on day 140 + 42 = 182.
    [(182, [("open_for_bees", 182)]), (181, []), (np.inf, [("open_for_bees", 182)])],
)
def test_at_first_flower_bees_are_let_in_if_the_cover_is_still_on(bare, opened):
    squash = crop(name="Squash")
    found = jobs(squash, dates([bare, 140], [281, 281], covers=FILM), FILM)
    assert [each for each in found if each[0] == "open_for_bees"] == opened


@pytest.mark.parametrize(
    ("name", "weeks"),
    [("melon", 5), ("strawberry", 4), ("cucumber", 4), ("Zucchini", 5)],
)
def test_melons_strawberries_and_cucumbers_flower_sooner(name, weeks):
    found = jobs(crop(name=name), dates([300, 140], [400, 400], covers=FILM), FILM)
    assert ("open_for_bees", 140 + 7 * weeks) in found


def test_crops_that_bees_must_reach_are_known_by_all_their_names():
    """All gourds of crops.toml set fruit by bees (common practice, no source)."""
    every = packaged_crops().values()
    gourds = [it for it in every if it.family and it.family.value == "Cucurbitaceae"]
    names = {name for each in gourds for name in (each.name, *each.also)}
    assert names == lead_times.FLOWER_WEEKS.keys() - {"strawberry", "strawberries"}
    for name in ("Zucchini", "cucumbers", "melon"):
        assert words._text_of("take_cover_off", name) == "take_cover_off_for_bees"
    assert words._text_of("take_cover_off", "carrot") == "take_cover_off"


# ------------------------------------------------------------------ last sowings
@pytest.mark.parametrize(
    ("sown", "found"),
    [
        # Sooner than three weeks after the first sowing it is no other one.
        (160.9, []),
        (161.0, [("last_sowing", 161)]),
        (200.9, [("last_sowing", 200)]),
        (np.inf, []),
        (np.nan, []),
    ],
)
def test_a_last_sowing_stands_apart_from_the_first_by_three_weeks(sown, found):
    named = [
        each
        for each in jobs(crop(**SOWN), dates(140, 281, sown))
        if each[0].startswith("last_s")
    ]
    assert named == found


@pytest.mark.parametrize(
    ("grown", "kind"),
    [
        (crop(**SOWN), "last_sowing"),
        # What is set out has a last day to be set out, wherever growth is counted from.
        (crop(**PLANTED), "last_setting_out"),
        (
            crop(**PLANTED, days_to_maturity=growth(60, 80, "setting_out")),
            "last_setting_out",
        ),
        (
            crop(
                **PLANTED,
                days_to_maturity=None,
                degree_days=growth(60, 80, "setting_out"),
            ),
            "last_setting_out",
        ),
        (
            crop(**PLANTED, days_to_maturity=None, degree_days=growth(60, 80)),
            "last_setting_out",
        ),
    ],
)
def test_the_last_day_is_of_the_way_in_which_it_begins(grown, kind):
    found = jobs(grown, dates(140, 281, 200))
    assert [each for each in found if each[0].startswith("last_s")] == [(kind, 200)]


def test_the_last_sowing_is_that_of_the_cover_of_autumn_with_its_likely_days():
    dated = dates([140, 140], [281, 295], covers=FILM)
    dated.last_sowing[:, 0, 0, 0] = 180, 190, 195
    dated.last_sowing[:, 0, 1, 0] = 196.5, 200.5, 210.5
    found = jobs_of_crop(on_beds(crop(**SOWN)), dated, 0, FILM)
    (last,) = (job for job in found if job.kind == "last_sowing")
    assert (last.day, last.likely_days) == (200, (196.0, 210.0))


# ------------------------------------------------------------------ the crop plan
def planned(season, ahead=None, behind=None, from_day=190, to_day=280, shade=None):
    here = frozenset({"A1"})
    return PlannedBeds(season, here, ahead, behind, from_day, 250, to_day, shade)


def test_a_planned_stay_has_the_jobs_of_its_part_of_the_year():
    """Ripe on day 250 by the plan, and done by it on 270 where it ends in spring."""
    dated = dates(140, 281, 200)
    spring = [("order_seed", 112), ("sow", 140), ("begin_to_pick", 250)]
    autumn = [("begin_to_pick", 250), ("last_days", 280)]
    ends = planned("spring", to_day=270)
    assert jobs(crop(**SOWN), dated, (), ends) == [*spring, ("last_days", 270)]
    assert jobs(crop(**SOWN), dated, (), planned("summer")) == spring + autumn[1:]
    assert jobs(crop(**SOWN), dated, (), planned("autumn")) == [
        ("sow_for_autumn", 190),
        *autumn,
    ]
    # 190 - 42 = 148.
    assert jobs(crop(**PLANTED), dated, (), planned("autumn")) == [
        ("start_trays_for_autumn", 148),
        ("set_out_for_autumn", 190),
        *autumn,
    ]


@pytest.mark.parametrize(("until", "off"), [(None, 154), (171, 171)])
def test_a_cover_comes_off_when_the_plan_says_or_when_the_bed_does_without(until, off):
    """Peas could be sown bare on day 154, and those would be up on day 171."""
    covers = ("none", "light_fabric")
    dated = dates([154, 140], [281, 281], covers=covers)
    stay = planned("spring", "light_fabric", to_day=270)._replace(ahead_until=until)
    found = dict(jobs(crop(**SOWN), dated, (), stay))
    assert found["take_cover_off"] == off


def test_without_a_plan_a_cover_lies_until_what_is_sown_bare_would_be_up():
    """Sown bare from day 153.2, so on 154, and up after 17 days: off on 171, stored on 178.

    Sown on day 140 under fabric it is up before that, and frost could take it.
    """
    until_up = np.full(365, 40.0)
    until_up[153] = 17.0
    dated = dates([153.2, 140], [281, 281], covers=("none", "light_fabric"))
    row = on_beds(crop(**SOWN))
    found = jobs_of_crop(row, dated, 0, ["light_fabric"], until_up)
    days = {job.kind: job.day for job in found}
    assert (days["sow_under"], days["take_cover_off"]) == (140, 171)
    assert days["store_cover"] == 178
    # Plants stand from the day on which they are set out: nothing is added.
    assert dict(jobs(crop(**PLANTED), dated, ["light_fabric"]))["take_cover_off"] == 154


@pytest.mark.parametrize("bare_from", [np.inf, 230])
@pytest.mark.parametrize("season", ["spring", "summer"])
def test_a_cover_that_never_comes_off_holds_the_crop_to_its_last_day(season, bare_from):
    """Bare it would hold until day 249, under fabric until 280 = 287 less a week.

    Warm enough without from day 230 on, it would be covered again on 249 - 7 = 242, so
    the plan leaves it on.
    """
    covers = ("none", "light_fabric")
    dated = dates([bare_from, 140], [250, 281], covers=covers)
    stay = planned(season, "light_fabric", "light_fabric")._replace(ahead_until=280)
    found = jobs_of_crop(on_beds(crop(**SOWN), planned=stay), dated, 0, ())
    assert [(job.kind, job.day, job.cover) for job in found] == [
        ("order_seed", 112, ""),
        ("sow_under", 140, "light_fabric"),
        ("set_hoops", 133, ""),
        ("begin_to_pick", 250, ""),
        ("last_days_under", 280, "light_fabric"),
        ("store_cover", 287, "light_fabric"),
    ]


def test_a_planned_stay_has_the_covers_of_the_plan_and_no_others():
    covers = ("none", "light_fabric", "clear_film")
    dated = dates([154, 145, 140], [281, 288, 295], covers=covers)
    owned = ("light_fabric", "clear_film")
    bare = jobs(crop(**SOWN), dated, owned, planned("summer"))
    assert bare == [
        ("order_seed", 126),
        ("sow", 154),
        ("begin_to_pick", 250),
        ("last_days", 280),
    ]
    stay = planned("summer", "light_fabric", "clear_film")
    found = jobs_of_crop(on_beds(crop(**SOWN), planned=stay), dated, 0, owned)
    by_kind = {job.kind: (job.day, job.cover) for job in found}
    assert by_kind["sow_under"] == (145, "light_fabric")
    assert by_kind["last_days_under"] == (294, "clear_film")


def test_a_cover_of_the_plan_has_its_jobs_though_the_middle_bed_gains_less_than_a_week():
    # Whole days of its beds are 7 apart; those of the middle bed 6.4 and 6.5.
    dated = dates([154, 147.6], [281.3, 287.8], covers=FILM)
    stay = planned("summer", "clear_film", "clear_film")
    assert jobs(crop(**SOWN), dated, FILM, stay) == [
        ("order_seed", 120),
        ("sow_under", 148),
        ("set_hoops_and_drip", 134),
        ("pull_film", 141),
        ("take_cover_off", 154),
        ("store_cover", 161),
        ("begin_to_pick", 250),
        ("have_cover_ready", 274),
        ("last_days_under", 287),
        ("store_cover", 294),
    ]
    # Without a plan they are not worth it.
    assert jobs(crop(**SOWN), dated, FILM)[1] == ("sow", 154)


def bed(name, plot="Home", group="first", length_m=20.0):
    return SimpleNamespace(
        bed=SimpleNamespace(name=name, plot=plot, tunnel="", length_m=length_m),
        earliness=SimpleNamespace(group=group),
    )


BEDS = [
    bed("A1"),
    bed("A2"),
    bed("A3"),
    bed("A4"),
    bed("B1", "Field"),
    bed("B2", "Field"),
]


def test_a_crop_is_split_by_the_beds_that_are_planned_for_it():
    group = BedSet("first", (("A1", "A2"),))
    grown = crop(**SOWN)
    (anywhere,) = of_planned(grown, group, (0, 1), BEDS, None)
    assert (anywhere.beds, anywhere.places, anywhere.planned) == (group, (0, 1), None)
    one = PlannedBeds("spring", frozenset({"A1", "A3"}), None, None, 100, 150, 200)
    two = PlannedBeds("autumn", frozenset({"B2"}), None, None, 200, 250, 280)
    found = list(of_planned(grown, group, (0, 1, 2), BEDS, {"seed": [one, two]}))
    assert [(row.places, row.beds.runs, row.planned) for row in found] == [
        ((0, 2), (("A1",), ("A3",)), one)
    ]
    assert list(of_planned(grown, group, (0, 1), BEDS, {"other": [one]})) == []


# ------------------------------------------------------------------ the middle bed
@pytest.mark.parametrize(
    ("days", "middle"),
    [
        ([100.0], 100),
        ([120.0, 100.0, 110.0], 110),
        ([100.0, 120.0], 120),  # of an even number the later
        ([100.0, 110.0, 120.0, 130.0], 120),
        ([np.nan, 100.0, 110.0, 120.0], 110),
        ([100.0, np.inf, np.inf], np.inf),
    ],
    ids=str,
)
def test_a_group_is_planted_on_the_day_of_its_middle_bed(days, middle):
    count = len(days)
    dated = SimpleNamespace(
        covers=("none",),
        early=np.broadcast_to(days, (3, 1, 1, count)),
        late=np.full((3, 1, 1, count), 300.0),
        last_sowing=np.full((3, 1, 1, count), np.nan),
        slackens=np.full((1, 1, count), np.nan),
    )
    found = jobs_of_crop(on_beds(crop(**SOWN), tuple(range(count))), dated, 0, ())
    if np.isinf(middle):
        assert found.kind == "crop_never_warm"
    else:
        assert (found[1].kind, found[1].day) == ("sow", middle)


def test_only_the_beds_of_the_group_and_the_crop_asked_for_count():
    early = np.full((3, 2, 1, 3), 200.0)
    early[:, 1] = [100.0, 110.0, 120.0]
    dated = SimpleNamespace(
        covers=("none",),
        early=early,
        late=np.full((3, 2, 1, 3), 300.0),
        last_sowing=np.full((3, 2, 1, 3), np.nan),
        slackens=np.full((2, 1, 3), np.nan),
    )
    found = jobs_of_crop(on_beds(crop(**SOWN), (0, 1)), dated, 1, ())
    assert found[1].day == 110
    assert found[1].crop == "seed"
    assert found[1].beds == BedSet("first", (("A1",),))


# ------------------------------------------------------------------ lead times
@pytest.mark.parametrize(
    ("name", "crop_class", "weeks"),
    [
        ("unknown", "hardy", 5),
        ("unknown", "half_hardy", 6),
        ("unknown", "tender", 6),
        ("unknown", "warm_loving", 4),
        ("Tomato", "tender", 7),
        ("pepper", "tender", 9),
        ("aubergine", "warm_loving", 9),
        ("cucumber", "warm_loving", 3),
        ("squash", "warm_loving", 3),
        ("melon", "tender", 4),
        ("celery", "half_hardy", 11),
        ("basil", "warm_loving", 6),
        ("lettuce", "hardy", 4),
        ("chard", "half_hardy", 4),
        ("beet", "half_hardy", 4),
    ],
)
def test_weeks_in_trays_are_those_of_the_crop_or_else_of_its_class(
    name, crop_class, weeks
):
    grown = packaged_crops().get(name.casefold())
    if grown is None:
        grown = crop(name, crop_class, set_out_soil_c=limit(10.0))
    assert grown.tray_days == 7 * weeks
    assert crop(name, crop_class).tray_days == 0


def test_a_crop_is_known_by_its_other_names_too():
    grown = crop("Swiss beet", also=("chard", "beet"), set_out_soil_c=limit(10.0))
    assert lead_times.weeks_by_name(grown, {"beet": 9, "chard": 2}) == 2
    assert lead_times.weeks_by_name(grown, {"chard beet": 2}) is None
    # Its own name comes first.
    beet = crop("beet", also=("chard",))
    assert lead_times.weeks_by_name(beet, {"chard": 2, "beet": 9}) == 9


# ------------------------------------------------------------------ shade and snow
def cloth(months=(6, 8), kind="shade_40"):
    return Need(Fact("shade_wanted"), kind, months)


def shade(wanted, grown=None, owned=(), season=NORTH, rows=None):
    rows = [on_beds(grown or crop(**SOWN))] if rows is None else rows
    return list(shade_jobs(rows, wanted, BEDS, owned, season))


def test_cloth_is_ordered_four_weeks_before_and_stored_a_week_after():
    # 1 June is day 152, 1 September day 244.
    noted = crop(**SOWN, shade_percent=span(30, 40, note="until it is up"))
    ordered, on, off, stored = shade(cloth(), noted)
    assert (ordered.kind, ordered.day, ordered.cover) == (
        "order_cover",
        124,
        "shade_40",
    )
    assert (on.kind, on.day, on.cover, on.note) == (
        "shade_on",
        152,
        "shade_40",
        "until it is up",
    )
    assert (off.kind, off.day, off.crop) == ("shade_off", 244, "seed")
    assert (stored.kind, stored.day, stored.cover) == ("store_cover", 251, "shade_40")
    assert on.beds == off.beds == BedSet("first", (("A1",),))
    assert ordered.beds is stored.beds is None


def test_cloth_that_is_owned_is_not_ordered_and_fabric_hangs_high():
    kinds = [job.kind for job in shade(cloth(), owned=("shade_40",))]
    assert kinds == ["shade_on", "shade_off", "store_cover"]
    kinds = [
        job.kind for job in shade(cloth(kind="light_fabric"), owned=("light_fabric",))
    ]
    assert kinds == ["shade_on_high", "shade_off", "store_cover"]


def test_over_new_year_cloth_comes_off_in_the_year_after():
    # In the south 1 December is day 154, 1 March day 244.
    on, off, _stored = shade(cloth((12, 2)), owned=("shade_40",), season=SOUTH)
    assert (on.day, off.day) == (154, 244)
    # Until December it comes off on 1 January.
    on, off, _stored = shade(cloth((10, 12)), owned=("shade_40",))
    assert (on.day, off.day) == (274, 1)


def test_cloth_without_a_note_has_an_empty_one():
    assert {job.note for job in shade(cloth())} == {""}


def test_cloth_that_is_wanted_all_year_stays():
    kinds = [job.kind for job in shade(cloth((1, 12)), owned=("shade_40",))]
    assert kinds == ["shade_on"]


def test_no_cloth_no_months_and_no_beds_are_no_job():
    assert shade(Need(Fact("shade_too_dark"))) == []
    assert shade(Need(Fact("shade_wanted"), "shade_40")) == []
    assert shade(cloth(), rows=[]) == []


def hung(rows, wanted=None):
    found = shade(wanted or cloth(), rows=rows)
    return [(job.kind, job.day, job.beds and job.beds.runs, job.cover) for job in found]


def test_cloth_of_the_plan_hangs_from_its_first_day_to_its_last_and_none_is_ordered():
    """Lettuce of spring under cloth on days 152 to 190; that of autumn bare."""
    grown = crop(**SOWN, shade_percent=span(30, 40, note="young"))
    under = planned("spring", shade=Shaded("shade_40", 152, 190))
    rows = [on_beds(grown, (5, 1), under), on_beds(grown, (2,), under)]
    rows.append(on_beds(grown, (3,), planned("autumn")))
    assert hung(rows) == [
        ("shade_on", 152, (("A2", "A3"), ("B2",)), "shade_40"),
        ("shade_off", 190, (("A2", "A3"), ("B2",)), ""),
        ("store_cover", 197, None, "shade_40"),
    ]
    assert {job.note for job in shade(cloth(), rows=rows)} == {"young", ""}


def test_beds_that_are_shaded_at_other_times_have_their_own_jobs():
    rows = [
        on_beds(crop(**SOWN), (at,), planned("spring", shade=Shaded("shade_30", *days)))
        for at, days in ((0, (152, 190)), (1, (200, 244)))
    ]
    on = [each[:3] for each in hung(rows) if each[0] == "shade_on"]
    assert on == [("shade_on", 152, (("A1",),)), ("shade_on", 200, (("A2",),))]


def test_beds_under_one_cloth_are_named_in_their_order():
    beds = [bed(f"B{at}") for at in range(1, 19)]
    under = planned("spring", shade=Shaded("shade_40", 152, 190))
    rows = [on_beds(crop(**SOWN), (at,), under) for at in (17, 16, 8, 1)]
    on, *_rest = shade_jobs(rows, cloth(), beds, (), NORTH)
    assert on.beds.runs == (("B2",), ("B9",), ("B17", "B18"))


def test_a_plan_without_cloth_has_no_job_though_the_crop_wants_some():
    assert hung([on_beds(crop(**SOWN), (1,), planned("summer"))]) == []


def year(*means_c):
    """A year whose months have these means, 3 °C from each extreme."""
    days = pd.date_range("2023-01-01", "2023-12-31")
    mean_c = np.array(means_c, float)[days.month - 1]
    return pd.DataFrame({"tmin_c": mean_c - 3, "tmax_c": mean_c + 3}, days)


def test_frames_are_bared_two_weeks_before_the_first_month_under_two_degrees():
    # 1 November is day 305; 305 - 14 = 291.
    (job,) = frame_jobs(year(0, 0, 5, 9, 9, 9, 9, 9, 9, 5, 1.9, 0), NORTH)
    assert (job.kind, job.day, job.beds) == ("bare_frames", 291, None)
    # At 2 °C November may not bring snow that lies: 1 December is day 335.
    (job,) = frame_jobs(year(0, 0, 5, 9, 9, 9, 9, 9, 9, 5, 2.0, 0), NORTH)
    assert job.day == 321
    assert list(frame_jobs(year(*[2.0] * 12), NORTH)) == []


def test_the_mean_of_a_month_counts_and_not_its_warmest_day():
    # December 2023: 16 days of 5 °C and 15 of -3 are 1.1 in the mean.
    days = year(*[9.0] * 12)
    december = days.index[days.index.month == 12]
    mean_c = np.where(december.day % 2, 5.0, -3.0)
    days.loc[december, "tmin_c"], days.loc[december, "tmax_c"] = mean_c - 3, mean_c + 3
    (job,) = frame_jobs(days, NORTH)
    assert job.day == 335 - 14


def test_winter_is_looked_for_from_midsummer_on():
    # Cold in January alone, in the north: day 1 - 14.
    (job,) = frame_jobs(year(0, 5, 5, 9, 9, 9, 9, 9, 9, 9, 9, 9), NORTH)
    assert job.day == -13
    # In the south from January on: June comes before July. 1 June is day 336.
    southern = year(9, 9, 9, 9, 5, 1, 0, 1, 5, 9, 9, 9)
    (job,) = frame_jobs(southern, SOUTH)
    assert job.day == 336 - 14
    # In the north the same table has its first cold month in July itself.
    (job,) = frame_jobs(southern, NORTH)
    assert job.day == 182 - 14


# ------------------------------------------------------------------ sets of beds
def test_beds_that_follow_each_other_in_a_plot_are_one_run():
    found = BedSet.of("first", BEDS, (0, 1, 3, 4, 5))
    assert found.runs == (("A1", "A2"), ("A4",), ("B1", "B2"))
    assert BedSet.of("", BEDS, ()).runs == ()


def test_groups_stand_in_their_order_and_one_group_is_all_beds():
    beds = [bed("A1", group="last"), bed("A2", group="first"), bed("A3", group="last")]
    found = groups_of(beds)
    assert found == [
        (BedSet("first", (("A2",),)), (1,)),
        (BedSet("last", (("A1",), ("A3",))), (0, 2)),
    ]
    assert groups_of(beds[1:2]) == [(BedSet(ALL_BEDS, (("A2",),)), (0,))]
    assert groups_of([]) == []


def in_list_from(monday):
    """The next day of a job on or after a Monday."""
    return lambda job: next_date(NORTH.month_day(job.day), monday)


def test_orders_are_made_at_their_earliest_and_covers_stored_at_their_latest():
    here = BedSet("first", ())
    found = once_for_all_beds(
        [
            Job("order_seed", 80, "plum"),
            Job("order_seed", 70, "plum"),
            Job("order_seed", 60, "seed"),
            Job("order_cover", 90, cover="shade_40"),
            Job("order_cover", 95, cover="shade_40"),
            Job("store_cover", 160, cover="clear_film"),
            Job("store_cover", 300, cover="clear_film"),
            Job("store_cover", 250, cover="shade_40"),
            Job("sow", 100, "plum", here),
            Job("sow", 100, "plum", here),
            Job("bare_frames", 290),
        ],
        in_list_from(date(2027, 1, 4)),
    )
    assert [(job.kind, job.crop or job.cover, job.day) for job in found] == [
        ("order_seed", "plum", 70),
        ("order_seed", "seed", 60),
        ("order_cover", "shade_40", 90),
        ("store_cover", "clear_film", 300),
        ("store_cover", "shade_40", 250),
        ("bare_frames", "", 290),
        ("sow", "plum", 100),
        ("sow", "plum", 100),
    ]


def test_in_a_list_from_june_seed_is_ordered_for_the_sowing_of_that_summer():
    """Ordered on 3 March (day 62) and 11 June (162), stored 30 April (120), 16 June (167).

    From 1 June on, 11 June comes before the next 3 March, and 30 April is the last.
    """
    jobs = [
        Job("order_seed", 62, "plum"),
        Job("order_seed", 162, "plum"),
        Job("store_cover", 120, cover="clear_film"),
        Job("store_cover", 167, cover="clear_film"),
    ]
    found = once_for_all_beds(jobs, in_list_from(date(2026, 6, 1)))
    assert [job.day for job in found] == [162, 120]
    found = once_for_all_beds(jobs, in_list_from(date(2027, 1, 4)))
    assert [job.day for job in found] == [62, 167]


# ------------------------------------------------------------------ weeks
MONDAY = date(2027, 3, 1)
HERE, THERE = BedSet("first", (("A1",),)), BedSet("last", (("A2",),))


def starts(*found, monday=MONDAY, season=NORTH):
    weeks = _weeks([Job("sow", day, "seed", HERE) for day in found], monday, season, 9)
    return [week.start for week in weeks]


def test_a_job_stands_in_the_week_of_its_next_day():
    # 1 March 2027, a Monday, is day 60.
    assert starts(60) == starts(66) == [date(2027, 3, 1)]
    assert starts(67) == [date(2027, 3, 8)]
    # Day 59 comes again on 28 February 2028, a Monday.
    assert starts(59) == [date(2028, 2, 28)]
    assert starts(59, 60, 67) == [date(2027, 3, 1), date(2027, 3, 8), date(2028, 2, 28)]


def test_a_day_of_the_year_before_or_after_is_one_of_the_calendar():
    # 365 + 60 is day 60 again, and so is 60 - 365.
    assert starts(425) == starts(-305) == starts(60)
    # Two weeks before New Year 2028, a Saturday: 18 December 2027, week of the 13th.
    assert starts(-13) == [date(2027, 12, 13)]


def test_in_the_south_day_60_is_the_29th_of_august():
    # 31 days of July and 29 of August 2027; the 29th is a Sunday.
    assert starts(60, season=SOUTH) == [date(2027, 8, 23)]


def test_jobs_of_a_week_stand_in_the_order_in_which_they_are_done():
    kinds = [kind for together in ORDER for kind in together]
    reverse = [Job(kind, 60, "seed", HERE) for kind in reversed(kinds)]
    tasks = _tasks(reverse, MONDAY, NORTH, 9)
    places = [
        next(k for k, each in enumerate(ORDER) if task.kind in each) for task in tasks
    ]
    assert places == sorted(places)
    assert [task.kind for task in tasks][:1] == ["order_cover"]
    assert [task.kind for task in tasks][-1] == "bare_frames"
    assert len(tasks) == len(kinds)


def test_what_must_be_there_comes_before_what_needs_it():
    """As one does it on a Monday: order, raise, build, plant, shade, store."""
    in_turn = [
        *(
            "order_cover",
            "start_trays",
            "set_hoops_and_drip",
            "pull_film",
            "harden_off",
        ),
        *("set_out_under", "last_sowing", "take_cover_off", "shade_on", "shade_off"),
        *("have_cover_ready", "last_days", "store_cover", "bare_frames"),
    ]
    together = [
        ("order_seed", "order_cover"),
        ("start_trays", "start_trays_for_autumn"),
        ("set_hoops", "set_hoops_and_drip"),
        (
            "set_out",
            "sow",
            "set_out_under",
            "sow_under",
            "set_out_for_autumn",
            "sow_for_autumn",
        ),
        ("last_sowing", "last_setting_out"),
        ("open_for_bees", "take_cover_off"),
        ("shade_on", "shade_on_high"),
        ("last_days", "last_days_under"),
    ]
    places = [Job(kind, 1).place for kind in in_turn]
    assert places == sorted(set(places))
    for kinds in together:
        assert len({Job(kind, 1).place for kind in kinds}) == 1


def test_beds_of_one_job_are_joined_and_crops_on_the_same_beds():
    likely = (95.0, 105.0), (90.0, 100.0)
    tasks = _tasks(
        [
            Job("sow", 100, "pea", HERE, likely_days=likely[0]),
            Job("sow", 101, "bean", HERE),
            Job("sow", 102, "pea", THERE, likely_days=likely[1]),
            Job("sow", 102, "leek", HERE),
            Job("sow", 102, "leek", HERE),
            Job("sow_under", 102, "leek", HERE, "clear_film"),
        ],
        MONDAY,
        NORTH,
        9,
    )
    # Days 90 and 105 are 31 March and 15 April.
    assert [(task.kind, task.cover, task.crops, task.beds) for task in tasks] == [
        ("sow", "", (CropTask("pea", "", ((3, 31), (4, 15))),), (HERE, THERE)),
        ("sow", "", (CropTask("bean", "", ()), CropTask("leek", "", ())), (HERE,)),
        ("sow_under", "clear_film", (CropTask("leek", "", ()),), (HERE,)),
    ]


def test_a_job_on_all_groups_is_one_on_all_beds():
    both = [Job("sow", 100, "pea", HERE), Job("sow", 100, "pea", THERE)]
    for groups, beds in ((2, (BedSet(ALL_BEDS, ()),)), (3, (HERE, THERE))):
        (task,) = _tasks(both, MONDAY, NORTH, groups)
        assert task.beds == beds
    (once,) = _tasks([Job("order_seed", 100, "pea")], MONDAY, NORTH, 2)
    assert once.beds == ()


def test_crops_with_other_notes_are_not_one():
    noted = [
        Job("shade_on", 100, "pea", HERE, "shade_30", "young"),
        Job("shade_on", 100, "pea", THERE, "shade_30"),
    ]
    notes = [
        (task.crops[0].note, task.beds) for task in _tasks(noted, MONDAY, NORTH, 9)
    ]
    assert notes == [("young", (HERE,)), ("", (THERE,))]


@pytest.mark.parametrize(
    ("ends", "days"),
    [
        ([None], ()),
        ([(100.0, 110.0)], ((4, 10), (4, 20))),
        ([(100.0, 110.0), (95.0, 105.0)], ((4, 5), (4, 20))),
        ([(100.0, 110.0), None], ((4, 10), (4, 20))),
        ([(100.0, np.inf)], ((4, 10),)),
        ([(np.nan, np.nan)], ()),
        ([(0.0, 366.0)], ((12, 31), (1, 1))),
    ],
    ids=str,
)
def test_likely_days_are_the_first_and_the_last_of_all(ends, days):
    jobs_ = [Job("sow", 100, likely_days=each) for each in ends]
    assert _likely_days(jobs_, NORTH) == days


# ------------------------------------------------------------------ the list
def test_the_list_begins_with_the_season_year_after_the_record():
    assert first_day(None, date(2026, 12, 31), NORTH) == date(2027, 1, 1)
    assert first_day(None, date(2026, 12, 30), NORTH) == date(2027, 1, 1)
    assert first_day(None, date(2027, 1, 1), NORTH) == date(2028, 1, 1)
    assert first_day(None, date(2027, 6, 30), SOUTH) == date(2027, 7, 1)
    assert first_day(None, date(2027, 7, 1), SOUTH) == date(2028, 7, 1)
    assert first_day(date(2030, 5, 5), date(2026, 12, 31), NORTH) == date(2030, 5, 5)


def owned(kind, length_m):
    return SimpleNamespace(kind=kind, length_m=length_m)


def test_covers_that_do_not_reach_over_all_beds_are_named_with_their_length():
    # Six beds of 20 m are 120 m.
    covers = [
        owned("light_fabric", 60.0),
        owned("clear_film", 119.9),
        owned("light_fabric", 60.0),
        owned("shade_40", 30.0),
    ]
    assert _covers_too_short(covers, BEDS) == [
        Fact(
            "covers_too_short",
            covers=[
                Fact("length_of_cover", length_m=119.9, cover="clear_film"),
                Fact("length_of_cover", length_m=30.0, cover="shade_40"),
            ],
            length_m=120.0,
        )
    ]
    assert _covers_too_short(covers[:1] * 2, BEDS) == []
    assert _covers_too_short([], BEDS) == []


@pytest.mark.parametrize(
    ("kind", "crop", "said"),
    [
        ("sow", "carrot", "Sow carrots in A1."),
        ("sow", "potato", "Plant potatoes in A1."),
        ("sow", "garlic", "Plant garlic in A1."),
        ("set_out", "leek", "Plant out leeks in A1."),
        (
            "begin_to_pick",
            "tomato",
            "Start to pick tomatoes in A1. Pick what is ready.",
        ),
        ("begin_to_pick", "lettuce", "Start to cut lettuce in A1. Cut what is ready."),
        (
            "begin_to_pick",
            "potato",
            "Start to dig up potatoes in A1. Dig up what is ready.",
        ),
        (
            "last_days",
            "carrot",
            "Pull the last carrots in A1. This is likely the last week of that harvest.",
        ),
        (
            "last_days",
            "my own",
            "Pick the last my own in A1. This is likely the last week of that harvest.",
        ),
    ],
)
def test_each_crop_has_the_verb_of_the_trade(kind, crop, said):
    """Common practice, no source."""
    from fieldmap.decide.weekly_jobs import CropTask, Task
    from fieldmap.decide.weekly_jobs.job import BedSet
    from fieldmap.show.text.decide.weekly_jobs import _task

    here = (BedSet("", (("A1",),)),)
    assert _task(Task(kind, "", (CropTask(crop, "", ()),), here), "metric") == said


def test_crops_that_are_taken_otherwise_have_sentences_of_their_own():
    from fieldmap.decide.weekly_jobs import CropTask, Task
    from fieldmap.decide.weekly_jobs.job import BedSet
    from fieldmap.show.text.decide.weekly_jobs import _task

    three = tuple(CropTask(crop, "", ()) for crop in ("carrot", "potato", "beet"))
    inside = (BedSet("", (("T1/1", "T1/2"),)),)
    assert _task(Task("sow", "", three, inside), "metric") == (
        "Sow carrots and beets in beds 1 and 2 in tunnel T1. "
        "Plant potatoes in beds 1 and 2 in tunnel T1."
    )


def test_neighbours_of_several_jobs_are_one_run_within_a_plot_and_a_tunnel():
    """Beds 12 and 13 to 14 of one plot; a plot ends after 14, a tunnel after its bed 2."""
    beds = [
        SimpleNamespace(name=name, plot=plot, tunnel=name.rpartition("/")[0])
        for name, plot in (
            *((f"B{number}", "Shelf") for number in (11, 12, 13, 14)),
            ("C1", "Brook"),
            *((name, "Shelf") for name in ("T1/1", "T1/2", "T2/1")),
        )
    ]
    sets = (
        BedSet("", (("B12",),), (("B11", 0.0, 6.0),)),
        BedSet("first", ()),
        BedSet("", (("T2/1",), ("T1/1", "T1/2"))),
        BedSet("", (("B13", "B14"), ("C1",), ("T3",))),
    )
    assert with_runs_joined(sets, beds) == (
        BedSet("first", ()),
        BedSet(
            "",
            (("B12", "B13", "B14"), ("C1",), ("T1/1", "T1/2"), ("T2/1",), ("T3",)),
            (("B11", 0.0, 6.0),),
        ),
    )


def test_beds_that_are_taken_whole_are_named_beside_those_taken_in_part():
    """Of four beds in a tunnel and three outdoors the last, and the middle one, in part."""
    from fieldmap.decide.weekly_jobs import CropTask, Task
    from fieldmap.decide.weekly_jobs.job import BedSet
    from fieldmap.show.text.decide.weekly_jobs import _task

    inside = BedSet("", (("T1/1", "T1/2", "T1/3", "T1/4"),), (("T1/4", 0.0, 18.0),))
    tomato = (CropTask("tomato", "", ()),)
    there = with_parts_joined([inside])
    assert _task(Task("set_out", "", tomato, there), "metric") == (
        "Plant out tomatoes in beds 1 to 3 in tunnel T1 and bed 4 (only the 18 m nearest the gate) in the same tunnel."
    )
    outside = BedSet("", (("A1", "A2", "A3"),), (("A2", 6.0, 12.0),))
    there = with_parts_joined([outside])
    assert _task(Task("set_out", "", tomato, there), "metric") == (
        "Plant out tomatoes in A1, A2 (6 to 12 m from the end near the gate) and A3."
    )
    two = BedSet("", (), (("B1", 0.0, 6.0), ("A2", 3.5, 9.0), ("B1", 20.0, 30.0)))
    there = with_parts_joined([two, outside])
    # In feet: 6 m are 19.7, 20 are 65.6, 30 are 98.4, 3.5 are 11.5 and 12 are 39.4.
    assert _task(Task("sow", "", tomato, there), "us") == (
        "Sow tomatoes in A1, A3 and parts of A2 and B1 (touch a bed on the map to see which part)."
    )


@pytest.mark.parametrize(
    ("parts", "joined"),
    [
        ([(0.0, 6.0), (6.0, 9.0)], [(0.0, 9.0)]),
        ([(6.0, 9.0), (0.0, 6.0)], [(0.0, 9.0)]),
        ([(0.0, 6.0), (4.0, 9.0)], [(0.0, 9.0)]),
        ([(0.0, 9.0), (2.0, 4.0)], [(0.0, 9.0)]),
        ([(0.0, 6.0), (6.5, 9.0)], [(0.0, 6.0), (6.5, 9.0)]),
    ],
)
def test_parts_of_a_bed_that_touch_are_one_and_others_stay_apart(parts, joined):
    """Beside a part of another bed, which begins where the first one ends."""
    sets = [BedSet("", (), (("A1", *part),)) for part in parts]
    other = BedSet("", (), (("A2", 9.0, 12.0),))
    (found,) = with_parts_joined([*sets, other])
    assert found.parts == (*(("A1", *part) for part in joined), ("A2", 9.0, 12.0))


def test_covers_of_a_dated_sowing_go_on_and_come_off_on_their_days():
    """Sown on day 100 under fabric until 115: hoops a week before, 93; put away a week
    after, 122. On again from 190 to the last day, 200: it goes with the crop, and is put
    away on 207.
    """
    covered = Covering("light_fabric", 100, 115), Covering("light_fabric", 190, 200)
    planned = PlannedBeds(
        "succession",
        frozenset({"A1"}),
        "light_fabric",
        "light_fabric",
        100,
        160,
        200,
        is_dated=True,
        covered=covered,
    )
    jobs = list(dated(on_beds(crop(**SOWN), planned=planned), planned))
    assert [(job.kind, job.day) for job in jobs if job.kind != "order_seed"] == [
        ("sow_under", 100),
        ("set_hoops", 93),
        ("take_cover_off", 115),
        ("store_cover", 122),
        ("have_cover_ready", 190),
        ("store_cover", 207),
        ("begin_to_pick", 160),
        ("last_days_under", 200),
    ]


def test_hoops_are_set_before_a_cover_that_comes_only_in_autumn():
    """Fabric ready on day 190: hoops a week before, 183; film a fortnight before, 176."""
    for kind, day in (("light_fabric", 183), ("slitted_film", 176)):
        planned = PlannedBeds(
            "succession",
            frozenset({"A1"}),
            None,
            kind,
            100,
            160,
            200,
            is_dated=True,
            covered=(Covering(kind, 190, 200),),
        )
        jobs = dated(on_beds(crop(**SOWN), planned=planned), planned)
        hoops = [job.day for job in jobs if job.kind == "set_hoops"]
        assert hoops == [day]


@pytest.mark.parametrize("is_dated", [True, False])
def test_no_cover_is_ready_before_an_autumn_crop_that_is_sown_under_it(is_dated):
    """Bare until day 249, so ready on 242 as a rule; but it is sown on 268.

    Hoops for film stand a fortnight before it lies, from 254 on.
    """
    stay = planned("autumn", None, "clear_film", from_day=268, to_day=319)._replace(
        harvest_day=298,
        is_dated=is_dated,
        covered=(Covering("clear_film", 268, 319),) if is_dated else (),
    )
    found = jobs(crop(**SOWN), dates([100, 100], [250, 320], covers=FILM), FILM, stay)
    assert "pull_film" not in dict(found)
    assert dict(found) | {"order_seed": 0, "sow": 0, "sow_for_autumn": 0} == {
        "order_seed": 0,
        "sow": 0,
        "sow_for_autumn": 0,
        "set_hoops": 254,
        "have_cover_ready": 268,
        "begin_to_pick": 298,
        "last_days_under": 319,
        "store_cover": 326,
    }


def test_cloth_hangs_over_the_metres_of_its_crop_alone():
    """Of one bed 0 to 6 m until day 170 and 6 to 12 m until 180; then the same said once."""
    rows = [
        on_beds(
            crop(**SOWN),
            planned=PlannedBeds(
                "succession",
                frozenset({"A1"}),
                None,
                None,
                100,
                150,
                last,
                Shaded("shade_40", 152, last),
                is_dated=True,
                parts=(("A1", start_m, start_m + 6.0),),
            ),
        )
        for start_m, last in ((0.0, 170), (6.0, 180))
    ]
    rows = [
        replace(row, beds=row.beds._replace(parts=row.planned.parts)) for row in rows
    ]
    found = shade(cloth(), owned=("shade_40",), rows=rows)
    hung = [(job.kind, job.day, job.beds.parts) for job in found if job.beds]
    assert hung == [
        ("shade_on", 152, (("A1", 0.0, 6.0),)),
        ("shade_off", 170, (("A1", 0.0, 6.0),)),
        ("shade_on", 152, (("A1", 6.0, 12.0),)),
        ("shade_off", 180, (("A1", 6.0, 12.0),)),
    ]
    (task,) = _tasks([job for job in found if job.kind == "shade_on"], MONDAY, NORTH, 9)
    assert [each.parts for each in task.beds] == [(("A1", 0.0, 12.0),)]
