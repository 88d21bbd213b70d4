"""The shadow of a tunnel at noon, and its drain, by geometry."""

from types import SimpleNamespace

import numpy as np
import pytest
from shapely.geometry import box

from fieldmap.decide.tunnels.describe import drain_line, drain_m, noon_shadow
from fieldmap.model.settings import TunnelSize

SIZE = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
JUNE, DECEMBER = 5, 11


def tunnel(to_deg=180.0):
    """20 m from west to east, 6 m from south to north."""
    rain = SimpleNamespace(to_deg=to_deg)
    return SimpleNamespace(outline=box(0, 0, 20, 6), size=SIZE, rain=rain)


@pytest.mark.parametrize(
    ("latitude", "month", "north_m"),
    [
        # The sun stands 45° high where latitude and declination (23.3° in mid-June) are
        # 45° apart: a shadow as long as the tunnel is high.
        (68.3, JUNE, 3.0),
        (-68.3, DECEMBER, -3.0),
        (23.3, JUNE, 0.0),
    ],
)
def test_the_shadow_at_noon_is_as_long_as_the_sun_is_low(latitude, month, north_m):
    shadow = noon_shadow(tunnel(), latitude, month, 0.0)
    assert shadow.area == pytest.approx(20.0 * abs(north_m), abs=2.0)
    if north_m:
        south, north = shadow.bounds[1], shadow.bounds[3]
        assert (north - 6.0 if north_m > 0 else south) == pytest.approx(
            north_m, abs=0.1
        )


def test_the_shadow_of_mid_march_is_that_of_coopers_declination():
    """Day 2.5 · 365 / 12 = 76.04: 23.45 · sin(360 · (284 + 76.04) / 365) = -2.00°.

    At 45° the sun is 47.00° off the zenith: 3 · tan 47.00° = 3.217 m.
    """
    shadow = noon_shadow(tunnel(), 45.0, 2, 0.0)
    assert shadow.bounds[3] - 6.0 == pytest.approx(3.217, abs=0.005)


def test_the_shadow_falls_to_true_north():
    """Grid north 90° right of true north puts the shadow in the grid's west."""
    shadow = noon_shadow(tunnel(), 68.3, JUNE, 90.0)
    assert shadow.bounds[0] == pytest.approx(-3.0, abs=0.1)
    assert shadow.bounds[2] <= 0.0 + 1e-6


def test_where_the_noon_sun_hardly_rises_there_is_no_shadow():
    assert noon_shadow(tunnel(), 66.0, DECEMBER, 0.0).is_empty


@pytest.mark.parametrize("to_deg", [180.0, 90.0, 135.0, 10.0])
def test_the_drain_lies_uphill_and_is_as_long_as_is_said(to_deg):
    """The ridge points to 90°; downhill is so far off it."""
    line = drain_line(tunnel(to_deg))
    assert line.length == pytest.approx(drain_m(SIZE, to_deg - 90.0))
    uphill = -np.array([np.sin(np.radians(to_deg)), np.cos(np.radians(to_deg))])
    away = np.array(line.centroid.coords[0]) - [10.0, 3.0]
    assert away @ uphill > 0
    assert line.distance(tunnel().outline) == pytest.approx(0.5)
