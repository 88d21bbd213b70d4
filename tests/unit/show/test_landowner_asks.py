"""What the landowner is asked for: beds in use and in grass, and what is dug."""

from types import SimpleNamespace

import pytest

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.show.print import landowner, paper


def tunnel(name, drain_m, level_m3):
    return SimpleNamespace(
        name=name,
        size=[("length_m", 20.0), ("width_m", 6.0), ("height_m", 3.0)],
        rain=SimpleNamespace(drain_m=drain_m),
        ground=SimpleNamespace(level_pad_m3=level_m3),
    )


def drawn(*tunnels, units="metric"):
    beds = [SimpleNamespace(name=f"A{at}", area_m2=10.0) for at in (1, 2, 3)]
    return SimpleNamespace(beds=beds, tunnels=tunnels, units=units)


def asked(plan, untended=()):
    return " ".join(landowner._what(plan, CropPlan(untended=untended), plan.units))


def rows(plan):
    (table,) = (
        each for each in landowner._agreement(plan) if isinstance(each, paper.Table)
    )
    return {row[0]: row[1] for row in table.rows}


def test_drains_and_moved_earth_are_agreed_on_by_metres_and_volume():
    """Pads of 5.2 and 2.6 m³ are 7.8 m³ together."""
    plan = drawn(tunnel("T1", 26.0, 5.2), tunnel("T2", 16.5, 2.6))
    found = rows(plan)
    assert found["Drain beside tunnel T1"] == "26 m long"
    assert found["Drain beside tunnel T2"] == "16.5 m long"
    earth = found["Earth dug away under the tunnels"]
    assert earth == "up to 8 m³, put on their low side"
    assert asked(plan).endswith(
        "We can take beds and tunnels away again. Page 2 also lists what we dig."
    )


@pytest.mark.parametrize("tunnels", [(), (tunnel("T1", 0.0, 0.4),)])
def test_where_nothing_is_dug_all_can_be_taken_away(tunnels):
    plan = drawn(*tunnels)
    assert not any("Drain" in row or "Earth" in row for row in rows(plan))
    assert asked(plan).endswith("We can take all of this away again.")


def test_the_owner_reads_how_many_of_the_beds_stay_in_grass():
    """Of three beds two stay in grass; a bed inside a tunnel is none of the three."""
    said = asked(drawn(), untended=("A1", "A3", "T1/2"))
    assert "3 beds" in said
    assert "2 of the beds stay in grass and clover." in said
    assert "grass" not in asked(drawn())
