"""Choices of places for tunnels, side by side."""

from types import SimpleNamespace

from fieldmap.decide.tunnels.criteria import Criteria
from fieldmap.decide.tunnels.model import Access, RainFromAbove, WindThere
from fieldmap.model.estimate import Estimate
from fieldmap.model.settings import TunnelSize
from fieldmap.show.layer_styles import STYLES
from fieldmap.show.map.data import cards
from fieldmap.show.map.tables import places


def place(wind=(0.8, 10.0), rain=(90.0, 0.0, 0.0), line_m=None, **worse):
    return SimpleNamespace(
        name="T1",
        plot="Shelf",
        bearing_deg=90.0,
        offset_c=Estimate(-1.5, -0.5, 0.5),
        ground=SimpleNamespace(level_pad_m3=7.0),
        access=Access(20.0, None),
        rain=RainFromAbove(*rain),
        wind=WindThere(*wind),
        line_m=line_m,
        criteria=Criteria(*(0.0,) * 12)._replace(storm_percent=80.0, **worse),
    )


def cells(*each):
    choices = [
        SimpleNamespace(letter=letter, places=(one,))
        for letter, one in zip("ABC", each, strict=False)
    ]
    found = places.tunnel_choices(choices, "metric", by_station=False)
    return [dict(zip(found.columns, row.cells, strict=True)) for row in found.rows]


def test_a_planned_tunnel_reads_as_planned():
    size = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
    one = SimpleNamespace(
        size=size, bearing_deg=90.0, offset_c=Estimate(-1.0, 0.0, 1.0)
    )
    first = cards.of_tunnel(one, "metric", by_station=False)[0]
    assert first == "Planned: 20 m long, 6 m wide, 3 m high."
    # Dashes: what stands has a line without gaps.
    assert STYLES["tunnel"].dashes_px
    assert not STYLES["building"].dashes_px


def test_each_place_stands_beside_the_others_with_what_it_was_compared_by():
    good, bad = cells(
        place(),
        place(
            rain=(2514.0, 0.0, 6.0),
            line_m=12.7,
            dark_points=4.2,
            wet_percent=33.0,
            storm_deg=40.0,
            breeze_deg=41.0,
            wind=(0.8, 71.0),
        ),
    )
    assert (good["Place"], bad["Place"]) == (
        "first place: T1, Shelf",
        "second place: T1, Shelf",
    )
    assert good["Light on the floor"] == "as much light as the best place"
    assert (
        bad["Light on the floor"]
        == "less light than the best place (the difference is 4 % of the light in the open)"
    )
    assert good["Rain water"] == "none of the ground is wet or clay"
    assert (
        bad["Rain water"]
        == "33 % of the ground is wet or clay. Rain from 2,510 m² of higher ground runs here, so it needs a drain 6 m long"
    )
    assert good["Storm wind"] == "hits its end, 80 % as strong as on open ground"
    assert bad["Storm wind"] == (
        "hits its long side at 70° (90° is straight from the side), 80 % as strong as on open ground"
    )
    assert good["Summer breeze"] == "hits its long sides"
    assert bad["Summer breeze"] == "blows along it, at an angle of 19° to its long side"
    assert good["To an overhead line"] == "not on the map"
    assert bad["To an overhead line"] == "13 m"
    assert good["Gate and water"] == "gate: 20 m, water: not on the map"


def test_a_wind_that_is_not_given_is_not_guessed():
    (only,) = cells(place(wind=(None, None)))
    assert only["Storm wind"] == only["Summer breeze"] == "not given in site.toml"
