"""Which cloth, by hand: the grower's own before one that is bought, and only while wanted.

A megajoule of light is 2.057 mol (0.45 of it counts, 4.57 µmol a joule; common figures):
13 MJ are 26.7 mol and 14 are 28.8. The crop likes 15 to 20 and takes cloth up to 45 %.
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
        # 30 % leave 18.7 mol and 40 % leave 16.0: both will do, the lighter is bought.
        (13.0, (), None, "shade_30"),
        # Of own ones too the lighter, and an own one before a lighter one that is bought.
        (13.0, ("shade_40", "shade_30"), None, "shade_30"),
        (13.0, ("shade_40",), None, "shade_40"),
        # 30 % leave 20.2 mol, a little too much: 40 % is bought, but not beside an own 30 %.
        (14.0, (), None, "shade_40"),
        (14.0, ("shade_30",), None, "shade_30"),
        # An own 50 % takes more than the crop is given.
        (14.0, ("shade_50",), None, "shade_40"),
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
