"""What a pegging sheet draws besides the plan: tapes, pegs, posts, the way uphill."""

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity

from fieldmap.show.layer_styles import PaperStyle
from fieldmap.show.print.ground import key
from fieldmap.show.print.ground.drawing import (
    DISC_MM,
    SMALL_DISC_MM,
    PlanDrawing,
    numeral,
    rimmed,
)

POST_MM = 3.7  # names of posts
DOT_MM = 0.7  # where a peg is whose disc stands aside
# How far aside a disc may stand, and which ways are tried.
OFF_MM, TURNS_DEG = (4.6, 6.2, 8.0, 10.5, 13.0), tuple(range(-90, 270, 30))
# From its peg: on it, then ring by ring.
SPOTS_MM = np.array(
    [(0.0, 0.0)]
    + [
        (off_mm * np.cos(turn), off_mm * np.sin(turn))
        for off_mm in OFF_MM
        for turn in np.radians(TURNS_DEG)
    ]
)
# Where on its line a number may stand, the first place off the middle, where diagonals cross.
ALONG = (0.42, 0.58, 0.3, 0.7)
At = tuple[float, float]
Floats = npt.NDArray[np.float64]


class TapeDrawing(PlanDrawing):
    """A plan with what is measured on it."""

    def measure(self, ends: tuple[At, At], style: PaperStyle) -> None:
        """A line that is measured.

        Parameters
        ----------
        ends
            East and north of both ends [m].
        style
            How the line is drawn.
        """
        x1, y1, x2, y2 = (float(each) for each in self._at(np.array(ends)).ravel())
        self._parts.append(
            f'<path d="M{x1:g} {y1:g} L{x2:g} {y2:g}" {self._style(style, fill="none")}/>'
        )

    def length(self, ends: tuple[At, At], number: str, size_mm: float = 4.2) -> None:
        """The number of a line that is measured, on it where it covers nothing else.

        It is to be drawn after all lines: of several along one string none may run
        through a number.

        Parameters
        ----------
        ends
            East and north of both ends of the line [m].
        number
            The length as a tape shows it.
        size_mm
            Height of the number on paper [mm].
        """
        x1, y1, x2, y2 = (float(each) for each in self._at(np.array(ends)).ravel())
        room_mm = float(np.hypot(x2 - x1, y2 - y1)) - 2.2 * DISC_MM
        if room_mm < 0.5 * size_mm * len(number):
            return
        turn_deg = float(np.degrees(np.arctan2(y2 - y1, x2 - x1)))
        if not -90.0 < turn_deg <= 90.0:
            turn_deg += 180.0
        half = 0.28 * size_mm * len(number)
        for along in ALONG:
            x, y = x1 + along * (x2 - x1), y1 + along * (y2 - y1)
            box = shapely.box(x - half, y - size_mm / 2, x + half, y + size_mm / 2)
            turned = affinity.rotate(box, turn_deg, origin=(x, y))
            if any(turned.intersects(other) for other in self._free):
                continue
            self._free.append(turned)
            self._labels.append(turned)
            self._parts.append(
                f'<g transform="translate({x:.2f} {y:.2f}) rotate({turn_deg:.1f})">'
                f"{numeral(number, size_mm)}</g>"
            )
            return

    def keep_free(self, discs: Iterable[tuple[At, bool]]) -> None:
        """Where discs will lie: names and numbers of lengths keep off them.

        Parameters
        ----------
        discs
            Place of each [m], and whether it is small.
        """
        for place, at, radius in self._standing(list(discs)):
            dot, disc = shapely.Point(place), shapely.Point(at)
            covered = [dot.buffer(DOT_MM), disc.buffer(radius)]
            self._free += covered
            self._labels += covered

    def has_room(self, place: shapely.Point, text: str, size_mm: float) -> bool:
        """Whether a name covers nothing that is kept free; then it is kept free itself.

        Parameters
        ----------
        place
            Middle of the name, in metres as the drawing has them.
        text
            The name.
        size_mm
            Height of the letters on paper [mm].
        """
        x, y = self._at(np.array([place.x, place.y]))
        half_mm = 0.28 * size_mm * len(text)
        box = shapely.box(x - half_mm, y - size_mm / 2, x + half_mm, y + size_mm / 2)
        if any(box.intersects(other) for other in self._free):
            return False
        self._free.append(box)
        return True

    def discs(self, pegs: Sequence[tuple[At, str, bool]]) -> None:
        """Numbered pegs; where discs would hide each other one stands aside on a line.

        Parameters
        ----------
        pegs
            Place, number, and whether its disc is small.
        """
        standing = self._standing([(place, small) for place, _number, small in pegs])
        for place, at, _radius in standing:
            if at != place:
                (x1, y1), (x2, y2) = place, at
                self.draw(
                    f'<path d="M{x1:.2f} {y1:.2f} L{x2:.2f} {y2:.2f}" stroke="#fff" '
                    f'stroke-width="0.9"/><path d="M{x1:.2f} {y1:.2f} L{x2:.2f} {y2:.2f}" '
                    'stroke="#000" stroke-width="0.25"/>'
                    f'<circle cx="{x1:.2f}" cy="{y1:.2f}" r="{DOT_MM}"/>'
                )
        for (_at, at, _radius), (_place, number, small) in zip(
            standing, pegs, strict=True
        ):
            self.disc_at(at, number, small=small)

    def _standing(self, discs: Sequence[tuple[At, bool]]) -> list[tuple[At, At, float]]:
        """Where each peg is, where its disc stands, and how large it is [mm]."""
        places = [self.at(place) for place, _small in discs]
        radii = [SMALL_DISC_MM if small else DISC_MM for _place, small in discs]
        pegs = np.reshape(np.array(places, float), (-1, 2))
        stand: list[At] = []
        for place, radius in zip(places, radii, strict=True):
            stand.append(self._free_spot(place, radius, stand, pegs))
        return list(zip(places, stand, radii, strict=True))

    def _free_spot(
        self, place: At, radius: float, taken: Sequence[At], pegs: Floats
    ) -> At:
        """Where a disc hides no other disc and no other peg; its own place if it can."""
        spots = np.array(place) + SPOTS_MM
        size_mm = np.array([self.width_mm, self.height_mm])
        within = ((spots > radius) & (spots < size_mm - radius)).all(axis=1)
        others = pegs[(pegs != place).any(axis=1)]
        clear = _nearest_mm(spots, np.reshape(taken, (-1, 2))) >= 2.0 * radius + 0.2
        free = within & clear & (_nearest_mm(spots, others) >= radius + 0.5)
        found = int(free.argmax())
        if not free[found] or not found:
            return place
        return float(spots[found, 0]), float(spots[found, 1])

    def dot(self, place: tuple[float, float]) -> None:
        """A place on a line."""
        x, y = self._at(np.array(place))
        self._parts.append(f'<circle cx="{x:g}" cy="{y:g}" r="0.8"/>')

    def post(self, place: tuple[float, float], text: str) -> str:
        """A thing that a tape hangs on: a black square with its name beside it.

        What comes back is to be drawn over the lines; numbers of lengths keep off it.
        """
        x, y = (float(each) for each in self._at(np.array(place)))
        parts = [
            f'<rect x="{x - 1.5:g}" y="{y - 1.5:g}" width="3" height="3" fill="#000"/>'
        ]
        words = text.split()
        half = (len(words) + 1) // 2
        lines = [" ".join(words[:half]), " ".join(words[half:])]
        long_mm = 0.5 * POST_MM * max(map(len, lines))
        for at, beside in self._beside(x, y, long_mm):
            up, down = beside - 0.8 * POST_MM, beside + 1.2 * POST_MM
            box = shapely.box(at, up, at + long_mm, down)
            if not any(box.intersects(other) for other in self._labels):
                break
        self._labels.append(box)
        self._free.append(box)
        for number, line in enumerate(filter(None, lines)):
            set_as = (
                f'x="{at:.2f}" y="{beside + number * POST_MM:.2f}" '
                f'font-size="{POST_MM}" font-weight="bold"'
            )
            parts.append(rimmed(set_as, line))
        return "".join(parts)

    def _beside(
        self, x: float, y: float, long_mm: float
    ) -> Iterator[tuple[float, float]]:
        """Where a name of two lines may begin beside a post, away from the middle first."""
        up, down = y - 2.4 - POST_MM, y + 2.0 + POST_MM
        heights = (up, down) if y < self.height_mm / 2 else (down, up)
        left = float(np.clip(x - long_mm + 2, 0, self.width_mm - long_mm))
        right = float(np.clip(x - 2, 0, self.width_mm - long_mm))
        sides = (left, right) if x > self.width_mm / 2 else (right, left)
        for height in (*heights, *(each + 2 * POST_MM for each in heights)):
            for side in sides:
                yield side, height

    def explain(self, entries: Sequence[key.Entry]) -> None:
        """What its signs mean, in rows beneath it, by which it grows taller."""
        parts, high_mm = key.rows(entries, self.width_mm, self.height_mm)
        self.draw(parts)
        self.height_mm += high_mm

    def uphill(self, towards_deg: float, word: str) -> None:
        """An arrow uphill in the upper left corner, clockwise from the top."""
        self._labels += [
            affinity.rotate(shapely.box(2, 1.5, 10, 13.5), towards_deg, origin=(6, 8)),
            shapely.box(11, 6, 13 + 0.55 * POST_MM * len(word), 10.6),
        ]
        self._parts.append(
            f'<g transform="rotate({towards_deg:.1f} 6 8)"><path d="M4.4 13 V6 H2.4 L6 2 '
            'L9.6 6 H7.6 V13 Z" fill="#fff" stroke="#000" stroke-width="0.5"/></g>'
            + rimmed(f'x="12" y="9.4" font-size="{POST_MM}"', word)
        )


def _nearest_mm(spots: Floats, others: Floats) -> Floats:
    """From each spot to the nearest of some places; without bound where there is none."""
    away = spots[:, None] - others
    away_mm: Floats = np.hypot(away[..., 0], away[..., 1])
    return np.asarray(away_mm.min(axis=1, initial=np.inf))
