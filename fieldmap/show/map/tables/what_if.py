"""What each change of the surroundings does to each bed."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from fieldmap.decide import what_if
from fieldmap.show.map.tables.table import Column, Row, Table, cells, headings, row_id
from fieldmap.show.text import quantities
from fieldmap.show.text.language import _
from fieldmap.show.text.map import what_if as words
from fieldmap.show.text.map.headings import heading
from fieldmap.show.text.map.labels import label

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fieldmap.decide.ranking import RankedBed
    from fieldmap.decide.what_if import BedChange, Outcome
    from fieldmap.show.text.quantities import Units


def table(
    outcome: Outcome,
    number: int,
    beds: Sequence[RankedBed],
    units: Units,
    *,
    with_dates: bool,
) -> Table:
    """One change; beds in a row that fare alike share a line."""
    columns = list(_columns(outcome, units, with_dates=with_dates))
    key = row_id("what-if", number)
    return Table(
        key,
        words.heading(outcome.name),
        (heading("beds"), *headings(columns)),
        tuple(_runs(outcome, beds, columns, key)),
        label("no_beds_changed"),
        (*outcome.changes, *what_if.sentences(outcome, units), outcome.below),
    )


def _columns(
    outcome: Outcome, units: Units, *, with_dates: bool
) -> Iterator[Column[BedChange]]:
    as_now = _(words.AS_NOW)
    yield Column(
        heading("still_night"), lambda bed: quantities.night(*bed.offset_c, units)
    )
    yield Column(
        heading("cold_air"), lambda bed: what_if.depth_words(bed, units) or as_now
    )
    yield Column(
        heading("early_spring"),
        lambda bed: (
            as_now
            if abs(bed.spring_light_percent) < what_if.LEAST_PERCENT
            else quantities.compared_light(bed.spring_light_percent / 100.0)
        ),
    )
    if with_dates:
        yield Column(
            heading("planting"),
            lambda bed: what_if.days_words(bed) or _(words.NEVER_WARM_ENOUGH),
        )
    # Whether any wind is known whose share could change.
    if any(not np.isnan(bed.wind_share).all() for bed in outcome.beds):
        yield Column(
            heading("wind_share"), lambda bed: what_if.wind_words(bed) or as_now
        )


def _runs(
    outcome: Outcome,
    beds: Sequence[RankedBed],
    columns: Sequence[Column[BedChange]],
    key: str,
) -> Iterator[Row]:
    """A row for each run of beds of one plot whose cells are the same."""

    def shown(at: int) -> tuple[str, tuple[str, ...]]:
        return beds[at].bed.plot, cells(columns, outcome.beds[at])

    for (_plot, values), run in itertools.groupby(range(len(outcome.beds)), shown):
        here = list(run)
        name = words.alike([outcome.beds[at].bed for at in here])
        first = here[0]
        yield Row(f"{key}-{first}", (name, *values), shows=row_id("bed", first))
