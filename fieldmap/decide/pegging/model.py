"""What is pegged from what: the records of a pegging sheet.

Lengths are along the ground, as a tape reads that lies on it and is pulled tight. Places
are easting and northing in the site's CRS.
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple

At = tuple[float, float]
# A check that is wrong by more is done again: between two pegs, and from a landmark
# (choices, after simulated crews).
SHAPE_LIMIT_M, PLACE_LIMIT_M = 0.05, 0.20
Kind = Literal["post", "gatepost", "plot corner", "building corner", "tree", "tap"]


class Landmark(NamedTuple):
    """A thing that can be found on the ground, to which a tape can be hooked.

    Attributes
    ----------
    name
        Of the thing, as the site has it; may be empty.
    side
        Compass point of a corner, seen from the middle of its thing: "north-west"; else
        empty.
    nth
        Which of those on that side.
    """

    kind: Kind
    name: str
    side: str
    at: At
    nth: int = 1


class Tie(NamedTuple):
    """A tape from a known place: a landmark, or a peg by its number."""

    of: Landmark | int
    length_m: float


class String(NamedTuple):
    """A string pulled straight between two known places."""

    start: Landmark | int
    end: Landmark | int


@dataclass(frozen=True)
class Peg:
    """One peg, and how it is found.

    Attributes
    ----------
    number
        In walking order, from 1 in each field.
    role
        "corner" of a bay or tunnel, "section" between two of its corners, "mark" on a
        string, "helper" within a bay.
    ties
        Two tapes that meet at it; one where it stands on a string.
    bearing_deg
        From the first tie to the peg, from true north.
    off_m
        By how much it may be off, all before it counted: one standard deviation in the
        worst direction.
    """

    number: int
    role: Literal["corner", "section", "mark", "helper"]
    at: At
    ties: tuple[Tie, ...]
    string: String | None
    bearing_deg: float
    off_m: float


class Check(NamedTuple):
    """A length that proves what was pegged.

    Attributes
    ----------
    kind
        "shape": between two pegs of a bay; "place": from a landmark; "found": between
        two landmarks, before anything is pegged.
    """

    kind: Literal["shape", "place", "found"]
    start: Landmark | int
    end: Landmark | int
    length_m: float


@dataclass(frozen=True)
class Bay:
    """Beds side by side, of one length, with their ends on two lines.

    Attributes
    ----------
    beds
        Names, from the side of the gate on.
    rows
        Numbers of the pegs along the near end, along the far one last, and along lines
        between where beds are longer than the tape: at the first edge of each section's
        first bed, and at the last edge of the last bed.
    sections
        Which bed begins each section, counted from 0.
    length_m
        Of a bed.
    line
        Number of its knotted line in the field's list.
    hand
        On which side the next bed lies as one looks from the near end to the far one.
    checked
        Beds whose length is measured once more.
    """

    beds: tuple[str, ...]
    rows: tuple[tuple[int, ...], ...]
    sections: tuple[int, ...]
    length_m: float
    bed_m: float
    path_m: float
    line: int
    hand: str
    checked: tuple[str, ...]


@dataclass(frozen=True)
class TunnelPegs:
    """A walk-in tunnel: its corners, its centre line and its bows.

    Attributes
    ----------
    corners
        Numbers of the pegs: that at the near end, on the side of the gate; its far end;
        and back on the other side.
    bows_m
        Along each long side from the first corner.
    drop_m
        How far the ground falls from the first end to the other; under 0 where it rises.
    """

    name: str
    corners: tuple[int, int, int, int]
    length_m: float
    width_m: float
    bows_m: tuple[float, ...]
    drop_m: float


@dataclass(frozen=True)
class FieldPegs:
    """The pegging of one field.

    Attributes
    ----------
    steps
        Pegs and the checks that follow them, in the order of the work.
    lines_m
        Marks of the knotted lines, each from 0: the first edge of each bed of a section.
        The next section begins at a peg of its own.
    untied
        Beds that no tape reaches.
    wanted
        Lengths between corners, by their names, that must be taped before anything is
        pegged: the outline was walked with a phone.
    uphill_deg
        From grid north; None where the ground is level.
    start
        Where one stands: the gate, or the landmark that is nearest.
    """

    name: str
    plot: str
    start: At
    steps: tuple[Peg | Check, ...] = ()
    bays: tuple[Bay, ...] = ()
    lines_m: tuple[tuple[float, ...], ...] = ()
    tunnels: tuple[TunnelPegs, ...] = ()
    untied: tuple[str, ...] = ()
    uphill_deg: float | None = None
    wanted: tuple[tuple[str, str], ...] = ()
    landmarks: tuple[Landmark, ...] = ()

    @property
    def pegs(self) -> dict[int, Peg]:
        """Pegs by their numbers."""
        return {step.number: step for step in self.steps if isinstance(step, Peg)}

    @property
    def checks(self) -> list[Check]:
        """In the order of the work."""
        return [step for step in self.steps if isinstance(step, Check)]

    @property
    def not_at_corners(self) -> list[int]:
        """Numbers of pegs at no corner of a bed or tunnel: on strings, in long beds."""
        ends = {
            peg
            for bay in self.bays
            for row in (bay.rows[0], bay.rows[-1])
            for peg in row
        }
        corners = {peg for tunnel in self.tunnels for peg in tunnel.corners}
        return sorted(self.pegs.keys() - ends - corners)

    @property
    def pegs_to_bring(self) -> int:
        """One for each corner of each bed and tunnel, and those at no corner.

        More than `pegs`, which are set by tape: knotted lines give the other corners.
        """
        corners = 4 * sum(len(bay.beds) for bay in self.bays) + 4 * len(self.tunnels)
        return corners + len(self.not_at_corners)
