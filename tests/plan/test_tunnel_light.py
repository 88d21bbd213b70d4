"""Light under a cover by bearing, at a place: the signs and sizes of ray optics."""

import numpy as np
import pytest
from made_up import NOTHING_KEPT, analysis, plane, plot_box, quietly, site

from fieldmap.decide import tunnels
from fieldmap.decide.tunnels import light, room
from fieldmap.model.season_year import SOUTH
from fieldmap.show.text.sentence import say

SIZE = {"length_m": 20.0, "width_m": 7.3, "height_m": 3.0}
DECEMBER = {"first_month": 12, "last_month": 12}
JUNE = {"first_month": 6, "last_month": 6}


def curve(latitude, months, **choices):
    made = site(
        plane(),
        {"Home": plot_box(70, 70, 130, 130)},
        latitude=latitude,
        tunnels=(SIZE | months,),
        **choices,
    )
    known = analysis(plane())
    place = tunnels.find(made, known, NOTHING_KEPT, quietly).sets[0].places[0]
    return light.curve(made, known, place, NOTHING_KEPT), place


def said(found, place):
    return say(light.verdict(found, place.bearing_deg), "metric")


# Geometric optics of a 7.3 × 3.0 m tunnel under one film, beam alone, by a second
# program (tabulated in the papers): east-west 0.887 and north-south 0.789 on the
# shortest day at 40°, 0.843 and 0.883 on the longest. With a clear sky's diffuse light
# (the same for all bearings) and losses of frame and dirt the signs stay.
def test_east_west_wins_in_december_and_north_south_in_june():
    december, _ = curve(40.0, DECEMBER)
    june, _ = curve(40.0, JUNE)
    assert december.best_deg == pytest.approx(90.0, abs=5.0)
    assert june.best_deg % 180.0 == pytest.approx(0.0, abs=5.0)
    kept = 0.92 * 0.90 * 100  # 8 % for the frame, 10 % for dirt and drops
    assert december.at(90.0) < 0.887 * kept
    assert december.at(90.0) - december.at(0.0) == pytest.approx(
        (0.887 - 0.789) * kept, abs=3.5
    )
    assert june.at(0.0) - june.at(90.0) == pytest.approx(
        (0.883 - 0.843) * kept, abs=1.5
    )


def test_cloud_flattens_the_curve_until_light_does_not_decide():
    # A sky that sends as much light as a clear one, and a beam a tenth as strong.
    dull = {"sun": {"global_mj_m2_day": (2.4,) * 12, "diffuse_mj_m2_day": (2.2,) * 12}}
    clear, _ = curve(40.0, DECEMBER)
    cloudy, place = curve(40.0, DECEMBER, **dull)
    assert cloudy.open_mol_m2_day == pytest.approx(2.4 * 2.18, rel=0.02)
    assert (
        cloudy.difference_points < light.DECIDES_FROM_POINTS < clear.difference_points
    )
    others_decide = "slope, wind, free space and beds decide which way it runs"
    assert others_decide in said(cloudy, place)
    assert others_decide not in said(clear, place)


def test_a_range_lies_about_every_bearing():
    found, _ = curve(45.0, {})
    low, central, high = (
        np.array(each)
        for each in (found.low_percent, found.central_percent, found.high_percent)
    )
    assert (low < central).all()
    assert (central < high).all()
    assert found.months == (2, 10)


def test_months_run_across_new_year():
    assert light.months_of((11, 2)) == [10, 11, 0, 1]
    made = site(plane(), {"Home": plot_box(70, 70, 130, 130)}, tunnels=(SIZE,))
    assert room.months_of_use(made.settings.tunnels[0], SOUTH) == (8, 4)
