"""By how much soil is ahead or behind, from closed forms and round numbers."""

from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
import shapely
from made_up_crops import crop, limit
from shapely.geometry import box

from fieldmap.decide.calendar import soil_warming, warm_dates
from fieldmap.decide.calendar.soil_warming import Ground
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.site import DRIES_FIRST, PUDDLES, SNOW_LEAVES_FIRST

EMPTY = shapely.Polygon()


def plots(*rows):
    """Plots by name, soil and what is said of March."""
    name, soil, wet = zip(*rows, strict=True)
    table = {"name": name, "soil": soil, "wet_in_march": wet, "first_worked": None}
    return gpd.GeoDataFrame(table, geometry=[box(0, 0, 1, 1)] * len(rows))


def bed(plot="Home", west=0.0):
    """A bed of 10 m by 1 m."""
    return SimpleNamespace(plot=plot, outline=box(west, 0, west + 10, 1))


def nothing_seen(_what):
    return EMPTY


def seen(**grounds):
    """Ground on which things were seen, by the name of their constant."""
    names = {"puddles": PUDDLES, "dries": DRIES_FIRST, "snow": SNOW_LEAVES_FIRST}
    by_kind = {names[name]: ground for name, ground in grounds.items()}
    return lambda what: by_kind.get(what, EMPTY)


LEVEL_MJ = 15.0 - 10.0 * np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)


def means(*shares, level=LEVEL_MJ):
    """Light of beds that is a share of that of level ground all year."""
    return SimpleNamespace(
        sun_mj_m2_day=np.stack([share * level for share in shares], axis=1),
        open_sun_mj_m2_day=level,
    )


def ground_of(*beds, of_plots=None, what=nothing_seen, shares=None, season=NORTH):
    table = plots(("Home", None, None)) if of_plots is None else of_plots
    return soil_warming.of_beds(
        table, what, season, means(*(shares or [1.0] * len(beds))), beds
    )


# ------------------------------------------------------------------ lag
@pytest.mark.parametrize(
    ("soil", "wet", "days"),
    [
        (None, None, 0),
        ("sand", False, 0),
        ("loam", None, 0),
        ("clay", None, 7),
        ("clay", False, 7),
        ("sand", True, 10),
        ("clay", True, 10),  # the longer of both, not their sum
    ],
)
def test_clay_warms_a_week_later_and_wet_ground_ten_days(soil, wet, days):
    found = ground_of(bed(), of_plots=plots(("Home", soil, wet)))
    assert found.lag_days.tolist() == [days]
    assert found.seen_days.tolist() == [0.0]


def test_a_bed_has_the_soil_of_its_own_plot():
    table = plots(("Low", "clay", True), ("High", "sand", False))
    assert ground_of(bed("High"), bed("Low"), of_plots=table).lag_days.tolist() == [
        0,
        10,
    ]


def test_half_a_bed_under_puddles_is_a_wet_bed():
    # 10 m long: ground to 5 m is just half, to 4.9 m less.
    for to_m, days in ((5.0, 10.0), (4.9, 0.0)):
        found = ground_of(bed(), what=seen(puddles=box(-5, -5, to_m, 5)))
        assert found.lag_days.tolist() == [days]


def test_where_ground_was_seen_to_dry_first_a_wet_plot_is_not_wet():
    table = plots(("Home", None, True))
    here, there = bed(west=0.0), bed(west=20.0)
    dries = box(-1, -1, 11, 2)
    lags = ground_of(here, there, of_plots=table, what=seen(dries=dries)).lag_days
    assert lags.tolist() == [0.0, 10.0]
    # What stands in puddles is wet, be it said to dry first.
    both = seen(dries=dries, puddles=dries)
    assert ground_of(here, of_plots=table, what=both).lag_days.tolist() == [10.0]
    wet = soil_warming.wet_in_march(table, seen(dries=dries), (here, there))
    assert wet.tolist() == [False, True]


# ------------------------------------------------------------------ lead of the sun
# Light of level ground: B(d) = 15 - 10 cos(2π d / 365), least on 1 January (d = 0). A
# bed with the share s of it leads by n where B(d + n) = s B(d):
#     d + n = 365 / 2π · arccos((15 - s B(d)) / 10)
# With more light than level ground ever has it leads until midsummer; by 30 days at most.
def days_ahead(share, day):
    """Closed form; day 1 is the first of the year, d = 0."""
    d = day - 1
    level = 15 - 10 * np.cos(2 * np.pi * d / 365)
    cosine = max((15 - share * level) / 10, -1.0)
    return min(365 / (2 * np.pi) * np.arccos(cosine) - d, 30.0)


@pytest.mark.parametrize("share", [0.9, 0.95, 1.0, 1.05, 1.1])
@pytest.mark.parametrize("day", [60, 100, 150])
def test_the_sun_of_a_bed_leads_by_the_days_until_level_ground_has_as_much(share, day):
    found = ground_of(bed(), shares=[share])
    assert found.days_led(np.array([float(day)]))[0] == pytest.approx(
        days_ahead(share, day), abs=0.05
    )


def test_the_lead_is_read_between_march_and_may():
    found = ground_of(*[bed()] * 6, shares=[1.05] * 6)
    led = found.days_led(np.array([10.0, 59.0, 151.0, 300.0, np.nan, np.inf]))
    first, last = days_ahead(1.05, 60), days_ahead(1.05, 150)
    # A day that is not known, or never comes, is read as the first of March.
    np.testing.assert_allclose(led, [first, first, last, last, first, first], atol=0.05)


def test_the_lead_of_a_day_of_the_season_is_read_from_the_first_of_march_on():
    ground = Ground(np.tile(np.arange(1.0, 366.0), (5, 1)), np.zeros(5), np.zeros(5))
    # 1 March is day 60, 30 May day 150; a part of a day does not count.
    days = np.array([59.0, 60.0, 60.9, 150.0, 151.0])
    assert ground.days_led(days).tolist() == [60, 60, 60, 150, 150]


def test_light_of_midwinter_counts_however_little_there_is():
    # 10.2 - 10 cos(2π d / 365): .54 in the middle of January. On day 20 (d = 19) a bed
    # with nine tenths leads by 365 / 2π · arccos((10.2 - .9 B) / 10) - 19.
    level = 10.2 - 10.0 * np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    found = soil_warming.of_beds(
        plots(("Home", None, None)),
        nothing_seen,
        NORTH,
        means(0.9, level=level),
        [bed()],
    )
    turn = 365 / (2 * np.pi)
    on_day = 10.2 - 10.0 * np.cos(19 / turn)
    ahead = turn * np.arccos((10.2 - 0.9 * on_day) / 10) - 19
    assert found.led[0, 19] == pytest.approx(ahead, abs=0.05)


def test_each_bed_has_the_lead_of_its_own_light_on_its_own_day():
    found = ground_of(bed(), bed(), shares=[1.1, 0.9])
    led = found.days_led(np.array([70.0, 120.0]))
    np.testing.assert_allclose(
        led, [days_ahead(1.1, 70), days_ahead(0.9, 120)], atol=0.05
    )


def test_no_bed_leads_or_lags_by_more_than_thirty_days():
    # Twice the light in March, and half of it in May, are beyond any day of the spring.
    bright, dark = ground_of(bed(), bed(), shares=[2.5, 0.3]).led
    assert np.abs([bright, dark]).max() == 30.0
    assert bright[59] == 30.0
    assert dark[149] == -30.0


def test_light_that_hardly_changes_has_no_spring():
    # A swing of 2 × .37 = .74 is 4.93 % of 15, one of .76 5.07 %.
    turns = np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    for half, is_known in ((0.37, False), (0.38, True)):
        known = means(1.01, level=15 - half * turns)
        found = soil_warming.of_beds(
            plots(("Home", None, None)), nothing_seen, NORTH, known, [bed()]
        )
        assert bool(found.led.any()) is is_known


def test_in_the_south_the_year_is_turned_by_half():
    # Least light in the middle of the year, alike on 1 and 2 July; the lead on day 100 of
    # the season is that of the north, but for half a day: 1 July is day 182 of 365.
    level = 15.0 + 10.0 * np.cos(2 * np.pi * (np.arange(12) + 0.5) / 12)
    found = soil_warming.of_beds(
        plots(("Home", None, None)),
        nothing_seen,
        SOUTH,
        means(1.05, level=level),
        [bed()],
    )
    led = found.days_led(np.array([100.0]))[0]
    assert led == pytest.approx(days_ahead(1.05, 100), abs=0.1)
    assert led > 0


def test_in_a_polar_night_a_bed_has_the_light_of_level_ground():
    level = np.array([0.0, 0, 4, 9, 14, 18, 18, 14, 9, 4, 0, 0])
    known = means(1.0, level=level)
    found = soil_warming.of_beds(
        plots(("Home", None, None)), nothing_seen, NORTH, known, [bed()]
    )
    assert np.isfinite(found.led).all()
    assert np.abs(found.led[:, 59:150]).max() == pytest.approx(0.0, abs=1e-6)


# ------------------------------------------------------------------ what was seen
# A soil as late as the middle of the others, seen to be earlier, right 8 times in 10:
# the mean of a normal law of 5 days cut at its middle is 5 · √(2/π) = 3.989 below it;
# weighed .8 below and .2 above it is (.8 - .2) · 3.989 = 2.394 days earlier.
EARLIER = 0.6 * 5 * np.sqrt(2 / np.pi)


@pytest.mark.parametrize("what", ["snow", "dries"])
def test_what_was_seen_to_be_early_is_earlier_by_half_the_spread(what):
    here, there = bed(west=0.0), bed(west=20.0)
    found = ground_of(here, there, there, what=seen(**{what: box(-1, -1, 11, 2)}))
    assert found.seen_days.tolist() == pytest.approx([EARLIER, 0.0, 0.0])


def test_where_all_beds_or_none_were_seen_to_be_early_nothing_moves():
    here, there = bed(west=0.0), bed(west=20.0)
    everywhere = box(-1, -1, 40, 2)
    assert not ground_of(here, there, what=seen(snow=everywhere)).seen_days.any()
    assert not ground_of(here, there).seen_days.any()


def test_what_dries_first_on_a_wet_plot_has_lost_its_lag_already():
    here, there = bed(west=0.0), bed(west=20.0)
    found = ground_of(
        here, there,
        of_plots=plots(("Home", None, True)),
        what=seen(dries=box(-1, -1, 11, 2)),
    )  # fmt: skip
    assert found.seen_days.tolist() == [0.0, 0.0]
    assert found.lag_days.tolist() == [0.0, 10.0]


def test_a_soil_that_was_thought_late_moves_more_than_one_that_was_thought_early():
    """A clay is 7 days behind the middle, a sunny bed .4 of its lead ahead of it."""
    clay, loam = bed("Clay"), bed("Loam", west=20.0)
    table = plots(("Clay", "clay", None), ("Loam", None, None))
    snow = seen(snow=box(-1, -1, 11, 2))

    def moved(behind):
        """Bayes' rule on a normal law of 5 days, by sums over a fine grid."""
        days = np.linspace(-60, 60, 240001)
        law = np.exp(-(((days - behind) / 5) ** 2) / 2)
        seen_law = law * np.where(days < 0, 0.8, 0.2)
        return behind - (days * seen_law).sum() / seen_law.sum()

    late = ground_of(clay, loam, loam, of_plots=table, what=snow)
    assert late.seen_days[0] == pytest.approx(moved(7.0), abs=0.01)
    # Behind is minus .4 of the lead about 15 April, day 105.
    bright = bed("Loam")
    sunny = ground_of(
        bright, loam, loam, of_plots=table, what=snow, shares=[1.05, 1.0, 1.0]
    )
    ahead = 0.4 * days_ahead(1.05, 105)
    assert sunny.seen_days[0] == pytest.approx(moved(-ahead), abs=0.002)


def test_the_middle_of_the_other_beds_is_their_median():
    """Three others lag by 0, 7 and 10 days: 7 is the middle, as late as the clay seen."""
    beds = [bed("Clay"), bed("Loam", 20), bed("Clay", 40), bed("Wet", 60)]
    table = plots(("Clay", "clay", None), ("Loam", None, None), ("Wet", None, True))
    found = ground_of(*beds, of_plots=table, what=seen(snow=box(-1, -1, 11, 2)))
    assert found.seen_days.tolist() == pytest.approx([EARLIER, 0.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("lag", "seen_days", "kind"),
    [
        (0.0, 0.0, None),
        (7.0, 0.0, "soil_clay"),
        (10.0, 0.0, "soil_wet"),
        (0.0, 2.4, "soil_seen_early"),
        (0.0, 0.4, None),  # no whole day
        (0.0, 0.6, "soil_seen_early"),
        (7.0, 2.4, "soil_clay"),  # the lag outweighs it
        (7.0, 7.0, "soil_seen_early"),
        (10.0, 10.4, "soil_seen_early"),
    ],
)
def test_the_reason_of_a_soil_is_what_weighs_more(lag, seen_days, kind):
    found = soil_warming.reason(lag, seen_days)
    assert (None if found is None else found.kind) == kind
    if kind == "soil_seen_early":
        assert found["number"] == round(seen_days)
    elif kind:
        assert found["days"] == lag


def test_what_was_added_for_soils_is_remarked_once_each():
    led = np.zeros((4, 365))
    lags = np.array([0.0, 10.0, 7.0, 10.0])
    added, early = soil_warming.remarks(Ground(led, lags, np.array([0, 1.0, 2.4, 0])))
    assert added == Fact(
        "dates_soil_later",
        said=[
            Fact("soil_days_on_clay", days=7.0),
            Fact("soil_days_where_wet", days=10.0),
        ],
    )
    assert early == Fact("dates_soil_seen_early", number=2)
    none = np.zeros(4)
    assert soil_warming.remarks(Ground(led, none, none + 0.4)) == []
    (wet,) = soil_warming.remarks(Ground(led, np.array([10.0]), np.zeros(1)))
    assert [each.kind for each in wet["said"]] == ["soil_days_where_wet"]
    assert soil_warming.remarks(Ground(led[:0], none[:0], none[:0])) == []


# ------------------------------------------------------------------ dates of warmth
def record(dates):
    """A record whose dates of warmth at a limit are those of a function."""
    asked = []

    def warm_from(limits_c, *, of):
        asked.append((of, [round(float(each), 2) for each in limits_c]))
        return np.stack([dates(float(each)) for each in limits_c])

    return SimpleNamespace(
        warm_from=warm_from,
        usable=np.arange(4),
        clear_shares={},
        kind_shares={},
        asked=asked,
    )


def draws(*years, soil=0.5):
    """Draws of years; at a chance of a half soil follows the sun by .4."""
    return SimpleNamespace(soil=np.full(len(years), soil), years=np.array(years))


def at_height(*steps):
    """Beds whose air is `steps` steps of .05 °C warmer than the station's."""
    return SimpleNamespace(height=np.array(steps))


def still_ground(lag=0.0, early=0.0, led=0.0, beds=1):
    return Ground(np.full((beds, 365), led), np.full(beds, lag), np.full(beds, early))


# Ten days a degree: at 10 °C the years are warm from days 90, 100, 110 and 130.
def by_limit(limit_c):
    """By the mean of the air, over which open soil lies by 1.5 °C (from memory)."""
    return np.array([90.0, 100.0, 110.0, 130.0]) + 10 * (limit_c - 8.5)


def soil_day(
    grown=None, ground=None, steps=(0,), years=((0, 1, 2, 3),), dates=by_limit, soil=0.5
):
    return warm_dates.soil_dates(
        record(dates), at_height(*steps), ground or still_ground(beds=len(steps)),
        grown or crop(), draws(*years, soil=soil),
    )  # fmt: skip


def test_the_usual_day_is_the_median_of_the_years_of_a_draw():
    # Of four the middle of the second and third: (100 + 110) / 2.
    assert soil_day().tolist() == [[[105.0]]]
    # Years may come twice: 90, 90, 130, 130 have 110 in their middle; of three the second.
    assert soil_day(years=((0, 0, 3, 3),)).item() == 110.0
    assert soil_day(years=((3, 0, 1),)).item() == 100.0


def test_years_that_are_not_known_are_left_out():
    def some(limit_c):
        return by_limit(limit_c) + np.array([np.nan, 0, 0, 0])

    # 100, 110, 130 of the drawn; of a draw of the unknown year alone all known ones.
    assert soil_day(dates=some).item() == 110.0
    assert soil_day(dates=some, years=((0, 0, 0, 0),)).item() == 110.0
    assert np.isnan(soil_day(dates=lambda _c: np.full(4, np.nan)).item())


def test_a_year_that_is_not_known_at_one_limit_counts_at_none():
    # The first year is not known at 9 °C: 100, 110, 130 are left at either limit.
    def some(limit_c):
        return by_limit(limit_c) + np.array([np.nan if limit_c < 8.5 else 0.0, 0, 0, 0])

    assert soil_day(dates=some, steps=(20, 0)).tolist() == [[[100.0, 110.0]]]


def test_the_lead_of_a_warmer_bed_is_read_on_its_own_day():
    led = np.zeros((3, 365))
    led[0, 94], led[1, 104], led[2, 109] = 10.0, 20.0, -10.0
    ground = Ground(led, np.zeros(3), np.zeros(3))
    # Days 95, 105 and 110 less .4 of 10, of 20 and of -10.
    days = soil_day(ground=ground, steps=(20, 0, -10))
    np.testing.assert_allclose(days, [[[91.0, 97.0, 114.0]]])


def test_a_bed_a_degree_warmer_has_the_day_of_a_limit_a_degree_lower():
    # 20 steps of .05 °C are a degree: ten days; 10 steps down five days later.
    days = soil_day(steps=(20, 0, -10))
    assert days.tolist() == [[[95.0, 105.0, 110.0]]]


def test_a_planted_crop_waits_for_its_soil_of_planting_and_a_sown_one_of_sowing():
    assert soil_day(crop(sow_soil_c=limit(12.0))).item() == 125.0
    both = crop(sow_soil_c=limit(12.0), set_out_soil_c=limit(15.0))
    assert soil_day(both).item() == 155.0


def test_lag_is_later_and_what_was_seen_earlier_and_the_sun_counts_for_its_share():
    # 105 + 7 = 112; 105 - 2.5; 105 - .4 × 10 = 101.
    assert soil_day(ground=still_ground(lag=7.0)).item() == 112.0
    assert soil_day(ground=still_ground(early=2.5)).item() == 102.5
    assert soil_day(ground=still_ground(led=10.0)).item() == pytest.approx(101.0)
    assert soil_day(ground=still_ground(10.0, 3.0, -5.0)).item() == pytest.approx(114.0)
    # A chance of 0 is the least of .3 to .5, one of 1 the most.
    for chance, day in ((0.0, 102.0), (1.0, 100.0)):
        days = soil_day(ground=still_ground(led=10.0), soil=chance)
        assert days.item() == pytest.approx(day)


def test_each_draw_has_its_own_share_of_the_sun_and_its_own_years():
    # 105 and 90 are the days of two draws; beds lead by 10 and 20 days, of which soil
    # follows by .3 in the first draw and by .5 in the second.
    led = np.repeat([[10.0], [20.0]], 365, axis=1)
    drawn = draws((0, 1, 2, 3), (0, 0, 0, 0))
    drawn.soil = np.array([0.0, 1.0])
    days = warm_dates.soil_dates(
        record(by_limit),
        at_height(0, 0),
        Ground(led, np.zeros(2), np.zeros(2)),
        crop(),
        drawn,
    )
    np.testing.assert_allclose(days, [[[102.0, 99.0]], [[85.0, 80.0]]])


def test_the_lead_is_read_at_the_usual_day_of_all_years():
    led = np.zeros((1, 365))
    led[0, 104] = 10.0  # day 105
    ground = Ground(led, np.zeros(1), np.zeros(1))
    # The draw itself has 90 alone: 90 - .4 × 10.
    assert soil_day(ground=ground, years=((0, 0, 0, 0),)).item() == pytest.approx(86.0)


def test_the_air_is_asked_for_soil_and_the_minima_for_nights():
    known = record(by_limit)
    shifts = SimpleNamespace(mean_c=lambda _shares, _draw: np.array([[0.0]]))
    warm_dates.night_dates(
        known, shifts, crop(set_out_night_c=limit(8.0)), draws((0, 1, 2, 3))
    )
    warm_dates.soil_dates(
        known, at_height(0), still_ground(), crop(), draws((0, 1, 2, 3))
    )
    assert known.asked == [("nights", [8.0]), ("air", [8.5])]


def test_a_crop_without_a_limit_of_nights_need_not_wait_for_them():
    found = warm_dates.night_dates(record(by_limit), None, crop(), draws((0, 1, 2, 3)))
    assert found.shape == (1, 1, 1)
    assert found.item() == -np.inf


def test_nights_take_the_mean_of_their_shifts_by_cover_and_bed():
    # Steps of .1 °C: a shift of 1 °C is ten days earlier than 105 - 5 = 100 for 8 °C.
    by_draw = [np.array([[0.0, -0.5], [1.0, 0.5]]), np.array([[0.26, 0.0], [0.0, 0.0]])]
    shifts = SimpleNamespace(mean_c=lambda _shares, draw: by_draw[draw])
    found = warm_dates.night_dates(
        record(by_limit), shifts, crop(set_out_night_c=limit(8.0)),
        draws((0, 1, 2, 3), (0, 0, 0, 0)),
    )  # fmt: skip
    assert found.shape == (2, 2, 2)
    np.testing.assert_allclose(found[0], [[100.0, 105.0], [90.0, 95.0]])
    # In the second draw 85 is the day of 8 °C, and .26 °C are three steps: 82.
    np.testing.assert_allclose(found[1], [[82.0, 85.0], [85.0, 85.0]])
