"""`parcels.csv` and `parcels.gpkg`: every fact of every parcel, a column each."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import geopandas as gpd
import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from fieldmap.model.fact import Fact
from fieldmap.region.parcels.facts import (
    SLOPES_PERCENT,
    USUAL_SLOPE,
    Floats,
    ParcelFacts,
)
from fieldmap.region.parcels.season import YEARS, Seasons
from fieldmap.show.files import geopackage, tables
from fieldmap.show.files.tables import Column
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.site.parcels import reason_in_words

LAYER = "parcels"


class Chosen(NamedTuple):
    """All that is known of the parcels of a region, in the order of their file.

    Attributes
    ----------
    frame
        `id`, `name` and outlines in the CRS of the layers.
    seasons
        None where no weather record says any.
    ranks
        Places from 1; None where too little is known.
    reasons
        What sets each apart.
    """

    frame: gpd.GeoDataFrame
    facts: ParcelFacts
    seasons: Seasons | None
    ranks: Sequence[int | None]
    reasons: Sequence[tuple[Fact, ...]]

    @property
    def order(self) -> list[int]:
        """Numbers of the parcels by rank, those that are not known last.

        Of one rank those with the most dry ground on usual slopes come first.
        """
        unknown = len(self.ranks) + 1
        dry_ha = np.nan_to_num(self.facts.dry_ha[USUAL_SLOPE], nan=-1.0)
        return sorted(
            range(len(self.ranks)),
            key=lambda at: (self.ranks[at] or unknown, -dry_ha[at]),
        )


class _Row(NamedTuple):
    of: Chosen
    at: int
    units: Units


def _ends(key: str, *parts: str) -> tuple[str, ...]:
    return tuple(key.format(part) for part in parts)


def _column(values: Floats, at: int) -> list[float]:
    return [float(each) for each in values[:, at]]


def _season(row: _Row, years: int) -> list[float]:
    if row.of.seasons is None:
        return [float("nan")] * 3
    return _column(row.of.seasons.days[years], row.at)


def _fact(key: str, name: str, digits: int, times: float = 1.0) -> Column[_Row]:
    return Column(
        key, lambda row: float(getattr(row.of.facts, name)[row.at]) * times, digits
    )


def _of_ground(key: str, name: str, digits: int) -> Column[_Row]:
    return Column(
        key,
        lambda row: _column(getattr(row.of.facts, name), row.at),
        digits,
        _ends(key, "p10", "p50", "p90"),
    )


COLUMNS: tuple[Column[_Row], ...] = (
    Column("rank", lambda row: row.of.ranks[row.at]),
    Column("id", lambda row: row.of.frame["id"].iloc[row.at]),
    Column("name", lambda row: row.of.frame["name"].iloc[row.at]),
    _fact("area_ha", "area_ha", 2),
    *(
        Column(
            f"frost_free_{good}_of_{of}",
            partial(_season, years=number),
            0,
            _ends(
                f"frost_free_days_{good}_of_{of}_years_{{}}", "low", "central", "high"
            ),
        )
        for number, (good, of) in enumerate(YEARS)
    ),
    Column(
        "offset_c",
        lambda row: _column(row.of.facts.offset_c, row.at),
        2,
        _ends("still_night_offset_{}_c", "low", "central", "high"),
    ),
    _of_ground("slope_{}_percent", "slope_percent", 1),
    _fact("faces_deg", "faces_deg", 0),
    _of_ground("sun_of_year_{}_mj_m2_day", "sun_mj_m2_day", 2),
    _of_ground("sun_of_dark_months_{}_mj_m2_day", "dark_sun_mj_m2_day", 2),
    _fact("shaded_percent", "shaded_share", 0, 100.0),
    _fact("wet_percent", "wet_share", 0, 100.0),
    Column(
        "dry_ha",
        lambda row: _column(row.of.facts.dry_ha, row.at),
        2,
        tuple(f"dry_ha_up_to_{slope:g}_percent" for slope in SLOPES_PERCENT),
    ),
    _fact("cold_air_m", "cold_air_m", 1),
    _fact("height_m", "height_m", 1),
    _fact("known_percent", "known_share", 0, 100.0),
    Column("reason", lambda row: reason_in_words(row.of.reasons[row.at], row.units)),
)


def rows(chosen: Chosen, units: Units) -> list[dict[str, Any]]:
    """One row a parcel, in order; NaN and ranks that are not known are empty."""
    return [tables.flat(COLUMNS, _Row(chosen, at, units), units) for at in chosen.order]


def csv(chosen: Chosen, units: Units) -> str:
    """The table as CSV; text that a spreadsheet would take for a formula is quoted."""
    return tables.csv_text(tables.names(COLUMNS), rows(chosen, units))


def write_geopackage(chosen: Chosen, units: Units, path: Path) -> None:
    """The same with outlines, for GIS programs.

    Parameters
    ----------
    chosen
        All that is known of the parcels.
    units
        Units of the columns.
    path
        Of the new file.
    """
    outlines = chosen.frame.geometry.to_numpy()[chosen.order]
    layer = gpd.GeoDataFrame(
        rows(chosen, units),
        columns=tables.names(COLUMNS),
        geometry=[MultiPolygon(shapely.get_parts(each).tolist()) for each in outlines],
        crs=chosen.frame.crs,
    )
    geopackage.write_layers({LAYER: layer}, path, {LAYER: "MultiPolygon"})
