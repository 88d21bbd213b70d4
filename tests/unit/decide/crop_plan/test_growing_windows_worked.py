"""From when to when a crop can stand, day by day as on a spreadsheet.

Harvest weeks, trays and covers ahead are common practice, no source.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fieldmap.decide.crop_plan import growing_windows as windows
from fieldmap.decide.crop_plan.bed_classes import BedClass
from fieldmap.decide.crop_plan.growing_windows import CropOnClass, OwnDays
from fieldmap.decide.crop_plan.model import CoverUse, GrowingWindow
from fieldmap.model.crops import Shade
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.read.crops import packaged_crops
from layers.sunlight import MOL_PER_MJ

NEVER = float("inf")
# Two weeks, four and eight; the rest three where hardy, else until frost.
KEEPS = {"lettuce": 14, "spinach": 28, "pea": 21, "sugar snap": 21, "Potato": 14}
NO_HOT_DAYS = (0.0,) * 12


def crop(name="chicory", grown_as="hardy", **facts):
    """A crop with only what growing windows ask of it."""
    plain = {
        "harvest_days": KEEPS.get(name, 21 if grown_as.startswith("h") else None),
        "autumn_soil_c": None,
        "also": (),
        "crop_class": SimpleNamespace(value=grown_as),
        "tray_days": 0,
        "is_set_out": True,
        "emergence": None,
        "degree_days": None,
        "days_to_maturity": None,
        "base_c": SimpleNamespace(value=10.0),
    }
    return SimpleNamespace(name=name, **plain | facts)


def days(low, high, counted_from="setting out"):
    return SimpleNamespace(low=low, high=high, counted_from=counted_from)


def year(mean_c=15.0, season=NORTH):
    """A usual year; one mean for all days, or each day's own."""
    return windows.UsualYear(
        pd.Series(dtype=float), np.broadcast_to(mean_c, 365).astype(float), season
    )


def where(
    early,
    late,
    covers=("none",),
    *,
    crop_=None,
    grows=40,
    cloth=None,
    mj=0.0,
    slackens=np.nan,
    dark=NEVER,
    up=None,
):
    """A crop on a class of beds: early and late dates by cover."""
    beds = BedClass(
        beds=(0,),
        length_m=20.0,
        width_m=0.75,
        early=np.array([early], float),
        late=np.array([late], float),
        slackens=np.broadcast_to(slackens, (1, len(early))),
        grows_until=np.array([dark]),
        light_mj_m2_day=(mj,) * 12,
        families=frozenset(),
    )
    by_start = grows if callable(grows) else lambda _: float(grows)
    days = OwnDays(np.array([by_start(float(day)) for day in range(1, 367)]), up)
    return CropOnClass(crop_ or crop(), 0, beds, days, list(enumerate(covers)), cloth)


def summary(found):
    """Season, from, first harvest, to, and covers as (kind, from, to, days)."""
    return [
        (
            each.season,
            each.from_day,
            each.harvest_day,
            each.to_day,
            [(use.kind, use.from_day, use.to_day, use.days) for use in each.covers],
        )
        for each in found
    ]


FILM = ("none", "clear_film")
FABRIC = ("none", "light_fabric")


# ------------------------------------------------------------------ the usual year
def test_a_usual_year_is_the_mean_of_both_extremes_over_all_years():
    """2023 has a mean of 5 °C and 2024 of 15: 10 on each day.

    29 February 2024 shares the number 59: (5 + 15 + 15) / 3.
    """
    index = pd.date_range("2023-01-01", "2024-12-31")
    cold = np.asarray(index.year == 2023)
    record = pd.DataFrame(
        {"tmin_c": np.where(cold, 0.0, 10.0), "tmax_c": np.where(cold, 10.0, 20.0)},
        index=index,
    )
    found = windows.usual_year(record, NORTH)
    assert found.mean_c.shape == (365,)
    assert found.mean_c[58] == pytest.approx(35 / 3)
    assert np.delete(found.mean_c, 58) == pytest.approx(10.0)
    assert found.tmax_c.iloc[0] == 10.0


def test_days_that_no_year_knows_lie_between_their_neighbours():
    """4 °C on day 1 and 8 on day 3: 6 on day 2, and 8 on all days after."""
    record = pd.DataFrame(
        {"tmin_c": [3.0, 7.0], "tmax_c": [5.0, 9.0]},
        index=pd.to_datetime(["2025-01-01", "2025-01-03"]),
    )
    mean_c = windows.usual_year(record, NORTH).mean_c
    assert mean_c[:4].tolist() == [4.0, 6.0, 8.0, 8.0]
    # In the south 1 January is day 185: the whole year before it is as cold.
    mean_c = windows.usual_year(record, SOUTH).mean_c
    assert mean_c[[0, 184, 185, 186]].tolist() == [4.0, 4.0, 6.0, 8.0]


# ------------------------------------------------------------------ harvest and sowing
@pytest.mark.parametrize(
    ("name", "also", "grown_as", "again"),
    [
        ("spinach", (), "hardy", True),
        ("pea", (), "hardy", False),
        ("sugar snap", ("pea",), "hardy", False),
        ("Potato", (), "half_hardy", False),
        ("tomato", (), "tender", False),
        ("leek", (), "hardy", False),
        ("lamb's lettuce", ("Corn Salad",), "hardy", False),
    ],
)
def test_what_is_sown_again_for_autumn(name, also, grown_as, again):
    assert windows.grows_again(crop(name, grown_as, also=also)) == again


@pytest.mark.parametrize(
    ("counted_from", "trays", "low", "high", "middle"),
    [
        # From setting out, and where it is sown in place, no day is taken off.
        ("setting out", 35, 50, 70, 60),
        ("sowing", 0, 50, 70, 60),
        # Five weeks in trays save half as many: 32.5 to 52.5, on the 43rd day.
        ("sowing", 35, 50, 70, 43),
        # No crop is ripe within a week: 7 to 12.5, on the 10th day.
        ("sowing", 35, 20, 30, 10),
    ],
)
def test_days_on_the_bed_leave_out_half_the_weeks_in_trays(
    counted_from, trays, low, high, middle
):
    grown = crop(tray_days=trays, days_to_maturity=days(low, high, counted_from))
    assert windows.own_days(grown, year())(100.0) == middle


def test_beet_set_out_after_four_weeks_in_trays_takes_about_45_days():
    """50 to 65 days from sowing, usual about 45 once set out (common practice)."""
    beet = packaged_crops()["beet"]
    assert windows.own_days(beet, year(20.0))(150.0) == pytest.approx(45, abs=2)


def degree_days(low, high):
    return crop("corn", "tender", degree_days=SimpleNamespace(low=low, high=high))


def test_degree_days_at_fifteen_degrees_over_a_base_of_ten():
    """5 a day, so the middle of 80 and 120 takes 20 days."""
    found = windows.own_days(degree_days(80, 120), year(15.0))
    assert (found(1.0), found(200.0)) == (20.0, 20.0)
    # On over New Year.
    assert found(360.0) == 20.0


def test_cold_days_count_nothing_and_warm_ones_from_the_day_of_the_start():
    """10 °C to day 100, 15 from day 101: 20 warm days after all cold ones."""
    found = windows.own_days(
        degree_days(80, 120), year(np.where(np.arange(1, 366) <= 100, 10.0, 15.0))
    )
    starts = (1.0, 91.0, 100.0, 101.0, 102.0)
    assert [found(day) for day in starts] == [120.0, 30.0, 21.0, 20.0, 20.0]


def test_days_are_quoted_for_warm_days_and_cold_ones_count_for_less():
    """30 °C counts for a day and no more, 15.7 °C over a base of 10 for half of one.

    Half of 11.4 °C, for which days are quoted, is 5.7. From day 101 on 30 °C: 60 days
    from day 101 are 60 and from day 81, 20 days worth 10 and then 50.
    """
    mean_c = np.where(np.arange(1, 366) <= 100, 15.7, 30.0)
    found = windows.own_days(crop(days_to_maturity=days(50, 70)), year(mean_c))
    assert [found(day) for day in (101.0, 81.0)] == [60.0, 70.0]


def test_where_it_is_never_warm_it_never_ripens():
    assert windows.own_days(degree_days(80, 120), year(5.0))(100.0) == NEVER
    grown = crop(days_to_maturity=days(50, 70))
    assert windows.own_days(grown, year(5.0))(100.0) == NEVER


def test_an_early_date_is_rounded_up_and_the_date_of_frost_is_the_first_day_lost():
    here = where([99.2, 99.0, NEVER], [270.0, 270.3, NEVER], ("none", *"ab"))
    assert [here.early(at) for at in (0, 1, 2)] == [100.0, 99.0, NEVER]
    assert [here.late(at) for at in (0, 1, 2)] == [269.0, 270.0, 365.0]


# ------------------------------------------------------------------ spring
def test_a_spring_crop_bare_and_three_weeks_earlier_under_film():
    """Ripe after 40 days, cut for 21. Film lies a week ahead and is off on day 100."""
    assert summary(windows.spring(where([100, 80], [300, 300], FILM))) == [
        ("spring", 100, 140, 161, []),
        ("spring", 80, 120, 141, [("clear_film", 73, 100, 20.0)]),
    ]


def test_fabric_does_not_lie_ahead_to_warm_the_soil():
    (_, under) = windows.spring(where([100, 80], [300, 300], FABRIC))
    assert under.covers == (CoverUse("light_fabric", 80, 100, 20.0),)


@pytest.mark.parametrize(("early", "count"), [(93, 2), (94, 1)])
def test_a_cover_that_wins_less_than_a_week_is_not_laid(early, count):
    assert len(list(windows.spring(where([100, early], [300, 300], FILM)))) == count


def test_a_cover_comes_off_with_the_crop_where_that_goes_first():
    """40 + 21 days from day 80 end on day 141; bare would be from day 200 or never."""
    for bare in (200, NEVER):
        *_, under = windows.spring(where([bare, 80], [300, 300], FILM))
        assert under.covers == (CoverUse("clear_film", 73, 141, 61.0),)


def test_a_cover_over_what_is_sown_lies_until_what_is_sown_bare_would_be_up():
    """Sown bare on day 100 it is up on day 115: from then on frost is over for seedlings.

    Sown on day 80 under fabric it is up sooner, and until day 115 frost may take it bare.
    """
    up = np.full(365, 15.0)
    (_, under) = windows.spring(where([100, 80], [300, 300], FABRIC, up=up))
    assert under.covers == (CoverUse("light_fabric", 80, 115, 20.0),)
    found = windows.covers_over(
        where([100, 80], [300, 300], FABRIC, up=up), "light_fabric", (90.0, 150.0)
    )
    assert found == (CoverUse("light_fabric", 90, 115, 10.0),)


def test_peas_are_up_after_36_days_in_soil_of_5_degrees_and_plants_set_out_at_once():
    """Oregon State University Extension after Harrington; soil lies 1.5 °C over the air."""
    crops = packaged_crops()
    peas = windows.own_days(crops["pea"], year(3.5))
    assert peas.stands_from(20.0) == pytest.approx(20 + 35, abs=1)
    assert peas.stands_from(float("inf")) == float("inf")
    assert windows.own_days(crops["lettuce"], year(3.5)).stands_from(20.0) == 20.0


def test_no_cover_lies_before_the_first_day_of_the_year():
    (_, under) = windows.spring(where([30, 4], [300, 300], FILM))
    assert under.covers == (CoverUse("clear_film", 1, 30, 26.0),)


def test_no_cover_is_ready_before_the_first_day_of_the_year():
    (use,) = windows.cover_behind("light_fabric", 1.0, 5.0, 40.0, 35.0)
    assert use == CoverUse("light_fabric", 1, 40, 35.0)


@pytest.mark.parametrize(
    ("late", "found"),
    [
        # Day 139 is the last and it ripens on day 140.
        (140, []),
        (141, [("spring", 100, 140, 140, [])]),
        # Frost ends the harvest.
        (151, [("spring", 100, 140, 150, [])]),
        (162, [("spring", 100, 140, 161, [])]),
    ],
)
def test_frost_ends_a_spring_crop(late, found):
    assert summary(windows.spring(where([100], [late]))) == found


def test_frost_ends_a_spring_crop_whose_fabric_is_off_by_then():
    """Ripe on day 120 and cut for 21 days, but bare it holds until day 129."""
    (found,) = summary(windows.spring(where([100, 80], [130, 160], FABRIC)))
    assert found == ("spring", 80, 120, 129, [("light_fabric", 80, 100, 20.0)])


# ------------------------------------------------------------------ summer
TENDER = crop("pepino", "tender")


def summers(early, late, covers=FILM):
    return summary(windows.summer(where(early, late, covers, crop_=TENDER, grows=60)))


def test_a_tender_crop_has_film_at_either_end_or_at_both():
    """Out bare from day 130 until day 270; film gives 15 days at each end.

    Film lies a week before planting, and a week before the first frost.
    """
    ahead, behind = ("clear_film", 108, 130, 15.0), ("clear_film", 263, 285, 15.0)
    assert summers([130, 115], [271, 286]) == [
        ("summer", 130, 190, 270, []),
        ("summer", 115, 175, 270, [ahead]),
        ("summer", 130, 190, 285, [behind]),
        ("summer", 115, 175, 285, [ahead, behind]),
    ]


def test_an_end_that_wins_less_than_a_week_gets_no_film():
    # Six days in spring; seven in autumn.
    assert [each[1:4] for each in summers([130, 124], [271, 278])] == [
        (130, 190, 270),
        (130, 190, 277),
    ]
    assert len(summers([130, 123], [271, 277])) == 2


def test_film_that_moves_no_date_is_no_window_of_its_own():
    assert len(summers([130, 130], [271, 271])) == 1


def test_a_crop_that_cannot_ripen_before_frost_is_not_set_out():
    # 60 days from day 130 is day 190; the first harvest is never bent to fit.
    assert summers([130], [191], ("none",)) == [("summer", 130, 190, 190, [])]
    assert summers([130], [190], ("none",)) == []


def test_a_bearing_crop_slackens_before_frost_takes_it():
    """Bare from day 250; under the cover that holds it longer from day 262."""
    here = where([130, 130], [271, 286], FILM, crop_=TENDER, slackens=[250.7, 262.0])
    assert [each.slackens_day for each in windows.summer(here)] == [250, 262]
    # Film that is off by day 130 keeps no night of autumn warmer.
    ahead = where([130, 115], [271, 271], FILM, crop_=TENDER, slackens=[250.7, 262.0])
    assert [each.slackens_day for each in windows.summer(ahead)] == [250, 250]
    # Never out bare it has film to its last day, and nights as warm as that makes them.
    never = where([NEVER, 115], [271, 286], FILM, crop_=TENDER, slackens=[250.7, 262.0])
    assert [each.slackens_day for each in windows.summer(never)] == [262, 262]
    # Day 270 is its last: on that day it still slackens, after it no more.
    for slackens, found in ((270.0, [270]), (271.0, [None])):
        late = where([130], [271], crop_=TENDER, slackens=[slackens])
        assert [each.slackens_day for each in windows.summer(late)] == found


@pytest.mark.parametrize(
    ("early", "late"),
    [
        # Never warm enough bare, though bare plants would hold until day 270.
        ((NEVER, 115), (271, 286)),
        # Or warm enough only after the bare late date.
        ((280, 115), (271, 286)),
        # Or with less than a week between, in which nobody takes film off: on again from
        # day 263, in the week of 260 to 266.
        ((265, 115), (271, 286)),
        ((260, 115), (271, 286)),
    ],
)
def test_film_that_never_comes_off_counts_each_day_and_each_metre_once(early, late):
    """One film from day 108 to 285: where bare days are left it wins all but those."""
    longest = max(summers(early, late), key=lambda each: each[3] - each[1])
    (use,) = longest[-1]
    assert longest[:4] == ("summer", 115, 175, 285)
    bare_days = max(late[0] - 1 - early[0], 0)
    assert use == ("clear_film", 108, 285, 285 - 115 - bare_days)


def test_film_that_can_be_off_for_a_week_is_taken_off():
    """Off on day 259, the last of its week, and on again from 263, in the next."""
    *_, both = summers([259, 115], [271, 286])
    assert both[-1] == [
        ("clear_film", 108, 259, 144.0),
        ("clear_film", 263, 285, 15.0),
    ]


# ------------------------------------------------------------------ autumn
def test_an_autumn_crop_is_sown_so_that_it_ripens_before_its_late_date():
    """The last day bare is 299, the first harvest 21 days before: 278.

    40 days before it: day 238. Under film all is 21 days later, and film lies from a
    week before day 299.
    """
    assert summary(windows.autumn(where([100, 80], [300, 321], FILM))) == [
        ("autumn", 238, 278, 299, []),
        ("autumn", 259, 299, 320, [("clear_film", 292, 320, 21.0)]),
    ]


def test_film_over_an_autumn_crop_that_never_stands_bare_lies_from_its_first_day():
    """Bare until 249; under film 319 less 21 and 30 days is 268, 51 days before the end."""
    here = where([100, 100], [250, 320], FILM, grows=30)
    assert summary(windows.autumn(here))[1] == (
        "autumn",
        268,
        298,
        319,
        [("clear_film", 268, 319, 51.0)],
    )
    # Sown on day 245, four days before the bare bed loses it, film is ready with it.
    here = where([100, 100], [250, 297], FILM, grows=30)
    assert summary(windows.autumn(here))[1][4] == [("clear_film", 245, 296, 47.0)]


def test_an_autumn_crop_is_ripe_before_light_fails():
    """Dark from day 260: sown 40 days before, though it stands until day 299."""
    found = summary(windows.autumn(where([100], [300], dark=260.0)))
    assert found == [("autumn", 220, 260, 299, [])]


@pytest.mark.parametrize(("early", "count"), [(210, 1), (210.1, 0), (211, 0)])
def test_a_second_sowing_comes_four_weeks_after_the_first_could(early, count):
    assert len(list(windows.autumn(where([early], [300])))) == count


@pytest.mark.parametrize(
    ("early", "start"), [(200, 238), (238, 238), (238.1, 239), (259, 259), (260, None)]
)
def test_a_crop_of_autumn_alone_begins_as_late_as_it_is_picked_in_full_or_when_it_can(
    early, start
):
    """Picked for 21 days up to 299, as ever; out later, it is ripe at the latest then."""
    leek = list(windows.autumn(where([early], [300], crop_=crop("leek"))))
    assert [each.from_day for each in leek] == ([] if start is None else [start])
    assert all(each.to_day == 299 for each in leek)


def test_a_crop_of_autumn_alone_is_ripe_before_light_fails_though_it_begins_late():
    """Out on day 230, 40 days before it is ripe."""
    found = windows.autumn(where([230], [300], dark=270.0, crop_=crop("leek")))
    assert [(each.from_day, each.harvest_day) for each in found] == [(230, 270)]
    assert not [*windows.autumn(where([230], [300], dark=269.0, crop_=crop("leek")))]


@pytest.mark.parametrize(("late", "count"), [(307, 2), (306, 1)])
def test_film_behind_that_wins_less_than_a_week_is_not_laid(late, count):
    assert len(list(windows.autumn(where([100, 100], [300, late], FILM)))) == count


def test_the_last_sowing_knows_that_later_ones_grow_slower():
    """Before day 200 it takes 40 days, then 60: 218 + 60 = 278."""
    slow = where([100], [300], grows=lambda day: 40.0 if day < 200 else 60.0)
    found = [(each.from_day, each.harvest_day) for each in windows.autumn(slow)]
    assert found == [(218, 278)]


def test_a_year_too_short_has_no_autumn_crop():
    assert list(windows.autumn(where([1], [75]))) == []


def test_the_first_day_of_the_year_may_be_a_last_sowing():
    # 1 + 40 = 41 and 21 days of harvest: the last day is 62.
    early = where([-40], [63])
    assert [each.from_day for each in windows.autumn(early)] == [1]


# ------------------------------------------------------------------ shade and light
JUNE_TO_AUGUST = ("shade_30", (6, 8))


def stay(from_day, to_day, *covers, harvest_day=None):
    return GrowingWindow("summer", from_day, harvest_day or to_day, to_day, covers)


def hot(**months):
    """Hot days by month, m7=15.5 say."""
    return tuple(months.get(f"m{month}", 0.0) for month in range(1, 13))


def shady(stage=None, **changes):
    shade = {"low": 30, "high": 30, "source": "made up"}
    shade |= {} if stage is None else {"stage": stage}
    return packaged_crops()["carrot"].model_copy(
        update={"shade_percent": Shade.model_validate(shade), **changes}
    )


def test_cloth_hangs_over_the_hot_months_of_a_stay():
    """Days 170 to 220: all of July with its 15.5 hot days, and 8 of 31 days of August."""
    here = where([1], [366], crop_=shady(), cloth=JUNE_TO_AUGUST)
    film = CoverUse("clear_film", 163, 175, 9.0)
    shaded = windows.shaded(stay(170, 220, film), here, year(), hot(m7=15.5, m8=31.0))
    assert shaded.covers == (film, CoverUse("shade_30", 170, 220, 23.5))
    assert (shaded.from_day, shaded.to_day) == (170, 220)


def test_cloth_hangs_from_its_first_month_to_its_last_where_the_stay_is_longer():
    """1 June is day 152, and it comes down on 1 September, day 244."""
    here = where([1], [366], crop_=shady(), cloth=JUNE_TO_AUGUST)
    film = CoverUse("clear_film", 243, 300, 9.0)
    months = hot(m5=31.0, m6=6.0, m7=15.5, m8=10.0)
    shaded = windows.shaded(stay(100, 300, film), here, year(), months)
    assert shaded.covers == (CoverUse("shade_30", 152, 244, 31.5), film)


@pytest.mark.parametrize(("hot_days", "hung"), [(3.0, True), (2.9, False)])
def test_cloth_is_hung_for_three_hot_days_and_not_for_less(hot_days, hung):
    here = where([1], [366], crop_=shady(), cloth=JUNE_TO_AUGUST)
    shaded = windows.shaded(stay(100, 300), here, year(), hot(m7=hot_days))
    assert (shaded is not None) == hung


@pytest.mark.parametrize(
    ("stage", "days"),
    [
        (None, (170, 244)),
        # A sown crop is up within 14 days: 170 to 183.
        ("until_up", (170, 183)),
        # Young for 28 days: 170 to 197.
        ("young", (170, 197)),
        # Fruit sets 42 days before the first harvest on day 240: 198.
        ("fruiting", (198, 244)),
    ],
)
def test_cloth_hangs_only_while_the_crop_wants_it(stage, days):
    """Every day from June to August is hot, so each under cloth counts."""
    here = where([1], [366], crop_=shady(stage), cloth=JUNE_TO_AUGUST)
    months = hot(m6=30.0, m7=31.0, m8=31.0, m9=30.0)
    window = stay(170, 300, harvest_day=240)
    (use,) = windows.shaded(window, here, year(), months).covers
    assert (use.from_day, use.to_day) == days


def test_what_is_set_out_is_up_and_wants_no_cloth_until_it_is():
    grown = packaged_crops()["lettuce"].model_copy(
        update={"shade_percent": shady("until_up").shade_percent}
    )
    assert grown.is_set_out
    here = where([1], [366], crop_=grown, cloth=JUNE_TO_AUGUST)
    assert windows.shaded(stay(170, 220), here, year(), hot(m6=30.0, m7=31.0)) is None


def test_without_cloth_there_is_no_shade():
    here = where([1], [366])
    assert windows.shaded(stay(100, 300), here, year(), hot(m7=31.0)) is None


def test_in_the_south_cloth_hangs_over_new_year():
    """1 December is day 154 from July, 1 March day 244."""
    here = where([1], [366], crop_=shady(), cloth=("shade_30", (12, 2)))
    months = hot(m12=4.0, m1=5.0, m2=6.0)
    shaded = windows.shaded(stay(100, 300), here, year(season=SOUTH), months)
    assert shaded.covers == (CoverUse("shade_30", 154, 244, pytest.approx(15.0)),)
    # In the north those months lie at both ends of the year, and no stay joins them: of
    # one over all of it January and February, 11 hot days to 1 March, are more than 4.
    shaded = windows.shaded(stay(1, 365), here, year(), months)
    assert shaded.covers == (CoverUse("shade_30", 1, 60, pytest.approx(11.0)),)
    shaded = windows.shaded(stay(100, 365), here, year(), months)
    assert shaded.covers == (CoverUse("shade_30", 335, 365, pytest.approx(4.0)),)


@pytest.mark.parametrize("season", [NORTH, SOUTH])
def test_where_all_months_are_hot_cloth_hangs_all_through_a_stay(season):
    """15 hot days in each month: 180 in 365.25 days, so of 101 days 49.8."""
    here = where([1], [366], crop_=shady(), cloth=("shade_30", (1, 12)))
    months = tuple(15.0 for _ in range(12))
    (use,) = windows.shaded(stay(150, 250), here, year(season=season), months).covers
    assert (use.from_day, use.to_day) == (150, 250)
    assert use.days == pytest.approx(101 * 12 * 15 / 365.25, abs=1.0)


def light_crop(low, high):
    return crop(best_light_mol=SimpleNamespace(low=low, high=high))


@pytest.mark.parametrize(
    ("mol", "low", "high", "hot_days", "lost"),
    [
        (20.0, 15.0, 25.0, 10.0, 0.0),
        # 25 / 20 - 1 = a quarter of 40 days of growth.
        (20.0, 25.0, 30.0, 10.0, 10.0),
        # At most as long again, in whatever dark.
        (5.0, 25.0, 30.0, 10.0, 40.0),
        (0.0, 25.0, 30.0, 10.0, 40.0),
        # 20 / 16 - 1 = a quarter of 10 hot days, and never more than all of them.
        (20.0, 15.0, 16.0, 10.0, 2.5),
        (50.0, 15.0, 16.0, 10.0, 10.0),
    ],
)
def test_days_that_the_light_of_a_bed_costs(mol, low, high, hot_days, lost):
    here = where([1], [366], crop_=light_crop(low, high), mj=mol / MOL_PER_MJ)
    standing = stay(182, 242, harvest_day=222)
    months = hot(m7=hot_days)
    found = windows.lost_to_light(standing, here, year(), months)
    assert found == pytest.approx(lost)


def test_light_is_that_of_the_month_in_the_middle_of_the_stay():
    """Days 152 to 242 have their middle on day 197, 16 July."""
    here = where([1], [366], crop_=light_crop(25.0, 99.0))
    by_month = [0.0] * 12
    by_month[6] = 20.0 / MOL_PER_MJ
    here = here._replace(beds=here.beds._replace(light_mj_m2_day=tuple(by_month)))
    standing = stay(152, 242, harvest_day=192)
    found = windows.lost_to_light(standing, here, year(), NO_HOT_DAYS)
    assert found == pytest.approx(10.0)


def test_light_of_what_stands_through_the_winter_is_that_of_its_own_middle():
    """Garlic from day 290 to 581 of the next year: 435.5 less 365 is 11 March."""
    here = where([1], [366], crop_=light_crop(25.0, 99.0))
    by_month = [0.0] * 12
    by_month[2] = 20.0 / MOL_PER_MJ
    here = here._replace(beds=here.beds._replace(light_mj_m2_day=tuple(by_month)))
    standing = stay(290, 581, harvest_day=560)
    found = windows.lost_to_light(standing, here, year(), NO_HOT_DAYS)
    # 25 / 20 - 1 = a quarter of 270 days of growth.
    assert found == pytest.approx(67.5)


@pytest.mark.parametrize(
    ("from_day", "to_day", "months", "found"),
    [
        # Seven of the 30 days of June, 152 to 181.
        (160, 166, {"m6": 15.0}, 3.5),
        (181, 181, {"m6": 15.0, "m7": 31.0}, 0.5),
        (182, 182, {"m6": 15.0, "m7": 31.0}, 1.0),
        # February has 28.25 days in the usual year, and all its hot days are counted.
        (1, 100, {"m2": 5.0}, 5.0),
        (1, 365, {"m12": 4.0, "m1": float("nan")}, 4.0),
        (200, 190, {"m7": 31.0}, 0.0),
        # Day 547 is 1 July of the year after, and 577 its last; February is over by 450.
        (290, 561, {"m7": 31.0, "m2": 5.0}, 20.0),
        (450, 581, {"m7": 31.0, "m2": 5.0}, 31.0),
    ],
)
def test_hot_days_of_a_month_are_spread_evenly_over_it(from_day, to_day, months, found):
    assert windows._hot_within(from_day, to_day, hot(**months), NORTH) == pytest.approx(
        found
    )


# ------------------------------------------------------------------ the last sowing
def test_an_autumn_crop_is_sown_no_later_than_the_table_of_dates_says():
    """Dark from day 260 lets the middle kinds begin on 220; the slowest by 215.7."""
    here = where([100], [300], dark=260.0)
    beds = here.beds._replace(last_sowing=np.array([[215.0]]))
    found = summary(windows.autumn(here._replace(beds=beds)))
    assert found == [("autumn", 215, 255, 299, [])]
    # Under film its own last day counts: 278 and 299 less 40 days would be 238 and 259.
    film = where([100, 80], [300, 321], FILM)
    beds = film.beds._replace(last_sowing=np.array([[215.0, 230.0]]))
    found = windows.autumn(film._replace(beds=beds))
    assert [(each.from_day, each.harvest_day) for each in found] == [
        (215, 255),
        (230, 270),
    ]
    # So it is for what stands through the winter: 290 less 60 days would be 230.
    kale = where([100], [NEVER], grows=60, dark=290.0, crop_=crop("kale"))
    beds = kale.beds._replace(last_sowing=np.array([[220.0]]))
    assert [each.from_day for each in windows.winter(kale._replace(beds=beds))] == [220]
    # Where the table has none there is no such bound.
    beds = here.beds._replace(last_sowing=np.array([[np.nan]]))
    assert summary(windows.autumn(here._replace(beds=beds)))[0][1] == 220


# ------------------------------------------------------------------ through the winter
def winters(share, early=100.0, late=NEVER, dark=290.0, grows=60, **facts):
    """Kale that is hardened; it is picked until 15 April, day 105 of the next year."""
    here = where([early], [late], grows=grows, dark=dark, crop_=crop("kale", **facts))
    beds = here.beds._replace(winters=np.array([share]))
    return summary(windows.winter(here._replace(beds=beds)))


def test_kale_is_grown_before_the_light_goes_and_stands_until_it_flowers():
    """Grown in 60 days by day 290: set out on 230; 365 + 105 is 15 April."""
    assert winters(0.8) == [("winter", 230, 290, 470, [])]


@pytest.mark.parametrize(("share", "count"), [(0.5, 1), (0.49, 0), (np.nan, 1)])
def test_what_dies_in_more_winters_than_not_is_not_left_standing(share, count):
    assert len(winters(share)) == count


def test_a_winter_crop_must_fit_between_its_early_date_and_the_cold():
    assert winters(0.8, early=231.0) == []
    assert winters(0.8, early=230.0) != []
    # Cold that takes grown plants before the end of the year leaves no winter.
    assert winters(0.8, late=365.0) == []
    assert winters(0.8, late=366.0) != []


def test_garlic_is_planted_in_autumn_and_lifted_in_the_year_after():
    """Planted from day 280 on, 260 to 300 days later: 560, which is 14 July; three weeks.

    Its days are those of the calendar, as cold ones count as well.
    """
    garlic = packaged_crops()["garlic"]
    assert windows.own_days(garlic, year(0.0))(280.0) == 280.0
    here = where([280], [NEVER], grows=280, crop_=garlic)
    assert summary(windows.winter(here)) == [("winter", 280, 560, 581, [])]
    assert NORTH.month_day_of_any_year(560) == (7, 14)
    last = where([365], [NEVER], grows=280, crop_=garlic)
    assert summary(windows.winter(last)) == [("winter", 365, 645, 666, [])]
    never = where([NEVER], [NEVER], grows=280, crop_=garlic)
    assert summary(windows.winter(never)) == []
