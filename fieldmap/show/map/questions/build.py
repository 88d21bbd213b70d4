"""The questions what to buy, cut and peg, and where a tunnel can stand."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from fieldmap.decide.materials import Line, Materials
from fieldmap.decide.pegging.model import FieldPegs
from fieldmap.decide.tunnels import TunnelPlace, TunnelSet
from fieldmap.model.raster import Raster
from fieldmap.show.map.questions.view import (
    BedPatterns,
    Ground,
    Picture,
    RampLegend,
    Run,
    Swatch,
    View,
    answer,
    linear_ticks,
)
from fieldmap.show.text import names, quantities
from fieldmap.show.text.map import answers as words
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import phrase
from layers.cover import COVERS

LEVEL_END_PERCENT = 20.0
LEVEL = "fall"
MOST_LENGTHS = 2  # of hoops in the answer
MOST_SAID = 2  # tunnels in the answer


def materials(
    found: Materials,
    beds: Sequence[str],
    pegs: Mapping[str, int],
    amount: Callable[[float, Line, Units], str],
    units: Units,
    *,
    has_tunnels: bool,
) -> View:
    """Beds with hoops and covers, and the pegs.

    Parameters
    ----------
    found
        Hoops of each low tunnel, and the shopping list.
    beds
        Names of all beds in the order of the plan.
    pegs
        How many pegs are put in the ground, by plot, of all plots in their order.
    amount
        Puts an amount of a line of the shopping list in words.
    units
        "metric" or "us", for the amounts.
    has_tunnels
        Whether the map draws planned tunnels, which look much like beds with hoops.
    """
    hooped = {low.bed for low in found.low_tunnels}
    work = _to_do(found, sum(pegs.values()), amount, units)
    bought_for = tuple(_bought_for(found))
    any_pegs = any(pegs.values())
    return View(
        answer=answer(
            " ".join(work) if work else phrase("build_none"),
            *bought_for,
        ),
        picture=Picture(
            BedPatterns(tuple("hoops" if bed in hooped else "" for bed in beds)),
            extras=("hoops", "pegs", *(("tunnel-names",) if bought_for else ())),
            plots=tuple(
                (plot, phrase("count_of_pegs", number=number) if any_pegs else "")
                for plot, number in pegs.items()
            ),
        ),
        swatches=(
            *([Swatch("hoops", phrase("low_hoops"))] if hooped else []),
            *([Swatch("peg", phrase("peg_here"))] if any_pegs else []),
            *([Swatch("tunnel", phrase("tunnel_here"))] if has_tunnels else []),
        ),
        note=phrase("build_note"),
        more=(
            *([_moved(found, len(hooped))] if found.goes_in_turn else []),
            *([phrase("build_tapes")] if any_pegs else []),
            phrase("build_table"),
        ),
    )


def pegs_by_plot(plots: Sequence[str], fields: Sequence[FieldPegs]) -> dict[str, int]:
    """How many pegs are put in the ground on each plot, as the sheets for pegging say."""
    pegs = dict.fromkeys(plots, 0)
    return pegs | {field.plot: field.pegs_to_bring for field in fields}


def _to_do(
    found: Materials,
    pegs: int,
    amount: Callable[[float, Line, Units], str],
    units: Units,
) -> list[str]:
    """What to buy, cut and peg in numbers, a sentence each."""
    stock = quantities.length(found.stock_m, units)
    pipes = sum(round(line.buy) for line in found.lines if line.item == "pipe")
    bought = [phrase("build_pipes", number=pipes, stock=stock)] if pipes else []
    bought += [
        phrase("build_cover", cover=line.item, amount=amount(line.buy, line, units))
        for line in found.lines
        if line.buy > 0 and line.item in COVERS
    ]
    work = [phrase("build_buy", items=names.listed(bought))] if bought else []
    cut = [
        phrase("build_hoops", number=number, cut=quantities.pipe(length_m, units))
        for length_m, number in _hoops_by_length(found).items()
    ]
    if cut and len(cut) <= MOST_LENGTHS:
        work.append(phrase("build_cut", hoops=names.listed(cut)))
    elif cut:
        total = sum(_hoops_by_length(found).values())
        work.append(phrase("build_cut_many", number=total, lengths=len(cut)))
    if pegs:
        work.append(phrase("build_peg", number=pegs))
    return work


def _hoops_by_length(found: Materials) -> dict[float, int]:
    """How many hoops are cut, by length of pipe [m], the most first."""
    cut: Counter[float] = Counter()
    for pattern in found.cutting:
        for length_m, count in pattern.pieces:
            cut[length_m] += pattern.times * count
    return dict(cut.most_common())


def _bought_for(found: Materials) -> Iterator[str]:
    """The tunnels over which covers go that are bought, if these are few.

    Beds lie under pieces that the grower owns.
    """
    over: dict[str, list[str]] = {}
    for each in found.inside.shades:
        tunnel = phrase("cover_on_tunnel", tunnel=each.tunnel)
        if tunnel not in over.setdefault(each.kind, []):
            over[each.kind].append(tunnel)
    covers = [line.item for line in found.lines if line.buy > 0 and line.item in COVERS]
    for cover in covers:
        tunnels = over.get(cover, [])
        if not 0 < len(tunnels) <= names.MOST_PLACES:
            continue
        places = names.listed(tunnels)
        yield names.started(phrase("build_cover_for", cover=cover, places=places))


def _moved(found: Materials, beds: int) -> str:
    """That hoops move from bed to bed, and how many these beds have all together."""
    hoops = sum(low.hoops for low in found.low_tunnels)
    return words.counted("build_in_turn", beds, hoops=f"{hoops:,}")


def tunnels(
    fall_percent: Raster,
    on_plots: npt.NDArray[np.bool_],
    places: Sequence[TunnelPlace],
    others: Sequence[TunnelSet],
    month: int,
    more: Sequence[str],
    units: Units,
) -> View:
    """The chosen places with their shadow and drain; the other sets by number.

    Parameters
    ----------
    fall_percent
        Grade of the smoothed ground [%].
    on_plots
        As `fall_percent`: the cells on plots, of which the fall is shown.
    places
        The places that the plan takes.
    others
        The sets of places that the plan does not take.
    month
        Month of the shadow, 0 for January.
    more
        Sentences that are folded away under the answer.
    units
        "metric" or "us", for lengths and falls.
    """
    at = np.where(
        on_plots, np.clip(fall_percent.values / LEVEL_END_PERCENT, 0, 1), np.nan
    )
    falls = [
        (each, quantities.fall(each, units)) for each in (0.0, 5.0, 10.0, 15.0, 20.0)
    ]
    drained = any(place.rain.drain_m for place in places)
    shadow = Swatch("shadow", phrase("tunnel_shadow_of", month=month + 1))
    return View(
        answer=_tunnel_answer(places),
        picture=Picture(
            ground=Ground(LEVEL, fall_percent.with_values(at)),
            extras=(
                *("tunnel-shadow", "tunnel-drain"),
                *(f"choice-{each.letter.lower()}" for each in others),
            ),
        ),
        ramp=RampLegend(LEVEL, linear_ticks(0.0, LEVEL_END_PERCENT, falls)),
        swatches=(
            *([Swatch("tunnel", phrase("tunnel_here"))] if places else []),
            *([Swatch("drain", phrase("drain_here"))] if drained else []),
            *([shadow] if places else []),
            *([Swatch("choice", phrase("tunnel_choice_here"))] if others else []),
        ),
        note=phrase("tunnel_note") if places else "",
        more=tuple(more),
    )


def _tunnel_answer(places: Sequence[TunnelPlace]) -> tuple[Run, ...]:
    if not places:
        return answer(phrase("tunnel_none"))
    said = [
        phrase("tunnel_ridge", tunnel=each.name, way=quantities.axis(each.bearing_deg))
        for each in places[:MOST_SAID]
    ]
    drained = [each.name for each in places if each.rain.drain_m]
    return answer(
        phrase(
            "tunnel_places",
            tunnels=names.listed([each.name for each in places]),
            plots=names.listed(list(dict.fromkeys(each.plot for each in places))),
        ),
        *said,
        phrase("tunnel_drains", number=len(drained), tunnels=names.listed(drained))
        if drained
        else "",
    )
