"""A crew that sees nothing but the numbers on the sheet, on ground it does not know.

It walks on the true ground, reads tapes to a whole centimetre with an error of 1 cm, pulls
them with up to 1 part in 1,000 of slack, and lays them on the ground. Its geometry is its
own: points are found by trying, not by the formulas of the plan.
"""

import numpy as np


class TrueGround:
    """Heights as they are: a function of easting and northing."""

    def __init__(self, height):
        self.height = height

    def tape(self, start, end):
        """Length of a tight tape: never under the ground, by pulling slack out of it."""
        start, end = np.asarray(start, float), np.asarray(end, float)
        flat = np.hypot(*(end - start))
        share = np.linspace(0, 1, max(3, int(flat / 0.5) + 2))
        points = start + share[:, None] * (end - start)
        rise = self.height(points[:, 0], points[:, 1])
        # Highest straight lines from each point on: walk to the steepest one ahead.
        at, length = 0, 0.0
        along = share * flat
        while at < len(share) - 1:
            slope = (rise[at + 1 :] - rise[at]) / (along[at + 1 :] - along[at])
            ahead = at + 1 + int(np.flatnonzero(slope >= slope.max() - 1e-12)[-1])
            length += np.hypot(along[ahead] - along[at], rise[ahead] - rise[at])
            at = ahead
        return float(length)


class Blindfold:
    """Pegs one field from its record; `places` has where pegs really stand."""

    def __init__(self, field, ground, rng):
        self.field, self.ground, self.rng = field, ground, rng
        self.places = {}
        for number, peg in field.pegs.items():
            self.places[number] = self._stand(peg)

    def known(self, of):
        return np.array(self.places[of] if isinstance(of, int) else of.at)

    def read(self, length_m):
        """What lies between two points when the tape shows a printed number."""
        printed = round(100 * length_m) / 100
        return printed * (1 - self.rng.uniform(0, 0.001)) + self.rng.normal(0, 0.01)

    def _stand(self, peg):
        """Where it ends up; the drawing tells on which side.

        From where it is drawn the crew walks until all tapes show what they must: each
        step mends the difference in plan, as tapes are nearly as long as their shadows.
        """
        goals = [self.read(tie.length_m) for tie in peg.ties]
        froms = [self.known(tie.of) for tie in peg.ties]
        at = np.array(peg.at)
        ways = []
        if peg.string is not None:
            start, end = self.known(peg.string.start), self.known(peg.string.end)
            across = (end - start)[::-1] * [-1, 1] / np.hypot(*(end - start))
            beside = self.rng.normal(0, 0.005)
            ways = [(across, lambda at: beside - (at - start) @ across)]
        for _ in range(8):
            rows, lacks = [], []
            for origin, goal in zip(froms, goals, strict=True):
                rows.append((at - origin) / np.hypot(*(at - origin)))
                lacks.append(goal - self.ground.tape(origin, at))
            for row, lack in ways:
                rows.append(row)
                lacks.append(lack(at))
            at = at + np.linalg.solve(np.array(rows), np.array(lacks))
            if max(map(abs, lacks)) < 1e-4:
                return at
        raise AssertionError(f"tapes do not meet at {peg}")

    def corners(self):
        """Both ends of both edges of each bed, by name: near, then far."""
        found = {}
        for bay in self.field.bays:
            marks = self.field.lines_m[bay.line]
            ends = [*bay.sections[1:], len(bay.beds)]
            for part, (begin, end) in enumerate(zip(bay.sections, ends, strict=True)):
                for row in (bay.rows[0], bay.rows[-1]):
                    here = self.known(row[part])
                    there = self.square(bay) if len(row) == 1 else None
                    there = self.known(row[part + 1]) if there is None else here + there
                    for number in range(begin, end):
                        pair = self._by_knot(here, there, marks[number - begin], bay)
                        found.setdefault(bay.beds[number], []).extend(pair)
        return found

    def square(self, bay):
        """A single bed has one edge of pegs; the stick lies square to it."""
        way = self.known(bay.rows[-1][0]) - self.known(bay.rows[0][0])
        turned = way[::-1] * ([1, -1] if bay.hand == "right" else [-1, 1])
        return turned / np.hypot(*way) * 3.0

    def _by_knot(self, here, there, mark_m, bay):
        along = (there - here) / np.hypot(*(there - here))
        edges = []
        for mark in (mark_m, mark_m + bay.bed_m):
            goal = round(100 * mark) / 100 + self.rng.normal(0, 0.01)
            at = here + along * goal
            for _ in range(3):
                at = (
                    at + along * (goal - self.ground.tape(here, at))
                    if goal > 0.1
                    else at
                )
            edges.append(at)
        return edges


def misses_m(field, beds, ground, seed):
    """How far each corner of each bed stands from where the plan has it."""
    crew = Blindfold(field, ground, np.random.default_rng(seed))
    found, corners = [], crew.corners()
    for bed in beds:
        true = np.asarray(bed.outline.exterior.coords)[:4]
        for at in corners[bed.name]:
            found.append(np.hypot(*(true - at).T).min())
    return np.array(found)
