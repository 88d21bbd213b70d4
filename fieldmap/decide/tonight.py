"""Tonight: from the forecast low at the station to the beds that want a cover.

Which crop stands on which bed is not known, so every crop is told for every bed, plot
after plot, in the order in which one walks.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, NamedTuple, get_args

import numpy as np

from fieldmap.decide.calendar.bed_temperatures import SITE_BIAS_C, station_air
from fieldmap.errors import PlanError
from fieldmap.model.site import cells_in
from fieldmap.show.text import language, quantities
from fieldmap.show.text.language import _, later
from layers.cover import COVERS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fieldmap.decide.ranking import RankedBed
    from fieldmap.model.crops import Crop
    from fieldmap.model.settings import CoverKind
    from fieldmap.model.site import Site

Sky = Literal["clear", "cloudy"]
Wind = Literal["calm", "windy"]
# What a bed is drawn as, over all its crops: nothing wants a hand; a crop is likely
# unharmed as it is; a cover of yours serves; it serves some crops and others are not
# saved; no cover of yours serves any crop that is at risk.
Sign = Literal["leave", "odds", "cover", "part", "lost"]

# Lows that are believed; what else is asked for is more likely in the other unit.
COLDEST_C, WARMEST_C = -40.0, 20.0
# Whole lows for which lists are made beforehand: what is warmer harms nothing that is
# grown outdoors, what is colder no cover is likely to keep off (choices).
LOWS_TOLD = {"metric": (10, -12), "us": (50, 10)}
# Kinds that can warm a bed, in the names of `layers.cover`; shade cloth and insect net
# are worth nothing at night.
WARMING = (
    "light_fabric",
    "medium_fabric",
    "heavy_fabric",
    "slitted_film",
    "clear_film",
)
PAIR, PAIR_OF = "fabric_under_film", ("light_fabric", "clear_film")
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
SKIES: Mapping[Sky, str] = {"clear": later("clear"), "cloudy": later("cloudy")}
WINDS: Mapping[Wind, str] = {"calm": later("calm"), "windy": later("windy")}
CLAUSES = {
    "leave": later("can be left"),
    "sure": later("cover with {cover}"),
    "likely": later("cover with {cover}, which is likely enough but not sure"),
    "wanting": later(
        "no cover that you have for it is likely enough; {cover} would be"
    ),
    "lost": later("no cover is likely to save it: pick what is ripe before dark"),
}


class Night(NamedTuple):
    """What the forecast says.

    Attributes
    ----------
    low_c
        Lowest temperature at the weather station [°C].
    """

    low_c: float
    sky: Sky
    wind: Wind

    @property
    def is_still(self) -> bool:
        """Clear and calm: cold air forms and runs."""
        return self.sky == "clear" and self.wind == "calm"


def forecast(low: str, sky: str, wind: str, units: quantities.Units) -> Night:
    """A forecast as it was typed, the low in the units of the site.

    Raises
    ------
    PlanError
        With a sentence for each word that cannot be used.
    """
    problems = []
    low_c = _celsius(low, units)
    if low_c is None:
        unit = "°F" if units == "us" else "°C"
        ends = [quantities.temperature(end, units) for end in (COLDEST_C, WARMEST_C)]
        problems.append(
            _(
                "--low is {value!r}; give the low that is forecast for the station in "
                "{unit}, a number from {coldest} to {warmest}, such as --low {example}"
            ).format(
                value=low,
                unit=unit,
                coldest=ends[0],
                warmest=ends[1],
                example="34" if units == "us" else "1",
            )
        )
    for word, value, right in (("sky", sky, Sky), ("wind", wind, Wind)):
        if value not in get_args(right):
            problems.append(
                _("--{word} is {value!r}; say {one} or {other}").format(
                    word=word,
                    value=value,
                    one=get_args(right)[0],
                    other=get_args(right)[1],
                )
            )
    if low_c is None or problems:
        raise PlanError(problems)
    return Night(low_c, sky, wind)  # type: ignore[arg-type]


def _celsius(low: str, units: quantities.Units) -> float | None:
    try:
        value = float(low)
    except ValueError:
        return None
    low_c = (value - 32) / 1.8 if units == "us" else value
    believed = math.isfinite(low_c) and COLDEST_C <= low_c <= WARMEST_C
    return low_c if believed else None


class Bare(NamedTuple):
    """Air on a bed without a cover, at screen height [°C]."""

    worst_c: float
    likely_c: float


class Answer(NamedTuple):
    """What to do with one crop on one bed.

    Attributes
    ----------
    verdict
        leave: unharmed at worst; sure: unharmed at worst under `cover`; likely:
        unharmed as things are likely under `cover`, or without one where it is None;
        wanting: as likely, under a cover that is not owned or not chosen for the crop;
        lost: no cover is likely to save it.
    cover
        In the names of `layers.cover`.
    """

    verdict: Literal["leave", "sure", "likely", "wanting", "lost"]
    cover: str | None = None


@dataclass(frozen=True)
class PlotList:
    """One stop of the walk: what is said of the beds of a plot, crop by crop."""

    plot: str
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Tonight:
    """The whole list, in sentences.

    Attributes
    ----------
    heading
        The forecast and the kind of night.
    first
        What holds everywhere.
    plots
        In walking order; empty where the beds are all alike.
    cautions
        Told last, on every list.
    signs
        What each bed is drawn as, by name; without beds of which nothing is known, and
        empty on a windy night.
    """

    heading: str
    first: tuple[str, ...]
    plots: tuple[PlotList, ...]
    cautions: tuple[str, ...]
    signs: Mapping[str, Sign]


def advise(site: Site, beds: Sequence[RankedBed], night: Night) -> Tonight:
    """What to cover tonight, with what, what to leave, and what cannot be saved.

    For the decision the coldest plausible offset, the least worth of a cover and the
    safest limit of the crop count; what is likely is told beside it. Nights that are
    not clear and calm take the bed's height alone and the least worth of covers, and
    are not told as a range.
    """
    return _advise(site, Walk.of(site, beds), night)


def _advise(site: Site, way: Walk, night: Night) -> Tonight:
    walk = list(way.beds)
    bare = {
        ranked.bed.name: _bare(site, way, ranked, height_c, night)
        for ranked, height_c in zip(walk, way.heights_c, strict=True)
    }
    unknown = [name for name, air in bare.items() if math.isnan(air.worst_c)]
    walk = [ranked for ranked in walk if ranked.bed.name not in unknown]
    first = [*_about(site, night)]
    if unknown:
        first.append(
            _("Nothing is known of the ground of {beds}.").format(
                beds=", ".join(unknown)
            )
        )
    plots: tuple[PlotList, ...] = ()
    signs: dict[str, Sign] = {}
    if night.wind == "windy":
        first += _alike(site, night, way)
    elif walk:
        answers = _answers(site, [bare[each.bed.name] for each in walk], night)
        told, plots = _by_plot(site, walk, bare, answers)
        first += told
        signs = {
            ranked.bed.name: sign(here[at] for here in answers.values())
            for at, ranked in enumerate(walk)
        }
    else:
        first.append(_("There are no beds to cover."))
    return Tonight(
        _heading(site, night), tuple(first), plots, language.translated(CAUTIONS), signs
    )


class Walk(NamedTuple):
    """What is the same on every evening.

    Attributes
    ----------
    beds
        In walking order.
    heights_c
        What each bed's height is worth against the station.
    reference_c
        The same of the reference of offsets.
    spare_c
        Kept in hand where nobody knows how the plots run against the station.
    """

    beds: tuple[RankedBed, ...]
    heights_c: tuple[float, ...]
    reference_c: float
    spare_c: float

    @classmethod
    def of(cls, site: Site, beds: Sequence[RankedBed]) -> Walk:
        """The walk over the beds of a site."""
        ground = site.elevation
        station = station_air(
            site,
            float(np.nanmedian(ground.values[cells_in(site.plots.geometry, ground)])),
        )
        order = walking_order(site, beds)
        middles = [ranked.bed.outline.centroid for ranked in order]
        heights_m = site.elevation.sample(
            [point.x for point in middles], [point.y for point in middles]
        )
        above_c = station.by_height_c(np.asarray(heights_m, float))
        return cls(
            tuple(order),
            tuple(float(each) for each in above_c),
            0.0 if station.is_reference else station.middle_c,
            station.allowed_c,
        )


def lines(list_: Tonight) -> list[str]:
    """The list for the terminal."""
    return [
        list_.heading,
        *list_.first,
        *(
            line
            for here in list_.plots
            for line in ("", here.plot, *(f"  {said}" for said in here.sentences))
        ),
        "",
        *list_.cautions,
    ]


# ------------------------------------------------------------------ any evening
class Evening(NamedTuple):
    """The list for one low, as it is read off a sheet or a page.

    Attributes
    ----------
    low
        Whole degrees in the units of the site.
    """

    low: int
    tonight: Tonight


def evenings(
    site: Site, beds: Sequence[RankedBed], sky: Sky, wind: Wind
) -> tuple[Evening, ...]:
    """The lists for every whole low that one may hear, the warmest first."""
    warmest, coldest = LOWS_TOLD[site.settings.units]
    nights = {
        low: Night((low - 32) / 1.8 if site.settings.units == "us" else low, sky, wind)
        for low in range(warmest, coldest - 1, -1)
    }
    way = Walk.of(site, beds)
    return tuple(
        Evening(low, _advise(site, way, night)) for low, night in nights.items()
    )


def spans(evenings_: Sequence[Evening]) -> list[tuple[Evening, Evening]]:
    """First and last of neighbouring lows of which the list says the same.

    The temperatures that are told of each plot do not count.
    """

    def said(each: Evening) -> list[object]:
        plots = [(here.plot, here.sentences[1:]) for here in each.tonight.plots]
        return [each.tonight.first, plots]

    runs = [list(run) for _, run in itertools.groupby(evenings_, said)]
    return [(run[0], run[-1]) for run in runs]


# ------------------------------------------------------------------ the walk
def walking_order(site: Site, beds: Sequence[RankedBed]) -> list[RankedBed]:
    """Beds plot after plot, each plot from the end that lies nearer to a gate.

    Without a gate a plot is walked from its first bed.
    """
    gates = site.surroundings.geometry[site.surroundings["kind"] == "gate"]
    walk = []
    for plot in site.plots["name"]:
        here = [ranked for ranked in beds if ranked.bed.plot == plot]
        if here and len(gates):
            first, last = (
                gates.distance(here[end].bed.outline).min() for end in (0, -1)
            )
            here = here[::-1] if last < first else here
        walk += here
    return walk


# ------------------------------------------------------------------ the air on a bed
def _bare(
    site: Site, way: Walk, ranked: RankedBed, height_c: float, night: Night
) -> Bare:
    """The forecast taken to a bed: height and offset enter once, in tenths."""
    if not night.is_still:
        return _in_tenths(night.low_c + height_c, night.low_c + height_c)
    offset_c = ranked.offset_c
    bias = site.bias_c
    if bias is not None:  # the difference of heights lies within it
        return _in_tenths(
            night.low_c + bias.low + offset_c.low,
            night.low_c + bias.central + offset_c.central,
        )
    reference_c = night.low_c + way.reference_c
    return _in_tenths(
        reference_c + offset_c.low - way.spare_c, reference_c + offset_c.central
    )


def _in_tenths(worst_c: float, likely_c: float) -> Bare:
    """As files tell offsets, so that alike beds share an answer."""
    return Bare(round(worst_c, 1), round(likely_c, 1))


# ------------------------------------------------------------------ one crop, one bed
def answer(crop: Crop, bare: Bare, night: Night, owned: Sequence[str]) -> Answer:
    """What to do with a crop on a bed.

    Parameters
    ----------
    owned
        Covers that may be used for it, in the names of `layers.cover`.
    """
    limit = crop.screen_damage_c
    # Leaves are colder than the screen on clear calm nights only; on others the middle
    # value stays as what a forecast may be out by (a choice, no source).
    surely_c = limit.high if night.is_still else limit.central
    if bare.worst_c > surely_c:
        return Answer("leave")
    by_worth = sorted(owned, key=lambda name: COVERS[name].gain_c)

    def is_sure(name: str) -> bool:
        return bare.worst_c + COVERS[name].other_nights_gain_c > surely_c

    def is_likely(name: str) -> bool:
        gain_c = COVERS[name].gain_c
        worth_c = gain_c.central if night.is_still else gain_c.low
        return bare.likely_c + worth_c > limit.central

    sure = [name for name in by_worth if is_sure(name)]
    if sure:
        return Answer("sure", sure[0])
    if by_worth and is_likely(by_worth[-1]):
        return Answer("likely", by_worth[-1])
    if is_likely("none"):
        return Answer("likely")
    every = sorted((*WARMING, PAIR), key=lambda name: COVERS[name].gain_c)
    would = [n for n in every if is_sure(n)] or [n for n in every if is_likely(n)]
    return Answer("wanting", would[0]) if would else Answer("lost")


def sign(answers: Iterable[Answer]) -> Sign:
    """What a bed is drawn as, from the answers for all its crops."""
    here = list(answers)
    beyond = any(each.verdict in ("wanting", "lost") for each in here)
    if any(each.verdict in ("sure", "likely") and each.cover for each in here):
        return "part" if beyond else "cover"
    if beyond:
        return "lost"
    return "leave" if all(each.verdict == "leave" for each in here) else "odds"


def _answers(site: Site, air: Sequence[Bare], night: Night) -> dict[str, list[Answer]]:
    """For each crop, what to do on each bed of the walk."""
    answers = {}
    for crop, chosen in zip(site.crops, _chosen(site), strict=True):
        owned = _owned(site, chosen)
        of_air = {each: answer(crop, each, night, owned) for each in dict.fromkeys(air)}
        answers[crop.name] = [of_air[each] for each in air]
    return answers


def _owned(site: Site, chosen: tuple[CoverKind, ...] | None) -> tuple[str, ...]:
    """Covers owned that warm, and of them those chosen for a crop."""
    kinds = {cover.kind for cover in site.settings.covers}
    if chosen is not None:
        kinds &= set(chosen)
    single = [kind for kind in WARMING if kind in kinds]
    return (*single, PAIR) if set(PAIR_OF) <= kinds else tuple(single)


def _chosen(site: Site) -> list[tuple[CoverKind, ...] | None]:
    """For each crop of the site, the covers that the grower chose for it."""
    choices = site.settings.crops
    return [choice.covers for choice in choices] or [None] * len(site.crops)


# ------------------------------------------------------------------ sentences
def _by_plot(
    site: Site,
    walk: Sequence[RankedBed],
    bare: Mapping[str, Bare],
    answers: Mapping[str, list[Answer]],
) -> tuple[list[str], tuple[PlotList, ...]]:
    """What holds on all beds, then plot by plot the crops that want a hand."""
    left = [
        name
        for name, here in answers.items()
        if all(each.verdict == "leave" for each in here)
    ]
    first = []
    if left:
        first.append(
            _("Can be left on every bed: {crops}.").format(
                crops=quantities.listed(language.translated(left))
            )
        )
    if len(left) == len(answers):
        return [*first, _("Nothing needs a cover tonight.")], ()
    first.append(
        _(
            "Go by what is out there now: the list knows what each crop would need on a "
            "bed, and not which of them stands on it."
        )
    )
    if not _owned(site, None):
        first.append(_("site.toml names no cover of yours that warms a bed."))
    first += _short(site, walk, answers)
    wanting = [name for name in answers if name not in left]
    plots = []
    for plot, group in itertools.groupby(enumerate(walk), lambda p: p[1].bed.plot):
        here = list(group)
        names = [ranked.bed.name for _at, ranked in here]
        said: dict[str, list[str]] = {}
        for name in wanting:
            runs = _runs(names, [answers[name][index] for index, _bed in here])
            said.setdefault(runs, []).append(name)
        over = [bare[name] for name in names]
        plots.append(
            PlotList(
                plot,
                (
                    _air(over, site.settings.units),
                    *(
                        f"{quantities.started(quantities.listed(language.translated(crops)))}: {runs}"
                        for runs, crops in said.items()
                    ),
                ),
            )
        )
    return first, tuple(plots)


def _runs(names: Sequence[str], answers: Sequence[Answer]) -> str:
    """Runs of neighbouring beds with one answer, each as a clause."""
    clauses = []
    for given, run in itertools.groupby(
        zip(names, answers, strict=True), key=lambda pair: pair[1]
    ):
        beds = [name for name, _answer in run]
        if len(beds) == len(names):
            where = _("all beds")
        elif len(beds) == 1:
            where = beds[0]
        else:
            where = _("{first} to {last}").format(first=beds[0], last=beds[-1])
        clauses.append(f"{where}, {_clause(given)}")
    return "; ".join(clauses) + "."


def _clause(given: Answer) -> str:
    cover = "" if given.cover is None else quantities.cover(COVERS[given.cover].name)
    if given.verdict == "likely" and given.cover is None:
        return _("likely unharmed as it is, though not surely; your covers add nothing")
    return _(CLAUSES[given.verdict]).format(cover=cover)


def _short(
    site: Site, walk: Sequence[RankedBed], answers: Mapping[str, list[Answer]]
) -> list[str]:
    """A sentence for each cover of which less is owned than is named."""
    units = site.settings.units
    said = []
    for kind in WARMING:
        have_m = sum(c.length_m for c in site.settings.covers if c.kind == kind)
        uses = {kind, PAIR} if kind in PAIR_OF else {kind}
        need_m = sum(
            ranked.bed.length_m
            for index, ranked in enumerate(walk)
            if any(here[index].cover in uses for here in answers.values())
        )
        if 0 < have_m < need_m:
            said.append(
                _(
                    "You own {have} of {cover}; the beds named for it are {need} long if "
                    "all are planted: begin with the plants that are dearest to replace."
                ).format(
                    have=quantities.length(have_m, units),
                    cover=quantities.cover(COVERS[kind].name),
                    need=quantities.length(round(need_m), units),
                )
            )
    return said


def _air(air: Sequence[Bare], units: quantities.Units) -> str:
    worst = quantities.temperature(min(each.worst_c for each in air), units)
    likely = [quantities.temperature(each.likely_c, units) for each in air]
    coldest = quantities.temperature(min(each.likely_c for each in air), units)
    warmest = quantities.temperature(max(each.likely_c for each in air), units)
    about = (
        coldest
        if len(set(likely)) == 1
        else _("{first} to {last}").format(first=coldest, last=warmest)
    )
    if worst == coldest:
        return _("Without a cover: about {air}.").format(air=about)
    return _(
        "Without a cover: likely {air}, at worst {worst} on the coldest bed."
    ).format(air=about, worst=worst)


def _alike(site: Site, night: Night, way: Walk) -> list[str]:
    """A windy night: no list by bed."""
    units = site.settings.units
    low_c = night.low_c + way.reference_c
    said = [
        _("All beds alike: about {air}.").format(
            air=quantities.temperature(low_c, units)
        )
    ]
    harmed = [_(c.name) for c in site.crops if low_c <= c.screen_damage_c.central]
    if not harmed:
        return [*said, _("No crop of yours is harmed by that.")]
    return [
        *said,
        _(
            "Harmed by that where they are out: {crops}. Do not count on a cover: pick "
            "what is ripe, and bring in what stands in trays."
        ).format(crops=quantities.listed(harmed)),
    ]


def _heading(site: Site, night: Night) -> str:
    low = quantities.temperature(night.low_c, site.settings.units)
    return _("{site}, tonight: {low} at the station, {sky} and {wind}.").format(
        site=site.settings.name,
        low=low,
        sky=_(SKIES[night.sky]),
        wind=_(WINDS[night.wind]),
    )


def _about(site: Site, night: Night) -> list[str]:
    said: list[str] = []
    if night.wind == "windy":
        said += language.translated(WINDY)
    elif night.sky == "cloudy":
        said += language.translated(CLOUDY)
    if site.settings.station is None:
        said.append(
            _(
                "The height of the station is not known, so the forecast is taken as if "
                "it were made for the plots; give [station] in site.toml."
            )
        )
    elif site.station_cell is None and site.bias_c is None:
        said.append(
            _(
                "The station stands elsewhere: all beds together may be {degrees} "
                "warmer or colder than is told, until thermometers hang on the spot. "
                "'At worst' counts the colder."
            ).format(degrees=quantities.degrees(SITE_BIAS_C, site.settings.units))
        )
    return said
