"""All evenings of a year: what stands, how long the night is, and the advice for any of them."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.decide.tonight import Walk, advise
from fieldmap.decide.tonight.advice import Advice
from fieldmap.decide.tonight.dusk import Dusk, DuskLine
from fieldmap.decide.tonight.evening_round import EveningRound
from fieldmap.decide.tonight.forecast import Forecast
from fieldmap.decide.tonight.standing import Flowers, Stand, UpDays, stand
from fieldmap.decide.tonight.work import NightHours, night_hours
from fieldmap.model.crops import Crop
from fieldmap.model.field_log import Happened


class Spell(NamedTuple):
    """Evenings on which the same stands, as hard and as old in weeks.

    Attributes
    ----------
    nights
        Of each of them, in order.
    """

    stand: Stand
    nights: tuple[NightHours, ...]

    @property
    def shortest(self) -> NightHours:
        """Of the evening on which work has to be done the earliest."""
        return min(self.nights, key=_done)

    @property
    def until(self) -> date:
        """The last of the evenings."""
        return self.nights[-1].day


def _done(night: NightHours) -> tuple[int, int]:
    done = night.done_by
    return (24, 0) if done is None else (done.hour, done.minute)


@dataclass(frozen=True)
class Evenings:
    """What any evening's advice is made from.

    Attributes
    ----------
    log
        On today's beds.
    soft
        Crops that are set out without having been hardened.
    up
        As `standing.up_days` gives them.
    flowers
        As `standing.flower_days` gives them.
    line
        Of evenings and lows near the station; None where that is not known.
    weights
        That the plan counts to hold covers down; None where it is not asked.
    """

    round_: EveningRound
    crop_plan: CropPlan
    crops: tuple[Crop, ...]
    log: tuple[Happened, ...]
    soft: frozenset[str]
    up: UpDays
    flowers: UpDays
    line: DuskLine | None
    latitude: float
    longitude: float
    time_zone: str
    weights: int | None = None

    def stand(self, day: date) -> Stand:
        """What stands on an evening."""
        what = self.crop_plan, self.crops, self.log, self.soft
        tunnels = (stop for stop in self.round_.stops if stop.tunnel)
        inside = frozenset(stop.ranked.bed.name for stop in tunnels)
        return stand(day, *what, self.up, Flowers(self.flowers, inside))

    def nights(self, days: Sequence[date]) -> list[NightHours]:
        """Sunset and sunrise of some evenings."""
        return night_hours(days, self.latitude, self.longitude, self.time_zone)

    def advise(
        self, day: date, forecast: Forecast, dusk_c: float | None = None
    ) -> Advice:
        """The advice for one evening.

        Parameters
        ----------
        day
            The evening.
        forecast
            Low at the station, sky and wind of the night.
        dusk_c
            Air at the station two hours after sunset [°C]; None where nobody has read it.
        """
        (night,) = self.nights([day])
        if dusk_c is not None:
            dusk: Dusk | None = Dusk.read(dusk_c)
        else:
            dusk = None if self.line is None else self.line.before(forecast.low_c)
        walk = Walk.over(self.round_, self.stand(day))
        return self._beside_counted(advise(walk, forecast, night, dusk))

    def _beside_counted(self, advice: Advice) -> Advice:
        """Advice that knows how many weights the plan counts."""
        held = advice.held._replace(counted=self.weights)
        return replace(advice, held=held)

    def advise_spell(
        self, spell: Spell, forecasts: Iterable[Forecast]
    ) -> Iterator[Advice]:
        """The advice for every evening of a spell, for each of some forecasts.

        Parameters
        ----------
        spell
            The evenings; the work is done by the earliest of their hours.
        forecasts
            Low at the station, sky and wind of the night.
        """
        walk, night = Walk.over(self.round_, spell.stand), spell.shortest
        for forecast in forecasts:
            yield self._beside_counted(advise(walk, forecast, night))

    def spells(self, starts: date) -> Iterator[Spell]:
        """The twelve months from a day, without evenings on which nothing stands."""
        days = [starts + timedelta(at) for at in range(365)]
        before: Stand | None = None
        nights: list[NightHours] = []
        for night in self.nights(days):
            here = self.stand(night.day)
            # Whole weeks of growth and limits stay the same for days on end: a list for
            # each spell is enough.
            if before is not None and here.standing != before.standing:
                yield from _spell(before, nights)
                before = None
            if before is None:
                before, nights = here, []
            nights.append(night)
        if before is not None:
            yield from _spell(before, nights)


def _spell(here: Stand, nights: Sequence[NightHours]) -> Iterator[Spell]:
    if here.standing:
        yield Spell(here, tuple(nights))
