"""What the landowner is asked for: beds in use and in grass, and what is dug."""

from types import SimpleNamespace

import pytest

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.decide.materials.fence import Fence
from fieldmap.decide.materials.watering.model import Pipes
from fieldmap.model.fact import Fact
from fieldmap.show.print import agreement, landowner
from fieldmap.show.text.language import of_site, spoken


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


def rows(plan, untended=(), **more):
    things = agreement.things(plan, CropPlan(untended=untended), **more)
    return dict(things)


def test_drains_and_moved_earth_are_agreed_on_by_metres_and_volume():
    """Pads of 5.2 and 2.6 m³ are 7.8 m³ together."""
    plan = drawn(tunnel("T1", 26.0, 5.2), tunnel("T2", 16.5, 2.6))
    found = rows(plan)
    assert found["Drains beside tunnels"] == "T1: 26 m, T2: 16.5 m"
    earth = found["Earth dug away under the tunnels"]
    assert earth == "up to 8 m³, put on their low side"
    (*_asked, away) = landowner._what(plan, "metric")
    assert away == "We can remove everything that we build, and sow grass on the beds."


@pytest.mark.parametrize("tunnels", [(), (tunnel("T1", 0.0, 0.4),)])
def test_where_nothing_is_dug_no_row_asks_for_it(tunnels):
    plan = drawn(*tunnels)
    assert not any("Drain" in row or "Earth" in row for row in rows(plan))


def test_the_owner_reads_how_many_of_the_beds_stay_in_grass():
    """Of three beds two stay in grass; a bed inside a tunnel is none of the three."""
    found = rows(drawn(), untended=("A1", "A3", "T1/2"))
    assert found["Beds, without the paths"] == "3 beds, 30 m² (beds in grass: 2)"
    assert rows(drawn())["Beds, without the paths"] == "3 beds, 30 m²"


def test_a_fence_and_a_pipe_are_to_be_agreed_by_what_the_plan_knows():
    """Of wire 150.4 and 99.8 m, whole metres each: 250 m. Without a tap no length is known."""
    around = [Fence("Home", 150.4, 4, 27, 1), Fence("Away", 99.8, 4, 16, 1)]
    pipes = Pipes(3, 6, 60.0, 5.0, 143.9, "Barn Tap")
    found = rows(drawn(), around=around, pipes=pipes)
    assert found["Fence against deer"] == "not agreed yet: 250 m, 2.4 m high"
    assert found["Water pipe and taps"] == "not agreed yet: 144 m of pipe from Barn Tap"
    dry = rows(drawn(), pipes=pipes._replace(main_m=None, tap=""))
    assert dry["Water pipe and taps"] == "not agreed yet"
    assert "Fence against deer" not in dry


@pytest.mark.parametrize(
    ("language", "what", "some", "none"),
    [
        (
            *("en", "Fence against deer"),
            "not agreed yet: 250 m, 2.4 m high (no fence yet around Brook and Hut)",
            "no fence yet around Brook and Hut",
        ),
        (
            *("es", "Valla contra ciervos"),
            "aún sin acordar: 250 m, 2,4 m de alto (aún sin valla: Brook y Hut)",
            "aún sin valla: Brook y Hut",
        ),
    ],
)
def test_plots_whose_fence_waits_are_named_beside_the_wire(language, what, some, none):
    """Wire of 150.4 and 99.8 m stands this year; Brook and Hut lie in grass."""
    around = [Fence("Home", 150.4, 4, 27, 1), Fence("Away", 99.8, 4, 16, 1)]
    later = ["Brook", "Hut"]
    with spoken(of_site(language, "metric")):
        assert rows(drawn(), around=around, later=later)[what] == some
        assert rows(drawn(), later=later)[what] == none


def test_tunnels_with_the_same_reason_are_named_in_one_sentence():
    def stands(name, percent):
        most = Fact("tunnel_most_winter_light")
        light = Fact("tunnel_winter_light", percent=percent) if percent < 100 else most
        return SimpleNamespace(name=name, reasons=(light,))

    tunnels = [stands("T1", 100), stands("T2", 97), stands("T3", 100)]
    both, alone = landowner._of_tunnels(tunnels, "metric")
    assert "tunnels T1 and T3 get as much light as the sunniest place" in both
    assert "tunnel T2 gets 97 % as much light" in alone
