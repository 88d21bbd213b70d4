"""Every place that pegs lead to: where beds, hoops and bows stand, and files for phones."""

import dataclasses

import gpxpy
import numpy as np
import pyogrio
import pyproj
import pytest
from fields_to_peg import at, narrow, pegged
from made_up import CRS
from shapely.geometry import Polygon, box

from fieldmap.decide.pegging.field_pegs import Tunnel
from fieldmap.decide.pegging.stakes import stakes
from fieldmap.show.files import phone

# The first bed is 25 m long, from (53, 54) to (53.75, 79). Two parts of it get hoops, at
# its ends; the second bed gets none.
HOOPS_M = {"A1": (0.0, 1.5, 3.0, 22.0, 23.5, 25.0), "A3": (6.0, 12.0)}


def level(east, north):
    return np.zeros(np.shape(east))


@pytest.fixture(scope="module")
def placed():
    plot, beds = narrow(level)
    return list(stakes([pegged(plot, beds, level)], beds, HOOPS_M, pyproj.CRS(CRS)))


def places(found, of, what):
    return [(s.easting, s.northing) for s in found if (s.of, s.what) == (of, what)]


def test_hoops_stand_on_the_middle_line_where_covers_lie(placed):
    """On the middle of 0.75 m, from the end where the outline begins, at 54 m or at 79.

    The places are alike from both ends.
    """
    hoops = np.array(places(placed, "A1", "hoop")) - at(0, 0)
    assert hoops[:, 0] == pytest.approx(53.375)
    assert sorted(hoops[:, 1]) == pytest.approx([54, 55.5, 57, 76, 77.5, 79])
    assert places(placed, "A2", "hoop") == []


def test_hoops_are_measured_from_the_end_towards_the_gate():
    """The first two corners of a bed are its end towards the gate: here its north end."""
    plot, (first, *_others) = narrow(level)
    corners = [at(53.75, 79), at(53, 79), at(53, 54), at(53.75, 54)]
    bed = dataclasses.replace(first, outline=Polygon(corners))
    field = pegged(plot, [bed], level)
    found = stakes([field], [bed], {"A1": (6.0, 12.0)}, pyproj.CRS(CRS))
    hoops = np.array(places(list(found), "A1", "hoop")) - at(0, 0)
    assert hoops[:, 1] == pytest.approx([79 - 6, 79 - 12])


def test_the_middle_line_ends_half_a_width_from_both_corners(placed):
    ends = sorted(places(placed, "A1", "middle"))
    assert np.array(ends) == pytest.approx(np.array([at(53.375, 54), at(53.375, 79)]))
    corners = {(53.0, 54.0), (53.75, 54.0), (53.0, 79.0), (53.75, 79.0)}
    found = np.array(places(placed, "A1", "bed corner")) - at(0, 0)
    assert set(map(tuple, np.round(found, 3).tolist())) == corners


def test_pegs_of_a_bay_are_said_to_be_corners_of_its_first_and_last_bed(placed):
    corners = [stake for stake in placed if stake.what == "corner"]
    assert len(corners) == 4
    assert {stake.of for stake in corners} <= {"A1-A12", "A12-A1"}


def test_bows_stand_along_both_sides_of_a_tunnel():
    """6 m by 4 m, bows every 1.5 m: five on each side; the ends are half way across."""
    plot, _ = narrow(level)
    tunnel = Tunnel("T1", box(*at(60, 60), *at(64, 66)), 6.0, 4.0, 0.0, 1.5)
    field = pegged(plot, [], level, tunnels=[tunnel])
    found = list(stakes([field], [], {}, pyproj.CRS(CRS)))
    bows = np.array(places(found, "T1", "bow")) - at(0, 0)
    wanted = {(east, 60 + 1.5 * bow) for east in (60.0, 64.0) for bow in range(5)}
    assert set(map(tuple, np.round(bows, 3).tolist())) == wanted
    ends = np.array(places(found, "T1", "end")) - at(0, 0)
    assert {tuple(end) for end in np.round(ends, 3).tolist()} == {(62, 60), (62, 66)}


def test_degrees_and_metres_are_one_place_and_the_file_warns_of_phones(
    placed, tmp_path
):
    to_site = pyproj.Transformer.from_crs("EPSG:4326", CRS, always_xy=True)
    file = tmp_path / "stakes.gpx"
    phone.write_pegs(placed, file)
    shown = [each for each in placed if each.what in ("corner", "landmark")]
    points = gpxpy.parse(file.read_text()).waypoints
    assert len(points) == len(shown) > 4
    for point, stake in zip(points, shown, strict=True):
        east, north = to_site.transform(point.longitude, point.latitude)
        assert np.hypot(east - stake.easting, north - stake.northing) < 0.01
        # Every plot has a south-west corner: its plot is named with it.
        assert stake.what != "landmark" or point.name.startswith(f"{stake.of}: ")
    assert len(pyogrio.read_dataframe(file, layer="waypoints")) == len(shown)
    assert all("never to set a peg" in point.description for point in points)
