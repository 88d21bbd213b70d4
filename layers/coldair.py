"""Cold air on clear calm nights: how it runs and where it lies.

Open ground cools the air above it; the cold air runs downhill like slow water, stands
behind hedges and lies in low places. What that is worth in °C stands in `coldness`.
"""

from dataclasses import dataclass
from typing import Literal, NamedTuple, Self

import numba
import numpy as np
import numpy.typing as npt
from scipy import ndimage

from layers import _coldflow, _coldflow_card
from layers._grid import (
    Grid,
    block_means,
    check_cell_size,
    check_grid,
    check_same_shape,
)

Mask = npt.NDArray[np.bool_]

# Flatter ground than this, in metres or in errors of its elevation, tells nothing.
RELIEF_FROM_M, RELIEF_FROM_ERRORS = 3.0, 3.0

COLD, NO_SIGNAL, NOT_COLD = 1.0, 0.0, -1.0
HAIR = 1e-9  # of a cell
EVERYWHERE = (slice(None), slice(None))


GRAVITY_M_S2 = 9.81
# The layer is called steady when it changes by less than this in this time.
STEADY_SHARE, STEADY_AFTER_S = 0.01, 600.0


@dataclass(frozen=True)
class Flow:
    """What drives and brakes the cold air.

    Attributes
    ----------
    production_m_h
        Cold air made over open grass and arable ground [m³ per m² and hour]: about 12,
        10-20 (after VDI 3787 part 5, from memory).
    colder_k
        By how much the layer is colder than the air above it: 4, 3-5.
    temperature_k
        Of the air above it.
    drag
        Quadratic drag of the ground [-]: 0.02, 0.01-0.1 (from memory).

    Raises
    ------
    ValueError
        When a number is not positive, or the production negative.
    """

    production_m_h: float = 12.0
    colder_k: float = 4.0
    temperature_k: float = 280.0
    drag: float = 0.02

    def __post_init__(self) -> None:
        """Refuse numbers that no air has."""
        if not self.production_m_h >= 0:
            raise ValueError(
                f"production_m_h must be 0 or more, got {self.production_m_h}"
            )
        for name in ("colder_k", "temperature_k", "drag"):
            if not getattr(self, name) > 0:
                raise ValueError(f"{name} must be positive, got {getattr(self, name)}")

    @property
    def gravity_m_s2(self) -> float:
        """What pulls the layer down: gravity times its excess density."""
        return GRAVITY_M_S2 * self.colder_k / self.temperature_k

    def makes_m_s(self, production_share: Grid) -> Grid:
        """What cells make that have a share of the production of open ground."""
        return production_share * self.production_m_h / 3600


# Three stored runs carry what is not known of the flow: one set makes a thin layer, one
# a deep one.
CENTRAL = Flow()
THIN = Flow(production_m_h=10.0, colder_k=5.0)
DEEP = Flow(production_m_h=20.0, colder_k=3.0, drag=0.1)


@dataclass(frozen=True)
class Night:
    """How long the air may flow, and what is to be seen of it.

    Attributes
    ----------
    length_h
        From sunset to sunrise.
    frames_h
        Hours after sunset, rising, at which the depth is kept.
    watched
        (rows, cols) cells, as a rule the plots, over which the layer must have come to
        rest for the run to end early; None watches all. To see the night out, watch
        nothing: a mask without a cell.
    """

    length_h: float
    frames_h: tuple[float, ...] = ()
    watched: Mask | None = None

    def __post_init__(self) -> None:
        """Refuse a night without length, and frames out of order."""
        if not 0 < self.length_h < np.inf:
            raise ValueError(f"length_h must be positive, got {self.length_h}")
        if any(not hour >= 0 for hour in self.frames_h) or list(
            self.frames_h
        ) != sorted(self.frames_h):
            raise ValueError(f"frames_h must rise from 0, got {self.frames_h}")


@dataclass(frozen=True)
class Barriers:
    """What the cold air must rise over, on the faces between cells.

    Attributes
    ----------
    east_sill_m, east_covered
        (rows, cols + 1); face (i, k) is the west side of column k, the last one the
        east side of the grid. Height of the obstacle above ground times 1 - porosity;
        share of the face's length that it covers, 0-1. Over the rest the air flows
        along the ground.
    north_sill_m, north_covered
        (rows + 1, cols); face (i, k) is the north side of row i, the last one the south
        side of the grid.
    """

    east_sill_m: Grid
    east_covered: Grid
    north_sill_m: Grid
    north_covered: Grid


@dataclass(frozen=True)
class ColdAir:
    """A layer of cold air at the end of a run.

    Attributes
    ----------
    depth_m
        (rows, cols); NaN where the ground is missing.
    through_east_m2_s, through_north_m2_s
        Flux through the faces [m²/s], laid out as in `Barriers`, positive to the east
        and to the north.
    frames_m
        (frames, rows, cols) depth at `frames_h`, as far as the run came.
    frames_h
        Hours after sunset.
    ended_by
        "steady" when the watched ground came to rest, "sunrise" when the night ended.
    hours
        After sunset, at the end.
    produced_m3, left_m3
        Cold air made, and gone over the edges of the known ground, since the start.
    steps
        Number of steps of the computation.
    """

    depth_m: Grid
    through_east_m2_s: Grid
    through_north_m2_s: Grid
    frames_m: npt.NDArray[np.float32]
    frames_h: tuple[float, ...]
    ended_by: Literal["steady", "sunrise"]
    hours: float
    produced_m3: float
    left_m3: float
    steps: int

    @property
    def east_m2_s(self) -> Grid:
        """Flux to the east through the middle of each cell, (rows, cols) [m²/s]."""
        return (self.through_east_m2_s[:, :-1] + self.through_east_m2_s[:, 1:]) / 2

    @property
    def north_m2_s(self) -> Grid:
        """Flux to the north through the middle of each cell, (rows, cols) [m²/s]."""
        return (self.through_north_m2_s[:-1] + self.through_north_m2_s[1:]) / 2


@dataclass(frozen=True)
class Air:
    """Cold air as it lies and flows at one moment.

    Attributes
    ----------
    depth_m
        (rows, cols); NaN where the ground is missing.
    deepens_m_s
        (rows, cols): how fast its depth has changed lately.
    through_east_m2_s, through_north_m2_s
        As in `ColdAir`.
    """

    depth_m: Grid
    deepens_m_s: Grid
    through_east_m2_s: Grid
    through_north_m2_s: Grid

    @classmethod
    def at_sunset(
        cls, elevation_m: Grid, production_share: Grid, flow: Flow = CENTRAL
    ) -> Self:
        """No air yet; it will deepen as it is made.

        Parameters
        ----------
        elevation_m, production_share, flow
            As in `drain`. The depth of a missing cell is missing.
        """
        rows, cols = elevation_m.shape
        none_yet = np.where(np.isnan(elevation_m), np.nan, 0.0)
        return cls(
            none_yet,
            none_yet + flow.makes_m_s(production_share),
            np.zeros((rows, cols + 1)),
            np.zeros((rows + 1, cols)),
        )


@dataclass(frozen=True)
class Spell:
    """A short part of a night on a part of the ground, beside what is known to lie beyond.

    Attributes
    ----------
    seconds
        How long it is.
    cells
        (rows, cols): known ground whose depth others know. Over the edge of the ground
        beside them nothing flows: they stand for what lies beyond.
    from_m, to_m
        (cells,) their depth at the start and at the end, row after row; in between it
        changes evenly.
    """

    seconds: float
    cells: Mask
    from_m: Grid
    to_m: Grid

    def __post_init__(self) -> None:
        """Refuse a spell without length, and depths that do not fit or cannot be."""
        if not 0 < self.seconds < np.inf:
            raise ValueError(f"seconds must be positive, got {self.seconds}")
        shape = (int(np.count_nonzero(self.cells)),)
        for name in ("from_m", "to_m"):
            depth_m = getattr(self, name)
            if depth_m.shape != shape:
                raise ValueError(f"{name} must be {shape}, got {depth_m.shape}")
            if not (np.isfinite(depth_m) & (depth_m >= 0)).all():
                raise ValueError(f"{name} must be 0 or more everywhere")


def drain(
    elevation_m: Grid,
    cell_size_m: float,
    production_share: npt.ArrayLike,
    night: Night,
    flow: Flow = CENTRAL,
    barriers: Barriers | None = None,
    start_depth_m: Grid | None = None,
) -> ColdAir:
    """Let cold air form, run and pool through a clear calm night.

    ∂h/∂t = P V - ∇·q and ∂q/∂t = -g' h ∇(z + h) - c |q| q / h²: one layer of depth h
    and flux q under reduced gravity g' with quadratic drag c.

    Parameters
    ----------
    elevation_m
        (rows, cols), row 0 in the north. Missing cells are outside: like the border,
        they let air out and never in.
    cell_size_m
        Side of a cell.
    production_share
        Share of the production of open ground per cell, 0 or more: the visible share of
        the sky, times 0 over water and sealed ground. A number or (rows, cols).
    night
        How long, and what is watched and kept.
    flow
        What drives and brakes the air.
    barriers
        Hedges, walls, banks; None for open ground.
    start_depth_m
        Cold air that lies there at the start; None for none.

    Returns
    -------
    cold_air
        See `ColdAir`. What was there at the start and what was produced is held or has
        left to rounding: nothing is clipped.

    Raises
    ------
    ValueError
        When shapes differ, the cell size is not positive, or a share or a start depth
        is negative or missing on known ground.

    Notes
    -----
    Local-inertial scheme of Bates, Horritt & Fewtrell 2010, J. Hydrology 387:33-45, with
    the neighbour weights of de Almeida et al. 2012, Water Resour. Res. 48:W05528. Three
    departures: the drag is taken wholly at the end of the step, with the size of the
    flux as a vector, so that no direction of the grid is favoured; inertia is reduced
    where the flow outruns two thirds of its waves, as without the transport of momentum
    such flow breaks up into growing waves (after local partial inertia, Fread, Jin &
    Lewis 1996, from memory; steady flow does not feel it); a cell that would give more
    than it holds gives what it holds. Steps are at most half of cell / (√(g'h) + |q|/h).
    Beyond an edge the layer goes on as deep, down the slope of the last three cells, or
    one of 1 in 200 where they fall less or are level; where they rise outwards by more
    than that, nothing leaves. Air crosses the sides of
    cells, never a corner. Fluxes are kept in single precision, depths in double.
    Runs on one thread and lets other threads run beside it.

    Examples
    --------
    Air stays in a bowl with a high rim until it stands over its lip:

    >>> ground = np.full((7, 7), 100.0)
    >>> ground[2:5, 2:5] = 0.0
    >>> made = np.where(ground < 100, 1.0, 0.0)
    >>> hour = Night(length_h=1.0, watched=np.zeros((7, 7), bool))
    >>> cold_air = drain(ground, 10.0, made, hour)
    >>> cold_air.depth_m[3, 3].round(2).item()  # 12 m³ from each m² in an hour
    12.0
    >>> round(cold_air.left_m3, 6)
    0.0
    """
    start = _start(
        elevation_m, cell_size_m, production_share, flow, barriers, start_depth_m
    )
    return _followed(_coldflow.Run(*start.fields), start, night)


def drain_on_card(
    elevation_m: Grid,
    cell_size_m: float,
    production_share: npt.ArrayLike,
    night: Night,
    flow: Flow = CENTRAL,
    barriers: Barriers | None = None,
    start_depth_m: Grid | None = None,
) -> ColdAir:
    """Do what `drain` does on a graphics card (CUDA, through CuPy).

    Parameters, answers and scheme are those of `drain`; depths agree to 1 mm. Rises
    from cell to cell are kept in single precision there. Which of the cells that give
    all they hold comes first is open on a card, which changes no number.

    Parameters
    ----------
    elevation_m, cell_size_m, production_share, night, flow, barriers, start_depth_m
        As in `drain`.

    Raises
    ------
    ValueError
        As `drain` does, and when there is no card or no CuPy: see `has_card`.
    """
    _needs_card()
    start = _start(
        elevation_m, cell_size_m, production_share, flow, barriers, start_depth_m
    )
    return _followed(_coldflow_card.Run(*start.fields), start, night)


def run_on(
    elevation_m: Grid,
    cell_size_m: float,
    production_share: npt.ArrayLike,
    air: Air,
    spell: Spell,
    flow: Flow = CENTRAL,
    barriers: Barriers | None = None,
) -> Air:
    """Let cold air that flows already go on for a spell on a part of the ground.

    Parameters
    ----------
    elevation_m, cell_size_m, production_share
        As in `drain`, of the part.
    air
        What lies and flows there at the start.
    spell
        How long, and what lies beyond.
    flow, barriers
        As in `drain`.

    Returns
    -------
    air
        At the end of the spell.

    Raises
    ------
    ValueError
        As `drain` does, when air or spell have other shapes than the ground, and when
        the depth of a missing cell is said to be known.

    Notes
    -----
    Parts of a large ground that run on spell by spell, each with some cells of its
    neighbours around it, answer as the ground in one piece. What is wrong along their
    edge travels inwards no faster than waves and air do, √(g'h) + |q|/h, and in a short
    spell no farther than into the cells around. Depths along the edge are best taken
    to change as they did in the spell before (`Air.deepens_m_s`).
    """
    start = _flowing(elevation_m, cell_size_m, production_share, air, flow, barriers)
    return _gone_on(_coldflow.Run, start.closed_at(spell.cells), spell)


def run_on_card(
    elevation_m: Grid,
    cell_size_m: float,
    production_share: npt.ArrayLike,
    air: Air,
    spell: Spell,
    flow: Flow = CENTRAL,
    barriers: Barriers | None = None,
) -> Air:
    """Do what `run_on` does on a graphics card, as `drain_on_card` does.

    Parameters
    ----------
    elevation_m, cell_size_m, production_share, air, spell, flow, barriers
        As in `run_on`.

    Raises
    ------
    ValueError
        As `run_on` does, and when there is no card or no CuPy: see `has_card`.
    """
    _needs_card()
    start = _flowing(elevation_m, cell_size_m, production_share, air, flow, barriers)
    return _gone_on(_coldflow_card.Run, start.closed_at(spell.cells), spell)


def _needs_card() -> None:
    if lacks := _coldflow_card.what_lacks():
        raise ValueError(f"there is no {lacks} to compute on")


def has_card() -> bool:
    """Tell whether `drain_on_card` can run here: CuPy and a card with CUDA."""
    return _coldflow_card.what_lacks() is None


class _Start(NamedTuple):
    """A layer before its night."""

    fields: tuple[_coldflow.Layer, _coldflow.Side, _coldflow.Side, _coldflow.Physics]
    depth_m: Grid
    missing: Mask
    cell_size_m: float

    def closed_at(self, cells: Mask) -> Self:
        """The same, with edges closed beside cells whose depth others know.

        Raises
        ------
        ValueError
            When one of the cells is missing, or the shapes differ.
        """
        if cells.shape != self.missing.shape:
            raise ValueError(
                f"cells must have the shape of the ground, {self.missing.shape},"
                f" got {cells.shape}"
            )
        if (cells & self.missing).any():
            raise ValueError("cells must be known ground")
        layer, east, south, physics = self.fields
        held = np.pad(cells, 1).ravel()
        east, south = (_coldflow.closed_at(side, held) for side in (east, south))
        return self._replace(fields=(layer, east, south, physics))


def _start(
    elevation_m: Grid,
    cell_size_m: float,
    production_share: npt.ArrayLike,
    flow: Flow,
    barriers: Barriers | None,
    start_depth_m: Grid | None,
) -> _Start:
    """Check what is given and lay it out."""
    ground = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    missing = np.isnan(ground)
    share = _positive_on(~missing, production_share, "production_share")
    given = 0.0 if start_depth_m is None else start_depth_m
    depth = _positive_on(~missing, given, "start_depth_m")
    fields = _coldflow.laid_out(
        ground,
        depth,
        flow.makes_m_s(share),
        _sills(barriers, ground),
        cell_size_m,
    )
    physics = _coldflow.Physics(
        np.float32(flow.gravity_m_s2), np.float32(flow.drag), np.float32(cell_size_m)
    )
    return _Start((*fields, physics), depth, missing, cell_size_m)


def _followed(
    run: _coldflow.Run | _coldflow_card.Run, start: _Start, night: Night
) -> ColdAir:
    """Follow a run through the night, from look to look."""
    layer, missing = start.fields[0], start.missing
    depth = last_look = start.depth_m
    now_s, steps = 0.0, 0
    frames = []
    is_steady = False
    for stop in _stops(night):
        steps += run.advance(stop.at_s - now_s)
        now_s = stop.at_s
        depth = _coldflow.depth_grid(run.depth_m(), layer.width, missing)
        frames += stop.frames * [depth.astype(np.float32)]
        if stop.is_look:
            is_steady = _has_settled(last_look, depth, night.watched)
            last_look = depth
        if is_steady:
            break
    through_east, through_north = _coldflow.flux_grids(*run.fluxes(), layer.width)
    cell_m2 = start.cell_size_m**2
    return ColdAir(
        depth_m=depth,
        through_east_m2_s=through_east,
        through_north_m2_s=through_north,
        frames_m=np.array(frames, np.float32).reshape(-1, *missing.shape),
        frames_h=night.frames_h[: len(frames)],
        ended_by="steady" if is_steady else "sunrise",
        hours=now_s / 3600,
        produced_m3=float(layer.production_m_s.sum()) * now_s * cell_m2,
        left_m3=_coldflow.outside_m(run.depth_m(), missing) * cell_m2,
        steps=steps,
    )


def _flowing(
    elevation_m: Grid,
    cell_size_m: float,
    production_share: npt.ArrayLike,
    air: Air,
    flow: Flow,
    barriers: Barriers | None,
) -> _Start:
    """A layer that flows already, laid out."""
    start = _start(
        elevation_m, cell_size_m, production_share, flow, barriers, air.depth_m
    )
    layer, east, south, _ = start.fields
    _coldflow.set_fluxes(
        east.flux, south.flux, (air.through_east_m2_s, air.through_north_m2_s), layer
    )
    return start


def _gone_on(
    kind: type[_coldflow.Run] | type[_coldflow_card.Run], start: _Start, spell: Spell
) -> Air:
    """The air at the end of a spell."""
    layer = start.fields[0]
    run = kind(*start.fields, speed=_coldflow.UNKNOWN_M_S)
    at = np.flatnonzero(np.pad(spell.cells, 1))
    run.hold(_coldflow.Held(at, spell.from_m, spell.to_m))
    run.advance(spell.seconds)
    depth = _coldflow.depth_grid(run.depth_m(), layer.width, start.missing)
    return Air(
        depth,
        (depth - start.depth_m) / spell.seconds,
        *_coldflow.flux_grids(*run.fluxes(), layer.width),
    )


def _positive_on(known: Mask, values: npt.ArrayLike, name: str) -> Grid:
    """Values on known ground, 0 elsewhere; refused when missing or negative there."""
    given = np.asarray(values, dtype=np.float64)
    if given.ndim and given.shape != known.shape:
        raise ValueError(
            f"{name} must have the shape of the ground, {known.shape}, got {given.shape}"
        )
    inside = np.where(known, given, 0.0)
    if not (np.isfinite(inside) & (inside >= 0)).all():
        raise ValueError(f"{name} must be 0 or more on all known ground")
    return inside


def _sills(barriers: Barriers | None, ground: Grid) -> _coldflow.Sills:
    """Barriers as the computation takes them, checked against the ground."""
    rows, cols = ground.shape
    if barriers is None:
        barriers = no_barriers((rows, cols))
    for name, shape in (
        ("east_sill_m", (rows, cols + 1)),
        ("east_covered", (rows, cols + 1)),
        ("north_sill_m", (rows + 1, cols)),
        ("north_covered", (rows + 1, cols)),
    ):
        values = getattr(barriers, name)
        most = 1.0 if name.endswith("covered") else np.inf
        if values.shape != shape:
            raise ValueError(f"{name} must have shape {shape}, got {values.shape}")
        if not ((values >= 0) & (values <= most)).all():
            raise ValueError(f"{name} must be from 0 to {most}")
    return _coldflow.Sills(
        barriers.east_sill_m,
        barriers.east_covered,
        barriers.north_sill_m,
        barriers.north_covered,
    )


class _Stop(NamedTuple):
    """A moment at which the run is looked at: to keep frames, to see if it is steady."""

    at_s: float
    frames: int
    is_look: bool


def _stops(night: Night) -> list[_Stop]:
    """Moments of the night in their order; the last one is sunrise."""
    end_s = night.length_h * 3600
    frames_s = [hour * 3600 for hour in night.frames_h]
    looks_s = np.arange(1, int(end_s / STEADY_AFTER_S) + 1) * STEADY_AFTER_S
    times = {*frames_s, *looks_s.tolist(), end_s}
    return [
        _Stop(at_s, frames_s.count(at_s), at_s in looks_s) for at_s in sorted(times)
    ]


def _has_settled(before_m: Grid, now_m: Grid, watched: Mask | None) -> bool:
    """Tell whether the layer over the watched ground, all in all, hardly changed."""
    if watched is None:
        watched = ~np.isnan(now_m)
    changed_m = np.nansum(np.abs(now_m - before_m)[watched])
    # Less, and never equal: over no cell at all nothing settles, and the night is seen out.
    return bool(changed_m < STEADY_SHARE * np.nansum(now_m[watched]))


def no_barriers(shape: tuple[int, int]) -> Barriers:
    """Open ground of (rows, cols) cells.

    Parameters
    ----------
    shape
        Rows and columns of the grid.
    """
    rows, cols = shape
    return Barriers(
        east_sill_m=np.zeros((rows, cols + 1)),
        east_covered=np.zeros((rows, cols + 1)),
        north_sill_m=np.zeros((rows + 1, cols)),
        north_covered=np.zeros((rows + 1, cols)),
    )


def barriers_along(
    lines_m: npt.ArrayLike,
    sill_m: npt.ArrayLike,
    shape: tuple[int, int],
    cell_size_m: float,
) -> Barriers:
    """Faces that straight pieces of hedge, wall or bank stand on.

    A piece stands between two cells when it crosses the way from the middle of one to
    the middle of the other; it covers as much of their face as it is long across that
    way. So a gap stays as wide as it is, and a hedge without one lets nothing through,
    whatever the size of the cells and however the hedge lies to the grid.

    Parameters
    ----------
    lines_m
        (pieces, 4): east and south of one end, east and south of the other, from the
        north-west corner of the grid. Parts off the grid do nothing.
    sill_m
        (pieces,) or one number: height of the piece above ground times 1 - porosity.
    shape
        (rows, cols) of the grid.
    cell_size_m
        Side of a cell.

    Returns
    -------
    barriers
        Where pieces overlap, the higher one counts first.

    Raises
    ------
    ValueError
        When there are not four numbers to a piece, or a number is missing or a sill
        negative.

    Examples
    --------
    >>> wall = barriers_along([[10.0, 4.0, 10.0, 15.0]], 2.0, (4, 4), 5.0)
    >>> wall.east_covered[:, 2].tolist()
    [0.2, 1.0, 1.0, 0.0]
    >>> float(wall.north_covered.sum())
    0.0
    """
    check_cell_size(cell_size_m)
    lines = np.asarray(lines_m, dtype=np.float64).reshape(-1, 4)
    # A hair to the east, so that a middle of a cell on the line has one side of it.
    lines = lines + np.array([1.0, 0.0, 1.0, 0.0]) * HAIR * cell_size_m
    sills = np.broadcast_to(np.asarray(sill_m, dtype=np.float64), len(lines))
    if not (np.isfinite(lines).all() and (sills >= 0).all()):
        raise ValueError("barriers must have four known ends and sills of 0 or more")
    found = no_barriers(shape)
    east = (found.east_sill_m, found.east_covered)
    north = (found.north_sill_m.T, found.north_covered.T)
    for n in np.argsort(-sills, kind="stable"):
        x0, y0, x1, y1 = (float(place) for place in lines[n] / cell_size_m)
        _cover(*east, (x0, y0, x1, y1), float(sills[n]))
        _cover(*north, (y0, x0, y1, x1), float(sills[n]))
    return found


def _cover(
    sill_m: Grid, covered: Grid, piece: tuple[float, float, float, float], height: float
) -> None:
    """Stand a piece, in cells, on the faces that it crosses eastwards."""
    # From its northern end to its southern one, so that rows are met in their order.
    x0, y0, x1, y1 = piece if piece[1] <= piece[3] else (*piece[2:], *piece[:2])
    if y0 == y1:
        return
    rows, faces = covered.shape
    slant = (x1 - x0) / (y1 - y0)
    for row in range(max(0, int(y0)), min(rows, int(np.ceil(y1)))):
        top, bottom = max(y0, row), min(y1, row + 1)
        # Of a row the one face that is crossed between the middles of cells: shared
        # out among two, a slanting hedge would leave a way through between them.
        nearest = min(max(row + 0.5, top), bottom)
        k = int(np.floor(x0 + slant * (nearest - y0) + 0.5))
        if 0 <= k < faces:
            more = min(bottom - top, 1.0 - covered[row, k])
            if more > 0:
                total = sill_m[row, k] * covered[row, k] + height * more
                covered[row, k] += more
                sill_m[row, k] = total / covered[row, k]


def lowness_rank(
    elevation_m: Grid,
    cell_size_m: float,
    radius_m: float,
    part: tuple[slice, slice] = EVERYWHERE,
) -> Grid:
    """Share of the ground in a square window that lies lower than the cell.

    Parameters
    ----------
    elevation_m
        (rows, cols); missing cells are left out of every window and stay missing.
    cell_size_m
        Side of a cell.
    radius_m
        Half the side of the window: half the way from ridge to ridge. On a farm tens
        to hundreds of metres; try several. Cut off at the border of the grid.
    part
        Rows and columns of the cells to rank, beside all of the ground.

    Returns
    -------
    rank
        As `part`: 0 (a pit) to 1 (a peak); about 0.5 on a plane; NaN where nothing else is near.
        Where the radius is over 16 cells the window is filled with means of square
        blocks of cells, which changes a rank by about a block's share of the window.

    Raises
    ------
    ValueError
        When the cell size is not positive or the radius is under one cell.

    Notes
    -----
    Step 3 of Lundquist, Pepin & Rochford 2008, J. Geophys. Res. 113:D22107.

    Examples
    --------
    >>> ground = np.full((5, 5), 100.0)
    >>> ground[2, 2] = 90.0
    >>> lowness_rank(ground, 10.0, 20.0)[2, 2].item()
    0.0
    """
    ground = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    if not radius_m >= cell_size_m:
        raise ValueError(f"radius_m must be one cell or more, got {radius_m}")
    side = max(1, int(np.ceil(radius_m / cell_size_m / 16)))
    blocks = block_means(ground, side)
    reach = round(radius_m / cell_size_m / side)
    ranked = tuple(
        slice(*each.indices(length))
        for each, length in zip(part, ground.shape, strict=True)
    )
    first = (ranked[0].start, ranked[1].start)
    rank = np.full(ground[ranked].shape, np.nan)
    _rank_among(ground, blocks, (side, reach), first, rank)
    return rank


@numba.njit(cache=True, nogil=True)
def _rank_among(
    ground: Grid,
    blocks: Grid,
    sizes: tuple[int, int],
    first: tuple[int, int],
    rank: Grid,
) -> None:
    """Fill in the ranks of the cells from `first` on."""
    side, reach = sizes
    for down in range(rank.shape[0]):
        row = first[0] + down
        top, bottom = max(0, row // side - reach), row // side + reach + 1
        for right in range(rank.shape[1]):
            col = first[1] + right
            left, right_end = max(0, col // side - reach), col // side + reach + 1
            lower = present = 0
            for line in blocks[top:bottom]:
                for height in line[left:right_end]:
                    lower += height < ground[row, col]
                    present += height == height  # noqa: PLR0124 (false for NaN)
            # The cell's own block is not its neighbour.
            if present > 1 and not np.isnan(ground[row, col]):
                own = blocks[row // side, col // side] < ground[row, col]
                rank[down, right] = (lower - own) / (present - 1)


def curvature_over(elevation_m: Grid, cell_size_m: float, radius_m: float) -> Grid:
    """Hollow (negative) or crest (positive) shape of the ground over a radius.

    Parameters
    ----------
    elevation_m
        (rows, cols).
    cell_size_m
        Side of a cell.
    radius_m
        Way to the eight points compared with, to the nearest cell.

    Returns
    -------
    curvature
        [m/m], NaN where the cell or one of the eight points is missing or off the grid.

    Raises
    ------
    ValueError
        When the cell size is not positive or the radius is under one cell.

    Notes
    -----
    Step 4 of Lundquist, Pepin & Rochford 2008. The floor of a V-shaped valley with
    sides of slope S reads -0.30178 tan S, a bowl z = c r² reads -0.60355 c r.
    """
    ground = check_grid(elevation_m, "elevation_m")
    check_cell_size(cell_size_m)
    if not radius_m >= cell_size_m:
        raise ValueError(f"radius_m must be one cell or more, got {radius_m}")
    reach = round(radius_m / cell_size_m)
    way_m = reach * cell_size_m
    rows, cols = ground.shape
    around = np.pad(ground, reach, constant_values=np.nan)

    def shifted(down: int, right: int) -> Grid:
        top, left = reach * (1 + down), reach * (1 + right)
        return around[top : top + rows, left : left + cols]

    cross = shifted(-1, 0) + shifted(1, 0) + shifted(0, -1) + shifted(0, 1)
    corners = shifted(-1, -1) + shifted(-1, 1) + shifted(1, -1) + shifted(1, 1)
    straight = (2 * ground - cross / 2) / (2 * way_m)
    diagonal = (2 * ground - corners / 2) / (2 * np.sqrt(2) * way_m)
    return np.asarray((straight + diagonal) / 4)


def cold_pool_class(slope_deg: Grid, rank: Grid, curvature: Grid) -> Grid:
    """Say whether a cell's shape makes it collect cold air, shed it, or tells nothing.

    Parameters
    ----------
    slope_deg
        (rows, cols) angle above level.
    rank, curvature
        From `lowness_rank` and `curvature_over`, same shape, one radius.

    Returns
    -------
    class
        1 collects cold air, 0 no signal, -1 does not; NaN where any input is missing.

    Raises
    ------
    ValueError
        When shapes differ.

    Notes
    -----
    Step 5 of Lundquist, Pepin & Rochford 2008 with the constants of two independent
    re-implementations. On flat ground the rank is noise: read the class only where
    `tells_something` says so.

    Examples
    --------
    >>> slope = np.array([[15.0, 15.0, 31.0]])
    >>> rank = np.array([[0.24, 0.26, 0.0]])
    >>> cold_pool_class(slope, rank, np.full((1, 3), -0.01)).tolist()
    [[1.0, 0.0, -1.0]]
    """
    check_same_shape(slope_deg=slope_deg, rank=rank, curvature=curvature)
    kind = np.where(rank < 0.5 - slope_deg / 60, COLD, NO_SIGNAL)
    kind[(slope_deg > 30) | (curvature > 0)] = NOT_COLD
    kind[np.isnan(slope_deg) | np.isnan(rank) | np.isnan(curvature)] = np.nan
    return kind


def tells_something(
    elevation_m: Grid,
    hollow_depth_m: Grid,
    cell_size_m: float,
    radius_m: float,
    elevation_error_m: float,
) -> Mask:
    """Tell where relief or a hollow is large enough for cold air to take sides.

    Parameters
    ----------
    elevation_m
        (rows, cols).
    hollow_depth_m
        Depth under the spill, same shape; one no deeper than the elevation's error
        counts as none.
    cell_size_m
        Side of a cell.
    radius_m
        Half the side of the square in which highest and lowest ground are compared.
    elevation_error_m
        Standard error of the elevation.

    Returns
    -------
    tells
        False where, within the square around a cell, the relief is under 3 m or three
        errors and there is no hollow, and where the elevation is missing.

    Raises
    ------
    ValueError
        When shapes differ, the cell size is not positive or the error negative.
    """
    ground = check_grid(elevation_m, "elevation_m")
    check_same_shape(elevation_m=ground, hollow_depth_m=hollow_depth_m)
    check_cell_size(cell_size_m)
    if not elevation_error_m >= 0:
        raise ValueError(
            f"elevation_error_m must be 0 or more, got {elevation_error_m}"
        )
    missing = np.isnan(ground)
    window = 2 * max(1, round(radius_m / cell_size_m)) + 1
    # A missing cell is never the highest, nor the lowest.
    highest = ndimage.maximum_filter(np.where(missing, -np.inf, ground), window)
    lowest = ndimage.minimum_filter(np.where(missing, np.inf, ground), window)
    enough_m = max(RELIEF_FROM_M, RELIEF_FROM_ERRORS * elevation_error_m)
    has_relief = (highest - lowest >= enough_m) & ~missing
    is_hollow = np.asarray(hollow_depth_m) > elevation_error_m
    near_hollow = ndimage.maximum_filter(is_hollow, window) & ~missing
    return np.asarray(has_relief | near_hollow, dtype=np.bool_)
