"""Spells of sun on level ground behind walls of a known height.

At 45° north on 15° east, where clocks show the sun's mean time, the sun of 20 March rises
and sets six hours before and after noon, and 3 minutes more by refraction (0.57° at
15° × cos 45° an hour); noon is at 12:07 by the equation of time (-7 minutes, any
almanac).
"""

import calendar
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from made_up import NORTH, WEST, analysis, plane, plot_box, site, with_light
from shapely.geometry import box

from fieldmap.analyse.light.shade import Shade
from fieldmap.decide.calendar import direct_sun
from fieldmap.decide.layout.beds import Bed

MONTHS = [name.lower() for name in calendar.month_abbr[1:]]
GROUND = plane(rows=30, cols=60)
HOME = site(GROUND, {"Home": plot_box(5, 175, 55, 195)})
OPEN_DEG = np.zeros((36, 30, 60), np.float32)
EQUINOX, MIDSUMMER = date(2025, 3, 20), date(2025, 6, 21)


def bed(west_m=10, east_m=30):
    """A bed of 1 m from west to east, in metres from the corner of the ground."""
    outline = box(WEST + west_m, NORTH - 15, WEST + east_m, NORTH - 14)
    return Bed("A1", "Home", outline, east_m - west_m, 1.0, 90.0)


@dataclass(frozen=True)
class UnderLeaves(Shade):
    """Leaves all round every point: (from, to, what passes by month) each."""

    leaves: tuple = ()

    def passing(self, points, path):
        part = np.ones(len(path.altitude_deg))
        for low_deg, high_deg, months in self.leaves:
            behind = (low_deg < path.altitude_deg) & (path.altitude_deg < high_deg)
            part[behind] *= np.array(months)[path.month[behind]]
        return np.tile(part, (len(points), 1))


def spells(solid_deg=OPEN_DEG, crowns=(), day=EQUINOX, beds=None, **where):
    made = analysis(GROUND)
    known = made.light.shade
    turn_deg = where.get("convergence_deg", 0.0)
    place = replace(known.sky.place, convergence_deg=turn_deg)
    shade = UnderLeaves(
        known.things,
        known.ground,
        known.east,
        known.north,
        GROUND.with_values(solid_deg),
        replace(known.sky, place=place),
        tuple(crowns),
    )
    made = with_light(made, shade=shade)
    return direct_sun.spells(replace(HOME, **where), made, beds or [bed()], day)


def minutes(clock):
    hours, minutes_ = clock.split(":")
    return 60 * int(hours) + int(minutes_)


def about(spell, start, end, within=3):
    """Both ends lie within some minutes."""
    assert minutes(spell[0]) == pytest.approx(minutes(start), abs=within)
    assert minutes(spell[1]) == pytest.approx(minutes(end), abs=within)


def wall(sectors, height_deg=90.0):
    """Something high in some of the 36 sectors, counted from north by east."""
    solid_deg = OPEN_DEG.copy()
    solid_deg[list(sectors)] = height_deg
    return solid_deg


EAST, WESTWARD = range(1, 18), range(19, 36)


def test_on_open_ground_an_equinox_has_one_spell_of_twelve_hours():
    ((spell,),) = spells()
    about(spell, "06:04", "18:10")


def test_the_clock_is_that_of_the_place_with_summer_time():
    # By the clock of Vienna an hour more; noon of 21 June is at 13:02.
    ((spell,),) = spells(day=MIDSUMMER)
    assert (minutes(spell[0]) + minutes(spell[1])) / 2 == pytest.approx(
        minutes("13:02"), abs=2
    )
    ((in_utc,),) = spells(day=MIDSUMMER, time_zone="UTC")
    assert minutes(spell[0]) - minutes(in_utc[0]) == 120


def test_a_wall_in_the_west_ends_the_sun_a_little_after_noon():
    # Between south (0°) and the sector of 190° (90°) the skyline rises to the sun's 45°
    # at 185°, where the sun, 21° an hour at noon, is 14 minutes past it.
    ((spell,),) = spells(wall(WESTWARD))
    about(spell, "06:04", "12:21")
    ((spell,),) = spells(wall(EAST))
    about(spell, "11:53", "18:10")


def test_the_skyline_lies_by_grid_north_and_the_sun_by_true_north():
    # Grid north points due south, so that the wall in its west stands in the east.
    ((spell,),) = spells(wall(WESTWARD), convergence_deg=180.0)
    about(spell, "11:53", "18:10")


def test_a_wall_in_the_south_parts_the_day_in_two():
    ((morning, evening),) = spells(wall([17, 18, 19]))
    assert morning[1] < "12:00" < evening[0]
    about((morning[0], evening[1]), "06:04", "18:10")
    # Looked at every two minutes, all ends are even minutes apart.
    ends = [minutes(end) for spell in (morning, evening) for end in spell]
    assert {end % 2 for end in ends} == {ends[0] % 2}


def test_a_bed_is_in_the_sun_while_half_of_it_is():
    # Cells of 1 m: the bed has a point in each metre of its 20.
    for shaded_to_m, count in ((20, 1), (21, 0), (30, 0)):
        solid_deg = OPEN_DEG.copy()
        solid_deg[:, :, :shaded_to_m] = 90.0
        (found,) = spells(solid_deg)
        assert len(found) == count, shaded_to_m


def test_each_bed_has_its_own_spells_in_the_order_of_beds():
    solid_deg = OPEN_DEG.copy()
    solid_deg[:, :, :20] = 90.0
    dark, bright, between = spells(solid_deg, beds=[bed(2, 18), bed(30, 50), bed(2, 6)])
    assert (len(dark), len(bright), len(between)) == (0, 1, 0)


def test_without_beds_there_are_no_spells():
    made = analysis(GROUND)
    assert direct_sun.spells(HOME, made, [], EQUINOX) == []


def crown(bottom_deg, top_deg, **by_month):
    """Leaves all round that let nine tenths through but in some months."""
    return bottom_deg, top_deg, [by_month.get(name, 0.9) for name in MONTHS]


def test_leaves_count_as_shade_where_they_let_less_than_half_through():
    for share, count in ((0.49, 0), (0.5, 1)):
        (found,) = spells(crowns=[crown(0, 90, mar=share)])
        assert len(found) == count
    # On 20 April, by its own month, the tree is bare.
    (found,) = spells(crowns=[crown(0, 90, mar=0.1)], day=date(2025, 4, 20))
    assert len(found) == 1


def test_the_sun_shines_under_a_crown_and_over_it():
    # It stands 45° high at noon: over a crown of 30°, under one from 60°.
    ((over,),) = spells(crowns=[crown(0, 30, mar=0.1)])
    assert minutes(over[0]) > minutes("08:00")
    ((under,),) = spells(crowns=[crown(60, 80, mar=0.1)])
    about(under, "06:04", "18:10")
    # One from 20° to 30° is passed twice.
    ((low, high, again),) = spells(crowns=[crown(20, 30, mar=0.1)])
    assert low[1] < high[0] < "12:00" < high[1] < again[0]


def test_two_crowns_shade_together_and_a_wall_is_no_leaf():
    crowns = [crown(0, 30, mar=0.1), crown(30, 90, mar=0.1)]
    assert spells(crowns=crowns) == [()]
    ((spell,),) = spells(wall(WESTWARD), crowns=[crown(60, 80, mar=0.1)])
    about(spell, "06:04", "12:21")


@pytest.mark.parametrize(
    ("pattern", "found"),
    [
        # Steps of two minutes from 08:00; under ten minutes is a glimpse.
        ("1111", ()),
        ("11111", (("08:00", "08:08"),)),
        ("011111", (("08:02", "08:10"),)),
        ("0111110", (("08:02", "08:10"),)),
        ("0111101111", ()),
        ("11111011111", (("08:00", "08:08"), ("08:12", "08:20"))),
        ("", ()),
        ("000", ()),
    ],
)
def test_a_glimpse_of_under_ten_minutes_is_none(pattern, found):
    in_sun = np.array([each == "1" for each in pattern], bool)
    clock = pd.date_range("2025-03-20 08:00", periods=len(in_sun), freq="2min")
    assert direct_sun._runs(in_sun, clock) == found
