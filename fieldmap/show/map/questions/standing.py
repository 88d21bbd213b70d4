"""Which crops stand on which plots on any day of the year, in few words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import ceil, floor
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.crop_plan import CropPlan, Stay
from fieldmap.model.season_year import DAYS
from fieldmap.show.text import names
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.sentence import phrase

MOST_CROPS = 3  # of a plot that are named, and one more (a choice)
MOST_WORDS = (
    26  # so that answer and legend have under 60, in languages of more words too
)

Counts = npt.NDArray[np.int_]


class Place(NamedTuple):
    """A bed, its plot, and the walk-in tunnel in which it lies; empty outdoors."""

    name: str
    plot: str
    tunnel: str = ""

    @property
    def where(self) -> str:
        """The plot; of a bed inside a tunnel the tunnel, as it is called."""
        if self.tunnel:
            return phrase("cover_on_tunnel", tunnel=self.tunnel)
        return self.plot


class Spell(NamedTuple):
    """Days on which the same is said.

    Attributes
    ----------
    from_day
        Number of the first day in the season-year; it ends before the next spell.
    said
        Sentences, the first of which leads.
    """

    from_day: int
    said: tuple[str, ...]


def spells(plan: CropPlan, beds: Sequence[Place]) -> tuple[Spell, ...]:
    """What stands where through the season-year, from day 1 on.

    Parameters
    ----------
    plan
        Which crop stands on which bed from when to when.
    beds
        All of them, inside tunnels too.
    """
    where = {bed.name: bed.where for bed in beds}
    counts = _beds_by_day(plan.standing_on(where), where)
    if not counts:
        return ()
    table = np.array(list(counts.values()))
    plots = list(dict.fromkeys(bed.plot for bed in beds if not bed.tunnel))
    changes = np.flatnonzero(np.any(np.diff(table, axis=1), axis=0)) + 1
    found: list[Spell] = []
    for at in (0, *map(int, changes)):
        here = tuple(_said(plan, plots, list(counts), table, at))
        if not found or found[-1].said != here:
            found.append(Spell(at + 1, here))
    return tuple(found)


def on_day(of: Sequence[Spell], day: int) -> tuple[str, ...]:
    """What is said on a day of the season-year.

    Examples
    --------
    >>> on_day([Spell(1, ("Kale.",)), Spell(90, ("Peas.",))], 89)
    ('Kale.',)
    """
    return [spell.said for spell in of if spell.from_day <= day][-1]


def _beds_by_day(
    stays: Iterable[Stay], where: Mapping[str, str]
) -> dict[tuple[str, str], Counts]:
    """By plot and crop, on how many beds it stands on each day of the season-year."""
    stands: dict[tuple[str, str], npt.NDArray[np.bool_]] = {}
    for stay in stays:
        here = stands.setdefault((stay.bed, stay.crop), np.zeros(DAYS, bool))
        days = np.arange(ceil(stay.from_day), floor(stay.to_day) + 1)
        here[(days - 1) % DAYS] = True
    counts: dict[tuple[str, str], Counts] = {}
    for (bed, crop), here in stands.items():
        key = where[bed], crop
        counts[key] = counts.get(key, np.zeros(DAYS, int)) + here
    return counts


def _said(
    plan: CropPlan,
    plots: Sequence[str],
    keys: Sequence[tuple[str, str]],
    table: Counts,
    at: int,
) -> Iterator[str]:
    """Sentences of the day at a place in the table: plots with most beds first."""
    by_plot = _by_plot(keys, table[:, at])
    if not by_plot:
        yield from _none(plan, keys, table, at)
        return
    left = MOST_WORDS
    for number, (plot, crops) in enumerate(by_plot.items()):
        said = phrase("grow_has", plot=plot, crops=_few(crops))
        said = names.started(said) if number else said
        left -= len(said.split())
        if number and left < 0:
            rest = len(by_plot) - number
            yield words.counted("grow_more_plots", rest)
            return
        yield said
    bare = [plot for plot in plots if plot not in by_plot]
    if bare and len(bare) <= names.MOST_NAMED:
        said = phrase("grow_bare", number=len(bare), plots=names.listed(bare))
        if left >= len(said.split()):
            yield said


def _none(
    plan: CropPlan, keys: Sequence[tuple[str, str]], table: Counts, at: int
) -> Iterator[str]:
    """That nothing stands, and what comes first where."""
    stands = np.flatnonzero(table.sum(axis=0))
    first = int(min(stands, key=lambda day: (day - at) % DAYS))
    yield phrase("grow_none", until=plan.month_day(first + 1))
    by_plot = _by_plot(keys, table[:, first])
    plot, crops = next(iter(by_plot.items()))
    yield phrase("grow_first", plot=plot, crops=_few(crops))


def _by_plot(keys: Sequence[tuple[str, str]], here: Counts) -> dict[str, list[str]]:
    """Crops of each plot, of the most beds first."""
    of_plot: dict[str, int] = {}
    for (plot, _crop), beds in zip(keys, here, strict=True):
        of_plot[plot] = of_plot.get(plot, 0) + int(beds)
    standing = [(int(beds), *key) for key, beds in zip(keys, here, strict=True) if beds]
    found: dict[str, list[str]] = {}
    for _beds, plot, crop in sorted(
        standing, key=lambda each: (-of_plot[each[1]], -each[0])
    ):
        found.setdefault(plot, []).append(crop)
    return found


def _few(crops: Sequence[str]) -> str:
    """Crops of a plot, the last of many as a count."""
    named = [names.crop(crop) for crop in crops]
    if len(named) <= MOST_CROPS + 1:
        return names.listed(named)
    rest = len(named) - MOST_CROPS
    more = phrase("grow_more_crops", number=rest, count=words.count(rest))
    return names.listed([*named[:MOST_CROPS], more])
