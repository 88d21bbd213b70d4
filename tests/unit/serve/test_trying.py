"""What the page is given of a night, and how it speaks of what has no name."""

import base64
from types import SimpleNamespace

import made_up
import numpy as np
import pytest
from pyproj import Transformer
from shapely.geometry import box

from fieldmap.analyse.cold_air.flow import central_run
from fieldmap.serve.asked import Called
from fieldmap.serve.ground import frame_around, middle_at
from fieldmap.serve.trying import _named, air

TO_DEGREES = Transformer.from_crs(made_up.CRS, 4326, always_xy=True)


def unpacked(packed):
    """As the page reads it: little-endian whole numbers of steps from the least."""
    whole = np.frombuffer(base64.b64decode(packed["values"]), "<i2")
    values = packed["least"] + packed["step"] * whole
    return values.reshape(packed["rows"], packed["cols"])


def row_of(south_m):
    """A hedge across, 2 m wide."""
    return made_up.plot_box(10, south_m, 190, south_m + 2)


def place(east_m, north_m):
    at = made_up.WEST + east_m, made_up.NORTH - 200 + north_m
    return tuple(TO_DEGREES.transform(*at))


def test_what_has_no_name_is_known_by_where_it_stands():
    # Read without a name, a thing goes by its kind.
    there = made_up.surroundings(
        ("hedge", row_of(50), {"name": "hedge"}),
        ("hedge", row_of(120), {"name": "hedge"}),
        ("hedge", row_of(121), {"name": "Long Hedge"}),
    )
    called = Called(name="hedge north of Home", places=(place(100, 121),))
    named = _named(there, [called])
    assert list(named["name"]) == ["hedge", "hedge north of Home", "Long Hedge"]
    assert list(there["name"]) == ["hedge", "hedge", "Long Hedge"]
    far = Called(name="hedge north of Home", places=(place(100, 90),))
    assert list(_named(there, [far])["name"]) == list(there["name"])


def ready_on(ground, convergence_deg):
    longitude, latitude = place(100, 100)
    middle = middle_at(longitude, latitude)
    frame = frame_around(middle, (-100, -100, 100, 100), ground.cell_size_m)
    site = SimpleNamespace(convergence_deg=convergence_deg)
    return SimpleNamespace(present=SimpleNamespace(site=site), frame=frame)


def test_the_page_is_given_the_way_the_air_runs_from_true_north():
    """A flux of 0.4 m²/s to grid north; where true = grid + 30°, sin 30° of it runs east."""
    depth = made_up.plane().with_values(np.ones((3, 200, 200)))
    night = made_up.night(depth, north_m2_s=0.4)
    night = night.__class__(
        **{
            **vars(night),
            "east_m2_s": night.east_m2_s[0],
            "north_m2_s": night.north_m2_s[0],
        }
    )
    arrows = air(ready_on(depth, 30.0), night)
    inside = np.s_[20:-20, 20:-20]
    assert unpacked(arrows["east"])[inside] == pytest.approx(0.2, abs=0.006)
    assert unpacked(arrows["north"])[inside] == pytest.approx(0.346, abs=0.006)


def test_air_that_does_not_run_has_no_arrow():
    """Less than 0.05 m²/s counts as still, as on the map (a choice, no source)."""
    depth = made_up.plane().with_values(np.ones((3, 200, 200)))
    night = made_up.night(depth, north_m2_s=0.04)
    night = night.__class__(
        **{
            **vars(night),
            "east_m2_s": night.east_m2_s[0],
            "north_m2_s": night.north_m2_s[0],
        }
    )
    arrows = air(ready_on(depth, 0.0), night)
    assert not unpacked(arrows["north"])[20:-20, 20:-20].any()
    assert air(ready_on(depth, 0.0), None) is None


def test_the_run_that_is_tried_is_the_one_that_a_night_shows():
    east, north = made_up.WEST + 200, made_up.NORTH - 200
    plot = box(east - 20, north - 20, east + 20, north + 20)
    site = made_up.site(
        made_up.plane(200, 200, north=0.1, cell_size_m=2.0), {"Home": plot}
    )
    night = made_up.analysed_in_the_dark(site).cold_air.night
    around = site.plots, site.surroundings
    run = central_run(night.ground, *around, night.length_h, made_up.IN_MEMORY)
    assert run.depth_m.values == pytest.approx(
        night.depth_m.values, abs=1e-3, nan_ok=True
    )
    for one, other in (
        (run.east_m2_s, night.east_m2_s),
        (run.north_m2_s, night.north_m2_s),
    ):
        assert one == pytest.approx(other, abs=1e-4, nan_ok=True)
    # Ground that rises to the north sheds its air to the south (Newton's second law).
    assert np.nanmean(run.north_m2_s) < -0.01
