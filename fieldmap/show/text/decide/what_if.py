"""What a change of the surroundings would do, in words."""

from collections.abc import Mapping

import numpy as np

from fieldmap.decide.what_if import BedEffect, Move, move_of
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, written
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill

WIND_STEP_PERCENT = 10.0  # of a bed's wind; finer is not known (a choice)
WORDS = texts(__name__, "words")
MORE_WIND, LESS_WIND = texts(__name__, "more_wind"), texts(__name__, "less_wind")


def winds(wind_share: Mapping[str, float]) -> str:
    """Which winds would blow more or less on a bed; nothing where hardly any.

    Examples
    --------
    >>> winds({"prevailing": 0.04, "storm": -0.12, "summer_breeze": float("nan")})
    'about 10 % less storm wind'
    """
    shares = np.array(list(wind_share.values()))
    steps = WIND_STEP_PERCENT * np.rint(100.0 * shares / WIND_STEP_PERCENT)
    return ", ".join(
        _((MORE_WIND if percent > 0 else LESS_WIND)[name]).format(
            percent=written(abs(percent), ".0f")
        )
        for name, percent in zip(wind_share, steps, strict=True)
        if abs(percent) > 0  # NaN is not
    )


def cold(effect: BedEffect, units: Units) -> str:
    """How much colder or less cold a still night would be; nothing where hardly."""
    if not effect.moves_cold_air:
        return ""
    central_c = effect.offset_c.central
    text = WORDS["colder" if central_c < 0 else "less_cold"]
    return fill(text, units, degrees_c=round(abs(central_c), 1))


def days(earlier: Estimate | None, units: Units) -> str:
    """Days by which planting would move; nothing where no dates are known.

    Examples
    --------
    >>> days(Estimate(0.0, 4.0, 16.0), "metric")
    '4 days earlier (0 to 16 days)'
    >>> days(Estimate(-2.0, 4.0, 16.0), "metric")
    'no clear change'
    >>> days(Estimate(-10.0, -4.0, 1.0), "metric").replace("\u00a0", " ")
    'likely 4 days later (at worst 10 days later, at best 1 day earlier)'
    """
    if earlier is None:
        return ""
    low, central, high = map(round, earlier)
    match move_of(earlier):
        case "none":
            return _(WORDS["no_date"])
        case "at_worst":
            return fill(WORDS["at_worst"], units, number=-low)
        case "likely_later":
            loss = {"likely": -central, "worst": -low}
            return fill(WORDS["likely_later"], units, number=high, **loss)
        case move:
            return _clear(move, (low, central, high), units)


def _clear(move: Move, earlier: tuple[int, int, int], units: Units) -> str:
    """Whole days by which planting clearly moves one way."""
    low, central, high = map(abs, earlier)
    least, most = sorted((low, high))
    if least == most:
        return fill(WORDS[f"{move}_about"], units, number=central)
    return fill(WORDS[move], units, number=central, least=least, most=most)


def _cold(fact: Fact, units: Units) -> str:
    effect: BedEffect = fact["effect"]
    moved = days(effect.days_earlier, units)
    text = WORDS["cold_and_days" if moved else "cold"]
    return fill(text, units, bed=effect.bed, colder=cold(effect, units), days=moved)


SENTENCES: Mapping[str, Sentence] = {"what_if_cold": _cold}
