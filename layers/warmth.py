"""Warmth that plants and soil take up: degree days, soil temperature, length of day."""

import numba
import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float64]

WARM_DAYS = 7
# Days by which soil warms earlier, for a day by which its sun is earlier: low, central,
# high. Our judgement, no source: the air, and light from the whole sky, are shared.
SOIL_DAYS_PER_SUN_DAY = (0.3, 0.4, 0.5)


def degree_days_average(
    tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike, base_c: float
) -> Values:
    """Degree days of each day by the mean of its extremes, none below the base.

    Parameters
    ----------
    tmin_c, tmax_c
        Daily extremes, of shapes that go together.
    base_c
        Temperature from which warmth counts.

    Returns
    -------
    degree_days
        [°C d] per day, NaN where an extreme is missing.

    Raises
    ------
    ValueError
        When a minimum lies above its maximum.

    Examples
    --------
    >>> float(degree_days_average(12.0, 26.0, 10.0))
    9.0
    """
    low, high = _extremes(tmin_c, tmax_c)
    return np.maximum((low + high) / 2 - base_c, 0.0)


def degree_days_triangle(
    tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike, base_c: float
) -> Values:
    """Degree days of each day under straight lines from minimum to maximum and back.

    As `degree_days_average`, but a day that is warm for a part of it counts for that
    part (single triangle).

    Parameters
    ----------
    tmin_c, tmax_c
        Daily extremes [°C], of shapes that go together; NaN stays NaN.
    base_c
        Temperature from which warmth counts.

    Examples
    --------
    >>> round(float(degree_days_triangle(7.0, 14.0, 12.0)), 4)
    0.2857
    """
    low, high = _extremes(tmin_c, tmax_c)
    above = np.maximum(high - base_c, 0.0)
    swing = np.where(high > low, high - low, 1.0)
    return np.where(low >= base_c, (low + high) / 2 - base_c, above**2 / (2 * swing))


def degree_days_sine(
    tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike, base_c: float
) -> Values:
    """Degree days of each day under a sine curve between its extremes.

    As `degree_days_triangle` (single sine).

    Parameters
    ----------
    tmin_c, tmax_c
        Daily extremes [°C], of shapes that go together; NaN stays NaN.
    base_c
        Temperature from which warmth counts.

    Notes
    -----
    Baskerville & Emin 1969, Ecology 50:514-517.

    Examples
    --------
    >>> round(float(degree_days_sine(7.0, 14.0, 12.0)), 4)
    0.4681
    """
    low, high = _extremes(tmin_c, tmax_c)
    mean, half = (low + high) / 2, (high - low) / 2
    # Turned into an angle: where the curve rises through the base; ±90° if it does not.
    reach = np.where(half > 0, half, 1.0)
    within = np.clip(base_c, low, high) - mean  # no farther off than `half`
    rises = np.arcsin(np.clip(within / reach, -1.0, 1.0))
    part = ((mean - base_c) * (np.pi / 2 - rises) + half * np.cos(rises)) / np.pi
    partly = np.where(high > base_c, part, np.where(np.isnan(high), np.nan, 0.0))
    return np.where(low >= base_c, mean - base_c, partly)


def _extremes(tmin_c: npt.ArrayLike, tmax_c: npt.ArrayLike) -> tuple[Values, Values]:
    """Extremes as arrays, both NaN where one is missing."""
    low = np.asarray(tmin_c, dtype=np.float64)
    high = np.asarray(tmax_c, dtype=np.float64)
    turned = np.count_nonzero(low > high)
    if turned:
        raise ValueError(f"tmin_c must not lie above tmax_c, but does on {turned} days")
    missing = np.isnan(low) | np.isnan(high)
    return np.where(missing, np.nan, low), np.where(missing, np.nan, high)


def damping_depth_m(diffusivity_m2_s: float, period_s: float) -> float:
    """Depth at which a temperature wave of a period has shrunk to 1/e.

    Parameters
    ----------
    diffusivity_m2_s
        Thermal diffusivity of the soil, about 0.5e-6 when moist.
    period_s
        86 400 for day and night, 365.25 times that for the year.

    Raises
    ------
    ValueError
        When one is not positive.

    Notes
    -----
    √(2α/ω): Hillel 1982, Introduction to Soil Physics.

    Examples
    --------
    >>> round(damping_depth_m(0.5e-6, 86_400), 3)
    0.117
    """
    if not (diffusivity_m2_s > 0 and period_s > 0):
        raise ValueError(
            "diffusivity_m2_s and period_s must be positive, "
            f"got {diffusivity_m2_s} and {period_s}"
        )
    return float(np.sqrt(diffusivity_m2_s * period_s / np.pi))


def soil_wave_c(
    surface_c: npt.ArrayLike, depth_m: float, diffusivity_m2_s: float, period_s: float
) -> Values:
    """Soil temperature at a depth under a surface that repeats its temperatures.

    The surface is taken apart into waves; each shrinks by exp(-z/d) and lags by z/d
    (radians), d being the damping depth of its own period. The soil is the same all the
    way down.

    Parameters
    ----------
    surface_c
        (..., times) temperatures at even steps over one period.
    depth_m
        Depth below the surface, 0 or more.
    diffusivity_m2_s, period_s
        As in `damping_depth_m`; the period is the time that `surface_c` covers.

    Returns
    -------
    soil_c
        Same shape and times; all NaN where one surface temperature is missing.

    Raises
    ------
    ValueError
        When the depth is negative, or the diffusivity or period not positive.

    Notes
    -----
    Hillel 1982, Introduction to Soil Physics, the wave in a half-space.

    Examples
    --------
    At half a wave's depth, π damping depths, the year stands on its head, 23 times
    smaller (e^π).

    >>> year_s = 365 * 86400.0
    >>> surface_c = 10 + 10 * np.sin(np.linspace(0, 2 * np.pi, 8, endpoint=False))
    >>> depth_m = np.pi * damping_depth_m(5e-7, year_s)
    >>> soil_wave_c(surface_c, depth_m, 5e-7, year_s)[2].round(2).item()
    9.57
    """
    if not depth_m >= 0:
        raise ValueError(f"depth_m must be 0 or more, got {depth_m}")
    surface = np.asarray(surface_c, dtype=np.float64)
    waves = np.fft.rfft(surface, axis=-1)
    # A wave that runs k times in the period has the damping depth d/√k.
    depths = np.sqrt(np.arange(waves.shape[-1])) * (
        depth_m / damping_depth_m(diffusivity_m2_s, period_s)
    )
    return np.fft.irfft(waves * np.exp(-(1 + 1j) * depths), surface.shape[-1], axis=-1)


def running_mean_c(values_c: npt.ArrayLike, days: int) -> Values:
    """Mean of each day and the days before it, `days` in all.

    Parameters
    ----------
    values_c
        (..., days) daily temperatures.
    days
        Length of the mean; 5 to 7 for soil at 5-10 cm from daily means of the air (from
        memory).

    Returns
    -------
    mean
        Same shape; NaN for the first days, and where one of the days is missing.

    Raises
    ------
    ValueError
        When `days` is not at least 1.

    Examples
    --------
    >>> running_mean_c([1.0, 2.0, 6.0, 1.0], 3).tolist()
    [nan, nan, 3.0, 3.0]
    """
    if days < 1:
        raise ValueError(f"days must be at least 1, got {days}")
    values = np.asarray(values_c, dtype=np.float64)
    mean = np.full(values.shape, np.nan)
    if values.shape[-1] >= days:
        windows = np.lib.stride_tricks.sliding_window_view(values, days, axis=-1)
        mean[..., days - 1 :] = windows.mean(axis=-1)
    return mean


def first_warm_day(
    mean_c: npt.ArrayLike,
    year_index: npt.NDArray[np.int64],
    day_number: npt.NDArray[np.int64],
    threshold_c: npt.ArrayLike,
) -> Values:
    """Day number from which the 7-day mean holds at or above a threshold, per year.

    It holds when the mean of the last seven days is at or above the threshold on that
    day and on each of the seven days that follow: a warm week, and one more. A later
    cold spell does not take the date back.

    Parameters
    ----------
    mean_c
        (..., days) daily mean temperatures, one day after the other.
    year_index
        (days,) season-year of each day, 0, 1, …, rising.
    day_number
        (days,) day of the season-year.
    threshold_c
        Temperature to be held; one, or as many as there are records, or several for
        a single one.

    Returns
    -------
    dates
        (..., years) day numbers; +∞ where it never holds; NaN where days that are
        missing, or lie off the ends of the record, could change the answer.

    Raises
    ------
    ValueError
        When the three do not have the same days.

    Examples
    --------
    Ten cold days, then warm ones: the 17th is the first with seven warm ones behind it.

    >>> mean_c = np.where(np.arange(40) < 10, 0.0, 12.0)
    >>> days = np.arange(40)
    >>> first_warm_day(mean_c, np.zeros(40, int), days + 1, 12.0).tolist()
    [17.0]
    """
    mean = np.asarray(mean_c, dtype=np.float64)
    if mean.ndim == 0 or not mean.shape[-1] == year_index.size == day_number.size:
        raise ValueError(
            f"mean_c must have the {year_index.size} days of year_index and day_number "
            f"({day_number.size}) on its last axis, got shape {mean.shape}"
        )
    weekly = running_mean_c(mean, WARM_DAYS)
    threshold = np.asarray(threshold_c, np.float64)[..., np.newaxis]
    is_warm, missing = weekly >= threshold, np.isnan(weekly)
    # Missing days once as warm and once as cold: a date that both give is known.
    earliest = _first_held(is_warm | missing, year_index, day_number, unknown=True)
    latest = _first_held(is_warm, year_index, day_number, unknown=False)
    return np.where(earliest == latest, latest, np.nan)


def _first_held(
    is_warm: npt.NDArray[np.bool_],
    year_index: npt.NDArray[np.int64],
    day_number: npt.NDArray[np.int64],
    *,
    unknown: bool,
) -> Values:
    """First day of each year that is warm with the seven after it, else +∞.

    Days off the ends of the record are taken to be `unknown`: all warm, or none.
    """
    rows = np.ascontiguousarray(is_warm.reshape(-1, is_warm.shape[-1]))
    dates = np.empty((len(rows), int(year_index[-1]) + 1))
    _fill_first_held(rows, year_index, day_number, unknown, dates)
    return dates.reshape(*is_warm.shape[:-1], -1)


@numba.njit(cache=True, nogil=True)
def _fill_first_held(
    is_warm: npt.NDArray[np.bool_],
    year_index: npt.NDArray[np.int64],
    day_number: npt.NDArray[np.int64],
    unknown: bool,  # noqa: FBT001 - compiled functions take no keywords
    out: Values,
) -> None:
    days = year_index.size
    for row in range(is_warm.shape[0]):
        out[row] = np.inf
        warm_days = WARM_DAYS + 1 if unknown else 0  # from a day on, without a break
        for day in range(days - 1, -1, -1):
            year, number = year_index[day], day_number[day]
            warm_days = warm_days + 1 if is_warm[row, day] else 0
            is_last = day == days - 1 or year_index[day + 1] != year
            if is_last and unknown and number < 365:
                out[row, year] = number + 1
            if warm_days > WARM_DAYS:
                out[row, year] = number
            is_first = day == 0 or year_index[day - 1] != year
            if is_first and unknown and number > 1:
                out[row, year] = 0.0


def day_length_h(latitude_deg: npt.ArrayLike, day_of_year: npt.ArrayLike) -> Values:
    """Hours from sunrise to sunset of the sun's centre, without refraction.

    Parameters
    ----------
    latitude_deg
        North positive.
    day_of_year
        1 on 1 January, also in the south.

    Returns
    -------
    hours
        0 to 24. An almanac has 0.15 to 0.2 h more in middle latitudes.

    Notes
    -----
    FAO Irrigation and Drainage Paper 56 (1998), eqs 24, 25 and 34.

    Examples
    --------
    >>> round(float(day_length_h(-20.0, 246)), 1)
    11.7
    """
    day = np.asarray(day_of_year, dtype=np.float64)
    latitude = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    declination = 0.409 * np.sin(2 * np.pi / 365 * day - 1.39)
    cosine = np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0)
    return np.asarray(24 / np.pi * np.arccos(cosine), dtype=np.float64)


def sun_days_led(bed_mj_m2: npt.ArrayLike, level_mj_m2: npt.ArrayLike) -> Values:
    """Days by which the light of a bed leads that of level ground, while light grows.

    On a day with the light B, the bed leads by n when level ground has B just n days
    later: negative where the bed lags. Soil follows by the share
    `SOIL_DAYS_PER_SUN_DAY` of it. The lead ends at midsummer, beyond which level ground
    has no more light, and begins at midwinter, before which it has no less.

    Parameters
    ----------
    bed_mj_m2
        (..., days) light of each day of a year on the bed's ground, beam and diffuse.
    level_mj_m2
        (days,) that of open level ground: rising all the way from its least to its
        greatest, as clear skies or smoothed monthly means do.

    Returns
    -------
    days_led
        (..., days); NaN from midsummer to midwinter, and where the bed's light is
        missing.

    Raises
    ------
    ValueError
        When level ground has a missing day or does not rise throughout, or the two do
        not have the same days.

    Examples
    --------
    A bed with the light that level ground has five days later leads by five:

    >>> day = np.arange(365)
    >>> level = 10.0 - 8.0 * np.cos(2 * np.pi * day / 365)
    >>> sun_days_led(np.roll(level, -5), level)[60].round(6).item()
    5.0
    """
    level = np.asarray(level_mj_m2, dtype=np.float64)
    bed = np.asarray(bed_mj_m2, dtype=np.float64)
    if level.ndim != 1 or level.size < 2 or bed.shape[-1:] != level.shape:
        raise ValueError(
            f"bed_mj_m2 and level_mj_m2 must have the days of one year on their last "
            f"axis, got shapes {bed.shape} and {level.shape}"
        )
    least = int(level.argmin())
    # A year that is the same forwards and backwards may have two least days.
    least += int(level[(least + 1) % level.size] == level[least])
    rising = np.arange((level.argmax() - least) % level.size + 1)
    days = (least + rising) % level.size
    if not (np.diff(level[days]) > 0).all():
        raise ValueError("level_mj_m2 must rise from its least to its greatest day")
    led = np.full(bed.shape, np.nan)
    led[..., days] = np.interp(bed[..., days], level[days], rising) - rising
    return led
