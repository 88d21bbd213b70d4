"""Litres, drip, headers and pipe worked by hand.

Lines each 0.35 m, and nine tenths of the water at the roots, are common practice, no
source. A millimetre on a square metre is a litre.
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import shapely
from shapely.geometry import Point

from fieldmap.decide.crop_plan import CoverUse, CropPlan, Stay
from fieldmap.decide.crop_plan.model import BedPart
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.watering import Here, plan_water
from fieldmap.decide.materials.watering.crop_water import (
    Climate,
    coefficient,
    litres_day,
    of_months,
    reference_mm_day,
)
from fieldmap.decide.materials.watering.pipes import lines_on, pipes
from fieldmap.read.crops import packaged_crops
from fieldmap.show.text.decide.care import watering as words

CROPS = packaged_crops()


def bed(name, west, south=0.0, width=0.75, length=20.0, block=1, within=0.0):
    outline = shapely.box(west, south, west + width, south + length)
    return Bed(
        *(name, "Home", outline, length, width, 0.0),
        path_within_m=within,
        field="A",
        block=block,
    )


# ------------------------------------------------------------------ pipes
@pytest.mark.parametrize(
    ("width", "within", "lines"),
    [(0.3, 0.0, 1), (0.52, 0.0, 1), (0.53, 0.0, 2), (0.75, 0.0, 2), (0.9, 0.0, 3),
     (1.95, 0.45, 4)],
)  # fmt: skip
def test_lines_lie_a_hand_and_a_half_apart(width, within, lines):
    """0.75 / 0.35 is 2.1, 0.9 / 0.35 is 2.6; of 1.95 m with a path within 1.5 / 0.35."""
    assert lines_on(bed("A1", 0.0, width=width, within=within)) == lines


def test_headers_run_along_the_near_ends_and_pipe_the_shortest_way():
    """Three beds 1.35 m apart, ends 2.7 m from first to last, and another block.

    The tap lies 4 m south of the first end. Both ends of block 1 are at x 0.375, 1.725 and
    3.075; the lone bed of block 2 ends at x 13.375, 10.3 m from them. Drip: 4 · 2 · 20 m.
    """
    beds = [bed("A1", 0.0), bed("A2", 1.35), bed("A3", 2.7), bed("A4", 13.0, block=2)]
    found = pipes(beds, [("Well", Point(0.375, -4.0)), ("Brook", Point(0.4, 90.0))])
    assert (found.beds, found.lines, found.drip_m) == (4, 8, 160.0)
    assert found.header_m == pytest.approx(2.7 + 0.5)
    assert found.main_m == pytest.approx(4.0 + 10.3)
    assert found.tap == "Well"


def test_beds_without_blocks_have_a_header_where_they_lie_side_by_side():
    """Two bays of three beds that were kept, 20 m long, with 1.5 m across between them.

    Each has a header of 2.7 m. From the southern end of the northern bay, 21.5 m up, it
    is 21.5 m down to the other header, which touches the tap.
    """
    south = [bed(f"A{n}", 1.35 * n, block=0) for n in range(3)]
    north = [bed(f"A{n + 3}", 1.35 * n, south=21.5, block=0) for n in range(3)]
    found = pipes([*south, *north], [("Well", Point(0.375, 0.0))])
    assert found.header_m == pytest.approx(2 * 2.7)
    assert found.main_m == pytest.approx(21.5, abs=1e-5)
    # As the plan has them, by blocks: the same beds have the same pipe.
    planned = [replace(each, block=1 + (each in north)) for each in (*south, *north)]
    assert pipes(planned, [("Well", Point(0.375, 0.0))]) == found


def test_beds_of_two_tunnels_have_no_header_in_common():
    """Two tunnels of two beds, 5 m from the one to the other: 1.35 m of header in each."""
    wests = (("T1", 0.0), ("T1", 1.35), ("T2", 7.1), ("T2", 8.45))
    floor = [
        replace(bed(name, west, block=0), field="", tunnel=name) for name, west in wests
    ]
    found = pipes(floor, [("Well", Point(0.375, 0.0))])
    assert found.header_m == pytest.approx(2 * 1.35)
    assert found.main_m == pytest.approx(7.1 - 1.35, abs=1e-5)


def test_a_header_begins_in_the_middle_of_a_bed_end():
    """3 m beside a bed of 0.75 m: 3.375 m from the middle of its end."""
    found = pipes([bed("A1", 0.0), bed("A2", 1.35)], [("Well", Point(-3.0, 0.0))])
    assert found.main_m == pytest.approx(3.375)


def test_without_a_tap_headers_are_counted_and_pipe_is_not():
    found = pipes([bed("A1", 0.0), bed("A2", 1.35)], [])
    assert found.header_m == pytest.approx(1.35)
    assert (found.main_m, found.tap) == (None, "")
    assert pipes([], [("Well", Point(0, 0))]) is None


def test_beds_that_run_east_have_a_header_that_runs_north():
    def lying(name, south, west=0.0):
        outline = shapely.box(west, south, west + 20, south + 1)
        return Bed(name, "Home", outline, 20.0, 1.0, 90.0, field="A", block=1)

    beds = [lying("A1", 0.0), lying("A2", 1.5), lying("A3", 3.0)]
    found = pipes(beds[::-1], [("Well", Point(-5.0, 0.5))])
    assert found.header_m == pytest.approx(3.0)
    assert found.main_m == pytest.approx(5.0)
    # From bed to bed though their ends are not in line: twice √(1.5² + 0.5²) m.
    beds[1] = lying("A2", 1.5, west=0.5)
    found = pipes(beds, [("Well", Point(-5.0, 0.5))])
    assert found.header_m == pytest.approx(2 * math.hypot(1.5, 0.5))


# ------------------------------------------------------------------ litres
def test_litres_of_a_bed():
    """20 m of 0.75 m, 1.05 of grass that gives off 4 mm: 15 · 1.05 · 4 / 0.9 = 70."""
    assert litres_day(15.0, 1.05, 4.0) == pytest.approx(70.0)


def test_coefficients_by_any_name_of_the_crop():
    """FAO-56, Table 12, middle of the season (from memory)."""
    found = {name: coefficient(CROPS[name]) for name in ("lettuce", "carrot", "tomato")}
    assert found == {"lettuce": 1.0, "carrot": 1.05, "tomato": 1.15}
    other = CROPS["tomato"].model_copy(
        update={"name": "Moneymaker", "also": ("tomato",)}
    )
    assert coefficient(other) == 1.15
    own = CROPS["carrot"].model_copy(update={"name": "Broad Bean", "also": ()})
    assert coefficient(own) == 1.15
    # Of vegetables radish has the least of the table, and peas and the like the most.
    every = {coefficient(grown) for grown in CROPS.values()}
    assert (min(every), max(every)) == (0.9, 1.15)


def test_the_most_of_any_week_stands_for_its_month():
    found = of_months([5.0, 9.0, 2.0], [1, 1, 2])
    assert found.tolist() == [9.0, 2.0] + [0.0] * 10


def test_reference_of_july_near_lyon():
    """Example 20 of FAO-56, its equations worked by hand in the tests of `layers`: 4.56 mm
    with light by the swing of the day and 2 m/s, at 45.72 degrees north and 200 m.
    """
    nothing = np.full(12, np.nan)
    climate = Climate(np.full(12, 14.8), np.full(12, 26.6), nothing, None)
    found = reference_mm_day(climate, 45.72, 200.0)
    assert found[6] == pytest.approx(4.56, abs=0.03)
    # December has a third of July's light.
    assert found[11] < 0.4 * found[6]
    measured = climate._replace(light_mj_m2_day=np.full(12, 15.0))
    assert reference_mm_day(measured, 45.72, 200.0)[6] < found[6]
    # No place has more light than a clear sky gives: 60 MJ count as 50, above the most.
    glaring = [
        climate._replace(light_mj_m2_day=np.full(12, light)) for light in (50.0, 60.0)
    ]
    most, too_much = (reference_mm_day(each, 45.72, 200.0) for each in glaring)
    assert too_much == pytest.approx(most)
    assert most[6] > found[6]


# ------------------------------------------------------------------ a whole year
def stay(name, crop, from_day, to_day, *covers, part=None):
    return Stay("spring", from_day, to_day, to_day, covers, name, crop, 0.0, part=part)


def record(**more):
    days = pd.date_range("2025-01-01", "2025-12-31")
    return pd.DataFrame({"tmin_c": 14.8, "tmax_c": 26.6} | more, days)


def planned(*stays, tunnels=(), days=None, light=None, taps=()):
    beds = [bed("A1", 0.0), bed("A2", 1.35), bed("A3", 2.7)]
    crops = [CROPS["lettuce"], CROPS["tomato"]]
    here = Here(45.72, 200.0, light, taps)
    days = record() if days is None else days
    return plan_water(CropPlan(stays=stays), beds, crops, tunnels, days, here)


def test_beds_drink_while_something_stands_on_them():
    """A1 full of lettuce (15 m² · 1.0) and 8 m of A2 of tomato (6 m² · 1.15) in July, and
    film over A2 until 14 July: 15 + 6.9 = 21.9, and 6.9 under film, over 0.9, times 4.56.
    """
    film = CoverUse("clear_film", 170, 195, 9.0)
    found = planned(
        stay("A1", "lettuce", 150, 243),
        stay("A2", "tomato", 182, 212, film, part=BedPart(0.0, 8.0)),
    )
    july = found.months[6]
    grass = july.reference_mm_day
    assert grass == pytest.approx(4.56, abs=0.03)
    assert july.litres_day == pytest.approx(21.9 / 0.9 * grass)
    assert july.film_litres_day == pytest.approx(6.9 / 0.9 * grass)
    august = found.months[7]
    assert august.litres_day == pytest.approx(15.0 / 0.9 * august.reference_mm_day)
    assert august.film_litres_day == 0.0
    assert found.months[0].litres_day == 0.0
    assert (found.pipes.beds, found.pipes.drip_m) == (2, 80.0)


def test_a_path_within_a_bed_drinks_nothing():
    """1.95 m with a path of 0.45 m within: 20 · 1.5 m of lettuce."""
    wide = bed("A1", 0.0, width=1.95, within=0.45)
    plan = CropPlan(stays=(stay("A1", "lettuce", 182, 212),))
    here = Here(45.72, 200.0, None, ())
    july = plan_water(plan, [wide], [CROPS["lettuce"]], (), record(), here).months[6]
    assert july.litres_day == pytest.approx(30.0 / 0.9 * july.reference_mm_day)


def test_beds_inside_a_tunnel_drink_from_drip_alone():
    """15 m² of lettuce on A3, given as a bed of the floor: all of its water is under film."""
    plan = CropPlan(stays=(stay("A3", "lettuce", 182, 212),), floor=(bed("A3", 2.7),))
    here = Here(45.72, 200.0, None, ())
    crops = [CROPS["lettuce"]]
    found = plan_water(plan, [bed("A1", 0.0), *plan.floor], crops, (), record(), here)
    july = found.months[6]
    assert july.film_litres_day == july.litres_day
    assert july.litres_day == pytest.approx(15.0 / 0.9 * july.reference_mm_day)
    assert "film_sheds_rain" in kinds(found)


def test_what_stands_through_winter_drinks_in_the_spring_after_until_the_next_crop():
    """What is set out in October, day 302, stands until 19 July of the next year, day 200:
    in June it drinks as in December; where another crop comes on day 100 it is gone by
    then.
    """
    winter = stay("A1", "lettuce", 302, 365 + 200)
    found = planned(winter)
    for at in (5, 11):
        month = found.months[at]
        assert month.litres_day == pytest.approx(15.0 / 0.9 * month.reference_mm_day)
    assert found.months[7].litres_day == 0.0
    # Day 100 is 10 April: both in that week's month, lettuce alone in June.
    both = planned(winter, stay("A2", "lettuce", 100, 180))
    june = both.months[5]
    assert june.litres_day == pytest.approx(2 * 15.0 / 0.9 * june.reference_mm_day)
    same_bed = planned(stay("A1", "lettuce", 100, 180), winter)
    june = same_bed.months[5]
    assert june.litres_day == pytest.approx(15.0 / 0.9 * june.reference_mm_day)


def test_a_tunnel_full_of_leaves_in_the_month_that_dries_most():
    """20 by 6 m: 120 · 1.05 / 0.9 = 140 litres for each millimetre."""
    tunnel = SimpleNamespace(
        name="T1", size=SimpleNamespace(length_m=20.0, width_m=6.0)
    )
    (found,) = planned(tunnels=[tunnel]).tunnels
    most = max(each.reference_mm_day for each in planned().months)
    assert found.area_m2 == 120.0
    assert found.month in (6, 7)
    assert found.litres_day == pytest.approx(140.0 * most)


def kinds(found):
    return [each.kind for each in found.remarks]


def test_litres_of_a_bed_of_tomato_in_july_near_lyon_step_by_step():
    """Example 20 of FAO-56: 26.6 and 14.8 °C, 200 m, light 22.29 MJ by the swing of the
    day, 98.96 kPa, 2 m/s; tomato 1.15 (Table 12). Equations by number, in the steps of a
    spreadsheet, and 15 m² of bed over nine tenths.
    """
    warm, cool, mean = 26.6, 14.8, 20.7

    def vapour_kpa(air_c):  # 11
        return 0.6108 * math.exp(17.27 * air_c / (air_c + 237.3))

    slope = 4098 * vapour_kpa(mean) / (mean + 237.3) ** 2  # 13
    gamma = 0.665e-3 * 98.96  # 8
    above = 40.55  # Table 2.6 between 44 and 46 degrees, as the example has it
    net_short = 0.77 * 22.29  # 38
    fourth = ((warm + 273.16) ** 4 + (cool + 273.16) ** 4) / 2
    clear = (0.75 + 2e-5 * 200) * above  # 37
    dry = 0.34 - 0.14 * math.sqrt(vapour_kpa(cool))  # 48: dew at the minimum
    net_long = 4.903e-9 * fourth * dry * (1.35 * 22.29 / clear - 0.35)  # 39
    lack = (vapour_kpa(warm) + vapour_kpa(cool)) / 2 - vapour_kpa(cool)  # 12
    air = gamma * 900 / (mean + 273) * 2 * lack
    grass = (0.408 * slope * (net_short - net_long) + air) / (slope + gamma * 1.68)  # 6
    assert grass == pytest.approx(4.56, abs=0.03)
    july = planned(stay("A1", "tomato", 150, 243)).months[6]
    assert july.litres_day == pytest.approx(15.0 * 1.15 * grass / 0.9, rel=0.01)
    # 15 · 1.15 · 4.56 / 0.9 = 87.4, as the sheet has it.
    assert words.litres(july.litres_day, "metric") == "87 litres"


def test_what_was_assumed_is_said():
    assert kinds(planned()) == [
        "water_is_rough",
        "water_by_swing",
        "water_by_usual_wind",
        "no_water_point",
    ]
    windy = planned(
        days=record(wind_m_s=4.0), light=[15.0] * 12, taps=[("Well", Point(0, 0))]
    )
    assert kinds(windy) == ["water_is_rough"]
    film = CoverUse("clear_film", 170, 195, 9.0)
    assert (
        kinds(planned(stay("A1", "lettuce", 150, 243, film)))[-1] == "film_sheds_rain"
    )
    fabric = CoverUse("light_fabric", 170, 195, 9.0)
    assert "film_sheds_rain" not in kinds(
        planned(stay("A1", "lettuce", 150, 243, fabric))
    )


def test_wind_of_the_mast_is_brought_down_to_two_metres():
    """4.28 m/s at 10 m are 3.2 at 2 m (equation 47, 0.748 of it), which dry more than 2."""
    same_light = {"light": [15.0] * 12}
    usual, mast = (
        planned(**same_light),
        planned(days=record(wind_m_s=2.674), **same_light),
    )
    # 2.674 · 0.748 = 2.0 m/s, the usual wind.
    assert mast.months[6].reference_mm_day == pytest.approx(
        usual.months[6].reference_mm_day, abs=0.005
    )


def test_without_a_record_there_is_no_water():
    assert planned(days=record().iloc[:0]).months == ()


def test_in_words_with_a_range():
    found = planned(
        stay("A1", "lettuce", 150, 243), taps=[("Well", Point(0.375, -4.0))]
    )
    said = list(words.about(found, "metric"))
    assert said[0].startswith(
        "You need 40 m of drip line: 2 lines on 1 bed. You also need "
    )
    assert said[1].startswith("From Well to these pipes it is 4 m in straight lines.")
    # 4.56 less and more 22.5 %: 3.5 to 5.6.
    assert words.reference(found.months[6], "metric") == "3.5 mm to 5.6 mm"
    assert words.litres(0.0, "metric") == "none"
    assert words.litres(74.6, "metric") == "75 litres"
