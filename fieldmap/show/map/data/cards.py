"""What beds, plots and tunnels say of themselves when touched: few words, each text once."""

from collections.abc import Callable, Sequence
from typing import Any

from fieldmap.decide.calendar.planting_dates import Dates
from fieldmap.decide.ranking import RankedBed
from fieldmap.decide.tunnels import TunnelPlace
from fieldmap.show.map.data.packed_tables import column
from fieldmap.show.text import names
from fieldmap.show.text.decide.ranking import first_thing
from fieldmap.show.text.map import beds as words
from fieldmap.show.text.map import cold_air, spots
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase, say


def cards(
    beds: Sequence[RankedBed],
    dates: Dates,
    tunnels: Sequence[TunnelPlace],
    plots: Sequence[str],
    units: Units,
    *,
    by_station: bool,
) -> dict[str, Any]:
    """Of beds, column by column; of plots a sentence, of tunnels a list of them each.

    Parameters
    ----------
    beds
        The beds in the order of the plan.
    dates
        Planting dates of these beds; without dates their card names no day.
    tunnels
        The walk-in tunnels in the order of the plan.
    plots
        Names of all plots.
    units
        "metric" or "us", for degrees and lengths.
    by_station
        Whether offsets are against the weather station; else against the
        median of the plots.
    """
    columns: dict[str, Callable[[int, RankedBed], str]] = {
        "date": lambda at, _bed: _date(dates, at),
        "why": lambda _at, bed: _why(bed, units),
        "night": lambda _at, bed: spots.night_of_bed(
            bed.offset_c.central, units, by_station=by_station
        ),
        "ground": lambda _at, bed: _ground(bed, units),
    }
    return {
        "beds": {
            name: column([said(at, bed) for at, bed in enumerate(beds)])
            for name, said in columns.items()
        },
        "plots": [
            _of_plot([bed for bed in beds if bed.bed.plot == plot], units)
            for plot in plots
        ],
        "tunnels": [
            of_tunnel(tunnel, units, by_station=by_station) for tunnel in tunnels
        ],
    }


def _date(dates: Dates, at: int) -> str:
    """When the crop that stands in for all can go out, with its range."""
    if not dates.known:
        return ""
    crop = [each.name for each in dates.crops].index(dates.reference_crop)
    early = dates.early_of(at, crop)
    if early.central != early.central:  # NaN
        return phrase("crop_out_not_known", crop=dates.reference_crop)
    days = map(dates.season.early_date, early)
    return names.started(words.out_from(dates.reference_crop, days))


def _why(bed: RankedBed, units: Units) -> str:
    """What to take care of on it, or else the thing that matters most."""
    if not bed.reasons:
        return ""
    reason = bed.reasons[0]
    if reason.kind != "two_that_matter":
        return say(reason, units)
    return first_thing(reason, units)


def _ground(bed: RankedBed, units: Units) -> str:
    return phrase("bed_card", units, length_m=float(round(bed.bed.length_m)))


def _of_plot(beds: Sequence[RankedBed], units: Units) -> str:
    together_m = float(round(sum(bed.bed.length_m for bed in beds)))
    return phrase("plot_card", units, number=len(beds), length_m=together_m)


def of_tunnel(tunnel: TunnelPlace, units: Units, *, by_station: bool) -> list[str]:
    """That a tunnel is planned, how large it is, where it points, and how cold its place is.

    Parameters
    ----------
    tunnel
        The walk-in tunnel.
    units
        "metric" or "us", for degrees and lengths.
    by_station
        Whether its offset is against the weather station; else against the median of the
        plots.
    """
    size = phrase("tunnel_size", units, **tunnel.size.model_dump(include=SIZES))
    said = (
        phrase("tunnel_planned", size=size),
        phrase("it_points", way=tunnel.bearing_deg, degrees=tunnel.bearing_deg),
        phrase(
            "on_still_nights",
            night=cold_air.night(tunnel.offset_c, units, by_station=by_station),
        ),
    )
    return [f"{names.started(each)}." for each in said]


SIZES = {"length_m", "width_m", "height_m"}
