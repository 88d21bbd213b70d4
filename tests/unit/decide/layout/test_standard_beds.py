"""Beds of few lengths on ground of many shapes, checked by geometry of another making.

The bars: 80 % of bed in one or two lengths, and at most 8 % less bed than the densest
layout with the same bays, lanes and headlands, which is searched for here row by row.
"""

import itertools
from collections import Counter
from pathlib import Path

import geopandas as gpd
import numpy as np
import pytest
import shapely
from made_up import NORTH, WEST, analysis, plane, site
from shapely import affinity
from shapely.geometry import Point, Polygon, box

from fieldmap.decide.layout.choose import choose_layouts
from fieldmap.decide.layout.fill import fill_plots
from fieldmap.show.text.decide.layout import reasons

DEMO = Path(__file__).parents[4] / "demo_site" / "plots.geojson"
DISC = Point(0, 0)


def walked():
    """A field of about 130 by 90 m as a phone sees it: 60 points, each 1.2 m off."""
    rng = np.random.default_rng(7)
    around = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    out_m = 45 + 10 * np.sin(2 * around) + 6 * np.sin(3 * around + 1)
    corners = np.stack([1.5 * out_m * np.cos(around), out_m * np.sin(around)], axis=1)
    return [Polygon(corners + rng.normal(0, 1.2, corners.shape))]


def small_plots():
    """25 plots of 8 to 14 by 18 to 26 m, none quite square to the next."""
    rng = np.random.default_rng(7)
    found = []
    for row, col in itertools.product(range(5), range(5)):
        plot = box(0, 0, rng.uniform(8, 14), rng.uniform(18, 26))
        plot = affinity.rotate(plot, rng.uniform(-10, 10))
        found.append(affinity.translate(plot, 30 * col, 35 * row))
    return found


def demo_plots():
    plots = gpd.read_file(DEMO).to_crs(32618)
    plots = plots[plots["name"] != "Barn Garden"]  # which has its own beds
    west, south, _, _ = plots.total_bounds
    return [affinity.translate(plot, -west, -south) for plot in plots.geometry]


SHAPES = {
    "demo": demo_plots,
    "walked": walked,
    "L": lambda: [Polygon([(0, 0), (90, 0), (90, 40), (40, 40), (40, 110), (0, 110)])],
    "crescent": lambda: [DISC.buffer(70).difference(Point(45, 0).buffer(65))],
    "ring": lambda: [DISC.buffer(80).difference(DISC.buffer(35))],
    "25 small plots": small_plots,
}


@pytest.fixture(scope="module", params=SHAPES)
def laid(request):
    """Name of a shape, its outlines by name, and what was laid on them."""
    shapes = SHAPES[request.param]()
    west, south, east, north = shapely.total_bounds(shapes)
    size = int(max(east - west, north - south)) + 40
    moved = [
        affinity.translate(one, WEST + 20 - west, NORTH - size + 20 - south)
        for one in shapes
    ]
    plots = {f"Plot {number}": one for number, one in enumerate(moved)}
    ground = plane(size, size, north=0.01)
    there = site(ground, plots)
    known = analysis(ground)
    filled = fill_plots(there, known, choose_layouts(there, known), [])
    return request.param, plots, filled


def test_most_bed_has_one_or_two_lengths(laid):
    _name, _plots, filled = laid
    by_length = Counter()
    for bed in filled.beds:
        by_length[round(bed.length_m, 6)] += bed.length_m
    metres = sum(by_length.values())
    two = sum(one for _length, one in by_length.most_common(2))
    assert two / metres >= 0.80
    assert two / metres == pytest.approx(filled.standard.standard_share, abs=0.02)


def test_short_beds_that_are_said_are_those_that_lie_there(laid):
    _name, _plots, filled = laid
    for plot in {layout.plot for layout in filled.layouts}:
        said = [
            reason
            for layout in filled.layouts
            if layout.plot == plot
            for reason in reasons(layout, "metric")
            if "shorter than 10 m" in reason
        ]
        lengths_m = [bed.length_m for bed in filled.beds if bed.plot == plot]
        short = sum(length_m < 10 for length_m in lengths_m)
        expected = f"{short} of {len(lengths_m)} beds are shorter than 10 m."
        assert said == ([expected] if short else [])


def test_beds_keep_inside_and_apart(laid):
    """Setback 1 m, headlands 1.5 m at both ends, paths 45 cm and 1.5 m across."""
    _name, plots, filled = laid
    tree = shapely.STRtree([bed.outline for bed in filled.beds])
    for number, bed in enumerate(filled.beds):
        # A notch under 1 mm is none.
        inner = plots[bed.plot].buffer(-1.0 + 0.0015, join_style="mitre")
        corners = shapely.get_coordinates(bed.outline)[:4]
        along = corners[2] - corners[1]
        along = 1.5 * along / np.hypot(*along)
        with_headlands = Polygon(
            [
                corners[0] - along,
                corners[1] - along,
                corners[2] + along,
                corners[3] + along,
            ]
        )
        assert inner.covers(with_headlands)
        near = tree.query(bed.outline.buffer(0.45 - 1e-6, join_style="mitre"))
        others = [filled.beds[at] for at in near if at != number]
        assert all(bed.outline.distance(other.outline) > 0.449 for other in others)
    assert len({bed.name for bed in filled.beds}) == len(filled.beds)


def test_beds_of_a_bay_are_square_to_one_line(laid):
    """Every bed but one whose row lies within its bay begins or ends with its bay."""
    _name, _plots, filled = laid
    pitch_m = filled.standard.lengths.bay_m + 1.5
    for layout in filled.layouts:
        its = [bed for bed in filled.beds if bed.name in set(layout.beds)]
        turn = np.radians(layout.kept.grid_deg)
        way = np.array([np.sin(turn), np.cos(turn)])
        whole = [
            min(shapely.get_coordinates(bed.outline) @ way)
            for bed in its
            if bed.length_m == filled.standard.lengths.bay_m
        ]
        if whole:
            off = (np.array(whole) - whole[0]) / pitch_m
            assert np.abs(off - np.round(off)).max() * pitch_m < 0.02


def clear_rows(ground, low, width_m):
    """Ends of the lengths of a strip that lie on ground turned so that rows run east."""
    west, _, east, _ = ground.bounds
    strip = box(west - 1, low, east + 1, low + width_m)
    blocked = shapely.get_parts(strip.difference(ground.buffer(1e-3)))
    spans = sorted((one.bounds[0], one.bounds[2]) for one in blocked)
    at, found = west - 1, []
    for begin, end in spans:
        if begin > at + 1e-6:
            found.append((at, begin))
        at = max(at, end)
    return found


def densest_m(outline, grid_deg, bay_m):
    """Most metres of bed with the bays, tried row by row for many beginnings."""
    inner = outline.buffer(-1.0, join_style="mitre")
    ground = affinity.rotate(inner, grid_deg - 90.0, origin=(WEST, NORTH))
    _, south, _, north = ground.bounds
    best = 0.0
    for first in np.arange(0.0, 1.2, 0.15):
        rows = [
            (begin + 1.5, end - 1.5)
            for low in np.arange(south + first, north - 0.75, 1.2)
            for begin, end in clear_rows(ground, low, 0.75)
            if end - begin >= 7.0
        ]
        if not rows:
            continue
        begin, end = np.array(rows).T
        for phase in np.arange(0.0, bay_m + 1.5, 0.5):
            start = begin.min() - phase
            metres = 0.0
            while start < end.max():
                held = np.minimum(end, start + bay_m) - np.maximum(begin, start)
                metres += held[held >= 4.0].sum()
                start += bay_m + 1.5
            best = max(best, metres)
    return best


def test_little_bed_is_given_up_for_few_lengths(laid):
    _name, plots, filled = laid
    most_m = sum(
        densest_m(plots[each.plot], each.kept.grid_deg, filled.standard.lengths.bay_m)
        for each in filled.layouts
    )
    metres = sum(bed.length_m for bed in filled.beds)
    assert metres >= 0.92 * most_m
    # What the plan says of it is the same, but for beginnings that one of both missed.
    assert 1 - metres / most_m == pytest.approx(filled.standard.lost_share, abs=0.02)
