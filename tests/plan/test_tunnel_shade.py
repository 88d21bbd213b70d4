"""Light of beds beside a tunnel of a whole plan, against rays through its box.

The rays are those of `exact_light`: sun every five minutes from pvlib, an even sky in
patches; on level ground, in coordinates along and across the tunnel.
"""

import numpy as np
import pytest
import shapely
from exact_light import Box, Plane, is_stopped, sun_of, unit
from made_up import plane, plot_box, site

from fieldmap.decide.tunnels.standing import FILM_TWICE
from fieldmap.plan import make_plan

LEVEL = Plane()
MJ_PER_WH = 0.0036
AFTER_M = 12.0  # beds whose middles lie nearer than that to the tunnel


@pytest.fixture(scope="module")
def plan(kept):
    """A level plot with a tunnel that the search placed, and beds around it."""
    ground = plane(rows=200, cols=200)
    tunnel = {"length_m": 12.0, "width_m": 5.0, "height_m": 2.5}
    plots = {"Home": plot_box(60, 60, 130, 120)}
    made_up = site(ground, plots, tunnels=[tunnel], beds={"length_m": 10.0})
    return make_plan(made_up, kept, lambda step: None)


def points_on(outline):
    """Points a quarter of a metre apart in the middle of squares of an outline."""
    west, south, east, north = outline.bounds
    x, y = np.meshgrid(
        np.arange(west + 0.125, east, 0.25), np.arange(south + 0.125, north, 0.25)
    )
    return np.stack([x, y], -1)[shapely.contains_xy(outline, x, y)]


def along_and_across(points, middle, bearing_deg):
    """Points from the middle of the tunnel: to its right, and along it."""
    turn = np.radians(bearing_deg)
    east, north = (np.asarray(points) - middle).T
    return np.stack(
        [
            east * np.cos(turn) - north * np.sin(turn),
            east * np.sin(turn) + north * np.cos(turn),
        ],
        axis=1,
    )


def share_left(tunnel, outline, month):
    """Share of the light of level open ground that is left on a bed."""
    box = Box(
        *(-tunnel.size.width_m / 2, -tunnel.size.length_m / 2),
        *(tunnel.size.width_m / 2, tunnel.size.length_m / 2),
        tunnel.size.height_m,
        passing=FILM_TWICE,
    )
    middle = np.array(tunnel.outline.centroid.coords[0])
    points = along_and_across(points_on(outline), middle, tunnel.bearing_deg)
    beam_ways, dni, step_h, sky = sun_of(month)
    east, north, up = beam_ways
    turned = along_and_across(
        np.stack([east, north], 1), np.zeros(2), tunnel.bearing_deg
    ).T
    stopped = is_stopped(box, points, LEVEL, (*turned, up))
    part = np.where(stopped, FILM_TWICE, 1.0).mean(axis=0)
    beam = dni * up * step_h * MJ_PER_WH
    patches = np.meshgrid(np.arange(1, 90, 2.0), np.arange(1, 360, 2.0))
    ways = unit(*(each.ravel() for each in patches))
    weight = ways[2] * np.hypot(ways[0], ways[1]) * np.radians(2.0) ** 2 / np.pi
    open_sky = np.where(is_stopped(box, points, LEVEL, ways), FILM_TWICE, 1.0)
    lit = part @ beam + open_sky.mean(axis=0) @ weight * sky
    return lit / (beam.sum() + weight.sum() * sky)


@pytest.mark.parametrize("month", [3, 6, 12])
def test_the_shade_of_a_tunnel_on_the_beds_beside_it_agrees_with_rays(plan, month):
    (tunnel,) = plan.tunnels
    light = plan.means.sun_mj_m2_day[month - 1]
    away_m = np.array([each.bed.outline.distance(tunnel.outline) for each in plan.beds])
    in_the_open = light[away_m > 40].max()
    near = np.flatnonzero(away_m < AFTER_M)
    assert len(near) >= 4
    expected = [share_left(tunnel, plan.beds[at].bed.outline, month) for at in near]
    assert min(expected) < 0.99  # something is shaded at all
    assert light[near] / in_the_open == pytest.approx(np.array(expected), rel=0.05)
    # Not only light for light: what is lost is most where the rays say so.
    lost, rays = 1 - light[near] / in_the_open, 1 - np.array(expected)
    assert np.abs(lost - rays).max() < 0.02 + 0.2 * rays.max()
    assert shapely.area(tunnel.outline) == pytest.approx(12.0 * 5.0)
