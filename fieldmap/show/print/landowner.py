"""Two pages for the landowner: what is proposed, what it looks like, what is agreed."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import NamedTuple

import shapely
from shapely.geometry.base import BaseGeometry

from fieldmap.decide.crop_plan.model import CropPlan
from fieldmap.decide.layout.beds import Bed
from fieldmap.decide.materials import fence
from fieldmap.decide.materials.model import LowTunnel
from fieldmap.decide.materials.watering.model import Pipes
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.decide.what_if import Effect
from fieldmap.show.print import agreement, paper
from fieldmap.show.print.ground import year
from fieldmap.show.print.ground.drawing import AROUND, PlanDrawing
from fieldmap.show.print.ground.ground_facts import ColdPlace, First
from fieldmap.show.print.ground.ground_plan import CHANGE, key
from fieldmap.show.print.ground.site_plan import SitePlan
from fieldmap.show.print.teaching import pen
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import (
    _,
    month_in_short,
    month_name,
    translated,
    written,
)
from fieldmap.show.text.map.answers import lost_days, nights_changed
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say, say_all

# What a change does outside the plots, by its fact.
BEYOND = {
    "below_is_colder": "beyond",
    "below_is_no_colder": "beyond_none",
    "below_is_not_known": "beyond_unknown",
}
WORDS, HEIGHTS, WATER, YEAR, REASONS, COLD, NIGHTS, TALK, CAUTIONS = (
    texts("fieldmap.show.text.print.landowner", table)
    for table in (
        *("sheet", "heights", "water", "year", "reasons", "cold"),
        *("nights", "talk", "cautions"),
    )
)
# Why a tunnel stands where the light is, by the fact that says how much it gets.
LIGHT = {"tunnel_most_winter_light": "light_best", "tunnel_winter_light": "light"}
TITLES = texts("fieldmap.show.text.print.sheets", "titles")
MOST_POCKETS = 2
MARKS = "ABCD"  # of the changes that are looked into: as many as have a line
RING_MM, BOX_MM = 1.2, 3.6  # around what a change does; half a letter with its room
APART = 0.2  # of the drawing's width: letters that would stand closer are moved apart
# Width of the map, and its height as a share of the page's: above two rows of pictures
# of the year, and above one or none.
MAP_MM, MAP_TALL, MAP_TALLER = 114.0, 0.41, 0.53
PICTURES_MM, PERSON_M = 91.0, 1.7
# The head of the page; the key of the map and the head of the pictures; the words below
# a row of pictures, and below all of them.
TITLE_MM, KEY_MM, CAPTION_MM, FOOT_MM = 16.0, 32.0, 7.0, 6.0
DRY_MONTHS = (4, 9)  # of the north: from and until which water is asked for


class Proposal(NamedTuple):
    """What the sheet is made from.

    Attributes
    ----------
    plan
        The drawing of the whole ground.
    years
        First and last of the record from which dates come; None where there is none.
    water_l_day
        By month, in a week without rain; empty where that is not worked out.
    pipes
        What waters the beds.
    in_grass
        Plots on which nothing is made this year.
    """

    site: str
    drawn: SitePlan
    plan: PlanDrawing
    first: First
    cold: Sequence[ColdPlace]
    crop_plan: CropPlan
    lows: Sequence[LowTunnel]
    effects: Sequence[Effect]
    years: tuple[int, int] | None
    water_l_day: Mapping[int, float]
    pipes: Pipes | None
    in_grass: Collection[str] = ()


def rows_of_pictures(beds: Sequence[Bed], crop_plan: CropPlan) -> int:
    """How many rows the pictures of the year take, two in a row."""
    if not beds:
        return 0
    _plot, found = year.plot_to_show(beds, crop_plan)
    pictures = len(year.pictured(found))
    return 0 if pictures < 2 else (pictures + 1) // 2


def map_tall_mm(rows: int, page: paper.Paper) -> float:
    """Height of the map above a number of rows of pictures."""
    share = MAP_TALL if rows > 1 else MAP_TALLER
    return share * paper.INNER_MM[page][1]


def blocks(the: Proposal, page: paper.Paper) -> tuple[paper.Block, ...]:
    """The two pages."""
    units = the.drawn.units
    height_mm = paper.INNER_MM[page][1]
    plots = names.listed([str(name) for name in the.drawn.plots["name"]])
    site = " ".join(the.site.split())
    rows = rows_of_pictures(the.drawn.beds, the.crop_plan)
    taken_mm = TITLE_MM + map_tall_mm(rows, page) + KEY_MM + FOOT_MM
    ground = the.drawn.plots, the.drawn.surroundings
    fences = fence.of_plots(*ground, the.in_grass)
    later = [str(name) for name in ground[0]["name"] if name in the.in_grass]
    agreed = agreement.things(the.drawn, the.crop_plan, fences, the.pipes, later)
    picture_mm = (height_mm - taken_mm) / max(rows, 1) - CAPTION_MM
    return (
        paper.Head(
            _(TITLES["landowner"]), (_(WORDS["line"]).format(site=site, plots=plots),)
        ),
        paper.Beside(tuple(_map(the)), tuple(_beside(the, units)), MAP_MM),
        *_year(the, (PICTURES_MM, picture_mm), units),
        paper.NewPage(),
        paper.Heading(_(WORDS["why"])),
        paper.Points(tuple(_reasons(the, units)) or (_(REASONS["none"]),)),
        *(
            paper.Lead(f"{names.started(word)}:", said)
            for word, said in _words(the.cold)
        ),
        paper.Heading(_(WORDS["stays"])),
        paper.Text(_(WORDS["fill_in"])),
        paper.Table(
            translated(WORDS["agreement"]),
            tuple((*row, "", "", "") for row in agreed),
            (5.6, 6.0, 2.1, 3.0, 2.1),
        ),
        paper.Heading(_("To talk about")),
        paper.Points(tuple(_to_talk_about(the.drawn))),
        *_changes(the.effects, the.drawn.beds, units),
        paper.cautions("", CAUTIONS),
        paper.Heading(_("Agreed")),
        paper.Lines(translated(WORDS["agreed"])),
    )


def _words(cold: Sequence[ColdPlace]) -> list[tuple[str, str]]:
    """Words of the first page that an owner may not know, with their meaning."""
    return [*map(names.explained, ("still_night", "cold_air"))] if cold else []


# ------------------------------------------------------------------ the first page
def _map(the: Proposal) -> Iterator[paper.Block]:
    yield the.plan.drawing(_(WORDS["plan"]))
    yield key(
        MAP_MM,
        the.drawn,
        has_pocket=bool(the.cold),
        has_change=bool(the.effects),
    )


def _beside(the: Proposal, units: Units) -> Iterator[paper.Block]:
    drawn = the.drawn
    yield paper.Text(" ".join(_what(drawn, units)))
    for place in [each for each in the.cold if each.plots][:MOST_POCKETS]:
        yield _cold(place, the.crop_plan, units)
    yield paper.Heading(_(WATER[f"head_{units}"]))
    yield from _water(the.water_l_day, the.crop_plan, units)
    if drawn.tunnels or the.lows:
        yield paper.Heading(_(HEIGHTS["head"]))
        yield _heights(drawn, the.lows, units)


def _what(drawn: SitePlan, units: Units) -> Iterator[str]:
    """How much is asked for, and what of it can go again."""
    yield fill(
        WORDS["what"],
        units,
        number=len(drawn.beds),
        planted_m2=agreement.planted_m2(drawn),
        built=fill(WORDS["built"], units, number=len(drawn.tunnels)),
    )
    yield _(WORDS["away"])


def _cold(place: ColdPlace, crop_plan: CropPlan, units: Units) -> paper.Lead:
    """Where cold air lies, and what the plan does there: from one fact."""
    which = ("behind" if place.behind else "low") + ("_in" if place.plots else "")
    where = _(COLD[which]).format(thing=place.behind, plots=names.listed(place.plots))
    head = _(COLD["head"]).format(place=where)
    rest = " ".join([_(COLD["dotted"]), *what_is_planned(place, crop_plan, units)])
    return paper.Lead(head, rest)


def what_is_planned(
    place: ColdPlace, crop_plan: CropPlan, units: Units
) -> Iterator[str]:
    """What the plan sets on the beds of a cold place.

    Parameters
    ----------
    place
        Where cold air lies, with its beds and crops.
    crop_plan
        Which crop stands on which bed, to turn a number of a day into a date.
    units
        "metric" or "us".
    """
    if not place.beds:
        yield _(COLD["no_bed"])
    elif not (place.tender or place.hardy):
        in_grass = set(place.beds) <= set(crop_plan.untended)
        kind = "grass" if in_grass else "nothing"
        yield fill(COLD[kind], units, number=len(place.beds))
    elif place.tender_from_day is None:
        yield fill(COLD["hardy"], units, crops=list(place.hardy))
    else:
        day = crop_plan.month_day(place.tender_from_day)
        yield fill(COLD["tender"], units, day=day, crops=list(place.tender))


def _water(
    litres: Mapping[int, float], crop_plan: CropPlan, units: Units
) -> Iterator[paper.Block]:
    """Bars by month; lines to write on where it is not worked out."""
    season = crop_plan.season
    first, last = (season.local_month(month) for month in DRY_MONTHS)
    if not any(litres.values()):
        months = names.run([month_name(first), month_name(last)])
        yield paper.Text(_(WATER["ask"]))
        yield paper.Lines((months, ""))
        return
    months_shown = [
        season.local_month(m) for m in range(DRY_MONTHS[0], DRY_MONTHS[1] + 1)
    ]
    yield _bars([(month, litres.get(month, 0.0)) for month in months_shown], units)


def _bars(by_month: Sequence[tuple[int, float]], units: Units) -> paper.Drawing:
    wide, tall, foot = 66.0, 31.0, 25.0
    most = max((amount for _month, amount in by_month), default=0.0) or 1.0
    pitch = wide / len(by_month)
    parts = [pen.line((0, foot), (wide, foot), width=pen.LINE)]
    for number, (month, amount) in enumerate(by_month):
        x, high = number * pitch + 1.0, 18.0 * amount / most
        right = x + pitch - 2.0
        said = quantities.water(amount, units).split()[0]
        parts += [
            pen.hatched(x, foot - high, right, foot) if high > 0.5 else "",
            pen.words((x + right) / 2, foot - high - 1.2, said, 3.6, bold=True),
            pen.words((x + right) / 2, tall - 1.5, month_in_short(month), 3.6),
        ]
    return pen.picture(parts, (wide, tall), _(WATER["says"]))


def _heights(drawn: SitePlan, lows: Sequence[LowTunnel], units: Units) -> paper.Drawing:
    """A person beside what stands, to one scale."""
    wide, ground, top = 66.0, 22.0, 3.0
    tallest = max([PERSON_M, *(each.size.height_m for each in drawn.tunnels)])
    scale = (ground - top) / tallest
    parts = [pen.ground(0.0, wide, ground)]
    x = 1.0
    tunnel = max(
        (each.size for each in drawn.tunnels), key=lambda it: it.height_m, default=None
    )
    if tunnel is not None:
        right = x + min(tunnel.width_m * scale, 38.0)
        high = tunnel.height_m * scale
        parts += [
            pen.stroke(
                f"M{x} {ground} V{ground - 0.55 * high:.2f} Q{x} {ground - high:.2f} "
                f"{(x + right) / 2:.2f} {ground - high:.2f} Q{right} {ground - high:.2f} "
                f"{right} {ground - 0.55 * high:.2f} V{ground}",
                pen.HEAVY,
            ),
            pen.upright(
                x + 0.66 * (right - x),
                ground - high + 1,
                ground,
                quantities.height(tunnel.height_m, units),
                left=True,
            ),
            pen.words((x + right) / 2, ground + 5.5, _(HEIGHTS["tunnel"]), 3.5),
        ]
        person_x = x + 0.2 * (right - x)
        x = right + 4.0
    else:
        person_x, x = x + 6.0, x + 16.0
    tall = PERSON_M * scale
    hand = person_x + 0.16 * tall, ground - 0.5 * tall
    parts.append(pen.person(person_x, ground, tall, hand))
    if lows:
        low = lows[0]
        middle, half = 54.0, max(low.span_m * scale / 2, 2.5)
        high = low.height_m * scale
        parts += [
            pen.hoop(middle - half, middle + half, ground, high, pen.HEAVY),
            pen.number(
                middle,
                ground - high - 2.0,
                quantities.short_length(low.height_m, units),
            ),
            pen.words(middle, ground + 5.5, _(HEIGHTS["low"]), 3.5),
        ]
    return pen.picture(parts, (wide, 28.5), _(HEIGHTS["says"]))


def _year(
    the: Proposal, room_mm: tuple[float, float], units: Units
) -> Iterator[paper.Block]:
    """The plot that changes most, drawn in each season that looks otherwise."""
    if not the.drawn.beds:
        return
    plot, found = year.plot_to_show(the.drawn.beds, the.crop_plan)
    if len(year.pictured(found)) < 2:
        yield paper.Text(_(YEAR["same"]).format(plot=plot))
        return
    yield paper.Heading(_(YEAR["head"]).format(plot=plot))
    pictures = []
    for alike in year.pictured(found):
        days = [
            quantities.day(*the.crop_plan.month_day(season.day)) for season in alike
        ]
        drawing = year.picture(the.drawn, plot, alike[0], room_mm)
        says = _(YEAR["picture"]).format(plot=plot, day=days[0])
        pictures.append(drawing.drawing(says, _caption(days, alike[0], units)))
    yield paper.Drawings(tuple(pictures), across=2)
    seen = {look for season in found for look in season.looks.values()}
    yield paper.Text(" ".join(_(YEAR[f"key_{sign}"]) for sign in year.signs(seen)))


def _caption(days: Sequence[str], season: year.Season, units: Units) -> str:
    green, covered = (season.number(covered=it) for it in (False, True))
    seen = fill(
        YEAR["covered" if covered else "bare"],
        units,
        number=covered or green,
        green=green,
        beds=len(season.looks),
    )
    return _(YEAR["caption"]).format(days=names.listed(days), seen=seen)


# ------------------------------------------------------------------ the second page
def _reasons(the: Proposal, units: Units) -> Iterator[str]:
    """Why just so."""
    if the.first.plots:
        yield fill(REASONS["first"], units, plots=list(the.first.plots))
    yield from _of_tunnels(the.drawn.tunnels, units)
    if the.years is not None:
        yield fill(REASONS["record"], units, first=the.years[0], last=the.years[1])


def _of_tunnels(tunnels: Sequence[TunnelPlace], units: Units) -> Iterator[str]:
    """Why each tunnel stands where it does, once for all that have the same reason."""
    alike: dict[tuple[str, int | str | None], list[str]] = {}
    for each in tunnels:
        light = [it for it in each.reasons if it.kind in LIGHT]
        reason = (
            (LIGHT[light[0].kind], light[0].values.get("percent"))
            if light
            else ("tunnel", " ".join(say_all(each.reasons[:1], units)))
        )
        alike.setdefault(reason, []).append(each.name)
    for (key_of, value), called in alike.items():
        said = {"reasons" if key_of == "tunnel" else "percent": value}
        tunnel = names.listed(called)
        yield fill(REASONS[key_of], units, number=len(called), tunnel=tunnel, **said)


def _to_talk_about(drawn: SitePlan) -> Iterator[str]:
    """What has no answer yet."""
    kinds, units = list(drawn.surroundings["kind"]), drawn.units
    yield fill(TALK["water"], units, number=kinds.count("water point"))
    roof_m2 = sum(each.size.length_m * each.size.width_m for each in drawn.tunnels)
    if roof_m2:
        gallons = roof_m2 * quantities.FEET_PER_METRE**2 * 0.623  # of an inch of rain
        litres = roof_m2 * 25  # a millimetre of rain on a square metre is a litre
        yield fill(
            TALK[f"roof_{units}"],
            units,
            gallons=written(gallons, ",.0f"),
            litres=written(litres, ",.0f"),
        )
    yield fill(TALK["access"], units, number=kinds.count("gate"))
    yield from translated((TALK["permit"], TALK["neighbours"]))


def _changes(
    effects: Sequence[Effect], beds: Sequence[Bed], units: Units
) -> tuple[paper.Block, ...]:
    """Changes around that were computed: nothing is done without the owner's word."""
    if not effects:
        return ()
    plot_of = {bed.name: bed.plot for bed in beds}
    rows = (
        (
            mark,
            " ".join(say_all(effect.changes, units)),
            " ".join(_does(effect, plot_of, units)),
            "",
        )
        for mark, effect in zip(MARKS, effects, strict=False)
    )
    return (
        paper.Heading(_(WORDS["changes"])),
        paper.Text(_(WORDS["your_word"])),
        paper.Table(
            translated(WORDS["change_columns"]), tuple(rows), (0.6, 2.4, 6.9, 1.5)
        ),
    )


def _does(effect: Effect, plot_of: Mapping[str, str], units: Units) -> Iterator[str]:
    """What a change does to nights, gain and loss, on the beds and beyond the plots."""
    nights = list(nights_changed(effect.beds, plot_of, units))
    if not nights:
        yield say(effect.facts[0], units)
    for each in nights:
        yield fill(NIGHTS[each.kind], units, **each._asdict())
        if each.days:
            yield fill(NIGHTS["days"], units, bed=each.bed, days=each.days)
    if lost := lost_days(effect.beds, units):
        bed, days = lost
        yield fill(NIGHTS["days"], units, bed=bed, days=days)
    for fact in effect.facts[1:]:
        if fact.kind in BEYOND:
            yield fill(NIGHTS[BEYOND[fact.kind]], units, **fact.values)


def places_of_changes(
    effects: Sequence[Effect], shown: BaseGeometry
) -> list[tuple[float, float]]:
    """Where the letter of each change stands, east and north: on what it does there.

    Parameters
    ----------
    effects
        The changes, each with the ground of what goes and of what is new.
    shown
        The ground on the drawing. A change off it has its letter at the nearest edge.
    """
    found: list[tuple[float, float]] = []
    west, _south, east, _north = shown.bounds
    for effect in effects[: len(MARKS)]:
        whole = shapely.union_all(list(effect.ground.values()))
        seen = whole.intersection(shown)
        near = shapely.shortest_line(shown, whole).interpolate(0.0)
        middle = near if seen.is_empty else seen.representative_point()
        apart = shapely.MultiPoint(found)
        if (
            found
            and not seen.is_empty
            and middle.distance(apart) < APART * (east - west)
        ):
            # Of two changes of one hedge each has its letter at another part of it.
            corners = map(shapely.Point, shapely.get_coordinates(seen))
            middle = max(corners, key=apart.distance)
        found.append((float(middle.x), float(middle.y)))
    return found


def add_changes(
    plan: PlanDrawing, effects: Sequence[Effect], plots: Sequence[BaseGeometry]
) -> None:
    """Each change in a dashed ring, with its letter off the plots where there is room."""
    letters: list[BaseGeometry] = []
    places = places_of_changes(effects, plan.shown)
    for mark, effect, place in zip(MARKS, effects, places, strict=False):
        for ground in effect.ground.values():
            ring = ground.buffer(RING_MM / plan.mm_per_m).boundary
            plan.add(ring.intersection(plan.shown), CHANGE)
        letter = _free_box(plan, place, plots, letters)
        letters.append(letter)
        beside = plan.at((letter.centroid.x, letter.centroid.y))
        plan.draw(pen.line(plan.at(place), beside, width=pen.LINE))
        plan.boxed_at(beside, mark)
    plan.lift_names()


def _free_box(
    plan: PlanDrawing,
    place: tuple[float, float],
    plots: Sequence[BaseGeometry],
    letters: Sequence[BaseGeometry],
) -> BaseGeometry:
    """The ground that a letter takes beside a place: off plots, letters and names if it can.

    Among those its line crosses no plot and no letter, it stands away from other
    letters, and near.
    """
    half_m = BOX_MM / plan.mm_per_m
    boxes = [
        shapely.Point(place[0] + away_m * dx, place[1] + away_m * dy).buffer(
            half_m, cap_style="square"
        )
        for away_m in (2 * half_m, 3 * half_m, 4 * half_m, 6 * half_m, 8 * half_m)
        for dx, dy in AROUND
    ]
    inside = [each for each in boxes if plan.shown.contains(each)] or boxes
    others, taken = shapely.union_all(letters), shapely.union_all([*plots, *letters])

    def faults(each: BaseGeometry) -> tuple[bool, bool, float, bool]:
        line = shapely.LineString([place, (each.centroid.x, each.centroid.y)])
        crossed_m = round(line.intersection(taken).length, 1)
        is_close = bool(letters) and each.distance(others) < 4 * half_m
        return each.intersects(taken), plan.covers_name(each), crossed_m, is_close

    return min(inside, key=faults)
