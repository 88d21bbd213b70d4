"""Readings and thermometers that cannot be right are left out, each with its reason."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.model.fact import Fact
from layers import suspects

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]


class Sifted(NamedTuple):
    """What is left of readings, and what was left out.

    Attributes
    ----------
    low_c
        (nights, thermometers), NaN where one was not read or is left out.
    refused
        A fact for each thermometer and reason.
    """

    low_c: Floats
    refused: tuple[Fact, ...]


def sift(
    names: tuple[str, ...],
    low_c: Floats,
    station_c: Floats,
    colder_c: Floats,
    alike: tuple[Mask, ...],
) -> Sifted:
    """Leave out what cannot be right, and say why.

    Parameters
    ----------
    names
        Of the thermometers, as the readings have them.
    low_c, station_c
        Minima of clear calm nights, (nights, thermometers) and (nights,).
    colder_c
        (thermometers,) how cold the ground makes their places; NaN is not known, and
        such a thermometer is not compared with others.
    alike
        Which thermometers hang alike, so that they can be compared: one mask a group.
    """
    left_c = low_c.copy()
    refused = []
    for number in np.flatnonzero(suspects.stuck(left_c, station_c)):
        read = int((~np.isnan(left_c[:, number])).sum())
        refused.append(Fact("thermometer_stuck", name=names[number], number=read))
        left_c[:, number] = np.nan
    stray = suspects.stray_readings(left_c, station_c)
    for number in np.flatnonzero(stray.any(axis=0)):
        read_c = left_c[stray[:, number], number]
        farthest_c = read_c[np.argmax(np.abs(read_c - np.nanmedian(left_c[:, number])))]
        refused.append(
            Fact(
                "readings_stray",
                name=names[number],
                number=len(read_c),
                low_c=round(float(farthest_c), 1),
            )
        )
    left_c[stray] = np.nan
    for group in alike:
        refused += _leave_outliers(names, left_c, station_c, colder_c, group)
    return Sifted(left_c, tuple(refused))


def _leave_outliers(
    names: tuple[str, ...],
    left_c: Floats,
    station_c: Floats,
    colder_c: Floats,
    group: Mask,
) -> list[Fact]:
    """Leave thermometers of a group out that read as no other says; why."""
    over_c = left_c - station_c[:, np.newaxis]
    known = group & ~np.isnan(colder_c) & ~np.isnan(over_c).all(axis=0)
    at = np.flatnonzero(known)
    if not len(at):
        return []
    mean_c = np.nanmean(over_c[:, at], axis=0)
    rest_c = mean_c + colder_c[at]
    is_off = suspects.outliers(mean_c, colder_c[at])
    if not is_off.any():
        return []
    left_c[:, at[is_off]] = np.nan
    if is_off.all():
        apart_c = round(float(np.ptp(rest_c)), 1)
        found = [names[number] for number in at]
        return [Fact("thermometers_disagree", names=found, apart_c=apart_c)]
    middle_c = np.median(rest_c[~is_off])
    return [
        Fact(
            "thermometer_outlier",
            name=names[at[each]],
            degrees_c=round(float(rest_c[each] - middle_c), 1),
        )
        for each in np.flatnonzero(is_off)
    ]
