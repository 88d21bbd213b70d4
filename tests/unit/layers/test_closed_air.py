"""Air under a closed cover: the balance it must keep, and what was measured."""

import numpy as np
import pytest

from layers import closed_air, warmth
from layers import evapotranspiration as water


@pytest.mark.parametrize(
    "by", [closed_air.COOL_END, closed_air.MIDDLE, closed_air.WARM_END]
)
def test_what_comes_in_goes_out(by):
    """Heat into the air and heat through the cover are the same, for a metre of floor."""
    lift = closed_air.lift_c(640.0, 1.57, by).item()
    assert lift * by.loss_w_m2_k * 1.57 == pytest.approx(
        640.0 * by.through * by.sensible
    )


def test_assumptions_are_in_order_and_no_light_is_no_lift():
    ends = (closed_air.COOL_END, closed_air.MIDDLE, closed_air.WARM_END)
    cool, middle, warm = (closed_air.lift_c(700.0, 1.5, by).item() for by in ends)
    assert cool < middle < warm
    assert closed_air.lift_c(0.0, 1.5, closed_air.MIDDLE).item() == 0.0
    assert np.isnan(closed_air.lift_c(np.nan, 1.5, closed_air.MIDDLE))
    with pytest.raises(ValueError, match=r"1 or more, got 0\.9"):
        closed_air.lift_c(700.0, 0.9, closed_air.MIDDLE)


def test_a_closed_tunnel_in_norway_in_april_is_within_the_range():
    """About 40 °C in April sun under closed film (Guttormsen 1972, Journal of Agricultural
    Engineering Research 17:172), at days of 8 to 12 °C outside (from memory): 28 to 32 °C
    of lift in a half round tunnel near 60 degrees north.
    """
    above = water.extraterrestrial_mj_m2_day(60.0, 105)
    day = water.clear_sky_mj_m2_day(above, 100.0)
    noon = closed_air.noon_w_m2(day, warmth.day_length_h(60.0, 105))
    low = closed_air.lift_c(noon, np.pi / 2, closed_air.COOL_END)
    high = closed_air.lift_c(noon, np.pi / 2, closed_air.WARM_END)
    assert low < 28
    assert high > 32


def test_light_at_noon_adds_up_to_that_of_the_day():
    """The half sine over the day, summed, is the energy of the day."""
    noon = closed_air.noon_w_m2(18.0, 11.0).item()
    at = (np.arange(10000) + 0.5) / 10000
    summed = noon * np.sin(np.pi * at).mean() * 11.0 * 3600 / 1e6
    assert summed == pytest.approx(18.0, rel=1e-6)
    assert closed_air.noon_w_m2([18.0, 0.0], [0.0, 0.0]).tolist() == [0.0, 0.0]
