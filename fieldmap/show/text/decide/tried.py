"""What a change that is tried on the page would do to beds: which warm, which cool."""

from collections.abc import Iterable, Mapping, Sequence

from fieldmap.decide.what_if import LEAST_C, LEAST_PERCENT, BedEffect
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.decide import what_if
from fieldmap.show.text.language import _
from fieldmap.show.text.names import runs_of_beds
from fieldmap.show.text.quantities import Units, signed
from fieldmap.show.text.sentence import fill

TRIED = texts(__name__, "tried")


def likeliest(
    beds: Sequence[str],
    plots: Sequence[str],
    changes: tuple[Sequence[float], Sequence[float]],
    units: Units,
) -> list[str]:
    """Beds that warm and that cool, by plot, then light; "no bed changes" is an answer.

    Parameters
    ----------
    beds
        Names of all beds in the order of the plan.
    plots
        Name of the plot of each bed, in the same order.
    changes
        Of each bed: of its offset [°C], and of its light in early spring [%].
    units
        "metric" or "us", for degrees.

    Examples
    --------
    >>> likeliest(["A1", "A2"], ["Top", "Top"], ([0.4, 0.0], [0.0, 0.0]), "metric")[0]
    'Likely 0.4 °C warmer on 1 bed of Top (A1), on a still, clear night.'
    >>> likeliest(["A1"], ["Top"], ([0.04], [0.0]), "metric")
    ['Likely no bed changes on a clear, still night.', 'Light changes on no bed.']
    """
    change_c, percent = (dict(zip(beds, each, strict=True)) for each in changes)
    plot_of = dict(zip(beds, plots, strict=True))
    said = []
    for sign, key in ((1, "warmer"), (-1, "colder")):
        moved = {bed: sign * each for bed, each in change_c.items()}
        moved = {bed: each for bed, each in moved.items() if each >= LEAST_C}
        for plot in dict.fromkeys(plot_of[bed] for bed in moved):
            here = {bed: each for bed, each in moved.items() if plot_of[bed] == plot}
            most_c = round(max(here.values()), 1)
            values = {
                "plot": plot,
                "beds": runs_of_beds(list(here), beds),
                "number": len(here),
            }
            said.append(fill(TRIED[key], units, degrees_c=most_c, **values))
    still = sum(abs(each) < LEAST_C for each in change_c.values())
    if not said:
        said.append(_(TRIED["no_cold"]))
    elif still:
        said.append(fill(TRIED["others"], units, number=still))
    return [*said, *_of_light(percent, units)]


def _of_light(percent: Mapping[str, float], units: Units) -> Iterable[str]:
    found = False
    for sign, key in ((1, "lighter"), (-1, "darker")):
        moved = {bed: sign * each for bed, each in percent.items()}
        moved = {bed: each for bed, each in moved.items() if each >= LEAST_PERCENT}
        if moved:
            found = True
            values = {
                "beds": runs_of_beds(list(moved), list(percent)),
                "number": len(moved),
            }
            yield fill(
                TRIED[key], units, percent=f"{max(moved.values()):.0f}", **values
            )
    if not found:
        yield _(TRIED["no_light"])


def ranges(beds: Sequence[BedEffect], units: Units) -> list[str]:
    """Between which the change of the bed lies that changes most either way."""
    said = []
    by_change = sorted(beds, key=lambda each: each.offset_c.central)
    for bed in dict.fromkeys(
        [bed.bed for bed in (by_change[-1:] + by_change[:1]) if bed.moves_cold_air]
    ):
        effect = next(each for each in beds if each.bed == bed)
        low, central, high = (signed(each, units) for each in effect.offset_c)
        values = {"bed": bed, "likely": central, "low": low, "high": high}
        said.append(fill(TRIED["range"], units, **values))
        days = what_if.days(effect.days_earlier, units)
        if days:
            said[-1] += f" {days[:1].upper()}{days[1:]}."
    widest_c = max((max(map(abs, each.offset_c)) for each in beds), default=0.0)
    if not said and widest_c < LEAST_C:
        said.append(_(TRIED["range_none"]))
    return said


def not_run() -> str:
    """Why cold air cannot be tried."""
    return _(TRIED["not_run"])
