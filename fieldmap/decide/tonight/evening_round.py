"""What is the same on every evening: the beds in walking order, and what is owned."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple, Protocol

import geopandas as gpd
import numpy as np
import shapely

from fieldmap.analyse import relief
from fieldmap.decide.calendar.bed_temperatures import station_air
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.sheets import paths_between
from fieldmap.decide.tonight.answer import Bare, usable
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.decide.tunnels import TunnelPlace, floor_beds
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.settings import Cover, Materials
from fieldmap.model.site import Site, cells_in
from layers.cover import COVERS


class AirOnBed(Protocol):
    """A bed and its offset, outdoors or on the floor of a walk-in tunnel."""

    @property
    def bed(self) -> Bed:
        """Where it lies."""
        ...

    @property
    def offset_c(self) -> Estimate:
        """Of the ground that it lies on."""
        ...


class FloorBed(NamedTuple):
    """A bed inside a walk-in tunnel."""

    bed: Bed
    offset_c: Estimate
    tunnel: str


class Stop(NamedTuple):
    """A bed as it is met on the walk.

    Attributes
    ----------
    place
        In the list of all beds; those inside tunnels come after them.
    height_c
        What its height is worth against the station.
    gate_m
        To the nearest gate, straight; NaN without a gate.
    tunnel
        In which it lies; "" outdoors.
    """

    ranked: AirOnBed
    place: int
    height_c: float
    gate_m: float
    tunnel: str = ""


@dataclass(frozen=True)
class EveningRound:
    """Beds as they are looked after on any evening, and what one has for it.

    Attributes
    ----------
    stops
        In walking order.
    reference_c
        What the height of the reference of offsets is worth against the station.
    spare_c
        Kept in hand where nobody knows how the plots run against the station.
    bias_c
        How they do, the difference of heights within, where thermometers taught it.
    mixed_share
        Of an offset that is left on a cloudy and calm night.
    of_station
        What is not known of how it stands to the plots.
    covers_of
        Crop -> covers that may be used for it.
    owned
        Covers as they are owned.
    hoops
        What covers go over.
    plan_order
        Names of all beds in the order of the plan, an empty one where a plot or a tunnel
        begins, so that no run of names goes on into it.
    paths_m
        From each of them to the next; None where that is no neighbour.
    has_tunnels
        Whether a walk-in tunnel stands there, or is to.
    """

    stops: tuple[Stop, ...]
    reference_c: float
    spare_c: float
    bias_c: Estimate | None
    mixed_share: Estimate
    of_station: tuple[Fact, ...]
    covers_of: Mapping[str, tuple[str, ...]]
    owned: tuple[Cover, ...]
    hoops: Materials
    plan_order: tuple[str, ...] = ()
    paths_m: tuple[float | None, ...] = ()
    has_tunnels: bool = False

    @cached_property
    def middles(self) -> Mapping[int, tuple[float, float]]:
        """Easting and northing of each bed by its place; asked for every evening."""
        outlines = [stop.ranked.bed.outline for stop in self.stops]
        places = shapely.get_coordinates(shapely.centroid(outlines)).tolist()
        return {
            stop.place: (east, north)
            for stop, (east, north) in zip(self.stops, places, strict=True)
        }

    @cached_property
    def _airs(self) -> dict[Forecast, dict[int, Bare]]:
        """What `airs` found; one forecast is asked for on many evenings."""
        return {}

    def airs(self, forecast: Forecast) -> Mapping[int, Bare]:
        """The forecast taken to each bed by its place: height and offset enter once, in tenths.

        Inside a walk-in tunnel with closed doors, with what its film is worth. Rounded as
        files show offsets, so that alike beds share an answer.
        """
        found = self._airs.get(forecast)
        if found is None:
            found = {stop.place: self._bare(stop, forecast) for stop in self.stops}
            self._airs[forecast] = found
        return found

    def _bare(self, stop: Stop, forecast: Forecast) -> Bare:
        # Height counts on every night, offsets as far as the air is still.
        worst_c = likely_c = forecast.low_c + stop.height_c
        offset_c = stop.ranked.offset_c
        if forecast.is_still:
            if self.bias_c is not None:  # the difference of heights lies within it
                worst_c = forecast.low_c + self.bias_c.low + offset_c.low
                likely_c = forecast.low_c + self.bias_c.central + offset_c.central
            else:
                reference_c = forecast.low_c + self.reference_c
                worst_c = reference_c + offset_c.low - self.spare_c
                likely_c = reference_c + offset_c.central
        elif forecast.wind == "calm":
            left_c = relief.on_mixed_night(offset_c, self.mixed_share)
            worst_c, likely_c = worst_c + left_c.low, likely_c + left_c.central
        if stop.tunnel:
            film = COVERS["clear_film"]
            gain_c = film.gain_c if forecast.is_still else film.windy_gain_c
            worst_c, likely_c = worst_c + gain_c.low, likely_c + gain_c.central
        return Bare(round(worst_c, 1), round(likely_c, 1))


def evening_round(
    site: Site,
    beds: Sequence[AirOnBed],
    tunnels: Sequence[TunnelPlace] = (),
) -> EveningRound:
    """The round over the beds of a site, and over those inside its tunnels.

    Parameters
    ----------
    site
        The site: plots, elevation, gates, station, crops and covers.
    beds
        Beds outdoors in the order of the plan, each with its offset.
    tunnels
        Walk-in tunnels that stand there, or are to.
    """
    ground, settings = site.elevation, site.settings
    plots = site.plots.geometry
    middle_m = float(np.nanmedian(ground.values[cells_in(plots, ground)]))
    air = station_air(site, middle_m)
    around = site.surroundings
    gates = around.geometry[around["kind"] == "gate"]
    floors = [
        FloorBed(bed, place.offset_c, place.name)
        for place in tunnels
        for bed in floor_beds(place, settings.beds)
    ]
    every: list[AirOnBed] = [*beds, *floors]
    within = [*[""] * len(beds), *(floor.tunnel for floor in floors)]
    order = walking_order(every, site.plots["name"], gates)
    middles = [every[place].bed.outline.centroid for place, _way in order]
    heights_m = ground.sample([at.x for at in middles], [at.y for at in middles])
    above_c = air.by_height_c(np.asarray(heights_m, float))
    owned = {cover.kind for cover in settings.covers}
    chosen = [each.covers for each in settings.crops] or [None] * len(site.crops)
    return EveningRound(
        stops=tuple(
            Stop(every[place], place, float(height_c), way_m, within[place])
            for (place, way_m), height_c in zip(order, above_c, strict=True)
        ),
        reference_c=0.0 if air.is_reference else air.middle_c,
        spare_c=air.allowed_c,
        bias_c=air.bias_c,
        mixed_share=relief.around_plots(site).mixed_share,
        of_station=(Fact("tonight_height_unknown"),)
        if air.station_m is None
        else (Fact("tonight_elsewhere", degrees_c=air.allowed_c),)
        if air.is_bias_unknown
        else (),
        covers_of={
            crop.name: usable(owned, kinds)
            for crop, kinds in zip(site.crops, chosen, strict=True)
        },
        owned=settings.covers,
        hoops=settings.materials,
        plan_order=tuple(_plan_order(every, within)),
        paths_m=(*paths_between([each.bed for each in beds]), *[None] * len(floors)),
        has_tunnels=bool(tunnels),
    )


def walking_order(
    beds: Sequence[AirOnBed], plots: Iterable[str], gates: gpd.GeoSeries
) -> list[tuple[int, float]]:
    """Places of the beds as one meets them from the gate, with their way to it.

    Plot after plot, the nearest first, and in a plot bed after bed likewise; what is as
    far to a tenth of a metre keeps the order of the list. Without a gate that order
    stands, and no way is known.

    Parameters
    ----------
    beds
        All beds, each on a plot of `plots`; a bed on no such plot is left out.
    plots
        Names of the plots.
    gates
        Outlines of the gates; may be empty.

    Returns
    -------
    order
        Place of each bed in `beds`, and its straight way to the nearest gate [m], NaN
        without a gate.
    """
    ways_m = [
        round(float(gates.distance(each.bed.outline).min()), 1)
        if len(gates)
        else math.nan
        for each in beds
    ]
    by_plot = [
        [place for place, each in enumerate(beds) if each.bed.plot == plot]
        for plot in plots
    ]
    if len(gates):
        for here in by_plot:
            here.sort(key=ways_m.__getitem__)
        by_plot.sort(key=lambda here: ways_m[here[0]] if here else math.inf)
    return [(place, ways_m[place]) for here in by_plot for place in here]


def _plan_order(beds: Sequence[AirOnBed], tunnels: Sequence[str]) -> Iterator[str]:
    """Names, with an empty one where a plot or a tunnel begins."""
    pairs = zip(beds, tunnels, strict=True)
    groups = itertools.groupby(pairs, lambda pair: (pair[0].bed.plot, pair[1]))
    for number, (_where, group) in enumerate(groups):
        if number:
            yield ""
        for each, _tunnel in group:
            yield each.bed.name
