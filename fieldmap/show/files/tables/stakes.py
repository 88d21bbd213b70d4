"""Every peg: `stakes.csv`, by the tape, in the site's CRS, and in degrees (WGS 84)."""

from fieldmap.decide.stakes import Stake
from fieldmap.show.files.tables import Column, attributes

COLUMNS: tuple[Column[Stake], ...] = (
    *attributes("block", "of", "what", "number"),
    *attributes("along_m", "out_m", digits=2),
    *attributes("easting", "northing", digits=3),
    *attributes("longitude", "latitude", digits=8),
)
