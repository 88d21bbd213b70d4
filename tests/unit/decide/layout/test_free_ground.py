"""Terraces, ditches and slivers: where no bed may lie, and what is said of it."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from made_up import NORTH, WEST, analysis, plane, plot_box, raster, site, surroundings
from shapely import affinity

from fieldmap.decide.layout import free_ground
from fieldmap.decide.layout.choose import choose_layouts, plots_without_room
from fieldmap.decide.layout.fill import fill_plots
from fieldmap.decide.layout.hints import hints
from fieldmap.show.text.site.site_check import describe
from layers import terrain

# Terraces of 12 m that fall 2 %, with risers of 2 m that rise 1.7 m: 85 %.
LEVEL_M, RISER_M, RISE_M = 12.0, 2.0, 1.7


def terraces():
    """Heights on 1 m cells, rising to the north by steps."""
    north_m = np.arange(200)[::-1] + 0.5
    step, within = np.divmod(north_m, LEVEL_M + RISER_M)
    up = step * (RISE_M + 0.02 * LEVEL_M) + 0.02 * np.minimum(within, LEVEL_M)
    up = up + RISE_M * np.clip((within - LEVEL_M) / RISER_M, 0.0, 1.0)
    return raster(np.repeat(up[:, np.newaxis], 200, axis=1))


def risers():
    south = NORTH - 200
    begins = np.arange(LEVEL_M, 200, LEVEL_M + RISER_M)
    return shapely.union_all(
        [
            shapely.box(WEST, south + each, WEST + 200, south + each + RISER_M)
            for each in begins
        ]
    )


def planned(ground, plots, **choices):
    there = site(ground, plots, beds=choices)
    analysed = analysis(ground)
    slope_deg, _ = terrain.slope_and_aspect_deg(ground.values, ground.cell_size_m)
    its = replace(analysed.terrain, slope_deg=ground.with_values(slope_deg))
    analysed = replace(analysed, terrain=its)
    filled = fill_plots(there, analysed, choose_layouts(there, analysed), [])
    return filled, list(hints(there.settings, list(plots), filled))


def test_risers_of_terraces_stay_empty_and_their_ground_is_named():
    home = plot_box(30, 30, 170, 150)
    filled, said = planned(terraces(), {"Home": home}, bearing_deg=90.0)
    assert len(filled.beds) > 50
    on_risers = [bed.outline.intersection(risers()).area for bed in filled.beds]
    assert max(on_risers) == pytest.approx(0.0, abs=1e-9)
    (steep,) = (fact for fact in said if fact.kind == "steep_ground")
    # At least the risers themselves; a cell beside each looks steep too (Horn's window).
    least = home.intersection(risers()).area
    assert least <= steep["area_m2"] <= 2 * least + 300
    assert steep["percent"] == 30.0


def test_a_stated_grade_moves_the_limit():
    home = plot_box(30, 30, 170, 150)
    filled, said = planned(
        terraces(), {"Home": home}, bearing_deg=90.0, steepest_percent=100.0
    )
    assert any(bed.outline.intersects(risers()) for bed in filled.beds)
    assert "steep_ground" not in [fact.kind for fact in said]


@pytest.mark.parametrize(("fall", "steep"), [(0.301, True), (0.299, False)])
def test_ground_is_too_steep_over_the_stated_grade(fall, steep):
    slope_deg = plane(20, 20).with_values(
        np.full((20, 20), np.degrees(np.arctan(fall)))
    )
    assert (free_ground.too_steep(slope_deg, 30.0).area == 400.0) == steep


def test_a_bump_under_four_square_metres_is_none():
    values = np.zeros((20, 20))
    values[3, 3:6] = 45.0
    values[10, 3:7] = 45.0
    values[15, 15] = np.nan
    found = free_ground.too_steep(plane(20, 20).with_values(values), 30.0)
    assert found.area == 4.0


@pytest.mark.parametrize(
    ("work", "across", "percent"),
    [
        # By hand a two-wheel tractor may come all the same.
        ("hand", 0.151, 15.0),
        ("hand", 0.149, None),
        ("two_wheel_tractor", 0.151, 15.0),
        ("tractor", 0.121, 12.0),
        ("tractor", 0.119, None),
    ],
)
def test_beds_across_which_a_machine_may_roll_over_are_named(work, across, percent):
    filled, said = planned(
        plane(north=across),
        {"Home": plot_box(50, 50, 150, 80)},
        work=work,
        bearing_deg=90,
    )
    named = [fact for fact in said if fact.kind == "beds_roll_over"]
    assert [fact["percent"] for fact in named] == ([percent] if percent else [])
    for fact in named:
        assert fact["beds"] == [bed.name for bed in filled.beds]
    assert bool(filled.roll_over) == bool(percent)


# ------------------------------------------------------------------ slivers
HOME = plot_box(50, 50, 150, 80)


@pytest.mark.parametrize(
    "tiny",
    [
        plot_box(20, 100, 120, 101),  # 1 m wide: the keep-clear strips take all
        plot_box(20, 100, 120, 102.7),  # 70 cm are left
        plot_box(20, 100, 28.9, 103),  # 3.9 m between headlands, and askew less
        affinity.rotate(plot_box(20, 120, 60, 121.5), 33),
    ],
)
def test_a_plot_too_small_is_said_so_and_the_rest_is_planned(tiny):
    filled, said = planned(plane(), {"Bit": tiny, "Home": HOME})
    assert {bed.plot for bed in filled.beds} == {"Home"}
    assert [fact["plot"] for fact in said if fact.kind == "plot_too_small"] == ["Bit"]
    assert filled.beds[0].name == "B1"


def test_a_plot_just_large_enough_has_a_bed():
    filled, said = planned(plane(), {"Bit": plot_box(20, 100, 29, 102.75)})
    assert [bed.length_m for bed in filled.beds] == [4.0]
    assert "plot_too_small" not in [fact.kind for fact in said]


def test_check_says_the_same_of_small_plots_as_the_plan():
    plots = {"Bit": plot_box(20, 100, 120, 101), "Home": HOME}
    around = surroundings(("keep off", plot_box(0, 0, 200, 40), {}))
    there = site(plane(), plots, around)
    found = plots_without_room(
        there.plots_to_lay, there.surroundings, there.settings.beds, 0.0
    )
    assert found == ["Bit"]
    (line,) = (line for line in describe(there) if "Bit" in line and "small" in line)
    assert "9 m by 2.8 m" in line
