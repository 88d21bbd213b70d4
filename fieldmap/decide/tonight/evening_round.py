"""What is the same on every evening: the beds in walking order, and what is owned."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import geopandas as gpd
import numpy as np

from fieldmap.analyse import relief
from fieldmap.decide.calendar.bed_temperatures import station_air
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tonight.answer import Bare, usable
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.model.crops import Crop
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.site import Site, cells_in


class EveningRound(NamedTuple):
    """Beds and crops as they are looked after on any evening.

    Attributes
    ----------
    beds
        In walking order.
    heights_c
        What each bed's height is worth against the station.
    reference_c
        The same of the reference of offsets.
    spare_c
        Kept in hand where nobody knows how the plots run against the station.
    bias_c
        How they do, the difference of heights within, where thermometers taught it.
    mixed_share
        Of an offset that is left on a cloudy and calm night.
    of_station
        What is not known of how it stands to the plots.
    crops
        With the covers that may be used for each.
    owned_m
        Length of each kind of cover that is owned.
    """

    beds: tuple[RankedBed, ...]
    heights_c: tuple[float, ...]
    reference_c: float
    spare_c: float
    bias_c: Estimate | None
    mixed_share: Estimate
    of_station: tuple[Fact, ...]
    crops: tuple[tuple[Crop, tuple[str, ...]], ...]
    owned_m: dict[str, float]

    def bare(self, forecast: Forecast) -> list[Bare]:
        """The forecast taken to each bed: height and offset enter once, in tenths.

        Rounded as files show offsets, so that alike beds share an answer.
        """
        found = []
        for ranked, height_c in zip(self.beds, self.heights_c, strict=True):
            worst_c = likely_c = forecast.low_c + height_c
            if forecast.is_still:
                offset_c = ranked.offset_c
                if self.bias_c is not None:  # the difference of heights lies within it
                    worst_c = forecast.low_c + self.bias_c.low + offset_c.low
                    likely_c = forecast.low_c + self.bias_c.central + offset_c.central
                else:
                    reference_c = forecast.low_c + self.reference_c
                    worst_c = reference_c + offset_c.low - self.spare_c
                    likely_c = reference_c + offset_c.central
            elif forecast.wind == "calm":
                left_c = relief.on_mixed_night(ranked.offset_c, self.mixed_share)
                worst_c, likely_c = worst_c + left_c.low, likely_c + left_c.central
            found.append(Bare(round(worst_c, 1), round(likely_c, 1)))
        return found


def evening_round(site: Site, beds: Sequence[RankedBed]) -> EveningRound:
    """The round over the beds of a site."""
    ground, settings = site.elevation, site.settings
    plots = site.plots.geometry
    middle_m = float(np.nanmedian(ground.values[cells_in(plots, ground)]))
    air = station_air(site, middle_m)
    around = site.surroundings
    gates = around.geometry[around["kind"] == "gate"]
    order = walking_order(beds, site.plots["name"], gates)
    middles = [ranked.bed.outline.centroid for ranked in order]
    heights_m = ground.sample([at.x for at in middles], [at.y for at in middles])
    above_c = air.by_height_c(np.asarray(heights_m, float))
    owned_m: dict[str, float] = {}
    for cover in settings.covers:
        owned_m[cover.kind] = owned_m.get(cover.kind, 0.0) + cover.length_m
    chosen = [each.covers for each in settings.crops] or [None] * len(site.crops)
    return EveningRound(
        beds=tuple(order),
        heights_c=tuple(float(each) for each in above_c),
        reference_c=0.0 if air.is_reference else air.middle_c,
        spare_c=air.allowed_c,
        bias_c=air.bias_c,
        mixed_share=relief.around_plots(site).mixed_share,
        of_station=(Fact("tonight_height_unknown"),)
        if air.station_m is None
        else (Fact("tonight_elsewhere", degrees_c=air.allowed_c),)
        if air.is_bias_unknown
        else (),
        crops=tuple(
            (crop, usable(owned_m, kinds))
            for crop, kinds in zip(site.crops, chosen, strict=True)
        ),
        owned_m=owned_m,
    )


def walking_order(
    beds: Sequence[RankedBed], plots: Iterable[str], gates: gpd.GeoSeries
) -> list[RankedBed]:
    """Beds plot after plot, each plot from the end that lies nearer to a gate.

    Without a gate a plot is walked from its first bed.
    """
    order = []
    for plot in plots:
        here = [ranked for ranked in beds if ranked.bed.plot == plot]
        if here and len(gates):
            first, last = (
                gates.distance(here[end].bed.outline).min() for end in (0, -1)
            )
            here = here[::-1] if last < first else here
        order += here
    return order
