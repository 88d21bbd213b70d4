"""The sentence with blanks: what may stand in each, and what stands there first."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.region.parcels.facts import SLOPES_PERCENT, USUAL_SLOPE, ParcelFacts
from fieldmap.region.parcels.season import USUAL, YEARS, Seasons
from fieldmap.show.text.language import written
from fieldmap.show.text.quantities import Units, difference
from fieldmap.show.text.site import parcels as words

Floats = npt.NDArray[np.float64]

STEP_DAYS, MOST_OPTIONS = 5, 30
NIGHTS_C = (0.0, -0.5, -1.0, -1.5, -2.0, -3.0)
HECTARES = (0.1, 0.2, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0)
ACRES = (0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 25.0, 50.0)
ACRES_PER_HECTARE = 1e4 / words.SQUARE_METRES_PER_ACRE
# The first question keeps this part of the parcels on each count: few enough to look at,
# and more than one (a choice).
FIRST_PART = 0.3


class Option(NamedTuple):
    """What may stand in a blank, and how it is written."""

    value: float
    word: str
    chosen: bool = False


class Piece(NamedTuple):
    """Words of the sentence, or a blank with what may stand in it."""

    text: str = ""
    blank: str = ""
    label: str = ""
    options: tuple[Option, ...] = ()


def sentence(
    facts: ParcelFacts, seasons: Seasons | None, units: Units
) -> Iterator[Piece]:
    """The sentence in pieces, by days without frost or, without a record, by nights.

    Parameters
    ----------
    facts
        Facts of all parcels, of which the values in the blanks are made.
    seasons
        Frost-free days of the parcels; None where there is no record for them.
    units
        Units that people read.
    """
    options = _options(facts, seasons, units)
    text = words.of_page("sentence_nights" if seasons is None else "sentence")
    labels = words.blanks()
    for piece in _pieces(text):
        if piece in options:
            yield Piece(blank=piece, label=labels[piece], options=options[piece])
        else:
            yield Piece(text=piece)


def _pieces(text: str) -> Iterator[str]:
    """Words and names of blanks in turn."""
    for part in text.split("{"):
        name, closed, rest = part.partition("}")
        yield name
        if closed:
            yield rest


def _options(
    facts: ParcelFacts, seasons: Seasons | None, units: Units
) -> dict[str, tuple[Option, ...]]:
    said = words.blanks()
    found = {
        "slope": tuple(
            Option(at, said["percent"].format(number=f"{slope:g}"), at == USUAL_SLOPE)
            for at, slope in enumerate(SLOPES_PERCENT)
        ),
        "hectares": _areas(facts.dry_ha[USUAL_SLOPE], units),
        "degrees": tuple(
            Option(
                each - 0.25,  # as it is shown, in steps of half a degree
                difference(each, units) if each else said["no_colder"],
                chosen=each == 0.0,
            )
            for each in NIGHTS_C
        ),
    }
    if seasons is not None:
        found["days"] = _days(seasons.days[USUAL, 1])
        found["years"] = tuple(
            Option(at, said["of_years"].format(good=good, of=of), at == USUAL)
            for at, (good, of) in enumerate(YEARS)
        )
    return found


def _days(likely: Floats) -> tuple[Option, ...]:
    """Days in round steps over what parcels have, and any number."""
    said = words.blanks()
    known = likely[~np.isnan(likely)]
    options = [Option(0, said["any_days"])]
    if not len(known):
        return (options[0]._replace(chosen=True),)
    least, most = known.min(), known.max()
    step = STEP_DAYS * int(np.ceil((most - least) / (STEP_DAYS * MOST_OPTIONS)) or 1)
    first = int(np.floor(least / step)) * step
    days = list(range(first, int(most) + 1, step))
    wanted = _at_most(days, np.quantile(known, 1 - FIRST_PART))
    options += [
        Option(each, said["some_days"].format(number=each), each == wanted)
        for each in days
    ]
    return tuple(options)


def _areas(dry_ha: Floats, units: Units) -> tuple[Option, ...]:
    """Areas in the units of the region, valued in hectares."""
    said = words.blanks()
    key, per_ha = ("acres", ACRES_PER_HECTARE) if units == "us" else ("hectares", 1.0)
    text = words.words()[key]
    amounts = ACRES if units == "us" else HECTARES
    known = dry_ha[~np.isnan(dry_ha)]
    usual = float(np.median(known)) * per_ha if len(known) else 0.0
    wanted = _at_most(amounts, min(usual, 2.5))
    return (
        Option(0, said["any_area"], wanted is None),
        *(
            Option(
                round(each / per_ha, 4),
                text.format(number=written(each)),
                each == wanted,
            )
            for each in amounts
        ),
    )


def _at_most(steps: Sequence[float], value: float) -> float | None:
    """The largest step that is no more than a value."""
    return max((each for each in steps if each <= value), default=None)


def columns(values: Floats, digits: int) -> list[list[float | None]]:
    """Rows of numbers for JSON, null where one is not known."""
    return [[_plain(each, digits) for each in row] for row in values.tolist()]


def _plain(value: float, digits: int) -> float | None:
    return None if value != value else round(value, digits) + 0.0  # noqa: PLR0124


def of_seasons(seasons: Seasons | None) -> Any:
    """Low, likely and high days by years and parcel."""
    return None if seasons is None else [columns(each, 0) for each in seasons.days]
