"""What each change of the surroundings does to each bed."""

import itertools
import math
from collections.abc import Iterator, Sequence

from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.what_if import BedEffect, Effect
from fieldmap.show.map.tables.table import Columns, Row, Table, cells, laid_out, row_id
from fieldmap.show.text import names, quantities
from fieldmap.show.text.decide import what_if
from fieldmap.show.text.map.labels import label
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say_all


def changed_beds(
    effect: Effect,
    number: int,
    beds: Sequence[RankedBed],
    units: Units,
    *,
    with_dates: bool,
) -> Table:
    """One change; beds in a row that fare alike share a line.

    Parameters
    ----------
    effect
        What the change does to each bed.
    number
        Number of the change in the plan, from 0.
    beds
        The beds in the order of the plan, as in `effect`.
    units
        "metric" or "us", for degrees.
    with_dates
        Whether planting dates are known, and so the days by which they move.
    """
    as_now = phrase("bed_as_now")
    columns: Columns[BedEffect] = {
        "still_night": lambda bed: what_if.cold(bed, units) or as_now,
        "early_spring": lambda bed: (
            quantities.compared_light(bed.spring_light_percent / 100.0)
            if bed.changes_light
            else as_now
        ),
    }
    if with_dates:
        columns["planting"] = lambda bed: (
            what_if.days(bed.days_earlier, units) or phrase("no_first_date")
        )
    # Whether any wind is known whose share could change.
    if any(
        not math.isnan(each) for bed in effect.beds for each in bed.wind_share.values()
    ):
        columns["wind_share"] = lambda bed: what_if.winds(bed.wind_share) or as_now
    key = row_id("what-if", number)
    return laid_out(
        key,
        ("beds", *columns),
        _runs(effect, beds, columns, key),
        say_all((*effect.changes, *effect.facts), units),
        title=phrase("effect_on_beds", name=effect.name),
        if_empty=label("no_beds_changed"),
    )


def _runs(
    effect: Effect,
    beds: Sequence[RankedBed],
    columns: Columns[BedEffect],
    key: str,
) -> Iterator[Row]:
    """A row for each run of beds of one plot whose cells are the same."""

    def shown(at: int) -> tuple[str, tuple[str, ...]]:
        return beds[at].bed.plot, cells(columns, effect.beds[at])

    for (_plot, values), run in itertools.groupby(range(len(effect.beds)), shown):
        here = list(run)
        name = names.alike([effect.beds[at].bed for at in here])
        first = here[0]
        yield Row(f"{key}-{first}", (name, *values))
