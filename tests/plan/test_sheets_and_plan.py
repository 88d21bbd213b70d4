"""Sheets say of beds what the plan says: their text beside plan.json and plan.gpkg.

Nothing here asks the code that made the sheets: pages are read by pypdf, facts from the
files of the plan.
"""

import json
import re

import geopandas as gpd
import pypdf
import pytest

TENDER = ("tender", "warm_loving")
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August",
          "September", "October", "November", "December")  # fmt: skip
# Days on which the landowner's pictures are drawn: 10 April, 19 July, 10 October, 20
# January.
DRAWN = {"April": "04-10", "July": "07-19", "October": "10-10", "January": "01-20"}


@pytest.fixture(scope="module")
def facts(planned_demo):
    return json.loads((planned_demo / "plan" / "plan.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def layers(planned_demo):
    file = planned_demo / "plan" / "plan.gpkg"
    return {name: gpd.read_file(file, layer=name) for name in ("beds", "cold_pockets")}


@pytest.fixture(scope="module")
def sheet(planned_demo):
    def pages(name):
        read = pypdf.PdfReader(planned_demo / "plan" / "sheets" / f"{name}.pdf")
        return [" ".join(page.extract_text().split()) for page in read.pages]

    return pages


def classes(facts):
    return {crop["name"]: crop["class"] for crop in facts["crops"]}


def in_pocket(layers):
    """Beds that lie by more than half in some cold pocket."""
    ground = layers["cold_pockets"].to_crs(layers["beds"].crs).union_all()
    beds = layers["beds"]
    share = beds.geometry.intersection(ground).area / beds.geometry.area
    return set(beds["name"][share > 0.5])


def test_the_landowner_reads_as_many_beds_and_tunnels_as_are_planned(facts, sheet):
    first, second = sheet("landowner")
    beds, tunnels = len(facts["beds"]), len(facts["tunnels"])
    assert re.search(rf"\b{beds} beds and {tunnels} walk-in tunnels?\b", first)
    assert f"{beds} beds" in second
    for tunnel in facts["tunnels"]:
        assert f"{tunnel['length_m']:g} m long" in second


def test_what_is_said_of_cold_ground_is_what_is_planted_there(facts, layers, sheet):
    """No tender plant stands in a pocket of which the sheet says that none does."""
    first, _second = sheet("landowner")
    assert "keep out" not in first
    places = re.findall(
        r"cold air lies (.+?) \(dotted\)\. (.+?)(?= On still nights| Litres of water)",
        first,
    )
    assert places
    cold, kinds = in_pocket(layers), classes(facts)
    plot_of = {bed["name"]: bed["plot"] for bed in facts["beds"]}
    for where, said in places:
        beds = {name for name in cold if plot_of[name] in where}
        stays = [each for each in facts["crop_plan"]["stays"] if each["bed"] in beds]
        tender = {it["crop"] for it in stays if kinds.get(it["crop"]) in TENDER}
        hardy = {stay["crop"] for stay in stays} - tender
        out = re.match(
            r"Plants that frost kills stand there from (\d+) (\w+): (.+)\.", said
        )
        if "We have no bed there" in said:
            assert not beds
        elif "We plant nothing" in said:
            assert f"the {len(beds)} bed" in said
            assert not stays
        elif "Only plants that stand some frost" in said:
            listed = set(re.split(", | and ", said.rpartition(": ")[2].rstrip(".")))
            assert listed == hardy
            assert not tender
        else:
            day = f"{MONTHS.index(out[2]) + 1:02d}-{int(out[1]):02d}"
            assert day == min(it["from"] for it in stays if it["crop"] in tender)
            assert set(re.split(", | and ", out[3])) == tender


def test_pictures_of_the_year_count_the_beds_of_the_crop_plan(facts, sheet):
    first, _second = sheet("landowner")
    plots = {bed["plot"] for bed in facts["beds"]}
    (plot,) = (name for name in plots if f"{name} through the year" in first)
    beds = {bed["name"] for bed in facts["beds"] if bed["plot"] == plot}
    said = re.findall(r"(\w+)(?:, \w+)*(?: and \w+)?: (\d+) of (\d+) beds", first)
    assert said
    for month, number, whole in said:
        assert int(whole) == len(beds)
        assert int(number) == len(green_on(facts, DRAWN[month]) & beds)


def green_on(facts, day):
    """Beds with a crop, or what is sown for the soil, on a day of any year."""
    plan = facts["crop_plan"]
    spans = [*plan["stays"], *plan["green_manures"]]
    return {each["bed"] for each in spans if within(day, each["from"], each["to"])}


def within(day, first, last):
    return first <= day <= last if first <= last else day >= first or day <= last


def test_the_walk_hides_its_answers_on_side_two(sheet):
    front, back = sheet("walk")
    assert "Turn the page only at the end" in front
    assert "Guess first" in front
    assert "coldest bed on a still night" not in front
    assert "Guess first" not in back


def test_the_walk_names_the_coldest_bed_and_what_it_is_worth(facts, sheet):
    front, back = sheet("walk")
    coldest = min(facts["beds"], key=lambda bed: bed["offset_c"]["central"])
    likely = [bed["offset_c"]["central"] for bed in facts["beds"]]
    found = re.search(
        r"Bed (\w+)\. (The coldest bed|The plan sees no real difference on)", back
    )
    named = next(bed for bed in facts["beds"] if bed["name"] == found[1])
    # plan.json rounds to a tenth.
    assert named["offset_c"]["central"] <= coldest["offset_c"]["central"] + 0.05
    if found[2].startswith("The coldest"):
        said = re.search(r"coldest bed on a still night: likely ([\d.]+) °C", back)
        assert float(said[1]) == pytest.approx(-min(likely), abs=0.3)
    assert f"Bed {found[1]}" in front


def test_the_walk_names_plots_that_come_first_and_last(facts, sheet):
    _front, back = sheet("walk")
    first = {bed["plot"] for bed in facts["beds"] if bed["early_rank"] == 1}
    said = re.search(r"First: (.+?)\. (?:(.+?) waits about (\d+) days longer)?", back)
    if said:
        assert set(re.split(", | and ", said[1])) == first
        assert said[2] not in first
    else:
        assert "no real difference between the beds" in back


def test_two_beds_of_the_sunny_morning_differ_as_the_plan_says(facts, sheet):
    front, back = sheet("walk")
    said = re.search(r"into bed (\w+), then into bed (\w+)", front)
    if not said:
        pytest.skip("no two beds of a plot differ in light so that a finger feels it")
    by_name = {bed["name"]: bed for bed in facts["beds"]}
    sunny, shady = (by_name[name]["sun_mj_m2_day"][3] for name in said.groups())
    percent = re.search(r"it gets (\d+) % more sun in April", back)[1]
    assert float(percent) == pytest.approx(100 * (sunny / shady - 1), abs=1)
    assert by_name[said[1]]["plot"] == by_name[said[2]]["plot"]


def test_every_low_tunnel_of_the_learners_sheet_is_one_of_the_list(facts, sheet):
    """Hoops, cut, legs and weights of each front are those of a bed that it names."""
    lows = {low["bed"]: low for low in facts["materials"]["low_tunnels"]}
    pages = sheet("build")
    if not lows:
        pytest.skip("no bed gets a cover")
    for front, back in zip(pages[::2], pages[1::2], strict=True):
        bed = re.search(r"beds? ([A-Z]+\d+)", front)[1]
        low = lows[bed]
        assert f"{low['hoops']} hoops" in front
        assert f"{100 * low['cut_m']:.0f}" in front
        assert (
            f"Put tape on each pipe, {100 * low['leg_m']:.0f} from both ends" in front
        )
        assert f"pipe for each hoop {low['cut_m']:.2f} m" in back
        if low["weights"]:
            assert f"{low['weights']} bags" in front
            gust = re.search(r"gusts of (\d+) km/h", front)
            assert int(gust[1]) <= 3.6 * low["holds_to_m_s"]


def test_every_page_says_whose_plan_and_which_sheet_it_is(planned_demo, facts, sheet):
    folder = planned_demo / "plan" / "sheets"
    for file in sorted(folder.glob("*.pdf")):
        pages = sheet(file.stem)
        for number, page in enumerate(pages, start=1):
            assert f"{facts['site']['name']}, plan of 1 January 2026" in page
            assert f"Sheet {number} of {len(pages)}" in page


def test_sheets_hold_no_keys_of_the_choices(planned_demo, sheet):
    """Who holds a sheet has never seen site.toml."""
    folder = planned_demo / "plan" / "sheets"
    for file in sorted(folder.glob("*.pdf")):
        said = " ".join(sheet(file.stem))
        for key in ("site.toml", 'anchor = "', "storm_from_deg", "tunnels_first"):
            assert key not in said, file.name
