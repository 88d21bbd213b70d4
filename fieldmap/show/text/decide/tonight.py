"""What to cover tonight, for the command, the page, the map and the wall sheet."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import NamedTuple

from fieldmap.decide.layout.beds import Stretch, joined
from fieldmap.decide.tonight import Advice, Task
from fieldmap.decide.tonight.advice import Harmed, Held, PlotAdvice, Row, UsedCover
from fieldmap.decide.tonight.answer import parts_of
from fieldmap.decide.tonight.matrix import Cell, Laid
from fieldmap.decide.tonight.standing import Keeps, Standing
from fieldmap.model.fact import Fact
from fieldmap.show.text import language, names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say, say_all
from layers.cover import COVERS, FABRIC_OFF_C, FILM_OPEN_C, SLITTED_OPEN_C

NIGHTS = texts(__name__, "nights")
HEADING = texts(__name__, "heading")
ANSWER, WORK = texts(__name__, "answer"), texts(__name__, "work")
TASK, PLOT = texts(__name__, "task"), texts(__name__, "plot")
CELLS = texts(__name__, "cells")
HOURS, AIR, TOMORROW = (texts(__name__, each) for each in ("hours", "air", "tomorrow"))


class TaskWords(NamedTuple):
    """One number of the walk.

    Attributes
    ----------
    what
        The crop and its beds.
    piece
        The cover and its metres.
    odds
        Empty where it is surely enough.
    """

    number: int
    what: str
    piece: str
    odds: str

    @property
    def line(self) -> str:
        """All of it on one line."""
        said = f"{self.what}: {self.piece}"
        return f"{said}; {self.odds}" if self.odds else said


class PlotWords(NamedTuple):
    """One stop of the round: its air, what is covered there, and what is not."""

    plot: str
    air: str
    tasks: tuple[TaskWords, ...]
    rest: tuple[str, ...]


class Words(NamedTuple):
    """The whole list.

    Attributes
    ----------
    heading
        The evening, the forecast and the kind of night.
    answer
        What to do, in a few sentences, the first the shortest.
    first
        What holds everywhere.
    plots
        In walking order.
    advice
        How it is done; empty where nothing is covered.
    hours, hours_note
        When bare beds come to harm, to be folded away; empty where that is not known.
    cautions
        Stand on every list.
    last
        What is to be done next: tomorrow morning.
    """

    heading: str
    answer: tuple[str, ...]
    first: tuple[str, ...]
    plots: tuple[PlotWords, ...]
    advice: tuple[str, ...]
    hours: tuple[str, ...]
    hours_note: str
    cautions: tuple[str, ...]
    last: str


def in_words(advice: Advice, site_name: str, units: Units) -> Words:
    """The whole list for one evening.

    Parameters
    ----------
    advice
        What to cover this evening and what not, plot by plot.
    site_name
        Name of the site, for the heading.
    units
        "metric" or "us", for temperatures and lengths.
    """
    night = advice.forecast
    heading = fill(
        HEADING,
        units,
        site=site_name,
        day=language.date_in_words(advice.stand.day),
        low=quantities.temperature(night.low_c, units),
        sky=night.sky,
        wind=night.wind,
    )
    return Words(
        heading,
        answer(advice),
        first(advice, units),
        by_plot(advice, units),
        how(advice),
        tuple(_harmed(each, advice) for each in advice.harmed),
        _hours_note(advice, units),
        translated(NIGHTS["always"]),
        tomorrow(advice, units),
    )


def lines(words: Words) -> list[str]:
    """The list for the terminal."""
    plots: list[str] = []
    for here in words.plots:
        tasks = (f"  {task.number:2d}  {task.line}" for task in here.tasks)
        plots += ["", here.plot, f"  {here.air}", *tasks]
        plots += [f"  {said}" for said in here.rest]
    hours = (f"  {said}" for said in (*words.hours, words.hours_note))
    return [
        words.heading,
        " ".join(words.answer),
        *words.first,
        *plots,
        "",
        *words.advice,
        *([hours_title(), *hours] if words.hours else []),
        *words.cautions,
        words.last,
    ]


def hours_title() -> str:
    """What stands over the hours."""
    return _(HOURS["title"])


# ------------------------------------------------------------------ in a few words
def answer(advice: Advice) -> tuple[str, ...]:
    """What to do, in a few sentences."""
    if advice.rows:
        return _of_rows(advice)
    if advice.forecast.wind == "windy":
        return (_(ANSWER["windy"]),)
    if advice.stand.is_known:
        return (_(ANSWER["nothing_stands"]),)
    return _(ANSWER["unknown"]), _(ANSWER["unknown_why"])


def _of_rows(advice: Advice) -> tuple[str, ...]:
    by_verdict: dict[str, list[Row]] = {}
    for row in advice.rows:
        by_verdict.setdefault(row.verdict, []).append(row)
    beyond = tuple(
        _beds(verdict, by_verdict[verdict])
        for verdict in ("short", "lost")
        if verdict in by_verdict
    )
    if advice.tasks:
        covered = by_verdict["cover"]
        is_closed = all(row.is_closed for row in covered)
        to_cover = _beds("close" if is_closed else "cover", covered)
        return (to_cover, *_enough(advice.tasks), *beyond)
    if beyond:
        return (_(ANSWER["no_help"]), *beyond)
    return (_(ANSWER["odds_only" if "odds" in by_verdict else "nothing_to_do"]),)


def _enough(tasks: Iterable[Task]) -> tuple[str, ...]:
    odds = [task.odds for task in tasks for _row in task.rows]
    unsure = odds.count("unsure")
    if unsure:
        text = ANSWER["unsure"]
        return (language.plural(text["one"], text["many"], unsure),)
    return (_(ANSWER["likely" if "likely" in odds else "sure"]),)


def _beds(key: str, rows: Iterable[Row]) -> str:
    text, beds = ANSWER[key], {row.standing.bed for row in rows}
    return language.plural(text["one"], text["many"], len(beds))


# ------------------------------------------------------------------ everywhere
def first(advice: Advice, units: Units) -> tuple[str, ...]:
    """What holds on all beds, and the work that there is."""
    sky, wind = advice.forecast.sky, advice.forecast.wind
    key = "windy" if wind == "windy" else "cloudy" if sky == "cloudy" else ""
    night = translated(NIGHTS[key]) if key else ()
    if wind == "windy":
        return (*night, *_in_wind(advice.of_beds, units))
    facts = say_all((*advice.of_station, *advice.of_beds), units)
    source = (by_what(advice),) if advice.rows else ()
    return (*_work(advice, units), *night, *source, *facts)


def _in_wind(facts: Iterable[Fact], units: Units) -> Iterable[str]:
    """What is said of all beds, with the crops as growers call them."""
    for fact in facts:
        crops = fact.values.get("crops", [])
        if fact.kind == "tonight_pick":
            crops = [crop for crop in crops if _is_picked(crop)]
            if not crops:
                continue
        called = {"crops": [names.crop(crop) for crop in crops]} if crops else {}
        yield say(Fact(fact.kind, **{**fact.values, **called}), units)


def _is_to_pick(standing: Standing) -> bool:
    return standing.is_ripe and _is_picked(standing.crop)


def _is_picked(crop: str) -> bool:
    """Whether frost spoils what is ripe of it: not of what is dug from the soil.

    Soil keeps the tubers of potatoes when frost kills their leaves (common practice, no
    source).
    """
    return names.harvest_word(crop) != "dig"


def by_what(advice: Advice) -> str:
    """From where it is known what stands there."""
    until = advice.stand.log_until
    if until is None:
        return _(WORK["by_plan"])
    return _(WORK["by_log"]).format(day=language.day(until.month, until.day))


def _work(advice: Advice, units: Units) -> tuple[str, ...]:
    if not advice.tasks:
        return ()
    if advice.begin_by is None or advice.done_by is None:
        minutes = _(WORK["minutes_at_dusk"]).format(number=advice.minutes)
    else:
        minutes = _(WORK["minutes"]).format(
            number=advice.minutes,
            begin=clock(advice.begin_by),
            done=clock(advice.done_by),
        )
    covers = [carried(each, units) for each in advice.covers if each.used_m]
    return (
        minutes,
        _(WORK["carry"]).format(covers=names.listed(covers)),
        _held(advice.held, units),
    )


def _held(needed: Held, units: Units) -> str:
    """Hoops, weights where edges are held by them, and clips inside tunnels.

    All covers that are owned may take more weights than the plan counts for its beds.
    """
    key = "held" if needed.weights else "held_by_hoops"
    if needed.counted is not None and needed.weights > needed.counted:
        key = "held_more"
    of_edges = _(WORK[key]).format(
        hoops=language.written(needed.hoops, ","),
        weights=language.written(needed.weights, ","),
        weight=quantities.mass(needed.weight_kg, units),
        counted=needed.counted,
    )
    if not needed.clips:
        return of_edges
    clips = language.written(needed.clips, ",")
    return f"{of_edges} {_(WORK['held_by_clips']).format(clips=clips)}"


def carried(cover: UsedCover, units: Units) -> str:
    """How much of a cover is laid, never more than is owned."""
    used, owned = (
        quantities.whole_length(each, units) for each in (cover.used_m, cover.owned_m)
    )
    return fill(WORK["carried"], units, used=used, owned=owned, cover=cover.kind)


def how(advice: Advice) -> tuple[str, ...]:
    """How covers are laid and closed; nothing where none is."""
    is_cold = any(row.verdict != "leave" for row in advice.rows)
    doors = (_(WORK["doors"]),) if advice.has_tunnels and is_cold else ()
    covering = translated(NIGHTS["covering"]) if advice.tasks else ()
    return (*doors, *covering)


def tomorrow(advice: Advice, units: Units) -> str:
    """The last line: what is opened in the morning, and when."""
    if advice.forecast.wind == "windy":
        return _(TOMORROW["wind"])
    laid = [COVERS[part] for kind in advice.opened for part in parts_of(kind)]
    has_doors = advice.has_tunnels and any(r.verdict != "leave" for r in advice.rows)
    has_film = has_doors or any(each.open_above_c == FILM_OPEN_C for each in laid)
    has_fabric = any(each.kind == "fabric" for each in laid)
    fabric = quantities.careful_temperature(FABRIC_OFF_C, units)
    degrees = quantities.temperature(FILM_OPEN_C, units) if has_film else fabric
    key = ("both" if has_fabric else "film") if has_film else "fabric"
    first = TOMORROW[key if has_film or has_fabric else "nothing"]
    said = _(first).format(degrees=degrees, fabric=fabric)
    if not any(each.open_above_c == SLITTED_OPEN_C for each in laid):
        return said
    heat = quantities.careful_temperature(SLITTED_OPEN_C, units)
    return f"{said} {_(TOMORROW['slitted']).format(degrees=heat)}"


# ------------------------------------------------------------------ plot by plot
def by_plot(advice: Advice, units: Units) -> tuple[PlotWords, ...]:
    """Plot by plot what is covered and what is not."""
    return tuple(plot_words(here, advice.plan_order, units) for here in advice.plots)


def plot_words(here: PlotAdvice, order: Sequence[str], units: Units) -> PlotWords:
    """What is covered on a plot and what is not.

    Parameters
    ----------
    here
        Air, tasks and beds of one plot.
    order
        Names of all beds in the order of the plan, "" where a plot or tunnel begins.
        Neighbours in it are written as a run.
    units
        "metric" or "us", for temperatures and lengths.
    """
    return PlotWords(
        here.plot,
        air(here, units),
        tuple(task_words(task, order, units) for task in here.tasks),
        tuple(_rest(here, order, units)),
    )


def air(here: PlotAdvice, units: Units) -> str:
    """Likely air on the beds of a plot, and at worst."""
    coldest, warmest = (quantities.temperature(each, units) for each in here.likely_c)
    worst = quantities.temperature(here.worst_c, units)
    text = AIR["alike" if worst == coldest else "range"]
    return _(text).format(air=names.run((coldest, warmest)), worst=worst)


def task_words(task: Task, order: Sequence[str], units: Units) -> TaskWords:
    """One number of the walk in words.

    Parameters
    ----------
    task
        A cover over beds that are covered in one go.
    order
        Names of all beds in the order of the plan, "" where a plot or tunnel begins.
        Neighbours in it are written as a run.
    units
        "metric" or "us", for lengths.
    """
    cover = names.cover_name(task.kind)
    length = quantities.whole_length(task.cover_m, units)
    piece = "close" if task.rows[0].is_closed else "sheet" if task.is_sheet else "cover"
    by_crop: dict[str, list[Row]] = {}
    for row in task.rows:
        by_crop.setdefault(names.crop(row.standing.crop), []).append(row)
    crops = _crops_on_beds(TASK["what"], by_crop, order, units)
    return TaskWords(
        task.number,
        names.started(crops),
        _(TASK[piece]).format(cover=cover, length=length),
        _(TASK[task.odds]) if task.odds in TASK else "",
    )


def _crops_on_beds(
    text: str, by_crop: Mapping[str, Sequence[Row]], order: Sequence[str], units: Units
) -> str:
    """Crops, each with its beds by name, and of each that is taken in part which part."""
    return "; ".join(
        _(text).format(crop=crop, beds=names.listed(_beds_of(rows, order, units)))
        for crop, rows in by_crop.items()
    )


def _beds_of(rows: Sequence[Row], order: Sequence[str], units: Units) -> list[str]:
    """Runs of whole beds and each bed that is taken in part, in order."""
    whole = [row.standing.bed for row in rows if not row.part_m]
    runs = names.beds_in_runs(whole, order)
    return names.on_beds(runs, stretches(rows), units, order)


def stretches(rows: Iterable[Row]) -> list[tuple[str, float, float]]:
    """Parts of beds by name, with their ends [m]; those that touch are one."""
    by_bed: dict[str, list[Stretch]] = {}
    for row in rows:
        if row.part_m is not None:
            by_bed.setdefault(row.standing.bed, []).append(row.part_m)
    return [
        (bed, *ends)
        for bed, parts in by_bed.items()
        for ends in joined(parts, names.HAND_M)
    ]


def _rest(here: PlotAdvice, order: Sequence[str], units: Units) -> Iterable[str]:
    """What is not covered, and why: a line for each verdict, below it one for each crop."""
    beyond = (*here.of("short"), *here.of("lost"))
    for key, rows in (
        ("short", here.of("short")),
        ("lost", here.of("lost")),
        ("pick", [row for row in beyond if _is_to_pick(row.standing)]),
        ("odds", here.of("odds")),
        ("leave", here.of("leave")),
    ):
        by_crop: dict[str, list[Row]] = {}
        for row in rows:
            by_crop.setdefault(_crop(row), []).append(row)
        if by_crop:
            yield _(PLOT[key])
        for crop, alike in by_crop.items():
            beds = names.listed(_beds_of(alike, order, units))
            yield _(PLOT["row"]).format(crop=names.started(crop), beds=beds)


def _crop(row: Row) -> str:
    return kept(names.crop(row.standing.crop), row.standing.keeps)


def kept(crop: str, keeps: Keeps) -> str:
    """A crop as growers call it, and why it wants no cover.

    Examples
    --------
    >>> kept("potatoes", "seed"), kept("kale", "")
    ('potatoes (not up yet)', 'kale')
    """
    return _(PLOT[keeps]).format(crop=crop) if keeps else crop


# ------------------------------------------------------------------ lows side by side
def beds_of(first: date, last: date) -> str:
    """For the beds of which evenings lows stand side by side."""
    days = names.run([language.date_in_words(day) for day in (first, last)])
    return _(CELLS["beds_of"]).format(days=days)


def cell(found: Cell, order: Sequence[str], units: Units) -> str:
    """What a crop of a plot wants at one low.

    Parameters
    ----------
    found
        The covers for the crop at this low, and what is not covered. Empty text where
        nothing is said of it.
    order
        Names of all beds in the order of the plan, "" where a plot or tunnel begins.
        Neighbours in it are written as a run.
    units
        "metric" or "us", for lengths.
    """
    laid = [_laid(each, order, units) for each in found.laid]
    rest = [] if found.verdict == "cover" else [_(CELLS[found.verdict])]
    return "; ".join((*laid, *rest))


def _laid(laid: Laid, order: Sequence[str], units: Units) -> str:
    length = quantities.whole_length(laid.cover_m, units)
    piece = _(CELLS["laid"]).format(cover=names.cover_name(laid.kind), length=length)
    if laid.odds in CELLS:
        piece = _(CELLS[laid.odds]).format(piece=piece)
    if laid.is_all:
        return piece
    beds = names.runs_of_beds(laid.beds, order)
    return _(CELLS["of_beds"]).format(piece=piece, beds=beds)


# ------------------------------------------------------------------ the hours
def _harmed(each: Harmed, advice: Advice) -> str:
    beds = names.runs_of_beds(
        [row.standing.bed for row in each.rows], advice.plan_order
    )
    crop = names.crop(each.rows[0].standing.crop)
    crops = _(PLOT["of_crop"]).format(crop=crop, beds=beds)
    first, last = clock(each.first), "" if each.last is None else clock(each.last)
    key = "at_worst" if not last else "by" if first == last else "between"
    return _(HOURS[key]).format(first=first, last=last, crops=crops)


def _hours_note(advice: Advice, units: Units) -> str:
    """From what the hours are known; empty where there are none."""
    if not advice.harmed or advice.dusk is None:
        return ""
    low, high = (quantities.temperature(each, units) for each in advice.dusk)
    if advice.dusk.is_read:
        return _(HOURS["note"]).format(dusk=low)
    return _(HOURS["note_range"]).format(low=low, high=high)


def clock(when: datetime) -> str:
    """A time of day as it is written where one lives.

    Examples
    --------
    >>> clock(datetime(2026, 5, 6, 18, 5)), clock(datetime(2026, 5, 7))
    ('18:05', 'midnight')
    """
    if (when.hour, when.minute) == (0, 0):
        return _(HOURS["midnight"])
    return language.clock(when)
