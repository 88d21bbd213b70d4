"""The demo site from its folder to its hand-over, and how it was made."""

import json
import math
import re
import shutil
import subprocess
import sys
from pathlib import Path

import jsonschema
import numpy as np
import pandas as pd
import pytest
import rasterio

from fieldmap.show.files import plan_json

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def document(planned_demo):
    return json.loads((planned_demo / "plan" / "plan.json").read_text())


def test_plan_json_of_the_demo_obeys_its_schema(document):
    jsonschema.validate(document, plan_json.schema())


def has(document, path):
    """Whether a key stands at a path in one record at least; a dot is "in each"."""
    found = [document]
    for key in path.split("."):
        records = [
            one
            for each in found
            for one in (each if isinstance(each, list) else [each])
        ]
        found = [one[key] for one in records if key in one]
    return bool(found)


def test_the_table_of_old_and_new_keys_is_true(document):
    text = (ROOT / "docs/reference/plan_json.md").read_text("utf-8")
    pairs = re.findall(r"^\| `([\w.]+)` \| `([\w.]+)` \|$", text, re.MULTILINE)
    assert len(pairs) > 10
    assert [new for _, new in pairs if not has(document, new)] == []
    assert [old for old, _ in pairs if has(document, old)] == []
    names = dict(pairs)
    # The old key is gone from under the new name of its section too.
    moved = [
        ".".join((names.get(old.split(".")[0], old.split(".")[0]), *old.split(".")[1:]))
        for old in names
        if "." in old
    ]
    assert [path for path in moved if has(document, path)] == []
    statements = re.search(r"are lists of statements: (.*)\.$", text, re.MULTILINE)[1]
    for path in re.findall(r"`([\w.]+)`", statements):
        assert has(document, f"{path}.text")


def test_the_page_on_plan_json_names_every_part_and_its_example_runs(
    planned_demo, document, capsys
):
    text = (ROOT / "docs/reference/plan_json.md").read_text("utf-8")
    parts = text.split("## What is in it")[1].split("\n## ")[0]
    listed = re.findall(r"^\| `(\w+)` \|", parts, re.MULTILINE)
    assert sorted(listed) == sorted(plan_json.schema()["properties"])
    example = re.search(r"^```python\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)[1]
    assert '"demo_site/plan/plan.json"' in example
    where = planned_demo.as_posix()
    exec(example.replace("demo_site/", f"{where}/"), {})
    said = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in said] == [
        bed["name"] for bed in document["beds"][:3]
    ]


def test_facts_of_plan_json_have_their_kind_beside_their_sentence(document):
    said = [one for bed in document["beds"] for one in bed["reasons"]]
    facts = [one for one in said + document["warnings"] if "kind" in one]
    assert facts
    assert all(set(one) == {"kind", "values", "text"} for one in facts)


def test_every_plot_gets_beds_and_both_tunnels_find_a_place(document):
    plots = {plot["name"] for plot in document["plots"]}
    assert {bed["plot"] for bed in document["beds"]} == plots
    assert len(document["tunnels"]) == 2


def month_and_day(days):
    """As plan.json writes a day: month and day alone."""
    return [pd.Timestamp(f"2001-{day}") for day in days]


def test_on_the_demo_ground_decides(planned_demo, document):
    """What a shop window owes: last frost late in April, weeks between the plots."""
    days = pd.read_csv(planned_demo / "weather.csv", parse_dates=["date"])
    spring = days[(days["tmin_c"] <= 0) & (days["date"].dt.month <= 6)]["date"]
    last = spring.groupby(spring.dt.year).max().dt.day_of_year.mean()
    assert 110 <= last <= 120  # 20 to 30 April
    assert 60 <= len(document["beds"]) <= 120
    by_plot = {}
    for bed in document["beds"]:
        (out,) = (
            one["early"]["central"]
            for one in bed["dates"]
            if (one["crop"], one["cover"]) == ("tomato", "none")
        )
        by_plot.setdefault(bed["plot"], []).append(out)
    middle = {
        plot: sorted(month_and_day(days))[len(days) // 2]
        for plot, days in by_plot.items()
    }
    after = [(day - middle["Shelf"]).days for day in middle.values()]
    assert sorted(after)[1] >= 7
    assert 14 <= max(after) <= 35
    # Where tunnels stand is a true choice.
    assert len(document["tunnel_choices"]) == 3


def test_the_gap_in_the_hedge_is_worth_days_above_it_and_colder_below(document):
    gap = document["what_ifs"][0]
    above, below = (
        [one for one in gap["beds"] if one["name"].startswith(letter)]
        for letter in "AB"
    )
    assert np.median([one["days_earlier"][1] for one in above]) >= 2
    assert min(one["offset_c"]["central"] for one in above) > 0.1
    assert min(one["offset_c"]["central"] for one in below) < -0.1
    said = [one["text"] for one in gap["statements"]]
    assert any("warmer than now. First day to plant bed " in text for text in said)
    assert any("colder than now" in text for text in said)


def test_the_hollow_at_the_foot_of_the_brook_piece_is_a_cold_pocket(
    planned_demo, document
):
    import geopandas as gpd
    from shapely.geometry import Point

    assert document["cold_pockets"][0]["offset_c"]["central"] < 0
    deepest = gpd.read_file(planned_demo / "plan/plan.gpkg", layer="cold_pockets").iloc[
        0
    ]
    with rasterio.open(planned_demo / "elevation.tif") as dataset:
        # The script digs it 45 m along the hill and 59 m up it from a place on the
        # brook, 412 and 224 m from the south-west corner; the hill is turned by 14°.
        turn = math.radians(14.0)
        east_m = 412.0 + 45.0 * math.cos(turn) - 59.0 * math.sin(turn)
        north_m = 224.0 + 45.0 * math.sin(turn) + 59.0 * math.cos(turn)
        hollow = Point(dataset.bounds.left + east_m, dataset.bounds.bottom + north_m)
    assert deepest.geometry.contains(hollow)


def own_days_of(crop, mean_c):
    """Days from each start to the first harvest, counted on the usual year in numpy.

    Pea, bean and corn of crops.toml, which have both days and degree days, are quoted
    for 11.4 degree days a day: a warmer day counts for one, a colder one for its share.
    """
    warm = np.tile(np.maximum(mean_c - crop.base_c.value, 0.0), 2)
    if crop.degree_days is not None:
        wanted = (crop.degree_days.low + crop.degree_days.high) / 2
    else:
        warmest = max(warm[day : day + 91].mean() for day in range(365))
        warm = np.minimum(warm / min(11.4, warmest), 1.0)
        days = crop.days_to_maturity
        saved = crop.tray_days / 2 if days.counted_from == "sowing" else 0
        wanted = (days.low + days.high) / 2 - saved

    def of(start):
        return 1 + int(np.argmax(np.cumsum(warm[start - 1 :]) >= wanted - 1e-9))

    return of


def test_each_stays_first_harvest_is_its_start_and_its_own_days(planned_demo, document):
    """In the record's usual warmth, and never after its end."""
    from fieldmap.read.crops import named, packaged_crops

    days = pd.read_csv(planned_demo / "weather.csv", parse_dates=["date"])
    leap = (days["date"].dt.month == 2) & (days["date"].dt.day == 29)
    number = days["date"].dt.strftime("%m-%d").where(~leap, "02-28")
    mean_c = ((days["tmin_c"] + days["tmax_c"]) / 2).groupby(number).mean().to_numpy()
    assert mean_c.shape == (365,)
    stays = document["crop_plan"]["stays"]
    assert len(stays) > 20
    for stay in stays:
        crop = named(stay["crop"], packaged_crops())
        start, harvest, end = (
            pd.Timestamp(f"2001-{stay[key]}").day_of_year
            for key in ("from", "first_harvest", "to")
        )
        if crop.name == "garlic":
            # Lifted in the year after, 260 to 300 days of the calendar on: the middle.
            assert harvest + 365 - start == 280
            continue
        assert harvest - start == own_days_of(crop, mean_c)(start), stay
        assert harvest <= end


def test_each_tunnel_has_dates_under_film_and_with_fabric_inside(
    planned_demo, document
):
    lines = pd.read_csv(planned_demo / "plan" / "dates.csv")
    shown = (planned_demo / "plan" / "map.html").read_text()
    assert document["tunnels"]
    for tunnel in document["tunnels"]:
        within = lines[lines["bed"] == tunnel["name"]]
        assert set(within["crop"]) == {crop["name"] for crop in document["crops"]}
        assert set(within["cover"]) == {"clear_film", "fabric_under_film"}
        assert len(within) == 2 * len(document["crops"])
        assert f"{tunnel['name']}: first and last days" in shown


def test_no_last_sowing_of_the_demo_stands_before_the_first_date(document):
    for bed in document["beds"]:
        for dates in bed["dates"]:
            first, last = dates["early"]["central"], dates["last_sowing"]["central"]
            assert last is None or first <= last, (bed["name"], dates)


def test_the_map_is_small_enough_to_mail(planned_demo):
    assert (planned_demo / "plan" / "map.html").stat().st_size < 8e6


def test_shade_of_the_tree_line_is_in_the_june_sun(planned_demo):
    """East Trees are 14 m tall: ground just west of them loses the morning."""
    import geopandas as gpd

    around = gpd.read_file(planned_demo / "surroundings.geojson")
    with rasterio.open(planned_demo / "plan/layers/sun_mj_m2_day.tif") as dataset:
        june = dataset.read(6)
        trees = around[around["name"] == "East Trees"].to_crs(dataset.crs)
        line = trees.geometry.iloc[0]
        points = [line.interpolate(share, normalized=True) for share in (0.4, 0.5, 0.6)]
        near, far = (
            np.nanmean([june[dataset.index(p.x - off_m, p.y)] for p in points])
            for off_m in (10, 40)
        )
    assert near < 0.9 * far


def test_the_demo_site_is_made_by_its_script(tmp_path):
    """By values: other versions of GDAL may write the same heights in other bytes."""
    import geopandas as gpd

    shutil.copy(ROOT / "demo_site/make_demo_site.py", tmp_path)
    script = tmp_path / "make_demo_site.py"
    subprocess.run([sys.executable, script], check=True, capture_output=True)
    kept = ROOT / "demo_site"
    heights = []
    for folder in (tmp_path, kept):
        with rasterio.open(folder / "elevation.tif") as dataset:
            heights.append(dataset.read(1))
    np.testing.assert_allclose(
        *heights, atol=0.011
    )  # a centimetre may round either way
    for name in (
        "plots.geojson",
        "surroundings.geojson",
        "beds.geojson",
        "marks.geojson",
    ):
        made, there = (gpd.read_file(folder / name) for folder in (tmp_path, kept))
        assert made.geometry.geom_equals_exact(there.geometry, 1e-7).all()
        assert list(made["name"]) == list(there["name"])
    for name in (
        "weather.csv",
        "ridge.csv",
        "happened.csv",
        "thermometers.csv",
        "last_year.csv",
    ):
        assert (tmp_path / name).read_text() == (kept / name).read_text()


def test_beds_near_the_power_line_and_on_wet_ground_say_so_first(document):
    beds = {bed["name"]: bed for bed in document["beds"]}
    # The line crosses the west of the Top Field; the Brook Piece puddles in March.
    near = [
        bed["plot"]
        for bed in beds.values()
        if "overhead power line" in bed["reasons"][0]["text"]
    ]
    assert set(near) == {"Top Field"}
    assert all(
        "Wet in March" in bed["reasons"][0]["text"]
        for bed in beds.values()
        if bed["plot"] == "Brook Piece"
    )
    assert not any("overhead" in one["text"] for one in beds["B1"]["reasons"])


def test_dates_of_the_demo_are_given_and_covers_bring_none_of_them_later(document):
    # Month and day as text sort as days do from January to July.
    for bed in document["beds"]:
        by_crop = {(one["crop"], one["cover"]): one["early"] for one in bed["dates"]}
        for (crop, _), early in by_crop.items():
            bare = by_crop[crop, "none"]
            if early["central"] and bare["central"]:
                assert early["central"] <= bare["central"]


def test_each_change_around_is_worked_out(document):
    names = [one["name"] for one in document["what_ifs"]]
    assert names[1] == "Without the Long Hedge"
    by_bed = {one["name"]: one for one in document["what_ifs"][1]["beds"]}
    # The hedge stands along the south of the Top Field, whose last beds lie behind it.
    behind = min(
        (one for name, one in by_bed.items() if name.startswith("A")),
        key=lambda one: one["cold_air_m"],
    )
    assert behind["cold_air_m"] < -0.2
    assert behind["offset_c"]["low"] >= 0
    far = [one["cold_air_m"] for name, one in by_bed.items() if name.startswith("C")]
    assert abs(np.median(far)) < 0.1
    assert document["weekly_jobs"]


def test_covers_of_the_demo_take_hands_only_in_weeks_with_days_too_warm_for_them(
    document,
):
    """Fabric comes off over 60 °F (15.6 °C), slitted film is opened over 90 °F (32.2 °C).

    In mid-April every second day is over 60 °F, in late November one in twenty: fabric
    that lies out then alone is never opened.
    """
    record = pd.read_csv(ROOT / "demo_site" / "weather.csv", parse_dates=["date"])
    days = record.dropna(subset="tmax_c")
    weeks = (
        pd.to_datetime(
            "2001-" + days["date"].dt.strftime("%m-%d"), errors="coerce"
        ).dt.day_of_year
        - 1
    ) // 7
    limits_c = {"light_fabric": 15.6, "slitted_film": 32.2}
    warm = {
        kind: (days["tmax_c"] > limit_c).groupby(weeks).mean() >= 1 / 7
        for kind, limit_c in limits_c.items()
    }
    lengths_m = {bed["name"]: bed["length_m"] for bed in document["beds"]}
    minutes = [0.0] * 53
    for stay in document["crop_plan"]["stays"]:
        for use in stay["covers"]:
            if use["kind"] in warm:
                first, last = (
                    (pd.Timestamp(f"2001-{use[end]}").day_of_year - 1) // 7
                    for end in ("from", "to")
                )
                for week in range(first, last + 1):
                    if warm[use["kind"]].get(week, False):
                        length_m = stay["length_m"] or lengths_m[stay["bed"]]
                        minutes[week] += 1 + length_m / 20
    assert document["crop_plan"]["opening_minutes_by_week"] == pytest.approx(
        minutes, abs=0.6
    )


def test_wanted_crops_of_the_demo_have_beds_within_covers_hands_and_families(document):
    year = document["crop_plan"]
    placed: dict[str, int] = {}
    for stay in year["stays"]:
        assert stay["family_of_last_year"] == ""
        by_beds = stay["crop"] not in ("tomato", "snap bean")
        if by_beds and stay["from_gate_end_m"] is None and stay["season"] != "autumn":
            placed[stay["crop"]] = placed.get(stay["crop"], 0) + 1
    # The numbers of site.toml.
    assert placed == {"spinach": 4, "kale": 5, "potato": 8, "squash": 5, "garlic": 2}
    # 60 heads a week: 60 / 0.85 plants, twelve on a metre of three rows, are 6 m; 22
    # weeks from 1 June to 31 October, one or two of which may be too early or too late.
    lettuce = [stay for stay in year["stays"] if stay["crop"] == "lettuce"]
    assert {stay["length_m"] for stay in lettuce} == {6.0}
    assert 20 <= len(lettuce) <= 22
    # 150 tomatoes half a metre apart are 75 m: the four beds of 19 m of T1 hold them all.
    tomato = [stay for stay in year["stays"] if stay["crop"] == "tomato"]
    assert sum(stay["plants"] for stay in tomato) == 150
    assert {stay["bed"] for stay in tomato} == {f"T1/{bed}" for bed in range(1, 5)}
    # What wins little inside leaves the other tunnel to leaves.
    inside = {stay["crop"] for stay in year["stays"] if stay["bed"].startswith("T")}
    assert inside <= {"tomato", "spinach", "lettuce"}
    owned = {"light_fabric": 120.0, "slitted_film": 60.0, "shade_40": 40.0}
    for cover in year["covers"]:
        assert cover["most_used_m"] <= owned.get(cover["kind"], 0.0)
        assert max(cover["used_m_by_week"]) == cover["most_used_m"]
    assert max(year["opening_minutes_by_week"]) <= 45.0
    # The same film serves more than one crop.
    film = {t["crop"] for t in year["stays"] if "slitted_film" in str(t["covers"])}
    assert len(film) > 1
