"""By how much the soil of a bed is ahead of the air, or behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fieldmap import words
from fieldmap.beds import bed_means
from fieldmap.language import _
from layers import warmth

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    from fieldmap.analysis import Analysis
    from fieldmap.beds import Bed
    from fieldmap.site import Site

    Floats = npt.NDArray[np.float64]

# Days by which soil that holds water warms later (common practice, no source).
CLAY_DAYS, WET_DAYS = 7.0, 10.0
# Days of the season-year between which a lead of the sun is read: March to May.
FROM_DAY, TO_DAY = 60, 150
MOST_DAYS_LED = 30.0  # near midwinter and midsummer a lead is no measure (a choice)
# Where light changes less with the season there is no spring to speak of (a choice).
LEAST_SWING = 0.05
DAYS, JULY = 365, 181  # of a common year; days before 1 July


@dataclass(frozen=True)
class Ground:
    """What sun and soil do to beds.

    Attributes
    ----------
    led
        (beds, 365): days by which the sun of a bed leads that of open level ground, by
        the day of the season-year.
    lag_days
        (beds,): days by which soil that is clay, or wet in March, comes later.
    """

    led: Floats
    lag_days: Floats

    def days_led(self, day: Floats) -> Floats:
        """Lead of each bed about its day of the season-year, (beds,)."""
        read = np.where(np.isfinite(day), day, FROM_DAY)
        at = np.clip(read, FROM_DAY, TO_DAY).astype(np.intp) - 1
        return np.asarray(self.led[np.arange(len(at)), at])


def of_beds(site: Site, analysis: Analysis, beds: Sequence[Bed]) -> Ground:
    """What the sun and the soil of each bed do."""
    plots = site.plots.set_index("name")
    of_plot = {
        name: max(
            CLAY_DAYS if row["soil"] == "clay" else 0.0,
            WET_DAYS if row["wet_in_march"] is True else 0.0,
        )
        for name, row in plots.iterrows()
    }
    sun = bed_means(analysis.sun_mj_m2_day, beds)
    # Of the cells that are shown the most open one stands for open level ground.
    level = np.nanmax(analysis.level_sun_mj_m2_day.values, axis=(1, 2))
    led = _days_led(sun.T, level)
    begins = JULY if site.southern else 0
    return Ground(
        led=np.roll(led, -begins, axis=-1),
        lag_days=np.array([of_plot.get(bed.plot, 0.0) for bed in beds]),
    )


def _days_led(bed_months: Floats, level_months: Floats) -> Floats:
    """Lead of each bed on each day of the calendar year, (beds, 365).

    The light of level ground is taken as one wave a year, which rises all spring; that
    of a bed is a share of it, month by month.
    """
    wave = np.fft.rfft(level_months)[:2] / 12
    turn = 2 * np.pi * (np.arange(DAYS) / DAYS - 0.5 / 12)
    level = wave[0].real + 2 * np.real(wave[1] * np.exp(1j * turn))
    if np.ptp(level) < LEAST_SWING * level.mean():
        return np.zeros((len(bed_months), DAYS))
    share = np.divide(
        bed_months,
        level_months,
        out=np.ones_like(bed_months),
        where=level_months > 0,
    )
    middles = (np.arange(12) + 0.5) * DAYS / 12
    daily = np.stack(
        [np.interp(np.arange(DAYS), middles, each, period=DAYS) for each in share]
    )
    led = warmth.sun_days_led(daily * level, level)
    return np.clip(np.nan_to_num(led), -MOST_DAYS_LED, MOST_DAYS_LED)


def late_ground(lag_days: float) -> tuple[str, ...]:
    """A sentence that says why the soil of a bed is late; none where it is not."""
    if not lag_days:
        return ()
    said = (
        _("Its ground is wet in March, so its soil warms about {days} days later.")
        if lag_days == WET_DAYS
        else _("Its ground is clay, so its soil warms about {days} days later.")
    )
    return (said.format(days=f"{lag_days:g}"),)


def remarks(site: Site) -> list[str]:
    """What was added for soils."""
    clay = (site.plots["soil"] == "clay").any()
    wet = any(value is True for value in site.plots["wet_in_march"])
    said = [
        *([_("{days} days on clay").format(days=f"{CLAY_DAYS:g}")] if clay else []),
        *(
            [_("{days} days where it is wet in March").format(days=f"{WET_DAYS:g}")]
            if wet
            else []
        ),
    ]
    if not said:
        return []
    return [
        _("Soil is taken to warm later by {said} (common practice, no source).").format(
            said=words.listed(said)
        )
    ]
