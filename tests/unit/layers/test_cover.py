"""Covers: printed gains of covers, Fresnel's formulas, and light under a curve."""

import dataclasses
import datetime as dt
import itertools

import hypothesis
import hypothesis.strategies as st
import numpy as np
import pvlib
import pytest

from layers import cover, sunlight
from layers.cover import COVERS, Film, OpenLight, Range, Vault

PER_DEG_F = 5 / 9
WALK_IN = Vault(7.3, 3.0)
ANGLES = st.floats(0, 90)
FILMS = st.builds(
    Film, st.sampled_from([1, 2]), st.floats(1.01, 2.5), st.floats(0.01, 1.0)
)
VAULTS = st.builds(Vault, st.floats(0.5, 12), st.floats(0.3, 6))
# Floor transmittance of one film 7.3 x 3.0 m, beam only, ridge east-west / north-south,
# on 21 December, 16 February, 21 March and 21 June. From another program for the same
# optics, whose days are weighted otherwise: agreement is expected within 0.02.
DAYS = [dt.date(2025, *day) for day in ((12, 21), (2, 16), (3, 21), (6, 21))]
PRINTED = {
    30: [(0.882, 0.836), (0.870, 0.863), (0.847, 0.877), (0.846, 0.884)],
    40: [(0.887, 0.789), (0.876, 0.843), (0.852, 0.869), (0.843, 0.883)],
    50: [(0.890, 0.695), (0.882, 0.803), (0.858, 0.855), (0.841, 0.881)],
    60: [(0.892, 0.497), (0.888, 0.725), (0.863, 0.828), (0.838, 0.877)],
}


def open_light(latitude_deg, days, *, with_sky):
    """Cloudless light of some days on level ground without a skyline."""
    place = sunlight.Place(latitude_deg, 0.0, 0.0, 0.0)
    path = sunlight.sun_path(days, place)
    sky = sunlight.clear_sky(path, place, "isotropic")
    rise = np.sin(np.radians(np.maximum(path.altitude_deg, 0)))
    diffuse = float(sky.dhi_w_m2.sum()) if with_sky else 0.0
    return OpenLight(path.altitude_deg, path.azimuth_deg, sky.dni_w_m2 * rise, diffuse)


def day_share(latitude_deg, day, film):
    """Beam share of a day for a ridge east-west and one north-south."""
    light = open_light(latitude_deg, [day], with_sky=False)
    lit = light.beam > 0
    sun = light.altitude_deg[lit], light.azimuth_deg[lit]
    return tuple(
        np.average(
            cover.beam_share(*sun, bearing, WALK_IN, film), weights=light.beam[lit]
        )
        for bearing in (90, 0)
    )


def share_by_facets(altitude_deg, turn_deg, vault, film):
    """Beam on the floor, carried inwards from each of many flat strips of the cover."""
    edges = np.linspace(0, np.pi, 200_001)
    x, z = vault.width_m / 2 * np.cos(edges), vault.height_m * np.sin(edges)
    run, rise = np.diff(x), np.diff(z)
    length = np.hypot(run, rise)
    altitude, turn = np.radians([altitude_deg, turn_deg])
    across, up = np.cos(altitude) * np.sin(turn), np.sin(altitude)
    cosine = (rise * across - run * up) / length
    lands = (x[1:] + x[:-1]) / 2 - (z[1:] + z[:-1]) / 2 * across / up
    falls_in = (cosine > 0) & (np.abs(lands) <= vault.width_m / 2)
    angle = np.degrees(np.arccos(np.clip(cosine[falls_in], 0, 1)))
    through = cover.film_parts(angle, film).through
    light = through * cosine[falls_in] * length[falls_in]
    return light.sum() / (vault.width_m * up)


FABRICS = [COVERS[f"{weight}_fabric"] for weight in ("light", "medium", "heavy")]


# ---------------------------------------------------------------------- night
def test_fabrics_are_likely_within_what_fao_gives_for_thin_to_thick():
    # Snyder & de Melo-Abreu 2005, Frost Protection, FAO, vol. 1: 1 to 5 °C.
    assert all(fabric.gain_c.central >= 1 for fabric in FABRICS)
    assert all(fabric.gain_c.high <= 5 for fabric in FABRICS)


@pytest.mark.parametrize("name", ["light_fabric", "slitted_film"])
def test_thin_covers_may_be_colder_than_the_air_outside(name):
    # Oregon State, floating covers on melon: single cool clear nights equal or up to 2 °F
    # colder; means of minima +0.2 to +0.4 °C in 1984 and +1.4 to +1.8 °C in 1983.
    gain = COVERS[name].gain_c
    assert -2 * PER_DEG_F <= gain.low <= 0
    assert 0.2 <= gain.central <= 1.8


def test_windy_nights_are_credited_with_about_nothing_and_mixed_ones_lie_between():
    # University of Georgia B1479: windy frosts are hard to protect from; 0 to 0.5 °C.
    for each in COVERS.values():
        assert 0 <= each.windy_gain_c.low <= each.windy_gain_c.high <= 0.5
        sides = zip(each.windy_gain_c, each.mixed_gain_c, each.gain_c, strict=True)
        for windy, mixed, still in sides:
            assert min(windy, still) <= mixed <= max(windy, still)
    # Heavy fabric, 0, .2, .5 and 3, 3.5, 4 °C: .8 · .2 + .2 · 3.5 = .86.
    assert COVERS["heavy_fabric"].mixed_gain_c == pytest.approx((0.6, 0.86, 1.2))


def test_light_fabric_is_not_credited_with_more_than_its_extension_service_says():
    # Penn State Extension Philadelphia 2020: 2-3 °F for a fabric of 19 g/m².
    gain = COVERS["light_fabric"].gain_c
    assert gain.central <= 2 * PER_DEG_F
    assert gain.high <= 3 * PER_DEG_F


def test_slitted_film_is_credited_at_most_with_what_its_maker_says():
    # 2-4 °F, trade page on perforated film.
    gain = COVERS["slitted_film"].gain_c
    assert gain.low <= 2 * PER_DEG_F
    assert gain.high <= 4 * PER_DEG_F


def test_one_clear_film_may_be_worth_nothing_and_is_expected_under_the_measured_mean():
    # Savage 1980: mean of minima +1.3 °C; Sugiyama 1967: at times colder than outside.
    gain = COVERS["clear_film"].gain_c
    assert gain.low == 0
    assert gain.central < 1.3 < gain.high


def test_a_double_film_may_be_worth_nothing_and_at_most_twice_a_single_one():
    # No measurement seen: nobody is promised that it keeps a frost off.
    one, two = COVERS["clear_film"].gain_c, COVERS["double_film"].gain_c
    assert two.low == 0
    assert one.central < two.central <= 2 * one.central
    assert two.high <= 2 * one.high


def test_the_thicker_fabric_keeps_more_warmth_and_less_light():
    for thinner, thicker in itertools.pairwise(FABRICS):
        assert thicker.gain_c > thinner.gain_c
        assert thicker.light_share < thinner.light_share


def test_fabric_under_film_is_credited_less_than_its_trade_page_says():
    # "Plastic over fabric adds at least 9 °F", trade page.
    assert COVERS["fabric_under_film"].gain_c.high < 9 * PER_DEG_F


def test_a_pair_of_covers_adds_warmth_multiplies_light_and_opens_with_the_first():
    fabric, film = COVERS["heavy_fabric"], COVERS["clear_film"]
    pair = cover.over(film, fabric, "heavy fabric under film")
    for i in range(3):
        assert pair.gain_c[i] == fabric.gain_c[i] + film.gain_c[i]
        assert pair.windy_gain_c[i] == max(fabric.windy_gain_c[i], film.windy_gain_c[i])
        assert pair.light_share[i] == fabric.light_share[i] * film.light_share[i]
    assert pair.open_above_c == min(fabric.open_above_c, film.open_above_c)


def test_a_cover_over_nothing_is_that_cover():
    film = COVERS["clear_film"]
    alone = cover.over(film, COVERS["none"], "film")
    assert (alone.gain_c, alone.light_share) == (film.gain_c, film.light_share)
    assert alone.open_above_c == film.open_above_c


def test_shade_cloth_keeps_the_share_it_is_sold_by():
    for kept in (30, 40, 50):
        light = COVERS[f"shade_{kept}"].light_share
        assert light.central == pytest.approx(1 - kept / 100)


def test_every_cover_names_its_source():
    assert all(each.source and each.name for each in COVERS.values())


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("gain_c", Range(2, 1, 3)),
        ("gain_c", Range(-6, 0, 1)),
        ("windy_gain_c", Range(0, 0.5, 0.2)),
        ("gain_c", Range(float("nan"), 1, 2)),
        ("light_share", Range(0.9, 1.0, 1.1)),
    ],
    ids=[
        "out of order",
        "colder than any",
        "windy out of order",
        "missing",
        "more light than there is",
    ],
)
def test_what_is_no_range_is_refused(field, value):
    with pytest.raises(ValueError, match=f"{field} of clear film"):
        dataclasses.replace(COVERS["clear_film"], **{field: value})


# ---------------------------------------------------------------------- film
def test_film_passes_what_fresnel_says():
    # The 60 and 75 degrees from the shortened product of Duffie & Beckman, which gives
    # up to 0.004 more than all reflections summed.
    through = cover.film_parts([0, 60, 75], Film()).through
    np.testing.assert_allclose(through, [0.893, 0.815, 0.593], atol=0.004)
    assert cover.film_parts(0, Film(films=2)).through == pytest.approx(0.803, abs=0.001)


@hypothesis.given(ANGLES, FILMS)
def test_no_light_is_lost_or_made(angle, film):
    parts = cover.film_parts(angle, film)
    assert sum(parts) == pytest.approx(1, abs=1e-9)
    assert all(0 <= part <= 1 for part in parts)


@pytest.mark.parametrize("index", [1.2, 1.51, 2.0])
def test_a_film_that_swallows_all_that_enters_reflects_like_pvlibs_single_surface(
    index,
):
    # pvlib.iam.physical without absorption: one surface, relative to straight light.
    angle = np.linspace(0, 89, 90)
    absorbed = cover.film_parts(angle, Film(index=index, clarity=1e-12)).absorbed
    expected = pvlib.iam.physical(angle, n=index, K=0, L=0)
    np.testing.assert_allclose(absorbed / absorbed[0], expected, atol=1e-9)


def test_one_clear_sheet_at_brewsters_angle_passes_one_polarisation_whole():
    # Closed form: there the parallel part is not reflected, the other by
    # ((n² - 1)/(n² + 1))² at each surface, and without absorption passes (1-r)/(1+r).
    index = 1.51
    angle = np.degrees(np.arctan(index))
    r = ((index**2 - 1) / (index**2 + 1)) ** 2
    through = cover.film_parts(angle, Film(index=index, clarity=1.0)).through
    assert through == pytest.approx((1 + (1 - r) / (1 + r)) / 2, abs=1e-12)


def test_two_clear_films_pass_what_four_surfaces_do():
    # Closed form for N sheets without absorption: (1-r)/(1+(2N-1)r), Duffie & Beckman.
    r = (0.51 / 2.51) ** 2
    through = cover.film_parts(0, Film(films=2, clarity=1.0)).through
    assert through == pytest.approx((1 - r) / (1 + 3 * r), abs=1e-12)


def test_grazing_light_is_thrown_back_by_any_film():
    for films in (1, 2):
        through, back, _ = cover.film_parts(90, Film(films=films))
        assert (through, back) == pytest.approx((0, 1), abs=1e-9)


def test_a_missing_angle_stays_missing():
    through = cover.film_parts([np.nan, 0], Film()).through
    assert np.isnan(through).tolist() == [True, False]


# ---------------------------------------------------------------------- beam
@pytest.mark.parametrize("latitude", PRINTED)
def test_light_of_a_day_agrees_with_another_program(latitude):
    for day, expected in zip(DAYS, PRINTED[latitude], strict=True):
        assert day_share(latitude, day, Film()) == pytest.approx(expected, abs=0.02)


@pytest.mark.parametrize("latitude", [35, 45, 55])
def test_east_west_wins_until_february_and_north_south_in_june(latitude):
    # Sign pattern of the same table; Harnett 1975, Acta Hort. 46:209, for the winter.
    december, february, _, june = (day_share(latitude, d, Film()) for d in DAYS)
    assert december[0] > december[1]
    assert february[0] > february[1]
    assert june[0] < june[1]


def test_two_films_in_december_agree_with_another_program():
    found = day_share(40, DAYS[0], Film(films=2))
    assert found == pytest.approx((0.795, 0.676), abs=0.02)


def test_low_and_walk_in_tunnel_of_one_shape_get_the_same_light():
    sun = np.array([10.0, 30.0, 60.0]), np.array([130.0, 170.0, 250.0])
    small, large = Vault(1.2, 0.5), Vault(12.0, 5.0)
    np.testing.assert_array_equal(
        cover.beam_share(*sun, 20, small, Film()),
        cover.beam_share(*sun, 20, large, Film()),
    )
    # The table above holds for 1.2 x 0.5 m too.
    np.testing.assert_allclose(
        cover.beam_share(*sun, 20, small, Film()),
        cover.beam_share(*sun, 20, WALK_IN, Film()),
        atol=0.01,
    )


@hypothesis.given(st.floats(2, 90), st.floats(0, 360), VAULTS, FILMS)
@hypothesis.example(2.0, 0.0, Vault(1.0, 1.0), Film(1, 2.0, 1.0))
@hypothesis.settings(deadline=None, max_examples=25)
def test_light_is_that_carried_in_through_flat_strips(altitude, turn, vault, film):
    expected = share_by_facets(altitude, turn, vault, film)
    found = cover.beam_share(altitude, turn, 0, vault, film)
    assert found == pytest.approx(expected, abs=0.003)


@hypothesis.given(st.floats(1, 90), st.floats(0, 360), st.floats(0, 180), VAULTS)
def test_a_mirrored_sun_and_bearing_give_the_same_light(altitude, azimuth, bear, vault):
    here = cover.beam_share(altitude, azimuth, bear, vault, Film())
    mirrored = cover.beam_share(altitude, -azimuth, 180 - bear, vault, Film())
    assert here == pytest.approx(mirrored, abs=1e-9)


def test_without_sun_there_is_no_share():
    share = cover.beam_share([-5.0, 0.0, np.nan, 30.0], 180, 90, WALK_IN, Film())
    assert np.isnan(share).tolist() == [True, True, True, False]


# ---------------------------------------------------------------------- sky
def test_sky_light_on_the_floor_agrees_with_another_program():
    # That program takes the absorbed part to be the same at all angles: 0.004 to 0.006
    # brighter than with the longer way through the film.
    assert cover.sky_share(WALK_IN, Film()) == pytest.approx(0.857, abs=0.007)
    assert cover.sky_share(WALK_IN, Film(films=2)) == pytest.approx(0.759, abs=0.007)


def test_under_a_very_flat_cover_the_sky_passes_as_through_a_flat_sheet():
    # Closed form: the share of an even sky is the mean over the square of the sine.
    squares = (np.arange(20_000) + 0.5) / 20_000
    angle = np.degrees(np.arcsin(np.sqrt(squares)))
    flat = cover.film_parts(angle, Film()).through.mean()
    assert cover.sky_share(Vault(1.0, 1e-4), Film()) == pytest.approx(flat, abs=0.002)


# ---------------------------------------------------------------------- season
def winter(latitude_deg=45):
    days = [dt.date(2025, 10, 3) + dt.timedelta(days=5 * k) for k in range(36)]
    return open_light(latitude_deg, days, with_sky=True)


def test_a_season_is_the_sum_of_its_beams_and_its_sky():
    light = winter()
    bearings = [0.0, 35.0, 90.0]
    found = cover.floor_light_by_bearing(light, bearings, WALK_IN, Film())
    lit = light.beam > 0
    sun = light.altitude_deg[lit], light.azimuth_deg[lit]
    for bearing, percent in zip(bearings, found.central_percent, strict=True):
        beam = light.beam[lit] @ cover.beam_share(*sun, bearing, WALK_IN, Film())
        floor = beam + light.sky * cover.sky_share(WALK_IN, Film())
        # 8 % frame and 10 % dirt: common practice.
        assert percent == pytest.approx(100 * floor / light.total * 0.92 * 0.90)


def test_bearings_mirrored_at_the_meridian_get_the_same_light_of_whole_days():
    bearings = np.arange(0, 180, 5.0)
    found = cover.floor_light_by_bearing(winter(), bearings, WALK_IN, Film())
    percent = found.central_percent
    np.testing.assert_allclose(percent[1:], percent[:0:-1], atol=0.1)


def test_range_holds_the_usual_and_bearings_keep_their_order_in_it():
    found = cover.floor_light_by_bearing(winter(), [0, 45, 90], WALK_IN, Film())
    assert (found.low_percent < found.central_percent).all()
    assert (found.central_percent < found.high_percent).all()
    for percent in (found.low_percent, found.central_percent, found.high_percent):
        assert (np.diff(percent) > 0).all()


def test_under_an_even_sky_no_bearing_is_better():
    light = OpenLight(np.array([30.0]), np.array([180.0]), np.array([0.0]), 5.0)
    found = cover.floor_light_by_bearing(light, [0, 45, 90], WALK_IN, Film())
    assert found.difference_points == pytest.approx(0, abs=1e-9)


def test_in_december_north_south_lights_the_floor_less_evenly():
    # Same program as the table above, 40°N, beam only: 0.99 and 0.81.
    light = open_light(40, [DAYS[0]], with_sky=False)
    found = cover.floor_light_by_bearing(light, [90, 0], WALK_IN, Film())
    np.testing.assert_allclose(found.evenness, [0.99, 0.81], atol=0.02)


# ---------------------------------------------------------------------- refusals
@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Film(films=3), "films must be 1 or 2"),
        (lambda: Film(index=1.0), "index must be over 1"),
        (lambda: Film(clarity=0.0), "clarity must lie"),
        (lambda: Vault(0.0, 1.0), "width_m must be positive"),
        (lambda: Vault(1.0, np.nan), "height_m must be positive"),
        (lambda: cover.film_parts(91, Film()), "must lie in 0 to 90"),
        (lambda: one_position(beam=np.nan), "must be known"),
        (lambda: one_position(beam=-1.0), "0 or more"),
        (lambda: one_position(altitude=-1.0), "not above level"),
        (lambda: one_position(azimuth=np.nan), "azimuth_deg must be known"),
        (lambda: one_position(beam=0.0, sky=0.0), "needs light"),
        (lambda: OpenLight(np.zeros(2), np.zeros(1), np.zeros(1), 1.0), "one length"),
        (
            lambda: cover.floor_light_by_bearing(
                one_position(), [np.nan], WALK_IN, Film()
            ),
            "bearing_deg must be",
        ),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_cannot_be_is_refused(make, words):
    with pytest.raises(ValueError, match=words):
        make()


def one_position(altitude=30.0, azimuth=180.0, beam=1.0, sky=1.0):
    return OpenLight(np.array([altitude]), np.array([azimuth]), np.array([beam]), sky)
