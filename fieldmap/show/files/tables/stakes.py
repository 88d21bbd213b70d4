"""Every peg: `stakes.csv`, by the tape, in the site's CRS, and in degrees (WGS 84)."""

from collections.abc import Sequence

from fieldmap.decide.stakes import Stake
from fieldmap.show.files import tables
from fieldmap.show.files.tables import Column

COLUMNS: tuple[Column[Stake], ...] = (
    Column("block", lambda it: it.block),
    Column("of", lambda it: it.of),
    Column("what", lambda it: it.what),
    Column("number", lambda it: it.number),
    Column("along_m", lambda it: it.along_m, 2),
    Column("out_m", lambda it: it.out_m, 2),
    Column("easting", lambda it: it.easting, 3),
    Column("northing", lambda it: it.northing, 3),
    Column("longitude", lambda it: it.longitude, 8),
    Column("latitude", lambda it: it.latitude, 8),
)


def csv(stakes: Sequence[Stake]) -> str:
    """One line a peg."""
    return tables.csv_of(COLUMNS, stakes, "metric")
