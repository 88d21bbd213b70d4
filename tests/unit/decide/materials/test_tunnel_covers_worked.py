"""Cloth over the film of walk-in tunnels and fabric inside, worked by hand.

What is left free, spacings, laps and ends are common practice, no source.
"""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from made_up_crops import crop, span

from fieldmap.decide.crop_plan import CoverUse, CropPlan, FloorBed, Stay, more_jobs
from fieldmap.decide.materials import make, within
from fieldmap.decide.materials.low_tunnels import low_tunnel
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.decide.materials.tunnel_covers import (
    NONE_INSIDE,
    TunnelCovers,
    plan_covers,
    shade_over,
)
from fieldmap.decide.weekly_jobs import tunnel_jobs
from fieldmap.model.season_year import NORTH, SOUTH
from fieldmap.model.settings import Cover, Materials, Settings, TunnelSize
from fieldmap.show.text.sentence import say

SIZE = TunnelSize(
    length_m=20.0, width_m=6.0, height_m=3.0, inner_fabric="light_fabric", shaded=True
)
BARE = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
FABRIC = "light_fabric"


FLOOR = [
    SimpleNamespace(
        name=f"T1/{at}",
        plot="Home",
        length_m=19.0,
        width_m=1.0,
        bearing_deg=0.0,
        tunnel="T1",
    )
    for at in (1, 2)
]


def settings(**more):
    return Settings.model_validate({"name": "made up"} | more)


def stay(name="hot", days=(140, 200, 270), covers=(), bed="T1/1"):
    first, ripe, last = days
    return Stay(
        season="summer",
        from_day=first,
        harvest_day=ripe,
        to_day=last,
        covers=tuple(covers),
        bed=bed,
        crop=name,
        days_by_place=0.0,
    )


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
HOT = crop("hot", shade_percent=span(20, 45), best_light_mol=span(15, 20))
YOUNG = crop(
    "young",
    shade_percent=span(20, 45) | {"stage": "young"},
    best_light_mol=span(15, 20),
)


def planned(
    *stays,
    size=SIZE,
    summer_c=27.0,
    mj=14.0,
    owned=(),
    idle_m=0.0,
    months=(6, 7, 8),
    season=NORTH,
):
    days = pd.date_range("2025-01-01", "2025-12-31")
    summer = days.month.isin(months)
    place = SimpleNamespace(name="T1", size=size)
    return plan_covers(
        settings(covers=[dict(each) for each in owned]),
        within([place], [[mj] * 12], FLOOR, [*stays, stay(bed="A1")]),
        (HOT, YOUNG),
        pd.Series(np.where(summer, summer_c, 15.0), days),
        season,
        {each["kind"]: idle_m for each in owned},
    )


def test_cloth_hangs_over_the_film_while_what_wants_it_stands_there():
    """27 °C outside are 31 inside: over the limit of 30. 14 MJ are 30.5 mol a day (half
    of the light counts, 4.57 µmol a joule, common figures): more than the best, 20.

    Hot from 1 June, day 152, to 31 August, day 243; 40 % leave 18.3 mol and 30 % leave
    21.4, a little too much.
    """
    (found,) = planned(stay()).shades
    assert (found.kind, found.from_day, found.to_day) == ("shade_40", 152, 243)
    # Set out in July and done in mid August: no day before, none after.
    (found,) = planned(stay(days=(190, 200, 225))).shades
    assert (found.from_day, found.to_day) == (190, 225)
    # A week of it is worth the rope, six days are not.
    (found,) = planned(stay(days=(100, 130, 158))).shades
    assert (found.from_day, found.to_day) == (152, 158)
    assert planned(stay(days=(100, 130, 157))).shades == ()
    # What is done before June wants none, and an empty tunnel neither.
    for stays in ((stay(days=(80, 120, 150)),), ()):
        found = planned(*stays)
        assert found.shades == ()
        assert "tunnel_no_shade" in [each.kind for each in found.inside]
    assert planned(stay(), summer_c=25.9).shades == ()
    assert planned(stay(), mj=9.0).shades == ()


def test_hot_months_may_go_on_across_new_year_and_midwinter_near_the_equator():
    """November to February, of which January 20 to February 28 (day 59) falls on a stay.

    In the south the season-year begins in July: a year that is hot in all months is hot
    on all days of a stay there too.
    """
    wet = {"months": (11, 12, 1, 2)}
    (found,) = planned(stay(days=(20, 40, 100)), **wet).shades
    assert (found.from_day, found.to_day) == (20, 59)
    # Day 305 is 1 November.
    (found,) = planned(stay(days=(290, 320, 350)), **wet).shades
    assert (found.from_day, found.to_day) == (305, 350)
    assert planned(stay(days=(100, 140, 290)), **wet).shades == ()
    for season in (NORTH, SOUTH):
        always = {"months": range(1, 13), "season": season}
        (found,) = planned(stay(days=(140, 200, 270)), **always).shades
        assert (found.from_day, found.to_day) == (140, 270)


def test_the_crop_on_most_metres_for_most_days_says_from_when_to_when():
    """Young plants want cloth for 28 days: 160 to 187 on 19 m are 532 metre days, and the
    other from 200 to 210 are 209.
    """
    young = stay("young", (160, 200, 240))
    (found,) = planned(young, stay(days=(200, 205, 210))).shades
    assert (found.crop, found.from_day, found.to_day) == ("young", 160, 187)
    (found,) = planned(young, stay(days=(152, 200, 243))).shades
    assert (found.crop, found.from_day, found.to_day) == ("hot", 152, 243)


def test_cloth_hangs_from_the_first_stay_of_a_crop_to_its_last():
    """Until day 180 on one bed and from day 200 to 230 on the other."""
    one, other = stay(days=(140, 160, 180)), stay(days=(200, 210, 230), bed="T1/2")
    for stays in ((one, other), (other, one)):
        (found,) = planned(*stays).shades
        assert (found.from_day, found.to_day) == (152, 230)


def test_cloth_that_is_owned_goes_first():
    owned = [{"kind": "shade_30", "width_m": 3.0, "length_m": 50.0}]
    (found,) = planned(stay(), owned=owned).shades
    assert (found.kind, found.width_m) == ("shade_30", 3.0)


def test_fabric_inside_is_said_by_what_stands_under_it():
    """Days 100 to 111 are 10 to 21 April, days 274 to 294 are 1 to 21 October."""
    uses = CoverUse(FABRIC, 100, 111, 12.0), CoverUse(FABRIC, 274, 294, 14.0)
    found = planned(stay(covers=uses), stay(covers=uses, bed="T1/2"))
    (fact,) = [each for each in found.inside if each.kind == "inner_fabric"]
    assert say(fact, "metric").endswith(
        "on low hoops inside, 10 April to 21 April for hot and 1 October to 21 October "
        "for hot."
    )
    # Film alone, owned or not; and nothing is said where nobody asked for it.
    owned = [{"kind": FABRIC, "width_m": 2.2, "length_m": 50.0}]
    # Beds of 19 m: as much that lies idle all year could have lain there.
    for have, idle_m, kind in (
        (owned, 19.0, "tunnel_fabric_gains_little"),
        (owned, 18.9, "tunnel_fabric_in_use"),
        ((), 0.0, "tunnel_fabric_not_owned"),
    ):
        found = planned(stay(), owned=have, idle_m=idle_m)
        assert [each.kind for each in found.inside] == [kind]
    assert planned(stay(), size=BARE) == NONE_INSIDE
    # Without a crop plan nothing is known of tunnels.
    assert within([SimpleNamespace(name="T1")], [[9.0] * 12], FLOOR, []) == []


# ------------------------------------------------------------------ bought and done
INSIDE = TunnelCovers(
    (shade_over("T1", SIZE, ("shade_40", "tomato"), (152, 243), 2.4),)
)


def test_what_tunnels_take_is_on_the_list():
    """Fabric over two beds of 19 m in the same weeks: 2 · (19 + 2.5) = 43 m.

    19 / 1.5 is 12.7, so 14 hoops a bed, 28 in all, two a pipe of 6 m (1.5708 + 2 · 0.3
    are 2.18 m): 14 pipes and 56 clips. 80 m of cloth, 11 · 12 m of rope. Inside no wind
    is, so no bag, stake or tie.
    """
    sheets = [
        Sheet(FABRIC, 0, (at,), (14, 15), 1.97, 21.5, is_whole=False) for at in (0, 1)
    ]
    owned = [Cover(kind=FABRIC, width_m=2.2, length_m=40.0)]
    found = make(Materials(), owned, FLOOR, [], sheets, inside=INSIDE)
    assert {line.item: line.need for line in found.lines} == {
        "pipe": 14,
        "clip": 56,
        FABRIC: 43,
        "shade_40": 80,
        "rope": 132,
    }
    bought = {line.item: line.buy for line in found.lines}
    assert bought[FABRIC] == 3
    words = [say(each, "metric") for each in found.remarks]
    assert any("11 ropes over the top, each 12 m long" in w for w in words)
    assert any("Do not climb on the frame" in w for w in words)
    # No storm reaches them.
    assert not [each for each in found.remarks if "storm" in each.kind]


def test_nothing_weighs_fabric_down_where_no_wind_is():
    inside = low_tunnel(FLOOR[0], FABRIC, Materials(), (2.2,), [(0.0, 19.0)])
    weights = inside.anchors, inside.anchor_gap_m, inside.anchor_kg
    assert weights == (0, 0.0, 0.0)
    assert inside.lets_go_m_s is None


def test_jobs_name_the_tunnel_and_the_days():
    found = [(j.kind, j.day, j.beds and j.beds.runs) for j in tunnel_jobs(INSIDE)]
    t1 = (("T1",),)
    assert found == [
        ("tunnel_shade_on", 152, t1),
        ("tunnel_shade_off", 243, t1),
        ("store_cover", 250, None),
    ]


def test_fabric_inside_is_a_job_of_the_beds_that_it_lies_on():
    """Set out on day 100 under it: hoops a week before, day 93."""
    use = CoverUse(FABRIC, 100, 111, 12.0)
    plan = CropPlan(stays=(stay(days=(100, 200, 270), covers=(use,)),))
    floor = [FloorBed(each, None, 0, FABRIC) for each in FLOOR]
    tray = HOT.model_copy(update={"tray_weeks": 0})
    jobs = more_jobs(plan, floor, [tray])
    kinds = {job.kind: (job.day, job.cover) for job in jobs}
    assert kinds["set_hoops"] == (93, "")
    assert kinds["inner_fabric_on"] == (100, FABRIC)
    assert kinds["inner_fabric_off"] == (111, FABRIC)
    assert {job.beds.runs for job in jobs if job.beds} == {(("T1/1",),)}


def test_a_shaded_tunnel_is_counted_by_week():
    """Day 152 lies in week 21 and day 243 in week 34."""
    weeks = INSIDE.by_week_m()["shade_40"]
    hangs = [week for week, length_m in enumerate(weeks) if length_m]
    assert (hangs[0], hangs[-1], max(weeks)) == (21, 34, 80.0)
    assert pytest.approx(sum(weeks)) == 14 * 80.0
