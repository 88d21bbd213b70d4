"""Amounts that a sentence works out itself, in metric and in US units.

A foot is 0.3048 m, a US gallon 3.785412 litres, an inch 25.4 mm; a litre a second is 60
/ 3.785412 = 15.85 gallons a minute; an inch of rain on a square foot is 144 cubic inches,
of which a gallon has 231: 0.623 gallons.
"""

import re
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
import shapely
from shapely.geometry import MultiPolygon, Point, box

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.decide.materials import Roof
from fieldmap.decide.materials.cutting import Pattern
from fieldmap.decide.pegging.site_pegs import Staking
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.review.compare import Row, Value
from fieldmap.show.print import crew, landowner
from fieldmap.show.print.ground import ground_facts
from fieldmap.show.print.ground.drawing import PlanDrawing
from fieldmap.show.print.pegs.tape_drawing import TapeDrawing
from fieldmap.show.text import quantities
from fieldmap.show.text.decide import door_card
from fieldmap.show.text.decide.materials import cutting_list
from fieldmap.show.text.decide.ranking import SENTENCES
from fieldmap.show.text.map import beds, materials, spots
from fieldmap.show.text.review import compare
from fieldmap.show.text.review import thermometers as thermometers_in_words
from fieldmap.show.text.sentence import say

# 120 m² shed 25 × 120 = 3,000 litres of 25 mm, and 3,048 of an inch: 805 gallons,
# 810 to tens.
ROOF = Roof("T1", 120.0, 3000.0, 2.0)


def test_rain_off_a_roof_is_that_of_25_mm_or_of_an_inch():
    assert materials.roof(ROOF, "metric") == (
        "When 25 mm of rain falls, 3,000 litres run off the roof of T1. In very heavy rain, 2.0 litres run off it every second."
    )
    # 2 × 15.85 = 31.7 gallons a minute.
    assert materials.roof(ROOF, "us") == (
        "When one inch of rain falls, 810 gallons run off the roof of T1. In very heavy rain, 32 gallons run off it every minute."
    )


def test_a_large_roof_sheds_an_inch_and_not_25_mm():
    # 20,000 litres of 25 mm are 20,320 of an inch: 5,368 gallons, not 5,283.
    assert "5,370 gallons" in materials.roof(Roof("T1", 800.0, 20000.0, 2.0), "us")


def talk(units):
    """What the page for the landowner leaves open, of two tunnels of 60 m²."""
    tunnel = SimpleNamespace(size=SimpleNamespace(length_m=10.0, width_m=6.0))
    drawn = SimpleNamespace(
        surroundings=gpd.GeoDataFrame({"kind": ["gate", "gate"]}),
        tunnels=(tunnel, tunnel),
        units=units,
    )
    return " ".join(landowner._to_talk_about(drawn))


def test_the_landowner_reads_of_the_same_water():
    assert "when 25 mm of rain falls, 3,000 litres of water run off" in talk("metric")
    # 120 m² are 1,291.7 square feet: × .623 = 804.7.
    assert "when one inch of rain falls, 805 gallons of water run off" in talk("us")


def test_the_landowner_reads_of_cold_air_by_names_that_are_known_there():
    plots = gpd.GeoDataFrame(
        {"name": ["Upper", "Lower"]}, geometry=[box(0, 0, 50, 50), box(60, 0, 99, 50)]
    )
    pockets = gpd.GeoDataFrame(
        {"behind": ["", "Long Hedge", "Barn", ""]},
        # A corner of 9 m² of Upper is too little to name it.
        geometry=[
            box(47, 47, 70, 60),
            box(40, 40, 45, 45),
            box(200, 0, 210, 10),
            box(0, 80, 9, 99),
        ],
    )
    found = ground_facts.cold_places(pockets, plots, [], CropPlan(), {})
    assert [(place.behind, place.plots) for place in found] == [
        ("", ("Lower",)),
        ("Long Hedge", ("Upper",)),
        ("Barn", ()),
        ("", ()),
    ]


def test_names_stand_beside_a_thing_off_other_names_or_not_at_all():
    """At 1 : 50 a square of 1 m is 20 mm: a name of 4 mm stands 3.2 mm off its edge."""
    drawn = PlanDrawing((0.0, 0.0, 5.0, 5.0), (120.0, 120.0))
    thing = box(2, 2, 3, 3)
    (_, top), (_, foot) = drawn.at((2.5, 3.0)), drawn.at((2.5, 2.0))
    for name in ("Barn", "Shed"):
        assert drawn.name_beside(thing, name, 4.0, [], bold=False)
    everywhere = [box(0, 0, 5, 5)]
    assert not drawn.name_beside(thing, "Mill", 4.0, everywhere, bold=False)
    svg = drawn.drawing("").svg
    heights = [float(y) for y in re.findall(r'<text x="[^"]+" y="([^"]+)"', svg)]
    # A text stands on its line: .36 of 4 mm below its middle. Above first, then below.
    assert heights == pytest.approx([top - 3.2 + 1.44, foot + 3.2 + 1.44], abs=0.01)


def test_a_change_of_a_spot_is_shown_to_a_tenth_of_a_degree():
    same = spots.change(0.0, "metric")
    assert spots.change(0.049, "metric") == same == spots.change(-0.049, "metric")
    assert spots.change(-0.5, "us") == "0.9 °F colder than now"
    assert spots.change(0.52, "metric") == "0.5 °C warmer than now"


def test_a_spot_has_the_range_of_places_like_it():
    assert spots.in_places_like_this(-2.0, 0.5, "metric") == (
        "range: 2 °C colder to 0.5 °C warmer"
    )


def test_hours_and_light_of_a_spot():
    assert "6.5" in spots.hours(6.3)
    assert spots.light(95.0) == "95 % of the light on the sunniest ground"
    assert spots.half_day(0.0) == ""
    assert "morning" in spots.half_day(1.0)
    assert "afternoon" in spots.half_day(-1.0)


# ------------------------------------------------------------------ the door card
def test_the_card_has_its_temperatures_in_the_units_of_the_site():
    # 8, 18, 21, 27, 30 and 35 °C are 46.4, 64.4, 69.8, 80.6, 86 and 95 °F.
    metric = " ".join(door_card.sentences([(4, 10)], "metric"))
    us = " ".join(door_card.sentences([(4, 10)], "us"))
    for celsius, fahrenheit in (
        (8, 46),
        (18, 64),
        (21, 70),
        (27, 81),
        (30, 86),
        (35, 95),
    ):
        assert f"{celsius} °C" in metric
        assert f"{fahrenheit} °F" in us
    assert "April to October" in metric


def test_the_card_names_each_spell_of_months():
    assert "April to June" in door_card.season([(4, 6), (9, 9)])
    assert "September" in door_card.season([(4, 6), (9, 9)])
    never, always = door_card.season([]), door_card.season([(1, 12)])
    assert never != always
    assert "January" not in always


# ------------------------------------------------------------------ reasons and ranges
def test_a_reason_joins_two_things_and_their_days():
    night = Fact("still_nights_differ", difference_c=-1.0, bed=Fact("first_bed"))
    light = Fact("spring_light_beside", light=-0.1, bed=Fact("first_bed"), month=3)
    fact = Fact(
        "two_that_matter",
        first=night,
        second=light,
        rank=2,
        days=Estimate(3.6, 6.2, 9.1),
    )
    said = SENTENCES["two_that_matter"](fact, "us")
    assert said.startswith(
        "On still nights this bed is likely 2 °F colder than the first bed. "
    )
    assert "10 % less light" in said
    assert said.endswith(
        ". This bed is ready to plant 6 days after the first bed (range: 4 to 9)."
    )
    bare = Fact("two_that_matter", first=night, second=light, rank=2, days=None)
    assert say(bare, "metric").endswith("10 % less light than the first bed.")


@pytest.mark.parametrize(
    ("kind", "number", "metric", "us"),
    [
        ("growing_area_m2", 4046.9, "4,050 m²", "1.00 acres"),
        # An hour of full sun, 1 kW/m², is 3.6 MJ/m²: 2.345 / 3.6 = 0.65.
        ("winter_light_mj_m2_day", 2.345, "0.7 h", "0.7 h"),
        ("pocket_percent", 12.5, "12 %", "12 %"),
        # 100.4 m are 329.4 ft; whole metres would be 328.
        ("cover_m", 100.4, "100 m", "329 ft"),
        ("cost", 1234.5, "1,234", "1,234"),
        ("tunnel_places", 2.0, "2", "2"),
        ("slope_percent", np.nan, "not known", "not known"),
    ],
)
def test_a_number_of_the_comparison_has_the_unit_of_its_row(kind, number, metric, us):
    value = Value(Estimate(number, number, number))
    row = Row(kind, (value,))
    for units, said in (("metric", metric), ("us", us)):
        (text,) = compare.row_texts(row, (NORTH,), units)
        assert text == said


def test_days_of_the_comparison_are_rounded_to_the_safe_side():
    # Early after 99.5, 100 and 101.2: days 100, 100 and 102; late before 280, 281 and
    # 282.5: days 279, 280 and 282.
    (early,) = compare.row_texts(
        Row("order_early_days", (Value(Estimate(99.5, 100.0, 101.2)),)),
        (NORTH,),
        "metric",
    )
    assert early == "10 April (10 April to 12 April)"
    (late,) = compare.row_texts(
        Row("order_late_days", (Value(Estimate(280.0, 281.0, 282.5)),)),
        (NORTH,),
        "metric",
    )
    assert late == "7 October (6 October to 9 October)"
    (south,) = compare.row_texts(
        Row("hardy_early_day", (Value(Estimate(100.0, 100.0, np.inf)),)),
        (SOUTH,),
        "metric",
    )
    assert south == "8 October (8 October to none)"
    (season,) = compare.row_texts(
        Row("order_season_days", (Value(Estimate(150.4, 160.0, 170.6)),)),
        (NORTH,),
        "metric",
    )
    assert season == "160 (150 to 171)"


def test_readings_of_another_unit_are_refused_by_the_size_of_the_difference():
    above = str(thermometers_in_words.unit_slip("thermometers.csv", 30.4, "metric"))
    assert "30 °C" in above
    assert "tmin_f" in above
    under = str(thermometers_in_words.unit_slip("thermometers.csv", -20.0, "us"))
    assert "36.0 °F" in under
    assert "tmin_c" in under


@pytest.mark.parametrize(
    ("share", "part"),
    [(0.04, 0), (0.06, 10), (0.5, 50), (0.96, 100)],
)
def test_wet_ground_is_said_in_tenths_of_the_bed(share, part):
    said = beds.rain_water(share)
    if part in (0, 100):
        assert not any(each.isdigit() for each in said)
    else:
        assert f"{part} %" in said
    assert (beds.rain_water(0.0) == said) is (part == 0)
    assert (beds.rain_water(1.0) == said) is (part == 100)


def test_a_risk_is_said_over_years_by_growers_of_ten():
    said = beds.over_years(0.1, 10, 0.6513)
    assert said.startswith("Think of 10 growers who accept a risk of 1 year in 10. ")
    assert "10 years" in said
    assert "7" in said
    # Half of five years: 1 - 1/32 = 0.969, which is not all of ten growers.
    said = beds.over_years(0.5, 5, 0.969)
    assert "nearly all" in said
    assert "10 in 10" not in said


@pytest.mark.parametrize(
    ("bearing_deg", "said"),
    # A sixteenth is 22.5 degrees; its name holds for half of that to either side.
    [(0, "north"), (11, "north"), (168, "south-south-east"), (169, "south")],
)
def test_a_long_thing_points_as_its_degrees_do(bearing_deg, said):
    assert quantities.sixteenth(bearing_deg) == said


def test_dates_of_frost_are_days_or_none():
    assert beds.frost_day((4, 9)) == "9 April"
    assert "April" not in beds.frost_day(None)


def test_on_a_crowded_drawing_a_name_or_number_that_would_lie_on_a_peg_is_left_out():
    drawn = TapeDrawing((0.0, 0.0, 5.0, 5.0), (120.0, 120.0))
    # On the first line below: at 0.3, 0.42, 0.58 and 0.7 of its 3 m, where a number may be.
    drawn.keep_free([((east, 2.0), True) for east in (1.64, 2.0, 2.48, 2.84)])
    assert not drawn.has_room(shapely.Point(2.1, 2.0), "A1", 4.0)
    assert drawn.has_room(shapely.Point(3.3, 2.0), "A1", 4.0)
    assert not drawn.has_room(shapely.Point(3.4, 2.0), "A2", 4.0)
    drawn.length(((0.74, 2.0), (3.74, 2.0)), "1234")
    drawn.length(((0.74, 4.0), (3.74, 4.0)), "5678")
    svg = drawn.drawing("").svg
    assert "1234" not in svg
    assert "5678" in svg


def low_tunnel(gust_m_s):
    return SimpleNamespace(holds_to_m_s=gust_m_s)


@pytest.mark.parametrize(
    ("gusts_m_s", "said"),
    [
        (
            (14.0, 12.6, None),
            "over 45 km/h are forecast, take the covers off low tunnels the day before. In such gusts small trees move from side to side.",
        ),
        (
            (14.0, 8.4),
            "over 30 km/h are forecast, take the covers off low tunnels the day before. In such gusts leaves and twigs keep moving.",
        ),
        ((None,), "If wind is forecast, close and tie down every door"),
    ],
)
def test_the_crew_reads_the_gust_in_which_the_weakest_cover_holds(gusts_m_s, said):
    """12.6 m/s is 45.4 km/h, 8.4 m/s is 30.2 km/h; what sways is from memory."""
    bought = SimpleNamespace(low_tunnels=[low_tunnel(each) for each in gusts_m_s])
    box = crew._cautions(bought, "metric")
    (wind,) = (
        each for each in box.items if each.text.startswith("If wind is forecast")
    )
    assert said in f"{wind.text} {wind.rest}"
    assert "off low tunnels the day before" in wind.rest


@pytest.mark.parametrize(
    ("drain_m", "said"), [(26.0, "Dig the drains"), (0.0, "Put up")]
)
def test_tunnels_are_in_the_order_of_work_where_any_are_planned(drain_m, said):
    place = SimpleNamespace(rain=SimpleNamespace(drain_m=drain_m))
    plan = SimpleNamespace(tunnels=(place,), stakes=Staking(), units="metric")
    _call, pegs, tunnels, *_rest = crew._order(plan)
    assert "new beds and tunnels" in pegs
    assert tunnels.startswith(said)
    plan.tunnels = ()
    assert not any("frames" in each for each in crew._order(plan))


def test_the_order_of_work_says_which_plots_have_no_pegs_yet():
    staking = Staking(waiting=(("Brook", 22), ("Hut", 1)))
    plan = SimpleNamespace(tunnels=(), stakes=staking, units="metric")
    _call, pegs, *_rest = crew._order(plan)
    said = pegs.replace("\u00a0", " ")
    assert "Brook: its 22 beds stay in grass this year" in said
    assert said.endswith(
        "Hut: its bed stays in grass this year, so it has no pegs yet."
    )


def test_light_that_is_the_same_in_whole_per_cent_is_said_as_the_same():
    light = Fact("spring_light_beside", light=0.004, bed=Fact("first_bed"), month=3)
    said = say(light, "metric")
    assert said == "in March this bed gets the same light as the first bed"


@pytest.mark.parametrize(("rest_m", "is_said"), [(0.04, False), (0.06, True)])
def test_a_stub_of_pipe_has_no_sentence(rest_m, is_said):
    pattern = Pattern(times=2, pieces=((2.98, 2),), rest_m=rest_m)
    (said,) = cutting_list(SimpleNamespace(stock_m=6.0, cutting=[pattern]), "metric")
    assert said.startswith("Take 2 pipes, each 6 m long. Cut 2 × 2.98 m from each.")
    assert ("left over" in said) is is_said


def test_a_name_stands_nearer_to_its_own_line_than_to_another():
    """At 1 : 500 a metre is 2 mm. Ground 60 m by 20 m, hedges at 4 and 7 m from its west.

    A level name of 4 mm and 10 letters is 11.6 mm wide, more than the 6 mm between them or
    the 8 mm to the west: beside the west hedge it stands turned, west of it.
    """
    drawn = PlanDrawing((0.0, 0.0, 60.0, 20.0), (138.0, 58.0))
    west, east = box(4, 0, 4.2, 20), box(7, 0, 7.2, 20)
    others = [west, east]
    assert drawn.name_beside(west, "Long Hedge", 4.0, [], bold=False, others=others)
    (x, y), (hedge, _y) = _turned_name(drawn), drawn.at((4.0, 0.0))
    assert x < hedge
    assert 0 < y < 58


def test_a_tree_that_is_a_point_has_no_name_where_there_is_no_room_wherever_it_stands():
    """West of a place plus half a name less half a name is not always that place."""
    everywhere = [box(0, 0, 5, 5)]
    for number in range(50):
        drawn = PlanDrawing((0.0, 0.0, 5.0, 5.0), (120.0, 120.0))
        tree = Point(2.5 + number / 997, 2.5 + number / 991)
        assert not drawn.name_beside(tree, "Tree ?", 4.0, everywhere, bold=False)


def test_a_name_stands_beside_a_part_and_not_beside_the_gap_between_two_parts():
    """Two posts 3 m apart, at 1 : 50: the middle of the two is 30 mm from each."""
    drawn = PlanDrawing((0.0, 0.0, 5.0, 5.0), (120.0, 120.0))
    posts = MultiPolygon([box(1, 2, 1.1, 2.1), box(4, 2, 4.1, 2.1)])
    assert drawn.name_beside(posts, "Post", 4.0, [], bold=False)
    (x,) = re.findall(r'<text x="([^"]+)"', drawn.drawing("").svg)
    middle = drawn.at((2.55, 2.0))[0]
    assert abs(float(x) - middle) > 20.0


def test_a_name_that_would_stand_nearer_to_another_thing_is_left_out():
    drawn = PlanDrawing((0.0, 0.0, 10.0, 10.0), (118.0, 118.0))
    mine, around = box(5, 5, 5.2, 5.2), box(0, 0, 10, 10)
    assert not drawn.name_beside(mine, "Post", 4.0, [], bold=False, others=[around])


def _turned_name(drawn):
    svg = drawn.drawing("").svg
    ((x, y),) = re.findall(r"rotate\(-?90\.0 ([\d.]+) ([\d.]+)\)", svg)
    return float(x), float(y)


def test_the_flow_for_a_drain_is_rounded_up():
    """0.71 litres a second are 0.8 to tenths upwards; 11.25 gallons a minute are 12."""
    assert "0.8 litres" in materials.roof(Roof("T2", 54.0, 1350.0, 0.71), "metric")
    assert "1,350 litres" in materials.roof(Roof("T2", 54.0, 1350.0, 0.71), "metric")
    assert "12 gallons" in materials.roof(Roof("T2", 54.0, 1350.0, 0.71), "us")
