"""What to cover tonight, for the command, the page, the map and the wall sheet."""

from collections.abc import Iterable
from typing import NamedTuple

from fieldmap.decide.calendar.bed_temperatures import SITE_BIAS_C
from fieldmap.decide.tonight import Advice, BedRun, CropLine, PlotAdvice, ShortCover
from fieldmap.decide.tonight.answer import Answer
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later, translated
from fieldmap.show.text.quantities import Units

CAUTIONS = (
    later(
        "Frost advice is odds, not a promise, and a forecast can be out by more than "
        "what lies between two lines of this list."
    ),
    later(
        "Cover before the ground gives up its warmth, in the afternoon, and keep fabric "
        "and film off the leaves: where they touch they help little."
    ),
    later(
        "A closed tunnel in sun overheats: open it in the morning. More crops are "
        "cooked than frozen."
    ),
    later("Never run an unvented heater or an engine in a closed tunnel."),
)
WINDY = (
    later(
        "On a windy night the order of beds does not hold: the air is mixed, exposed "
        "ground is the coldest, and covers help little."
    ),
    later(
        "Close and lash every door and side, or take film down before dark; one open "
        "end makes a sail. Peg and weigh fabric, or take it in."
    ),
)
CLOUDY = (
    later(
        "Under cloud cold air hardly runs: beds differ by their height only. If the sky "
        "clears before dawn it is another night: ask again for a clear sky."
    ),
)
SKIES = {"clear": later("clear"), "cloudy": later("cloudy")}
WINDS = {"calm": later("calm"), "windy": later("windy")}
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
    heading = _("{site}, tonight: {low} at the station, {sky} and {wind}.").format(
        site=site_name,
        low=quantities.temperature(advice.forecast.low_c, units),
        sky=_(SKIES[advice.forecast.sky]),
        wind=_(WINDS[advice.forecast.wind]),
    )
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
        *_of_all_beds(advice),
        *_of_covers(advice, units),
    )


def in_short(advice: Advice, units: Units) -> str:
    """What is left and what is covered, a line each; what is said of the air left out."""
    plots = (f"{here.plot}: {' '.join(here.lines)}" for here in by_plot(advice, units))
    return "\n".join((*_of_all_beds(advice), *plots))


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
    if advice.station == "height unknown":
        yield _(
            "The height of the station is not known, so the forecast is taken as if "
            "it were made for the plots; give [station] in site.toml."
        )
    elif advice.station == "elsewhere":
        yield _(
            "The station stands elsewhere: all beds together may be {degrees} "
            "warmer or colder than is told, until thermometers hang on the spot. "
            "'At worst' counts the colder."
        ).format(degrees=quantities.degrees(SITE_BIAS_C, units))


def _of_all_beds(advice: Advice) -> Iterable[str]:
    """Beds of which nothing is known, and crops that can be left."""
    if advice.unknown_beds:
        yield _("Nothing is known of the ground of {beds}.").format(
            beds=", ".join(advice.unknown_beds)
        )
    if advice.safe_crops:
        yield _("Can be left on every bed: {crops}.").format(
            crops=names.listed(translated(advice.safe_crops))
        )
    if advice.has_beds and not advice.plots and advice.windy is None:
        yield _("Nothing needs a cover tonight.")


def _of_covers(advice: Advice, units: Units) -> Iterable[str]:
    """What the list does not know, and where covers end."""
    if advice.windy is not None:
        yield _("All beds alike: about {air}.").format(
            air=quantities.temperature(advice.windy.air_c, units)
        )
        if not advice.windy.harmed:
            yield _("No crop of yours is harmed by that.")
            return
        yield _(
            "Harmed by that where they are out: {crops}. Do not count on a cover: pick "
            "what is ripe, and bring in what stands in trays."
        ).format(crops=names.listed(translated(advice.windy.harmed)))
    elif not advice.has_beds:
        yield _("There are no beds to cover.")
    elif advice.plots:
        yield _(
            "Go by what is out there now: the list knows what each crop would need on a "
            "bed, and not which of them stands on it."
        )
        if not advice.has_cover:
            yield _("site.toml names no cover of yours that warms a bed.")
        yield from (_short(each, units) for each in advice.short)


def _short(short: ShortCover, units: Units) -> str:
    return _(
        "You own {have} of {cover}; the beds named for it are {need} long if "
        "all are planted: begin with the plants that are dearest to replace."
    ).format(
        have=quantities.length(short.owned_m, units),
        cover=names.cover_name(short.kind),
        need=quantities.length(short.needed_m, units),
    )


# ------------------------------------------------------------------ one plot
def _air(here: PlotAdvice, units: Units) -> str:
    worst = quantities.temperature(here.worst_c, units)
    coldest, warmest = (quantities.temperature(each, units) for each in here.likely_c)
    about = (
        coldest
        if coldest == warmest
        else _("{first} to {last}").format(first=coldest, last=warmest)
    )
    if worst == coldest:
        return _("Without a cover: about {air}.").format(air=about)
    return _(
        "Without a cover: likely {air}, at worst {worst} on the coldest bed."
    ).format(air=about, worst=worst)


def _line(line: CropLine, beds_of_plot: int) -> str:
    """Crops, and a clause for each run of beds."""
    clauses = [
        f"{_where(run, beds_of_plot)}, {_clause(run.answer)}" for run in line.runs
    ]
    crops = names.started(names.listed(translated(line.crops)))
    return f"{crops}: {'; '.join(clauses)}."


def _where(run: BedRun, beds_of_plot: int) -> str:
    return (
        _("all beds") if len(run.beds) == beds_of_plot else names.run_of_beds(run.beds)
    )


def _clause(given: Answer) -> str:
    if given.verdict == "likely" and given.cover is None:
        return _("likely unharmed as it is, though not surely; your covers add nothing")
    cover = "" if given.cover is None else names.cover_name(given.cover)
    return _(CLAUSES[given.verdict]).format(cover=cover)
