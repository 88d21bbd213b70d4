"""What to cover tonight, for the command, the page, the map and the wall sheet."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from fieldmap.decide.calendar.bed_temperatures import SITE_BIAS_C
from fieldmap.decide.tonight import Advice, BedRun, CropLine, PlotAdvice
from fieldmap.decide.tonight.answer import Answer
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill

NIGHTS = texts(__name__, "nights")
CAUTIONS, WINDY, CLOUDY = NIGHTS["always"], NIGHTS["windy"], NIGHTS["cloudy"]
HEADING = texts(__name__, "heading")
EVERYWHERE = texts(__name__, "everywhere")
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
    return (
        *_of_night(advice, units),
        *_of_all_beds(advice, units),
        *_of_covers(advice, units),
    )


def in_short(advice: Advice, units: Units) -> str:
    """What is left and what is covered, a line each; what is said of the air left out."""
    plots = (f"{here.plot}: {' '.join(here.lines)}" for here in by_plot(advice, units))
    return "\n".join((*_of_all_beds(advice, units), *plots))


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


# ------------------------------------------------------------------ all beds
def _of_night(advice: Advice, units: Units) -> Iterable[str]:
    """The kind of night, and how the station stands to the plots."""
    if advice.forecast.wind == "windy":
        yield from translated(WINDY)
    elif advice.forecast.sky == "cloudy":
        yield from translated(CLOUDY)
    if advice.station != "known":
        yield fill(EVERYWHERE[advice.station], units, degrees_c=SITE_BIAS_C)


def _of_all_beds(advice: Advice, units: Units) -> Iterable[str]:
    """Beds of which nothing is known, and crops that can be left."""
    if advice.unknown_beds:
        beds = ", ".join(advice.unknown_beds)
        yield fill(EVERYWHERE["unknown_beds"], units, beds=beds)
    if advice.safe_crops:
        yield fill(EVERYWHERE["safe_crops"], units, crops=_crops(advice.safe_crops))
    if advice.has_beds and not advice.plots and advice.windy is None:
        yield _(EVERYWHERE["nothing_to_cover"])


def _of_covers(advice: Advice, units: Units) -> Iterable[str]:
    """What the list does not know, and where covers end."""
    if advice.windy is not None:
        yield fill(EVERYWHERE["windy_air"], units, air_c=advice.windy.air_c)
        harmed = _crops(advice.windy.harmed)
        yield fill(
            EVERYWHERE["harmed" if harmed else "none_harmed"], units, crops=harmed
        )
    elif not advice.has_beds:
        yield _(EVERYWHERE["no_beds"])
    elif advice.plots:
        yield _(EVERYWHERE["go_by_what_is_there"])
        if not advice.has_cover:
            yield _(EVERYWHERE["no_cover"])
        for short in advice.short:
            yield fill(
                EVERYWHERE["short_cover"],
                units,
                have_m=short.owned_m,
                cover=_cover(short.kind),
                need_m=short.needed_m,
            )


# ------------------------------------------------------------------ one plot
def _air(here: PlotAdvice, units: Units) -> str:
    coldest, warmest = (quantities.temperature(each, units) for each in here.likely_c)
    is_alike = quantities.temperature(here.worst_c, units) == coldest
    text = AIR["alike" if is_alike else "range"]
    return fill(text, units, air=names.run((coldest, warmest)), worst_c=here.worst_c)


def _line(line: CropLine, beds_of_plot: int) -> str:
    """Crops, and a clause for each run of beds."""
    clauses = [
        f"{_where(run, beds_of_plot)}, {_clause(run.answer)}" for run in line.runs
    ]
    return f"{names.started(_crops(line.crops))}: {'; '.join(clauses)}."


def _where(run: BedRun, beds_of_plot: int) -> str:
    return _("all beds") if len(run.beds) == beds_of_plot else names.run(run.beds)


def _clause(given: Answer) -> str:
    if given.cover is None:
        bare = "likely_bare" if given.verdict == "likely" else given.verdict
        return _(CLAUSES[bare])
    return _(CLAUSES[given.verdict]).format(cover=_cover(given.cover))


def _crops(crops: Sequence[str]) -> str:
    return names.listed(translated(crops))


def _cover(kind: str) -> str:
    return names.cover_name(kind)
