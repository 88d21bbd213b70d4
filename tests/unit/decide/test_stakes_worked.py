"""Stakes along a tape, each with its metres worked by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
from made_up import CRS
from shapely.geometry import Polygon, box

from fieldmap.decide import stakes
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.stakes import TapeRow

# On the central meridian of zone 33, 15° east.
EAST, NORTH = 500000.0, 5000000.0


def bed(name, west, south, east, north, *, exists=False):
    outline = box(EAST + west, NORTH + south, EAST + east, NORTH + north)
    return bed_on(name, outline, exists=exists)


def bed_on(name, outline, *, exists=False):
    field = name.rstrip("0123456789")
    return Bed(name, "Home", outline, 10.0, 1.0, 0.0, exists, field=field, block=1)


def tunnel(west, south, east, north, bearing_deg, name="T1"):
    outline = box(EAST + west, NORTH + south, EAST + east, NORTH + north)
    return SimpleNamespace(name=name, outline=outline, bearing_deg=bearing_deg)


def placed(beds=(), tunnels=(), hoops=(), convergence_deg=0.0):
    return stakes.place_stakes(CRS, convergence_deg, beds, tunnels, dict(hoops))


def told(found):
    """Stakes as (of, what, number, along, out)."""
    return [(s.of, s.what, s.number, s.along_m, s.out_m) for s in found.stakes]


TWO = [bed("A1", 0, 0, 1, 10), bed("A2", 2, 2, 3, 9)]


def test_two_beds_to_the_north_of_a_tape_that_runs_east():
    """The tape is 3 m long at the southern end; the farthest stake is 10 m out.

    Bed A1 lies at 0 to 1 m, A2 at 2 to 3 m and from 2 to 9 m out. A single hoop gets no
    stake; three stand 5 m apart on the middle line.
    """
    found = placed(TWO, hoops={"A1": 3, "A2": 1}.items())
    assert told(found) == [
        ("A/1", "tape", 1, 0.0, 0.0),
        ("A/1", "tape", 2, 3.0, 0.0),
        ("A/1", "tape", 3, 0.0, 10.0),
        ("A1", "corner", 1, 0.0, 0.0),
        ("A1", "corner", 2, 1.0, 0.0),
        ("A1", "corner", 3, 0.0, 10.0),
        ("A1", "corner", 4, 1.0, 10.0),
        ("A1", "middle", 1, 0.5, 0.0),
        ("A1", "middle", 2, 0.5, 10.0),
        ("A1", "hoop", 1, 0.5, 0.0),
        ("A1", "hoop", 2, 0.5, 5.0),
        ("A1", "hoop", 3, 0.5, 10.0),
        ("A2", "corner", 1, 2.0, 2.0),
        ("A2", "corner", 2, 3.0, 2.0),
        ("A2", "corner", 3, 2.0, 9.0),
        ("A2", "corner", 4, 3.0, 9.0),
        ("A2", "middle", 1, 2.5, 2.0),
        ("A2", "middle", 2, 2.5, 9.0),
    ]
    (line,) = found.baselines
    assert (line.block, line.bearing_deg, line.side) == ("A/1", 90.0, "left")
    assert (line.length_m, line.out_m) == (3.0, 10.0)
    assert line.start == (EAST, NORTH)
    assert line.end == (EAST + 3.0, NORTH)
    # √(9 + 100).
    assert line.diagonal_m == pytest.approx(10.44031)
    assert stakes.tape_rows(found.stakes, "A/1") == [
        TapeRow("A1", 0.0, 1.0, 0.0, 10.0),
        TapeRow("A2", 2.0, 3.0, 2.0, 7.0),
    ]
    assert stakes.tape_rows(found.stakes, "B") == []


def test_coordinates_are_those_of_the_ground_in_metres_and_degrees():
    stake = placed(TWO).stakes[1]
    assert (stake.easting, stake.northing) == (EAST + 3.0, NORTH)
    # 3 m at 45.15° north are 3 / (111 320 · cos 45.15°) = 0.0000382°; the scale on the
    # central meridian is 0.9996. 5 000 km from the equator is 45.15° (4 977 km at 45°,
    # 111.14 km to a degree, and 1/0.9996).
    assert stake.longitude - 15.0 == pytest.approx(3.82e-5, abs=0.02e-5)
    assert stake.latitude == pytest.approx(45.153, abs=0.01)


def test_an_outline_drawn_from_the_north_gives_a_tape_at_the_northern_end():
    """Looking east from the north-west corner, the bed lies on the right."""
    corners = [(0, 10), (0, 0), (1, 0), (1, 10)]
    outline = Polygon([(EAST + x, NORTH + y) for x, y in corners])
    found = placed([bed_on("A1", outline)])
    (line,) = found.baselines
    assert (line.start, line.side) == ((EAST, NORTH + 10.0), "right")
    assert line.bearing_deg == 90.0
    assert told(found)[3:7] == [
        ("A1", "corner", 1, 0.0, 0.0),
        ("A1", "corner", 2, 1.0, 0.0),
        ("A1", "corner", 3, 0.0, 10.0),
        ("A1", "corner", 4, 1.0, 10.0),
    ]


@pytest.mark.parametrize(
    ("corners", "start_m", "side"),
    [
        # The first long side runs east: the tape lies at the western ends.
        ([(0, 0), (10, 0), (10, 1), (0, 1)], 0.0, "right"),
        # It runs west: at the eastern ends.
        ([(10, 0), (10, 1), (0, 1), (0, 0)], 10.0, "left"),
    ],
)
def test_beds_that_run_east_get_a_tape_that_points_north(corners, start_m, side):
    outline = Polygon([(EAST + x, NORTH + y) for x, y in corners])
    found = placed([bed_on("A1", outline), bed("A2", 1, 2, 9, 3)])
    (line,) = found.baselines
    assert line.start == (EAST + start_m, NORTH)
    assert line.end == (EAST + start_m, NORTH + 3.0)
    assert (line.bearing_deg, line.side) == (0.0, side)
    assert stakes.tape_rows(found.stakes, "A/1") == [
        TapeRow("A1", 0.0, 1.0, 0.0, 10.0),
        TapeRow("A2", 2.0, 3.0, 1.0, 8.0),
    ]


def test_a_bed_turned_by_three_four_five():
    """Long side (6, 8), 10 m; short side (-0.8, 0.6) to its left, 1 m.

    The tape runs square to it from its most western end: from (-0.8, 0.6) along
    (0.8, -0.6), whose bearing is atan2(0.8, -0.6) = 126.87°.
    """
    corners = np.array([(0, 0), (6, 8), (5.2, 8.6), (-0.8, 0.6)])
    outline = Polygon(corners + np.array((EAST, NORTH)))
    (line,) = placed([bed_on("A1", outline)]).baselines
    assert line.start == pytest.approx((EAST - 0.8, NORTH + 0.6))
    assert line.end == pytest.approx((EAST, NORTH))
    assert line.bearing_deg == pytest.approx(126.8699)
    assert (line.length_m, line.out_m) == pytest.approx((1.0, 10.0))
    assert line.side == "left"


def test_beds_that_lie_there_already_want_no_stakes():
    found = placed([bed("North", 0, 0, 1, 10, exists=True), *TWO])
    assert [line.block for line in found.baselines] == ["A/1"]
    assert placed([bed("North", 0, 0, 1, 10, exists=True)]) == ((), ())


def test_blocks_are_staked_one_by_one_and_then_tunnels():
    beds = [TWO[0], bed("Ab1", 20, 0, 21, 10), TWO[1]]
    found = placed(beds, [tunnel(40, 0, 46, 20, 0.0), tunnel(50, 0, 56, 20, 0.0, "T2")])
    assert [line.block for line in found.baselines] == ["A/1", "Ab/1", "T1", "T2"]
    assert list(dict.fromkeys(s.block for s in found.stakes)) == [
        "A/1",
        "Ab/1",
        "T1",
        "T2",
    ]
    assert list(dict.fromkeys(s.of for s in found.stakes if s.block == "A/1")) == [
        "A/1",
        "A1",
        "A2",
    ]


def test_a_tunnel_is_staked_along_its_long_side():
    """30 m from west to east, 6 m wide: a tape of 30 m, stakes 6 m out, ends at 3 m."""
    found = placed(tunnels=[tunnel(0, 20, 30, 26, 90.0)])
    (line,) = found.baselines
    assert (line.length_m, line.out_m) == pytest.approx((30.0, 6.0))
    assert line.bearing_deg == pytest.approx(90.0)
    # Along the northern side, with the tunnel to the right.
    assert line.start == pytest.approx((EAST, NORTH + 26.0))
    assert line.side == "right"
    assert told(found)[3:] == [
        ("T1", "corner", 1, 0.0, 0.0),
        ("T1", "corner", 2, 30.0, 0.0),
        ("T1", "corner", 3, 0.0, 6.0),
        ("T1", "corner", 4, 30.0, 6.0),
        ("T1", "end", 1, 0.0, 3.0),
        ("T1", "end", 2, 30.0, 3.0),
    ]


def test_bearings_are_from_true_north():
    """Where grid north lies 2° east of true north, east on the grid is 92°."""
    tunnels = [tunnel(0, 20, 30, 26, 92.0)]
    found = placed(TWO, tunnels, convergence_deg=2.0)
    assert [line.bearing_deg for line in found.baselines] == pytest.approx([92.0, 92.0])
    assert found.baselines[1].length_m == pytest.approx(30.0)
    east = placed([bed("A1", 0, 0, 10, 1)], convergence_deg=-2.0)
    assert east.baselines[0].bearing_deg == pytest.approx(358.0)
