"""Every peg: `stakes.csv`, by its two tapes, in the site's CRS, and in degrees (WGS 84)."""

from fieldmap.decide.pegging.model import Landmark
from fieldmap.decide.pegging.stakes import Stake
from fieldmap.show.files.tables import Column, attributes


def _known(of: Landmark | int) -> str:
    """A landmark by kind, name and side, or a peg by its number."""
    if isinstance(of, int):
        return f"peg {of}"
    nth = str(of.nth) if of.nth > 1 else ""
    return " ".join(filter(None, (of.kind, of.name, of.side, nth)))


def _from(number: int) -> Column[Stake]:
    return Column(
        f"from_{number}",
        lambda it: _known(it.ties[number - 1].of) if len(it.ties) >= number else None,
    )


def _tape_cm(number: int) -> Column[Stake]:
    return Column(
        f"tape_{number}_cm",
        lambda it: (
            round(100 * it.ties[number - 1].length_m)
            if len(it.ties) >= number
            else None
        ),
    )


COLUMNS: tuple[Column[Stake], ...] = (
    *attributes("field", "of", "what", "number"),
    *(_from(1), _tape_cm(1), _from(2), _tape_cm(2)),
    *attributes("easting", "northing", digits=3),
    *attributes("longitude", "latitude", digits=8),
)
