"""The arithmetic of `coldair.drain`: one shallow layer of cold air, step by step.

Fields lie on a grid of cells and on the faces between them: east faces
(rows, cols + 1), face (i, k) on the west side of column k; south faces
(rows + 1, cols), face (i, k) on the north side of row i. Flux is per metre of face,
positive to the east and to the south.
"""

from typing import NamedTuple

import numba
import numpy as np
import numpy.typing as npt

from layers._grid import Grid

Ints = npt.NDArray[np.int64]

# Films thinner than this stay where they are; they count in the mass.
_THINNEST_M = 1e-9
# Share of a face's own flux against its two neighbours' in the start of a step
# (de Almeida et al. 2012, Water Resour. Res. 48:W05528).
_OWN_SHARE = 0.9
_COURANT = 0.5
# Steps are chosen as if nothing were slower than this, or they would have no end while
# the layer is still thin.
_SLOWEST_M_S = 0.25
# Without the transport of momentum, waves on a slope grow once the flow is faster than
# 2/3 of their own speed; less inertia makes them faster. See `_new_flux`.
_WAVE_LEAD = 1.75


class Physics(NamedTuple):
    """Numbers of one flow: reduced gravity [m/s²], drag [-], side of a cell [m]."""

    gravity: float
    drag: float
    cell_m: float


class Faces(NamedTuple):
    """Faces that are not plain: edges of the known ground, and barriers.

    Sorted by row, those of row i from `first[i]` to `first[i + 1]`. `before` and
    `after` are the flat cells on the west (north) and east (south) side, -1 where there
    is none; `inner` is the next cell inwards of an edge, -1 where there is none.
    """

    first: Ints
    at: Ints
    before: Ints
    after: Ints
    inner: Ints
    sill_m: npt.NDArray[np.float64]
    covered: npt.NDArray[np.float64]


_fast = numba.njit(
    cache=True, error_model="numpy", fastmath={"nnan", "nsz", "arcp", "contract"}
)
_plain = numba.njit(cache=True, error_model="numpy")
_strips = numba.njit(cache=True, error_model="numpy", parallel=True)


class State(NamedTuple):
    """All fields of a flow on its way; `new_` ones are overwritten in every step."""

    ground_m: Grid
    top_m: Grid
    depth_m: Grid
    new_depth_m: Grid
    production_m_s: Grid
    east_bed_m: Grid
    south_bed_m: Grid
    east: Grid
    south: Grid
    new_east: Grid
    new_south: Grid


@_fast
def _new_flux(
    physics: Physics,
    dt: float,
    drop: float,
    mean: float,
    across: float,
    depth: float,
    per_depth: float,
) -> tuple[float, float]:
    """Flux after a step, and the speed that bounds the next step.

    ∂q/∂t = g' h S - c |q| q / h², the drag taken at the end of the step: with
    λ = Δt/β, q (1 + λ c |q| / h²) = q₀ + λ g' h S is a quadratic in |q|. β is the share
    of inertia that is kept (local partial inertia): with β = 1 waves on a slope grow
    when (3/2) |q|/h > √(g'h), so β lets them run at `_WAVE_LEAD` |q|/h there.
    Steady flow does not depend on β.

    `drop` is the fall of the surface over the face [m], `mean` and `across` the flux
    before, along and across; `per_depth` stands for 1/h in the drag.
    """
    size = np.sqrt(mean * mean + across * across)
    wave_2 = physics.gravity * depth
    per_depth_2 = per_depth * per_depth
    froude_2 = size * size * per_depth_2 * (per_depth / physics.gravity)
    step = dt * max(1.0, _WAVE_LEAD * _WAVE_LEAD * froude_2)
    drag = step * physics.drag * per_depth_2
    push = mean + step * wave_2 * (drop / physics.cell_m)
    push_across = across * (1.0 + drag * size)
    push_size = np.sqrt(push * push + push_across * push_across)
    flux = 2.0 * push / (1.0 + np.sqrt(1.0 + 4.0 * drag * push_size))
    larger = max(size, abs(flux))
    return flux, np.sqrt(wave_2) + larger * per_depth


@_fast
def _plain_row(physics, dt, surface, along, across_four, out, speeds):
    """New flux and speed over a row of plain faces."""
    top_a, top_b, bed = surface
    q_a, q, q_b = along
    t_a0, t_a1, t_b0, t_b1 = across_four
    for k in range(out.size):
        flowing = max(top_a[k], top_b[k]) - bed[k]
        depth = max(flowing, _THINNEST_M)
        mean = _OWN_SHARE * q[k] + (0.5 - 0.5 * _OWN_SHARE) * (q_a[k] + q_b[k])
        across = 0.25 * ((t_a0[k] + t_b0[k]) + (t_a1[k] + t_b1[k]))
        flux, speed = _new_flux(
            physics, dt, top_a[k] - top_b[k], mean, across, depth, 1.0 / depth
        )
        wet = flowing > _THINNEST_M
        out[k] = flux if wet else 0.0
        speeds[k] = speed if wet else 0.0


@_plain
def _highest(positive):
    """Largest of numbers that are 0 or more: their bits keep their order."""
    bits = positive.view(np.int64)
    most = np.int64(0)
    for k in range(bits.size):
        most = max(most, bits[k])
    highest = np.empty(1, np.int64)
    highest[0] = most
    return highest.view(np.float64)[0]


@_plain
def _east_row(state, physics, dt, i, speeds):
    top, bed, q, south = state.top_m[i], state.east_bed_m[i], state.east[i], state.south
    _plain_row(
        physics,
        dt,
        (top[:-1], top[1:], bed[1:-1]),
        (q[:-2], q[1:-1], q[2:]),
        (south[i][:-1], south[i][1:], south[i + 1][:-1], south[i + 1][1:]),
        state.new_east[i][1:-1],
        speeds[:-1],
    )
    return _highest(speeds[:-1])


@_plain
def _south_row(state, physics, dt, i, speeds):
    top, bed, q, east = state.top_m, state.south_bed_m[i], state.south, state.east
    _plain_row(
        physics,
        dt,
        (top[i - 1], top[i], bed),
        (q[i - 1], q[i], q[i + 1]),
        (east[i - 1][:-1], east[i - 1][1:], east[i][:-1], east[i][1:]),
        state.new_south[i],
        speeds,
    )
    return _highest(speeds)


@_plain
def _special_face(state, physics, dt, faces, n, flux, across):
    """New flux over an edge or a barrier; returns it and the speed there."""
    top, ground = state.top_m.reshape(-1), state.ground_m.reshape(-1)
    before, after = faces.before[n], faces.after[n]
    if before >= 0 and after >= 0:
        drop = top[before] - top[after]
        open_depth = max(top[before], top[after]) - max(ground[before], ground[after])
    else:
        cell, inner = max(before, after), faces.inner[n]
        fall = 0.0
        if inner >= 0:
            fall = max(0.0, ground[inner] - ground[cell], top[inner] - top[cell])
        drop = fall if before >= 0 else -fall
        open_depth = top[cell] - ground[cell]
    covered = faces.covered[n]
    over = max(0.0, open_depth - faces.sill_m[n])
    depth = (1.0 - covered) * open_depth + covered * over
    if depth <= _THINNEST_M:
        return 0.0, 0.0
    # Steady flow is √(g'S/c) h^1.5 on each part of the face.
    power = (1.0 - covered) * open_depth * np.sqrt(open_depth)
    power += covered * over * np.sqrt(over)
    return _new_flux(physics, dt, drop, flux, across, depth, np.sqrt(depth) / power)


@_plain
def _special_row(state, physics, dt, faces, i, is_east):
    """New flux over the edges and barriers of a row; returns the highest speed."""
    cols = state.top_m.shape[1]
    fastest = 0.0
    for n in range(faces.first[i], faces.first[i + 1]):
        k = faces.at[n]
        if is_east:
            flux, other = state.east[i, k], state.south
            row_a, row_b, col_a, col_b = i, i + 1, k - 1, k
        else:
            flux, other = state.south[i, k], state.east
            row_a, row_b, col_a, col_b = i - 1, i, k, k + 1
        total, count = 0.0, 0
        for row in (row_a, row_b):
            for col in (col_a, col_b):
                if 0 <= row < other.shape[0] and 0 <= col < other.shape[1]:
                    total += other[row, col]
                    count += 1
        across = total / count
        new, speed = _special_face(state, physics, dt, faces, n, flux, across)
        if is_east:
            state.new_east[i, k] = new
        else:
            state.new_south[i, k] = new
        fastest = max(fastest, speed)
    return fastest


@_fast
def _mass_row(state, rate, dt, i):
    """New depth of a row; returns how many cells give more than they hold."""
    depth, ground = state.depth_m[i], state.ground_m[i]
    new_depth, top, production = (
        state.new_depth_m[i], state.top_m[i], state.production_m_s[i],
    )
    west, east = state.new_east[i][:-1], state.new_east[i][1:]
    north, south = state.new_south[i], state.new_south[i + 1]
    excess = 0
    for k in range(depth.size):
        out = max(east[k], 0.0) + max(-west[k], 0.0)
        out += max(south[k], 0.0) + max(-north[k], 0.0)
        excess += out * rate > depth[k]
        gain = (west[k] - east[k]) + (north[k] - south[k])
        new = depth[k] + (dt * production[k] + rate * gain)
        new_depth[k] = new
        top[k] = ground[k] + new
    return excess


@_strips
def _step(state, physics, dt, east_faces, south_faces, strips):
    """Fill the `new_` fields; returns highest speed and excess."""
    rows = state.top_m.shape[0]
    fastest, excess = np.zeros(strips), np.zeros(strips)
    for strip in numba.prange(strips):
        speed = 0.0
        speeds = np.empty(state.top_m.shape[1])
        for i in range(rows * strip // strips, rows * (strip + 1) // strips):
            speed = max(speed, _east_row(state, physics, dt, i, speeds))
            speed = max(speed, _special_row(state, physics, dt, east_faces, i, True))
            if i > 0:
                speed = max(speed, _south_row(state, physics, dt, i, speeds))
            speed = max(speed, _special_row(state, physics, dt, south_faces, i, False))
        if strip == strips - 1:
            speed = max(
                speed, _special_row(state, physics, dt, south_faces, rows, False)
            )
        fastest[strip] = speed
    rate = dt / physics.cell_m
    for strip in numba.prange(strips):
        most = 0
        for i in range(rows * strip // strips, rows * (strip + 1) // strips):
            most += _mass_row(state, rate, dt, i)
        excess[strip] = most
    return fastest.max(), excess.sum()


@_plain
def _limit(state, rate):
    """Scale the new flux out of every cell that would give more than it holds."""
    rows, cols = state.depth_m.shape
    share = np.ones((rows, cols))
    east, south = state.new_east, state.new_south
    for i in range(rows):
        for k in range(cols):
            out = max(east[i, k + 1], 0.0) + max(-east[i, k], 0.0)
            out += max(south[i + 1, k], 0.0) + max(-south[i, k], 0.0)
            if out * rate > state.depth_m[i, k]:
                share[i, k] = state.depth_m[i, k] / (out * rate) * (1.0 - 1e-12)
    for i in range(rows):
        for k in range(cols + 1):
            giver = k - 1 if east[i, k] > 0 else k
            if 0 <= giver < cols:
                east[i, k] *= share[i, giver]
    for i in range(rows + 1):
        for k in range(cols):
            giver = i - 1 if south[i, k] > 0 else i
            if 0 <= giver < rows:
                south[i, k] *= share[giver, k]


@_plain
def _left(flux, faces, rows):
    """Flux that leaves the known ground [m²/s]."""
    total = 0.0
    for i in range(rows):
        for n in range(faces.first[i], faces.first[i + 1]):
            if faces.after[n] < 0:
                total += flux[i, faces.at[n]]
            elif faces.before[n] < 0:
                total -= flux[i, faces.at[n]]
    return total


@_plain
def advance(state, physics, east_faces, south_faces, seconds, speed, strips):
    """Let the air flow for a time; returns the state, speed, steps, volume left."""
    rows = state.depth_m.shape[0]
    done, left_m3 = 0.0, 0.0
    steps = limited = 0
    while done < seconds:
        dt = _COURANT * physics.cell_m / max(speed, _SLOWEST_M_S)
        dt = min(dt, seconds - done)
        speed, excess = _step(state, physics, dt, east_faces, south_faces, strips)
        if excess > 0:
            limited += 1
            _limit(state, dt / physics.cell_m)
            for i in range(rows):
                _mass_row(state, dt / physics.cell_m, dt, i)
        left = _left(state.new_east, east_faces, rows)
        left += _left(state.new_south, south_faces, rows + 1)
        left_m3 += left * dt * physics.cell_m
        state = State(
            state.ground_m,
            state.top_m,
            state.new_depth_m,
            state.depth_m,
            state.production_m_s,
            state.east_bed_m,
            state.south_bed_m,
            state.new_east,
            state.new_south,
            state.east,
            state.south,
        )
        done += dt
        if seconds - done < 1e-6:
            break
        steps += 1
    return state, speed, steps, left_m3, limited
