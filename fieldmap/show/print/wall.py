"""The sheet for the shed wall: what to cover tonight, by the low that is forecast.

One page: crops by plot down, lows across.
"""

from collections.abc import Iterator, Sequence
from typing import Any

from fieldmap.decide.materials.cover_size import is_film
from fieldmap.decide.tonight.answer import PAIR, WARMING
from fieldmap.decide.tonight.matrix import Block as PlotBlock
from fieldmap.decide.tonight.matrix import Cell, Laid, Matrix
from fieldmap.show.print.paper import Block, Lines, WallSheet
from fieldmap.show.text import language, names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide.tonight import clock
from fieldmap.show.text.language import _, translated
from fieldmap.show.text.map.tonight import plain_low
from fieldmap.show.text.quantities import Units
from layers.cover import FABRIC_OFF_C, FILM_OPEN_C, SLITTED_OPEN_C

WORDS = texts("fieldmap.show.text.print.wall", "sheet")
STEPS = ("no_wind", "cover_nothing", "tie", "find", "do")
FILLED_LATER = ("holds_for", "to_gate", "colder", "carry", "part", "rest")
SLITTED = "slitted_film"
SAME_C = 0.25  # under half of the step that people are shown


def blocks(matrix: Matrix | None, units: Units) -> tuple[Block, ...]:
    """The sheet as one block.

    Parameters
    ----------
    matrix
        None where nothing stands.
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
    owned = {use.kind for each in matrix.covers for use in each} if matrix else set()
    opens = [said["opens"], *([said["opens_slitted"]] if SLITTED in owned else [])]
    return (
        WallSheet(
            title=said["title"],
            items=tuple(said[key] for key in STEPS),
            text=said["water"],
            words=said | {"unit": places["unit"]},
            tomorrow=Lines((" ".join(opens),)),
            matrix={} if matrix is None else filled(matrix, units),
        ),
    )


def filled(matrix: Matrix, units: Units) -> dict[str, Any]:
    """What the template sets, as text."""
    return {
        "holds_for": _(WORDS["holds_for"]).format(
            day=language.date_in_words(matrix.day)
        ),
        "lows": [plain_low(low) for low in matrix.lows],
        "blocks": [_block(each, matrix.plan_order, units) for each in matrix.blocks],
        "carry": list(_carried(matrix, units)),
        "minutes": [str(each) for each in matrix.minutes],
        "done_by": [
            [
                language.day(night.day.month, night.day.day),
                "" if night.done_by is None else clock(night.done_by),
            ]
            for night in matrix.hours
        ],
    }


def _block(block: PlotBlock, order: Sequence[str], units: Units) -> dict[str, Any]:
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
                "crop": names.started(names.listed(translated(line.crops))),
                "cells": [_cell(cell, line.beds, order, units) for cell in line.cells],
            }
            for line in block.lines
        ],
    }


def _cell(
    cell: Cell, line: Sequence[str], order: Sequence[str], units: Units
) -> dict[str, Any]:
    """What stands in one box: covers with their metres, or a word."""
    word = "" if cell.verdict == "cover" else _(WORDS[cell.verdict])
    return {
        "laid": [_laid(laid, line, order, units) for laid in cell.laid],
        "word": _(WORDS["rest"]).format(word=word) if word and cell.laid else word,
        "verdict": cell.verdict,
    }


def _laid(
    laid: Laid, line: Sequence[str], order: Sequence[str], units: Units
) -> dict[str, Any]:
    """A cover and its metres; which beds of the line it lies on if not on all of all."""
    sign = "pair" if laid.kind == PAIR else "film" if is_film(laid.kind) else "fabric"
    beds = "" if laid.is_all else names.runs_of_beds(laid.beds, order)
    if beds and set(laid.beds) == set(line):
        beds = _(WORDS["part"]).format(beds=beds)
    return {
        "sign": sign,
        "length": quantities.whole_length(laid.cover_m, units),
        "unsure": laid.odds == "unsure",
        "beds": beds,
    }


def _carried(matrix: Matrix, units: Units) -> Iterator[list[str]]:
    """Of each cover that is owned: its name, and what is carried at each low."""
    for kind in WARMING:
        uses = [use for each in matrix.covers for use in each if use.kind == kind]
        if uses:
            owned = quantities.whole_length(uses[0].owned_m, units)
            cover = names.cover_name(kind)
            said = _(WORDS["carry"]).format(cover=cover, length=owned)
            yield [said, *(quantities.whole_length(use.used_m, units) for use in uses)]
