"""Where on earth a site lies: working CRS, grid and true north, time zone."""

import re

import geopandas as gpd
import pyproj
import tzfpy
from pyproj import network
from pyproj.exceptions import ProjError

from fieldmap.errors import Problem
from fieldmap.model.coordinates import WGS84, in_crs, transformer
from fieldmap.read.door import SiteFile

network.set_network_enabled(active=False)  # type: ignore[attr-defined]  # in any case
# Shifts by a file, which a CRS may say to lie anywhere.
_BY_FILE = re.compile(
    r"PARAMETERFILE|PROJ4_GRIDS|OVERVIEW_FILE|grids\s*=|\+file\s*=|proj\s*=\s*pipeline|&#",
    re.I,
)

# A 200 m row is then at most 20 cm off, and slopes are right to 0.1 %.
LARGEST_SCALE_ERROR = 0.001
_ELLIPSOID = pyproj.Geod(ellps="WGS84")


def horizontal(crs: pyproj.CRS) -> pyproj.CRS:
    """A CRS without its heights."""
    if crs.is_compound:
        return crs.sub_crs_list[0]
    return crs.to_2d() if len(crs.axis_info) == 3 else crs


def is_usable(crs: pyproj.CRS) -> bool:
    """Whether a CRS places things on the earth, without files of its own.

    >>> is_usable(pyproj.CRS(32633)), is_usable(pyproj.CRS(4978))
    (True, False)
    """
    try:
        flat = horizontal(crs)
        if _BY_FILE.search(flat.to_wkt()):
            return False
        if not (flat.is_geographic or flat.is_projected):
            return False
        transformer(flat, WGS84)
        transformer(WGS84, flat)
    except ProjError:
        return False
    return True


def names_files(text: bytes) -> bool:
    """Whether words of a CRS, or around one, say a file to shift by or to look in.

    >>> names_files(b'EXTENSION["PROJ4_GRIDS","/any/file"]'), names_files(b"WGS 84")
    (True, False)
    """
    plain = text.replace(b"\0", b"")  # also where it is written in UTF-16
    return _BY_FILE.search(plain.decode("latin-1")) is not None


def unusable_crs(file: SiteFile, name: str) -> Problem:
    """What to say of a file whose CRS is of no use."""
    return file.problem(
        "{file}: its coordinate system ({crs}) cannot be used, as it does not say"
        " where on earth it lies; save the file in another (for example EPSG:4326).",
        crs=name[:200],
    )


def utm(longitude: float, latitude: float) -> pyproj.CRS:
    """The UTM zone of a place on WGS 84.

    >>> utm(-74.25, 44.05).to_epsg(), utm(174.8, -36.9).to_epsg()
    (32618, 32760)
    """
    # 180° itself lies at the end of the last zone, and begins none.
    zone = min(int((longitude + 180.0) // 6.0) + 1, 60)
    return pyproj.CRS.from_epsg((32700 if latitude < 0 else 32600) + zone)


def middle(plots: gpd.GeoDataFrame) -> tuple[float, float]:
    """Longitude and latitude of the middle of all plots, in degrees."""
    point = in_crs(plots.geometry, WGS84).union_all().centroid
    return float(point.x), float(point.y)


def scale_error(crs: pyproj.CRS, longitude: float, latitude: float) -> float:
    """How far a projected metre is from a metre on the ellipsoid, as a share.

    Parameters
    ----------
    crs
        A projected CRS.
    longitude, latitude
        Of the place [degrees], east and north positive.

    Returns
    -------
    error
        The largest in any direction, 0.001 for 1 m in 1 km.
    """
    # Degrees are of the CRS's own datum here; from WGS 84 that is a matter of metres.
    factors = pyproj.Proj(crs).get_factors(longitude, latitude)
    scales = (factors.tissot_semimajor, factors.tissot_semiminor)
    return float(max(abs(scale - 1.0) for scale in scales))


def convergence_deg(crs: pyproj.CRS, longitude: float, latitude: float) -> float:
    """Bearing of grid north from true north, clockwise: true = grid + convergence.

    For a transverse Mercator projection it is near atan(tan(λ − λ0) · sin φ), so
    positive east of the central meridian in the north.

    Parameters
    ----------
    crs
        A projected CRS.
    longitude, latitude
        Of the place [degrees], east and north positive.
    """
    factors = pyproj.Proj(crs).get_factors(longitude, latitude)
    return float(factors.meridian_convergence)


def fits(crs: pyproj.CRS, longitude: float, latitude: float) -> bool:
    """Whether lengths can be measured in this CRS at the site.

    Metres towards east and north, and a scale error under 0.1 %; Web Mercator never,
    since its metres are true at the equator only and it turns up by habit.

    Parameters
    ----------
    crs
        Any CRS; one in degrees never fits.
    longitude, latitude
        Of the site [degrees], east and north positive.
    """
    if not crs.is_projected or _is_web_mercator(crs):
        return False
    axes = crs.axis_info[:2]
    if {axis.direction for axis in axes} != {"east", "north"}:
        return False
    if any(axis.unit_conversion_factor != 1.0 for axis in axes):
        return False
    return scale_error(crs, longitude, latitude) < LARGEST_SCALE_ERROR


def _is_web_mercator(crs: pyproj.CRS) -> bool:
    operation = crs.coordinate_operation
    method = operation.method_name if operation else ""
    return "Pseudo Mercator" in method or "Auxiliary Sphere" in method


def working_crs(
    elevation: pyproj.CRS, plots: pyproj.CRS, longitude: float, latitude: float
) -> pyproj.CRS:
    """The elevation's CRS if it `fits`, else that of the plots, else UTM.

    Parameters
    ----------
    elevation, plots
        CRS of the elevation file and of the file of the plots.
    longitude, latitude
        Middle of the plots [degrees], east and north positive.
    """
    for crs in (elevation, plots):
        if fits(crs, longitude, latitude):
            return crs
    return utm(longitude, latitude)


def time_zone(longitude: float, latitude: float) -> str:
    """Name of the time zone of a place, such as Europe/Ljubljana."""
    return str(tzfpy.get_tz(longitude, latitude))


def distance_km(
    longitude: float, latitude: float, other_longitude: float, other_latitude: float
) -> float:
    """Shortest way between two places on the WGS 84 ellipsoid.

    Parameters
    ----------
    longitude, latitude
        Of one place [degrees], east and north positive.
    other_longitude, other_latitude
        Of the other place [degrees].
    """
    _, _, metres = _ELLIPSOID.inv(longitude, latitude, other_longitude, other_latitude)
    return float(metres) / 1000.0
