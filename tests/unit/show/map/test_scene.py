"""What the drawing is given: places, packed numbers, lines of height, crowns."""

import base64
import io

import numpy as np
import pyproj
import pytest
import shapely
from made_up import CRS, NORTH, WEST, plane, plot_box, raster
from PIL import Image
from shapely.geometry import Polygon, box

from fieldmap.decide.layout.beds import Bed
from fieldmap.model.coordinates import WGS84
from fieldmap.show.contours import lines_at
from fieldmap.show.map.scene import contours, crowns, fields, packed, things
from fieldmap.show.map.scene.frame import frame_around

AROUND = (WEST, NORTH - 200, WEST + 200, NORTH)
FRAME = frame_around(AROUND, CRS)


def unpacked(lines):
    """Lines as the page reads them, by Python's own tools."""
    points = np.frombuffer(base64.b64decode(lines["points"]), "<i2") * lines["unit"]
    starts = np.frombuffer(base64.b64decode(lines["starts"]), "<u4")
    return np.split(points.reshape(-1, 2), starts[1:-1])


# ---- The frame


@pytest.mark.parametrize("turn", [0.0, 40.0, 90.0, 200.0])
def test_a_length_in_the_frame_is_that_on_the_ellipsoid(turn):
    # By Karney's geodesics as pyproj has them, which share nothing with Web Mercator.
    geod = pyproj.Geod(ellps="WGS84")
    start = np.array([[WEST + 100, NORTH - 100]])
    lon, lat = pyproj.Transformer.from_crs(CRS, WGS84, always_xy=True).transform(
        *start[0]
    )
    far = geod.fwd(lon, lat, turn, 100.0)[:2]
    length = np.hypot(*np.diff(FRAME.points([(lon, lat), far], WGS84), axis=0)[0])
    # Web Mercator takes the earth as a sphere: half a per cent off at most.
    assert length == pytest.approx(100.0, rel=0.005)


def test_the_middle_of_what_is_planned_is_the_middle_of_the_frame():
    middle = FRAME.points([(WEST + 100, NORTH - 100)], CRS)
    assert np.abs(middle).max() < 0.01
    origin = FRAME.origin()
    assert FRAME.points([(origin["lon"], origin["lat"])], WGS84) == pytest.approx(
        np.zeros((1, 2)), abs=0.01
    )


# ---- Packed numbers


def test_lines_come_back_to_half_of_their_unit():
    draw = np.random.default_rng(7)
    lines = [draw.uniform(-900, 900, (n, 2)) for n in (2, 5, 3)]
    back = unpacked(packed.lines(lines, 0.05))
    assert [len(line) for line in back] == [2, 5, 3]
    assert max(np.abs(a - b).max() for a, b in zip(back, lines, strict=True)) <= 0.0251


def test_no_lines_are_no_lines():
    assert unpacked(packed.lines([]))[0].shape == (0, 2)


def test_a_place_along_a_ramp_is_kept_to_half_a_step_and_the_unknown_stays_unknown():
    places = np.array([0.0, 0.25, 1.0, np.nan])
    codes = np.frombuffer(base64.b64decode(packed.codes(places)), "u1")
    assert codes[3] == 255
    assert np.abs(codes[:3] / 254 - places[:3]).max() <= 0.5 / 254


# ---- Lines of height


def test_higher_ground_lies_to_the_left_of_a_line():
    # Ground that rises to the east: from south to north the left hand is the west,
    # so lines run from north to south.
    (line,) = lines_at(plane(50, 50, east=0.1), 102.0)
    assert line[0, 1] > line[-1, 1]


def test_lines_of_a_plane_lie_where_its_equation_puts_them():
    rise = 0.08
    ground = plane(100, 100, north=rise)
    found = contours.contours(ground, plot_box(20, 120, 80, 180), FRAME, "metric")
    heights = np.frombuffer(base64.b64decode(found["heights"]), "<i4")
    lines = unpacked(found["lines"])
    assert found["slope"] == pytest.approx(rise, abs=1e-4)
    checked = 0
    for height, line in zip(heights, lines, strict=True):
        # Smoothing bends what lies within three of its widths of the edge.
        northing = NORTH + (height * found["finest_m"] - 100.0) / rise
        if NORTH - 85 < northing < NORTH - 15:
            expected = FRAME.points([(WEST + 50, northing)], CRS)[0, 1]
            inner = np.abs(
                line[:, 0] - FRAME.points([(WEST + 50, northing)], CRS)[0, 0]
            )
            assert line[inner < 30, 1] == pytest.approx(expected, abs=0.25)
            checked += 1
    assert checked > 15


def test_ground_of_unknown_height_has_no_lines():
    nowhere = raster(np.full((30, 30), np.nan))
    found = contours.contours(nowhere, box(*AROUND), FRAME, "metric")
    assert found["heights"] == ""
    assert found["slope"] == 0.0


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_height_is_drawn_once(units):
    found = contours.contours(
        plane(100, 100, east=0.1), plot_box(0, 100, 100, 200), FRAME, units
    )
    heights = np.frombuffer(base64.b64decode(found["heights"]), "<i4")
    assert len(heights) == len(set(heights.tolist()))


# ---- Crowns


def test_crowns_of_a_hedge_stand_on_it_and_cover_most_of_it():
    hedge = shapely.affinity.rotate(box(0, 0, 80, 2), 25)
    found = crowns.crowns(hedge)
    discs = shapely.union_all(shapely.points(found[:, :2]).tolist()).buffer(1.0)
    assert all(hedge.buffer(0.4).contains(shapely.points(found[:, :2])))
    assert discs.intersection(hedge).area > 0.8 * hedge.area


def test_a_round_outline_is_one_tree_of_its_area():
    ((east, north, radius),) = crowns.crowns(shapely.Point(3, 4).buffer(2.5))
    assert (east, north) == pytest.approx((3, 4), abs=1e-6)
    assert radius == pytest.approx(2.5, rel=0.01)


def test_the_same_outline_has_the_same_crowns():
    wood = box(0, 0, 60, 45)
    assert (crowns.crowns(wood) == crowns.crowns(wood)).all()
    assert len(crowns.crowns(wood)) > 40


def test_a_large_wood_has_no_more_crowns_than_can_be_drawn():
    assert len(crowns.crowns(box(0, 0, 900, 700))) < 1.3 * crowns.MOST_CROWNS


def test_the_width_of_a_rectangle_is_its_short_side():
    assert crowns.width_m(box(0, 0, 12, 5)) == pytest.approx(5.0)


# ---- Fields


def grey_and_alpha(picture):
    png = base64.b64decode(picture["uri"].split(",", 1)[1])
    return np.asarray(Image.open(io.BytesIO(png)).convert("LA")).astype(int)


def test_missing_cells_of_a_field_are_clear_and_known_ones_have_their_place():
    places = np.full((80, 80), 0.5)
    places[:, :30] = np.nan
    shown = grey_and_alpha(fields.field(raster(places), "cold", FRAME, {})["picture"])
    rows, cols = shown.shape[:2]
    west, inner = shown[rows // 2, cols // 8], shown[rows // 2, int(cols * 0.6)]
    assert west[1] == 0
    assert inner[0] == pytest.approx(127, abs=1)
    assert inner[1] > 200


def test_a_field_of_which_nothing_is_known_draws_nothing():
    found = fields.field(
        raster(np.full((30, 30), np.nan)), "cold", FRAME, {0.5: "half"}
    )
    assert not grey_and_alpha(found["picture"])[..., 1].any()
    assert found["said"] == []


def test_the_line_of_a_place_lies_where_the_field_has_it():
    x = np.arange(100) / 99
    found = fields.field(
        raster(np.tile(x, (100, 1))), "cold", FRAME, {0.5: "half", 2.0: "never"}
    )
    (line,) = unpacked(found["lines"])
    east = FRAME.points([(WEST + 50.0, NORTH - 50)], CRS)[0, 0]
    assert found["said"] == ["half"]
    assert line[:, 0] == pytest.approx(east, abs=0.3)


# ---- Hoops


def test_hoops_are_drawn_where_covers_lie_from_the_end_towards_the_gate():
    """A bed whose outline begins in the north: hoops 5 and 20 m from there."""
    west, south = WEST + 100, NORTH - 100
    ends = [(0.75, 25), (0, 25), (0, 0), (0.75, 0)]
    first, second = (
        Bed(
            name,
            "Home",
            Polygon([(west + aside + east, south + north) for east, north in ends]),
            *(25.0, 0.75, 0.0),
        )
        for name, aside in (("A1", 0.0), ("A2", 1.2))
    )
    hoops_m = {"A1": (5.0, 20.0)}
    found = things.beds([first, second], ["Home"], hoops_m, (FRAME, CRS, "metric"))
    middles, none = unpacked(found["hoops"])
    wanted = [(west + 0.375, south + north) for north in (20, 5)]
    assert middles == pytest.approx(FRAME.points(wanted, CRS), abs=0.03)
    assert none.size == 0
