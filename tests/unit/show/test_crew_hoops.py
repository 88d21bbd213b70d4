"""The crew's table of hoops and covers, against the list of what to buy."""

from types import SimpleNamespace

from fields_to_peg import narrow, rough

from fieldmap.decide.materials import make
from fieldmap.decide.materials.sheets import Sheet
from fieldmap.model.settings import Cover, Materials
from fieldmap.show.map.tables.work import hoops as map_table
from fieldmap.show.print import crew

WEIGHTS = -1  # the last column


def rows(sheets, owned=()):
    """What is bought, and the rows of the crew's table, over beds of 25 m by 75 cm."""
    _plot, beds = narrow(rough(1))
    bought = make(Materials(), owned, beds, [], sheets)
    *_words, table = crew._hoops(bought, SimpleNamespace(beds=beds, units="metric"))
    return bought, [[cell.replace("\u00a0", " ") for cell in row] for row in table.rows]


def needed(bought, item):
    return {line.item: line.need for line in bought.lines}[item]


def test_a_wide_piece_has_its_ends_weighed_down_in_the_table_too():
    """Fabric 4 m wide over two beds of 25 m by 0.75 m.

    Bags lie 1.42 m apart: ⌈25 / 1.42⌉ + 1 = 19 on each of four sides, ⌈4 / 1.42⌉ + 1 = 4
    on each end: 76 + 8 = 84.
    """
    kind = "light_fabric"
    wide = Sheet(kind, 0, (0, 1), (10, 12), 4.0, 27.5, is_whole=True)
    bought, (row,) = rows([wide], [Cover(kind=kind, width_m=4.0, length_m=30.0)])
    assert row[0] == "A1 and A2"
    assert row[WEIGHTS] == "84 of 10 kg for the whole piece"
    assert needed(bought, "bag") == 84
    on_map = map_table(bought.low_tunnels, "metric").rows[0].cells[WEIGHTS]
    assert on_map.startswith("84 weights of 10")
    assert "for the whole piece" in on_map


def test_two_pieces_apart_are_counted_one_by_one_in_the_table_too():
    """Film over 0 to 4 m and 10 to 12 m: 5 and 3 hoops; 4 and 3 bags on each side."""
    sheets = [
        Sheet("clear_film", 0, (0,), (10, 12), 2.0, along_m + 2.5, False, start_m)
        for start_m, along_m in ((0.0, 4.0), (10.0, 2.0))
    ]
    _bought, (row,) = rows(sheets)
    assert row[2].startswith("8 of ")
    assert row[WEIGHTS] == "14 of 10 kg"


def test_weights_and_wind_are_read_where_one_builds_and_the_rest_where_one_buys():
    """Each remark stands once; the beds under covers stand in the table alone."""
    _plot, beds = narrow(rough(1))
    fabric = Sheet("light_fabric", 0, (0,), (10, 12), 2.0, 27.5, is_whole=False)
    bought = make(Materials(), (), beds, [], [fabric], storm_from_deg=90.0)
    drawn = SimpleNamespace(beds=beds, units="metric")
    building = str(crew._while_building(bought, "metric"))
    buying = str(crew._shopping(bought, drawn))
    said = {fact.kind: crew._remark(fact, "metric") for fact in bought.remarks}
    assert set(said) == {
        *("weights_hold", "low_tunnels_stand", "low_tunnels_across_storm"),
    }
    assert said["weights_hold"] in building
    assert said["low_tunnels_across_storm"] in building
    for each in said.values():
        assert each not in buying
    assert "Hoops and covers" in buying
    assert "Hoops and covers" not in building
