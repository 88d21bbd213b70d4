"""Level ground on which the map is drawn: metres east and north of its middle."""

from typing import NamedTuple, TypedDict

import numpy as np
import numpy.typing as npt
import pyproj
import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.model.coordinates import WEB_MERCATOR, WGS84, transformer
from fieldmap.model.raster import Bounds
from fieldmap.show.map.overlay import LatLonBounds

Floats = npt.NDArray[np.float64]


class Origin(TypedDict):
    """Middle of the frame: its place in Web Mercator [m] and on the earth [°]."""

    x: float
    y: float
    scale: float
    lat: float
    lon: float


class Frame(NamedTuple):
    """Web Mercator, shrunk to metres on the ground around one place.

    So a browser draws what belongs together with one shift and one scale, and a phone's
    single numbers are good to under a millimetre on a farm.

    Attributes
    ----------
    x, y
        The middle in Web Mercator [m].
    scale
        Metres on the ground in a metre of Web Mercator there.
    """

    x: float
    y: float
    scale: float

    def origin(self) -> Origin:
        """For the page."""
        lon, lat = transformer(WEB_MERCATOR, WGS84).transform(self.x, self.y)
        return Origin(x=self.x, y=self.y, scale=self.scale, lat=lat, lon=lon)

    def points(self, points: npt.ArrayLike, crs: pyproj.CRS) -> Floats:
        """Places of a CRS, (points, 2), in metres east and north of the middle."""
        at = np.asarray(points, float).reshape(-1, 2)
        x, y = transformer(crs, WEB_MERCATOR).transform(at[:, 0], at[:, 1])
        return (
            np.stack([np.subtract(x, self.x), np.subtract(y, self.y)], 1) * self.scale
        )

    def shape(self, shape: BaseGeometry, crs: pyproj.CRS) -> BaseGeometry:
        """The same of an outline, a line or a point."""
        return shapely.transform(
            shapely.force_2d(shape), lambda points: self.points(points, crs)
        )

    def box(self, bounds: LatLonBounds) -> Bounds:
        """West, south, east and north of a picture, from its corners on the earth."""
        (south, west), (north, east) = bounds
        low, high = self.points([[west, south], [east, north]], WGS84)
        return (*low.tolist(), *high.tolist())


def frame_around(bounds: Bounds, crs: pyproj.CRS) -> Frame:
    """The frame in whose middle a piece of ground lies."""
    west, south, east, north = bounds
    middle = (west + east) / 2, (south + north) / 2
    x, y = transformer(crs, WEB_MERCATOR).transform(*middle)
    _longitude, latitude = transformer(crs, WGS84).transform(*middle)
    return Frame(round(x, 3), round(y, 3), float(np.cos(np.radians(latitude))))
