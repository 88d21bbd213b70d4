"""The steps of `_coldflow` on a graphics card: CUDA, through CuPy.

The same faces and the same scheme, one thread to a cell and its west and north faces.
Instead of the heights of the ground the card holds the rise from cell to cell in single
precision, so that no height above the sea takes digits from the fall of the surface;
depths stay double. Length and number of steps are kept on the card: nothing comes back
but the time that is left.
"""

from functools import cache
from importlib.util import find_spec
from typing import Any

import numpy as np

from layers import _coldflow
from layers._coldflow import Faces, Floats, Held, Layer, Physics, Side, Singles

_TILE = (32, 4)  # threads of a block, columns and rows
_THREADS = 256
_FEW_BLOCKS = 1024  # for lists of faces and cells, whatever their length
_STEPS_AT_ONCE = 64  # before the time that is left is asked for

_SOURCE = r"""
#define NO_PLAIN_FACE 1e30f
struct Clock { double left_s, dt, rate; unsigned speed; int steps, short_cells, pad; };

struct Physics { float gravity, drag, per_gravity, per_cell_m, dt; };

// A face between two cells, `rise` from the first to the second: fall of the surface and
// depth above the higher ground.
__device__ __forceinline__ void face(float before, float after, float rise,
                                     float* drop, float* flowing) {
  *drop = before - after - rise;
  *flowing = fmaxf(before - fmaxf(rise, 0.0f), after + fminf(rise, 0.0f));
}

// See `_coldflow._new_flux`.
__device__ __forceinline__ float new_flux(Physics physics, float drop, float mean,
                                          float across, float depth, float per_depth,
                                          float* speed) {
  const float gravity = physics.gravity, drag_c = physics.drag;
  const float per_gravity = physics.per_gravity, per_cell_m = physics.per_cell_m;
  const float dt = physics.dt;
  const float size = sqrtf(mean * mean + across * across);
  const float wave_2 = gravity * depth, per_depth_2 = per_depth * per_depth;
  const float froude_2 = size * size * per_depth_2 * (per_depth * per_gravity);
  const float faster = fmaxf(1.0f, WAVE_LEAD * WAVE_LEAD * froude_2);
  const float step = dt * fminf(faster, MOST_FASTER);
  const float drag = step * drag_c * per_depth_2;
  const float push = mean + step * wave_2 * (drop * per_cell_m);
  const float push_across = across * (1.0f + drag * size);
  const float push_size = sqrtf(push * push + push_across * push_across);
  const float flux = (push + push) / (1.0f + sqrtf(1.0f + 4.0f * drag * push_size));
  *speed = sqrtf(wave_2) + ROOT_2 * fabsf(flux) * per_depth;
  return flux;
}

__device__ __forceinline__ float plain(Physics physics, float before, float after,
                                       float rise, float q_a, float q, float q_b,
                                       float across, float* speed) {
  float drop, flowing;
  face(before, after, rise, &drop, &flowing);
  if (rise > NO_PLAIN_FACE || !(flowing > THINNEST_M)) { *speed = 0.0f; return 0.0f; }
  const float mean = OWN_SHARE * q + NEIGHBOUR_SHARE * (q_a + q_b);
  return new_flux(physics, drop, mean, across, flowing, 1.0f / flowing, speed);
}

// Blocks are tiles of the grid, so that neighbours above and below are near in the cache.
__device__ __forceinline__ long long own_cell(int width) {
  const int col = blockIdx.x * blockDim.x + threadIdx.x;
  const long long row = blockIdx.y * blockDim.y + threadIdx.y;
  return col < width ? row * width + col : -1;
}

// The highest speed of a block, then of all: bits of positive numbers keep the order.
__device__ __forceinline__ void keep_highest(float speed, Clock* clock) {
  __shared__ unsigned most;
  const int thread = threadIdx.y * blockDim.x + threadIdx.x;
  if (thread == 0) most = 0u;
  __syncthreads();
  unsigned bits = __float_as_uint(speed);
  for (int way = 16; way > 0; way /= 2)
    bits = max(bits, __shfl_xor_sync(0xffffffffu, bits, way));
  if (thread % 32 == 0) atomicMax(&most, bits);
  __syncthreads();
  if (thread == 0 && most > clock->speed) atomicMax(&clock->speed, most);
}

extern "C" {

__global__ void next_step(Clock* clock, float cell_m) {
  clock->dt = 0.0;
  if (clock->left_s <= 1e-6) return;
  const double speed = fmax((double)__uint_as_float(clock->speed), SLOWEST_M_S);
  clock->dt = fmin(COURANT * (double)cell_m / speed, clock->left_s);
  clock->rate = clock->dt / (double)cell_m;
  clock->left_s -= clock->dt;
  clock->steps += 1;
  clock->speed = 0u;
  clock->short_cells = 0;
}

// Fields of two halves: steps read one and write the other.
__global__ void plain_faces(Clock* clock, float gravity, float drag, float cell_m,
                            int width, long long cells, const float* rise_e,
                            const float* rise_s, const double* depths, float* east,
                            float* south) {
  if (clock->dt == 0.0) return;
  const long long faces = cells + width;
  const int was = (clock->steps + 1) & 1, now = clock->steps & 1;
  const double* h = depths + was * cells;
  const float *e = east + was * faces, *s = south + was * faces;
  const long long n = own_cell(width);
  float fastest = 0.0f;
  if (n > width && n < cells - width - 1) {
    const Physics physics = {gravity, drag, 1.0f / gravity, 1.0f / cell_m,
                             (float)clock->dt};
    const float here = (float)h[n];
    float speed;
    const float from_s = s[n], from_e = e[n];
    const float over_s = 0.25f * ((s[n - 1] + from_s) + (s[n - 1 + width] + s[n + width]));
    const float over_e = 0.25f * ((e[n - width] + from_e) + (e[n - width + 1] + e[n + 1]));
    east[now * faces + n] = plain(physics, (float)h[n - 1], here, rise_e[n], e[n - 1],
                                  from_e, e[n + 1], over_s, &speed);
    fastest = speed;
    south[now * faces + n] = plain(physics, (float)h[n - width], here, rise_s[n],
                                   s[n - width], from_s, s[n + width], over_e, &speed);
    fastest = fmaxf(fastest, speed);
  }
  keep_highest(fastest, clock);
}

// Edges and barriers of one side; see `_coldflow._other_faces`.
__global__ void other_faces(Clock* clock, float gravity, float drag, float cell_m,
                            int width, long long cells, int along, int across,
                            int number, const long long* at, const int* outward,
                            const float* fall, const float* sill, const float* covered,
                            const double* depths, float* side, const float* other_side) {
  if (clock->dt == 0.0) return;
  const long long faces = cells + width;
  const int was = (clock->steps + 1) & 1, now = clock->steps & 1;
  const double* h = depths + was * cells;
  const float* other = other_side + was * faces;
  const Physics physics = {gravity, drag, 1.0f / gravity, 1.0f / cell_m,
                             (float)clock->dt};
  float fastest = 0.0f;
  for (int k = blockIdx.x * blockDim.x + threadIdx.x; k < number;
       k += gridDim.x * blockDim.x) {
    const long long after = at[k], before = after - along;
    float drop, open;
    if (outward[k] == 0) {
      face((float)h[before], (float)h[after], fall[k], &drop, &open);
    } else {
      drop = outward[k] * fall[k];
      open = (float)(outward[k] > 0 ? h[before] : h[after]);
    }
    const float over = fmaxf(0.0f, open - sill[k]);
    const float depth = (1.0f - covered[k]) * open + covered[k] * over;
    float flux = 0.0f, speed = 0.0f;
    if (depth > THINNEST_M) {
      float power = (1.0f - covered[k]) * open * sqrtf(open);
      power += covered[k] * over * sqrtf(over);
      const float sideways = (other[before] + other[before + across])
                           + (other[after] + other[after + across]);
      const float share = outward[k] == 0 ? 0.25f : 0.5f;
      flux = new_flux(physics, drop, side[was * faces + after], share * sideways, depth,
                      sqrtf(depth) / power, &speed);
    }
    side[now * faces + after] = flux;
    fastest = fmaxf(fastest, speed);
  }
  keep_highest(fastest, clock);
}

// What a cell may give of what flows out of it: all, or what it holds.
__device__ __forceinline__ float given(const float* e, const float* s, const double* h,
                                       long long n, int width, double rate) {
  float out = fmaxf(e[n + 1], 0.0f) + fmaxf(-e[n], 0.0f);
  out += fmaxf(s[n + width], 0.0f) + fmaxf(-s[n], 0.0f);
  if (out == 0.0f || out * rate <= h[n]) return 1.0f;  // by rounding h may be below 0
  return (float)(h[n] / (out * rate) * (1.0 - 1e-6));
}

__global__ void settle(Clock* clock, int width, long long cells,
                       const double* made, double* depths, const float* east,
                       const float* south, int* short_cells, float* short_shares) {
  if (clock->dt == 0.0) return;
  const long long faces = cells + width;
  const int was = (clock->steps + 1) & 1, now = clock->steps & 1;
  const double* h = depths + was * cells;
  const float *e = east + now * faces, *s = south + now * faces;
  const long long n = own_cell(width);
  if (n < 0 || n >= cells) return;
  const double rate = clock->rate;
  float west = e[n], out_e = e[n + 1], north = s[n], out_s = s[n + width];
  const float own = given(e, s, h, n, width, rate);
  west *= west > 0.0f ? given(e, s, h, n - 1, width, rate) : own;
  out_e *= out_e < 0.0f ? given(e, s, h, n + 1, width, rate) : own;
  north *= north > 0.0f ? given(e, s, h, n - width, width, rate) : own;
  out_s *= out_s < 0.0f ? given(e, s, h, n + width, width, rate) : own;
  const double gain = ((double)west - out_e) + ((double)north - out_s);
  depths[now * cells + n] = h[n] + (clock->dt * made[n] + rate * gain);
  if (own < 1.0f) {
    const int k = atomicAdd(&clock->short_cells, 1);
    short_cells[k] = (int)n;
    short_shares[k] = own;
  }
}

// Cells whose depth another run knows; see `_coldflow._hold`.
__global__ void hold(Clock* clock, long long cells, double seconds, int number,
                     const long long* at, const double* from, const double* to,
                     double* depths) {
  if (clock->dt == 0.0) return;
  double* h = depths + (clock->steps & 1) * cells;
  const double share = 1.0 - clock->left_s / seconds;
  for (int k = blockIdx.x * blockDim.x + threadIdx.x; k < number;
       k += gridDim.x * blockDim.x)
    h[at[k]] = from[k] + share * (to[k] - from[k]);
}

// Every face carries air out of one cell at most, so each is scaled once.
__global__ void limit(Clock* clock, int width, long long cells, const int* short_cells,
                      const float* short_shares, float* east, float* south) {
  if (clock->dt == 0.0) return;
  const long long faces = cells + width;
  float *e = east + (clock->steps & 1) * faces, *s = south + (clock->steps & 1) * faces;
  for (int k = blockIdx.x * blockDim.x + threadIdx.x; k < clock->short_cells;
       k += gridDim.x * blockDim.x) {
    const long long n = short_cells[k];
    const float share = short_shares[k];
    if (e[n] < 0.0f) e[n] *= share;
    if (e[n + 1] > 0.0f) e[n + 1] *= share;
    if (s[n] < 0.0f) s[n] *= share;
    if (s[n + width] > 0.0f) s[n + width] *= share;
  }
}

}
"""


def what_lacks() -> str | None:
    """What keeps this machine from computing on a card: "CuPy", "card" or nothing."""
    if find_spec("cupy") is None:
        return "CuPy"
    import cupy  # noqa: PLC0415  (an extra; large to load)

    try:
        return None if cupy.cuda.runtime.getDeviceCount() > 0 else "card"
    except cupy.cuda.runtime.CUDARuntimeError:
        return "card"


@cache
def _kernel(name: str) -> Any:
    """One of the compiled kernels."""
    return _compiled().get_function(name)


@cache
def _compiled() -> Any:
    """Compile the source with the constants of the scheme."""
    import cupy  # noqa: PLC0415

    constants = {
        "THINNEST_M": f"{_coldflow.THINNEST_M}f",
        "OWN_SHARE": f"{_coldflow.OWN_SHARE}f",
        "NEIGHBOUR_SHARE": f"{_coldflow.NEIGHBOUR_SHARE}f",
        "WAVE_LEAD": f"{_coldflow.WAVE_LEAD}f",
        "MOST_FASTER": f"{_coldflow.MOST_FASTER}f",
        "ROOT_2": f"{_coldflow.ROOT_2}f",
        "SLOWEST_M_S": str(_coldflow.SLOWEST_M_S),
        "COURANT": str(_coldflow.COURANT),
    }
    options = tuple(f"-D{name}={value}" for name, value in constants.items())
    return cupy.RawModule(code=_SOURCE, options=("--use_fast_math", *options))


class Run:
    """A run of the air on the card; see `_coldflow.Run`."""

    def __init__(
        self,
        layer: Layer,
        east: Side,
        south: Side,
        physics: Physics,
        speed: float = 0.0,
    ) -> None:
        """Bring the fields to the card."""
        import cupy  # noqa: PLC0415

        self.cells, self.width = layer.depth_m.size, layer.width
        self._physics = (physics.gravity, physics.drag, physics.cell_m)
        self._rises = tuple(cupy.asarray(_rise(layer, side)) for side in (east, south))
        self._made = cupy.asarray(layer.production_m_s)
        self._depths = cupy.asarray(np.stack([layer.depth_m, layer.depth_m]))
        self._fluxes = tuple(
            cupy.asarray(np.stack([side.flux, side.flux])) for side in (east, south)
        )
        # Every grid has edges, so no list is empty.
        self._lists = tuple(
            (_on_card(cupy, layer, side), (np.int32(side.along), np.int32(side.across)))
            for side in (east, south)
        )
        self._short = (
            cupy.empty(self.cells, np.int32),
            cupy.empty(self.cells, np.float32),
        )
        clock = np.zeros(1, _CLOCK)
        clock["speed"] = np.float32(speed).view(np.uint32)
        self._clock = cupy.asarray(clock.view(np.uint8))
        self._held: tuple[Any, ...] = ()

    def hold(self, held: Held) -> None:
        """Take depths that some cells have until the end of the next time."""
        import cupy  # noqa: PLC0415

        self._held = tuple(map(cupy.asarray, held)) if held.at.size else ()

    def advance(self, seconds: float) -> int:
        """Let the air flow for a time [s]; returns the number of steps."""
        clock = self._read_clock()
        before = int(clock["steps"])
        clock["left_s"] = seconds
        self._clock.set(np.frombuffer(clock.tobytes(), np.uint8))
        while clock["left_s"] > 1e-6:
            for _ in range(_STEPS_AT_ONCE):
                self._step(seconds)
            clock = self._read_clock()
        return int(clock["steps"]) - before

    def _read_clock(self) -> Any:
        return np.frombuffer(self._clock.get().tobytes(), _CLOCK).copy()[0]

    def _step(self, seconds: float) -> None:
        width, cells = np.int32(self.width), np.int64(self.cells)
        cell_m = self._physics[2]
        rows = self.cells // self.width
        tiles = (-(-self.width // _TILE[0]), -(-rows // _TILE[1]))
        size = (width, cells)
        call = self._call
        call("next_step", (1,), (1,), cell_m)
        call(
            "plain_faces",
            tiles,
            _TILE,
            *(*self._physics, *size, *self._rises, self._depths, *self._fluxes),
        )
        for (faces, ways), own, other in zip(
            self._lists, self._fluxes, self._fluxes[::-1], strict=True
        ):
            number = faces[0].size
            call(
                "other_faces",
                (min(_FEW_BLOCKS, -(-number // _THREADS)),),
                (_THREADS,),
                *(*self._physics, *size, *ways, np.int32(number)),
                *(*faces, self._depths, own, other),
            )
        call(
            "settle",
            tiles,
            _TILE,
            *(*size, self._made, self._depths, *self._fluxes, *self._short),
        )
        call(
            "limit", (_FEW_BLOCKS,), (_THREADS,), *(*size, *self._short, *self._fluxes)
        )
        if self._held:
            number = self._held[0].size
            call(
                "hold",
                (min(_FEW_BLOCKS, -(-number // _THREADS)),),
                (_THREADS,),
                *(cells, np.float64(seconds), np.int32(number)),
                *(*self._held, self._depths),
            )

    def _call(
        self, name: str, blocks: tuple[int, ...], threads: tuple[int, ...], *values: Any
    ) -> None:
        """Queue a kernel behind those before it."""
        _kernel(name)(blocks, threads, (self._clock, *values))

    def _half(self) -> int:
        return int(self._read_clock()["steps"]) & 1

    def depth_m(self) -> Floats:
        """Flat depths as they are now."""
        depth: Floats = self._depths[self._half()].get()
        return depth

    def fluxes(self) -> tuple[Singles, Singles]:
        """Flux through east and south faces, flat."""
        east, south = (side[self._half()].get() for side in self._fluxes)
        return east, south


_CLOCK = np.dtype(
    [
        ("left_s", np.float64),
        ("dt", np.float64),
        ("rate", np.float64),
        ("speed", np.uint32),
        ("steps", np.int32),
        ("short_cells", np.int32),
        ("pad", np.int32),
    ]
)


def _rise(layer: Layer, side: Side) -> Singles:
    """Rise of the ground over each plain face; infinite where a face is no plain one."""
    rise = np.full(layer.ground_m.size, np.inf, np.float32)
    before, after = layer.ground_m[: -side.along], layer.ground_m[side.along :]
    rise[side.along :] = after - before
    rise[np.isinf(side.bed_m)] = np.inf
    return rise


def _on_card(cupy: Any, layer: Layer, side: Side) -> tuple[Any, ...]:
    """Edges and barriers, with the rise of the ground in place of the fall outwards."""
    faces: Faces = side.faces
    rise = layer.ground_m[faces.at] - layer.ground_m[faces.at - side.along]
    fall = np.where(faces.outward == 0, rise, faces.drop_m)
    return (
        cupy.asarray(faces.at),
        *(
            cupy.asarray(values.astype(kind))
            for values, kind in (
                (faces.outward, np.int32),
                (fall, np.float32),
                (faces.sill_m, np.float32),
                (faces.covered, np.float32),
            )
        ),
    )
