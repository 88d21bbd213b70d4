"""Frost dates on records of a few cold nights, worked by hand beside each test."""

from dataclasses import replace

import made_up_crops
import numpy as np
import pandas as pd
import pytest

from fieldmap.analyse.climatology import Record
from fieldmap.decide.calendar import frost_dates as frost_dates_module
from fieldmap.decide.calendar import monte_carlo
from fieldmap.decide.calendar.bed_temperatures import Shifts, in_steps
from fieldmap.decide.calendar.frost_dates import (
    frost_dates,
    frost_free_days,
    winters,
)
from fieldmap.model.crops import DamageTemperature
from layers import freeze
from layers.nights import MIXED, STILL, WINDY
from layers.scatter import LEVELS, NO_SCATTER, Scatter

FROM, YEARS = 2001, 11
# The tenth of eleven springs in order is passed by one in twelve: by a risk of 1/12 · 2
# the date is that of the tenth, since the i-th of n stands for a chance of i/(n + 1).
RISK = 2 / 12


LIMIT = DamageTemperature(value=0.0, at="screen", source="made up")


def record(nights, southern=False, years=YEARS):
    """Warm days of some years, but for nights (month, day): (kind, minima by year).

    A minimum is one for all years or one a year.
    """
    days = pd.date_range(f"{FROM}-01-01", f"{FROM + years - 1}-12-31")
    if southern:  # whole season-years from July
        days = pd.date_range(f"{FROM}-07-01", f"{FROM + years}-06-30")
    low = np.full(len(days), 15.0)
    kinds = np.full(len(days), MIXED, np.int8)
    for (month, day), (kind, minima) in nights.items():
        at = (days.month == month) & (days.day == day)
        low[at] = np.broadcast_to(minima, at.sum())
        kinds[at] = kind
    when = freeze.calendar(days.to_numpy().astype("datetime64[D]"), southern=southern)
    return Record(when, low, low + 5, kinds, True, np.arange(len(when.years)))


def shifts(offsets_c, spread=NO_SCATTER, share=0.17, base_c=0.0, height_c=0.0):
    """Shifts of beds with these offsets, the same in every draw, without a cover."""
    count, beds = monte_carlo.DRAWS, len(offsets_c)
    return Shifts(
        offset=np.broadcast_to(in_steps(np.array(offsets_c), 0.1), (count, beds)),
        base=np.full((count, 1), in_steps(np.array(base_c), 0.1)),
        mixed_gain=np.zeros((count, 1), np.intp),
        windy_gain=np.zeros((count, 1), np.intp),
        mixed_share=np.full(count, share),
        height=np.full(beds, in_steps(np.array(height_c), 0.05)),
        unknown=np.zeros(beds, bool),
        scatter=spread,
    )


def dates(record_, shifts_, risk=RISK, resample=False, limit=LIMIT):
    draws = monte_carlo.sample(
        record_.usable,
        len(record_.calendar.years),
        resample=resample,
        spread=shifts_.scatter,
    )
    spring, autumn = (
        frost_dates(record_, shifts_, limit, risk, draws, is_autumn=half)
        for half in (False, True)
    )
    return spring[:, 0], autumn[:, 0]


def test_each_kind_of_night_takes_its_share_of_the_offset():
    """Minima of .3 °C on a still, .3 on a mixed and .3 on a windy night; offset -2 °C.

    Still: .3 - 2 = -1.7, a freeze. Mixed: .3 - .17 · 2 = -.04, in steps of .05 °C
    .3 - .35 = -.05, a freeze. Windy: .3, none. Days 100 (10 April), 121 (1 May) and
    141 (21 May) of a common year.
    """
    nights = {(4, 10): (STILL, 0.3), (5, 1): (MIXED, 0.3), (5, 21): (WINDY, 0.3)}
    # Beds of no offset, of one that a mixed night leaves too little of, and of -2 °C:
    # -1 leaves -.17 (-.15 in steps), so .15 °C.
    spring, _ = dates(record(nights), shifts([0.0, -1.0, -2.0]))
    assert (spring == [-np.inf, 100.0, 121.0]).all()
    # In a valley half is left, and .3 - .5 · 1 = -.2 freezes.
    spring, _ = dates(record(nights), shifts([0.0, -1.0, -2.0], share=0.5))
    assert (spring == [-np.inf, 121.0, 121.0]).all()
    # A hundred metres up, all nights are .55 °C colder but the still ones.
    spring, _ = dates(record(nights), shifts([0.0], height_c=-0.55))
    assert (spring == 141.0).all()


def test_a_limit_of_the_plant_is_two_degrees_warmer_at_the_screen_on_still_nights_alone():
    """-1 °C harms what stands -2 °C itself on a still night and not on a windy one."""
    plant = DamageTemperature(value=-2.0, at="plant", source="made up")
    nights = {(4, 10): (STILL, -1.0), (5, 1): (WINDY, -1.0), (5, 21): (MIXED, -1.0)}
    spring, _ = dates(record(nights), shifts([0.0]), limit=plant)
    assert (spring == 100.0).all()
    nights[5, 1] = (WINDY, -2.1)
    spring, _ = dates(record(nights), shifts([0.0]), limit=plant)
    assert (spring == 121.0).all()


def test_years_are_known_by_the_warmest_limit_that_counts():
    """7 °C from 20 April to 10 June; in the first year ten nights of it are missing.

    That is within 8 °C of 0 °C, the limit of still nights, and not of -2: the first year,
    whose freeze on 5 April is the last of all, is not known.
    """
    plant = DamageTemperature(value=-2.0, at="plant", source="made up")
    first = np.arange(YEARS) == 0
    nights = {
        (day.month, day.day): (WINDY, 7.0)
        for day in pd.date_range("2001-04-20", "2001-06-10")
    }
    nights |= {(5, day): (WINDY, np.where(first, np.nan, 7.0)) for day in range(11, 21)}
    nights |= {(4, 1): (WINDY, -3.0), (4, 5): (WINDY, np.where(first, -3.0, 15.0))}
    spring, _ = dates(record(nights), shifts([0.0]), risk=1 / 12, limit=plant)
    assert (spring == 91.0).all()


def test_the_date_at_a_risk_is_that_of_the_year_in_its_place():
    """A still night of 0 °C on the 1st to 11th of May, one day later each year.

    The tenth of eleven is day 130 (10 May); 29 February has no number of its own, so
    leap years (2004, 2008) count alike. In 1 year of 12 · 3 it is the ninth.
    """
    nights = {
        (5, day): (STILL, np.where(np.arange(YEARS) == day - 1, -1.0, 15.0))
        for day in range(1, YEARS + 1)
    }
    made = record(nights)
    spring, autumn = dates(made, shifts([0.0]))
    assert (spring == 130.0).all()
    assert (autumn == np.inf).all()
    spring, _ = dates(made, shifts([0.0]), risk=3 / 12)
    assert (spring == 129.0).all()
    # Between two places, in a line: 2.5/12 lies half way.
    spring, _ = dates(made, shifts([0.0]), risk=2.5 / 12)
    assert (spring == 129.5).all()


def test_a_leap_day_shares_the_number_of_the_day_before():
    """A freeze on 29 February 2004 and 2008 is one of day 59, and on 1 March of day 60."""
    leap = {(2, 29): (STILL, -1.0)}
    found = record(leap).freezes(np.array([0.0]), STILL)[0][0]
    assert found[[3, 7]].tolist() == [59.0, 59.0]
    assert (np.delete(found, [3, 7]) == -np.inf).all()
    march, _ = dates(record({(3, 1): (STILL, -1.0)}), shifts([0.0]))
    assert (march == 60.0).all()


def test_a_southern_spring_ends_in_january():
    """Freezes on 10 October and 1 April: days 102 and 275 of a year from 1 July.

    July 31, August 31 and September 30 days, and 10 of October: 102. To 31 January are
    215, February 28 and March 31 make 274, so 1 April is 275.
    """
    nights = {(10, 10): (STILL, -1.0), (4, 1): (WINDY, -1.0)}
    spring, autumn = dates(record(nights, southern=True), shifts([0.0]))
    assert (spring == 102.0).all()
    assert (autumn == 275.0).all()


def test_a_cover_warms_still_nights_by_its_worth():
    """-1 °C on a still night; 1.5 °C warmer under a cover it is no freeze."""
    nights = {(4, 10): (STILL, -1.0)}
    cold, _ = dates(record(nights), shifts([0.0]))
    warm, _ = dates(record(nights), shifts([0.0], base_c=1.5))
    assert (cold == 100.0).all()
    assert (warm == -np.inf).all()


def test_years_share_out_the_equally_likely_dates_of_their_nights():
    """Every year has one still night at the limit, which freezes in one of two.

    Over many draws of eleven years each, half of all years then freeze: the chance that
    at least two of eleven do, so that the tenth in order has a date, is
    1 - (1 + 11)/2048 = .994.
    """
    made = record({(4, 10): (STILL, 0.01)})
    spread = Scatter(night_c=0.5, factor=0.0)
    draws = monte_carlo.sample(made.usable, YEARS, resample=False, spread=spread)
    half = (draws.in_spring < LEVELS // 2).mean()
    assert half == pytest.approx(0.5, abs=0.04)
    spread_shifts = shifts([0.0], spread)
    spring = frost_dates(made, spread_shifts, LIMIT, RISK, draws, is_autumn=False)
    assert (spring[:, 0] == 100.0).mean() == pytest.approx(0.994, abs=0.015)


MANY = 60


def warming(rng, weather_c):
    """Minima of 120 nights from 1 April, .1 °C warmer each and off by the weather."""
    return -3.0 + 0.1 * np.arange(120) + rng.normal(0, weather_c, (MANY, 120))


def from_april(minima):
    """The same as a record of still nights."""
    days = pd.date_range("2001-04-01", periods=120)
    nights = {(day.month, day.day): minima[:, at] for at, day in enumerate(days)}
    return record({day: (STILL, low) for day, low in nights.items()}, years=MANY)


@pytest.mark.parametrize("offset_c", [-0.5, -2.0])
def test_the_stated_risk_holds_for_nights_drawn_one_by_one(offset_c):
    """After the central date, nights that are drawn anew freeze in one spring of ten.

    Drawn in numpy's laws: gamma times the offset, plus the rest of the night. Of the
    years that the date was read off, (60 - (.9 · 61 - .5))/60 = .093 are later.
    """
    rng = np.random.default_rng(21)
    minima = warming(rng, 0.8)
    spread = Scatter()
    spring, _ = dates(from_april(minima), shifts([offset_c], spread), risk=0.1)
    size = (1000, *minima.shape)
    factor = rng.gamma(spread.factor**-2, spread.factor**2, size)
    rest = spread.night_c * rng.standard_normal(size)
    freezes = minima + offset_c * factor + rest <= 0.0
    after = freezes & (91 + np.arange(120) > np.median(spring))  # 1 April is day 91
    assert after.any(axis=-1).mean() == pytest.approx(0.093, abs=0.02)


def test_nights_that_stray_move_a_tender_date_more_on_a_colder_bed():
    """As far as the tenth of ten springs moves where each night is drawn 500 times.

    On a real record 2.7 days at -.5 °C and 7.7 at -2 were found for nights that stray by
    1.2 °C; here every night is still, and the factor of .7 strays by 1.4 °C at -2.
    """
    rng = np.random.default_rng(2)
    minima = warming(rng, 1.5)
    made, spread = from_april(minima), Scatter()
    moved = []
    for offset_c in (-0.5, -2.0):
        fixed, _ = dates(made, shifts([offset_c]), risk=0.1)
        strayed, _ = dates(made, shifts([offset_c], spread), risk=0.1)
        size = (500, *minima.shape)
        factor = rng.gamma(spread.factor**-2, spread.factor**2, size)
        drawn = minima + offset_c * factor + spread.night_c * rng.standard_normal(size)
        last = 91 + 119 - np.argmax((drawn <= 0.0)[..., ::-1], axis=-1)
        by_count = np.quantile(last, 0.9) - np.median(fixed)
        moved.append(np.median(strayed) - np.median(fixed))
        assert moved[-1] == pytest.approx(by_count, abs=1.5)
    assert 2.0 < moved[0] < moved[1]


def test_the_same_seed_gives_the_same_dates():
    made = record({(4, 10): (STILL, 0.3), (5, 1): (STILL, 0.6)})
    again = [dates(made, shifts([-0.5], Scatter()), resample=True) for _ in range(2)]
    np.testing.assert_array_equal(again[0], again[1])


def test_winters_are_come_through_where_no_night_of_them_is_too_cold():
    """Kale hardened to -12 °C (at the screen), in ten winters of eleven years.

    A still night of -11 °C on 20 January each year, of -13 in 2004 and 2009: of the
    winters 2001/02 to 2010/11 those that end in 2004 and 2009 take it. A bed 1.5 °C
    colder is at -12.5 each January; one 1.5 °C warmer at -11.5 in the worst.
    """
    minima = np.full(YEARS, -11.0)
    minima[[3, 8]] = -13.0
    made = record({(1, 20): (STILL, minima)})
    grown = made_up_crops.crop(
        late_c=made_up_crops.limit(-12.0, at="screen", of="overwintered plant")
    )
    found = winters(made, shifts([0.0, -1.5, 1.5]), grown)
    assert found.tolist() == [[0.8, 0.0, 1.0]]
    # Roots that are left in the soil are lost at their own limit.
    root = made_up_crops.limit(-8.0, at="screen", of="root")
    carrot = made_up_crops.crop(late_c=root)
    assert winters(made, shifts([0.0, 3.5]), carrot).tolist() == [[0.0, 0.8]]
    # A night at the limit kills: -8.7 and 0.7 are -8 °C, however floating point adds them.
    at_limit = record({(1, 20): (STILL, -8.7)})
    assert winters(at_limit, shifts([0.7, 0.8]), carrot).tolist() == [[0.0, 1.0]]
    # -12 °C of the plant itself is -10 at the screen on a still night, and -12 on others.
    of_plant = made_up_crops.limit(-12.0, at="plant", of="overwintered plant")
    kale = made_up_crops.crop(late_c=of_plant)
    assert winters(made, shifts([0.0]), kale).tolist() == [[0.0]]
    mixed = record({(1, 20): (MIXED, minima)})
    assert winters(mixed, shifts([0.0]), kale).tolist() == [[0.8]]
    # On a mixed night height counts, and the share of an offset: -11.3 - .5 = -11.8.
    mixed = record({(1, 20): (MIXED, -11.3)})
    assert winters(mixed, shifts([0.0], height_c=-0.5), grown).tolist() == [[1.0]]
    higher = shifts([-1.5], height_c=-0.5)  # .17 · 1.5 = .25 colder yet
    assert winters(mixed, higher, grown).tolist() == [[0.0]]
    # On a windy night height counts and no offset.
    windy = record({(1, 20): (WINDY, minima)})
    assert winters(windy, shifts([-1.5], height_c=-0.5), grown).tolist() == [[0.8]]
    assert winters(windy, shifts([0.0], height_c=-1.0), grown).tolist() == [[0.0]]


def test_of_draws_that_differ_winters_take_the_middle_one():
    """Worst nights of -13 °C, -12 is stood; 80 of 200 draws warm them by 3 °C."""
    grown = made_up_crops.crop(
        late_c=made_up_crops.limit(-12.0, at="screen", of="overwintered plant")
    )
    same = shifts([0.0], share=1.0)
    some = np.arange(monte_carlo.DRAWS)[:, np.newaxis] < 80
    warm, warmer = np.where(some, 30, 0), np.where(some, 60, 0)  # of .1 and of .05 °C
    for kind, change in (
        (STILL, {"offset": warm}),
        (STILL, {"base": warm}),
        (MIXED, {"offset": warm}),
        (MIXED, {"mixed_gain": warmer}),
        (WINDY, {"windy_gain": warmer}),
    ):
        made = record({(1, 20): (kind, -13.0)})
        assert winters(made, replace(same, **change), grown).tolist() == [[0.0]]
        always = {name: each.max() + 0 * each for name, each in change.items()}
        assert winters(made, replace(same, **always), grown).tolist() == [[1.0]]


def freezes_on(*dates_of_years):
    """A record of years, each with one still freeze on its (month, day), or with none."""
    nights = {}
    for year, day in enumerate(dates_of_years):
        if day is not None:
            minima = np.full(len(dates_of_years), 15.0)
            minima[year] = -1.0
            nights[day] = (STILL, minima)
    return record(nights, years=len(dates_of_years))


def test_of_few_years_the_safe_side_of_the_next_is_taken():
    """Student's t at .9 of 2 degrees of freedom is 1.886 in any table.

    Springs of days 90, 100, 110: 100 + 1.886 · 10 · √(4/3) = 121.8. Autumns of days
    280, 290, 300 (7, 17 and 27 October): 290 - 21.8 = 268.2.
    """
    spring, _ = dates(freezes_on((3, 31), (4, 10), (4, 20)), shifts([0.0]), risk=0.1)
    np.testing.assert_allclose(spring, 121.8, atol=0.05)
    _, autumn = dates(freezes_on((10, 7), (10, 17), (10, 27)), shifts([0.0]), risk=0.1)
    np.testing.assert_allclose(autumn, 268.2, atol=0.05)


def test_a_year_without_a_freeze_does_not_loosen_the_safe_side():
    """Two freezes 10 days apart: 5 · √2 = 7.07 days, t at .9 of 1 degree is 3.078.

    105 + 3.078 · 7.07 · √(3/2) = 131.7 in spring, 285 - 26.7 = 258.3 in autumn.
    """
    spring, _ = dates(freezes_on(None, (4, 10), (4, 20)), shifts([0.0]), risk=0.1)
    np.testing.assert_allclose(spring, 131.7, atol=0.05)
    _, autumn = dates(freezes_on((10, 7), (10, 17), None), shifts([0.0]), risk=0.1)
    np.testing.assert_allclose(autumn, 258.3, atol=0.05)


def test_a_single_freeze_of_few_years_is_itself_the_date():
    spring, _ = dates(freezes_on(None, (4, 10), None), shifts([0.0]), risk=0.1)
    assert (spring == 100.0).all()
    _, autumn = dates(freezes_on(None, (10, 7), None), shifts([0.0]), risk=0.1)
    assert (autumn == 280.0).all()
    spring, autumn = dates(freezes_on((4, 10)), shifts([0.0]), risk=0.1)
    assert np.isnan([spring, autumn]).all()


def test_a_draw_with_too_few_known_years_takes_all_that_are_known():
    """Ten are enough for odds: of twelve years two are not known."""
    known = np.array([True] * 10 + [False] * 2)
    ten, nine = [0] * 10 + [10, 11], [0] * 9 + [10, 10, 11]
    assert frost_dates_module._taken(known, np.array(ten)).tolist() == [0] * 10
    every = list(range(10))
    assert frost_dates_module._taken(known, np.array(nine)).tolist() == every
    known[9] = False
    nine_known = frost_dates_module._taken(known, np.zeros(12, int))
    assert nine_known.tolist() == every[:9]


def season_at(risks, nights, offsets_c=(0.0,), years=YEARS):
    kept = record(nights, years=years)
    moved = shifts(offsets_c)
    drawn = monte_carlo.sample(
        kept.usable, len(kept.calendar.years), resample=False, spread=NO_SCATTER
    )
    return frost_free_days(kept, moved, LIMIT, risks, drawn)[:, :, 0]


def test_a_season_is_the_days_between_the_freezes_of_one_year():
    """Windy freezes on 1 May (day 121) and 1 October (day 274): 274 - 121 = 153 days."""
    nights = {(5, 1): (WINDY, -1.0), (10, 1): (WINDY, -1.0)}
    assert np.unique(season_at((0.2, 0.5), nights)) == pytest.approx(153)


def test_a_late_spring_and_an_early_autumn_of_different_years_shorten_no_season_twice():
    """Eleven years; a late spring in the first two, an early autumn in the next two.

    Springs end on 1 April (91) or 1 May (121), autumns begin on 1 November (305) or
    1 October (274): seasons of 184, 184, 183, 183 and seven of 214 days. At a risk of
    4/12 it is the fourth shortest: 184, as the i-th of n stands for a chance of
    i/(n + 1). Of the dates by themselves a risk of 2/12 would give 121 and 274.
    """
    late = np.where(np.arange(YEARS) < 2, -1.0, 5.0)
    soon = np.where((np.arange(YEARS) >= 2) & (np.arange(YEARS) < 4), -1.0, 5.0)
    nights = {
        (4, 1): (WINDY, -1.0),
        (5, 1): (WINDY, late),
        (10, 1): (WINDY, soon),
        (11, 1): (WINDY, -1.0),
    }
    found = season_at((2 / 12, 4 / 12, 5 / 12), nights)
    assert found.max(axis=(1, 2)) == pytest.approx([183, 184, 214])
    assert found.min(axis=(1, 2)) == pytest.approx([183, 184, 214])


def test_cold_places_have_the_shorter_season_and_unknown_ones_none():
    """A still night of .3 °C on 1 June (152) freezes at -2 °C, and not at 0."""
    nights = {
        (5, 1): (WINDY, -1.0),
        (6, 1): (STILL, 0.3),
        (10, 1): (WINDY, -1.0),
    }
    found = season_at((0.2,), nights, (0.0, -2.0))[0]
    assert found.min(axis=0) == pytest.approx([153, 122])


def test_under_ten_years_the_season_is_the_safe_side_of_the_next_one():
    """Three seasons of 143, 153 and 163 days: Student's t at .8 of 2 degrees of freedom

    is 1.061 in any table, so 153 - 1.061 · 10 · √(4/3) = 140.75.
    """
    nights = {
        (5, 1): (WINDY, -1.0),
        (9, 21): (WINDY, np.array([-1.0, 5.0, 5.0])),
        (10, 1): (WINDY, np.array([5.0, -1.0, 5.0])),
        (10, 11): (WINDY, -1.0),
    }
    assert season_at((0.2,), nights, years=3) == pytest.approx(140.75, abs=0.01)


def ends(*days):
    """Windy freezes on 1 May (day 121) each year, and on a day of September by year."""
    years = np.arange(len(days))
    nights = {
        (9, day): (WINDY, np.where(years == year, -1.0, 5.0))
        for year, day in enumerate(days)
    }
    return {(5, 1): (WINDY, -1.0), **nights}


def test_from_ten_seasons_on_odds_are_read_off_the_years():
    """21 to 30 September are days 264 to 273: seasons of 143 to 152 days.

    The second shortest of ten stands for a chance of 2/11: 144. Nine seasons of 143 to
    151 days lie 2.739 about 147; Student's t at 9/11 of 8 degrees is .962 (interpolated
    in a table), and 147 - .962 · 2.739 · √(10/9) = 144.22.
    """
    ten, nine = ends(*range(21, 31)), ends(*range(21, 30))
    assert season_at((2 / 11,), ten, years=10) == pytest.approx(144.0)
    assert season_at((2 / 11,), nine, years=9) == pytest.approx(144.22, abs=0.02)


def test_two_seasons_give_a_range_and_one_gives_none():
    """142 and 152 days: 147 - 1.376 · 7.071 · √(3/2) = 135.1, t at .8 of 1 degree."""
    assert season_at((0.2,), ends(20, 30), years=2) == pytest.approx(135.1, abs=0.05)
    assert np.isnan(season_at((0.2,), ends(20), years=1)).all()


def test_a_year_of_which_a_half_is_not_known_has_no_season():
    """Eleven seasons of 153 days, but in the first spring the last freeze is on 21 May.

    Its autumn misses ten nights before 1 October, so its 133 days do not count.
    """
    first = np.arange(YEARS) == 0
    missing = {(9, day): (WINDY, np.where(first, np.nan, 5.0)) for day in range(21, 31)}
    nights = {
        (5, 1): (WINDY, -1.0),
        (5, 21): (WINDY, np.where(first, -1.0, 5.0)),
        (10, 1): (WINDY, -1.0),
    }
    assert season_at((1 / 11,), nights).max() < 140
    assert (season_at((1 / 11,), nights | missing) == 153).all()
