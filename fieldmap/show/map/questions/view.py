"""What a question shows: an answer in words, a legend, and a picture of the ground."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.model.raster import Raster

# Around words that are underlined in the colour of a ramp, within a sentence that is
# filled in: letters of the private use area, which no name that was read may hold.
_OPENS, _CLOSES = "\ue000", "\ue001"
_NUMBER = re.compile(r"(?<![\w.])(\d[\d.,]*) (?=[^\W\d]|°|%)")
_MARKED = re.compile(f"{_OPENS}([a-z]+)/([0-9.]+)/([^{_CLOSES}]*){_CLOSES}")


class Run(NamedTuple):
    """Some words of an answer.

    Attributes
    ----------
    ramp, at
        They are underlined in the colour of this ramp at a place from 0 to 1; empty: not.
    leads
        They are the first clause, which answers.
    """

    text: str
    ramp: str = ""
    at: float = 0.0
    leads: bool = False


def marked(text: str, ramp: str, at: float) -> str:
    r"""Words that `answer` is to underline in the colour of a ramp.

    Parameters
    ----------
    text
        The words.
    ramp
        Key of the ramp, of small letters only.
    at
        Place of the colour on the ramp, from 0 to 1.

    Examples
    --------
    >>> answer("First.", f"Plant {marked('from 2 May', 'dates', 0.25)}.")[2]
    Run(text='from 2\xa0May', ramp='dates', at=0.25, leads=False)
    """
    return f"{_OPENS}{ramp}/{at:.3f}/{text}{_CLOSES}"


def answer(lead: str, *rest: str) -> tuple[Run, ...]:
    """The sentence that answers, then others, as runs of words."""
    runs = [Run(_bound(lead), leads=True)]
    parts = _MARKED.split("".join(f" {_bound(each)}" for each in rest if each))
    runs.append(Run(parts[0]))
    for ramp, at, text, after in zip(*(parts[n::4] for n in (1, 2, 3, 4)), strict=True):
        runs += [Run(text, ramp, float(at)), Run(after)]
    return tuple(run for run in runs if run.text)


def _bound(text: str) -> str:
    """A number stays on the line of its unit or month."""
    return _NUMBER.sub("\\1\u00a0", text)


class Tick(NamedTuple):
    """A mark on a ramp, from 0 to 1, with what stands on either side of it."""

    at: float
    text: str
    beside: str = ""


class Bracket(NamedTuple):
    """What lies between two places of a ramp, such as the beds of a plot.

    Attributes
    ----------
    row
        Where its words stand, from 0 to 1: as near as others leave room.
    """

    first: float
    last: float
    name: str
    text: str
    row: float


@dataclass(frozen=True)
class RampLegend:
    """A ramp of colours with true spacing.

    Attributes
    ----------
    heads
        Over what stands on either side of it.
    rises
        The place 1 is at the top where the ramp stands upright.
    """

    ramp: str
    ticks: tuple[Tick, ...]
    brackets: tuple[Bracket, ...] = ()
    heads: tuple[str, str] = ("", "")
    rises: bool = False


class Swatch(NamedTuple):
    """A pattern and its word."""

    kind: str
    text: str


class BedRamp(NamedTuple):
    """A place from 0 to 1 on a ramp for each bed, NaN where not known."""

    ramp: str
    at: npt.NDArray[np.floating]


class BedPatterns(NamedTuple):
    """The name of a pattern for each bed."""

    names: tuple[str, ...]


class Ground(NamedTuple):
    """Ground in the colours of a ramp: places from 0 to 1 on it, NaN is left clear.

    Attributes
    ----------
    lines
        Places at which a line is drawn, with what stands on it.
    """

    ramp: str
    at: Raster
    lines: Mapping[float, str] = {}


def shade_over(tunnel: str) -> str:
    """What a picture has among its extras where a tunnel gets shade cloth."""
    return f"shade-over-{tunnel}"


@dataclass(frozen=True)
class Picture:
    """What the map draws.

    Attributes
    ----------
    extras
        Sets of things that are drawn for this question alone.
    outlined
        Beds by number.
    plots
        Plots with a line under their name.
    named
        Beds by number that the answer names.
    """

    beds: BedRamp | BedPatterns | None = None
    ground: Ground | None = None
    extras: tuple[str, ...] = ()
    outlined: tuple[int, ...] = ()
    plots: tuple[tuple[str, str], ...] = ()
    named: tuple[int, ...] = ()


@dataclass(frozen=True)
class View:
    """One picture of a question with its answer.

    Attributes
    ----------
    name
        A month or a change; empty where the question has one view.
    note
        A line under the legend.
    more
        Sentences that are folded away.
    """

    answer: tuple[Run, ...]
    picture: Picture = Picture()
    name: str = ""
    ramp: RampLegend | None = None
    swatches: tuple[Swatch, ...] = ()
    note: str = ""
    more: tuple[str, ...] = ()

    @property
    def said(self) -> str:
        """The answer as plain text."""
        return "".join(run.text for run in self.answer)


@dataclass(frozen=True)
class Question:
    """A question with one view, or one for each of several names.

    Attributes
    ----------
    first
        The view that is shown first.
    """

    key: str
    text: str
    views: tuple[View, ...]
    first: int = 0


def linear_ticks(
    low: float, high: float, steps: Iterable[tuple[float, str]]
) -> tuple[Tick, ...]:
    """Ticks at values between the ends of a ramp, true to scale, named at the right.

    Parameters
    ----------
    low
        Value at the place 0 of the ramp.
    high
        Value at the place 1, in the same unit. It must differ from `low`.
    steps
        Values with their words. Those beyond the ends are left out, and those too near
        to another.
    """
    return thinned(
        Tick(float((value - low) / (high - low)), "", text)
        for value, text in steps
        if low <= value <= high
    )


def ends_of_runs(beds: Iterable[int]) -> tuple[int, ...]:
    """The first and last of each run of neighbours, which a sentence names.

    Examples
    --------
    >>> ends_of_runs([4, 1, 2, 3, 8])
    (1, 4, 8)
    """
    found = set(beds)
    return tuple(bed for bed in sorted(found) if not {bed - 1, bed + 1} <= found)


ROW = 0.105  # of a legend's height, for a line of words
FEWEST_APART = 0.085


def spread(wanted: Sequence[float], apart: float = ROW) -> list[float]:
    """Rows as near as may be to where they are wanted, in order and not over each other.

    Examples
    --------
    >>> spread([0.0, 0.0, 1.0], 0.25)
    [0.0, 0.25, 1.0]
    """
    rows: list[float] = []
    for place in wanted:
        rows.append(max(place, rows[-1] + apart) if rows else place)
    # What ran over the end moves back.
    limit = 1.0
    for at in reversed(range(len(rows))):
        rows[at] = round(max(0.0, min(rows[at], limit)), 3)
        limit = rows[at] - apart
    return rows


def thinned(ticks: Iterable[Tick], apart: float = FEWEST_APART) -> tuple[Tick, ...]:
    """Ticks without those too near the one before; the last always stays."""
    every = sorted(ticks)
    kept: list[Tick] = []
    for tick in every:
        if not kept or tick.at - kept[-1].at >= apart:
            kept.append(tick)
    if every and kept[-1].at < every[-1].at:
        if len(kept) > 1:
            kept.pop()
        kept.append(every[-1])
    return tuple(kept)
