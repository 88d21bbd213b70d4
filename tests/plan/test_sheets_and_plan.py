"""Sheets say of beds what the plan says: their text beside plan.json and plan.gpkg.

Nothing here asks the code that made the sheets: pages are read by PDFium, facts from the
files of the plan.
"""

import json
import re
from collections import Counter
from functools import cache

import geopandas as gpd
import pytest
from words_on_pages import words_on_pages

TENDER = ("tender", "warm_loving")
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August",
          "September", "October", "November", "December")  # fmt: skip


@pytest.fixture(scope="module")
def facts(planned_demo):
    return json.loads((planned_demo / "plan" / "plan.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def layers(planned_demo):
    file = planned_demo / "plan" / "plan.gpkg"
    return {name: gpd.read_file(file, layer=name) for name in ("beds", "cold_pockets")}


@pytest.fixture(scope="module")
def sheet(planned_demo):
    """Texts of a sheet's pages by its name, each read once."""

    @cache
    def pages(name):
        file = planned_demo / "plan" / "sheets" / f"{name}.pdf"
        return tuple(words_on_pages(file.read_bytes()))

    return pages


def classes(facts):
    return {crop["name"]: crop["class"] for crop in facts["crops"]}


def plots_that_come_first(facts):
    """Of which half of the beds or more come first; where none is, of which any does."""
    plots = [bed["plot"] for bed in facts["beds"]]
    of_first = [bed["plot"] for bed in facts["beds"] if bed["early_rank"] == 1]
    most = {plot for plot in plots if 2 * of_first.count(plot) >= plots.count(plot)}
    return most or set(of_first)


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
        r"cold air collects (.+?) \(dotted\)\. (.+?)(?= On still nights| Litres of water)",
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
            r"From (\d+) (\w+) on, crops grow there that frost can kill: (.+)\.", said
        )
        if "We plan no bed there" in said:
            assert not beds
        elif "in grass for now" in said:
            assert f"The {len(beds)} bed" in said
            assert not stays
        elif "The crops that we plan to harvest there all survive some frost" in said:
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
    said = re.findall(
        r"(\d+) (\w+)(?:(?:, | and )\d+ \w+)*: Plants grow on (\d+) of (\d+) beds\."
        r" (?:(\d+) beds? (?:has|have) a cover)?",
        first,
    )
    assert said
    for day, month, number, whole, covered in said:
        on = f"{MONTHS.index(month) + 1:02d}-{int(day):02d}"
        assert int(whole) == len(beds)
        assert int(number) == len((green_on(facts, on) | covered_on(facts, on)) & beds)
        assert int(covered or 0) == len(covered_on(facts, on) & beds)


def covered_on(facts, day):
    """Beds under some cover on a day of any year."""
    return {
        stay["bed"]
        for stay in facts["crop_plan"]["stays"]
        for use in stay["covers"]
        if within(day, use["from"], use["to"])
    }


def green_on(facts, day):
    """Beds with a crop, or what is sown for the soil, on a day of any year; and grass."""
    plan = facts["crop_plan"]
    spans = [*plan["stays"], *plan["green_manures"]]
    there = {each["bed"] for each in spans if within(day, each["from"], each["to"])}
    return there | set(plan["untended"])


def within(day, first, last):
    return first <= day <= last if first <= last else day >= first or day <= last


def test_the_walk_hides_its_answers_on_side_two(sheet):
    front, back = sheet("walk")
    assert "Turn this page over only at the end" in front
    assert "Guess first" in front
    assert "coldest bed on a still night" not in front
    assert "Guess first" not in back


def test_the_walk_names_the_coldest_bed_and_what_it_is_worth(facts, sheet):
    front, back = sheet("walk")
    coldest = min(facts["beds"], key=lambda bed: bed["offset_c"]["central"])
    likely = [bed["offset_c"]["central"] for bed in facts["beds"]]
    found = re.search(
        r"Bed (\w+)\. (This is the coldest bed|The plan sees no real difference)", back
    )
    named = next(bed for bed in facts["beds"] if bed["name"] == found[1])
    # plan.json rounds to a tenth.
    assert named["offset_c"]["central"] <= coldest["offset_c"]["central"] + 0.05
    if found[2].startswith("This"):
        said = re.search(
            r"coldest bed on a still night\. It is likely ([\d.]+) °C", back
        )
        assert float(said[1]) == pytest.approx(-min(likely), abs=0.3)
    assert f"Bed {found[1]}" in front


def test_the_walk_names_plots_that_come_first_and_last(facts, sheet):
    _front, back = sheet("walk")
    first = plots_that_come_first(facts)
    said = re.search(
        r"You can plant in (.+?) first\.(?: In (.+?), half of the beds must wait about (\d+) days after the first beds, or longer)?",
        back,
    )
    if not said:
        assert "no real difference between the beds" in back
        return
    assert set(re.split(", | and ", said[1])) == first
    by_plot: dict[str, list[dict]] = {}
    for bed in sorted(facts["beds"], key=lambda bed: bed["early_rank"]):
        by_plot.setdefault(bed["plot"], []).append(bed)
    middle = {plot: beds[len(beds) // 2] for plot, beds in by_plot.items()}
    last = max(middle, key=lambda plot: middle[plot]["early_rank"])
    later = [
        reason["values"]["days"]["central"]
        for bed in by_plot[last]
        for reason in bed["reasons"]
        if reason["kind"] == "two_that_matter"
    ]
    if last in first or max(later) < 0.5:
        assert said[2] is None
        return
    assert said[2] == last
    # Half of the beds of that plot, or more, wait as long as that, and half no longer.
    days = int(said[3])
    assert 2 * sum(each > days - 0.51 for each in later) >= len(later)
    assert 2 * sum(each < days + 0.51 for each in later) >= len(later)


def test_two_beds_of_the_sunny_morning_differ_as_the_plan_says(facts, sheet):
    front, back = sheet("walk")
    said = re.search(r"into bed (\w+), then into bed (\w+)", front)
    if not said:
        pytest.skip("no two beds of a plot differ in light so that a finger feels it")
    by_name = {bed["name"]: bed for bed in facts["beds"]}
    sunny, shady = (by_name[name]["sun_mj_m2_day"][3] for name in said.groups())
    percent = re.search(r"It gets (\d+) % more sun in April", back)[1]
    assert float(percent) == pytest.approx(100 * (sunny / shady - 1), abs=1)
    assert by_name[said[1]]["plot"] == by_name[said[2]]["plot"]


def test_every_low_tunnel_of_the_learners_sheet_is_one_of_the_list(facts, sheet):
    """Hoops, cut, legs and weights of each front are those of a bed that it names."""
    lows = {low["bed"]: low for low in facts["materials"]["low_tunnels"]}
    pages = sheet("build")
    if not lows:
        pytest.skip("no bed gets a cover")
    *fronts, words = pages
    assert "Twelve words" in words
    for front in fronts:
        bed = re.search(r"beds? ([A-Z]+\d+)", front)[1]
        low = lows[bed]
        assert f"{low['hoops']} hoops" in front
        assert f"{100 * low['cut_m']:.0f}" in front
        tape = f"Put tape on each pipe, {100 * low['leg_m']:.0f} cm from both ends"
        assert tape in front
        if low["weights"]:
            assert f"{low['weights']} bags" in front
            gust = re.search(r"gusts \(sudden wind\) up to about (\d+) km/h", front)
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


# ------------------------------------------------------------------ the landowner's back
def test_why_just_so_says_which_plots_come_first_and_how_light_tunnels_are(
    facts, sheet
):
    _first, second = sheet("landowner")
    first = plots_that_come_first(facts)
    said = re.search(r"we can plant first is in (.+?)\. ?•", second)
    if said:
        assert set(re.split(", | and ", said[1])) == first
    for tunnel in facts["tunnels"]:
        (percent,) = re.findall(
            rf"short days, tunnels? [\w, ]*\b{tunnel['name']}\b[\w, ]*?"
            r" gets? (?:(\d+) ?% )?as much light",
            second.replace("\u00a0", " "),
        )
        light = [it for it in tunnel["reasons"] if "winter_light" in it["kind"]]
        known = [str(it["values"].get("percent", "")) for it in light]
        assert [percent] == known


def test_both_sheets_for_the_owner_name_the_plots_that_have_no_fence_yet(facts, sheet):
    """Those of which no bed has a crop, and on which no tunnel stands."""
    used = {stay["bed"] for stay in facts["crop_plan"]["stays"]}
    worked = {bed["plot"] for bed in facts["beds"] if bed["name"] in used}
    worked |= {tunnel["plot"] for tunnel in facts["tunnels"]}
    waits = {bed["plot"] for bed in facts["beds"]} - worked
    assert waits
    (asked,), (_first, agreed) = sheet("before_you_sign"), sheet("landowner")
    (before,) = re.findall(r"We build no fence around (.+?) yet,", asked)
    (later,) = re.findall(r"\(no fence yet around (.+?)\)", agreed)
    assert set(before.split(" and ")) == set(later.split(" and ")) == waits


def drop_percent(said):
    """The grade of "drops 20 cm in 10 m", "drops 1.1 m in 10 m" or "is level"."""
    found = re.search(r"drops ([\d.]+) (cm|m) in 10 m", said)
    if not found:
        assert "level" in said
        return 0.0
    return float(found[1]) * (0.1 if found[2] == "cm" else 10.0)


def test_litres_a_day_are_those_of_the_plan_to_two_figures(facts, sheet):
    first, _second = sheet("landowner")
    (said,) = re.findall(r"dry week ((?:[\d,]+ \w+ )+)How high", first)
    short = {name[:3]: number for number, name in enumerate(MONTHS, start=1)}
    litres = {it["month"]: it["litres_day"] for it in facts["watering"]["months"]}
    bars = re.findall(r"([\d,]+) (\w{3})\w*", said)
    assert len(bars) == 6
    for number, month in bars:
        expected = litres[short[month]]
        assert int(number.replace(",", "")) == pytest.approx(expected, rel=0.051)


def test_roof_water_and_planted_ground_are_sums_of_the_plan(facts, sheet):
    first, second = sheet("landowner")
    area_m2 = sum(bed["area_m2"] for bed in facts["beds"])
    for page in (first, second):
        said = re.search(r"([\d,]+) m²", page)[1]
        # Areas are said to three figures.
        assert int(said.replace(",", "")) == pytest.approx(area_m2, rel=0.005)
    # A millimetre of rain on a square metre is a litre.
    roof_l = 25 * sum(it["length_m"] * it["width_m"] for it in facts["tunnels"])
    said = re.search(r"25 mm of rain falls, ([\d,]+) litres of water run off", second)[
        1
    ]
    assert int(said.replace(",", "")) == pytest.approx(roof_l, abs=1)


def test_each_change_around_says_what_it_is_worth_to_a_bed_of_the_plan(facts, sheet):
    _first, second = sheet("landowner")
    # A change's own row begins with its letter.
    _, *rows = re.split(r" [A-C] The change ", second.partition("Ideas for")[2])
    assert len(rows) == len(facts["what_ifs"])
    plot_of = {bed["name"]: bed["plot"] for bed in facts["beds"]}
    said = 0
    for change, row in zip(facts["what_ifs"], rows, strict=True):
        by_name = {bed["name"]: bed for bed in change["beds"]}
        for plot, sign, name, degrees in re.findall(
            r"beds in ([\w ]+?) would be (warmer|colder)\."
            r" The largest change would be on bed (\w+): about ([\d.]+) °C",
            row,
        ):
            way = 1 if sign == "warmer" else -1
            sizes_c = [
                way * bed["offset_c"]["central"]
                for bed in change["beds"]
                if plot_of[bed["name"]] == plot
            ]
            assert float(degrees) == pytest.approx(max(sizes_c), abs=0.06)
            size_c = by_name[name]["offset_c"]["central"]
            assert way * size_c == pytest.approx(max(sizes_c), abs=0.06)
            said += 1
        for name, days in re.findall(r"plant (\w+): (\d+) days? earlier", row):
            _low, likely, _high = by_name[name]["days_earlier"]
            assert float(days) == pytest.approx(likely, abs=0.51)
    assert said


# ------------------------------------------------------------------ before one signs
def test_before_you_sign_counts_and_names_beds_of_the_plan(facts, layers, sheet):
    (page,) = sheet("before_you_sign")
    by_name = {bed["name"]: bed for bed in facts["beds"]}
    ranks = {name: bed["early_rank"] for name, bed in by_name.items()}
    first, last = re.search(
        r"at bed (\w+), the first that you can plant. Dig the other hole at bed (\w+), the last",
        page,
    ).groups()
    assert ranks[first] == min(ranks.values())
    assert ranks[last] == max(ranks.values())
    cold, whole = re.search(r"(\d+) of (\d+) beds are in cold air", page).groups()
    assert int(whole) == len(by_name)
    # A bed counts where half of it or more lies in a pocket; some lie on its edge.
    assert int(cold) == pytest.approx(len(in_pocket(layers)), abs=2)
    least, most = re.search(
        r"Even the flattest bed (.+?)\. The steepest bed (.+?)\. ", page
    ).groups()
    slopes = [bed["slope_percent"] for bed in facts["beds"]]
    assert drop_percent(least) == pytest.approx(min(slopes), abs=0.51)
    assert drop_percent(most) == pytest.approx(max(slopes), abs=0.51)
    month, litres = re.search(r"in (\w+): up to ([\d,]+) litres a day", page).groups()
    by_month = {it["month"]: it["litres_day"] for it in facts["watering"]["months"]}
    assert by_month[MONTHS.index(month) + 1] == max(by_month.values())
    assert int(litres.replace(",", "")) == pytest.approx(
        max(by_month.values()), rel=0.051
    )


def test_places_to_keep_off_have_their_names_on_every_drawing_of_the_ground(
    planned_demo, sheet
):
    file = planned_demo / "surroundings.geojson"
    things = json.loads(file.read_text("utf-8"))["features"]
    kept = [
        each["properties"]["name"]
        for each in things
        if each["properties"]["kind"] == "keep off"
    ]
    assert kept
    for name in kept:
        for drawn in (sheet("landowner")[0], *sheet("walk"), sheet("dawn_walk")[0]):
            assert name in drawn
    for explained in ("walk-in tunnel", "cold air on still nights", "same height"):
        assert explained in sheet("walk")[1]


def test_both_sheets_for_the_owner_have_the_same_fence(facts, sheet):
    """No wire around a plot whose beds all lie in grass, and the rest adds up."""
    (before,) = sheet("before_you_sign")
    plots = [each["name"] for each in facts["plots"]]
    rows = {
        plot: int(wire)
        for plot, wire in re.findall(
            rf"({'|'.join(plots)}) (\d+) m \d+ \d+ \d+", before
        )
    }
    grass = set(facts["crop_plan"]["untended"])
    waits = {
        plot
        for plot in plots
        if {bed["name"] for bed in facts["beds"] if bed["plot"] == plot} <= grass
    }
    assert waits
    assert set(rows) == set(plots) - waits
    (whole,) = re.findall(
        r"Fence against deer not agreed yet: (\d+) m", sheet("landowner")[1]
    )
    assert int(whole) == sum(rows.values())


# ------------------------------------------------------------------ crew, walks, night
def test_the_crew_pegs_the_beds_of_each_field_and_ties_the_hoops_of_the_list(
    facts, sheet
):
    text = " ".join(sheet("crew"))
    said = dict(re.findall(r"(\w[\w ]*?): put pegs for (\d+) beds Beds", text))
    assert said
    # A plot whose beds all lie in grass this year has no pegs yet, and the sheet says so.
    grass = set(facts["crop_plan"]["untended"])
    for plot in {bed["plot"] for bed in facts["beds"]}:
        here = {bed["name"] for bed in facts["beds"] if bed["plot"] == plot}
        # Beds that lie there already need no pegs, this year or later.
        is_new = any(
            bed["number_in_block"] for bed in facts["beds"] if bed["plot"] == plot
        )
        waits = is_new and here <= grass
        assert (f"{plot}: its {len(here)} beds stay in grass" in text) == waits
        assert not (waits and plot in str(said))
    past = {bed["plot"] for bed in facts["beds"]} - {
        plot for plot in {bed["plot"] for bed in facts["beds"]} if plot in str(said)
    }
    for heading, number in said.items():
        plot = next(
            each["name"] for each in facts["plots"] if heading.endswith(each["name"])
        )
        assert int(number) == sum(bed["plot"] == plot for bed in facts["beds"])
    assert len(said) + len(past) == len(facts["plots"])
    for low in facts["materials"]["low_tunnels"]:
        assert f"{low['hoops']} of {low['cut_m']:.2f} m" in text
        for length_m, number in Counter(low["cover_pieces_m"]).items():
            size = f"{low['cover_width_m']:.2f} m by {length_m:.2f} m"
            assert (f"{number} pieces of {size}" if number > 1 else size) in text
        assert low["cover_length_m"] == pytest.approx(sum(low["cover_pieces_m"]))
    for line in facts["materials"]["lines"]:
        if line["unit"] == "pieces" and not line["rough"]:
            numbers = " ".join(f"{line[key]:,}" for key in ("need", "on_hand", "buy"))
            assert f"{line['what']} {numbers}" in text


def test_the_first_weeks_of_the_crew_are_those_of_the_plan(facts, sheet):
    text = " ".join(sheet("crew"))
    for week in facts["weekly_jobs"][:5]:
        _year, month, day = map(int, week["starts"].split("-"))
        assert f"Week of {day} {MONTHS[month - 1]}" in text
        for job in week["jobs"]:
            assert job in text


def test_the_dawn_walk_ranks_its_beds_as_the_plan_does(facts, sheet):
    _front, back = sheet("dawn_walk")
    by_name = {bed["name"]: bed["offset_c"]["central"] for bed in facts["beds"]}
    said = re.findall(
        r"\b\d ([A-Z]\d+) likely (?:([\d.]+) °C (colder|warmer)|about the same)", back
    )
    assert len(said) >= 4
    shown = [
        (-1 if side == "colder" else 1) * float(size or 0) for _bed, size, side in said
    ]
    assert shown == sorted(shown)
    for (bed, *_), likely in zip(said, shown, strict=True):
        # Shown in steps of half a degree; plan.json rounds to a tenth.
        assert likely == pytest.approx(by_name[bed], abs=0.31)


def test_the_walk_says_how_its_slopes_lie(facts, sheet):
    front, back = sheet("walk")
    bed = re.search(r"Bed (\w+): the slope", front)[1]
    said = re.search(rf"Bed {bed}: the slope\. The ground (.+?)\. Water", back)[1]
    by_name = {each["name"]: each for each in facts["beds"]}
    assert drop_percent(said) == pytest.approx(by_name[bed]["slope_percent"], abs=0.51)
    tunnel = re.search(r"Where tunnel (\w+) will stand\. The ground (.+?) along", back)
    if tunnel:
        (place,) = (it for it in facts["tunnels"] if it["name"] == tunnel[1])
        assert drop_percent(tunnel[2]) == pytest.approx(
            place["slope_along_percent"], abs=0.51
        )


DATE = r"(\d+) (\w+) (\d+)"


def iso(day, month, year):
    return f"{year}-{MONTHS.index(month) + 1:02d}-{int(day):02d}"


def first_evening(page):
    """Of those for which the night sheet says that it holds."""
    found = re.search(rf"(?:still nights from|For the night of) {DATE}", page)
    return iso(*found.groups())


def test_the_night_sheet_and_the_map_say_the_same_of_the_same_evening(
    planned_demo, sheet
):
    """For every low of the sheet: the evenings, the hour, the minutes and the metres."""
    (page,) = sheet("tonight")
    text = (planned_demo / "plan" / "map.html").read_text("utf-8")
    held = re.search(r'id="fieldmap-data">(.*?)</script>', text, re.DOTALL)
    lists = json.loads(held[1])["tonight"]
    first = first_evening(page)
    (evening,) = [
        each for each in lists["evenings"] if each["from"] <= first <= each["until"]
    ]
    last = re.search(rf"still nights from {DATE} to {DATE}", page)
    until = iso(*last.groups()[3:]) if last else first
    assert (evening["from"], evening["until"]) == (first, until)
    minutes = re.search(r"minutes of work for two people ((?:\d+ )+)", page)[1].split()
    carried = {
        kind: re.search(rf"this much {kind} \(we own \d+ m\) ((?:\d+ m ?)+)", page)[1]
        for kind in ("light fabric", "slitted film")
    }
    done_by = re.search(r"Be done by (\d+:\d+)", page)[1]
    for at, low in enumerate((4, 2, 0, -2, -4, -6)):
        column = lists["lows"].index(f"{low}\N{NO-BREAK SPACE}°C".replace("-", "−"))
        found = lists["lists"][evening["lists"]["still_night"][column]]
        said = " ".join(
            " ".join(lists["words"][number] for number in found["first"]).split()
        )
        about = re.search(r"about (\d+) minutes", said)
        assert (about[1] if about else "0") == minutes[at]
        assert not about or f"be done by {done_by}" in said
        for kind, row in carried.items():
            taken = re.search(rf"(\d+) m of {kind}", said)
            assert (taken[1] if taken else "0") == re.findall(r"\d+", row)[at]


def test_the_night_sheet_is_one_page_of_what_stands_on_its_day(facts, sheet):
    (page,) = sheet("tonight")
    evening = first_evening(page)
    on = evening[5:]
    assert evening.startswith("2026-")
    standing = {
        stay["bed"]: stay["crop"]
        for stay in facts["crop_plan"]["stays"]
        if within(on, stay["from"], stay["to"])
    }
    # What is left at every low shares a line: "Garlic and potato".
    for crop in set(standing.values()):
        assert crop in page.casefold()
    for kind, owned in (("light fabric", 120), ("slitted film", 60)):
        assert f"Carry this much {kind} (we own {owned} m)" in page


def test_every_bed_plot_and_tunnel_that_a_sheet_names_is_in_the_plan(
    planned_demo, facts, sheet
):
    """Names of beds are a letter and a number; those of tunnels T and a number."""
    known = {bed["name"] for bed in facts["beds"]}
    known |= {tunnel["name"] for tunnel in facts["tunnels"]} | {"A4"}  # the paper
    letters = {name[0] for name in known}
    for file in sorted((planned_demo / "plan" / "sheets").glob("*.pdf")):
        named = re.findall(r"\b([A-Z]\d{1,3})\b", " ".join(sheet(file.stem)))
        found = {name for name in named if name[0] in letters}
        assert found <= known, (file.name, found - known)
