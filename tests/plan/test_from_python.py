"""From Python: the numbers of the files, as tables and grids with units in their names."""

import io
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import rasterio
from site_folder import SiteFolder

import fieldmap

ROOT = Path(__file__).parents[2]
EXAMPLE = """
from pathlib import Path

import fieldmap


def coldest_c(folder: Path) -> float:
    site: fieldmap.Site = fieldmap.read_site(folder)
    plan: fieldmap.Plan = fieldmap.make_plan(site, store=folder, progress=print)
    offset: fieldmap.Grid = fieldmap.grids(plan)["offset_c"]
    names: tuple[str, ...] = offset.bands
    try:
        fieldmap.write_plan(plan, folder / "plan")
    except fieldmap.FieldmapError as error:
        print(error, names)
    return float(offset.values.min())
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A plan made from Python, and its folder as written."""
    there = SiteFolder(tmp_path_factory.mktemp("site")).plain()
    there.plots([there.box(275, 285, 325, 315)])
    folder = there.path
    before = sorted(folder.iterdir())
    steps = []
    plan = fieldmap.make_plan(fieldmap.read_site(str(folder)), progress=steps.append)
    assert sorted(folder.iterdir()) == before
    assert steps
    assert all(isinstance(step, str) for step in steps)
    fieldmap.write_plan(plan, folder / "plan")
    return plan, folder / "plan"


def test_beds_have_the_columns_and_values_of_beds_csv(made):
    plan, folder = made
    beds = fieldmap.tables(plan)["beds"]
    written = pd.read_csv(folder / "beds.csv")
    assert list(beds.drop(columns="geometry").columns) == list(written.columns)
    assert list(beds["name"]) == list(written["name"])
    np.testing.assert_allclose(beds["offset_central_c"], written["offset_central_c"])
    np.testing.assert_allclose(beds.area, written["area_m2"], rtol=1e-3)
    assert beds.crs == plan.site.crs


def test_all_that_has_a_place_is_a_geodataframe_of_one_crs(made):
    plan, folder = made
    found = fieldmap.tables(plan)
    assert set(found) == {
        "plots",
        "beds",
        "tunnels",
        "stakes",
        "cold_pockets",
        "drain_lines",
        "marks",
        "surroundings",
    }
    assert {table.crs for table in found.values()} == {plan.site.crs}
    stakes = found["stakes"]
    written = pd.read_csv(folder / "stakes.csv")
    assert len(stakes) == len(written) > 0
    np.testing.assert_allclose(stakes.geometry.x, written["easting"])
    np.testing.assert_allclose(stakes.to_crs(4326).geometry.y, written["latitude"])
    # A table of what there is none of keeps its columns.
    assert len(found["tunnels"]) == 0
    assert "length_m" in found["tunnels"]


def test_dates_and_stays_are_those_of_their_files(made):
    plan, folder = made
    for table, file in (
        (fieldmap.dates(plan), "dates.csv"),
        (fieldmap.stays(plan), "what_where.csv"),
    ):
        again = pd.read_csv(io.StringIO(table.to_csv(index=False)))
        written = pd.read_csv(folder / file)
        # After the stays stand green manures, and beds in grass.
        stays = written.head(len(again))
        pd.testing.assert_frame_equal(again, stays, check_dtype=False)
        rest = written.iloc[len(again) :]
        assert set(rest.get("season", ())) <= {"for the soil", "untended"}


def test_green_manures_are_those_of_the_plan(made):
    plan, folder = made
    written = json.loads((folder / "plan.json").read_text())["crop_plan"]
    found = fieldmap.green_manures(plan)
    columns = ["bed", "kind", "from_gate_end_m", "length_m", "from", "to"]
    assert list(found.columns) == columns
    assert list(found["bed"]) == [each["bed"] for each in written["green_manures"]]
    table = pd.read_csv(folder / "what_where.csv")
    grass = table.loc[table["season"] == "untended", "bed"]
    assert list(grass) == written["untended"]


def test_grids_are_those_of_the_geotiffs(made):
    plan, folder = made
    found = fieldmap.grids(plan)
    assert set(found) == {path.stem for path in (folder / "layers").glob("*.tif")}
    for name, grid in found.items():
        with rasterio.open(folder / f"layers/{name}.tif") as file:
            np.testing.assert_array_equal(grid.values, file.read())
            assert grid.transform == file.transform
            assert {grid.unit} == set(file.units)
            assert len(grid.bands) == file.count == len(set(grid.bands))
    assert found["sun_mj_m2_day"].bands[5] == "June"


def test_a_profile_writes_a_grid_that_is_read_back(made, tmp_path):
    grid = fieldmap.grids(made[0])["sun_hours"]
    with rasterio.open(tmp_path / "hours.tif", "w", **grid.profile) as file:
        file.write(grid.values)
    with rasterio.open(tmp_path / "hours.tif") as file:
        np.testing.assert_array_equal(file.read(), grid.values)
        assert file.crs == grid.crs


def test_pictures_show_the_whole_ground_that_is_planned(made):
    beds, cold_air = (
        draw(made[0])
        for draw in (fieldmap.picture_of_beds, fieldmap.picture_of_cold_air)
    )
    assert beds.size == cold_air.size
    # The plot is 50 m by 30 m, with the same margin all around.
    width, height = beds.size
    assert width / height == pytest.approx(62 / 42, rel=0.01)
    assert len(beds.convert("RGB").getcolors(1 << 20)) > 100


def test_a_mistake_is_one_sentence(tmp_path):
    with pytest.raises(fieldmap.FieldmapError) as refused:
        fieldmap.read_site(tmp_path / "gone")
    assert str(refused.value).endswith(
        "does not exist; name a folder that holds site.toml, or make one with fieldmap start."
    )


def test_a_strict_checker_knows_the_types_of_what_is_exported(tmp_path):
    """With the project's own strict settings, so that what it has checked is not again."""
    right, wrong = tmp_path / "right.py", tmp_path / "wrong.py"
    right.write_text(EXAMPLE)
    wrong.write_text(EXAMPLE.replace("site: fieldmap.Site", "site: fieldmap.Plan"))
    said = subprocess.run(
        [sys.executable, "-m", "mypy", right, wrong],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
    ).stdout
    faults = [line for line in said.splitlines() if ": error: " in line]
    assert all("wrong.py:" in line for line in faults), said
    assert "Incompatible types in assignment" in faults[0]
