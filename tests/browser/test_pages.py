"""Pages beside the map: a checker of access finds no fault in them."""

import dataclasses
from types import SimpleNamespace

from browser import faults_in_file
from made_up import beds_in, plane, plot_box, site

from fieldmap.decide import tonight
from fieldmap.decide.tonight.evening_round import evening_round
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.model.estimate import Estimate
from fieldmap.read.crops import packaged_crops
from fieldmap.review import compare
from fieldmap.show import files
from fieldmap.show.files import compare as compare_page
from fieldmap.show.files import tonight as tonight_page
from fieldmap.show.map import still
from fieldmap.show.text.decide import tonight as words

PLOT = plot_box(40, 40, 80, 60)


def test_no_fault_in_the_page_that_compares(hedged_plan, tmp_path, browser):
    other = dataclasses.replace(
        hedged_plan,
        site=dataclasses.replace(
            hedged_plan.site,
            settings=hedged_plan.site.settings.model_copy(update={"name": "other"}),
        ),
    )
    # Names too wide for a phone, so that the table has to be moved sideways.
    found = dataclasses.replace(
        compare.compare([hedged_plan, other]),
        names=("HighestOfAllPlots", "LowestOfAllPlots"),
    )
    picture = next(still.pictures(hedged_plan)).uri
    compare_page.write(found, [picture] * 2, tmp_path / "compare.html", "metric")
    assert faults_in_file(browser, tmp_path / "compare.html") == []


def test_no_fault_in_the_page_of_the_folder(hedged_plan, tmp_path, browser):
    drawn = {"map.html": "<html>map</html>", "sheets/crew.pdf": b"%PDF-1.7 pages"}
    files.write(hedged_plan, tmp_path / "out", drawn)
    assert faults_in_file(browser, tmp_path / "out" / "index.html") == []


def test_no_fault_in_the_page_of_tonight(tmp_path, browser):
    station = {"latitude": 45.0, "longitude": 14.0, "elevation_m": 100.0}
    made = site(
        plane(), {"Home": PLOT}, crops=[{"name": "tomato"}], covers=[], station=station
    )
    made = dataclasses.replace(made, crops=(packaged_crops()["tomato"],))
    beds = [
        SimpleNamespace(bed=bed, offset_c=Estimate(0.0, 0.0, 0.0))
        for bed in beds_in(PLOT)[:2]
    ]
    advice = tonight.advise(evening_round(made, beds), Forecast(3.5, "clear", "calm"))
    said = words.in_words(advice, made.settings.name, made.settings.units)
    tonight_page.write(said, tmp_path / "tonight.html")
    assert faults_in_file(browser, tmp_path / "tonight.html") == []
