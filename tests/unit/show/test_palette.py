"""Colours: every ramp reads for all kinds of eyes and on grey paper.

Deficiencies are those of Machado, Oliveira and Fernandes (2009) at full strength, and
differences those of CAM02-UCS (Luo and others 2006), both as colorspacious computes them.
"""

import colorspacious
import numpy as np
import pytest

from fieldmap.show import layer_styles

EYES = ("normal", "deuteranomaly", "protanomaly", "tritanomaly", "grey")
# Ramps of which dates three days apart, or tenths of a degree, must be distinct
# (common practice, no source: differences of about 2 are just seen side by side).
STEPS = {"dates": 6, "cold": 7, "light": 6, "fall": 6, "wet": 6}


def rgb(colours):
    return np.array([list(bytes.fromhex(each[1:])) for each in colours]) / 255


def seen_by(eyes, colours):
    """Colours as such eyes see them, in CAM02-UCS."""
    shown = rgb(colours)
    if eyes == "grey":
        lightness = colorspacious.cspace_convert(shown, "sRGB1", "CAM02-UCS")[:, :1]
        return np.pad(lightness, ((0, 0), (0, 2)))
    if eyes != "normal":
        space = {"name": "sRGB1+CVD", "cvd_type": eyes, "severity": 100}
        shown = np.clip(colorspacious.cspace_convert(shown, space, "sRGB1"), 0, 1)
    return colorspacious.cspace_convert(shown, "sRGB1", "CAM02-UCS")


def contrast(one, other):
    """Of the Web Content Accessibility Guidelines 2.2, success criterion 1.4.3."""

    def luminance(colour):
        part = rgb([colour])[0]
        linear = np.where(
            part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4
        )
        return linear @ [0.2126, 0.7152, 0.0722]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize(
    ("colour", "lab"),
    [
        # Ottosson's own table of pairs gives XYZ; these three are sRGB's white, black
        # and red as CSS Color 4 states them in OKLab.
        ("#ffffff", (1.0, 0.0, 0.0)),
        ("#000000", (0.0, 0.0, 0.0)),
        ("#ff0000", (0.628, 0.2249, 0.1258)),
    ],
)
def test_oklab_is_that_of_its_standard(colour, lab):
    assert layer_styles.oklab([colour])[0] == pytest.approx(lab, abs=5e-4)


@pytest.mark.parametrize("look", layer_styles.LOOKS)
@pytest.mark.parametrize("ramp", STEPS)
def test_lightness_runs_one_way_along_a_ramp(ramp, look):
    colours = layer_styles.sampled(ramp, look)
    change = np.diff(seen_by("grey", colours)[:, 0])
    assert (change > 0).all() or (change < 0).all()


@pytest.mark.parametrize("eyes", EYES)
@pytest.mark.parametrize("look", layer_styles.LOOKS)
@pytest.mark.parametrize("ramp", STEPS)
def test_neighbouring_steps_of_a_ramp_are_distinct(ramp, look, eyes):
    places = np.linspace(0.0, 1.0, STEPS[ramp])
    seen = seen_by(eyes, layer_styles.ramp_colours(ramp, places, look))
    assert np.linalg.norm(np.diff(seen, axis=0), axis=1).min() > 3.5


@pytest.mark.parametrize("look", ["day", "bright", "print"])
def test_warmer_as_now_and_colder_differ_on_grey_paper(look):
    """Five places from warmest to coldest, each darker than the one before."""
    colours = layer_styles.ramp_colours("change", np.linspace(0.0, 1.0, 5), look)
    lightness = seen_by("grey", colours)[:, 0]
    assert np.diff(lightness).max() < -3.5


@pytest.mark.parametrize("eyes", EYES[:-1])
@pytest.mark.parametrize("look", layer_styles.LOOKS)
def test_warmer_as_now_and_colder_are_distinct_to_all_eyes(look, eyes):
    places = np.linspace(0.0, 1.0, 5)
    seen = seen_by(eyes, layer_styles.ramp_colours("change", places, look))
    assert np.linalg.norm(np.diff(seen, axis=0), axis=1).min() > 3.5


@pytest.mark.parametrize("eyes", EYES)
@pytest.mark.parametrize("look", layer_styles.LOOKS)
def test_what_grows_and_what_is_ready_are_distinct(look, eyes):
    colours = layer_styles.LOOKS[look]
    bed, growing, plant = seen_by(eyes, [colours.bed, colours.growing, colours.plant])
    assert np.linalg.norm(growing - plant) > 15
    assert np.linalg.norm(bed - plant) > 15


@pytest.mark.parametrize("look", layer_styles.LOOKS)
@pytest.mark.parametrize("ground", ["paper", "ground_low", "ground_high", "inside"])
def test_words_stand_out_from_what_they_lie_on(look, ground):
    colours = layer_styles.LOOKS[look]
    for ink in ("ink", "soft", "height", "downhill", "water_ink", "hedge_ink"):
        words, under = getattr(colours, ink), getattr(colours, ground)
        assert contrast(words, under) >= 4.5, (ink, contrast(words, under))


def test_style_sheets_get_every_look_and_ramp():
    text = layer_styles.css_looks()
    for look in ("bright", "night", "print"):
        assert f":root[data-look={look}]" in text
    for ramp in layer_styles.RAMPS:
        assert text.count(f"--ramp-{ramp}:") == len(layer_styles.LOOKS) + 1
