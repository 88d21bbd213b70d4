"""A harvest to aim at, as a grower writes it: "40 heads a week, June to October"."""

import re
from collections.abc import Mapping
from typing import Annotated, Literal, NamedTuple

from pydantic import BeforeValidator

from fieldmap.errors import Problem, problem

MonthDay = tuple[int, int]
Unit = Literal["head", "kg"]

MONTHS = (
    *("january", "february", "march", "april", "may", "june", "july", "august"),
    *("september", "october", "november", "december"),
)
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
KG_PER_POUND = 0.45359237
# Words of an amount, and how much of its unit one is.
WORDS: Mapping[str, tuple[Unit, float]] = {
    "head": ("head", 1.0),
    "heads": ("head", 1.0),
    "kg": ("kg", 1.0),
    "kilo": ("kg", 1.0),
    "kilos": ("kg", 1.0),
    "kilogram": ("kg", 1.0),
    "kilograms": ("kg", 1.0),
    "lb": ("kg", KG_PER_POUND),
    "lbs": ("kg", KG_PER_POUND),
    "pound": ("kg", KG_PER_POUND),
    "pounds": ("kg", KG_PER_POUND),
}
MOST_A_WEEK = 100_000
SENTENCE = re.compile(
    r"(?P<amount>\d{1,9}(\.\d{1,3})?) *(?P<word>[a-z]+) +(a|each|every|per) +week,?"
    r" +(from +)?(?P<first>[a-z0-9 ]+?) +(to|until) +(?P<last>[a-z0-9 ]+)"
)
WHEN = re.compile(r"((?P<before>\d{1,2}) +)?(?P<month>[a-z]+)( +(?P<after>\d{1,2}))?")


class Harvest(NamedTuple):
    """What is to be picked each week, from one day of the year to another.

    Attributes
    ----------
    amount, unit
        Heads, or kilograms.
    first, last
        Month and day, both within.
    """

    amount: float
    unit: Unit
    first: MonthDay
    last: MonthDay


def parse(given: object) -> object:
    """A sentence as a harvest; what is no text stays, and is refused as such.

    Examples
    --------
    >>> parse("40 heads a week, June to 15 October")
    Harvest(amount=40.0, unit='head', first=(6, 1), last=(10, 15))
    """
    if not isinstance(given, str):
        return given
    found = SENTENCE.fullmatch(" ".join(given.lower().split()))
    if found is None:
        raise ValueError(_not_understood(given))
    word = found["word"]
    if word not in WORDS:
        unknown = problem('harvest counts in "{word}"; use heads, kg or lb', word=word)
        raise ValueError(unknown)
    unit, worth = WORDS[word]
    amount = float(found["amount"]) * worth
    if not 0 < amount <= MOST_A_WEEK:
        wrong = problem(
            "harvest asks for {amount} a week; it must be more than 0 and at most"
            " {most}",
            amount=found["amount"],
            most=MOST_A_WEEK,
        )
        raise ValueError(wrong)
    first, last = (_when(found[end], end) for end in ("first", "last"))
    return Harvest(amount, unit, first, last)


def _not_understood(text: str) -> Problem:
    return problem(
        "harvest is {value!r}; write it as {right}",
        value=text[:80],
        right='"40 heads a week, June to October" or "8 kg a week, 15 July to 20 August"',
    )


def _when(text: str, end: str) -> MonthDay:
    """A month, or a day of one; of a month alone its first or its last day."""
    found = WHEN.fullmatch(text)
    months = [
        number
        for number, name in enumerate(MONTHS, start=1)
        if found is not None
        and len(found["month"]) >= 3
        and name.startswith(found["month"])
    ]
    if found is not None and len(months) == 1:
        (month,) = months
        longest = MONTH_DAYS[month - 1]
        day = found["before"] or found["after"]
        if not (found["before"] and found["after"]):
            chosen = int(day) if day else {"first": 1, "last": longest}[end]
            if 1 <= chosen <= longest:
                return month, chosen
    wrong = problem(
        'harvest has "{when}" for a day; write a month, such as June, or a day,'
        " such as 15 June",
        when=text,
    )
    raise ValueError(wrong)


HarvestFromText = Annotated[Harvest, BeforeValidator(parse)]
