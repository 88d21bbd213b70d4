"""Parcels of a region in words: facts, reasons and the page to choose by."""

from collections.abc import Sequence

from fieldmap.model.fact import Fact
from fieldmap.show.text import names
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, month_name, plural, written
from fieldmap.show.text.quantities import Units, difference, direction, full_sun
from fieldmap.show.text.sentence import fill, say

SAY = texts(__name__, "say")
BLANKS = texts(__name__, "blanks")
PAGE = texts(__name__, "page")
FACTS = texts(__name__, "facts")
CAUTIONS = texts(__name__, "cautions")
LEVEL_PERCENT = 1.5  # of most of a parcel, of which people say that it is level
SQUARE_METRES_PER_ACRE = 4046.8564224


def words() -> dict[str, str]:
    """What the page says as it is used, with its places unfilled."""
    return {key: _(text) for key, text in SAY.items()}


def blanks() -> dict[str, str]:
    """What stands in the blanks of the sentence."""
    return {key: _(text) for key, text in BLANKS.items()}


def of_page(key: str, **values: object) -> str:
    """A text of the page, its sentence with the blanks left in braces."""
    text = PAGE[key]
    if isinstance(text, str):
        return _(text).format(**values) if values else _(text)
    number = int(str(values.pop("number")))
    said = {name: str(value) for name, value in values.items()}
    return plural(text["one"], text["many"], number, **said)


def cautions(folder: str, name: str) -> list[str]:
    """What to mind before one relies on the page."""
    return [_(text).format(folder=folder, name=name) for text in CAUTIONS.values()]


def reason_in_words(facts: Sequence[Fact], units: Units) -> str:
    """The one or two things that set a parcel apart, on one line."""
    if not facts:
        return ""
    return names.started("; ".join(say(fact, units) for fact in facts)) + "."


def night(low_c: float, central_c: float, high_c: float, units: Units) -> str:
    """How cold a still night is against the median parcel.

    Parameters
    ----------
    low_c
        The coldest plausible offset of the parcel [°C].
    central_c
        The likely offset [°C].
    high_c
        The warmest plausible offset [°C].
    units
        "metric" or "us", for degrees.
    """
    low, likely, high = (difference(each, units) for each in (low_c, central_c, high_c))
    is_alike = likely == difference(0.0, units)
    return fill(
        FACTS["night_alike" if is_alike else "night"],
        units,
        low=low,
        likely=likely,
        high=high,
    )


def lie(slope_percent: Sequence[float], faces_deg: float | None) -> str:
    """How steep most of a parcel is, and where it falls to on the whole.

    Parameters
    ----------
    slope_percent
        What a tenth, half and nine tenths of its ground lie below.
    faces_deg
        None where its slopes go several ways.
    """
    parts = ("low", "middle", "high")
    ends = {
        name: written(value, ".0f")
        for name, value in zip(parts, slope_percent, strict=True)
    }
    if slope_percent[-1] < LEVEL_PERCENT:
        return _(FACTS["level"]).format(**ends)
    if faces_deg is None:
        return _(FACTS["several_ways"]).format(**ends)
    return _(FACTS["faces"]).format(**ends, direction=direction(faces_deg))


def sun(year: Sequence[float], dark: Sequence[float], months: Sequence[int]) -> str:
    """Light of a mean day of the year, and of its dark months, with their ends.

    Parameters
    ----------
    year
        Low, middle and high light over the parcel, of a mean day of the year [MJ/m² a
        day].
    dark
        The same of a mean day of the dark months.
    months
        The dark months, 1 for January to 12.
    """
    values = {
        key: full_sun(value)
        for key, value in zip(
            ("year_low", "year", "year_high", "dark_low", "dark", "dark_high"),
            (*year, *dark),
            strict=True,
        )
    }
    named = names.listed([month_name(month) for month in months])
    return _(FACTS["sun"]).format(**values, months=named)


def share_of(key: str, share: float) -> str:
    """A sentence on a part of a parcel."""
    return _(FACTS[key]).format(share=f"{written(100 * share, '.0f')} %")


def plain(key: str) -> str:
    """A sentence on a parcel without a number."""
    return _(FACTS[key])
