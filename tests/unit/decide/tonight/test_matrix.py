"""Lows side by side and the evenings of a year, worked by hand; and one night everywhere.

Beds of 20 m take 22.5 m of cover; light fabric is likely worth 1 °C on a clear calm night.
What stands is harmed at 0 °C at the screen, known exactly.
"""

import json
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import pytest
from made_up_crops import crop, limit
from made_up_evening import NIGHT, bed, roll, round_of

from fieldmap.decide.crop_plan.model import CoverUse, CropPlan, Stay
from fieldmap.decide.tonight.evenings import Evenings, Spell
from fieldmap.decide.tonight.forecast import LOWS, Forecast
from fieldmap.decide.tonight.matrix import LOWS_ON_WALL, matrix
from fieldmap.decide.tonight.standing import Stand
from fieldmap.decide.tonight.work import NightHours
from fieldmap.show.map.data import tonight_lists
from fieldmap.show.map.tables.work import to_cover
from fieldmap.show.print import wall
from fieldmap.show.text.decide import tonight as words
from fieldmap.show.text.map.tonight import if_tunnel

HUT = crop("hut", damage_c=limit(0.0, at="screen"))
TOUGH = crop("tough", damage_c=limit(-9.0, at="screen"))
HARDY = crop("hardy", damage_c=limit(-8.0, at="screen"))
STARTS = date(2026, 1, 1)
COLD = (-20.0,) * 12
BEDS = tuple(
    bed(name, plot=plot)
    for name, plot in (("A1", "Home"), ("A2", "Home"), ("A3", "Home"), ("B1", "Field"))
)


def stay(name, crop_name, first, last, covers=()):
    days = {"from_day": first, "harvest_day": last, "to_day": last}
    return Stay(
        "spring",
        **days,
        covers=tuple(covers),
        bed=name,
        crop=crop_name,
        days_by_place=0.0,
    )


def evenings(*stays, owned=(), beds=BEDS, flowers=None, **more):
    kinds = {cover.kind for cover in owned}
    here = round_of(
        *beds,
        owned=owned,
        covers_of={name: tuple(kinds) for name in ("hut", "tough", "hardy")},
        **more,
    )
    plan = CropPlan(stays=tuple(stays))
    place = (44.0, -74.0, "America/New_York")
    what = here, plan, (HUT, TOUGH, HARDY), (), frozenset(), {}, flowers or {}
    return Evenings(*what, None, *place)


# ------------------------------------------------------------------ the evenings of a year
def test_a_spell_holds_as_long_as_the_same_stands_as_old_in_weeks():
    """Sown on day 100 of 2026, Friday 10 April, and done on day 130, 10 May.

    Whole weeks up to Monday: 10 days on 20 April are one, 17 on 27 April two, 24 on 4 May
    three. It is up after ten days, on 20 April too.
    """
    found = list(evenings(stay("A1", "hut", 100, 130)).spells(STARTS))
    assert [(each.stand.day, each.until) for each in found] == [
        (date(2026, 4, 10), date(2026, 4, 19)),
        (date(2026, 4, 20), date(2026, 4, 26)),
        (date(2026, 4, 27), date(2026, 5, 3)),
        (date(2026, 5, 4), date(2026, 5, 10)),
    ]


def test_days_run_over_the_turn_of_the_year():
    found = list(evenings(stay("A1", "hut", 100, 101)).spells(date(2026, 5, 1)))
    assert [each.stand.day for each in found] == [date(2027, 4, 10)]


def test_work_of_a_spell_is_done_by_the_earliest_of_its_hours():
    """In spring the sun sets later every evening: the first is the earliest.

    So it is where the clock passes the full hour, from 18:50 to 19:00.
    """
    spells = list(evenings(stay("A1", "hut", 100, 130)).spells(STARTS))
    assert [each.shortest.day for each in spells] == [each.stand.day for each in spells]
    hours = [{night.done_by.hour for night in each.nights} for each in spells]
    assert {18, 19} in hours
    *_, autumn = evenings(stay("A1", "hut", 270, 275)).spells(STARTS)
    assert autumn.shortest.day == autumn.until


def test_an_evening_on_which_the_sun_does_not_set_is_no_earliest_one():
    white = NightHours(date(2026, 6, 20), None, None)
    spell = Spell(Stand(white.day, ()), (white, NIGHT, white))
    assert spell.shortest is NIGHT
    assert spell.until == white.day


def test_in_tunnels_a_crop_is_taken_to_flower_once_it_is_no_seedling():
    """On day 130, 30 after sowing and 70 before flowers outdoors: leaves stand -7 °C."""
    pea = crop(
        "hut",
        damage_c=limit(-3.0, at="screen"),
        seedling_c=limit(-7.0, at="screen"),
        first_flower=limit(0.4),
    )
    stays = [stay(bed, "hut", 100, 200) for bed in ("A1", "A2")]
    flowers = {"hut": (100.0,) * 365}
    here = replace(evenings(*stays, flowers=flowers, inside=["A2"]), crops=(pea,))
    found = here.stand(date(2026, 5, 10)).standing
    assert [(each.bed, each.limit_c.central) for each in found] == [
        ("A1", -7.0),
        ("A2", -3.0),
    ]


# ------------------------------------------------------------------ the sheet
def sheet(*stays, coldest_c=COLD, starts=STARTS, units="metric", **more):
    return matrix(evenings(*stays, **more), starts, coldest_c, units)


def test_a_sheet_has_a_line_for_each_crop_of_a_plot_and_a_cell_for_each_low():
    """Two huts on Home, one on Field, and 50 m: two beds, and 2.5 m of no use.

    Bare: harmed at 0 and under; under fabric at -0.9, but not at -1 and colder, is it
    likely unharmed. At 0 that is so; at -2 and colder it is not.
    """
    stays = [
        stay("A1", "hut", 90, 130),
        stay("A2", "hut", 90, 130),
        stay("A3", "tough", 90, 130),
        stay("B1", "hut", 90, 130),
    ]
    made = sheet(*stays, owned=[roll("light_fabric", 50.0)])
    home, field = made.blocks
    assert made.lows == LOWS_ON_WALL["metric"] == (4, 2, 0, -2, -4, -6)
    assert [line.crops for line in home.lines] == [("hut",), ("tough",)]
    huts, tough = home.lines
    assert huts.beds == ("A1", "A2")
    verdicts = [cell.verdict for cell in huts.cells]
    assert verdicts == ["leave", "leave", "cover", "lost", "lost", "lost"]
    (laid,) = huts.cells[2].laid
    assert (laid.kind, laid.cover_m, laid.beds) == ("light_fabric", 45.0, ("A1", "A2"))
    assert (laid.is_all, laid.odds) == (True, "likely")
    assert {cell.verdict for cell in tough.cells} == {"leave"}
    assert [cell.verdict for cell in field.lines[0].cells][2:4] == ["short", "lost"]
    assert [covers[0].used_m for covers in made.covers] == [0, 0, 45.0, 0, 0, 0]


def test_crops_that_are_left_alike_share_a_line():
    stays = [stay("A1", "tough", 90, 130), stay("A2", "hardy", 90, 130)]
    (block,) = sheet(*stays).blocks
    assert [line.crops for line in block.lines] == [("tough", "hardy")]
    assert block.lines[0].beds == ("A1", "A2")


def test_a_cell_says_which_beds_are_covered_where_not_all_are():
    stays = [stay(name, "hut", 90, 130) for name in ("A1", "A2", "A3")]
    (block,) = sheet(*stays, owned=[roll("light_fabric", 25.0)]).blocks
    cell = block.lines[0].cells[2]
    assert cell.verdict == "short"
    assert (cell.laid[0].beds, cell.laid[0].is_all) == (("A1",), False)
    order = ["A1", "A2", "A3", "B1"]
    assert words.cell(cell, order, "metric") == (
        "light fabric, 22 m (likely warm enough): A1; no cover left that is large enough"
        " and suits this crop"
    )


def test_a_plot_says_how_far_it_is_and_how_much_colder_than_the_forecast():
    beds = (bed("A1", (-3.0, -2.0, 0.0)), bed("A2"))
    made = sheet(stay("A1", "hut", 90, 130), stay("A2", "hut", 90, 130), beds=beds)
    (block,) = made.blocks
    assert (block.gate_m, block.colder_c) == (10.0, 2.0)
    said = wall.filled(made, 0, "metric")["blocks"][0]["notes"]
    assert said == "10 m from the gate. Likely 2 °C colder than the forecast."


def test_a_sheet_is_made_for_the_next_weeks_in_which_most_wants_a_cover():
    """One hut from 10 April, three from 1 May on, up ten days later; by 1 July none is
    cold any more.
    """
    first = stay("A1", "hut", 100, 200)
    later = [stay(name, "hut", 121, 200) for name in ("A2", "A3")]
    owned = [roll("light_fabric", 100.0)]
    made = sheet(first, *later, owned=owned)
    assert made.day == date(2026, 5, 11)
    # 52 days on is too far ahead.
    far = [stay(name, "hut", 152, 200) for name in ("A2", "A3")]
    assert sheet(first, *far, owned=owned).day == date(2026, 4, 20)
    # Nor do those count whose first evening comes after the six weeks.
    gone = stay("A1", "hut", 100, 140)
    far = [stay(name, "hut", 154, 200) for name in ("A2", "A3")]
    assert sheet(gone, *far, owned=owned).day == date(2026, 4, 20)
    # Up on 1 June, 42 days after 20 April: just in time.
    near = [stay(name, "hut", 142, 200) for name in ("A2", "A3")]
    assert sheet(first, *near, owned=owned).day == date(2026, 6, 1)
    # A month whose record never fell so far counts for nothing.
    warm_april = tuple(5.0 if month == 3 else -20.0 for month in range(12))
    assert sheet(first, coldest_c=warm_april, owned=owned).day >= date(2026, 5, 1)
    # Nothing ever wants a cover: the first evening on which anything stands.
    assert sheet(stay("A1", "tough", 100, 200), owned=owned).day == date(2026, 4, 10)
    assert sheet() is None


def test_minutes_stand_for_each_low_and_one_hour_for_the_evenings_of_the_sheet():
    made = sheet(stay("A1", "hut", 100, 130), owned=[roll("light_fabric", 30.0)])
    # Laid: 3 + 20 / 8 = 5.5 and 20 m of way: 10 minutes; nothing at other lows.
    assert made.minutes == (0, 0, 10, 0, 0, 0)
    # Sown on 10 April and up after ten days, on Monday the 20th, a week older on the next:
    # one list until the 26th, done by the earliest of its sunsets.
    assert (made.day, made.until) == (date(2026, 4, 20), date(2026, 4, 26))
    assert made.night.day == made.day


# ------------------------------------------------------------------ one night everywhere
OWNED = [roll("light_fabric", 50.0), roll("slitted_film", 25.0)]
PLANTED = (
    stay("A1", "hut", 90, 200, [CoverUse("slitted_film", 90, 150, 1.0)]),
    stay("A2", "hut", 90, 200),
    stay("A3", "tough", 90, 200),
    stay("B1", "hut", 110, 200),
)


@pytest.fixture(scope="module")
def year():
    """The evenings of a year, the sheet, and the lists of the map."""
    every = evenings(*PLANTED, owned=OWNED)
    ranked = [SimpleNamespace(bed=each.bed) for each in BEDS]
    lists = tonight_lists.lists(every, ranked, STARTS, "metric")
    made = matrix(every, STARTS, COLD, "metric")
    return every, made, json.loads(json.dumps(lists))


@pytest.mark.parametrize("low", LOWS_ON_WALL["metric"])
@pytest.mark.parametrize("sky", ["clear", "cloudy"])
def test_command_map_and_sheet_say_the_same_of_one_night(year, low, sky):
    every, made, data = year
    advice = every.advise(made.day, Forecast(float(low), sky, "calm"))
    said = words.in_words(advice, "Farm", "metric")
    # The map.
    spell = next(
        each
        for each in data["evenings"]
        if each["from"] <= made.day.isoformat() <= each["until"]
    )
    night = {"clear": "still_night", "cloudy": "cloudy_night"}[sky]
    at = LOWS["metric"][0] - low
    assert data["lows"][at].startswith(f"{low}".replace("-", "−"))
    found = data["lists"][spell["lists"][night][at]]
    say = data["words"]
    assert tuple(say[number] for number in found["answer"]) == said.answer
    assert tuple(say[number] for number in found["advice"]) == said.advice
    assert say[found["last"]] == said.last
    tasks = [
        (say[what], say[piece], "" if odds < 0 else say[odds])
        for what, piece, odds, _plot, _beds in found["tasks"]
    ]
    assert tasks == [task[1:] for here in said.plots for task in here.tasks]
    names = [each.bed.name for each in BEDS]
    for verdict in ("short", "lost", "odds", "leave"):
        beds = (
            [names[place] for place in data["sets"][found[verdict]]]
            if verdict in found
            else []
        )
        assert beds == [
            row.standing.bed for row in advice.rows if row.verdict == verdict
        ]
    assert [
        [names[place] for place in data["sets"][task[4]]] for task in found["tasks"]
    ] == [[row.standing.bed for row in task.rows] for task in advice.tasks]
    if sky == "cloudy":
        return
    # The sheet, and the table of the map.
    column = made.lows.index(low)
    on_sheet = {
        name: laid.kind
        for block in made.blocks
        for line in block.lines
        for laid in line.cells[column].laid
        for name in laid.beds
    }
    assert on_sheet == {
        row.standing.bed: row.piece.kind for row in advice.rows if row.piece
    }
    assert made.covers[column] == advice.covers
    assert made.minutes[column] == advice.minutes
    table = to_cover(made, "metric")
    assert len(table.columns) == 3 + len(made.lows)
    cells = [row.cells[3 + column] for row in table.rows]
    lines = [line for block in made.blocks for line in block.lines]
    assert cells == [words.cell(line.cells[column], names, "metric") for line in lines]


def test_command_and_map_know_how_many_weights_the_plan_counts(year):
    every, made, _data = year
    few = replace(every, weights=1)
    advised = (
        few.advise(made.day, Forecast(float(low), "clear", "calm"))
        for low in LOWS_ON_WALL["metric"]
    )
    advice = next(each for each in advised if each.held.weights > 1)
    said = next(
        each
        for each in words.in_words(advice, "Farm", "metric").first
        if "the plan counts 1)" in each
    )
    ranked = [SimpleNamespace(bed=each.bed) for each in BEDS]
    on_map = tonight_lists.lists(few, ranked, STARTS, "metric")
    assert said in on_map["words"]


def test_a_year_without_anything_has_no_evening_on_the_map_and_says_so():
    data = tonight_lists.lists(evenings(), list(BEDS), STARTS, "metric")
    assert data["evenings"] == []
    assert data["nothing"] == "The plan does not know what grows in the beds."
    planted = evenings(stay("A1", "hut", 90, 95))
    known = tonight_lists.lists(planted, list(BEDS), STARTS, "metric")
    assert known["nothing"] == "Nothing grows in the beds that evening."


def test_on_the_map_a_windy_night_names_no_bed(year):
    *_, data = year
    numbers = {n for each in data["evenings"] for n in each["lists"]["windy_night"]}
    for number in numbers:
        found = data["lists"][number]
        assert found["tasks"] == []
        assert found["plots"] == []
        assert not {"short", "lost", "odds", "leave"} & found.keys()


def test_the_map_says_once_where_nothing_stands_and_which_list_counts_on_a_tunnel():
    """A1 and A2 are planted from day 90 to day 95, and Field is bare."""
    made = evenings(stay("A1", "hut", 90, 95), stay("A2", "hut", 90, 95))
    ranked = [SimpleNamespace(bed=each.bed) for each in BEDS]
    data = tonight_lists.lists(made, ranked, date(2026, 4, 1), "metric")
    number = data["evenings"][0]["lists"]["still_night"][-1]
    said = [
        [data["words"][each] for each in plot]
        for plot in data["lists"][number]["plots"]
    ]
    assert [plot[0] for plot in said] == ["Home", "Field"]
    assert said[-1] == ["Field", "Nothing to protect."]
    assert not any("tunnel" in each for plot in said for each in plot)
    assert if_tunnel(["", "T2", "T2"]) == (
        "This list assumes that tunnel T2 is built and has its film on. If not, frost reaches its crops as it does outdoors.",
    )


# ------------------------------------------------------------------ page and wall
VERDICTS = ("short", "lost", "odds", "leave")


def cells_of_page(made, lists, number):
    """By crop and plot, what the page says at one low: what is laid, and else the verdict.

    Read back from its sentences' numbers alone, as the page's script does.
    """
    here = lists["lists"][number]
    names = [each.ranked.bed.name for each in made.round_.stops]
    laid = {
        (lists["words"][here["plots"][at][0]], names[bed])
        for _what, _piece, _odds, at, beds in here["tasks"]
        for bed in lists["sets"][beds]
    }
    rest = {
        names[bed]: verdict
        for verdict in VERDICTS
        if verdict in here
        for bed in lists["sets"][here[verdict]]
    }
    return {bed for _plot, bed in laid}, rest


def cells_of_wall(found, low):
    """The same from the sheet."""
    at = found.lows.index(low)
    lines = [line for block in found.blocks for line in block.lines]
    laid = {bed for line in lines for each in line.cells[at].laid for bed in each.beds}
    first = {
        bed: line.cells[at].verdict
        for line in lines
        for bed in line.beds
        if bed not in laid
    }
    return laid, first


@pytest.mark.parametrize("day", [date(2026, 4, 10), date(2026, 9, 1)])
def test_the_page_and_the_sheet_on_the_wall_say_the_same_of_an_evening(day):
    """On every low of the sheet: which beds are covered, and why others are not.

    The sheet has one word for a crop of a plot, so every line here is one bed.
    """
    stays = [
        stay("A1", "hut", 90, 130),
        stay("A2", "tough", 90, 250),
        stay("A3", "hardy", 240, 300),
        stay("B1", "hut", 240, 300),
    ]
    made = evenings(*stays, owned=[roll("light_fabric", 22.5)])
    beds = [stop.ranked for stop in made.round_.stops]
    found = matrix(made, day, COLD, "metric")
    lists = tonight_lists.lists(made, beds, day, "metric")
    (evening,) = [
        each
        for each in lists["evenings"]
        if each["from"] <= found.day.isoformat() <= each["until"]
    ]
    covered = set()
    for low in found.lows:
        number = evening["lists"]["still_night"][LOWS["metric"][0] - low]
        page, wall_sheet = cells_of_page(made, lists, number), cells_of_wall(found, low)
        assert page == wall_sheet
        covered.add(len(page[0]))
        minutes = found.minutes[found.lows.index(low)]
        said = [lists["words"][each] for each in lists["lists"][number]["first"]]
        assert any(f"about {minutes} minutes" in each for each in said) == (minutes > 0)
    assert covered == {0, 1}
