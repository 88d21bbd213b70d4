"""Water that well-watered grass gives off: the reference evapotranspiration of FAO-56.

Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, whose numbers of
equations stand beside each function.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

SOLAR_MJ_M2_MIN = 0.0820
STEFAN_BOLTZMANN_MJ_K4_M2_DAY = 4.903e-9
ALBEDO = 0.23
KELVIN = 273.16  # as the paper has it
USUAL_WIND_M_S = 2.0  # where none is measured (eq. 52 and the text before it)
# Of the swing of a day, for light inland (eq. 50).
INLAND = 0.16


def extraterrestrial_mj_m2_day(
    latitude_deg: float, day_of_year: npt.ArrayLike
) -> Array:
    """Light above the air on level ground over a day (eq. 21 to 25), any shape.

    Where the sun does not rise it is 0, and where it does not set that of all day.

    Parameters
    ----------
    latitude_deg
        North positive.
    day_of_year
        1 to 366, any shape.

    Examples
    --------
    Example 8 of the paper, 3 September at 20° south:

    >>> extraterrestrial_mj_m2_day(-20.0, 246).round(1).item()
    32.2
    """
    angle = 2 * np.pi * np.asarray(day_of_year, float) / 365
    near = 1 + 0.033 * np.cos(angle)
    declination = 0.409 * np.sin(angle - 1.39)
    latitude = np.radians(latitude_deg)
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    upright = sunset * np.sin(latitude) * np.sin(declination)
    along = np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    return np.asarray(24 * 60 / np.pi * SOLAR_MJ_M2_MIN * near * (upright + along))


def clear_sky_mj_m2_day(extraterrestrial: npt.ArrayLike, elevation_m: float) -> Array:
    """Light on level ground under a clear sky (eq. 37).

    Parameters
    ----------
    extraterrestrial
        Light above the air [MJ/m² a day], any shape; NaN stays NaN.
    elevation_m
        Height above the sea.

    Examples
    --------
    Example 18 of the paper, 100 m above the sea:

    >>> clear_sky_mj_m2_day(41.09, 100.0).round(2).item()
    30.9
    """
    share = 0.75 + 2e-5 * elevation_m
    return np.asarray(share * np.asarray(extraterrestrial, float))


def light_from_swing_mj_m2_day(
    extraterrestrial: npt.ArrayLike, tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike
) -> Array:
    """Light on level ground from the swing of temperature over a day, inland (eq. 50).

    Parameters
    ----------
    extraterrestrial
        Light above the air [MJ/m² a day], any shape; NaN stays NaN.
    tmin_c, tmax_c
        Daily extremes [°C], of shapes that go together.

    Examples
    --------
    Example 15 of the paper, July near Lyon:

    >>> light_from_swing_mj_m2_day(40.6, 14.8, 26.6).round(1).item()
    22.3
    """
    swing = np.maximum(np.asarray(tmax_c, float) - np.asarray(tmin_c, float), 0.0)
    return np.asarray(INLAND * np.sqrt(swing) * np.asarray(extraterrestrial, float))


def saturation_kpa(air_c: npt.ArrayLike) -> Array:
    """Pressure of vapour over water (eq. 11).

    Parameters
    ----------
    air_c
        Temperature of the air [°C], any shape; NaN stays NaN.

    Examples
    --------
    Example 3 of the paper: 3.075 kPa at 24.5 °C, 1.705 at 15 °C.

    >>> saturation_kpa([24.5, 15.0]).round(3).tolist()
    [3.075, 1.705]
    """
    air = np.asarray(air_c, float)
    return np.asarray(0.6108 * np.exp(17.27 * air / (air + 237.3)))


def psychrometric_kpa_c(elevation_m: float) -> float:
    """Psychrometric constant of a height above the sea (eq. 7 and 8).

    Parameters
    ----------
    elevation_m
        Height above the sea.

    Examples
    --------
    Example 2 of the paper, 1800 m:

    >>> round(psychrometric_kpa_c(1800.0), 3)
    0.054
    """
    pressure_kpa = 101.3 * ((293 - 0.0065 * elevation_m) / 293) ** 5.26
    return float(0.665e-3 * pressure_kpa)


def net_longwave_mj_m2_day(
    tmin_c: npt.ArrayLike,
    tmax_c: npt.ArrayLike,
    vapour_kpa: npt.ArrayLike,
    cloudiness: npt.ArrayLike,
) -> Array:
    """Heat that the ground sends to the sky (eq. 39).

    Parameters
    ----------
    tmin_c, tmax_c
        Daily extremes [°C], of shapes that go together; NaN stays NaN.
    vapour_kpa
        Vapour pressure of the air [kPa].
    cloudiness
        Light over that of a clear sky; more than 1 counts as 1.

    Examples
    --------
    Example 11 of the paper, Rio de Janeiro in May:

    >>> net_longwave_mj_m2_day(19.1, 25.1, 2.1, 14.5 / 18.8).round(1).item()
    3.5
    """
    low, high = (np.asarray(each, float) + KELVIN for each in (tmin_c, tmax_c))
    of_vapour = 0.34 - 0.14 * np.sqrt(np.asarray(vapour_kpa, float))
    of_cloud = 1.35 * np.minimum(np.asarray(cloudiness, float), 1.0) - 0.35
    mean = (low**4 + high**4) / 2
    return np.asarray(STEFAN_BOLTZMANN_MJ_K4_M2_DAY * mean * of_vapour * of_cloud)


def penman_monteith_mm_day(
    net_mj_m2_day: npt.ArrayLike,
    mean_c: npt.ArrayLike,
    wind_m_s: npt.ArrayLike,
    lacking_kpa: npt.ArrayLike,
    psychrometric: float,
) -> Array:
    """Reference evapotranspiration from all that it hangs on (eq. 6), without soil heat.

    Parameters
    ----------
    net_mj_m2_day
        Net radiation [MJ/m² a day], any shape; NaN stays NaN.
    mean_c
        Mean temperature of the day [°C].
    wind_m_s
        At 2 m.
    lacking_kpa
        Saturation less vapour of the air.
    psychrometric
        Psychrometric constant [kPa/°C].

    Examples
    --------
    Example 18 of the paper, Brussels on 6 July:

    >>> penman_monteith_mm_day(13.28, 16.9, 2.078, 1.997 - 1.409, 0.0666).round(
    ...     1
    ... ).item()
    3.9
    """
    mean, wind = np.asarray(mean_c, float), np.asarray(wind_m_s, float)
    slope = 4098 * saturation_kpa(mean) / (mean + 237.3) ** 2  # eq. 13
    of_light = 0.408 * slope * np.asarray(net_mj_m2_day, float)
    of_air = psychrometric * 900 / (mean + 273) * wind * np.asarray(lacking_kpa, float)
    return np.asarray((of_light + of_air) / (slope + psychrometric * (1 + 0.34 * wind)))


def reference_mm_day(
    tmin_c: npt.ArrayLike,
    tmax_c: npt.ArrayLike,
    light_mj_m2_day: npt.ArrayLike,
    clear_mj_m2_day: npt.ArrayLike,
    elevation_m: float,
    wind_m_s: npt.ArrayLike = USUAL_WIND_M_S,
) -> Array:
    """Reference evapotranspiration where humidity is not measured, any shape; NaN stays.

    Air is taken to be saturated at the day's minimum (eq. 48), which is too moist where it
    is dry. Never under 0.

    Parameters
    ----------
    tmin_c, tmax_c
        Daily extremes [°C], of shapes that go together.
    light_mj_m2_day
        Light on level ground [MJ/m² a day].
    clear_mj_m2_day
        The same under a clear sky.
    elevation_m
        Height above the sea.
    wind_m_s
        At 2 m.
    """
    low, high = np.asarray(tmin_c, float), np.asarray(tmax_c, float)
    vapour = saturation_kpa(low)
    lacking = (saturation_kpa(high) + saturation_kpa(low)) / 2 - vapour
    light = np.asarray(light_mj_m2_day, float)
    cloudiness = light / np.asarray(clear_mj_m2_day, float)
    net = (1 - ALBEDO) * light - net_longwave_mj_m2_day(low, high, vapour, cloudiness)
    found = penman_monteith_mm_day(
        net, (low + high) / 2, wind_m_s, lacking, psychrometric_kpa_c(elevation_m)
    )
    return np.asarray(np.maximum(found, 0.0))
