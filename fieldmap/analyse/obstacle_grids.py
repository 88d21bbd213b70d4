"""What stands around the plots, as grids: solid things, crowns, and their leaves."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import numpy.typing as npt
from rasterio import features

from fieldmap.model.raster import Raster
from fieldmap.model.surroundings import SOLID, STANDING

# Share of the light that a crown lets through (common practice, no source): bare
# branches are no July shade, and no open ground either.
IN_LEAF = 0.15
HALF_IN_LEAF = 0.4
BARE = 0.65
EVERGREEN = 0.1
# January first, northern hemisphere; shifted by six months in the southern.
DECIDUOUS = (*(BARE,) * 3, HALF_IN_LEAF, *(IN_LEAF,) * 5, HALF_IN_LEAF, *(BARE,) * 2)


@dataclass(frozen=True)
class Crowns:
    """Things that let part of the light through, of one kind of leaf.

    Attributes
    ----------
    bottom_m, top_m
        Heights above sea level; NaN where there is no crown.
    transmission
        Share of light let through, twelve months, January first.
    """

    bottom_m: npt.NDArray[np.float64]
    top_m: npt.NDArray[np.float64]
    transmission: tuple[float, ...]


def solid_surface_m(ground: Raster, surroundings: gpd.GeoDataFrame) -> Raster:
    """Ground with what lets no light through on it: buildings, walls, close fences."""
    solid = surroundings[_is_solid(surroundings)]
    return ground.with_values(
        ground.values + _burn(ground, solid, solid["height_m"], nothing=0.0)
    )


def crowns(
    ground: Raster, surroundings: gpd.GeoDataFrame, *, southern: bool
) -> list[Crowns]:
    """Crowns, hedges and open fences, one entry for each kind of transmission."""
    standing = surroundings[surroundings["kind"].isin(STANDING)]
    open_things = standing[~_is_solid(standing)]
    by_transmission: dict[tuple[float, ...], list[int]] = {}
    for position, (leaf, porosity) in enumerate(
        zip(open_things["leaf"], open_things["porosity"], strict=True)
    ):
        months = _transmission(leaf, porosity, southern=southern)
        by_transmission.setdefault(months, []).append(position)
    return [
        _crowns(ground, open_things.iloc[positions], months)
        for months, positions in sorted(by_transmission.items())
    ]


def wind_barriers(
    ground: Raster, surroundings: gpd.GeoDataFrame
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Height above ground and density (1 - porosity) of what breaks the wind.

    0 where nothing stands. Crowns on clear stems count whole: wind that slips under
    them is left out.
    """
    standing = surroundings[surroundings["kind"].isin(STANDING)]
    density = 1.0 - standing["porosity"].fillna(0.0)
    return (
        _burn(ground, standing, standing["height_m"], nothing=0.0),
        _burn(ground, standing, density, nothing=0.0),
    )


def _is_solid(surroundings: gpd.GeoDataFrame) -> npt.NDArray[np.bool_]:
    """Kinds with a height, no leaf and no gaps."""
    return np.asarray(
        surroundings["kind"].isin(SOLID)
        & ~surroundings["leaf"].isin(("deciduous", "evergreen"))
        & ~(surroundings["porosity"].fillna(0.0) > 0)
    )


def _transmission(leaf: str, porosity: float, *, southern: bool) -> tuple[float, ...]:
    if leaf == "evergreen":
        return (EVERGREEN,) * 12
    if leaf == "deciduous":
        return DECIDUOUS[6:] + DECIDUOUS[:6] if southern else DECIDUOUS
    return (float(porosity),) * 12


def _crowns(
    ground: Raster, things: gpd.GeoDataFrame, transmission: tuple[float, ...]
) -> Crowns:
    top = _burn(ground, things, things["height_m"], nothing=np.nan)
    # Of overlapping crowns the lowest stem counts, as the highest top does.
    stems = things["clear_stem_m"].fillna(0.0)
    bottom = -_burn(ground, things, -stems, nothing=np.nan)
    return Crowns(ground.values + bottom, ground.values + top, transmission)


def _burn(
    ground: Raster, things: gpd.GeoDataFrame, heights: npt.ArrayLike, *, nothing: float
) -> npt.NDArray[np.float64]:
    """Height on every cell that a thing touches, the larger where two overlap."""
    shapes = sorted(
        zip(things.geometry, np.asarray(heights, float), strict=True),
        key=lambda shape: shape[1],
    )
    if not shapes:
        return np.full(ground.shape, nothing)
    return np.asarray(
        features.rasterize(
            shapes,
            out_shape=ground.shape,
            transform=ground.transform,
            fill=nothing,
            all_touched=True,
            dtype="float64",
        )
    )
