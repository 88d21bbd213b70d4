"""A plan tells the same dates in its tables, in plan.json and on the map."""

import csv
import itertools
from dataclasses import replace

import jsonschema
import pytest
from clemson import clemson_days
from clemson import made_up_crop as crop
from made_up import CRS, plane, plot_box, site
from pyproj import Transformer

from fieldmap.model.settings import Station
from fieldmap.model.site import WeatherRecord
from fieldmap.plan import make_plan
from fieldmap.show.files import plan_json
from fieldmap.show.files.tables import beds as bed_table
from fieldmap.show.files.tables import dates as date_table
from fieldmap.show.map.tables import beds as beds_on_map


@pytest.fixture(scope="module")
def plan(kept):
    """A whole plan with two crops and two usual covers; its station is in the middle."""
    here = site(plane(east=0.02, north=0.05), {"Home": plot_box(60, 60, 140, 140)})
    east, north = plot_box(99, 99, 101, 101).centroid.coords[0]
    to_degrees = Transformer.from_crs(CRS, 4326, always_xy=True)
    longitude, latitude = to_degrees.transform(east, north)
    station = Station(latitude=latitude, longitude=longitude, elevation_m=100.0)
    made_up = replace(
        here,
        settings=here.settings.model_copy(update={"station": station}),
        weather=WeatherRecord(clemson_days()),
        crops=(crop("early pea", -2.0), crop("bean", 1.0, soil_c=12.0)),
    )
    return make_plan(made_up, kept, lambda step: None)


def dates_csv(plan):
    return date_table.csv(
        ([ranked.bed.name for ranked in plan.beds], plan.dates),
        ([place.name for place in plan.tunnels], plan.tunnel_dates),
    )


def test_every_bed_crop_and_cover_has_a_line_with_dates_in_order(plan):
    lines = list(csv.DictReader(dates_csv(plan).splitlines()))
    wanted = itertools.product(
        [ranked.bed.name for ranked in plan.beds],
        ["early pea", "bean"],
        ["none", "light_fabric", "clear_film"],
    )
    assert [(one["bed"], one["crop"], one["cover"]) for one in lines] == list(wanted)
    for one in lines:
        for kind in ("early", "late"):
            span = [one[f"{kind}_{part}"] for part in ("low", "central", "high")]
            assert span == sorted(span)
        assert float(one["risk"]) == 0.1


def test_plan_json_tells_the_same_dates_and_obeys_its_schema(plan):
    document = plan_json.document(plan) | {"files": []}
    jsonschema.validate(document, plan_json.schema())
    lines = list(csv.DictReader(dates_csv(plan).splitlines()))
    dates = [one for bed in document["beds"] for one in bed["dates"]]
    assert [one["early"]["central"] for one in dates] == [
        line["early_central"] for line in lines
    ]
    station = document["crops"][1].pop("station")
    assert (station["limit_c"], station["autumn_limit_c"]) == (1.0, 1.0)
    rule = document["crops"][1].pop("published_rule")
    assert rule["first"] < rule["last"]
    assert (rule["days_after_rule"] > 0) == (rule["here"] > rule["last"])
    assert document["crops"][1] == {
        "name": "bean",
        "class": "tender",
        "start": "sow",
        "risk": 0.1,
        "autumn_risk": 0.5,
    }


def test_beds_csv_has_the_first_date_of_each_class(plan):
    (first, *_) = csv.DictReader(
        bed_table.csv(plan.beds, plan.dates, "metric").splitlines()
    )
    lines = csv.DictReader(dates_csv(plan).splitlines())
    uncovered = [line for line in lines if line["cover"] == "none"]
    here = [line["early_central"] for line in uncovered if line["bed"] == first["name"]]
    assert first["early_tender"] == min(here)
    assert first["early_hardy"] == ""


def test_the_map_says_from_when_and_at_what_risk(plan):
    table = beds_on_map.beds(plan)
    at = table.columns.index("First day without a cover")
    ranked = plan.beds[int(table.rows[0].id.rsplit("-", 1)[1])]
    assert ranked.bed.name == table.rows[0].cells[0]
    pea, bean = table.rows[0].cells[at].split("\n")
    assert pea.startswith("early pea from ")
    assert bean.startswith("bean from ")
    assert len(table.rows[0].cells) == len(table.columns)
    assert table.notes[0] == (
        "After the date for early pea and bean, a harmful frost comes at most 1 year in 10."
    )
    assert any("have spare plants" in note for note in table.notes)
