"""Places that cold air collects in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fieldmap.model.estimate import Estimate
from fieldmap.show.map.tables.table import Column, Table, headings, rows
from fieldmap.show.text import quantities
from fieldmap.show.text.map import cold_air as words
from fieldmap.show.text.map.headings import heading
from fieldmap.show.text.map.labels import label

if TYPE_CHECKING:
    import geopandas as gpd

    from fieldmap.show.text.quantities import Units


def pockets(frame: gpd.GeoDataFrame, units: Units, *, by_station: bool) -> Table:
    """Cold pockets, the coldest of each at its deepest."""

    def coldest(pocket: Any) -> str:
        offset_c = Estimate(
            pocket.offset_low_c, pocket.offset_central_c, pocket.offset_high_c
        )
        return words.at_deepest(words.night(offset_c, units, by_station=by_station))

    columns: list[Column[Any]] = [
        Column(heading("cold_pocket"), lambda pocket: str(pocket.name)),
        Column(
            heading("cold_air"),
            lambda pocket: words.pocket(pocket.depth_m, pocket.behind, units),
        ),
        Column(
            heading("area"),
            lambda pocket: words.pocket_area(
                quantities.area(round(pocket.area_m2), units),
                cut_off=bool(pocket.cut_off),
            ),
        ),
        Column(heading("still_night"), coldest),
    ]
    return Table(
        "pockets",
        label("pockets"),
        headings(columns),
        rows(columns, frame.itertuples(), "pocket"),
        label("no_pockets"),
    )
