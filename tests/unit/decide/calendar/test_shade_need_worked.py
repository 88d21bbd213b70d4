"""Which cloth, by hand: the grower's own before one that is bought, and only while wanted.

A megajoule of light is 2.18 mol (between 0.45 and 0.5 of it counts, at 4.57 µmol a joule;
common figures): 13 MJ are 28.3 mol and 14 are 30.5. The crop likes 15 to 20 and takes
cloth up to 45 %.
"""

import numpy as np
import pandas as pd
import pytest
from made_up_crops import crop, span

from fieldmap.decide.calendar.shade_need import need, stage_days
from fieldmap.model.season_year import NORTH

DAYS = pd.date_range("2025-01-01", "2025-12-31")
HOT = pd.Series(np.where(DAYS.month == 7, 35.0, 20.0), DAYS)
LIKES = crop(shade_percent=span(20, 45), best_light_mol=span(15, 20))


@pytest.mark.parametrize(
    ("mj", "owned", "allowed", "kind"),
    [
        # 30 % leave 19.8 mol and 40 % leave 17.0: both will do, the lighter is bought.
        (13.0, (), None, "shade_30"),
        # Of own ones too the lighter, and an own one before a lighter one that is bought.
        (13.0, ("shade_40", "shade_30"), None, "shade_30"),
        (13.0, ("shade_40",), None, "shade_40"),
        # 30 % leave 21.4 mol, a little too much: 40 % is bought, but not beside an own 30 %.
        (14.0, (), None, "shade_40"),
        (14.0, ("shade_30",), None, "shade_30"),
        # An own 50 % takes a little more than the crop is given, and leaves it 15.3 mol; of
        # 13 MJ 14.2, as good as 15 where light is known to 6 %; of 12 MJ 13.1, too little.
        (14.0, ("shade_50",), None, "shade_50"),
        (13.0, ("shade_50",), None, "shade_50"),
        (12.0, ("shade_50",), None, "shade_30"),
        # Fabric that is not enough only holds the heat.
        (14.0, ("light_fabric",), None, "shade_40"),
        # What it may not get is not thought of.
        (13.0, ("shade_30",), ("shade_40",), "shade_40"),
        (13.0, ("shade_30",), (), None),
    ],
)
def test_own_cloth_goes_first(mj, owned, allowed, kind):
    found = need(LIKES, HOT, [mj] * 12, owned, season=NORTH, allowed=allowed)
    assert found.kind == kind
    assert found.months == (None if kind is None else (7, 7))


def test_an_own_cloth_two_grades_too_dark_is_left_and_none_is_hung_where_none_is_used():
    """The crop takes up to 30 %: 40 % of its own will do, 50 % leave the light it likes
    too, and are too much all the same. A crop that is given no shade gets none.
    """
    takes_30 = crop(shade_percent=span(20, 30), best_light_mol=span(10, 20))
    for own, kind in (("shade_40", "shade_40"), ("shade_50", "shade_30")):
        found = need(takes_30, HOT, [13.0] * 12, (own,), season=NORTH)
        assert found.kind == kind
    takes_none = crop(shade_percent=span(0, 0), best_light_mol=span(10, 20))
    found = need(takes_none, HOT, [13.0] * 12, ("shade_30",), season=NORTH)
    assert found.kind is None


@pytest.mark.parametrize(
    ("stage", "days"),
    [
        (None, (100, 200)),
        ("until_up", (100, 113)),
        ("young", (100, 127)),
        ("fruiting", (128, 200)),
    ],
)
def test_days_on_which_a_crop_may_want_shade(stage, days):
    """Sown on day 100, picked from day 170 to 200: up within 14 days, young for 28, fruit
    set 42 days before the first of it (common practice, no source).
    """
    made = crop(shade_percent=span(20, 45) | ({"stage": stage} if stage else {}))
    assert stage_days(made, 100, 170, 200) == days


def test_a_short_stay_bounds_the_days():
    young = crop(shade_percent=span(20, 45) | {"stage": "young"})
    assert stage_days(young, 100, 110, 115) == (100, 115)
    fruiting = crop(shade_percent=span(20, 45) | {"stage": "fruiting"})
    assert stage_days(fruiting, 100, 120, 150) == (100, 150)
