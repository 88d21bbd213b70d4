"""What to cover tonight, for the command, the page, the map and the wall sheet."""

from collections.abc import Sequence
from typing import NamedTuple

from fieldmap.decide.tonight import Advice, BedRun, CropLine, PlotAdvice
from fieldmap.decide.tonight.answer import Answer
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say_all

NIGHTS = texts(__name__, "nights")
CAUTIONS, WINDY, CLOUDY = NIGHTS["always"], NIGHTS["windy"], NIGHTS["cloudy"]
HEADING = texts(__name__, "heading")
AIR = texts(__name__, "air")
CLAUSES = texts(__name__, "clauses")


class PlotWords(NamedTuple):
    """One stop of the round: its air, and a line for crops with the same answers."""

    plot: str
    air: str
    lines: tuple[str, ...]


class Words(NamedTuple):
    """The whole list.

    Attributes
    ----------
    heading
        The forecast and the kind of night.
    first
        What holds everywhere.
    plots
        In walking order.
    cautions
        Stand last, on every list.
    """

    heading: str
    first: tuple[str, ...]
    plots: tuple[PlotWords, ...]
    cautions: tuple[str, ...]


def in_words(advice: Advice, site_name: str, units: Units) -> Words:
    """The whole list for one evening."""
    heading = fill(HEADING, units, site=site_name, **advice.forecast._asdict())
    first, plots = everywhere(advice, units), by_plot(advice, units)
    return Words(heading, first, plots, translated(CAUTIONS))


def lines(words: Words) -> list[str]:
    """The list for the terminal."""
    plots = (
        line
        for here in words.plots
        for line in ("", here.plot, *(f"  {said}" for said in (here.air, *here.lines)))
    )
    return [words.heading, *words.first, *plots, "", *words.cautions]


def everywhere(advice: Advice, units: Units) -> tuple[str, ...]:
    """What holds on all beds."""
    sky, wind = advice.forecast.sky, advice.forecast.wind
    night = WINDY if wind == "windy" else CLOUDY if sky == "cloudy" else ()
    facts = (*advice.of_station, *advice.of_beds, *advice.of_covers)
    return (*translated(night), *say_all(facts, units))


def in_short(advice: Advice, units: Units) -> str:
    """What is left and what is covered, a line each; what is said of the air left out."""
    plots = (f"{here.plot}: {' '.join(here.lines)}" for here in by_plot(advice, units))
    return "\n".join((*say_all(advice.of_beds, units), *plots))


def by_plot(advice: Advice, units: Units) -> tuple[PlotWords, ...]:
    """Plot by plot the crops that want a hand."""
    return tuple(
        PlotWords(
            here.plot,
            _air(here, units),
            tuple(_line(each, len(here.beds)) for each in here.lines),
        )
        for here in advice.plots
    )


# ------------------------------------------------------------------ one plot
def _air(here: PlotAdvice, units: Units) -> str:
    coldest, warmest = (quantities.temperature(each, units) for each in here.likely_c)
    is_alike = quantities.temperature(here.worst_c, units) == coldest
    text = AIR["alike" if is_alike else "range"]
    return fill(text, units, air=names.run((coldest, warmest)), worst_c=here.worst_c)


def _line(line: CropLine, beds_of_plot: int) -> str:
    """Crops, and a clause for each answer with the runs of beds that it holds for."""
    runs: dict[Answer, list[BedRun]] = {}
    for run in line.runs:
        runs.setdefault(run.answer, []).append(run)
    clauses = [
        f"{_where(of_answer, beds_of_plot)}, {_clause(answer)}"
        for answer, of_answer in runs.items()
    ]
    return f"{names.started(_crops(line.crops))}: {'; '.join(clauses)}."


def _where(runs: Sequence[BedRun], beds_of_plot: int) -> str:
    if sum(len(run.beds) for run in runs) == beds_of_plot:
        return _("all beds")
    return names.listed([names.run(run.beds) for run in runs])


def _clause(given: Answer) -> str:
    if given.cover is None:
        bare = "likely_bare" if given.verdict == "likely" else given.verdict
        return _(CLAUSES[bare])
    return _(CLAUSES[given.verdict]).format(cover=_cover(given.cover))


def _crops(crops: Sequence[str]) -> str:
    return names.listed(translated(crops))


def _cover(kind: str) -> str:
    return names.cover_name(kind)
