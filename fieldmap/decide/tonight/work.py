"""When the evening's work is done and how long it takes, and when a bed comes to harm."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from fieldmap.analyse.light.sun import rise_and_set
from fieldmap.decide.crop_plan.cover_stock import open_minutes
from layers.nights import TREND_FROM_H, hours_to_limit

# All of it common practice, no source. Two people; walking with their arms full.
PEOPLE = 2
LAY_MINUTES, LAY_METRES_A_MINUTE = 3.0, 8.0  # carry, spread and weigh: a bed, along it
WALK_M_A_MINUTE = 50.0
# While the ground still has the warmth of the day.
DONE_BEFORE_SUNSET = timedelta(hours=1)
FIVE_MINUTES = 5


@dataclass(frozen=True)
class NightHours:
    """Sunset of an evening and sunrise after it; None where there is none.

    Times carry the time zone of the place.
    """

    day: date
    sunset: datetime | None
    sunrise: datetime | None

    @property
    def length_h(self) -> float | None:
        """From sunset to sunrise; None where either is not."""
        if self.sunset is None or self.sunrise is None:
            return None
        return _between(self.sunset, self.sunrise) / timedelta(hours=1)

    @property
    def done_by(self) -> datetime | None:
        """When all should be done, down to five minutes."""
        if self.sunset is None:
            return None
        by = self.sunset - DONE_BEFORE_SUNSET
        return by.replace(
            minute=by.minute // FIVE_MINUTES * FIVE_MINUTES, second=0, microsecond=0
        )

    def begin_by(self, minutes: int) -> datetime | None:
        """When two people begin who take so long."""
        done = self.done_by
        return None if done is None else done - timedelta(minutes=minutes)

    def harmed_from(
        self, dusk_c: float, low_c: float, limit_c: float
    ) -> datetime | None:
        """About when bare air falls to a limit, to the half hour; None if it does not.

        By the fall of a still night, `layers.nights.hours_to_limit`, from two hours
        after sunset on.

        Parameters
        ----------
        dusk_c
            Air two hours after sunset [°C].
        low_c
            Air at its coldest, at sunrise [°C].
        limit_c
            Air at which the crop is harmed [°C].
        """
        length_h = self.length_h
        if self.sunset is None or length_h is None or length_h <= TREND_FROM_H:
            return None
        hours = float(hours_to_limit(limit_c, dusk_c, low_c, length_h))
        if not math.isfinite(hours):
            return None
        return _to_half_hour(_later(self.sunset, timedelta(hours=hours)))

    @property
    def middle(self) -> datetime | None:
        """Half way from sunset to sunrise."""
        if self.sunset is None or self.sunrise is None:
            return None
        return _later(self.sunset, _between(self.sunset, self.sunrise) / 2)


def _between(one: datetime, other: datetime) -> timedelta:
    """Time that passes, also where clocks are put on or back in between."""
    return other.astimezone(UTC) - one.astimezone(UTC)


def _later(when: datetime, by: timedelta) -> datetime:
    """What the clock of the place shows after some time."""
    return (when.astimezone(UTC) + by).astimezone(when.tzinfo)


def _to_half_hour(when: datetime) -> datetime:
    """The nearest half hour.

    Examples
    --------
    >>> _to_half_hour(datetime(2026, 5, 6, 23, 50)).isoformat()
    '2026-05-07T00:00:00'
    """
    later = when + timedelta(minutes=15)
    return later.replace(minute=later.minute // 30 * 30, second=0, microsecond=0)


def night_hours(
    days: Sequence[date], latitude_deg: float, longitude_deg: float, time_zone: str
) -> list[NightHours]:
    """Sunset of each day and sunrise after it, by the clock of the place.

    Parameters
    ----------
    days
        Days, in the order of the answer.
    latitude_deg
        Latitude of the place, negative in the south.
    longitude_deg
        Longitude of the place, negative in the west.
    time_zone
        IANA name of its time zone.
    """
    mornings = [day + timedelta(1) for day in days]
    sun = rise_and_set([*days, *mornings], latitude_deg, longitude_deg, time_zone)
    down, up = (
        [None if is_none else when.to_pydatetime(warn=False) for when, is_none in pairs]
        for pairs in (
            zip(sun[name], sun[name].isna(), strict=True)
            for name in ("sunset", "sunrise")
        )
    )
    count = len(days)
    return [
        NightHours(day, falls, rises)
        for day, falls, rises in zip(days, down[:count], up[count:], strict=True)
    ]


def minutes_for_two(beds: Iterable[tuple[float, bool]], way_m: float) -> int:
    """Minutes that two people usually take, up to the next five.

    Parameters
    ----------
    beds
        Metres of each bed that is covered, and whether its cover lies there already and
        is only closed, which takes as long as opening it.
    way_m
        From the gate past all of them and back.

    Examples
    --------
    Two closed beds of 20 m (2 minutes each for one), one laid over 16 m, and 100 m of
    way: (4 / 2) + (3 + 2) + 2 = 9.

    >>> minutes_for_two([(20.0, True), (20.0, True), (16.0, False)], 100.0)
    10
    """
    work = sum(
        open_minutes(length_m) / PEOPLE
        if is_closed
        else LAY_MINUTES + length_m / LAY_METRES_A_MINUTE
        for length_m, is_closed in beds
    )
    whole = work + way_m / WALK_M_A_MINUTE
    return math.ceil(round(whole / FIVE_MINUTES, 6)) * FIVE_MINUTES
