"""What a change of the surroundings would do, in words."""

from collections.abc import Mapping

import numpy as np

from fieldmap.decide.what_if import BedEffect
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.show.text import quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence

WIND_STEP_PERCENT = 10.0  # of a bed's wind; finer is not known (a choice)
MORE_WIND = texts(__name__, "more_wind")
LESS_WIND = texts(__name__, "less_wind")
MORE_WIND_ON_BED = texts(__name__, "more_wind_on_bed")
LESS_WIND_ON_BED = texts(__name__, "less_wind_on_bed")


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
            percent=f"{abs(percent):.0f}"
        )
        for name, percent in zip(wind_share, steps, strict=True)
        if abs(percent) > 0  # NaN is not
    )


def depth(effect: BedEffect, units: Units) -> str:
    """How much deeper or shallower the cold air would lie; nothing where hardly."""
    if not effect.moves_cold_air:
        return ""
    text = _("{depth} deeper") if effect.cold_air_m > 0 else _("{depth} shallower")
    return text.format(depth=quantities.length(abs(effect.cold_air_m), units))


def days(earlier: Estimate | None) -> str:
    """Days by which planting would move; nothing where no dates are known."""
    if earlier is None:
        return ""
    low, central, high = map(round, earlier)
    if low <= 0 <= high:
        return _("no date moves for certain")
    least, most = (f"{number}" for number in sorted((abs(low), abs(high))))
    if central > 0:
        return plural(
            "planted {number} day earlier ({least} to {most})",
            "planted {number} days earlier ({least} to {most})",
            abs(central),
            least=least,
            most=most,
        )
    return plural(
        "planted {number} day later ({least} to {most})",
        "planted {number} days later ({least} to {most})",
        abs(central),
        least=least,
        most=most,
    )


def _cold(fact: Fact, units: Units) -> str:
    effect: BedEffect = fact["effect"]
    moved = days(effect.days_earlier)
    plants = quantities.night(*effect.offset_c, units)
    return _(
        "On a still night cold air on bed {bed} would lie {deeper} than "
        "now. For plants there: {change}."
    ).format(
        bed=effect.bed,
        deeper=depth(effect, units),
        change=f"{plants}; {moved}" if moved else plants,
    )


def _light(fact: Fact, _units: Units) -> str:
    return _("In early spring bed {bed} gets {light}.").format(
        bed=fact["bed"], light=quantities.compared_light(fact["more_share"])
    )


def _wind(fact: Fact, _units: Units) -> str:
    more = fact["more_share"]
    text = (MORE_WIND_ON_BED if more > 0 else LESS_WIND_ON_BED)[fact["wind"]]
    return _(text).format(bed=fact["bed"], percent=f"{100 * abs(more):.0f}")


def _below(fact: Fact, units: Units) -> str:
    return _(
        "Outside the plots cold air would lie up to {depth} deeper on {area}, mostly to "
        "the {direction} of the plots' middle."
    ).format(
        depth=quantities.length(fact["depth_m"], units),
        area=quantities.area(round(fact["area_m2"], -1), units),
        direction=quantities.direction(fact["bearing_deg"]),
    )


SENTENCES: Mapping[str, Sentence] = {
    "what_if_cold": _cold,
    "what_if_light": _light,
    "what_if_wind": _wind,
    "below_is_deeper": _below,
}
