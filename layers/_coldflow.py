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
_THINNEST_M = np.float32(1e-9)
# A flux starts its step as this share of itself and the rest of its two neighbours,
# which keeps neighbours from swinging against each other (de Almeida et al. 2012,
# Water Resour. Res. 48:W05528).
_OWN_SHARE, _NEIGHBOUR_SHARE = np.float32(0.9), np.float32(0.05)
_COURANT = 0.5
# Steps are chosen as if nothing were slower than this: while the layer is still thin
# they would have no end.
_SLOWEST_M_S = 0.25
# See `_new_flux`.
_WAVE_LEAD = np.float32(1.75)
_ZERO, _QUARTER, _ONE, _FOUR = (np.float32(number) for number in (0, 0.25, 1, 4))
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
    behind the face, -1 where it begins there. Of the length `covered` (0-1) the air
    must rise over `sill_m`.
    """

    at: Ints
    outward: Ints
    sill_m: Floats
    covered: Floats


class State(NamedTuple):
    """Fields of a flow on its way."""

    ground_m: Floats
    top_m: Floats
    depth_m: Floats
    production_m_s: Floats
    east_bed_m: Floats  # infinite where a face is no plain one
    south_bed_m: Floats
    east: Singles
    south: Singles
    new_east: Singles
    new_south: Singles


@_fast
def _new_flux(physics, dt, drop, mean, across, depth, per_depth):  # type: ignore[no-untyped-def]
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
    step = dt * max(_ONE, _WAVE_LEAD * _WAVE_LEAD * froude_2)
    drag = step * physics.drag * per_depth_2
    push = mean + step * wave_2 * (drop / physics.cell_m)
    push_across = across * (_ONE + drag * size)
    push_size = np.sqrt(push * push + push_across * push_across)
    flux = (push + push) / (_ONE + np.sqrt(_ONE + _FOUR * drag * push_size))
    larger = max(size, abs(flux))
    return flux, np.sqrt(wave_2) + larger * per_depth


@_fast
def _surfaces(top_a, top_b, bed, drop, flowing):
    """Fall of the surface and flowing depth over plain faces."""
    for k in range(drop.size):
        drop[k] = top_a[k] - top_b[k]
        flowing[k] = max(top_a[k], top_b[k]) - bed[k]


@_fast
def _fluxes(physics, dt, surface, along, across_four, out, speeds):
    """New flux and speed over plain faces."""
    drop, flowing = surface
    q_a, q, q_b = along
    t_a0, t_a1, t_b0, t_b1 = across_four
    for k in range(out.size):
        depth = max(flowing[k], _THINNEST_M)
        mean = _OWN_SHARE * q[k] + _NEIGHBOUR_SHARE * (q_a[k] + q_b[k])
        across = _QUARTER * ((t_a0[k] + t_b0[k]) + (t_a1[k] + t_b1[k]))
        flux, speed = _new_flux(
            physics, dt, drop[k], mean, across, depth, _ONE / depth
        )
        wet = flowing[k] > _THINNEST_M
        out[k] = flux if wet else _ZERO
        speeds[k] = speed if wet else _ZERO


@_plain
def _highest(positive):
    """Largest of numbers that are 0 or more: their bits keep their order."""
    bits = positive.view(np.int32)
    most = np.int32(0)
    for k in range(bits.size):
        most = max(most, bits[k])
    highest = np.empty(1, np.int32)
    highest[0] = most
    return highest.view(np.float32)[0]


@_plain
def _plain_faces(state_top, bed, flux, other, new_flux, physics, dt, steps, room):
    """New flux over all plain faces of one direction; returns the highest speed."""
    along, across = steps
    ring = along + across
    fastest = _ZERO
    for start in range(ring, bed.size - ring, _CHUNK):
        end = min(start + _CHUNK, bed.size - ring)
        drop, flowing, speeds = room[0][: end - start], room[1][: end - start], room[2][: end - start]
        _surfaces(state_top[start - along : end - along], state_top[start:end], bed[start:end], drop, flowing)
        _fluxes(
            physics, dt, (drop, flowing),
            (flux[start - along : end - along], flux[start:end], flux[start + along : end + along]),
            (
                other[start - along : end - along],
                other[start - along + across : end - along + across],
                other[start:end],
                other[start + across : end + across],
            ),
            new_flux[start:end],
            speeds,
        )
        fastest = max(fastest, _highest(speeds))
    return fastest


@_plain
def _other_faces(state, flux, other, new_flux, physics, dt, steps, faces):
    """New flux over edges and barriers of one direction; returns the highest speed."""
    along, across = steps
    top, ground = state.top_m, state.ground_m
    fastest = _ZERO
    for n in range(faces.at.size):
        face, outward = faces.at[n], faces.outward[n]
        before = face - along
        if outward == 0:
            drop = top[before] - top[face]
            open_depth = max(top[before], top[face]) - max(ground[before], ground[face])
            share = _QUARTER
        else:
            cell = before if outward > 0 else face
            inner = cell - outward * along
            fall = max(0.0, ground[inner] - ground[cell], top[inner] - top[cell])
            drop = outward * fall
            open_depth = top[cell] - ground[cell]
            share = _QUARTER + _QUARTER
        covered = faces.covered[n]
        over = max(0.0, open_depth - faces.sill_m[n])
        depth = (1.0 - covered) * open_depth + covered * over
        if depth <= _THINNEST_M:
            new_flux[face] = _ZERO
            continue
        power = (1.0 - covered) * open_depth * np.sqrt(open_depth)
        power += covered * over * np.sqrt(over)
        sideways = other[before] + other[before + across]
        sideways += other[face] + other[face + across]
        new_flux[face], speed = _new_flux(
            physics,
            dt,
            np.float32(drop),
            flux[face],
            share * sideways,
            np.float32(depth),
            np.float32(np.sqrt(depth) / power),
        )
        fastest = max(fastest, speed)
    return fastest


@_fast
def _mass(fluxes, fields, rate, dt):
    """New depth and top; returns how many cells gave more than they held."""
    west, east, north, south = fluxes
    ground, depth, top, production = fields
    excess = 0
    for k in range(depth.size):
        out = max(east[k], _ZERO) + max(-west[k], _ZERO)
        out += max(south[k], _ZERO) + max(-north[k], _ZERO)
        excess += out * rate > depth[k]
    if excess:
        return excess
    for k in range(depth.size):
        gain = (float(west[k]) - float(east[k])) + (float(north[k]) - float(south[k]))
        depth[k] += dt * production[k] + rate * gain
        top[k] = ground[k] + depth[k]
    return excess


@_plain
def _limit(state, rate, width):
    """Scale the new flux out of every cell that would give more than it holds."""
    east, south, depth = state.new_east, state.new_south, state.depth_m
    share = np.ones(depth.size, np.float32)
    for n in range(depth.size):
        out = max(east[n + 1], _ZERO) + max(-east[n], _ZERO)
        out += max(south[n + width], _ZERO) + max(-south[n], _ZERO)
        if out * rate > depth[n]:
            share[n] = depth[n] / (out * rate) * (1.0 - 1e-6)
    for n in range(width, depth.size):
        east[n] *= share[n - 1] if east[n] > 0 else share[n]
        south[n] *= share[n - width] if south[n] > 0 else share[n]


@_plain
def advance(state, physics, faces, seconds, speed, width):
    """Let the air flow for a time; returns the state, speed, steps, volume left."""
    done = 0.0
    steps = limited = 0
    room = np.empty((3, _CHUNK), np.float32)
    top = state.top_m
    while done < seconds:
        dt = _COURANT * physics.cell_m / max(speed, _SLOWEST_M_S)
        if dt > seconds - done:
            dt = seconds - done
        dt32 = np.float32(dt)
        rate = dt / physics.cell_m
        e, s, ne, ns = state.east, state.south, state.new_east, state.new_south
        speed = max(
            _plain_faces(top, state.east_bed_m, e, s, ne, physics, dt32, (1, width), room),
            _plain_faces(top, state.south_bed_m, s, e, ns, physics, dt32, (width, 1), room),
            _other_faces(state, e, s, ne, physics, dt32, (1, width), faces[0]),
            _other_faces(state, s, e, ns, physics, dt32, (width, 1), faces[1]),
        )
        cells = top.size
        fluxes = (ne[:cells], ne[1 : cells + 1], ns[:cells], ns[width : cells + width])
        fields = (state.ground_m, state.depth_m, top, state.production_m_s)
        if _mass(fluxes, fields, rate, dt) > 0:
            limited += 1
            _limit(state, rate, width)
            _mass(fluxes, fields, rate, dt)
        state = State(
            state.ground_m, top, state.depth_m, state.production_m_s,
            state.east_bed_m, state.south_bed_m, ne, ns, e, s,
        )
        done += dt
        steps += 1
        if seconds - done < 1e-6:
            break
    return state, speed, steps, limited
