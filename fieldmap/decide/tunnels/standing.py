"""Tunnels and beds: ground that they take from each other, light that tunnels keep off."""

from collections.abc import Sequence

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import CRS
from shapely.geometry import Polygon

from fieldmap.analyse.light import shade
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.tunnels.model import TunnelPlace
from fieldmap.decide.tunnels.room import WORKING_SPACE_M
from fieldmap.model.raster import Bounds
from fieldmap.model.settings import Beds, TunnelSize
from fieldmap.model.site import OwnBed

# Light that crosses a film, its frame and its dirt on both sides of a tunnel, about 0.8
# each time (common practice, no source).
FILM_TWICE = 0.64
# Of floor that is left along each side, and at each end (common practice, no source).
SIDE_M, END_M = 0.3, 0.5


def working_space(outline: Polygon) -> Polygon:
    """The ground a tunnel takes from beds."""
    return outline.buffer(WORKING_SPACE_M, join_style="mitre")


def as_bed(place: TunnelPlace) -> Bed:
    """Its covered ground as a bed, in all its positions."""
    size = place.size
    return Bed(
        name=place.name,
        plot=place.plot,
        outline=place.outline,
        length_m=size.ground_m,
        width_m=size.width_m,
        bearing_deg=place.bearing_deg,
    )


def floor_bed_count(size: TunnelSize, beds: Beds) -> int:
    """Beds that lie side by side on the floor of a tunnel.

    Examples
    --------
    Of 6 m, 5.4 are left between the sides: 5 beds of 0.75 m and 4 paths of 0.4 m are 5.35.

    >>> size = TunnelSize(length_m=20.0, width_m=6.0, height_m=3.0)
    >>> floor_bed_count(size, Beds(bed_width_m=0.75, path_width_m=0.4))
    5
    """
    room_m = size.width_m - 2 * SIDE_M + beds.path_width_m
    return max(int(room_m / (beds.bed_width_m + beds.path_width_m) + 1e-9), 0)


def floor_beds(place: TunnelPlace, beds: Beds) -> tuple[Bed, ...]:
    """Beds on the floor of a tunnel that stays where it is, along its ridge."""
    # A tunnel that is moved covers other ground in each part of the year.
    if place.size.positions > 1:
        return ()
    number, length_m = (
        floor_bed_count(place.size, beds),
        place.size.length_m - 2 * END_M,
    )
    corners = shapely.get_coordinates(shapely.oriented_envelope(place.outline))[:4]
    sides = np.diff(corners[:3], axis=0)
    along = sides[int(np.argmax(np.hypot(*sides.T)))]
    along = along / np.hypot(*along)
    across = np.array([along[1], -along[0]])
    middle = corners.mean(axis=0)
    # Parts of these beds too are counted from the end towards the gate.
    near = shapely.get_coordinates(place.outline)[:2].mean(axis=0)
    if along @ (middle - near) < 0:
        along = -along
    step_m = beds.bed_width_m + beds.path_width_m
    found = []
    for at in range(number):
        aside = middle + across * (at - (number - 1) / 2) * step_m
        half, edge = along * length_m / 2, across * beds.bed_width_m / 2
        ends = (aside - half - edge, aside - half + edge)
        outline = Polygon([*ends, aside + half + edge, aside + half - edge])
        found.append(
            Bed(
                name=f"{place.name}/{at + 1}",
                plot=place.plot,
                outline=outline,
                length_m=length_m,
                width_m=beds.bed_width_m,
                bearing_deg=place.bearing_deg,
                number=at + 1,
                tunnel=place.name,
            )
        )
    return tuple(found)


def with_own_beds(
    surroundings: gpd.GeoDataFrame, own_beds: Sequence[OwnBed]
) -> gpd.GeoDataFrame:
    """Surroundings with beds that stay as ground to keep off."""
    lying = gpd.GeoDataFrame(
        {"name": [bed.name for bed in own_beds], "kind": "keep off", "leaf": None},
        geometry=[bed.outline for bed in own_beds],
        crs=surroundings.crs,
    )
    return pd.concat([surroundings, lying], ignore_index=True)


def standing(
    surroundings: gpd.GeoDataFrame, places: Sequence[TunnelPlace]
) -> gpd.GeoDataFrame:
    """Surroundings with tunnels among them, where they dim the beds' light."""
    if not places:
        return surroundings
    things = as_surroundings(places, surroundings.crs)
    return things if surroundings.empty else pd.concat([surroundings, things])


def as_surroundings(places: Sequence[TunnelPlace], crs: CRS) -> gpd.GeoDataFrame:
    """Tunnels as boxes of their height that let `FILM_TWICE` of the light through."""
    return gpd.GeoDataFrame(
        {
            "name": [place.name for place in places],
            "kind": "fence",
            "height_m": [place.size.height_m for place in places],
            "porosity": FILM_TWICE,
            "clear_stem_m": 0.0,
            "leaf": "none",
        },
        geometry=[place.outline for place in places],
        crs=crs,
    )


def shaded_by(places: Sequence[TunnelPlace]) -> Bounds:
    """Ground on which the light changes when these tunnels stand, one or more."""
    outlines = shapely.union_all([place.outline for place in places])
    return shade.reach(outlines, max(place.size.height_m for place in places))
