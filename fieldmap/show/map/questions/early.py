"""The question which beds can be planted first."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.calendar.planting_dates import Dates, how
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.ranking.by_days import FEWEST_DAYS
from fieldmap.model.season_year import SeasonYear
from fieldmap.show.map.questions.view import (
    BedRamp,
    Bracket,
    Picture,
    RampLegend,
    Run,
    Swatch,
    Tick,
    View,
    answer,
    marked,
    spread,
    thinned,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.map import beds as bed_words
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.sentence import phrase

RAMP = "dates"
BY_GROUP = {"first": 0.0, "no real difference": 0.3, "in between": 0.5, "last": 1.0}

Floats = npt.NDArray[np.floating]


class Days(NamedTuple):
    """Likely first day of each bed for the crop that stands in for all, inf: never."""

    of_beds: Floats
    season: SeasonYear

    @property
    def ends(self) -> tuple[float, float]:
        """The first and the last that is known."""
        known = self.of_beds[np.isfinite(self.of_beds)]
        return float(known.min()), float(known.max())

    def at(self, day: float) -> float:
        """Place of a day between the ends."""
        first, last = self.ends
        return (day - first) / max(last - first, 1.0)

    def month_day(self, day: float) -> tuple[int, int]:
        """A day of the calendar."""
        return self.season.month_day_of_any_year(day)

    def said(self, day: float) -> str:
        """A day in words."""
        return quantities.day(*self.month_day(day))

    def span(self, kind: str, first: float, last: float) -> str:
        """From or until a day, or the days from one to another where that is more.

        Parameters
        ----------
        kind
            "from" or "until".
        first, last
            Days of which those that differ by less than `FEWEST_DAYS` are one.
        """
        if last - first < FEWEST_DAYS:
            one = {"from": "from_day_on", "until": "until_the_day"}[kind]
            return phrase(one, day=self.month_day(first))
        if kind == "until":  # the last day stands in brackets, and needs its month
            said = {"first": self.said(first), "last": self.said(last)}
            return phrase("until_day_to_day", **said)
        ends = self.month_day(first), self.month_day(last)
        return bed_words.span_of_days(*ends, kind=f"{kind}_day_to_day")

    def legend(self, first: float, last: float) -> str:
        """The days from one to another, or the first where `span` says one too."""
        if last - first < FEWEST_DAYS:
            last = first
        return bed_words.span_of_days(self.month_day(first), self.month_day(last))

    def when(self, kind: str, of_beds: Floats) -> str:
        """The same of some beds, underlined in the colour of the first."""
        known = of_beds[np.isfinite(of_beds)]
        first = float(known.min())
        return marked(self.span(kind, first, float(known.max())), RAMP, self.at(first))


def view(
    beds: Sequence[RankedBed], dates: Dates, plots: Sequence[str], more: Sequence[str]
) -> View:
    """The beds by their first day, those that come first outlined.

    Parameters
    ----------
    beds
        The beds in the order of the plan.
    dates
        Planting dates of these beds. Where none are known, beds have the colour of
        their group.
    plots
        Names of the plots, in order.
    more
        Sentences that are folded away under the answer.
    """
    first = [at for at, bed in enumerate(beds) if bed.ranks.early == 1]
    days = first_days(beds, dates)
    if days is None:
        return _without_dates(beds, first, more)
    here = {plot: _beds_in(beds, plot) for plot in plots}
    said = {
        plot: days.of_beds[at][np.isfinite(days.of_beds[at])]
        for plot, at in here.items()
    }
    outlined = tuple(first) if 2 * len(first) <= len(beds) else ()
    risk = dates.risks[[crop.name for crop in dates.crops].index(dates.reference_crop)]
    return View(
        answer=_answer(beds, first, days, dates),
        picture=Picture(
            BedRamp(RAMP, np.array([days.at(day) for day in days.of_beds])),
            outlined=outlined,
            plots=tuple(
                (
                    plot,
                    days.span("from", float(of.min()), float(of.max())),
                )
                for plot, of in said.items()
                if of.size
            ),
        ),
        ramp=_legend(days, here),
        swatches=(Swatch("thick", phrase("outlined_first")),) if outlined else (),
        note=phrase("frost_risk", odds=risk),
        more=(phrase("no_real_difference"), *more),
    )


def first_days(beds: Sequence[RankedBed], dates: Dates) -> Days | None:
    """Those of a plan; None where none are known."""
    if not dates.known or not beds:
        return None
    crop = [each.name for each in dates.crops].index(dates.reference_crop)
    of_beds = np.rint(dates.early[1, crop, 0])
    return Days(of_beds, dates.season) if np.isfinite(of_beds).any() else None


def _beds_in(beds: Sequence[RankedBed], plot: str) -> list[int]:
    return [at for at, bed in enumerate(beds) if bed.bed.plot == plot]


def _answer(
    beds: Sequence[RankedBed], first: Sequence[int], days: Days, dates: Dates
) -> tuple[Run, ...]:
    (crop,) = (each for each in dates.crops if each.name == dates.reference_crop)
    word = names.start_word(crop.name, how(crop))
    if len(first) == len(beds):
        # "In any bed" is true from the latest of their days on, and not before it.
        when = days.when("from", np.array(days.ends[1:]))
        start = phrase(f"alike {word}", crop=crop.name, when=when)
        return answer(phrase("none_first"), start, phrase("none_first_why"))
    of_first = days.of_beds[list(first)]
    of_first = of_first[np.isfinite(of_first)]
    if not of_first.size:
        of_first = np.array(days.ends[:1])
    all_of_them = "all_" if np.ptp(of_first) >= FEWEST_DAYS else ""
    when = days.when("from", of_first)
    return answer(
        _lead(beds, first),
        phrase(f"{all_of_them}first {word}", crop=crop.name, when=when),
        _who_waits(beds, set(first), days),
    )


def _lead(beds: Sequence[RankedBed], first: Sequence[int]) -> str:
    """Whole plots by their names; else the number of their beds, most of them first."""
    plots = list(dict.fromkeys(beds[at].bed.plot for at in first))
    whole = sum(bed.bed.plot in plots for bed in beds) == len(first)
    listed = names.listed(plots)
    if whole:
        return phrase("first_plots", number=len(plots), plots=listed)
    count = Counter(beds[at].bed.plot for at in first)
    if len(count) == 1:
        return words.counted("first_beds", len(first), plots=listed)
    each = [
        phrase("plot_and_count", plot=plot, number=number)
        for plot, number in count.most_common()
    ]
    return phrase(
        "first_beds_of", count=words.count(len(first)), plots=names.listed(each)
    )


def _who_waits(beds: Sequence[RankedBed], first: set[int], days: Days) -> str:
    """Of the plots that have the latest bed: until when it waits, and why.

    The whole plot waits where none of its beds is near the first.
    """
    known = np.where(np.isfinite(days.of_beds), days.of_beds, -np.inf)
    latest = int(np.argmax(known))
    begins, ends = days.ends
    if ends - begins < FEWEST_DAYS:
        return ""
    plot = beds[latest].bed.plot
    here = [at for at in _beds_in(beds, plot) if np.isfinite(days.of_beds[at])]
    opens = float(days.of_beds[here].min())
    if first.isdisjoint(here) and opens - begins >= FEWEST_DAYS:
        why = _common_reason(beds, here)
        kind = "late_plot_why" if why else "late_plot"
        until = days.when("until", days.of_beds[here])
        return phrase(kind, plot=plot, when=until, why=why)
    late = [at for at in here if days.of_beds[at] - begins >= FEWEST_DAYS]
    late = [at for at in late if at not in first]
    if not late:
        return ""
    why = _common_reason(beds, late)
    until = days.when("until", days.of_beds[late])
    kind = "late_beds_why" if why else "late_beds"
    return words.counted(kind, len(late), plot=plot, when=until, why=why)


def _common_reason(beds: Sequence[RankedBed], here: Sequence[int]) -> str:
    """The causes of some beds that over half of them have, the commonest first."""
    causes = Counter(why for at in here for why in words.why_later(beds[at].reasons))
    common = [why for why, number in causes.most_common() if 2 * number > len(here)]
    return names.listed(common)


def _legend(days: Days, here: Mapping[str, Sequence[int]]) -> RampLegend:
    ends = list(_ends(days, here))
    ticks = {*days.ends, *(day for _plot, *both, _number in ends for day in both)}
    ordered = sorted(ends, key=lambda each: (each[1] + each[2], each[0]))
    rows = spread([(days.at(low) + days.at(high)) / 2 for _n, low, high, _c in ordered])
    return RampLegend(
        RAMP,
        thinned(Tick(days.at(day), days.said(day)) for day in ticks),
        tuple(
            Bracket(
                days.at(low),
                days.at(high),
                plot,
                phrase(
                    "range_and_count",
                    range=days.legend(low, high),
                    beds=words.beds(number),
                ),
                row,
            )
            for (plot, low, high, number), row in zip(ordered, rows, strict=True)
        ),
    )


def _ends(
    days: Days, here: Mapping[str, Sequence[int]]
) -> Iterator[tuple[str, float, float, int]]:
    """Each plot with its first and last day and the number of its beds."""
    for plot, numbers in here.items():
        known = days.of_beds[list(numbers)]
        known = known[np.isfinite(known)]
        if known.size:
            yield plot, float(known.min()), float(known.max()), len(numbers)


def _without_dates(
    beds: Sequence[RankedBed], first: Sequence[int], more: Sequence[str]
) -> View:
    if not beds:
        return View(answer=answer(label("no_beds")), more=tuple(more))
    at = np.array([BY_GROUP.get(bed.earliness.group, np.nan) for bed in beds])
    alike = not first or len(first) == len(beds)
    return View(
        answer=answer(
            phrase("none_first") if alike else _lead(beds, first),
            phrase("first_not_dated"),
        ),
        picture=Picture(BedRamp(RAMP, at), outlined=() if alike else tuple(first)),
        more=tuple(more),
    )
