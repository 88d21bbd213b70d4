"""How to build a low tunnel: eight drawings with a bed's own numbers, and twelve words."""

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from fieldmap.decide.crop_plan.cover_use import days_out
from fieldmap.decide.crop_plan.model import Stay
from fieldmap.decide.layout.beds import Bed, joined
from fieldmap.decide.materials.cover_size import (
    GATHERED_M,
    TOUCH_M,
    is_clipped,
    is_film,
)
from fieldmap.decide.materials.model import LowTunnel, barrow_trips
from fieldmap.model.season_year import SeasonYear
from fieldmap.model.site import OwnWords
from fieldmap.show.print import paper
from fieldmap.show.print.teaching import steps, twelve_words
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import pegging
from fieldmap.show.text.language import _, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill
from layers.cover import COVERS

WORDS, PICTURES, LABELS, STEPS, CAUTIONS, BEHIND, TWELVE = (
    texts("fieldmap.show.text.print.build", table)
    for table in ("sheet", "pictures", "labels", "steps", "cautions", "words", "twelve")
)
# Low tunnels of other numbers are few where beds are standard; where they are not, the
# commonest are shown and the crew's table has all.
MOST_KINDS = 6
CAUTIONS_MM, GUTTER_MM, WORDS_MM = 50.0, 2.0, 56.0
STEPS_DRAWN = 8
# What is drawn, by the step that it belongs to.
ALT = PICTURES | {
    **dict.fromkeys(("get_film", "get_wide", "get_wide_film"), PICTURES["get"]),
    **dict.fromkeys(("push_part", "push_parts"), PICTURES["push"]),
    **dict.fromkeys(("push_there", "push_part_there"), PICTURES["push"]),
    "push_parts_there": PICTURES["push"],
    **dict.fromkeys(("next_wide", "next_many"), PICTURES["next"]),
    **dict.fromkeys(("next_wide_film", "next_many_film"), PICTURES["next_film"]),
    **dict.fromkeys(("pull_many", "pull_many_open"), PICTURES["pull_many"]),
    **dict.fromkeys(("edges_bags", "edges_wide_bags"), PICTURES["edges"]),
    **dict.fromkeys(("edges_stones", "edges_wide_stones"), PICTURES["edges"]),
    "edges_trench": PICTURES["bury"],
    "edges_clip": PICTURES["clip"],
    **dict.fromkeys(("ends_shut", "ends_slitted", "ends_net"), PICTURES["ends"]),
    "ends_wide_trench": PICTURES["ends_buried"],
    **dict.fromkeys(("ends_wide_bags", "ends_wide_stones"), PICTURES["ends_wide"]),
}
# Numbers that a tape shows.
ON_TAPE = frozenset(("leg", "height", "gap", "edge", "past", "bag_gap"))
PICTURE_MM = (54.0, 42.0, 34.0)  # by the number of languages
MOST_SIZES = 2  # of covers in the picture of what is fetched
CLIPPED_M = 0.05  # less of an edge does not lie on the ground


MonthDay = tuple[int, int]


class Build(NamedTuple):
    """Low tunnels that are built alike.

    Attributes
    ----------
    parts
        Beds of which only a part is covered, from where to where from the gate end [m].
    starts_m
        From the ends of the beds near the gate to the first hoop: all that differ.
    spans
        Month and day from which to which the cover lies on any of the beds.
    """

    low: LowTunnel
    plots: tuple[str, ...]
    beds: tuple[str, ...]
    parts: tuple[tuple[str, float, float], ...]
    starts_m: tuple[float, ...]
    pitch_m: float | None
    spans: tuple[tuple[MonthDay, MonthDay], ...]

    def how(self, anchor: str) -> str:
        """How its edges are held: as the grower chose, or clipped."""
        return anchor if self.edge_m >= CLIPPED_M else "clip"

    @property
    def hoops_to_get(self) -> int:
        """Of one bed, or of all beds under one piece."""
        return self.low.hoops * (self.low.wide_beds or 1)

    @property
    def edge_m(self) -> float:
        """Of cover that lies on the ground, each side."""
        over_m = self.low.cut_m - 2 * self.low.leg_m
        return max(0.0, (self.low.cover_width_m - over_m) / 2)

    @property
    def covers_m(self) -> tuple[tuple[float, ...], float]:
        """Lengths and width of what is fetched: cut for the bed, or a whole piece."""
        if self.low.under is not None:
            return (self.low.under.length_m,), self.low.under.width_m
        return self.low.pieces_m, self.low.cover_width_m

    @property
    def is_apart(self) -> bool:
        """Whether covers lie over parts of a bed that do not touch."""
        return len(joined(self.low.laid_m, TOUCH_M)) > 1

    @property
    def past_m(self) -> float:
        """Of cover beyond the last hoop, each end."""
        return GATHERED_M / 2


def builds(
    lows: Sequence[LowTunnel],
    beds: Sequence[Bed],
    path_m: float,
    stays: Sequence[Stay],
    season: SeasonYear,
) -> list[Build]:
    """Low tunnels by what is built alike, the commonest first.

    Parameters
    ----------
    lows
        Hoops and cover of each low tunnel. Those inside walk-in tunnels are left out.
    beds
        The beds outdoors.
    path_m
        Between beds that are laid out anew.
    stays
        Of all crops, with the days of their covers.
    season
        To write days as dates.
    """
    by_name, dated = {bed.name: bed for bed in beds}, season.month_day_of_any_year
    found: dict[tuple[Any, ...], list[LowTunnel]] = {}
    for low in lows:
        if low.bed not in by_name:  # inside a walk-in tunnel
            continue
        under = low.under and low.under._replace(beds=("",) * len(low.under.beds))
        alike = low._replace(
            bed="",
            under=under,
            stretches_m=(),
            # Wherever on the bed they begin.
            hoops_m=tuple(round(m - low.hoops_m[0], 2) for m in low.hoops_m),
            laid_m=tuple(
                (round(first - low.hoops_m[0], 2), round(last - low.hoops_m[0], 2))
                for first, last in low.laid_m
            ),
        )
        found.setdefault((by_name[low.bed].exists, alike), []).append(low)
    kinds = [
        Build(
            each[0],
            tuple(dict.fromkeys(by_name[low.bed].plot for low in each)),
            tuple(low.bed for low in each),
            tuple((low.bed, *ends) for low in each for ends in low.stretches_m),
            tuple(sorted({low.hoops_m[0] for low in each})),
            None if is_there else each[0].span_m + path_m,
            tuple(
                (dated(first), dated(last))
                for first, last in days_out(
                    stays, {(low.bed, low.kind) for low in each}
                )
            ),
        )
        for (is_there, _alike), each in found.items()
    ]
    return sorted(kinds, key=lambda kind: -len(kind.beds))


def _cover(kind: Build, units: Units) -> str:
    """Which cover, and when it lies on any of the beds."""
    cover = names.cover_name(kind.low.kind)
    if not kind.spans:
        return _(WORDS["cover"]).format(cover=cover)
    spans = [
        _(WORDS["span"]).format(first=quantities.day(*on), last=quantities.day(*off))
        for on, off in kind.spans
    ]
    return fill(
        WORDS["cover_when"],
        units,
        number=len(kind.beds),
        cover=cover,
        spans=names.listed(spans),
    )


def blocks(
    kinds: Sequence[Build],
    order: Sequence[str],
    anchor: str,
    own: Sequence[OwnWords],
    page: paper.Paper,
    units: Units,
    *,
    in_two: bool = False,
) -> tuple[paper.Block, ...]:
    """A page for each kind of low tunnel, or two, and one of words for them all.

    Parameters
    ----------
    kinds
        Low tunnels by what is built alike, the commonest first; without any the sheet
        says so.
    order
        Names of all beds.
    anchor
        "bags", "stones" or "trench".
    own
        Words in other languages; where none is given they are written in by hand.
    page
        "a4" or "letter".
    units
        "metric" or "us", for lengths and weights.
    in_two
        Whether a second language will stand below the first: hoops and cover have a page
        each then.
    """
    if not kinds:
        return (paper.Text(_(WORDS["none"])),)
    height_mm = paper.INNER_MM[page][1]
    made: list[paper.Block] = []
    left = len(kinds) - MOST_KINDS
    for number, kind in enumerate(kinds[:MOST_KINDS]):
        made += [paper.NewPage()] if number else []
        pages = ("page_hoops", "page_cover") if in_two else ("",)
        made += _front(kind, order, anchor, pages, height_mm, units)
        if left > 0 and number == 0:
            made.append(paper.Text(fill(WORDS["others"], units, number=left)))
    return (*made, paper.NewPage(), *_words(kinds[0], own, height_mm, units))


def _front(
    kind: Build,
    order: Sequence[str],
    anchor: str,
    pages: Sequence[str],
    height_mm: float,
    units: Units,
) -> Iterator[paper.Block]:
    """The steps, with all cautions on each page of them."""
    low = kind.low
    how = kind.how(anchor)
    said = _said(kind, units)
    frames = tuple(_frames(_drawings(kind, how, said, units), said, units))
    lead = f"{_lead(kind, order, units)} {_cover(kind, units)} {_(WORDS[units])}"
    rows = STEPS_DRAWN // 2 // len(pages)
    room_mm = height_mm - paper.HEAD_MM - CAUTIONS_MM - (rows + 2) * GUTTER_MM
    for number, part in enumerate(pages):
        if number:
            yield paper.NewPage()
        yield paper.Head(
            _(WORDS["title"]),
            ((_(WORDS[part]), lead) if part else (lead,)),
            (_(WORDS["people"]), _(WORDS["calm"])),
        )
        yield paper.Cautions("", tuple(_cautions(low, how, said)))
        here = frames[2 * rows * number : 2 * rows * (number + 1)]
        yield paper.Frames(here, 2, room_mm / rows)


def _lead(kind: Build, order: Sequence[str], units: Units) -> str:
    """Which beds, and how long and wide they are."""
    words = WORDS["beds_apart" if kind.is_apart else "beds"]
    return plural(
        words["one"],
        words["many"],
        len(kind.beds),
        plot=names.listed(kind.plots),
        beds=names.on_each_bed(kind.beds, kind.parts, units, order),
        length=quantities.length(kind.low.length_m, units),
        width=pegging.length(kind.low.span_m, units),
    )


def _frames(
    drawings: Mapping[str, paper.Drawing], said: Mapping[str, str], units: Units
) -> Iterator[paper.Frame]:
    """A frame for each step, with lines to write on."""
    bold = _bold(said, units)
    for number, (key, drawing) in enumerate(drawings.items(), start=1):
        yield paper.Frame(
            number=str(number),
            drawing=dataclasses.replace(drawing, says=_(ALT[key])),
            said=(paper.Said(paper.parts(_(STEPS[key]).format(**bold))),),
            lines=("", ""),
        )


def _drawings(
    kind: Build, how: str, said: Mapping[str, str], units: Units
) -> dict[str, paper.Drawing]:
    """The picture of each step, in order, by the key of what is said beneath it."""
    low = kind.low
    labels = {key: _(text).format(**said) for key, text in LABELS.items()}
    many = "_many" if len(low.laid_m) > 1 and not low.wide_beds else ""
    if many:
        labels["cover"] = labels["covers"]
    film, wide = is_film(low.kind), "_wide" if low.wide_beds else ""
    things = "_open" if how == "clip" else f"{wide}_film" if film else wide
    row = steps.following(said, labels["cord" if film else "string"])
    # A trench runs along both sides of a piece, weights along both sides of each bed.
    of_piece = wide if how in ("bags", "stones") else ""
    return {
        f"get{things}": steps.get(said, labels, how),
        "mark": steps.mark(said, labels),
        _begin(kind): steps.push(said),
        f"next{many}{wide}{'_film' if film else ''}": row,
        "wind": steps.wind(labels),
        **(
            {_pull(how): _covers(low, labels["gate_end"], units)}
            if many
            else {"pull": steps.pull()}
        ),
        f"edges{of_piece}_{how}": steps.edges(said, how),
        **_ends(kind, how, said),
    }


def _pull(how: str) -> str:
    """The key of the sentence that says how each of several covers is laid."""
    return "pull_many_open" if how == "clip" else "pull_many"


def _covers(low: LowTunnel, gate: str, units: Units) -> paper.Drawing:
    """Where each of several covers lies, from the first hoop on, and how long it is."""
    first_m = low.hoops_m[0]
    lengths_m = [last - first + GATHERED_M for first, last in low.laid_m]
    differ = len({round(each, 2) for each in lengths_m}) > 1
    return steps.covers(
        low.laid_m,
        [quantities.length(each, units) if differ else "" for each in lengths_m],
        [
            pegging.taped(each - first_m, units)
            for each in sorted({m for ends in low.laid_m for m in ends})
        ],
        gate,
    )


def _size(kind: Build, units: Units) -> str:
    """What each piece measures, in two lines at most; of more lengths step 6 has each."""
    lengths_m, width_m = kind.covers_m
    alike = dict.fromkeys(round(each, 2) for each in lengths_m)
    width = pegging.taped(width_m, units)
    if len(alike) > MOST_SIZES:
        return _(WORDS["size_below"]).format(width=width)
    return "\n".join(
        _(WORDS["size"]).format(length=quantities.length(each, units), width=width)
        for each in alike
    )


def _ends(kind: Build, how: str, said: Mapping[str, str]) -> dict[str, paper.Drawing]:
    """The short sides: flat under a wide piece, open under what is clipped, or tied."""
    if kind.low.wide_beds and how != "clip":
        return {f"ends_wide_{how}": steps.ends_flat(said, how)}
    drawing = steps.ends_open() if how == "clip" else steps.ends(said, how)
    return {f"ends_{_short_sides(kind.low)}": drawing}


def _begin(kind: Build) -> str:
    """The key of the sentence that says where the first hoop stands."""
    starts_m = kind.starts_m
    part = "_parts" if len(starts_m) > 1 else "_part" if any(starts_m) else ""
    return f"push{part}{'_there' if kind.pitch_m is None else ''}"


def _short_sides(low: LowTunnel) -> str:
    """Whether air gets in there.

    "open" under shade; shut where a "net" keeps insects out; "slitted" where the air
    beneath tells when the cover has to go; else "shut" at night.
    """
    if is_clipped(low.kind):
        return "open"
    if COVERS[low.kind].open_above_c is None:
        return "net"
    return "slitted" if low.kind == "slitted_film" else "shut"


def _cautions(
    low: LowTunnel, how: str, said: Mapping[str, str]
) -> Iterator[paper.Caution]:
    heavy = "trench" if how == "trench" else "stones" if how == "stones" else "bags"
    lift = {"lift": CAUTIONS[f"lift_{heavy}"]}
    texts_by_sign = {
        "buried": CAUTIONS["buried"],
        "wires": CAUTIONS["wires"],
        "eyes": CAUTIONS["spring"],
        # Nothing is lifted or dug where the cover is clipped to the hoops.
        **(lift if low.gear.weights or how == "trench" else {}),
        "wind": CAUTIONS["wind_unknown" if low.holds_to_m_s is None else "wind"],
        "heat": CAUTIONS[f"heat_{_short_sides(low)}"],
    }
    trips, _at_a_time = _trips(low)
    for sign, text in texts_by_sign.items():
        if isinstance(text, str):
            yield paper.caution(sign, _(text).format(**said))
        else:  # of what is carried in one trip, or in many
            words = plural(text["one"], text["many"], trips, **said)
            yield paper.caution(sign, words)


def _trips(low: LowTunnel) -> tuple[int, int]:
    """Trips with a wheelbarrow, and how many weights at a time; 0 for no weights."""
    weights = low.gear.weights
    return barrow_trips(weights, low.anchor_kg) if weights else (0, 0)


def _said(kind: Build, units: Units) -> dict[str, str]:
    """Every number of a low tunnel as its sheet writes it."""
    low = kind.low

    def taped(metres: float) -> str:
        return pegging.taped(metres, units)

    outside = COVERS[low.kind].open_above_c
    gear = low.gear
    trips, at_a_time = _trips(low)
    return {
        "hoops_to_get": str(kind.hoops_to_get),
        "hoops": str(low.hoops),
        "cut": taped(low.cut_m),
        "leg": taped(low.leg_m),
        "between": taped(low.cut_m - 2 * low.leg_m),
        "height": taped(low.height_m),
        "span": taped(low.span_m),
        "gap": taped(low.spacing_m),
        "edge": taped(kind.edge_m),
        "past": taped(kind.past_m),
        "size": _size(kind, units),
        "start": quantities.length(max(kind.starts_m), units),
        "pieces": str(len(low.pieces_m)),
        "stakes": str(gear.stakes),
        "ties": str(gear.ties),
        "clips": str(gear.clips),
        "cord": quantities.length(gear.cord_m, units),
        "wide_beds": str(low.wide_beds),
        "bags": str(gear.weights),
        "bag_gap": taped(low.anchor_gap_m),
        "each": quantities.mass(low.anchor_kg, units) if gear.weights else "",
        "trips": str(trips),
        "at_a_time": str(at_a_time),
        "all": quantities.mass(gear.weights * low.anchor_kg, units),
        "gust": quantities.careful_gust(low.holds_to_m_s, units),
        "outside": quantities.careful_temperature(outside, units),
        "bed": taped(low.span_m),
        "pitch": "" if kind.pitch_m is None else taped(kind.pitch_m),
    }


def _bold(said: Mapping[str, str], units: Units) -> dict[str, str]:
    """Numbers for sentences: bold, and with the unit that drawings leave out."""
    unit = "" if units == "us" else "\xa0cm"
    return {
        key: f"\x02{text}\x03{unit if key in ON_TAPE else ''}"
        for key, text in said.items()
    }


# ------------------------------------------------------------------ twelve words
def _words(
    kind: Build,
    own: Sequence[OwnWords],
    height_mm: float,
    units: Units,
) -> Iterator[paper.Block]:
    said = _said(kind, units)
    language = ", ".join(each.language for each in own) or "." * 24
    # Words in several languages stand under each other.
    picture_mm = PICTURE_MM[min(len(own), len(PICTURE_MM)) - 1 if own else 0]
    yield paper.Head(
        _(BEHIND["title"]),
        (_(BEHIND["line"]),),
        (_(BEHIND["language"]).format(language=language),),
    )
    yield paper.Frames(
        tuple(
            paper.Frame(
                title=_(text),
                drawing=dataclasses.replace(
                    twelve_words.picture(key, said), width_mm=picture_mm
                ),
                said=tuple(
                    paper.Said((paper.Part(each.words[key]),))
                    for each in own
                    if key in each.words
                ),
                lines=("",) * (not all(key in each.words for each in own) or not own),
            )
            for key, text in TWELVE.items()
        ),
        3,
        min(WORDS_MM, (height_mm - paper.HEAD_MM) / 4 - GUTTER_MM),
    )
