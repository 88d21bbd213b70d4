"""A crew at work on one field: places each peg from what is there already."""

from collections.abc import Iterable, Sequence

import numpy as np
from shapely.geometry import Point

from fieldmap.decide.pegging.landmarks import ERROR_M
from fieldmap.decide.pegging.model import At, Check, Landmark, Peg, String, Tie
from fieldmap.decide.pegging.network import Fix, Network
from fieldmap.decide.pegging.tape import HOOKED_M, Ground

Known = Landmark | int
# A peg that is known so well needs no mark on a string [m, standard deviation].
GOOD_M = 0.05
# Candidates for a tape, and strings between landmarks, that are tried.
MOST_TAPES, MOST_STRINGS = 12, 4
STRING_FROM_M = 4.0
# Two marks on a string, so far from the place they serve along the string, in distances
# from the string: tapes then cross at 90°, 113°, 127°, 74°, 50°, 50°, 72° and 72°.
SPREADS = ((-1.0, 1.0), (-1.5, 1.5), (-2.0, 2.0), (-0.75, 0.75), (0.0, 1.2), (-1.2, 0.0),
           (-0.5, 1.0), (-1.0, 0.5))  # fmt: skip
LEAST_SPREAD_M = 1.5
# Tape to spare: lengths along the ground are more than on the map.
SPARE = 0.985
# A string along an edge of the plot is taken before one across it, which must be so much
# nearer.
ALONG_EDGE_M, ACROSS_M = 1.0, 20.0


class Crew:
    """What is pegged so far, and how well it is known.

    Attributes
    ----------
    steps
        Pegs and checks in the order of the work.
    """

    def __init__(
        self, ground: Ground, landmarks: Sequence[Landmark], convergence_deg: float
    ) -> None:
        self.ground = ground
        self.steps: list[Peg | Check] = []
        self._turn_deg = convergence_deg
        self._net = Network()
        self._known: list[Known] = []
        self._places: dict[Known, int] = {}
        self._pegs: dict[int, Peg] = {}
        for landmark in landmarks:
            self._net.add_landmark(landmark.at, ERROR_M[landmark.kind])
            self._know(landmark)

    @property
    def landmarks(self) -> list[Landmark]:
        """Things that can be found, the surest first."""
        return [each for each in self._known if isinstance(each, Landmark)]

    @property
    def known(self) -> tuple[Known, ...]:
        """Landmarks, then pegs."""
        return tuple(self._known)

    # ------------------------------------------------------------- what is known
    def at(self, known: Known) -> At:
        """Where a landmark or a peg is."""
        return self._pegs[known].at if isinstance(known, int) else known.at

    def pegged(self, at: At) -> int | None:
        """Number of a peg that stands there already."""
        places = np.array([peg.at for peg in self._pegs.values()]).reshape(-1, 2)
        near = np.flatnonzero(np.hypot(*(places - at).T) < 0.02)
        return list(self._pegs)[near[0]] if len(near) else None

    def off_m(self, number: int) -> float:
        """How well a peg is known."""
        return self._pegs[number].off_m

    def _place(self, known: Known) -> int:
        return self._places[known]

    def _know(self, known: Known) -> None:
        self._places.setdefault(known, len(self._known))
        self._known.append(known)

    def in_reach(self, at: At, among: Iterable[Known] | None = None) -> list[int]:
        """Places from which a tape reaches, the nearest first."""
        every = self._known if among is None else among
        places = [self._place(each) for each in every]
        there = np.array([self._net.at[place] for place in places]).reshape(-1, 2)
        away_m = np.hypot(*(there - at).T)
        near = (away_m > 0.0) & (away_m <= SPARE * self.ground.tape_m)
        within = [(away_m[each], places[each]) for each in np.flatnonzero(near)]
        found = []
        for _, place in sorted(within):
            if self._is_reached(place, at):
                found.append(place)
            if len(found) == MOST_TAPES:
                break
        return found

    def _is_reached(self, place: int, at: At) -> bool:
        """Whether a tape is long enough along the ground, and nothing is in its way."""
        known = self._known[place]
        if self.ground.length_m(self._net.at[place], at) > self.ground.tape_m:
            return False
        if isinstance(known, int):
            return self.ground.is_inside(self.at(known), at)
        return self.ground.is_reached(known.at, at)

    def fix(self, at: At, among: Iterable[Known] | None = None) -> Fix | None:
        """The best two tapes to a place."""
        return self._net.best_fix(at, self.in_reach(at, among))

    # ------------------------------------------------------------- pegs
    def peg(self, at: At, role: str, fix: Fix) -> int:
        """Number of a new peg where two tapes meet.

        Parameters
        ----------
        at
            Place of the peg, easting and northing [m].
        role
            What it is for, see `Peg.role`.
        fix
            The two places that the tapes come from, as `fix` gives them.
        """
        self._net.add_taped(at, fix.first, fix.second)
        return self._stands(at, role, (fix.first, fix.second), None)

    def peg_on_string(
        self, at: At, role: str, string: tuple[Known, Known], taped_from: Known
    ) -> int:
        """Number of a new peg on a string, taped along it.

        Parameters
        ----------
        at
            Place of the peg, easting and northing [m], on the string.
        role
            What it is for, see `Peg.role`.
        string
            Landmarks or numbers of pegs at both ends of the string.
        taped_from
            Landmark or number of a peg on the string, from which the peg is taped.
        """
        ends = self._place(string[0]), self._place(string[1])
        origin = self._place(taped_from)
        self._net.add_on_string(at, *ends, origin)
        return self._stands(at, role, (origin,), String(*string))

    def _stands(
        self, at: At, role: str, taped: tuple[int, ...], string: String | None
    ) -> int:
        number = len(self._pegs) + 1
        ties = tuple(
            Tie(self._known[place], self.ground.length_m(self._net.at[place], at))
            for place in taped
        )
        east, north = np.subtract(at, self._net.at[taped[0]])
        bearing_deg = (np.degrees(np.arctan2(east, north)) + self._turn_deg) % 360.0
        off_m = self._net.off_m(len(self._known))
        peg = Peg(number, role, at, ties, string, float(bearing_deg), off_m)  # type: ignore[arg-type]
        self._pegs[number] = peg
        self._know(number)
        self.steps.append(peg)
        return number

    def check(self, kind: str, start: Known, end: Known) -> None:
        """Add a length to the steps that proves what stands.

        Parameters
        ----------
        kind
            What it proves, see `Check.kind`.
        start, end
            Landmarks or numbers of pegs between which it is measured.
        """
        length_m = self.ground.length_m(self.at(start), self.at(end))
        self.steps.append(Check(kind, start, end, length_m))  # type: ignore[arg-type]

    def between(self, start: Landmark, end: Landmark) -> Check | None:
        """A length between landmarks, within the tape and free to measure."""
        length_m = self.ground.length_m(start.at, end.at)
        is_free = self.ground.is_reached(start.at, end.at) and self.ground.is_reached(
            end.at, start.at
        )
        if not is_free or not HOOKED_M < length_m <= self.ground.tape_m:
            return None
        return Check("found", start, end, length_m)

    def is_new(self, one: int, other: int) -> bool:
        """Whether a length within the tape between two pegs was not measured yet."""
        if one in self._tied(other) or other in self._tied(one):
            return False
        return self._place(one) in self.in_reach(self.at(other), [one])

    def _tied(self, number: int) -> list[Known]:
        return [tie.of for tie in self._pegs[number].ties]

    def other_landmark(self, pegs: Iterable[int]) -> tuple[Landmark, int] | None:
        """A landmark that none of some pegs hangs on, and which of them it proves.

        What was measured before proves nothing new.
        """
        measured = {
            (step.start, step.end) for step in self.steps if isinstance(step, Check)
        }
        for number in pegs:
            for place in self.in_reach(self.at(number)):
                known = self._known[place]
                if not isinstance(known, Landmark) or known in self._tied(number):
                    continue
                if (known, number) not in measured:
                    return known, number
        return None

    # ------------------------------------------------------------- from landmarks
    def peg_from_landmarks(
        self, at: At, role: str, worst_m: float = float("inf")
    ) -> int | None:
        """Number of a new peg from what is known, over marks on a string where better.

        None where it would be known worse than asked.

        Parameters
        ----------
        at
            Place of the peg, easting and northing [m].
        role
            What it is for, see `Peg.role`.
        worst_m
            How far the peg may be off, one standard deviation in the worst direction.
        """
        direct = self.fix(at)
        if direct is not None and direct.off_m <= min(GOOD_M, worst_m):
            return self.peg(at, role, direct)
        # Marks are two pegs more: they must be better by a fifth (a choice).
        marked = self._best_marks(at)
        if marked is not None and (direct is None or marked[0] < 0.8 * direct.off_m):
            off_m, string, marks = marked
            if off_m <= worst_m:
                numbers = [self._mark(mark, string) for mark in marks]
                fix = self._net.best_fix(at, [self._place(each) for each in numbers])
                if fix is not None:
                    return self.peg(at, role, fix)
        if direct is None or direct.off_m > worst_m:
            return None
        return self.peg(at, role, direct)

    def _mark(self, at: At, string: tuple[Landmark, Landmark]) -> Known:
        """A mark on a string, over further ones where the tape is too short."""
        start, _ = string
        if np.hypot(*np.subtract(at, start.at)) < 0.05:
            return start
        there = self.pegged(at)
        if there is not None:
            return there
        origin: Known = start
        while True:
            away = np.subtract(at, self.at(origin))
            length_m = float(np.hypot(*away))
            if length_m <= SPARE * self.ground.tape_m:
                return self.peg_on_string(at, "mark", string, origin)
            on = self.at(origin) + away / length_m * self._stretch_m
            place = (float(on[0]), float(on[1]))
            number = self.pegged(place)
            if number is None:
                number = self.peg_on_string(place, "mark", string, origin)
            origin = number

    @property
    def _stretch_m(self) -> float:
        """Between marks along a string: whole metres within the tape."""
        return float(np.floor(0.95 * self.ground.tape_m))

    def _strings(self, at: At) -> list[tuple[Landmark, Landmark]]:
        """Strings between landmarks that pass near a place, the nearest first."""
        marks = self.landmarks
        edge = self.ground.plot.boundary
        found = []
        for start in marks:
            for end in marks:
                along, length_m = _unit(start.at, end.at)
                if start is end or length_m < STRING_FROM_M:
                    continue
                foot_m = float(np.subtract(at, start.at) @ along)
                off = np.subtract(at, start.at) - foot_m * along
                off_m = float(np.hypot(*off))
                # Both ends are tried as the start, from which marks are taped: of a string
                # only the half that is nearer to its start counts.
                if (
                    off_m < 0.6 * self.ground.tape_m
                    and -5 <= foot_m <= length_m / 2 + 5
                ):
                    middle = Point(np.add(start.at, end.at) / 2)
                    across_m = 0.0 if edge.distance(middle) < ALONG_EDGE_M else ACROSS_M
                    rank_m = round(off_m + 0.2 * foot_m + across_m, 3)
                    found.append((rank_m, start, end))
        found.sort(key=lambda each: each[0])
        free = [
            (start, end)
            for _, start, end in found[: 3 * MOST_STRINGS]
            if self.ground.is_inside(start.at, end.at)
        ]
        return free[:MOST_STRINGS]

    def _best_marks(
        self, at: At
    ) -> tuple[float, tuple[Landmark, Landmark], list[At]] | None:
        """The string and the two marks on it from which a place is known best."""
        best = None
        for string in self._strings(at):
            for marks in _marks_beside(at, string):
                if not all(self.ground.is_inside(mark, at) for mark in marks):
                    continue
                off_m = self._off_by_marks_m(at, string, marks)
                # Half a centimetre is no reason to leave the nearer string.
                if off_m is not None and (best is None or off_m < best[0] - 0.005):
                    best = (off_m, string, marks)
        return best

    def _off_by_marks_m(
        self, at: At, string: tuple[Landmark, Landmark], marks: list[At]
    ) -> float | None:
        """How well a place would be known from marks on a string."""
        # A network of these alone: to try marks must leave nothing behind.
        tried = Network()
        start, end = (
            tried.add_landmark(each.at, ERROR_M[each.kind]) for each in string
        )
        far_m = max(float(np.hypot(*np.subtract(mark, at))) for mark in marks)
        if far_m > SPARE * self.ground.tape_m:
            return None
        places = [tried.add_on_string(mark, start, end, start) for mark in marks]
        fix = tried.best_fix(at, places)
        return None if fix is None else fix.off_m


def _unit(start: At, end: At) -> tuple[np.ndarray, float]:
    way = np.subtract(end, start)
    length_m = float(np.hypot(*way))
    return way / max(length_m, 1e-9), length_m


def _marks_beside(at: At, string: tuple[Landmark, Landmark]) -> Iterable[list[At]]:
    """Pairs of marks on a string to either side of a place."""
    start, end = string
    along, length_m = _unit(start.at, end.at)
    foot_m = float(np.subtract(at, start.at) @ along)
    off_m = float(np.hypot(*(np.subtract(at, start.at) - foot_m * along)))
    off_m = max(off_m, LEAST_SPREAD_M)
    for ways in SPREADS:
        # On whole decimetres, which are read fast.
        pair = [
            float(np.clip(round(foot_m + way * off_m, 1), 0.0, length_m))
            for way in ways
        ]
        if pair[1] - pair[0] > 1.0:
            yield [tuple((start.at + each * along).tolist()) for each in pair]
