"""Places side by side: several sites, the plots of one, or changes around it.

What is better or worse is marked only where it is known to be. Within one site the
draws are shared, so a difference is taken draw by draw and must go one way in nine
tenths of them and come to two days; between sites the ranges must not overlap.
Light must differ by a twentieth, and so must areas. What has no range (wind, slope,
pockets, wet ground) is shown and not marked.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from fieldmap.decide.calendar import monte_carlo
from fieldmap.decide.ranking.by_days import FEWEST_DAYS
from fieldmap.decide.ranking.by_night import SAME_LIGHT
from fieldmap.errors import PlanError, problem
from fieldmap.model.estimate import Estimate
from fieldmap.model.fact import Fact
from fieldmap.model.season_year import SeasonYear
from fieldmap.plan import Plan
from fieldmap.review import candidate
from fieldmap.review.candidate import Candidate, CandidateDates

Floats = npt.NDArray[np.float64]
Beats = npt.NDArray[np.bool_]

BETTER, WORSE, ALIKE = "better", "worse", ""
LIGHT = ("winter_light_mj_m2_day", "summer_light_mj_m2_day")
NOT_MARKED = (
    "pocket_percent",
    "open_wind_percent",
    "slope_percent",
    "wet_percent",
    "water_percent",
    "cold_air_m",
)
TUNNELS = ("tunnel_places", "tunnel_area_m2")
MATERIALS = ("hoops", "cover_m")


class Value(NamedTuple):
    """One number of one candidate.

    Attributes
    ----------
    estimate
        In the unit of the row; NaN where not known.
    mark
        "better" (none is known to be better, and it is better than some), "worse"
        (some are known to be better) or "".
    bed
        The bed that it is of, where it is of one.
    """

    estimate: Estimate
    mark: str = ALIKE
    bed: str = ""


class Row(NamedTuple):
    """One number of all candidates; `kind` ends in its unit; dates are of a crop."""

    kind: str
    values: tuple[Value, ...]
    crop: str = ""


@dataclass(frozen=True)
class Comparison:
    """All numbers of all candidates, and what must be said of them.

    Attributes
    ----------
    names
        None is a place as it is, beside its changes.
    seasons
        In which their days are numbered.
    """

    names: tuple[str | None, ...]
    seasons: tuple[SeasonYear, ...]
    rows: tuple[Row, ...]
    remarks: tuple[Fact, ...]


def check(folder: Path, plots: Sequence[str]) -> None:
    """Raise PlanError when a single site has one plot: nothing to compare."""
    if len(plots) == 1:
        raise PlanError(
            problem(
                "{site} has one plot, {plot}: there is nothing to compare; name a second "
                "site, or draw a second plot",
                site=folder,
                plot=plots[0],
            )
        )


def check_changes(folder: Path, changes: Sequence[object]) -> None:
    """Raise PlanError where no change around the place is thought of."""
    if not changes:
        raise PlanError(
            problem(
                "{site}: site.toml has no [[what_if]] block, so there is no change to"
                " compare; add one",
                site=folder,
            )
        )


def compare(plans: Sequence[Plan]) -> Comparison:
    """Several sites side by side, or the plots of one."""
    if len(plans) == 1:
        plots = [str(plot) for plot in plans[0].site.plots["name"]]
        candidates = [candidate.of_plan(plans[0], plot, (plot,)) for plot in plots]
        return _compared(candidates, shared_draws=True, has_own_materials=False)
    names = [plan.site.settings.name for plan in plans]
    candidates = [
        candidate.of_plan(
            plan,
            name
            if names.count(name) == 1
            else f"{name} ({plan.site.folder.resolve().name})",
            tuple(plan.site.plots["name"]),
        )
        for name, plan in zip(names, plans, strict=True)
    ]
    return _compared(candidates, shared_draws=False)


def compare_changes(plans: Sequence[Plan]) -> Comparison:
    """A place as it is, the first, beside what each change around would make of it."""
    as_it_is = plans[0].site
    plots = tuple(as_it_is.plots["name"])
    names = [None, *(each.name for each in as_it_is.alternatives)]
    candidates = [
        candidate.of_plan(plan, name, plots)
        for name, plan in zip(names, plans, strict=True)
    ]
    # Tunnels and what is bought are those of the place as it is: no change is in them.
    return _compared(candidates, shared_draws=True, is_planned=False)


def _compared(
    candidates: Sequence[Candidate],
    *,
    shared_draws: bool,
    is_planned: bool = True,
    has_own_materials: bool = True,
) -> Comparison:
    """All rows.

    Parameters
    ----------
    is_planned
        Whether each has tunnels and materials of its own.
    has_own_materials
        Whether what is bought is known for each of them.
    """
    same_sky = len({each.sky for each in candidates}) == 1
    dates = tuple(_dates(candidates, shared_draws=shared_draws))
    planned = (*TUNNELS, *MATERIALS, *(("cost",) if has_own_materials else ()))
    rows = (
        _by_share(candidates, "growing_area_m2"),
        *dates,
        *(
            _by_share(candidates, kind) if same_sky else _unmarked(candidates, kind)
            for kind in LIGHT
        ),
        *(_unmarked(candidates, kind) for kind in NOT_MARKED),
        *(_unmarked(candidates, kind) for kind in planned if is_planned),
    )
    remarks = [Fact("compare_marks")]
    if not dates:
        remarks.append(Fact("compare_no_dates"))
    if not same_sky:
        remarks.append(Fact("compare_other_sky"))
    return Comparison(
        tuple(each.name for each in candidates),
        tuple(each.season for each in candidates),
        rows,
        tuple(remarks),
    )


# ------------------------------------------------------------------ marks
def _marked(kind: str, spans: Sequence[Estimate], beats: Beats, crop: str = "") -> Row:
    """A row whose values are marked by which is known to be better than which."""
    # Who is known to be worse than one is not called better than another.
    marks = [
        WORSE if beats[:, one].any() else BETTER if beats[one].any() else ALIKE
        for one in range(len(spans))
    ]
    return Row(kind, tuple(map(Value, spans, marks)), crop)


def beats_by_share(central: Floats) -> Beats:
    """Whether more is known to be more, by a twentieth of the larger."""
    ours, theirs = central[:, np.newaxis], central[np.newaxis]
    return np.asarray(ours * (1 - SAME_LIGHT) > theirs)


def beats_apart(low: Floats, high: Floats) -> Beats:
    """Whether all of a range lies above another."""
    return np.asarray(low[:, np.newaxis] > high[np.newaxis])


def beats_paired(days: Floats) -> Beats:
    """Whether more days are known to be more, on (candidates, draws) that are shared."""
    with np.errstate(invalid="ignore"):
        more = days[:, np.newaxis] - days[np.newaxis]
    low, central, _high = monte_carlo.percentiles(more)
    known = ~np.isnan(more).any(axis=-1)
    return np.asarray(known & (low >= 0) & (central >= FEWEST_DAYS))


# ------------------------------------------------------------------ rows
def _unmarked(candidates: Sequence[Candidate], kind: str) -> Row:
    return Row(
        kind,
        tuple(
            Value(
                Estimate(*[each.numbers[kind]] * 3),
                bed=each.deepest_bed if kind == "cold_air_m" else "",
            )
            for each in candidates
        ),
    )


def _by_share(candidates: Sequence[Candidate], kind: str) -> Row:
    numbers = [each.numbers[kind] for each in candidates]
    spans = [Estimate(number, number, number) for number in numbers]
    return _marked(kind, spans, beats_by_share(np.array(numbers)))


def _dates(candidates: Sequence[Candidate], *, shared_draws: bool) -> Iterator[Row]:
    """Days of the reference crop by draws, then those of the first hardy crop."""
    dates = [each.dates for each in candidates if each.dates is not None]
    if len(dates) < len(candidates):
        return
    reference = dates[0].reference_crop
    if all(each.reference_crop == reference for each in dates):
        yield from _of_reference_crop(dates, shared_draws=shared_draws)
    hardy = next(
        (crop for crop in dates[0].hardy_early_days if crop != reference), None
    )
    if hardy is not None and all(hardy in each.hardy_early_days for each in dates):
        spans = [each.hardy_early_days[hardy] for each in dates]
        low, _central, high = np.array(spans).T
        yield _marked("hardy_early_day", spans, beats_apart(-high, -low), hardy)


def _of_reference_crop(
    dates: Sequence[CandidateDates], *, shared_draws: bool
) -> Iterator[Row]:
    early = np.array([each.early_days for each in dates])
    late = np.array([each.late_days for each in dates])
    with np.errstate(invalid="ignore"):
        lasts = late - early
    for kind, days, sign in (
        ("order_early_days", early, -1.0),  # earlier is better
        ("order_late_days", late, 1.0),
        ("order_season_days", lasts, 1.0),
    ):
        spans = [Estimate(*map(float, monte_carlo.percentiles(each))) for each in days]
        if shared_draws:
            beats = beats_paired(sign * days)
        else:
            ends = sign * np.array([[span.low, span.high] for span in spans])
            beats = beats_apart(ends.min(axis=1), ends.max(axis=1))
        yield _marked(kind, spans, beats, dates[0].reference_crop)
