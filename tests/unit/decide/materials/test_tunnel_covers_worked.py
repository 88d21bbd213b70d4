"""Fabric inside walk-in tunnels and cloth over their film, worked by hand.

What is left free, spacings, laps and ends are common practice, no source.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up_crops import crop, span

from fieldmap.decide.materials import make
from fieldmap.decide.materials.tunnel_covers import (
    NONE_INSIDE,
    ColdSpan,
    TunnelCovers,
    inner_fabric,
    plan_covers,
    shade_over,
)
from fieldmap.decide.weekly_jobs.shade_and_snow import tunnel_jobs
from fieldmap.model.season_year import NORTH
from fieldmap.model.settings import Cover, Materials, Settings, TunnelSize
from fieldmap.show.text.sentence import say

SIZE = TunnelSize(
    length_m=20.0, width_m=6.0, height_m=3.0, inner_fabric="light_fabric", shaded=True
)
BARE = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
# Half circles 1.0 m wide and 0.5 m high: 1.5708 m.
CHOICES = {"name": "made up", "beds": {"bed_width_m": 1.0, "path_width_m": 0.4}}
SPANS = (ColdSpan(60, 80, "kale"), ColdSpan(280, 300, "lettuce"))


def settings(**more):
    return Settings.model_validate(CHOICES | more)


def test_beds_inside_lie_between_the_sides_with_paths_between_them():
    """6 m less 0.3 m on each side are 5.4 m: four beds of 1.0 m and three paths of 0.4 m
    are 5.2 m, five beds 6.6 m. They are 19 m long, and a strip 0.25 m longer at each end.

    19 / 1.5 is 12.7, so 14 hoops a bed and 56 in all, of 1.5708 + 2 · 0.3 = 2.1708 m.
    """
    found = inner_fabric("T1", SIZE, SPANS, settings())
    assert (found.beds, found.length_m, found.hoops) == (4, 19.0, 56)
    assert found.strip_width_m == pytest.approx(1.5708 + 0.2, abs=1e-4)
    assert (found.strip_length_m, found.fabric_m) == (19.5, 78.0)
    assert found.cut_m == 2.18
    # Of 5.2 m and the sides it is full; a millimetre less holds three.
    full = SIZE.model_copy(update={"width_m": 5.8})
    assert inner_fabric("T1", full, SPANS, settings()).beds == 4
    less = SIZE.model_copy(update={"width_m": 5.799})
    assert inner_fabric("T1", less, SPANS, settings()).beds == 3


def test_a_tunnel_without_fabric_beds_or_cold_nights_gets_none():
    assert inner_fabric("T1", BARE, SPANS, settings()) is None
    assert inner_fabric("T1", SIZE, (), settings()) is None
    narrow = SIZE.model_copy(update={"width_m": 1.5})
    assert inner_fabric("T1", narrow, SPANS, settings()) is None


def test_cloth_ends_above_the_side_vents_and_ropes_go_from_ground_to_ground():
    """A half circle of 3 m is 9.4248 m over; less 1.2 m on each side 7.0248 m.

    From rolls of 2.4 m: 2.4 + 2.3 + 2.3 = 7.0 is short by a hand, so four widths of 20 m.
    Ropes each 2 m: 11 of 9.4248 + 2 m, in whole metres 12.
    """
    found = shade_over("T1", SIZE, ("shade_40", "tomato"), (152, 243), 2.4)
    assert (found.widths, found.width_m, found.length_m) == (4, 2.4, 20.0)
    assert found.cloth_m == 80.0
    assert (found.ropes, found.rope_m) == (11, 12)
    wide = shade_over("T1", SIZE, ("shade_40", "tomato"), (152, 243), 7.1)
    assert wide.widths == 1
    # 3.5624 + 3.4624 = 7.0248 m with a lap of 0.1 m.
    two = shade_over("T1", SIZE, ("shade_40", "tomato"), (152, 243), 3.563)
    assert two.widths == 2
    assert shade_over("T1", SIZE, ("x", "y"), (1, 2), 3.562).widths == 3


# ------------------------------------------------------------------ from when to when
def within(early, late):
    """Dates of one tunnel bare, under film, and with fabric inside."""

    def grid(days):
        return np.broadcast_to(np.reshape(days, (1, 1, 3, 1)), (3, 1, 3, 1)).astype(
            float
        )

    hot = crop("hot", shade_percent=span(20, 45), best_light_mol=span(15, 20))
    return SimpleNamespace(
        known=True,
        crops=(hot,),
        reference_crop="hot",
        early=grid(early),
        late=grid(late),
    )


def planned(dates, size=SIZE, summer_c=27.0, mj=14.0, owned=()):
    days = pd.date_range("2025-01-01", "2025-12-31")
    summer = (days.month >= 6) & (days.month <= 8)
    return plan_covers(
        settings(covers=[dict(each) for each in owned]),
        [SimpleNamespace(name="T1", size=size)],
        dates,
        [[mj] * 12],
        pd.Series(np.where(summer, summer_c, 15.0), days),
        NORTH,
    )


def test_fabric_lies_inside_on_the_days_that_film_alone_does_not_win():
    """Out on day 100.4 with fabric and 112.2 without: from day 101 to 112.

    Film alone holds until the frost of day 280.5, fabric until that of day 295: from a
    week before day 281, day 274, until day 294.
    """
    (found,) = planned(within([130, 112.2, 100.4], [270, 280.5, 295.0])).inner
    assert found.spans == ((101, 112, "hot"), (274, 294, "hot"))
    # A week in spring (112 less 105) is worth it, six days in autumn are not.
    (found,) = planned(within([130, 112, 105], [270, 280, 286])).inner
    assert found.spans == ((105, 111, "hot"),)
    # Where fabric wins nothing there is none, and that is said.
    same = planned(within([130, 112, 112], [270, 280, 280]))
    assert same.inner == ()
    assert [each.kind for each in same.unwanted] == ["tunnel_no_fabric"]
    assert planned(within([130, 112, 100], [270, 280, 295]), BARE) == NONE_INSIDE


def test_cloth_hangs_over_the_film_in_months_too_hot_inside():
    """27 °C outside are 31 inside: over the limit of 30. 14 MJ are 28.8 mol a day (half
    of the light counts, 4.57 µmol a joule, common figures): more than the best, 20.
    """
    dates = within([130, 112, 100], [270, 280, 295])
    (found,) = planned(dates).shades
    # 1 June to 31 August; 40 % leave 17 mol and 30 % leave 20.2, a little too much.
    assert (found.kind, found.from_day, found.to_day) == ("shade_40", 152, 243)
    # What is owned goes first.
    owned = [{"kind": "shade_30", "width_m": 3.0, "length_m": 50.0}]
    (found,) = planned(dates, owned=owned).shades
    assert (found.kind, found.width_m) == ("shade_30", 3.0)
    cool = planned(dates, summer_c=25.9)
    assert cool.shades == ()
    assert [each.kind for each in cool.unwanted] == ["tunnel_no_shade"]
    assert planned(dates, mj=9.0).shades == ()


def test_without_dates_nothing_is_planned():
    assert planned(SimpleNamespace(known=False)) == NONE_INSIDE


# ------------------------------------------------------------------ bought and done
INSIDE = TunnelCovers(
    (inner_fabric("T1", SIZE, SPANS, settings()),),
    (shade_over("T1", SIZE, ("shade_40", "tomato"), (152, 243), 2.4),),
)


def test_what_tunnels_take_is_on_the_list():
    """56 hoops of 2.18 m, two a pipe: 28. 78 m of fabric, 80 of cloth, 11 · 12 m of rope.

    Nothing inside is weighed down.
    """
    owned = [Cover(kind="light_fabric", width_m=2.2, length_m=50.0)]
    found = make(Materials(), owned, [], [], [], inside=INSIDE)
    assert {line.item: line.need for line in found.lines} == {
        "pipe": 28,
        "clip": 112,
        "light_fabric": 78,
        "shade_40": 80,
        "rope": 132,
    }
    bought = {line.item: line.buy for line in found.lines}
    assert bought["light_fabric"] == 28
    words = [say(each, "metric") for each in found.remarks]
    assert any("11 ropes of 12 m across" in w for w in words)
    assert any(
        "over 4 beds of 19 m inside, 1 March to 21 March for kale" in w for w in words
    )
    assert any("nobody climbs on the frame" in w for w in words)


def test_fabric_of_beds_and_of_tunnels_is_counted_where_both_lie_out():
    """Days 60 to 80 are weeks 8 to 11, days 280 to 300 weeks 39 to 42."""
    weeks = INSIDE.by_week_m()["light_fabric"]
    assert [week for week, length_m in enumerate(weeks) if length_m] == [
        *range(8, 12),
        *range(39, 43),
    ]
    assert max(weeks) == 78.0


def test_jobs_name_the_tunnel_and_the_days():
    found = [(j.kind, j.day, j.beds and j.beds.runs) for j in tunnel_jobs(INSIDE)]
    t1 = (("T1",),)
    assert found == [
        ("inner_fabric_on", 60, t1),
        ("inner_fabric_off", 80, t1),
        ("inner_fabric_on", 280, t1),
        ("inner_fabric_off", 300, t1),
        ("tunnel_shade_on", 152, t1),
        ("tunnel_shade_off", 243, t1),
        ("store_cover", 250, None),
    ]
