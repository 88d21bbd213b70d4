"""Jobs that the weather alone asks for: shade cloth, and frames bared before snow."""

from collections.abc import Container, Iterator, Sequence

import numpy as np
import pandas as pd

from fieldmap.decide.calendar.shade_need import Need
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.weekly_jobs.job import BedSet, Job
from fieldmap.decide.weekly_jobs.lead_times import ORDER_WEEKS, SNOW_WEEKS, STORE_WEEKS
from fieldmap.decide.weekly_jobs.of_crop import CropOnBeds, PlannedBeds
from fieldmap.model.season_year import DAYS, SeasonYear
from layers.cover import COVERS

SNOW_C = 2.0  # a month whose mean is under it may bring snow that lies
COVERS_OF_FILM = {"slitted_film", "clear_film"}


def shade_jobs(
    rows: Sequence[CropOnBeds],
    wanted: Need,
    beds: Sequence[RankedBed],
    owned: Container[str],
    season: SeasonYear,
) -> Iterator[Job]:
    """Cloth ordered where it is not owned, on, off and put away."""
    if wanted.kind is None or wanted.months is None or not rows:
        return
    on = season.day_of(wanted.months[0])
    off = season.day_of(wanted.months[1] % 12 + 1)
    crop, spans = rows[0].crop, {(on, off): rows[0].beds}
    if rows[0].planned is not None:  # while beds carry the crop
        spans = _carried(rows, beds, on, off)
    if not spans:
        return
    if wanted.kind not in owned:
        yield Job("order_cover", on - 7 * ORDER_WEEKS, cover=wanted.kind)
    kind = "shade_on_high" if COVERS[wanted.kind].kind == "fabric" else "shade_on"
    note = crop.shade_percent.note or ""
    for (first, end), here in spans.items():
        yield Job(kind, first, crop.name, here, wanted.kind, note)
        if wanted.months != (1, 12) or end != off:
            yield Job("shade_off", end, crop.name, here)
    if wanted.months != (1, 12):
        yield Job("store_cover", off + 7 * STORE_WEEKS, cover=wanted.kind)


def _carried(
    rows: Sequence[CropOnBeds], beds: Sequence[RankedBed], on: int, off: int
) -> dict[tuple[int, int], BedSet]:
    """Beds that carry the crop in the months of shade, by when their cloth is on and off."""
    places: dict[tuple[int, int], set[int]] = {}
    for row in rows:
        span = _within(row.planned, on, off) if row.planned else None
        if span is not None:
            places.setdefault(span, set()).update(row.places)
    return {span: BedSet.of("", beds, sorted(here)) for span, here in places.items()}


def _within(stay: PlannedBeds, on: int, off: int) -> tuple[int, int] | None:
    """First day of a stay within a span, and the day after its last; None for none.

    The span may run across the turn of the year.
    """
    end = off if off > on else off + DAYS
    for turn in (0, DAYS):
        first = max(on, stay.from_day + turn)
        after = min(end, stay.to_day + turn + 1)
        if first < after:
            return _of_year(first), _of_year(after)
    return None


def _of_year(day: int) -> int:
    return day - DAYS if day > DAYS else day


def frame_jobs(days: pd.DataFrame, season: SeasonYear) -> Iterator[Job]:
    """Tunnels bared before the first month that may bring snow that lies."""
    mean_c = (days["tmin_c"] + days["tmax_c"]) / 2
    by_month = mean_c.groupby(pd.DatetimeIndex(days.index).month).mean()
    from_midsummer = (*season.months[6:], *season.months[:6])
    cold = [month for month in from_midsummer if by_month.get(month, np.nan) < SNOW_C]
    if cold:
        yield Job("bare_frames", season.day_of(cold[0]) - 7 * SNOW_WEEKS)
