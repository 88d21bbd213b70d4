"""The language that people read: texts, plurals and dates.

Every text for people is written in English where it is used, inside `_()` or `plural()`.
A language is one catalogue, `languages/<code>.po`; English needs none. Texts that hold
numbers or names have `{places}` filled in after translation, since other languages put
them in another order.

Babel, which knows plurals and dates, is loaded where it is first needed: help needs none.
"""

from __future__ import annotations

import gettext
import io
import re
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date, datetime, time
from functools import cache, lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from fieldmap.errors import Problem

if TYPE_CHECKING:
    from babel.messages.catalog import Catalog

ENGLISH = "en"


@dataclass(frozen=True)
class Language:
    """Texts of one language.

    Attributes
    ----------
    texts
        English -> translated; of a plural, English singular -> its forms in order.
    locale
        Language and region, for dates.
    form
        Number -> which of the forms.
    """

    code: str
    locale: str = "en_GB"  # for dates: days before months
    texts: dict[str, str] = field(default_factory=dict)
    forms: dict[str, tuple[str, ...]] = field(default_factory=dict)
    form: Callable[[int], int] = lambda number: int(number != 1)

    @property
    def right_to_left(self) -> bool:
        """Whether lines run from right to left."""
        from babel import Locale

        return Locale.parse(self.code).text_direction == "rtl"


_ENGLISH = Language(ENGLISH)
_CURRENT: ContextVar[Language | None] = ContextVar("language", default=None)


def codes() -> tuple[str, ...]:
    """The languages there are, English first."""
    folder = resources.files("fieldmap.show.text.languages")
    there = (file.name for file in folder.iterdir() if file.name.endswith(".po"))
    return (ENGLISH, *sorted(name.removesuffix(".po") for name in there))


@cache
def language(code: str, region: str) -> Language:
    """A language by its code (ISO 639-1), as it is written in a region (ISO 3166-1).

    Raises
    ------
    ValueError
        When there is no catalogue of it.
    """
    from babel.localedata import locale_identifiers

    if code not in codes():
        raise ValueError(f"no language {code!r}; there are {', '.join(codes())}")
    locale = f"{code}_{region}" if f"{code}_{region}" in locale_identifiers() else code
    if code == ENGLISH:
        return Language(code, locale)
    from babel.messages.pofile import read_po

    file = resources.files("fieldmap.show.text.languages").joinpath(f"{code}.po")
    return of_catalogue(locale, read_po(io.BytesIO(file.read_bytes()), locale=code))


def of_site(code: str, units: str) -> Language:
    """The language that a site asks for, with dates as written where it is.

    English where there is no catalogue of it.

    Examples
    --------
    >>> of_site("en", "us").locale, of_site("es", "metric").locale
    ('en_US', 'es_ES')
    """
    known = code if code in codes() else ENGLISH
    region = {"us": "US", "metric": "GB"}[units]
    if known != ENGLISH and region == "GB":
        region = known.upper()
    return language(known, region)


def of_catalogue(locale: str, catalogue: Catalog) -> Language:
    """A language from a catalogue; what is not translated stays English."""
    texts: dict[str, str] = {}
    forms: dict[str, tuple[str, ...]] = {}
    for message in catalogue:
        if not message.id or message.fuzzy:
            continue
        said = message.string or ""
        if isinstance(message.id, str):
            if said:
                texts[message.id] = str(said)
        elif all(said):
            forms[message.id[0]] = tuple(said)
    form = gettext.c2py(catalogue.plural_expr)
    return Language(locale.split("_", maxsplit=1)[0], locale, texts, forms, form)


@contextmanager
def spoken(chosen: Language) -> Iterator[None]:
    """All texts are in this language meanwhile."""
    token = _CURRENT.set(chosen)
    try:
        yield
    finally:
        _CURRENT.reset(token)


def current() -> Language:
    """The language that texts are in."""
    return _CURRENT.get() or _ENGLISH


def _(text: str) -> str:
    """A text in the current language.

    Examples
    --------
    >>> _("bed")
    'bed'
    """
    return current().texts.get(text, text)


def plural(one: str, many: str, number: int, /, **places: str) -> str:
    """The text for a number of things, with `{number}` and other places filled in.

    Parameters
    ----------
    one
        The English text for one thing. It is also the key of the translation.
    many
        The English text for any other number.
    number
        How many things. The language chooses its form by it.
    **places
        What fills the other places of the text, by name; under "number", how the number
        is written where it is not in plain digits.

    Examples
    --------
    >>> plural("one bed", "{number} beds", 1), plural("one bed", "{number} beds", 3)
    ('one bed', '3 beds')
    >>> plural("one bed of {all}", "{number} beds of {all}", 2, all="52")
    '2 beds of 52'
    >>> plural("{number} seed", "{number} seeds", 1320, number="1,320")
    '1,320 seeds'
    """
    here = current()
    forms = here.forms.get(one, (one, many))
    return forms[here.form(number)].format(**{"number": number, **places})


def problem_in_words(problem: Problem | str) -> str:
    """A problem in the current language, with the problems that are parts of it.

    Examples
    --------
    >>> from fieldmap.errors import problem
    >>> problem_in_words(problem("{begin}; mend it.", begin=problem("It is wrong")))
    'It is wrong; mend it.'
    """
    if isinstance(problem, str):
        return problem
    values = {
        name: problem_in_words(value) if isinstance(value, Problem) else value
        for name, value in problem.values.items()
    }
    return _(problem.text).format(**values)


def later(text: str) -> str:
    """Mark a text that `_()` translates where it is used, not where it stands."""
    return text


def translated(texts: Iterable[str]) -> tuple[str, ...]:
    """Texts that were marked with `later()`, in the current language.

    Examples
    --------
    >>> translated(["bed", "path"])
    ('bed', 'path')
    """
    return tuple(_(text) for text in texts)


def day(month: int, day_of_month: int) -> str:
    """A day of any year in words.

    Examples
    --------
    >>> day(5, 24)
    '24 May'
    """
    return _day(month, day_of_month, current().locale)


def month_in_short(month: int) -> str:
    """A month by number, 1 to 12, as it stands below a bar.

    Examples
    --------
    >>> month_in_short(8)
    'Aug'
    """
    from babel import Locale

    months = Locale.parse(current().locale).months["stand-alone"]["abbreviated"]
    return str(months[month])


@lru_cache(maxsize=1000)  # few days, shown for every bed
def _day(month: int, day_of_month: int, locale: str) -> str:
    from babel import dates

    when = date(2000, month, day_of_month)
    return str(dates.format_skeleton("MMMMd", when, locale=locale))


def written(number: float, form: str = "g") -> str:
    """A number as it is written where one lives: true minus, thousands, decimals.

    Parameters
    ----------
    form
        Of Python's `format`.

    Examples
    --------
    >>> written(-0.5), written(6600, ",.0f"), written(1.0, "+.1f")
    ('−0.5', '6,600', '+1.0')
    >>> with spoken(Language("es", "es_ES")):
    ...     print(written(-1234.5, ",.1f"))
    −1.234,5
    """
    return format(number, form).translate(_marks(current().locale))


# Signs of units, and short words for them; what is longer may begin a line.
UNITS = (
    *("°C", "°F", "%", "km/h", "km", "cm", "mm", "m²", "m³", "m", "kg", "t", "h"),
    *("sq", "ft", "mph", "lb"),  # not "in", which is a word too
)
# After a number, or the place where one will stand; and between feet and inches.
_BEFORE_UNIT = re.compile(
    rf"(?<=[\d}}]) (?=(?:{'|'.join(map(re.escape, UNITS))})(?![\w²³/]))"
    r"""|(?<=\d') (?=\d+")"""
)


def unbroken(text: str) -> str:
    r"""A text whose numbers keep to their units: no line breaks between them.

    Examples
    --------
    >>> unbroken("at worst −1 °C in 10 m").split(" ")
    ['at', 'worst', '−1\xa0°C', 'in', '10\xa0m']
    >>> unbroken("2 more beds, 5 metres")
    '2 more beds, 5 metres'
    >>> unbroken("beds of 49' 3\" by 2'").split(" ")
    ['beds', 'of', '49\'\xa03"', 'by', "2'"]
    """
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)


@cache
def _marks(locale: str) -> dict[int, str]:
    """What stands for the marks that Python writes."""
    from babel import numbers

    group, decimal = (
        numbers.get_group_symbol(locale),
        numbers.get_decimal_symbol(locale),
    )
    return str.maketrans({"-": "−", ",": group, ".": decimal})


def date_in_words(when: date) -> str:
    """A day of a year in words.

    Examples
    --------
    >>> from datetime import date
    >>> date_in_words(date(2027, 4, 5))
    '5 April 2027'
    """
    from babel import dates

    return str(dates.format_date(when, "long", locale=current().locale))


def clock(when: datetime) -> str:
    """A time of day in hours and minutes.

    Examples
    --------
    >>> clock(datetime(2026, 5, 6, 18, 5))
    '18:05'
    """
    return _clock(when.time(), current().locale)


@lru_cache(maxsize=2000)  # the lists of a year's evenings name few times, often
def _clock(when: time, locale: str) -> str:
    from babel import dates

    return str(dates.format_time(when, "short", locale=locale))


def month_name(month: int) -> str:
    """A month by number, 1 to 12, as it stands in a sentence.

    Examples
    --------
    >>> month_name(3)
    'March'
    """
    from babel import Locale

    return str(Locale.parse(current().locale).months["stand-alone"]["wide"][month])
