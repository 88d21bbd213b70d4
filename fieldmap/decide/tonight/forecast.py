"""What a weather forecast says of the night."""

import math
from typing import Literal, NamedTuple, get_args

from fieldmap.errors import PlanError, problem
from fieldmap.model.settings import Units

Sky = Literal["clear", "cloudy"]
Wind = Literal["calm", "windy"]

# Whole lows for which lists are made beforehand: what is warmer harms nothing that is
# grown outdoors, what is colder no cover is likely to keep off (choices).
LOWS = {"metric": (8, -10), "us": (46, 14)}
# Lows that are believed; what else is asked for is more likely in the other unit.
COLDEST_C, WARMEST_C = -40.0, 20.0


class Forecast(NamedTuple):
    """What the forecast says.

    Attributes
    ----------
    low_c
        Lowest temperature at the weather station [°C].
    """

    low_c: float
    sky: Sky
    wind: Wind

    @property
    def is_still(self) -> bool:
        """Clear and calm: cold air forms and runs."""
        return self.sky == "clear" and self.wind == "calm"


def celsius(low: float, units: Units) -> float:
    """A low in the units of the site."""
    return (low - 32) / 1.8 if units == "us" else low


def forecast(low: str, sky: str, wind: str, units: Units) -> Forecast:
    """A forecast as it was typed, the low in the units of the site.

    Parameters
    ----------
    low
        Low of the night at the station, as typed, in °C, or °F for US units.
    sky
        "clear" or "cloudy", as typed.
    wind
        "calm" or "windy", as typed.
    units
        Units of the site.

    Raises
    ------
    PlanError
        With a problem for each word that cannot be used.
    """
    problems = []
    low_c = _believed_c(low, units)
    if low_c is None:
        is_us = units == "us"
        unit = "°F" if is_us else "°C"
        coldest, warmest = (
            f"{end_c * 1.8 + 32 if is_us else end_c:.0f} {unit}".replace("-", "−")
            for end_c in (COLDEST_C, WARMEST_C)
        )
        problems.append(
            problem(
                "--low is {value!r}; give the low that is forecast for the station in "
                "{unit}, a number from {coldest} to {warmest}, such as --low {example}",
                value=low,
                unit=unit,
                coldest=coldest,
                warmest=warmest,
                example="34" if is_us else "1",
            )
        )
    for word, value, right in (("sky", sky, Sky), ("wind", wind, Wind)):
        one, other = get_args(right)
        if value not in (one, other):
            problems.append(
                problem(
                    "--{word} is {value!r}; say {one} or {other}",
                    word=word,
                    value=value,
                    one=one,
                    other=other,
                )
            )
    if low_c is None or problems:
        raise PlanError(problems)
    return Forecast(low_c, sky, wind)  # type: ignore[arg-type]


def dusk_c(text: str, night: Forecast, units: Units) -> float | None:
    """Temperature two hours after sunset, as it was typed [°C]; None where it was not.

    Parameters
    ----------
    text
        As typed, in °C, or °F for US units; empty where it was not.
    night
        Forecast of the night, whose low it may not be under.
    units
        Units of the site.

    Raises
    ------
    PlanError
        When it is no number, outside what is believed, or lower than the low of the
        night.
    """
    if not text:
        return None
    found_c = _believed_c(text, units)
    # The low is that of the whole night, two hours after sunset within it.
    if found_c is None or found_c < night.low_c:
        is_us = units == "us"
        raise PlanError(
            problem(
                "--dusk is {value!r}; give the temperature two hours after sunset in "
                "{unit}, a number no lower than --low, such as --dusk {example}",
                value=text,
                unit="°F" if is_us else "°C",
                example="43" if is_us else "6",
            )
        )
    return found_c


def _believed_c(low: str, units: Units) -> float | None:
    try:
        low_c = celsius(float(low), units)
    except ValueError:
        return None
    believed = math.isfinite(low_c) and COLDEST_C <= low_c <= WARMEST_C
    return low_c if believed else None
