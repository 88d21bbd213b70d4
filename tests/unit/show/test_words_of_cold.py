"""One term for what places are compared with on a still night, on map and sheets."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.map.questions import THAN


def test_map_and_walks_compare_cold_with_the_same_thing():
    cold = texts("fieldmap.show.text.print.walk", "stops")["cold"]["say"]
    order = texts("fieldmap.show.text.print.dawn_walk", "sheet")["order"]
    assert THAN["plots"] in cold
    assert THAN["plots"] in order
    assert "half" in cold.lower()
    assert "half" in order.lower()
