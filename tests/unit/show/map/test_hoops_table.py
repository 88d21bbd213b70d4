"""The map's table of hoops: which part of a bed they stand on."""

from fields_to_peg import narrow, rough

from fieldmap.decide.materials.low_tunnels import low_tunnel
from fieldmap.model.settings import Materials
from fieldmap.show.map.tables.work import hoops

ROLLS_M = (1.6, 2.2, 3.2)


def test_a_bed_that_is_covered_in_part_is_named_with_its_part():
    _plot, beds = narrow(rough(1))
    whole, other, third = (
        low_tunnel(bed, "light_fabric", Materials(), ROLLS_M, [(0.0, bed.length_m)])
        for bed in beds[:3]
    )
    lows = [
        whole,
        other._replace(stretches_m=((0.0, 6.0),)),
        third._replace(stretches_m=((6.0, 12.0),)),
    ]
    found = [row.cells[0] for row in hoops(lows, "metric").rows]
    assert found == [
        whole.bed,
        f"{other.bed} (only the 6 m nearest the gate)",
        f"{third.bed} (6 to 12 m from the end near the gate)",
    ]
