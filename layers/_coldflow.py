"""The arithmetic of `coldair.drain`: one shallow layer of cold air, step by step.

All fields are flat and of one length: the grid with a ring of outside cells around it,
row after row. Cell n has its west face and its north face under the same number, so
the face between cells n - 1 and n is east face n, the one between n - width and n is
south face n. Flux is per metre of face, positive to the east and to the south. What
leaves the known ground is kept as the depth of outside cells, so no air is lost from
the books.
"""

from typing import NamedTuple

import numba
import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Singles = npt.NDArray[np.float32]
Ints = npt.NDArray[np.int64]

# Films thinner than this stay where they are; they count in the mass.
THINNEST_M = np.float32(1e-6)
# A flux starts its step as this share of itself and the rest of its two neighbours,
# which keeps neighbours from swinging against each other (de Almeida et al. 2012,
# Water Resour. Res. 48:W05528).
OWN_SHARE, NEIGHBOUR_SHARE = np.float32(0.9), np.float32(0.05)
COURANT = 0.5
_EDGE_CELLS = 3  # the slope of the ground at an edge is taken over this number of cells
_EDGE_GRADE = 0.005  # beyond an edge the ground falls so much at least (a choice)
# Steps are chosen as if nothing were slower than this: while the layer is still thin
# they would have no end.
SLOWEST_M_S = 0.25
# Of air whose speed is not known yet: its first step is too short to matter.
UNKNOWN_M_S = 1000.0
# See `_new_flux`.
WAVE_LEAD = np.float32(1.75)
MOST_FASTER = np.float32(3000)  # keeps single precision out of trouble in films
_ZERO, _QUARTER, _HALF, _ONE, _FOUR, ROOT_2 = (
    np.float32(number) for number in (0, 0.25, 0.5, 1, 4, 2**0.5)
)
_CHUNK = 1024  # faces at a time: what is between two passes stays in the nearest cache

_fast = numba.njit(
    cache=True, error_model="numpy", fastmath={"nnan", "nsz", "arcp", "contract"}
)
_plain = numba.njit(cache=True, error_model="numpy", nogil=True)


class Physics(NamedTuple):
    """Numbers of one flow: reduced gravity [m/s²], drag [-], side of a cell [m]."""

    gravity: np.float32
    drag: np.float32
    cell_m: np.float32


class Faces(NamedTuple):
    """Faces of one direction that are no plain ones: edges of the ground, barriers.

    `at` is the number of the face. `outward` is 0 within the ground, 1 where it ends
    behind the face, -1 where it begins there, and `drop_m` is then the fall of the
    ground per cell there, 0 if it rises. Over the share `covered` (0-1) of its
    length the air must rise over `sill_m`.
    """

    at: Ints
    outward: Ints
    drop_m: Floats
    sill_m: Floats
    covered: Floats


class Layer(NamedTuple):
    """The cold air over the ground; `width` is the way to the next row."""

    width: int
    ground_m: Floats
    top_m: Floats
    depth_m: Floats
    production_m_s: Floats


class Side(NamedTuple):
    """Faces of one direction, and what flows through them now and after the step.

    `along` is the way to the next face in the direction of flow, `across` the way to
    the next face sideways. The bed is infinite where a face is no plain one. Fluxes
    are longer than the other fields by one width, so that every cell has its far side.
    """

    along: int
    across: int
    bed_m: Floats
    faces: Faces
    flux: Singles
    new_flux: Singles


class Held(NamedTuple):
    """Cells whose depth others know, and the depths between which it goes evenly.

    No cell at all where nothing is known beyond the ground.
    """

    at: Ints
    from_m: Floats
    to_m: Floats


class Sills(NamedTuple):
    """Barriers on east faces (rows, cols + 1) and north faces (rows + 1, cols)."""

    east_m: Floats
    east_covered: Floats
    north_m: Floats
    north_covered: Floats


def laid_out(
    ground_m: Floats,
    depth_m: Floats,
    production_m_s: Floats,
    sills: Sills,
    cell_m: float,
) -> tuple[Layer, Side, Side]:
    """Put grids (rows, cols) into fields, at rest; the ground is NaN where missing."""
    known = ~np.isnan(ground_m)
    floor, depth, production, inside = (
        np.pad(values, 1).ravel()
        for values in (np.where(known, ground_m, 0.0), depth_m, production_m_s, known)
    )
    layer = Layer(ground_m.shape[1] + 2, floor, floor + depth, depth, production)
    east_sill, east_covered = (
        np.pad(values, ((1, 1), (1, 0))).ravel() for values in sills[:2]
    )
    south_sill, south_covered = (
        np.pad(values, ((1, 0), (1, 1))).ravel() for values in sills[2:]
    )
    east = _side(layer, inside, 1, (east_sill, east_covered), cell_m)
    south = _side(layer, inside, layer.width, (south_sill, south_covered), cell_m)
    return layer, east, south


def _side(
    layer: Layer,
    inside: npt.NDArray[np.bool_],
    along: int,
    sills: tuple[Floats, Floats],
    cell_m: float,
) -> Side:
    """Faces of one direction, at rest: plain ones, edges and barriers."""
    sill, share = sills
    before, ground_before = np.zeros_like(inside), np.zeros_like(layer.ground_m)
    before[along:] = inside[:-along]
    ground_before[along:] = layer.ground_m[:-along]
    within = inside & before
    at = np.flatnonzero((inside != before) | (within & (share > 0)))
    bed = np.where(within, np.maximum(layer.ground_m, ground_before), np.inf)
    bed[at] = np.inf
    outward = before[at].astype(np.int64) - inside[at]
    last = np.where(outward > 0, at - along, at)
    drop = _drop_outwards(layer.ground_m, inside, last, -outward * along, cell_m)
    faces = Faces(at, outward, drop, sill[at], share[at])
    across = 1 if along == layer.width else layer.width
    fluxes = np.zeros((2, inside.size + layer.width), np.float32)
    return Side(along, across, bed, faces, fluxes[0], fluxes[1])


def _drop_outwards(
    ground: Floats,
    inside: npt.NDArray[np.bool_],
    last: Ints,
    inwards: Ints,
    cell_m: float,
) -> Floats:
    """Fall of the ground per cell beyond an edge; 0 where it rises and nothing leaves.

    Level ground and ground that falls go on falling, at `_EDGE_GRADE` at least: else a
    plain or the sea would end at a wall.
    """
    fall = np.zeros(last.size)
    reach = np.ones(last.size, dtype=np.bool_)
    for cells in range(1, _EDGE_CELLS + 1):
        inner = np.clip(last + cells * inwards, 0, ground.size - 1)
        reach &= inside[inner]
        here = (ground[inner] - ground[last]) / cells
        fall = np.where(reach, here, fall)
    least = _EDGE_GRADE * cell_m
    return np.where(fall > -least, np.maximum(fall, least), 0.0)


def closed_at(side: Side, held: npt.NDArray[np.bool_]) -> Side:
    """A side without flow over those edges of the ground that have held cells there."""
    faces = side.faces
    last = np.where(faces.outward > 0, faces.at - side.along, faces.at)
    closed = (faces.outward != 0) & held[last]
    return side._replace(
        faces=faces._replace(
            sill_m=np.where(closed, np.inf, faces.sill_m),
            covered=np.where(closed, 1.0, faces.covered),
        )
    )


def depth_grid(depth_m: Floats, width: int, missing: npt.NDArray[np.bool_]) -> Floats:
    """Depth as a grid (rows, cols), NaN where missing."""
    return np.where(missing, np.nan, depth_m.reshape(-1, width)[1:-1, 1:-1])


def outside_m(depth_m: Floats, missing: npt.NDArray[np.bool_]) -> float:
    """Sum of the depths of all outside cells: what has left the known ground."""
    outside = np.pad(missing, 1, constant_values=True).ravel()
    return float(depth_m[outside].sum())


def flux_grids(east: Singles, south: Singles, width: int) -> tuple[Floats, Floats]:
    """Flux through east faces (rows, cols + 1) and, northwards, north faces."""
    eastward, southward = (
        flux[:-width].reshape(-1, width).astype(np.float64) for flux in (east, south)
    )
    return eastward[1:-1, 1:], 0.0 - southward[1:, 1:-1]


def set_fluxes(
    east: Singles, south: Singles, grids: tuple[Floats, Floats], layer: Layer
) -> None:
    """Write flux grids as those of `flux_grids` into the fields of both sides."""
    width = layer.width
    eastward, southward = (flux[:-width].reshape(-1, width) for flux in (east, south))
    eastward[1:-1, 1:], southward[1:, 1:-1] = grids[0], -grids[1]


@_fast
def _new_flux(
    physics: Physics,
    dt: np.float32,
    drop: np.float32,
    before: tuple[np.float32, np.float32],
    depth: np.float32,
    per_depth: np.float32,
) -> tuple[np.float32, np.float32]:
    """Flux after a step, and the speed that bounds the next step.

    ∂q/∂t = g' h S - c |q| q / h², the drag taken at the end of the step: with
    λ = Δt/β, q (1 + λ c |q| / h²) = q₀ + λ g' h S is a quadratic in |q|. β is the share
    of inertia that is kept (local partial inertia): with β = 1 waves on a slope grow
    when (3/2) |q|/h > √(g'h), so β lets them run at `WAVE_LEAD` |q|/h there.
    Steady flow does not depend on β.

    `drop` is the fall of the surface over the face [m], `before` the flux at the start,
    along and across; `per_depth` stands for 1/h in the drag. The speed is no less than
    √(g'h) + |q|/h on the faces of one of the two directions.
    """
    mean, across = before
    size = np.sqrt(mean * mean + across * across)
    wave_2 = physics.gravity * depth
    per_depth_2 = per_depth * per_depth
    froude_2 = size * size * per_depth_2 * (per_depth / physics.gravity)
    faster = max(_ONE, WAVE_LEAD * WAVE_LEAD * froude_2)
    step = dt * min(faster, MOST_FASTER)
    drag = step * physics.drag * per_depth_2
    push = mean + step * wave_2 * (drop / physics.cell_m)
    push_across = across * (_ONE + drag * size)
    push_size = np.sqrt(push * push + push_across * push_across)
    flux = (push + push) / (_ONE + np.sqrt(_ONE + _FOUR * drag * push_size))
    return flux, np.sqrt(wave_2) + ROOT_2 * abs(flux) * per_depth


@_fast
def _surfaces(
    top_a: Floats, top_b: Floats, bed: Floats, drop: Singles, flowing: Singles
) -> None:
    """Find the fall of the surface and the flowing depth over plain faces."""
    for k in range(drop.size):
        drop[k] = top_a[k] - top_b[k]
        flowing[k] = max(top_a[k], top_b[k]) - bed[k]


@_fast
def _fluxes(
    physics: Physics,
    dt: np.float32,
    along: tuple[Singles, Singles, Singles],
    across_four: tuple[Singles, Singles, Singles, Singles],
    room: tuple[Singles, Singles, Singles],
    out: Singles,
) -> None:
    """New flux and speed over plain faces."""
    drop, flowing, speeds = room
    q_a, q, q_b = along
    t_a0, t_a1, t_b0, t_b1 = across_four
    for k in range(out.size):
        depth = max(flowing[k], THINNEST_M)
        mean = OWN_SHARE * q[k] + NEIGHBOUR_SHARE * (q_a[k] + q_b[k])
        across = _QUARTER * ((t_a0[k] + t_b0[k]) + (t_a1[k] + t_b1[k]))
        flux, speed = _new_flux(
            physics, dt, drop[k], (mean, across), depth, _ONE / depth
        )
        wet = flowing[k] > THINNEST_M
        out[k] = flux if wet else _ZERO
        speeds[k] = speed if wet else _ZERO


@_plain
def _highest(positive: Singles) -> float:
    """Largest of numbers that are 0 or more; their bits, as integers, keep the order."""
    bits = positive.view(np.int32)
    most = np.int32(0)
    for k in range(bits.size):
        most = max(most, bits[k])
    highest = np.full(1, most)
    return float(highest.view(np.float32)[0])


@_plain
def _plain_faces(
    layer: Layer,
    side: Side,
    other: Singles,
    physics: Physics,
    dt: np.float32,
    room: Singles,
) -> float:
    """New flux over all plain faces of a side; returns the highest speed."""
    along, across, top, q = side.along, side.across, layer.top_m, side.flux
    ring = layer.width + 1
    fastest = 0.0
    for a in range(ring, top.size - ring, _CHUNK):
        b = min(a + _CHUNK, top.size - ring)
        drop, flowing, speeds = room[0][: b - a], room[1][: b - a], room[2][: b - a]
        _surfaces(top[a - along : b - along], top[a:b], side.bed_m[a:b], drop, flowing)
        _fluxes(
            physics,
            dt,
            (q[a - along : b - along], q[a:b], q[a + along : b + along]),
            (
                other[a - along : b - along],
                other[a - along + across : b - along + across],
                other[a:b],
                other[a + across : b + across],
            ),
            (drop, flowing, speeds),
            side.new_flux[a:b],
        )
        fastest = max(fastest, _highest(speeds))
    return fastest


@_plain
def _other_faces(
    layer: Layer, side: Side, other: Singles, physics: Physics, dt: np.float32
) -> float:
    """New flux over the edges and barriers of a side; returns the highest speed."""
    faces = side.faces
    fastest = 0.0
    for n in range(faces.at.size):
        face, covered = faces.at[n], faces.covered[n]
        drop, open_depth = _fall(layer, side, n)
        over = max(0.0, open_depth - faces.sill_m[n])
        depth = (1.0 - covered) * open_depth + covered * over
        if depth <= THINNEST_M:
            side.new_flux[face] = _ZERO
            continue
        # Steady flow is √(g'S/c) h^1.5 on each part of the face.
        power = (1.0 - covered) * open_depth * np.sqrt(open_depth)
        power += covered * over * np.sqrt(over)
        back = face - side.along
        across = other[back] + other[back + side.across]
        across += other[face] + other[face + side.across]
        # At an edge two of the four are outside and 0.
        share = _QUARTER if faces.outward[n] == 0 else _HALF
        side.new_flux[face], speed = _new_flux(
            physics,
            dt,
            np.float32(drop),
            (side.flux[face], share * across),
            np.float32(depth),
            np.float32(np.sqrt(depth) / power),
        )
        fastest = max(fastest, float(speed))
    return fastest


@_plain
def _fall(layer: Layer, side: Side, n: int) -> tuple[float, float]:
    """Fall of the surface over an edge or a barrier, and depth over its open part.

    At an edge the layer goes on as deep as it is in the last cell, down the slope that
    the ground has there, and never back in.
    """
    top, ground, outward = layer.top_m, layer.ground_m, side.faces.outward[n]
    after = side.faces.at[n]
    before = after - side.along
    if outward == 0:
        floor = max(ground[before], ground[after])
        return top[before] - top[after], max(top[before], top[after]) - floor
    last = before if outward > 0 else after
    return outward * side.faces.drop_m[n], layer.depth_m[last]


@_fast
def _overdrawn(
    far_and_near: tuple[Singles, Singles, Singles, Singles], depth: Floats, rate: float
) -> int:
    """Count the cells that would give more than they hold."""
    west, east, north, south = far_and_near
    count = 0
    for k in range(depth.size):
        out = max(east[k], _ZERO) + max(-west[k], _ZERO)
        out += max(south[k], _ZERO) + max(-north[k], _ZERO)
        count += out * rate > depth[k]
    return count


@_fast
def _settle(
    far_and_near: tuple[Singles, Singles, Singles, Singles],
    fields: tuple[Floats, Floats, Floats, Floats],
    rate: float,
    dt: float,
) -> None:
    """Add what was produced and what flowed in, take away what flowed out."""
    west, east, north, south = far_and_near
    ground, top, depth, production = fields
    for k in range(depth.size):
        # In double precision: what one cell gives, its neighbour gets to the last bit.
        gain = (np.float64(west[k]) - east[k]) + (np.float64(north[k]) - south[k])
        depth[k] += dt * production[k] + rate * gain
        top[k] = ground[k] + depth[k]


@_plain
def _limit(layer: Layer, east: Singles, south: Singles, rate: float) -> None:
    """Scale the flux out of every cell that would give more than it holds."""
    width, depth = layer.width, layer.depth_m
    share = np.ones(depth.size, np.float32)
    for n in range(depth.size):
        out = max(east[n + 1], _ZERO) + max(-east[n], _ZERO)
        out += max(south[n + width], _ZERO) + max(-south[n], _ZERO)
        if out > _ZERO and out * rate > depth[n]:  # by rounding it may hold below 0
            share[n] = depth[n] / (out * rate) * (1.0 - 1e-6)
    for n in range(width, depth.size):
        east[n] *= share[n - 1] if east[n] > 0 else share[n]
        south[n] *= share[n - width] if south[n] > 0 else share[n]


@_plain
def _step(
    layer: Layer, east: Side, south: Side, physics: Physics, dt: float, room: Singles
) -> float:
    """New flux and then new depth everywhere; returns the highest speed."""
    short = np.float32(dt)
    speed: float = max(
        _plain_faces(layer, east, south.flux, physics, short, room),
        _plain_faces(layer, south, east.flux, physics, short, room),
        _other_faces(layer, east, south.flux, physics, short),
        _other_faces(layer, south, east.flux, physics, short),
    )
    cells, width, rate = layer.depth_m.size, layer.width, dt / float(physics.cell_m)
    far_and_near = (
        east.new_flux[:cells],
        east.new_flux[1 : cells + 1],
        south.new_flux[:cells],
        south.new_flux[width : cells + width],
    )
    if _overdrawn(far_and_near, layer.depth_m, rate) > 0:
        _limit(layer, east.new_flux, south.new_flux, rate)
    fields = (layer.ground_m, layer.top_m, layer.depth_m, layer.production_m_s)
    _settle(far_and_near, fields, rate, dt)
    return speed


@_plain
def _hold(layer: Layer, held: Held, share: float) -> None:
    """Give held cells the depth that they have at a share of the time."""
    for k in range(held.at.size):
        n = held.at[k]
        layer.depth_m[n] = held.from_m[k] + share * (held.to_m[k] - held.from_m[k])
        layer.top_m[n] = layer.ground_m[n] + layer.depth_m[n]


@_plain
def advance(
    layer: Layer,
    sides: tuple[Side, Side],
    physics: Physics,
    held: Held,
    seconds: float,
    speed: float,
) -> tuple[Side, Side, float, int]:
    """Let the air flow for a time; `layer` is changed in place.

    Takes the sides in the order east, south, and the highest speed at the start (0 when
    nothing moves). Returns both sides as they are at the end, the speed then, and the
    number of steps.
    """
    east, south = sides
    room = np.empty((3, _CHUNK), np.float32)
    left_s, steps = seconds, 0
    while left_s > 1e-6:
        dt = COURANT * float(physics.cell_m) / max(speed, SLOWEST_M_S)
        dt = min(dt, left_s)
        speed = _step(layer, east, south, physics, dt, room)
        east, south = _turned(east), _turned(south)
        left_s -= dt
        _hold(layer, held, 1.0 - left_s / seconds)
        steps += 1
    return east, south, speed, steps


@_plain
def _turned(side: Side) -> Side:
    """Make the new flux the present one."""
    return Side(
        side.along, side.across, side.bed_m, side.faces, side.new_flux, side.flux
    )


class Run:
    """A run of the air on one core; `_coldflow_card.Run` is its twin."""

    def __init__(
        self,
        layer: Layer,
        east: Side,
        south: Side,
        physics: Physics,
        speed: float = 0.0,
    ) -> None:
        """Take the fields as `laid_out` made them; they are changed in place.

        `speed` bounds the first step; it is 0 for air at rest.
        """
        self._layer, self._sides, self._physics = layer, (east, south), physics
        self._speed = speed
        self._held = Held(np.empty(0, np.int64), np.empty(0), np.empty(0))

    def hold(self, held: Held) -> None:
        """Take depths that some cells have until the end of the next time."""
        self._held = held

    def advance(self, seconds: float) -> int:
        """Let the air flow for a time [s]; returns the number of steps."""
        east, south, self._speed, steps = advance(
            self._layer, self._sides, self._physics, self._held, seconds, self._speed
        )
        self._sides = (east, south)
        return int(steps)

    def depth_m(self) -> Floats:
        """Flat depths as they are now."""
        return self._layer.depth_m

    def fluxes(self) -> tuple[Singles, Singles]:
        """Flux through east and south faces as it is now, flat."""
        return self._sides[0].flux, self._sides[1].flux
