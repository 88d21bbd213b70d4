"""Tonight's list for every evening and low that one may hear, so that the page need not compute."""

from collections.abc import Hashable, Sequence
from datetime import date
from typing import Any, get_args

from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tonight.advice import Advice, PlotAdvice, Row, Verdict
from fieldmap.decide.tonight.evenings import Evenings, Spell
from fieldmap.decide.tonight.forecast import LOWS, Forecast, Sky, Wind, celsius
from fieldmap.decide.weekly_jobs import last_day
from fieldmap.show.text.decide import tonight
from fieldmap.show.text.decide.tonight import PlotWords
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.map.tonight import bare, if_tunnel, low
from fieldmap.show.text.quantities import Units

START = {"metric": 0, "us": 32}  # the low that the page shows first
NIGHTS: dict[str, tuple[Sky, Wind]] = {
    "still_night": ("clear", "calm"),
    "cloudy_night": ("cloudy", "calm"),
    "windy_night": ("clear", "windy"),
}
assert {sky for sky, _ in NIGHTS.values()} == set(get_args(Sky))
NOT_COVERED: tuple[Verdict, ...] = ("short", "lost", "odds", "leave")


def lists(
    evenings: Evenings, beds: Sequence[RankedBed], starts: date, units: Units
) -> dict[str, Any]:
    """The lists by evening, kind of night and low; each sentence, and each list, stands once.

    `lows` are text, the warmest first. `from` and `until` are the first and the last
    evening that the plan knows. `evenings` are spells on which the same stands, in order, with `from` and `until`, and for each kind of night the number of its list at
    each low; between them nothing stands, and `nothing` says so. Of a list, numbers of
    sentences in `words` are `answer` (the first in a few words), `first`, `plots` (its
    name, its air, and what is not covered; last those
    on which nothing stands), `advice` and `last`; `tasks` have, in walking
    order, what, piece, odds (-1 where it is surely enough), plot and number of their beds
    in `sets`; `short`, `lost`, `odds` and `leave` are numbers of sets that are not covered.
    A set has the places of its beds in the plan.

    Parameters
    ----------
    evenings
        What the advice for any evening is made from.
    beds
        In the order of the plan.
    starts
        The first evening of twelve months.
    units
        "metric" or "us", for the lows and the words of the lists.
    """
    places = {ranked.bed.name: at for at, ranked in enumerate(beds)}
    plots = tuple(dict.fromkeys(ranked.bed.plot for ranked in beds))
    found = _Lists(places, plots, units)
    warmest, coldest = LOWS[units]
    lows = range(warmest, coldest - 1, -1)
    spells = [
        found.of_spell(evenings, spell, lows) for spell in evenings.spells(starts)
    ]
    nothing = "nothing_stands" if evenings.crop_plan.is_known else "unknown"
    return {
        "lows": [low(degrees, units) for degrees in lows],
        "from": starts.isoformat(),
        "until": last_day(starts).isoformat(),
        "start": warmest - START[units],
        "nights": list(NIGHTS),
        "evenings": spells,
        "lists": [*found.lists.values()],
        "words": [*found.words],
        "sets": [*map(list, found.sets)],
        "nothing": _(tonight.ANSWER[nothing]),
        "cautions": list(translated(tonight.NIGHTS["always"])),
    }


class _Lists:
    """Sentences and lists by their number."""

    def __init__(
        self, places: dict[str, int], plots: Sequence[str], units: Units
    ) -> None:
        self.places, self.plots, self.units = places, plots, units
        self.words: dict[str, int] = {}
        self.said: dict[tuple[Hashable, ...], PlotWords] = {}
        self.airs: dict[tuple[Hashable, ...], str] = {}
        self.lists: dict[Hashable, dict[str, Any]] = {}
        self.numbers: dict[Hashable, int] = {}
        self.sets: dict[tuple[int, ...], int] = {}

    def of_spell(
        self, evenings: Evenings, spell: Spell, lows: Sequence[int]
    ) -> dict[str, Any]:
        """One spell with the numbers of its lists.

        Parameters
        ----------
        evenings
            What the advice for any evening is made from.
        spell
            Evenings on which the same crops and covers stand.
        lows
            Forecast lows in whole degrees of the units of the site, the warmest first.

        Returns
        -------
        spell
            Its first and last day, and by kind of night the number of the list at each
            low.
        """

        def numbers(sky: Sky, wind: Wind) -> list[int]:
            forecasts = (
                Forecast(celsius(each, self.units), sky, wind) for each in lows
            )
            return [
                self.number_of(each) for each in evenings.advise_spell(spell, forecasts)
            ]

        return {
            "from": spell.stand.day.isoformat(),
            "until": spell.until.isoformat(),
            "lists": {name: numbers(*night) for name, night in NIGHTS.items()},
        }

    def number_of(self, advice: Advice) -> int:
        """The number of a list."""
        plots = [self._words_of(here, advice.plan_order) for here in advice.plots]
        rows: dict[str, list[Row]] = {}
        for row in advice.rows:
            rows.setdefault(row.verdict, []).append(row)
        made = {
            "answer": self._all(tonight.answer(advice)),
            "first": self._all(tonight.first(advice, self.units)),
            "plots": self._plots(advice, plots),
            "tasks": tuple(
                (
                    *self._all((words.what, words.piece)),
                    self._number(words.odds) if words.odds else -1,
                    at,
                    self._set(task.rows),
                )
                for at, (here, words_of) in enumerate(
                    zip(advice.plots, plots, strict=True)
                )
                for task, words in zip(here.tasks, words_of.tasks, strict=True)
            ),
            "advice": self._all(tonight.how(advice)),
            "last": self._number(tonight.tomorrow(advice, self.units)),
        } | {each: self._set(rows[each]) for each in NOT_COVERED if each in rows}
        key = tuple(made.items())
        self.lists.setdefault(key, made)
        return self.numbers.setdefault(key, len(self.numbers))

    def _plots(
        self, advice: Advice, words: Sequence[PlotWords]
    ) -> tuple[tuple[int, ...], ...]:
        """What is said of each plot, then of all on which nothing stands."""
        said = [
            self._all(
                (
                    *(of_plot.plot, of_plot.air, *of_plot.rest),
                    *if_tunnel(row.stop.tunnel for row in here.rows),
                )
            )
            for here, of_plot in zip(advice.plots, words, strict=True)
        ]
        planted = {here.plot for here in advice.plots}
        if not planted:  # as in wind, which names no bed
            return ()
        rest = self._all(bare([plot for plot in self.plots if plot not in planted]))
        return (*said, rest) if rest else tuple(said)

    def _words_of(self, here: PlotAdvice, order: Sequence[str]) -> PlotWords:
        """What is said of a plot; on many evenings the same but for its air."""
        key = (here.plot, *map(_as_said, here.rows))
        found = self.said.get(key)
        if found is None:
            found = self.said[key] = tonight.plot_words(here, order, self.units)
            return found
        return found._replace(air=self._air(here))

    def _air(self, here: PlotAdvice) -> str:
        """The air of a plot in words; few differ in a year."""
        key = here.worst_c, here.likely_c
        if key not in self.airs:
            self.airs[key] = tonight.air(here, self.units)
        return self.airs[key]

    def _set(self, rows: Sequence[Row]) -> int:
        """The number of a set of beds; those inside tunnels are not drawn one by one."""
        names = (row.standing.bed for row in rows)
        beds = tuple(self.places[name] for name in names if name in self.places)
        return self.sets.setdefault(beds, len(self.sets))

    def _all(self, sentences: Sequence[str]) -> tuple[int, ...]:
        return tuple(self._number(sentence) for sentence in sentences)

    def _number(self, sentence: str) -> int:
        return self.words.setdefault(sentence, len(self.words))


def _as_said(row: Row) -> tuple[Hashable, ...]:
    """All of a row that the words on its plot hang on, but its air."""
    at = row.standing
    stands = at.bed, at.crop, at.keeps, at.part_m, at.cover, at.is_ripe
    return (*stands, row.verdict, row.piece)
