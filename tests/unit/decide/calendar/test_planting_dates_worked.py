"""Dates where every year is the same: frost until day 100 and from day 281 on.

Minima are -5 °C up to 10 April (day 100) and from 8 October (day 281) on, +20 °C between;
maxima are 10 °C more, so means are 0 and 25 °C. A frost that comes every year on the
same day has the same date in all draws and at all risks, and no offset or cover of a few
degrees moves it.

    frost          last on day 100, first on day 281
    nights of 18   7-day mean of minima: of k warm nights it is (20 k - 5 (7 - k)) / 7, so
                   16.4 of six and 20 of seven: day 107, give or take 1.6 °C
    soil of 20     7-day mean of 0 and 25 °C: 25 k / 7 is 20 or more from k = 6: day 106
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from made_up import analysis, beds_in, means, plane, plot_box, site
from made_up_crops import crop, growth, limit

from fieldmap.decide.calendar import monte_carlo, planting_dates
from fieldmap.decide.calendar.planting_dates import how
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.site import WeatherRecord


@pytest.fixture(scope="module", autouse=True)
def few_draws():
    """All draws are alike here, so a few will do."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(monte_carlo, "DRAWS", 11)
        yield


GROUND = plane()
HOME = plot_box(40, 40, 160, 160)
BEDS = (
    beds_in(plot_box(60, 80, 72, 83), letter="W")[:1]
    + beds_in(plot_box(130, 80, 142, 83), letter="E")[:1]
)
FROST = crop("frost", sow_soil_c=limit(-20.0))
SOIL = crop("soil", sow_soil_c=limit(20.0))
NIGHTS = crop("nights", sow_soil_c=limit(-20.0), set_out_night_c=limit(18.0))


def record(begins="2001-01-01", years=12, warm=(101, 281)):
    """Common and leap years: warm from a day of the season-year on, to before another."""
    days = pd.date_range(begins, periods=365 * years + years // 4, name="date")
    southern = begins.endswith("07-01")
    number = (SOUTH if southern else NORTH).numbers(days)
    low_c = np.where((number >= warm[0]) & (number < warm[1]), 20.0, -5.0)
    return WeatherRecord(pd.DataFrame({"tmin_c": low_c, "tmax_c": low_c + 10.0}, days))


def farm(*crops, weather=None, latitude=45.0, soil=None, **choices):
    """A level farm whose crops are made up."""
    made = site(GROUND, {"Home": HOME}, latitude=latitude, **choices)
    table = made.plots.assign(soil=soil)
    return replace(made, crops=crops, weather=weather or record(), plots=table)


def dates(here, sun=20.0, offset_c=0.0):
    shown = analysis(GROUND, sun, offset_c)
    return planting_dates.compute(here, means(here, shown, BEDS), BEDS)


@pytest.fixture(scope="module")
def known():
    """Three crops without a cover and under two usual ones."""
    return dates(farm(FROST, SOIL, NIGHTS))


def test_the_early_date_is_the_latest_of_frost_soil_and_nights(known):
    early = known.early[:, :, 0]
    np.testing.assert_array_equal(early[:, 0], 100.0)
    np.testing.assert_array_equal(early[:, 1], 106.0)
    np.testing.assert_array_equal(early[:, 2], 107.0)
    assert known.early_of(1, 2) == (107.0, 107.0, 107.0)


def test_the_late_date_is_the_morning_of_the_frost(known):
    np.testing.assert_array_equal(known.late, 281.0)
    assert known.late_of(0, 1) == (281.0, 281.0, 281.0)
    assert known.season.late_date(known.late_of(0, 1).central) == (10, 7)


def test_tables_have_an_axis_for_crops_covers_and_beds(known):
    assert known.covers == ("none", "light_fabric", "clear_film")
    assert known.early.shape == known.late.shape == (3, 3, 3, 2)
    assert known.last_sowing.shape == (3, 3, 3, 2)
    assert known.grows_until.shape == (3, 2)
    assert known.risks == (0.1, 0.1, 0.1)
    assert known.known


def test_the_stations_own_dates_are_the_same(known):
    for each in known.station:
        assert each.counted == (100.0, 281.0)
        assert each.years == (12, 12)


def test_the_first_crop_of_a_tender_class_orders_beds(known):
    assert known.reference_crop == "frost"
    np.testing.assert_array_equal(known.early_draws, 100.0)
    np.testing.assert_array_equal(known.late_draws, 281.0)
    assert known.early_draws.shape == known.nights_decide.shape
    assert known.nights_decide.all()
    pea, melon = crop("pea", "hardy"), crop("melon", "warm_loving")
    assert dates(farm(pea, crop("kale", "half_hardy"))).reference_crop == "pea"
    assert dates(farm(pea, melon, FROST)).reference_crop == "melon"


def test_soil_decides_where_it_is_later_than_nights():
    found = dates(farm(SOIL))
    np.testing.assert_array_equal(found.early_draws, 106.0)
    assert not found.nights_decide.any()


def test_the_crop_that_the_grower_named_orders_beds():
    wanted = [{"name": "frost"}, {"name": "soil"}]
    found = dates(farm(FROST, SOIL, crops=wanted, order_for="soil"))
    assert found.reference_crop == "soil"
    np.testing.assert_array_equal(found.early_draws, 106.0)


def test_clay_is_later_by_its_days_and_frost_is_not():
    found = dates(farm(FROST, SOIL, soil="clay"))
    np.testing.assert_array_equal(found.early[:, 0], 100.0)
    np.testing.assert_array_equal(found.early[:, 1], 113.0)
    assert found.soil_lag_days.tolist() == [7.0, 7.0]
    assert found.soil_seen_days.tolist() == [0.0, 0.0]
    assert any(fact.kind == "dates_soil_later" for fact in found.remarks)


def test_of_the_covers_that_are_owned_those_for_nights_have_dates():
    kinds = ("shade_40", "medium_fabric", "shade_30", "clear_film", "medium_fabric")
    owned = [{"kind": kind, "width_m": 2.0, "length_m": 9.0} for kind in kinds]
    found = dates(farm(FROST, covers=owned))
    assert found.covers == ("none", "medium_fabric", "clear_film")
    shades = dates(farm(FROST, covers=owned[:1]))
    assert shades.covers == ("none", "light_fabric", "clear_film")


def test_in_the_south_all_days_are_those_of_the_season_year():
    # Day 100 from 1 July is 8 October, day 281 is 7 April.
    found = dates(farm(FROST, SOIL, weather=record("2001-07-01"), latitude=-45.0))
    np.testing.assert_array_equal(found.early[:, 0], 100.0)
    np.testing.assert_array_equal(found.early[:, 1], 106.0)
    np.testing.assert_array_equal(found.late, 281.0)
    assert found.season.early_date(100.0) == (10, 8)


def test_risks_are_those_of_the_class_of_each_crop():
    classes = ("hardy", "half_hardy", "tender", "warm_loving")
    found = dates(farm(*(crop(each, each) for each in classes)))
    assert found.risks == (0.5, 0.2, 0.1, 0.1)


def test_the_last_sowing_leaves_warmth_until_frost_or_want_of_light():
    # 80 days of the warmest months, each of which is one: before the frost of day 281 they
    # are days 201 to 280.
    assert dates(farm(FROST)).last_sowing[:, 0, 0].ravel() == pytest.approx(201.0)
    # With 2 MJ in all months there is never light enough: the half-year that counts
    # begins on day 183, and 80 days before are day 103.
    dark = dates(farm(FROST), sun=2.0)
    assert dark.grows_until.tolist() == [[183.0, 183.0]]
    assert dark.last_sowing[:, 0, 0].ravel() == pytest.approx(103.0)


@pytest.mark.parametrize(("days", "found"), [(174, 107.0), (175, np.nan)])
def test_the_last_day_to_sow_may_be_the_first_and_none_is_before_it(days, found):
    # 174 warm days before the frost of day 281 are days 107 to 280; nights are warm
    # enough from day 107 on.
    grown = NIGHTS.model_copy(
        update={
            "days_to_maturity": crop(
                days_to_maturity=growth(100, days)
            ).days_to_maturity
        }
    )
    known = dates(farm(grown))
    np.testing.assert_array_equal(known.early[1, 0, 0], 107.0)
    np.testing.assert_array_equal(known.last_sowing[1, 0, 0], found)


def test_of_different_beds_each_has_its_own_light():
    grid = np.full((200, 200), 20.0)
    grid[:, :100] = 2.0
    found = dates(farm(FROST), sun=grid)
    np.testing.assert_array_equal(found.grows_until, [[183.0, np.inf]])
    np.testing.assert_array_equal(found.last_sowing[1, 0, 0], [103.0, 201.0])


def test_under_a_film_growth_ends_where_what_comes_through_is_too_little():
    """8 MJ are about 17 mol, of which tender crops need 12; a quarter is as 2 MJ above."""
    here = farm(FROST)
    shown = means(here, analysis(GROUND, 8.0), BEDS)
    share = np.array([0.25, 1.0])
    found = planting_dates.compute(here, shown, BEDS, light=share)
    np.testing.assert_array_equal(found.grows_until, [[183.0, np.inf]])


@pytest.mark.parametrize(("risk", "day"), [(0.5, 231.0), (0.1, 221.0)])
def test_the_last_sowing_takes_the_risk_of_autumn(risk, day):
    """600 degree days over 10 °C before day 281, at 15 or, in every other year, 10 a day.

    So from day 241 or 221. Of 6 years each day 231 is the middle, and one year in ten is
    none of the six that need 60 days.
    """
    weather = record()
    cool = (weather.days.index.year % 2 == 0) & (weather.days["tmin_c"] > 0)
    weather.days.loc[cool, "tmax_c"] = 20.0
    grown = crop(
        "frost",
        sow_soil_c=limit(-20.0),
        base_c=limit(10.0),
        degree_days=growth(500, 600),
    )
    found = dates(farm(grown, weather=weather, risk={"autumn": risk}))
    assert found.risks == (0.1,)
    assert found.last_sowing[:, 0, 0].ravel() == pytest.approx(day)


def test_without_a_frost_nights_let_it_out_from_the_first_day_and_none_ends_it():
    warm = record(warm=(1, 400))
    warm.days.loc[warm.days.index.month == 2] -= 6.0  # a place with seasons
    found = dates(farm(FROST, weather=warm))
    assert (found.early[:, 0, 0] <= 8.0).all()
    np.testing.assert_array_equal(found.late[:, 0, 0], np.inf)
    # 80 days before the morning after day 365.
    np.testing.assert_array_equal(found.last_sowing[:, 0, 0], 286.0)


def cold_spell():
    """Nights of -1.5 °C between days 101 and 130, and between 251 and 280."""
    made = record()
    number = NORTH.numbers(made.days.index)
    is_cool = ((number > 100) & (number <= 130)) | ((number > 250) & (number <= 280))
    made.days.loc[is_cool, "tmin_c"] = -1.5
    made.days.loc[is_cool, "tmax_c"] = 8.5
    return made


def test_beds_are_put_in_order_by_days_without_a_cover():
    # Heavy fabric is worth 3 to 4 °C: under it the mild frosts do no harm.
    owned = [{"kind": "heavy_fabric", "width_m": 2.0, "length_m": 9.0}]
    found = dates(farm(FROST, weather=cold_spell(), covers=owned))
    (bare, covered), (holds, longer) = found.early[1, 0, :, 0], found.late[1, 0, :, 0]
    assert covered < bare
    assert holds < longer
    assert np.median(found.early_draws[0]) == bare
    assert np.median(found.late_draws[0]) == holds
    assert found.nights_decide.all()


def ever_later(years, *crops):
    """Dates of years whose last frost comes on days 100, 102, 104 and so on."""
    made = record(years=years)
    number = NORTH.numbers(made.days.index)
    ends = 100 + 2 * (made.days.index.year - 2001)
    made.days["tmin_c"] = np.where((number > ends) & (number < 281), 20.0, -5.0)
    made.days["tmax_c"] = made.days["tmin_c"] + 10.0
    return dates(farm(*(crops or [FROST]), weather=made))


def test_of_nine_springs_the_next_one_is_predicted_by_students_law():
    # Mean 108, standard deviation 2 x the root of 60 / 8 = 5.477. In 1 year of 10 by
    # Student's t of 8 degrees of freedom, 1.397: 108 + 1.397 x 5.477 x the root of 10 / 9.
    np.testing.assert_allclose(ever_later(9).early_draws, 116.06, atol=0.01)


def test_crops_of_one_limit_have_the_risks_of_their_classes():
    """A hardy crop takes every second year: by Student's law the mean, day 108."""
    pea, swede = (crop(each, "hardy", sow_soil_c=limit(-20.0)) for each in ("p", "s"))
    found = ever_later(9, pea, FROST, swede).early
    np.testing.assert_allclose(found[:, [0, 2]], 108.0)
    np.testing.assert_allclose(found[:, 1], 116.06, atol=0.01)


@pytest.mark.parametrize(("days", "found"), [(164, 117.0), (165, np.nan)])
def test_days_to_begin_are_whole_ones_for_the_last_sowing(days, found):
    """Out from day 116.06 is from 117 on; 165 warm days before day 281 begin on day 116."""
    ripe = crop(days_to_maturity=growth(100, days)).days_to_maturity
    grown = FROST.model_copy(update={"days_to_maturity": ripe})
    last = ever_later(9, grown).last_sowing[1, 0, 0]
    np.testing.assert_array_equal(last, found)


def test_a_last_sowing_between_two_days_is_the_day_before():
    """Every second year day 200 is too cold to grow: there 174 days begin on day 106, else

    on 107, and half way between on 106.5; nights are warm enough from day 107 on.
    """
    made = record()
    cold = (NORTH.numbers(made.days.index) == 200) & (made.days.index.year % 2 == 0)
    made.days.loc[cold] = 5.0
    grown = crop(
        sow_soil_c=limit(-20.0),
        set_out_night_c=limit(17.0),  # 16.4 of six warm nights, 17.9 about day 200
        days_to_maturity=growth(100, 174),
    )
    found = dates(farm(grown, weather=made))
    np.testing.assert_array_equal(found.early[1, 0, 0], 107.0)
    assert np.isnan(found.last_sowing[1, 0, 0]).all()


def test_from_ten_springs_on_each_draw_takes_other_years():
    # The date is one of 100 to 118, or lies between two of them, and not always the same.
    drawn = ever_later(10).early_draws
    assert np.ptp(drawn) > 0
    assert drawn.min() >= 100
    assert drawn.max() <= 118


def test_why_there_are_no_dates_is_said_and_tables_are_empty():
    typical = farm(FROST)
    typical = replace(typical, weather=replace(typical.weather, typical=True))
    found = dates(typical)
    assert not found.known
    assert (found.early.shape, found.early_draws.shape) == ((3, 0, 0, 2), (2, 0))
    assert found.nights_decide.shape == (2, 0)
    assert found.soil_lag_days.tolist() == found.soil_seen_days.tolist() == [0.0, 0.0]
    assert [fact.kind for fact in found.remarks] == ["no_dates_typical_year"]


def test_dates_of_the_reference_crop_alone_are_the_same():
    here = farm(SOIL, FROST)
    shown = means(here, analysis(GROUND), BEDS)
    alone = planting_dates.early_of_reference_crop(here, shown, BEDS)
    whole = planting_dates.compute(here, shown, BEDS).early_draws
    np.testing.assert_array_equal(alone, whole)


def test_a_crop_with_a_soil_to_set_out_is_set_out():
    assert how(crop(set_out_soil_c=limit(12.0))) == "set out"
    assert how(crop()) == "sow"


def test_draws_are_those_of_the_reference_crop_wherever_it_stands():
    """Peas of a hardy kind stand -9 °C, which never comes; the tender crop orders beds."""
    pea = crop("pea", "hardy", damage_c=limit(-9.0, at="screen"))
    found = dates(farm(pea, FROST))
    assert np.isinf(found.late[:, 0]).all()
    np.testing.assert_array_equal(found.early_draws, 100.0)
    np.testing.assert_array_equal(found.late_draws, 281.0)


def test_draws_are_those_of_the_crop_that_orders_beds_between_two_of_another_limit():
    """The first and the last of three crops bear the same frost; the second any, or none."""
    again = FROST.model_copy(update={"name": "again"})
    for limit_c in (-9.0, 25.0):
        other = crop(
            "other", damage_c=limit(limit_c, at="screen"), sow_soil_c=limit(-20.0)
        )
        wanted = [{"name": each.name} for each in (FROST, other, again)]
        found = dates(farm(FROST, other, again, crops=wanted, order_for="again"))
        assert found.reference_crop == "again"
        np.testing.assert_array_equal(found.early_draws, 100.0)
        assert (found.early[1, 1, 0] != 100.0).all()


def test_the_stations_dates_have_the_limits_and_risks_of_either_season():
    bears = limit(-3.0, at="screen", of="bearing plant")
    (found,) = dates(farm(crop(late_c=bears))).station
    assert (found.limits_c, found.risks) == ((0.0, -3.0), (0.1, 0.5))


def test_soft_transplants_wait_for_milder_nights():
    """Hardened ones stand -3.5 °C and so nights of -1.5; soft ones 1 °C: until day 130."""
    seedling = crop(
        damage_c=limit(-3.5, at="screen"),
        soft_c=limit(1.0, at="screen"),
        set_out_soil_c=limit(-20.0),
    )
    for transplants, day in (("hardened", 100.0), ("soft", 130.0)):
        wanted = [{"name": "test crop", "transplants": transplants}]
        found = dates(farm(seedling, weather=cold_spell(), crops=wanted))
        np.testing.assert_array_equal(found.early[1, 0, 0], day)


def test_what_is_sown_may_be_in_the_soil_before_the_last_frost_and_plants_may_not():
    """No seed comes up at the 1.5 °C of soil before day 100, so it is sown from day 1 on."""
    comes_up = {"at_c": [10, 15], "days": [9, 6], "source": "made up"}
    sown = crop("sown", sow_soil_c=limit(-20.0), emergence=comes_up)
    plant = crop("plant", set_out_soil_c=limit(-20.0), emergence=comes_up)
    found = dates(farm(sown, plant)).early[1, :, 0]
    np.testing.assert_array_equal(found, [[1.0, 1.0], [100.0, 100.0]])


def test_on_ground_that_is_not_known_no_date_is():
    grid = np.zeros((200, 200))
    grid[:, :100] = np.nan
    found = dates(farm(FROST), offset_c=grid)
    for days in (found.early, found.late):
        assert np.isnan(days[..., 0]).all()
    np.testing.assert_array_equal(found.early[..., 1], 100.0)
    np.testing.assert_array_equal(found.late[..., 1], 281.0)


def test_limits_alike_on_still_nights_alone_are_two_limits():
    """0 °C at the screen, or -2 of the plant, which a still night brings at 0 as well.

    Nights of -1 °C up to day 130 whose days are not clear harm the first alone, which so
    does not lend the other its date.
    """
    weather = record()
    number = NORTH.numbers(weather.days.index)
    weather.days.loc[(number > 100) & (number <= 130), ["tmin_c", "tmax_c"]] = -1.0, 2.0
    plant = crop("plant", sow_soil_c=limit(-20.0), damage_c=limit(-2.0, at="plant"))
    first, other = dates(farm(FROST, plant, weather=weather)).early[1, :, 0]
    np.testing.assert_array_equal(first, 130.0)
    assert (other < 130.0).all()
    np.testing.assert_array_equal(
        other, dates(farm(plant, weather=weather)).early[1, 0, 0]
    )
