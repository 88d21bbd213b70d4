"""Pages beside the map: a checker of access finds no fault in them."""

from browser import faults_in_file
from made_up import plot_box
from made_up_evening import advice_for, bed, roll, round_of, stand_of, standing

from fieldmap.show import files
from fieldmap.show.files import tonight as tonight_page
from fieldmap.show.text.decide import tonight as words

PLOT = plot_box(40, 40, 80, 60)


def test_no_fault_in_the_page_of_the_folder(hedged_plan, tmp_path, browser):
    drawn = {"map.html": "<html>map</html>", "sheets/crew.pdf": b"%PDF-1.7 pages"}
    files.write(hedged_plan, tmp_path / "out", drawn)
    assert faults_in_file(browser, tmp_path / "out" / "index.html") == []


def test_no_fault_in_the_page_of_tonight(tmp_path, browser):
    here = round_of(
        bed("A1", (-1.0, 0.0, 0.0)), bed("A2"), owned=[roll("light_fabric", 30)]
    )
    stand = stand_of(standing("A1"), standing("A2"))
    advice = advice_for(here, stand, -0.5, dusk_c=4.0)
    said = words.in_words(advice, "Farm", "metric")
    tonight_page.write(said, tmp_path / "tonight.html")
    assert faults_in_file(browser, tmp_path / "tonight.html") == []
