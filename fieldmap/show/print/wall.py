"""The sheet for the shed wall: what to cover tonight, by the low that is forecast.

One page: crops by plot down, lows across.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from fieldmap.decide.layout.beds import joined
from fieldmap.decide.materials.cover_size import is_film
from fieldmap.decide.tonight.advice import Held
from fieldmap.decide.tonight.answer import PAIR, WARMING, parts_of
from fieldmap.decide.tonight.matrix import Block as PlotBlock
from fieldmap.decide.tonight.matrix import Cell, Laid, Line, Matrix
from fieldmap.show.print.paper import Block, Lines, WallSheet
from fieldmap.show.text import language, names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide.tonight import clock, kept
from fieldmap.show.text.language import _
from fieldmap.show.text.map.tonight import plain_low
from fieldmap.show.text.quantities import FEET_PER_METRE, Units
from layers.cover import FABRIC_OFF_C, FILM_OPEN_C, SLITTED_OPEN_C

WORDS = texts("fieldmap.show.text.print.wall", "sheet")
STEPS = ("no_wind", "cover_nothing", "tie", "find", "do", "close", "not_for")
FILLED_LATER = (
    *("holds_for", "holds_once", "done_by"),
    *(
        "to_gate",
        "colder",
        "carry",
        "hoops",
        "weights",
        "more_weights",
        "part",
        "part_of_bed",
        "rest",
    ),
)
DASH = "–"  # where nothing is to be done, so that boxes with work stand out
SLITTED = "slitted_film"
SAME_C = 0.25  # under half of the step that people are shown


def blocks(matrix: Matrix | None, weights: int, units: Units) -> tuple[Block, ...]:
    """The sheet as one block.

    Parameters
    ----------
    matrix
        None where nothing stands.
    weights
        How many the plan counts to hold covers down.
    """
    places = {
        "unit": "°F" if units == "us" else "°C",
        "film": quantities.temperature(FILM_OPEN_C, units),
        "fabric": quantities.careful_temperature(FABRIC_OFF_C, units),
        "slitted": quantities.careful_temperature(SLITTED_OPEN_C, units),
    }
    said = {
        key: _(text).format(**places)
        for key, text in WORDS.items()
        if key not in FILLED_LATER
    }
    has_tunnels = matrix is not None and matrix.has_tunnels
    steps = [key for key in STEPS if has_tunnels or key != "close"]
    owned = {use.kind for each in matrix.covers for use in each} if matrix else set()
    opens = [said["opens"], *([said["opens_slitted"]] if SLITTED in owned else [])]
    return (
        WallSheet(
            title=said["title"],
            items=tuple(said[key] for key in steps),
            text=said["water"],
            words=said | {"unit": places["unit"]},
            tomorrow=Lines((" ".join(opens),)),
            matrix={} if matrix is None else filled(matrix, weights, units),
        ),
    )


def filled(matrix: Matrix, weights: int, units: Units) -> dict[str, Any]:
    """What the template sets, as text."""
    shown = [_shown(matrix, at, units) for at in range(len(matrix.lows))]
    return {
        "holds_for": _holds_for(matrix),
        "lows": [plain_low(low) for low in matrix.lows],
        "blocks": [
            _block(each, matrix.plan_order, shown, units) for each in matrix.blocks
        ],
        "carry": list(_carried(matrix, shown, units)),
        "held": list(_held(matrix.held, weights, units)),
        "minutes": [str(each) for each in matrix.minutes],
        "done_by": ""
        if matrix.night.done_by is None
        else _(WORDS["done_by"]).format(clock=clock(matrix.night.done_by)),
    }


def _holds_for(matrix: Matrix) -> str:
    """The evenings for which the sheet holds."""
    first = language.date_in_words(matrix.day)
    last = language.date_in_words(matrix.until)
    key = "holds_once" if first == last else "holds_for"
    return _(WORDS[key]).format(first=first, last=last)


# Metres in a box as they are printed, by the crops of its line and what is laid there.
Shown = Mapping[tuple[tuple[str, ...], Laid], float]


def _shown(matrix: Matrix, at: int, units: Units) -> Shown:
    """Lengths of one low in whole metres or feet that add up to what is carried.

    Each is rounded to the nearest. Where their sum is not the rounded sum, those that
    rounding changed most go the other way.
    """
    unit_m = 1 / FEET_PER_METRE if units == "us" else 1.0
    exact = {
        (line.crops, laid): laid.cover_m / unit_m
        for block in matrix.blocks
        for line in block.lines
        for laid in line.cells[at].laid
    }
    whole = {box: round(length) for box, length in exact.items()}
    for kind in WARMING:
        boxes = [box for box in exact if kind in parts_of(box[1].kind)]
        over = sum(whole[box] for box in boxes) - round(sum(exact[b] for b in boxes))
        alone = [box for box in boxes if box[1].kind == kind]
        step = 1 if over > 0 else -1
        alone.sort(key=lambda box: step * (exact[box] - whole[box]))
        for box in alone[: abs(over)]:
            whole[box] -= step
    return {box: length * unit_m for box, length in whole.items()}


def _block(
    block: PlotBlock, order: Sequence[str], shown: Sequence[Shown], units: Units
) -> dict[str, Any]:
    degrees = quantities.degrees(round(block.colder_c * 2) / 2, units)
    is_known = block.gate_m == block.gate_m
    way = quantities.whole_length(block.gate_m, units) if is_known else ""
    notes = [_(WORDS["to_gate"]).format(length=way)] if is_known else []
    colder = (
        _(WORDS["as_cold"])
        if block.colder_c < SAME_C
        else _(WORDS["colder"]).format(degrees=degrees)
    )
    return {
        "plot": block.plot,
        "notes": " ".join([*notes, colder]),
        "lines": [
            {
                "beds": names.runs_of_beds(line.beds, order),
                "crop": _crops(line),
                "cells": [
                    _cell(cell, line, order, here, units)
                    for cell, here in zip(line.cells, shown, strict=True)
                ],
            }
            for line in block.lines
        ],
    }


def _crops(line: Line) -> str:
    """Crops, and why they want no cover if they never do.

    Those with a reason come first, or it would seem to be that of all.
    """
    both = sorted(zip(line.crops, line.keeps, strict=True), key=lambda it: not it[1])
    return names.started(
        names.listed([kept(names.crop(crop), keeps) for crop, keeps in both])
    )


def _cell(
    cell: Cell, line: Line, order: Sequence[str], shown: Shown, units: Units
) -> dict[str, Any]:
    """What stands in one box: covers with their metres, or a word."""
    word = "" if cell.verdict == "cover" else _(WORDS[cell.verdict])
    if cell.verdict == "leave" and not cell.laid:
        word = DASH
    return {
        "laid": [
            _laid(laid, line.beds, order, units)
            | {"length": quantities.whole_length(shown[line.crops, laid], units)}
            for laid in cell.laid
        ],
        "word": _(WORDS["rest"]).format(word=word) if word and cell.laid else word,
        "verdict": cell.verdict,
    }


def _laid(
    laid: Laid, line: Sequence[str], order: Sequence[str], units: Units
) -> dict[str, Any]:
    """A cover, and which beds of the line it lies on if not on all of all."""
    sign = "pair" if laid.kind == PAIR else "film" if is_film(laid.kind) else "fabric"
    beds = "" if laid.is_all else names.runs_of_beds(laid.beds, order)
    if beds and set(laid.beds) == set(line):
        beds = _part(beds, laid, units)
    return {
        "sign": sign,
        "unsure": laid.odds == "unsure",
        "beds": beds,
    }


def _part(beds: str, laid: Laid, units: Units) -> str:
    """That beds are not covered all over; of a single one which metres are."""
    if len(set(laid.beds)) > 1 or not laid.parts_m:
        return _(WORDS["part"]).format(beds=beds)
    ends = joined([(first, last) for _bed, first, last in laid.parts_m], names.HAND_M)
    stretches = names.listed([quantities.length_range(each, units) for each in ends])
    return _(WORDS["part_of_bed"]).format(bed=beds, stretches=stretches)


def _carried(
    matrix: Matrix, shown: Sequence[Shown], units: Units
) -> Iterator[list[str]]:
    """Of each cover that is owned: its name, and at each low the sum of its boxes."""
    for kind in WARMING:
        uses = [use for each in matrix.covers for use in each if use.kind == kind]
        if uses:
            owned = quantities.whole_length(uses[0].owned_m, units)
            cover = names.cover_name(kind)
            said = _(WORDS["carry"]).format(cover=cover, length=owned)
            sums = [
                sum(
                    length
                    for (_c, laid), length in here.items()
                    if kind in parts_of(laid.kind)
                )
                for here in shown
            ]
            yield [said, *(quantities.whole_length(each, units) for each in sums)]


def _held(held: Sequence[Held], counted: int, units: Units) -> Iterator[list[str]]:
    """Hoops, weights and clips at each low; no row for what no low takes.

    All covers that are owned may take more weights than the plan counts for its beds.
    """
    if any(each.hoops for each in held):
        yield [_(WORDS["hoops"]), *(str(each.hoops) for each in held)]
    weight_kg = max(each.weight_kg for each in held)
    if weight_kg:
        weight = quantities.mass(weight_kg, units)
        key = (
            "weights"
            if max(each.weights for each in held) <= counted
            else "more_weights"
        )
        said = _(WORDS[key]).format(weight=weight, counted=counted)
        yield [said, *(str(each.weights) for each in held)]
    if any(each.clips for each in held):
        yield [_(WORDS["clips"]), *(str(each.clips) for each in held)]
