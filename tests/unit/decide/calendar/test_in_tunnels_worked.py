"""Dates inside walk-in tunnels beside those in the open, worked by hand.

Each year is alike: minima are 0.2 (d - 120) °C on day d up to day 210 and 0.2 (300 - d)
after, maxima 20 °C more, so all nights are still. Of what film is worth, g °C, half of
the draws have less than the median of the triangle that trials span:

    one film, 0 to 1.5, likely 0.5    (1.5 - g)² = half of 1.5 x 1.0: g = 0.634
    fabric inside, -0.5 to 3.0, 1.5   (g + 0.5)² = half of 3.5 x 2.0: g = 1.371

A week of nights of 7 °C, which tomatoes want, in the open on day 123 + 5 x 7 = 158; inside
5 g days sooner: 154.8 and 151.1. Frost of 2 °C at the screen in the open on day 290;
inside 5 g days later: 293.2 and 296.9. Shifts are in tenths of a degree, half a day.
"""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from made_up import (
    analysis,
    beds_in,
    means,
    plane,
    plot_box,
    say_all,
    site,
    with_cold_air,
)

from fieldmap.decide.calendar import in_tunnels, monte_carlo, planting_dates
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.site import WeatherRecord
from fieldmap.read.crops import packaged_crops
from layers.scatter import NO_SCATTER

TOMATO = packaged_crops()["tomato"]
GROUND = plane()
FLOORS = beds_in(plot_box(60, 80, 80, 86), letter="T")[:1] * 2


@pytest.fixture(scope="module", autouse=True)
def sure_of_all_but_covers():
    """Draws that differ in what covers are worth alone."""
    sample = monte_carlo.sample

    def sure(usable, years, *, resample):
        drawn = sample(usable, years, resample=False, spread=NO_SCATTER)
        return replace(drawn, bias=np.full(monte_carlo.DRAWS, 0.5))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(monte_carlo, "sample", sure)
        yield


def within(season=NORTH, light_share=(1.0, 0.05)):
    southern = season == SOUTH
    begins = "2001-07-01" if southern else "2001-01-01"
    days = pd.date_range(begins, periods=365 * 12 + 3, name="date")
    number = season.numbers(days)
    low_c = np.where(number <= 210, 0.2 * (number - 120), 0.2 * (300 - number))
    record = WeatherRecord(pd.DataFrame({"tmin_c": low_c, "tmax_c": low_c + 20}, days))
    made = site(
        GROUND,
        {"Home": plot_box(40, 40, 160, 160)},
        latitude=-45.0 if southern else 45.0,
    )
    here = replace(made, crops=(TOMATO,), weather=record)
    alike = GROUND.with_values(np.zeros((3, *GROUND.shape)))
    shown = with_cold_air(analysis(GROUND, 20.0, 0.0), answers_c=alike)
    return planting_dates.compute(
        here,
        means(here, shown, FLOORS),
        FLOORS,
        covers=in_tunnels.COVERS,
        light=np.array(light_share),
    )


@pytest.fixture(scope="module")
def north():
    return within()


def test_tomatoes_go_out_and_end_by_five_days_a_degree_of_film(north):
    assert north.covers == ("none", "clear_film", "fabric_under_film")
    early, late = north.early[1, 0, :, 0], north.late[1, 0, :, 0]
    assert early == pytest.approx([158.0, 154.8, 151.1], abs=0.8)
    # The first whole day of frost.
    later = late - [290.0, 293.2, 296.9]
    assert later[0] == 0.0
    assert ((later > -0.6) & (later < 1.6)).all()


def test_at_worst_one_film_is_worth_next_to_nothing(north):
    # In 1 draw of 10: g² = 0.1 x 1.5 x 0.5, 0.274 °C, so 1.4 days.
    assert north.early[2, 0, 1, 0] == pytest.approx(158 - 1.4, abs=0.8)


def test_light_at_the_floor_ends_growth(north):
    # 20 MJ are some 40 mol in all months; a twentieth of it is under what tomatoes need
    # on the first day that counts.
    assert north.grows_until.tolist() == [[np.inf, 183.0]]


def test_what_is_said_of_a_tunnel_has_its_days(north, says):
    (fact,) = in_tunnels.reasons(north, 0)
    assert fact.kind == "tunnel_set_out"
    # Day 158 is 7 June; frost comes on day 290, 17 October.
    assert (fact["out_open_day"], fact["until_open_day"]) == ((6, 7), (10, 16))
    for cover, at in (("film", 1), ("fabric", 2)):
        day = NORTH.early_date(np.ceil(north.early[1, 0, at, 0]))
        assert fact[f"out_{cover}_day"] == day
    assert fact["until_film_day"] > fact["until_open_day"]
    assert fact["until_fabric_day"] > fact["until_film_day"]
    (said,) = say_all([fact])
    says(
        said,
        "you can plant out tomatoes here from 7 June.",
        "Frost ends the crop on 16 October without the tunnel,",
        "These dates depend only on how cold the nights are.",
    )


def test_days_between_two_are_read_as_those_of_beds_are(north):
    # Out from the whole day after 157.5 and held to that before the frost of 289.5.
    sooner = replace(north, early=north.early - 0.5, late=north.late - 0.5)
    (fact,) = in_tunnels.reasons(sooner, 0)
    assert (fact["out_open_day"], fact["until_open_day"]) == ((6, 7), (10, 16))


def test_in_the_south_days_are_those_of_its_own_spring():
    # Day 158 from 1 July is 5 December, day 290 of frost is 16 April.
    (fact,) = in_tunnels.reasons(within(SOUTH), 0)
    assert (fact["out_open_day"], fact["until_open_day"]) == ((12, 5), (4, 15))


def test_nothing_is_said_of_a_day_that_never_comes(north):
    never = replace(north, early=np.full_like(north.early, np.inf))
    assert in_tunnels.reasons(never, 0) == ()
    assert in_tunnels.reasons(replace(north, crops=()), 0) == ()


def test_without_tunnels_there_are_no_dates():
    made = site(GROUND, {"Home": plot_box(40, 40, 160, 160)})
    nothing = means(made, analysis(GROUND), [])
    found = planting_dates.compute(
        *(made, nothing, []), covers=in_tunnels.COVERS, light=np.empty(0)
    )
    assert not found.known


def test_a_bed_inside_has_the_days_of_film_and_under_its_own_fabric_those_of_both(
    north,
):
    """Days of film are 154.8 and 293.2, with fabric 151.1 and 296.9; no other cover goes
    inside.
    """
    outdoors = replace(
        north,
        covers=("none", "light_fabric", "slitted_film"),
        early=np.full_like(north.early, 200.0),
        late=np.full_like(north.late, 250.0),
    )
    found = in_tunnels.beside(outdoors, north, [(0, "light_fabric"), (0, "")])
    assert found.early[1, 0, 0].tolist() == [
        200.0,
        200.0,
        *[pytest.approx(154.8, abs=0.8)] * 2,
    ]
    assert found.early[1, 0, 1].tolist() == [
        200.0,
        200.0,
        pytest.approx(151.1, abs=0.8),
        np.inf,
    ]
    assert found.late[1, 0, 1, 2] == north.late[1, 0, 2, 0]
    assert found.late[1, 0, 1, 3] == -np.inf
    assert np.isinf(found.early[1, 0, 2, 2:]).all()
