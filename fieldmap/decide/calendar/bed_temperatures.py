"""The station's record becomes the bed's own, night by night, as shifts of its minima.

Still nights take the bed's offset, as it strays from night to night, mixed nights the
height and a share of the offset, windy nights the height; each what the cover is worth on
its kind of night.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.analyse.bed_means import BedMeans
from fieldmap.decide.calendar.monte_carlo import Draws, normal_between, triangular
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.site import LAPSE_C_PER_M, Site
from layers import coldness, nights, scatter
from layers.cover import COVERS, Range
from layers.scatter import Scatter

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.intp]

# The plots' middle against a station off the elevation, either way (a choice).
SITE_BIAS_C = 1.0
CLEAR_STEP_C, OTHER_STEP_C = 0.1, 0.05  # of shifts; finer ones move no date


@dataclass(frozen=True)
class StationAir:
    """How the air of the plots compares with that of the weather station.

    Attributes
    ----------
    station_m
        Height of the station; None where it is not known: the record is then taken as
        kept at that of the plots' middle.
    middle_m
        Height of the plots' middle.
    place_m
        East and north of the station where it stands on the known ground, so that offsets
        are against its place; None where it does not.
    offset_factor, bias_c
        What thermometers on the spot gave, as in `model.observed`; None if they did not.
    """

    station_m: float | None
    middle_m: float
    place_m: tuple[float, float] | None
    offset_factor: Estimate | None
    bias_c: Estimate | None

    @property
    def is_reference(self) -> bool:
        """Whether offsets are against the station's own place."""
        return self.place_m is not None

    @property
    def is_bias_unknown(self) -> bool:
        """Whether the plots may run warmer or colder than the station and nobody knows."""
        return not self.is_reference and self.bias_c is None

    @property
    def allowed_c(self) -> float:
        """What is kept in hand, either way, for a bias that nobody knows."""
        return SITE_BIAS_C if self.is_bias_unknown else 0.0

    def by_height_c(self, height_m: Floats) -> Floats:
        """What heights are worth against the station."""
        station_m = self.middle_m if self.station_m is None else self.station_m
        return np.asarray(LAPSE_C_PER_M * (height_m - station_m))

    @property
    def middle_c(self) -> float:
        """What the height of the plots' middle is worth."""
        return float(self.by_height_c(np.array(self.middle_m)))

    def remarks(self) -> list[Fact]:
        """What is not known about the station, and what dates allow for it."""
        facts = []
        if self.station_m is None:
            facts.append(Fact("dates_station_height_unknown"))
        if self.is_bias_unknown:
            facts.append(Fact("dates_bias_unknown", degrees_c=SITE_BIAS_C))
        return facts


def station_air(site: Site, middle_m: float) -> StationAir:
    """How a site's plots, with the height of their middle, compare with its station."""
    station, bias, cell = site.settings.station, site.bias_c, site.station_cell
    place_m = None
    if cell is not None:
        east_m, north_m = site.elevation.middle_of(*np.array(cell)[:, np.newaxis])
        place_m = float(east_m[0]), float(north_m[0])
    return StationAir(
        None if station is None else station.elevation_m,
        middle_m,
        place_m,
        site.offset_factor,
        None if bias is None else Estimate(bias.low, bias.central, bias.high),
    )


class Reach(NamedTuple):
    """Least and most of the steps of `Shifts`, and how single still nights stray.

    Attributes
    ----------
    offset, base
        In steps of `CLEAR_STEP_C`.
    other
        On mixed and windy nights, in steps of `OTHER_STEP_C`.
    law
        Of the offset of a night, for each step of `offset`.
    """

    offset: tuple[int, int]
    base: tuple[int, int]
    other: tuple[int, int]
    law: scatter.NightLaw


@dataclass(frozen=True)
class Shifts:
    """What is added to the station's minima, in whole steps.

    Attributes
    ----------
    offset
        (draws, beds) of the beds against the reference on a mean still night, in steps
        of `CLEAR_STEP_C`.
    base
        (draws, covers) of the reference and covers on still nights, likewise.
    mixed_gain, windy_gain
        (draws, covers) of covers on mixed and on windy nights, in steps of
        `OTHER_STEP_C`.
    mixed_share
        (draws,) of the offset that is left on mixed nights.
    height
        (beds,) of the beds' heights, on means of the air and on nights that are not
        still, in steps of `OTHER_STEP_C`.
    unknown
        (beds,) where the ground is not known.
    scatter
        How far single still nights stray.
    """

    offset: Whole
    base: Whole
    mixed_gain: Whole
    windy_gain: Whole
    mixed_share: Floats
    height: Whole
    unknown: npt.NDArray[np.bool_]
    scatter: Scatter

    @cached_property
    def reach(self) -> Reach:
        """Least and most of all that comes up, and the law of still nights for it."""
        offset = _span(self.offset)
        # What is left of an offset rises with it, so its two ends hold all that lies between.
        ends = [self.left(draw, np.array(offset)) for draw in range(len(self.offset))]
        mixed = np.stack(ends)[:, :, np.newaxis] + self.mixed_gain[:, np.newaxis]
        other = _span(np.append(mixed, self.windy_gain))
        least, most = _span(self.height)
        return Reach(
            offset=offset,
            base=_span(self.base),
            other=(other[0] + least, other[1] + most),
            law=scatter.night_law(grid_c(*offset, CLEAR_STEP_C), self.scatter),
        )

    @cached_property
    def places(self) -> list[tuple[Whole, Whole]]:
        """What comes up in each draw as places in tables, and which is each bed's.

        (used, 4) of offset, base, and shift on mixed and on windy nights, counted from
        the least of `reach`; (covers, beds). Beds of one offset and height are one.
        """
        reach = self.reach
        (offset, _), (base, _), (other, _) = reach.offset, reach.base, reach.other
        least, most = _span(self.height)
        offsets, heights = 1 + np.ptp(reach.offset), 1 + most - least
        covers = np.arange(self.base.shape[1])[:, np.newaxis]
        # One number for each cover, offset and height: thousands of beds share a few dozen.
        at_height = covers * offsets * heights + self.height - least
        found = []
        for draw, mine in enumerate(self.offset):
            used, back = _used(at_height + heights * (mine - offset))
            clear, height = np.divmod(used, heights)
            cover, at = np.divmod(clear, offsets)
            # From here on a place in the table of mixed and windy nights.
            height += least - other
            windy = height + self.windy_gain[draw, cover]
            left = self.left(draw, at + offset)
            mixed = height + left + self.mixed_gain[draw, cover]
            places = [at, self.base[draw, cover] - base, mixed, windy]
            found.append((np.stack(places, axis=-1), back))
        return found

    @cached_property
    def used(self) -> npt.NDArray[np.bool_]:
        """Which offset comes up with which base, (offsets, bases) from the least on."""
        reach = self.reach
        used = np.zeros([1 + np.ptp(span) for span in (reach.offset, reach.base)], bool)
        for places, _ in self.places:
            used[places[:, 0], places[:, 1]] = True
        return used

    def left(self, draw: int, offset: Whole) -> Whole:
        """What is left of offsets on a mixed night, in steps of `OTHER_STEP_C`."""
        left_c = self.mixed_share[draw] * offset * CLEAR_STEP_C
        return in_steps(left_c, OTHER_STEP_C)

    def mean_c(self, kind_shares: Floats, draw: int) -> Floats:
        """Mean over all nights, (covers, beds), by the share of each kind of night.

        How single nights stray about it takes nothing off a mean.
        """
        offset = self.offset[draw]
        mixed = self.height + self.left(draw, offset) + _column(self.mixed_gain[draw])
        windy = self.height + _column(self.windy_gain[draw])
        of_kinds = {
            nights.STILL: CLEAR_STEP_C * (_column(self.base[draw]) + offset),
            nights.MIXED: OTHER_STEP_C * mixed,
            nights.WINDY: OTHER_STEP_C * windy,
        }
        return np.asarray(sum(kind_shares[kind] * c for kind, c in of_kinds.items()))


def of_beds(
    station: StationAir,
    means: BedMeans,
    covers: Sequence[str],
    mixed_share: Estimate,
    draws: Draws,
) -> Shifts:
    """Shifts that turn the station's night minima into those of beds, night by night.

    Parameters
    ----------
    station
        How the air of the plots compares with that of the weather station.
    means
        What the beds get of the computed ground: offsets, heights and places.
    covers
        Kinds of cover, in the names of `layers.cover`, in the order of the axis.
    mixed_share
        Share of an offset that is left on mixed nights, 0-1.
    draws
        Draws of what is not known about the place.
    """
    offset_c = offsets_c(station, means, draws)
    return of_places(station, offset_c, means.height_m, covers, mixed_share, draws)


def of_places(
    station: StationAir,
    offset_c: Floats,
    height_m: Floats,
    covers: Sequence[str],
    mixed_share: Estimate,
    draws: Draws,
) -> Shifts:
    """Shifts of the station's night minima at any places, by their offset in each draw.

    Parameters
    ----------
    station
        How the air of the plots compares with that of the weather station.
    offset_c
        (draws, places) offset on a mean still night [°C]; NaN where the ground is not
        known.
    height_m
        (places,) height of the ground; NaN where it is not known.
    covers
        Kinds of cover, in the names of `layers.cover`, in the order of the axis.
    mixed_share
        Share of an offset that is left on mixed nights, 0-1.
    draws
        Draws of what is not known about the place.
    """
    height_c = station.by_height_c(height_m)
    unknown = np.isnan(offset_c).any(axis=0) | np.isnan(height_c)
    of_covers = [COVERS[cover] for cover in covers]
    still_c = _gains_c([cover.gain_c for cover in of_covers], draws)
    mixed_c = _gains_c([cover.mixed_gain_c for cover in of_covers], draws)
    windy_c = _gains_c([cover.windy_gain_c for cover in of_covers], draws)
    at_reference_c = _reference_c(station, draws)
    # Tables need a whole number: what stands there is taken out again by `unknown`.
    height_c = np.where(unknown, 0.0, height_c)
    return Shifts(
        offset=in_steps(np.where(unknown, 0.0, offset_c), CLEAR_STEP_C),
        base=in_steps(at_reference_c[:, np.newaxis] + still_c, CLEAR_STEP_C),
        mixed_gain=in_steps(mixed_c, OTHER_STEP_C),
        windy_gain=in_steps(windy_c, OTHER_STEP_C),
        mixed_share=triangular(draws.mixed, *mixed_share),
        height=in_steps(height_c, OTHER_STEP_C),
        unknown=unknown,
        scatter=draws.scatter,
    )


def _gains_c(gains: Sequence[Range], draws: Draws) -> Floats:
    """What covers are worth in each draw, (draws, covers); all by the same chance."""
    # Each with a chance of its own, one cover would beat another by luck.
    return np.stack([triangular(draws.gain, *gain) for gain in gains], axis=1)


def offsets_c(station: StationAir, means: BedMeans, draws: Draws) -> Floats:
    """Offset of each bed on a mean still night in each draw, (draws, beds) [°C].

    What terrain explains, and what it does not explain of the bed's place. A station that
    is the reference strays as a place does, so a bed beside it hardly differs from it.

    Parameters
    ----------
    station
        How the air of the plots compares with that of the weather station.
    means
        What the beds get of the computed ground: answers of the cold air, and places.
    draws
        Draws of what is not known about the place.
    """
    terrain_c = _by_terrain_c(station.offset_factor, means.answers_c, draws)
    if station.place_m is None:
        return terrain_c + draws.place_c(means.place_m)
    astray_c = draws.place_c(np.vstack([means.place_m, station.place_m]))
    return np.asarray(terrain_c + astray_c[:, :-1] - astray_c[:, -1:])


def _by_terrain_c(learnt: Estimate | None, answers_c: Floats, draws: Draws) -> Floats:
    """Offset of each bed by terrain in each draw [°C]: linear between weights."""
    # Rates are known to a factor, so it is their logarithm that is drawn.
    rates = learnt or coldness.ROOT_DEPTH_C
    law = triangular if learnt is None else normal_between
    low, central, high = np.log(rates)
    rate = np.exp(law(draws.rate, low, central, high))
    runs = len(answers_c) // len(rates)
    run = np.floor(draws.run * runs).astype(np.intp)
    by_run = answers_c.reshape(runs, len(rates), -1)
    below = np.where(rate < rates[1], 0, 1)
    start, stop = np.array(rates)[below], np.array(rates)[below + 1]
    # Rates that thermometers gave may be equal: nothing lies between them.
    part = np.divide(
        rate - start, stop - start, out=np.zeros_like(rate), where=stop > start
    )[:, np.newaxis]
    between = (1 - part) * by_run[run, below] + part * by_run[run, below + 1]
    # Thermometers measured this very ground: its size is no longer drawn, nor bounded.
    if learnt is not None:
        return np.asarray(between)
    sized = coldness.ground_factor(draws.size)[:, np.newaxis] * between
    return np.asarray(np.clip(sized, coldness.COLDEST_C, coldness.WARMEST_C))


def _reference_c(station: StationAir, draws: Draws) -> Floats:
    """The reference of all offsets against the station on clear calm nights, (draws,)."""
    if station.bias_c is not None:  # the difference of heights within
        return normal_between(draws.bias, *station.bias_c)
    if station.is_reference:
        return np.zeros(draws.bias.shape)
    return station.middle_c + SITE_BIAS_C * (2 * draws.bias - 1)


def in_steps(shift_c: npt.NDArray[np.floating], step_c: float) -> Whole:
    """A shift as a whole number of steps."""
    steps: Whole = np.rint(shift_c / step_c).astype(np.intp)
    return steps


def _column(values: Whole) -> Whole:
    return values[:, np.newaxis]


def _span(steps: Whole) -> tuple[int, int]:
    return int(steps.min()), int(steps.max())


def _used(code: Whole) -> tuple[Whole, Whole]:
    """The distinct codes, and where each stands among them; quicker than sorting."""
    seen = np.zeros(int(code.max()) + 1, np.bool_)
    seen[code] = True
    place: Whole = np.cumsum(seen) - 1
    return np.flatnonzero(seen), place[code]


def grid_c(first: int, last: int, step_c: float) -> Floats:
    """Shifts from the first to the last step [°C], rounded, as records keep tenths.

    Parameters
    ----------
    first, last
        Numbers of the first and the last step, both within.
    step_c
        Size of a step [°C].

    Returns
    -------
    shifts
        (steps,).
    """
    return np.round(np.arange(first, last + 1) * step_c, 2)
