"""How a crew with two tapes pegs each field: `Staking` has the steps and every place."""

from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

import geopandas as gpd
from pyproj import CRS

from fieldmap.decide.layout.bays import walk
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials.shopping_list import BOW_SPACING_M
from fieldmap.decide.pegging import landmarks, walked
from fieldmap.decide.pegging.field_pegs import Place, Tunnel, peg_field
from fieldmap.decide.pegging.model import FieldPegs
from fieldmap.decide.pegging.stakes import Stake, stakes
from fieldmap.decide.pegging.tape import Ground
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.model.raster import Raster


class Staking(NamedTuple):
    """All pegging of a plan.

    Attributes
    ----------
    fields
        Those in which something is pegged, in the order of the plots.
    stakes
        Every peg, and every place that pegs lead to.
    waiting
        Plots of which all beds lie in grass this year, and the number of these: they are
        pegged when they are made.
    """

    fields: tuple[FieldPegs, ...] = ()
    stakes: tuple[Stake, ...] = ()
    waiting: tuple[tuple[str, int], ...] = ()


def peg_site(
    plots: gpd.GeoDataFrame,
    surroundings: gpd.GeoDataFrame,
    heights: Raster,
    convergence_deg: float,
    tape_m: float,
    things: tuple[Sequence[Bed], Sequence[TunnelPlace], Mapping[str, Sequence[float]]],
    untaped: Collection[str] = (),
) -> Staking:
    """Pegs of beds that do not lie there yet, and of tunnels.

    Parameters
    ----------
    plots, surroundings
        As `Site` has them.
    heights
        Of the ground, without what only one point has.
    convergence_deg
        Grid north from true north.
    tape_m
        No measured line is longer.
    things
        All beds, walk-in tunnels, and the places of hoops of beds that get some.
    untaped
        Plots in which nothing is pegged before someone tapes three lengths.
    """
    beds, tunnels, hoops_m = things
    off = landmarks.barriers(surroundings)
    fields = []
    for plot, outline in zip(plots["name"], plots.geometry, strict=True):
        # What lies there needs no pegs.
        mine = [bed for bed in beds if bed.plot == plot and not bed.exists]
        stand = [
            Tunnel(
                each.name,
                each.outline,
                each.size.length_m,
                each.size.width_m,
                each.bearing_deg,
                BOW_SPACING_M,
            )
            for each in tunnels
            if each.plot == plot
        ]
        if not (mine or stand):
            continue
        start = walk.entry(surroundings, outline)
        place = Place(mine[0].field if mine else "", str(plot), (start.x, start.y))
        if plot in untaped:
            pairs = walked.wanted(str(plot), outline, tape_m)
            fields.append(FieldPegs(*place, wanted=tuple(pairs)))
            continue
        fields.append(
            peg_field(
                place,
                mine,
                stand,
                Ground(heights.interpolate, outline, off, tape_m),
                landmarks.find(str(plot), outline, surroundings, tape_m),
                convergence_deg,
            )
        )
    crs: CRS = plots.crs
    return Staking(tuple(fields), tuple(stakes(fields, beds, hoops_m, crs)))
