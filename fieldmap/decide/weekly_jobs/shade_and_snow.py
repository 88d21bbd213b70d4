"""Jobs that the weather alone asks for: shade cloth, and frames bared before snow."""

from collections.abc import Container, Iterator, Sequence

import numpy as np
import pandas as pd

from fieldmap.decide.calendar.shade_need import Need
from fieldmap.decide.materials.tunnel_covers import TunnelCovers
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.weekly_jobs.job import BedSet, Job
from fieldmap.decide.weekly_jobs.lead_times import ORDER_WEEKS, SNOW_WEEKS, STORE_WEEKS
from fieldmap.decide.weekly_jobs.of_crop import CropOnBeds, Shaded
from fieldmap.model.season_year import SeasonYear
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
    """Cloth on, off and put away: as planned for the beds, else in all hot months.

    A plan hangs owned cloth alone, so only without one is any ordered.

    Parameters
    ----------
    rows
        One crop on its beds; without any there are no jobs.
    wanted
        Cloth that the crop wants, and its hot months.
    beds
        All beds outdoors.
    owned
        Kinds of cover that are owned.
    season
        The year of growing, in which days are numbered.
    """
    planned = [row for row in rows if row.planned is not None]
    if planned:
        yield from _as_planned(planned, beds)
        return
    if wanted.kind is None or wanted.months is None or not rows:
        return
    on = season.day_of(wanted.months[0])
    off = season.day_of(wanted.months[1] % 12 + 1)
    if wanted.kind not in owned:
        yield Job("order_cover", on - 7 * ORDER_WEEKS, cover=wanted.kind)
    crop, here = rows[0].crop, rows[0].beds
    kind = "shade_on_high" if COVERS[wanted.kind].kind == "fabric" else "shade_on"
    note = crop.shade_percent.note or ""
    yield Job(kind, on, crop.name, here, wanted.kind, note)
    # Cloth that is wanted in all months stays up.
    if wanted.months != (1, 12):
        yield Job("shade_off", off, crop.name, here)
        yield Job("store_cover", off + 7 * STORE_WEEKS, cover=wanted.kind)


def _as_planned(rows: Sequence[CropOnBeds], beds: Sequence[RankedBed]) -> Iterator[Job]:
    """Over the metres that carry the crop, from the day that it wants shade to the last."""
    shaded: dict[Shaded, list[CropOnBeds]] = {}
    for row in rows:
        if row.planned is not None and row.planned.shade is not None:
            shaded.setdefault(row.planned.shade, []).append(row)
    crop = rows[0].crop
    for shade, same in shaded.items():
        places = sorted({place for row in same for place in row.places})
        parts = tuple(part for row in same for part in row.beds.parts)
        here, off = BedSet.of("", beds, places)._replace(parts=parts), shade.to_day
        note = crop.shade_percent.note or ""
        yield Job("shade_on", shade.from_day, crop.name, here, shade.kind, note)
        yield Job("shade_off", off, crop.name, here)
        yield Job("store_cover", off + 7 * STORE_WEEKS, cover=shade.kind)


def tunnel_jobs(inside: TunnelCovers) -> Iterator[Job]:
    """Cloth over the film of walk-in tunnels, on and off."""
    for shade in inside.shades:
        here = BedSet("", ((shade.tunnel,),))
        yield Job("tunnel_shade_on", shade.from_day, shade.crop, here, shade.kind)
        yield Job("tunnel_shade_off", shade.to_day, shade.crop, here, shade.kind)
        stored = shade.to_day + 7 * STORE_WEEKS
        yield Job("store_cover", stored, cover=shade.kind)


def frame_jobs(days: pd.DataFrame, season: SeasonYear) -> Iterator[Job]:
    """Tunnels bared before the first month that may bring snow that lies."""
    mean_c = (days["tmin_c"] + days["tmax_c"]) / 2
    by_month = mean_c.groupby(pd.DatetimeIndex(days.index).month).mean()
    # The first cold month of a winter, and not January of the one before.
    from_midsummer = (*season.months[6:], *season.months[:6])
    cold = [month for month in from_midsummer if by_month.get(month, np.nan) < SNOW_C]
    if cold:
        yield Job("bare_frames", season.day_of(cold[0]) - 7 * SNOW_WEEKS)
