"""Light beside upright boxes, ray by ray: written anew, nothing of it from the product.

The sun of whole months comes from pvlib every few minutes, with its clear sky; each box is
cut with each ray in three dimensions by the slab method; an even sky is summed over
patches of the upper half-space.
"""

import warnings
from functools import cache
from typing import NamedTuple

import numpy as np
import pandas as pd
import pvlib

LATITUDE, LONGITUDE, HEIGHT_M = 45.0, 15.0, 100.0
MJ_PER_WH = 0.0036


class Box(NamedTuple):
    """An upright box whose underside and top follow the ground at a constant height.

    Edges in metres from a corner of one's own; heights above the ground; `passing` is
    the share of the light that passes in every month.
    """

    west: float
    south: float
    east: float
    north: float
    top: float
    bottom: float = 0.0
    passing: float = 0.0


class Plane(NamedTuple):
    """Rise of the ground to east and north [m/m]."""

    east: float = 0.0
    north: float = 0.0

    @property
    def upright(self):
        """Upward part of the unit normal."""
        return 1 / np.sqrt(1 + self.east**2 + self.north**2)


@cache
def sun_of(month, minutes=5, year=2025):
    """Unit vectors to the sun, beam [W/m²], hours a day of a step, sky light [MJ/m² a day]."""
    days = pd.Timestamp(year, month, 1).days_in_month
    first = pd.Timestamp(year, month, 1, tz="UTC")
    first += pd.Timedelta(minutes=minutes / 2) - pd.Timedelta(hours=LONGITUDE / 15)
    times = pd.date_range(first, periods=days * 1440 // minutes, freq=f"{minutes}min")
    place = pvlib.location.Location(LATITUDE, LONGITUDE, "UTC", HEIGHT_M)
    sun = place.get_solarposition(times)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pvlib's own calls of pandas
        sky = place.get_clearsky(times, model="ineichen", solar_position=sun)
    up = sun["apparent_elevation"].to_numpy() > 0
    step_h = minutes / 60 / days
    ways = unit(sun["apparent_elevation"].to_numpy()[up], sun["azimuth"].to_numpy()[up])
    return (
        ways,
        sky["dni"].to_numpy()[up],
        step_h,
        sky["dhi"].sum() * step_h * MJ_PER_WH,
    )


@cache
def noon(day):
    """Altitude of the sun when it stands highest on a day [deg]."""
    times = pd.date_range(f"{day} 09:00", f"{day} 13:00", freq="1min", tz="UTC")
    sun = pvlib.solarposition.get_solarposition(times, LATITUDE, LONGITUDE, HEIGHT_M)
    return float(sun["apparent_elevation"].max())


def unit(altitude_deg, azimuth_deg):
    """East, north and up of unit vectors."""
    altitude, azimuth = np.radians(altitude_deg), np.radians(azimuth_deg)
    level = np.cos(altitude)
    return level * np.sin(azimuth), level * np.cos(azimuth), np.sin(altitude)


def is_stopped(box, points, plane, ways):
    """Which rays from points meet the box, (points, rays).

    In heights above the sloping ground the box has level faces, and a ray's rise is its
    own less that of the ground under it.
    """
    rise = ways[2] - plane.east * ways[0] - plane.north * ways[1]
    enter = np.zeros((len(points), rise.size))
    leave = np.full_like(enter, np.inf)
    for along, start, low, high in (
        (ways[0], points[:, :1], box.west, box.east),
        (ways[1], points[:, 1:], box.south, box.north),
        (rise, np.zeros((len(points), 1)), box.bottom, box.top),
    ):
        safe = np.where(np.abs(along) < 1e-12, 1e-12, along)
        one, two = (low - start) / safe, (high - start) / safe
        enter = np.maximum(enter, np.minimum(one, two))
        leave = np.minimum(leave, np.maximum(one, two))
    return enter < leave


def passing(boxes, points, plane, ways):
    """Share of the light along each ray that passes all boxes, (points, rays)."""
    part = np.ones((len(points), ways[0].size))
    for box in boxes:
        part[is_stopped(box, points, plane, ways)] *= box.passing
    return part


def beam_and_hours(boxes, points, plane, month, minutes=5):
    """Means over points: beam on the ground [MJ/m² a day], and hours of sun a day."""
    ways, dni, step_h, _ = sun_of(month, minutes)
    facing = plane.upright * (ways[2] - plane.east * ways[0] - plane.north * ways[1])
    part = passing(boxes, points, plane, ways).mean(axis=0) * (facing > 0)
    beam = part @ (dni * np.maximum(facing, 0)) * step_h * MJ_PER_WH
    return beam, part.sum() * step_h


def sky_light(boxes, points, plane, month, patch_deg=2.0):
    """Mean over points of an even sky's light on the ground [MJ/m² a day]."""
    altitude, azimuth = np.meshgrid(
        np.arange(patch_deg / 2, 90, patch_deg),
        np.arange(patch_deg / 2, 360, patch_deg),
    )
    ways = unit(altitude.ravel(), azimuth.ravel())
    facing = plane.upright * (ways[2] - plane.east * ways[0] - plane.north * ways[1])
    area = np.hypot(ways[0], ways[1]) * np.radians(patch_deg) ** 2
    # Seen by the ground and not under it: the plane hides the sky behind itself.
    weight = np.maximum(facing, 0) * area / np.pi
    return passing(boxes, points, plane, ways).mean(axis=0) @ weight * sun_of(month)[3]
