"""Weeks in which a closed cover overheats, worked by hand.

Light through film and heat lost are those of `layers.closed_air`: cool end 0.75 · 0.3 / 9,
warm end 0.85 · 0.7 / 5.5.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from fieldmap.decide.crop_plan import CoverUse, CropPlan, Stay
from fieldmap.decide.weekly_jobs.venting import (
    Sun,
    SunnyBed,
    clear_days,
    find,
    of_low_covers,
    of_tunnels,
)
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.settings import Materials, TunnelSize
from fieldmap.show.text.decide.care import venting as words

LEVEL = [1.0] * 12
SIZE = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)


def sun(noon=800.0, tmax=20.0):
    return Sun(np.broadcast_to(noon, 53).astype(float), np.broadcast_to(tmax, 53))


def tunnel(found_sun, ratio=LEVEL, season=NORTH):
    place = SimpleNamespace(name="T1", size=SIZE)
    (found,) = of_tunnels([place], [ratio], found_sun, season)
    return found


def test_lift_under_a_half_round_tunnel():
    """Over 6 m by 20 m: 9.4248 · 20 + 2 · 14.137 = 216.77 m² over 120 m², 1.8064.

    800 · 0.225 / (9 · 1.8064) = 11.07 °C; 800 · 0.4 / (6.5 · 1.8064) = 27.25; 800 · 0.595
    / (5.5 · 1.8064) = 47.91.
    """
    assert tunnel(sun()).lift_c == pytest.approx((11.07, 27.25, 47.91), abs=0.01)


def test_weeks_by_the_cool_and_by_the_warm_end():
    """With 11.07 °C of lift 35 °C is passed from 23.93 °C on, with 47.91 from -12.91."""
    tmax = np.full(53, -13.0)
    tmax[10:20], tmax[12:15] = -12.8, 24.0
    found = tunnel(sun(tmax=tmax))
    assert found.surely == (12, 13, 14)
    assert found.maybe == tuple(range(10, 20))
    assert tunnel(sun(tmax=np.full(53, 23.9))).surely == ()
    # Without light nothing lifts it: 35 °C itself is too hot, 34.9 is not.
    assert tunnel(sun(0.0, 35.0)).surely == tuple(range(53))
    assert tunnel(sun(0.0, 34.9)).maybe == ()


def test_a_slope_to_the_sun_heats_in_its_months_and_weeks_not_known_are_none():
    """Twice the light of level ground in January: 22.1 °C of lift, over 35 from 12.9 on."""
    found = tunnel(sun(tmax=13.0), [2.0] + [1.0] * 11)
    assert found.surely == (0, 1, 2, 3)
    south = tunnel(sun(tmax=13.0), [2.0] + [1.0] * 11, SOUTH)
    # January is the seventh month there: days 185 to 215, the middles of weeks 26 to 30.
    assert south.surely == (26, 27, 28, 29, 30)
    assert tunnel(sun(tmax=np.nan)).maybe == ()


def stay(bed, *covers):
    return Stay("spring", 60, 150, 150, covers, bed, "spinach", 0.0)


def test_low_film_counts_in_its_weeks_by_its_sunniest_bed():
    """Half circles 1.0 m wide: cover over floor π / 2. 800 · 0.225 / (9 · 1.571) = 12.73.

    On A2 a fifth more light: 15.28 °C. Over 35 from 19.72 °C outside on A2 alone.
    """
    a1 = CoverUse("clear_film", 71, 90, 9.0)  # weeks 10 to 12
    a2 = CoverUse("clear_film", 85, 104, 9.0)  # weeks 12 to 14
    fabric = CoverUse("light_fabric", 71, 200, 9.0)
    plan = CropPlan(stays=(stay("A1", a1, fabric), stay("A2", a2)))
    beds = {
        "A1": SunnyBed("Home", 1.0, LEVEL),
        "A2": SunnyBed("Home", 1.0, [1.2] * 12),
    }
    (found,) = of_low_covers(plan, beds, Materials(), sun(tmax=20.0))
    assert (found.name, found.kind) == ("Home", "clear_film")
    assert found.surely == (12, 13, 14)
    assert found.maybe == (10, 11, 12, 13, 14)
    assert found.lift_c[0] == pytest.approx(15.28, abs=0.01)
    other = {**beds, "A2": SunnyBed("Shelf", 1.0, LEVEL)}
    assert len(list(of_low_covers(plan, other, Materials(), sun()))) == 2
    bare = CropPlan(stays=(stay("A1", fabric),))
    assert list(of_low_covers(bare, beds, Materials(), sun())) == []


def test_light_of_a_place_is_taken_over_that_of_level_open_ground():
    """Level 4 MJ, in December none: 8 MJ on the tunnel in January are twice as much.

    A bed with 4.8 MJ has a fifth more; the tunnel stands before the film of beds.
    """
    level = np.array([4.0] * 11 + [0.0])
    place = SimpleNamespace(name="T1", size=SIZE)
    film = CoverUse("clear_film", 71, 90, 9.0)
    beds = [
        SimpleNamespace(
            bed=SimpleNamespace(name=name, plot="Home", width_m=1.0),
            light=SimpleNamespace(sun_mj_m2_day=[mj] * 12),
        )
        for name, mj in (("A1", 4.8), ("A2", 9.9))
    ]
    plan = CropPlan(stays=(stay("A1", film),))
    there = ([place], [[8.0] + [4.0] * 10 + [0.0]])
    in_tunnel, on_beds = find(plan, beds, there, level, Materials(), sun(tmax=13.0))
    assert (in_tunnel.name, on_beds.name) == ("T1", "Home")
    assert in_tunnel.surely == (0, 1, 2, 3)
    assert on_beds.lift_c[0] == pytest.approx(15.28, abs=0.01)
    # December, with no light at all, heats nothing; its weeks have their middle from 48.
    assert max(in_tunnel.maybe) < 48


def test_clear_days_by_week_of_the_year_of_growing():
    """21 June, 50 degrees north: 31 of 41 MJ above the air; noon of half a sine over 16.1 h
    is 31e6 · π / (2 · 57960) = 840 W/m² (FAO-56, Tables 2.6 and 2.7).
    """
    days = pd.date_range("2025-01-01", "2025-12-31")
    tmax = pd.Series(np.where(days.month == 1, 1.0, 20.0), days)
    found = clear_days(tmax, 50.0, 100.0, NORTH)
    assert found.noon_w_m2[24] == pytest.approx(840.0, rel=0.02)
    # 15 January: 8.9 MJ above, 6.7 under a clear sky, 8.3 h: 352 W/m².
    assert found.noon_w_m2[2] == pytest.approx(352.0, rel=0.05)
    assert found.tmax_c[:6].round(1).tolist() == [
        1.0,
        1.0,
        1.0,
        1.0,
        pytest.approx(12.0, abs=1),
        20.0,
    ]
    south = clear_days(tmax, -50.0, 100.0, SOUTH)
    # From July: January is in weeks 26 to 30, and midsummer in 24.
    assert south.tmax_c[28] == 1.0
    assert int(np.argmax(south.noon_w_m2)) in (23, 24, 25, 26)


def test_midsummer_week_of_a_tunnel_from_the_record_to_the_calendar():
    """Week 24, 18 to 24 June, at 50 degrees north: 840 W/m² at noon, as above.

    In the tunnel of 6 by 20 m, cover over floor 1.8064: 840 · 0.225 / (9 · 1.8064) = 11.6
    °C and 840 · 0.595 / (5.5 · 1.8064) = 50.3 over the air outside. At 23 °C the cool end
    is 34.6, under 35: it may overheat. At 24 °C it is 35.6: it surely does.
    """
    days = pd.date_range("2025-01-01", "2025-12-31")
    for tmax_c, is_sure in ((23.0, False), (24.0, True)):
        record = pd.Series(np.where(days.month == 6, tmax_c, -40.0), days)
        found = tunnel(clear_days(record, 50.0, 100.0, NORTH))
        assert (24 in found.surely) is is_sure
        assert 24 in found.maybe
        assert found.lift_c[0] == pytest.approx(11.6, rel=0.02)
        assert found.lift_c[2] == pytest.approx(50.3, rel=0.02)
        # With -40 °C outside no week of winter overheats.
        assert set(found.maybe) <= set(range(21, 26))


@pytest.mark.parametrize(
    ("weeks", "said"),
    [
        ((), "in no week"),
        (tuple(range(53)), "all year"),
        ((10, 11, 12), "12 March to 1 April"),
        ((10, 20), "12 March to 18 March and 21 May to 27 May"),
        # Across the turn of the year it is one span.
        ((0, 1, 51, 52), "24 December to 14 January"),
    ],
)
def test_weeks_in_words(weeks, said):
    """Week 10 begins on day 71, 12 March; week 51 on day 358, 24 December."""
    assert words.weeks(weeks, NORTH) == said


def test_cautions_stand_with_the_weeks():
    found = tunnel(sun())
    said = " ".join(words.notes([found], "metric"))
    assert "35 °C" in said
    assert "closed tunnel" in said
    assert "Never use a heater there without a flue (a pipe to the outside)" in said
    assert "slits" not in said
    slitted = found._replace(kind="slitted_film")
    assert "slits" in " ".join(words.notes([slitted], "metric"))
    assert words.lift(found, "metric") == (
        "likely 27 °C warmer (range: 11 °C to 48 °C)"
    )
