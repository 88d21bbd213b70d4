"""Outlines that were walked with a phone: asked for lengths, then corrected by them."""

import numpy as np
import pytest

WALKED = 'name = "Hill Farm"\n[pegging]\noutline = "walked"\n'
# The plot of the made-up folder is 100 m from west to east and 60 m from south to north.
CORNERS = {
    "south-west": (0, 0),
    "south-east": (100, 0),
    "north-west": (0, 60),
    "north-east": (100, 60),
}


def taped(folder, pairs, east=1.0, north=1.0):
    """Every pair with the length that a plot stretched so much would have on a tape.

    The ground rises 1 m in 10 to the east and 1 m in 5 to the north.
    """
    text = WALKED
    for first, second in pairs:
        way = np.subtract(CORNERS[second], CORNERS[first]) * (east, north)
        rise = 0.1 * way[0] / east + 0.2 * way[1] / north
        flat = np.hypot(*way)
        slope = rise / np.hypot(*(way / (east, north)))
        text += (
            f'[[pegging.taped]]\nbetween = ["Plot 1 {first}", "Plot 1 {second}"]\n'
            f"length_m = {flat * np.hypot(1, slope):.4f}\n"
        )
    folder.toml(text)
    return folder


def asked(folder):
    """Pairs of corners that a walked site asks for."""
    (remark,) = [
        each for each in folder.read().remarks if each.kind == "outline_wants_lengths"
    ]
    return [
        tuple(end.removeprefix("Plot 1 ") for end in each.split(" – "))
        for each in remark["lengths"]
    ]


def test_a_surveyed_outline_asks_for_nothing(site_folder):
    site = site_folder.read()
    assert site.untaped == frozenset()
    assert not [each for each in site.remarks if each.kind.startswith("outline")]


def test_a_walked_outline_asks_for_three_lengths(site_folder):
    site_folder.toml(WALKED)
    assert site_folder.read().untaped == {"Plot 1"}
    assert len(asked(site_folder)) == 3
    # One is not enough: the other two are asked for still.
    pairs = asked(site_folder)
    assert asked(taped(site_folder, pairs[:1])) == pairs[1:]


@pytest.mark.parametrize(
    ("east", "north", "kind"),
    [(1.02, 1.02, "outline_scaled"), (0.97, 1.03, "outline_stretched")],
)
def test_taped_lengths_correct_the_outline(site_folder, east, north, kind):
    """The plot becomes so much wider and longer, to a centimetre."""
    site_folder.toml(WALKED)
    site = taped(site_folder, asked(site_folder), east, north).read()
    west, south, right, top = site.plots.geometry[0].bounds
    assert right - west == pytest.approx(100 * east, abs=0.06)
    assert top - south == pytest.approx(60 * north, abs=0.06)
    assert site.untaped == frozenset()
    (remark,) = [each for each in site.remarks if each.kind.startswith("outline")]
    assert remark.kind == kind
    assert remark["most"] == pytest.approx(100 * (max(east, north) - 1), abs=0.05)


def test_lengths_between_no_corners_and_absurd_ones_are_refused(site_folder):
    site_folder.toml(WALKED)
    pairs = asked(site_folder)
    taped(site_folder, pairs, 1.5, 1.5)
    (problem,) = site_folder.problems()
    assert "'Plot 1'" in problem
    assert "do not fit" in problem
    text = (
        WALKED
        + '[[pegging.taped]]\nbetween = ["Plot 1 south-wst", "Plot 1 north-east"]\n'
    )
    site_folder.toml(text + "length_m = 50.0\n")
    (problem,) = site_folder.problems()
    assert "south-wst" in problem
    assert "did you mean 'Plot 1 south-west'?" in problem
