"""Plain words for numbers: what people read instead of degrees and decimals.

Inside, everything is metric; other units exist only here and where files are read.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Literal

from fieldmap.model.estimate import rounded_c
from fieldmap.show.text import language
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later, plural, written

Units = Literal["metric", "us"]

FEET_PER_METRE = 1 / 0.3048
LITRES_PER_GALLON = 3.785411784
SQUARE_METRES_PER_ACRE = 4046.8564224

# As names of columns have them; people read `language.month_name`.
MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
# The eight of the compass, and the eight sixteenths from north to south.
DIRECTIONS: Sequence[str] = texts(__name__, "compass")["directions"]
SIXTEENTHS: Sequence[str] = texts(__name__, "compass")["sixteenths"]


def direction(bearing_deg: float) -> str:
    """The nearest of eight compass directions.

    Examples
    --------
    >>> direction(350), direction(100)
    ('north', 'east')
    """
    return _(DIRECTIONS[_eighth(bearing_deg)])


def _eighth(bearing_deg: float) -> int:
    return round(bearing_deg / 45.0) % 8


def sixteenth(bearing_deg: float) -> str:
    """Which way a long thing points, to a sixteenth of the compass.

    Of its two ends that between north and south by way of east is meant, as in its degrees.

    Examples
    --------
    >>> sixteenth(22), sixteenth(202), sixteenth(171)
    ('north-north-east', 'north-north-east', 'south')
    """
    return _((*SIXTEENTHS, DIRECTIONS[4])[round(bearing_deg % 180.0 / 22.5)])


def axis(bearing_deg: float) -> str:
    """Which way a long thing points, by both its ends.

    Examples
    --------
    >>> axis(92)
    'east to west'
    >>> axis(140)
    'north-west to south-east'
    """
    first = _eighth(bearing_deg)
    if DIRECTIONS[first] not in ("north", "east", "north-east", "north-west"):
        first = (first + 4) % 8
    return _("{one} to {other}").format(
        one=_(DIRECTIONS[first]), other=_(DIRECTIONS[(first + 4) % 8])
    )


def _tenths(number: float) -> str:
    """A number to a tenth, whole where that is none."""
    tenths = round(number, 1)
    return written(tenths, ",.0f" if tenths == int(tenths) else ",.1f")


def length(metres: float, units: Units) -> str:
    """A length in the units of the site.

    Examples
    --------
    >>> length(12.5, "metric"), length(12.5, "us")
    ('12.5 m', '41 ft')
    """
    if units == "us":
        return _("{number} ft").format(number=written(metres * FEET_PER_METRE, ".0f"))
    return f"{_tenths(metres)} m"


def length_range(ends_m: Sequence[float], units: Units) -> str:
    """A stretch of a tape, its unit said once.

    Examples
    --------
    >>> length_range((0.0, 12.5), "metric"), length_range((0.0, 12.5), "us")
    ('0 to 12.5 m', '0 to 41 ft')
    """
    if units == "us":
        low, high = (written(at * FEET_PER_METRE, ".0f") for at in ends_m)
        return _("{low} to {high} ft").format(low=low, high=high)
    low, high = map(_tenths, ends_m)
    return _("{low} to {high} m").format(low=low, high=high)


def way(metres: float | None, units: Units) -> str:
    """A straight way to a whole metre or foot, or that its end is not on the map.

    Examples
    --------
    >>> way(12.4, "metric"), way(None, "metric")
    ('12 m', 'not on the map')
    """
    return _("not on the map") if metres is None else whole_length(metres, units)


def whole_length(metres: float, units: Units) -> str:
    """A length to a whole metre or foot.

    Examples
    --------
    >>> whole_length(12.4, "metric"), whole_length(12.4, "us")
    ('12 m', '41 ft')
    """
    return length(metres if units == "us" else round(metres), units)


def depth(metres: float, units: Units) -> str:
    """Depth of cold air, to a tenth.

    Examples
    --------
    >>> depth(2.0, "metric"), depth(2.0, "us")
    ('2.0 m', '6.6 ft')
    """
    if units == "us":
        return _("{number} ft").format(number=written(metres * FEET_PER_METRE, ".1f"))
    return f"{written(metres, '.1f')} m"


def round_length_m(longest_m: float, units: Units) -> float:
    """The longest length of 1, 2 or 5 and noughts in the units of the site, for a scale.

    Examples
    --------
    >>> round_length_m(37.0, "metric"), round(round_length_m(37.0, "us"), 2)
    (20.0, 30.48)
    """
    per_unit = 1 / FEET_PER_METRE if units == "us" else 1.0
    lengths = [factor * 10.0**power for power in range(5) for factor in (1, 2, 5)]
    fits = (length for length in lengths if length * per_unit <= longest_m)
    return max(fits, default=1.0) * per_unit


def height(metres: float, units: Units) -> str:
    """A height to a tenth, where whole feet would be too coarse.

    Examples
    --------
    >>> height(2.0, "metric"), height(1.66, "metric"), height(2.0, "us")
    ('2 m', '1.7 m', '6.6 ft')
    """
    if units == "us":
        return _("{number} ft").format(number=_tenths(metres * FEET_PER_METRE))
    return length(metres, units)


def height_range(ends_m: Sequence[float], units: Units) -> str:
    """Heights within limits; half feet inside them.

    Examples
    --------
    >>> height_range((1.25, 2.0), "metric"), height_range((1.25, 2.0), "us")
    ('1.25 to 2 m', '4.5 to 6.5 ft')
    """
    if units == "us":
        # Rounded, so that the last bit of a float takes no half foot off.
        low_ft, high_ft = (round(2 * end * FEET_PER_METRE, 6) for end in ends_m)
        return _("{low} to {high} ft").format(
            low=written(math.ceil(low_ft) / 2), high=written(math.floor(high_ft) / 2)
        )
    low_m, high_m = ends_m
    return _("{low} to {high} m").format(low=written(low_m), high=written(high_m))


def distance(kilometres: float, units: Units) -> str:
    """A way over land.

    Examples
    --------
    >>> distance(5.23, "metric"), distance(5.23, "us")
    ('5.2 km', '3.2 miles')
    """
    if units == "us":
        return _("{number} miles").format(number=_tenths(kilometres / 1.609344))
    return f"{_tenths(kilometres)} km"


def short_length(metres: float, units: Units) -> str:
    """A length that one measures along a rule.

    Examples
    --------
    >>> short_length(0.75, "metric"), short_length(0.762, "us")
    ('75 cm', '30 in')
    """
    if units == "us":
        return _("{number} in").format(
            number=written(metres * FEET_PER_METRE * 12, ".0f")
        )
    return f"{written(metres * 100, '.0f')} cm"


def figures(number: float, count: int) -> float:
    """A number rounded to a count of significant figures, halves up.

    Examples
    --------
    >>> figures(1374, 2), figures(11_850, 3), figures(0.0846, 2)
    (1400.0, 11900.0, 0.085)
    """
    if not number:
        return number
    step = 10.0 ** (math.floor(math.log10(abs(number))) + 1 - count)
    return float(f"{math.floor(number / step + 0.5) * step:.{count}g}")


def area(square_metres: float, units: Units) -> str:
    """An area in the units of the site, to three figures: no outline is known better.

    Examples
    --------
    >>> area(6600, "metric"), area(22.5, "metric"), area(6600, "us")
    ('6,600 m²', '22.5 m²', '1.63 acres')
    >>> area(11_857, "metric"), area(11_850, "metric"), area(985.4, "metric")
    ('11,900 m²', '11,900 m²', '985 m²')
    """
    if units == "us":
        if square_metres < SQUARE_METRES_PER_ACRE / 4:
            square_feet = square_metres * FEET_PER_METRE**2
            feet = written(figures(square_feet, 3), ",.0f")
            return _("{number} sq ft").format(number=feet)
        acres = written(square_metres / SQUARE_METRES_PER_ACRE, ".2f")
        return _("{number} acres").format(number=acres)
    return (
        f"{written(figures(square_metres, 3), ',.0f')} m²"
        if square_metres >= 100
        else f"{written(square_metres)} m²"
    )


def volume(cubic_metres: float, units: Units) -> str:
    """An amount of earth, to two figures at most.

    Examples
    --------
    >>> volume(3.21, "metric"), volume(123.0, "metric"), volume(10.0, "us")
    ('3 m³', '120 m³', '13 cubic yards')
    """
    amount = cubic_metres / 0.9144**3 if units == "us" else cubic_metres
    rounded = round(amount, -1) if amount >= 100 else round(amount)
    if units == "us":
        return _("{number} cubic yards").format(number=written(rounded, ",.0f"))
    return f"{written(rounded, ',.0f')} m³"


def speed(metres_per_second: float, units: Units) -> str:
    """A wind, as forecasts tell it.

    Examples
    --------
    >>> speed(15.0, "metric"), speed(15.0, "us")
    ('54 km/h', '34 mph')
    """
    if units == "us":
        return _("{number} mph").format(
            number=written(metres_per_second / 0.44704, ".0f")
        )
    return f"{written(metres_per_second * 3.6, '.0f')} km/h"


def careful_temperature(celsius: float | None, units: Units) -> str:
    """A temperature from which something is done: a whole degree, rounded down.

    Examples
    --------
    >>> careful_temperature(15.6, "metric"), careful_temperature(15.6, "us")
    ('15 °C', '60 °F')
    """
    if celsius is None:
        return ""
    if units == "us":
        return f"{written(math.floor(celsius * 1.8 + 32), 'd')} °F"
    return f"{written(math.floor(celsius), 'd')} °C"


def careful_gust(gust_m_s: float | None, units: Units) -> str:
    """A gust that is not promised: rounded down to 5 km/h or mph.

    Examples
    --------
    >>> careful_gust(14.3, "metric"), careful_gust(14.3, "us"), careful_gust(None, "us")
    ('50 km/h', '30 mph', '')
    """
    if gust_m_s is None:
        return ""
    per_unit = 0.44704 if units == "us" else 1 / 3.6
    whole = CAREFUL_STEP * math.floor(gust_m_s / per_unit / CAREFUL_STEP)
    return speed(whole * per_unit, units)


def full_sun(light_mj_m2: float) -> str:
    """Light of a day as hours of the sun at its fullest: 1 kW/m², so 3.6 MJ/m² an hour.

    The peak sun hours of solar trade, common practice.

    Examples
    --------
    >>> full_sun(3.6), full_sun(19.8)
    ('1.0 h', '5.5 h')
    """
    return _("{number} h").format(number=written(light_mj_m2 / 3.6, ".1f"))


def mass(kilograms: float, units: Units) -> str:
    """What is carried.

    Examples
    --------
    >>> mass(440.0, "metric"), mass(1440.0, "metric"), mass(440.0, "us")
    ('440 kg', '1,400 kg', '970 lb')
    """
    if units == "us":
        return _("{number} lb").format(number=written(kilograms / 0.45359237, ",.0f"))
    if kilograms >= 1000.0:
        return f"{written(round(kilograms, -2), ',.0f')} kg"
    return f"{written(kilograms)} kg"


def rain(millimetres: float, units: Units) -> str:
    """A depth of rain.

    Examples
    --------
    >>> rain(50.0, "metric"), rain(50.0, "us")
    ('50 mm', '2 in')
    """
    if units == "us":
        return _("{number} in").format(number=_tenths(millimetres / 25.4))
    return f"{written(millimetres)} mm"


def pipe(metres: float, units: Units) -> str:
    """A length that is cut, to a centimetre or a quarter of an inch.

    Examples
    --------
    >>> pipe(1.93, "metric"), pipe(1.93, "us"), pipe(0.2, "us")
    ('1.93 m', '6 ft 4 in', '7.75 in')
    """
    if units != "us":
        return f"{written(metres, '.2f')} m"
    quarters = round(metres / 0.0254 * 4)
    feet, inches = divmod(quarters / 4, 12)
    shown = written(inches)  # quarters: two decimals at most
    if not feet:
        return _("{number} in").format(number=shown)
    return _("{feet} ft {inches} in").format(feet=written(feet, ".0f"), inches=shown)


def water(litres: float, units: Units) -> str:
    """An amount of water, to two digits.

    Examples
    --------
    >>> water(5377.0, "metric"), water(5377.0, "us"), water(83.4, "metric")
    ('5,400 litres', '1,400 gallons', '83 litres')
    """
    amount = litres / LITRES_PER_GALLON if units == "us" else litres
    text = _("{number} gallons") if units == "us" else _("{number} litres")
    return text.format(number=written(float(f"{amount:.2g}"), ",.0f"))


def difference(offset_c: float, units: Units) -> str:
    """How much colder or warmer, in words.

    Examples
    --------
    >>> difference(-0.8, "metric"), difference(0.1, "metric"), difference(1.0, "us")
    ('1 °C colder', 'about the same', '2 °F warmer')
    """
    shown = rounded_c(offset_c)
    if shown == 0:
        return _("about the same")
    size = abs(shown)
    amount = (
        f"{written(size * 1.8, '.0f')} °F" if units == "us" else f"{written(size)} °C"
    )
    text = _("{amount} colder") if shown < 0 else _("{amount} warmer")
    return text.format(amount=amount)


def temperature(celsius: float, units: Units) -> str:
    """A temperature of the air in the units of the site.

    Examples
    --------
    >>> temperature(-0.74, "metric"), temperature(-0.74, "us"), temperature(0, "metric")
    ('−0.5 °C', '31 °F', '0 °C')
    """
    if units == "us":
        fahrenheit = round(celsius * 1.8 + 32) + 0
        return f"{written(fahrenheit, 'd')} °F"
    return f"{written(rounded_c(celsius))} °C"


def degrees(size_c: float, units: Units) -> str:
    """The size of a difference of temperatures.

    Examples
    --------
    >>> degrees(1.0, "metric"), degrees(1.0, "us")
    ('1 °C', '1.8 °F')
    """
    size = size_c + 0.0  # without the sign of a negative zero
    return (
        f"{written(size * 1.8, '.1f')} °F" if units == "us" else f"{written(size)} °C"
    )


def against(over_c: float, units: Units) -> str:
    """How far above or under something else, to a tenth of a degree.

    Examples
    --------
    >>> against(-3.0, "metric"), against(0.5, "us")
    ('3.0 °C colder than', '0.9 °F warmer than')
    """
    text = _("{degrees} colder than") if over_c < 0 else _("{degrees} warmer than")
    return text.format(degrees=signed(abs(over_c), units).removeprefix("+"))


def signed(offset_c: float, units: Units) -> str:
    """A difference of temperatures with its sign, to a tenth of a degree.

    Examples
    --------
    >>> signed(-1.0, "metric"), signed(1.0, "us")
    ('−1.0 °C', '+1.8 °F')
    """
    return (
        f"{written(offset_c * 1.8, '+.1f')} °F"
        if units == "us"
        else f"{written(offset_c, '+.1f')} °C"
    )


def factor(low_central_high: Sequence[float]) -> str:
    """A factor with its range.

    Examples
    --------
    >>> factor((0.8, 1.4, 2.0))
    '1.4 times (0.8 to 2.0 times)'
    """
    least, likely, most = (written(each, ".1f") for each in low_central_high)
    return _("{likely} times ({least} to {most} times)").format(
        likely=likely, least=least, most=most
    )


def night(low_c: float, central_c: float, high_c: float, units: Units) -> str:
    """The range of an offset in words; one answer where all three are shown alike.

    Parameters
    ----------
    low_c
        The coldest plausible offset [°C].
    central_c
        The likely offset [°C].
    high_c
        The warmest plausible offset [°C].
    units
        "metric" or "us", for degrees.

    Examples
    --------
    >>> night(-1.0, -0.5, 0.0, "metric")
    'likely 0.5 °C colder (range: 1 °C colder to about the same)'
    >>> night(-0.1, 0.0, 0.1, "metric")
    'about the same'
    """
    worst, likely, best = (
        difference(value, units) for value in (low_c, central_c, high_c)
    )
    if worst == likely == best:
        return likely
    text = _("likely {likely} (range: {low} to {high})")
    return text.format(likely=likely, low=worst, high=best)


CAREFUL_STEP = 5  # of a gust in km/h or mph: printed rounded down
LEVEL_PERCENT = 0.5  # less of a fall is not seen


def fall(percent: float, units: Units) -> str:
    """A grade as a drop over a length that one can tape, no finer than ground is known.

    Steps of 5 cm, from half a metre on of 10 cm; of an inch.

    Examples
    --------
    >>> fall(2.0, "metric"), fall(2.0, "us"), fall(0.2, "metric")
    ('drops 20 cm in 10 m', 'drops 2 in in 10 ft', 'level')
    >>> fall(1.7, "metric"), fall(6.7, "metric"), fall(11.4, "metric")
    ('drops 15 cm in 10 m', 'drops 70 cm in 10 m', 'drops 1.1 m in 10 m')
    """
    if percent < LEVEL_PERCENT:
        return _("level")
    if units == "us":
        return _("drops {drop} in in 10 ft").format(
            drop=written(percent / 100 * 120, ".0f")
        )
    step_cm = 5 if percent < 5.0 else 10
    drop_cm = step_cm * round(percent * 10 / step_cm)
    if drop_cm < 100:
        return _("drops {drop} cm in 10 m").format(drop=drop_cm)
    return _("drops {drop} m in 10 m").format(drop=_tenths(drop_cm / 100))


def ground(percent: float, units: Units) -> str:
    """A grade of the ground as part of a sentence.

    Examples
    --------
    >>> ground(2.0, "metric"), ground(0.2, "metric")
    ('drops 20 cm in 10 m', 'is level')
    """
    return _("is level") if percent < LEVEL_PERCENT else fall(percent, units)


def drop(percent: float, units: Units) -> str:
    """By how much one grade is over another, as a drop over a length that one can tape.

    Examples
    --------
    >>> drop(1.1, "metric"), drop(1.1, "us")
    ('11 cm in 10 m', '1.3 in in 10 ft')
    """
    if units == "us":
        return _("{drop} in in 10 ft").format(drop=_tenths(percent / 100 * 120))
    return _("{drop} cm in 10 m").format(drop=written(percent * 10, ".0f"))


def compared_light(more: float) -> str:
    """How much more light than something else, in whole per cent.

    Examples
    --------
    >>> compared_light(0.08), compared_light(-0.031), compared_light(0.004)
    ('8 % more light', '3 % less light', 'the same light')
    """
    percent = round(100 * abs(more))
    if percent == 0:
        return _("the same light")
    text = _("{percent} % more light") if more > 0 else _("{percent} % less light")
    return text.format(percent=percent)


def days_later(low: float, central: float, high: float, rank: int) -> str:
    """How much later than the first bed a bed is ready to plant.

    Parameters
    ----------
    low
        Days later than the first bed at least.
    central
        Days later, likely.
    high
        Days later at most.
    rank
        Place of the bed in the order of planting, from 1. At 1 the days are left out.

    Examples
    --------
    >>> days_later(3.6, 6.2, 9.1, 5)
    'this bed is ready to plant 6 days after the first bed (range: 4 to 9)'
    >>> days_later(12.7, 13.0, 13.1, 5)
    'this bed is ready to plant about 13 days after the first bed'
    >>> days_later(-1.0, 4.0, 25.0, 5)
    'this bed is ready to plant 4 days after the first bed (range: 1 day before it to 25 days after it)'
    >>> days_later(-1.0, 0.5, 2.0, 1)
    'you can plant this bed together with the first beds'
    """
    if rank == 1:
        return _("you can plant this bed together with the first beds")
    if round(low) == round(high):
        return plural(
            "this bed is ready to plant about {number} day after the first bed",
            "this bed is ready to plant about {number} days after the first bed",
            round(central),
        )
    if round(low) < 0:
        return plural(
            "this bed is ready to plant {number} day after the first bed (range: {low} before it to {high} after it)",
            "this bed is ready to plant {number} days after the first bed (range: {low} before it to {high} after it)",
            round(central),
            low=_days(-round(low)),
            high=_days(round(high)),
        )
    return plural(
        "this bed is ready to plant {number} day after the first bed (range: {low} to {high})",
        "this bed is ready to plant {number} days after the first bed (range: {low} to {high})",
        round(central),
        low=f"{round(low)}",
        high=f"{round(high)}",
    )


def _days(number: int) -> str:
    return plural("{number} day", "{number} days", number)


def duration(hours: float) -> str:
    """A time in hours and minutes, to five minutes.

    Examples
    --------
    >>> duration(0.81), duration(2.0), duration(1.5)
    ('50 minutes', '2 hours', '1 hour 30 minutes')
    """
    whole, minutes = divmod(5 * round(hours * 12), 60)
    parts = []
    if whole:
        parts.append(plural("{number} hour", "{number} hours", whole))
    if minutes or not whole:
        parts.append(plural("{number} minute", "{number} minutes", minutes))
    return " ".join(parts)


def odds(risk: float) -> str:
    """A share of years in the words people use.

    Examples
    --------
    >>> odds(0.1), odds(0.5), odds(0.15)
    ('1 year in 10', '1 year in 2', '15 years in 100')
    """
    if abs(1 / risk - round(1 / risk)) < 0.01:
        return _("1 year in {years}").format(years=round(1 / risk))
    return _("{years} years in 100").format(years=round(100 * risk))


def day(month: int, day_of_month: int) -> str:
    """A day of the year, as it is written where one lives.

    Examples
    --------
    >>> day(5, 24)
    '24 May'
    """
    return language.day(month, day_of_month)


# What a number of a table is multiplied by for those who read it, by the unit at the end of
# its key: the name of the unit there, and its size.
TABLES: Mapping[Units, Mapping[str, tuple[str, float]]] = {
    "metric": {
        "_m": ("m", 1.0),
        "_m2": ("m²", 1.0),
        "_kg": ("kg", 1.0),
        "_m_s": ("km/h", 3.6),
    },
    "us": {
        "_m": (later("ft"), FEET_PER_METRE),
        "_m2": (later("sq ft"), FEET_PER_METRE**2),
        "_kg": (later("lb"), 1 / 0.45359237),
        "_m_s": (later("mph"), 1 / 0.44704),
    },
}


def of_table(number: float, key: str, units: Units) -> tuple[float, str]:
    """A number of a table in the units of the site, and their name; "" where it has none.

    Parameters
    ----------
    number
        The number in metric units.
    key
        Name of its column, with the unit at the end; a unit of length, area, mass or
        speed is changed.
    units
        "metric" or "us".

    Examples
    --------
    >>> of_table(2.0, "cut_m", "us"), of_table(10.0, "holds_to_m_s", "metric")
    ((6.56, 'ft'), (36.0, 'km/h'))
    >>> of_table(3, "hoops", "us")
    (3, '')
    """
    for unit, (name, size) in TABLES[units].items():
        if key.endswith(unit):
            return (number if size == 1.0 else round(number * size, 2)), _(name)
    return number, ""
