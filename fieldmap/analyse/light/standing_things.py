"""What stands around the plots: its outlines, its leaves, and what light they pass."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import numpy.typing as npt
import shapely
from rasterio import features

from fieldmap.model.raster import Raster
from fieldmap.model.surroundings import STANDING
from layers import obstacles

Floats = npt.NDArray[np.float64]

# Corners that stand out less are left out: a round crown has 64 of them (a choice).
AS_DRAWN_M = 0.03
# Share of the light that a crown lets through (common practice, no source): bare
# branches are no July shade, and no open ground either.
IN_LEAF = 0.15
HALF_IN_LEAF = 0.4
BARE = 0.65
EVERGREEN = 0.1
# January first, northern hemisphere; shifted by six months in the southern.
DECIDUOUS = (*(BARE,) * 3, HALF_IN_LEAF, *(IN_LEAF,) * 5, HALF_IN_LEAF, *(BARE,) * 2)
# Share of the light falling on it that a thing sends back: deciduous wood bare 0.15 and
# in leaf 0.20, conifers 0.05 to 0.15; brick 0.20 to 0.40, stone 0.20 to 0.35 (Oke 1987,
# Boundary Layer Climates, tables of albedo; from memory).
REFLECTS_IN_LEAF, REFLECTS_BARE = 0.20, 0.15
REFLECTS_EVERGREEN, REFLECTS_WALL = 0.10, 0.30


# What deciduous crowns keep back of the light, of what they do in full leaf.
LEAVES_WHEN_BARE = (1.0 - BARE) / (1.0 - IN_LEAF)
LEAVES_OVER_THE_YEAR = (12.0 - sum(DECIDUOUS)) / (12.0 * (1.0 - IN_LEAF))


@dataclass(frozen=True)
class StandingThings:
    """Things that stand, as light meets them.

    Attributes
    ----------
    prisms
        Their outlines and heights.
    transmission, reflectance
        (things, 12): share of the light that passes, and share of the rest's that is
        sent back, January first.
    """

    prisms: obstacles.Prisms
    transmission: Floats
    reflectance: Floats


def standing_things(
    surroundings: gpd.GeoDataFrame, *, southern: bool
) -> StandingThings:
    """Buildings, walls, fences, hedges and trees of the surroundings.

    Solid things let nothing through, leaves what their month lets through, and open
    fences their porosity.
    """
    standing = surroundings[surroundings["kind"].isin(STANDING)]
    bottoms = standing["clear_stem_m"].fillna(0.0).to_numpy(float)
    tops = standing["height_m"].to_numpy(float)
    leaves = list(standing["leaf"])
    passing = [
        _transmission(leaf, porosity, southern=southern)
        for leaf, porosity in zip(leaves, standing["porosity"], strict=True)
    ]
    sent = [_reflectance(leaf, southern=southern) for leaf in leaves]
    return StandingThings(
        obstacles.Prisms.of(
            [_rings(shape) for shape in standing.geometry.simplify(AS_DRAWN_M)],
            np.minimum(bottoms, 0.99 * tops),
            tops,
        ),
        np.array(passing, float).reshape(-1, 12),
        np.array(sent, float).reshape(-1, 12),
    )


def wind_barriers(
    ground: Raster, surroundings: gpd.GeoDataFrame, leaves: float
) -> tuple[Floats, Floats]:
    """Height above ground and density (1 - porosity) of what breaks the wind.

    0 where nothing stands. Crowns on clear stems count whole: wind that slips under
    them is left out.

    Parameters
    ----------
    ground
        Grid on which they are drawn; its values are not read.
    surroundings
        As `Site.surroundings`.
    leaves
        Share of what light deciduous crowns in full leaf keep back that they keep
        then: they keep so much less of the wind (common practice, no source).
    """
    standing = surroundings[surroundings["kind"].isin(STANDING)]
    density = 1.0 - standing["porosity"].fillna(0.0)
    density = density.where(standing["leaf"] != "deciduous", density * leaves)
    return (
        _burn(ground, standing, standing["height_m"]),
        _burn(ground, standing, density),
    )


def _rings(shape: shapely.Geometry) -> list[Floats]:
    """Closed rings of an area, holes too."""
    return [
        shapely.get_coordinates(ring)
        for part in shapely.get_parts(shape)
        for ring in (part.exterior, *part.interiors)
    ]


def _transmission(leaf: str, porosity: float, *, southern: bool) -> tuple[float, ...]:
    if leaf == "evergreen":
        return (EVERGREEN,) * 12
    if leaf == "deciduous":
        return _by_season(DECIDUOUS, southern=southern)
    return (0.0 if np.isnan(porosity) else float(porosity),) * 12


def _reflectance(leaf: str, *, southern: bool) -> tuple[float, ...]:
    if leaf == "evergreen":
        return (REFLECTS_EVERGREEN,) * 12
    if leaf == "deciduous":
        months = [REFLECTS_BARE if t == BARE else REFLECTS_IN_LEAF for t in DECIDUOUS]
        return _by_season(tuple(months), southern=southern)
    return (REFLECTS_WALL,) * 12


def _by_season(months: tuple[float, ...], *, southern: bool) -> tuple[float, ...]:
    return months[6:] + months[:6] if southern else months


def _burn(ground: Raster, things: gpd.GeoDataFrame, heights: npt.ArrayLike) -> Floats:
    """Height on every cell that a thing touches, the larger where two overlap."""
    shapes = sorted(
        zip(things.geometry, np.asarray(heights, float), strict=True),
        key=lambda shape: shape[1],
    )
    if not shapes:
        return np.zeros(ground.shape)
    return np.asarray(
        features.rasterize(
            shapes,
            out_shape=ground.shape,
            transform=ground.transform,
            fill=0.0,
            all_touched=True,
            dtype="float64",
        )
    )
